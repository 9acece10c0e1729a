//! A lead-acid battery under load: internal resistance, sag, blocks that differ, the load test, the hydrometer.

use super::{OutOfRange, interpolated, within};
use crate::quantity::Unit;

/// Where [`internal_ohms`] and [`sagged_volts`] come from.
pub const OHMS_SOURCE: &str = "Ohm's law over two loads; criterion from memory: IEEE 1188";

/// Where [`LOAD_TABLE`] comes from.
pub const LOAD_SOURCE: &str = "load-test tables of vehicle service literature";

/// Lowest volts of a 12 V block after 15 s at half its cold-cranking amps by °F, coldest first. Service literature prints
/// another table that agrees down to 10 °F and has 8.0 V at 0 °F.
pub const LOAD_TABLE: [(f64, f64); 6] = [
    (0.0, 8.5),
    (20.0, 8.9),
    (40.0, 9.3),
    (50.0, 9.4),
    (60.0, 9.5),
    (70.0, 9.6),
];

/// Ohms inside a battery from its volts at two currents: (V1 − V2)/(I2 − I1).
///
/// Volts 0 to 60, currents 0 to 500 A, the second at least 0.1 A more than the first.
///
/// # Errors
/// A value outside its range.
pub fn internal_ohms(light_volts: f64, light_amps: f64, heavy_volts: f64, heavy_amps: f64) -> Result<f64, OutOfRange> {
    let v1 = within("the volts at the light load", light_volts, Unit::Volt, 0.0, 60.0)?;
    let v2 = within("the volts at the heavy load", heavy_volts, Unit::Volt, 0.0, v1)?;
    let i1 = within("the light load", light_amps, Unit::Ampere, 0.0, 499.0)?;
    let i2 = within("the heavy load", heavy_amps, Unit::Ampere, i1 + 0.1, 500.0)?;
    Ok((v1 - v2) / (i2 - i1))
}

/// Volts at the posts under load: rested volts − amps · ohms inside.
///
/// Volts 0 to 60, current 0 to 500 A, ohms 0 to 5.
///
/// # Errors
/// A value outside its range.
pub fn sagged_volts(rested: f64, amps: f64, ohms: f64) -> Result<f64, OutOfRange> {
    let v = within("the rested volts", rested, Unit::Volt, 0.0, 60.0)?;
    let i = within("the current", amps, Unit::Ampere, 0.0, 500.0)?;
    let r = within("the ohms inside", ohms, Unit::Ohm, 0.0, 5.0)?;
    Ok(v - i * r)
}

/// By how many volts two blocks of a string differ.
///
/// 0 to 16 V each.
///
/// # Errors
/// Volts outside that range.
pub fn imbalance(one: f64, other: f64) -> Result<f64, OutOfRange> {
    let a = within("the volts of one block", one, Unit::Volt, 0.0, 16.0)?;
    let b = within("the volts of the other block", other, Unit::Volt, 0.0, 16.0)?;
    Ok((a - b).abs())
}

/// Most volts by which two sound blocks differ: at rest after a full charge 0.1 V (6 V blocks) or 0.2 V (12 V), with a
/// load on 0.25 V or 0.5 V. Common practice; the 6 V figure under load is half of the 12 V one.
#[must_use]
pub fn imbalance_allowed(block_volts: f64, amps: f64) -> f64 {
    let of_twelve = if amps > 0.5 { 0.5 } else { 0.2 };
    of_twelve * if block_volts < 9.0 { 0.5 } else { 1.0 }
}

/// Lowest volts of a sound 12 V block after 15 s at half its cold-cranking amps (three times its ampere-hours where none
/// are printed), straight lines between the rows of [`LOAD_TABLE`]. The block must be charged to 75 % or more first.
///
/// −18 °C to 50 °C; from 21 °C on 9.6 V.
///
/// # Errors
/// A temperature outside that range.
pub fn load_test_volts(celsius: f64) -> Result<f64, OutOfRange> {
    let t = within("the battery's temperature", celsius, Unit::Celsius, -18.0, 50.0)?;
    Ok(interpolated(&LOAD_TABLE, Unit::Celsius.express(t, Unit::Fahrenheit)))
}

/// Specific gravity brought to 80 °F (27 °C): 0.004 more for each 10 °F above it, 0.004 less for each 10 °F below.
///
/// Read 1.000 to 1.350, −20 °C to 55 °C.
///
/// # Errors
/// A value outside its range.
pub fn gravity_corrected(read: f64, celsius: f64) -> Result<f64, OutOfRange> {
    let gravity = within("the hydrometer's reading", read, Unit::One, 1.0, 1.35)?;
    let t = within("the acid's temperature", celsius, Unit::Celsius, -20.0, 55.0)?;
    Ok(gravity + 0.000_4 * (Unit::Celsius.express(t, Unit::Fahrenheit) - 80.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Worked by hand: 12.60 V at 0.1 A and 11.40 V at 8.1 A are 0.150 ohm, and give the volts back.
    #[test]
    fn two_loads_give_the_ohms_inside() {
        let ohms = internal_ohms(12.60, 0.1, 11.40, 8.1).unwrap();
        close(ohms, 0.150, 1e-9);
        close(sagged_volts(12.615, 8.1, ohms).unwrap(), 11.40, 1e-9);
        assert!(internal_ohms(12.6, 8.0, 12.6, 8.0).is_err(), "one load twice");
        assert!(internal_ohms(11.4, 0.1, 12.6, 8.1).is_err(), "volts rise under load");
    }

    /// A pair of 6 V blocks, one with a dead cell: 6.35 V and 4.2 V.
    #[test]
    fn a_dead_cell_stands_out() {
        let apart = imbalance(6.35, 4.2).unwrap();
        close(apart, 2.15, 1e-9);
        assert!(apart > imbalance_allowed(6.0, 0.0));
        close(imbalance_allowed(12.0, 0.0), 0.2, 1e-9);
        close(imbalance_allowed(12.0, 10.0), 0.5, 1e-9);
    }

    /// Rows of the service tables: 9.6 V from 70 °F, 9.4 V at 50 °F, 8.5 V at 0 °F; the other table has 8.8 V at 14 °F.
    #[test]
    fn load_test_by_temperature() {
        for (fahrenheit, volts) in [
            (70.0, 9.6),
            (100.0, 9.6),
            (50.0, 9.4),
            (30.0, 9.1),
            (0.0, 8.5),
            (14.0, 8.8),
        ] {
            let t = Unit::Fahrenheit.express(fahrenheit, Unit::Celsius);
            close(load_test_volts(t).unwrap(), volts, 0.03);
        }
        assert!(load_test_volts(-30.0).is_err());
    }

    /// Rows of a hydrometer table: 100 °F +0.008, 80 °F 0, 70 °F −0.004, 50 °F −0.012.
    #[test]
    fn hydrometer_by_temperature() {
        for (fahrenheit, more) in [(100.0, 0.008), (80.0, 0.0), (70.0, -0.004), (50.0, -0.012)] {
            let t = Unit::Fahrenheit.express(fahrenheit, Unit::Celsius);
            close(gravity_corrected(1.250, t).unwrap() - 1.250, more, 1e-9);
        }
    }
}
