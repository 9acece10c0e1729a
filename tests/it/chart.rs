//! Cards: nothing lies on anything else, nothing is lost, the walk is the call's, and the files are what they say.

use std::path::Path;
use std::process::{Command, Output, Stdio};

use pintle::call::{Call, Engine, Entry, Event, Step as Next};
use pintle::chart::page::{MARGIN, POINTS, SMALLEST};
use pintle::chart::{
    Arrow, Chart, Kind, Page, Part, Rect, Step, Wanted, dot, gather, grow, html, lay_out, on_one_page, svg,
};
use pintle::knowledge::schema::{At, Condition, Moves, Now, Who};
use pintle::knowledge::{Knowledge, PackText, WithCases, load};
use pintle::model::SiteFacts;
use pintle::plan::LikelyWalks;
use proptest::prelude::*;

use super::pty::pintle;

/// A pack with one of everything that a card shows: a danger that has to be settled, movement, isolation, limits, a question, cautions, an
/// electrician's repair, and texts that would break a picture if nobody cleaned and escaped them.
const EVERYTHING: &str = r#"
pack: {id: card, title: "Card <pack>", settings: {pairs: false, refer-minutes: 300}}
symptoms:
  dead: {title: "Dead & \"gone\" \e[31m<b>", says: [dead], gone: Does it run?, source: made up}
signs:
  lean: {ask: Does a leaf lean?, severity: kill, do: [Stay away.]}
out-of-use: {technician: [Isolate it., Sign on both sides.], caller: [Keep away.]}
movement: [Whole travel in sight.]
conditions:
  isolated: {title: Isolated, minutes: 4, steps: [Battery off too.], source: made up}
  powered: {title: Powered, minutes: 2, steps: [Back on.], source: made up}
facts:
  kind: {ask: Which kind?, minutes: 0.1, values: {old: {say: old, share: 0.5}, new: {say: new, share: 0.5}}, source: made up}
tests:
  look: {title: Look at the weld, ask: Cracked?, minutes: 1, outcomes: {cracked: {say: cracked}, sound: {say: sound}}, healthy: {cracked: 0.01, sound: 0.99}, cautions: [Stay out of its fall.], source: made up}
  volts: {title: Battery volts, ask: Volts?, minutes: 2, needs: [isolated], tasks: [battery], readings: {v: {unit: V}}, bands: {low: {say: low, below: 11.8}, fine: {say: fine, from: 11.8}}, healthy: {low: 0.05, fine: 0.95}, source: made up}
  run: {title: Run it once, ask: Does it hum?, minutes: 1, moves: commanded, needs: [powered], outcomes: {hums: {say: hums}, silent: {say: silent}}, healthy: {hums: 0.1, silent: 0.9}, source: made up}
standing:
  battery: {tasks: [battery], text: Eye protection on., source: made up}
  thunder: {places: [gate], text: Thunder about stops the work., source: made up}
places: {gate: {title: the gate, walk: 1}}
retest:
  eyes: {title: Every eye, ask: Did each stop it?, source: made up}
causes:
  weld: {title: Weld cracked, rate: 40, severity: kill, symptoms: {dead: 0.9}, shows: {look: {cracked: 0.95, sound: 0.05}}, repair: {title: Weld it, minutes: 90, who: electrician, source: made up}, source: made up}
  battery: {title: Battery flat, rate: 300, severity: none, symptoms: {dead: 0.9}, shows: {volts: {low: 0.95, fine: 0.05}}, repair: {title: New battery, minutes: 20, touches: [battery], source: made up}, source: made up}
  motor: {title: Motor worn, rate: 300, severity: none, symptoms: {dead: 0.9}, shows: {run: {hums: 0.9, silent: 0.1}}, repair: {title: New motor, minutes: 60, source: made up}, source: made up}
"#;

