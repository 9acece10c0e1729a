//! What closed calls teach, and what they must not.

use std::collections::BTreeMap;
use std::path::Path;

use pintle::call::{Engine, Entry, Event};
use pintle::finding::Level;
use pintle::knowledge::schema::{Ending, Severity};
use pintle::knowledge::{Knowledge, PackText, WithCases, check, load};
use pintle::records::{Learned, Sites, Skips, Tally, Weights, Window, each_call, pack_files};
use pintle::terminal::{Style, render_learned};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng as _, SeedableRng as _};

use crate::records::{at_sites, learn, machine, machine_with, simulated};

fn entries(calls: Vec<pintle::records::Simulated>) -> Vec<Vec<Entry>> {
    at_sites(calls.into_iter().map(|c| c.entries).collect())
}

/// The share of all sites' calls that a rate of 1 would make: where its facts let a cause occur, times its multiplier (`drive` of the small machine).
fn mean_multiplier(id: &str) -> f64 {
    match id {
        "wheel-worn" => 0.4,
        "hinge-dry" => 0.6 + 0.4 * 0.5,
        _ => 1.0,
    }
}

fn unit(rng: &mut ChaCha8Rng) -> f64 {
    (f64::from(rng.next_u32()) + 0.5) / 4_294_967_296.0
}

/// A gamma variable by Marsaglia & Tsang, ACM Trans. Math. Softw. 26(3), 2000, with the normal by Box & Muller.
fn gamma(rng: &mut ChaCha8Rng, shape: f64) -> f64 {
    if shape < 1.0 {
        return gamma(rng, shape + 1.0) * unit(rng).powf(1.0 / shape);
    }
    let d = shape - 1.0 / 3.0;
    loop {
        let normal = (-2.0 * unit(rng).ln()).sqrt() * (std::f64::consts::TAU * unit(rng)).cos();
        let v = (1.0 + normal / (9.0 * d).sqrt()).powi(3);
        if v > 0.0 && unit(rng).ln() < 0.5 * normal * normal + d - d * v + d * v.ln() {
            return d * v;
        }
    }
}

/// True rates from the very prior that the weight states: shares of calls are Dirichlet with the author's shares worth `weight` calls.
fn true_rates(knowledge: &Knowledge, weight: f64, seed: u64) -> BTreeMap<String, f64> {
    let mut rng = ChaCha8Rng::seed_from_u64(1_000 + seed);
    let share = |id: &str, rate: f64| rate * mean_multiplier(id);
    let total: f64 = knowledge.causes.iter().map(|(id, c)| share(id, c.rate)).sum();
    let drawn: Vec<(String, f64)> = knowledge
        .causes
        .iter()
        .map(|(id, c)| (id.clone(), gamma(&mut rng, weight * share(id, c.rate) / total)))
        .collect();
    let sum: f64 = drawn.iter().map(|(_, g)| g).sum();
    drawn
        .into_iter()
        .map(|(id, g)| (id.clone(), total * g / sum / mean_multiplier(&id)))
        .collect()
}

/// Over 20 seeds, at least 90 % of the true base rates lie inside their 95 % intervals; with few calls (the author speaks) and with many.
#[test]
fn true_rates_lie_inside_their_intervals() {
    let author = Engine::new(machine());
    let weights = Weights::default();
    for calls in [150, 400, 1_500] {
        let (mut inside, mut all) = (0, 0);
        for seed in 0..20 {
            let truth = true_rates(&author.knowledge, weights.rates, seed);
            let world = machine_with(|id, _| truth[id]);
            let learned = learn(&author, entries(simulated(&world, seed, calls)), weights);
            for rate in &learned.rates {
                let [low, high] = rate.change.interval;
                all += 1;
                inside += usize::from((low..=high).contains(&truth[&rate.cause]));
            }
        }
        assert_eq!(all, 200, "ten causes, twenty seeds");
        assert!(inside * 10 >= all * 9, "{calls} calls: {inside} of {all}");
    }
}

