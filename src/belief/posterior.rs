//! Weights of hypotheses and of what is left of them.

use super::evidence::{Answer, Epoch, Evidence, Proof, Spell};
use super::hypothesis::{Hypothesis, Prior};
use crate::knowledge::schema::{Now, Provocation, Severity};
use crate::model::{CauseId, Model, RepairId, SymptomId};

/// Least and, mirrored, greatest chance that a symptom shows at a given moment: nobody's account is perfect.
const PRESENT_FLOOR: f64 = 0.02;

/// One hypothesis and what is left of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch {
    /// What was there at the start.
    pub hypothesis: Hypothesis,
    /// Which of its causes are left: bit 0 the first, bit 1 the second.
    pub left: u8,
    /// Unnormalised weight.
    pub weight: f64,
}

impl Branch {
    /// The causes that are left.
    #[must_use]
    pub fn present(&self) -> ([CauseId; 2], usize) {
        let (causes, n) = self.hypothesis.causes();
        members(causes, n, self.left)
    }

    /// Whether a cause is left.
    #[must_use]
    pub fn has(&self, cause: CauseId) -> bool {
        let (present, n) = self.present();
        present[..n].contains(&cause)
    }

    /// Whether some cause was cured.
    #[must_use]
    pub fn anything_cured(&self) -> bool {
        self.left != full_mask(self.hypothesis.causes().1)
    }
}

/// The mask that says "all of it".
#[must_use]
pub(crate) fn full_mask(n: usize) -> u8 {
    (1u8 << n) - 1
}

/// The causes that a mask selects.
pub(crate) fn members(causes: [CauseId; 2], n: usize, mask: u8) -> ([CauseId; 2], usize) {
    match (n, mask) {
        (0, _) | (_, 0) => (causes, 0),
        (2, 2) => ([causes[1], causes[1]], 1),
        (_, 1) => ([causes[0], causes[0]], 1),
        _ => (causes, 2),
    }
}

/// The posterior.
#[derive(Debug, Clone)]
pub struct Belief {
    /// Branches with weight above 0.
    pub branches: Vec<Branch>,
    /// Sum of the weights: ∝ P(everything counted).
    pub total: f64,
}

impl Belief {
    /// Weighs every hypothesis by the reported symptoms, the counting answers and the repairs.
    #[must_use]
    pub fn new(model: &Model, prior: &Prior, evidence: &Evidence) -> Self {
        let weigher = Weigher::new(model, prior, evidence);
        let mut branches = Vec::with_capacity(prior.entries.len());
        for &(hypothesis, w0) in &prior.entries {
            weigher.weigh(hypothesis, w0, &mut branches);
        }
        let total = branches.iter().map(|b| b.weight).sum();
        Self { branches, total }
    }

    /// Share of the branches that `choose` takes, 0 to 1.
    #[must_use]
    pub fn share(&self, choose: impl Fn(&Branch) -> bool) -> f64 {
        if self.total <= 0.0 {
            return 0.0;
        }
        self.branches
            .iter()
            .filter(|b| choose(b))
            .map(|b| b.weight)
            .fold(0.0, |sum, w| sum + w)
            / self.total
    }

    /// P(c ∈ G) for every cause.
    #[must_use]
    pub fn causes(&self, model: &Model) -> Vec<f64> {
        let mut p = vec![0.0; model.causes()];
        for branch in &self.branches {
            let (present, n) = branch.present();
            for cause in &present[..n] {
                p[cause.index()] += branch.weight;
            }
        }
        if self.total > 0.0 {
            p.iter_mut().for_each(|p| *p /= self.total);
        }
        p
    }

    /// P(*not listed*).
    #[must_use]
    pub fn not_listed(&self) -> f64 {
        self.share(|b| b.hypothesis == Hypothesis::NotListed)
    }

    /// P(nothing was wrong).
    #[must_use]
    pub fn nothing(&self) -> f64 {
        self.share(|b| b.hypothesis == Hypothesis::Nothing)
    }

