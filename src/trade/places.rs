//! Gaps and places that the American standards give figures for: entrapment zones, openings, edges, eyes, controls, cable depth.
//!
//! UL 325 (2016 and after) and ASTM F2200 were not at hand: the figures are from memory, and operator manuals and an
//! association's articles that quote them agree where it is said so. Check the edition in force; the local authority and the
//! manual win. A gap that passes here is no proof that a place is safe: two independent means protect each entrapment zone,
//! and a direction without one still has one means.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where the entrapment zones come from.
pub const ZONE_SOURCE: &str =
    "from memory: UL 325, 2016 and after; an operator manual that quotes it agrees. Check the edition in force";
/// Where the openings, the bottom edge and the heights of barbs come from.
pub const BUILD_SOURCE: &str =
    "from memory: ASTM F2200; operator manuals that quote it agree. Check the edition in force";
/// Where the openings of a slide gate come from.
pub const OPENING_SOURCE: &str = "from memory: ASTM F2200, 72 in above grade (48 in in older editions and in a trade page). Check the edition in force";
/// Where the place of an eye comes from.
pub const EYE_SOURCE: &str =
    "from memory: UL 325; an operator manual prints 27.5 in at most, 21 in as typical, and 5 in from the gate";
/// Where the distance of controls comes from.
pub const CONTROL_SOURCE: &str =
    "from memory: UL 325, 6 ft; an owners' association's page agrees, tips of about 2000 say 10 ft";
/// Where the depth of cable comes from.
pub const DEPTH_SOURCE: &str = "from memory: NFPA 70 (NEC), table 300.5; its 6 in are for irrigation and landscape lighting of 30 V at most, and the local code says whether a gate's cable counts as such";

/// Up to here above grade a body can be caught, ft.
const ZONE_HEIGHT: f64 = 6.0;

/// How much wider in inches a gap between a moving gate and what stands against it is than the 16 in of an entrapment zone.
///
/// Gap 0 to 200 in, at its narrowest in the whole travel.
///
/// # Errors
/// A gap outside that range.
pub fn over_zone(gap: f64) -> Result<f64, OutOfRange> {
    Ok(within("the gap", gap, Unit::Inch, 0.0, 200.0)? - 16.0)
}

/// Whether such a gap at `height` ft above grade is an entrapment zone: under 16 in, up to 6 ft.
///
/// 0 to 200 in, 0 to 30 ft.
///
/// # Errors
/// A value outside its range.
pub fn is_zone(gap: f64, height: f64) -> Result<bool, OutOfRange> {
    Ok(over_zone(gap)? < 0.0 && within("the height above grade", height, Unit::Foot, 0.0, 30.0)? <= ZONE_HEIGHT)
}

/// How much in inches the gap under a swing leaf is over the 4 in at which an entrapment zone begins.
///
/// 0 to 60 in, at its widest in the whole arc.
///
/// # Errors
/// A gap outside that range.
pub fn under_leaf(gap: f64) -> Result<f64, OutOfRange> {
    Ok(within("the gap under the leaf", gap, Unit::Inch, 0.0, 60.0)? - 4.0)
}

/// What is left in inches of the 4 in from the pivot's centre to the end of wall, pillar or column.
///
/// 0 to 60 in.
///
/// # Errors
/// A distance outside that range.
pub fn pivot_spare(distance: f64) -> Result<f64, OutOfRange> {
    Ok(4.0 - within("the pivot's distance", distance, Unit::Inch, 0.0, 60.0)?)
}

/// What is left in inches of the 2¼ in that an opening of a slide gate, or of the fence that it passes, may have.
///
/// 0 to 60 in.
///
/// # Errors
/// An opening outside that range.
pub fn opening_spare(opening: f64) -> Result<f64, OutOfRange> {
    Ok(2.25 - within("the opening", opening, Unit::Inch, 0.0, 60.0)?)
}

/// What is left in inches of the ½ in by which something may stand out of a bottom edge.
///
/// 0 to 20 in.
///
/// # Errors
/// A value outside that range.
pub fn bottom_edge_spare(out: f64) -> Result<f64, OutOfRange> {
    Ok(0.5 - within("what stands out", out, Unit::Inch, 0.0, 20.0)?)
}