/// The same calls with their endings changed: nothing is learnt of any cause, and their share is printed.
#[test]
fn only_proven_repairs_count_for_causes() {
    let engine = Engine::new(machine());
    let mut calls = entries(simulated(&engine, 2, 200));
    let endings = [
        Ending::Referred,
        Ending::Waiting,
        Ending::OutOfUse,
        Ending::Withdrawn,
        Ending::DeficiencyRefused,
    ];
    for (call, ending) in calls.iter_mut().zip(endings.iter().cycle()) {
        if let Some(Event::Ended { ending: said, .. }) = call.last_mut().map(|e| &mut e.event) {
            *said = *ending;
        }
    }
    let learned = learn(&engine, calls, Weights::default());
    assert_eq!((learned.kinds.calls, learned.kinds.confirmed), (200, 0));
    assert!(
        learned
            .rates
            .iter()
            .all(|r| r.change.seen == 0.0 && (r.change.now - r.change.was).abs() < 1e-9)
    );
    let page = render_learned(&learned, &Skips::default(), &Style::plain(80));
    for said in ["20 %  waiting", "20 %  out of use", "20 %  withdrawn", "not listed"] {
        assert!(page.contains(said), "{said}: {page}");
    }
}

/// A fault that nobody wrote down ends as referred and moves no rate; no fault found moves *nothing wrong* alone.
#[test]
fn not_listed_counts_for_no_cause() {
    let engine = Engine::new(machine());
    let calls = simulated(&engine, 4, 1_500);
    let hidden: Vec<Vec<Entry>> = calls
        .iter()
        .filter(|c| c.truth == pintle::belief::Hypothesis::NotListed)
        .map(|c| c.entries.clone())
        .collect();
    let n = hidden.len() as u64;
    assert!(n > 20, "{n}");
    let learned = learn(&engine, hidden, Weights::default());
    assert_eq!(
        learned.kinds.referred + learned.kinds.referred_not_listed + learned.kinds.no_fault_found,
        n
    );
    assert!(learned.kinds.referred_not_listed * 10 >= n * 8, "{:?}", learned.kinds);
    assert!(learned.rates.iter().all(|r| r.change.seen == 0.0));
}

/// In a world where motors wear out twice as often, the pack passes the checks over its own knowledge and moves that rate up, and the rest down.
#[test]
fn the_pack_layers_and_moves_rates_the_right_way() {
    let author = Engine::new(machine());
    let world = machine_with(|id, rate| if id == "motor-worn" { 2.0 * rate } else { rate });
    let learned = learn(&author, entries(simulated(&world, 9, 2_000)), Weights::default());
    let files = pack_files(&author.knowledge, &author.model, &learned);
    let text = &files[1].1;
    let line = text
        .lines()
        .find(|l| l.starts_with("    rate:"))
        .expect("a changed rate");
    assert!(line.contains("was 28") && line.contains(" calls; 95 % "), "{line}");
    let layered = layered(files);
    let rate = |id: &str| layered.causes[id].rate / author.knowledge.causes[id].rate;
    assert!(rate("motor-worn") > 1.25, "{}", rate("motor-worn"));
    assert!(rate("fuse-blown") < 0.95, "{}", rate("fuse-blown"));
    for table in pintle::model::Model::compile(&layered).tests {
        let sum: f64 = table.healthy.iter().sum();
        assert!((sum - 1.0).abs() < 1e-9);
    }
}

