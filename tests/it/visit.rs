//! The visit: the load against exhaustive search, its promise against simulated visits, who goes; and the call that goes on at the gate.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use pintle::call::{Call, Engine, Entry, Event, Rank, Step};
use pintle::knowledge::schema::{At, Moves, Now, Who};
use pintle::knowledge::{Knowledge, WithCases};
use pintle::model::TestId;
use pintle::plan::Action;
use pintle::terminal::{Style, render_visit};
use pintle::visit::load::{Fault, Load, Things, Way, merged, rate, smallest};
use pintle::visit::{Wishes, plan, simulate};
use proptest::prelude::*;

static ENGINE: LazyLock<Engine> = LazyLock::new(|| {
    let (knowledge, findings) = Knowledge::built_in(&[], WithCases::No);
    assert!(findings.iter().all(|f| f.level() != pintle::finding::Level::Error));
    Engine::new(knowledge)
});

/// Things of a small problem: every set of them can be looked at.
const FEW: usize = 9;

fn way() -> impl Strategy<Value = Way> {
    let needs = prop::collection::vec(0..FEW, 0..=3);
    let cures = prop::sample::select(vec![0.5, 0.9, 1.0]);
    (needs, cures).prop_map(|(needs, cures)| Way {
        needs: needs.into_iter().fold(0, |set, thing| set | 1 << thing),
        cures,
    })
}

fn faults() -> impl Strategy<Value = Vec<Fault>> {
    let cause = prop::collection::vec(way(), 0..=3);
    let fault = (1_u32..100, prop::collection::vec(cause, 0..=2));
    prop::collection::vec(fault, 1..=8).prop_map(|faults| {
        let all: u32 = faults.iter().map(|(w, _)| w).sum();
        faults
            .into_iter()
            .map(|(weight, causes)| Fault {
                chance: f64::from(weight) / f64::from(all),
                causes,
            })
            .collect()
    })
}

/// The fewest things with which the chance reaches the aim, and the best chance with as many.
fn by_exhaustion(faults: &[Fault], aim: f64) -> Option<(u32, f64)> {
    let sets = 0..1_u32 << FEW;
    let reach = sets.map(Things::from).filter(|s| rate(faults, *s) >= aim - 1e-12);
    let fewest = reach.clone().map(Things::count_ones).min()?;
    let best = reach.filter(|s| s.count_ones() == fewest).map(|s| rate(faults, s));
    Some((fewest, best.fold(0.0, f64::max)))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn no_smaller_load_does_it_and_none_as_small_does_better(faults in faults(), percent in 1_u32..100) {
        let most = rate(&faults, Things::MAX);
        let aim = f64::from(percent) / 100.0 * most;
        let found = smallest(&faults, FEW, aim);
        let (fewest, best) = by_exhaustion(&faults, aim).expect("everything reaches a part of the most");
        prop_assert!(found.smallest);
        prop_assert_eq!(found.things.count_ones(), fewest);
        prop_assert!((found.rate - best).abs() < 1e-9, "{} instead of {best}", found.rate);
    }

    #[test]
    fn merging_faults_changes_no_chance(faults in faults()) {
        let fewer = merged(faults.clone().into_iter());
        prop_assert!(fewer.len() <= faults.len());
        for set in (0..1_u32 << FEW).map(Things::from) {
            prop_assert!((rate(&faults, set) - rate(&fewer, set)).abs() < 1e-12);
        }
    }
}

#[test]
fn what_no_load_reaches_is_said_and_everything_of_use_is_named() {
    let ways = |needs| vec![Way { needs, cures: 0.8 }];
    let faults = [
        Fault {
            chance: 0.5,
            causes: vec![ways(0b01)],
        },
        Fault {
            chance: 0.3,
            causes: vec![ways(0b10)],
        },
        Fault {
            chance: 0.2,
            causes: vec![Vec::new()],
        },
    ];
    let Load { things, rate, smallest } = smallest(&faults, 2, 0.9);
    assert_eq!((things, smallest), (0b11, false));
    assert!((rate - 0.64).abs() < 1e-12);
}

