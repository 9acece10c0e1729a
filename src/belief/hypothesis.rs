//! What may be wrong, and how likely each is before anything is tested.

use crate::model::{CauseId, Model, Rates, SymptomId};

/// What was there at the start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Hypothesis {
    /// One cause.
    Single(CauseId),
    /// Two causes at once; the smaller id first.
    Pair(CauseId, CauseId),
    /// A fault that nobody wrote down.
    NotListed,
    /// Nothing is wrong now.
    Nothing,
}

impl Hypothesis {
    /// Its causes; none for *not listed* and *nothing wrong*.
    #[must_use]
    pub fn causes(&self) -> ([CauseId; 2], usize) {
        match *self {
            Self::Single(c) => ([c, c], 1),
            Self::Pair(c, d) => ([c, d], 2),
            Self::NotListed | Self::Nothing => ([CauseId(0); 2], 0),
        }
    }
}

/// Hypotheses with their weight before symptoms, w₀.
#[derive(Debug, Clone)]
pub struct Prior {
    /// Hypotheses with w₀ > 0; *not listed* and *nothing wrong* last.
    pub entries: Vec<(Hypothesis, f64)>,
}

impl Prior {
    /// w₀ of every hypothesis. *Not listed* and *nothing wrong* get the shares u and n of the whole.
    #[must_use]
    pub fn new(model: &Model, rates: &Rates) -> Self {
        let weigher = PriorWeigher::new(model, rates);
        let n = model.causes();
        let mut entries = Vec::new();
        let mut add = |hypothesis| {
            let weight = weigher.weight(hypothesis);
            if weight > 0.0 {
                entries.push((hypothesis, weight));
            }
        };
        let possible: Vec<CauseId> = (0..n).filter(|&c| rates.applicable[c] > 0.0).map(CauseId::at).collect();
        possible.iter().for_each(|&c| add(Hypothesis::Single(c)));
        if model.settings.pairs {
            for (i, &c) in possible.iter().enumerate() {
                possible[i + 1..].iter().for_each(|&d| add(Hypothesis::Pair(c, d)));
            }
        }
        let listed: f64 = entries.iter().map(|(_, w)| w).sum();
        let (u, nothing) = (model.settings.not_listed, model.settings.nothing_wrong);
        for (hypothesis, share) in [(Hypothesis::NotListed, u), (Hypothesis::Nothing, nothing)] {
            if share > 0.0 {
                entries.push((hypothesis, share * listed / (1.0 - u - nothing)));
            }
        }
        Self { entries }
    }

    /// q(s) for *not listed* and *nothing wrong*: the mean over the listed hypotheses.
    #[must_use]
    pub fn mean_symptom(&self, model: &Model, symptom: SymptomId) -> f64 {
        let (mut sum, mut weight) = (0.0, 0.0);
        for (hypothesis, w) in &self.entries {
            let (causes, n) = hypothesis.causes();
            if n > 0 {
                sum += w * model.symptom_given(symptom, &causes[..n]);
                weight += w;
            }
        }
        if weight > 0.0 { sum / weight } else { 0.0 }
    }
}

/// w₀ of single causes and pairs at one site.
///
/// With R the sum of the rates, x(d|c) the chance that c has brought on d and κ the ratio of unrelated double faults:
/// single r(c) Π (1 − x(e|c)); pair [2κ r(c) r(d) / R + r(c) x(d|c) + r(d) x(c|d)] Π (1 − x(e|c))(1 − x(e|d)) over the other causes e.
pub(crate) struct PriorWeigher<'a> {
    model: &'a Model,
    rates: &'a Rates,
    total: f64,
    /// Π (1 − x(e|c)) over everything that c may bring on.
    none_brought: Vec<f64>,
}

impl<'a> PriorWeigher<'a> {
    pub(crate) fn new(model: &'a Model, rates: &'a Rates) -> Self {
        let mut weigher = Self {
            model,
            rates,
            total: rates.rate.iter().sum(),
            none_brought: Vec::new(),
        };
        weigher.none_brought = (0..model.causes()).map(|c| weigher.none_but(c, usize::MAX)).collect();
        weigher
    }

