//! The likeliest part of the walks from a situation, by the rules of a call: danger settled first, a stop where a danger is too likely, looks
//! that can be wiped out before anything else, then the plan.
//!
//! Problem: the `most` situations that walks are likeliest to reach, with what is done in each. Exact for that many: the next situation is
//! always the likeliest that is open, so what was left out is never likelier than what is in. Only what is taken in is planned, which is what costs.

use std::collections::HashMap;

use petgraph::Direction;
use petgraph::algo::toposort;
use petgraph::stable_graph::{NodeIndex, StableDiGraph};
use petgraph::visit::{EdgeRef, IntoEdgeReferences};

use super::before::{SURE_DANGER, first_look, for_others, settling};
use super::choose::{Action, Planner};
use super::graph::{Way, key};
use super::offer::{Situation, dangers, over_threshold};
use crate::belief::Belief;
use crate::knowledge::schema::{Condition, Severity};
use crate::model::CauseId;
use crate::spread::spread;

/// Why a step comes where it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// The plan chose it.
    Plan,
    /// A danger has to be settled before anything else.
    Settles,
    /// What it shows is lost once anything is pressed or switched.
    First,
    /// This cause is as good as certain, and putting it right is nobody's here.
    ForOthers(CauseId),
    /// A danger is likelier there than not, and what the plan would repair is not it.
    DangerStands,
}

/// A danger that puts the gate out of use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TooLikely {
    /// How bad.
    pub severity: Severity,
    /// Chance that a cause as bad or worse is there, 0 to 1.
    pub chance: f64,
    /// The likeliest of them.
    pub cause: CauseId,
}

/// One situation with what is done in it.
#[derive(Debug, Clone)]
pub struct Stage {
    /// The situation; `stopped` where the gate is out of use in it.
    pub situation: Situation,
    /// What is done.
    pub action: Action,
    /// Why.
    pub why: Why,
    /// The gate is put out of use here, before the action.
    pub stop: Option<TooLikely>,
    /// Chance that a walk gets here, 0 to 1.
    pub reach: f64,
    /// The likeliest cause before it is done, with its chance.
    pub leading: Option<(CauseId, f64)>,
}

/// A way out of a stage that leads beyond what was grown.
#[derive(Debug, Clone, PartialEq)]
pub struct Beyond {
    /// The stage it leaves.
    pub from: NodeIndex,
    /// The answer.
    pub way: Way,
    /// Chance of that answer there, 0 to 1.
    pub chance: f64,
}

/// The likeliest part of the walks.
#[derive(Debug)]
pub struct LikelyWalks {
    /// Stages, and the ways between them with their chance.
    pub graph: StableDiGraph<Stage, (Way, f64)>,
    /// Where walks begin.
    pub start: NodeIndex,
    /// Ways that lead out of it.
    pub beyond: Vec<Beyond>,
    /// Situations that were seen one answer beyond it.
    pub left_out: usize,
}

/// A situation that no stage stands for yet.
struct Open {
    key: String,
    situation: Situation,
    /// A step was recorded since the gate was put out of use.
    settled: bool,
    ways: Vec<(NodeIndex, Way, f64)>,
    reach: f64,
}

/// A stage with what may come of it.
#[derive(Clone)]
struct Grown {
    stage: Stage,
    ways: Vec<(Way, f64, Situation)>,
}

impl LikelyWalks {
    /// Grows from `start` until there are `most` stages (one at least) or nothing is open. `each` is called for every stage that was planned.
    #[must_use]
    pub fn grow(planner: &Planner<'_>, start: &Situation, most: usize, each: &(dyn Fn() + Sync)) -> Self {
        let mut graph = StableDiGraph::new();
        let mut known: HashMap<String, NodeIndex> = HashMap::new();
        let mut ready: HashMap<String, Grown> = HashMap::new();
        let mut open = vec![Open {
            key: key(start),
            situation: start.clone(),
            settled: false,
            ways: Vec::new(),
            reach: 1.0,
        }];
        while let Some(at) = likeliest(&open)
            && graph.node_count() < most.max(1)
        {
            plan_ahead(planner, &open, &mut ready, most.max(1) - graph.node_count(), each);
            let next = open.swap_remove(at);
            let Some(grown) = ready.remove(&next.key) else { break };
            // Any test that is recorded while the gate is out of use may be the one that settles it.
            let looks = matches!(grown.stage.action, Action::Test(_));
            let stands = grown.stage.situation.stopped;
            let settled = stands && (looks || (grown.stage.stop.is_none() && next.settled));
            let reach = next.reach;
            let node = graph.add_node(Stage { reach, ..grown.stage });
            known.insert(next.key, node);
            for (from, way, chance) in next.ways {
                graph.add_edge(from, node, (way, chance));
            }
            for (way, chance, situation) in grown.ways {
                let key = key(&situation);
                if let Some(&to) = known.get(&key) {
                    graph.add_edge(node, to, (way, chance));
                } else if let Some(same) = open.iter_mut().find(|o| o.key == key) {
                    same.ways.push((node, way, chance));
                    same.reach += reach * chance;
                    // Where one way has not settled the stop, it is not settled.
                    same.settled &= settled;
                } else {
                    open.push(Open {
                        key,
                        situation,
                        settled,
                        ways: vec![(node, way, chance)],
                        reach: reach * chance,
                    });
                }
            }
        }
        let start = NodeIndex::new(0);
        sum_reach(&mut graph, start);
        let left_out = open.len();
        let mut beyond: Vec<Beyond> = open
            .into_iter()
            .flat_map(|o| o.ways)
            .map(|(from, way, chance)| Beyond { from, way, chance })
            .collect();
        beyond.sort_by(|a, b| a.from.cmp(&b.from).then(b.chance.total_cmp(&a.chance)));
        Self {
            graph,
            start,
            beyond,
            left_out,
        }
    }

