//! Drills: regret against published prices, conduct, scores, sets, sheets, results; the scenarios that come with the program.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use pintle::call::{Engine, Event, Seen, check_case};
use pintle::drill::{
    Act, Candidate, ClassFile, Debrief, Difficulty, Done, DrillSet, Hardness, Level, PlanPlayed, Progress, Scenario,
    Session, UnsafeAct, progress_picture, sheet,
};
use pintle::finding::Level as Bad;
use pintle::knowledge::schema::{Case, Condition, Ending, Provocation};
use pintle::knowledge::{Knowledge, PackText, WithCases, load, read_case};
use pintle::terminal::{Style, debrief_page, drill_help, drill_list, drill_opening, drill_refusal, drill_told};
use proptest::prelude::*;

static ENGINE: LazyLock<Engine> = LazyLock::new(|| Engine::new(Knowledge::built_in(&[], WithCases::Yes).0));
static SCENARIOS: LazyLock<BTreeMap<String, Scenario>> =
    LazyLock::new(|| Scenario::shipped().into_iter().map(|s| (s.name.clone(), s)).collect());

fn case(name: &str) -> &'static Case {
    &SCENARIOS
        .get(name)
        .expect("a scenario that comes with the program")
        .case
}

fn drill(seed: u64) -> Event {
    Event::Drill {
        scenario: "a".to_owned(),
        seed,
        level: "alone".to_owned(),
        live: false,
        trainee: None,
    }
}

fn open<'a>(engine: &'a Engine, case: &'a Case) -> Session<'a> {
    Session::open(engine, case, drill(1), None, "2026-01-01T08:00:00Z").expect("in memory")
}

/// Does these acts; a refusal is a fault of the test.
fn after<'a>(engine: &'a Engine, case: &'a Case, acts: &[Act]) -> Session<'a> {
    let mut session = open(engine, case);
    for act in acts {
        let done = session.act(act, "2026-01-01T08:00:00Z").expect("in memory");
        assert!(done.is_ok(), "{act:?}: {done:?}");
    }
    session
}

fn debrief(engine: &Engine, case: &Case, acts: &[Act]) -> Debrief {
    Debrief::of(engine, case, &after(engine, case, acts).call.entries, None)
}

fn test(id: &str) -> Act {
    Act::Test(id.to_owned())
}

fn repair(id: &str) -> Act {
    Act::Repair(id.to_owned())
}

/// The two causes and one test of `tests/packs/test-or-repair`, whose prices were enumerated.
fn two_causes() -> (Engine, Case) {
    let pack = PackText::read(Path::new("tests/packs/test-or-repair"));
    let (knowledge, findings) = load(vec![pack], WithCases::No);
    assert!(findings.is_empty(), "{findings:?}");
    let text = "title: a\nsays: [broken]\nsymptoms: [broken]\ncauses: [a]\nreadings: {t: pos}\nsource: made up\n";
    let case = read_case("a.yaml", text).0.expect("a case");
    (Engine::new(knowledge), case)
}

/// Test first costs 91.4, repair b 100, repair a 116, the specialist 300: enumerated, and by hand (the method: Heckerman, Breese &
/// Rommelse, CACM 38(3), 1995). So the regrets are 0, 8.6, 24.6 and 208.6.
#[test]
fn a_worse_first_step_has_its_known_regret() {
    let (engine, case) = two_causes();
    for (act, regret) in [
        (test("t"), 0.0),
        (repair("fix-b"), 8.6),
        (repair("fix-a"), 24.6),
        (Act::End(Ending::Referred), 208.6),
    ] {
        let debrief = debrief(&engine, &case, std::slice::from_ref(&act));
        assert_eq!(debrief.decisions.len(), 1, "{act:?}");
        assert!(
            (debrief.decisions[0].regret - regret).abs() < 1e-9,
            "{act:?}: {debrief:?}"
        );
        assert_eq!(debrief.decisions[0].better, "Test t");
    }
}

/// A test taken twice tells nothing the second time: its own five minutes are lost.
#[test]
fn a_test_taken_again_costs_its_own_minutes() {
    let (engine, case) = two_causes();
    let debrief = debrief(&engine, &case, &[test("t"), test("t")]);
    assert!(
        (debrief.decisions[1].regret - 5.0).abs() < 1e-9,
        "{:?}",
        debrief.decisions
    );
}

