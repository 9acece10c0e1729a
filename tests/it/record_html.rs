//! The printable record and the customer's page: what is on them, that nothing people write breaks them, that no page reads as safe that must not.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

use assert_cmd::Command;
use pintle::call::{Call, Entry, Event, Journal, Rank, play};
use pintle::knowledge::schema::{At, Case, Ending};
use pintle::paper::{Letterhead, Paper};
use pintle::report::{REDACTED, ServiceRecord, customer_page, markdown, record_page, redacted};
use proptest::prelude::*;
use roxmltree::{Document, Node, ParsingOptions};

use crate::report::{ENDINGS, ENGINE, case, entry, opened, with_failed_retest};

/// What only a page of a repaired and retested gate may say.
const SAFE: [&str; 2] = ["You may use the gate again", "Repaired and tested"];

fn head() -> Letterhead {
    Letterhead {
        company: Some("Example Gates & Co".to_owned()),
        paper: Paper::A4,
        call: Some("2026-01-01-1".to_owned()),
    }
}

fn record_html(call: &Call<'_>) -> String {
    record_page(&ServiceRecord::of(call), &head()).expect("a template that fits")
}

fn customer_html(call: &Call<'_>) -> String {
    customer_page(&ServiceRecord::of(call), &head()).expect("a template that fits")
}

fn parsed(page: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(page, options).unwrap_or_else(|e| panic!("not well-formed: {e}\n{page}"))
}

/// The words on a page, a block a line, with the fingerprint of the knowledge masked.
fn words(page: &str) -> String {
    let page = page.replace(&ENGINE.knowledge.fingerprint, "(fingerprint)");
    let document = parsed(&page);
    let mut text = String::new();
    collect(document.root_element(), &mut text);
    let lines = text.lines().map(|l| l.split_whitespace().collect::<Vec<_>>().join(" "));
    lines.filter(|l| !l.is_empty()).collect::<Vec<_>>().join("\n")
}

fn collect(node: Node<'_, '_>, text: &mut String) {
    match node.tag_name().name() {
        "style" => return,
        "strong" | "b" | "span" | "i" => {}
        "td" | "th" => text.push_str(" | "),
        _ => text.push('\n'),
    }
    for child in node.children() {
        if child.is_text() {
            text.push_str(&child.text().unwrap_or_default().replace('\n', " "));
        } else {
            collect(child, text);
        }
    }
}

/// Taken on the phone up to its ending there, taken up again at the gate, and played to its end.
fn played_phone_then_gate() -> Vec<Entry> {
    let gate = case("battery-five-years");
    let phone = Case {
        at: At::Phone,
        ..gate.clone()
    };
    let (_, first) = play(&ENGINE, &phone);
    let mut entries = first.entries;
    entries.retain(|e| !matches!(e.event, Event::Ended { .. }));
    entries.push(Entry {
        time: "2026-01-01T13:00:00Z".to_owned(),
        event: Event::Resumed {
            knowledge: ENGINE.knowledge.fingerprint.clone(),
            at: At::Gate,
        },
    });
    let known = entries.clone();
    let again = |e: &Entry| {
        let asked = matches!(e.event, Event::Fact { .. }) && known.iter().any(|k| k.event == e.event);
        asked || matches!(e.event, Event::Opened { .. } | Event::Complaint { .. })
    };
    entries.extend(FIXED.iter().filter(|e| !again(e)).cloned());
    entries
}

/// Playing a case takes seconds without optimisation: each is played once.
static FIXED: LazyLock<Vec<Entry>> = LazyLock::new(|| play(&ENGINE, case("battery-five-years")).1.entries);
static OUT_OF_USE: LazyLock<Vec<Entry>> = LazyLock::new(|| with_failed_retest("stop-link-lost").entries);
static PHONE_THEN_GATE: LazyLock<Vec<Entry>> = LazyLock::new(played_phone_then_gate);