    /// P(everything listed that was wrong is cured).
    #[must_use]
    pub fn cured(&self) -> f64 {
        self.share(|b| b.hypothesis.causes().1 > 0 && b.left == 0)
    }

    /// P(some cause of that severity or worse is there).
    #[must_use]
    pub fn danger(&self, model: &Model, at_least: Severity) -> f64 {
        self.chance_of(|c| model.severity[c.index()] >= at_least)
    }

    /// P(some cause of a kind ∈ G).
    #[must_use]
    pub fn chance_of(&self, kind: impl Fn(CauseId) -> bool) -> f64 {
        self.share(|b| {
            let (present, n) = b.present();
            present[..n].iter().any(|c| kind(*c))
        })
    }
}

/// What one answer says of every hypothesis, ready to be looked up.
struct AnswerTable {
    healthy: f64,
    not_listed: f64,
    /// For causes that mention the test: normal mass, likelihood in the normal outcomes, likelihood in the rest.
    by_cause: Vec<Option<[f64; 3]>>,
}

impl AnswerTable {
    fn new(model: &Model, answer: &Answer) -> Self {
        let test = &model.tests[answer.test.index()];
        let dot = |p: &[f64]| p.iter().zip(&answer.likelihood).map(|(p, l)| p * l).sum::<f64>();
        let mut by_cause = vec![None; model.causes()];
        for cause in test.mentioned_by() {
            let (mut normal, mut rest) = (0.0, 0.0);
            let shown = test.shown(cause).unwrap_or(&[]);
            for ((p, l), is_normal) in shown.iter().zip(&answer.likelihood).zip(&test.normal) {
                if *is_normal {
                    normal += p * l;
                } else {
                    rest += p * l;
                }
            }
            by_cause[cause.index()] = Some([test.normal_chance(cause), normal, rest]);
        }
        Self {
            healthy: dot(&test.healthy),
            not_listed: dot(&test.not_listed()),
            by_cause,
        }
    }

    fn given(&self, showing: &[CauseId]) -> f64 {
        let mut mentioned = showing.iter().filter_map(|c| self.by_cause[c.index()]);
        match (mentioned.next(), mentioned.next()) {
            (None, _) => self.healthy,
            (Some([_, normal, rest]), None) => normal + rest,
            (Some([c_mass, c_normal, c_rest]), Some([d_mass, d_normal, d_rest])) => {
                d_mass * c_rest
                    + c_mass * d_rest
                    + 0.5 * ((1.0 - d_mass) * c_rest + (1.0 - c_mass) * d_rest)
                    + 0.5 * (d_mass * c_normal + c_mass * d_normal)
            }
        }
    }
}

struct SpellTable<'a> {
    spell: &'a Spell,
    answers: Vec<AnswerTable>,
    /// Chance that each cause shows on the tests of this spell.
    traces: Vec<f64>,
    /// Chance that each cause makes its symptom at a given moment, 0 where it makes none that was reported.
    present: Vec<f64>,
}

struct EpochTable<'a> {
    spells: Vec<SpellTable<'a>>,
    proofs: &'a [Proof],
    under: &'a [Provocation],
}

/// Everything that is the same for all hypotheses.
struct Weigher<'a> {
    model: &'a Model,
    evidence: &'a Evidence,
    epochs: Vec<EpochTable<'a>>,
    /// Π q(s) of the reported and Π (1 − q(s)) of the denied symptoms for *not listed* and *nothing wrong*.
    mean_symptoms: f64,
}

impl<'a> Weigher<'a> {
    fn new(model: &'a Model, prior: &Prior, evidence: &'a Evidence) -> Self {
        let makes_reported: Vec<bool> = (0..model.causes())
            .map(|c| evidence.symptoms.iter().any(|s| model.symptom[s.index()][c] > 0.0))
            .collect();
        let epochs = evidence
            .epochs
            .iter()
            .map(|e| EpochTable::new(model, e, &makes_reported))
            .collect();
        let reported: f64 = evidence
            .symptoms
            .iter()
            .map(|&s| prior.mean_symptom(model, s))
            .product();
        let denied: f64 = evidence
            .denied
            .iter()
            .map(|&s| 1.0 - prior.mean_symptom(model, s))
            .product();
        Self {
            model,
            evidence,
            epochs,
            mean_symptoms: reported * denied,
        }
    }

