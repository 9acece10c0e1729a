//! The service record and the *why* page: whole pages of built-in cases as snapshots, and what no record may ever say.

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::sync::LazyLock;

use pintle::call::{
    Answerer, Call, CaseAnswerer, Engine, Entry, Event, Outcome, Rank, Reply, Step, Target, play, walk,
};
use pintle::knowledge::schema::{At, Case, Ending, Now, Who};
use pintle::knowledge::{Knowledge, PackText, WithCases, load};
use pintle::report::{ServiceRecord, looks_like_code, markdown, render_why};
use pintle::terminal::Style;
use proptest::prelude::*;

pub(crate) static ENGINE: LazyLock<Engine> = LazyLock::new(|| {
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::Yes);
    Engine::new(knowledge)
});

/// A built-in case by the name of its file.
pub(crate) fn case(name: &str) -> &'static Case {
    let knowledge = &ENGINE.knowledge;
    let found = knowledge
        .cases
        .iter()
        .find(|(file, _)| knowledge.sources.files[*file].name.ends_with(&format!("/{name}.yaml")));
    &found.expect("a case of the built-in pack").1
}

/// The page with the fingerprint of the knowledge masked: it changes with every edit of the pack.
fn page(call: &Call<'_>) -> String {
    markdown(&ServiceRecord::of(call)).replace(&ENGINE.knowledge.fingerprint, "(fingerprint)")
}

pub(crate) fn entry(event: Event) -> Entry {
    Entry {
        time: "2026-01-01T08:00:00Z".to_owned(),
        event,
    }
}

pub(crate) fn opened(at: At) -> Entry {
    entry(Event::Opened {
        knowledge: ENGINE.knowledge.fingerprint.clone(),
        packs: ENGINE.knowledge.titles.clone(),
        at,
        who: Who::Technician,
        site: Some("12 Orchard Lane | <b>north</b> gate".to_owned()),
    })
}