fn fixed() -> Call<'static> {
    Call::in_memory(&ENGINE, FIXED.clone())
}

fn out_of_use() -> Call<'static> {
    Call::in_memory(&ENGINE, OUT_OF_USE.clone())
}

fn phone_then_gate() -> Call<'static> {
    Call::in_memory(&ENGINE, PHONE_THEN_GATE.clone())
}

#[test]
fn the_printable_record_of_a_battery_that_was_replaced() {
    insta::assert_snapshot!(words(&record_html(&fixed())));
}

#[test]
fn the_printable_record_of_a_call_that_ends_out_of_use() {
    insta::assert_snapshot!(words(&record_html(&out_of_use())));
}

#[test]
fn the_printable_record_of_a_call_from_the_phone_to_the_gate() {
    let call = phone_then_gate();
    assert_eq!(call.ending().map(|e| e.0), Some(Ending::Fixed));
    let page = words(&record_html(&call));
    let place = |what: &str| page.find(what).unwrap_or_else(|| panic!("{what} is missing:\n{page}"));
    assert!(place("Told on the phone") < place("Seen and measured at the gate"));
    insta::assert_snapshot!(page);
}

#[test]
fn the_customers_page_of_a_gate_that_is_fixed() {
    let page = words(&customer_html(&fixed()));
    assert!(SAFE.iter().all(|s| page.contains(s)), "{page}");
    insta::assert_snapshot!(page);
}

#[test]
fn the_customers_page_of_a_gate_that_is_out_of_use() {
    let page = words(&customer_html(&out_of_use()));
    insta::assert_snapshot!(page);
}

/// Markup, quotes and control characters wherever people can write.
#[test]
fn nothing_people_write_gets_onto_a_page_as_markup() {
    let bad = "<script>alert('x')</script> & \"quoted\" \u{1b}[31m\u{7}\u{202e}{{ r }}{% raw %}";
    let mut entries = out_of_use().entries;
    for entry in &mut entries {
        match &mut entry.event {
            Event::Opened { site, packs, .. } => {
                *site = Some(bad.to_owned());
                *packs = vec![bad.to_owned()];
            }
            Event::Complaint { words: text, .. }
            | Event::Repaired { note: text, .. }
            | Event::Retest { note: text, .. }
            | Event::Ended { text, .. } => bad.clone_into(text),
            Event::OutOfUse { why, .. } => *why = vec![bad.to_owned()],
            _ => {}
        }
    }
    entries.push(entry(Event::Note { text: bad.to_owned() }));
    entries[0].time = bad.to_owned();
    let call = Call::in_memory(&ENGINE, entries);
    let head = Letterhead {
        company: Some(bad.to_owned()),
        paper: Paper::Letter,
        call: Some(bad.to_owned()),
    };
    let record = ServiceRecord::of(&call);
    for page in [record_page(&record, &head), customer_page(&record, &head)] {
        let page = page.expect("a template that fits");
        assert!(!page.chars().any(|c| (c.is_control() && c != '\n') || c == '\u{202e}'));
        let document = parsed(&page);
        let names: Vec<&str> = document.descendants().map(|n| n.tag_name().name()).collect();
        assert!(!names.contains(&"script") && !names.contains(&"link") && !names.contains(&"img"));
        let outside = document
            .descendants()
            .flat_map(|n| n.attributes())
            .find(|a| a.name().starts_with("on") || matches!(a.name(), "href" | "src"));
        assert_eq!(outside, None);
        assert!(words(&page).contains("<script>alert('x')</script> & \"quoted\" [31m {{ r }}{% raw %}"));
        assert!(page.contains("size: letter"));
    }
}

