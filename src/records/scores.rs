//! Scores of percentages against what came true.
//!
//! A prediction is a pair (p, came true). All sums run over the predictions in one order (sorted), so that a page is the same whatever order calls
//! were read in.

use serde::Serialize;

/// Bins of the reliability table: above 0 to 10 %, and so on (0 itself in the first).
pub const BINS: usize = 10;
/// Up to so many predictions in a bin its interval is exact (Poisson binomial); above, normal.
pub const EXACT_UP_TO: usize = 1_000;
/// A certainty that was wrong counts in the log score as this chance: its own would be infinitely bad.
const LEAST: f64 = 1e-15;
/// 97.5 % point of the normal distribution.
const Z_975: f64 = 1.959_963_984_540_054;

/// One bin of the reliability table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Bin {
    /// Predictions above this,
    pub from: f64,
    /// and up to this.
    pub to: f64,
    /// How many.
    pub calls: usize,
    /// How many came true.
    pub hits: usize,
    /// Their mean prediction; 0 without calls.
    pub predicted: f64,
    /// Share that came true; 0 without calls.
    pub observed: f64,
    /// Where 95 % of such shares lie if the predictions are honest.
    pub expected: [f64; 2],
    /// Whether the share lies there; true without calls.
    pub inside: bool,
}

/// Every score.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Scores {
    /// How many predictions.
    pub calls: usize,
    /// Mean prediction.
    pub predicted: f64,
    /// Share that came true.
    pub observed: f64,
    /// Mean of (p − came true)²; 0 is best. Brier, Monthly Weather Review 78(1), 1950 (half of the two-class sum used there).
    pub brier: f64,
    /// How far the bins' shares lie from their mean predictions, squared; 0 is best. Murphy, J. Appl. Meteorol. 12(4), 1973.
    pub reliability: f64,
    /// How far the bins' shares lie from the overall share, squared; more is better.
    pub resolution: f64,
    /// What guessing the overall share each time would score.
    pub uncertainty: f64,
    /// What is left because the predictions in one bin differ: brier = reliability − resolution + uncertainty + within. Murphy's split is exact
    /// for forecasts of a few fixed values only; Stephenson, Coelho & Jolliffe, Weather and Forecasting 23(4), 2008.
    pub within: f64,
    /// Mean of −ln of the chance given to what happened; 0 is best.
    pub log: f64,
    /// Spiegelhalter's z; `None` where every prediction is 0, 1 or ½.
    pub z: Option<f64>,
    /// The bins.
    pub bins: Vec<Bin>,
}

impl Scores {
    /// Scores predictions; they must be sorted. `None` without any.
    #[must_use]
    pub fn of(predictions: &[(f64, bool)]) -> Option<Self> {
        if predictions.is_empty() {
            return None;
        }
        let n = predictions.len() as f64;
        let mean =
            |value: &dyn Fn(f64, f64) -> f64| predictions.iter().map(|&(p, y)| value(p, came(y))).sum::<f64>() / n;
        let observed = mean(&|_, y| y);
        let brier = mean(&|p, y| (p - y) * (p - y));
        let bins = bins(predictions);
        let over_bins = |value: &dyn Fn(&Bin) -> f64| bins.iter().map(|b| b.calls as f64 * value(b)).sum::<f64>() / n;
        let reliability = over_bins(&|b| (b.predicted - b.observed).powi(2));
        let resolution = over_bins(&|b| (b.observed - observed).powi(2));
        let uncertainty = observed * (1.0 - observed);
        Some(Self {
            calls: predictions.len(),
            predicted: mean(&|p, _| p),
            observed,
            brier,
            reliability,
            resolution,
            uncertainty,
            within: brier - (reliability - resolution + uncertainty),
            log: mean(&|p, y| -(if y > 0.5 { p } else { 1.0 - p }).max(LEAST).ln()),
            z: spiegelhalter(predictions),
            bins,
        })
    }

    /// Bins whose share lies where it should.
    #[must_use]
    pub fn inside(&self) -> usize {
        self.bins.iter().filter(|b| b.inside).count()
    }
}

fn came(y: bool) -> f64 {
    f64::from(u8::from(y))
}

/// z = Σ (y − p)(1 − 2p) / √Σ (1 − 2p)² p (1 − p): the Brier score against what it would be if every p were honest, in standard deviations.
/// Spiegelhalter, "Probabilistic prediction in patient management and clinical trials", Statistics in Medicine 5, 1986, 421–433.
#[must_use]
pub fn spiegelhalter(predictions: &[(f64, bool)]) -> Option<f64> {
    let (mut off, mut variance) = (0.0, 0.0);
    for &(p, y) in predictions {
        off += (came(y) - p) * (1.0 - 2.0 * p);
        variance += (1.0 - 2.0 * p).powi(2) * p * (1.0 - p);
    }
    (variance > 0.0).then(|| off / variance.sqrt())
}

