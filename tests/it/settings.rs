//! Settings: where each value comes from, what is said of wrong ones, and that every one of them is used.

use std::path::Path;
use std::process::{Command, Stdio};

use pintle::call::{Call, Engine, Entry, Event, Journal, Rank, Terms};
use pintle::knowledge::schema::{At, Now, Who};
use pintle::knowledge::{Knowledge, WithCases};
use pintle::model::RepairId;
use pintle::quantity::{MeterClass, Meters, System, Unit};
use pintle::report::{ServiceRecord, markdown};
use pintle::settings::{Flags, Name, Origin, Problem, SettingsFile, read, resolve};
use proptest::prelude::*;

use super::pty::{Terminal, journals, pintle};

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

fn nobody(_: &str) -> Option<String> {
    None
}

fn file(text: &str) -> SettingsFile {
    read(Path::new("/users/somebody/settings.yaml"), None, text)
}

/// Output, errors and the exit code, without what differs from run to run.
fn told(data: &Path, command: &mut Command) -> String {
    let output = command.stdin(Stdio::null()).output().expect("it runs");
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("text");
    let code = output.status.code().expect("a code");
    format!("{}{}exit {code}\n", text(&output.stdout), text(&output.stderr))
        .replace(&data.display().to_string(), "DATA")
}

fn tell(data: &Path, arguments: &[&str]) -> String {
    told(data, pintle(data).args(arguments))
}

#[test]
fn a_flag_wins_over_a_variable_and_that_over_the_file() {
    let file = file("labour-rate: 100\nunits: metric\ncompany: Gates of Example\n");
    let variable = |name: &str| match name {
        "PINTLE_LABOUR_RATE" => Some("110".to_owned()),
        "PINTLE_UNITS" => Some("imperial".to_owned()),
        "PINTLE_AT" => Some("  ".to_owned()),
        _ => None,
    };
    let flags = Flags::default().with(Name::LabourRate, Some(&"120,5".to_owned()));
    let settings = resolve(&file, &variable, &flags).expect("good settings");
    assert_eq!(settings.labour_rate.value, Some(120.5));
    assert_eq!(settings.labour_rate.origin, Origin::Flag("--labour-rate"));
    assert_eq!(settings.units.value, System::Imperial);
    assert_eq!(settings.units.origin, Origin::Variable("PINTLE_UNITS".to_owned()));
    assert_eq!(settings.company.value.as_deref(), Some("Gates of Example"));
    assert_eq!(settings.company.origin, Origin::File { line: 3, column: 10 });
    assert_eq!(settings.at.origin, Origin::Default, "an empty variable says nothing");
    assert_eq!(settings.travel_minutes.origin, Origin::Pack);
    assert!((settings.first_visit_fix.value - 0.9).abs() < 1e-12);
}

#[test]
fn folders_of_the_file_lie_beside_it_or_at_home() {
    let home = Some("/users/somebody".into());
    let file = read(
        Path::new("/etc/x/settings.yaml"),
        home,
        "packs: [mine, /abs, ~/own]\ndata: calls\n",
    );
    let settings = resolve(&file, &nobody, &Flags::default()).expect("good settings");
    let packs: Vec<_> = settings.packs.value.iter().map(|p| p.display().to_string()).collect();
    assert_eq!(packs, ["/etc/x/mine", "/abs", "/users/somebody/own"]);
    assert_eq!(settings.data.value.as_deref(), Some(Path::new("/etc/x/calls")));
}

