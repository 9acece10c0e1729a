//! What may be loaded for a call, and which fault each thing is of use for.

use std::collections::{BTreeMap, BTreeSet};

use super::load::{self, Fault, Things, Way};
use crate::belief::{Belief, Evidence, Hypothesis};
use crate::call::Engine;
use crate::knowledge::schema::{Repair, Who};
use crate::model::{CauseId, RepairId, SiteFacts, TestId};
use crate::plan::Situation;

/// More different things than a set can hold are left out, the least useful first: what needs them counts as not put right.
const MOST_THINGS: usize = 128;
/// Share of the posterior that is looked at; the rest counts as not put right, so that a promise errs on the safe side.
const LOOKED_AT: f64 = 0.999;

/// Something that is on the truck or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Thing<'a> {
    /// A part, by its name.
    Part(&'a str),
    /// A tool, by its name.
    Tool(&'a str),
}

impl<'a> Thing<'a> {
    pub(super) fn name(self) -> &'a str {
        match self {
            Self::Part(name) | Self::Tool(name) => name,
        }
    }
}

/// What may be loaded, and the faults it is for.
pub(super) struct Problem<'a> {
    pub(super) things: Vec<Thing<'a>>,
    pub(super) faults: Vec<Fault>,
    /// Each cause that may be there, its chance, and the ways to put it right.
    pub(super) causes: Vec<(CauseId, Fault)>,
}

/// A way before things have numbers.
struct Needed<'a> {
    things: BTreeSet<Thing<'a>>,
    cures: f64,
}

/// Everything that the knowledge needs a place on the truck for, at a site as far as it is known.
pub(super) struct Truck<'a> {
    engine: &'a Engine,
    site: &'a SiteFacts,
    /// The most that whoever goes may do.
    going: Who,
    /// Names that are on the truck anyway.
    carried: BTreeSet<&'a str>,
    /// Names of parts: a tool of that name is the same thing, lent for a test.
    parts: BTreeSet<&'a str>,
}

impl<'a> Truck<'a> {
    pub(super) fn new(engine: &'a Engine, site: &'a SiteFacts, going: Who, carried: &'a BTreeSet<String>) -> Self {
        let kit = engine.knowledge.kit.values();
        let on_it = kit.filter(|piece| site.holds(&piece.when) != Some(false));
        Self {
            engine,
            site,
            going,
            parts: engine.knowledge.parts().map(|p| p.name.as_str()).collect(),
            carried: on_it
                .flat_map(|p| &p.covers)
                .chain(carried)
                .map(String::as_str)
                .collect(),
        }
    }

    /// Chance that these causes are put right with these things, by their names.
    pub(super) fn settles(&self, causes: &[CauseId], loaded: &BTreeSet<String>) -> f64 {
        let nothing = Situation::starting(Evidence::reported(Vec::new()));
        let at_hand = |way: &&Needed<'_>| way.things.iter().all(|t| loaded.contains(t.name()));
        let cured = |cause: &CauseId| {
            let ways = self.ways(&nothing, *cause);
            1.0 - ways.iter().filter(at_hand).map(|w| 1.0 - w.cures).product::<f64>()
        };
        causes.iter().map(cured).product()
    }

