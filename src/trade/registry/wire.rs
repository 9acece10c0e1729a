//! Wire: ohms, drop, gauge.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::wire;

const SIZED: &str = "sized on the current at which the motor starts";

pub(super) static FUNCTIONS: [Function; 6] = [
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
    Function {
        name: "wire_lost_percent",
        subject: "wire-percent",
        params: &[
            param("gauge", U::One, (0.0, 40.0), "12", "wire gauge, AWG"),
            param("length", U::Foot, (0.0, 5000.0), "100ft", "one way"),
            param("amps", U::Ampere, (0.0, 200.0), "10A", SIZED),
            param("volts", U::Volt, (5.0, 600.0), "24V", "at the supply's end of the run"),
            param("temperature", U::Celsius, (-40.0, 90.0), "20C", "of the wire").usually(20.0),
            param(
                "more",
                U::Percent,
                (0.0, 10.0),
                "2.3%",
                "that stranded wire has above solid: 2 to 2.5 %",
            )
            .usually(0.0),
        ],
        gives: U::Percent,
        about: "share of the supply that a run loses, there and back",
        formula: "100 · 2 · length · amps · ohms per foot · (1 + more/100)/volts",
        source: wire::SOURCE,
        call: |a| wire::lost_percent(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3), arg(a, 4), arg(a, 5)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "3 % in one run, 5 % in feeder and branch together; advice, no rule. The ground is cold: a buried run reads 15 to 20 % under tables for 75 °C",
            source: "NFPA 70 (NEC) 210.19(A), informational note, as trade articles report it",
            bounds: |_, _| (0.0, 3.0),
        }),
        meaning: None,
    },
    Function {
        name: "far_end_volts",
        subject: "wire-end",
        params: &[
            param("gauge", U::One, (0.0, 40.0), "18", "wire gauge, AWG"),
            param("length", U::Foot, (0.0, 5000.0), "400ft", "one way"),
            param(
                "amps",
                U::Ampere,
                (0.0, 200.0),
                "0.5A",
                "drawn at the far end, heater and all",
            ),
            param("volts", U::Volt, (5.0, 600.0), "24V", "at the supply's end of the run"),
            param("temperature", U::Celsius, (-40.0, 90.0), "20C", "of the wire").usually(20.0),
        ],
        gives: U::Volt,
        about: "volts that arrive at the far end: at the eye or keypad, not at the controller",
        formula: "volts − 2 · length · amps · ohms per foot of that gauge, at the temperature",
        source: wire::SOURCE,
        call: |a| wire::far_end_volts(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3), arg(a, 4)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param(
                "least",
                U::Volt,
                (1.0, 600.0),
                "20V",
                "that the device works at, from its manual",
            )],
            about: "the least that the device works at; most take 15 to 20 % off, a 24 V eye near 20 V",
            source: wire::RUN_HABIT,
            bounds: |a, _| (arg(a, 5), f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "splice_ohms",
        subject: "splice",
        params: &[
            param(
                "drop",
                U::Volt,
                (0.0, 5.0),
                "150mV",
                "across the splice, the load running",
            ),
            param("amps", U::Ampere, (0.1, 200.0), "10A", "through it meanwhile"),
        ],
        gives: U::Ohm,
        about: "ohms of a splice, terminal or contact, from the volts across it under load",
        formula: "drop/amps",
        source: "Ohm's law",
        call: |a| wire::splice_ohms(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Input("drop"),
            needs: &[],
            about: "10 mV is good, 100 mV the most; over it cut back to bright copper and join it anew",
            source: wire::RUN_HABIT,
            bounds: |_, _| (0.0, 0.1),
        }),
        meaning: Some(|a| {
            Some(match arg(a, 0) {
                v if v.is_nan() => return None,
                v if v <= 0.010 => "a good joint",
                v if v <= 0.100 => "a joint to watch: clean and tighten it",
                _ => "a bad joint",
            })
        }),
    },
];
