//! What the acid, the cold and the years say of a lead-acid battery: charge by gravity, freezing, capacity, life, is it charging.
//!
//! Nothing here holds for lithium batteries.

use super::{OutOfRange, interpolated, within};
use crate::quantity::Unit;

/// Where [`AGM_TABLE`] comes from.
pub const AGM_SOURCE: &str = "from memory: middle of published tables for absorbed mat at 25 °C; a vehicle service manual's steps of 12.8, 12.6, 12.3 and 12.0 V agree within 0.05 V";
/// Where [`GRAVITY_TABLE`] comes from.
pub const GRAVITY_SOURCE: &str =
    "from memory: battery industry council's table; a battery maker's page has the same rows, give or take 0.010";
/// Where the volts of a cell by its acid come from.
pub const CELL_SOURCE: &str =
    "from memory: battery handbooks, volts of a cell = gravity + 0.845; a training page has + 0.84";
/// Where [`FREEZING_TABLE`] comes from.
pub const FREEZING_SOURCE: &str =
    "freezing points of acid as a vehicle service manual prints them, with the battery industry council's gravities";
/// Where the halving of life comes from.
pub const LIFE_SOURCE: &str =
    "from memory: IEEE 1188 practice, life halves for each 10 °C above 25 °C; trade pages say the same";
/// Where the capacity that condemns comes from.
pub const CAPACITY_SOURCE: &str = "from memory: IEEE 450 and IEEE 1188 (80 % of rated)";
/// Where the conductance that condemns comes from.
pub const CONDUCTANCE_SOURCE: &str = "from memory: IEEE 1188, ohms 30 to 50 % above the battery's own baseline; 60 to 70 % of its conductance is the same";
/// Where the spread of gravity comes from.
pub const SPREAD_SOURCE: &str = "US Army TM 9-6140-200-14";
/// Where the end of discharge comes from.
pub const END_SOURCE: &str =
    "from memory: 1.75 V per cell ends a 20 h discharge; cut-offs of 11.0 to 11.6 V per 12 V are common practice";
/// Where the load of the load test comes from.
pub const LOAD_SOURCE: &str = "load-test tables of vehicle service literature";
/// Where the rise of volts on charge comes from.
pub const RISE_SOURCE: &str = "common practice";

/// Rested volts of a 12 V block of absorbed mat at 25 °C and its charge in percent.
pub const AGM_TABLE: [(f64, f64); 5] = [
    (11.80, 0.0),
    (12.025, 25.0),
    (12.275, 50.0),
    (12.575, 75.0),
    (12.85, 100.0),
];

/// Specific gravity at 25 °C and charge in percent.
pub const GRAVITY_TABLE: [(f64, f64); 5] = [
    (1.120, 0.0),
    (1.155, 25.0),
    (1.190, 50.0),
    (1.225, 75.0),
    (1.265, 100.0),
];

/// Specific gravity and the °F at which the acid freezes.
pub const FREEZING_TABLE: [(f64, f64); 6] = [
    (1.050, 27.0),
    (1.100, 18.0),
    (1.150, 5.0),
    (1.200, -17.0),
    (1.225, -35.0),
    (1.265, -75.0),
];

/// Charge in percent of a 12 V block of absorbed mat (AGM) from its rested volts, straight lines between the rows of
/// [`AGM_TABLE`].
///
/// 0 to 13.2 V; give or take 10 points, and more just after charging.
///
/// # Errors
/// Volts outside that range.
pub fn agm_charge_percent(volts: f64) -> Result<f64, OutOfRange> {
    let v = within("the rested volts of a 12 V block", volts, Unit::Volt, 0.0, 13.2)?;
    Ok(interpolated(&AGM_TABLE, v))
}

/// Charge in percent of a flooded cell from its specific gravity brought to temperature, straight lines between the rows of
/// [`GRAVITY_TABLE`].
///
/// 1.000 to 1.350.
///
/// # Errors
/// A gravity outside that range.
pub fn gravity_charge_percent(gravity: f64) -> Result<f64, OutOfRange> {
    Ok(interpolated(
        &GRAVITY_TABLE,
        within("the specific gravity", gravity, Unit::One, 1.0, 1.35)?,
    ))
}

/// Rested volts of `cells` cells whose acid has that specific gravity: cells · (gravity + 0.845).
///
/// 1.000 to 1.350, 1 to 24 cells.
///
/// # Errors
/// A value outside its range.
pub fn gravity_volts(gravity: f64, cells: f64) -> Result<f64, OutOfRange> {
    let acid = within("the specific gravity", gravity, Unit::One, 1.0, 1.35)?;
    Ok(within("the number of cells", cells, Unit::One, 1.0, 24.0)? * (acid + 0.845))
}

