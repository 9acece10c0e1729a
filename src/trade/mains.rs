//! Mains at the outlet, the small transformer, its rectified volts, ripple, fuse, and the earth-leakage device.
//!
//! Anything behind a receptacle, junction or breaker cover is a licensed electrician's. No function here says that a metal part
//! is safe to touch: a low reading in dry weather does not clear a report of a tingle.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where [`Band`] comes from.
pub const BAND_SOURCE: &str = "from memory: ANSI C84.1 (ranges A and B), IEC 60038 (230 V, 10 % either way); a power-quality page has the same 5 % and +6/-13 %";
/// Where the fall under load is judged from.
pub const SAG_SOURCE: &str = "NFPA 70 (NEC) 215.2(A), informational note, 5 % for feeder and branch together, as trade articles report it; advice, no rule";
/// Where the rectified volts come from.
pub const RECTIFIED_SOURCE: &str = "circuit theory: peak of a sine, less two diodes of 0.7 V";
/// Where the figures of small supplies come from.
pub const SUPPLY_HABIT: &str = "common practice";
/// Where the limit of a small transformer comes from.
pub const CLASS_2_SOURCE: &str =
    "the transformer's plate; from memory, NFPA 70 (NEC) chapter 9, table 11: class 2 is at most 30 V and 100 VA";
/// Where the time to trip comes from.
pub const TRIP_SOURCE: &str = "UL 943, class A, as four trade and maker's pages report it";

/// In which band a reading lies, by nominal volts of 120, or as many to the hundred of 240.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Band {
    /// As it should be at the service and at the outlet.
    Good,
    /// Within what an outlet may have, low for the service.
    OutletOnly,
    /// Within what is borne for short times.
    ShortTimes,
    /// Beyond all of them.
    Outside,
}

impl Band {
    /// Of a reading at 120 or 240 V nominal (114 to 126, 108 to 126, 104 to 127 V on 120), or at 220 to 235 V (10 % either
    /// way).
    ///
    /// Nominal 100 to 480 V, reading 0 to 600 V.
    ///
    /// # Errors
    /// A value outside its range.
    pub fn of(nominal: f64, reading: f64) -> Result<Self, OutOfRange> {
        let off = off_nominal_percent(nominal, reading)?;
        if european(nominal) {
            return Ok(if off.abs() <= 10.0 { Self::Good } else { Self::Outside });
        }
        Ok(match 1.2 * (100.0 + off) {
            v if (114.0..=126.0).contains(&v) => Self::Good,
            v if (108.0..=126.0).contains(&v) => Self::OutletOnly,
            v if (104.0..=127.0).contains(&v) => Self::ShortTimes,
            _ => Self::Outside,
        })
    }

    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Good => "as it should be",
            Self::OutletOnly => "within what an outlet may have (range A); read it again with the charger on",
            Self::ShortTimes => {
                "only within what is borne for short times (range B): find the drop, or tell the supplier"
            }
            Self::Outside => "outside every range: leave it off, a licensed electrician or the supplier",
        }
    }
}

fn european(nominal: f64) -> bool {
    (220.0..=235.0).contains(&nominal)
}

/// Least and most volts at an outlet: 90 to 105 % of nominal in North America (range A), 90 to 110 % at 220 to 235 V.
#[must_use]
pub fn outlet_limits(nominal: f64) -> (f64, f64) {
    (0.9 * nominal, if european(nominal) { 1.1 } else { 1.05 } * nominal)
}

/// By how many percent a reading lies above nominal, negative below.
///
/// Nominal 100 to 480 V, reading 0 to 600 V.
///
/// # Errors
/// A value outside its range.
pub fn off_nominal_percent(nominal: f64, reading: f64) -> Result<f64, OutOfRange> {
    let named = within("the nominal volts", nominal, Unit::Volt, 100.0, 480.0)?;
    Ok(100.0 * (within("the reading", reading, Unit::Volt, 0.0, 600.0)? / named - 1.0))
}

/// Share in percent that volts fall when a load comes on.
///
/// 1 to 600 V without it, from 0 to that with it.
///
/// # Errors
/// A value outside its range.
pub fn sag_percent(unloaded: f64, loaded: f64) -> Result<f64, OutOfRange> {
    let high = within("the volts without the load", unloaded, Unit::Volt, 1.0, 600.0)?;
    Ok(100.0 * (1.0 - within("the volts with the load", loaded, Unit::Volt, 0.0, high)? / high))
}

/// Direct volts of a bridge rectifier with its capacitor and no load: √2 · V − 1.4.
///
/// 5 to 60 V of alternating current.
///
/// # Errors
/// Volts outside that range.
pub fn rectified_volts(alternating: f64) -> Result<f64, OutOfRange> {
    let v = within("the alternating volts", alternating, Unit::Volt, 5.0, 60.0)?;
    Ok(std::f64::consts::SQRT_2 * v - 1.4)
}

