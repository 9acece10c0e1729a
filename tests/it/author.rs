//! The author's way: a pack of one's own as the README tells it, and entries by being asked for them.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::process::Command;

use pintle::author::{Ask, Draft, Field, Interview, Kind, Node, Show, Stop, interview, scalar, write_map};
use pintle::commands::check::everything;
use pintle::finding::{Finding, Level};
use pintle::knowledge::{Knowledge, PackText, WithCases, built_in_text, load};
use proptest::prelude::*;

use super::pty::{CTRL_C, ENTER, ESC, Terminal, pintle};

// ---------------------------------------------------------------- the README

/// The blocks of the section "Extend it", each with its language.
fn blocks() -> Vec<(String, String)> {
    let readme = include_str!("../../README.md");
    let section = readme.split("\n## Extend it\n").nth(1).expect("the section");
    let section = section.split("\n## ").next().unwrap_or(section);
    let parts = section.split("```").skip(1).step_by(2);
    parts
        .map(|part| {
            let (language, text) = part.split_once('\n').expect("a block");
            (language.to_owned(), text.to_owned())
        })
        .collect()
}

fn of(language: &str) -> Vec<String> {
    let found = blocks().into_iter().filter(|(l, _)| l == language);
    found.map(|(_, text)| text).collect()
}

/// A YAML block that names its file in its first line.
fn file_block(name: &str) -> String {
    let head = format!("# {name}\n");
    of("yaml")
        .into_iter()
        .find(|text| text.starts_with(&head))
        .expect("the block")
}

fn told(folder: &Path, arguments: &[&str]) -> (String, Option<i32>) {
    let output = Command::new(env!("CARGO_BIN_EXE_pintle"))
        .args(arguments)
        .args(["--color", "never"])
        .current_dir(folder)
        .env_remove("PINTLE_DATA")
        .output()
        .expect("it runs");
    let text = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    (text, output.status.code())
}

/// Every part of a shown text, up to the next `[...]`, stands in what was printed, in that order.
fn assert_shown(shown: &str, printed: &str) {
    let mut rest = printed;
    for part in shown.split("[...]\n") {
        let at = rest.find(part);
        assert!(
            at.is_some(),
            "the README shows what is not printed:\n{part}\n----\n{printed}"
        );
        rest = &rest[at.unwrap_or(0) + part.len()..];
    }
}

/// The lines with + in place of those with -.
fn with_mistakes(text: &str, diff: &str) -> String {
    let lines: Vec<&str> = diff.lines().collect();
    lines.chunks(2).fold(text.to_owned(), |text, pair| {
        let (right, wrong) = (pair[0].strip_prefix('-'), pair[1].strip_prefix('+'));
        let (right, wrong) = right.zip(wrong).expect("a line with -, then one with +");
        let right = format!("{}\n", right.trim_end());
        assert_eq!(text.matches(&right).count(), 1, "{right}");
        text.replace(&right, &format!("{}\n", wrong.trim_end()))
    })
}

