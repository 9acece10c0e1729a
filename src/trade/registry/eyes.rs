//! Photo eyes and clocks.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::eyes;
use crate::trade::function::Parameter;

const RATED: Parameter = param("rated", U::Metre, (0.1, 200.0), "30ft", "reach, from its manual");
const DISTANCE: Parameter = param("distance", U::Metre, (0.1, 200.0), "20ft", "from end to end");
const MARGIN: &str = "twice what it needs, for dirt, fog and rain";

pub(super) static FUNCTIONS: [Function; 5] = [
    Function {
        name: "beam_signal",
        subject: "eye-signal",
        params: &[RATED, DISTANCE],
        gives: U::One,
        about: "signal of a through-beam eye (two powered ends), as a multiple of what it needs",
        formula: "(rated/distance)²",
        source: eyes::SIGNAL_SOURCE,
        call: |a| eyes::signal(arg(a, 0), arg(a, 1), false),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: MARGIN,
            source: eyes::MARGIN_SOURCE,
            bounds: |_, _| (2.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "reflector_signal",
        subject: "eye-reflector",
        params: &[RATED, DISTANCE],
        gives: U::One,
        about: "signal of an eye that works by a reflector, as a multiple of what it needs",
        formula: "(rated/distance)^4",
        source: eyes::SIGNAL_SOURCE,
        call: |a| eyes::signal(arg(a, 0), arg(a, 1), true),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: MARGIN,
            source: eyes::MARGIN_SOURCE,
            bounds: |_, _| (2.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "off_aim_mm",
        subject: "eye-aim",
        params: &[
            DISTANCE,
            param(
                "angle",
                U::Degree,
                (0.0, 45.0),
                "1",
                "by which an end is turned or its post leans",
            ),
        ],
        gives: U::Millimetre,
        about: "how far a beam lands beside its mark",
        formula: "distance · tan(angle)",
        source: eyes::AIM_SOURCE,
        call: |a| eyes::off_aim(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "cell_days",
        subject: "eye-cell",
        params: &[
            param(
                "cell",
                U::AmpereHour,
                (0.05, 100.0),
                "2.5Ah",
                "printed; cells in series count once",
            ),
            param(
                "mean",
                U::Milliampere,
                (0.001, 1000.0),
                "0.095mA",
                "current of the battery end, on the average",
            ),
        ],
        gives: U::Day,
        about: "days that the battery-powered end of an eye lasts; about three years is usual",
        formula: "1000 · cell/mean/24",
        source: "arithmetic; three years is common practice",
        call: |a| eyes::cell_days(arg(a, 0), arg(a, 1) / 1000.0),
        limit: Some(Limit {
            of: Held::Input("age"),
            needs: &[param(
                "age",
                U::Day,
                (0.0, 7300.0),
                "1200days",
                "of the cell, from the record",
            )],
            about: "no older than that; the far end is the one that is forgotten: write the date on it",
            source: "arithmetic",
            bounds: |_, days| (0.0, days),
        }),
        meaning: None,
    },
    Function {
        name: "clock_drift_seconds",
        subject: "clock-drift",
        params: &[
            param(
                "millionths",
                U::One,
                (0.0, 500.0),
                "20",
                "by which its crystal is off; 20 is usual",
            ),
            param("days", U::Day, (0.0, 3660.0), "365days", "since it was set"),
        ],
        gives: U::Second,
        about: "drift of a timer's clock; off by just an hour is daylight saving, by twelve am and pm",
        formula: "0.0864 · millionths · days",
        source: "arithmetic",
        call: |a| eyes::clock_drift(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
];