    /// The problem that a belief poses in a situation.
    pub(super) fn problem(&self, situation: &Situation, belief: &Belief) -> Problem<'a> {
        let mut left: BTreeMap<Vec<CauseId>, f64> = BTreeMap::new();
        for branch in &belief.branches {
            let (present, n) = branch.present();
            if branch.hypothesis != Hypothesis::NotListed {
                *left.entry(present[..n].to_vec()).or_default() += branch.weight / belief.total.max(f64::MIN_POSITIVE);
            }
        }
        let mut left: Vec<(Vec<CauseId>, f64)> = left.into_iter().collect();
        left.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        let all: f64 = left.iter().map(|(_, p)| p).sum();
        let mut looked_at = 0.0;
        left.retain(|(_, p)| {
            let keep = looked_at < LOOKED_AT * all;
            looked_at += p;
            keep
        });
        let mut ways: BTreeMap<CauseId, Vec<Needed<'a>>> = BTreeMap::new();
        let mut useful: BTreeMap<Thing<'a>, f64> = BTreeMap::new();
        for (causes, p) in &left {
            for cause in causes {
                let ways = ways.entry(*cause).or_insert_with(|| self.ways(situation, *cause));
                let things: BTreeSet<Thing<'a>> = ways.iter().flat_map(|w| w.things.iter().copied()).collect();
                things.into_iter().for_each(|t| *useful.entry(t).or_default() += p);
            }
        }
        let mut things: Vec<(Thing<'a>, f64)> = useful.into_iter().collect();
        things.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        things.truncate(MOST_THINGS);
        let things: Vec<Thing<'a>> = things.into_iter().map(|(t, _)| t).collect();
        let numbered = |way: &Needed<'a>| -> Option<Way> {
            let number = |t: &Thing<'a>| things.iter().position(|x| x == t);
            let needs = way.things.iter().map(number);
            let needs: Option<Things> = needs
                .map(|n| n.map(|n| 1 << n))
                .try_fold(0, |all, bit| Some(all | bit?));
            Some(Way {
                needs: needs?,
                cures: way.cures,
            })
        };
        let ways: BTreeMap<CauseId, Vec<Way>> = ways
            .iter()
            .map(|(cause, ways)| (*cause, ways.iter().filter_map(numbered).collect()))
            .collect();
        let mut chances: BTreeMap<CauseId, f64> = BTreeMap::new();
        for (causes, chance) in &left {
            causes.iter().for_each(|c| *chances.entry(*c).or_default() += chance);
        }
        let fault = |chance: f64, causes: &[CauseId]| Fault {
            chance,
            causes: causes.iter().map(|c| ways[c].clone()).collect(),
        };
        let of_cause = |(cause, chance): (CauseId, f64)| (cause, fault(chance, &[cause]));
        let causes = chances.into_iter().map(of_cause).collect();
        let faults = left.iter().map(|(causes, chance)| fault(*chance, causes));
        Problem {
            things,
            faults: load::merged(faults),
            causes,
        }
    }

    /// The ways to put a cause right that are open to whoever goes.
    ///
    /// Where nobody knows a fact that decides between repairs, what all of them need is one way: it is brought for each.
    fn ways(&self, situation: &Situation, cause: CauseId) -> Vec<Needed<'a>> {
        let mut ways = Vec::new();
        let mut undecided: Option<Needed<'a>> = None;
        for (id, repair, cures) in self.cures(cause) {
            if situation.evidence.repairs.contains(&id) {
                continue;
            }
            let things = self.needs(situation, repair);
            if self.site.holds(&repair.when) == Some(true) {
                ways.push(Needed { things, cures });
            } else if let Some(both) = &mut undecided {
                both.things.extend(things);
                both.cures = both.cures.min(cures);
            } else {
                undecided = Some(Needed { things, cures });
            }
        }
        ways.extend(undecided);
        ways
    }

    /// Repairs of a cause that may make sense here and are open to whoever goes, with their chances.
    fn cures(&self, cause: CauseId) -> impl Iterator<Item = (RepairId, &'a Repair, f64)> + '_ {
        let (knowledge, model) = (&self.engine.knowledge, &self.engine.model);
        let repairs = (0..).map(RepairId::at).zip(knowledge.repairs.values());
        repairs.filter_map(move |(id, repair)| {
            let chance = model.repairs[id.index()].chance(cause);
            let open = repair.who <= self.going && self.site.holds(&repair.when) != Some(false);
            (chance > 0.0 && open).then_some((id, repair, chance))
        })
    }

    /// Whether some repair of a cause is to be had here at all, and whether whoever goes may do one.
    pub(super) fn only_for_others(&self, cause: CauseId) -> bool {
        let (knowledge, model) = (&self.engine.knowledge, &self.engine.model);
        let repairs = knowledge.repairs.values().zip(&model.repairs);
        let mut cures = repairs
            .filter(|(repair, table)| table.chance(cause) > 0.0 && self.site.holds(&repair.when) != Some(false))
            .map(|(repair, _)| repair.who)
            .peekable();
        cures.peek().is_some() && cures.all(|who| who > self.going)
    }

    /// Whether every open repair of a cause is work for two.
    pub(super) fn takes_two(&self, cause: CauseId) -> bool {
        let mut cures = self.cures(cause).peekable();
        cures.peek().is_some()
            && cures.all(|(_, repair, _)| repair.tasks.contains(&crate::knowledge::schema::Task::HeavyLeaf))
    }

    fn tool(&self, name: &'a str) -> Thing<'a> {
        if self.parts.contains(name) {
            Thing::Part(name)
        } else {
            Thing::Tool(name)
        }
    }

    /// Parts and tools of a repair, and the tools of what must be tested before it, that are not on the truck anyway.
    fn needs(&self, situation: &Situation, repair: &'a Repair) -> BTreeSet<Thing<'a>> {
        let knowledge = &self.engine.knowledge;
        let mut things: BTreeSet<Thing<'a>> = repair.parts.iter().map(|p| Thing::Part(&p.name)).collect();
        things.extend(repair.tools.iter().map(|t| self.tool(t)));
        let (mut open, mut seen): (Vec<&'a String>, BTreeSet<&'a String>) =
            (repair.after.iter().collect(), BTreeSet::new());
        while let Some(id) = open.pop() {
            let Some((at, _, test)) = knowledge.tests.get_full(id) else {
                continue;
            };
            let unanswered =
                !situation.answered.contains(&TestId::at(at)) && self.site.holds(&test.when) != Some(false);
            if seen.insert(id) && unanswered {
                things.extend(test.tools.iter().map(|t| self.tool(t)));
                open.extend(&test.after);
            }
        }
        things.retain(|t| !self.carried.contains(t.name()));
        things
    }
}
