//! What the commands print and how they end, without a terminal.

use std::io::{BufRead as _, BufReader, Read as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use pintle::call::{Entry, Event, Journal};
use pintle::knowledge::schema::{At, Ending, Who};

use super::pty::pintle;

/// A case that is short to play.
const CASE: &str = "knowledge/access/cases/remote-cell-flat.yaml";

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

fn case() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(CASE)
}

fn run(mut command: Command) -> Output {
    command.stdin(Stdio::null()).output().expect("it runs")
}

/// Both outputs and the exit code, without what differs from run to run.
fn told(data: &Path, output: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("text");
    let code = output.status.code().expect("a code");
    format!("{}{}exit {code}", text(&output.stdout), text(&output.stderr))
        .replace(&data.display().to_string(), "DATA")
        .replace(env!("CARGO_MANIFEST_DIR"), "HERE")
        .replace(env!("CARGO_PKG_VERSION"), "VERSION")
}

fn tell(data: &Path, arguments: &[&str]) -> String {
    let mut command = pintle(data);
    command.args(arguments);
    told(data, &run(command))
}

fn listing(data: &Path) -> Command {
    let mut command = pintle(data);
    command.arg("calls");
    command
}

/// A call of that name with these events, at a fixed time.
fn call(data: &Path, id: &str, events: Vec<Event>) {
    let mut journal = Journal::create(&data.join(format!("{id}.jsonl"))).expect("a new file");
    for event in events {
        let time = "2026-03-04T09:30:00+00:00".to_owned();
        journal.append(&Entry { time, event }).expect("written");
    }
}

fn opened(site: Option<&str>) -> Event {
    Event::Opened {
        knowledge: "0".repeat(16),
        packs: vec!["Automatic vehicle gates".to_owned()],
        at: At::Gate,
        who: Who::Technician,
        site: site.map(str::to_owned),
    }
}

fn complaint(words: &str) -> Event {
    Event::Complaint {
        words: words.to_owned(),
        symptoms: vec!["slow".to_owned()],
    }
}

/// One call that is open, one that has ended.
fn two_calls(data: &Path) {
    call(
        data,
        "2026-03-04-1",
        vec![
            opened(Some("Mill Lane 3")),
            complaint("it crawls since the frost came, and the lamp on the box is out"),
        ],
    );
    let (ending, text) = (Ending::Withdrawn, String::new());
    call(
        data,
        "2026-03-04-2",
        vec![opened(None), complaint("slow"), Event::Ended { ending, text }],
    );
}

#[test]
fn alone_it_says_what_can_be_done_and_which_calls_are_open() {
    let data = folder();
    insta::assert_snapshot!("alone", tell(data.path(), &[]));
    two_calls(data.path());
    let text = tell(data.path(), &[]);
    insta::assert_snapshot!("alone_with_calls", text);
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
}

#[test]
fn help_says_what_everything_is() {
    let data = folder();
    insta::assert_snapshot!("help", tell(data.path(), &["--help"]));
    insta::assert_snapshot!("help_diagnose", tell(data.path(), &["diagnose", "--help"]));
}

#[test]
fn without_a_terminal_it_says_what_works_there() {
    let data = folder();
    let text = tell(data.path(), &["diagnose"]);
    insta::assert_snapshot!("no_terminal", text);
    assert!(text.contains("--case ") && text.ends_with("exit 3"), "{text}");
    assert!(super::pty::journals(data.path()).is_empty(), "no call is begun");
    // The case it names is there.
    let named = text.split("--case ").nth(1).and_then(|t| t.split_whitespace().next());
    let named = Path::new(env!("CARGO_MANIFEST_DIR")).join(named.expect("a file"));
    assert!(named.exists(), "{} is named, but there is none", named.display());
}

#[test]
fn calls_are_listed_open_or_ended() {
    let data = folder();
    insta::assert_snapshot!("calls_none", tell(data.path(), &["calls"]));
    two_calls(data.path());
    insta::assert_snapshot!("calls", tell(data.path(), &["calls"]));
    insta::assert_snapshot!("calls_open", tell(data.path(), &["calls", "--open"]));
}

#[test]
fn an_unknown_call_is_refused_by_name() {
    let data = folder();
    for command in ["report", "why"] {
        let text = tell(data.path(), &[command, "2026-01-01-7"]);
        assert!(text.starts_with("pintle: there is no call 2026-01-01-7"), "{text}");
        assert!(text.contains("`pintle calls`") && text.ends_with("exit 3"), "{text}");
    }
    // An id never leads out of the folder.
    let text = tell(data.path(), &["report", "../../etc/passwd"]);
    assert!(text.starts_with("pintle: there is no call etcpasswd"), "{text}");
}