/// How much higher in feet than the 6 ft of barbed wire something lies; barbed tape wants 8 ft.
///
/// 0 to 30 ft above grade.
///
/// # Errors
/// A height outside that range.
pub fn barb_spare(height: f64) -> Result<f64, OutOfRange> {
    Ok(within("the height of the barbs", height, Unit::Foot, 0.0, 30.0)? - 6.0)
}

/// What is left in inches of the 27.5 in above grade at which an eye may sit.
///
/// 0 to 120 in.
///
/// # Errors
/// A height outside that range.
pub fn eye_height_spare(height: f64) -> Result<f64, OutOfRange> {
    Ok(27.5 - within("the eye's height", height, Unit::Inch, 0.0, 120.0)?)
}

/// What is left in inches of the 5 in that an eye may sit from the plane of the gate.
///
/// 0 to 120 in.
///
/// # Errors
/// A distance outside that range.
pub fn eye_plane_spare(distance: f64) -> Result<f64, OutOfRange> {
    Ok(5.0 - within("the eye's distance from the gate", distance, Unit::Inch, 0.0, 120.0)?)
}

/// How much farther in feet than the 6 ft a control is from anything that moves.
///
/// 0 to 300 ft.
///
/// # Errors
/// A distance outside that range.
pub fn control_spare(distance: f64) -> Result<f64, OutOfRange> {
    Ok(within("the control's distance", distance, Unit::Foot, 0.0, 300.0)? - 6.0)
}

/// How much deeper in inches a low-voltage cable lies than the 6 in of irrigation and landscape lighting; 18 in under a drive of one or two
/// families, 24 in under a street or a shared drive.
///
/// 0 to 120 in.
///
/// # Errors
/// A depth outside that range.
pub fn cable_spare(depth: f64) -> Result<f64, OutOfRange> {
    Ok(within("the cable's depth", depth, Unit::Inch, 0.0, 120.0)? - 6.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// From memory, UL 325, as an operator manual quotes it: less than 16 in (406 mm) up to 6 ft (1.83 m) above grade.
    #[test]
    fn entrapment_zones() {
        assert!(is_zone(15.9, 3.0).unwrap() && is_zone(0.0, 6.0).unwrap());
        assert!(!is_zone(16.0, 3.0).unwrap() && !is_zone(10.0, 6.5).unwrap());
        close(Unit::Inch.express(16.0, Unit::Millimetre), 406.0, 0.5);
        close(Unit::Foot.express(6.0, Unit::Metre), 1.83, 0.005);
        assert!(is_zone(-1.0, 3.0).is_err() && is_zone(10.0, 99.0).is_err());
    }

    /// The same: under a swing leaf over 4 in and under 16 in, 4 in from the pivot. ASTM F2200 as manuals quote it: 0.50 in,
    /// 6 ft and 8 ft, a sphere of 2¼ in.
    #[test]
    fn gaps_and_edges() {
        close(under_leaf(5.0).unwrap(), 1.0, 1e-12);
        close(pivot_spare(4.0).unwrap(), 0.0, 1e-12);
        close(opening_spare(2.25).unwrap(), 0.0, 1e-12);
        close(bottom_edge_spare(0.5).unwrap(), 0.0, 1e-12);
        close(barb_spare(8.0).unwrap(), 2.0, 1e-12);
        close(Unit::Inch.express(2.25, Unit::Millimetre), 57.0, 0.2);
    }

    /// An operator manual: no higher than 27.5 in, no farther than 5 in. A keypad 5 ft from the swept arc is a foot too near.
    #[test]
    fn eyes_controls_and_cables() {
        close(eye_height_spare(27.5).unwrap(), 0.0, 1e-12);
        close(eye_plane_spare(5.0).unwrap(), 0.0, 1e-12);
        close(control_spare(5.0).unwrap(), -1.0, 1e-12);
        close(cable_spare(18.0).unwrap(), 12.0, 1e-12);
        assert!(control_spare(-1.0).is_err());
    }
}
