//! Copper wire: resistance from the gauge number, volts lost in a run, the smallest gauge that will do.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where the relations below come from.
pub const SOURCE: &str = "from memory: ASTM B258 (gauge formula) and NBS Handbook 100 (copper, 100 % IACS)";

/// Where the gauges of [`smallest_gauge`] come from.
pub const GAUGE_SOURCE: &str = "from memory: ASTM B258, NBS Handbook 100, and NFPA 70 (NEC) 240.4(D) for what 18 to 10 AWG are fused for; thinner: common practice";

/// Copper at 20 °C, 100 % IACS, in ohms of a wire one circular mil thick and one foot long.
const OHM_CIRCULAR_MIL_PER_FOOT: f64 = 10.371;

/// Temperature coefficient of copper's resistance at 20 °C, per °C.
const PER_DEGREE: f64 = 0.003_93;

/// Diameter of a solid wire of gauge `awg` in mils (thousandths of an inch): 5 · 92^((36 − n)/39).
///
/// Gauges 0 to 40; gauges between whole numbers have a value but no wire.
///
/// # Errors
/// A gauge outside that range.
pub fn diameter_mils(awg: f64) -> Result<f64, OutOfRange> {
    let n = within("the wire gauge", awg, Unit::One, 0.0, 40.0)?;
    Ok(5.0 * 92.0_f64.powf((36.0 - n) / 39.0))
}

/// Ohms of 1000 ft of solid copper at `celsius`. Stranded wire has 2 to 2.5 % more.
///
/// Gauges 0 to 40, −40 °C to 90 °C; within 1 % of wire tables.
///
/// # Errors
/// A gauge or a temperature outside those ranges.
pub fn ohms_per_kft(awg: f64, celsius: f64) -> Result<f64, OutOfRange> {
    let d = diameter_mils(awg)?;
    let t = within("the wire's temperature", celsius, Unit::Celsius, -40.0, 90.0)?;
    Ok(OHM_CIRCULAR_MIL_PER_FOOT * 1000.0 / (d * d) * (1.0 + PER_DEGREE * (t - 20.0)))
}

/// Volts lost in a run of two conductors, there and back: 2 · length · current · ohms per foot.
///
/// `one_way_ft` 0 to 5000 ft, `amps` −200 to 200 A (the sign carries over). Judge a low-voltage run by the current at
/// which the motor starts.
///
/// # Errors
/// A value outside its range.
pub fn drop_volts(awg: f64, one_way_ft: f64, amps: f64, celsius: f64) -> Result<f64, OutOfRange> {
    let per_kft = ohms_per_kft(awg, celsius)?;
    let length = within("the length one way", one_way_ft, Unit::Foot, 0.0, 5000.0)?;
    let current = within("the current", amps, Unit::Ampere, -200.0, 200.0)?;
    Ok(2.0 * length * current * per_kft / 1000.0)
}

/// Ohms of one conductor, `feet` long.
///
/// 0 to 5000 ft; the rest as [`ohms_per_kft`].
///
/// # Errors
/// A value outside its range.
pub fn ohms(awg: f64, feet: f64, celsius: f64) -> Result<f64, OutOfRange> {
    let length = within("the length of wire", feet, Unit::Foot, 0.0, 5000.0)?;
    Ok(length * ohms_per_kft(awg, celsius)? / 1000.0)
}

/// The gauges that are sold, thin to thick, each with the most current that it is fused for in building wiring (from
/// memory: NFPA 70 (NEC) 240.4(D); 22 and 20 AWG are not in it, the ampere or three is common practice).
const SOLD: [(f64, f64); 7] = [
    (22.0, 1.0),
    (20.0, 3.0),
    (18.0, 7.0),
    (16.0, 10.0),
    (14.0, 15.0),
    (12.0, 20.0),
    (10.0, 30.0),
];

