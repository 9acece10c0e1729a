//! Many calls: listed, searched, closed, exported; who may read them; completions and the manual.

use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

use pintle::call::{Answerer, Call, CaseAnswerer, Engine, Entry, Event, Journal, walk};
use pintle::commands::man::pages;
use pintle::knowledge::schema::{At, Case, Ending, Who};
use pintle::knowledge::{Knowledge, WithCases};
use pintle::records::{Wanted, cell, list_folder};
use proptest::prelude::*;

use super::pty::pintle;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

fn tell(data: &Path, arguments: &[&str]) -> String {
    let output = pintle(data)
        .args(arguments)
        .stdin(Stdio::null())
        .output()
        .expect("it runs");
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("text");
    let code = output.status.code().expect("a code");
    format!("{}{}exit {code}\n", text(&output.stdout), text(&output.stderr))
        .replace(&data.display().to_string(), "DATA")
}

fn at(time: &str, event: Event) -> Entry {
    Entry {
        time: time.to_owned(),
        event,
    }
}

fn keep(data: &Path, id: &str, entries: &[Entry]) {
    let mut journal = Journal::create(&data.join(format!("{id}.jsonl"))).expect("a new file");
    entries.iter().for_each(|e| journal.append(e).expect("written"));
}

fn opened(site: &str) -> Event {
    Event::Opened {
        knowledge: "0".repeat(16),
        packs: vec!["Automatic vehicle gates".to_owned()],
        at: At::Gate,
        who: Who::Technician,
        site: Some(site.to_owned()),
    }
}

fn complaint(words: &str) -> Event {
    Event::Complaint {
        words: words.to_owned(),
        symptoms: vec!["slow".to_owned()],
    }
}

fn ended(ending: Ending) -> Event {
    Event::Ended {
        ending,
        text: "as agreed".to_owned(),
    }
}

/// Three calls on three days, in an order that their names don't have.
fn three(data: &Path) {
    let repaired = Event::Repaired {
        repair: "replace-battery-set".to_owned(),
        note: "serial 883".to_owned(),
    };
    let first = "2026-01-10T09:00:00+01:00";
    keep(
        data,
        "zebra",
        &[
            at(first, opened("12 Orchard Lane")),
            at(first, complaint("it crawls")),
            at(first, repaired),
        ],
    );
    let second = "2026-02-03T23:30:00-05:00";
    keep(
        data,
        "2026-02-03-1",
        &[
            at(second, opened("Mill Lane 3")),
            at(
                second,
                complaint("=HYPERLINK(\"x\") \u{1b}[31mstops half way, and the lamp on the operator's box is out"),
            ),
            at(
                second,
                Event::Note {
                    text: "dog in the yard".to_owned(),
                },
            ),
            at(second, ended(Ending::Referred)),
        ],
    );
    let third = "2026-03-04T08:15:00+00:00";
    keep(
        data,
        "2026-03-04-1",
        &[
            at(third, opened("Orchard House")),
            at(third, complaint("won't open")),
            at(third, ended(Ending::Withdrawn)),
            at(third, Event::Retracted { entry: 2 }),
        ],
    );
}

#[test]
fn calls_are_listed_newest_last_and_picked_by_what_is_asked() {
    let data = folder();
    three(data.path());
    let text = tell(data.path(), &["calls"]);
    insta::assert_snapshot!("calls_three", text);
    assert!(
        text.lines().all(|l| l.chars().count() <= 80) && !text.contains('\u{1b}'),
        "{text}"
    );
    let picked = |arguments: &[&str]| {
        let mut all = vec!["calls"];
        all.extend(arguments);
        let text = tell(data.path(), &all);
        let ids = text
            .lines()
            .filter(|l| l.contains(" 2026-"))
            .filter_map(|l| l.split(' ').next());
        ids.map(str::to_owned).collect::<Vec<_>>()
    };
    let (zebra, mill, house) = ("zebra", "2026-02-03-1", "2026-03-04-1");
    assert_eq!(
        picked(&["--open"]),
        [zebra, house],
        "an ending that was taken back is none"
    );
    assert_eq!(picked(&["--state", "referred"]), [mill]);
    assert_eq!(
        picked(&["--state", "referred", "--state", "open"]),
        [zebra, mill, house]
    );
    assert_eq!(picked(&["--site", "orchard"]), [zebra, house]);
    assert_eq!(picked(&["--since", "2026-02-03"]), [mill, house]);
    assert_eq!(
        picked(&["--until", "2026-02-03"]),
        [zebra, mill],
        "by the clock of the place"
    );
    assert_eq!(picked(&["--since", "2026-02-01", "--until", "2026-02-28"]), [mill]);
    assert_eq!(picked(&["--words", "LAMP", "half"]), [mill]);
    assert_eq!(picked(&["--words", "dog"]), [mill]);
    assert_eq!(picked(&["--words", "883"]), [zebra]);
    assert_eq!(picked(&["--words", "battery"]), [zebra], "by the title of the repair");
    assert!(picked(&["--words", "battery", "dog"]).is_empty());
    assert!(tell(data.path(), &["calls", "--site", "nowhere"]).starts_with("None of the 3 calls is like that."));
    let text = tell(data.path(), &["calls", "--since", "March"]);
    assert!(text.contains("such as 2026-03-04") && text.contains("exit 2"), "{text}");
}

