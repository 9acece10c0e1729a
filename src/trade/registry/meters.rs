//! What a meter does to a reading.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::meters;

pub(super) static FUNCTIONS: [Function; 7] = [
    Function {
        name: "meter_error_volts",
        subject: "meter-error",
        params: &[
            param("reading", U::Volt, (-2000.0, 2000.0), "12.34V", "shown"),
            param(
                "percent",
                U::Percent,
                (0.0, 20.0),
                "0.5%",
                "of the reading, from the data sheet",
            ),
            param(
                "counts",
                U::One,
                (0.0, 100.0),
                "2",
                "of the last digit, from the data sheet",
            ),
            param("digit", U::Volt, (0.0, 10.0), "0.01V", "what the last digit is worth"),
        ],
        gives: U::Volt,
        about: "how far off a reading may be, either way",
        formula: "percent/100 · |reading| + counts · digit",
        source: meters::ACCURACY_SOURCE,
        call: |a| meters::error(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "clamp_error_amps",
        subject: "clamp-error",
        params: &[
            param(
                "reading",
                U::Ampere,
                (-1000.0, 1000.0),
                "4.00A",
                "shown, clamp zeroed, about one wire only",
            ),
            param("digit", U::Ampere, (0.0, 10.0), "0.01A", "what the last digit is worth"),
            param(
                "percent",
                U::Percent,
                (0.0, 20.0),
                "2%",
                "of the reading, from the data sheet",
            )
            .usually(2.0),
            param(
                "counts",
                U::One,
                (0.0, 100.0),
                "5",
                "of the last digit, from the data sheet",
            )
            .usually(5.0),
        ],
        gives: U::Ampere,
        about: "how far off a clamp's reading may be, either way",
        formula: "percent/100 · |reading| + counts · digit",
        source: meters::CURRENT_SOURCE,
        call: |a| meters::clamp_error(arg(a, 0), arg(a, 2), arg(a, 3), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "burden_percent",
        subject: "meter-burden",
        params: &[
            param(
                "burden",
                U::Volt,
                (0.0, 5.0),
                "0.5V",
                "across the meter, in series on its current range",
            ),
            param("supply", U::Volt, (1.0, 60.0), "12V", "of the circuit"),
        ],
        gives: U::Percent,
        about: "share of the supply that a meter in series takes for itself",
        formula: "100 · burden/supply",
        source: "circuit theory",
        call: |a| meters::burden_percent(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "2 %; over it a clamp, or the next higher range",
            source: meters::CURRENT_SOURCE,
            bounds: |_, _| (0.0, 2.0),
        }),
        meaning: None,
    },
    Function {
        name: "shown_volts",
        subject: "meter-load",
        params: &[
            param("volts", U::Volt, (0.0, 1000.0), "24V", "that are there"),
            param("source", U::Ohm, (0.0, 1e9), "100k", "behind them"),
            param("meter", U::Ohm, (1e3, 1e9), "10M", "input of the meter").usually(1e7),
        ],
        gives: U::Volt,
        about: "what a meter shows of volts behind a resistance",
        formula: "volts · meter/(meter + source)",
        source: meters::LOADING_SOURCE,
        call: |a| meters::shown_volts(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "kept_percent",
        subject: "ghost",
        params: &[
            param("unloaded", U::Volt, (0.1, 1000.0), "20V", "on the ordinary range"),
            param(
                "loaded",
                U::Volt,
                (0.0, 1000.0),
                "0.3V",
                "in low-impedance mode, or with a small lamp on",
            ),
        ],
        gives: U::Percent,
        about: "is it a supply or a ghost: share of its volts that a wire keeps when it is loaded",
        formula: "100 · loaded/unloaded",
        source: meters::GHOST_SOURCE,
        call: |a| meters::kept_percent(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "a supply keeps 90 % or more; a ghost keeps next to nothing. Either way: off and proven off before a wire is touched",
            source: "common practice",
            bounds: |_, _| (90.0, f64::INFINITY),
        }),
        meaning: Some(|a| {
            let kept = meters::kept_percent(arg(a, 0), arg(a, 1)).ok()?;
            Some(match kept {
                k if k < 20.0 => "a ghost: nothing drives this wire",
                k if k < 90.0 => "a weak source: a bad joint, a long run or a leak",
                _ => "a supply drives this wire",
            })
        }),
    },
    Function {
        name: "source_ohms",
        subject: "ghost-source",
        params: &[
            param("high-volts", U::Volt, (0.1, 1000.0), "50V", "on the ordinary range"),
            param("high-input", U::Ohm, (1e3, 1e9), "10M", "its input"),
            param("low-volts", U::Volt, (0.001, 1000.0), "3.85V", "in low-impedance mode"),
            param("low-input", U::Ohm, (1e3, 1e9), "400k", "its input"),
        ],
        gives: U::Ohm,
        about: "ohms behind a wire, from what two inputs show of it",
        formula: "(high-volts − low-volts)/(low-volts/low-input − high-volts/high-input)",
        source: meters::LOADING_SOURCE,
        call: |a| meters::source_ohms(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "true_ohms",
        subject: "meter-leads",
        params: &[
            param("reading", U::Ohm, (0.0, 1000.0), "0.9ohm", "with the leads"),
            param("leads", U::Ohm, (0.0, 20.0), "0.4ohm", "held together"),
        ],
        gives: U::Ohm,
        about: "ohms without the meter's leads",
        formula: "reading − leads",
        source: meters::LEADS_SOURCE,
        call: |a| meters::true_ohms(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Input("leads"),
            needs: &[],
            about: "leads of 1 Ω at most; over it replace them",
            source: meters::LEADS_SOURCE,
            bounds: |_, _| (0.0, 1.0),
        }),
        meaning: None,
    },
];
