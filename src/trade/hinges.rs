//! A leaf on its hinges and a gate on its wheels: loads, friction, the pull that moves them by hand, a post that leans.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Standard gravity, m/s².
const GRAVITY: f64 = 9.806_65;

/// Where the loads come from.
pub const LOAD_SOURCE: &str = "statics of a leaf on two hinges";
/// Where the friction comes from.
pub const FRICTION_SOURCE: &str =
    "statics and dry friction; greased steel on steel 0.04 to 0.35, dry 0.12 to 0.6 (handbook tables, second hand)";
/// Where the pull of a slide gate comes from.
pub const ROLLING_SOURCE: &str = "statics and rolling friction: steel on rail 0.002 to 0.003, rubber on concrete 0.01 to 0.02 (open physics text); worn or dirty wheels 0.01 to 0.03 (common practice)";

/// Side load in N on each of two hinges: weight · half the length/distance between the hinges. The upper one is pulled, the
/// lower one pushed.
///
/// Leaf 5 to 1500 kg, 0.3 to 10 m long, evenly heavy; hinges 0.2 to 4 m apart.
///
/// # Errors
/// A value outside its range.
pub fn side_load(mass: f64, length: f64, apart: f64) -> Result<f64, OutOfRange> {
    let m = within("the leaf's mass", mass, Unit::Kilogram, 5.0, 1500.0)?;
    let l = within("the leaf's length", length, Unit::Metre, 0.3, 10.0)?;
    let h = within("hinge to hinge", apart, Unit::Metre, 0.2, 4.0)?;
    Ok(m * GRAVITY * l / 2.0 / h)
}

/// Moment in N·m by which the hinges resist: friction · pin radius · (2 · side load + weight).
///
/// Pin 5 to 60 mm across, coefficient 0.01 to 1 (0.15 usual for greased steel); the rest as [`side_load`].
///
/// # Errors
/// A value outside its range.
pub fn friction(mass: f64, length: f64, apart: f64, pin_mm: f64, coefficient: f64) -> Result<f64, OutOfRange> {
    let side = side_load(mass, length, apart)?;
    let radius = within("the pin", pin_mm, Unit::Millimetre, 5.0, 60.0)? / 2000.0;
    let mu = within("the coefficient of friction", coefficient, Unit::One, 0.01, 1.0)?;
    Ok(mu * radius * (2.0 * side + mass * GRAVITY))
}

/// Moment in N·m that a pull of `newtons` at the toe puts on the leaf, square to it.
///
/// 0 to 2000 N, leaf 0.3 to 10 m.
///
/// # Errors
/// A value outside its range.
pub fn moment_of_pull(newtons: f64, length: f64) -> Result<f64, OutOfRange> {
    let f = within("the pull at the toe", newtons, Unit::Newton, 0.0, 2000.0)?;
    Ok(f * within("the leaf's length", length, Unit::Metre, 0.3, 10.0)?)
}

/// Pull at the toe in percent of the leaf's weight.
///
/// 0 to 2000 N, leaf 5 to 1500 kg.
///
/// # Errors
/// A value outside its range.
pub fn pull_percent(newtons: f64, mass: f64) -> Result<f64, OutOfRange> {
    let f = within("the pull at the toe", newtons, Unit::Newton, 0.0, 2000.0)?;
    Ok(100.0 * f / (GRAVITY * within("the leaf's mass", mass, Unit::Kilogram, 5.0, 1500.0)?))
}

/// Moment in N·m by which a leaf on a leaning post wants to swing: weight · half the length · sin(lean) · sin(angle from
/// where it would come to rest).
///
/// Leaf as [`side_load`], lean 0° to 10°, angle 0° to 180°.
///
/// # Errors
/// A value outside its range.
pub fn lean(mass: f64, length: f64, lean: f64, angle: f64) -> Result<f64, OutOfRange> {
    let m = within("the leaf's mass", mass, Unit::Kilogram, 5.0, 1500.0)?;
    let l = within("the leaf's length", length, Unit::Metre, 0.3, 10.0)?;
    let off = within("the lean of the hinge line", lean, Unit::Degree, 0.0, 10.0)?.to_radians();
    let phi = within("the angle of the leaf", angle, Unit::Degree, 0.0, 180.0)?.to_radians();
    Ok(m * GRAVITY * l / 2.0 * off.sin() * phi.sin())
}

/// Pull in N that moves a slide gate up a slope: weight · (rolling · cos a + sin a).
///
/// 20 to 3000 kg, slope −10 to 10 % (rise over run; negative downhill), rolling coefficient 0.001 to 0.2 (0.01 usual).
/// Any slope is a fault and a run-away risk; below zero the gate runs away by itself.
///
/// # Errors
/// A value outside its range.
pub fn slide_pull(mass: f64, slope: f64, rolling: f64) -> Result<f64, OutOfRange> {
    let m = within("the gate's mass", mass, Unit::Kilogram, 20.0, 3000.0)?;
    let a = (within("the slope", slope, Unit::Percent, -10.0, 10.0)? / 100.0).atan();
    let c = within("the rolling coefficient", rolling, Unit::One, 0.001, 0.2)?;
    Ok(m * GRAVITY * (c * a.cos() + a.sin()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Worked by hand: 120 kg, 3.6 m, hinges 1.2 m apart: 1765 N; pins of 20 mm, friction 0.15: 7.1 N·m.
    #[test]
    fn a_leaf_of_120_kg() {
        close(side_load(120.0, 3.6, 1.2).unwrap(), 1765.0, 1.0);
        close(friction(120.0, 3.6, 1.2, 20.0, 0.15).unwrap(), 7.1, 0.05);
        // 60 N at the toe are thirty times that: it is not the hinges' grease.
        close(moment_of_pull(60.0, 3.6).unwrap(), 216.0, 1e-9);
        close(pull_percent(60.0, 120.0).unwrap(), 5.1, 0.01);
    }

    /// Worked by hand: the same leaf on a hinge line 1.5° out of plumb, 45° from rest: 39 N·m.
    #[test]
    fn a_post_that_leans() {
        close(lean(120.0, 3.6, 1.5, 45.0).unwrap(), 39.0, 0.5);
        close(lean(120.0, 3.6, 0.0, 45.0).unwrap(), 0.0, 1e-12);
    }

    /// Worked by hand: 400 kg, coefficient 0.01: 39 N on the level, 108 N at 1° (1.75 %); a slope of 1 % doubles it.
    #[test]
    fn a_slide_gate_on_a_slope() {
        let level = slide_pull(400.0, 0.0, 0.01).unwrap();
        close(level, 39.0, 0.5);
        close(
            slide_pull(400.0, 100.0 * 1.0_f64.to_radians().tan(), 0.01).unwrap(),
            108.0,
            0.5,
        );
        close(slide_pull(400.0, 1.0, 0.01).unwrap() / level, 2.0, 0.001);
        assert!(slide_pull(400.0, 45.0, 0.01).is_err());
    }
}
