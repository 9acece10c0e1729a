//! Long calls on a pseudo-terminal: from the phone to the gate to the record, by one person's keys.

use pintle::call::{Call, Engine, Event, Journal, Rank};
use pintle::knowledge::schema::Ending;
use pintle::knowledge::{Knowledge, WithCases};

use super::pty::{Next, Terminal, journals, pintle};
use super::terminal::{ONE_DEVICE, Somebody, go_on};

/// What a long call came to.
struct Played {
    /// Everything on the screen at the desk.
    desk: String,
    /// And at the gate.
    gate: String,
    entries: Vec<pintle::call::Entry>,
    record: String,
}

/// Takes a call on the phone until a visit is booked, goes on at the gate until it ends, prints the record.
fn play(case: &str) -> Played {
    let data = tempfile::tempdir().expect("a temporary folder");
    let mut command = pintle(data.path());
    command.args(["diagnose", "--at", "phone", "--site", "Mill Lane 4"]);
    let mut desk = Terminal::start(command);
    let mut somebody = Somebody::at_case(case);
    let first = desk.question();
    go_on(&mut desk, &mut somebody, first, &|shown, _| {
        shown.prompt.starts_with("1-3 (t another question first)")
    });
    desk.line("1");
    let (last, code) = desk.end();
    assert_eq!(code, 0, "{last}");
    assert!(last.contains("Booked and kept. At the gate: pintle resume"), "{last}");
    desk.assert_fits();

    let journal = journals(data.path()).pop().expect("a journal");
    let id = journal.file_stem().expect("a name").to_string_lossy().into_owned();
    let mut command = pintle(data.path());
    command.args(["resume", &id]);
    let mut gate = Terminal::start(command);
    let first = gate.question();
    go_on(&mut gate, &mut somebody, first, &|shown, _| {
        shown.prompt.starts_with("in a sentence, for the record")
    });
    gate.line("");
    // The site is new: what could be kept in a site file is asked, and declined.
    let (last, code) = loop {
        match gate.next() {
            Next::Question(shown) if shown.prompt.contains("0 no") => gate.line("0"),
            Next::Question(shown) => panic!("{} after the ending", shown.prompt),
            Next::Over(text, code) => break (text, code),
        }
    };
    assert_eq!(code, 0, "{last}");
    gate.assert_fits();

    let report = pintle(data.path()).args(["report", &id]).output().expect("it runs");
    assert!(report.status.success());
    Played {
        desk: desk.screen(),
        gate: gate.screen(),
        entries: Journal::load(&journal).expect("a journal").entries,
        record: String::from_utf8_lossy(&report.stdout).into_owned(),
    }
}

fn ending(played: &Played) -> Option<Ending> {
    played.entries.iter().rev().find_map(|e| match &e.event {
        Event::Ended { ending, .. } => Some(*ending),
        _ => None,
    })
}

/// What every such call has, whatever the fault.
fn holds_together(played: &Played) {
    let flat = super::pty::flat(&played.desk);
    let order = [
        "Stand where it can't reach you",
        "Read each one out",
        "in the caller's words",
        "The visit",
    ];
    let places: Vec<Option<usize>> = order.iter().map(|text| flat.find(text)).collect();
    assert!(places.iter().all(Option::is_some), "{places:?}\n{flat}");
    assert!(places.is_sorted(), "{places:?}");
    // Nothing of a meter before the caller, and every answer of theirs is told.
    let visit = played
        .entries
        .iter()
        .position(|e| matches!(e.event, Event::Visit { .. }));
    let visit = visit.expect("a visit was booked");
    let ranks = |entries: &[pintle::call::Entry]| -> Vec<Rank> {
        let of = |e: &pintle::call::Entry| match e.event {
            Event::Answer { by, .. } => Some(by),
            _ => None,
        };
        entries.iter().filter_map(of).collect()
    };
    assert!(ranks(&played.entries[..visit]).iter().all(|by| *by == Rank::Told));
    assert!(ranks(&played.entries[visit..]).iter().all(|by| *by > Rank::Told));
    // Signs and "is it doing it now" are asked again at the gate.
    let asked = |event: fn(&Event) -> bool| played.entries.iter().filter(|e| event(&e.event)).count();
    assert!(asked(|e| matches!(e, Event::Signs { .. })) >= 2);
    // The record can be made again from the journal alone.
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::No);
    let engine = Engine::new(knowledge);
    let call = Call::in_memory(&engine, played.entries.clone());
    assert!(call.visit().is_some());
    assert!(played.record.contains("Mill Lane 4"), "{}", played.record);
}

#[test]
fn a_battery_at_the_end_of_its_life_from_the_phone_to_the_record() {
    let played = play("battery-five-years");
    holds_together(&played);
    assert_eq!(ending(&played), Some(Ending::Fixed), "{}", played.gate);
    assert!(played.desk.contains("battery"), "{}", played.desk);
    // Each device of the retest is a line of the record by itself.
    let by_one = |e: &pintle::call::Entry| match &e.event {
        Event::Retest { each, .. } => each.iter().filter(|one| one.what == ONE_DEVICE && one.passed).count(),
        _ => 0,
    };
    let devices: usize = played.entries.iter().map(by_one).sum();
    assert!(devices >= 3, "two ways of travel and the eyes: {devices}");
    assert_eq!(played.record.matches(ONE_DEVICE).count(), devices);
    assert!(
        played.record.contains("also there: the driver of the van"),
        "{}",
        played.record
    );
}

#[test]
fn a_leaf_that_leans_from_the_phone_to_the_record() {
    let played = play("weld-cracked-at-the-lower-hinge");
    holds_together(&played);
    let flat = super::pty::flat(&played.desk);
    assert!(flat.contains("Nobody is sent alone"), "{flat}");
    assert!(
        !flat.contains("also: c can't"),
        "no question of the plan while the sign stands: {flat}"
    );
    assert_ne!(ending(&played), Some(Ending::NoFaultFound));
}

#[test]
fn a_loop_that_will_not_let_go_from_the_phone_to_the_record() {
    let played = play("cut-full-of-water");
    holds_together(&played);
    assert_eq!(ending(&played), Some(Ending::Fixed), "{}", played.gate);
}