#[test]
fn every_example_can_be_written_everywhere() {
    for name in Name::all() {
        let flags = Flags::default().with(name, Some(&name.example().to_owned()));
        let by_flag = resolve(&SettingsFile::default(), &nobody, &flags).expect("an example is good");
        let text = pintle::settings::set(Path::new("s.yaml"), "", name, name.example()).expect("an example is good");
        let by_file =
            resolve(&read(Path::new("s.yaml"), None, &text), &nobody, &Flags::default()).expect("an example is good");
        let shown = |s: &pintle::settings::Settings| {
            format!("{s:?}")
                .replace("Flag(\"", "File")
                .chars()
                .filter(|c| c.is_alphanumeric())
                .collect::<String>()
        };
        assert!(matches!(by_flag.origin(name), Origin::Flag(_)));
        assert!(matches!(by_file.origin(name), Origin::File { .. }), "{}", name.id());
        // The value is the same; only its origin differs.
        let without_origin = |text: String| {
            let from = text
                .find("originFile")
                .or_else(|| text.find("originFlag"))
                .unwrap_or(text.len());
            text[..from].to_owned()
        };
        assert_eq!(without_origin(shown(&by_flag)), without_origin(shown(&by_file)));
    }
}

#[test]
fn wrong_settings_are_told_with_their_place() {
    let data = folder();
    let path = data.path().join("settings.yaml");
    std::fs::write(
        &path,
        "# mine\nlabor-rate: 100\nunits: [metric, both]\nmeter:\n  volts: very good\nat:\nx\u{1b}y: 1\n",
    )
    .expect("written");
    // A control character makes it no YAML at all.
    let text = tell(data.path(), &["calls"]);
    assert!(
        text.contains("DATA/settings.yaml:") && !text.contains('\u{1b}'),
        "{text}"
    );
    std::fs::write(
        &path,
        "# mine\nlabor-rate: 100\nunits: [metric, both]\nmeter:\n  volts: very good\nat:\n\"x\\ey\": 1\n",
    )
    .expect("written");
    let mut command = pintle(data.path());
    command.env("PINTLE_FIRST_VISIT_FIX", "0.9");
    command.args(["calls", "--travel-minutes=-3", "--currency", "12"]);
    let text = told(data.path(), &mut command);
    insta::assert_snapshot!("settings_wrong", text);
    assert!(
        text.contains("settings.yaml:2:1: there is no setting `labor-rate`"),
        "{text}"
    );
    assert!(text.ends_with("exit 3\n") && !text.contains('\u{1b}'), "{text}");
    // What needs no settings still works, so that they can be put right.
    assert!(tell(data.path(), &["settings", "path"]).ends_with("exit 0\n"));
    assert!(tell(data.path(), &["completions", "bash"]).ends_with("exit 0\n"));
}

#[test]
fn the_page_shows_each_value_and_where_it_comes_from() {
    let data = folder();
    insta::assert_snapshot!("settings_unset", tell(data.path(), &["settings"]));
    let path = data.path().join("settings.yaml");
    std::fs::write(
        &path,
        "labour-rate: 140\ntools:\n  - multimeter CAT III\n  - measuring rule\n  - manual\nmeter: {V: 0.1 % + 1, Ω: 0.5 % + 2 x 0.1}\n",
    )
    .expect("written");
    let mut command = pintle(data.path());
    command.env("PINTLE_COMPANY", "Example Gates").args([
        "settings",
        "--at",
        "phone",
        "--units",
        "both",
        "--currency",
        "CAD",
    ]);
    let text = told(data.path(), &mut command);
    insta::assert_snapshot!("settings_set", text);
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    assert!(text.contains("140 CAD an hour  (settings file, 1:14)"), "{text}");
}