/// Every drawing is an SVG by itself, says in words what it shows, and uses no colour.
#[test]
fn every_drawing_is_well_formed_and_needs_no_colour() {
    let call = phone_then_gate();
    let record = ServiceRecord::of(&call);
    let page = record_html(&call);
    let drawings: Vec<&str> = page
        .match_indices("<svg")
        .map(|(at, _)| &page[at..at + page[at..].find("</svg>").expect("an end") + 6])
        .collect();
    let gauges = record.readings.iter().filter(|r| r.gauge.is_some()).count();
    assert!(gauges >= 3, "a call with numbers in it");
    // One holds the hatchings, one is the ranking.
    assert_eq!(drawings.len(), gauges + 2);
    for drawing in drawings {
        let document = Document::parse(drawing).unwrap_or_else(|e| panic!("{e}: {drawing}"));
        let root = document.root_element();
        assert!(root.has_attribute("aria-label") || root.attribute("aria-hidden") == Some("true"));
        for node in document.descendants() {
            for paint in ["fill", "stroke"].iter().filter_map(|a| node.attribute(*a)) {
                let grey = matches!(paint, "#000" | "#fff" | "#888" | "#555" | "none");
                assert!(grey || paint.starts_with("url(#hatch-"), "{paint}");
            }
        }
    }
}

/// Each reading lies in the band that holds it, and that band is the outcome.
#[test]
fn the_numbers_of_a_reading_are_those_of_its_limits() {
    let record = ServiceRecord::of(&phone_then_gate());
    for reading in &record.readings {
        let Some(gauge) = &reading.gauge else { continue };
        let holds: Vec<_> = gauge.bands.iter().filter(|b| b.holds).collect();
        assert_eq!(holds.len(), 1, "{reading:?}");
        assert_eq!((&holds[0].says, holds[0].normal), (&reading.outcome, reading.normal));
        let value = gauge.value.expect("a number");
        assert!(holds[0].from.is_none_or(|f| value >= f - 1e-9), "{reading:?}");
        assert!(holds[0].below.is_none_or(|b| value < b + 1e-9), "{reading:?}");
    }
}

#[test]
fn json_markdown_and_page_say_the_same() {
    for call in [fixed(), phone_then_gate(), out_of_use()] {
        let record = ServiceRecord::of(&call);
        let json = serde_json::to_value(&record).expect("plain data");
        let page = words(&record_html(&call));
        let text = markdown(&record).replace('\\', "");
        let said = |list: &str, field: &str| {
            let lines = json[list].as_array().unwrap_or_else(|| panic!("{list} is a list"));
            let texts = lines.iter().filter_map(|l| l[field].as_str().map(str::to_owned));
            texts.collect::<Vec<_>>()
        };
        for (list, field) in [
            ("readings", "test"),
            ("readings", "outcome"),
            ("retest", "title"),
            ("retest", "remark"),
            ("repairs", "repair"),
            ("causes", "cause"),
            ("recommendations", "text"),
            ("deficiencies", "label"),
            ("facts", "text"),
        ] {
            for what in said(list, field) {
                assert!(
                    page.contains(&what),
                    "{list} {field}: {what} is not on the page:\n{page}"
                );
                assert!(
                    text.contains(&what),
                    "{list} {field}: {what} is not in Markdown:\n{text}"
                );
            }
        }
        for told in &record.told_in_writing {
            assert!(page.contains(told) && text.contains(told), "{told}");
        }
        for line in &record.ranking.lines {
            assert!(text.contains(&line.cause), "{}", line.cause);
        }
        assert_eq!(
            json["ranking"]["points"].as_array().map(Vec::len),
            Some(record.ranking.points.len())
        );
    }
}

/// The last point is the belief that the record names causes by; the first is the belief before any answer.
#[test]
fn the_ranking_ends_where_the_record_ends() {
    let call = fixed();
    let record = ServiceRecord::of(&call);
    let (first, cause) = (&record.ranking.lines[0], &record.causes[0]);
    assert_eq!(first.cause, cause.cause);
    let last = *first.chances.last().expect("points");
    assert!((last - cause.chance).abs() < 1e-12, "{last} {}", cause.chance);
    assert!(first.chances[0] < 0.9 * last, "answers moved it: {:?}", first.chances);
    let counting = call.answers().iter().filter(|a| a.counts).count();
    assert!(
        record.ranking.points.len() >= counting + 2,
        "the complaint, the answers, the proof run"
    );
    assert!(
        record
            .ranking
            .lines
            .iter()
            .all(|l| l.chances.len() == record.ranking.points.len())
    );
}