    /// Adds the branches of one hypothesis that have weight.
    fn weigh(&self, hypothesis: Hypothesis, w0: f64, branches: &mut Vec<Branch>) {
        let (causes, n) = hypothesis.causes();
        let mut weights = [0.0; 4];
        weights[usize::from(full_mask(n))] = w0 * self.symptoms(&causes[..n]);
        for (i, epoch) in self.epochs.iter().enumerate() {
            for mask in 0..=full_mask(n) {
                let weight = &mut weights[usize::from(mask)];
                if *weight > 0.0 {
                    *weight *= self.epoch(epoch, hypothesis, mask);
                }
            }
            if let Some(&repair) = self.evidence.repairs.get(i) {
                weights = after_repair(self.model, repair, causes, n, weights);
            }
        }
        for mask in 0..=full_mask(n) {
            let weight = weights[usize::from(mask)];
            if weight > 0.0 {
                branches.push(Branch {
                    hypothesis,
                    left: mask,
                    weight,
                });
            }
        }
    }

    fn symptoms(&self, causes: &[CauseId]) -> f64 {
        if causes.is_empty() {
            return self.mean_symptoms;
        }
        let reported: f64 = self
            .evidence
            .symptoms
            .iter()
            .map(|&s| self.model.symptom_given(s, causes))
            .product();
        let denied: f64 = self
            .evidence
            .denied
            .iter()
            .map(|&s| 1.0 - self.model.symptom_given(s, causes))
            .product();
        reported * denied
    }

    fn epoch(&self, epoch: &EpochTable<'_>, hypothesis: Hypothesis, mask: u8) -> f64 {
        let answers: f64 = epoch
            .spells
            .iter()
            .map(|s| s.likelihood(self.model, hypothesis, mask))
            .product();
        let proofs: f64 = epoch
            .proofs
            .iter()
            .map(|proof| {
                let gone = gone_chance(self.model, *proof, epoch.under, hypothesis, mask);
                if proof.still_there { 1.0 - gone } else { gone }
            })
            .product();
        answers * proofs
    }
}

impl<'a> EpochTable<'a> {
    fn new(model: &Model, epoch: &'a Epoch, makes_reported: &[bool]) -> Self {
        let spells = epoch
            .spells
            .iter()
            .map(|s| SpellTable::new(model, s, makes_reported))
            .collect();
        let under = epoch.spells.first().map_or(&[][..], |s| &s.under);
        Self {
            spells,
            proofs: &epoch.proofs,
            under,
        }
    }
}

impl<'a> SpellTable<'a> {
    fn new(model: &Model, spell: &'a Spell, makes_reported: &[bool]) -> Self {
        let traces = model
            .shows
            .iter()
            .map(|show| trace_chance(spell.now, show.share(&spell.under), show.traces(&spell.under)))
            .collect();
        let present = model
            .shows
            .iter()
            .zip(makes_reported)
            .map(|(show, makes)| if *makes { show.share(&spell.under) } else { 0.0 })
            .collect();
        let answers = spell.answers.iter().map(|a| AnswerTable::new(model, a)).collect();
        Self {
            spell,
            answers,
            traces,
            present,
        }
    }

