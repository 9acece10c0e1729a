//! Drills on a pseudo-terminal and from a script: what is typed, what is kept, what is refused.

use std::path::Path;
use std::process::Output;

use super::pty::{CTRL_C, Terminal, pintle};

fn drill(data: &Path, arguments: &[&str]) -> std::process::Command {
    let mut command = pintle(data);
    command.arg("drill").args(arguments);
    command
}

fn run(data: &Path, arguments: &[&str]) -> (String, Option<i32>) {
    let Output { stdout, stderr, status } = drill(data, arguments).output().expect("it starts");
    let text = String::from_utf8_lossy(&stdout).into_owned() + &String::from_utf8_lossy(&stderr);
    (text, status.code())
}

/// The number that stands before an option on a page.
fn number(page: &str, option: &str) -> String {
    let line = page.lines().find(|l| l.contains(option)).expect("it is listed");
    line.split_whitespace().next().expect("its number").to_owned()
}

/// A slow start, a word nobody knows, a number out of the list, Ctrl-C, taken up again, left, debriefed, written into the class file.
#[test]
fn a_guided_drill_left_and_taken_up_again() {
    let data = tempfile::tempdir().expect("a folder");
    let class = data.path().join("class.jsonl");
    let class = class.display().to_string();
    let mut terminal = Terminal::start(drill(
        data.path(),
        &[
            "cricket-ball-and-the-stop-button",
            "--trainee",
            "Ann",
            "--class",
            &class,
        ],
    ));
    let opening = terminal.question();
    assert!(opening.page.contains("Drill, guided"), "{}", opening.page);
    assert!(terminal.answer("?").page.contains("safety retest"));
    assert!(terminal.answer("flugelhorn").page.contains("Nothing has that word"));
    assert!(terminal.answer("99").page.contains("Type a word first"));
    assert!(terminal.answer("d").page.contains("no sign of danger"));
    let list = terminal.answer("stop terminals").page;
    let how = terminal.answer(&number(&list, "Stop terminals")).page;
    assert!(how.contains("caution") || how.contains("why"), "{how}");
    let told = terminal.answer("").page;
    assert!(
        told.contains("A stop button is pressed in or broken") && told.contains("likely"),
        "{told}"
    );
    terminal.keys(CTRL_C);
    let (last, code) = terminal.end();
    assert!(
        last.contains("Kept. Go on with: pintle drill resume ") && code == 0,
        "{last}"
    );
    terminal.assert_fits();
    let id = last.trim().rsplit(' ').next().expect("an id").to_owned();

    let mut terminal = Terminal::start(drill(data.path(), &["resume", &id, "--class", &class]));
    terminal.question();
    let seen = terminal.answer("a").page;
    assert!(seen.contains("A stop button is pressed in or broken"), "{seen}");
    terminal.answer("e");
    terminal.line("5");
    let (last, code) = terminal.end();
    assert!(
        last.contains("Debrief: not passed") && last.contains("left as   referred"),
        "{last}"
    );
    assert!(last.contains("Added to") && code == 0, "{last}");
    terminal.assert_fits();

    let (results, code) = run(data.path(), &["results", &class]);
    assert!(
        results.contains("Ann") && results.contains("wiring") && code == Some(0),
        "{results}"
    );
    let (again, code) = run(data.path(), &["debrief", &id]);
    assert!(again.contains("Debrief: not passed") && code == Some(1), "{again}");
    let mut learn = pintle(data.path());
    learn.arg("calibration").arg(data.path().join("drills"));
    let told = String::from_utf8(learn.output().expect("it starts").stdout).expect("text");
    assert!(told.contains("a drill, not a call"), "{told}");
    let (_, code) = run(data.path(), &["debrief", "no-such-drill"]);
    assert_eq!(code, Some(3));
}