#[test]
fn an_answer_taken_back_leaves_the_ranking() {
    let whole = fixed();
    let first_repair = whole.repairs()[0].event;
    let at = whole
        .answers()
        .iter()
        .rfind(|a| a.event < first_repair)
        .expect("an answer")
        .event;
    let mut without = whole.entries[..first_repair].to_vec();
    let mut taken_back = without.clone();
    taken_back.push(entry(Event::Retracted { entry: at }));
    without.remove(at);
    let ranking = |entries| ServiceRecord::of(&Call::in_memory(&ENGINE, entries)).ranking.lines;
    assert_eq!(ranking(taken_back), ranking(without));
}

#[test]
fn a_redacted_call_means_the_same_and_names_nobody() {
    let secret = "Mrs Example of Quarry House";
    let mut entries = out_of_use().entries;
    for entry in &mut entries {
        match &mut entry.event {
            Event::Opened { site, .. } => *site = Some(secret.to_owned()),
            Event::Complaint { words: text, .. }
            | Event::Repaired { note: text, .. }
            | Event::Retest { note: text, .. }
            | Event::Ended { text, .. } => secret.clone_into(text),
            Event::OutOfUse { why, .. } => why.push(secret.to_owned()),
            _ => {}
        }
    }
    entries.push(entry(Event::Note {
        text: secret.to_owned(),
    }));
    entries.push(entry(Event::SignsCleared {
        signs: vec!["tingle".to_owned()],
        how: secret.to_owned(),
    }));
    let before = Call::in_memory(&ENGINE, entries);
    let after = Call::in_memory(&ENGINE, redacted(&before.entries));
    let json = serde_json::to_string(&after.entries).expect("plain data");
    assert!(!json.contains("Example of") && json.contains(REDACTED), "{json}");
    let (a, b) = (ServiceRecord::of(&before), ServiceRecord::of(&after));
    assert_eq!((a.readings, a.ranking, a.causes), (b.readings, b.ranking, b.causes));
    assert_eq!(
        (a.ending.kind, a.ending.made_safe, a.ending.out_of_use),
        (b.ending.kind, b.ending.made_safe, b.ending.out_of_use)
    );
    assert_eq!(before.stop().is_some(), after.stop().is_some());
}

/// Signs and dangers by their id are nobody's words: they stay, and so do times, facts and how somebody was verified.
#[test]
fn redacting_keeps_what_is_nobodys_words() {
    let entries = vec![
        opened(At::Gate),
        entry(Event::Entitled {
            how: "known to the company".to_owned(),
        }),
        entry(Event::OutOfUse {
            why: vec![
                "leaf-off".to_owned(),
                "danger: kill".to_owned(),
                "as Mr Example said".to_owned(),
            ],
            made_safe: true,
        }),
        entry(Event::Answer {
            test: "string-rest-volts".to_owned(),
            outcome: None,
            readings: BTreeMap::from([("value".to_owned(), "24.6 V".to_owned())]),
            said: None,
            by: Rank::Measured,
        }),
        entry(Event::Note { text: String::new() }),
    ];
    let after = redacted(&entries);
    assert_eq!(
        (&after[1], &after[3], &after[4]),
        (&entries[1], &entries[3], &entries[4])
    );
    let Event::OutOfUse { why, .. } = &after[2].event else {
        panic!("the same event")
    };
    assert_eq!(why, &["leaf-off", "danger: kill", REDACTED]);
}

