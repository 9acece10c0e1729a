//! A panel, a battery and a load: does a month balance, how large must they be, how hot is the panel.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where the balance and the sizes come from.
pub const BALANCE_SOURCE: &str = "stand-alone sizing practice (shares of battery 0.80 and temperature 0.88 from trade literature; dirt and wiring 0.90 to 0.95, common practice)";

/// Where the temperatures of a panel come from.
pub const CELL_SOURCE: &str = "IEC 61215's nominal operating cell temperature, as an open solar library documents it; coefficients of ordinary crystalline panels";

/// Watt-hours a day of a load: V · standby · 24 + cycles · V · running amps · seconds/3600.
///
/// 5 to 60 V, standby 0 to 5 A, 0 to 2000 cycles a day, 0 to 100 A for 0 to 300 s a cycle.
///
/// # Errors
/// A value outside its range.
pub fn load_watt_hours(
    volts: f64,
    standby: f64,
    cycles_a_day: f64,
    running: f64,
    seconds: f64,
) -> Result<f64, OutOfRange> {
    let v = within("the system's volts", volts, Unit::Volt, 5.0, 60.0)?;
    Ok(v * 24.0 * super::run_time::mean_amps(standby, cycles_a_day, running, seconds)?)
}

/// Watts of panel that a load needs: load/(sun hours · efficiency · share not shaded). Size on the worst month.
///
/// Load 0 to 5000 Wh a day, 0.2 to 8 sun hours (more is a data error), efficiency 20 to 100 % (65 % usual), shade 0 to
/// 95 % of the day's yield.
///
/// # Errors
/// A value outside its range.
pub fn panel_watts(load: f64, sun_hours: f64, efficiency: f64, shade: f64) -> Result<f64, OutOfRange> {
    let daily = within("the load of a day", load, Unit::WattHour, 0.0, 5000.0)?;
    Ok(daily / yield_per_watt(sun_hours, efficiency, shade)?)
}

/// Watt-hours a day that are left over, negative where the battery runs down: watts · sun hours · efficiency · share not
/// shaded − load.
///
/// Panel 1 to 1000 W; the rest as [`panel_watts`].
///
/// # Errors
/// A value outside its range.
pub fn balance(panel: f64, sun_hours: f64, load: f64, efficiency: f64, shade: f64) -> Result<f64, OutOfRange> {
    let watts = within("the panel", panel, Unit::Watt, 1.0, 1000.0)?;
    let daily = within("the load of a day", load, Unit::WattHour, 0.0, 5000.0)?;
    Ok(watts * yield_per_watt(sun_hours, efficiency, shade)? - daily)
}

/// [`balance`] of each month, January first, from the sun hours of each.
///
/// # Errors
/// A value outside its range.
pub fn balance_by_month(
    panel: f64,
    sun_hours: &[f64; 12],
    load: f64,
    efficiency: f64,
    shade: f64,
) -> Result<[f64; 12], OutOfRange> {
    let mut months = [0.0; 12];
    for (month, hours) in months.iter_mut().zip(sun_hours) {
        *month = balance(panel, *hours, load, efficiency, shade)?;
    }
    Ok(months)
}

/// Watt-hours a day that a watt of panel brings.
fn yield_per_watt(sun_hours: f64, efficiency: f64, shade: f64) -> Result<f64, OutOfRange> {
    let hours = within("the sun hours of a day", sun_hours, Unit::Hour, 0.2, 8.0)?;
    let share = within("the efficiency", efficiency, Unit::Percent, 20.0, 100.0)?;
    let lost = within("the shade", shade, Unit::Percent, 0.0, 95.0)?;
    Ok(hours * share / 100.0 * (1.0 - lost / 100.0))
}

/// Ampere-hours of battery for `days` without sun: load · days/(V · usable share · cold share).
///
/// Load 0 to 5000 Wh a day, 0.5 to 30 days, 5 to 60 V, usable 10 to 100 % (50 % usual), cold 20 to 110 % (see
/// [`super::run_time::cold_percent`]).
///
/// # Errors
/// A value outside its range.
pub fn battery_ampere_hours(load: f64, days: f64, volts: f64, usable: f64, cold: f64) -> Result<f64, OutOfRange> {
    let daily = within("the load of a day", load, Unit::WattHour, 0.0, 5000.0)?;
    let dark = within("the days without sun", days, Unit::Day, 0.5, 30.0)?;
    let v = within("the system's volts", volts, Unit::Volt, 5.0, 60.0)?;
    let share = within("the usable share", usable, Unit::Percent, 10.0, 100.0)? / 100.0;
    let left = within("the share left in the cold", cold, Unit::Percent, 20.0, 110.0)? / 100.0;
    Ok(daily * dark / (v * share * left))
}

