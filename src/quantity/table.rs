//! The table of units.
//!
//! Factors are exact unless said: the SI prefixes and the units accepted with the SI (minute, hour) from
//! *The International System of Units*, BIPM, 9th edition; the yard as 0.9144 m and the pound as 0.453 592 37 kg
//! from the international yard and pound agreement of 1959; the pound of force as that pound under standard
//! gravity, 9.806 65 m/s² (NIST Special Publication 811, 2008 edition, appendix B.8); °F from the same appendix.

use super::Dimension as D;
use super::Unit;

/// A row of the table: `base = (value + zero) · times / over`, a ratio of whole numbers wherever the definition is one,
/// so that 820 mV is 0.82 V to the last digit.
pub(super) struct Row {
    pub unit: Unit,
    pub symbol: &'static str,
    /// Other ways to write it, in lower case; matched whatever the case typed.
    pub also: &'static [&'static str],
    /// Ways to write it in which the case matters.
    pub exactly: &'static [&'static str],
    pub dimension: D,
    pub times: f64,
    pub over: f64,
    pub zero: f64,
}

impl Row {
    /// Whether `lower`, in lower case, can only mean this unit. A capital M is mega and a small one is a metre
    /// or a thousandth, so those two symbols are never matched this way.
    pub(super) fn is_written(&self, lower: &str) -> bool {
        let by_symbol = !matches!(self.unit, Unit::Metre | Unit::Megohm) && self.symbol.to_lowercase() == lower;
        by_symbol || self.also.contains(&lower)
    }
}

const fn row(
    unit: Unit,
    symbol: &'static str,
    also: &'static [&'static str],
    dimension: D,
    (times, over): (f64, f64),
) -> Row {
    Row {
        unit,
        symbol,
        also,
        exactly: &[],
        dimension,
        times,
        over,
        zero: 0.0,
    }
}

const ONE: (f64, f64) = (1.0, 1.0);
const MILLI: (f64, f64) = (1.0, 1e3);
const KILO: (f64, f64) = (1e3, 1.0);
const MEGA: (f64, f64) = (1e6, 1.0);

