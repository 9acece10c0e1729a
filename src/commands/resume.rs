//! `pintle resume`: go on with a call that was left.

use std::io::Write;

use super::diagnose::{Where, refuse_without_terminal, sitting};
use super::{CommandError, Data, Exit, Packs, call_path, clock};
use crate::call::{Call, Entry, Event, Journal, Terms};
use crate::knowledge::WithCases;
use crate::knowledge::schema::At;
use crate::settings::Settings;
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

/// A call keeps the terms that it was opened with, so that it says the same when it is read again. Taken up at another place, it is taken by
/// another truck with other meters and tools.
fn terms_at(args: &Args, settings: &Settings, entries: &[Entry], agreed: &Terms) -> Terms {
    let before = entries.iter().rev().find_map(|e| match &e.event {
        Event::Opened { at, .. } | Event::Resumed { at, .. } => Some(*at),
        _ => None,
    });
    match args.at.map(At::from) {
        Some(now) if Some(now) != before => settings.terms(),
        _ => agreed.clone(),
    }
}

/// Runs it.
///
/// # Errors
/// When there is no such call, no terminal, or the journal can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    refuse_without_terminal()?;
    let path = call_path(&args.data.folder(settings)?, &args.call);
    let (journal, stored) = Journal::open(&path)?;
    let agreed = Terms::of(&stored.entries);
    let terms = terms_at(args, settings, &stored.entries, &agreed);
    let engine = args.packs.engine_on(&terms, settings, WithCases::No)?;
    let mut call = Call::with(&engine, stored.entries, Some(journal));
    if stored.torn {
        writeln!(
            out,
            "The last answer was cut off when the call was left; it is asked again."
        )?;
    }
    if stored.tightened {
        writeln!(
            out,
            "Others on this machine could read the file of this call; from now on only you can."
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
    let at = args.at.map_or(call.at(), At::from);
    let event = Event::Resumed {
        knowledge: engine.knowledge.fingerprint.clone(),
        at,
    };
    call.record(Entry { time: clock(), event })?;
    if terms != agreed {
        let event = Event::Terms(terms);
        call.record(Entry { time: clock(), event })?;
    }
    sitting(&mut call, &args.call, style, out)
}