/// Alone, nothing is said before a step, nothing is ranked, and the digits say no more than a meter does.
#[test]
fn alone_nobody_helps() {
    let data = tempfile::tempdir().expect("a folder");
    let mut terminal = Terminal::start(drill(
        data.path(),
        &["gland-full-of-green", "--level", "alone", "--seed", "7"],
    ));
    terminal.question();
    terminal.answer("reach of a proven");
    let told = terminal.answer("1").page;
    assert!(
        told.contains(" m\n") && !told.contains("meaning") && !told.contains("likely"),
        "{told}"
    );
    assert!(terminal.answer("k").page.contains("guided drills only"));
    terminal.answer("t");
    let lines = terminal.answer("0");
    assert!(lines.prompt.starts_with("do ("), "{}", lines.prompt);
    terminal.line("p");
    let (last, code) = terminal.end();
    assert!(last.contains("pintle drill resume") && code == 0, "{last}");
}

/// A fault that can hurt is not set on a real gate; a harmless one is, and the trainer types what the gate shows and marks what was done.
#[test]
fn on_a_real_gate_the_trainer_answers() {
    let data = tempfile::tempdir().expect("a folder");
    let (refused, code) = run(data.path(), &["skip-lorry-and-the-track", "--live"]);
    assert!(
        refused.contains("not one to set on a real gate") && code == Some(3),
        "{refused}"
    );
    let mut terminal = Terminal::start(drill(
        data.path(),
        &["cricket-ball-and-the-stop-button", "--live", "--level", "alone"],
    ));
    let opening = terminal.question().page;
    assert!(
        opening.contains("Isolate the gate") && opening.contains("latching stop button"),
        "{opening}"
    );
    let list = terminal.answer("stop terminals").page;
    let asked = terminal.answer(&number(&list, "Stop terminals")).page;
    assert!(asked.contains("Trainer: what does the gate show?"), "{asked}");
    let told = terminal.answer("2").page;
    assert!(told.contains("it shows"), "{told}");
    let marks = terminal.answer("!").page;
    assert!(marks.contains("Have the owner open it from the app"), "{marks}");
    terminal.answer(&number(&marks, "Have the owner open it from the app"));
    terminal.answer("e");
    terminal.line("4");
    let (last, _) = terminal.end();
    assert!(last.contains("UNSAFE"), "{last}");
    terminal.assert_fits();
}

/// A set is drawn, printed as sheets, and run by its number; files that are there are not written over.
#[test]
fn a_class_set_and_its_sheets() {
    let data = tempfile::tempdir().expect("a folder");
    let at = |name: &str| data.path().join(name).display().to_string();
    let (set, sheets) = (at("set.json"), at("sheets"));
    let from = "examples/drills/cricket-ball-and-the-stop-button.yaml";
    let also = "examples/drills/gland-full-of-green.yaml";
    let (told, code) = run(data.path(), &["set", from, also, "--number", "2", "--out", &set]);
    assert!(told.contains("2 drills in") && code == Some(0), "{told}");
    assert!(!told.contains("cricket"), "the names would tell: {told}");
    let (told, code) = run(data.path(), &["set", from, "--out", &set]);
    assert!(
        told.contains("name a file that is not there yet") && code == Some(3),
        "{told}"
    );
    let (told, code) = run(data.path(), &["sheet", &set, "--out", &sheets]);
    assert!(
        told.contains("answers.html") && told.contains("trainee.html") && code == Some(0),
        "{told}"
    );
    let (told, code) = run(data.path(), &["--set", &set, "9"]);
    assert!(told.contains("give its number, 1 to 2") && code == Some(3), "{told}");
    let (told, code) = run(data.path(), &["set", "--subject", "plumbing"]);
    assert!(
        told.contains("no scenario practises plumbing") && code == Some(3),
        "{told}"
    );
    let (told, code) = run(data.path(), &["cricket-ball-and-the-stop-buttom"]);
    assert!(
        told.contains("did you mean cricket-ball-and-the-stop-button?") && code == Some(3),
        "{told}"
    );
    let broken = data.path().join("broken.yaml");
    std::fs::write(
        &broken,
        "title: a\nsays: [a]\nsymptoms: [dead]\ncauses: []\nsourse: b\n",
    )
    .expect("written");
    let (told, code) = run(data.path(), &[&broken.display().to_string()]);
    assert!(told.contains("broken.yaml:5:") && code == Some(3), "{told}");
}
