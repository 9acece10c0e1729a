//! Lead-acid batteries: charge from rested volts, and charging volts against temperature.
//!
//! Nothing here holds for lithium batteries, whose volts are nearly flat and which must not be charged below freezing.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where [`REST_TABLE`] comes from.
pub const REST_SOURCE: &str =
    "from memory: battery industry council's table for flooded 12 V blocks at 25 °C; published tables differ by 0.1 V";

/// Where the float limits come from.
pub const FLOAT_SOURCE: &str =
    "from memory: IEEE 1188 and IEEE 450 practice, volts per cell at 25 °C and -3 to -5 mV per °C";

/// Rested volts of a flooded 12 V block at 25 °C and its charge in percent.
///
/// Rest at least four hours, better eight or more, with nothing charging and nothing drawing.
pub const REST_TABLE: [(f64, f64); 5] = [
    (11.89, 0.0),
    (12.06, 25.0),
    (12.24, 50.0),
    (12.45, 75.0),
    (12.65, 100.0),
];

/// The temperature at which float volts are stated, °C.
const REFERENCE: f64 = 25.0;

/// Which lead-acid battery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Sealed: absorbed mat or gel.
    Sealed,
    /// Flooded: with caps and liquid.
    Flooded,
}

/// Charge in percent of a flooded 12 V block from its rested volts, straight lines between the rows of [`REST_TABLE`].
///
/// 0 to 13.2 V; 0 % below the table and 100 % above it. Give or take 10 points even with a perfect meter. Above
/// 13.2 V the block is not at rest but on charge, or just off it.
///
/// # Errors
/// Volts outside that range.
pub fn charge_percent(volts: f64) -> Result<f64, OutOfRange> {
    let v = within("the rested volts of a 12 V block", volts, Unit::Volt, 0.0, 13.2)?;
    Ok(super::interpolated(&REST_TABLE, v))
}

/// Charge in percent from volts rested at `celsius`: the volts are brought to 25 °C by 0.2 mV per °C and cell first (from
/// memory: battery handbooks), which is at most 0.07 V and less than the table's own spread.
///
/// As [`charge_percent`], −30 °C to 50 °C.
///
/// # Errors
/// Volts or temperature outside their range.
pub fn charge_percent_at(volts: f64, celsius: f64) -> Result<f64, OutOfRange> {
    let v = within("the rested volts of a 12 V block", volts, Unit::Volt, 0.0, 13.2)?;
    let t = within("the battery's temperature", celsius, Unit::Celsius, -30.0, 50.0)?;
    charge_percent((v - 6.0 * 0.000_2 * (t - REFERENCE)).clamp(0.0, 13.2))
}

/// Volts at `celsius` of a battery of `cells` that has `volts_at_25` at 25 °C: V25 + cells · k · (T − 25).
///
/// `millivolts_per_degree` is k for one cell, negative (−3 to −5). 1 to 24 cells, −30 °C to 50 °C.
///
/// # Errors
/// Cells or temperature outside their range.
pub fn compensated(volts_at_25: f64, cells: f64, millivolts_per_degree: f64, celsius: f64) -> Result<f64, OutOfRange> {
    let n = within("the number of cells", cells, Unit::One, 1.0, 24.0)?;
    let t = within("the battery's temperature", celsius, Unit::Celsius, -30.0, 50.0)?;
    Ok(volts_at_25 + n * millivolts_per_degree / 1000.0 * (t - REFERENCE))
}

/// Least and most volts that a healthy float charge can hold: per cell 2.23 to 2.30 V sealed, 2.17 to 2.25 V flooded
/// at 25 °C, each end with the coefficient (−3 or −5 mV per °C and cell) that makes the band widest.
///
/// 1 to 24 cells, −30 °C to 50 °C.
///
/// # Errors
/// Cells or temperature outside their range.
pub fn float_limits(cells: f64, celsius: f64, kind: Kind) -> Result<(f64, f64), OutOfRange> {
    let (least, most) = match kind {
        Kind::Sealed => (2.23, 2.30),
        Kind::Flooded => (2.17, 2.25),
    };
    let (gentle, steep) = (-3.0, -5.0);
    let (for_least, for_most) = if celsius < REFERENCE {
        (gentle, steep)
    } else {
        (steep, gentle)
    };
    Ok((
        compensated(least * cells, cells, for_least, celsius)?,
        compensated(most * cells, cells, for_most, celsius)?,
    ))
}

/// Float volts to expect of a sealed battery: 2.275 V per cell at 25 °C, −4 mV per °C and cell, the usual setting
/// in the middle of [`float_limits`].
///
/// 1 to 24 cells, −30 °C to 50 °C.
///
/// # Errors
/// Cells or temperature outside their range.
pub fn float_volts(cells: f64, celsius: f64) -> Result<f64, OutOfRange> {
    compensated(2.275 * cells, cells, -4.0, celsius)
}