fn engine(packs: Vec<PackText>) -> Engine {
    let (knowledge, findings) = load(packs, WithCases::No);
    let errors: Vec<_> = findings
        .iter()
        .filter(|f| f.level() == pintle::finding::Level::Error)
        .collect();
    assert!(errors.is_empty(), "{errors:#?}");
    Engine::new(knowledge)
}

fn everything() -> Engine {
    engine(vec![PackText {
        files: vec![("a.yaml".to_owned(), EVERYTHING.to_owned())],
        unreadable: Vec::new(),
    }])
}

fn of_folder(name: &str) -> Engine {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/packs");
    engine(vec![PackText::read(&folder.join(name))])
}

fn built_in() -> Engine {
    Engine::new(Knowledge::built_in(&[], WithCases::No).0)
}

fn wanted(engine: &Engine, symptom: &str, most: usize) -> Wanted {
    Wanted {
        symptom: engine.model.symptom_id(symptom).expect("a symptom"),
        site: SiteFacts::unknown(),
        name: None,
        at: At::Gate,
        who: Who::Technician,
        most,
    }
}

fn walks(engine: &Engine, wanted: &Wanted) -> LikelyWalks {
    grow(engine, wanted, &|| ())
}

fn chart(engine: &Engine, symptom: &str, most: usize) -> Chart {
    let wanted = wanted(engine, symptom, most);
    gather(engine, &wanted, &walks(engine, &wanted))
}

/// Without what changes from version to version of the program.
fn steady(text: &str) -> String {
    text.replace(env!("CARGO_PKG_VERSION"), "VERSION")
}

#[test]
fn dot_of_a_pack_from_the_literature() {
    insta::assert_snapshot!(steady(&dot(&chart(&of_folder("five-defects"), "broken", 40))));
}

#[test]
fn dot_of_everything_that_a_card_shows() {
    insta::assert_snapshot!(steady(&dot(&chart(&everything(), "dead", 40))));
}

#[test]
fn the_danger_is_settled_first_and_stops_the_walk_where_it_is_likely() {
    let chart = chart(&everything(), "dead", 40);
    assert_eq!(chart.boxes[0].title, "Look at the weld");
    let cracked = chart
        .arrows
        .iter()
        .find(|a| a.from == 1 && a.label == "cracked")
        .expect("an arrow");
    let stop = &chart.boxes[cracked.to - 1];
    assert!(
        stop.stop
            .as_ref()
            .is_some_and(|s| s.contains("STOP") && s.contains("Weld cracked")),
        "{stop:?}"
    );
    let stays = |b: &Step| b.title.contains("stays out of use") || b.conditions.iter().any(|c| c == "still out of use");
    assert!(stop.kind != Kind::End || stays(stop), "{stop:?}");
    // Nothing that moves the gate or needs it powered is offered behind a stop.
    let mut behind = vec![cracked.to];
    while let Some(at) = behind.pop() {
        let step = &chart.boxes[at - 1];
        let moves = step.conditions.iter().any(|c| c == "MOVES" || c == "power back on");
        assert!(!moves || !stays(step), "{step:?}");
        behind.extend(chart.arrows.iter().filter(|a| a.from == at).map(|a| a.to));
    }
}

