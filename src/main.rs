//! The `pintle` program: parse, call, print, exit code.

use std::io::{IsTerminal as _, Write as _};
use std::process::ExitCode;

use clap::Parser as _;
use pintle::commands::{Arguments, Colour, Exit, run};
use pintle::terminal::Style;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let style = style(&arguments);
    colored::control::set_override(style.colour);
    let mut out = std::io::stdout().lock();
    let result = run(&arguments, &style, &mut out);
    let _ = out.flush();
    match result {
        Ok(Exit::Ok) => ExitCode::SUCCESS,
        Ok(Exit::Found) => ExitCode::from(1),
        Err(error) if error.reader_gone => ExitCode::SUCCESS,
        Err(error) => {
            let mut err = std::io::stderr().lock();
            let _ = writeln!(err, "pintle: {}", error.message);
            for hint in &error.hints {
                let _ = writeln!(err, "  {hint}");
            }
            ExitCode::from(3)
        }
    }
}

/// Width, colour and characters, decided once.
fn style(arguments: &Arguments) -> Style {
    let terminal = std::io::stdout().is_terminal();
    let no_colour = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty());
    let colour = match arguments.color {
        _ if arguments.plain => false,
        Colour::Always => true,
        Colour::Never => false,
        Colour::Auto => terminal && !no_colour,
    };
    let width = textwrap::termwidth().clamp(40, 100);
    Style {
        width: if terminal { width } else { 80 },
        colour,
        unicode: !arguments.plain,
    }
}
