//! Site files: what they hold, what a call takes from them, what goes back, and callbacks.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use assert_cmd::Command;
use pintle::call::{BASELINE, Call, Earlier, Engine, Entry, Event, Journal, Rank, Retested, Step, evaluate};
use pintle::knowledge::schema::{At, Each, Ending, Now, Who};
use pintle::knowledge::{Knowledge, WithCases};
use pintle::model::SiteFacts;
use pintle::site::{SiteError, SiteFile, Store, Typed, check, events, file_name, gives_away, keep, offers, set};
use pintle::terminal::{Style, render_step, site_findings};

use super::pty::{CTRL_C, Next, Shown, Terminal, flat, pintle};
use super::terminal::Somebody;

static ENGINE: LazyLock<Engine> = LazyLock::new(|| Engine::new(Knowledge::built_in(&[], WithCases::No).0));

const TODAY: &str = "2026-06-01";

fn today() -> jiff::civil::Date {
    TODAY.parse().expect("a date")
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

/// A site of the built-in knowledge, everything right.
const HILL_FARM: &str = "\
name: Hill farm
updated: 2026-03-02
facts:
  gate-type: swing
  leaves: pair
  power: battery-mains
  eyes: through-wired
  remote-access: 'no'
  mains-volts: 230
operator: arm type, 24 V
limits:
- what: leaf weight
  value: 250 kg
  page: 14
batteries:
- volts: 24 V
  ah: 7
  chemistry: lead-acid
  date: 2025-05
loops:
- name: exit
  purpose: free exit
protection:
- travel: closing
  place: between the leading edges
  by: edge
emergency-access: key switch in a box by the right post
remarks:
- dog
baselines:
- test: motor-amps
  reading: running
  of: opening
  value: 3.1 A
  date: 2026-03-02
- test: motor-amps
  reading: running
  of: closing
  value: 3.4
  date: 2026-03-02
- test: string-rest-volts
  reading: volts
  value: 25.6 V
  date: 2026-03-02
- what: stop mark open
  value: 41 in
  date: 2026-03-02
";

fn written(text: &str) -> (tempfile::TempDir, Store) {
    let data = folder();
    let sites = data.path().join("sites");
    std::fs::create_dir_all(&sites).expect("made");
    std::fs::write(sites.join("hill-farm.yaml"), text).expect("written");
    (data, Store::new(sites))
}

fn hill_farm() -> SiteFile {
    written(HILL_FARM).1.load("Hill farm").expect("nothing wrong with it")
}

// ---- files

#[test]
fn no_name_leads_out_of_the_folder() {
    for (name, file) in [
        ("Hill farm", Some("hill-farm")),
        ("../../etc/passwd", Some("etc-passwd")),
        ("/tmp/x", Some("tmp-x")),
        ("C:\\sites\\a", Some("c-sites-a")),
        ("a\u{1b}[31mb\u{0}", Some("a-31mb")),
        ("Höhe 7", Some("höhe-7")),
        ("con", Some("con-site")),
        ("LPT1", Some("lpt1-site")),
        ("..", None),
        (" \t", None),
    ] {
        assert_eq!(file_name(name).as_deref(), file, "{name:?}");
    }
    assert!(file_name(&"ä".repeat(500)).expect("letters").len() <= 80);
}

#[test]
fn a_file_is_written_whole_for_its_owner_alone_and_read_back_the_same() {
    let data = folder();
    let store = Store::new(data.path().join("new").join("sites"));
    let site = hill_farm();
    let path = store.create(&site).expect("written");
    assert_eq!(store.load("HILL FARM").expect("read"), site);
    assert!(matches!(store.create(&site), Err(SiteError::There { .. })));
    store.replace(&site).expect("written anew");
    let left: Vec<String> = std::fs::read_dir(store.folder())
        .expect("a folder")
        .flatten()
        .map(|e| e.file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(left, ["hill-farm.yaml"], "no half-written file stays");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = |path: &Path| std::fs::metadata(path).expect("there").permissions().mode() & 0o777;
        assert_eq!((mode(&path), mode(store.folder())), (0o600, 0o700));
    }
    assert_eq!(store.names(), ["hill-farm"]);
    assert!(matches!(store.load("Other"), Err(SiteError::Missing(_))));
}

#[test]
fn comments_of_a_person_are_not_lost_silently() {
    for (line, lost) in [
        ("# by hand", true),
        ("board: C # new", true),
        ("board: 'box #2'", false),
        ("board: gate#2", false),
        ("remarks: [\"a # b\", owner's]", false),
    ] {
        let (_data, store) = written(&format!("name: Hill farm\n{line}\n"));
        let site = store.load("Hill farm").expect("it can be read");
        let refused = matches!(store.replace(&site), Err(SiteError::Commented { line: 2, .. }));
        assert_eq!(refused, lost, "{line}");
    }
}

#[test]
fn unknown_fields_and_control_characters_do_not_get_in() {
    let (_data, store) = written("name: Hill farm\nbatterys: []\n");
    let Err(SiteError::Damaged { place, message, help }) = store.load("hill farm") else {
        panic!("an unknown field is an error");
    };
    assert!(place.ends_with("hill-farm.yaml:2:1"), "{place}");
    assert_eq!(
        (message.as_str(), help.as_str()),
        ("there is no field `batterys` here", "did you mean `batteries`?")
    );
    let (_data, store) = written("name: \"Hill farm\\e[31m\"\nboard: \"a\\u0007b\"\n");
    let site = store.load("Hill farm").expect("read");
    assert_eq!(
        (site.name.as_str(), site.board.as_deref()),
        ("Hill farm[31m", Some("ab"))
    );
}

#[test]
fn what_is_wrong_is_found_with_its_place() {
    let text = "\
name: Mill farm
updated: 2026-13-02
facts:
  gate-typ: swing
  leaves: two
  mains-volts: 12 V
  freezing: 'yes'
  battery-age: under-2
batteries:
- volts: 400 V
  chemistry: lead
  date: 2021-05
emergency-access: box 4711 by the post
remarks:
- the code is 1234
baselines:
- {test: motor-amp, reading: running, value: 3.1 A, date: 2026-03-02}
- {test: motor-amps, reading: run, value: 3.1 A, date: 2026-03-02}
- {test: motor-amps, reading: running, value: 3.1 V, date: 2027-03-02}
- {test: loop-megger, reading: megohms, value: 0.4, date: 2026-03-02}
- {test: string-rest-volts, reading: volts, value: 25.6 V, date: 2021-03-02}
- {value: 3, date: 2026-03-02}
";
    let (_data, store) = written(text);
    let read = store.read("hill farm").expect("there");
    let findings = check(&read, "hill-farm", &ENGINE.knowledge, today());
    insta::assert_snapshot!(site_findings("hill-farm.yaml", &findings, &Style::plain(80)));
    let (_data, store) = written(HILL_FARM);
    let read = store.read("hill farm").expect("there");
    assert_eq!(check(&read, "hill-farm", &ENGINE.knowledge, today()), []);
}

#[test]
fn a_way_in_is_no_code() {
    for text in ["box 4711 by the post", "12 34 on the pad", "PIN 9981", "key 00-12"] {
        assert!(gives_away(text), "{text}");
    }
    for text in [
        "key switch in a box by the right post",
        "fire service key, box 3",
        "lift the pin, 2 m inside",
    ] {
        assert!(!gives_away(text), "{text}");
    }
    let mut site = hill_farm();
    assert!(set::apply(&mut site, &ENGINE.knowledge, "emergency-access=ring 0471 then 9").is_err());
    assert!(set::apply(&mut site, &ENGINE.knowledge, "remark=gate code 4711").is_err());
}

#[test]
fn words_on_the_command_line_change_what_they_say() {
    let mut site = SiteFile {
        name: "A".to_owned(),
        ..SiteFile::default()
    };
    for text in [
        "gate-type=slide",
        "system-volts=24",
        "battery=24 V, 7 Ah, lead-acid, 2024-05",
        "loop=exit: free exit",
        "protection=closing, leading edge: edge",
        "limit=leaf weight: 250 kg, page 14",
        "remark=dog",
        "remark=cat",
        "board=revision C",
    ] {
        set::apply(&mut site, &ENGINE.knowledge, text).expect(text);
    }
    insta::assert_snapshot!(serde_yaml::to_string(&site).expect("YAML"));
    for text in ["gate-type=", "remark=", "board="] {
        set::apply(&mut site, &ENGINE.knowledge, text).expect(text);
    }
    assert!(!site.facts.contains_key("gate-type") && site.remarks.is_empty() && site.board.is_none());
    for (text, says) in [
        ("gate-typ=slide", "did you mean gate-type?"),
        ("gate-type=lift", "its values: swing, slide, not-covered"),
        ("freezing=yes", "true of a day"),
        ("battery=24 Q7", "neither volts"),
        ("protection=edge", "closing or opening"),
        ("nonsense", "not WORD=VALUE"),
        ("name=B", "make a new site"),
    ] {
        let problem = set::apply(&mut site, &ENGINE.knowledge, text).expect_err(text);
        assert!(problem.contains(says), "{text}: {problem}");
    }
}

// ---- the opening of a call

#[test]
fn facts_that_stay_are_known_and_those_that_may_have_changed_are_remembered() {
    let events = events(&hill_farm(), &ENGINE.knowledge, today());
    let known: Vec<(&str, &str)> = events
        .iter()
        .filter_map(|e| match e {
            Event::Fact { fact, value, from } => {
                assert_eq!(from.as_deref(), Some("site file of 2026-03-02"));
                Some((fact.as_str(), value.as_deref()?))
            }
            _ => None,
        })
        .collect();
    // Volts and age come from the battery; the age goes by the date, so it is not asked again.
    for expected in [
        ("gate-type", "swing"),
        ("leaves", "pair"),
        ("power", "battery-mains"),
        ("system-volts", "24 V"),
        ("mains-volts", "230 V"),
        ("battery-age", "under-2"),
    ] {
        assert!(known.contains(&expected), "{expected:?} in {known:?}");
    }
    let again: Vec<&str> = events
        .iter()
        .filter_map(|e| match e {
            Event::Remembered { fact, .. } => Some(fact.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!((known.len(), again), (6, vec!["battery-kind", "eyes", "remote-access"]));
}

#[test]
fn a_battery_grows_older_by_the_calendar() {
    let age = |date: &str| {
        let mut site = hill_farm();
        site.batteries[0].date = Some(date.to_owned());
        let known = pintle::site::facts(&site, &ENGINE.knowledge, today());
        known.get("battery-age").map(str::to_owned)
    };
    for (date, band) in [
        ("2026-05", Some("under-2")),
        ("2024-06-02", Some("under-2")),
        ("2024-05-31", Some("from-2-to-4")),
        ("2022-05-31", Some("over-4")),
        ("2026-07-01", None),
    ] {
        assert_eq!(age(date).as_deref(), band, "{date}");
    }
}

#[test]
fn a_baseline_older_than_its_battery_is_not_used() {
    let of = |date: &str| {
        let mut site = hill_farm();
        site.batteries[0].date = Some(date.to_owned());
        let tests = events(&site, &ENGINE.knowledge, today())
            .into_iter()
            .filter_map(|e| match e {
                Event::Baseline { test, .. } => Some(test),
                _ => None,
            });
        tests.collect::<Vec<_>>()
    };
    assert_eq!(of("2025-05"), ["motor-amps", "motor-amps", "string-rest-volts"]);
    assert_eq!(of("2026-05"), ["motor-amps", "motor-amps"]);
}

#[test]
fn what_a_site_file_lists_stands_ready_for_the_retest() {
    let mut site = hill_farm();
    site.eyes = vec!["posts, 18 in".to_owned(), "drive, 27 in".to_owned()];
    site.edges = vec!["left leaf".to_owned()];
    let call = opened(Some(&site), "slow");
    assert_eq!(call.fitted(Each::Eye), ["posts, 18 in", "drive, 27 in"]);
    assert_eq!(call.fitted(Each::Device), ["posts, 18 in", "drive, 27 in", "left leaf"]);
    assert_eq!(call.fitted(Each::ClosingPlace), ["between the leading edges: edge"]);
    assert!(call.fitted(Each::OpeningPlace).is_empty());
}

fn at(time: &str, event: Event) -> Entry {
    Entry {
        time: time.to_owned(),
        event,
    }
}

/// A call at the gate, with what a site file says, a complaint, the symptom there.
fn opened(site: Option<&SiteFile>, symptom: &str) -> Call<'static> {
    let mut events = vec![ENGINE.opened(At::Gate, Who::Technician, Some("Hill farm".to_owned()))];
    events.extend(
        site.into_iter()
            .flat_map(|s| pintle::site::events(s, &ENGINE.knowledge, today())),
    );
    events.extend([
        Event::Signs {
            yes: Vec::new(),
            unsure: Vec::new(),
        },
        Event::Complaint {
            words: "x".to_owned(),
            symptoms: vec![symptom.to_owned()],
        },
    ]);
    Call::in_memory(
        &ENGINE,
        events.into_iter().map(|e| at("2026-06-01T08:00:00Z", e)).collect(),
    )
}

#[test]
fn a_known_site_is_not_asked_what_stays() {
    let site = hill_farm();
    let Step::Fact { fact, .. } = opened(None, "slow").next_step() else {
        panic!("an unknown site is asked about");
    };
    assert_eq!(fact, "gate-type");
    assert_eq!(opened(Some(&site), "slow").next_step(), Step::Now);
    // What may have changed counts for nothing until it is asked, and is shown then.
    let call = opened(Some(&site), "slow");
    assert_eq!(call.situation().site.get("battery-kind"), None);
    let asks = Step::Fact {
        fact: "battery-kind".to_owned(),
        purpose: None,
    };
    let page = render_step(&call, &asks, &Style::plain(80));
    assert!(
        page.contains("1, Lead-acid: sealed, AGM or gel (site file of 2026-03-02)"),
        "{page}"
    );
    // "Back" takes away what a person said, never the file's word.
    assert_eq!(call.last_answer(), Some(call.entries.len() - 1));
    assert!(matches!(
        call.entries[call.entries.len() - 1].event,
        Event::Complaint { .. }
    ));
}

#[test]
fn old_journals_still_read() {
    let line = r#"{"time":"2026-01-01T08:00:00Z","event":"fact","fact":"leaves","value":"pair"}"#;
    let entry: Entry = serde_json::from_str(line).expect("as it was written before");
    assert!(matches!(&entry.event, Event::Fact { from: None, .. }));
    assert_eq!(serde_json::to_string(&entry).expect("JSON"), line);
    let callback: Entry =
        serde_json::from_str(r#"{"time":"t","event":"callback","of":"a"}"#).expect("without its words");
    assert!(matches!(callback.event, Event::Callback { text, .. } if text.is_empty()));
}

// ---- baselines judge readings

fn outcome(test: &str, readings: &[(&str, &str)]) -> (String, f64) {
    let entry = &ENGINE.knowledge.tests[test];
    let site = SiteFacts::unknown().with("system-volts", "24 V");
    let readings: BTreeMap<String, String> = readings
        .iter()
        .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
        .collect();
    let evaluated = evaluate(&ENGINE.knowledge, entry, &readings, &site, false).expect("it can be judged");
    let (id, _) = entry.bands.get_index(evaluated.outcome).expect("a band");
    (id.clone(), evaluated.sigma)
}

/// The same reading against the test's own limits and against what this gate read when it was well.
#[test]
fn a_baseline_changes_how_a_reading_is_judged() {
    for (test, without, with, was, is) in [
        // The plate says 4.5 A; this gate drew 3.0 A, and draws 4.8 A.
        (
            "motor-amps",
            &[("running", "4.8 A"), ("reference", "4.5 A")][..],
            &[("running", "4.8 A"), (BASELINE, "3.0 A")][..],
            "usual",
            "high",
        ),
        // A long lead-in: 4.6 ohm are this loop's own.
        (
            "loop-ohms",
            &[("ohms", "4.6")],
            &[("ohms", "4.6"), (BASELINE, "4.3")],
            "high",
            "good",
        ),
        // 3.9 ohm on a loop that had 0.6 is a joint.
        (
            "loop-ohms",
            &[("ohms", "3.9")],
            &[("ohms", "4.0"), (BASELINE, "0.6")],
            "good",
            "high",
        ),
        // The rule is 20 % high for this loop of one turn.
        (
            "loop-inductance",
            &[
                ("measured", "19.5"),
                ("perimeter_ft", "48"),
                ("turns", "1"),
                ("lead_ft", "0"),
            ],
            &[("measured", "19.5"), (BASELINE, "20")],
            "low",
            "good",
        ),
        // A sealed battery that rests at 26.0 V when charged is not charged at 24.9 V.
        (
            "string-rest-volts",
            &[("volts", "24.9 V")],
            &[("volts", "24.9 V"), (BASELINE, "26.0 V")],
            "good",
            "low",
        ),
        (
            "travel-time",
            &[("measured", "18 s"), ("usual", "15 s")],
            &[("measured", "18 s"), (BASELINE, "12 s")],
            "usual",
            "slow",
        ),
    ] {
        assert_eq!(outcome(test, without).0, was, "{test} as written");
        let (now, sigma) = outcome(test, with);
        assert_eq!(now, is, "{test} by its baseline");
        assert!(sigma > 0.0, "{test}: the baseline's meter errs too");
    }
}

#[test]
fn what_a_baseline_answers_is_not_asked() {
    let tests = &ENGINE.knowledge.tests;
    let asked = |test: &str, with| pintle::call::asked(&tests[test], with);
    assert_eq!(asked("motor-amps", false), ["running", "reference"]);
    assert_eq!(asked("motor-amps", true), ["running"]);
    assert_eq!(asked("loop-inductance", false).len(), 4);
    assert_eq!(asked("loop-inductance", true), ["measured"]);
    assert_eq!(asked("travel-time", true), ["measured"]);
}

/// One answer feeds one outcome of one test, by whichever formula; the belief follows the judgement.
#[test]
fn the_belief_follows_the_baseline() {
    let drag = |readings: &[(&str, &str)]| {
        let mut call = opened(Some(&hill_farm()), "slow");
        let readings = readings
            .iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect();
        let answer = Event::Answer {
            test: "motor-amps".to_owned(),
            outcome: None,
            readings,
            said: None,
            by: Rank::Measured,
        };
        let now = Event::Now {
            now: Now::Present,
            under: Vec::new(),
        };
        for event in [now, answer] {
            call.record(at("2026-06-01T08:10:00Z", event)).expect("in memory");
        }
        assert_eq!(call.answers().len(), 1);
        let high = ENGINE.knowledge.tests["motor-amps"].bands.get_index_of("high");
        let chances = call.belief().causes(&ENGINE.model);
        let causes = ENGINE.knowledge.causes.values().zip(chances);
        let shows = causes.filter(|(c, _)| c.shows.get("motor-amps").is_some_and(|s| s.contains_key("high")));
        (
            Some(call.answers()[0].outcome) == high,
            shows.map(|(_, p)| p).sum::<f64>(),
        )
    };
    let (plate, before) = drag(&[("running", "4.8 A"), ("reference", "4.5 A")]);
    let (baseline, after) = drag(&[("running", "4.8 A"), (BASELINE, "3.0 A")]);
    assert!(!plate && baseline, "judged otherwise");
    assert!(after > 1.2 * before, "{before} to {after}");
}

// ---- what goes back

fn ended(mut call: Call<'static>, events: Vec<Event>, ending: Ending) -> Call<'static> {
    let end = Event::Ended {
        ending,
        text: String::new(),
    };
    for event in events.into_iter().chain([end]) {
        call.record(at("2026-06-01T09:00:00Z", event)).expect("in memory");
    }
    call
}

fn measured(test: &str, readings: &[(&str, &str)]) -> Event {
    Event::Answer {
        test: test.to_owned(),
        outcome: None,
        readings: readings
            .iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect(),
        said: None,
        by: Rank::Measured,
    }
}

#[test]
fn only_normal_readings_of_a_gate_that_works_are_offered() {
    let readings = || {
        vec![
            measured("string-rest-volts", &[("volts", "25.5")]),
            measured("loop-megger", &[("megohms", "0.5 Mohm")]),
            measured("motor-amps", &[("running", "3.2 A"), (BASELINE, "3.1 A")]),
            measured("travel-time", &[("measured", "14 s"), ("usual", "13 s")]),
        ]
    };
    let site = hill_farm();
    let call = ended(opened(Some(&site), "slow"), readings(), Ending::Fixed);
    let offered: Vec<(String, Option<String>, String)> = offers(&call, "2026-06-01-1")
        .into_iter()
        .map(|o| (o.kept.test.unwrap_or_default(), o.kept.of, o.kept.value.0))
        .collect();
    let expected = [
        ("string-rest-volts", None, "25.5 V"),
        ("motor-amps", Some("opening"), "3.2 A"),
        ("travel-time", None, "14 s"),
    ];
    let expected: Vec<(String, Option<String>, String)> = expected
        .into_iter()
        .map(|(t, of, v)| (t.to_owned(), of.map(str::to_owned), v.to_owned()))
        .collect();
    assert_eq!(
        offered, expected,
        "the leaking loop is none, the way comes from the baseline it was judged by"
    );
    for ending in [Ending::Referred, Ending::Waiting, Ending::OutOfUse] {
        let call = ended(opened(Some(&site), "slow"), readings(), ending);
        assert!(offers(&call, "x").is_empty(), "{ending:?}");
    }
    // A newer reading takes the place of the older one about the same thing, and of no other.
    let mut kept = site;
    for offer in offers(&call, "x") {
        keep(&mut kept, offer.kept);
    }
    let amps: Vec<&Typed> = kept
        .baselines
        .iter()
        .filter(|b| b.test.as_deref() == Some("motor-amps"))
        .map(|b| &b.value)
        .collect();
    assert_eq!(amps, [&Typed("3.4".to_owned()), &Typed("3.2 A".to_owned())]);
}

// ---- callbacks

#[test]
fn the_same_complaint_soon_after_is_a_callback_and_changes_no_percentage() {
    let earlier = |symptom: &str| Earlier {
        id: "2026-05-20-1".to_owned(),
        ended: "2026-05-20T12:00:00Z".to_owned(),
        ending: Ending::Fixed,
        symptoms: vec![symptom.to_owned()],
        done: "repair: Replace the battery set".to_owned(),
    };
    let complaint = |symptom: &str, time: &str| {
        at(
            time,
            Event::Complaint {
                words: "slow again".to_owned(),
                symptoms: vec![symptom.to_owned()],
            },
        )
    };
    let mut call = Call::in_memory(
        &ENGINE,
        vec![at(
            "2026-06-01T08:00:00Z",
            ENGINE.opened(At::Gate, Who::Technician, None),
        )],
    );
    call.know_earlier(vec![earlier("slow")]);
    call.record(complaint("slow", "2026-06-01T13:00:00Z"))
        .expect("in memory");
    let (of, text) = call.callback().expect("a callback");
    assert_eq!(of, "2026-05-20-1");
    assert_eq!(
        text,
        "same symptom 12 days after call 2026-05-20-1: fixed, repair: Replace the battery set"
    );
    let record = pintle::report::ServiceRecord::of(&call);
    assert_eq!(record.callback.as_deref(), Some(text));
    assert!(pintle::report::markdown(&record).contains("**Callback:** same symptom 12 days after call"));
    let mut plain = Call::in_memory(&ENGINE, call.entries[..1].to_vec());
    plain
        .record(complaint("slow", "2026-06-01T13:00:00Z"))
        .expect("in memory");
    assert_eq!(plain.callback(), None);
    assert_eq!(
        plain.belief().causes(&ENGINE.model),
        call.belief().causes(&ENGINE.model)
    );
    // Taken for something else after all, it is none; the journal alone says so too.
    call.record(complaint("noisy", "2026-06-01T13:05:00Z"))
        .expect("in memory");
    assert_eq!(Call::in_memory(&ENGINE, call.entries.clone()).callback(), None);
    // "Back" takes the complaint, not the remark about it.
    call.record(complaint("slow", "2026-06-01T13:06:00Z"))
        .expect("in memory");
    let last = call.last_answer().expect("the complaint");
    assert!(matches!(&call.entries[last].event, Event::Complaint { symptoms, .. } if symptoms == &["slow"]));
}

// ---- the command

fn pintle_in(data: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pintle"));
    command.env("PINTLE_DATA", data).env("NO_COLOR", "1").arg("--plain");
    command
}

fn said(command: &mut Command) -> (i32, String, String) {
    let output = command.output().expect("it runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (
        output.status.code().expect("it ends"),
        text(output.stdout),
        text(output.stderr),
    )
}

#[test]
fn a_site_from_the_command_line() {
    let data = folder();
    let run = |args: &[&str]| said(pintle_in(data.path()).arg("site").args(args));
    assert!(run(&[]).1.contains("No site files yet"));
    let (code, out, err) = run(&[
        "new",
        "Hill farm",
        "gate-type=swing",
        "battery=24 V, lead-acid, 2025-05",
    ]);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    assert!(out.contains("sites/hill-farm.yaml"), "{out}");
    assert_eq!(run(&["new", "hill-FARM", "leaves=pair"]).0, 3, "the same file");
    assert_eq!(run(&["set", "Hill farm", "gate-type=lift"]).0, 3);
    assert_eq!(
        run(&["set", "Hill farm", "leaves=pair", "emergency-access=fire service key"]).0,
        0
    );
    assert_eq!(
        run(&[
            "baseline",
            "Hill farm",
            "motor-amps@opening=3.1",
            "what:stop mark=41 in",
            "--read-with",
            "clamp 2"
        ])
        .0,
        0
    );
    let (code, _, err) = run(&["baseline", "Hill farm", "motor-amps=3.1 V"]);
    assert!(code == 3 && err.contains("motor-amps"), "{err}");
    let (_, page, _) = run(&["show", "hill farm"]);
    for part in [
        "Hill farm",
        "A pair",
        "fire service key",
        "opening: 3.1 A on",
        "clamp 2",
        "No call at this site yet.",
    ] {
        assert!(flat(&page).contains(part), "{part}: {page}");
    }
    assert!(page.lines().all(|l| l.chars().count() <= 80 && l.is_ascii()), "{page}");
    assert_eq!(
        run(&["check", "Hill farm"]),
        (0, "0 error(s), 0 warning(s)\n".to_owned(), String::new())
    );
    assert!(run(&[]).1.contains("2 fact(s), 2 baseline(s)"));
    assert_eq!(run(&["show", "Other"]).0, 3);
    let file = data.path().join("sites/hill-farm.yaml");
    std::fs::write(&file, "name: Hill farm\nfacts: {gate-type: lift}\n").expect("written");
    let (code, out, _) = run(&["check", "Hill farm"]);
    assert!(code == 1 && out.contains("hill-farm.yaml:2:20"), "{out}");
    assert_eq!(run(&["new", "No terminal"]).0, 3);
}

/// The journal of an example case at a site, with three readings before its end.
fn played(data: &Path, id: &str) -> PathBuf {
    let mut command = pintle_in(data);
    command.args([
        "diagnose",
        "--case",
        "examples/cases/worn-battery.yaml",
        "--json",
        "--site",
        "Hill farm",
    ]);
    let (code, journal, err) = said(&mut command);
    assert_eq!((code, err.as_str()), (0, ""));
    let path = data.join(format!("{id}.jsonl"));
    let (before, end) = journal.trim_end().rsplit_once('\n').expect("lines");
    assert!(end.contains("\"ended\"") && end.contains("\"fixed\""), "{end}");
    let readings = [
        measured("loop-ohms", &[("ohms", "0.8")]),
        measured("loop-megger", &[("megohms", "0.5")]),
        measured("travel-time", &[("measured", "21 s"), ("usual", "22 s")]),
    ];
    let lines = readings.map(|event| serde_json::to_string(&at("2026-01-01T08:00:00Z", event)).expect("JSON"));
    std::fs::write(&path, format!("{before}\n{}\n{end}\n", lines.join("\n"))).expect("written");
    path
}

#[test]
fn baselines_from_a_call_make_the_file_and_the_visit_is_shown() {
    let data = folder();
    played(data.path(), "2026-01-01-1");
    let run = |args: &[&str]| said(pintle_in(data.path()).arg("site").args(args));
    let from = ["baseline", "Hill farm", "--from", "2026-01-01-1"];
    let (code, listed, err) = run(&[&from[..], &["--list"]].concat());
    assert_eq!((code, err.as_str()), (0, ""), "{listed}");
    assert!(listed.starts_with("  1  "), "{listed}");
    assert!(!data.path().join("sites").exists(), "listing writes nothing");
    assert_eq!(
        run(&["baseline", "Other", "--from", "2026-01-01-1"]).0,
        3,
        "another site"
    );
    assert_eq!(run(&[&from[..], &["--only", "99"]].concat()).0, 3);
    let (code, kept, _) = run(&from);
    assert!(code == 0 && kept.contains("Written: "), "{kept}");
    let site = Store::new(data.path().join("sites")).load("Hill farm").expect("made");
    let values: Vec<&str> = site.baselines.iter().map(|b| b.value.0.as_str()).collect();
    assert!(
        values.contains(&"0.8 Ω") && values.contains(&"21 s") && !values.contains(&"0.5 MΩ"),
        "{values:?}"
    );
    assert!(
        site.baselines
            .iter()
            .all(|b| b.call.as_deref() == Some("2026-01-01-1") && b.date == "2026-01-01")
    );
    assert_eq!(site.facts.get("gate-type"), Some(&Typed("slide".to_owned())));
    let (_, page, _) = run(&["show", "Hill farm"]);
    assert!(
        flat(&page).contains("fixed (call 2026-01-01-1)") && page.contains("it runs like it is dying"),
        "{page}"
    );
}

// ---- a person at a known site

/// The gate of the case that [`Somebody`] is at, without what has to be asked again.
const OF_THE_CASE: &str = "battery-five-years";

fn diagnose_at(data: &Path) -> Terminal {
    let mut command = pintle(data);
    command.args(["diagnose", "--at", "gate", "--site", "Hill farm"]);
    Terminal::start(command)
}

fn case_facts() -> Vec<(String, String)> {
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::Yes);
    let name = format!("/{OF_THE_CASE}.yaml");
    let (_, case) = knowledge
        .cases
        .iter()
        .find(|(at, _)| knowledge.sources.files[*at].name.ends_with(&name))
        .expect("a case");
    case.site
        .iter()
        .map(|(fact, value)| (fact.clone(), value.0.clone()))
        .collect()
}

/// Answers until a prompt or a title that is waited for.
fn until(terminal: &mut Terminal, somebody: &mut Somebody<'_>, wanted: impl Fn(&Shown) -> bool) -> Shown {
    let mut shown = terminal.question();
    while !wanted(&shown) {
        let reply = somebody.reply(&shown);
        shown = terminal.answer(&reply);
    }
    shown
}

#[test]
fn at_a_known_site_what_stays_is_not_asked_and_a_callback_is_said() {
    let data = folder();
    let mut site = hill_farm();
    site.batteries.clear();
    site.facts = case_facts()
        .into_iter()
        .map(|(fact, value)| (fact, Typed(value)))
        .collect();
    let stays = |fact: &str| !ENGINE.knowledge.facts[fact].may_change;
    assert!(site.facts.keys().any(|f| stays(f)) && site.facts.keys().any(|f| !stays(f)));
    Store::new(data.path().join("sites")).create(&site).expect("written");
    // Put right twelve days ago.
    let path = played(data.path(), "2026-01-01-1");
    let ago = jiff::Timestamp::now().as_second() - 12 * 86_400 - 3_600;
    let then = jiff::Timestamp::from_second(ago).expect("a time").to_string();
    let journal = std::fs::read_to_string(&path).expect("played above");
    std::fs::write(&path, journal.replace("2026-01-01T08:00:00Z", &then)).expect("written");

    let mut terminal = diagnose_at(data.path());
    let mut somebody = Somebody::at_case(OF_THE_CASE);
    let first = terminal.question();
    for part in [
        "Known site: Hill farm",
        "key switch in a box by the right post",
        "dog",
        "fixed (call 2026-01-01-1)",
    ] {
        assert!(first.says(part), "{part}: {}", first.page);
    }
    terminal.line("0");
    let shown = until(&mut terminal, &mut somebody, |shown| shown.title() == "Right now");
    assert!(
        terminal.screen().contains("callback") && shown.says("same symptom 12 days after call 2026-01-01-1: fixed"),
        "{}",
        shown.page
    );
    let asked: Vec<&str> = somebody
        .asked
        .iter()
        .filter(|(kind, _)| *kind == "fact")
        .map(|(_, id)| id.as_str())
        .collect();
    assert!(!asked.iter().any(|fact| stays(fact)), "{asked:?}");
    terminal.keys(CTRL_C);
    terminal.end();
    terminal.assert_fits();
    let mut files: Vec<PathBuf> = std::fs::read_dir(data.path())
        .expect("a folder")
        .flatten()
        .map(|e| e.path())
        .filter(|p| p.extension().is_some_and(|e| e == "jsonl") && *p != path)
        .collect();
    let entries = Journal::load(&files.remove(0)).expect("a call").entries;
    assert!(
        entries
            .iter()
            .any(|e| matches!(&e.event, Event::Callback { of, .. } if of == "2026-01-01-1"))
    );
    let facts = |from: bool| {
        let found = entries
            .iter()
            .filter(|e| matches!(&e.event, Event::Fact { from: f, .. } if f.is_some() == from));
        found.count()
    };
    assert_eq!(facts(true), site.facts.keys().filter(|f| stays(f)).count());
}

/// A call that is all but ended is taken up again: the ending, then what is kept.
#[test]
fn at_the_end_readings_are_kept_as_baselines() {
    let data = folder();
    let path = played(data.path(), "2026-01-01-1");
    let journal = std::fs::read_to_string(&path).expect("played above");
    let (before, _) = journal.trim_end().rsplit_once('\n').expect("lines");
    let eyes = at(
        "2026-01-01T08:00:00Z",
        Event::Retest {
            line: "eyes".to_owned(),
            passed: Some(true),
            note: String::new(),
            each: vec![Retested {
                what: "left post, 18 in: stopped it".to_owned(),
                passed: true,
            }],
        },
    );
    let eyes = serde_json::to_string(&eyes).expect("it can be written");
    std::fs::write(&path, format!("{before}\n{eyes}\n")).expect("written");
    let mut command = pintle(data.path());
    command.args(["resume", "2026-01-01-1"]);
    let mut terminal = Terminal::start(command);
    let mut somebody = Somebody::at_case(OF_THE_CASE);
    let shown = until(&mut terminal, &mut somebody, |shown| {
        shown.prompt == "1 all, 0 none, or numbers:"
    });
    assert!(shown.says("Keep as baselines of Hill farm?"), "{}", shown.page);
    let options = shown.options();
    assert_eq!(options.iter().map(|(n, _)| *n).take(3).collect::<Vec<_>>(), [0, 1, 2]);
    let wrong = terminal.answer("99");
    assert!(wrong.says("\"99\" is not one of the numbers"), "{}", wrong.page);
    terminal.wipe(2);
    let meter = terminal.answer("1");
    assert!(meter.prompt.starts_with("meter"), "{}", meter.prompt);
    terminal.line("meter 4");
    let (text, code) = loop {
        match terminal.next() {
            Next::Question(shown) => {
                let which = shown.prompt.starts_with("of which") || shown.says("of which");
                assert!(which, "{} {}", shown.page, shown.prompt);
                terminal.line(if shown.says("Travel time") { "opening" } else { "" });
            }
            Next::Over(text, code) => break (text, code),
        }
    };
    assert!(code == 0 && flat(&text).contains("hill-farm.yaml"), "{text}");
    terminal.assert_fits();
    let site = Store::new(data.path().join("sites")).load("Hill farm").expect("made");
    assert!(site.baselines.iter().all(|b| b.meter.as_deref() == Some("meter 4")));
    assert_eq!(site.eyes, ["left post, 18 in"], "by its place, not by what it did");
    let of = |test: &str| {
        let found = site.baselines.iter().find(|b| b.test.as_deref() == Some(test));
        found.map(|b| (b.value.0.clone(), b.of.clone()))
    };
    assert_eq!(of("loop-ohms"), Some(("0.8 Ω".to_owned(), None)));
    assert_eq!(of("travel-time"), Some(("21 s".to_owned(), Some("opening".to_owned()))));
    assert!(site.facts.contains_key("gate-type"));
}

// ---- the language

fn formula_problems(baseline: &str) -> Vec<String> {
    let text = format!(
        "facts:\n  plate: {{ask: p, number: {{unit: A, range: [0, 9]}}, source: s}}\n\
         tests:\n  t:\n    title: T\n    ask: a\n    minutes: 1\n    readings: {{amps: {{unit: A}}, old: {{unit: A}}}}\n    value: amps / old\n    \
         baseline: {baseline}\n    bands: {{low: {{say: l, below: 1}}, high: {{say: h, from: 1}}}}\n    healthy: {{low: 1}}\n    source: s\n"
    );
    let pack = pintle::knowledge::PackText {
        files: vec![("a.yaml".to_owned(), text)],
        unreadable: Vec::new(),
    };
    let (knowledge, loaded) = pintle::knowledge::load(vec![pack], WithCases::No);
    assert!(loaded.is_empty(), "{loaded:?}");
    pintle::knowledge::check::check(&knowledge)
        .into_iter()
        .filter(|f| f.code == pintle::finding::Code::BadFormula)
        .map(|f| {
            let at = knowledge.sources.position(&f.location);
            format!("{}:{} {}", at.line, at.column, f.message)
        })
        .collect()
}

#[test]
fn a_baseline_of_a_test_is_checked() {
    for right in [
        "{reading: amps, value: amps / baseline}",
        "{reading: amps, value: (amps - old) / baseline}",
    ] {
        assert_eq!(formula_problems(right), [] as [String; 0], "{right}");
    }
    for (wrong, says) in [
        (
            "{reading: amp, value: amps / baseline}",
            "10:25 there is no reading `amp` in this test",
        ),
        (
            "{reading: amps, value: amps / old}",
            "10:38 this formula does not use `baseline`",
        ),
        (
            "{reading: amps, value: amps - baseline}",
            "10:38 this formula gives another kind of number",
        ),
        ("{reading: amps, value: amps / base}", "10:45 "),
    ] {
        let found = formula_problems(wrong);
        assert!(found.len() == 1 && found[0].starts_with(says), "{wrong}: {found:?}");
    }
}