#[test]
fn a_tech_extends_it_by_the_readme_alone() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let console = of("console").concat();
    let make = "pintle add pack our-company ";
    assert!(console.contains(make), "the README begins with a pack");
    let (text, code) = told(home.path(), &["add", "pack", "our-company"]);
    assert_eq!(code, Some(0), "{text}");

    // Two mistakes, pointed out where they stand.
    let beacon = file_block("our-company/beacon.yaml");
    let diff = of("diff").concat();
    let wrong = with_mistakes(&beacon, &diff);
    let file = home.path().join("our-company/beacon.yaml");
    std::fs::write(&file, &wrong).expect("written");
    std::fs::create_dir(home.path().join("our-company/cases")).expect("a folder");
    let case = file_block("our-company/cases/beacon.yaml");
    std::fs::write(home.path().join("our-company/cases/beacon.yaml"), case).expect("written");
    let (text, code) = told(home.path(), &["check", "our-company"]);
    assert_eq!(code, Some(1), "{text}");
    let shown = of("text");
    assert_shown(&shown[0], &text);
    assert_eq!(
        text.matches("error[").count(),
        2,
        "nothing but the two mistakes: {text}"
    );
    for (line, column, word) in [(23, 20, "97}"), (55, 7, "beacon-relay-omhs:")] {
        let at = wrong
            .lines()
            .nth(line - 1)
            .and_then(|l| l.get(column - 1..))
            .unwrap_or("");
        assert!(at.starts_with(word), "line {line}, column {column}: {at}");
    }

    // Mended, nothing of the pack is found, and the new symptom is walked.
    std::fs::write(&file, &beacon).expect("written");
    let (text, code) = told(home.path(), &["check", "our-company"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(!text.contains("our-company/"), "{text}");
    let (text, code) = told(home.path(), &["cases", "--pack", "our-company", "beacon"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("1 of 1 passed"), "{text}");
    let (text, code) = told(
        home.path(),
        &[
            "diagnose",
            "--case",
            "our-company/cases/beacon.yaml",
            "--pack",
            "our-company",
        ],
    );
    assert_eq!(code, Some(0), "{text}");
    assert_shown(&shown[1], &text);
    let (text, _) = told(home.path(), &["explain", "beacon-relay-stuck", "--pack", "our-company"]);
    assert!(
        text.contains("our-company/beacon.yaml:") && text.contains("our-company/cases/beacon.yaml"),
        "{text}"
    );

    // The schemas are written as the README says.
    for (of, file) in [("pack", "pack.schema.json"), ("case", "case.schema.json")] {
        let (text, code) = told(home.path(), &["schema", of]);
        assert_eq!(code, Some(0));
        serde_json::from_str::<serde_json::Value>(&text).expect("JSON");
        assert!(console.contains(file), "the README names {file}");
    }
    for (_, text) in blocks().iter().filter(|(l, _)| l == "json") {
        serde_json::from_str::<serde_json::Value>(text).expect("the setting is JSON");
    }
}

// ---------------------------------------------------------------- the dialogue

/// Answers from a list; what was shown is kept.
struct Script {
    answers: VecDeque<String>,
    page: String,
    /// What stood on the line for mending, question by question.
    typed: Vec<(String, String)>,
}

impl Script {
    fn new(answers: &str) -> Self {
        Self {
            answers: answers.lines().map(|l| l.trim().to_owned()).collect(),
            page: String::new(),
            typed: Vec::new(),
        }
    }
}

impl Ask for Script {
    fn show(&mut self, what: Show<'_>) {
        let line = match what {
            Show::Title(text) => format!("== {text}\n"),
            Show::Text(text) => format!("{text}\n"),
            Show::Choice(n, text) => format!("{n:>3} {text}\n"),
            Show::Problem(text) => format!("!! {text}\n"),
            Show::AsItIs(_) => String::new(),
        };
        self.page += &line;
    }

    fn line(&mut self, prompt: &str, typed: &str) -> Result<Option<String>, Stop> {
        let answer = self.answers.pop_front().ok_or(Stop::Interrupted)?;
        let answer = answer.trim_start_matches('!').to_owned();
        self.page += &["> ", prompt, " ", &answer, "\n"].concat();
        self.typed.push((prompt.to_owned(), typed.to_owned()));
        Ok(match answer.as_str() {
            "ESC" => None,
            // Enter keeps what stands there.
            "" => Some(typed.to_owned()),
            answer => Some(answer.to_owned()),
        })
    }
}

fn knowledge(packs: &[PathBuf]) -> Knowledge {
    Knowledge::built_in(packs, WithCases::Yes).0
}

/// Plays a script; the draft, the end, what was shown.
fn played(kind: Kind, answers: &str, knowledge: &Knowledge) -> (Draft, Result<(), Stop>, Script) {
    let mut script = Script::new(answers);
    let mut asked = Interview::new(&mut script, knowledge);
    let end = interview(kind, &mut asked);
    let draft = std::mem::take(&mut asked.draft);
    (draft, end, script)
}

/// What `check` finds in a draft laid over the built-in pack.
fn findings(draft: &Draft) -> Vec<Finding> {
    let files = draft
        .files()
        .into_iter()
        .map(|(path, text)| (path.display().to_string(), text));
    let pack = PackText {
        files: files.collect(),
        unreadable: Vec::new(),
    };
    let (knowledge, loaded) = load(vec![built_in_text(WithCases::Yes), pack], WithCases::Yes);
    let (all, _) = everything(&knowledge, loaded);
    all.into_iter()
        .filter(|f| knowledge.sources.files[f.location.file].pack == 1)
        .collect()
}

const SYMPTOM: &str = "Bell at the gate rings by itself

it rings all night
nobody is there but the bell goes

Has it stayed silent for a night?
1
y";

#[test]
fn a_symptom_is_written_as_it_was_said() {
    let (draft, end, _) = played(Kind::Symptom, SYMPTOM, &knowledge(&[]));
    assert_eq!(end, Ok(()));
    insta::assert_snapshot!("author_symptom", draft.so_far());
    let found = findings(&draft);
    // Alone it does nothing yet: a warning, no error.
    assert!(found.iter().all(|f| f.level() == Level::Warning), "{found:#?}");
}

/// Bad answers of every kind on the way, marked with !: each is refused with its reason and stays on the line.
const CAUSE: &str = "Gate motor's brake drags

A spring breaks and the shoe rides on the drum.
!5
1
!many
!0
3
power
!9
1 2

slow
!mostly
4
stops midway
1
sometimes

2
!0
3
7
0
+
Brake warm after one cycle

Is the brake housing warm to the back of a hand, a minute after one cycle?
2
operator
1
1
!1 2
2
n
n

!minus two
2.5
stopwatch, thermometer
0
Hot metal: back of the hand, near it first.

Wait a minute after one cycle.

Cold: a released brake makes no heat.
2
Cold
Warm
Hot

1
!0.3
0.95
1
3
often
2
6

travel-time
3
usually


worn

stop-button

1
Replace the brake's spring
almost always
2
operator
1
1
2
n

25
screwdriver
0

New spring in, shoe free of the drum by a card's thickness.

brake spring
15
wire gauge

9 5
1

Three whole cycles at the old speed, housing cold.
y";

#[test]
fn a_cause_is_asked_with_its_repair_and_a_test_written_on_the_way() {
    let (draft, end, script) = played(Kind::Cause, CAUSE, &knowledge(&[]));
    assert_eq!(end, Ok(()), "{}", script.page);
    insta::assert_snapshot!("author_cause", draft.so_far());
    insta::assert_snapshot!("author_cause_dialogue", script.page);
    let found = findings(&draft);
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn going_back_takes_answers_off_and_keeps_them_for_mending() {
    let answers = SYMPTOM.replace("it rings all night", "it rings all nigth\nESC\nit rings all night");
    let (draft, end, script) = played(Kind::Symptom, &answers, &knowledge(&[]));
    assert_eq!(end, Ok(()));
    let (plain, _, _) = played(Kind::Symptom, SYMPTOM, &knowledge(&[]));
    assert_eq!(draft.so_far(), plain.so_far());
    let mended = script.typed.iter().any(|(_, typed)| typed == "it rings all nigth");
    assert!(mended, "what was taken back stands on the line: {:?}", script.typed);
    // Before the first question there is nothing to go back to.
    let (_, end, script) = played(Kind::Symptom, &format!("ESC\n{SYMPTOM}"), &knowledge(&[]));
    assert!(end.is_ok() && script.page.contains("!! This is the first question"));
}

#[test]
fn an_id_that_exists_is_refused_and_a_bad_answer_stays_on_the_line() {
    let answers = SYMPTOM.replacen("\n\n", "\nslow\nBell rings\nbell-rings\n", 1);
    let (draft, end, script) = played(Kind::Symptom, &answers, &knowledge(&[]));
    assert_eq!(end, Ok(()), "{}", script.page);
    assert!(script.page.contains("!! `slow` is taken"), "{}", script.page);
    assert!(script.page.contains("such as bell-rings"), "{}", script.page);
    assert!(script.typed.iter().any(|(_, typed)| typed == "Bell rings"));
    assert!(draft.so_far().contains("\n  bell-rings:\n"));
}

#[test]
fn left_early_what_was_said_is_there_and_nothing_is_written() {
    let lines: Vec<&str> = CAUSE.lines().collect();
    let built_in = knowledge(&[]);
    for cut in [0, 3, 8, 30, 60, lines.len() - 1] {
        let (draft, end, _) = played(Kind::Cause, &lines[..cut].join("\n"), &built_in);
        assert_eq!(end, Err(Stop::Interrupted));
        let text = draft.so_far();
        assert_eq!(text.is_empty(), cut == 0, "{cut}: {text}");
        for (_, file) in draft.files() {
            serde_yaml::from_str::<serde_yaml::Value>(&file).expect("what there is can be read");
        }
    }
}

#[test]
fn nothing_that_exists_is_ever_changed() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let (draft, _, _) = played(Kind::Cause, CAUSE, &knowledge(&[]));
    let second = draft.files()[1].0.clone();
    let taken = home.path().join(&second);
    std::fs::create_dir_all(taken.parent().expect("a folder")).expect("made");
    std::fs::write(&taken, "mine").expect("written");
    draft.write(home.path()).expect_err("one of the files is there");
    assert_eq!(std::fs::read_to_string(&taken).expect("read"), "mine");
    assert!(!home.path().join(&draft.files()[0].0).exists(), "none is written then");
    let (text, code) = told(home.path(), &["add", "pack", "tests"]);
    assert!(code == Some(3) && text.contains("exists already"), "{text}");
    let (text, code) = told(home.path(), &["add", "pack", "../Up And Away"]);
    assert!(code == Some(3) && text.contains("can't be the name"), "{text}");
    let (text, code) = told(home.path(), &["add", "cause"]);
    assert!(code == Some(3) && text.contains("it has no pack.yaml"), "{text}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any text that the loader lets through comes back as it was, as a value, as a key, in a list and in a map on one line.
    #[test]
    fn what_is_written_is_read_back(text in "\\PC{0,40}|[a-z,' -]{60,200}|[a-z0-9 :#,{}\\[\\]&*!|>'\"%@`~.?-]{0,12}|[-+0-9.eExXoO_:]{1,8}") {
        let words = vec![Node::Text(text.clone()), Node::Lines(vec![text.clone()])];
        let map = Node::Short(vec![(text.clone(), Node::Text(text.clone()))]);
        let fields = [
            Field::new("a", Node::Text(text.clone())).saying("a remark"),
            Field::new("b", Node::List(words)),
            Field::new("c", map),
            Field::new("d", Node::Lines(vec![text.clone(), text.clone()])),
            Field::new("e", Node::Map(vec![Field::new(text.clone(), Node::Text(text.clone()))])),
        ];
        let yaml = write_map(&fields, 2);
        let value: serde_yaml::Value = serde_yaml::from_str(&yaml).expect(&yaml);
        let expected = serde_json::json!({
            "a": text, "b": [text, [text]], "c": {&text: text}, "d": [text, text], "e": {&text: text},
        });
        let read = serde_json::to_value(value).expect("keys are text");
        prop_assert_eq!(read, expected, "{}", yaml);
        prop_assert!(!scalar(&text).contains('\n'));
        // The scan that finds lines and columns reads it alike.
        let loaded = format!("symptoms:\n  x: {{title: {}, says: [a], gone: b, source: c}}\n", scalar(&text));
        let pack = PackText { files: vec![("x.yaml".to_owned(), loaded)], unreadable: Vec::new() };
        let (knowledge, found) = load(vec![pack], WithCases::No);
        prop_assert!(found.is_empty(), "{:?}", found);
        prop_assert_eq!(&knowledge.symptoms["x"].title, &text);
    }
}

// ---------------------------------------------------------------- the terminal

#[test]
fn a_cause_is_added_at_a_terminal() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let (text, code) = told(home.path(), &["add", "pack", "ours"]);
    assert_eq!(code, Some(0), "{text}");
    let mut command = pintle(home.path());
    command
        .current_dir(home.path())
        .args(["add", "cause", "--pack", "ours"]);
    let mut terminal = Terminal::start(command);
    let shown = terminal.question();
    assert_eq!(shown.title(), "A new cause: something that can be wrong");
    let last = CAUSE.lines().count() - 1;
    for (i, answer) in CAUSE.lines().enumerate() {
        if let Some(bad) = answer.strip_prefix('!') {
            // Refused with a reason, and still on the line for mending.
            let shown = terminal.answer(bad);
            assert!(shown.page.contains("not so"), "{bad}: {}", shown.page);
            assert!(shown.prompt.ends_with(bad), "{bad}: {}", shown.prompt);
            terminal.wipe(bad.chars().count());
        } else if i == last {
            terminal.line(answer);
        } else {
            terminal.answer(answer);
        }
    }
    let (text, code) = terminal.end();
    terminal.assert_fits();
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("Nothing is wrong with it."), "{text}");
    let written = home.path().join("ours/causes");
    assert_eq!(std::fs::read_dir(written).expect("a folder").count(), 1);
}

#[test]
fn ctrl_c_writes_nothing_and_leaves_what_was_said() {
    let home = tempfile::tempdir().expect("a temporary folder");
    told(home.path(), &["add", "pack", "ours"]);
    let mut command = pintle(home.path());
    command
        .current_dir(home.path())
        .args(["add", "symptom", "--pack", "ours"]);
    let mut terminal = Terminal::start(command);
    terminal.question();
    terminal.answer("Bell rings by itself");
    let asked = terminal.press(ESC);
    assert!(asked.prompt.ends_with("Bell rings by itself"), "{}", asked.prompt);
    terminal.press(ENTER);
    terminal.press(ENTER);
    terminal.answer("it rings all night");
    terminal.keys(CTRL_C);
    let (text, code) = terminal.end();
    assert_eq!(code, 0, "{text}");
    assert!(
        text.contains("nothing was written") && text.contains("title: Bell rings by itself"),
        "{text}"
    );
    assert!(!home.path().join("ours/symptoms").exists());
}

const TEST: &str = "Relay coil of the bell, pulled

What does the coil read?
2
operator
1
1
2
n
n

3
multimeter
0

Pull the relay, ohms across the coil.

A sound coil reads some hundred ohms.
1
!parsec
ohm
!60 0
0 1000000
!900 30
30 2000
Shorted
Sound
Open
3
2
always
2
the relay's data sheet
y";

#[test]
fn a_reading_is_written_with_limits_that_meet() {
    let (draft, end, script) = played(Kind::Test, TEST, &knowledge(&[]));
    assert_eq!(end, Ok(()), "{}", script.page);
    insta::assert_snapshot!("author_test", draft.so_far());
    let found = findings(&draft);
    // No cause mentions it yet.
    assert!(found.iter().all(|f| f.level() == Level::Warning), "{found:#?}");
}

const REPAIR: &str = "Clean and grease the battery posts

terminal
1
often
battery-worn
rarely

2
operator
1
1
2
n

15

2
!
Post brush, dry cloth, grease.


10

terminal

The lowest volts at a start.
1
y";

#[test]
fn a_repair_of_causes_that_are_there_is_written() {
    let answers = REPAIR.replace("\n!\n", "\n\n");
    let (draft, end, script) = played(Kind::Repair, &answers, &knowledge(&[]));
    assert_eq!(end, Ok(()), "{}", script.page);
    insta::assert_snapshot!("author_repair", draft.so_far());
    assert!(findings(&draft).is_empty(), "{:#?}", findings(&draft));
}

/// A case over the small sound pack: the tests on which its cause shows something are asked first.
#[test]
fn a_case_is_written_with_readings_as_a_meter_shows_them() {
    let base = PackText::read(Path::new("tests/packs/invalid/base.yaml"));
    let (small, _) = load(vec![base.clone()], WithCases::Yes);
    let answers =
        "Battery flat in the yard\n\nrated-volts\n24\n\n1\nit does not move\n\n1\n\n1\n\n2\n!24 ohm\n23.1\n\n1\n1\ny";
    let (draft, end, script) = played(Kind::Case, answers, &small);
    assert_eq!(end, Ok(()), "{}", script.page);
    insta::assert_snapshot!("author_case", draft.so_far());
    let files = draft
        .files()
        .into_iter()
        .map(|(path, text)| (path.display().to_string(), text));
    let case = PackText {
        files: files.collect(),
        unreadable: Vec::new(),
    };
    let (knowledge, loaded) = load(vec![base, case], WithCases::Yes);
    let (found, _) = everything(&knowledge, loaded);
    assert!(found.is_empty(), "{found:#?}");
    assert_eq!(knowledge.cases.len(), 1);
}
