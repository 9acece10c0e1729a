//! `explain`: pages of entries, where they are written, what follows from them.

use std::path::Path;

use pintle::call::Engine;
use pintle::explain::{Block, Sheet, all, explain};
use pintle::knowledge::{Knowledge, PackText, WithCases, load};
use pintle::terminal::{Style, render_sheet};

fn style() -> Style {
    Style {
        width: 80,
        colour: false,
        unicode: true,
    }
}

/// The small sound pack with a company's rules over it.
fn small() -> Engine {
    let base = PackText::read(Path::new("tests/packs/invalid/base.yaml"));
    let text = "pack: {id: house, title: House rules}\n\
                tests:\n  rest-volts: {minutes: 5, cautions: [Gloves on.]}\n\
                causes:\n  worn:\n    times: {kind: {old: 1.5, new: 0.25}}\n    \
                shows:\n      lamp: {dark: half-the-time, lit: often}\n      rest-volts: {low: often, flat: sometimes}\n";
    let over = PackText {
        files: vec![("house.yaml".to_owned(), text.to_owned())],
        unreadable: Vec::new(),
    };
    let (knowledge, findings) = load(vec![base, over], WithCases::Yes);
    assert!(findings.is_empty(), "{findings:#?}");
    Engine::new(knowledge)
}

fn pages(engine: &Engine, id: &str) -> String {
    let sheets = explain(engine, id).expect("an entry");
    sheets.iter().map(|s| render_sheet(s, &style())).collect()
}

#[test]
fn a_cause_says_how_often_what_it_shows_and_which_pack_won() {
    insta::assert_snapshot!("explain_cause", pages(&small(), "worn"));
}

#[test]
fn a_test_says_what_each_outcome_speaks_for() {
    insta::assert_snapshot!("explain_test", pages(&small(), "rest-volts"));
}

#[test]
fn symptom_repair_and_fact() {
    let engine = small();
    let all = ["stuck", "fix-worn", "kind", "box"]
        .map(|id| pages(&engine, id))
        .concat();
    insta::assert_snapshot!("explain_others", all);
}

/// `half-the-time` 0.50 and `often` 0.66 add to 1.16 where every outcome is named: 0.50/1.16 = 0.431.
#[test]
fn rescaled_words_are_shown_as_they_count() {
    let engine = small();
    let sheets = explain(&engine, "causes/worn").expect("a cause");
    let shows = sheets[0].blocks.iter().find_map(|b| match b {
        Block::Shows {
            test,
            outcomes,
            rescaled_from,
        } if test.id == "lamp" => Some((outcomes, rescaled_from)),
        _ => None,
    });
    let (outcomes, rescaled_from) = shows.expect("it shows on the lamp");
    let dark = outcomes.iter().find(|o| o.id == "dark").expect("an outcome");
    assert!((dark.chance - 0.5 / 1.16).abs() < 1e-12 && (dark.healthy - 0.03).abs() < 1e-12);
    assert!(rescaled_from.is_some_and(|sum| (sum - 1.16).abs() < 1e-12));
}

#[test]
fn an_id_of_two_sections_is_shown_twice_and_an_unknown_one_gets_the_nearest() {
    let base = PackText::read(Path::new("tests/packs/invalid/base.yaml"));
    let twin = PackText {
        files: vec![(
            "twin.yaml".to_owned(),
            "symptoms:\n  worn: {title: Looks worn, says: [worn], gone: Better?, source: made up}\n".to_owned(),
        )],
        unreadable: Vec::new(),
    };
    let (knowledge, _) = load(vec![base, twin], WithCases::Yes);
    let engine = Engine::new(knowledge);
    let sections = |query: &str| -> Vec<&'static str> {
        let sheets = explain(&engine, query).expect("entries");
        sheets.iter().map(|s: &Sheet| s.section).collect()
    };
    assert_eq!(sections("worn"), ["symptoms", "causes"]);
    assert_eq!(sections("causes/worn"), ["causes"]);
    assert_eq!(sections("cause/worn"), ["causes"]);
    let unknown = explain(&engine, "rest-vlots").expect_err("no such id");
    assert_eq!(unknown.near[0].id, "rest-volts");
}

/// Every entry of the built-in and the company pack, narrow and wide.
#[test]
fn every_entry_has_a_page_that_fits_and_a_place() {
    let (knowledge, _) = Knowledge::built_in(&["examples/company-pack".into()], WithCases::Yes);
    let engine = Engine::new(knowledge);
    for entry in all(&engine.knowledge) {
        if entry.section == "symptoms" {
            continue; // their openings take a plan each; `check` and the snapshots walk them
        }
        let sheets = explain(&engine, &format!("{}/{}", entry.section, entry.id)).expect("an entry");
        let sheet = &sheets[0];
        assert!(!sheet.from.is_empty() && !sheet.blocks.is_empty(), "{entry:?}");
        assert!(
            sheet.from.iter().all(|p| p.line > 1 && p.file.contains(".yaml")),
            "{sheet:?}"
        );
        for width in [40, 80] {
            let page = render_sheet(sheet, &Style::plain(width));
            let wide: Vec<&str> = page.lines().filter(|l| l.chars().count() > width).collect();
            assert!(wide.iter().all(|l| !l.trim().contains(' ') || width < 80), "{wide:#?}");
        }
    }
}

#[test]
fn the_command_writes_json_and_names_what_is_near() {
    let told = |arguments: &[&str]| {
        let mut command = super::pty::pintle(Path::new("."));
        let output = command.args(arguments).output().expect("it runs");
        let text = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
        (text, output.status.code())
    };
    let (text, code) = told(&["explain", "mains-drop", "--json", "--pack", "examples/company-pack"]);
    let json: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let parts = &json["sheets"][0]["from"];
    assert_eq!((code, parts[0]["lost"][0].as_str()), (Some(0), Some("who")), "{parts}");
    assert_eq!(parts[1]["won"], serde_json::json!(["who", "cautions"]));
    let (text, code) = told(&["explain", "batery-worn"]);
    assert_eq!(code, Some(3));
    assert!(text.contains("causes/battery-worn  Battery worn out"), "{text}");
}
