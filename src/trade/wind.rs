//! Wind on a leaf: its force by how much of the leaf is closed, and its moment about the hinges.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where the pressure comes from.
pub const SOURCE: &str = "ASCE 7, velocity pressure 0.613 V² (half the density of air); shape factor from memory: 1.2 to 1.3 for a flat panel";

/// Pressure of wind in Pa at `speed` m/s: 0.613 · V².
///
/// 0 to 60 m/s.
///
/// # Errors
/// A speed outside that range.
pub fn pressure(speed: f64) -> Result<f64, OutOfRange> {
    let v = within("the wind", speed, Unit::MetrePerSecond, 0.0, 60.0)?;
    Ok(0.613 * v * v)
}

/// Force in N on a leaf: pressure · shape factor · length · height · share of it that is closed.
///
/// Wind 0 to 60 m/s, leaf 0.3 to 15 m long and 0.3 to 4 m high, 1 to 100 % closed (100 − open share), shape factor 1 to
/// 2 (1.2 usual). Thin bars far apart catch somewhat more than their share.
///
/// # Errors
/// A value outside its range.
pub fn force(speed: f64, length: f64, height: f64, closed: f64, shape: f64) -> Result<f64, OutOfRange> {
    let q = pressure(speed)?;
    let l = within("the leaf's length", length, Unit::Metre, 0.3, 15.0)?;
    let h = within("the leaf's height", height, Unit::Metre, 0.3, 4.0)?;
    let share = within("the closed share", closed, Unit::Percent, 1.0, 100.0)? / 100.0;
    let factor = within("the shape factor", shape, Unit::One, 1.0, 2.0)?;
    Ok(q * factor * l * h * share)
}

/// Moment in N·m of that force about the hinges: force · length/2.
///
/// As [`force`].
///
/// # Errors
/// A value outside its range.
pub fn moment(speed: f64, length: f64, height: f64, closed: f64, shape: f64) -> Result<f64, OutOfRange> {
    Ok(force(speed, length, height, closed, shape)? * length / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// ASCE 7 in its two unit systems, 0.00256 V² in psf of V in mph: 30 mph is 2.30 psf or 110 Pa, 60 mph 9.22 psf.
    #[test]
    fn pressure_of_wind() {
        for (mph, psf) in [(20.0, 1.02), (30.0, 2.30), (40.0, 4.10), (50.0, 6.40), (60.0, 9.22)] {
            let pascal = pressure(Unit::MilePerHour.express(mph, Unit::MetrePerSecond)).unwrap();
            close(pascal / 47.880, psf, 0.015);
        }
    }

    /// Worked by hand: 3.6 m by 1.8 m, 30 mph: solid 857 N and 1543 N·m, a fifth closed 171 N and 309 N·m.
    #[test]
    fn a_solid_leaf_and_one_of_bars() {
        let v = Unit::MilePerHour.express(30.0, Unit::MetrePerSecond);
        close(force(v, 3.6, 1.8, 100.0, 1.2).unwrap(), 857.0, 1.0);
        close(moment(v, 3.6, 1.8, 100.0, 1.2).unwrap(), 1543.0, 1.5);
        close(force(v, 3.6, 1.8, 20.0, 1.2).unwrap(), 171.0, 1.0);
        close(moment(v, 3.6, 1.8, 20.0, 1.2).unwrap(), 309.0, 1.0);
        assert!(force(-1.0, 3.6, 1.8, 20.0, 1.2).is_err());
    }
}
