//! How long a lead-acid battery lasts: standing by, at one steady current, and in the cold.

use super::{OutOfRange, interpolated, within};
use crate::quantity::Unit;

/// Where [`cold_percent`] comes from.
pub const COLD_SOURCE: &str = "from memory: IEEE 485, table 1 (capacity by temperature)";

/// Where [`steady_hours`] comes from.
pub const PEUKERT_SOURCE: &str =
    "from memory: Peukert's relation, battery handbooks; exponent 1.10 to 1.25 for lead-acid";

/// Temperature in °F and the factor by which a battery must be larger than at 77 °F.
const SIZE_BY_FAHRENHEIT: [(f64, f64); 5] = [(25.0, 1.52), (40.0, 1.30), (60.0, 1.11), (77.0, 1.00), (100.0, 0.91)];

/// Share in percent of its rated capacity that a battery gives at `celsius`: 100 over the size factor of IEEE 485, straight
/// lines between the rows. Maker's tables give up to ten points more at slow rates.
///
/// −3.9 °C to 37.8 °C (25 °F to 100 °F).
///
/// # Errors
/// A temperature outside that range.
pub fn cold_percent(celsius: f64) -> Result<f64, OutOfRange> {
    let t = within("the battery's temperature", celsius, Unit::Celsius, -3.9, 37.8)?;
    let size = interpolated(&SIZE_BY_FAHRENHEIT, Unit::Celsius.express(t, Unit::Fahrenheit));
    Ok(100.0 / size)
}

/// Where [`cold_slow_percent`] comes from.
pub const SLOW_SOURCE: &str = "a battery maker's public table for discharges of over an hour; sizing tables of IEEE 485 take up to ten points more off";

/// °C and the share of rated capacity at slow rates.
const SLOW_BY_CELSIUS: [(f64, f64); 5] = [(0.0, 84.0), (10.0, 90.0), (20.0, 99.0), (25.0, 100.0), (35.0, 104.0)];

/// Share in percent of its rated capacity that a battery gives at `celsius` on standby loads, which take hours: straight lines
/// between a maker's rows. [`cold_percent`] is the careful figure.
///
/// 0 °C to 35 °C.
///
/// # Errors
/// A temperature outside that range.
pub fn cold_slow_percent(celsius: f64) -> Result<f64, OutOfRange> {
    let t = within("the battery's temperature", celsius, Unit::Celsius, 0.0, 35.0)?;
    Ok(interpolated(&SLOW_BY_CELSIUS, t))
}

/// Cycles that a battery carries with nothing charging: (ampere-hours · usable share − standby · hours)/(amps · seconds/3600), no
/// fewer than none.
///
/// 1 to 1000 Ah, 0.1 to 100 A for 1 to 300 s a cycle, standby 0 to 5 A for 0 to 720 h, usable 10 to 100 %.
///
/// # Errors
/// A value outside its range.
pub fn cycles(
    ampere_hours: f64,
    running: f64,
    seconds: f64,
    standby: f64,
    hours: f64,
    usable: f64,
) -> Result<f64, OutOfRange> {
    let capacity = within("the battery", ampere_hours, Unit::AmpereHour, 1.0, 1000.0)?;
    let amps = within("the running current", running, Unit::Ampere, 0.1, 100.0)?;
    let time = within("the seconds a cycle runs", seconds, Unit::Second, 1.0, 300.0)?;
    let steady = within("the standby current", standby, Unit::Ampere, 0.0, 5.0)?;
    let outage = within("the hours without mains", hours, Unit::Hour, 0.0, 720.0)?;
    let share = within("the usable share", usable, Unit::Percent, 10.0, 100.0)? / 100.0;
    Ok(((capacity * share - steady * outage) / (amps * time / 3600.0)).max(0.0))
}

/// Mean current in A of a duty: standby + cycles · amps · seconds/86 400.
///
/// Standby 0 to 5 A, 0 to 2000 cycles a day, running 0 to 100 A for 0 to 300 s a cycle, there and back.
///
/// # Errors
/// A value outside its range.
pub fn mean_amps(standby: f64, cycles_a_day: f64, running: f64, seconds: f64) -> Result<f64, OutOfRange> {
    let steady = within("the standby current", standby, Unit::Ampere, 0.0, 5.0)?;
    let cycles = within("the cycles a day", cycles_a_day, Unit::One, 0.0, 2000.0)?;
    let amps = within("the running current", running, Unit::Ampere, 0.0, 100.0)?;
    let time = within("the seconds a cycle runs", seconds, Unit::Second, 0.0, 300.0)?;
    Ok(steady + cycles * amps * time / 86_400.0)
}