#[test]
fn a_setting_is_written_and_taken_out_and_comments_stay() {
    let data = folder();
    let path = data.path().join("settings.yaml");
    let text = tell(data.path(), &["settings", "set", "labour-rate", "140"]);
    assert!(text.starts_with("Written: DATA/settings.yaml:2"), "{text}");
    let own = std::fs::read_to_string(&path).expect("a file") + "# keep me\n";
    std::fs::write(&path, own).expect("written");
    let text = tell(data.path(), &["settings", "set", "tools", "torch,", "manual"]);
    assert!(text.contains("Not in the truck:"), "{text}");
    let text = tell(data.path(), &["settings", "set", "labour-rate", "lots"]);
    assert!(
        text.contains("`lots` is not a number") && text.ends_with("exit 3\n"),
        "{text}"
    );
    let text = tell(data.path(), &["settings", "set", "labor-rate", "1"]);
    assert!(text.contains("did you mean labour-rate?"), "{text}");
    let mut command = pintle(data.path());
    command
        .env("PINTLE_LABOUR_RATE", "1")
        .args(["settings", "set", "labour-rate", "150"]);
    assert!(told(data.path(), &mut command).contains("PINTLE_LABOUR_RATE counts"));
    assert!(tell(data.path(), &["settings", "unset", "tools"]).contains("Taken out: tools"));
    assert!(tell(data.path(), &["settings", "unset", "tools"]).contains("nothing was changed"));
    let text = std::fs::read_to_string(&path).expect("a file");
    assert_eq!(
        text,
        "# Settings of pintle; `pintle settings` shows what counts and why.\nlabour-rate: 150\n# keep me\n"
    );
    // A file that a flag names must be there to be read.
    let text = tell(data.path(), &["calls", "--settings", "/nowhere/settings.yaml"]);
    assert!(
        text.contains("/nowhere/settings.yaml") && text.ends_with("exit 3\n"),
        "{text}"
    );
}

fn engine() -> Engine {
    Engine::new(Knowledge::built_in(&[], WithCases::No).0)
}

#[test]
fn the_labour_rate_of_the_settings_turns_parts_into_minutes() {
    let at_rate = |text: &str| {
        let settings = resolve(&file(text), &nobody, &Flags::default()).expect("good settings");
        let packs = pintle::commands::Packs::default();
        let engine = packs.engine_on(&settings.terms(), &settings, WithCases::No);
        engine.unwrap_or_else(|e| panic!("{}", e.message))
    };
    let (usual, dear) = (at_rate(""), at_rate("labour-rate: 480"));
    assert!(
        (usual.knowledge.settings.labour_per_hour - 120.0).abs() < 1e-9,
        "the pack's"
    );
    let priced = usual
        .knowledge
        .repairs
        .values()
        .position(|r| r.parts.iter().any(|p| p.price > 0.0));
    let id = RepairId::at(priced.expect("a repair with parts"));
    let work = usual.knowledge.repairs[id.index()].minutes;
    let parts = |engine: &Engine| engine.planner().costs().repair(id).minutes - work;
    assert!(parts(&usual) > 0.0);
    assert!((parts(&usual) - 4.0 * parts(&dear)).abs() < 1e-9);
}

fn entry(event: Event) -> Entry {
    Entry {
        time: "2026-01-01T08:00:00Z".to_owned(),
        event,
    }
}

/// A call at a place, under these terms, with one numeric test answered.
fn call(engine: &Engine, at: At, terms: Terms) -> Call<'_> {
    let (test, reading) = numeric(engine);
    let events = [
        engine.opened(at, Who::Technician, None),
        Event::Terms(terms),
        Event::Signs {
            yes: Vec::new(),
            unsure: Vec::new(),
        },
        Event::Complaint {
            words: "slow".to_owned(),
            symptoms: vec!["slow".to_owned()],
        },
        Event::Now {
            now: Now::Present,
            under: Vec::new(),
        },
        Event::Answer {
            test,
            outcome: None,
            readings: [(reading, "12.1".to_owned())].into(),
            said: None,
            by: Rank::Measured,
        },
    ];
    Call::in_memory(engine, events.into_iter().map(entry).collect())
}

/// A test with one reading in volts, judged as it is read.
fn numeric(engine: &Engine) -> (String, String) {
    let fits = engine.knowledge.tests.iter().find_map(|(id, test)| {
        let (name, spec) = test.readings.first()?;
        let plain = test.readings.len() == 1 && spec.unit == Unit::Volt && test.value.is_none();
        (plain && spec.range.is_some_and(|[_, high]| high > 13.0)).then(|| (id.clone(), name.clone()))
    });
    fits.expect("a reading in volts")
}

/// The built-in knowledge, in which that test does not say which meter it is read off.
fn any_meter() -> Engine {
    let named = engine();
    let (test, reading) = numeric(&named);
    let mut knowledge = named.knowledge;
    let spec = knowledge
        .tests
        .get_mut(&test)
        .and_then(|t| t.readings.get_mut(&reading));
    spec.expect("it was just found").meter = None;
    Engine::new(knowledge)
}

