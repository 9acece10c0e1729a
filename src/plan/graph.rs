//! The decision graph: what to do in every situation that a walk is likely to reach.
//!
//! A node is a situation: counting evidence, repairs tried, where one stands, what is open and switched. Equal situations are one node,
//! however they were reached. Edges are whole outcomes. [`DecisionGraph::compile`] grows it to a stated reach; a walk that leaves it
//! ([`DecisionGraph::node`]) makes it grow there.

use std::collections::HashMap;
use std::fmt::Write as _;

use petgraph::stable_graph::{NodeIndex, StableDiGraph};
use petgraph::visit::EdgeRef;

use super::choose::{Action, Choice, Planner};
use super::offer::Situation;
use crate::belief::{Answer, Belief, Epoch, Proof, Spell};
use crate::knowledge::schema::At;
use crate::model::{RepairId, TestId};

/// A situation with its next step.
#[derive(Debug, Clone)]
pub struct Node {
    /// The situation.
    pub situation: Situation,
    /// What to do in it.
    pub choice: Choice,
    /// Chance that a walk by the plan gets here, summed over all ways; 0 for nodes a walk made.
    pub reach: f64,
}

/// A way from one situation to the next.
#[derive(Debug, Clone, PartialEq)]
pub enum Way {
    /// This outcome of the test (by position).
    Outcome(usize),
    /// This value of the fact (by position).
    Value(usize),
    /// The repair's proof failed: every reported symptom is still there.
    StillThere,
}

/// The graph, grown as far as was asked.
#[derive(Debug)]
pub struct DecisionGraph<'a> {
    planner: &'a Planner<'a>,
    graph: StableDiGraph<Node, (Way, f64)>,
    by_key: HashMap<String, NodeIndex>,
}

impl<'a> DecisionGraph<'a> {
    /// An empty graph.
    #[must_use]
    pub fn new(planner: &'a Planner<'a>) -> Self {
        Self {
            planner,
            graph: StableDiGraph::new(),
            by_key: HashMap::new(),
        }
    }

    /// The node of a situation, grown if it is not there yet.
    pub fn node(&mut self, situation: &Situation) -> NodeIndex {
        self.grow(situation, None)
    }

    /// A node's content.
    #[must_use]
    pub fn get(&self, node: NodeIndex) -> &Node {
        &self.graph[node]
    }

    /// How many nodes there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.graph.node_count()
    }

    /// What is done in the situations that are in it.
    #[must_use]
    pub fn actions(&self) -> Vec<Action> {
        self.graph.node_weights().map(|n| n.choice.action).collect()
    }

    /// Whether nothing was grown yet.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.graph.node_count() == 0
    }

    /// Ways out of a node with their chance and where they lead, likeliest first.
    #[must_use]
    pub fn ways(&self, node: NodeIndex) -> Vec<(Way, f64, NodeIndex)> {
        let mut ways: Vec<_> = self
            .graph
            .edges(node)
            .map(|e| (e.weight().0.clone(), e.weight().1, e.target()))
            .collect();
        ways.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.2.cmp(&b.2)));
        ways
    }

    /// Grows the graph from `start` along the plan: the likeliest open node first, until every open node has less than `reach` or there are
    /// `most` nodes. Returns the start and the share of walks that ends inside.
    pub fn compile(&mut self, start: &Situation, reach: f64, most: usize) -> (NodeIndex, f64) {
        let root = self.grow(start, None);
        self.graph[root].reach = 1.0;
        let mut open = vec![root];
        while let Some(at) = take_likeliest(&self.graph, &mut open) {
            if self.graph[at].reach < reach || self.len() >= most {
                open.push(at);
                break;
            }
            for (way, chance, next) in self.successors(at) {
                let known = self.by_key.contains_key(&key(&next));
                let to = self.grow(&next, None);
                self.graph[to].reach += self.graph[at].reach * chance;
                self.graph.add_edge(at, to, (way, chance));
                if !known {
                    open.push(to);
                }
            }
        }
        let outside: f64 = open
            .iter()
            .filter(|n| !is_end(self.graph[**n].choice.action))
            .map(|n| self.graph[*n].reach)
            .sum();
        (root, (1.0 - outside).clamp(0.0, 1.0))
    }

    fn grow(&mut self, situation: &Situation, belief: Option<&Belief>) -> NodeIndex {
        let key = key(situation);
        if let Some(&node) = self.by_key.get(&key) {
            return node;
        }
        let fresh;
        let belief = if let Some(belief) = belief {
            belief
        } else {
            fresh = self.planner.belief(situation);
            &fresh
        };
        let choice = self.planner.choose(situation, belief);
        let node = self.graph.add_node(Node {
            situation: situation.clone(),
            choice,
            reach: 0.0,
        });
        self.by_key.insert(key, node);
        node
    }

    /// What may come of the planned action, with its chance.
    fn successors(&self, at: NodeIndex) -> Vec<(Way, f64, Situation)> {
        let node = &self.graph[at];
        self.planner.ways_out(&node.situation, node.choice.action)
    }
}

