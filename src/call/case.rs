//! A case file as an answerer: it answers what it lists, and the walk is judged by what it came to.

use std::collections::{BTreeMap, BTreeSet};

use super::answerer::{Answerer, Outcome, Reply, walk};
use super::event::{Event, Rank, Seen, Target};
use super::plain::plain_answer;
use super::state::Call;
use super::step::{Purpose, Step};
use super::{Engine, Entry};
use crate::knowledge::schema::{At, Case, CaseReading, CaseRepair, Ending, Moves, Now, Test, Who};

/// Answers steps from a case.
pub struct CaseAnswerer<'a> {
    case: &'a Case,
    engine: &'a Engine,
    left: BTreeSet<String>,
    /// Tests asked that the case does not list.
    pub unlisted: Vec<String>,
    /// Tests asked and repairs done.
    pub steps: usize,
    /// Ranking whenever the walk stopped to repair or to end.
    pub stops: Vec<Vec<(String, f64)>>,
    /// Steps that should not have been offered.
    pub unsafe_steps: Vec<String>,
    /// What was asked, in order, with the answer.
    pub path: Vec<String>,
    nothing: f64,
}

/// What came of a case.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct CaseResult {
    /// Title of the case.
    pub title: String,
    /// Why it failed; empty: passed.
    pub failures: Vec<String>,
    /// Tests asked and repairs done.
    pub steps: usize,
    /// Minutes of work, walking, opening and switching.
    pub minutes: f64,
    /// Tests asked that the case does not list.
    pub unlisted: Vec<String>,
    /// How the call ended.
    pub ending: Option<Ending>,
    /// First five of the ranking when the walk stopped.
    pub ranking: Vec<(String, f64)>,
    /// Whether the true causes were among the first three then.
    pub in_first_three: bool,
    /// What was asked, in order.
    pub path: Vec<String>,
}

impl<'a> CaseAnswerer<'a> {
    /// An answerer for a case.
    #[must_use]
    pub fn new(engine: &'a Engine, case: &'a Case) -> Self {
        Self {
            case,
            engine,
            left: case.causes.iter().cloned().collect(),
            unlisted: Vec::new(),
            steps: 0,
            stops: Vec::new(),
            unsafe_steps: Vec::new(),
            path: Vec::new(),
            nothing: 0.0,
        }
    }

    fn watch_safety(&mut self, call: &Call<'_>, what: &str, moves: Moves) {
        let signs = call.stop().is_some_and(|s| !s.signs.is_empty());
        let wrong = match moves {
            Moves::No => false,
            Moves::Commanded => call.situation().device_off || call.stop().is_some(),
            Moves::ByHand => call.situation().device_off || signs,
        };
        if wrong {
            self.unsafe_steps.push(what.to_owned());
        }
    }

    /// A test that only what was cured bears on shows what a healthy gate shows; the case tells of the time before.
    fn after_cure(&self, id: &str) -> Option<Event> {
        let bears = |c: &String| {
            self.engine
                .knowledge
                .causes
                .get(c)
                .is_some_and(|c| c.shows.contains_key(id))
        };
        let cured = self.case.causes.iter().filter(|c| !self.left.contains(*c)).any(bears);
        if !cured || self.left.iter().any(bears) {
            return None;
        }
        let test = &self.engine.knowledge.tests[id];
        let table = &self.engine.model.tests[self.engine.model.test(id)?.index()];
        let (at, _) = table.healthy.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
        let target = Target::Test(id.to_owned());
        Some(match test.outcomes.get_index(at) {
            Some((outcome, _)) => Event::Answer {
                test: id.to_owned(),
                outcome: Some(outcome.clone()),
                readings: BTreeMap::new(),
                said: None,
                by: if self.case.at == At::Phone {
                    Rank::Told
                } else {
                    Rank::Seen
                },
            },
            None => Event::Cannot { target },
        })
    }