#[test]
fn a_damaged_call_is_named_with_its_line_and_the_others_are_listed() {
    let data = folder();
    two_calls(data.path());
    let path = data.path().join("2026-03-04-1.jsonl");
    let whole = std::fs::read_to_string(&path).expect("a file");
    std::fs::write(&path, whole.replace("\"complaint\"", "\"complain\"")).expect("written");
    // Where it breaks depends on how long the folder's name is.
    let text = super::pty::flat(
        &run(listing(data.path()))
            .stdout
            .iter()
            .map(|b| char::from(*b))
            .collect::<String>(),
    );
    assert!(
        text.contains(" slow left out: ") && text.contains("2026-03-04-1.jsonl, line 2: not an event"),
        "{text}"
    );
    insta::assert_snapshot!("report_damaged", tell(data.path(), &["report", "2026-03-04-1"]));
}

#[test]
fn a_case_that_can_t_be_used_is_refused_with_its_place() {
    let data = folder();
    let play = |file: &Path| tell(data.path(), &["diagnose", "--case", &file.display().to_string()]);
    insta::assert_snapshot!("case_missing", play(&data.path().join("missing.yaml")));
    let file = data.path().join("no-yaml.yaml");
    std::fs::write(&file, "title: one\n  two: [1,\n").expect("written");
    let text = play(&file);
    assert!(text.starts_with("pintle: DATA/no-yaml.yaml:2:"), "{text}");
    insta::assert_snapshot!("case_no_yaml", text);
    let file = data.path().join("unknown-field.yaml");
    let case = std::fs::read_to_string(case()).expect("a case");
    std::fs::write(&file, case.replace("\ncauses:", "\ncauze:")).expect("written");
    insta::assert_snapshot!("case_unknown_field", play(&file));
}

#[test]
fn events_of_a_case_are_lines_of_json() {
    let data = folder();
    let mut command = pintle(data.path());
    command.args(["diagnose", "--json", "--case"]).arg(case());
    let output = run(command);
    assert!(output.status.success(), "{output:?}");
    let text = String::from_utf8(output.stdout).expect("text");
    let events: Vec<Entry> = text
        .lines()
        .map(|line| serde_json::from_str(line).expect("an event"))
        .collect();
    assert!(matches!(events.first().map(|e| &e.event), Some(Event::Opened { .. })));
    assert!(matches!(events.last().map(|e| &e.event), Some(Event::Ended { .. })));
    assert!(events.len() > 10);
    assert!(super::pty::journals(data.path()).is_empty(), "a case leaves no call");
}

/// What playing the case prints.
fn played(data: &Path, arguments: &[&str], no_color: bool) -> String {
    let mut command = pintle(data);
    if !no_color {
        command.env_remove("NO_COLOR");
    }
    command.args(arguments).args(["diagnose", "--case"]).arg(case());
    let output = run(command);
    assert!(output.status.success(), "{output:?}");
    String::from_utf8(output.stdout).expect("text")
}

#[test]
fn colours_and_drawing_are_as_asked() {
    let data = folder();
    assert!(!played(data.path(), &[], true).contains('\x1b'));
    assert!(
        !played(data.path(), &[], false).contains('\x1b'),
        "no terminal, no colour"
    );
    assert!(played(data.path(), &["--color", "always"], true).contains('\x1b'));
    let plain = played(data.path(), &["--plain", "--color", "always"], false);
    assert!(!plain.contains('\x1b'));
    // Characters of the knowledge and of the case may be any; ours are ASCII.
    let theirs = pintle::knowledge::built_in_text(pintle::knowledge::WithCases::Yes);
    let ours: String = plain
        .chars()
        .filter(|c| !c.is_ascii() && !theirs.files.iter().any(|(_, text)| text.contains(*c)))
        .collect();
    assert_eq!(ours, "");
    // Pages keep to 80 columns; the record at the end is Markdown, whose tables don't break.
    let pages = plain.split("\n# ").next().expect("pages");
    let wide: Vec<&str> = pages.lines().filter(|l| l.chars().count() > 80).collect();
    assert!(wide.is_empty(), "{wide:#?}");
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let data = folder();
    let mut command = pintle(data.path());
    command
        .args(["diagnose", "--case"])
        .arg(case())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().expect("it runs");
    let mut first = String::new();
    let mut out = BufReader::with_capacity(16, child.stdout.take().expect("a pipe"));
    out.read_line(&mut first).expect("a line");
    drop(out);
    let mut complaints = String::new();
    child
        .stderr
        .take()
        .expect("a pipe")
        .read_to_string(&mut complaints)
        .expect("text");
    let status = child.wait().expect("it ends");
    assert_eq!((complaints.as_str(), status.code()), ("", Some(0)));
}
