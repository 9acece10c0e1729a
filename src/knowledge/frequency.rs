//! How often: a number from 0 to 1, or one word of a published scale.

use serde::de::{self, Visitor};
use serde::{Deserialize, Deserializer};

/// The words an author may write, with their chance.
///
/// Scale: Mosteller & Youtz, "Quantifying probabilistic expressions", Statistical Science 5(1), 1990. The
/// averages are written down from memory and rounded.
pub const WORDS: [(&str, f64); 10] = [
    ("always", 0.98),
    ("almost-always", 0.92),
    ("usually", 0.78),
    ("often", 0.66),
    ("half-the-time", 0.50),
    ("sometimes", 0.28),
    ("seldom", 0.15),
    ("rarely", 0.08),
    ("almost-never", 0.03),
    ("never", 0.01),
];

/// A chance as an author wrote it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frequency {
    /// The chance, 0 to 1.
    pub chance: f64,
    /// Written as a word of [`WORDS`]; words may be rescaled, numbers are meant exactly.
    pub is_word: bool,
}

impl Frequency {
    /// A chance given as a number.
    #[must_use]
    pub fn number(chance: f64) -> Self {
        Self { chance, is_word: false }
    }
}

impl<'de> Deserialize<'de> for Frequency {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct FrequencyVisitor;
        impl Visitor<'_> for FrequencyVisitor {
            type Value = Frequency;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a chance from 0 to 1, or one of ")?;
                for (i, (word, _)) in WORDS.iter().enumerate() {
                    write!(f, "{}{word}", if i == 0 { "" } else { ", " })?;
                }
                Ok(())
            }
            fn visit_f64<E: de::Error>(self, v: f64) -> Result<Frequency, E> {
                if (0.0..=1.0).contains(&v) {
                    Ok(Frequency::number(v))
                } else {
                    Err(E::custom(format!("{v} is not a chance: write a number from 0 to 1")))
                }
            }
            fn visit_u64<E: de::Error>(self, v: u64) -> Result<Frequency, E> {
                self.visit_f64(if v > 1 { 2.0 } else { v as f64 })
                    .map_err(|_: E| E::custom(format!("{v} is not a chance: write a number from 0 to 1")))
            }
            fn visit_i64<E: de::Error>(self, v: i64) -> Result<Frequency, E> {
                Err(E::custom(format!("{v} is not a chance: write a number from 0 to 1")))
            }
            fn visit_str<E: de::Error>(self, v: &str) -> Result<Frequency, E> {
                WORDS
                    .iter()
                    .find(|(word, _)| *word == v)
                    .map(|&(_, chance)| Frequency { chance, is_word: true })
                    .ok_or_else(|| E::invalid_value(de::Unexpected::Str(v), &self))
            }
        }
        deserializer.deserialize_any(FrequencyVisitor)
    }
}

/// Why a set of frequencies can't be made into a distribution.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DistributionError {
    /// The named chances are too far from 1.
    #[error("these chances add to {sum:.3}; {rule}")]
    Sum {
        /// What they add to.
        sum: f64,
        /// What was expected.
        rule: &'static str,
    },
    /// An outcome that the test does not have.
    #[error("this test has no outcome \"{0}\"")]
    UnknownOutcome(String),
}

/// Makes the named chances a distribution over `outcomes`.
///
/// Named outcomes get their chance; what is left goes to the unnamed in proportion to `healthy` (evenly where that is 0 for all of them).
/// If every outcome is named, or the sum is over 1, the chances are divided by their sum where a word is among them and the sum
/// lies in 0.8 to 1.25; numbers alone must add to 1 within 1e-6.
///
/// # Errors
/// [`DistributionError`] when the chances can't be a distribution or an outcome is unknown.
pub fn distribution<'a>(
    named: impl Iterator<Item = (&'a str, Frequency)> + Clone,
    outcomes: &[&str],
    healthy: Option<&[f64]>,
) -> Result<Vec<f64>, DistributionError> {
    let mut chances: Vec<Option<f64>> = vec![None; outcomes.len()];
    let mut any_word = false;
    for (name, frequency) in named {
        let at = outcomes
            .iter()
            .position(|o| *o == name)
            .ok_or_else(|| DistributionError::UnknownOutcome(name.to_owned()))?;
        chances[at] = Some(frequency.chance);
        any_word |= frequency.is_word;
    }
    let sum: f64 = chances.iter().flatten().sum();
    let all_named = chances.iter().all(Option::is_some);
    if all_named || sum > 1.0 + 1e-6 {
        let rescalable = any_word && (0.8..=1.25).contains(&sum);
        if !rescalable && (sum - 1.0).abs() > 1e-6 {
            let rule = if any_word {
                "with a word among them they may add to 0.8 to 1.25 and are then rescaled"
            } else {
                "numbers must add to 1"
            };
            return Err(DistributionError::Sum { sum, rule });
        }
        return Ok(chances.iter().map(|c| c.unwrap_or(0.0) / sum).collect());
    }
    let rest = (1.0 - sum).max(0.0);
    let unnamed: Vec<usize> = (0..outcomes.len()).filter(|&o| chances[o].is_none()).collect();
    let weight = |o: usize| healthy.map_or(0.0, |h| h[o]);
    let total: f64 = unnamed.iter().map(|&o| weight(o)).sum();
    for &o in &unnamed {
        chances[o] = Some(if total > 0.0 {
            rest * weight(o) / total
        } else {
            rest / unnamed.len() as f64
        });
    }
    Ok(chances.into_iter().map(|c| c.unwrap_or(0.0)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dist(named: &[(&'static str, Frequency)], healthy: Option<&[f64]>) -> Result<Vec<f64>, DistributionError> {
        distribution(named.iter().copied(), &["a", "b", "c"], healthy)
    }

    fn word(w: &str) -> Frequency {
        serde_yaml::from_str(w).expect("known word")
    }

    #[test]
    fn the_rest_follows_healthy() {
        let d = dist(&[("a", Frequency::number(0.6))], Some(&[0.5, 0.3, 0.1])).expect("valid");
        assert!((d[1] - 0.3).abs() < 1e-12 && (d[2] - 0.1).abs() < 1e-12, "{d:?}");
    }

    #[test]
    fn the_rest_is_even_where_healthy_says_nothing() {
        assert_eq!(
            dist(&[("a", Frequency::number(0.5))], None).expect("valid"),
            vec![0.5, 0.25, 0.25]
        );
    }

    #[test]
    fn words_are_rescaled_numbers_are_not() {
        let d = dist(&[("a", word("often")), ("b", word("half-the-time"))], None).expect("within 1.25");
        assert!((d[0] - 0.66 / 1.16).abs() < 1e-12);
        let numbers = [("a", Frequency::number(0.66)), ("b", Frequency::number(0.5))];
        assert!(matches!(dist(&numbers, None), Err(DistributionError::Sum { .. })));
    }

    #[test]
    fn an_unknown_word_lists_the_known_ones() {
        let error = serde_yaml::from_str::<Frequency>("mostly").expect_err("not a word of the scale");
        assert!(error.to_string().contains("usually"), "{error}");
    }
}
