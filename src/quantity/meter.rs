//! How far a meter can be believed, and the chance that the true value lies in a band.

use super::Unit;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Accuracy of an instrument as its data sheet gives it: ±(`percent` of the reading + `counts` of the last digit).
///
/// The same form serves a tape or a stopwatch: no percentage, so many divisions.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct MeterClass {
    /// Share of the reading, in percent; not negative.
    pub percent: f64,
    /// How many counts of the last digit; not negative.
    pub counts: f64,
    /// What one count of the last digit is worth, in the unit of the reading; not negative.
    pub digit: f64,
}

impl MeterClass {
    /// A class that never errs: for counted things.
    pub const EXACT: Self = Self {
        percent: 0.0,
        counts: 0.0,
        digit: 0.0,
    };

    /// Largest error that the class allows at `value`, in the unit of the reading.
    #[must_use]
    pub fn limit(&self, value: f64) -> f64 {
        self.percent / 100.0 * value.abs() + self.counts * self.digit
    }

    /// Standard uncertainty at `value`: the limit over √3, every error within the limit being equally likely
    /// (JCGM 100:2008, *Guide to the expression of uncertainty in measurement*, 4.3.7).
    #[must_use]
    pub fn sigma(&self, value: f64) -> f64 {
        self.limit(value) / 3.0_f64.sqrt()
    }

    /// What is wrong with a class an author wrote, or `None`: every part must be a finite number, none below zero,
    /// and counts need a digit to count.
    #[must_use]
    pub fn problem(&self) -> Option<&'static str> {
        let parts = [self.percent, self.counts, self.digit];
        if parts.iter().any(|x| !x.is_finite() || *x < 0.0) {
            Some("percent, counts and digit must be plain numbers, none below zero")
        } else if self.percent >= 100.0 {
            Some("a meter that may be wrong by its whole reading tells nothing: percent must be under 100")
        } else if self.counts > 0.0 && self.digit == 0.0 {
            Some("counts need a digit: what is one count of the last digit worth, in the unit of the reading?")
        } else {
            None
        }
    }

    /// The class assumed when the author gives none: a sound hand instrument of the ordinary kind.
    ///
    /// Source: common practice. Volts, ohms and current are those of an ordinary 6000-count multimeter (current by
    /// dc clamp, ±(2 % + 5)); megohms those of a hand insulation tester; force a spring or digital pull scale;
    /// lengths a tape read to its nearest division; times a wristwatch or phone;
    /// wind a hand anemometer; angles a phone laid on the steel.
    #[must_use]
    #[expect(
        clippy::match_same_arms,
        reason = "a table: one line a unit, in the order of the units"
    )]
    pub fn usual_for(unit: Unit) -> Self {
        let (percent, counts, digit) = match unit {
            Unit::One => (0.0, 0.0, 0.0),
            Unit::Percent => (0.0, 2.0, 1.0),
            Unit::Volt => (0.5, 2.0, 0.01),
            Unit::Millivolt => (0.5, 2.0, 0.1),
            Unit::Ampere => (2.0, 5.0, 0.01),
            Unit::Milliampere => (1.0, 3.0, 0.01),
            Unit::Ohm => (0.8, 3.0, 0.1),
            Unit::Kilohm => (0.8, 2.0, 0.01),
            Unit::Megohm => (5.0, 3.0, 0.1),
            Unit::Microhenry => (2.0, 5.0, 0.1),
            Unit::Millihenry => (2.0, 5.0, 0.001),
            Unit::Hertz => (0.1, 2.0, 0.1),
            Unit::Kilohertz | Unit::Megahertz => (0.1, 2.0, 0.01),
            Unit::Newton => (1.0, 2.0, 5.0),
            Unit::PoundForce | Unit::Pound => (1.0, 2.0, 0.5),
            Unit::Kilogram => (1.0, 2.0, 0.2),
            Unit::Millimetre => (0.0, 1.0, 1.0),
            Unit::Centimetre => (0.0, 1.0, 0.1),
            Unit::Metre => (0.0, 1.0, 0.01),
            Unit::Inch => (0.0, 1.0, 0.0625),
            Unit::Foot => (0.0, 1.0, 0.1),
            Unit::Second => (0.0, 1.0, 0.5),
            Unit::Minute => (0.0, 1.0, 1.0),
            Unit::Hour => (0.0, 1.0, 0.25),
            Unit::Celsius => (0.0, 2.0, 1.0),
            Unit::Fahrenheit => (0.0, 4.0, 1.0),
            Unit::Watt => (2.0, 5.0, 0.1),
            Unit::AmpereHour => (5.0, 1.0, 0.1),
            Unit::Decibel | Unit::DecibelMilliwatt => (0.0, 2.0, 1.0),
            Unit::MetrePerSecond => (3.0, 1.0, 0.1),
            Unit::KilometrePerHour | Unit::MilePerHour => (3.0, 1.0, 0.5),
            Unit::NewtonMetre | Unit::PoundFoot => (5.0, 1.0, 1.0),
            Unit::WattHour => (2.0, 5.0, 0.1),
            Unit::Nanofarad => (2.0, 5.0, 0.1),
            Unit::Microfarad => (2.0, 5.0, 0.01),
            Unit::Day => (0.0, 1.0, 1.0),
            Unit::Degree => (0.0, 1.0, 1.0),
        };
        Self { percent, counts, digit }
    }
}