/// Whoever does what the plan does has nothing to regret, at every kind of site.
#[test]
fn the_plan_itself_has_no_regret() {
    for name in [
        "cricket-ball-and-the-stop-button",
        "gland-full-of-green",
        "worked-for-me-three-times",
        "bulge-under-the-lid",
    ] {
        let plan = PlanPlayed::on(&ENGINE, case(name), 1);
        let debrief = Debrief::of(&ENGINE, case(name), &plan.entries, None);
        assert!(!debrief.decisions.is_empty(), "{name}");
        assert!(debrief.lost() < 1e-9, "{name}: {:#?}", debrief.decisions);
        assert!(debrief.unsafe_acts.is_empty(), "{name}: {:#?}", debrief.unsafe_acts);
        assert!(debrief.skipped.is_empty(), "{name}: {:#?}", debrief.skipped);
        assert!(debrief.passed, "{name}: {debrief:#?}");
        assert_eq!(Some(debrief.score.points), Some(100), "{name}: {:#?}", debrief.score);
    }
}

/// Parts swapped without a reading between them are told as what they are.
#[test]
fn swapping_parts_is_told() {
    let case = case("cricket-ball-and-the-stop-button");
    let acts = [
        Act::LookForDanger,
        Act::Set(Condition::Isolated),
        repair("replace-battery-set"),
        repair("replace-board"),
        repair("replace-remote"),
    ];
    let known: Vec<Act> = acts
        .into_iter()
        .filter(|a| !matches!(a, Act::Repair(id) if !ENGINE.knowledge.repairs.contains_key(id)))
        .collect();
    assert!(known.len() >= 4, "the pack has lost the repairs of this test");
    let debrief = debrief(&ENGINE, case, &known);
    assert!(debrief.swapped() >= 2, "{:#?}", debrief.guesses);
    assert!(debrief.lost() > 30.0, "{:#?}", debrief.decisions);
    assert!(!debrief.passed);
    let page = debrief_page(&debrief, &Style::plain(80));
    assert!(page.contains("Parts were swapped here, not a fault found"), "{page}");
    assert!(
        debrief.practise.starts_with("Measure before you swap"),
        "{}",
        debrief.practise
    );
}

/// One way to each grave act, and what is told of it.
#[test]
fn grave_acts_are_not_passed_whatever_the_score() {
    let by_hand = ENGINE.knowledge.tests.iter().find(|(_, t)| {
        t.moves == pintle::knowledge::schema::Moves::ByHand
            && t.when.is_empty()
            && t.after.is_empty()
            && !t.needs.contains(&Condition::Powered)
    });
    let by_hand = by_hand.expect("a test by hand").0;
    let normal = case("cricket-ball-and-the-stop-button");
    let signed = case("skip-lorry-and-the-track");
    let told: [(&Case, Vec<Act>, &str); 6] = [
        (
            normal,
            vec![Act::LookForDanger, test(by_hand)],
            "a hand in the gate, not isolated",
        ),
        (
            normal,
            vec![Act::LookForDanger, Act::Run],
            "without seeing that the travel is clear",
        ),
        (signed, vec![Act::SeeClear, Act::Run], "with a hazard sign standing"),
        (
            signed,
            vec![Act::LookForDanger, Act::SeeClear, Act::Run],
            "with a hazard sign standing",
        ),
        (
            normal,
            vec![Act::Shortcut("ask-app".to_owned())],
            "Have the owner open it from the app",
        ),
        (
            normal,
            vec![
                Act::LookForDanger,
                repair("fix-stop-circuit-open"),
                Act::SeeClear,
                Act::Run,
                Act::End(Ending::Fixed),
            ],
            "Closed as fixed without the whole retest",
        ),
    ];
    for (case, acts, what) in told {
        let acts: Vec<Act> = acts
            .into_iter()
            .filter(|a| !matches!(a, Act::Repair(id) if !ENGINE.knowledge.repairs.contains_key(id)))
            .collect();
        let debrief = debrief(&ENGINE, case, &acts);
        let found = debrief.unsafe_acts.iter().find(|a| a.what.contains(what));
        assert!(
            found.is_some_and(UnsafeAct::is_grave),
            "{what}: {:#?}",
            debrief.unsafe_acts
        );
        assert!(!debrief.passed, "{what}");
        let page = debrief_page(&debrief, &Style::plain(80));
        assert!(
            page.contains("not passed") && page.contains("UNSAFE") && page.contains("What could have happened"),
            "{page}"
        );
    }
}