/// Learnt outcome frequencies come near to what the world shows: the author is wrong about one of them.
#[test]
fn outcome_frequencies_follow_what_was_seen() {
    let author = Engine::new(machine());
    let mut knowledge = machine();
    let shows = &mut knowledge.causes["fuse-blown"].shows["lamp"];
    shows.insert("dark".to_owned(), pintle::knowledge::frequency::Frequency::number(0.5));
    let world = Engine::new(knowledge);
    let learned = learn(&author, entries(simulated(&world, 11, 4_000)), Weights::default());
    let found = learned
        .outcomes
        .iter()
        .find(|o| o.cause.as_deref() == Some("fuse-blown") && o.test == "lamp")
        .expect("enough answers");
    let (_, dark) = found
        .outcomes
        .iter()
        .find(|(o, _)| o == "dark")
        .expect("an outcome of the lamp");
    assert!(dark.now < 0.72 && (dark.was - 0.9).abs() < 1e-12, "{dark:?}");
    assert!(
        layered(pack_files(&author.knowledge, &author.model, &learned)).causes["fuse-blown"].shows["lamp"]["dark"]
            .chance
            < 0.72
    );
}

/// While the symptom is away, a fault that comes and goes may show nothing: such answers must not count for what it shows.
#[test]
fn answers_while_the_symptom_is_away_do_not_count() {
    let engine = Engine::new(machine());
    let mut calls = entries(simulated(&engine, 12, 3_000));
    for entry in calls.iter_mut().flatten() {
        if let Event::Now { now, .. } = &mut entry.event {
            *now = pintle::knowledge::schema::Now::Away;
        }
    }
    let learned = learn(&engine, calls, Weights::default());
    let of = |cause: &str| {
        learned
            .outcomes
            .iter()
            .filter(|o| o.cause.as_deref() == Some(cause))
            .count()
    };
    // Known to be there always, and there in three calls of ten only.
    assert!(of("motor-worn") > 0);
    assert_eq!(of("contact-loose"), 0);
}

/// A danger is never learnt to be rarer: those calls end out of use, where they count for nothing.
#[test]
fn dangers_are_not_learnt_away() {
    let mut knowledge = machine();
    knowledge.causes["fuse-blown"].severity = Severity::Kill;
    let author = Engine::new(knowledge);
    let world = machine_with(|id, rate| if id == "fuse-blown" { 0.2 * rate } else { rate });
    let learned = learn(&author, entries(simulated(&world, 13, 800)), Weights::default());
    let fuse = learned.rates.iter().find(|r| r.cause == "fuse-blown").expect("curable");
    assert!(fuse.held && fuse.change.now < fuse.change.was, "{fuse:?}");
    let layered = layered(pack_files(&author.knowledge, &author.model, &learned));
    assert!((layered.causes["fuse-blown"].rate - fuse.change.was).abs() < 1e-12);
}

