//! Sun, panel, load and battery.

use super::super::function::{Function, Held, Limit, param};
use super::arg;
use crate::quantity::Unit as U;

use crate::trade::function::Parameter;
use crate::trade::{solar, sun};

const LOAD: Parameter = param(
    "load",
    U::WattHour,
    (0.0, 5000.0),
    "17.6Wh",
    "of a day (see solar-load)",
);
const SUN: Parameter = param(
    "sun",
    U::Hour,
    (0.2, 8.0),
    "1.5h",
    "sun hours of a day in the worst month",
);
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
    "of the day's yield that is lost; 5 % of the cells in shade can cost half",
)
.usually(0.0);
const LATITUDE: Parameter = param("latitude", U::Degree, (-60.0, 60.0), "40", "south negative");
const MONTH: Parameter = param("month", U::One, (1.0, 12.0), "12", "1 to 12");
const USABLE: Parameter = param("usable", U::Percent, (10.0, 100.0), "50%", "of the ampere-hours").usually(50.0);
const COLD: Parameter = param(
    "cold",
    U::Percent,
    (20.0, 110.0),
    "80%",
    "left in the cold (see battery-cold)",
)
.usually(100.0);

pub(super) static FUNCTIONS: [Function; 9] = [
    Function {
        name: "load_watt_hours",
        subject: "solar-load",
        params: &[
            param("volts", U::Volt, (5.0, 60.0), "12V", "of the system"),
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
        gives: U::WattHour,
        about: "what the gate draws in a day",
        formula: "volts · standby · 24 + cycles · volts · running · seconds/3600",
        source: solar::BALANCE_SOURCE,
        call: |a| solar::load_watt_hours(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3), arg(a, 4)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "panel_watts",
        subject: "solar-panel",
        params: &[LOAD, SUN, EFFICIENCY, SHADE],
        gives: U::Watt,
        about: "panel that a load needs; size it on the worst month",
        formula: "load/(sun · efficiency/100 · (1 − shade/100))",
        source: solar::BALANCE_SOURCE,
        call: |a| solar::panel_watts(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: Some(Limit {
            of: Held::Input("panel"),
            needs: &[param(
                "panel",
                U::Watt,
                (1.0, 1000.0),
                "10W",
                "the plate of the panel that is there",
            )],
            about: "the panel that is there has as much",
            source: solar::BALANCE_SOURCE,
            bounds: |_, watts| (watts, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "solar_balance_watt_hours",
        subject: "solar-balance",
        params: &[
            param("panel", U::Watt, (1.0, 1000.0), "10W", "its plate"),
            SUN,
            LOAD,
            EFFICIENCY,
            SHADE,
        ],
        gives: U::WattHour,
        about: "what is left over of a day in that month; below nothing the battery runs down",
        formula: "panel · sun · efficiency/100 · (1 − shade/100) − load",
        source: solar::BALANCE_SOURCE,
        call: |a| solar::balance(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3), arg(a, 4)),
        limit: Some(Limit {
            of: Held::Result,
            needs: &[],
            about: "nothing or more",
            source: "energy",
            bounds: |_, _| (0.0, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "solar_battery_ampere_hours",
        subject: "solar-battery",
        params: &[
            LOAD,
            param("days", U::Day, (0.5, 30.0), "5days", "without sun"),
            param("volts", U::Volt, (5.0, 60.0), "12V", "of the system"),
            USABLE,
            COLD,
        ],
        gives: U::AmpereHour,
        about: "battery that carries a load through days without sun",
        formula: "load · days/(volts · usable/100 · cold/100)",
        source: solar::BALANCE_SOURCE,
        call: |a| solar::battery_ampere_hours(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3), arg(a, 4)),
        limit: Some(Limit {
            of: Held::Input("battery"),
            needs: &[param(
                "battery",
                U::AmpereHour,
                (1.0, 1000.0),
                "7Ah",
                "the battery that is there",
            )],
            about: "the battery that is there has as much",
            source: "what the site needs",
            bounds: |_, ah| (ah, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "sun_hours",
        subject: "sun-hours",
        params: &[
            LATITUDE,
            MONTH,
            param(
                "tilt",
                U::Degree,
                (0.0, 90.0),
                "55",
                "of the panel from level, to the equator",
            ),
            param(
                "clearness",
                U::Percent,
                (20.0, 75.0),
                "50%",
                "30 % a dull month, 50 % a fair one, 65 % a clear one",
            )
            .usually(50.0),
        ],
        gives: U::Hour,
        about: "sun hours of a day on a tilted panel, where no records of the place are at hand",
        formula: "sunlight above the air · clearness, beam, sky and ground each as the tilt sees them",
        source: sun::SOURCE,
        call: |a| sun::sun_hours(arg(a, 0), arg(a, 1), arg(a, 2), arg(a, 3)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "noon_sun_degrees",
        subject: "noon-sun",
        params: &[LATITUDE, MONTH],
        gives: U::Degree,
        about: "height of the sun at noon in the middle of a month",
        formula: "90 − |latitude − declination|",
        source: sun::SOURCE,
        call: |a| sun::noon_height(arg(a, 0), arg(a, 1)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "shadow_ft",
        subject: "shade",
        params: &[
            param(
                "height",
                U::Foot,
                (0.0, 300.0),
                "30ft",
                "of tree or wall, above the panel",
            ),
            LATITUDE,
            MONTH,
        ],
        gives: U::Foot,
        about: "length of a shadow at noon; mornings and evenings it is longer",
        formula: "height/tan(height of the sun at noon)",
        source: sun::SOURCE,
        call: |a| sun::shadow(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: Some(Limit {
            of: Held::Input("distance"),
            needs: &[param(
                "distance",
                U::Foot,
                (0.0, 2000.0),
                "40ft",
                "of the panel from it, on the side of the pole",
            )],
            about: "the panel is farther off than the shadow is long",
            source: sun::SOURCE,
            bounds: |_, feet| (feet, f64::INFINITY),
        }),
        meaning: None,
    },
    Function {
        name: "panel_cell_celsius",
        subject: "panel-heat",
        params: &[
            param("air", U::Celsius, (-40.0, 60.0), "25C", "temperature of the air"),
            param("irradiance", U::One, (0.0, 1400.0), "1000", "W/m²; 1000 is full sun").usually(1000.0),
            param(
                "noct",
                U::Celsius,
                (40.0, 55.0),
                "45C",
                "nominal operating cell temperature",
            )
            .usually(45.0),
        ],
        gives: U::Celsius,
        about: "temperature of a panel's cells, give or take 2 °C",
        formula: "air + (noct − 20)/800 · irradiance",
        source: solar::CELL_SOURCE,
        call: |a| solar::cell_celsius(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: None,
        meaning: None,
    },
    Function {
        name: "panel_open_volts",
        subject: "panel-volts",
        params: &[
            param(
                "plate",
                U::Volt,
                (1.0, 100.0),
                "21.6V",
                "open volts on the plate, at 25 °C",
            ),
            param(
                "cell",
                U::Celsius,
                (-40.0, 90.0),
                "-10C",
                "temperature of the cells (see panel-heat)",
            ),
            param(
                "coefficient",
                U::Percent,
                (-0.6, 0.0),
                "-0.30%",
                "per °C; -0.27 to -0.36 printed",
            )
            .usually(-0.30),
        ],
        gives: U::Volt,
        about: "open volts of a panel at this temperature",
        formula: "plate · (1 + coefficient/100 · (cell − 25))",
        source: solar::CELL_SOURCE,
        call: |a| solar::panel_volts(arg(a, 0), arg(a, 1), arg(a, 2)),
        limit: None,
        meaning: None,
    },
];