#[test]
fn conditions_limits_cautions_and_endings_are_said_in_words() {
    let chart = chart(&everything(), "dead", 40);
    let of = |title: &str| chart.boxes.iter().find(|b| b.title == title).expect(title);
    assert!(of("Battery volts").conditions[0].to_lowercase().contains("isolate"));
    assert!(of("Run it once").conditions.iter().any(|c| c == "MOVES"));
    let numbers = &of("Battery volts").cautions;
    assert_eq!(
        numbers
            .iter()
            .map(|n| chart.cautions[n - 1].as_str())
            .collect::<Vec<_>>(),
        ["Eye protection on."]
    );
    assert!(chart.arrows.iter().any(|a| a.label == "below 11.8 V"));
    assert!(chart.arrows.iter().any(|a| a.label == "11.8 V or more"));
    assert!(
        of("Repair: New battery")
            .then
            .iter()
            .any(|t| t.contains("retest, END fixed"))
    );
    let said = |part: &[Part], words: &str| part.iter().any(|p| p.lines.iter().any(|l| l.contains(words)));
    for words in [
        "MOVES: whole travel in sight",
        "ISOLATE: mains AND battery",
        "Local codes",
        "STOP, nobody runs it",
    ] {
        assert!(chart.front.iter().any(|l| l.contains(words)), "{words}");
    }
    for words in [
        "Local codes",
        "battery AND solar off",
        "Does a leaf lean?",
        "Sign on both sides",
        "Whole travel in sight.",
    ] {
        assert!(said(&chart.head, words), "{words}");
    }
    assert!(said(&chart.foot, "Thunder about") && said(&chart.foot, "Every eye"));
}

/// The likeliest way down the card, step by step beside a call that gets the same answers.
#[test]
fn the_card_walks_as_a_call_does() {
    let engine = everything();
    let chart = chart(&engine, "dead", 40);
    let mut events = vec![
        engine.opened(At::Gate, Who::Technician, None),
        Event::Signs {
            yes: Vec::new(),
            unsure: Vec::new(),
        },
        Event::Complaint {
            words: String::new(),
            symptoms: vec!["dead".to_owned()],
        },
        Event::Now {
            now: Now::Present,
            under: Vec::new(),
        },
    ];
    let title = |next: &Next| match next {
        Next::Test { test, .. } => Some(engine.knowledge.tests[test].title.clone()),
        Next::Repair { repair, .. } => Some(format!("Repair: {}", engine.knowledge.repairs[repair].title)),
        _ => None,
    };
    let mut at = 1;
    let mut compared = 0;
    loop {
        let entries: Vec<Entry> = events
            .iter()
            .map(|e| Entry {
                time: "2026-01-01T08:00:00Z".to_owned(),
                event: e.clone(),
            })
            .collect();
        let next = Call::in_memory(&engine, entries).next_step();
        match &next {
            Next::Condition { condition, .. } => events.push(Event::Condition {
                condition: *condition,
                done: true,
            }),
            Next::Clearance { .. } => events.push(Event::Clearance { confirmed: true }),
            Next::Test { test, .. } => {
                assert_eq!(title(&next).as_deref(), Some(chart.boxes[at - 1].title.as_str()));
                compared += 1;
                // The answer of the first arrow that is no danger.
                let calm = ["sound", "11.8 V or more", "silent"];
                let arrow = chart
                    .arrows
                    .iter()
                    .find(|a| a.from == at && calm.contains(&a.label.as_str()));
                let Some(arrow) = arrow else { break };
                let outcome = arrow.label.as_str();
                let measured = outcome == "11.8 V or more";
                let readings = if measured {
                    [("v".to_owned(), "12.9 V".to_owned())].into_iter().collect()
                } else {
                    std::collections::BTreeMap::new()
                };
                events.push(Event::Answer {
                    test: test.clone(),
                    outcome: (!measured).then(|| outcome.to_owned()),
                    readings,
                    said: None,
                    by: pintle::call::Rank::Seen,
                });
                at = arrow.to;
            }
            _ => {
                if let Some(title) = title(&next) {
                    assert_eq!(title, chart.boxes[at - 1].title);
                    compared += 1;
                }
                break;
            }
        }
    }
    assert!(compared >= 3, "{compared} steps compared");
}