/// In the order of the variants of [`Unit`], which a test holds.
pub(super) static TABLE: [Row; 42] = [
    row(Unit::One, "1", &["count"], D::NONE, ONE),
    row(Unit::Percent, "%", &["percent", "pct"], D::NONE, ONE),
    row(
        Unit::Volt,
        "V",
        &["v", "volt", "volts", "vdc", "vac", "v dc", "v ac"],
        D::VOLTAGE,
        ONE,
    ),
    row(
        Unit::Millivolt,
        "mV",
        &["mv", "millivolt", "millivolts"],
        D::VOLTAGE,
        MILLI,
    ),
    row(
        Unit::Ampere,
        "A",
        &["a", "amp", "amps", "ampere", "amperes"],
        D::CURRENT,
        ONE,
    ),
    row(
        Unit::Milliampere,
        "mA",
        &["ma", "milliamp", "milliamps"],
        D::CURRENT,
        MILLI,
    ),
    // Both the Greek letter and the ohm sign, which keyboards and catalogues mix.
    row(
        Unit::Ohm,
        "Ω",
        &["\u{2126}", "ω", "ohm", "ohms", "r"],
        D::RESISTANCE,
        ONE,
    ),
    row(
        Unit::Kilohm,
        "kΩ",
        &["k\u{2126}", "kω", "kohm", "kohms", "kilohm", "kilohms"],
        D::RESISTANCE,
        KILO,
    ),
    // A small m would be a milliohm: only the capital is taken.
    Row {
        exactly: &[
            "M\u{2126}",
            "Mohm",
            "Mohms",
            "MOhm",
            "MOhms",
            "MOHM",
            "MOHMS",
            "Meg",
            "MEG",
        ],
        ..row(
            Unit::Megohm,
            "MΩ",
            &["megohm", "megohms", "megaohm", "megaohms", "meg"],
            D::RESISTANCE,
            (1e6, 1.0),
        )
    },
    // The micro sign and the Greek mu are two characters.
    row(
        Unit::Microhenry,
        "µH",
        &["uh", "\u{3bc}h", "µh", "microhenry", "microhenries"],
        D::INDUCTANCE,
        (1.0, 1e6),
    ),
    row(
        Unit::Millihenry,
        "mH",
        &["mh", "millihenry", "millihenries"],
        D::INDUCTANCE,
        MILLI,
    ),
    row(Unit::Hertz, "Hz", &["hz", "hertz"], D::FREQUENCY, ONE),
    row(Unit::Kilohertz, "kHz", &["khz", "kilohertz"], D::FREQUENCY, KILO),
    row(Unit::Megahertz, "MHz", &["mhz", "megahertz"], D::FREQUENCY, MEGA),
    row(Unit::Newton, "N", &["n", "newton", "newtons"], D::FORCE, ONE),
    // 0.453 592 37 kg × 9.806 65 m/s², exact.
    row(
        Unit::PoundForce,
        "lbf",
        &["lb-f", "lb f", "pound-force", "pounds-force"],
        D::FORCE,
        (44_482_216_152_605.0, 1e13),
    ),
    row(
        Unit::Kilogram,
        "kg",
        &["kgs", "kilo", "kilos", "kilogram", "kilograms"],
        D::MASS,
        ONE,
    ),
    row(
        Unit::Pound,
        "lb",
        &["lbs", "lbm", "pound", "pounds"],
        D::MASS,
        (45_359_237.0, 1e8),
    ),
    row(
        Unit::Millimetre,
        "mm",
        &["millimetre", "millimetres", "millimeter", "millimeters"],
        D::LENGTH,
        MILLI,
    ),
    row(
        Unit::Centimetre,
        "cm",
        &["centimetre", "centimetres", "centimeter", "centimeters"],
        D::LENGTH,
        (1.0, 1e2),
    ),
    row(
        Unit::Metre,
        "m",
        &["metre", "metres", "meter", "meters"],
        D::LENGTH,
        ONE,
    ),
    row(
        Unit::Inch,
        "in",
        &["\"", "''", "″", "”", "inch", "inches", "in."],
        D::LENGTH,
        (254.0, 1e4),
    ),
    row(
        Unit::Foot,
        "ft",
        &["'", "′", "’", "foot", "feet", "ft."],
        D::LENGTH,
        (3048.0, 1e4),
    ),
    row(Unit::Second, "s", &["sec", "secs", "second", "seconds"], D::TIME, ONE),
    row(
        Unit::Minute,
        "min",
        &["mins", "minute", "minutes"],
        D::TIME,
        (60.0, 1.0),
    ),
    row(Unit::Hour, "h", &["hr", "hrs", "hour", "hours"], D::TIME, (3600.0, 1.0)),
    Row {
        zero: 273.15,
        ..row(
            Unit::Celsius,
            "°C",
            &["degc", "deg c", "c", "celsius", "º c", "ºc", "° c", "℃"],
            D::TEMPERATURE,
            ONE,
        )
    },
    // T/K = (t/°F + 459.67) · 5/9
    Row {
        zero: 459.67,
        ..row(
            Unit::Fahrenheit,
            "°F",
            &["degf", "deg f", "f", "fahrenheit", "ºf", "° f", "℉"],
            D::TEMPERATURE,
            (5.0, 9.0),
        )
    },
    row(Unit::Watt, "W", &["w", "watt", "watts"], D::POWER, ONE),
    row(
        Unit::AmpereHour,
        "Ah",
        &["ah", "amp-hour", "amp-hours", "amp hours"],
        D::CHARGE,
        (3600.0, 1.0),
    ),
    row(Unit::Decibel, "dB", &["db", "decibel", "decibels"], D::LEVEL, ONE),
    row(Unit::DecibelMilliwatt, "dBm", &["dbm"], D::LEVEL, ONE),
    row(
        Unit::MetrePerSecond,
        "m/s",
        &["metres per second", "meters per second"],
        D::SPEED,
        ONE,
    ),
    row(Unit::KilometrePerHour, "km/h", &["kmh", "kph"], D::SPEED, (10.0, 36.0)),
    // 1609.344 m in 3600 s, exact.
    row(Unit::MilePerHour, "mph", &["miles per hour"], D::SPEED, (4470.4, 1e4)),
    row(
        Unit::NewtonMetre,
        "N·m",
        &["n·m", "nm", "n-m", "newton metres", "newton meters"],
        D::MOMENT,
        ONE,
    ),
    // lbf × 0.3048 m, exact.
    row(
        Unit::PoundFoot,
        "lbf·ft",
        &["lbf-ft", "lb-ft", "ft-lb", "ft-lbs", "lbft", "ftlb", "foot-pounds"],
        D::MOMENT,
        (44_482_216_152_605.0 * 0.3048, 1e13),
    ),
    row(
        Unit::WattHour,
        "Wh",
        &["wh", "watt-hour", "watt-hours"],
        D::MOMENT,
        (3600.0, 1.0),
    ),
    row(
        Unit::Nanofarad,
        "nF",
        &["nf", "nanofarad", "nanofarads"],
        D::CAPACITANCE,
        (1.0, 1e9),
    ),
    // The micro sign and the Greek mu are two characters.
    row(
        Unit::Microfarad,
        "µF",
        &["uf", "\u{3bc}f", "µf", "microfarad", "microfarads"],
        D::CAPACITANCE,
        (1.0, 1e6),
    ),
    row(Unit::Day, "days", &["day"], D::TIME, (86_400.0, 1.0)),
    row(
        Unit::Degree,
        "°",
        &["º", "deg", "degs", "degree", "degrees"],
        D::NONE,
        ONE,
    ),
];