/// Temperature of a panel's cells in °C: air + (NOCT − 20)/800 · irradiance, NOCT the nominal operating cell temperature.
///
/// Air −40 °C to 60 °C, irradiance 0 to 1400 W/m², NOCT 40 °C to 55 °C (45 usual). Give or take 2 °C in light wind.
///
/// # Errors
/// A value outside its range (the irradiance is named by its number of W/m²).
pub fn cell_celsius(air: f64, irradiance: f64, noct: f64) -> Result<f64, OutOfRange> {
    let t = within("the air's temperature", air, Unit::Celsius, -40.0, 60.0)?;
    let g = within("the irradiance in W/m²", irradiance, Unit::One, 0.0, 1400.0)?;
    let nominal = within("the nominal cell temperature", noct, Unit::Celsius, 40.0, 55.0)?;
    Ok(t + (nominal - 20.0) / 800.0 * g)
}

/// Volts of a panel whose plate says `plate_volts` at 25 °C, with its cells at `cell`: V · (1 + k/100 · (T − 25)).
///
/// 1 to 100 V, cells −40 °C to 90 °C, k −0.6 to 0 % per °C: −0.30 usual for open volts (printed −0.27 to −0.36).
///
/// # Errors
/// A value outside its range.
pub fn panel_volts(plate_volts: f64, cell: f64, percent_per_degree: f64) -> Result<f64, OutOfRange> {
    let v = within("the volts on the plate", plate_volts, Unit::Volt, 1.0, 100.0)?;
    let t = within("the cells' temperature", cell, Unit::Celsius, -40.0, 90.0)?;
    let k = within("the percent per degree", percent_per_degree, Unit::Percent, -0.6, 0.0)?;
    Ok(v * (1.0 + k / 100.0 * (t - 25.0)))
}

/// Where the factors for the cold come from.
pub const COLD_SOURCE: &str = "from memory: NFPA 70 (NEC), table 690.7(A), crystalline panels";

/// Where a panel's short-circuit current comes from.
pub const SHORT_SOURCE: &str =
    "current in proportion to light; +0.04 to +0.06 % per °C, from memory: panel data sheets";

/// The lowest °C of each band and the factor on open volts, warmest first.
const COLD_FACTORS: [(f64, f64); 13] = [
    (20.0, 1.02),
    (15.0, 1.04),
    (10.0, 1.06),
    (5.0, 1.08),
    (0.0, 1.10),
    (-5.0, 1.12),
    (-10.0, 1.14),
    (-15.0, 1.16),
    (-20.0, 1.18),
    (-25.0, 1.20),
    (-30.0, 1.21),
    (-35.0, 1.23),
    (-40.0, 1.25),
];

/// Most open volts of any crystalline panel on the coldest day: plate · factor of the band of 5 °C.
///
/// Plate 1 to 100 V, lowest −40 °C to 24 °C.
///
/// # Errors
/// A value outside its range.
pub fn coldest_volts(plate_volts: f64, lowest: f64) -> Result<f64, OutOfRange> {
    let v = within("the volts on the plate", plate_volts, Unit::Volt, 1.0, 100.0)?;
    let t = within("the lowest temperature", lowest, Unit::Celsius, -40.0, 24.0)?;
    let factor = COLD_FACTORS.iter().find(|(least, _)| t >= *least);
    Ok(v * factor.map_or(f64::NAN, |(_, factor)| *factor))
}

