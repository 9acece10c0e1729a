//! `pintle cases`
use super::{CommandError, Exit, Packs};
use crate::call::play;
use crate::knowledge::WithCases;

/// Arguments of `pintle cases`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
    /// Only cases whose title or file contains this.
    pub only: Option<String>,
    /// Show the path.
    #[arg(long)]
    pub path: bool,
}

/// Runs it.
pub fn run(args: &Args, _style: &crate::terminal::Style, out: &mut dyn std::io::Write) -> Result<Exit, CommandError> {
    let engine = args.packs.engine(WithCases::Yes)?;
    let mut failed = 0;
    let mut asked = 0;
    let mut unlisted = 0;
    for (file, case) in &engine.knowledge.cases {
        let name = &engine.knowledge.sources.files[*file].name;
        if let Some(only) = &args.only
            && !name.contains(only.as_str())
        {
            continue;
        }
        let (result, _) = play(&engine, case);
        asked += result.steps;
        unlisted += result.unlisted.len();
        let _ = writeln!(
            out,
            "{} {:60} steps {:2} min {:5.1} unl {} {}",
            if result.failures.is_empty() {
                "ok  "
            } else {
                failed += 1;
                "FAIL"
            },
            name,
            result.steps,
            result.minutes,
            result.unlisted.len(),
            result.failures.join("; ")
        );
        if args.path || !result.failures.is_empty() {
            for p in &result.path {
                let _ = writeln!(out, "       {p}");
            }
            let _ = writeln!(out, "       => {:?} {:?}", result.ending, result.ranking);
        }
    }
    let _ = writeln!(
        out,
        "{failed} failed of {}; steps {asked} unlisted {unlisted}",
        engine.knowledge.cases.len()
    );
    Ok(if failed == 0 { Exit::Ok } else { Exit::Found })
}
