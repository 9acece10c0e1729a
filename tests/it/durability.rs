//! The program is killed at random moments of a call. What a person saw taken is on disk; the journal opens again.

use std::path::Path;
use std::time::Duration;

use pintle::call::{Call, Engine, Entry, Event, Journal, Step};
use pintle::knowledge::{Knowledge, WithCases};

use super::pty::{Terminal, journals, pintle};
use super::tape::{Tape, seeded};
use super::terminal::Somebody;

/// Kills in one run of the test.
const KILLS: u64 = 20;
/// Answers before a kill, at most: the opening and the first steps of the plan.
const ANSWERS: usize = 12;
const CASE: &str = "battery-five-years";

/// Events that hold a person's answer to a question.
fn answers(entries: &[Entry]) -> usize {
    let is_answer = |e: &&Entry| !matches!(e.event, Event::Opened { .. } | Event::Resumed { .. });
    entries.iter().filter(is_answer).count()
}

/// A sitting that is killed: how many answers were taken before the eyes of the person, and how many were typed.
fn killed_sitting(data: &Path, seed: u64) -> (usize, usize) {
    let numbers = seeded(seed, 4);
    let mut tape = Tape::new(&numbers);
    let (taken, rest) = (tape.below(ANSWERS), tape.below(3));
    let pause = Duration::from_micros(u64::try_from(tape.below(40_000)).expect("small"));
    let mut command = pintle(data);
    command.args(["diagnose", "--at", "gate"]);
    let mut terminal = Terminal::start(command);
    let mut somebody = Somebody::at_case(CASE);
    let mut shown = terminal.question();
    let mut questions = 0;
    let mut lines = 0;
    while lines < taken {
        let reply = somebody.reply(&shown);
        shown = terminal.answer(&reply);
        lines += 1;
        // A further prompt on the same page (a second reading, say) is not yet a next question.
        if shown.title() != "" {
            questions += 1;
        }
    }
    let reply = somebody.reply(&shown);
    match rest {
        // In the middle of a word.
        0 => terminal.keys(reply.get(..1).unwrap_or_default()),
        // While it is thought about, or written.
        1 => terminal.line(&reply),
        // While nobody types.
        _ => {}
    }
    std::thread::sleep(pause);
    terminal.kill();
    (questions, lines + usize::from(rest == 1))
}

#[test]
fn killed_at_any_moment_at_most_the_answer_being_typed_is_lost() {
    let (knowledge, findings) = Knowledge::built_in(&[], WithCases::No);
    assert!(findings.iter().all(|f| f.level() != pintle::finding::Level::Error));
    let engine = Engine::new(knowledge);
    for seed in 1..=KILLS {
        let data = tempfile::tempdir().expect("a temporary folder");
        let (taken, typed) = killed_sitting(data.path(), seed);
        let [path] = &journals(data.path())[..] else {
            panic!("seed {seed}: {:?}", journals(data.path()));
        };
        let (mut journal, stored) = Journal::open(path).expect("it opens again");
        let kept = answers(&stored.entries);
        assert!(
            kept >= taken,
            "seed {seed}: {taken} answers were taken, {kept} are on disk"
        );
        assert!(
            kept <= typed,
            "seed {seed}: {typed} answers were typed, {kept} are on disk"
        );
        assert!(matches!(stored.entries[0].event, Event::Opened { .. }), "seed {seed}");
        let text = "goes on".to_owned();
        let time = stored.entries[0].time.clone();
        journal
            .append(&Entry {
                time,
                event: Event::Note { text },
            })
            .expect("it can be gone on with");
        let again = Journal::load(path).expect("whole");
        assert_eq!(again.entries.len(), stored.entries.len() + 1, "seed {seed}");
        let call = Call::in_memory(&engine, again.entries);
        assert_eq!(call.unknown_entries(), 0, "seed {seed}");
        // Thinking takes long without optimisation: a few show that the walk goes on.
        if seed <= 3 {
            assert_ne!(call.next_step(), Step::Ended, "seed {seed}");
        }
    }
}

#[test]
fn a_call_killed_while_its_last_line_was_written_says_so_and_asks_again() {
    let data = tempfile::tempdir().expect("a temporary folder");
    let mut command = pintle(data.path());
    command.args(["diagnose", "--at", "gate"]);
    let mut terminal = Terminal::start(command);
    terminal.question();
    let shown = terminal.answer("0");
    assert_eq!(shown.title(), "The complaint");
    terminal.kill();
    let path = journals(data.path()).remove(0);
    let whole = std::fs::read(&path).expect("a file");
    let cut = whole.len() - 7;
    std::fs::write(&path, &whole[..cut]).expect("written");

    let id = path.file_stem().expect("a name").to_string_lossy().into_owned();
    let mut command = pintle(data.path());
    command.args(["resume", &id]);
    let mut terminal = Terminal::start(command);
    let shown = terminal.question();
    assert_eq!(shown.title(), "Before anything else", "the signs are asked again");
    assert!(
        shown.says("The last answer was cut off when the call was left; it is asked again."),
        "{}",
        shown.page
    );
    let shown = terminal.answer("0");
    assert_eq!(shown.title(), "The complaint");
    terminal.kill();
    let stored = Journal::load(&path).expect("whole again");
    assert!(!stored.torn);
    let kinds: Vec<bool> = stored
        .entries
        .iter()
        .map(|e| matches!(e.event, Event::Signs { .. }))
        .collect();
    assert_eq!(kinds, [false, false, true], "opened, resumed, signs");
}