/// A retest done with a body is grave; by the book, the same line is not.
#[test]
fn a_body_is_no_test_object() {
    let case = case("cricket-ball-and-the-stop-button");
    let line = "reversal-closing".to_owned();
    let body = Act::RetestBy {
        line: line.clone(),
        shortcut: "body-reversal".to_owned(),
    };
    let first = [Act::LookForDanger, Act::Set(Condition::HeldOff), Act::SeeClear];
    let with = |act: Act| debrief(&ENGINE, case, &[&first[..], &[act]].concat());
    assert!(with(body).unsafe_acts.iter().any(UnsafeAct::is_grave));
    assert!(with(Act::Retest(line)).unsafe_acts.is_empty());
}

/// Out of use is the right end of a gate that can hurt, and leaving it in use is not.
#[test]
fn out_of_use_can_be_right() {
    let case = case("skip-lorry-and-the-track");
    let well = debrief(
        &ENGINE,
        case,
        &[Act::LookForDanger, Act::OutOfUse, Act::End(Ending::OutOfUse)],
    );
    assert!(well.ended_well() && well.passed, "{well:#?}");
    let badly = debrief(&ENGINE, case, &[Act::LookForDanger, Act::End(Ending::Referred)]);
    assert!(!badly.passed, "{badly:#?}");
    assert!(
        badly.unsafe_acts.iter().any(|a| a.what.starts_with("Left in use with")),
        "{badly:#?}"
    );
}

/// A shortcut hides the trouble, not the fault: the retest finds it out.
#[test]
fn a_shortcut_hides_the_trouble_and_fails_the_retest() {
    let case = case("nettles-in-the-beam");
    let mut session = after(
        &ENGINE,
        case,
        &[Act::LookForDanger, Act::Shortcut("eye-wired-out".to_owned())],
    );
    let done = session.act(&Act::Run, "").expect("in memory").expect("it runs");
    assert!(matches!(done[..], [Event::Watched { shown: false }]), "{done:?}");
    let done = session
        .act(&Act::Retest("eyes".to_owned()), "")
        .expect("in memory")
        .expect("a line");
    assert!(
        matches!(
            &done[..],
            [Event::Retest {
                passed: Some(false),
                ..
            }]
        ),
        "{done:?}"
    );
}

/// Without power nothing can be read or run; where there is no such thing, nothing can be tested.
#[test]
fn what_can_not_be_done_is_refused_and_costs_nothing() {
    let case = case("cricket-ball-and-the-stop-button");
    let mut session = after(&ENGINE, case, &[Act::Set(Condition::Isolated)]);
    let before = session.call.entries.len();
    let refused = session.act(&Act::Run, "").expect("in memory").expect_err("isolated");
    assert_eq!(
        drill_refusal(&refused),
        "It is isolated: without power that can't be done or read. s powers it again."
    );
    assert!(session.act(&Act::PutBack, "").expect("in memory").is_err());
    assert!(session.act(&test("no-such-test"), "").expect("in memory").is_err());
    assert_eq!(session.call.entries.len(), before);
}

/// A drill that is left and taken up again goes on at the same gate.
#[test]
fn a_drill_taken_up_again_is_the_same() {
    let case = case("plug-that-crept-out");
    let tests: Vec<Act> = ENGINE
        .knowledge
        .tests
        .iter()
        .filter(|(_, t)| t.when.is_empty())
        .map(|(id, _)| test(id))
        .collect();
    let mut whole = open(&ENGINE, case);
    let mut parts = open(&ENGINE, case);
    for (i, act) in tests.iter().enumerate().step_by(5) {
        if i == 20 {
            for session in [&mut whole, &mut parts] {
                let _ = session.act(&Act::Provoke(Provocation::Wiggled), "").expect("in memory");
                let _ = session.act(&repair("fix-plug-loose"), "").expect("in memory");
            }
        }
        let one = whole.act(act, "").expect("in memory");
        parts = Session::resumed(&ENGINE, case, parts.call.entries.clone(), None);
        assert_eq!(one, parts.act(act, "").expect("in memory"), "{act:?}");
    }
}

/// Weather is waited for: bringing a fault back costs minutes, once for each change.
#[test]
fn bringing_a_fault_back_costs_time() {
    let case = case("plug-that-crept-out");
    let mut session = open(&ENGINE, case);
    for (act, minutes) in [
        (Act::Look, 0.0),
        (Act::Provoke(Provocation::Wet), 5.0),
        (Act::Look, 5.0),
        (Act::Provoke(Provocation::Cold), 65.0),
        (Act::Provoke(Provocation::Cold), 65.0),
    ] {
        let _ = session.act(&act, "").expect("in memory");
        assert!(
            (session.worked() - minutes).abs() < 1e-9,
            "{act:?}: {}",
            session.worked()
        );
    }
}

