//! Gaps and places, United States.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::places;

pub(super) static FUNCTIONS: [Function; 10] = [
    Function {
        name: "zone_gap_inches",
        subject: "entrapment-gap",
        params: &[param(
            "gap",
            U::Inch,
            (0.0, 200.0),
            "12in",
            "from the moving gate to post, wall or curb, at its narrowest",
        )],
        gives: U::Inch,
        about: "by how much a gap is wider than an entrapment zone (US)",
        formula: "gap − 16 in",
        source: places::ZONE_SOURCE,
        call: |a| places::over_zone(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param("height", U::Foot, (0.0, 30.0), "3ft", "of the place above grade").usually(0.0)],
            about: "0 or more up to 6 ft above grade; narrower is an entrapment zone: two independent means, not the same kind twice. Any direction has one means at least",
            source: places::ZONE_SOURCE,
            bounds: |a, _| match places::is_zone(arg(a, 0), arg(a, 1)) {
                Ok(true) => (0.0, f64::INFINITY),
                _ => (f64::NEG_INFINITY, f64::INFINITY),
            },
        }),
        meaning: None,
    },
    Function {
        name: "bottom_gap_inches",
        subject: "bottom-gap",
        params: &[param(
            "gap",
            U::Inch,
            (0.0, 60.0),
            "6in",
            "under a swing leaf, at its widest in the arc",
        )],
        gives: U::Inch,
        about: "by how much the gap under a swing leaf is over where an entrapment zone begins (US)",
        formula: "gap − 4 in",
        source: places::ZONE_SOURCE,
        call: |a| places::under_leaf(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Input("gap"),
            needs: &[],
            about: "4 in, or 16 in and more; between them it is an entrapment zone: protect it, an edge along the bottom",
            source: places::ZONE_SOURCE,
            bounds: |a, _| {
                if arg(a, 0) >= 16.0 {
                    (16.0, f64::INFINITY)
                } else {
                    (0.0, 4.0)
                }
            },
        }),
        meaning: None,
    },
    Function {
        name: "pivot_spare_inches",
        subject: "pivot-gap",
        params: &[param(
            "distance",
            U::Inch,
            (0.0, 60.0),
            "5in",
            "pivot's centre to the end of wall, pillar or column, open or shut",
        )],
        gives: U::Inch,
        about: "what is left at the hinge of a swing leaf before it is an entrapment zone (US)",
        formula: "4 in − distance",
        source: places::ZONE_SOURCE,
        call: |a| places::pivot_spare(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "0 or more; less is an entrapment zone at the hinge: guard or protect it",
            source: places::ZONE_SOURCE,
            bounds: |_, _| (0.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "opening_spare_inches",
        subject: "gate-opening",
        params: &[param(
            "opening",
            U::Inch,
            (0.0, 60.0),
            "4in",
            "the largest ball that passes",
        )],
        gives: U::Inch,
        about: "what is left in the openings of a slide gate and of the fence that it passes (US)",
        formula: "2.25 in − opening",
        source: places::OPENING_SOURCE,
        call: |a| places::opening_spare(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param("height", U::Inch, (0.0, 360.0), "30in", "of the opening above grade").usually(0.0)],
            about: "0 or more up to 72 in above grade: no ball of 2.25 in may pass; mesh or a guard, no reaching through",
            source: places::OPENING_SOURCE,
            bounds: |a, _| {
                if arg(a, 1) > 72.0 {
                    (f64::NEG_INFINITY, f64::INFINITY)
                } else {
                    (0.0, f64::INFINITY)
                }
            },
        }),
        meaning: None,
    },
    Function {
        name: "bottom_edge_spare_inches",
        subject: "bottom-edge",
        params: &[param(
            "out",
            U::Inch,
            (0.0, 20.0),
            "0.75in",
            "by which something stands out of the edge",
        )],
        gives: U::Inch,
        about: "how smooth the bottom edge of a gate is (US)",
        formula: "0.5 in − out",
        source: places::BUILD_SOURCE,
        call: |a| places::bottom_edge_spare(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "0 or more, edges that sense excepted",
            source: places::BUILD_SOURCE,
            bounds: |_, _| (0.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "barb_spare_ft",
        subject: "barbs",
        params: &[param(
            "height",
            U::Foot,
            (0.0, 30.0),
            "7ft",
            "of the lowest barb above grade",
        )],
        gives: U::Foot,
        about: "height of barbs over the least (US)",
        formula: "height − 6 ft",
        source: places::BUILD_SOURCE,
        call: |a| places::barb_spare(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "0 for barbed wire, 2 ft for barbed tape (8 ft above grade)",
            source: places::BUILD_SOURCE,
            bounds: |_, _| (0.0, f64::INFINITY),
        }),
        meaning: Some(|a| {
            Some(match places::barb_spare(arg(a, 0)).ok()? {
                v if v < 0.0 => "too low for wire and for tape",
                v if v < 2.0 => "high enough for barbed wire, too low for barbed tape",
                _ => "high enough for both",
            })
        }),
    },
    Function {
        name: "eye_height_spare_inches",
        subject: "eye-height",
        params: &[param(
            "height",
            U::Inch,
            (0.0, 120.0),
            "30in",
            "of the beam above grade",
        )],
        gives: U::Inch,
        about: "what is left of the height at which an eye that protects people may sit (US)",
        formula: "27.5 in − height",
        source: places::EYE_SOURCE,
        call: |a| places::eye_height_spare(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Input("height"),
            needs: &[],
            about: "27.5 in at most, 21 in is usual; further eyes may sit higher besides it",
            source: places::EYE_SOURCE,
            bounds: |_, _| (21.0, 27.5),
        }),
        meaning: None,
    },
    Function {
        name: "eye_plane_spare_inches",
        subject: "eye-plane",
        params: &[param(
            "distance",
            U::Inch,
            (0.0, 120.0),
            "8in",
            "of the beam from the face of the gate",
        )],
        gives: U::Inch,
        about: "what is left of the distance at which an eye may sit from the gate (US)",
        formula: "5 in − distance",
        source: places::EYE_SOURCE,
        call: |a| places::eye_plane_spare(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "0 or more; farther off a body fits between beam and gate",
            source: places::EYE_SOURCE,
            bounds: |_, _| (0.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "control_spare_ft",
        subject: "control-distance",
        params: &[param(
            "distance",
            U::Foot,
            (0.0, 300.0),
            "5ft",
            "of keypad, reader or button from anything that moves",
        )],
        gives: U::Foot,
        about: "distance of a control from the moving gate, over the least (US)",
        formula: "distance − 6 ft",
        source: places::CONTROL_SOURCE,
        call: |a| places::control_spare(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "0 or more; nearer only for constant pressure in sight of the gate, and not by reaching through it",
            source: places::CONTROL_SOURCE,
            bounds: |_, _| (0.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "cable_depth_spare_inches",
        subject: "cable-depth",
        params: &[param(
            "depth",
            U::Inch,
            (0.0, 120.0),
            "8in",
            "of a low-voltage cable, to its top",
        )],
        gives: U::Inch,
        about: "depth of a low-voltage cable over the least in open ground (US); locate utilities before digging",
        formula: "depth − 6 in",
        source: places::DEPTH_SOURCE,
        call: |a| places::cable_spare(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Input("depth"),
            needs: &[param(
                "wanted",
                U::Inch,
                (6.0, 36.0),
                "18in",
                "18 in a drive of one or two families, 24 in a street or shared drive, 6 in open ground where the local code takes it so",
            )],
            about: "as deep as the place wants; mains cable is a licensed electrician's",
            source: places::DEPTH_SOURCE,
            bounds: |a, _| (arg(a, 1), f64::INFINITY),
        }),
        meaning: None,
    },
];