/// By how many percent an unloaded transformer lies above its plate.
///
/// Plate 5 to 60 V, reading 0 to 100 V.
///
/// # Errors
/// A value outside its range.
pub fn over_plate_percent(plate: f64, reading: f64) -> Result<f64, OutOfRange> {
    let printed = within("the volts on the plate", plate, Unit::Volt, 5.0, 60.0)?;
    Ok(100.0 * (within("the reading", reading, Unit::Volt, 0.0, 100.0)? / printed - 1.0))
}

/// Volt-amperes of a load: V · I.
///
/// 1 to 60 V, 0 to 20 A.
///
/// # Errors
/// A value outside its range.
pub fn volt_amperes(volts: f64, amps: f64) -> Result<f64, OutOfRange> {
    Ok(within("the volts", volts, Unit::Volt, 1.0, 60.0)? * within("the current", amps, Unit::Ampere, 0.0, 20.0)?)
}

/// Ripple in percent: alternating volts on a direct supply over its direct volts.
///
/// 0 to 60 V of ripple on 1 to 60 V.
///
/// # Errors
/// A value outside its range.
pub fn ripple_percent(alternating: f64, direct: f64) -> Result<f64, OutOfRange> {
    let ripple = within("the alternating volts", alternating, Unit::Volt, 0.0, 60.0)?;
    Ok(100.0 * ripple / within("the direct volts", direct, Unit::Volt, 1.0, 60.0)?)
}

/// Share in percent of the supply that stands across a fuse.
///
/// Supply 5 to 60 V, across it from 0 to the supply.
///
/// # Errors
/// A value outside its range.
pub fn fuse_percent(across: f64, supply: f64) -> Result<f64, OutOfRange> {
    let volts = within("the supply", supply, Unit::Volt, 5.0, 60.0)?;
    Ok(100.0 * within("the volts across the fuse", across, Unit::Volt, 0.0, volts)? / volts)
}

/// Longest time in s that a class A earth-leakage device (GFCI) takes to trip at `amps` of leakage: (20/I)^1.43, I in mA.
///
/// 6 to 264 mA. Under 4 mA it does not trip, from 6 mA it must.
///
/// # Errors
/// A current outside that range.
pub fn trip_seconds(amps: f64) -> Result<f64, OutOfRange> {
    let leak = within("the leakage", amps, Unit::Ampere, 0.006, 0.264)?;
    Ok((0.020 / leak).powf(1.43))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// From memory, ANSI C84.1: 117 V good, 110 V at the outlet only, 105 V and 127 V range B, 103 V out; 240 V alike. From
    /// memory, IEC 60038: 207 to 253 V.
    #[test]
    fn bands() {
        for (nominal, reading, band) in [
            (120.0, 117.0, Band::Good),
            (120.0, 126.0, Band::Good),
            (120.0, 110.0, Band::OutletOnly),
            (120.0, 105.0, Band::ShortTimes),
            (120.0, 103.0, Band::Outside),
            (240.0, 228.5, Band::Good),
            (240.0, 217.0, Band::OutletOnly),
            (240.0, 209.0, Band::ShortTimes),
            (240.0, 256.0, Band::Outside),
            (230.0, 208.0, Band::Good),
            (230.0, 252.0, Band::Good),
            (230.0, 206.0, Band::Outside),
        ] {
            assert_eq!(Band::of(nominal, reading).unwrap(), band, "{nominal} {reading}");
        }
        close(outlet_limits(120.0).0, 108.0, 1e-9);
        close(outlet_limits(230.0).1, 253.0, 1e-9);
        assert!(Band::of(12.0, 12.0).is_err());
    }

    /// Worked by hand: 121 V that fall to 95 V lose 21.5 %.
    #[test]
    fn a_bad_joint_shows_under_load() {
        close(sag_percent(121.0, 95.0).unwrap(), 21.5, 0.05);
        assert!(sag_percent(95.0, 121.0).is_err());
    }

    /// Worked by hand: 18 V are 24.1 V rectified; 20.8 V open on a plate of 18 V are 15.6 % over it.
    #[test]
    fn a_small_transformer() {
        close(rectified_volts(18.0).unwrap(), 24.1, 0.05);
        close(over_plate_percent(18.0, 20.8).unwrap(), 15.6, 0.05);
        close(volt_amperes(24.0, 2.0).unwrap(), 48.0, 1e-9);
        close(ripple_percent(0.6, 12.0).unwrap(), 5.0, 1e-9);
        close(fuse_percent(12.0, 12.0).unwrap(), 100.0, 1e-9);
        assert!(fuse_percent(13.0, 12.0).is_err());
    }

    /// UL 943's formula: 5.59 s at 6 mA, 2.69 s at 10 mA, 1 s at 20 mA, 0.560 s at 30 mA, 0.100 s at 100 mA.
    #[test]
    fn an_earth_leakage_device() {
        for (milliamps, seconds) in [(6.0, 5.59), (10.0, 2.69), (20.0, 1.0), (30.0, 0.560), (100.0, 0.100)] {
            close(trip_seconds(milliamps / 1000.0).unwrap(), seconds, 0.005);
        }
        assert!(trip_seconds(0.004).is_err());
    }
}