#[test]
fn the_meter_of_the_call_counts_whenever_it_is_read_again() {
    let engine = any_meter();
    let mut meters = Meters::default();
    meters.set(
        Unit::Volt,
        MeterClass::from_data_sheet("3 % + 5", Unit::Volt).expect("a class"),
    );
    let poor = Terms {
        meters,
        ..Terms::default()
    };
    let sigma = |call: &Call<'_>| call.answers()[0].numbers.as_ref().expect("a number").sigma;
    let (usual, poor) = (call(&engine, At::Gate, Terms::default()), call(&engine, At::Gate, poor));
    assert!((sigma(&usual) - MeterClass::usual_for(Unit::Volt).sigma(12.1)).abs() < 1e-12);
    let expected = (0.03 * 12.1 + 5.0 * 0.01) / 3.0_f64.sqrt();
    assert!((sigma(&poor) - expected).abs() < 1e-12, "{}", sigma(&poor));
    let record = |call: &Call<'_>| markdown(&ServiceRecord::of(call));
    assert!(record(&poor).contains("12.1 V ± 0.41 V"), "{}", record(&poor));
    assert!(!record(&usual).contains("± 0.41 V"));
    // Through the journal's text and back it says the same.
    let lines: Vec<String> = poor
        .entries
        .iter()
        .map(|e| serde_json::to_string(e).expect("json"))
        .collect();
    let again = lines
        .iter()
        .map(|l| serde_json::from_str(l).expect("an entry"))
        .collect();
    assert_eq!(record(&Call::in_memory(&engine, again)), record(&poor));
}

#[test]
fn what_is_not_in_the_truck_is_not_offered_at_the_gate() {
    let engine = engine();
    let truck = Terms {
        carries: vec!["Battery load tester".to_owned()],
        ..Terms::default()
    };
    let gate = call(&engine, At::Gate, truck.clone());
    let missing = &gate.situation().missing_tools;
    assert!(missing.contains("insulation tester 500 V") && missing.contains("inductance meter"));
    // What is carried, and what the kit has anyway.
    assert!(!missing.contains("battery load tester") && !missing.contains("torch"));
    let offer = engine
        .planner()
        .offer(gate.belief(), gate.situation(), &gate.situation().site);
    let offered: Vec<_> = engine
        .knowledge
        .tests
        .values()
        .zip(&offer.tests)
        .filter(|(_, on)| **on)
        .collect();
    assert!(!offered.is_empty());
    assert!(
        offered
            .iter()
            .all(|(test, _)| test.tools.iter().all(|t| !missing.contains(t)))
    );
    // On the phone the truck is nobody's concern, and who says nothing carries everything.
    assert!(call(&engine, At::Phone, truck).situation().missing_tools.is_empty());
    assert!(
        call(&engine, At::Gate, Terms::default())
            .situation()
            .missing_tools
            .is_empty()
    );
}

#[test]
fn own_names_of_tools_stand_for_what_tests_call_them() {
    let text = "tools: [Red meter]\ntool-names: {red meter: [insulation tester 500 V]}\n";
    let settings = resolve(&file(text), &nobody, &Flags::default()).expect("good settings");
    let missing = pintle::call::not_carried(&engine().knowledge, &settings.terms().carries);
    assert!(!missing.contains("insulation tester 500 V") && missing.contains("inductance meter"));
}