/// Temperature in °C at which the acid of a battery at `percent` of charge freezes.
///
/// 0 to 100 %. Give or take 12 °C: a page prints −9 °C at 40 % where this has −21 °C, and a battery drained flat for long
/// freezes near 0 °C. A frozen battery is never charged.
///
/// # Errors
/// A charge outside that range.
pub fn freezing_celsius(percent: f64) -> Result<f64, OutOfRange> {
    let charge = within("the charge", percent, Unit::Percent, 0.0, 100.0)?;
    let by_charge = GRAVITY_TABLE.map(|(gravity, full)| (full, gravity));
    let gravity = interpolated(&by_charge, charge);
    Ok(Unit::Fahrenheit.express(interpolated(&FREEZING_TABLE, gravity), Unit::Celsius))
}

/// Share in percent of its life at 25 °C that a battery lives at a mean of `celsius`: 100 · 2^(−(T − 25)/10).
///
/// 25 °C to 60 °C.
///
/// # Errors
/// A temperature outside that range.
pub fn life_percent(celsius: f64) -> Result<f64, OutOfRange> {
    let t = within("the battery's mean temperature", celsius, Unit::Celsius, 25.0, 60.0)?;
    Ok(100.0 * 2.0_f64.powf(-(t - 25.0) / 10.0))
}

/// Capacity in percent of the printed ampere-hours from a discharge to 1.75 V per cell: 100 · amps · hours/Ah.
///
/// 0.01 to 500 A, 0.05 to 100 h, 1 to 1000 Ah. Near the printed rate (a twentieth of the ampere-hours); faster gives less.
///
/// # Errors
/// A value outside its range.
pub fn capacity_percent(amps: f64, hours: f64, ampere_hours: f64) -> Result<f64, OutOfRange> {
    let i = within("the current", amps, Unit::Ampere, 0.01, 500.0)?;
    let t = within("the time that it lasted", hours, Unit::Hour, 0.05, 100.0)?;
    let rated = within("the printed ampere-hours", ampere_hours, Unit::AmpereHour, 1.0, 1000.0)?;
    Ok(100.0 * i * t / rated)
}

/// Conductance in percent of what the same battery had when new; the tester's own unit does not matter.
///
/// 0 to 100 000 now, 1 to 100 000 when new.
///
/// # Errors
/// A value outside its range.
pub fn conductance_percent(now: f64, new: f64) -> Result<f64, OutOfRange> {
    let reading = within("the conductance", now, Unit::One, 0.0, 100_000.0)?;
    Ok(100.0 * reading / within("the conductance when new", new, Unit::One, 1.0, 100_000.0)?)
}

/// By how much the best and the worst cell of a flooded battery differ in specific gravity.
///
/// 1.000 to 1.350, the worst no more than the best.
///
/// # Errors
/// A value outside its range.
pub fn gravity_spread(best: f64, worst: f64) -> Result<f64, OutOfRange> {
    let high = within("the best cell", best, Unit::One, 1.0, 1.35)?;
    Ok(high - within("the worst cell", worst, Unit::One, 1.0, high)?)
}

/// Volts under load at which a battery of `cells` is empty: 1.75 V per cell.
///
/// 1 to 24 cells.
///
/// # Errors
/// Cells outside that range.
pub fn end_volts(cells: f64) -> Result<f64, OutOfRange> {
    Ok(1.75 * within("the number of cells", cells, Unit::One, 1.0, 24.0)?)
}

/// Current in A of a 15 s load test: half the cold-cranking amps, or three times the ampere-hours where none are printed (0).
///
/// 1 to 1000 Ah, 0 to 2000 cranking amps.
///
/// # Errors
/// A value outside its range.
pub fn load_test_amps(ampere_hours: f64, cranking: f64) -> Result<f64, OutOfRange> {
    let rated = within("the printed ampere-hours", ampere_hours, Unit::AmpereHour, 1.0, 1000.0)?;
    let cold = within("the cold-cranking amps", cranking, Unit::Ampere, 0.0, 2000.0)?;
    Ok(if cold > 0.0 { cold / 2.0 } else { 3.0 * rated })
}