    fn test(&mut self, id: &str) -> Event {
        if let Some(event) = self.after_cure(id) {
            self.path.push(format!("{id}: as after the repair"));
            return event;
        }
        let test = &self.engine.knowledge.tests[id];
        let cannot = Event::Cannot {
            target: Target::Test(id.to_owned()),
        };
        let Some(listed) = self.case.readings.get(id) else {
            self.unlisted.push(id.to_owned());
            self.path.push(format!("{id}: not listed"));
            return cannot;
        };
        if let Some(event) = answer_event(id, test, listed, self.case.at) {
            self.path.push(format!("{id}: {}", shown(listed)));
            event
        } else {
            self.path.push(format!("{id}: can't"));
            cannot
        }
    }

    fn repair(&mut self, id: &str) -> Event {
        self.path.push(format!("repair {id}"));
        let listed = self.case.repairs.get(id).copied();
        if listed == Some(CaseRepair::Cannot) {
            return Event::Cannot {
                target: Target::Repair(id.to_owned()),
            };
        }
        if listed != Some(CaseRepair::Fails) {
            let cures = &self.engine.knowledge.repairs[id].cures;
            self.left.retain(|c| !cures.contains_key(c));
        }
        Event::Repaired {
            repair: id.to_owned(),
            note: String::new(),
        }
    }

    fn symptom_left(&self, symptom: &str) -> bool {
        let makes = |c: &String| {
            self.engine
                .knowledge
                .causes
                .get(c)
                .is_some_and(|c| c.symptoms.contains_key(symptom))
        };
        self.left.iter().any(makes)
    }

    /// Whether a cause that is left fails a line of the safety retest.
    fn fails(&self, line: &str) -> bool {
        let causes = &self.engine.knowledge.causes;
        let mut left = self.left.iter().filter_map(|c| causes.get(c));
        left.any(|c| c.fails.iter().any(|l| l == line))
    }

    fn note_ranking(&mut self, call: &Call<'_>) {
        let mut ranking: Vec<(String, f64)> = self
            .engine
            .knowledge
            .causes
            .keys()
            .cloned()
            .zip(call.belief().causes(&self.engine.model))
            .collect();
        ranking.sort_by(|a, b| b.1.total_cmp(&a.1));
        ranking.truncate(5);
        self.nothing = call.belief().nothing();
        self.stops.push(ranking);
    }
}

/// The event that gives a case's answer to a test; `None` where it says `cannot` or the reading says nothing.
#[must_use]
pub(crate) fn answer_event(id: &str, test: &Test, listed: &CaseReading, at: At) -> Option<Event> {
    let seen = if at == At::Phone { Rank::Told } else { Rank::Seen };
    if !test.outcomes.is_empty() {
        let CaseReading::Text(outcome) = listed else {
            return None;
        };
        return test.outcomes.contains_key(outcome).then(|| Event::Answer {
            test: id.to_owned(),
            outcome: Some(outcome.clone()),
            readings: BTreeMap::new(),
            said: None,
            by: seen,
        });
    }
    let readings: BTreeMap<String, String> = match listed {
        CaseReading::Text(text) if text == "cannot" => return None,
        CaseReading::Text(text) => test
            .readings
            .keys()
            .take(1)
            .map(|r| (r.clone(), text.clone()))
            .collect(),
        CaseReading::Readings(map) => map.iter().map(|(r, t)| (r.clone(), t.clone())).collect(),
    };
    Some(Event::Answer {
        test: id.to_owned(),
        outcome: None,
        readings,
        said: None,
        by: Rank::Measured,
    })
}

fn shown(listed: &CaseReading) -> String {
    match listed {
        CaseReading::Text(text) => text.clone(),
        CaseReading::Readings(map) => map
            .iter()
            .map(|(r, t)| format!("{r} {t}"))
            .collect::<Vec<_>>()
            .join(", "),
    }
}