    /// w₀; 0 for *not listed* and *nothing wrong*, whose weight is a share of the whole.
    pub(crate) fn weight(&self, hypothesis: Hypothesis) -> f64 {
        match hypothesis {
            Hypothesis::Single(c) => self.rates.rate[c.index()] * self.none_brought[c.index()],
            Hypothesis::Pair(c, d) => self.pair(c.index(), d.index()),
            Hypothesis::NotListed | Hypothesis::Nothing => 0.0,
        }
    }

    /// The ways in which two causes come to be there together, before the product over what they did not bring on: unrelated, c brought on d,
    /// d brought on c.
    pub(crate) fn ways(&self, c: CauseId, d: CauseId) -> [f64; 3] {
        let (c, d) = (c.index(), d.index());
        let (r_c, r_d) = (self.rates.rate[c], self.rates.rate[d]);
        let unrelated = if self.total > 0.0 {
            2.0 * self.model.settings.unrelated_pairs * r_c * r_d / self.total
        } else {
            0.0
        };
        [unrelated, r_c * self.brought(c, d), r_d * self.brought(d, c)]
    }

    fn pair(&self, c: usize, d: usize) -> f64 {
        let together: f64 = self.ways(CauseId::at(c), CauseId::at(d)).iter().sum();
        if together <= 0.0 {
            return 0.0;
        }
        let (x_dc, x_cd) = (self.brought(c, d), self.brought(d, c));
        let rest_c = if x_dc > 0.0 {
            self.none_but(c, d)
        } else {
            self.none_brought[c]
        };
        let rest_d = if x_cd > 0.0 {
            self.none_but(d, c)
        } else {
            self.none_brought[d]
        };
        together * rest_c * rest_d
    }

    /// x(d|c): a cause is not brought on where it can't occur.
    fn brought(&self, c: usize, d: usize) -> f64 {
        self.brings_on(c).find(|(e, _)| *e == d).map_or(0.0, |(_, x)| x)
    }

    /// The product without the factor of `d`.
    fn none_but(&self, c: usize, d: usize) -> f64 {
        self.brings_on(c)
            .filter(|(e, _)| *e != d)
            .map(|(_, x)| 1.0 - x)
            .product()
    }

    fn brings_on(&self, c: usize) -> impl Iterator<Item = (usize, f64)> {
        self.model.brings_on[c]
            .iter()
            .map(|&(d, x)| (d.index(), x * self.rates.applicable[d.index()]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::{PackText, WithCases, load};
    use crate::model::SiteFacts;

    /// The example of the project's semantics: r 0.05 and 0.03, R = 1, x(d|c) = 0.7, κ = 0.05.
    #[test]
    fn a_cause_that_brings_on_another() {
        let text = "causes:
  c: {title: c, rate: 0.05, severity: none, symptoms: {}, brings-on: {d: 0.7}, source: s}
  d: {title: d, rate: 0.03, severity: none, symptoms: {}, source: s}
  e: {title: e, rate: 0.92, severity: none, symptoms: {}, source: s}
";
        let pack = PackText {
            files: vec![("a.yaml".to_owned(), text.to_owned())],
            unreadable: Vec::new(),
        };
        let (knowledge, findings) = load(vec![pack], WithCases::No);
        assert!(findings.is_empty(), "{findings:?}");
        let model = Model::compile(&knowledge);
        let rates = model.rates(&knowledge, &SiteFacts::unknown());
        let weigher = PriorWeigher::new(&model, &rates);
        let (c, d) = (CauseId(0), CauseId(1));
        for (hypothesis, expected) in [
            (Hypothesis::Single(c), 0.015),
            (Hypothesis::Single(d), 0.03),
            (Hypothesis::Pair(c, d), 0.035_15),
        ] {
            assert!((weigher.weight(hypothesis) - expected).abs() < 1e-12, "{hypothesis:?}");
        }
    }
}
