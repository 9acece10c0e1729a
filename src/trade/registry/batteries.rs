//! Batteries: charge, float, load, time.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::batteries::Kind;
use crate::trade::function::Parameter;
use crate::trade::{batteries, battery_load, run_time};

const CELLS: Parameter = param("cells", U::One, (1.0, 24.0), "6", "in series: 6 for 12 V, 12 for 24 V");
const TEMPERATURE: Parameter = param("temperature", U::Celsius, (-30.0, 50.0), "14F", "of the battery");

pub(super) static FUNCTIONS: [Function; 13] = [
    Function {
        name: "charge_percent",
        subject: "charge",
        params: &[
            param(
                "volts",
                U::Volt,
                (0.0, 13.2),
                "12.40V",
                "of a 12 V block, rested: charger off, nothing drawing",
            ),
            TEMPERATURE.usually(25.0),
        ],
        gives: U::Percent,
        about: "charge of a rested flooded lead-acid 12 V block, give or take 10 points",
        formula: "straight lines between 11.89 V 0 %, 12.06 V 25 %, 12.24 V 50 %, 12.45 V 75 %, 12.65 V 100 %, after taking the volts to 25 °C",
        source: batteries::REST_SOURCE,
        call: |a| batteries::charge_percent_at(arg(a, 0), arg(a, 1)),
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
        name: "float_volts",
        subject: "float",
        params: &[CELLS, TEMPERATURE],
        gives: U::Volt,
        about: "float volts of a sealed lead-acid battery at this temperature; no lithium battery",
        formula: "cells · (2.275 V − 0.004 V · (temperature − 25 °C))",
        source: batteries::FLOAT_SOURCE,
        call: |a| batteries::float_volts(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param(
                "reading",
                U::Volt,
                (0.0, 80.0),
                "13.65V",
                "at the posts after a day on charge",
            )],
            about: "2.23 to 2.30 V per cell at 25 °C, moved by 3 to 5 mV per °C and cell",
            source: batteries::FLOAT_SOURCE,
            bounds: |a, _| or_nothing(batteries::float_limits(arg(a, 0), arg(a, 1), Kind::Sealed)),
        }),
        meaning: None,
    },
    Function {
        name: "float_flooded_volts",
        subject: "float-flooded",
        params: &[CELLS, TEMPERATURE],
        gives: U::Volt,
        about: "float volts of a flooded lead-acid battery at this temperature",
        formula: "cells · (2.21 V − 0.004 V · (temperature − 25 °C))",
        source: batteries::FLOAT_SOURCE,
        call: |a| batteries::compensated(2.21 * arg(a, 0), arg(a, 0), -4.0, arg(a, 1)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param(
                "reading",
                U::Volt,
                (0.0, 80.0),
                "13.9V",
                "at the posts after a day on charge",
            )],
            about: "2.17 to 2.25 V per cell at 25 °C, moved by 3 to 5 mV per °C and cell",
            source: batteries::FLOAT_SOURCE,
            bounds: |a, _| or_nothing(batteries::float_limits(arg(a, 0), arg(a, 1), Kind::Flooded)),
        }),
        meaning: None,
    },
    Function {
        name: "absorption_volts",
        subject: "charging",
        params: &[CELLS, TEMPERATURE],
        gives: U::Volt,
        about: "volts while a sealed lead-acid battery is charged hard, before float",
        formula: "cells · (2.435 V − 0.004 V · (temperature − 25 °C))",
        source: batteries::FLOAT_SOURCE,
        call: |a| batteries::absorption_volts(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param(
                "reading",
                U::Volt,
                (0.0, 80.0),
                "15.4V",
                "at the posts, charger on",
            )],
            about: "no more than 2.47 V per cell at 25 °C, moved by 3 to 5 mV per °C and cell, and half a volt per six cells; more is overcharge: look at the regulator. Never charge a frozen, swollen, hot or leaking battery",
            source: "from memory: IEEE 1188 practice; the half volt is common practice",
            bounds: |a, _| {
                let (_, most) = or_nothing(batteries::absorption_limits(arg(a, 0), arg(a, 1)));
                (0.0, most + 0.5 * arg(a, 0) / 6.0)
            },
        }),
        meaning: None,
    },
    Function {
        name: "battery_ohms",
        subject: "battery-ohms",
        params: &[
            param("light-volts", U::Volt, (0.0, 60.0), "12.60V", "at the light load"),
            param("light-amps", U::Ampere, (0.0, 499.0), "0.1A", "the light load"),
            param("heavy-volts", U::Volt, (0.0, 60.0), "11.40V", "at the heavy load"),
            param("heavy-amps", U::Ampere, (0.1, 500.0), "8.1A", "the heavy load"),
        ],
        gives: U::Ohm,
        about: "ohms inside a battery, from its volts at two loads",
        formula: "(light-volts − heavy-volts)/(heavy-amps − light-amps)",
        source: battery_load::OHMS_SOURCE,
        call: |a| battery_load::internal_ohms(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param(
                "baseline",
                U::Ohm,
                (0.0001, 5.0),
                "0.060ohm",
                "the same battery when new",
            )],
            about: "half as much again as its own baseline; over it replace",
            source: "from memory: IEEE 1188 (30 to 50 % above baseline: test or replace)",
            bounds: |a, _| (0.0, 1.5 * arg(a, 4)),
        }),
        meaning: None,
    },
    Function {
        name: "battery_sag_volts",
        subject: "battery-sag",
        params: &[
            param("volts", U::Volt, (0.0, 60.0), "12.6V", "rested"),
            param("amps", U::Ampere, (0.0, 500.0), "8A", "the motor running"),
            param(
                "ohms",
                U::Ohm,
                (0.0, 5.0),
                "0.06ohm",
                "inside the battery, with its leads",
            ),
        ],
        gives: U::Volt,
        about: "volts at the posts under load",
        formula: "volts − amps · ohms",
        source: battery_load::OHMS_SOURCE,
        call: |a| battery_load::sagged_volts(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param("blocks", U::One, (1.0, 4.0), "1", "12 V blocks in series").usually(1.0)],
            about: "11.0 V a 12 V block while the motor runs, in the first cycle",
            source: "common practice",
            bounds: |a, _| (11.0 * arg(a, 3), f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "string_imbalance_volts",
        subject: "string-imbalance",
        params: &[
            param("one", U::Volt, (0.0, 16.0), "6.35V", "one block of the string"),
            param("other", U::Volt, (0.0, 16.0), "4.2V", "the other block"),
        ],
        gives: U::Volt,
        about: "by how much two blocks of a string differ",
        formula: "the larger less the smaller",
        source: "common practice",
        call: |a| battery_load::imbalance(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[
                param("block", U::Volt, (6.0, 12.0), "6V", "volts printed on a block").usually(12.0),
                param("amps", U::Ampere, (0.0, 500.0), "0A", "drawn while it was read").usually(0.0),
            ],
            about: "at rest after a full charge 0.1 V (6 V blocks) or 0.2 V (12 V), under load 0.25 V or 0.5 V; about 2.1 V is a dead cell. Replace all blocks together",
            source: "common practice; the 6 V figure under load is half of the 12 V one",
            bounds: |a, _| (0.0, battery_load::imbalance_allowed(arg(a, 2), arg(a, 3))),
        }),
        meaning: None,
    },
    Function {
        name: "load_test_volts",
        subject: "load-test",
        params: &[param("temperature", U::Celsius, (-18.0, 50.0), "50F", "of the battery")],
        gives: U::Volt,
        about: "lowest volts of a sound 12 V block after 15 s at half its cold-cranking amps (or 3 × its Ah)",
        formula: "straight lines between 0 °F 8.5 V, 20 °F 8.9 V, 40 °F 9.3 V, 50 °F 9.4 V, 60 °F 9.5 V, 70 °F 9.6 V",
        source: battery_load::LOAD_SOURCE,
        call: |a| battery_load::load_test_volts(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Input("reading"),
            needs: &[param("reading", U::Volt, (0.0, 16.0), "9.1V", "at the end of the 15 s")],
            about: "not below that; charge to 75 % first. Another published table allows 8.0 V at 0 °F",
            source: battery_load::LOAD_SOURCE,
            bounds: |_, volts| (volts, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "gravity_corrected",
        subject: "hydrometer",
        params: &[
            param("reading", U::One, (1.0, 1.35), "1.240", "of the hydrometer"),
            param("temperature", U::Celsius, (-20.0, 55.0), "50F", "of the acid"),
        ],
        gives: U::One,
        about: "specific gravity of a flooded cell brought to 80 °F",
        formula: "reading + 0.0004 · (temperature in °F − 80)",
        source: "hydrometer tables of service literature",
        call: |a| battery_load::gravity_corrected(arg(a, 0), arg(a, 1)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "1.225, which is 75 % charged; more than 0.025 from cell to cell at full charge condemns it",
            source: "from memory: battery industry council's table; US Army TM 9-6140-200-14 for the spread",
            bounds: |_, _| (1.225, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "cold_percent",
        subject: "battery-cold",
        params: &[param("temperature", U::Celsius, (-3.9, 37.8), "40F", "of the battery")],
        gives: U::Percent,
        about: "share of its rated ampere-hours that a lead-acid battery gives at this temperature",
        formula: "100/size factor: 25 °F 1.52, 40 °F 1.30, 60 °F 1.11, 77 °F 1.00, 100 °F 0.91, straight lines between",
        source: run_time::COLD_SOURCE,
        call: |a| run_time::cold_percent(arg(a, 0)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "mean_amps",
        subject: "duty",
        params: &[
            param("standby", U::Ampere, (0.0, 5.0), "50mA", "drawn with the gate at rest"),
            param("cycles", U::One, (0.0, 2000.0), "16", "a day"),
            param("running", U::Ampere, (0.0, 100.0), "4A", "drawn while the gate moves"),
            param(
                "seconds",
                U::Second,
                (0.0, 300.0),
                "15s",
                "of running a cycle, open and shut",
            ),
        ],
        gives: U::Ampere,
        about: "mean current of a duty",
        formula: "standby + cycles · running · seconds/86 400",
        source: "arithmetic of a day",
        call: |a| run_time::mean_amps(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "battery_days",
        subject: "battery-time",
        params: &[
            param(
                "battery",
                U::AmpereHour,
                (1.0, 1000.0),
                "7Ah",
                "printed; blocks in series count once",
            ),
            param("amps", U::Ampere, (0.001, 100.0), "40mA", "mean current (see duty)"),
            param(
                "usable",
                U::Percent,
                (10.0, 100.0),
                "50%",
                "of the ampere-hours; less in the cold",
            )
            .usually(50.0),
        ],
        gives: U::Day,
        about: "days on the battery alone, nothing charging",
        formula: "battery · usable/100/amps/24",
        source: "arithmetic; half usable is common practice",
        call: |a| run_time::days(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param("wanted", U::Day, (0.1, 30.0), "5days", "days that it must last")],
            about: "the days that it must last",
            source: "what the site needs",
            bounds: |a, _| (arg(a, 3), f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "battery_hours",
        subject: "battery-run",
        params: &[
            param("battery", U::AmpereHour, (1.0, 1000.0), "7Ah", "printed on it"),
            param("amps", U::Ampere, (0.01, 500.0), "4A", "drawn without a pause"),
            param(
                "rated",
                U::Hour,
                (1.0, 100.0),
                "20h",
                "hours that the Ah are printed for",
            )
            .usually(20.0),
            param("exponent", U::One, (1.0, 1.5), "1.2", "1.10 to 1.25").usually(1.2),
        ],
        gives: U::Hour,
        about: "hours at one steady current until a lead-acid battery is empty",
        formula: "rated · (battery/(amps · rated))^exponent",
        source: run_time::PEUKERT_SOURCE,
        call: |a| run_time::steady_hours(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: None,
        meaning: None,
    },
];

/// Limits that can't be worked out hold nothing; the function itself has refused by then.
fn or_nothing(limits: Result<(f64, f64), crate::trade::OutOfRange>) -> (f64, f64) {
    limits.unwrap_or((f64::NEG_INFINITY, f64::INFINITY))
}