#[test]
fn packs_data_currency_and_units_reach_the_commands() {
    let data = folder();
    let pack = data.path().join("mine");
    std::fs::create_dir(&pack).expect("a folder");
    std::fs::write(
        pack.join("pack.yaml"),
        "pack: {title: Mine}\nsymptoms:\n  slow: {title: It crawls in my words}\n",
    )
    .expect("written");
    let calls = data.path().join("elsewhere");
    std::fs::write(
        data.path().join("settings.yaml"),
        "packs: mine\ndata: elsewhere\ncurrency: CAD\nunits: both\n",
    )
    .expect("written");
    let text = tell(data.path(), &["explain", "slow"]);
    assert!(text.contains("It crawls in my words"), "{text}");
    // A flag takes the place of the packs that are set.
    let other = data.path().join("other");
    std::fs::create_dir(&other).expect("a folder");
    std::fs::write(other.join("pack.yaml"), "pack: {title: Other}\n").expect("written");
    let text = tell(
        data.path(),
        &["explain", "slow", "--pack", &other.display().to_string()],
    );
    assert!(!text.contains("It crawls in my words"), "{text}");
    let engine = engine();
    let priced = engine.knowledge.repairs.iter().find(|(_, r)| !r.parts.is_empty());
    let (id, _) = priced.expect("a repair with parts");
    let text = tell(data.path(), &["explain", id]);
    assert!(text.contains(" CAD"), "{text}");
    let text = tell(
        data.path(),
        &[
            "calc",
            "wind-force",
            "wind=30mph",
            "length=12ft",
            "height=6ft",
            "closed=100%",
        ],
    );
    assert!(text.contains(" N (") && text.contains(" lbf)"), "{text}");
    // The variable that there always was still wins over the file; without it the file counts.
    let mut journal = Journal::create(&calls.join("2026-03-04-1.jsonl")).expect("a new file");
    journal
        .append(&entry(engine.opened(At::Gate, Who::Technician, None)))
        .expect("written");
    assert!(tell(data.path(), &["calls"]).starts_with("No calls yet"));
    let mut command = pintle(data.path());
    command.env_remove("PINTLE_DATA").arg("calls");
    assert!(told(data.path(), &mut command).starts_with("2026-03-04-1 "));
}

#[test]
fn a_call_is_opened_where_calls_are_taken_and_keeps_its_terms() {
    let data = folder();
    let calls = data.path().join("calls");
    let mut command = pintle(&calls);
    command
        .env("PINTLE_AT", "phone")
        .env("PINTLE_LABOUR_RATE", "150")
        .env("PINTLE_TOOLS", "torch, manual")
        .arg("diagnose");
    let mut terminal = Terminal::start(command);
    terminal.question();
    terminal.kill();
    let journal = journals(&calls).pop().expect("a call");
    let stored = Journal::load(&journal).expect("whole");
    assert!(matches!(stored.entries[0].event, Event::Opened { at: At::Phone, .. }));
    let terms = Terms::of(&stored.entries);
    assert_eq!((terms.labour_per_hour, terms.carries.len()), (Some(150.0), 2));
    // Taken up at the gate by another truck, it has that one's terms; gone on with where it was, it keeps its own.
    let id = journal.file_stem().expect("a name").to_string_lossy().into_owned();
    for (place, expected) in [("phone", Some(150.0)), ("gate", Some(99.0))] {
        let mut command = pintle(&calls);
        command
            .env("PINTLE_LABOUR_RATE", "99")
            .args(["resume", &id, "--at", place]);
        let mut terminal = Terminal::start(command);
        terminal.question();
        terminal.kill();
        let stored = Journal::load(&journal).expect("whole");
        assert_eq!(Terms::of(&stored.entries).labour_per_hour, expected, "{place}");
    }
}

proptest! {
    #[test]
    fn no_text_of_a_settings_file_panics(text in "(?s).{0,120}", key in "[a-z-]{0,12}", value in "\\PC{0,30}") {
        for text in [text.clone(), format!("{key}: {value}\n"), format!("tools: {value}\nmeter:\n  {text}\n")] {
            let file = file(&text);
            for finding in &file.findings {
                let _ = file.sources.position(&finding.location);
            }
            match resolve(&file, &nobody, &Flags::default()) {
                Ok(settings) => { let _ = settings.terms(); }
                Err(problems) => prop_assert!(problems.iter().all(|p| matches!(p, Problem::File(_)))),
            }
            for name in Name::all() {
                let _ = pintle::settings::set(Path::new("s"), &text, name, &value);
            }
        }
    }
}
