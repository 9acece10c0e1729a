//! `pintle calls close`: ends a call from the list. What an ending asks for is what it asks for in the walk.

use std::io::Write;

use super::super::{CommandError, Exit, call_path, clock};
use super::{Places, State};
use crate::call::{Call, Entry, Event, Journal, Terms};
use crate::knowledge::WithCases;
use crate::knowledge::schema::{At, Ending};
use crate::settings::Settings;

/// Arguments of `pintle calls close`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The call: its id from `pintle calls`, or its file
    pub call: String,
    /// How it ends
    #[arg(long = "as", value_enum, value_name = "ENDING")]
    pub ending: State,
    /// Why, in a sentence for the record
    #[arg(long, value_name = "TEXT")]
    pub because: String,
    /// Packs and data.
    #[command(flatten)]
    pub places: Places,
}

/// Runs it.
///
/// # Errors
/// When there is no such call, it has ended, it may not end like that, or the journal can't be written.
pub(super) fn run(args: &Args, settings: &Settings, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let Some(ending) = args.ending.ending() else {
        return Err(CommandError::new("open is no ending", "the endings are in --help"));
    };
    let because: String = args.because.chars().filter(|c| !c.is_control()).collect();
    if because.trim().is_empty() {
        return Err(CommandError::new(
            "there is no reason",
            "say in a sentence why, with --because",
        ));
    }
    let path = call_path(&args.places.data.folder(settings)?, &args.call);
    let (journal, stored) = Journal::open(&path)?;
    let terms = Terms::of(&stored.entries);
    let engine = args.places.packs.engine_on(&terms, settings, WithCases::No)?;
    let mut call = Call::with(&engine, stored.entries, Some(journal));
    if let Some((ended, _)) = call.ending() {
        return Err(CommandError::new(
            format!("this call has ended: {}", ended.say()),
            format!("`pintle report {}` prints its record", args.call),
        ));
    }
    let lacking = lacking(&call, ending);
    if !lacking.is_empty() {
        let mut hints = lacking;
        hints.push(format!(
            "what is left is asked in the walk: pintle resume {}",
            args.call
        ));
        return Err(CommandError {
            hints,
            ..CommandError::new(format!("this call can't end as {}", ending.say()), "")
        });
    }
    let event = Event::Ended { ending, text: because };
    call.record(Entry { time: clock(), event })?;
    let (id, say) = (&args.call, ending.say());
    writeln!(out, "The call has ended: {say}. Its record: pintle report {id}")?;
    if call.stop().is_some_and(|s| !s.made_safe) {
        writeln!(
            out,
            "The gate is out of use and nothing says that it was made safe; the record says so."
        )?;
    }
    Ok(Exit::Ok)
}

/// What has to be in the call before it may end like that; nothing: it may.
fn lacking(call: &Call<'_>, ending: Ending) -> Vec<String> {
    let mut lacking = Vec::new();
    if let Some(device) = call.device_off() {
        lacking.push(format!(
            "a protection device is unplugged: {}",
            device.replace('-', " ")
        ));
    }
    if !call.may_end(ending) {
        lacking.push(needs(ending).to_owned());
    }
    if ending == Ending::OutOfUse && call.stop().is_none_or(|s| !s.made_safe) {
        lacking.push(
            "nothing says that the gate was isolated, secured and signed, and the owner told in writing".to_owned(),
        );
    }
    // A gate that is left in use is left as it was found.
    let in_use = matches!(
        ending,
        Ending::Fixed | Ending::Explained | Ending::NoFaultFound | Ending::Referred
    );
    if in_use && call.stop().is_none() && call.at() == At::Gate && !call.given_back() {
        let what = call.to_give_back();
        lacking.extend(what.iter().map(|w| format!("still to be given back: {w}")));
    }
    lacking
}

/// What an ending needs that not every call has.
fn needs(ending: Ending) -> &'static str {
    match ending {
        Ending::Fixed => {
            "fixed needs every symptom proven gone after the last repair, every line of the safety retest passed, the gate not out of use"
        }
        Ending::Explained => "explained needs every symptom proven gone, nothing changed and the gate not out of use",
        Ending::NoFaultFound => {
            "no fault found needs a gate that did not do it when it was watched, nothing changed and the gate not out of use"
        }
        _ => "something stands against it",
    }
}