#[test]
fn fewer_boxes_are_the_likeliest_of_more() {
    for (engine, symptom) in [
        (everything(), "dead"),
        (of_folder("five-defects"), "broken"),
        (of_folder("fever"), "fever"),
    ] {
        let all = walks(&engine, &wanted(&engine, symptom, 200));
        let mut before = 1.0 + 1e-9;
        for most in 1..=all.graph.node_count() {
            let cut = all.likeliest(most);
            let grown = walks(&engine, &wanted(&engine, symptom, most));
            assert_eq!(cut.graph.node_count(), most);
            let reach = |w: &LikelyWalks| {
                w.graph
                    .node_weights()
                    .map(|s| (s.action, s.reach.to_bits()))
                    .collect::<Vec<_>>()
            };
            assert_eq!(reach(&cut), reach(&grown));
            assert_eq!(cut.beyond.len(), grown.beyond.len());
            assert!((cut.share_beyond() - grown.share_beyond()).abs() < 1e-12);
            assert!(cut.share_beyond() <= before, "more boxes, more beyond");
            before = cut.share_beyond() + 1e-9;
        }
        assert!(all.beyond.is_empty(), "{symptom} is small enough to be drawn whole");
    }
}

#[test]
fn what_was_left_out_is_said() {
    let engine = everything();
    let wanted = wanted(&engine, "dead", 2);
    let walks = walks(&engine, &wanted);
    let chart = gather(&engine, &wanted, &walks);
    assert!(
        chart.extent.contains("2 boxes") && chart.extent.contains("of walks go beyond this card"),
        "{}",
        chart.extent
    );
    assert!(
        chart
            .boxes
            .iter()
            .any(|b| { b.beyond.as_ref().is_some_and(|s| s.ends_with(": office")) })
    );
}

/// The start of every built-in symptom, and more of a few: planning a box costs most of a second, so all boxes of all symptoms are left to
/// `tests/external/chart_pages.py`, which draws three of them whole.
#[test]
fn every_built_in_symptom_draws() {
    let engine = built_in();
    for (i, id) in engine.knowledge.symptoms.keys().enumerate() {
        let wanted = wanted(&engine, id, if i % 15 == 0 { 5 } else { 1 });
        let (chart, page) = on_one_page(&engine, &wanted, &walks(&engine, &wanted)).expect("room");
        assert!((1..=wanted.most).contains(&chart.boxes.len()));
        apart(&chart, &framed(&page));
        inside_page(&page);
        let picture = svg(&chart, &page).expect("filled");
        roxmltree::Document::parse(&picture).expect(id);
        assert!(!html(&chart, &page).expect("filled").contains("<script"));
    }
}

/// What hangs on what, on the card of `slow` as it was once planned for a swing gate on mains and battery: the parent of each box from the second on.
const SHAPE: [usize; 39] = [
    1, 2, 3, 4, 5, 6, 7, 8, 9, 4, 11, 4, 13, 14, 4, 16, 3, 18, 19, 20, 21, 22, 23, 3, 2, 26, 1, 28, 29, 30, 30, 28, 1,
    34, 35, 36, 36, 38, 34,
];

