//! A gate that moves: speed of its toe, energy, what it takes to stop it; the motor's current at rest, running and stalled.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where speed and energy come from.
pub const ENERGY_SOURCE: &str = "mechanics: an evenly heavy leaf turning about its hinge, m L²/3";
/// Where the motor's current comes from.
pub const MOTOR_SOURCE: &str = "Ohm's law; a motor that stands still is only its winding";
/// Where its running current is judged from.
pub const RUN_SOURCE: &str = "common practice: half as much again as when it was commissioned is drag";
/// Where the stop is judged from.
pub const STOP_SOURCE: &str = "common practice";

/// Turning speed in radians a second.
fn turning(seconds: f64, degrees: f64) -> Result<f64, OutOfRange> {
    let time = within("the time it takes", seconds, Unit::Second, 2.0, 120.0)?;
    Ok(within("the angle it swings", degrees, Unit::Degree, 10.0, 180.0)?.to_radians() / time)
}

/// Mean speed in m/s of a leaf's toe: length · angle/time.
///
/// Leaf 0.3 to 10 m, 2 to 120 s, 10° to 180°. Soft start and stop make the peak 1.3 to 1.6 times that (common practice).
///
/// # Errors
/// A value outside its range.
pub fn toe_speed(length: f64, seconds: f64, degrees: f64) -> Result<f64, OutOfRange> {
    Ok(within("the leaf's length", length, Unit::Metre, 0.3, 10.0)? * turning(seconds, degrees)?)
}

/// Energy in J (N·m) of a leaf at its mean speed: ½ · m L²/3 · ω².
///
/// 5 to 1500 kg; the rest as [`toe_speed`].
///
/// # Errors
/// A value outside its range.
pub fn leaf_energy(mass: f64, length: f64, seconds: f64, degrees: f64) -> Result<f64, OutOfRange> {
    let m = within("the leaf's mass", mass, Unit::Kilogram, 5.0, 1500.0)?;
    Ok(m * toe_speed(length, seconds, degrees)?.powi(2) / 6.0)
}

/// Energy in J (N·m) of a slide gate: ½ m v².
///
/// 20 to 3000 kg, 0.01 to 2 m/s.
///
/// # Errors
/// A value outside its range.
pub fn slide_energy(mass: f64, speed: f64) -> Result<f64, OutOfRange> {
    let m = within("the gate's mass", mass, Unit::Kilogram, 20.0, 3000.0)?;
    Ok(0.5 * m * within("the speed", speed, Unit::MetrePerSecond, 0.01, 2.0)?.powi(2))
}

/// Mean push in N that takes an energy of `joules` out over `millimetres` of give: energy/way. The motor's own push comes on
/// top until it stops.
///
/// 0 to 2000 J, 1 to 1000 mm.
///
/// # Errors
/// A value outside its range.
pub fn stopping_push(joules: f64, millimetres: f64) -> Result<f64, OutOfRange> {
    let energy = within("the energy", joules, Unit::NewtonMetre, 0.0, 2000.0)?;
    Ok(energy / within("the way to stop", millimetres, Unit::Millimetre, 1.0, 1000.0)? * 1000.0)
}

/// Current in A of a motor that stands still: V/(winding + the rest of the circuit).
///
/// 5 to 60 V, winding 0.01 to 100 Ω, wires and battery 0 to 10 Ω.
///
/// # Errors
/// A value outside its range.
pub fn stall_amps(volts: f64, winding: f64, rest: f64) -> Result<f64, OutOfRange> {
    let v = within("the volts", volts, Unit::Volt, 5.0, 60.0)?;
    let coil = within("the motor's winding", winding, Unit::Ohm, 0.01, 100.0)?;
    Ok(v / (coil + within("the rest of the circuit", rest, Unit::Ohm, 0.0, 10.0)?))
}

/// Running current in percent of the one that was written down when the gate was commissioned.
///
/// 0 to 100 A, then 0.05 to 100 A.
///
/// # Errors
/// A value outside its range.
pub fn run_percent(amps: f64, commissioned: f64) -> Result<f64, OutOfRange> {
    let now = within("the running current", amps, Unit::Ampere, 0.0, 100.0)?;
    Ok(100.0 * now / within("the current when commissioned", commissioned, Unit::Ampere, 0.05, 100.0)?)
}

/// How far in mm from its mark a gate stopped, either way.
///
/// −2000 to 2000 mm.
///
/// # Errors
/// A distance outside that range.
pub fn off_mark(millimetres: f64) -> Result<f64, OutOfRange> {
    Ok(within("where it stopped", millimetres, Unit::Millimetre, -2000.0, 2000.0)?.abs())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Worked by hand: 120 kg of 3.6 m in 15 s 0.377 m/s and 2.84 J; 80 kg of 3 m in 12 s 0.393 m/s and 2.06 J; 200 kg of 4 m
    /// in 18 s 0.349 m/s and 4.06 J.
    #[test]
    fn leaves_that_swing() {
        for (mass, length, seconds, speed, energy) in [
            (120.0, 3.6, 15.0, 0.377, 2.84),
            (80.0, 3.0, 12.0, 0.393, 2.06),
            (200.0, 4.0, 18.0, 0.349, 4.06),
        ] {
            close(toe_speed(length, seconds, 90.0).unwrap(), speed, 0.001);
            close(leaf_energy(mass, length, seconds, 90.0).unwrap(), energy, 0.01);
        }
        assert!(leaf_energy(120.0, 3.6, 0.0, 90.0).is_err());
    }

    /// Worked by hand: 400 kg at 0.3 m/s are 18 J, which 50 mm of give take out at 360 N.
    #[test]
    fn a_slide_gate_is_stopped() {
        let energy = slide_energy(400.0, 0.3).unwrap();
        close(energy, 18.0, 1e-9);
        close(stopping_push(energy, 50.0).unwrap(), 360.0, 1e-9);
        assert!(stopping_push(energy, 0.0).is_err());
    }

    /// Worked by hand: 0.8 Ω at 24 V draw 30 A, with 0.1 Ω of wire 26.7 A.
    #[test]
    fn a_motor_that_stands_still() {
        close(stall_amps(24.0, 0.8, 0.0).unwrap(), 30.0, 1e-9);
        close(stall_amps(24.0, 0.8, 0.1).unwrap(), 26.7, 0.05);
        close(run_percent(6.0, 4.0).unwrap(), 150.0, 1e-9);
        close(off_mark(-30.0).unwrap(), 30.0, 1e-12);
    }
}