/// Short-circuit current in A of a panel: plate · irradiance/1000 · (1 + 0.05 %/°C · (cells − 25)).
///
/// Plate 0.01 to 30 A, 10 to 1400 W/m², cells −40 °C to 90 °C.
///
/// # Errors
/// A value outside its range (the irradiance is named by its number of W/m²).
pub fn short_amps(plate_amps: f64, irradiance: f64, cell: f64) -> Result<f64, OutOfRange> {
    let i = within("the amps on the plate", plate_amps, Unit::Ampere, 0.01, 30.0)?;
    let g = within("the irradiance in W/m²", irradiance, Unit::One, 10.0, 1400.0)?;
    let t = within("the cells' temperature", cell, Unit::Celsius, -40.0, 90.0)?;
    Ok(i * g / 1000.0 * (1.0 + 0.000_5 * (t - 25.0)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Worked by hand: 50 mA at 12 V is 14.4 Wh a day, sixteen cycles of 4 A for 15 s 3.2 Wh; at 1.5 sun hours and 65 %
    /// that takes 18.1 W. Ten watts fail in winter and are ample at 5 sun hours.
    #[test]
    fn a_small_gate_in_winter() {
        let load = load_watt_hours(12.0, 0.050, 16.0, 4.0, 15.0).unwrap();
        close(load, 17.6, 0.005);
        close(panel_watts(load, 1.5, 65.0, 0.0).unwrap(), 18.05, 0.01);
        assert!(balance(10.0, 1.5, load, 65.0, 0.0).unwrap() < 0.0);
        assert!(balance(10.0, 5.0, load, 65.0, 0.0).unwrap() > 0.0);
        close(balance(18.051_282, 1.5, load, 65.0, 0.0).unwrap(), 0.0, 1e-5);
        assert!(balance(18.1, 1.5, load, 65.0, 50.0).unwrap() < 0.0);
        assert!(panel_watts(load, 9.0, 65.0, 0.0).is_err(), "no place has 9 sun hours");
    }

    /// Only the two darkest months of these run the battery down.
    #[test]
    fn a_year_by_month() {
        let hours = [1.6, 2.4, 3.4, 4.2, 4.8, 5.2, 5.4, 4.8, 3.8, 2.7, 1.8, 1.3];
        let months = balance_by_month(15.0, &hours, 17.6, 65.0, 0.0).unwrap();
        let short: Vec<usize> = (0..12).filter(|m| months[*m] < 0.0).collect();
        assert_eq!(
            short,
            [0, 10, 11]
                .iter()
                .copied()
                .filter(|m| hours[*m] * 15.0 * 0.65 < 17.6)
                .collect::<Vec<_>>()
        );
        close(months[11], 15.0 * 1.3 * 0.65 - 17.6, 1e-9);
    }

    /// Worked by hand: five days of 17.6 Wh at 12 V, half usable, 80 % left in the cold: 18.3 Ah.
    #[test]
    fn days_without_sun() {
        close(battery_ampere_hours(17.6, 5.0, 12.0, 50.0, 80.0).unwrap(), 18.33, 0.01);
    }

    /// NOCT 45 °C, 25 °C, 1000 W/m²: 56.25 °C; an open solar library's model of the same panel gives 56.1 °C.
    #[test]
    fn a_panel_in_full_sun() {
        close(cell_celsius(25.0, 1000.0, 45.0).unwrap(), 56.1, 2.0);
        close(cell_celsius(20.0, 800.0, 45.0).unwrap(), 45.0, 1e-9);
    }

    /// From memory, NEC table 690.7(A): 1.02 from 24 to 20 °C, 1.06 from 14 °C, 1.10 from 4 °C, 1.14 from −6 °C, 1.18 from −16 °C,
    /// 1.23 from −31 to −35 °C. They are enough for the steepest printed coefficient, −0.36 % per °C, down to −20 °C.
    #[test]
    fn the_coldest_day() {
        for (lowest, factor) in [
            (24.0, 1.02),
            (14.0, 1.06),
            (4.0, 1.10),
            (-6.0, 1.14),
            (-10.0, 1.14),
            (-16.0, 1.18),
            (-35.0, 1.23),
        ] {
            close(coldest_volts(20.0, lowest).unwrap(), 20.0 * factor, 1e-9);
            if lowest > -20.0 {
                assert!(coldest_volts(20.0, lowest).unwrap() >= panel_volts(20.0, lowest, -0.36).unwrap());
            }
        }
        assert!(coldest_volts(20.0, -50.0).is_err());
    }

    /// Worked by hand: 0.62 A with cells at 65 °C are 0.632 A, half as much in half the light.
    #[test]
    fn short_circuit_current() {
        close(short_amps(0.62, 1000.0, 65.0).unwrap(), 0.632, 0.0005);
        close(short_amps(0.62, 500.0, 25.0).unwrap(), 0.31, 1e-9);
        assert!(short_amps(0.62, 0.0, 25.0).is_err());
    }

    /// Worked by hand: 21.6 V open is 23.87 V at −10 °C and 19.01 V at 65 °C. From memory, NEC table 690.7(A): 1.14 times at
    /// −6 °C to −10 °C, which is meant to be enough for any panel.
    #[test]
    fn volts_rise_in_the_cold() {
        close(panel_volts(21.6, -10.0, -0.30).unwrap(), 23.87, 0.005);
        close(panel_volts(21.6, 65.0, -0.30).unwrap(), 19.01, 0.005);
        assert!(panel_volts(21.6, -10.0, -0.30).unwrap() / 21.6 < 1.14);
        close(panel_volts(17.6, 65.0, -0.40).unwrap(), 14.78, 0.005);
    }
}
