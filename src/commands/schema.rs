//! `pintle schema`: the JSON Schema of what authors write, so that editors complete and flag as they type.

use std::io::Write;

use clap::ValueEnum;

use super::{CommandError, Exit};
use crate::knowledge::json_schema;

/// Arguments of `pintle schema`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Which file it describes
    #[arg(value_enum, default_value_t = Kind::Pack)]
    pub of: Kind,
}

/// The kinds of file that authors write.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// A file of a pack.
    Pack,
    /// A case.
    Case,
}

/// Writes the schema.
///
/// # Errors
/// When the output can't be written.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let schema = match args.of {
        Kind::Pack => json_schema::pack_file(),
        Kind::Case => json_schema::case_file(),
    };
    super::report::put(out, &format!("{schema:#}\n"))?;
    Ok(Exit::Ok)
}