#[test]
fn a_call_ends_from_the_list_only_as_it_may() {
    let data = folder();
    three(data.path());
    let close = |id: &str, ending: &str| {
        tell(
            data.path(),
            &["calls", "close", id, "--as", ending, "--because", "sold"],
        )
    };
    let text = close("zebra", "fixed");
    insta::assert_snapshot!("calls_close_fixed", text);
    for ending in ["explained", "no-fault-found", "out-of-use"] {
        let text = close("zebra", ending);
        assert!(text.contains("can't end as") && text.contains("exit 3"), "{text}");
    }
    assert!(close("zebra", "open").contains("open is no ending"));
    assert!(close("nothing", "waiting").contains("there is no call nothing"));
    assert!(close("2026-02-03-1", "waiting").contains("has ended: referred"));
    let before = Journal::load(&data.path().join("zebra.jsonl"))
        .expect("whole")
        .entries
        .len();
    assert_eq!(before, 3, "what was refused left no trace");
    assert!(close("zebra", "waiting").contains("The call has ended: waiting."));
    let after = Journal::load(&data.path().join("zebra.jsonl")).expect("whole").entries;
    assert!(matches!(&after[3].event, Event::Ended { ending: Ending::Waiting, text } if text == "sold"));
    let text = tell(data.path(), &["calls", "close", "2026-03-04-1", "--as", "waiting"]);
    assert!(text.contains("--because"), "{text}");
}

#[test]
fn with_a_protection_device_off_no_call_ends_from_the_list() {
    let data = folder();
    let knowledge = Knowledge::built_in(&[], WithCases::No).0;
    let unplugging = knowledge.tests.iter().find(|(_, t)| t.unplugs.is_some());
    let (test, entry) = unplugging.expect("a test that unplugs a device");
    let outcome = entry.outcomes.keys().next().expect("an outcome").clone();
    let time = "2026-03-04T08:15:00+00:00";
    let answer = Event::Answer {
        test: test.clone(),
        outcome: Some(outcome),
        readings: [].into(),
        said: None,
        by: pintle::call::Rank::Seen,
    };
    keep(
        data.path(),
        "one",
        &[at(time, opened("x")), at(time, complaint("slow")), at(time, answer)],
    );
    let text = tell(
        data.path(),
        &["calls", "close", "one", "--as", "referred", "--because", "late"],
    );
    assert!(
        text.contains("a protection device is unplugged") && text.contains("exit 3"),
        "{text}"
    );
}

fn case(engine: &Engine, name: &str) -> Case {
    let sources = &engine.knowledge.sources.files;
    let found = engine
        .knowledge
        .cases
        .iter()
        .find(|(f, _)| sources[*f].name.ends_with(name));
    found.expect("a case of the built-in pack").1.clone()
}

/// A whole call of a built-in case, kept as a person's would be.
fn played(data: &Path, id: &str, name: &str) {
    let engine = Engine::new(Knowledge::built_in(&[], WithCases::Yes).0);
    let case = case(&engine, name);
    let mut answerer = CaseAnswerer::new(&engine, &case);
    let mut call = Call::in_memory(&engine, Vec::new());
    let event = engine.opened(case.at, Who::Technician, Some("12 Orchard Lane".to_owned()));
    let time = answerer.now();
    call.record(Entry { time, event }).expect("in memory");
    walk(&mut call, &mut answerer).expect("it ends");
    keep(data, id, &call.entries);
}

