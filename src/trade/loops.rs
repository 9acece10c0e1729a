//! Inductive vehicle loops: inductance, lead-in, resonance, quality, what a vehicle does, height, neighbours.
//!
//! A vehicle lowers the inductance of a loop and so raises the frequency of its detector (FHWA, *Traffic Detector
//! Handbook*, 3rd edition, 2006, chapter 2). Loops find vehicles only, never people.

use super::{OutOfRange, within};
use crate::quantity::Unit;
use std::f64::consts::TAU;

/// Where the rule of [`rule_microhenry`] comes from.
pub const RULE_SOURCE: &str = "from memory: the rule of traffic-signal practice; exact tables in FHWA Traffic Detector Handbook, 2006, appendices A and D";

/// Inductance of twisted lead-in in µH per foot: the middle of 20 to 24 µH per 100 ft (published test-loop sheet).
pub const LEAD_IN_MICROHENRY_PER_FOOT: f64 = 0.22;

/// Inductance of the loop alone in µH by the trade's rule, (P/4)(N² + N), P the perimeter in feet, N the turns.
///
/// Perimeter 4 to 200 ft, 1 to 10 turns. Within 8 % of the physics of a rectangle of 14 AWG for 2 to 5 turns and
/// perimeters of 16 to 28 ft, within 12 % up to 52 ft; 7 to 21 % high for a single turn.
///
/// # Errors
/// A value outside its range.
pub fn rule_microhenry(perimeter_ft: f64, turns: f64) -> Result<f64, OutOfRange> {
    let p = within("the loop's perimeter", perimeter_ft, Unit::Foot, 4.0, 200.0)?;
    let n = within("the number of turns", turns, Unit::One, 1.0, 10.0)?;
    Ok(p / 4.0 * (n * n + n))
}

/// Inductance of `feet` of lead-in in µH; 0 to 2000 ft, ±10 %.
///
/// # Errors
/// A length outside that range.
pub fn lead_in_microhenry(feet: f64) -> Result<f64, OutOfRange> {
    Ok(LEAD_IN_MICROHENRY_PER_FOOT * within("the lead-in", feet, Unit::Foot, 0.0, 2000.0)?)
}

/// Resonant frequency in kHz of `microhenry` with `nanofarad`: 1/(2π√(LC)), textbook physics.
///
/// Inductance 1 to 5000 µH, capacitance 0.1 to 10 000 nF.
///
/// # Errors
/// A value outside its range (the capacitance is named by its number of nanofarads).
pub fn resonance_kilohertz(microhenry: f64, nanofarad: f64) -> Result<f64, OutOfRange> {
    let l = within("the inductance", microhenry, Unit::Microhenry, 1.0, 5000.0)?;
    let c = within("the capacitance in nF", nanofarad, Unit::One, 0.1, 10_000.0)?;
    Ok(1e-3 / (TAU * (l * 1e-6 * c * 1e-9).sqrt()))
}

/// Quality factor 2πfL/R. From the resistance at direct current it is an upper bound: skin effect adds some.
///
/// Frequency 1 to 500 kHz, inductance 1 to 5000 µH, resistance 0.01 to 10 000 Ω. One agency's acceptance
/// test wants 5 or more at 50 kHz.
///
/// # Errors
/// A value outside its range.
pub fn quality(kilohertz: f64, microhenry: f64, ohms: f64) -> Result<f64, OutOfRange> {
    let f = within("the frequency", kilohertz, Unit::Kilohertz, 1.0, 500.0)?;
    let l = within("the inductance", microhenry, Unit::Microhenry, 1.0, 5000.0)?;
    let r = within("the loop's resistance", ohms, Unit::Ohm, 0.01, 10_000.0)?;
    Ok(TAU * f * 1e3 * l * 1e-6 / r)
}

/// Fall of inductance in percent that the detector sees, of the `percent` by which a vehicle lowers the loop's own:
/// percent · loop/(loop + lead-in). Circuit theory of coils in series.
///
/// Share at the loop 0.01 to 20 %, loop 1 to 5000 µH, lead-in 0 to 500 µH.
///
/// # Errors
/// A value outside its range.
pub fn shift_at_detector(percent: f64, loop_microhenry: f64, lead_microhenry: f64) -> Result<f64, OutOfRange> {
    let share = within("the shift at the loop", percent, Unit::Percent, 0.01, 20.0)?;
    let l = within("the loop's inductance", loop_microhenry, Unit::Microhenry, 1.0, 5000.0)?;
    let lead = within(
        "the lead-in's inductance",
        lead_microhenry,
        Unit::Microhenry,
        0.0,
        500.0,
    )?;
    Ok(share * l / (l + lead))
}

/// Rise of frequency in percent when the inductance falls by `percent`: 1/√(1 − p/100) − 1, from the resonance.
///
/// −10 to 20 %; iron close to one wire can raise the inductance, which is a fall of frequency.
///
/// # Errors
/// A share outside that range.
pub fn frequency_rise(percent: f64) -> Result<f64, OutOfRange> {
    let p = within("the fall of inductance", percent, Unit::Percent, -10.0, 20.0)?;
    Ok(100.0 * (1.0 / (1.0 - p / 100.0).sqrt() - 1.0))
}

/// Where [`detection_height`] and [`apart_wanted`] come from.
pub const HABIT: &str = "common practice";