fn bins(predictions: &[(f64, bool)]) -> Vec<Bin> {
    let edge = |i: usize| i as f64 * 0.1;
    (0..BINS)
        .map(|i| {
            let inside = predictions
                .iter()
                .filter(|(p, _)| (i == 0 || *p > edge(i)) && (i + 1 == BINS || *p <= edge(i + 1)));
            let of_bin: Vec<(f64, bool)> = inside.copied().collect();
            bin(edge(i), edge(i + 1), &of_bin)
        })
        .collect()
}

fn bin(from: f64, to: f64, predictions: &[(f64, bool)]) -> Bin {
    let calls = predictions.len();
    let n = calls.max(1) as f64;
    let hits = predictions.iter().filter(|(_, y)| *y).count();
    let chances: Vec<f64> = predictions.iter().map(|(p, _)| *p).collect();
    let predicted = chances.iter().sum::<f64>() / n;
    let [low, high] = if calls <= EXACT_UP_TO {
        poisson_binomial_95(&chances)
    } else {
        let spread = Z_975 * chances.iter().map(|p| p * (1.0 - p)).sum::<f64>().sqrt();
        [predicted * n - spread, predicted * n + spread]
    };
    Bin {
        from,
        to,
        calls,
        hits,
        predicted,
        observed: hits as f64 / n,
        expected: [(low / n).max(0.0), (high / n).min(1.0)],
        inside: calls == 0 || (low..=high).contains(&(hits as f64)),
    }
}

/// The least and greatest count with at most 2.5 % below and above, for independent events with these chances: by adding one event after the other.
fn poisson_binomial_95(chances: &[f64]) -> [f64; 2] {
    let mut counts = vec![0.0; chances.len() + 1];
    counts[0] = 1.0;
    for (n, p) in chances.iter().enumerate() {
        for k in (0..=n).rev() {
            counts[k + 1] += counts[k] * p;
            counts[k] *= 1.0 - p;
        }
    }
    let end = |order: &mut dyn Iterator<Item = usize>| {
        let mut beyond = 0.0;
        for k in order {
            beyond += counts[k];
            if beyond > 0.025 {
                return k;
            }
        }
        0
    };
    [
        end(&mut (0..counts.len())) as f64,
        end(&mut (0..counts.len()).rev()) as f64,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sorted(predictions: &[(f64, bool)]) -> Vec<(f64, bool)> {
        let mut sorted = predictions.to_vec();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        sorted
    }

    /// Brier (1950), table 1 (from memory): ten forecasts of rain, his score over both classes 0.19, so 0.095 over one.
    #[test]
    fn briers_own_example() {
        let forecasts = [0.7, 0.9, 0.8, 0.4, 0.2, 0.0, 0.0, 0.0, 0.0, 0.1];
        let rain = [false, true, true, true, false, false, false, false, false, false];
        let predictions: Vec<(f64, bool)> = forecasts.into_iter().zip(rain).collect();
        let scores = Scores::of(&sorted(&predictions)).expect("ten of them");
        assert!((scores.brier - 0.095).abs() < 1e-12, "{scores:?}");
    }

    /// With one value a bin the split has no remainder: 0.2 came true in 1 of 4, 0.8 in 3 of 4, overall ½. Worked by hand: reliability 0.05² = 0.0025,
    /// resolution 0.25² = 0.0625, uncertainty 0.25; their sum 0.19.
    #[test]
    fn the_split_adds_up() {
        let predictions = sorted(&[
            (0.2, true),
            (0.2, false),
            (0.2, false),
            (0.2, false),
            (0.8, true),
            (0.8, true),
            (0.8, true),
            (0.8, false),
        ]);
        let s = Scores::of(&predictions).expect("eight of them");
        for (value, by_hand) in [
            (s.reliability, 0.0025),
            (s.resolution, 0.0625),
            (s.uncertainty, 0.25),
            (s.brier, 0.19),
            (s.within, 0.0),
        ] {
            assert!((value - by_hand).abs() < 1e-12, "{s:?}");
        }
    }

    /// No worked example of z is published that we know of; by hand: (0.9, true), (0.9, false), (0.4, false). Σ (y − p)(1 − 2p) = −0.08 + 0.72 − 0.08 = 0.56;
    /// Σ (1 − 2p)² p(1 − p) = 2·0.0576 + 0.0096 = 0.1248; z = 0.56/0.353270 = 1.585188.
    #[test]
    fn spiegelhalters_z_by_hand() {
        let z = spiegelhalter(&[(0.4, false), (0.9, false), (0.9, true)]).expect("not all of them 0, 1 or a half");
        assert!((z - 1.585_188).abs() < 1e-6, "{z}");
        assert_eq!(spiegelhalter(&[(0.5, true), (1.0, true)]), None);
    }

    /// Binomial 10, ½: P(≤ 1) = 11/1024 = 1.1 %, P(≤ 2) = 56/1024 = 5.5 %, so 95 % lie in 2 to 8.
    #[test]
    fn exact_interval_of_a_fair_coin() {
        let [low, high] = poisson_binomial_95(&[0.5; 10]);
        assert!((low - 2.0).abs() < 1e-12 && (high - 8.0).abs() < 1e-12);
    }
}