#[test]
fn rows_say_what_the_record_says() {
    let data = folder();
    played(data.path(), "2026-01-01-1", "remote-cell-flat.yaml");
    three(data.path());
    let text = tell(data.path(), &["calls", "export"]);
    let rows: Vec<serde_json::Value> = text
        .lines()
        .filter(|l| l.starts_with('{'))
        .map(|l| serde_json::from_str(l).expect("JSON"))
        .collect();
    assert_eq!(rows.len(), 4);
    let row = rows.iter().find(|r| r["id"] == "2026-01-01-1").expect("the call");
    let record: serde_json::Value = {
        let text = tell(data.path(), &["report", "2026-01-01-1", "--json"]);
        serde_json::from_str(text.trim_end().trim_end_matches("exit 0")).expect("JSON")
    };
    assert_eq!(row["ending"], record["ending"]["word"]);
    assert_eq!(row["site"], "12 Orchard Lane");
    assert_eq!(row["opened"], record["opened"]);
    assert_eq!(row["symptoms"], record["complaint"]["symptoms"]);
    assert_eq!(row["causes"][0]["cause"], record["causes"][0]["cause"]);
    let percent = row["causes"][0]["percent"].as_f64().expect("a number");
    let chance = record["causes"][0]["chance"].as_f64().expect("a number");
    assert!((percent - chance * 100.0).abs() <= 0.05 + 1e-9, "{percent} {chance}");
    assert_eq!(row["repairs"][0], record["repairs"][0]["repair"]);
    let keys: Vec<&String> = row.as_object().expect("an object").keys().collect();
    let expected = "id opened closed at site complaint symptoms causes repairs ending minutes";
    assert_eq!(keys, expected.split(' ').collect::<Vec<_>>());
    // Filters hold here too.
    let text = tell(data.path(), &["calls", "export", "--state", "referred"]);
    assert_eq!(text.lines().filter(|l| l.starts_with('{')).count(), 1);
}

#[test]
fn a_table_reads_back_and_runs_nothing() {
    let data = folder();
    three(data.path());
    let file = data.path().join("table.csv");
    let text = tell(
        data.path(),
        &["calls", "export", "--as", "csv", "--out", &file.display().to_string()],
    );
    assert!(text.starts_with("Written: DATA/table.csv (3 calls)"), "{text}");
    let written = std::fs::read_to_string(&file).expect("UTF-8");
    insta::assert_snapshot!("calls_csv", written.replace("\r\n", "\n"));
    let mut table = csv::Reader::from_reader(written.as_bytes());
    let rows: Vec<csv::StringRecord> = table.records().map(|r| r.expect("a row")).collect();
    assert!(rows[1][5].starts_with("'=HYPERLINK(\"x\")"), "{:?}", &rows[1][5]);
    assert!(rows.iter().flatten().all(|c| !c.starts_with(['=', '+', '-', '@'])));
    let again = tell(
        data.path(),
        &["calls", "export", "--as", "csv", "--out", &file.display().to_string()],
    );
    assert!(again.contains("nothing of yours is written over"), "{again}");
}

#[test]
fn redacted_rows_tell_nobody_whose_gate_it_was() {
    let data = folder();
    three(data.path());
    for form in ["jsonl", "csv"] {
        let text = tell(data.path(), &["calls", "export", "--redact", "--as", form]);
        for name in [
            "Orchard", "Mill", "crawls", "lamp", "dog", "883", "zebra", "09:00", "agreed",
        ] {
            assert!(!text.contains(name), "{name} in {text}");
        }
        assert!(text.contains("left out") && text.contains("2026-02-03-1"), "{text}");
    }
}

proptest! {
    #[test]
    fn no_cell_begins_like_a_formula(text in "[=+@ -]{0,3}\\PC{0,20}") {
        let cell = cell(&text);
        prop_assert!(!cell.trim_start().starts_with(['=', '+', '-', '@']), "{cell}");
        prop_assert_eq!(cell.strip_prefix('\'').unwrap_or(&cell), text.strip_prefix('\'').unwrap_or(&text));
    }
}

#[test]
fn two_thousand_calls_are_listed_at_once() {
    const CALLS: usize = 2000;
    let data = folder();
    for i in 0..CALLS {
        let time = format!("2026-{:02}-{:02}T{:02}:00:00Z", 1 + i % 12, 1 + i / 12 % 28, i % 24);
        let mut text = String::new();
        for event in [
            opened(&format!("Site {i}")),
            complaint("it crawls"),
            ended(Ending::Waiting),
        ] {
            text += &serde_json::to_string(&at(&time, event)).expect("json");
            text.push('\n');
        }
        std::fs::write(data.path().join(format!("call-{i}.jsonl")), text).expect("written");
    }
    let start = Instant::now();
    let listing = list_folder(data.path());
    let took = start.elapsed();
    assert_eq!((listing.calls.len(), listing.damaged.len()), (CALLS, 0));
    assert!(listing.calls.is_sorted_by_key(|c| c.opened.clone()));
    let wanted = Wanted {
        site: Some("site 1999".to_owned()),
        ..Wanted::default()
    };
    assert_eq!(listing.calls.iter().filter(|c| c.is(&wanted, None)).count(), 1);
    // Generous, because other tests run beside it.
    assert!(took < Duration::from_secs(3), "{took:?}");
}