/// Chance that the true value lies in `[lo, hi)` when `v` was read with standard uncertainty `sigma`:
/// Φ((hi − v)/σ) − Φ((lo − v)/σ). A missing bound is infinite.
///
/// With `sigma` zero (or not a number above zero) the answer is 0 or 1 by `lo ≤ v < hi`. Over bands that meet
/// without gap or overlap the chances add to one.
#[must_use]
pub fn in_band(v: f64, sigma: f64, lo: Option<f64>, hi: Option<f64>) -> f64 {
    if !(sigma > 0.0 && sigma.is_finite()) {
        let inside = lo.is_none_or(|lo| lo <= v) && hi.is_none_or(|hi| v < hi);
        return if inside { 1.0 } else { 0.0 };
    }
    let from = lo.map_or(f64::NEG_INFINITY, |lo| (lo - v) / sigma);
    let below = hi.map_or(f64::INFINITY, |hi| (hi - v) / sigma);
    // Subtract on the side where both tails are small, so that far bands keep their digits.
    let chance = if from > 0.0 {
        tail(from) - tail(below)
    } else {
        tail(-below) - tail(-from)
    };
    chance.clamp(0.0, 1.0)
}

/// Chance of a standard normal value above `z`.
fn tail(z: f64) -> f64 {
    0.5 * libm::erfc(z * std::f64::consts::FRAC_1_SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn close(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
    }

    /// The worked example printed in explanations of multimeter accuracy: ±(1 % + 2) at 100.0 V is 98.8 V to 101.2 V.
    #[test]
    fn printed_example_of_percent_and_counts() {
        let class = MeterClass {
            percent: 1.0,
            counts: 2.0,
            digit: 0.1,
        };
        close(100.0 - class.limit(100.0), 98.8, 1e-12);
        close(100.0 + class.limit(100.0), 101.2, 1e-12);
    }

    #[test]
    fn battery_reading_on_an_ordinary_meter() {
        let class = MeterClass {
            percent: 0.5,
            counts: 2.0,
            digit: 0.01,
        };
        close(class.limit(12.34), 0.0817, 1e-12);
        close(class.limit(-12.34), 0.0817, 1e-12);
        close(class.sigma(12.34), 0.0817 / 1.732_050_807_568_877_2, 1e-15);
    }

    /// Φ(1) and Φ(1.96) of any table of the normal distribution: Abramowitz & Stegun, table 26.1.
    #[test]
    fn normal_table() {
        close(in_band(0.0, 1.0, None, Some(1.0)), 0.841_344_746_068_543, 1e-14);
        close(in_band(0.0, 1.0, Some(-1.0), Some(1.0)), 0.682_689_492_137_086, 1e-14);
        close(in_band(0.0, 1.0, None, Some(1.96)), 0.975_002_104_851_780, 1e-14);
        close(in_band(12.0, 0.5, Some(12.0), None), 0.5, 0.0);
        // Q(10) = 7.619 853 024 160 526e-24: a far band is not lost to cancellation.
        close(in_band(0.0, 1.0, Some(10.0), Some(11.0)) / 7.619_853_024e-24, 1.0, 1e-3);
        close(
            in_band(0.0, 1.0, Some(-11.0), Some(-10.0)) / 7.619_853_024e-24,
            1.0,
            1e-3,
        );
    }

    #[test]
    fn an_exact_reading_is_in_one_band() {
        close(in_band(3.0, 0.0, Some(3.0), Some(4.0)), 1.0, 0.0);
        close(in_band(4.0, 0.0, Some(3.0), Some(4.0)), 0.0, 0.0);
        close(in_band(4.0, f64::NAN, Some(4.0), None), 1.0, 0.0);
    }

    #[test]
    fn every_unit_has_a_sound_usual_class() {
        for unit in Unit::all() {
            assert_eq!(MeterClass::usual_for(unit).problem(), None, "{unit}");
        }
        let bad = MeterClass {
            percent: 1.0,
            counts: 2.0,
            digit: 0.0,
        };
        assert!(bad.problem().is_some());
        assert!(
            MeterClass {
                percent: f64::NAN,
                ..bad
            }
            .problem()
            .is_some()
        );
    }

    #[test]
    fn an_unknown_field_is_refused() {
        let err = serde_json::from_str::<MeterClass>(r#"{"percent":1,"counts":2,"digit":0.1,"count":3}"#);
        assert!(err.unwrap_err().to_string().contains("unknown field `count`"));
    }

    proptest! {
        #[test]
        fn bands_that_meet_share_out_the_whole(
            mut edges in proptest::collection::vec(-50.0..50.0_f64, 1..8),
            v in -60.0..60.0_f64,
            sigma in prop_oneof![Just(0.0), 1e-6..20.0_f64],
        ) {
            edges.sort_by(f64::total_cmp);
            let mut sum = in_band(v, sigma, None, Some(edges[0]));
            for pair in edges.windows(2) {
                sum += in_band(v, sigma, Some(pair[0]), Some(pair[1]));
            }
            sum += in_band(v, sigma, edges.last().copied(), None);
            prop_assert!((sum - 1.0).abs() < 1e-12, "{sum}");
        }
    }
}
