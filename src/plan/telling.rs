//! What to look at before *nothing wrong* is believed: the test that tells most for its minutes.
//!
//! While *nothing wrong* leads, with the symptom away, no one test makes any repair worth its while, so pricing one step ahead would stop at
//! once. Information per cost (Johnson, "Optimal diagnostic procedures", about 1960; from memory) has no such edge.

use super::cells::Cells;
use super::choose::Planner;
use super::offer::Situation;
use crate::belief::Belief;
use crate::model::TestId;

impl Planner<'_> {
    /// The offered test with the most information per minute, if any is worth its minutes: as large a part of what giving up here would cost
    /// (`stake`, in minutes) as it takes of what is not known.
    pub(super) fn most_telling(&self, situation: &Situation, belief: &Belief, stake: f64) -> Option<TestId> {
        let offer = self.offer(belief, situation, &situation.site);
        let cells = self.shortlisted(situation, belief);
        let traces = self.traces(situation);
        let unknown = entropy(&cells);
        (0..offer.tests.len())
            .map(TestId::at)
            .filter(|t| offer.tests[t.index()])
            .filter_map(|t| {
                let bits = self.bits(&cells, situation, t, &traces);
                let action = self.costs().test(t);
                let minutes = action.minutes + self.costs().access(action, &situation.standing);
                (stake * bits >= minutes * unknown).then(|| (t, bits / minutes.max(f64::MIN_POSITIVE)))
            })
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
            .map(|(t, _)| t)
    }

    /// Expected information of a test about what is wrong.
    fn bits(&self, cells: &Cells, situation: &Situation, test: TestId, traces: &[f64]) -> f64 {
        let mass = cells.mass().max(f64::MIN_POSITIVE);
        let by_outcome = cells.outcome_chances(self.model, test, traces, self.teller(situation, test));
        by_outcome
            .iter()
            .map(|chances| {
                let each = || {
                    let flat = |(w, p): (&[f64; 4], &[f64; 4])| std::array::from_fn::<_, 4, _>(|m| (w[m] / mass, p[m]));
                    cells.weights.iter().zip(chances).flat_map(flat)
                };
                let outcome: f64 = each().map(|(w, p)| w * p).sum();
                let told = |(w, p): (f64, f64)| if p > 0.0 { w * p * (p / outcome).log2() } else { 0.0 };
                each().map(told).sum::<f64>()
            })
            .sum()
    }
}

/// Bits that are not known about what is wrong.
fn entropy(cells: &Cells) -> f64 {
    let mass = cells.mass().max(f64::MIN_POSITIVE);
    let shares = cells.weights.iter().flatten().map(|w| w / mass).filter(|p| *p > 0.0);
    shares.map(|p| -p * p.log2()).sum()
}
