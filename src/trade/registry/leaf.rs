//! The leaf: wind, arm, hinges, wheels.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::function::Parameter;
use crate::trade::{arm, hinges, wind};

const WIND: Parameter = param("wind", U::MetrePerSecond, (0.0, 60.0), "30mph", "speed, gusts");
const LENGTH: Parameter = param("length", U::Metre, (0.3, 15.0), "3.6m", "of the leaf");
const HEIGHT: Parameter = param("height", U::Metre, (0.3, 4.0), "1.8m", "of the leaf");
const CLOSED: Parameter = param(
    "closed",
    U::Percent,
    (1.0, 100.0),
    "100%",
    "of its face: 100 less the open share",
);
const SHAPE: Parameter = param("shape", U::One, (1.0, 2.0), "1.2", "1.2 to 1.3 for a flat panel").usually(1.2);
const MASS: Parameter = param("mass", U::Kilogram, (5.0, 1500.0), "120kg", "of the leaf");
const LEAF_LENGTH: Parameter = param("length", U::Metre, (0.3, 10.0), "3.6m", "of the leaf");
const APART: Parameter = param("apart", U::Metre, (0.2, 4.0), "1.2m", "upper hinge to lower");
const POST: Parameter = param("post", U::Metre, (0.02, 2.0), "0.25m", "hinge centre to post bracket");
const LEAF: Parameter = param("leaf", U::Metre, (0.05, 5.0), "0.80m", "hinge centre to leaf bracket");
const ANGLE: Parameter = param("angle", U::Degree, (1.0, 179.0), "20", "between the two, at the hinge");
const SECURE: &str =
    "the moment that the operator is made for; leave the leaf secured in such wind, never raise the force for it";

