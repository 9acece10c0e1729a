//! What a meter does to a reading: its own error, the load it puts on, ghost volts, the ohms of its leads.

use super::{OutOfRange, within};
use crate::quantity::{MeterClass, Unit};

/// Where the form of a meter's accuracy comes from.
pub const ACCURACY_SOURCE: &str = "the form of meter data sheets, ±(percent of reading + counts of the last digit)";
/// Where loading comes from.
pub const LOADING_SOURCE: &str = "voltage divider, circuit theory; 10 MΩ is the usual input of a digital meter";
/// Where ghost volts come from.
pub const GHOST_SOURCE: &str =
    "common practice: a ghost falls to near nothing when it is loaded, a supply hardly falls";
/// Where clamps and meters in series are judged from.
pub const CURRENT_SOURCE: &str =
    "common practice: a dc clamp of 2 % + 5 counts; a meter in series takes 0.2 to 2 V at the end of its range";
/// Where the ohms of leads come from.
pub const LEADS_SOURCE: &str = "meter literature: 0.2 to 0.5 Ω normal, over 1 Ω replace the leads";

/// Largest error of a reading in its own unit: percent of it + counts · last digit.
///
/// Reading −2000 to 2000, percent 0 to 20, counts 0 to 100, digit 0 to 10.
///
/// # Errors
/// A value outside its range.
pub fn error(reading: f64, percent: f64, counts: f64, digit: f64) -> Result<f64, OutOfRange> {
    let class = MeterClass {
        percent: within("the percent of the reading", percent, Unit::Percent, 0.0, 20.0)?,
        counts: within("the counts", counts, Unit::One, 0.0, 100.0)?,
        digit: within("the last digit", digit, Unit::Volt, 0.0, 10.0)?,
    };
    Ok(class.limit(within("the reading", reading, Unit::Volt, -2000.0, 2000.0)?))
}

/// Largest error in A of a clamp's reading: percent of it + counts · last digit.
///
/// Reading −1000 to 1000 A, percent 0 to 20, counts 0 to 100, digit 0 to 10 A.
///
/// # Errors
/// A value outside its range.
pub fn clamp_error(reading: f64, percent: f64, counts: f64, digit: f64) -> Result<f64, OutOfRange> {
    let class = MeterClass {
        percent: within("the percent of the reading", percent, Unit::Percent, 0.0, 20.0)?,
        counts: within("the counts", counts, Unit::One, 0.0, 100.0)?,
        digit: within("the last digit", digit, Unit::Ampere, 0.0, 10.0)?,
    };
    Ok(class.limit(within("the reading", reading, Unit::Ampere, -1000.0, 1000.0)?))
}

/// Share in percent of the supply that a meter in series takes for itself: 100 · burden/supply.
///
/// Burden 0 to 5 V, supply 1 to 60 V.
///
/// # Errors
/// A value outside its range.
pub fn burden_percent(burden: f64, supply: f64) -> Result<f64, OutOfRange> {
    let lost = within("the meter's burden", burden, Unit::Volt, 0.0, 5.0)?;
    Ok(100.0 * lost / within("the supply", supply, Unit::Volt, 1.0, 60.0)?)
}

/// Volts that a meter of `input` ohms shows of `volts` behind `source` ohms: V · input/(input + source).
///
/// 0 to 1000 V, source 0 to 1 GΩ, meter 1 kΩ to 1 GΩ.
///
/// # Errors
/// A value outside its range.
pub fn shown_volts(volts: f64, source: f64, input: f64) -> Result<f64, OutOfRange> {
    let v = within("the true volts", volts, Unit::Volt, 0.0, 1000.0)?;
    let behind = within("the ohms behind them", source, Unit::Ohm, 0.0, 1e9)?;
    let meter = within("the meter's input", input, Unit::Ohm, 1e3, 1e9)?;
    Ok(v * meter / (meter + behind))
}

/// Share in percent of its volts that a wire keeps when it is loaded (low-impedance mode, or a small lamp).
///
/// 0.1 to 1000 V unloaded, from 0 to that loaded.
///
/// # Errors
/// A value outside its range.
pub fn kept_percent(unloaded: f64, loaded: f64) -> Result<f64, OutOfRange> {
    let high = within("the unloaded volts", unloaded, Unit::Volt, 0.1, 1000.0)?;
    Ok(100.0 * within("the loaded volts", loaded, Unit::Volt, 0.0, high)? / high)
}