/// A case whose retest does not pass: the stop button fails and the photo eyes were not tried.
struct FailedRetest(CaseAnswerer<'static>);

impl Answerer for FailedRetest {
    type Error = Infallible;

    fn answer(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, Infallible> {
        let (passed, note) = match step {
            Step::Retest { line } if line == "stop-button" => (Some(false), "stops it opening only"),
            Step::Retest { line } if line == "second-hit" => (None, "rain came on"),
            _ => return self.0.answer(call, step),
        };
        let Step::Retest { line } = step else {
            return self.0.answer(call, step);
        };
        Ok(Reply::Events(vec![Event::Retest {
            line: line.clone(),
            passed,
            note: note.to_owned(),
            each: Vec::new(),
        }]))
    }

    fn now(&self) -> String {
        self.0.now()
    }
}

pub(crate) fn with_failed_retest(name: &str) -> Call<'static> {
    let mut call = Call::in_memory(&ENGINE, vec![opened(At::Gate)]);
    let mut answerer = FailedRetest(CaseAnswerer::new(&ENGINE, case(name)));
    let outcome = walk(&mut call, &mut answerer).expect("a case never breaks off");
    assert_eq!(outcome, Outcome::Ended);
    call
}

#[test]
fn the_record_of_a_worn_battery_that_was_replaced() {
    let (_, call) = play(&ENGINE, case("battery-five-years"));
    insta::assert_snapshot!(page(&call));
}

#[test]
fn the_record_of_a_gate_that_works_as_it_is_set() {
    let (_, call) = play(&ENGINE, case("schedule-holds-it"));
    insta::assert_snapshot!(page(&call));
}

#[test]
fn the_record_of_a_repair_whose_retest_fails_ends_out_of_use() {
    let call = with_failed_retest("stop-link-lost");
    assert_eq!(call.ending().map(|e| e.0), Some(Ending::OutOfUse));
    insta::assert_snapshot!(page(&call));
}

/// A leaf off its hinge, told on the phone: everybody away, and a record that says so.
#[test]
fn the_record_of_a_leaf_that_leans_told_on_the_phone() {
    let case = Case {
        at: At::Phone,
        signs: vec!["leaf-off".to_owned()],
        ..case("hinges-dry").clone()
    };
    let (_, call) = play(&ENGINE, &case);
    insta::assert_snapshot!(page(&call));
}

#[test]
fn the_why_page_in_the_middle_of_a_call() {
    let (_, played) = play(&ENGINE, case("battery-five-years"));
    let answers: Vec<usize> = played.answers().iter().map(|a| a.event).collect();
    let middle = answers[answers.len() / 2];
    let call = Call::in_memory(&ENGINE, played.entries[..=middle].to_vec());
    insta::assert_snapshot!(render_why(&call, &Style::plain(80)));
}

#[test]
fn the_why_page_fits_its_width_at_every_moment_of_a_call() {
    let (_, played) = play(&ENGINE, case("stop-link-lost"));
    for n in 1..=played.entries.len() {
        let call = Call::in_memory(&ENGINE, played.entries[..n].to_vec());
        let plain = render_why(&call, &Style::plain(80));
        assert!(plain.lines().all(|l| l.chars().count() <= 80), "{plain}");
        assert!(!plain.contains('█') && plain.contains("Next step"), "{plain}");
        let reported = !call.symptoms().is_empty();
        assert_eq!(plain.contains("Nothing was reported yet"), !reported, "{plain}");
    }
}

/// Two causes, two tests on which each cause nearly always (or always) shows the same: one answer for each cause contradicts.
#[test]
fn the_why_page_names_the_reading_to_retake() {
    for (always, never, says) in [
        (0.99, 0.01, "They contradict each other"),
        (1.0, 0.0, "exclude everything"),
    ] {
        let engine = Engine::new(two_tests(always, never));
        let answer = |test: &str, outcome: &str| {
            entry(Event::Answer {
                test: test.to_owned(),
                outcome: Some(outcome.to_owned()),
                readings: BTreeMap::new(),
                said: None,
                by: Rank::Seen,
            })
        };
        let complaint = Event::Complaint {
            words: "dead".to_owned(),
            symptoms: vec!["dead".to_owned()],
        };
        let entries = vec![entry(complaint), answer("one", "x"), answer("two", "y")];
        let page = render_why(&Call::in_memory(&engine, entries), &Style::plain(80));
        assert!(page.contains(says), "{page}");
        assert!(page.contains("Take again: "), "{page}");
    }
}

fn two_tests(always: f64, never: f64) -> Knowledge {
    let test = |id: &str| {
        format!(
            "  {id}: {{title: {id}, ask: a, minutes: 1, outcomes: {{x: {{say: x}}, y: {{say: y}}}}, healthy: {{x: 0.5, y: 0.5}}, source: s}}\n"
        )
    };
    let cause = |id: &str, x: f64| {
        let y = 1.0 - x;
        format!(
            "  {id}: {{title: {id}, rate: 1, severity: none, symptoms: {{dead: 0.9}}, shows: {{one: {{x: {x}, y: {y}}}, two: {{x: {x}, y: {y}}}}}, source: s}}\n"
        )
    };
    let text = format!(
        "pack: {{id: t, title: t, settings: {{not-listed: 0, nothing-wrong: 0, leak: 0, pairs: false}}}}\nsymptoms:\n  dead: {{title: dead, says: [dead], gone: gone, source: s}}\ntests:\n{}{}causes:\n{}{}",
        test("one"),
        test("two"),
        cause("a", always),
        cause("b", never)
    );
    let pack = PackText {
        files: vec![("two.yaml".to_owned(), text)],
        unreadable: Vec::new(),
    };
    let (knowledge, _) = load(vec![pack], WithCases::No);
    assert_eq!((knowledge.causes.len(), knowledge.tests.len()), (2, 2));
    knowledge
}

/// Everything odd at once: taken-back answers, superseded ones, notes, Markdown and control characters in people's text.
#[test]
fn what_people_write_can_not_break_the_record() {
    let answer = |outcome: &str, by: Rank| {
        entry(Event::Answer {
            test: "plug-look".to_owned(),
            outcome: Some(outcome.to_owned()),
            readings: BTreeMap::new(),
            said: None,
            by,
        })
    };
    let test = &ENGINE.knowledge.tests["plug-look"];
    let outcomes: Vec<&String> = test.outcomes.keys().collect();
    let entries = vec![
        opened(At::Phone),
        entry(Event::Signs {
            yes: vec![],
            unsure: vec!["tingle".to_owned()],
        }),
        entry(Event::Complaint {
            words: "it says\n# LOW BATTERY\u{1b}[31m and my code 4711 is ignored".to_owned(),
            symptoms: vec!["low-battery-on-mains".to_owned()],
        }),
        entry(Event::Now {
            now: Now::Present,
            under: vec![],
        }),
        answer(outcomes[0], Rank::Told),
        answer(outcomes[1], Rank::Seen),
        entry(Event::Cannot {
            target: Target::Test("charger-output".to_owned()),
        }),
        entry(Event::Note {
            text: "[click](http://x.example) | ```".to_owned(),
        }),
        entry(Event::Note {
            text: "keypad PIN is 1234".to_owned(),
        }),
        entry(Event::Note {
            text: "taken back".to_owned(),
        }),
        entry(Event::Retracted { entry: 9 }),
        entry(Event::Ended {
            ending: Ending::Waiting,
            text: "parts".to_owned(),
        }),
    ];
    let page = page(&Call::in_memory(&ENGINE, entries));
    assert!(
        !page.contains('\u{1b}') && !page.contains("4711") && !page.contains("1234"),
        "{page}"
    );
    assert!(
        !page.contains("[click]") && !page.contains("<b>") && !page.contains("```"),
        "{page}"
    );
    assert!(page.lines().filter(|l| l.starts_with("# ")).count() == 1, "{page}");
    assert!(
        page.contains("left out here") && page.contains("superseded") && page.contains(": a note"),
        "{page}"
    );
}

#[test]
fn json_and_page_come_from_one_record() {
    let call = with_failed_retest("stop-link-lost");
    let record = ServiceRecord::of(&call);
    let json = serde_json::to_value(&record).expect("plain data");
    assert_eq!(json["version"], 1);
    assert_eq!(json["ending"]["word"], "out of use");
    assert_eq!(json["deficiencies"].as_array().map(Vec::len), Some(2));
    assert_eq!(json["retest"].as_array().map(Vec::len), Some(record.retest.len()));
}

/// A call recorded as fixed by hand, without proof or retest, is not borne out.
#[test]
fn an_ending_that_the_journal_does_not_bear_out_is_called_that() {
    let entries = vec![
        opened(At::Gate),
        entry(Event::Complaint {
            words: "slow".to_owned(),
            symptoms: vec!["slow".to_owned()],
        }),
        entry(Event::Ended {
            ending: Ending::Fixed,
            text: String::new(),
        }),
    ];
    assert!(page(&Call::in_memory(&ENGINE, entries)).contains("DOES NOT BEAR THAT OUT"));
}

/// Every way in which a call may end, or not.
pub(crate) const ENDINGS: [Option<Ending>; 9] = [
    None,
    Some(Ending::Fixed),
    Some(Ending::Explained),
    Some(Ending::NoFaultFound),
    Some(Ending::Waiting),
    Some(Ending::Referred),
    Some(Ending::OutOfUse),
    Some(Ending::DeficiencyRefused),
    Some(Ending::Withdrawn),
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// No record of a call that did not end fixed says so, none that is out of use lacks the words, and no code leaves the call.
    #[test]
    fn no_record_says_more_than_the_call(
        ending in 0..ENDINGS.len(),
        sign in proptest::option::of(0..ENGINE.knowledge.signs.len()),
        made_safe in any::<bool>(),
        word in prop::sample::select(vec!["code", "PIN", "password:", "combination", "Codes"]),
        digits in "[0-9]{4,8}",
        before in any::<bool>(),
        free in "\\PC{0,30}",
    ) {
        let ending = ENDINGS[ending];
        let secret = if before { format!("{digits} {word}") } else { format!("{word} {digits} {free}") };
        let yes: Vec<String> = sign.and_then(|s| ENGINE.knowledge.signs.get_index(s)).map(|(id, _)| id.clone()).into_iter().collect();
        let mut entries = vec![
            opened(At::Gate),
            entry(Event::Signs { yes: yes.clone(), unsure: vec![] }),
            entry(Event::Complaint { words: secret.clone(), symptoms: vec!["slow".to_owned()] }),
            entry(Event::Note { text: secret.clone() }),
        ];
        if !yes.is_empty() {
            entries.push(entry(Event::OutOfUse { why: vec![secret.clone()], made_safe }));
        }
        entries.extend(ending.map(|ending| entry(Event::Ended { ending, text: secret.clone() })));
        let page = page(&Call::in_memory(&ENGINE, entries));
        prop_assert!(!page.contains(&digits), "{page}");
        prop_assert!(page.lines().all(|l| !looks_like_code(l) || l.starts_with("- Fingerprint")), "{page}");
        prop_assert!(!page.chars().any(|c| c.is_control() && c != '\n'));
        let ended = page.lines().find(|l| l.starts_with("**Ended as:")).unwrap_or_default();
        if ending != Some(Ending::Fixed) {
            prop_assert!(!ended.to_lowercase().contains("fixed"), "{ended}");
        }
        if !yes.is_empty() {
            prop_assert!(page.contains("NOT SAFE") || page.contains("DOES NOT BEAR THAT OUT"), "{page}");
            prop_assert_eq!(page.contains("MAKING SAFE IS NOT RECORDED"), !made_safe);
        }
    }
}