/// Forty boxes of that shape in the words of the built-in tests, questions and repairs, taken evenly from all of them, and a back with all their
/// cautions. Nothing is planned.
fn in_real_words(engine: &Engine) -> Chart {
    let n = SHAPE.len() + 1;
    let wanted = wanted(engine, "slow", 1);
    let mut chart = gather(engine, &wanted, &walks(engine, &wanted));
    chart.extent = format!(
        "{n} boxes, the likeliest. Left out: 31 more that the arrows here lead to, and all behind them. 24 % of walks go beyond this card: \
         where a box says office, go on with pintle or call the office."
    );
    chart.cautions.clear();
    let k = &engine.knowledge;
    let mut tests = k.tests.values().step_by(k.tests.len() / n);
    let mut facts = k.facts.values();
    let mut repairs = k.repairs.values().step_by(k.repairs.len() / n);
    let mut number_of = |texts: &[String]| -> Vec<usize> {
        let number = |t: &String| {
            let at = chart
                .cautions
                .iter()
                .position(|c| c == t)
                .unwrap_or(chart.cautions.len());
            if at == chart.cautions.len() {
                chart.cautions.push(t.clone());
            }
            at + 1
        };
        texts.iter().map(number).collect()
    };
    let place = |p: &Option<String>| p.as_ref().map(|p| k.places[p].title.clone());
    let conditions = |needs: &[Condition], moves: Moves| {
        let isolated = needs.contains(&Condition::Isolated).then(|| "ISOLATE".to_owned());
        let moves = (moves == Moves::Commanded).then(|| "MOVES".to_owned());
        isolated.into_iter().chain(moves).collect::<Vec<_>>()
    };
    let mut boxes = Vec::new();
    let mut labels: Vec<String> = Vec::new();
    for number in 1..=n {
        let mut step = Step {
            number,
            kind: Kind::End,
            title: "END. Nothing left here is worth its time: hand it on".to_owned(),
            place: None,
            stop: None,
            conditions: Vec::new(),
            cautions: Vec::new(),
            minutes: None,
            reach: 1.0 / counted(number),
            then: Vec::new(),
            beyond: None,
        };
        let leaf = !SHAPE.contains(&number);
        if leaf && number % 3 == 0 {
            let repair = repairs.next().expect("enough repairs");
            step.kind = Kind::Repair;
            step.title = format!("Repair: {}", repair.title);
            step.place = place(&repair.place);
            step.minutes = Some(repair.minutes);
            step.conditions = conditions(&repair.needs, repair.moves);
            step.cautions = number_of(&repair.cautions);
            step.then = vec!["Run it (MOVES). Gone (4 %): retest, END fixed".to_owned()];
            step.beyond = Some("Still there (2 %): office".to_owned());
        } else if number % 5 == 0 {
            let fact = facts.next().expect("enough questions");
            step.kind = Kind::Ask;
            step.title.clone_from(&fact.ask);
            step.minutes = Some(fact.minutes);
            labels.extend(fact.values.values().map(|v| v.say.clone()));
        } else if !leaf || number % 2 == 0 {
            let test = tests.next().expect("enough tests");
            step.kind = Kind::Test;
            step.title.clone_from(&test.title);
            step.place = place(&test.place);
            step.minutes = Some(test.minutes);
            step.conditions = conditions(&test.needs, test.moves);
            step.cautions = number_of(&test.cautions);
            labels.extend(test.outcomes.values().map(|o| o.say.clone()));
            labels.extend(test.bands.values().map(|b| b.say.clone()));
        }
        if step.kind != Kind::End && step.beyond.is_none() {
            step.beyond = Some(if leaf { "Then: office" } else { "Else (3 %): office" }.to_owned());
        }
        boxes.push(step);
    }
    let label = |to: usize| labels[to * 7 % labels.len()].clone();
    let mut arrows: Vec<Arrow> = SHAPE
        .iter()
        .zip(2..)
        .map(|(&from, to)| Arrow {
            from,
            to,
            label: label(to),
        })
        .collect();
    // What two boxes lead to.
    for (from, to) in [(12, 17), (22, 28)] {
        arrows.push(Arrow {
            from,
            to,
            label: label(to + 1),
        });
    }
    arrows.sort_by_key(|a| (a.from, a.to));
    Chart { boxes, arrows, ..chart }
}

fn counted(n: usize) -> f64 {
    f64::from(u32::try_from(n).expect("few"))
}

/// The room of a page is what A4 and Letter share, so one page is the page of both.
#[test]
fn forty_boxes_fit_on_the_front_and_can_be_read() {
    let chart = in_real_words(&built_in());
    let page = Page::fit(&chart).expect("room for forty boxes");
    assert_eq!(page.drawing.blocks.len(), 40);
    inside_page(&page);
    apart(&chart, &framed(&page));
    let (wide, high) = page.lie.room();
    for (a, b) in [(210.0, 297.0), (215.9, 279.4)] {
        let (across, down) = if wide > high { (b, a) } else { (a, b) };
        let inside = |mm: f64| (mm - 2.0 * MARGIN) * POINTS;
        assert!(wide <= inside(across) && high <= inside(down), "{a} by {b} mm");
    }
    // Type of fewer than 6.5 points is not read on paper.
    assert!(
        page.size >= 6.5 && page.back.size >= 6.5,
        "{} and {} points",
        page.size,
        page.back.size
    );
}

