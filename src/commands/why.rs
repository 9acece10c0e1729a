//! `pintle why`

use std::io::Write;

use super::{CommandError, Data, Exit, Packs, calls_folder, open_call};
use crate::knowledge::WithCases;
use crate::report::render_why;
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
pub fn run(args: &Args, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.packs.engine(WithCases::No)?;
    let folder = calls_folder(args.data.data.as_ref())?;
    let page = render_why(&open_call(&engine, &folder, &args.call)?, style);
    super::report::put(out, &page)?;
    Ok(Exit::Ok)
}
