//! What a loop is tested and laid out by: insulation, damp, skin depth, turns, two loops on one detector, steel about it.

use super::{OutOfRange, loop_rectangle, loops, within};
use crate::quantity::Unit;
use std::f64::consts::PI;

/// Where the grades of insulation come from.
pub const INSULATION_SOURCE: &str = "bounds: public road agencies' tests (500 or 1000 V, reject under 10 MΩ) and, from memory, NEMA TS 2 (1 MΩ in service); the grading is common practice";
/// Where the damp ratio comes from.
pub const DAMP_SOURCE: &str = "from memory: insulation-testing handbooks, 60 s over 15 s";
/// Where skin depth comes from.
pub const SKIN_SOURCE: &str = "field theory: √(resistivity/(π · frequency · µ0)), copper at 20 °C, 100 % IACS";
/// Where the least turns come from.
pub const TURNS_SOURCE: &str = "from memory: FHWA Traffic Detector Handbook, 2006 (60 µH at least and more than the lead-in); turns by perimeter are common practice";
/// Where the shares of two loops come from.
pub const PAIR_SOURCE: &str = "coils in parallel, circuit theory";
/// Where the distance of steel comes from.
pub const STEEL_SOURCE: &str =
    "common practice; that mesh is a shorted turn: FHWA Traffic Detector Handbook, 2006, appendix E";

/// Copper at 20 °C in Ω·m, the resistivity of 100 % IACS.
const COPPER: f64 = 1.724_1e-8;
const MU_0: f64 = 4e-7 * PI;

/// How sound the insulation of a loop and its lead-in is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Insulation {
    /// Over 100 MΩ.
    Good,
    /// 10 to 100 MΩ.
    Watch,
    /// 1 to 10 MΩ.
    Suspect,
    /// Under 1 MΩ.
    Bad,
}

impl Insulation {
    /// Of a reading in Ω to earth, loop disconnected from its detector.
    #[must_use]
    pub fn of(ohms: f64) -> Self {
        match ohms {
            r if r > 100e6 => Self::Good,
            r if r >= 10e6 => Self::Watch,
            r if r >= 1e6 => Self::Suspect,
            _ => Self::Bad,
        }
    }

    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Watch => "acceptable: note it and watch it",
            Self::Suspect => "suspect: faults that come with the rain are likely",
            Self::Bad => "bad: a splice or the wire in the slot leaks",
        }
    }
}

/// Current in mA that leaks to earth at the test volts: V/R.
///
/// From 100 Ω on, infinite where the tester shows OL; 50 to 1000 V.
///
/// # Errors
/// A value outside its range.
pub fn leakage_milliamps(ohms: f64, volts: f64) -> Result<f64, OutOfRange> {
    let r = within("the insulation", ohms, Unit::Ohm, 100.0, f64::INFINITY)?;
    Ok(within("the test volts", volts, Unit::Volt, 50.0, 1000.0)? / r * 1000.0)
}

/// Insulation after 60 s over that after 15 s.
///
/// 1 kΩ to 1 TΩ each.
///
/// # Errors
/// A reading outside that range.
pub fn damp_ratio(after_60: f64, after_15: f64) -> Result<f64, OutOfRange> {
    let late = within("the insulation after 60 s", after_60, Unit::Ohm, 1e3, 1e12)?;
    Ok(late / within("the insulation after 15 s", after_15, Unit::Ohm, 1e3, 1e12)?)
}

/// Depth in mm to which a current at `kilohertz` goes into copper.
///
/// 1 to 500 kHz.
///
/// # Errors
/// A frequency outside that range.
pub fn skin_depth_mm(kilohertz: f64) -> Result<f64, OutOfRange> {
    let f = within("the frequency", kilohertz, Unit::Kilohertz, 1.0, 500.0)? * 1e3;
    Ok(1e3 * (COPPER / (PI * f * MU_0)).sqrt())
}

/// Least turns of 14 AWG, 0.2 in apart, with which a loop has 60 µH and more than its lead-in.
///
/// Sides 1 to 100 ft, lead-in 0 to 2000 ft. Steel under the loop wants one or two more.
///
/// # Errors
/// A value outside its range, or a loop that ten turns don't bring there.
pub fn least_turns(long_ft: f64, short_ft: f64, lead_in_ft: f64) -> Result<f64, OutOfRange> {
    let wanted = loops::lead_in_microhenry(lead_in_ft)?.max(60.0);
    let mut turns = 1.0;
    while turns < 10.5 {
        if loop_rectangle::microhenry(long_ft, short_ft, turns, 14.0, 0.2)? >= wanted {
            return Ok(turns);
        }
        turns += 1.0;
    }
    let most = loop_rectangle::microhenry(long_ft, short_ft, 10.0, 14.0, 0.2)?;
    within("what ten turns have", most, Unit::Microhenry, wanted, 5000.0)
}

/// Turns by the trade's table, for a perimeter in feet.
#[must_use]
pub fn habit_of_turns(perimeter_ft: f64) -> &'static str {
    match perimeter_ft {
        p if p < 12.0 => "the trade lays 5 to 6 turns at this perimeter; 1 or 2 more over steel",
        p if p < 20.0 => "the trade lays 4 to 5 turns at this perimeter; 1 or 2 more over steel",
        p if p <= 60.0 => "the trade lays 3 to 4 turns at this perimeter; 1 or 2 more over steel",
        _ => "the trade lays 2 to 3 turns at this perimeter; 1 or 2 more over steel",
    }
}

