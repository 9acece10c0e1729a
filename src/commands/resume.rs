//! `pintle resume`: go on with a call that was left.

use std::io::Write;

use super::diagnose::{Where, refuse_without_terminal, sitting};
use super::site::at_call;
use super::{CommandError, Data, Exit, Packs, call_path, calls_folder, clock};
use crate::call::{Call, Entry, Event, Journal};
use crate::knowledge::WithCases;
use crate::knowledge::schema::At;
use crate::terminal::Style;

/// Arguments of `pintle resume`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The call: its id from `pintle calls`, or its file
    pub call: String,
    /// Where it is taken up, if elsewhere than before
    #[arg(long, value_enum)]
    pub at: Option<Where>,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
}

/// Runs it.
///
/// # Errors
/// When there is no such call, no terminal, or the journal can't be written.
pub fn run(args: &Args, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    refuse_without_terminal()?;
    let engine = args.packs.engine(WithCases::No)?;
    let folder = calls_folder(args.data.data.as_ref())?;
    let path = call_path(&folder, &args.call);
    let (journal, stored) = Journal::open(&path)?;
    let mut call = Call::with(&engine, stored.entries, Some(journal));
    if stored.torn {
        writeln!(
            out,
            "The last answer was cut off when the call was left; it is asked again."
        )?;
    }
    if let Some((ending, _)) = call.ending() {
        let message = format!("this call has ended: {}", ending.say());
        return Err(CommandError::new(
            message,
            format!("`pintle report {}` prints its record", args.call),
        ));
    }
    if call.other_knowledge() {
        writeln!(
            out,
            "This call was opened with other knowledge than today's: the answers are kept, the ranking is worked out anew."
        )?;
        if call.unknown_entries() > 0 {
            writeln!(
                out,
                "{} answer(s) name something that today's knowledge does not have; they don't count.",
                call.unknown_entries()
            )?;
        }
    }
    // After a visit was booked somebody goes on at the gate.
    let usual = if call.visit().is_some() { At::Gate } else { call.at() };
    let at = args.at.map_or(usual, At::from);
    let event = Event::Resumed {
        knowledge: engine.knowledge.fingerprint.clone(),
        at,
    };
    call.record(Entry { time: clock(), event })?;
    let id = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    at_call::know_visits(&mut call, &id, &folder);
    sitting(&mut call, &id, &super::site::store(&args.data)?, style, out)
}
