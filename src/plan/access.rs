//! Where the work is, what is open, what is switched: the part of a step's cost that depends on what was done before it.

use std::collections::BTreeSet;

use crate::formula::Formula;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Condition, Repair, Test, Who};
use crate::model::{CauseId, RepairId, TestId};

/// Where the technician is and what has been opened and switched.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Standing {
    /// Index of the place; `None` before anything was done anywhere.
    pub at: Option<usize>,
    /// Covers that are open.
    pub open: BTreeSet<usize>,
    /// Conditions that hold.
    pub conditions: BTreeSet<Condition>,
    /// Somebody came to the gate: the visit is the outermost cover of all that a caller can't do.
    pub visiting: bool,
}

impl Standing {
    /// At the start of a visit: nowhere yet, nothing open, powered as found.
    #[must_use]
    pub fn arriving() -> Self {
        Self {
            at: None,
            open: BTreeSet::new(),
            conditions: BTreeSet::from([Condition::Powered]),
            visiting: true,
        }
    }

    /// With a caller on the phone: as at the start of a visit, but nobody has come yet.
    #[must_use]
    pub fn on_the_phone() -> Self {
        Self {
            visiting: false,
            ..Self::arriving()
        }
    }

    /// Brings a condition about; powered and isolated exclude each other.
    pub fn switch(&mut self, condition: Condition) {
        match condition {
            Condition::Powered => self.conditions.remove(&Condition::Isolated),
            Condition::Isolated => self.conditions.remove(&Condition::Powered),
            Condition::HeldOff | Condition::LeafSecured => false,
        };
        self.conditions.insert(condition);
    }
}

/// What one action costs by itself and where it is done.
#[derive(Debug, Clone)]
pub struct ActionCosts {
    /// Minutes of work, with parts at the labour rate.
    pub minutes: f64,
    /// Place, if the pack has places.
    pub place: Option<usize>,
    /// Covers from the outermost in.
    pub covers: Vec<usize>,
    /// Conditions it needs.
    pub needs: Vec<Condition>,
    /// Tests that must have an answer first.
    pub after: Vec<TestId>,
    /// Facts whose number its formula needs.
    pub numbers: Vec<String>,
    /// Causes with which it is dangerous.
    pub not_with: Vec<CauseId>,
    /// A caller can do it or be asked it: it needs no visit.
    pub by_phone: bool,
}

/// The costs of a pack, by index.
#[derive(Debug, Clone)]
pub struct Costs {
    /// By [`TestId`].
    pub tests: Vec<ActionCosts>,
    /// By [`RepairId`].
    pub repairs: Vec<ActionCosts>,
    /// What repairs share on the way to them.
    pub(crate) reaches: Reaches,
    walk: Vec<f64>,
    cover: Vec<f64>,
    condition: Vec<(Condition, f64)>,
    /// Travel and call-out.
    visit: f64,
    proof_run: f64,
    /// Minutes of each fact that is a choice or a number.
    pub facts: Vec<f64>,
}

impl Costs {
    /// Reads the costs out of knowledge.
    #[must_use]
    pub fn new(knowledge: &Knowledge) -> Self {
        let place = |id: &Option<String>| id.as_ref().and_then(|id| knowledge.places.get_index_of(id));
        let covers = |inside: &Option<String>| {
            let mut path = Vec::new();
            let mut next = inside.clone();
            while let Some(at) = next.as_ref().and_then(|id| knowledge.covers.get_index_of(id)) {
                if path.contains(&at) {
                    break;
                }
                path.push(at);
                next.clone_from(&knowledge.covers[at].inside);
            }
            path.reverse();
            path
        };
        let after = |ids: &[String]| {
            ids.iter()
                .filter_map(|id| knowledge.tests.get_index_of(id))
                .map(TestId::at)
                .collect::<Vec<_>>()
        };
        let causes = |ids: &[String]| {
            ids.iter()
                .filter_map(|id| knowledge.causes.get_index_of(id))
                .map(CauseId::at)
                .collect::<Vec<_>>()
        };
        let per_minute = knowledge.settings.labour_per_hour / 60.0;
        let test = |t: &Test| ActionCosts {
            minutes: t.minutes,
            place: place(&t.place),
            covers: covers(&t.inside),
            needs: t.needs.clone(),
            after: after(&t.after),
            numbers: number_facts(knowledge, t),
            not_with: causes(&t.not_with),
            by_phone: t.who == Who::Anyone && t.caller.is_some(),
        };
        let repair = |r: &Repair| ActionCosts {
            minutes: r.minutes
                + if r.parts.is_empty() {
                    0.0
                } else {
                    r.parts.iter().map(|p| p.price).sum::<f64>() / per_minute
                },
            place: place(&r.place),
            covers: covers(&r.inside),
            needs: r.needs.clone(),
            after: after(&r.after),
            numbers: Vec::new(),
            not_with: causes(&r.not_with),
            by_phone: r.who == Who::Anyone,
        };
        let repairs: Vec<ActionCosts> = knowledge.repairs.values().map(repair).collect();
        Self {
            tests: knowledge.tests.values().map(test).collect(),
            reaches: Reaches::new(&repairs),
            repairs,
            walk: knowledge.places.values().map(|p| p.walk).collect(),
            cover: knowledge.covers.values().map(|c| c.minutes).collect(),
            condition: Condition::ALL
                .iter()
                .map(|c| (*c, knowledge.conditions.get(c.id()).map_or(0.0, |how| how.minutes)))
                .collect(),
            visit: knowledge.settings.travel_minutes,
            proof_run: knowledge.settings.proof_minutes,
            facts: knowledge.facts.values().map(|f| f.minutes).collect(),
        }
    }

