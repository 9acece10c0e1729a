//! `pintle visit`: who goes to a gate, for how long, and what is loaded.

use std::io::Write;

use super::{CommandError, Data, Exit, Packs, json, stored_call};
use crate::call::Call;
use crate::settings::Settings;
use crate::terminal::{Style, render_visit};
use crate::visit::plan;

/// Arguments of `pintle visit`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The call: its id, or the path of its file
    pub call: String,
    /// Chance of putting it right at the first visit that the load aims at, in per cent [default: the setting `first-visit-fix`]
    #[arg(long, value_name = "PERCENT", value_parser = clap::value_parser!(u8).range(1..=99))]
    pub rate: Option<u8>,
    /// A part or tool that is on this truck anyway, by its name; may be given several times
    #[arg(long = "have", value_name = "THING")]
    pub have: Vec<String>,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// Runs it.
///
/// # Errors
/// When the knowledge has errors, there is no such call, or nothing is reported in it yet.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let (engine, entries) = stored_call(&args.call, &args.data, &args.packs, settings)?;
    let call = Call::in_memory(&engine, entries);
    if call.symptoms().is_empty() {
        return Err(CommandError::new(
            "nothing is reported in this call yet, so nothing is known to load for",
            format!("`pintle resume {}` goes on with it", args.call),
        ));
    }
    let known = |thing: &&String| {
        let parts = engine.knowledge.parts().map(|p| &p.name);
        parts.chain(engine.knowledge.tools()).any(|name| name == *thing)
    };
    if let Some(strange) = args.have.iter().find(|thing| !known(thing)) {
        return Err(CommandError::new(
            format!("no repair or test uses a part or tool called \"{strange}\""),
            "--have takes the names that the load list shows",
        ));
    }
    let mut wishes = settings.wishes(&engine.knowledge);
    wishes.carried.extend(args.have.iter().cloned());
    if let Some(percent) = args.rate {
        wishes.rate = f64::from(percent) / 100.0;
    }
    let visit = plan(&call, &wishes);
    let text = if args.json {
        json(&visit)?
    } else {
        render_visit(&visit, style)
    };
    super::report::put(out, &text)?;
    Ok(Exit::Ok)
}