pub(super) static FUNCTIONS: [Function; 12] = [
    Function {
        name: "wind_newtons",
        subject: "wind-force",
        params: &[WIND, LENGTH, HEIGHT, CLOSED, SHAPE],
        gives: U::Newton,
        about: "force of wind on a leaf",
        formula: "0.613 · wind² · shape · length · height · closed/100",
        source: wind::SOURCE,
        call: |a| wind::force(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3), arg(a, 4)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "wind_moment",
        subject: "wind-moment",
        params: &[WIND, LENGTH, HEIGHT, CLOSED, SHAPE],
        gives: U::NewtonMetre,
        about: "moment of wind on a leaf about its hinges",
        formula: "wind force · length/2",
        source: wind::SOURCE,
        call: |a| wind::moment(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3), arg(a, 4)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param(
                "operator",
                U::NewtonMetre,
                (1.0, 20_000.0),
                "300Nm",
                "what it is made for",
            )],
            about: SECURE,
            source: "the operator's manual",
            bounds: |a, _| (0.0, arg(a, 5)),
        }),
        meaning: None,
    },
    Function {
        name: "arm_length_m",
        subject: "arm-length",
        params: &[POST, LEAF, ANGLE],
        gives: U::Metre,
        about: "length of an arm, bracket to bracket",
        formula: "√(post² + leaf² − 2 · post · leaf · cos(angle))",
        source: arm::SOURCE,
        call: |a| arm::length(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "arm_lever_m",
        subject: "arm-lever",
        params: &[POST, LEAF, ANGLE],
        gives: U::Metre,
        about: "distance from the hinge to the line of the arm's push",
        formula: "post · leaf · sin(angle)/arm length",
        source: arm::SOURCE,
        call: |a| arm::lever(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "arm_moment",
        subject: "arm-moment",
        params: &[
            param("push", U::Newton, (0.0, 20_000.0), "1500N", "in the arm"),
            POST,
            LEAF,
            ANGLE,
        ],
        gives: U::NewtonMetre,
        about: "moment of an arm's push about the hinge",
        formula: "push · arm lever",
        source: arm::SOURCE,
        call: |a| arm::moment(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param(
                "wanted",
                U::NewtonMetre,
                (0.0, 20_000.0),
                "40Nm",
                "to move the leaf (hinges, wind)",
            )],
            about: "what it takes to move the leaf; too little at one end only is the geometry of the brackets",
            source: "statics",
            bounds: |a, _| (arg(a, 4), f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "arm_push_newtons",
        subject: "arm-push",
        params: &[
            param("moment", U::NewtonMetre, (0.0, 20_000.0), "309Nm", "about the hinge"),
            POST,
            LEAF,
            ANGLE,
        ],
        gives: U::Newton,
        about: "push that a moment about the hinge asks of arm and brackets",
        formula: "moment/arm lever",
        source: arm::SOURCE,
        call: |a| arm::push(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param(
                "rated",
                U::Newton,
                (1.0, 20_000.0),
                "3000N",
                "the arm's most, from its manual",
            )],
            about: "the most that the arm is made for",
            source: "the operator's manual",
            bounds: |a, _| (0.0, arg(a, 4)),
        }),
        meaning: None,
    },
    Function {
        name: "hinge_side_newtons",
        subject: "hinge-load",
        params: &[MASS, LEAF_LENGTH, APART],
        gives: U::Newton,
        about: "side load on each of two hinges",
        formula: "mass · g · length/2/apart",
        source: hinges::LOAD_SOURCE,
        call: |a| hinges::side_load(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "hinge_friction_moment",
        subject: "hinge-friction",
        params: &[
            MASS,
            LEAF_LENGTH,
            APART,
            param("pin", U::Millimetre, (5.0, 60.0), "20mm", "across").usually(20.0),
            param("friction", U::One, (0.01, 1.0), "0.15", "coefficient, greased steel").usually(0.15),
        ],
        gives: U::NewtonMetre,
        about: "moment by which sound hinges resist",
        formula: "friction · pin/2 · (2 · side load + mass · g)",
        source: hinges::FRICTION_SOURCE,
        call: |a| hinges::friction(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3), arg(a, 4)),
        limit: Some(Limit {
            of: Held::Input("pull"),
            needs: &[param(
                "pull",
                U::Newton,
                (0.0, 2000.0),
                "60N",
                "at the toe of the released leaf, square to it",
            )],
            about: "50 N (11 lbf) at the toe of a light leaf; more is hinges, ground or post",
            source: "common practice",
            bounds: |_, _| (0.0, 50.0),
        }),
        meaning: None,
    },
    Function {
        name: "pull_moment",
        subject: "leaf-moment",
        params: &[
            param(
                "pull",
                U::Newton,
                (0.0, 2000.0),
                "60N",
                "at the toe, square to the leaf",
            ),
            LEAF_LENGTH,
        ],
        gives: U::NewtonMetre,
        about: "moment about the hinge of a pull at the toe",
        formula: "pull · length",
        source: "statics",
        call: |a| hinges::moment_of_pull(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "pull_percent",
        subject: "leaf-pull",
        params: &[
            param(
                "pull",
                U::Newton,
                (0.0, 2000.0),
                "60N",
                "at the toe of the released leaf, square to it",
            ),
            MASS,
        ],
        gives: U::Percent,
        about: "pull that moves a leaf by hand, as a share of its weight",
        formula: "100 · pull/(mass · g)",
        source: "arithmetic",
        call: |a| hinges::pull_percent(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "1 to 2 % for a leaf that is well hung; more is hinges, ground, post or wind",
            source: "common practice",
            bounds: |_, _| (0.0, 2.0),
        }),
        meaning: None,
    },
    Function {
        name: "lean_moment",
        subject: "post-lean",
        params: &[
            MASS,
            LEAF_LENGTH,
            param("lean", U::Degree, (0.0, 10.0), "1.5", "of the hinge line from plumb"),
            param(
                "angle",
                U::Degree,
                (0.0, 180.0),
                "45",
                "of the leaf from where it comes to rest",
            )
            .usually(90.0),
        ],
        gives: U::NewtonMetre,
        about: "moment by which a leaf on a leaning post drifts; test it released, at mid travel",
        formula: "mass · g · length/2 · sin(lean) · sin(angle)",
        source: hinges::LOAD_SOURCE,
        call: |a| hinges::lean(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "slide_newtons",
        subject: "slide-pull",
        params: &[
            param("mass", U::Kilogram, (20.0, 3000.0), "400kg", "of the gate"),
            param(
                "slope",
                U::Percent,
                (-10.0, 10.0),
                "0%",
                "rise over run, downhill negative",
            )
            .usually(0.0),
            param(
                "rolling",
                U::One,
                (0.001, 0.2),
                "0.01",
                "coefficient of wheels and track",
            )
            .usually(0.01),
        ],
        gives: U::Newton,
        about: "pull that moves a slide gate; on any slope it can run away: block it before the release is used",
        formula: "mass · g · (rolling · cos(slope) + sin(slope))",
        source: hinges::ROLLING_SOURCE,
        call: |a| hinges::slide_pull(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param(
                "reading",
                U::Newton,
                (0.0, 20_000.0),
                "150N",
                "on a pull scale, gate released",
            )],
            about: "twice that; more is wheels, track or guides",
            source: "common practice",
            bounds: |_, newtons| (0.0, 2.0 * newtons.max(0.0)),
        }),
        meaning: None,
    },
];