    /// Minutes to get there: the visit, if nobody has come yet and a caller can't do it, walking, opening every cover on the path that is not open, switching every condition that is needed and does not hold.
    /// Closing and restoring are charged with opening. Nobody walks for what a caller is asked on the phone.
    #[must_use]
    pub fn access(&self, action: &ActionCosts, standing: &Standing) -> f64 {
        let walk = match (standing.at, action.place) {
            _ if on_the_phone(action, standing) => 0.0,
            (Some(here), Some(there)) if here != there => self.walk[here] + self.walk[there],
            (None, Some(there)) => self.walk[there],
            _ => 0.0,
        };
        let opening: f64 = action
            .covers
            .iter()
            .filter(|c| !standing.open.contains(c))
            .map(|&c| self.cover[c])
            .sum();
        let switching: f64 = action
            .needs
            .iter()
            .filter(|c| !standing.conditions.contains(c))
            .map(|&c| self.switching(c))
            .sum();
        self.visit(action, standing) + walk + opening + switching
    }

    /// Travel and call-out, where an action needs somebody to come.
    #[must_use]
    pub fn visit(&self, action: &ActionCosts, standing: &Standing) -> f64 {
        if standing.visiting || action.by_phone {
            0.0
        } else {
            self.visit
        }
    }

    /// Minutes of travel and call-out.
    #[must_use]
    pub fn travel(&self) -> f64 {
        self.visit
    }

    /// Minutes to bring a condition about.
    #[must_use]
    pub fn switching(&self, condition: Condition) -> f64 {
        self.condition
            .iter()
            .find(|(c, _)| *c == condition)
            .map_or(0.0, |(_, minutes)| *minutes)
    }

    /// Where one stands after the action.
    pub fn go(&self, action: &ActionCosts, standing: &mut Standing) {
        if !on_the_phone(action, standing) {
            standing.visiting = true;
            standing.at = action.place.or(standing.at);
        }
        standing.open.extend(action.covers.iter().copied());
        for &condition in &action.needs {
            standing.switch(condition);
        }
    }

    /// Minutes to run the gate for proof: powering it again if it was isolated, and the run.
    #[must_use]
    pub fn proof(&self, standing: &Standing) -> f64 {
        let powering = if standing.conditions.contains(&Condition::Powered) {
            0.0
        } else {
            self.switching(Condition::Powered)
        };
        powering + self.proof_run
    }

    /// Costs of a test.
    #[must_use]
    pub fn test(&self, id: TestId) -> &ActionCosts {
        &self.tests[id.index()]
    }

    /// Costs of a repair.
    #[must_use]
    pub fn repair(&self, id: RepairId) -> &ActionCosts {
        &self.repairs[id.index()]
    }
}

/// Whether the action is done by a caller while nobody has come.
fn on_the_phone(action: &ActionCosts, standing: &Standing) -> bool {
    action.by_phone && !standing.visiting
}

/// Groups of repairs that are reached alike: at the same place, inside the same covers, under the same conditions.
#[derive(Debug, Clone)]
pub(crate) struct Reaches {
    /// Group of each repair, by [`RepairId`].
    of: Vec<usize>,
    /// By group and group: whether the second costs nothing to reach right after the first.
    free: Vec<Vec<bool>>,
}

impl Reaches {
    fn new(repairs: &[ActionCosts]) -> Self {
        let mut examples: Vec<&ActionCosts> = Vec::new();
        let of = repairs
            .iter()
            .map(|r| {
                let alike = |e: &&ActionCosts| free_with(e, r) && free_with(r, e);
                examples.iter().position(alike).unwrap_or_else(|| {
                    examples.push(r);
                    examples.len() - 1
                })
            })
            .collect();
        let free_after = |a: &ActionCosts| examples.iter().map(|b| free_with(a, b)).collect();
        Self {
            of,
            free: examples.iter().map(|a| free_after(a)).collect(),
        }
    }

    /// How many groups there are.
    pub(crate) fn len(&self) -> usize {
        self.free.len()
    }

    /// The group of a repair.
    pub(crate) fn of(&self, repair: RepairId) -> usize {
        self.of[repair.index()]
    }

    /// Whether a repair of group b costs nothing to reach right after one of group a.
    pub(crate) fn free_with(&self, a: usize, b: usize) -> bool {
        self.free[a][b]
    }
}

/// Whether b costs nothing to reach right after a.
fn free_with(a: &ActionCosts, b: &ActionCosts) -> bool {
    let came = b.by_phone || !a.by_phone;
    came && a.place == b.place
        && b.needs.iter().all(|n| a.needs.contains(n))
        && b.covers.iter().all(|c| a.covers.contains(c))
}

/// Facts that a test's formula names and that are numbers.
fn number_facts(knowledge: &Knowledge, test: &Test) -> Vec<String> {
    let Some(formula) = test.value.as_deref().and_then(|text| Formula::parse(text).ok()) else {
        return Vec::new();
    };
    formula
        .variables()
        .into_iter()
        .filter_map(|(name, _)| knowledge.fact_named(&name))
        .filter(|(_, fact)| fact.number.is_some())
        .map(|(id, _)| id.to_owned())
        .collect()
}