/// Debriefs can be worked out again from the journal: twice the same.
#[test]
fn a_debrief_follows_from_the_journal_alone() {
    let case = case("gland-full-of-green");
    let session = after(
        &ENGINE,
        case,
        &[
            Act::LookForDanger,
            test("range-told"),
            Act::Look,
            Act::End(Ending::Waiting),
        ],
    );
    let one = Debrief::of(&ENGINE, case, &session.call.entries, Some(1.0));
    let two = Debrief::of(&ENGINE, case, &session.call.entries, Some(1.0));
    assert_eq!(one, two);
    assert!(one.over_time.is_some(), "one minute is short");
}

#[test]
fn the_pages_of_a_drill() {
    let case = case("gland-full-of-green");
    let style = Style::plain(80);
    let mut text = drill_opening(case, Level::Guided, None, &style);
    text += &drill_opening(case, Level::Clock, Some(45.0), &style);
    text += &drill_help(&style);
    let mut session = open(&ENGINE, case);
    let found: Vec<_> = session
        .doable()
        .into_iter()
        .filter(|d| d.is_meant_by("antena"))
        .collect();
    text += &drill_list(&found, &style);
    for act in [
        Act::LookForDanger,
        Act::Ask("gate-type".to_owned()),
        Act::Look,
        Act::Provoke(Provocation::Wet),
        Act::Set(Condition::HeldOff),
        Act::SeeClear,
        test("range-told"),
        test("range-ratio"),
        Act::Run,
        Act::Verify,
        repair("fix-antenna-lead-bad"),
        Act::SeeClear,
        Act::Run,
        Act::Retest("stop-button".to_owned()),
        Act::Shortcut("ask-app".to_owned()),
        Act::GiveBack,
        Act::OutOfUse,
    ] {
        let done = session.act(&act, "").expect("in memory");
        text += &match done {
            Ok(events) => drill_told(&session.call, &events, Level::Guided, &style),
            Err(refusal) => drill_refusal(&refusal) + "\n",
        };
    }
    insta::assert_snapshot!("drill_pages", text);
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
}

#[test]
fn the_debrief_of_a_poor_drill() {
    let case = case("gland-full-of-green");
    let debrief = debrief(
        &ENGINE,
        case,
        &[
            test("remote-compare"),
            repair("fix-remote-battery-flat"),
            Act::Run,
            Act::Shortcut("ask-app".to_owned()),
            Act::End(Ending::Waiting),
        ],
    );
    let page = debrief_page(&debrief, &Style::plain(80));
    insta::assert_snapshot!("drill_debrief", page);
    assert!(page.lines().all(|l| l.chars().count() <= 80), "{page}");
}

/// What is taken off adds up, and is all that is taken off.
#[test]
fn the_score_adds_up() {
    let case = case("cricket-ball-and-the-stop-button");
    for acts in [
        vec![],
        vec![Act::LookForDanger, Act::OutOfUse, Act::End(Ending::OutOfUse)],
        vec![test("stop-terminals"), Act::Run, Act::End(Ending::NoFaultFound)],
    ] {
        let debrief = debrief(&ENGINE, case, &acts);
        let off: u32 = debrief.score.lines.iter().map(|l| l.points).sum();
        assert_eq!(debrief.score.points, 100_u32.saturating_sub(off), "{debrief:#?}");
    }
}