/// By how many volts the posts rose after the charger was plugged in, or the sun came out; negative where they fell.
///
/// 0 to 60 V each.
///
/// # Errors
/// Volts outside that range.
pub fn charge_rise(before: f64, after: f64) -> Result<f64, OutOfRange> {
    let first = within("the volts before", before, Unit::Volt, 0.0, 60.0)?;
    Ok(within("the volts after", after, Unit::Volt, 0.0, 60.0)? - first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// The rows, and a service manual's steps: 12.8 V nearly full, 12.6 V three quarters, 12.3 V half, 12.0 V a quarter.
    #[test]
    fn absorbed_mat() {
        for (volts, percent) in [(12.8, 95.0), (12.6, 77.0), (12.3, 52.0), (12.0, 22.0)] {
            close(agm_charge_percent(volts).unwrap(), percent, 1.0);
        }
        assert!(agm_charge_percent(13.65).is_err());
    }

    /// A battery maker's page: 1.255 to 1.275 full, 1.215 to 1.235 three quarters, 1.180 to 1.200 half, 1.155 to 1.165 a
    /// quarter, 1.110 to 1.130 flat.
    #[test]
    fn charge_by_gravity() {
        for (low, high, percent) in [
            (1.255, 1.275, 100.0),
            (1.215, 1.235, 75.0),
            (1.180, 1.200, 50.0),
            (1.155, 1.165, 25.0),
            (1.110, 1.130, 0.0),
        ] {
            let middle = f64::midpoint(low, high);
            close(gravity_charge_percent(middle).unwrap(), percent, 4.0);
        }
        assert!(gravity_charge_percent(0.9).is_err());
    }

    /// Worked by hand: 1.265 is 12.66 V, 1.190 is 12.21 V. The table of rested volts has 12.65 V and 12.24 V.
    #[test]
    fn volts_by_gravity() {
        close(gravity_volts(1.265, 6.0).unwrap(), 12.66, 1e-9);
        close(gravity_volts(1.190, 6.0).unwrap(), 12.21, 1e-9);
        for ((volts, _), (gravity, _)) in super::super::batteries::REST_TABLE.iter().zip(GRAVITY_TABLE) {
            close(gravity_volts(gravity, 6.0).unwrap(), *volts, 0.11);
        }
    }

    /// Trade pages: flat −10 °C to 0 °C, full below −50 °C; a service manual: 1.150 freezes at 5 °F, which is −15 °C.
    #[test]
    fn freezing_by_charge() {
        assert!((-11.0..=0.0).contains(&freezing_celsius(0.0).unwrap()));
        assert!(freezing_celsius(100.0).unwrap() < -50.0);
        close(
            freezing_celsius(gravity_charge_percent(1.150).unwrap()).unwrap(),
            -15.0,
            0.1,
        );
        assert!(freezing_celsius(-1.0).is_err());
        // The page that prints −9 °C at 40 % lies within the spread that is told.
        close(freezing_celsius(40.0).unwrap(), -9.0, 12.5);
    }

    /// Halved at 35 °C, a quarter at 45 °C.
    #[test]
    fn heat_shortens_life() {
        close(life_percent(35.0).unwrap(), 50.0, 1e-9);
        close(life_percent(45.0).unwrap(), 25.0, 1e-9);
        assert!(life_percent(10.0).is_err());
    }

    /// Worked by hand: 0.35 A for 14 h out of 7 Ah are 70 %; 0.030 from cell to cell is over 0.025; six cells end at 10.5 V.
    #[test]
    fn what_condemns_a_battery() {
        close(capacity_percent(0.35, 14.0, 7.0).unwrap(), 70.0, 1e-9);
        close(gravity_spread(1.260, 1.230).unwrap(), 0.030, 1e-9);
        assert!(gravity_spread(1.230, 1.260).is_err());
        close(end_volts(6.0).unwrap(), 10.5, 1e-9);
        // Half as many ohms again is two thirds of the conductance.
        close(conductance_percent(400.0, 600.0).unwrap(), 100.0 / 1.5, 1e-9);
    }

    /// Service literature: half of 500 cranking amps are 250 A, and three times 35 Ah 105 A.
    #[test]
    fn the_load_of_the_load_test() {
        close(load_test_amps(35.0, 500.0).unwrap(), 250.0, 1e-9);
        close(load_test_amps(35.0, 0.0).unwrap(), 105.0, 1e-9);
    }

    #[test]
    fn a_charger_lifts_the_volts() {
        close(charge_rise(12.2, 12.9).unwrap(), 0.7, 1e-9);
        close(charge_rise(12.9, 12.2).unwrap(), -0.7, 1e-9);
        assert!(charge_rise(12.2, f64::NAN).is_err());
    }
}