fn report(data: &Path, arguments: &[&str]) -> (bool, String) {
    let output = Command::cargo_bin("pintle")
        .expect("built")
        .env("PINTLE_DATA", data)
        .arg("report")
        .args(arguments)
        .output()
        .expect("runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.success(), text(&output.stdout) + &text(&output.stderr))
}

#[test]
fn pages_are_written_where_they_are_told_and_nothing_is_overwritten() {
    let data = tempfile::tempdir().expect("temp dir");
    let mut journal = Journal::create(&data.path().join("2026-03-04-1.jsonl")).expect("new");
    let call = out_of_use();
    call.entries.iter().for_each(|e| journal.append(e).expect("append"));
    let file = data.path().join("record.html");
    let name = file.to_str().expect("plain path");
    let (ok, text) = report(
        data.path(),
        &["2026-03-04-1", "--html", "--company", "Example Gates", "--out", name],
    );
    assert!(ok && text.starts_with("Written: "), "{text}");
    let page = std::fs::read_to_string(&file).expect("a page");
    assert!(page.contains("Example Gates") && page.contains("call 2026-03-04-1") && page.contains("size: A4"));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        assert_eq!(
            std::fs::metadata(&file).expect("there").permissions().mode() & 0o777,
            0o600
        );
    }
    let journal = data.path().join("2026-03-04-1.jsonl");
    let before = std::fs::read(&journal).expect("there");
    for (arguments, says) in [
        (&["2026-03-04-1", "--html", "--out", name][..], "nothing is overwritten"),
        (
            &["2026-03-04-1", "--out", journal.to_str().expect("plain path")],
            "nothing is overwritten",
        ),
        (&["2026-03-04-1", "--out", "other.html"], "add --html"),
        (&["2026-03-04-1", "--customer", "--out", "other.md"], "leave out --html"),
        (&["2026-03-04-1", "--html", "--json"], "cannot be used with"),
        (&["2026-03-04-1", "--company", "Example Gates"], "required"),
        (&["nowhere", "--html"], "there is no call nowhere"),
    ] {
        let (ok, text) = report(data.path(), arguments);
        assert!(!ok && text.contains(says), "{arguments:?}: {text}");
    }
    assert_eq!(std::fs::read(&journal).expect("there"), before);
    let (ok, page) = report(data.path(), &["2026-03-04-1", "--customer", "--redact"]);
    assert!(ok && page.contains("<h1>OUT OF USE</h1>"), "{page}");
    assert!(
        !page.contains("Orchard") && !page.contains("rain came on") && !page.contains("2026-03-04-1"),
        "{page}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// A played call cut off anywhere and ended in any way: its customer's page reads as safe only when the repair is proven and retested.
    #[test]
    fn no_customers_page_says_more_than_the_call(
        cut in any::<prop::sample::Index>(),
        ending in 0..ENDINGS.len(),
        sign in any::<bool>(),
        made_safe in any::<bool>(),
    ) {
        let whole = &*FIXED;
        let keep = 1 + cut.index(whole.len());
        let mut entries = whole[..keep].to_vec();
        if sign {
            entries.push(entry(Event::Signs { yes: vec!["leaf-off".to_owned()], unsure: vec![] }));
            entries.push(entry(Event::OutOfUse { why: vec!["leaf-off".to_owned()], made_safe }));
        }
        let ending = ENDINGS[ending];
        entries.extend(ending.map(|ending| entry(Event::Ended { ending, text: String::new() })));
        let call = Call::in_memory(&ENGINE, entries);
        let page = words(&customer_html(&call));
        let may = ending == Some(Ending::Fixed) && call.may_end(Ending::Fixed);
        for says in SAFE {
            prop_assert_eq!(page.contains(says), may, "{}", &page);
        }
        let out = sign || ending == Some(Ending::OutOfUse);
        prop_assert_eq!(page.contains("Nobody may run this gate"), out, "{}", &page);
        if !may && !out {
            prop_assert!(page.contains("does not say that the gate is safe"), "{}", &page);
        }
        // The record of the same call is well-formed whatever it holds.
        let record = record_html(&call);
        parsed(&record);
    }
}