/// Volts to expect while a sealed battery is charged hard, before float: 2.435 V per cell at 25 °C, −4 mV per °C and cell,
/// the middle of [`absorption_limits`].
///
/// 1 to 24 cells, −30 °C to 50 °C.
///
/// # Errors
/// Cells or temperature outside their range.
pub fn absorption_volts(cells: f64, celsius: f64) -> Result<f64, OutOfRange> {
    compensated(2.435 * cells, cells, -4.0, celsius)
}

/// Least and most volts while a battery is charged hard: per cell 2.40 to 2.47 V sealed, 2.40 to 2.50 V flooded at 25 °C (from
/// memory: IEEE 1188 and IEEE 450 practice), each end with the coefficient that makes the band widest.
///
/// 1 to 24 cells, −30 °C to 50 °C.
///
/// # Errors
/// Cells or temperature outside their range.
pub fn absorption_limits(cells: f64, celsius: f64, kind: Kind) -> Result<(f64, f64), OutOfRange> {
    let most = match kind {
        Kind::Sealed => 2.47,
        Kind::Flooded => 2.50,
    };
    let (for_least, for_most) = if celsius < REFERENCE {
        (-3.0, -5.0)
    } else {
        (-5.0, -3.0)
    };
    Ok((
        compensated(2.40 * cells, cells, for_least, celsius)?,
        compensated(most * cells, cells, for_most, celsius)?,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Per 12 V block at 25 °C while charged hard: 14.4 to 14.8 V sealed, to 15.0 V flooded, from memory: IEEE 1188 and IEEE 450
    /// practice.
    #[test]
    fn charged_hard() {
        let (low, high) = absorption_limits(6.0, 25.0, Kind::Sealed).unwrap();
        close(low, 14.4, 0.01);
        close(high, 14.8, 0.03);
        close(absorption_limits(6.0, 25.0, Kind::Flooded).unwrap().1, 15.0, 1e-9);
        close(absorption_volts(6.0, 25.0).unwrap(), 14.61, 1e-9);
    }

    /// 50 °C away from the reference is worth 0.06 V: 12.45 V at −25 °C count as 12.51 V.
    #[test]
    fn temperature_hardly_matters_at_rest() {
        close(charge_percent_at(12.45, 25.0).unwrap(), 75.0, 1e-9);
        close(
            charge_percent_at(12.45, -25.0).unwrap(),
            charge_percent(12.51).unwrap(),
            1e-9,
        );
        assert!(charge_percent_at(13.65, 20.0).is_err() && charge_percent_at(12.4, 90.0).is_err());
    }

    /// Values interpolated by hand in the council's table: 12.40 V is 69 %, 12.20 V 44 %, 12.00 V 16 %.
    #[test]
    fn charge_from_rested_volts() {
        for (volts, percent) in [(12.40, 69.0), (12.20, 44.0), (12.00, 16.0)] {
            close(charge_percent(volts).unwrap(), percent, 0.6);
        }
        for (volts, percent) in REST_TABLE {
            close(charge_percent(volts).unwrap(), percent, 1e-9);
        }
        close(charge_percent(4.0).unwrap(), 0.0, 0.0);
        close(charge_percent(12.9).unwrap(), 100.0, 0.0);
        assert!(charge_percent(13.65).is_err());
        assert!(charge_percent(f64::NAN).is_err());
    }

    /// A meter of ±(0.5 % + 2) at 12.34 V leaves 12.26 V to 12.42 V, which is 52 % to 71 % of charge.
    #[test]
    fn a_meter_leaves_ten_points_either_way() {
        close(charge_percent(12.34 - 0.0817).unwrap(), 52.0, 1.0);
        close(charge_percent(12.34 + 0.0817).unwrap(), 71.0, 1.0);
    }

    /// 13.65 V at 25 °C with −4 mV per °C and cell is 14.49 V at −10 °C for six cells.
    #[test]
    fn float_rises_in_the_cold() {
        close(compensated(13.65, 6.0, -4.0, -10.0).unwrap(), 14.49, 1e-9);
        close(float_volts(6.0, -10.0).unwrap(), 14.49, 1e-9);
        close(float_volts(12.0, 25.0).unwrap(), 27.3, 1e-9);
        assert!(float_volts(6.0, 80.0).is_err());
    }

    /// Per 12 V block at 25 °C: 13.4 to 13.8 V sealed, 13.0 to 13.5 V flooded.
    #[test]
    fn float_limits_at_the_reference() {
        let (low, high) = float_limits(6.0, 25.0, Kind::Sealed).unwrap();
        close(low, 13.38, 1e-9);
        close(high, 13.80, 1e-9);
        let (low, high) = float_limits(6.0, 25.0, Kind::Flooded).unwrap();
        close(low, 13.02, 1e-9);
        close(high, 13.50, 1e-9);
        for t in [-30.0, 0.0, 40.0, 50.0] {
            let (low, high) = float_limits(6.0, t, Kind::Sealed).unwrap();
            let middle = float_volts(6.0, t).unwrap();
            assert!(low < middle && middle < high, "{t}: {low} {middle} {high}");
        }
    }
}
