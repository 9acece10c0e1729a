//! `pintle resume`: go on with a call that was left.

use std::io::Write;

use super::diagnose::{Where, refuse_without_terminal, sitting};
use super::site::at_call;
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
    let folder = args.data.folder(settings)?;
    let path = call_path(&folder, &args.call);
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
            "Others on this machine could read this call's file; from now on only you can."
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
    if terms != agreed {
        let event = Event::Terms(terms);
        call.record(Entry { time: clock(), event })?;
    }
    let id = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    at_call::know_visits(&mut call, &id, &folder);
    sitting(&mut call, &id, &super::site::store(&folder), settings, style, out)
}
