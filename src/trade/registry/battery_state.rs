//! What acid, cold and age say of a battery.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::battery_state as state;
use crate::trade::function::Parameter;

const CELLS: Parameter = param("cells", U::One, (1.0, 24.0), "6", "in series: 6 for 12 V, 12 for 24 V");
const GRAVITY: Parameter = param(
    "gravity",
    U::One,
    (1.0, 1.35),
    "1.190",
    "brought to 80 °F (see hydrometer)",
);
const RATED: Parameter = param("battery", U::AmpereHour, (1.0, 1000.0), "35Ah", "printed on it");

pub(super) static FUNCTIONS: [Function; 11] = [
    Function {
        name: "agm_charge_percent",
        subject: "charge-agm",
        params: &[param(
            "volts",
            U::Volt,
            (0.0, 13.2),
            "12.40V",
            "of a 12 V block, rested: charger off, nothing drawing",
        )],
        gives: U::Percent,
        about: "charge of a rested sealed lead-acid 12 V block of absorbed mat (AGM), give or take 10 points",
        formula: "straight lines between 11.80 V 0 %, 12.025 V 25 %, 12.275 V 50 %, 12.575 V 75 %, 12.85 V 100 %",
        source: state::AGM_SOURCE,
        call: |a| state::agm_charge_percent(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "75 % before a load test proves anything: charge first",
            source: "vehicle service literature",
            bounds: |_, _| (75.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "gravity_charge_percent",
        subject: "charge-gravity",
        params: &[GRAVITY],
        gives: U::Percent,
        about: "charge of a flooded cell from its acid",
        formula: "straight lines between 1.120 0 %, 1.155 25 %, 1.190 50 %, 1.225 75 %, 1.265 100 %",
        source: state::GRAVITY_SOURCE,
        call: |a| state::gravity_charge_percent(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "75 % before a load test proves anything: charge first",
            source: "vehicle service literature",
            bounds: |_, _| (75.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "gravity_volts",
        subject: "gravity-volts",
        params: &[GRAVITY, CELLS],
        gives: U::Volt,
        about: "rested volts that go with an acid; far less at the posts is a dead cell or a bad link",
        formula: "cells · (gravity + 0.845)",
        source: state::CELL_SOURCE,
        call: |a| state::gravity_volts(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param("reading", U::Volt, (0.0, 60.0), "10.1V", "at the posts, rested")],
            about: "no more than 1 V below; a dead cell takes about 2.1 V",
            source: "common practice",
            bounds: |_, volts| (volts - 1.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "gravity_spread",
        subject: "gravity-spread",
        params: &[
            param("best", U::One, (1.0, 1.35), "1.260", "cell, at full charge"),
            param("worst", U::One, (1.0, 1.35), "1.230", "cell of the same battery"),
        ],
        gives: U::One,
        about: "by how much the cells of a flooded battery differ at full charge",
        formula: "best − worst",
        source: state::SPREAD_SOURCE,
        call: |a| state::gravity_spread(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "0.025; more condemns the battery",
            source: state::SPREAD_SOURCE,
            bounds: |_, _| (0.0, 0.025 + 1e-9),
        }),
        meaning: None,
    },
    Function {
        name: "freezing_celsius",
        subject: "battery-freeze",
        params: &[param(
            "charge",
            U::Percent,
            (0.0, 100.0),
            "40%",
            "of the battery (see charge)",
        )],
        gives: U::Celsius,
        about: "temperature at which a lead-acid battery freezes, by its charge, give or take 12 °C",
        formula: "acid of 1.050 27 °F, 1.100 18 °F, 1.150 5 °F, 1.200 −17 °F, 1.225 −35 °F, 1.265 −75 °F, its gravity from the charge",
        source: state::FREEZING_SOURCE,
        call: |a| state::freezing_celsius(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Input("temperature"),
            needs: &[param(
                "temperature",
                U::Celsius,
                (-60.0, 60.0),
                "10F",
                "the coldest that the battery has been",
            )],
            about: "12 °C above it, the spread of published tables; colder it may be frozen: never charge it, bring it in, let it thaw, look for a crack, replace it if in doubt",
            source: "common practice",
            bounds: |_, freezes| (freezes + 12.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "battery_life_percent",
        subject: "battery-life",
        params: &[param(
            "temperature",
            U::Celsius,
            (25.0, 60.0),
            "35C",
            "of the box, mean of the year",
        )],
        gives: U::Percent,
        about: "share of its life at 25 °C that a lead-acid battery lives in the heat",
        formula: "100 · 2^(−(temperature − 25)/10)",
        source: state::LIFE_SOURCE,
        call: |a| state::life_percent(arg(a, 0)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "capacity_percent",
        subject: "battery-capacity",
        params: &[
            param("amps", U::Ampere, (0.01, 500.0), "1.75A", "drawn without a pause"),
            param(
                "hours",
                U::Hour,
                (0.05, 100.0),
                "14h",
                "from full until 1.75 V per cell",
            ),
            RATED,
        ],
        gives: U::Percent,
        about: "capacity that is left of what is printed, from a discharge near the printed rate",
        formula: "100 · amps · hours/battery",
        source: "arithmetic",
        call: |a| state::capacity_percent(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "80 %; under it replace the whole string together",
            source: state::CAPACITY_SOURCE,
            bounds: |_, _| (80.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "conductance_percent",
        subject: "conductance",
        params: &[
            param(
                "now",
                U::One,
                (0.0, 100_000.0),
                "380",
                "on a conductance tester, in its own unit",
            ),
            param(
                "new",
                U::One,
                (1.0, 100_000.0),
                "600",
                "the same battery when new, the same tester",
            ),
        ],
        gives: U::Percent,
        about: "conductance of a battery against its own when new",
        formula: "100 · now/new",
        source: "arithmetic",
        call: |a| state::conductance_percent(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "67 %; under it charge it, test it under load, and replace the string together if it fails",
            source: state::CONDUCTANCE_SOURCE,
            bounds: |_, _| (67.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "battery_end_volts",
        subject: "battery-empty",
        params: &[CELLS],
        gives: U::Volt,
        about: "volts under load at which a lead-acid battery is empty; going on spoils it",
        formula: "1.75 V · cells",
        source: state::END_SOURCE,
        call: |a| state::end_volts(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param("reading", U::Volt, (0.0, 60.0), "11.2V", "the gate's load on")],
            about: "not below that; many boards cut off at 11.0 to 11.6 V per 12 V",
            source: state::END_SOURCE,
            bounds: |_, volts| (volts, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "load_test_amps",
        subject: "load-test-amps",
        params: &[
            RATED,
            param(
                "cranking",
                U::Ampere,
                (0.0, 2000.0),
                "0A",
                "cold-cranking amps printed on it; 0 for none",
            )
            .usually(0.0),
        ],
        gives: U::Ampere,
        about: "current of a 15 s load test (see load-test for the volts)",
        formula: "cranking/2, or where none is printed as many amps as three times the Ah",
        source: state::LOAD_SOURCE,
        call: |a| state::load_test_amps(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "charge_rise_volts",
        subject: "charge-rise",
        params: &[
            param(
                "before",
                U::Volt,
                (0.0, 60.0),
                "12.2V",
                "at the posts, charger or panel off",
            ),
            param("after", U::Volt, (0.0, 60.0), "12.9V", "a few minutes after it came on"),
        ],
        gives: U::Volt,
        about: "is it charging: by how much the posts rise when the charger or the sun comes on",
        formula: "after − before",
        source: state::RISE_SOURCE,
        call: |a| state::charge_rise(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "0.2 V within minutes; a full battery rises less: judge it by float",
            source: state::RISE_SOURCE,
            bounds: |_, _| (0.2 - 1e-9, f64::INFINITY),
        }),
        meaning: Some(|a| {
            Some(if state::charge_rise(arg(a, 0), arg(a, 1)).ok()? >= 0.2 - 1e-9 {
                "it charges"
            } else {
                "no rise: measure the current; some into the battery is a flat battery that needs time, none is charger, plug, outlet, fuse or lead"
            })
        }),
    },
];
