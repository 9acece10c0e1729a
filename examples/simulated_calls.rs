//! Writes calls that nobody made, drawn from the knowledge: something to try `learn` and `calibration` on, and to measure them with.
//!
//! usage: `simulated_calls FOLDER CALLS [SEED]`; the folder must be new. Three repairs a call at most, as an impatient person would.

use std::io::Write as _;
use std::path::Path;

use pintle::call::Engine;
use pintle::knowledge::{Knowledge, WithCases};
use pintle::records::Simulator;

const MOST_REPAIRS: usize = 3;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [folder, calls, rest @ ..] = arguments.as_slice() else {
        return Err("usage: simulated_calls FOLDER CALLS [SEED]".into());
    };
    let calls: u64 = calls.parse()?;
    let seed: u64 = rest.first().map_or(Ok(1), |s| s.parse())?;
    let folder = Path::new(folder);
    std::fs::create_dir(folder)?;
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::No);
    let engine = Engine::new(knowledge);
    let mut simulator = Simulator::new(&engine, seed, MOST_REPAIRS);
    for number in 0..calls {
        let mut file = std::io::BufWriter::new(std::fs::File::create(folder.join(format!("{number}.jsonl")))?);
        for entry in simulator.call().entries {
            serde_json::to_writer(&mut file, &entry)?;
            file.write_all(b"\n")?;
        }
        file.flush()?;
    }
    Ok(())
}
