//! A year of sun, month by month.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::function::Parameter;
use crate::trade::solar_year::{self, Store, Year};

const fn month(name: &'static str, example: &'static str, about: &'static str) -> Parameter {
    param(name, U::Hour, (0.2, 8.0), example, about)
}

const PANEL: Parameter = param("panel", U::Watt, (1.0, 1000.0), "15W", "its plate");
const LOAD: Parameter = param(
    "load",
    U::WattHour,
    (0.0, 5000.0),
    "17.6Wh",
    "of a day (see solar-load)",
);
const JAN: Parameter = month("jan", "1.6h", "sun hours of a day (see sun-hours), each month");
const FEB: Parameter = month("feb", "2.4h", "February");
const MAR: Parameter = month("mar", "3.4h", "March");
const APR: Parameter = month("apr", "4.2h", "April");
const MAY: Parameter = month("may", "4.8h", "May");
const JUN: Parameter = month("jun", "5.2h", "June");
const JUL: Parameter = month("jul", "5.4h", "July");
const AUG: Parameter = month("aug", "4.8h", "August");
const SEP: Parameter = month("sep", "3.8h", "September");
const OCT: Parameter = month("oct", "2.7h", "October");
const NOV: Parameter = month("nov", "1.8h", "November");
const DEC: Parameter = month("dec", "1.3h", "December");
const BATTERY: Parameter = param(
    "battery",
    U::AmpereHour,
    (1.0, 1000.0),
    "35Ah",
    "printed; blocks in series count once",
);
const VOLTS: Parameter = param("volts", U::Volt, (5.0, 60.0), "12V", "of the system");
const EFFICIENCY: Parameter = param(
    "efficiency",
    U::Percent,
    (20.0, 100.0),
    "65%",
    "battery, heat, dirt and wiring together",
)
.usually(65.0);
const SHADE: Parameter = param(
    "shade",
    U::Percent,
    (0.0, 95.0),
    "0%",
    "of each day's yield that is lost",
)
.usually(0.0);
const USABLE: Parameter = param("usable", U::Percent, (10.0, 100.0), "50%", "of the ampere-hours").usually(50.0);
const COLD: Parameter = param(
    "cold",
    U::Percent,
    (20.0, 110.0),
    "80%",
    "left in the cold (see battery-cold)",
)
.usually(100.0);

/// What every month does, said of the worst.
const WORST: [(&str, &str); 12] = [
    (
        "January is worst, and runs the battery down",
        "January is worst, and balances",
    ),
    (
        "February is worst, and runs the battery down",
        "February is worst, and balances",
    ),
    (
        "March is worst, and runs the battery down",
        "March is worst, and balances",
    ),
    (
        "April is worst, and runs the battery down",
        "April is worst, and balances",
    ),
    ("May is worst, and runs the battery down", "May is worst, and balances"),
    (
        "June is worst, and runs the battery down",
        "June is worst, and balances",
    ),
    (
        "July is worst, and runs the battery down",
        "July is worst, and balances",
    ),
    (
        "August is worst, and runs the battery down",
        "August is worst, and balances",
    ),
    (
        "September is worst, and runs the battery down",
        "September is worst, and balances",
    ),
    (
        "October is worst, and runs the battery down",
        "October is worst, and balances",
    ),
    (
        "November is worst, and runs the battery down",
        "November is worst, and balances",
    ),
    (
        "December is worst, and runs the battery down",
        "December is worst, and balances",
    ),
];

/// From panel, load and twelve months, then efficiency and shade from `rest` on.
fn year(a: &[f64], rest: usize) -> Year {
    Year {
        panel: arg(a, 0),
        sun_hours: std::array::from_fn(|i| arg(a, i + 2)),
        load: arg(a, 1),
        efficiency: arg(a, rest),
        shade: arg(a, rest + 1),
    }
}

fn store(a: &[f64], battery: usize, shares: usize) -> Store {
    Store {
        ampere_hours: arg(a, battery),
        volts: arg(a, battery + 1),
        usable: arg(a, shares),
        cold: arg(a, shares + 1),
    }
}

fn worst_words(a: &[f64]) -> Option<&'static str> {
    let (month, left) = year(a, 14).worst().ok()?;
    let (short, balanced) = WORST.get(month)?;
    Some(if left < 0.0 { short } else { balanced })
}

pub(super) static FUNCTIONS: [Function; 4] = [
    Function {
        name: "year_worst_watt_hours",
        subject: "solar-year",
        params: &[
            PANEL, LOAD, JAN, FEB, MAR, APR, MAY, JUN, JUL, AUG, SEP, OCT, NOV, DEC, EFFICIENCY, SHADE,
        ],
        gives: U::WattHour,
        about: "what is left over of a day in the worst month of a year; below nothing the battery runs down",
        formula: "the least of panel · sun hours · efficiency/100 · (1 − shade/100) − load over the months",
        source: solar_year::SOURCE,
        call: |a| Ok(year(a, 14).worst()?.1),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "nothing or more",
            source: "energy",
            bounds: |_, _| (0.0, f64::INFINITY),
        }),
        meaning: Some(worst_words),
    },
    Function {
        name: "year_short_months",
        subject: "solar-months",
        params: &[
            PANEL, LOAD, JAN, FEB, MAR, APR, MAY, JUN, JUL, AUG, SEP, OCT, NOV, DEC, EFFICIENCY, SHADE,
        ],
        gives: U::One,
        about: "months of a year in which the battery runs down",
        formula: "how many months have panel · sun hours · efficiency/100 · (1 − shade/100) under the load",
        source: solar_year::SOURCE,
        call: |a| year(a, 14).short_months(),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "none; else a larger panel, less load, or mains in winter",
            source: solar_year::SOURCE,
            bounds: |_, _| (0.0, 0.0),
        }),
        meaning: Some(worst_words),
    },
    Function {
        name: "year_lowest_percent",
        subject: "solar-lowest",
        params: &[
            PANEL, LOAD, JAN, FEB, MAR, APR, MAY, JUN, JUL, AUG, SEP, OCT, NOV, DEC, BATTERY, VOLTS, EFFICIENCY, SHADE,
            USABLE, COLD,
        ],
        gives: U::Percent,
        about: "how low the battery gets in a year, of what may be used of it; at 0 the gate stands still",
        formula: "month by month: what it held + days · what a day leaves over, no more than battery · volts · usable/100 · cold/100",
        source: solar_year::SOURCE,
        call: |a| year(a, 16).lowest_percent(&store(a, 14, 18)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "a fifth left for dark weeks",
            source: "common practice",
            bounds: |_, _| (20.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "solar_days_left",
        subject: "solar-days",
        params: &[
            param(
                "short",
                U::WattHour,
                (0.1, 5000.0),
                "4.9Wh",
                "that a day lacks (solar-year, its sign turned; without any sun the load)",
            ),
            BATTERY,
            VOLTS,
            USABLE,
            COLD,
        ],
        gives: U::Day,
        about: "days until the battery is down where the sun brings less than the load",
        formula: "battery · volts · usable/100 · cold/100/short",
        source: "energy",
        call: |a| store(a, 1, 3).days(arg(a, 0)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[param(
                "wanted",
                U::Day,
                (0.1, 365.0),
                "60days",
                "that the dull months last",
            )],
            about: "as long as the dull months last",
            source: "what the site needs",
            bounds: |a, _| (arg(a, 5), f64::INFINITY),
        }),
        meaning: None,
    },
];