    /// Share of walks that leave what was grown, 0 to 1: by an answer beyond it, or from a stage whose further way is not drawn.
    #[must_use]
    pub fn share_beyond(&self) -> f64 {
        let leaving = self.beyond.iter().map(|b| self.graph[b.from].reach * b.chance);
        let open = self.graph.node_indices().filter(|n| self.goes_on(*n));
        let undrawn = open.map(|n| self.graph[n].reach);
        leaving.chain(undrawn).sum::<f64>().clamp(0.0, 1.0)
    }

    /// Whether the walk goes on from a stage in a way that is never drawn: after a number that was asked, and after a repair while the gate is
    /// out of use.
    fn goes_on(&self, node: NodeIndex) -> bool {
        let stage = &self.graph[node];
        let no_way = self.graph.edges(node).next().is_none() && !self.beyond.iter().any(|b| b.from == node);
        let unfinished = match stage.action {
            Action::Fact(_) => true,
            Action::Repair(_) => stage.situation.stopped,
            _ => false,
        };
        no_way && unfinished
    }

    /// Only the `most` likeliest stages; the start always stays.
    #[must_use]
    pub fn likeliest(&self, most: usize) -> Self {
        // They were taken in by their likelihood.
        let (mut graph, mut beyond) = (self.graph.clone(), self.beyond.clone());
        let gone = |node: NodeIndex| node != self.start && node.index() >= most;
        for edge in self.graph.edge_references().filter(|e| gone(e.target())) {
            let (way, chance) = edge.weight().clone();
            beyond.push(Beyond {
                from: edge.source(),
                way,
                chance,
            });
        }
        beyond.retain(|b| !gone(b.from));
        beyond.sort_by(|a, b| a.from.cmp(&b.from).then(b.chance.total_cmp(&a.chance)));
        graph.retain_nodes(|_, node| !gone(node));
        sum_reach(&mut graph, self.start);
        let removed: Vec<NodeIndex> = self.graph.node_indices().filter(|n| gone(*n)).collect();
        let from_kept = |n: &&NodeIndex| {
            let mut parents = self.graph.neighbors_directed(**n, Direction::Incoming);
            parents.any(|p| !gone(p))
        };
        let seen = self.beyond.iter().filter(|b| !gone(b.from)).count() + removed.iter().filter(from_kept).count();
        Self {
            graph,
            start: self.start,
            beyond,
            left_out: if removed.is_empty() { self.left_out } else { seen },
        }
    }
}

fn likeliest(open: &[Open]) -> Option<usize> {
    let best = open.iter().enumerate().max_by(|a, b| better(a.1, b.1))?;
    Some(best.0)
}

fn better(a: &Open, b: &Open) -> std::cmp::Ordering {
    a.reach.total_cmp(&b.reach).then_with(|| b.key.cmp(&a.key))
}

/// Plans the likeliest open situation if that is not done yet, and with it as many more as there are cores: most of them come next.
fn plan_ahead(
    planner: &Planner<'_>,
    open: &[Open],
    ready: &mut HashMap<String, Grown>,
    most: usize,
    each: &(dyn Fn() + Sync),
) {
    let mut order: Vec<&Open> = open.iter().collect();
    order.sort_by(|a, b| better(b, a));
    if order.first().is_none_or(|o| ready.contains_key(&o.key)) {
        return;
    }
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    order.truncate(most);
    let next: Vec<&Open> = order
        .into_iter()
        .filter(|o| !ready.contains_key(&o.key))
        .take(cores)
        .collect();
    let grown = spread(&next, |o| {
        let grown = grow_one(planner, o);
        each();
        Some((o.key.clone(), grown))
    });
    ready.extend(grown);
}