fn inside_page(page: &Page) {
    let (wide, high) = page.lie.room();
    let d = &page.drawing;
    let all = Rect {
        x: 0.0,
        y: 0.0,
        w: d.width,
        h: d.height,
    };
    for block in &d.blocks {
        assert!(all.holds(&block.frame) && all.holds(&block.label), "{block:?}");
    }
    assert!(page.size >= SMALLEST);
    assert!(d.width * page.size <= wide + 1e-6);
    assert!(page.boxes_top + d.height * page.size <= high + 1e-6);
    let back = &page.back;
    assert!(back.size >= SMALLEST && back.head_top + back.head_height <= back.foot_top);
    let lines = back.foot.iter().map(Vec::len).max().unwrap_or(0);
    assert!(back.foot_top + counted(lines) * back.size * 1.16 <= high + 1e-6);
}

/// Label and frame of every box of a page.
fn framed(page: &Page) -> Vec<(Rect, Rect)> {
    page.drawing.blocks.iter().map(|b| (b.label, b.frame)).collect()
}

/// No frame or label lies on another; labels have their own frame below them.
fn apart(chart: &Chart, blocks: &[(Rect, Rect)]) {
    assert_eq!(blocks.len(), chart.boxes.len());
    for (i, (label, frame)) in blocks.iter().enumerate() {
        assert!(!label.overlaps(frame), "label {i} lies on its own box");
        for (j, (other_label, other)) in blocks.iter().enumerate().skip(i + 1) {
            for (a, b) in [
                (frame, other),
                (label, other),
                (frame, other_label),
                (label, other_label),
            ] {
                assert!(!a.overlaps(b), "{i} and {j} overlap: {a:?} {b:?}");
            }
        }
    }
}

fn some_text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-zA-Z ]{0,60}",
        "[<>&\"'%0-9a-z. ]{1,40}",
        Just("Verylongwordwithnoplacetobreakitanywhereatall".to_owned()),
        "\\PC{0,20}",
    ]
}

fn some_step() -> impl Strategy<Value = Step> {
    let kind = prop_oneof![Just(Kind::Test), Just(Kind::Ask), Just(Kind::Repair), Just(Kind::End)];
    let lists = (
        proptest::collection::vec(some_text(), 0..3),
        proptest::collection::vec(1_usize..4, 0..3),
    );
    let may = (
        proptest::option::weighted(0.1, some_text()),
        proptest::option::weighted(0.3, some_text()),
    );
    (kind, some_text(), lists, may, proptest::option::of(0.0..90.0), 0.0..1.0).prop_map(
        |(kind, title, (conditions, cautions), (stop, beyond), minutes, reach)| Step {
            number: 0,
            kind,
            title,
            place: None,
            stop,
            conditions,
            cautions,
            minutes,
            reach,
            then: Vec::new(),
            beyond,
        },
    )
}

