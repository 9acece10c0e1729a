//! Wire: ohms, drop, gauge.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::wire;

const SIZED: &str = "sized on the current at which the motor starts";

pub(super) static FUNCTIONS: [Function; 3] = [
    Function {
        name: "wire_drop_volts",
        subject: "wire-drop",
        params: &[
            param("gauge", U::One, (0.0, 40.0), "14", "wire gauge, AWG"),
            param("length", U::Foot, (0.0, 5000.0), "120ft", "one way"),
            param("amps", U::Ampere, (-200.0, 200.0), "10A", SIZED),
            param("temperature", U::Celsius, (-40.0, 90.0), "20C", "of the wire").usually(20.0),
        ],
        gives: U::Volt,
        about: "volts lost there and back in solid copper",
        formula: "2 · length · amps · ohms per foot of that gauge, at the temperature",
        source: wire::SOURCE,
        call: |a| wire::drop_volts(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param(
                "volts",
                U::Volt,
                (1.0, 600.0),
                "24V",
                "at the supply's end of the run",
            )],
            about: "3 % of the supply in one run; advice, no rule. Stranded wire loses 2 to 2.5 % more",
            source: "NFPA 70 (NEC) 210.19(A), informational note, as trade articles report it",
            bounds: |a, _| (-0.03 * arg(a, 4), 0.03 * arg(a, 4)),
        }),
        meaning: None,
    },
    Function {
        name: "wire_gauge",
        subject: "wire-gauge",
        params: &[
            param("length", U::Foot, (1.0, 5000.0), "120ft", "one way"),
            param("amps", U::Ampere, (0.01, 30.0), "2A", SIZED),
            param("volts", U::Volt, (5.0, 250.0), "24V", "at the supply's end of the run"),
            param(
                "percent",
                U::Percent,
                (0.5, 20.0),
                "3%",
                "of the volts that may be lost",
            )
            .usually(3.0),
            param("temperature", U::Celsius, (-40.0, 90.0), "20C", "of the wire").usually(20.0),
        ],
        gives: U::One,
        about: "the thinnest gauge that will do, of those sold from 22 to 10 AWG",
        formula: "the first gauge, thin to thick, whose drop there and back is within the percent, and that may be fused for the amps",
        source: wire::GAUGE_SOURCE,
        call: |a| wire::smallest_gauge(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3), arg(a, 4)),
        limit: Some(Limit {
            of: Held::Input("gauge"),
            needs: &[param("gauge", U::One, (0.0, 40.0), "12", "the wire that is there, AWG")],
            about: "the wire that is there is no thinner (its number no higher); mains wiring is a licensed electrician's",
            source: wire::GAUGE_SOURCE,
            bounds: |_, gauge| (0.0, gauge),
        }),
        meaning: None,
    },
    Function {
        name: "wire_ohms",
        subject: "wire-ohms",
        params: &[
            param("gauge", U::One, (0.0, 40.0), "16", "wire gauge, AWG"),
            param(
                "length",
                U::Foot,
                (0.0, 5000.0),
                "172ft",
                "of the whole wire; of a pair count both",
            ),
            param("temperature", U::Celsius, (-40.0, 90.0), "20C", "of the wire").usually(20.0),
        ],
        gives: U::Ohm,
        about: "ohms of a length of solid copper, a loop with its lead-in for one",
        formula: "length · ohms per foot of that gauge, at the temperature",
        source: wire::SOURCE,
        call: |a| wire::ohms(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param(
                "reading",
                U::Ohm,
                (0.0, 10_000.0),
                "6.5ohm",
                "at the end, the meter's leads taken off",
            )],
            about: "half an ohm over what the copper has; more is a bad joint",
            source: "common practice",
            bounds: |_, ohms| (0.0, ohms + 0.5),
        }),
        meaning: None,
    },
];
