//! `pintle completions`: what a shell needs to complete commands and flags.

use std::io::Write;

use clap::CommandFactory as _;
use clap_complete::Shell;

use super::{Arguments, CommandError, Exit};

/// Arguments of `pintle completions`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "bash: pintle completions bash > ~/.local/share/bash-completion/completions/pintle\n\
                        zsh:  pintle completions zsh > a folder of $fpath, as _pintle\n\
                        fish: pintle completions fish > ~/.config/fish/completions/pintle.fish"
)]
pub struct Args {
    /// Which shell
    #[arg(value_enum)]
    pub shell: Shell,
}

/// Writes the completions.
///
/// # Errors
/// When the output can't be written.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut Arguments::command(), "pintle", &mut text);
    super::report::put(out, &String::from_utf8_lossy(&text))?;
    Ok(Exit::Ok)
}