impl Planner<'_> {
    /// What may come of an action in a situation: the way, its chance, the situation after it. Nothing comes of an ending.
    #[must_use]
    pub fn ways_out(&self, situation: &Situation, action: Action) -> Vec<(Way, f64, Situation)> {
        match action {
            Action::Test(test) => self.after_test(situation, test),
            Action::Fact(fact) => self.after_fact(situation, fact),
            Action::Repair(repair) => self.after_repair(situation, repair).into_iter().collect(),
            Action::Visit | Action::Refer | Action::NoFaultFound => Vec::new(),
        }
    }

    fn after_test(&self, situation: &Situation, test: TestId) -> Vec<(Way, f64, Situation)> {
        let before = self.belief(situation).total;
        let k = self.model.tests[test.index()].outcomes.len();
        let mut ways = Vec::new();
        for outcome in 0..k {
            let answer = if situation.at == At::Phone {
                Answer::told(test, outcome, k, self.reliability(test), 0)
            } else {
                Answer::observed(test, outcome, k, 0)
            };
            let mut next = situation.clone();
            next.evidence = situation.evidence.with(answer);
            next.answered.insert(test);
            self.costs().go(self.costs().test(test), &mut next.standing);
            let chance = self.belief(&next).total / before;
            if chance > 1e-9 {
                ways.push((Way::Outcome(outcome), chance, next));
            }
        }
        ways
    }

    fn after_fact(&self, situation: &Situation, fact: crate::model::FactId) -> Vec<(Way, f64, Situation)> {
        let Some((id, entry)) = self.knowledge.facts.get_index(fact.index()) else {
            return Vec::new();
        };
        let mut ways: Vec<(Way, f64, Situation)> = entry
            .values
            .iter()
            .enumerate()
            .map(|(i, (value, v))| {
                let next = Situation {
                    site: situation.site.with(id, value),
                    ..situation.clone()
                };
                let weight = v.share * self.belief(&next).total;
                (Way::Value(i), weight, next)
            })
            .collect();
        let total: f64 = ways.iter().map(|w| w.1).sum();
        ways.iter_mut().for_each(|w| w.1 /= total.max(f64::MIN_POSITIVE));
        ways.retain(|w| w.1 > 1e-9);
        ways
    }

    fn after_repair(&self, situation: &Situation, repair: RepairId) -> Option<(Way, f64, Situation)> {
        let mut next = situation.clone();
        next.tried.insert(repair);
        self.costs().go(self.costs().repair(repair), &mut next.standing);
        next.standing.switch(crate::knowledge::schema::Condition::Powered);
        let before = self.belief(situation).total;
        next.evidence.repairs.push(repair);
        let under = situation.evidence.under().to_vec();
        let now = situation.evidence.current_spell().and_then(|s| s.now);
        let proofs = next
            .evidence
            .symptoms
            .iter()
            .map(|&symptom| Proof {
                symptom,
                still_there: true,
                event: 0,
            })
            .collect();
        let spells = now
            .map(|_| Spell {
                now: None,
                under,
                answers: Vec::new(),
            })
            .into_iter()
            .collect();
        next.evidence.epochs.push(Epoch { spells, proofs });
        let chance = self.belief(&next).total / before;
        (chance > 1e-9).then_some((Way::StillThere, chance, next))
    }
}

/// Whether a walk ends with this action.
fn is_end(action: Action) -> bool {
    matches!(action, Action::Visit | Action::Refer | Action::NoFaultFound)
}

fn take_likeliest(graph: &StableDiGraph<Node, (Way, f64)>, open: &mut Vec<NodeIndex>) -> Option<NodeIndex> {
    let best = open
        .iter()
        .enumerate()
        .filter(|(_, n)| !is_end(graph[**n].choice.action))
        .max_by(|a, b| graph[*a.1].reach.total_cmp(&graph[*b.1].reach).then(b.1.cmp(a.1)))?;
    Some(open.swap_remove(best.0))
}

/// Equal situations have equal keys, in whatever order their answers came.
pub(super) fn key(situation: &Situation) -> String {
    let mut epochs = String::new();
    for epoch in &situation.evidence.epochs {
        let spells = epoch.spells.iter().map(|s| {
            let mut answers: Vec<String> = s
                .answers
                .iter()
                .map(|a| {
                    format!(
                        "{}:{:x?}",
                        a.test.0,
                        a.likelihood.iter().map(|l| l.to_bits()).collect::<Vec<_>>()
                    )
                })
                .collect();
            answers.sort();
            format!("{:?}{:?}{answers:?}", s.now, s.under)
        });
        let proofs: Vec<_> = epoch.proofs.iter().map(|p| (p.symptom, p.still_there)).collect();
        let _ = write!(epochs, "{:?}{proofs:?}|", spells.collect::<Vec<_>>());
    }
    let s = situation;
    format!(
        "{:?}{:?}{epochs}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{}{}",
        s.evidence.symptoms,
        s.evidence.denied,
        s.evidence.repairs,
        s.tried,
        s.blocked,
        s.standing,
        s.unknowable,
        s.site,
        s.missing_tools,
        (s.at, s.who, &s.cannot, s.no_movement, s.signs),
        s.stopped,
        s.device_off
    )
}