/// Reach summed along every way, parents before children.
fn sum_reach(graph: &mut StableDiGraph<Stage, (Way, f64)>, start: NodeIndex) {
    // Evidence only grows along a way, so there is no cycle.
    for node in toposort(&*graph, None).unwrap_or_default() {
        if node == start {
            continue;
        }
        let reach = graph
            .edges_directed(node, Direction::Incoming)
            .map(|e| graph[e.source()].reach * e.weight().1)
            .sum();
        graph[node].reach = reach;
    }
}

fn grow_one(planner: &Planner<'_>, open: &Open) -> Grown {
    let mut situation = open.situation.clone();
    let belief = planner.belief(&situation);
    let stop = stop(planner, &belief, &mut situation, open.settled);
    let (action, why) = decide(planner, &belief, &situation);
    // While the gate is out of use nothing can be run for proof.
    let dead_end = situation.stopped && matches!(action, Action::Repair(_));
    let ways = if dead_end {
        Vec::new()
    } else {
        planner.ways_out(&situation, action)
    };
    Grown {
        stage: Stage {
            situation,
            action,
            why,
            stop,
            reach: 0.0,
            leading: leading(planner, &belief),
        },
        ways,
    }
}

fn leading(planner: &Planner<'_>, belief: &Belief) -> Option<(CauseId, f64)> {
    let chances = belief.causes(planner.model).into_iter().enumerate();
    let causes = chances.map(|(c, p)| (CauseId::at(c), p));
    causes.max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
}

/// Whether a danger puts the gate out of use here, or what put it out of use has lifted; as in a call, the first answer is waited for where
/// some safe test can settle it.
fn stop(planner: &Planner<'_>, belief: &Belief, situation: &mut Situation, settled: bool) -> Option<TooLikely> {
    let (model, limits) = (planner.model, planner.model.settings.stop_at);
    if situation.stopped {
        situation.stopped = !settled || over_threshold(model, belief, limits, 0.5).is_some();
        return None;
    }
    let severity = over_threshold(model, belief, limits, 1.0)?;
    if !answered(situation) && settling(planner, belief, situation.clone(), &dangers(model, belief)).is_some() {
        return None;
    }
    situation.stopped = true;
    // Made safe means isolated and secured.
    situation.standing.switch(Condition::Isolated);
    situation.standing.switch(Condition::LeafSecured);
    let chances = belief.causes(model);
    let bad = (0..model.causes()).filter(|&c| model.severity[c] >= severity);
    let cause = bad.max_by(|a, b| chances[*a].total_cmp(&chances[*b]))?;
    Some(TooLikely {
        severity,
        chance: belief.danger(model, severity),
        cause: CauseId::at(cause),
    })
}

fn answered(situation: &Situation) -> bool {
    situation.evidence.answers().next().is_some() || !situation.evidence.repairs.is_empty()
}

fn decide(planner: &Planner<'_>, belief: &Belief, situation: &Situation) -> (Action, Why) {
    let model = planner.model;
    let settle = || settling(planner, belief, situation.clone(), &dangers(model, belief));
    let begin = |test, why| (planner.begin(Action::Test(test), situation, belief).0, why);
    let danger = over_threshold(model, belief, model.settings.stop_at, 1.0);
    if !answered(situation)
        && !situation.stopped
        && danger.is_some()
        && let Some(test) = settle()
    {
        return begin(test, Why::Settles);
    }
    if let Some(test) = first_look(planner, belief, situation) {
        return begin(test, Why::First);
    }
    if let Some(cause) = for_others(planner, belief, situation) {
        return (Action::Refer, Why::ForOthers(cause));
    }
    let choice = planner.choose(situation, belief);
    let sure = danger.is_some_and(|severity| belief.danger(model, severity) >= SURE_DANGER);
    if let Action::Repair(repair) = choice.action
        && situation.stopped
        && sure
        && !dangers(model, belief)
            .iter()
            .any(|c| model.repairs[repair.index()].chance(*c) > 0.0)
    {
        return (Action::Refer, Why::DangerStands);
    }
    if matches!(choice.action, Action::Refer | Action::NoFaultFound)
        && situation.stopped
        && !sure
        && let Some(test) = settle()
    {
        return begin(test, Why::Settles);
    }
    (choice.action, Why::Plan)
}
