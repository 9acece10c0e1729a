//! `pintle why`

use std::io::Write;

use super::{CommandError, Data, Exit, Packs, stored_call};
use crate::call::Call;
use crate::report::render_why;
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle why`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The call: its id, or the path of its file
    pub call: String,
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// Shows the ranking of a call, what each answer did to it and how the next step was chosen.
///
/// # Errors
/// When the knowledge has errors, there is no such call, or it can't be read or the page not written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let (engine, entries) = stored_call(&args.call, &args.data, &args.packs, settings)?;
    let page = render_why(&Call::in_memory(&engine, entries), style);
    super::report::put(out, &page)?;
    Ok(Exit::Ok)
}