impl Answerer for CaseAnswerer<'_> {
    type Error = std::convert::Infallible;

    fn answer(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, Self::Error> {
        let stops = matches!(step, Step::Finish { .. } | Step::Send { .. });
        let cured = call.repairs().last().is_some_and(|r| r.all_gone(call.symptoms()));
        if stops && !cured {
            self.note_ranking(call);
        }
        if let Some(event) = plain_answer(call, step) {
            return Ok(Reply::Events(vec![event]));
        }
        let event = match step {
            Step::Signs => Event::Signs {
                yes: self.case.signs.clone(),
                unsure: Vec::new(),
            },
            Step::Complaint => Event::Complaint {
                words: self.case.says.join("; "),
                symptoms: self.case.symptoms.clone(),
            },
            Step::Fact { fact, .. } => Event::Fact {
                fact: fact.clone(),
                value: self.case.site.get(fact).map(|v| v.0.clone()),
                from: None,
            },
            Step::Now => Event::Now {
                now: self.case.now,
                under: self.case.under.clone(),
            },
            Step::Test { test, purpose } => {
                // Looking for what goes with a cured fault is no part of finding it.
                if !matches!(purpose, Purpose::AlsoCheck { .. }) {
                    self.steps += 1;
                }
                let moves = self.engine.knowledge.tests[test].moves;
                self.watch_safety(call, test, moves);
                self.test(test)
            }
            Step::Repair { repair, purpose } => {
                // What goes with a cured fault was no part of finding the only one that the case has.
                if !matches!(purpose, Purpose::AlsoCheck { .. }) || self.case.causes.len() > 1 {
                    self.steps += 1;
                    self.note_ranking(call);
                }
                let moves = self.engine.knowledge.repairs[repair].moves;
                self.watch_safety(call, repair, moves);
                self.repair(repair)
            }
            Step::Proof { symptom, .. } => {
                let seen = if self.symptom_left(symptom) {
                    Seen::StillThere
                } else {
                    Seen::Gone
                };
                Event::Proof {
                    symptom: symptom.clone(),
                    seen,
                }
            }
            Step::Watch => Event::Watched {
                shown: self.case.now == Now::Present && !self.left.is_empty(),
            },
            Step::Retest { line } => Event::Retest {
                line: line.clone(),
                passed: Some(!self.fails(line)),
                note: String::new(),
                each: Vec::new(),
            },
            _ => return Ok(Reply::Events(Vec::new())),
        };
        Ok(Reply::Events(vec![event]))
    }

    fn now(&self) -> String {
        "2026-01-01T08:00:00Z".to_owned()
    }
}

/// Plays a case to its end and judges it.
#[must_use]
pub fn play<'a>(engine: &'a Engine, case: &'a Case) -> (CaseResult, Call<'a>) {
    let mut call = Call::in_memory(engine, Vec::new());
    let opened = engine.opened(case.at, Who::Technician, None);
    let mut answerer = CaseAnswerer::new(engine, case);
    let time = answerer.now();
    let recorded = call.record(Entry { time, event: opened });
    let outcome = recorded
        .ok()
        .and_then(|()| walk(&mut call, &mut answerer).ok())
        .unwrap_or(Outcome::Stuck);
    let result = judge(engine, case, &answerer, &call, outcome);
    (result, call)
}