/// Height in feet up to which a loop finds steel: two thirds of its shorter side (common practice).
///
/// Shorter side 1 to 30 ft.
///
/// # Errors
/// A side outside that range.
pub fn detection_height(short_ft: f64) -> Result<f64, OutOfRange> {
    Ok(within("the shorter side of the loop", short_ft, Unit::Foot, 1.0, 30.0)? * 2.0 / 3.0)
}

/// How far apart in kHz two detectors work.
///
/// Frequencies 1 to 500 kHz.
///
/// # Errors
/// A frequency outside that range.
pub fn apart(one_kilohertz: f64, other_kilohertz: f64) -> Result<f64, OutOfRange> {
    let one = within("the frequency of one loop", one_kilohertz, Unit::Kilohertz, 1.0, 500.0)?;
    let other = within(
        "the frequency of the other loop",
        other_kilohertz,
        Unit::Kilohertz,
        1.0,
        500.0,
    )?;
    Ok((one - other).abs())
}

/// How far apart in kHz two detectors are to work whose loops lie `distance_ft` from each other, the lead-ins in pipes
/// of their own: 5 kHz or a tenth of the lower frequency, whichever is more, closer than 6.5 ft (2 m); nothing
/// beyond. Common practice. Loops on one scanning detector do not disturb each other.
#[must_use]
pub fn apart_wanted(one_kilohertz: f64, other_kilohertz: f64, distance_ft: f64) -> f64 {
    if distance_ft >= 6.5 {
        return 0.0;
    }
    (one_kilohertz.min(other_kilohertz) / 10.0).max(5.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Worked by hand: a car's 3 % at a loop of 74 µH behind 24 µH of lead-in is 2.27 %, and +1.15 % of frequency.
    /// From memory, NEMA TS 2: a car takes 3.2 % or 3.0 µH off a three-turn loop 6 ft square with 100 ft of lead-in.
    #[test]
    fn a_car_seen_through_the_lead_in() {
        let seen = shift_at_detector(3.0, 74.0, 24.0).unwrap();
        close(seen, 2.265, 0.001);
        close(frequency_rise(seen).unwrap(), 1.15, 0.01);
        close(frequency_rise(3.0).unwrap(), 1.53, 0.005);
        close(3.2 / 100.0 * (rule_microhenry(24.0, 3.0).unwrap() + 22.0), 3.0, 0.05);
        assert!(frequency_rise(100.0).is_err());
    }

    /// Common practice: a 6 ft side reaches 4 ft, a 4 ft side 2.7 ft.
    #[test]
    fn height_follows_the_shorter_side() {
        close(detection_height(6.0).unwrap(), 4.0, 1e-9);
        close(detection_height(4.0).unwrap(), 2.7, 0.05);
    }

    /// Common practice: 5 kHz or a tenth, nearer than 2 m.
    #[test]
    fn neighbours_work_apart() {
        close(apart(45.0, 48.0).unwrap(), 3.0, 1e-9);
        close(apart_wanted(45.0, 48.0, 4.0), 5.0, 1e-9);
        close(apart_wanted(90.0, 99.0, 4.0), 9.0, 1e-9);
        close(apart_wanted(45.0, 48.0, 10.0), 0.0, 1e-9);
    }

    /// The rule against the physics of a round-wire rectangle (Grover, *Inductance Calculations*: self inductance of
    /// each turn, mutual inductance of coaxial rectangles), 14 AWG, turns 0.2 in apart.
    #[test]
    fn rule_agrees_with_physics() {
        let table = [
            (24.0, [36.0, 74.5, 124.7, 185.8]),
            (16.0, [22.4, 46.1, 76.8, 114.0]),
            (36.0, [56.6, 117.5, 197.4, 294.9]),
        ];
        for (perimeter, physics) in table {
            for (turns, exact) in [2.0, 3.0, 4.0, 5.0].into_iter().zip(physics) {
                let share = if perimeter <= 28.0 { 0.08 } else { 0.12 };
                close(rule_microhenry(perimeter, turns).unwrap() / exact, 1.0, share);
            }
        }
    }

    /// A published test-loop sheet: three turns of 14 AWG, 6 ft square, read 60 to 80 µH; 100 ft of lead-in 20 to 24 µH.
    #[test]
    fn published_test_loop() {
        assert!((60.0..=80.0).contains(&rule_microhenry(24.0, 3.0).unwrap()));
        assert!((20.0..=24.0).contains(&lead_in_microhenry(100.0).unwrap()));
        close(
            rule_microhenry(24.0, 3.0).unwrap() + lead_in_microhenry(50.0).unwrap(),
            83.0,
            1e-9,
        );
    }

    /// 1/(2π√(LC)) worked by hand; 3 % less inductance raises the frequency by 1.53 %.
    #[test]
    fn resonance_rises_when_a_car_comes() {
        let empty = resonance_kilohertz(100.0, 100.0).unwrap();
        close(empty, 50.33, 0.005);
        close(resonance_kilohertz(97.0, 100.0).unwrap() / empty, 1.0153, 1e-4);
    }

    /// An agency's acceptance limit, Q of 5 at 50 kHz: one loop passes and one fails.
    #[test]
    fn quality_at_50_kilohertz() {
        close(quality(50.0, 74.0, 1.2).unwrap(), 19.4, 0.05);
        close(quality(50.0, 90.0, 6.0).unwrap(), 4.71, 0.005);
        assert!(quality(50.0, 74.0, 0.0).is_err());
    }
}