/// Over many calls drawn from the knowledge, the share put right is what was promised. `cargo run --release --example simulated_visits 20000`
/// measures it to a fraction of a point; here, within three standard errors.
#[test]
fn loads_keep_their_promise() {
    let half = |seed| std::thread::spawn(move || simulate(&ENGINE, seed, 120, &Wishes::default()));
    let (one, two) = (half(1), half(2));
    let all = one.join().expect("it runs").and(two.join().expect("it runs"));
    let n = f64::from(u32::try_from(all.visits).expect("a few hundred"));
    let error = (0.25 / n).sqrt();
    assert!(all.too_much().abs() < 3.0 * error, "{all:?}");
}

fn at(time: &str, event: Event) -> Entry {
    Entry {
        time: format!("2026-03-02T{time}:00Z"),
        event,
    }
}

fn opened(place: At) -> Event {
    ENGINE.opened(place, Who::Technician, None)
}

fn on_the_phone(signs: &[&str], symptom: &str) -> Vec<Entry> {
    let events = [
        opened(At::Phone),
        Event::Caller {
            at_gate: true,
            others: String::new(),
        },
        Event::Signs {
            yes: signs.iter().map(|s| (*s).to_owned()).collect(),
            unsure: Vec::new(),
        },
        Event::Complaint {
            words: "as told".to_owned(),
            symptoms: vec![symptom.to_owned()],
        },
    ];
    events.into_iter().map(|event| at("08:00", event)).collect()
}

fn answer(test: &str, outcome: usize, by: Rank) -> Event {
    let entry = &ENGINE.knowledge.tests[test];
    Event::Answer {
        test: test.to_owned(),
        outcome: entry.outcomes.get_index(outcome).map(|(id, _)| id.clone()),
        readings: BTreeMap::new(),
        said: None,
        by,
    }
}

fn resumed() -> Event {
    Event::Resumed {
        knowledge: ENGINE.knowledge.fingerprint.clone(),
        at: At::Gate,
    }
}

/// The first test that the plan asks a caller; facts before it are known to nobody.
fn asked(entries: &mut Vec<Entry>) -> String {
    for _ in 0..20 {
        match Call::in_memory(&ENGINE, entries.clone()).next_step() {
            Step::Test { test, .. } => return test,
            Step::Fact { fact, .. } => entries.push(at(
                "08:02",
                Event::Fact {
                    fact,
                    value: None,
                    from: None,
                },
            )),
            Step::Now => entries.push(at("08:02", now())),
            other => panic!("a question was expected: {other:?}"),
        }
    }
    panic!("facts without end");
}

fn now() -> Event {
    Event::Now {
        now: Now::Present,
        under: Vec::new(),
    }
}

#[test]
fn nobody_is_sent_alone_to_a_leaf_that_may_fall() {
    let call = Call::in_memory(&ENGINE, on_the_phone(&["leaf-off"], "stops-midway"));
    assert_eq!(call.next_step(), Step::PutOutOfUse);
    let mut entries = call.entries.clone();
    entries.push(at(
        "08:03",
        Event::OutOfUse {
            why: vec!["leaf-off".to_owned()],
            made_safe: true,
        },
    ));
    let call = Call::in_memory(&ENGINE, entries);
    assert!(matches!(call.next_step(), Step::Send { choice: None, .. }));
    let visit = plan(&call, &Wishes::default());
    assert_eq!(visit.people, 2);
    let page = render_visit(&visit, &Style::plain(80));
    assert!(page.contains("Nobody is sent alone"), "{page}");
    assert!(page.lines().all(|l| l.chars().count() <= 80), "{page}");
}

#[test]
fn a_tingle_sends_an_electrician() {
    let mut entries = on_the_phone(&["tingle"], "dead");
    entries.push(at(
        "08:03",
        Event::OutOfUse {
            why: vec!["tingle".to_owned()],
            made_safe: true,
        },
    ));
    let visit = plan(&Call::in_memory(&ENGINE, entries), &Wishes::default());
    assert_eq!(visit.who, Who::Electrician);
}