/// The scenarios: enough of them, each fits the knowledge, none repeats a case, every subject has some, each can be called to a good end.
#[test]
fn the_scenarios_are_sound() {
    assert!(SCENARIOS.len() >= 24, "{}", SCENARIOS.len());
    let said: BTreeSet<&String> = ENGINE.knowledge.cases.iter().flat_map(|(_, c)| &c.says).collect();
    let mut subjects: BTreeMap<&str, usize> = BTreeMap::new();
    for (name, scenario) in SCENARIOS.iter() {
        let wrong = check_case(&ENGINE.knowledge, &scenario.case);
        assert!(wrong.iter().all(|f| f.level() != Bad::Error), "{name}: {wrong:?}");
        let notes = scenario
            .case
            .drill
            .as_ref()
            .expect("every scenario has notes for the trainer");
        assert!(!notes.lesson.is_empty(), "{name}");
        assert!(
            notes.stage.is_none() || scenario.may_be_staged(&ENGINE),
            "{name} can hurt and is told how to be staged"
        );
        assert!(
            !scenario.case.says.iter().any(|s| said.contains(s)),
            "{name} has a case's words"
        );
        let same = |c: &Case| c.readings == scenario.case.readings;
        assert!(
            !ENGINE.knowledge.cases.iter().any(|(_, c)| same(c)),
            "{name} has a case's readings"
        );
        *subjects.entry(scenario.subject()).or_insert(0) += 1;
    }
    assert!(subjects.values().all(|n| *n >= 2), "{subjects:?}");
    let of = |take: &dyn Fn(&Case) -> bool| SCENARIOS.values().filter(|s| take(&s.case)).count();
    assert!(of(&|c| c.causes.len() > 1) >= 4);
    assert!(of(&|c| c.causes.is_empty()) >= 2);
    assert!(of(&|c| c.expect.ending == Some(Ending::Explained)) >= 2);
    assert!(of(&|c| c.expect.ending == Some(Ending::OutOfUse)) >= 2);
    assert!(of(&|c| c.now != pintle::knowledge::schema::Now::Present) >= 4);
}

