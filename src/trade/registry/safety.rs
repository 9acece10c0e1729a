//! Stopping force, and inputs that end in a resistor.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::forces;
use crate::trade::inputs::{self, HEALTHY_PERCENT, Terminated};

pub(super) static FUNCTIONS: [Function; 5] = [
    Function {
        name: "stopping_limit_newtons",
        subject: "stopping-force",
        params: &[
            param(
                "gap",
                U::Millimetre,
                (50.0, 10_000.0),
                "300mm",
                "left to what it closes on",
            ),
            param("time", U::Second, (0.0, 60.0), "0.3s", "since it touched").usually(0.0),
        ],
        gives: U::Newton,
        about: "most push of a closing edge where EN 12453 applies; in the US no figure is set, the reversal test counts",
        formula: "400 N to a gap of 500 mm, 1400 N beyond; 150 N from 0.75 s, 25 N from 5 s",
        source: forces::SOURCE,
        call: |a| forces::stopping_limit(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param(
                "reading",
                U::Newton,
                (0.0, 5000.0),
                "410N",
                "of a force meter, mean of three; never a hand or a body",
            )],
            about: "no more than that, at gaps of 50, 300 and 500 mm; over it the gate is out of use",
            source: forces::SOURCE,
            bounds: |_, newtons| (0.0, newtons),
        }),
        meaning: None,
    },
    Function {
        name: "leaf_push_newtons",
        subject: "leaf-push",
        params: &[
            param(
                "moment",
                U::NewtonMetre,
                (0.0, 20_000.0),
                "80Nm",
                "of the operator about the hinge",
            ),
            param("distance", U::Metre, (0.05, 10.0), "0.3m", "from the hinge"),
        ],
        gives: U::Newton,
        about: "push of a leaf at a distance from its hinge: least at the toe, most near the hinge",
        formula: "moment/distance",
        source: "statics",
        call: |a| forces::along_leaf(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "400 N where EN 12453 applies and the gap is 500 mm or less",
            source: forces::SOURCE,
            bounds: |_, _| (0.0, 400.0),
        }),
        meaning: None,
    },
    Function {
        name: "input_percent",
        subject: "edge-input",
        params: &[
            param(
                "resistor",
                U::Ohm,
                (100.0, 100_000.0),
                "8.2k",
                "at the end of it, from its manual",
            ),
            param(
                "reading",
                U::Ohm,
                (0.0, f64::INFINITY),
                "4.1k",
                "lead off the controller, mains and battery off",
            ),
        ],
        gives: U::Percent,
        about: "what a reading says of an edge or eye that ends in a resistor",
        formula: "100 · reading/resistor",
        source: inputs::OHM_SOURCE,
        call: |a| inputs::share_percent(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "within 15 % of its resistor; anything else is not healthy: repair it, never bridge it",
            source: inputs::BANDS_SOURCE,
            bounds: |_, _| HEALTHY_PERCENT,
        }),
        meaning: Some(|a| Terminated::of(arg(a, 0), arg(a, 1)).ok().map(Terminated::words)),
    },
    Function {
        name: "parallel_ohms",
        subject: "parallel",
        params: &[
            param("one", U::Ohm, (0.1, 1e8), "8.2k", "one resistor"),
            param("other", U::Ohm, (0.1, 1e8), "8.2k", "the other, or a leak"),
        ],
        gives: U::Ohm,
        about: "ohms of two resistors in parallel: two ends wired together, an end and a leak",
        formula: "one · other/(one + other)",
        source: inputs::OHM_SOURCE,
        call: |a| inputs::parallel(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "leak_ohms",
        subject: "edge-leak",
        params: &[
            param(
                "resistor",
                U::Ohm,
                (100.0, 100_000.0),
                "8.2k",
                "at the end of it, from its manual",
            ),
            param("reading", U::Ohm, (1.0, 99_000.0), "5.82k", "less than the resistor"),
        ],
        gives: U::Ohm,
        about: "ohms of the leak that pulls an input down to a reading",
        formula: "1/(1/reading − 1/resistor)",
        source: inputs::OHM_SOURCE,
        call: |a| inputs::leak(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
];
