//! A straight arm between a post and a leaf: its length, and what its push does about the hinge.
//!
//! Plane geometry. The bracket on the post is `post` from the hinge, that on the leaf `leaf`; `angle` is between the two
//! lines from the hinge to them. Where the brackets belong is in the operator's manual; pull-to-open and push-to-open
//! differ.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where the relations come from.
pub const SOURCE: &str = "plane geometry (law of cosines); where the brackets belong is in the operator's manual";

fn checked(post: f64, leaf: f64, angle: f64) -> Result<(f64, f64, f64), OutOfRange> {
    Ok((
        within("hinge to post bracket", post, Unit::Metre, 0.02, 2.0)?,
        within("hinge to leaf bracket", leaf, Unit::Metre, 0.05, 5.0)?,
        within("the angle between them", angle, Unit::Degree, 1.0, 179.0)?.to_radians(),
    ))
}

/// Length in m from bracket to bracket: √(R² + r² − 2 R r cos θ).
///
/// Post bracket 0.02 to 2 m from the hinge, leaf bracket 0.05 to 5 m, angle 1° to 179°.
///
/// # Errors
/// A value outside its range.
pub fn length(post: f64, leaf: f64, angle: f64) -> Result<f64, OutOfRange> {
    let (big, small, theta) = checked(post, leaf, angle)?;
    Ok((big * big + small * small - 2.0 * big * small * theta.cos())
        .max(0.0)
        .sqrt())
}

/// Distance in m from the hinge to the line in which the arm pushes: R r sin θ/length.
///
/// As [`length`].
///
/// # Errors
/// A value outside its range.
pub fn lever(post: f64, leaf: f64, angle: f64) -> Result<f64, OutOfRange> {
    let (big, small, theta) = checked(post, leaf, angle)?;
    let between = length(post, leaf, angle)?;
    Ok(if between > 0.0 {
        big * small * theta.sin() / between
    } else {
        0.0
    })
}

/// Moment in N·m about the hinge of a push of `newtons` in the arm.
///
/// 0 to 20 000 N; the rest as [`length`].
///
/// # Errors
/// A value outside its range.
pub fn moment(newtons: f64, post: f64, leaf: f64, angle: f64) -> Result<f64, OutOfRange> {
    Ok(within("the arm's push", newtons, Unit::Newton, 0.0, 20_000.0)? * lever(post, leaf, angle)?)
}

/// Push in N that a moment of `newton_metres` about the hinge asks of the arm; wind asks it of arm, bracket and post.
///
/// 0 to 20 000 N·m, a lever of at least 10 mm; the rest as [`length`].
///
/// # Errors
/// A value outside its range.
pub fn push(newton_metres: f64, post: f64, leaf: f64, angle: f64) -> Result<f64, OutOfRange> {
    let wanted = within(
        "the moment about the hinge",
        newton_metres,
        Unit::NewtonMetre,
        0.0,
        20_000.0,
    )?;
    let arm = within(
        "the arm's lever about the hinge",
        lever(post, leaf, angle)?,
        Unit::Metre,
        0.01,
        2.0,
    )?;
    Ok(wanted / arm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Worked by hand: brackets at 0.25 m and 0.80 m: at 110° 0.916 m long with a lever of 0.205 m, at 20° 0.572 m and
    /// 0.120 m; 1500 N give 308 and 180 N·m.
    #[test]
    fn an_arm_at_both_ends_of_its_travel() {
        for (angle, long, arm, about) in [(110.0, 0.916, 0.205, 308.0), (20.0, 0.572, 0.120, 180.0)] {
            close(length(0.25, 0.80, angle).unwrap(), long, 0.001);
            close(lever(0.25, 0.80, angle).unwrap(), arm, 0.001);
            close(moment(1500.0, 0.25, 0.80, angle).unwrap(), about, 1.0);
            close(
                push(moment(1500.0, 0.25, 0.80, angle).unwrap(), 0.25, 0.80, angle).unwrap(),
                1500.0,
                1e-6,
            );
        }
        assert!(lever(0.25, 0.80, 180.0).is_err());
    }

    /// A right angle at the hinge: the sides 3, 4, 5, and the lever 12/5.
    #[test]
    fn three_four_five() {
        close(length(0.3, 0.4, 90.0).unwrap(), 0.5, 1e-12);
        close(lever(0.3, 0.4, 90.0).unwrap(), 0.24, 1e-12);
    }
}