/// Any directed graph without a cycle in which every box is reached from the first.
fn some_chart() -> impl Strategy<Value = Chart> {
    proptest::collection::vec((some_step(), any::<prop::sample::Index>(), some_text()), 1..40)
        .prop_flat_map(|boxes| {
            let n = boxes.len();
            (Just(boxes), proptest::collection::vec((0..n, 0..n, some_text()), 0..8))
        })
        .prop_map(|(boxes, more)| {
            let mut arrows = Vec::new();
            for (i, (_, parent, label)) in boxes.iter().enumerate().skip(1) {
                arrows.push(Arrow {
                    from: parent.index(i) + 1,
                    to: i + 1,
                    label: label.clone(),
                });
            }
            for (a, b, label) in more {
                if a < b && !arrows.iter().any(|x| x.from == a + 1 && x.to == b + 1) {
                    arrows.push(Arrow {
                        from: a + 1,
                        to: b + 1,
                        label,
                    });
                }
            }
            arrows.sort_by_key(|a| (a.from, a.to));
            let steps = boxes.into_iter().map(|(step, _, _)| step);
            Chart {
                title: "Any <chart> & more".to_owned(),
                about: vec!["About".to_owned()],
                extent: "All of it.".to_owned(),
                front: vec!["Before anything".to_owned()],
                head: vec![Part {
                    heading: "Head".to_owned(),
                    lines: vec!["Line".to_owned()],
                }],
                boxes: steps.enumerate().map(|(i, s)| Step { number: i + 1, ..s }).collect(),
                arrows,
                cautions: (0..3).map(|i| format!("Caution {i}")).collect(),
                foot: Vec::new(),
            }
        })
}

/// Less is rounding.
const LEAST: f64 = 1e-6;

/// Whether a level or plumb line runs through the inside of a rectangle.
fn crosses(a: (f64, f64), b: (f64, f64), rect: &Rect) -> bool {
    let line = Rect {
        x: a.0.min(b.0),
        y: a.1.min(b.1),
        w: (a.0 - b.0).abs(),
        h: (a.1 - b.1).abs(),
    };
    line.x + line.w > rect.x + LEAST
        && rect.x + rect.w > line.x + LEAST
        && line.y + line.h > rect.y + LEAST
        && rect.y + rect.h > line.y + LEAST
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn any_graph_is_laid_out_without_overlap_and_without_loss(chart in some_chart(), wide in 8.0..30.0, levels in 0_usize..6) {
        let drawing = lay_out(&chart, wide, levels, (f64::INFINITY, f64::INFINITY)).expect("there is room without end");
        apart(&chart, &drawing.blocks.iter().map(|b| (b.label, b.frame)).collect::<Vec<_>>());
        let all = Rect { x: 0.0, y: 0.0, w: drawing.width, h: drawing.height };
        for block in &drawing.blocks {
            prop_assert!(all.holds(&block.frame) && all.holds(&block.label));
        }
        for line in &drawing.lines {
            for ends in line.windows(2) {
                for block in &drawing.blocks {
                    prop_assert!(!crosses(ends[0], ends[1], &block.frame), "a line runs through box {}", block.number);
                    prop_assert!(!crosses(ends[0], ends[1], &block.label), "a line runs through the label of {}", block.number);
                }
            }
        }
        // An arrow is a line, or is said at both of its ends.
        for arrow in &chart.arrows {
            let (from, to) = (&drawing.blocks[arrow.from - 1], &drawing.blocks[arrow.to - 1]);
            let words = from.text.iter().map(|t| t.line.as_str()).collect::<Vec<_>>().join(" ");
            let label = to.label_lines.join(" ");
            let said = words.replace(' ', "").contains(&format!("goto{}", arrow.to)) && label.replace(' ', "").contains(&format!("from{}", arrow.from));
            let starts_here = |line: &Vec<(f64, f64)>| {
                let (first, last) = (line[0], line[line.len() - 1]);
                (first.1 - from.frame.y - from.frame.h).abs() < 1e-6 && (last.1 - to.label.y).abs() < 1e-6
                    && (first.0 - from.frame.x - from.frame.w / 2.0).abs() < 1e-6 && (last.0 - to.frame.x - to.frame.w / 2.0).abs() < 1e-6
            };
            prop_assert!(said || drawing.lines.iter().any(starts_here), "{arrow:?} is lost");
        }
        let again = lay_out(&chart, wide, levels, (f64::INFINITY, f64::INFINITY)).expect("room");
        prop_assert_eq!(drawing, again);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4, ..ProptestConfig::default() })]

    #[test]
    fn any_page_is_xml_and_keeps_its_text_inside(chart in some_chart()) {
        let Some(page) = Page::fit(&chart) else { return Ok(()) };
        inside_page(&page);
        let picture = svg(&chart, &page).expect("filled");
        let document = roxmltree::Document::parse(&picture).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let (wide, high) = page.lie.room();
        let number = |n: roxmltree::Node<'_, '_>, name| n.attribute(name).and_then(|a| a.parse::<f64>().ok()).unwrap_or(f64::NAN);
        for text in document.descendants().filter(|n| n.has_tag_name("text")) {
            let (x, y, long) = (number(text, "x"), number(text, "y"), number(text, "textLength"));
            let left = if text.attribute("text-anchor").is_some() { x - long / 2.0 } else { x };
            prop_assert!(left >= -0.1 && left + long <= wide + 0.1 && y > 0.0 && y <= high, "{:?}", text.text());
            prop_assert!(text.attribute("fill") == Some("#fff") || number(text, "font-size") >= SMALLEST);
        }
    }
}

