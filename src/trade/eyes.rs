//! Photo eyes: signal by distance, aim, battery-powered ends; and the clock of a timer.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where the fall of signal comes from.
pub const SIGNAL_SOURCE: &str =
    "from memory: optics, a through-beam falls with the square of distance, a reflected one with the fourth power";
/// Where the margin comes from.
pub const MARGIN_SOURCE: &str = "common practice";
/// Where the aim comes from.
pub const AIM_SOURCE: &str = "trigonometry";

/// Signal as a multiple of what the eye needs: (rated/distance)², to the fourth power where the beam comes back from a
/// reflector.
///
/// 0.1 to 200 m each.
///
/// # Errors
/// A distance outside that range.
pub fn signal(rated: f64, distance: f64, reflected: bool) -> Result<f64, OutOfRange> {
    let reach = within("the rated reach", rated, Unit::Metre, 0.1, 200.0)?;
    let share = reach / within("the distance", distance, Unit::Metre, 0.1, 200.0)?;
    Ok(share.powi(if reflected { 4 } else { 2 }))
}

/// How far in mm a beam lands beside its mark: distance · tan(angle).
///
/// 0.1 to 200 m, 0° to 45°.
///
/// # Errors
/// A value outside its range.
pub fn off_aim(distance: f64, degrees: f64) -> Result<f64, OutOfRange> {
    let d = within("the distance", distance, Unit::Metre, 0.1, 200.0)?;
    let angle = within("the angle", degrees, Unit::Degree, 0.0, 45.0)?;
    Ok(d * angle.to_radians().tan() * 1000.0)
}

/// Days that a cell lasts: capacity/mean current.
///
/// 0.05 to 100 Ah, 1 µA to 1 A. Cold and shelf life take more.
///
/// # Errors
/// A value outside its range.
pub fn cell_days(ampere_hours: f64, amps: f64) -> Result<f64, OutOfRange> {
    let capacity = within("the cell", ampere_hours, Unit::AmpereHour, 0.05, 100.0)?;
    Ok(capacity / within("the mean current", amps, Unit::Ampere, 1e-6, 1.0)? / 24.0)
}

/// Seconds that a clock drifts in `days` at `millionths` of its rate: 0.0864 · millionths · days.
///
/// 0 to 500 millionths, 0 to 3660 days.
///
/// # Errors
/// A value outside its range.
pub fn clock_drift(millionths: f64, days: f64) -> Result<f64, OutOfRange> {
    let rate = within("the drift in millionths", millionths, Unit::One, 0.0, 500.0)?;
    Ok(0.0864 * rate * within("the time", days, Unit::Day, 0.0, 3660.0)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Optics: half the distance has 4 times the signal, 16 times by a reflector; an eye rated 30 ft at 60 ft a sixteenth.
    #[test]
    fn signal_by_distance() {
        close(signal(10.0, 5.0, false).unwrap(), 4.0, 1e-9);
        close(signal(10.0, 5.0, true).unwrap(), 16.0, 1e-9);
        close(signal(9.144, 18.288, true).unwrap(), 1.0 / 16.0, 1e-12);
        assert!(signal(10.0, 0.0, false).is_err());
    }

    /// Worked by hand: 1° at 10 m and 2° at 5 m are 175 mm.
    #[test]
    fn aim() {
        close(off_aim(10.0, 1.0).unwrap(), 175.0, 0.5);
        close(off_aim(5.0, 2.0).unwrap(), 175.0, 0.5);
    }

    /// Worked by hand: 2500 mAh at 95 µA are 26 300 h or 3.0 years; 20 millionths are 1.73 s a day and 10.5 min a year.
    #[test]
    fn cells_and_clocks() {
        close(cell_days(2.5, 95e-6).unwrap() * 24.0, 26_300.0, 50.0);
        close(cell_days(2.5, 95e-6).unwrap() / 365.25, 3.0, 0.01);
        close(clock_drift(20.0, 1.0).unwrap(), 1.73, 0.005);
        close(clock_drift(20.0, 365.0).unwrap() / 60.0, 10.5, 0.05);
        assert!(cell_days(2.5, 0.0).is_err());
    }
}