/// What a caller told counts until a technician looks; then only what was seen does, though the gate was asked about anew in between.
#[test]
fn at_the_gate_what_is_seen_takes_the_place_of_what_was_told() {
    let mut entries = on_the_phone(&[], "stops-midway");
    let test = asked(&mut entries);
    entries.push(at("08:03", answer(&test, 0, Rank::Told)));
    entries.push(at("11:00", resumed()));
    let arrived = Call::in_memory(&ENGINE, entries.clone());
    assert_eq!(arrived.next_step(), Step::Signs, "signs are looked for again");
    entries.push(at(
        "11:01",
        Event::Signs {
            yes: Vec::new(),
            unsure: Vec::new(),
        },
    ));
    entries.push(at("11:02", now()));
    let looked = Call::in_memory(&ENGINE, entries.clone());
    let id = ENGINE.model.test(&test).expect("a test");
    assert!(looked.answers()[0].counts);
    assert_eq!(looked.situation().told.get(&id), Some(&0));
    assert!(looked.situation().is_open(id), "the plan may choose to look again");
    entries.push(at("11:05", answer(&test, 1, Rank::Seen)));
    let seen = Call::in_memory(&ENGINE, entries.clone());
    let counts: Vec<bool> = seen.answers().iter().map(|a| a.counts).collect();
    assert_eq!(counts, [false, true]);
    assert!(seen.situation().told.is_empty());
    // The same belief as if the caller had never said it.
    let told = entries
        .iter()
        .position(|e| matches!(e.event, Event::Answer { by: Rank::Told, .. }));
    let mut without = entries;
    without.remove(told.expect("the caller's answer"));
    let without = Call::in_memory(&ENGINE, without);
    let (a, b) = (
        seen.belief().causes(&ENGINE.model),
        without.belief().causes(&ENGINE.model),
    );
    assert!(a.iter().zip(&b).all(|(a, b)| (a - b).abs() < 1e-12));
}

/// A caller who is certain tells as much as a look: then looking again saves nothing and costs its minutes.
#[test]
fn looking_again_is_worth_less_than_its_minutes_where_nothing_is_in_doubt() {
    let mut entries = on_the_phone(&[], "stops-midway");
    let test = asked(&mut entries);
    entries.push(at("08:03", answer(&test, 0, Rank::Told)));
    entries.push(at("11:00", resumed()));
    entries.push(at("11:02", now()));
    let call = Call::in_memory(&ENGINE, entries);
    let id = ENGINE.model.test(&test).expect("a test");
    let planner = ENGINE.planner();
    let mut fresh = call.situation().clone();
    fresh.told.clear();
    fresh.answered.remove(&id);
    let again = planner.price(call.situation(), call.belief(), Action::Test(id));
    let first = planner.price(&fresh, call.belief(), Action::Test(id));
    let (again, first) = (again.expect("on offer"), first.expect("on offer"));
    assert!(again >= first - 1e-9, "looking again {again}, first look {first}");
}

/// What a caller could not do stands in nobody's way at the gate.
#[test]
fn what_the_caller_could_not_tell_is_asked_of_the_technician() {
    let mut entries = on_the_phone(&[], "dead");
    let test = asked(&mut entries);
    entries.push(at(
        "08:03",
        Event::Cannot {
            target: pintle::call::Target::Test(test.clone()),
        },
    ));
    let id = ENGINE.model.test(&test).expect("a test");
    assert!(
        Call::in_memory(&ENGINE, entries.clone())
            .situation()
            .blocked
            .contains(&id)
    );
    entries.push(at("11:00", resumed()));
    assert!(Call::in_memory(&ENGINE, entries).situation().blocked.is_empty());
}