/// Days on the battery alone: ampere-hours · usable share/mean current/24.
///
/// 1 to 1000 Ah, mean current 0.001 to 100 A, 10 to 100 % usable (common practice: 50 % where it is charged and drawn
/// daily; multiply by [`cold_percent`] in the cold).
///
/// # Errors
/// A value outside its range.
pub fn days(ampere_hours: f64, mean_amps: f64, usable_percent: f64) -> Result<f64, OutOfRange> {
    let capacity = within("the battery", ampere_hours, Unit::AmpereHour, 1.0, 1000.0)?;
    let amps = within("the mean current", mean_amps, Unit::Ampere, 0.001, 100.0)?;
    let usable = within("the usable share", usable_percent, Unit::Percent, 10.0, 100.0)?;
    Ok(capacity * usable / 100.0 / amps / 24.0)
}

/// Hours at one steady current until empty: H · (C/(I · H))^k, C the ampere-hours printed for H hours.
///
/// 1 to 1000 Ah, 0.01 to 500 A, H 1 to 100 h, k 1 to 1.5.
///
/// # Errors
/// A value outside its range.
pub fn steady_hours(ampere_hours: f64, amps: f64, rated_hours: f64, exponent: f64) -> Result<f64, OutOfRange> {
    let c = within("the battery", ampere_hours, Unit::AmpereHour, 1.0, 1000.0)?;
    let i = within("the current", amps, Unit::Ampere, 0.01, 500.0)?;
    let h = within("the hours it is rated for", rated_hours, Unit::Hour, 1.0, 100.0)?;
    let k = within("the exponent", exponent, Unit::One, 1.0, 1.5)?;
    Ok(h * (c / (i * h)).powf(k))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// From memory, IEEE 485 table 1: 40 °F wants 1.30 times the size, so 77 % is left; 77 °F is the reference.
    #[test]
    fn capacity_in_the_cold() {
        for (fahrenheit, percent) in [(40.0, 76.9), (60.0, 90.1), (77.0, 100.0), (100.0, 109.9)] {
            let t = Unit::Fahrenheit.express(fahrenheit, Unit::Celsius);
            close(cold_percent(t).unwrap(), percent, 0.05);
        }
        assert!(cold_percent(-20.0).is_err());
    }

    /// A maker's rows: 16 % less at 0 °C, 10 % at 10 °C, 1 % at 20 °C, 4 % more at 35 °C; at 40 °F some 87 %, ten points over the
    /// sizing table.
    #[test]
    fn slow_loads_lose_less() {
        for (t, percent) in [(0.0, 84.0), (10.0, 90.0), (20.0, 99.0), (25.0, 100.0), (35.0, 104.0)] {
            close(cold_slow_percent(t).unwrap(), percent, 1e-9);
        }
        close(cold_slow_percent(4.444).unwrap(), 87.0, 0.5);
        close(
            cold_slow_percent(4.444).unwrap() - cold_percent(4.444).unwrap(),
            10.0,
            0.5,
        );
        assert!(cold_slow_percent(-5.0).is_err());
    }

    /// Worked by hand: 7 Ah, half usable, 24 h of 40 mA leave 2.54 Ah, which is 152 cycles of 4 A for 15 s; 100 h leave none.
    #[test]
    fn cycles_of_an_outage() {
        close(cycles(7.0, 4.0, 15.0, 0.040, 24.0, 50.0).unwrap(), 152.4, 0.05);
        close(cycles(7.0, 4.0, 15.0, 0.040, 100.0, 50.0).unwrap(), 0.0, 0.0);
        assert!(cycles(7.0, 0.0, 15.0, 0.040, 24.0, 50.0).is_err());
    }

    /// Worked by hand: 7 Ah, 40 mA, half usable: 3.65 days. Sixteen cycles of 4 A for 15 s add 11 mA.
    #[test]
    fn days_of_standby() {
        close(
            days(7.0, mean_amps(0.040, 0.0, 0.0, 0.0).unwrap(), 50.0).unwrap(),
            3.65,
            0.005,
        );
        close(mean_amps(0.050, 16.0, 4.0, 15.0).unwrap(), 0.0611, 0.0001);
        assert!(days(7.0, 0.0, 50.0).is_err());
    }

    /// The rated current lasts the rated hours whatever the exponent; without it hours are C/I. Worked by hand: 100 Ah
    /// (20 h), 10 A, exponent 1.2: 20 · 0.5^1.2 = 8.71 h.
    #[test]
    fn a_steady_current() {
        close(steady_hours(7.0, 0.35, 20.0, 1.2).unwrap(), 20.0, 1e-9);
        close(steady_hours(7.0, 3.5, 20.0, 1.0).unwrap(), 2.0, 1e-9);
        close(steady_hours(100.0, 10.0, 20.0, 1.2).unwrap(), 8.71, 0.005);
    }
}