#[cfg(unix)]
#[test]
fn calls_are_for_their_owner_alone() {
    use std::os::unix::fs::PermissionsExt as _;
    let data = folder();
    let inside = data.path().join("kept/calls");
    let mode = |path: &Path| std::fs::metadata(path).expect("there").permissions().mode() & 0o777;
    let before = mode(data.path());
    three(&inside);
    let call = inside.join("zebra.jsonl");
    assert_eq!((mode(&call), mode(&inside)), (0o600, 0o700));
    // One from before, that others can read: tightened when it is listed, and said.
    let open = |path: &Path| std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o644)).expect("ours");
    open(&call);
    let text = tell(&inside, &["calls"]);
    assert!(
        text.contains("Others on this machine could read the files of 1 call(s)"),
        "{text}"
    );
    assert_eq!(mode(&call), 0o600);
    assert!(!tell(&inside, &["calls"]).contains("Others"));
    open(&call);
    let (_, stored) = Journal::open(&call).expect("it opens");
    assert!(stored.tightened);
    assert_eq!(mode(&call), 0o600);
    assert!(!Journal::open(&call).expect("it opens").1.tightened);
    // A folder that was there is somebody's own business.
    assert_eq!(mode(data.path()), before);
    let file = inside.join("rows.jsonl.txt");
    tell(&inside, &["calls", "export", "--out", &file.display().to_string()]);
    assert_eq!(mode(&file), 0o600);
}

/// No control characters but line ends, and nothing of this machine.
fn clean(text: &str) {
    let odd: Vec<char> = text
        .chars()
        .filter(|c| c.is_control() && *c != '\n' && *c != '\t')
        .collect();
    assert!(odd.is_empty(), "{odd:?}");
    let here = [env!("CARGO_MANIFEST_DIR"), "/tmp", "/home", "/root"];
    assert!(here.iter().all(|p| !text.contains(p)), "a path of this machine");
}

#[test]
fn completions_are_written_for_every_shell() {
    let data = folder();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let text = tell(data.path(), &["completions", shell]);
        let text = text.replace("PINTLE_DATA", "");
        clean(&text);
        assert!(text.contains("diagnose") && text.contains("export"), "{shell}");
        assert!(!text.contains("DATA"), "{shell} names a folder");
    }
}

#[cfg(unix)]
#[test]
fn a_shell_reads_its_completions() {
    let data = folder();
    let text = tell(data.path(), &["completions", "bash"]);
    let script = data.path().join("pintle.bash");
    std::fs::write(&script, text.trim_end().trim_end_matches("exit 0")).expect("written");
    let bash = |arguments: &[&str]| {
        let output = std::process::Command::new("bash")
            .args(arguments)
            .arg(&script)
            .output()
            .expect("bash runs");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).expect("text")
    };
    bash(&["-n"]);
    // And completes by it: `pintle calls ex` leads to `export`.
    let asked =
        "source \"$0\"; COMP_WORDS=(pintle calls ex); COMP_CWORD=2; _pintle pintle ex calls; echo \"${COMPREPLY[@]}\"";
    assert_eq!(bash(&["-c", asked]).trim(), "export");
}

#[test]
fn the_manual_has_a_page_for_every_command() {
    fn names(command: &clap::Command, name: &str, all: &mut Vec<String>) {
        all.push(name.to_owned());
        for below in command.get_subcommands() {
            names(below, &format!("{name}-{}", below.get_name()), all);
        }
    }
    let command = <pintle::commands::Arguments as clap::CommandFactory>::command();
    let mut expected = Vec::new();
    names(&command, "pintle", &mut expected);
    let pages = pages();
    let found: Vec<&str> = pages.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(found, expected);
    assert!(expected.iter().any(|n| n == "pintle-calls-export"));
    for page in &pages {
        clean(&page.text);
        let title = format!(".TH {} 1", page.name);
        assert!(page.text.contains(&title), "{}: {}", page.name, page.text);
        assert!(page.text.contains(".SH SYNOPSIS"), "{}", page.name);
    }
    let data = folder();
    let out = data.path().join("man");
    let text = tell(data.path(), &["man", "--out", &out.display().to_string()]);
    assert!(
        text.starts_with(&format!("{} pages in DATA/man", pages.len())),
        "{text}"
    );
    assert_eq!(std::fs::read_dir(&out).expect("a folder").count(), pages.len());
    let text = tell(data.path(), &["man", "calls", "close"]);
    assert!(text.contains(".TH pintle-calls-close 1"), "{text}");
    let text = tell(data.path(), &["man", "cals"]);
    assert!(
        text.contains("did you mean calls?") && text.ends_with("exit 3\n"),
        "{text}"
    );
}