#[test]
fn texts_of_a_pack_are_cleaned_and_escaped() {
    let engine = everything();
    let wanted = wanted(&engine, "dead", 40);
    let (chart, page) = on_one_page(&engine, &wanted, &walks(&engine, &wanted)).expect("room");
    for text in [
        svg(&chart, &page).expect("filled"),
        html(&chart, &page).expect("filled"),
        dot(&chart),
    ] {
        assert!(text.chars().all(|c| c == '\n' || !c.is_control()));
    }
    let picture = svg(&chart, &page).expect("filled");
    let document = roxmltree::Document::parse(&picture).expect("XML");
    assert!(
        document
            .descendants()
            .any(|n| n.text().is_some_and(|t| t.contains("Dead & \"gone\" [31m<b>")))
    );
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command: Command = pintle(folder);
    command.args(arguments).current_dir(folder).stdin(Stdio::null());
    command.output().expect("it runs")
}

#[test]
fn a_file_is_never_written_over_unasked() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("card.svg");
    let one = ["chart", "slow", "--as", "svg", "--most", "1", "--out", "card.svg"];
    let first = run(folder.path(), &one);
    assert!(first.status.success(), "{first:?}");
    assert_eq!(String::from_utf8_lossy(&first.stdout), "card.svg\n");
    std::fs::write(&path, "mine").expect("written");
    let second = run(folder.path(), &one);
    assert!(!second.status.success());
    assert!(String::from_utf8_lossy(&second.stderr).contains("card.svg is there already"));
    assert_eq!(std::fs::read_to_string(&path).expect("read"), "mine");
    assert!(
        run(folder.path(), &[&one[..], &["--replace"]].concat())
            .status
            .success()
    );
    let written = std::fs::read_to_string(&path).expect("read");
    roxmltree::Document::parse(&written).expect("XML");
    assert_eq!(
        std::fs::read_dir(folder.path())
            .expect("read")
            .filter(|e| e
                .as_ref()
                .is_ok_and(|e| e.file_name().to_string_lossy().starts_with(".card")))
            .count(),
        0
    );
}

#[test]
fn wrong_input_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let cases: [(&[&str], &str); 5] = [
        (&["chart", "slwo"], "did you mean slow?"),
        (
            &["chart", "slow", "--fact", "colour=red"],
            "is not a fact and its value",
        ),
        (&["chart", "slow", "--most", "0"], "--most"),
        (&["chart", "slow", "--replace"], "--out"),
        (
            &["chart", "slow", "--most", "1", "--out", "no/such/folder/card.html"],
            "see that its folder exists",
        ),
    ];
    for (arguments, words) in cases {
        let output = run(folder.path(), arguments);
        assert!(!output.status.success(), "{arguments:?}");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(told.contains(words), "{arguments:?}: {told}");
    }
}