fn judge(engine: &Engine, case: &Case, answerer: &CaseAnswerer<'_>, call: &Call<'_>, outcome: Outcome) -> CaseResult {
    let mut failures = Vec::new();
    if outcome != Outcome::Ended {
        failures.push("the walk did not come to an end".to_owned());
    }
    let same = |a: &str, b: &str| {
        a == b
            || case
                .expect
                .either
                .iter()
                .any(|g| g.iter().any(|x| x == a) && g.iter().any(|x| x == b))
    };
    let first = |ranking: &Vec<(String, f64)>| ranking.first().map(|(id, _)| id.clone()).unwrap_or_default();
    let last = answerer.stops.last().cloned().unwrap_or_default();
    match case.causes.as_slice() {
        // Nobody has looked yet: what counts is whether the truck has what it takes.
        causes if sent(call) => {
            let ids: Vec<_> = causes.iter().filter_map(|c| engine.model.cause(c)).collect();
            let missing = call.visit().filter(|plan| plan.settles(engine, call, &ids) < 0.5);
            if missing.is_some() {
                failures.push(format!(
                    "somebody is sent, but not with what {} takes",
                    causes.join(" and ")
                ));
            }
        }
        [] => {
            if last.first().is_some_and(|(_, p)| *p > answerer.nothing)
                && call.ending().map(|e| e.0) != Some(Ending::NoFaultFound)
            {
                failures.push(format!("nothing is wrong, but {} leads", first(&last)));
            }
        }
        [cause] => {
            if !same(&first(&last), cause) {
                failures.push(format!("{} leads, not {cause}", first(&last)));
            }
        }
        causes => {
            let two = |ranking: &Vec<(String, f64)>| {
                causes
                    .iter()
                    .all(|c| ranking.iter().take(causes.len()).any(|(id, _)| same(id, c)))
            };
            let in_turn = causes.iter().all(|c| answerer.stops.iter().any(|r| same(&first(r), c)));
            if !in_turn && !answerer.stops.iter().take(2).any(two) {
                failures.push(format!("not both of {} lead", causes.join(", ")));
            }
        }
    }
    failures.extend(
        case.expect
            .not
            .iter()
            .filter(|n| first(&last) == **n)
            .map(|n| format!("{n} is named")),
    );
    let ending = call.ending().map(|e| e.0);
    if let Some(expected) = case.expect.ending
        && ending != Some(expected)
    {
        let got = ending.map_or("nothing", Ending::say);
        failures.push(format!("ends as {got}, not {}", expected.say()));
    }
    if let Some(most) = case.expect.max_steps
        && answerer.steps > most
    {
        failures.push(format!("{} steps, more than {most}", answerer.steps));
    }
    failures.extend(
        answerer
            .unsafe_steps
            .iter()
            .map(|s| format!("unsafe step offered: {s}")),
    );
    let in_first_three = case.causes.iter().all(|c| {
        answerer
            .stops
            .iter()
            .any(|r| r.iter().take(3).any(|(id, _)| same(id, c)))
    });
    CaseResult {
        title: case.title.clone(),
        failures,
        steps: answerer.steps,
        minutes: minutes(engine, call),
        unlisted: answerer.unlisted.clone(),
        ending,
        ranking: last,
        in_first_three,
        path: answerer.path.clone(),
    }
}

/// Whether the call came to a visit with nothing put right before.
fn sent(call: &Call<'_>) -> bool {
    call.visit().is_some() && call.repairs().is_empty()
}

/// Minutes of a call: every test, repair, way, cover and condition, at the knowledge's own figures.
#[must_use]
pub fn minutes(engine: &Engine, call: &Call<'_>) -> f64 {
    let planner = engine.planner();
    let costs = planner.costs();
    let mut standing = crate::plan::Standing::arriving();
    let mut total = 0.0;
    for (i, entry) in call.entries.iter().enumerate() {
        if call.retracted().contains(&i) {
            continue;
        }
        let action = match &entry.event {
            Event::Answer { test, .. } => engine.model.test(test).map(|t| (costs.test(t), costs.test(t).minutes)),
            Event::Repaired { repair, .. } => engine
                .model
                .repair(repair)
                .map(|r| (costs.repair(r), engine.knowledge.repairs[r.index()].minutes)),
            Event::Condition { condition, done: true } => {
                if !standing.conditions.contains(condition) {
                    total += costs.switching(*condition);
                    standing.switch(*condition);
                }
                None
            }
            Event::Shortcut { shortcut } => {
                total += engine.knowledge.shortcuts.get(shortcut).map_or(0.0, |s| s.minutes);
                None
            }
            _ => None,
        };
        if let Some((action, own)) = action {
            total += own + costs.access(action, &standing);
            costs.go(action, &mut standing);
        }
    }
    total
}
