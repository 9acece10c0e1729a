//! `check`: every code has a fixture that makes it at the place it says; the built-in pack has no errors.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use pintle::commands::check::everything;
use pintle::finding::{Code, Finding, Level};
use pintle::knowledge::{Knowledge, PackText, WithCases, built_in_text, load};
use pintle::terminal::{Style, render_findings};
use proptest::prelude::*;

/// Where the fixtures are, from the package's root: the names of their files begin with it.
const FOLDER: &str = "tests/packs/invalid";

/// A pack laid over the sound small one.
fn over_base(pack: PackText) -> (Knowledge, Vec<Finding>) {
    let base = PackText::read(&Path::new(FOLDER).join("base.yaml"));
    let (knowledge, loaded) = load(vec![base, pack], WithCases::Yes);
    let (findings, _) = everything(&knowledge, loaded);
    (knowledge, findings)
}

/// `# expect: LINE:COL` and `# also: CODE` of every file of a fixture.
fn expected(files: &[PathBuf]) -> (BTreeSet<String>, BTreeSet<String>) {
    let (mut places, mut also) = (BTreeSet::new(), BTreeSet::new());
    for file in files {
        let text = String::from_utf8_lossy(&std::fs::read(file).expect("a fixture")).into_owned();
        for line in text.lines() {
            if let Some(place) = line.strip_prefix("# expect: ") {
                places.insert(format!("{}:{place}", file.display()));
            }
            if let Some(code) = line.strip_prefix("# also: ") {
                also.insert(code.to_owned());
            }
        }
    }
    (places, also)
}

fn files_below(path: &Path) -> Vec<PathBuf> {
    if path.is_file() {
        return vec![path.to_owned()];
    }
    let inner = std::fs::read_dir(path).expect("a fixture's folder").flatten();
    inner.flat_map(|entry| files_below(&entry.path())).collect()
}

#[test]
fn the_base_of_the_fixtures_is_sound() {
    let (_, findings) = over_base(PackText::default());
    assert!(findings.is_empty(), "{findings:#?}");
}

/// A code without a fixture, a fixture that finds something else or elsewhere, or more than it says: all are failures.
#[test]
fn every_code_is_found_where_its_fixtures_say() {
    let mut wrong = Vec::new();
    for code in Code::ALL {
        let folder = Path::new(FOLDER).join(code.name());
        let Ok(fixtures) = std::fs::read_dir(&folder) else {
            wrong.push(format!("{} has no fixture", code.name()));
            continue;
        };
        for fixture in fixtures.flatten() {
            let (places, also) = expected(&files_below(&fixture.path()));
            assert!(!places.is_empty(), "{}: expects nothing", fixture.path().display());
            let (knowledge, findings) = over_base(PackText::read(&fixture.path()));
            let place = |f: &Finding| {
                let at = knowledge.sources.position(&f.location);
                let name = &knowledge.sources.files[f.location.file].name;
                format!("{name}:{}:{}", at.line, at.column)
            };
            let (mine, others): (Vec<&Finding>, Vec<&Finding>) = findings.iter().partition(|f| f.code == *code);
            let found: BTreeSet<String> = mine.into_iter().map(place).collect();
            let other_codes: BTreeSet<String> = others.iter().map(|f| f.code.name().to_owned()).collect();
            if found != places || other_codes != also {
                let missing: Vec<&String> = places.difference(&found).collect();
                let surplus: Vec<&String> = found.difference(&places).collect();
                wrong.push(format!(
                    "{}\n  missing {missing:#?}\n  surplus {surplus:#?}\n  other codes {other_codes:?}\n{}",
                    fixture.path().display(),
                    render_findings(&knowledge, &findings, &Style::plain(100))
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_code_has_a_name_of_its_own_and_says_what_it_is_for() {
    let names: BTreeSet<&str> = Code::ALL.iter().map(|c| c.name()).collect();
    assert_eq!(names.len(), Code::ALL.len());
    assert!(Code::ALL.iter().all(|c| c.about().ends_with('.')));
}

#[test]
fn the_built_in_pack_has_no_errors() {
    let (knowledge, loaded) = Knowledge::built_in(&[], WithCases::Yes);
    let (findings, _) = everything(&knowledge, loaded);
    let errors: Vec<Finding> = findings.into_iter().filter(|f| f.level() == Level::Error).collect();
    assert!(
        errors.is_empty(),
        "{}",
        render_findings(&knowledge, &errors, &Style::plain(100))
    );
}

const SEVERAL: &str = r#"# Several things are wrong here.
tests:
  hum:
    title: Hum
    ask: Does it hum?
    place: yart
    minutes: -1
    moves: commanded
    outcomes: {hums: {say: It hums}, silent: {say: It is silent as a gate that rests without a load on its motor ought to be}}
    healthy: {silent: 0.9}
    source: made up
  rest-volts: {value: "volts / (rated-volts + volts * 3"}
causes:
  worn:
    shows: {lamp: {dark: half-the-time}, rest-volts: {low: often, flat: sometimes}, hum: {hums: sometimes, silent: often, hmus: seldom}}
"#;

fn several() -> PackText {
    PackText {
        files: vec![("several.yaml".to_owned(), SEVERAL.to_owned())],
        unreadable: Vec::new(),
    }
}

#[test]
fn a_person_sees_place_line_mark_reason_and_remedy() {
    let (knowledge, findings) = over_base(several());
    let screen = render_findings(&knowledge, &findings, &Style::plain(80));
    assert!(screen.lines().all(|l| l.chars().count() <= 80), "{screen}");
    insta::assert_snapshot!("findings_at_80_columns", screen);
}

/// Text of the built-in pack cut off or with a few characters changed: findings, never a panic.
#[test]
fn damaged_files_never_panic() {
    let text = built_in_text(WithCases::Yes);
    let most = text.files.len();
    let damage = (
        0..most,
        any::<prop::sample::Index>(),
        any::<bool>(),
        "[\\-:{}\\[\\]\"' a0\n\t|>&*!.%]{0,3}",
    );
    let config = ProptestConfig {
        cases: 96,
        failure_persistence: None,
        ..ProptestConfig::default()
    };
    proptest!(config, |((file, at, cut, put) in damage)| {
        let mut text = text.clone();
        let contents = &mut text.files[file].1;
        let chars: Vec<char> = contents.chars().collect();
        let at = at.index(chars.len());
        let rest = if cut { String::new() } else { chars[at + 1..].iter().collect() };
        *contents = chars[..at].iter().collect::<String>() + &put + &rest;
        let (knowledge, loaded) = load(vec![text], WithCases::Yes);
        let (findings, _) = everything(&knowledge, loaded);
        let screen = render_findings(&knowledge, &findings, &Style::plain(80));
        prop_assert!(findings.is_empty() || !screen.is_empty());
    });
}