/// The thinnest wire of those sold, 22 to 10 AWG, that loses no more than `percent` of `volts` there and back and may be
/// fused for `amps`.
///
/// 1 to 5000 ft one way, 0.01 to 30 A, 5 to 250 V, 0.5 to 20 %, −40 °C to 90 °C. Judge a low-voltage run by the current
/// at which the motor starts. Mains wiring is a licensed electrician's.
///
/// # Errors
/// A value outside its range, or a run on which 10 AWG still loses too much.
pub fn smallest_gauge(one_way_ft: f64, amps: f64, volts: f64, percent: f64, celsius: f64) -> Result<f64, OutOfRange> {
    let length = within("the length one way", one_way_ft, Unit::Foot, 1.0, 5000.0)?;
    let current = within("the current", amps, Unit::Ampere, 0.01, 30.0)?;
    let supply = within("the supply", volts, Unit::Volt, 5.0, 250.0)?;
    let allowed = supply / 100.0 * within("the share that may be lost", percent, Unit::Percent, 0.5, 20.0)?;
    let mut lost = f64::INFINITY;
    for (awg, fused) in SOLD {
        lost = drop_volts(awg, length, current, celsius)?;
        if lost <= allowed && current <= fused {
            return Ok(awg);
        }
    }
    within(
        "what 10 AWG, the thickest of these, loses",
        lost,
        Unit::Volt,
        0.0,
        allowed,
    )
}

/// Where [`splice_ohms`] and [`far_end_volts`] are judged from.
pub const RUN_HABIT: &str = "common practice";

/// Share in percent of `volts` that a run loses there and back; `more_percent` is what the wire has above solid copper (2 to 2.5
/// where it is stranded).
///
/// 0 to 200 A, 5 to 600 V, 0 to 10 % more; the rest as [`drop_volts`].
///
/// # Errors
/// A value outside its range.
pub fn lost_percent(
    awg: f64,
    one_way_ft: f64,
    amps: f64,
    volts: f64,
    celsius: f64,
    more_percent: f64,
) -> Result<f64, OutOfRange> {
    let current = within("the current", amps, Unit::Ampere, 0.0, 200.0)?;
    let supply = within("the supply", volts, Unit::Volt, 5.0, 600.0)?;
    let more = within(
        "what the wire has above solid copper",
        more_percent,
        Unit::Percent,
        0.0,
        10.0,
    )?;
    Ok(drop_volts(awg, one_way_ft, current, celsius)? * (1.0 + more / 100.0) / supply * 100.0)
}

/// Volts that arrive at the far end of a run: supply − drop there and back, solid copper.
///
/// 0 to 200 A, 5 to 600 V, no more lost than is there; the rest as [`drop_volts`].
///
/// # Errors
/// A value outside its range.
pub fn far_end_volts(awg: f64, one_way_ft: f64, amps: f64, volts: f64, celsius: f64) -> Result<f64, OutOfRange> {
    let current = within("the current", amps, Unit::Ampere, 0.0, 200.0)?;
    let supply = within("the supply", volts, Unit::Volt, 5.0, 600.0)?;
    let lost = drop_volts(awg, one_way_ft, current, celsius)?;
    Ok(supply - within("what the run loses", lost, Unit::Volt, 0.0, supply)?)
}

