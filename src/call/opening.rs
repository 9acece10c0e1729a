//! What the walk opens with for each symptom, at a site of which nobody knows anything.

use serde::Serialize;

use super::event::Event;
use super::step::{Purpose, Step};
use super::{Call, Engine, Entry};
use crate::knowledge::schema::{At, Now, Severity, Who};
use crate::model::SiteFacts;
use crate::plan::Action;

/// How a walk opens.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Opening {
    /// Id of the symptom.
    pub symptom: String,
    /// What is reported.
    pub title: String,
    /// The first step.
    pub first: First,
    /// Why the danger comes first, where it does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub danger: Option<Danger>,
}

/// A first step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum First {
    /// A test.
    Test {
        /// Its id.
        id: String,
        /// Its title.
        title: String,
    },
    /// A repair at once.
    Repair {
        /// Its id.
        id: String,
        /// Its title.
        title: String,
    },
    /// A question about the site.
    Fact {
        /// Its id.
        id: String,
        /// The question.
        title: String,
    },
    /// Out of use: a danger is too likely, and no safe step settles it.
    Stop,
    /// Nothing here can help: run and watch, or hand it on.
    End {
        /// In a few words.
        title: String,
    },
}

/// A danger at or over its threshold before the first answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Danger {
    /// How bad.
    pub severity: Severity,
    /// Chance that a cause of that severity or worse is there.
    pub chance: f64,
    /// The likeliest of them: title and chance, three at most.
    pub causes: Vec<(String, f64)>,
}

/// How the walk opens for every symptom at a site, a technician at the gate and the symptom there. Meant for knowledge without errors.
#[must_use]
pub fn openings(engine: &Engine, site: &SiteFacts) -> Vec<Opening> {
    let symptoms = engine.knowledge.symptoms.iter();
    symptoms
        .map(|(id, symptom)| open(engine, id, &symptom.title, site))
        .collect()
}

/// How the walk opens for one symptom at a site of which nothing is known; `None` if there is no such symptom.
#[must_use]
pub fn opening(engine: &Engine, symptom: &str) -> Option<Opening> {
    let entry = engine.knowledge.symptoms.get(symptom)?;
    Some(open(engine, symptom, &entry.title, &SiteFacts::unknown()))
}

fn open(engine: &Engine, symptom: &str, title: &str, site: &SiteFacts) -> Opening {
    let call = Call::in_memory(engine, entries(engine, symptom, site));
    let danger = danger(engine, &call);
    let (step, settles) = match call.next_step() {
        step @ Step::Test {
            purpose: Purpose::Settles,
            ..
        } => (step, true),
        step => (step, danger.is_some() && call.stop().is_none()),
    };
    let first = first(engine, &call, &step, settles);
    Opening {
        symptom: symptom.to_owned(),
        title: title.to_owned(),
        danger: danger.filter(|_| settles || first == First::Stop),
        first,
    }
}

/// No sign of danger, every opening question answered with what is known of the site or "nobody knows", the symptom there.
fn entries(engine: &Engine, symptom: &str, site: &SiteFacts) -> Vec<Entry> {
    let knowledge = &engine.knowledge;
    let mut events = vec![
        Event::Opened {
            knowledge: knowledge.fingerprint.clone(),
            packs: knowledge.titles.clone(),
            at: At::Gate,
            who: Who::Technician,
            site: None,
        },
        Event::Signs {
            yes: Vec::new(),
            unsure: Vec::new(),
        },
        Event::Complaint {
            words: String::new(),
            symptoms: vec![symptom.to_owned()],
        },
    ];
    let asked = knowledge
        .facts
        .iter()
        .filter(|(id, fact)| fact.opening || site.get(id).is_some());
    events.extend(asked.map(|(fact, _)| Event::Fact {
        fact: fact.clone(),
        value: site.get(fact).map(str::to_owned),
        from: None,
    }));
    events.push(Event::Now {
        now: Now::Present,
        under: Vec::new(),
    });
    let at = |event| Entry {
        time: "2026-01-01T08:00:00Z".to_owned(),
        event,
    };
    events.into_iter().map(at).collect()
}

fn danger(engine: &Engine, call: &Call<'_>) -> Option<Danger> {
    let model = &engine.model;
    let belief = call.belief();
    let severity = crate::plan::over_threshold(model, belief, model.settings.stop_at, 1.0)?;
    let chances = belief.causes(model);
    let mut causes: Vec<(String, f64)> = engine
        .knowledge
        .causes
        .values()
        .zip(chances)
        .filter(|(cause, p)| cause.severity >= severity && *p > 0.0)
        .map(|(cause, p)| (cause.title.clone(), p))
        .collect();
    causes.sort_by(|a, b| b.1.total_cmp(&a.1));
    causes.truncate(3);
    Some(Danger {
        severity,
        chance: belief.danger(model, severity),
        causes,
    })
}

/// The step itself, or what a condition or a confirmation is asked for.
fn first(engine: &Engine, call: &Call<'_>, step: &Step, settles: bool) -> First {
    let knowledge = &engine.knowledge;
    let test = |id: &str| First::Test {
        id: id.to_owned(),
        title: knowledge.tests.get(id).map(|t| t.title.clone()).unwrap_or_default(),
    };
    let repair = |id: &str| First::Repair {
        id: id.to_owned(),
        title: knowledge.repairs.get(id).map(|r| r.title.clone()).unwrap_or_default(),
    };
    let fact = |id: &str| First::Fact {
        id: id.to_owned(),
        title: knowledge.facts.get(id).map(|f| f.ask.clone()).unwrap_or_default(),
    };
    match step {
        Step::Test { test: id, .. } => test(id),
        Step::Repair { repair: id, .. } => repair(id),
        Step::Fact { fact: id, .. } => fact(id),
        Step::PutOutOfUse => First::Stop,
        Step::Finish { why, .. } => First::End { title: why.clone() },
        Step::Watch => First::End {
            title: "run it and watch".to_owned(),
        },
        _ => {
            let action = match call.settling_test().filter(|_| settles) {
                Some(test) => Action::Test(test),
                None => call.choice().action,
            };
            match action {
                Action::Test(t) => test(key(&knowledge.tests, t.index())),
                Action::Repair(r) => repair(key(&knowledge.repairs, r.index())),
                Action::Fact(f) => fact(key(&knowledge.facts, f.index())),
                Action::NoFaultFound => First::End {
                    title: "run it and watch".to_owned(),
                },
                Action::Visit | Action::Refer => First::End {
                    title: "hand it on".to_owned(),
                },
            }
        }
    }
}

fn key<T>(entries: &crate::knowledge::schema::Entries<T>, at: usize) -> &str {
    entries.get_index(at).map_or("", |(id, _)| id.as_str())
}