/// Ohms behind a pair of wires from what two meters show of it: (V1 − V2)/(V2/R2 − V1/R1).
///
/// Volts as [`kept_percent`] with the loaded ones above 0.001, meters 1 kΩ to 1 GΩ, the first the higher.
///
/// # Errors
/// A value outside its range, or two readings that no source behind one resistance gives.
pub fn source_ohms(high_volts: f64, high_input: f64, low_volts: f64, low_input: f64) -> Result<f64, OutOfRange> {
    let v1 = within(
        "the volts on the high-impedance meter",
        high_volts,
        Unit::Volt,
        0.1,
        1000.0,
    )?;
    let v2 = within("the volts on the low-impedance meter", low_volts, Unit::Volt, 0.001, v1)?;
    let r1 = within("the high-impedance input", high_input, Unit::Ohm, 1e3, 1e9)?;
    let r2 = within("the low-impedance input", low_input, Unit::Ohm, 1e3, r1)?;
    let more = within(
        "the current that the low-impedance meter draws more",
        v2 / r2 - v1 / r1,
        Unit::Ampere,
        1e-12,
        1.0,
    )?;
    Ok((v1 - v2) / more)
}

/// Ohms of what is measured: reading − leads.
///
/// Reading 0 to 1000 Ω, leads 0 Ω to the reading.
///
/// # Errors
/// A value outside its range.
pub fn true_ohms(reading: f64, leads: f64) -> Result<f64, OutOfRange> {
    let read = within("the reading", reading, Unit::Ohm, 0.0, 1000.0)?;
    Ok(read - within("the leads held together", leads, Unit::Ohm, 0.0, read.min(20.0))?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// The example printed in explanations of accuracy: ±(1 % + 2) at 100.0 V is 98.8 V to 101.2 V. By hand: (0.5 % + 2) at
    /// 12.34 V is 0.082 V.
    #[test]
    fn accuracy() {
        close(error(100.0, 1.0, 2.0, 0.1).unwrap(), 1.2, 1e-9);
        close(error(12.34, 0.5, 2.0, 0.01).unwrap(), 0.082, 0.0005);
        assert!(error(12.0, -1.0, 2.0, 0.01).is_err());
    }

    /// Worked by hand: a clamp of (2 % + 5) at 4.00 A, last digit 0.01 A, is 0.13 A off; half a volt of 12 V is 4 %.
    #[test]
    fn current() {
        close(clamp_error(4.0, 2.0, 5.0, 0.01).unwrap(), 0.13, 1e-9);
        close(burden_percent(0.5, 12.0).unwrap(), 4.17, 0.005);
        assert!(burden_percent(0.5, 0.0).is_err());
    }

    /// Circuit theory: 10 MΩ behind 10 MΩ shows half; two meters give the ohms back.
    #[test]
    fn a_ghost_behind_megohms() {
        let high = shown_volts(100.0, 1e7, 1e7).unwrap();
        let low = shown_volts(100.0, 1e7, 4e5).unwrap();
        close(high, 50.0, 1e-9);
        close(low, 3.846, 0.001);
        close(source_ohms(high, 1e7, low, 4e5).unwrap(), 1e7, 1.0);
        assert!(source_ohms(50.0, 1e7, 50.0, 1e7).is_err());
    }

    /// Common practice: 20 V on a dead pair fall to 0.3 V with a lamp on, which keeps 1.5 %.
    #[test]
    fn a_ghost_falls_when_loaded() {
        close(kept_percent(20.0, 0.3).unwrap(), 1.5, 1e-9);
        assert!(kept_percent(20.0, 25.0).is_err());
    }

    /// Worked by hand: 0.9 Ω with leads of 0.4 Ω are 0.5 Ω.
    #[test]
    fn leads_are_taken_off() {
        close(true_ohms(0.9, 0.4).unwrap(), 0.5, 1e-12);
        assert!(true_ohms(0.3, 0.4).is_err());
    }
}