/// The small machine with a learnt pack over it, free of errors.
fn layered(files: Vec<(&'static str, String)>) -> Knowledge {
    let own = PackText::read(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/packs/records")));
    let over = PackText {
        files: files.into_iter().map(|(name, text)| (name.to_owned(), text)).collect(),
        unreadable: Vec::new(),
    };
    let (knowledge, mut findings) = load(vec![own, over], WithCases::No);
    let (_, own_findings) = (machine(), check::check(&machine()));
    findings.extend(check::check(&knowledge));
    findings.retain(|f| f.level() == Level::Error && !own_findings.iter().any(|o| o.message == f.message));
    assert!(findings.is_empty(), "{findings:?}");
    knowledge
}

fn write_calls(folder: &Path, calls: &[Vec<Entry>], name: impl Fn(usize) -> String) {
    for (i, call) in calls.iter().enumerate() {
        let lines: Vec<String> = call.iter().map(|e| serde_json::to_string(e).expect("JSON")).collect();
        let path = folder.join(name(i));
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        std::fs::write(path, lines.join("\n") + "\n").expect("written");
    }
}

fn learn_from(engine: &Engine, folder: &Path) -> (Learned, Skips) {
    let sites = Sites::new(&engine.knowledge);
    let paths = [folder.to_owned(), folder.join("0")];
    let note = |window: &mut Window, entries: Vec<Entry>| {
        window.add(&entries);
        Ok(())
    };
    let mut window = Window::default();
    let (threads, _) = each_call(&paths, Window::default, note, &|| ());
    threads.into_iter().for_each(|thread| window.join(thread));
    let (tallies, skips) = each_call(
        &paths,
        || Tally::new(engine, &sites, &window),
        |tally, entries| tally.add(engine, entries),
        &|| (),
    );
    (
        Learned::from_tallies(engine, &sites, tallies, Weights::default()),
        skips,
    )
}

/// Folders in folders, other names, another order, one folder named twice: the same bytes.
#[test]
fn the_order_of_files_changes_no_byte() {
    let engine = Engine::new(machine());
    let calls = entries(simulated(&engine, 6, 300));
    let one = tempfile::tempdir().expect("a folder");
    write_calls(one.path(), &calls, |i| format!("{}/{i}.jsonl", i % 3));
    let other = tempfile::tempdir().expect("a folder");
    write_calls(other.path(), &calls, |i| format!("0/call-{:04}.jsonl", 999 - i));
    let bytes = |folder: &Path| {
        let (learned, skips) = learn_from(&engine, folder);
        assert_eq!(skips, Skips::default());
        (
            pack_files(&engine.knowledge, &engine.model, &learned),
            serde_json::to_string(&learned).expect("JSON"),
        )
    };
    assert_eq!(bytes(one.path()), bytes(other.path()));
}

/// Damaged, foreign and empty files are named with file and line, and the rest still counts.
#[test]
fn what_cannot_be_used_is_named_and_skipped() {
    let engine = Engine::new(machine());
    let calls = entries(simulated(&engine, 6, 12));
    let folder = tempfile::tempdir().expect("a folder");
    write_calls(folder.path(), &calls, |i| format!("{i}.jsonl"));
    let path = |name: &str| folder.path().join(name);
    let whole = std::fs::read_to_string(path("0.jsonl")).expect("written above");
    let damaged: Vec<&str> = whole.lines().take(3).chain(["{\"time\":1}", "{}"]).collect();
    std::fs::write(path("damaged.jsonl"), damaged.join("\n") + "\n").expect("written");
    std::fs::write(path("empty.jsonl"), "").expect("written");
    std::fs::write(
        path("other.jsonl"),
        whole.replace("\"symptoms\":[\"", "\"symptoms\":[\"un"),
    )
    .expect("written");
    std::fs::write(path("note.txt"), "not a call").expect("written");
    let (learned, skips) = learn_from(&engine, folder.path());
    assert_eq!(learned.kinds.calls, 12);
    let shown: Vec<String> = skips
        .named
        .iter()
        .map(|(place, reason)| format!("{place}: {reason}").replace(&folder.path().display().to_string(), "CALLS"))
        .collect();
    insta::assert_snapshot!(shown.join("\n"), @r"
    CALLS/damaged.jsonl:4: not an event of a call (invalid type: integer `1`, expected a string at line 1 column 9)
    CALLS/empty.jsonl: there is no whole event in it
    CALLS/other.jsonl:3: a call of other knowledge: there is no symptom `undead`; name the packs it was made with by --pack
    ");
}

#[test]
fn the_page() {
    let engine = Engine::new(machine());
    let learned = learn(&engine, entries(simulated(&engine, 1, 2_000)), Weights::default());
    let page = render_learned(&learned, &Skips::default(), &Style::plain(80));
    assert!(page.lines().all(|l| l.chars().count() <= 80 && l.is_ascii()), "{page}");
    insta::assert_snapshot!(page);
    let files = pack_files(&engine.knowledge, &engine.model, &learned);
    let pack: Vec<String> = files.iter().map(|(name, text)| format!("== {name}\n{text}")).collect();
    insta::assert_snapshot!(pack.concat());
}

/// A repair of one symptom at a named site, ended on this day.
fn closed(engine: &Engine, site: Option<&str>, day: &str) -> Vec<Entry> {
    let mut call = entries(simulated(engine, 2, 60))
        .into_iter()
        .find(|c| {
            matches!(
                c.last().map(|e| &e.event),
                Some(Event::Ended {
                    ending: Ending::Fixed,
                    ..
                })
            )
        })
        .expect("one of sixty is fixed");
    for entry in &mut call {
        entry.time = format!("{day}T08:00:00Z");
    }
    if let Event::Opened { site: named, .. } = &mut call[0].event {
        *named = site.map(str::to_owned);
    }
    call
}

/// Kinds confirmed, at half, called back; and the sum of what was seen of all causes.
fn counts(engine: &Engine, calls: &[Vec<Entry>]) -> ([u64; 3], f64) {
    let sites = Sites::new(&engine.knowledge);
    let mut window = Window::default();
    calls.iter().for_each(|call| window.add(call));
    let mut tally = Tally::new(engine, &sites, &window);
    for call in calls {
        tally.add(engine, call.clone()).expect("a call of this knowledge");
    }
    let learned = Learned::from_tallies(engine, &sites, vec![tally], Weights::default());
    let seen = learned.rates.iter().map(|r| r.change.seen).sum();
    (
        [learned.kinds.confirmed, learned.at_half, learned.kinds.called_back],
        seen,
    )
}

/// A call confirms its cause whole once its window has passed at a named site, half before or without a name, and not at all when it was called back.
#[test]
fn a_callback_takes_a_confirmation_back() {
    let engine = Engine::new(machine());
    let farm = |day: &str| closed(&engine, Some("Hill farm"), day);
    let elsewhere = |day: &str| closed(&engine, Some("Mill"), day);
    let ([confirmed, half, _], whole) = counts(&engine, &[farm("2026-01-01"), elsewhere("2026-03-02")]);
    assert_eq!(
        (confirmed, half),
        (2, 1),
        "60 days after the first, none after the second"
    );
    let one = whole / 1.5;
    let close = |a: f64, b: f64| (a - b).abs() < 1e-6;
    let check = |calls: &[Vec<Entry>], kinds: [u64; 3], calls_worth: f64| {
        let (found, seen) = counts(&engine, calls);
        assert_eq!(found, kinds);
        assert!(close(seen, calls_worth * one), "{seen} of {one}");
    };
    // 59 days are not enough.
    check(&[farm("2026-01-01"), elsewhere("2026-03-01")], [2, 2, 0], 1.0);
    // Nobody could see a callback where the site has no name.
    check(
        &[closed(&engine, None, "2026-01-01"), elsewhere("2026-06-01")],
        [2, 2, 0],
        1.0,
    );
    // The same symptom at the same site, however its name is written: the first counts nothing.
    let again = closed(&engine, Some("hill FARM"), "2026-01-13");
    check(
        &[farm("2026-01-01"), again.clone(), elsewhere("2026-06-01")],
        [2, 1, 1],
        1.5,
    );
    // In any order.
    check(&[elsewhere("2026-06-01"), again, farm("2026-01-01")], [2, 1, 1], 1.5);
    // At another site, or later than the window, it is none.
    check(
        &[farm("2026-01-01"), elsewhere("2026-01-13"), elsewhere("2026-09-01")],
        [3, 1, 0],
        2.5,
    );
    check(
        &[farm("2026-01-01"), farm("2026-03-03"), elsewhere("2026-09-01")],
        [3, 1, 0],
        2.5,
    );
}

/// What was called back is not scored either.
#[test]
fn a_call_that_was_called_back_is_not_scored() {
    let engine = Engine::new(machine());
    let calls = [
        closed(&engine, Some("Hill farm"), "2026-01-01"),
        closed(&engine, Some("Hill farm"), "2026-01-13"),
    ];
    let calibration = crate::records::calibrate(&engine, calls);
    assert_eq!(calibration.asides.called_back, 1);
    assert_eq!(calibration.kinds.called_back, 1);
    assert_eq!(calibration.scores.map(|s| s.calls), Some(1));
}