fn candidate(name: usize, subject: usize, steps: usize) -> Candidate {
    Candidate {
        name: format!("s{name}"),
        path: None,
        subject: format!("subject {subject}"),
        difficulty: Difficulty {
            steps,
            minutes: 10.0,
            ending: None,
            entropy: 3.0,
            herrings: 0,
            causes: 1,
            away: false,
        },
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// The same seed draws the same set; no scenario twice; subjects differ by one at most while they last.
    #[test]
    fn a_set_is_balanced_and_seeded(seed: u64, number in 1usize..12, subjects in 1usize..5) {
        let all: Vec<Candidate> = (0..20).map(|i| candidate(i, i % subjects, 4 + i)).collect();
        let set = DrillSet::draw(&all, number, seed);
        prop_assert_eq!(&set, &DrillSet::draw(&all, number, seed));
        prop_assert_eq!(set.drills.len(), number);
        let names: BTreeSet<&String> = set.drills.iter().map(|d| &d.scenario).collect();
        prop_assert_eq!(names.len(), number);
        let counts: Vec<usize> = (0..subjects)
            .map(|s| set.drills.iter().filter(|d| d.subject == format!("subject {s}")).count())
            .collect();
        let (least, most) = (counts.iter().min().expect("one"), counts.iter().max().expect("one"));
        prop_assert!(most - least <= 1, "{counts:?}");
    }
}

/// Another seed, another set.
#[test]
fn another_seed_draws_another_set() {
    let all: Vec<Candidate> = (0..20).map(|i| candidate(i, i % 4, 4 + i)).collect();
    let sets: BTreeSet<Vec<String>> = (0..10)
        .map(|seed| {
            DrillSet::draw(&all, 5, seed)
                .drills
                .into_iter()
                .map(|d| d.scenario)
                .collect()
        })
        .collect();
    assert!(sets.len() > 3, "{sets:?}");
}

/// Difficulty is counted: more steps, more doubt, herrings, faults and hiding make it harder, and each counts as it says.
#[test]
fn difficulty_is_counted() {
    let plain = candidate(0, 0, 5).difficulty;
    assert!((plain.points() - 8.0).abs() < 1e-12);
    assert_eq!(plain.grade(), Hardness::Easy);
    let hard = Difficulty {
        herrings: 2,
        causes: 2,
        away: true,
        ..plain.clone()
    };
    assert!((hard.points() - 16.0).abs() < 1e-12);
    let of = Difficulty::of(&ENGINE, case("rats-in-the-conduit"), 1);
    assert_eq!((of.causes, of.away), (2, false));
    assert!(of.entropy > 1.0 && of.entropy < 12.0, "{of:?}");
    assert!(of.steps >= 3, "{of:?}");
    let none = Difficulty::of(&ENGINE, case("worked-for-me-three-times"), 1);
    assert!(none.away && none.causes == 0, "{none:?}");
}

/// The trainer's sheet says what is wrong; the trainee's says nothing of it. Both are whole pages without a script.
#[test]
fn sheets_tell_the_trainer_and_not_the_trainee() {
    let scenario = &SCENARIOS["cricket-ball-and-the-stop-button"];
    let difficulty = Difficulty::of(&ENGINE, &scenario.case, 1);
    let drills = [(1, scenario, &difficulty)];
    let answers = sheet(&ENGINE, &drills, 1, true).expect("a sheet");
    let blank = sheet(&ENGINE, &drills, 1, false).expect("a sheet");
    let cause = &ENGINE.knowledge.causes[&scenario.case.causes[0]].title;
    let html = |text: &str| text.replace('\'', "&#x27;");
    assert!(answers.contains(&html(cause)), "{answers}");
    assert!(
        !blank.contains(&html(cause)) && !blank.contains(&html(&scenario.case.title)),
        "{blank}"
    );
    for page in [&answers, &blank] {
        assert!(page.starts_with("<!doctype html>") && page.trim_end().ends_with("</html>"));
        assert!(
            !page.contains("<script") && !page.contains("http://") && !page.contains("{{"),
            "{page}"
        );
        assert_eq!(page.matches("<table").count(), page.matches("</table>").count());
    }
    insta::assert_snapshot!("drill_sheet", answers);
}

/// What is put into a page is escaped.
#[test]
fn sheets_escape_what_they_are_given() {
    let mut scenario = SCENARIOS["cricket-ball-and-the-stop-button"].clone();
    scenario.case.says = vec!["<script>alert(1)</script> & \"so\"".to_owned()];
    let difficulty = candidate(0, 0, 5).difficulty;
    let page = sheet(&ENGINE, &[(1, &scenario, &difficulty)], 1, false).expect("a sheet");
    assert!(!page.contains("<script>") && page.contains("&lt;script&gt;"), "{page}");
}

fn done(trainee: &str, subject: &str, points: u32, passed: bool, day: u32) -> Done {
    Done {
        version: 1,
        time: format!("2026-03-{day:02}T09:00:00Z"),
        trainee: trainee.to_owned(),
        scenario: "a".to_owned(),
        subject: subject.to_owned(),
        seed: 1,
        level: Level::Alone,
        points,
        passed,
        grave: usize::from(!passed),
        minutes: 30.0,
        plan_minutes: 20.0,
        practise: "Look first.".to_owned(),
    }
}

/// Results are added line by line; a damaged line is told and passed over; progress is later half less earlier half.
#[test]
fn a_class_file_keeps_results() {
    let folder = tempfile::tempdir().expect("a folder");
    let path: PathBuf = folder.path().join("class.jsonl");
    for (day, points) in [(1, 40), (2, 60), (3, 80), (4, 90)] {
        done("Ann & <Bo>", "battery", points, points >= 70, day)
            .append_to(&path)
            .expect("written");
    }
    done("Cy", "eyes", 70, true, 1).append_to(&path).expect("written");
    let mut text = std::fs::read_to_string(&path).expect("read");
    text.insert_str(0, "{\"half\n");
    std::fs::write(&path, text).expect("written");
    let class = ClassFile::read(&path).expect("read");
    assert_eq!(class.done.len(), 5);
    assert_eq!(class.damaged.iter().map(|(line, _)| *line).collect::<Vec<_>>(), [1]);
    let progress = Progress::of(&class.by_trainee()["Ann & <Bo>"]);
    assert_eq!((progress.drills, progress.passed, progress.grave), (4, 2, 2));
    assert!((progress.mean - 67.5).abs() < 1e-12 && (progress.pace - 1.5).abs() < 1e-12);
    assert_eq!(progress.change.map(f64::round), Some(35.0));
    assert_eq!(Progress::of(&class.by_trainee()["Cy"]).change, None);
    let picture = progress_picture(&class).expect("a picture");
    assert!(picture.contains("Ann &amp; &lt;Bo&gt;"), "{picture}");
    insta::assert_snapshot!("drill_results_svg", picture);
}

/// Proof is honest about a fault that is there.
#[test]
fn proof_shows_what_is_left() {
    let case = case("cricket-ball-and-the-stop-button");
    let wrong = ENGINE
        .knowledge
        .repairs
        .keys()
        .find(|r| !ENGINE.knowledge.repairs[*r].cures.contains_key(&case.causes[0]));
    let mut session = after(
        &ENGINE,
        case,
        &[
            Act::LookForDanger,
            repair(wrong.expect("another repair")),
            Act::SeeClear,
        ],
    );
    let seen = session.act(&Act::Run, "").expect("in memory").expect("it runs");
    assert!(
        seen.iter().any(|e| matches!(
            e,
            Event::Proof {
                seen: Seen::StillThere,
                ..
            }
        )),
        "{seen:?}"
    );
}