/// Ohms of a splice, terminal or contact from the volts across it while it works: V/I. An ohmmeter can't see so little.
///
/// 0 to 5 V, 0.1 to 200 A.
///
/// # Errors
/// A value outside its range.
pub fn splice_ohms(volts: f64, amps: f64) -> Result<f64, OutOfRange> {
    let across = within("the volts across the splice", volts, Unit::Volt, 0.0, 5.0)?;
    Ok(across / within("the current", amps, Unit::Ampere, 0.1, 200.0)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn within_share(got: f64, published: f64, share: f64) {
        assert!((got / published - 1.0).abs() <= share, "{got} against {published}");
    }

    /// Rows of the usual AWG table for copper at 20 °C (the values of NBS Handbook 100, 1966).
    #[test]
    fn wire_table_at_20_degrees() {
        for (awg, mils, ohms) in [
            (12.0, 80.81, 1.588),
            (16.0, 50.82, 4.016),
            (18.0, 40.30, 6.385),
            (22.0, 25.35, 16.14),
        ] {
            within_share(diameter_mils(awg).unwrap(), mils, 0.0005);
            within_share(ohms_per_kft(awg, 20.0).unwrap(), ohms, 0.001);
        }
    }

    /// Solid conductors at 75 °C, NFPA 70 (NEC) chapter 9, table 8.
    #[test]
    fn code_table_at_75_degrees() {
        for (awg, ohms) in [(10.0, 1.21), (12.0, 1.93), (16.0, 4.89), (18.0, 7.77)] {
            within_share(ohms_per_kft(awg, 75.0).unwrap(), ohms, 0.01);
        }
    }

    /// 24 V feed, 12 AWG, 100 ft, 10 A at 75 °C: 3.96 V by the code's stranded 1.98 ohms per 1000 ft; solid is 2 to 3 % less.
    #[test]
    fn a_long_feed() {
        let drop = drop_volts(12.0, 100.0, 10.0, 75.0).unwrap();
        within_share(drop, 3.96 / 1.025, 0.01);
        within_share(drop_volts(12.0, 100.0, 10.0, 20.0).unwrap(), 3.176, 0.001);
    }

    /// Stranded wire at 75 °C (from memory, NFPA 70 chapter 9, table 8: 1.98, 4.99, 1.24 and 7.95 ohms per 1000 ft) by hand:
    /// 16.5 % of 24 V, 31 % of 12 V, 2.5 % of 120 V, 6 % of 24 V.
    #[test]
    fn shares_of_the_supply() {
        for (awg, feet, amps, volts, percent) in [
            (12.0, 100.0, 10.0, 24.0, 16.5),
            (16.0, 250.0, 1.5, 12.0, 31.2),
            (10.0, 150.0, 8.0, 120.0, 2.48),
            (18.0, 300.0, 0.3, 24.0, 5.96),
        ] {
            within_share(lost_percent(awg, feet, amps, volts, 75.0, 2.3).unwrap(), percent, 0.01);
        }
    }

    /// Worked by hand from 7.95 ohms per 1000 ft: 400 ft of 18 AWG at 0.1 A leave 23.4 V of 24 V, at 0.5 A 20.8 V; solid
    /// wire leaves a little more.
    #[test]
    fn what_arrives_at_an_eye() {
        within_share(far_end_volts(18.0, 400.0, 0.1, 24.0, 75.0).unwrap(), 23.36, 0.002);
        within_share(far_end_volts(18.0, 400.0, 0.5, 24.0, 75.0).unwrap(), 20.82, 0.005);
        assert!(
            far_end_volts(22.0, 5000.0, 10.0, 24.0, 20.0).is_err(),
            "less than nothing"
        );
    }

    /// 0.1 ohm at 15 A is 1.5 V.
    #[test]
    fn a_bad_splice() {
        within_share(splice_ohms(1.5, 15.0).unwrap(), 0.1, 1e-9);
        assert!(splice_ohms(0.01, 0.0).is_err());
    }

    /// From memory, NFPA 70 chapter 9, table 8, note: R75 · (1 + 0.00323 · (T − 75)); at 20 °C about 82 % of the table.
    #[test]
    fn the_code_states_the_same_temperature_rule() {
        let at_75 = ohms_per_kft(14.0, 75.0).unwrap();
        for t in [-10.0, 20.0, 50.0] {
            within_share(
                ohms_per_kft(14.0, t).unwrap(),
                at_75 * (1.0 + 0.003_23 * (t - 75.0)),
                0.005,
            );
        }
        within_share(ohms_per_kft(14.0, 20.0).unwrap() / at_75, 0.82, 0.005);
    }

    /// A loop of 72 ft with two leads of 50 ft, 16 AWG at 20 °C: 172 ft at the table's 4.016 ohms per 1000 ft.
    #[test]
    fn a_loop_and_its_lead_in() {
        within_share(ohms(16.0, 172.0, 20.0).unwrap(), 0.69, 0.005);
    }

    /// Worked by hand from the table: 100 ft, 10 A and 3 % of 24 V allow 0.36 ohms per 1000 ft, thicker than 10 AWG; at 2 A
    /// they allow 1.8, which 12 AWG meets with 1.588 and 14 AWG does not with 2.525.
    #[test]
    fn the_smallest_that_will_do() {
        assert!((smallest_gauge(100.0, 2.0, 24.0, 3.0, 20.0).unwrap() - 12.0).abs() < 1e-9);
        let error = smallest_gauge(100.0, 10.0, 24.0, 3.0, 20.0).unwrap_err();
        assert_eq!(error.what, "what 10 AWG, the thickest of these, loses");
        // However short, 18 A is not fused on less than 12 AWG.
        assert!((smallest_gauge(1.0, 18.0, 120.0, 3.0, 20.0).unwrap() - 12.0).abs() < 1e-9);
    }

    #[test]
    fn out_of_range_says_what_and_how_far() {
        let err = drop_volts(12.0, 1e6, 1.0, 20.0).unwrap_err();
        assert_eq!(
            err.to_string(),
            "the length one way is 1000000 ft, and this holds from 0 ft to 5000 ft"
        );
        assert!(ohms_per_kft(99.0, 20.0).is_err());
        assert!(ohms_per_kft(f64::NAN, 20.0).is_err());
    }
}
