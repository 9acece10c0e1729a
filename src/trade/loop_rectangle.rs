//! Inductance of a rectangular loop of round wire from its geometry.
//!
//! F. W. Grover, *Inductance Calculations*, 1946 (from memory): self inductance of a rectangle of round wire, and
//! mutual inductance of parallel filaments, from which that of two equal rectangles one above the other follows.

use super::{OutOfRange, loops, wire, within};
use crate::quantity::Unit;
use std::f64::consts::PI;

/// Where the geometry comes from.
pub const SOURCE: &str =
    "from memory: Grover, Inductance Calculations, 1946 (rectangle of round wire, coaxial rectangles)";

/// Permeability of air over π, in µH per metre.
const MU_OVER_PI: f64 = 0.4;
const METRES_PER_FOOT: f64 = 0.3048;

/// Inductance in µH of `turns` turns of `awg` wire laid as a rectangle, `spacing_in` inches from turn to turn.
///
/// Sides 1 to 100 ft, 1 to 10 turns (whole ones), gauges 10 to 22, spacing 0.1 to 1 in from centre to centre and more
/// than the bare wire. In air: reinforcing steel under the loop takes some of it away.
///
/// # Errors
/// A value outside its range.
pub fn microhenry(long_ft: f64, short_ft: f64, turns: f64, awg: f64, spacing_in: f64) -> Result<f64, OutOfRange> {
    let a = METRES_PER_FOOT * within("one side of the loop", long_ft, Unit::Foot, 1.0, 100.0)?;
    let b = METRES_PER_FOOT * within("the other side of the loop", short_ft, Unit::Foot, 1.0, 100.0)?;
    let n = within("the number of turns", turns, Unit::One, 1.0, 10.0)?.round();
    let gauge = within("the wire gauge", awg, Unit::One, 10.0, 22.0)?;
    let spacing = within("the spacing of the turns", spacing_in, Unit::Inch, 0.1, 1.0)?;
    let metres_per_inch = METRES_PER_FOOT / 12.0;
    let radius = wire::diameter_mils(gauge)? / 2000.0 * metres_per_inch;
    let mut total = n * one_turn(a, b, radius);
    let mut apart = 1.0;
    while apart < n {
        // (n − apart) pairs of turns lie that many spacings apart; each pair counts both ways.
        total += 2.0 * (n - apart) * mutual(a, b, apart * spacing * metres_per_inch);
        apart += 1.0;
    }
    Ok(total)
}

/// The same together with its lead-in: what a meter reads at the detector's plug, detector unplugged.
///
/// Lead-in 0 to 2000 ft; the rest as [`microhenry`].
///
/// # Errors
/// A value outside its range.
pub fn with_lead_in(
    sides_ft: (f64, f64),
    turns: f64,
    lead_in_ft: f64,
    awg: f64,
    spacing_in: f64,
) -> Result<f64, OutOfRange> {
    Ok(microhenry(sides_ft.0, sides_ft.1, turns, awg, spacing_in)? + loops::lead_in_microhenry(lead_in_ft)?)
}

/// One turn of wire of `radius`, all in metres; the last term is the field inside the wire.
fn one_turn(a: f64, b: f64, radius: f64) -> f64 {
    let diagonal = a.hypot(b);
    let outside = a * (2.0 * a / radius).ln() + b * (2.0 * b / radius).ln() + 2.0 * diagonal
        - a * (a / b).asinh()
        - b * (b / a).asinh()
        - 2.0 * (a + b);
    MU_OVER_PI * outside + MU_OVER_PI * PI * (a + b) / (4.0 * PI)
}

/// Two equal rectangles, one `distance` metres above the other.
fn mutual(a: f64, b: f64, distance: f64) -> f64 {
    let far_b = distance.hypot(b);
    let far_a = distance.hypot(a);
    2.0 * (filaments(a, distance) - filaments(a, far_b) + filaments(b, distance) - filaments(b, far_a))
}

/// Two equal parallel filaments of `length`, `distance` apart, in metres.
fn filaments(length: f64, distance: f64) -> f64 {
    let ratio = length / distance;
    MU_OVER_PI / 2.0 * (length * ratio.asinh() - length.hypot(distance) + distance)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// The physics column of the shared table of loops, 14 AWG at 0.2 in, and its single turns.
    #[test]
    fn the_table_of_loops() {
        let rows = [
            (6.0, 6.0, [10.5, 36.0, 74.5, 124.7, 185.8]),
            (4.0, 8.0, [10.4, 35.4, 73.0, 122.1, 181.8]),
            (4.0, 4.0, [6.6, 22.4, 46.1, 76.8, 114.0]),
            (6.0, 12.0, [16.4, 56.6, 117.5, 197.4, 294.9]),
            (6.0, 20.0, [24.2, 83.8, 174.3, 293.1, 438.4]),
        ];
        for (long, short, row) in rows {
            for (turns, want) in [1.0, 2.0, 3.0, 4.0, 5.0].into_iter().zip(row) {
                close(microhenry(long, short, turns, 14.0, 0.2).unwrap(), want, 0.06);
            }
        }
    }

    /// A published test-loop sheet: three turns of 14 AWG, 6 ft square, are to read 60 to 80 µH. From memory: the table
    /// of the FHWA Traffic Detector Handbook, 2006, has about 11, 35 and 73 µH for one, two and three turns.
    #[test]
    fn published_loops() {
        assert!((60.0..=80.0).contains(&microhenry(6.0, 6.0, 3.0, 14.0, 0.2).unwrap()));
        for (turns, want) in [(1.0, 11.0), (2.0, 35.0), (3.0, 73.0)] {
            close(microhenry(6.0, 6.0, turns, 14.0, 0.2).unwrap() / want, 1.0, 0.05);
        }
    }

    /// Three turns, 6 ft square, 50 ft of lead-in: 74.5 + 11; closer turns have 2 to 5 % more.
    #[test]
    fn lead_in_adds_and_closer_turns_have_more() {
        close(with_lead_in((6.0, 6.0), 3.0, 50.0, 14.0, 0.2).unwrap(), 85.5, 0.06);
        let ratio = microhenry(6.0, 6.0, 3.0, 14.0, 0.15).unwrap() / microhenry(6.0, 6.0, 3.0, 14.0, 0.2).unwrap();
        assert!((1.02..=1.05).contains(&ratio), "{ratio}");
        assert!(microhenry(6.0, 0.2, 3.0, 14.0, 0.2).is_err());
        assert!(microhenry(6.0, 6.0, 30.0, 14.0, 0.2).is_err());
    }
}
