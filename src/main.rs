//! The `pintle` program: parse, call, print, exit code.
use clap::Parser as _;
use pintle::commands::{Arguments, Command};
fn main() {
    let arguments = Arguments::parse();
    let mut out = std::io::stdout();
    let r = match &arguments.command {
        Some(Command::Cases(args)) => pintle::commands::cases::run(args, &mut out),
        None => return,
    };
    if let Err(e) = r {
        println!("{e:?}");
        let (k, f) = pintle::knowledge::Knowledge::built_in(&[], pintle::knowledge::WithCases::Yes);
        for x in f {
            let p = k.sources.position(&x.location);
            println!(
                "{}:{}:{} {} {} | {}",
                k.sources.files[x.location.file].name,
                p.line,
                p.column,
                x.code.name(),
                x.message,
                x.help
            );
        }
    }
}