/// A junior who is tired takes whatever the tool puts before a caller. So nothing that is put before one may be more than looking, listening or
/// remembering, or what anyone may do; whatever the symptom and whatever the answers.
#[test]
fn nothing_is_asked_of_a_caller_that_only_a_technician_may_do() {
    let knowledge = &ENGINE.knowledge;
    for (n, symptom) in knowledge.symptoms.keys().enumerate() {
        let mut entries = on_the_phone(&[], symptom);
        entries.push(at("08:02", now()));
        for turn in 0..4 {
            let mut call = Call::in_memory(&ENGINE, entries.clone());
            let event = match call.next_step() {
                Step::Test { test, .. } => {
                    let entry = &knowledge.tests[&test];
                    assert_eq!(entry.who, Who::Anyone, "{symptom}: {test}");
                    assert!(entry.caller.is_some() && entry.unplugs.is_none(), "{symptom}: {test}");
                    assert_ne!(entry.moves, Moves::ByHand, "{symptom}: {test}");
                    assert!(entry.bands.is_empty(), "a caller has no meter: {test}");
                    answer(&test, (turn + n) % entry.outcomes.len(), Rank::Told)
                }
                Step::Fact { fact, .. } => {
                    assert!(knowledge.facts[&fact].caller.is_some(), "{symptom}: {fact}");
                    Event::Fact {
                        fact,
                        value: None,
                        from: None,
                    }
                }
                Step::Repair { repair, .. } => {
                    assert_eq!(knowledge.repairs[&repair].who, Who::Anyone, "{symptom}: {repair}");
                    break;
                }
                Step::PutOutOfUse => Event::OutOfUse {
                    why: vec!["danger".to_owned()],
                    made_safe: true,
                },
                Step::Entitlement => Event::Entitled {
                    how: "owner, in person".to_owned(),
                },
                Step::Condition { condition, .. } => Event::Condition { condition, done: true },
                Step::Send { .. } | Step::Finish { .. } => break,
                other => panic!("{symptom}: {other:?} before a caller"),
            };
            call.record(at("08:04", event)).expect("in memory");
            entries = call.entries;
        }
    }
}

/// What a caller says never gives a gate back to use.
/// A caller who was told to keep away has made nothing safe: at the gate it is done anew, by what a technician does.
#[test]
fn a_stop_told_on_the_phone_is_made_safe_at_the_gate() {
    let mut entries = on_the_phone(&["leaf-off"], "dead");
    let stop = Event::OutOfUse {
        why: vec!["leaf-off".to_owned()],
        made_safe: true,
    };
    entries.push(at("08:03", stop));
    assert!(!matches!(
        Call::in_memory(&ENGINE, entries.clone()).next_step(),
        Step::PutOutOfUse
    ));
    let signs = Event::Signs {
        yes: vec!["leaf-off".to_owned()],
        unsure: Vec::new(),
    };
    entries.extend([at("11:00", resumed()), at("11:01", signs)]);
    assert!(matches!(
        Call::in_memory(&ENGINE, entries).next_step(),
        Step::PutOutOfUse
    ));
}

#[test]
fn a_stop_is_not_lifted_on_the_phone() {
    for symptom in ENGINE.knowledge.symptoms.keys() {
        let mut entries = on_the_phone(&[], symptom);
        entries.push(at("08:02", now()));
        let first = Call::in_memory(&ENGINE, entries.clone());
        if first.stop().is_none() {
            continue;
        }
        let danger = Event::OutOfUse {
            why: vec!["danger: kill".to_owned()],
            made_safe: true,
        };
        entries.push(at("08:03", danger));
        let told = (0..ENGINE.model.tests.len())
            .map(TestId::at)
            .filter(|t| ENGINE.planner().costs().test(*t).by_phone)
            .take(12);
        for test in told {
            let (id, _) = ENGINE.knowledge.tests.get_index(test.index()).expect("a test");
            entries.push(at("08:04", answer(id, 0, Rank::Told)));
        }
        assert!(Call::in_memory(&ENGINE, entries).stop().is_some(), "{symptom}");
    }
}