    fn likelihood(&self, model: &Model, hypothesis: Hypothesis, mask: u8) -> f64 {
        let (causes, n) = hypothesis.causes();
        let (left, n_left) = members(causes, n, mask);
        let present = if hypothesis == Hypothesis::NotListed {
            model.settings.not_listed_present
        } else {
            any_present(left[..n_left].iter().map(|c| self.present[c.index()]))
        };
        let now = match self.spell.now {
            Some(Now::Present) => present,
            Some(Now::Away) => 1.0 - present,
            Some(Now::Unknown) | None => 1.0,
        };
        if self.answers.is_empty() {
            return now;
        }
        if hypothesis == Hypothesis::NotListed {
            return now * self.answers.iter().map(|a| a.not_listed).product::<f64>();
        }
        // Each cause draws once a spell whether it shows on the tests; answers share that draw.
        let mut sum = 0.0;
        for drawn in 0..=full_mask(n_left) {
            let mut chance = 1.0;
            for (bit, cause) in left[..n_left].iter().enumerate() {
                let b = self.traces[cause.index()];
                chance *= if drawn & (1 << bit) == 0 { 1.0 - b } else { b };
            }
            if chance > 0.0 {
                let (showing, k) = members(left, n_left, drawn);
                sum += chance * self.answers.iter().map(|a| a.given(&showing[..k])).product::<f64>();
            }
        }
        now * sum
    }
}

/// Chance that one at least shows its symptom at a given moment.
fn any_present(chances: impl Iterator<Item = f64>) -> f64 {
    let away: f64 = chances.map(|a| 1.0 - a).product();
    (1.0 - away).clamp(PRESENT_FLOOR, 1.0 - PRESENT_FLOOR)
}

/// Chance that a reported symptom shows at a given moment with everything of a hypothesis there; not for *not listed*.
pub(crate) fn present_chance(
    model: &Model,
    hypothesis: Hypothesis,
    symptoms: &[SymptomId],
    under: &[Provocation],
) -> f64 {
    let (causes, n) = hypothesis.causes();
    let makes = |c: &&CauseId| symptoms.iter().any(|s| model.symptom[s.index()][c.index()] > 0.0);
    let makers = causes[..n].iter().filter(makes);
    any_present(makers.map(|c| model.shows[c.index()].share(under)))
}

/// Chance that a cause shows on the tests of a spell: surely with the symptom present, b with it away, and in between
/// where nobody could tell.
pub(crate) fn trace_chance(now: Option<Now>, share: f64, traces: f64) -> f64 {
    match now {
        Some(Now::Present) => 1.0,
        Some(Now::Away) => traces,
        Some(Now::Unknown) | None => share + (1.0 - share) * traces,
    }
}

/// Splits each branch by what the repair cures: f for every cause it is meant for, one draw a cause.
fn after_repair(model: &Model, repair: RepairId, causes: [CauseId; 2], n: usize, weights: [f64; 4]) -> [f64; 4] {
    let table = &model.repairs[repair.index()];
    let mut split = weights;
    for (bit, cause) in causes[..n].iter().enumerate() {
        let f = table.chance(*cause);
        if f > 0.0 {
            for mask in 0..4usize {
                if mask & (1 << bit) != 0 && split[mask] > 0.0 {
                    let cured = split[mask] * f;
                    split[mask] -= cured;
                    split[mask & !(1 << bit)] += cured;
                }
            }
        }
    }
    split
}

/// Chance that a proof run shows a symptom gone, with `mask` of the hypothesis left.
///
/// P(still there) = q(s|G)/q(s|H), 1 while nothing of H is cured; *not listed* 1, *nothing wrong* 0. It is seen in a run
/// only with the chance a that what is left shows at all.
pub(crate) fn gone_chance(model: &Model, proof: Proof, under: &[Provocation], hypothesis: Hypothesis, mask: u8) -> f64 {
    let (causes, n) = hypothesis.causes();
    match hypothesis {
        Hypothesis::NotListed => return 0.0,
        Hypothesis::Nothing => return 1.0,
        _ => {}
    }
    let (left, k) = members(causes, n, mask);
    let still = if mask == full_mask(n) {
        1.0
    } else {
        model.symptom_given(proof.symptom, &left[..k]) / model.symptom_given(proof.symptom, &causes[..n])
    };
    let row = &model.symptom[proof.symptom.index()];
    let makers = left[..k].iter().filter(|c| row[c.index()] > 0.0);
    let away: f64 = makers
        .clone()
        .map(|c| 1.0 - model.shows[c.index()].share(under))
        .product();
    let shows = if makers.count() == 0 { 1.0 } else { 1.0 - away };
    1.0 - shows * still
}