/// Fall of inductance in percent of two loops in parallel, of the `percent` by which a vehicle lowers one of them: percent ·
/// other/(loop + other). In series it is [`loops::shift_at_detector`] with the other loop for a lead-in.
///
/// 0.01 to 20 %, 1 to 5000 µH each; for small shifts.
///
/// # Errors
/// A value outside its range.
pub fn parallel_shift(percent: f64, one: f64, other: f64) -> Result<f64, OutOfRange> {
    let share = within("the shift at the loop", percent, Unit::Percent, 0.01, 20.0)?;
    let l = within("the loop's inductance", one, Unit::Microhenry, 1.0, 5000.0)?;
    let beside = within("the other loop's inductance", other, Unit::Microhenry, 1.0, 5000.0)?;
    Ok(share * beside / (l + beside))
}

/// Least distance in feet of the nearest loop wire from the moving steel leaf: two thirds of the loop's shorter side, and 3 ft.
///
/// Shorter side 1 to 30 ft. Loops that lie under the arc on purpose are ignored while the leaf moves.
///
/// # Errors
/// A side outside that range.
pub fn from_leaf(short_ft: f64) -> Result<f64, OutOfRange> {
    Ok(loops::detection_height(short_ft)?.max(3.0))
}

/// What lies in inches between loop wire and reinforcing steel over the 2 in that it needs.
///
/// 0 to 60 in.
///
/// # Errors
/// A distance outside that range.
pub fn over_steel(inches: f64) -> Result<f64, OutOfRange> {
    Ok(within("the distance from steel", inches, Unit::Inch, 0.0, 60.0)? - 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Agencies' floors of 10 MΩ, 100 MΩ for new work, 1 MΩ in service.
    #[test]
    fn grades_of_insulation() {
        for (ohms, grade) in [
            (200e6, Insulation::Good),
            (f64::INFINITY, Insulation::Good),
            (50e6, Insulation::Watch),
            (10e6, Insulation::Watch),
            (2e6, Insulation::Suspect),
            (0.5e6, Insulation::Bad),
        ] {
            assert_eq!(Insulation::of(ohms), grade, "{ohms}");
        }
        close(leakage_milliamps(1e6, 500.0).unwrap(), 0.5, 1e-12);
        close(leakage_milliamps(f64::INFINITY, 500.0).unwrap(), 0.0, 0.0);
        close(damp_ratio(125e6, 100e6).unwrap(), 1.25, 1e-9);
        assert!(leakage_milliamps(0.0, 500.0).is_err() && damp_ratio(0.0, 1e6).is_err());
    }

    /// Field theory: 0.467 mm at 20 kHz, 0.296 mm at 50 kHz.
    #[test]
    fn skin_depth() {
        close(skin_depth_mm(20.0).unwrap(), 0.467, 0.0005);
        close(skin_depth_mm(50.0).unwrap(), 0.296, 0.0005);
    }

    /// From the table of loops: 6 by 6 ft has 74.5 µH with 3 turns and 36 µH with 2; 4 by 4 ft 76.8 µH with 4; 6 by 20 ft
    /// 83.8 µH with 2. A lead-in of 400 ft (88 µH) wants 4 on 6 by 6 ft (124.7 µH).
    #[test]
    fn turns_that_a_loop_needs() {
        for (long, short, lead_in, turns) in [
            (6.0, 6.0, 0.0, 3.0),
            (4.0, 4.0, 0.0, 4.0),
            (20.0, 6.0, 0.0, 2.0),
            (6.0, 6.0, 400.0, 4.0),
        ] {
            close(least_turns(long, short, lead_in).unwrap(), turns, 0.0);
        }
        assert!(least_turns(1.0, 1.0, 2000.0).is_err());
        assert!(habit_of_turns(24.0).contains("3 to 4") && habit_of_turns(16.0).contains("4 to 5"));
    }

    /// Two equal loops show half of one's shift, in series and in parallel.
    #[test]
    fn two_loops_on_one_detector() {
        close(parallel_shift(3.0, 74.0, 74.0).unwrap(), 1.5, 1e-9);
        close(loops::shift_at_detector(3.0, 74.0, 74.0).unwrap(), 1.5, 1e-9);
        // 3 % less of 74 µH beside 100 µH, worked out exactly, within the second order.
        let both = |l: f64| l * 100.0 / (l + 100.0);
        let exact = 100.0 * (1.0 - both(74.0 * 0.97) / both(74.0));
        close(parallel_shift(3.0, 74.0, 100.0).unwrap(), exact, 0.03);
    }

    /// Common practice: 6 ft and 4 ft sides keep 4 ft and 3 ft from the leaf; 2 in to mesh.
    #[test]
    fn steel_keeps_off() {
        close(from_leaf(6.0).unwrap(), 4.0, 1e-9);
        close(from_leaf(4.0).unwrap(), 3.0, 1e-9);
        close(over_steel(1.5).unwrap(), -0.5, 1e-9);
    }
}
