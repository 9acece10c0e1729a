//! Where the sun stands and what it brings by latitude and month: height at noon, shadows, sun hours.
//!
//! R. G. Allen and others, *FAO Irrigation and Drainage Paper 56*, 1998, equations 21 to 25 (extraterrestrial radiation,
//! declination, day length). Tilted panels, from memory: Liu and Jordan's isotropic sky and Page's diffuse share, as in
//! Duffie and Beckman, *Solar Engineering of Thermal Processes*, chapter 2.

use super::{OutOfRange, within};
use crate::quantity::Unit;
use std::f64::consts::{PI, TAU};

/// Where the relations come from.
pub const SOURCE: &str =
    "FAO Irrigation and Drainage Paper 56, 1998, equations 21 to 25; tilted panels from memory: Liu and Jordan, Page";

/// The day that stands for each month, January first: the one whose sun is the month's mean (from memory: Klein, 1977).
const MEAN_DAYS: [f64; 12] = [
    17.0, 47.0, 75.0, 105.0, 135.0, 162.0, 198.0, 228.0, 258.0, 288.0, 318.0, 344.0,
];

/// Share of the light that the ground throws back: grass and gravel, common practice.
const GROUND: f64 = 0.2;

/// The sun of one day at one latitude, angles in radians.
#[derive(Clone, Copy, Debug)]
struct Sun {
    latitude: f64,
    declination: f64,
    /// Hour angle at which it sets.
    sets: f64,
    day: f64,
}

impl Sun {
    fn on(latitude_degrees: f64, day: f64) -> Result<Self, OutOfRange> {
        let latitude = within("the latitude", latitude_degrees, Unit::Degree, -60.0, 60.0)?.to_radians();
        let day = within("the day of the year", day, Unit::One, 1.0, 366.0)?;
        let declination = 0.409 * (TAU / 365.0 * day - 1.39).sin();
        let sets = (-latitude.tan() * declination.tan()).clamp(-1.0, 1.0).acos();
        Ok(Self {
            latitude,
            declination,
            sets,
            day,
        })
    }

    /// Sunlight above the air on level ground, kWh/m² a day (FAO 56, equation 21).
    fn above_the_air(self) -> f64 {
        let distance = 1.0 + 0.033 * (TAU / 365.0 * self.day).cos();
        let solar_constant = 1.367;
        24.0 / PI * solar_constant * distance * self.on_tilt(0.0)
    }

    /// Sum over the day of the height of the sun over a panel tilted to the equator by `tilt` radians.
    fn on_tilt(self, tilt: f64) -> f64 {
        // A panel tilted to the equator by β lies as level ground does β nearer to it.
        let toward = if self.latitude < 0.0 { tilt } else { -tilt };
        let seen = self.latitude + toward;
        let until = (-seen.tan() * self.declination.tan())
            .clamp(-1.0, 1.0)
            .acos()
            .min(self.sets);
        until * seen.sin() * self.declination.sin() + seen.cos() * self.declination.cos() * until.sin()
    }
}

fn day_of(month: f64) -> Result<f64, OutOfRange> {
    let wanted = within("the month", month, Unit::One, 1.0, 12.0)?.round();
    let days = MEAN_DAYS.iter().enumerate();
    Ok(days.fold(
        MEAN_DAYS[0],
        |found, (i, day)| if i as f64 + 1.0 <= wanted { *day } else { found },
    ))
}

/// Height of the sun at noon in degrees: 90 − |latitude − declination|.
///
/// Latitude −60° to 60°, south negative, month 1 to 12.
///
/// # Errors
/// A value outside its range.
pub fn noon_height(latitude: f64, month: f64) -> Result<f64, OutOfRange> {
    let sun = Sun::on(latitude, day_of(month)?)?;
    Ok(90.0 - (sun.latitude - sun.declination).abs().to_degrees())
}

/// Where the tilt for winter comes from.
pub const TILT_SOURCE: &str = "common practice of stand-alone sizing";

/// Tilt in degrees of a panel for winter: latitude + 15, 90 at most.
///
/// Latitude −60° to 60°, south negative.
///
/// # Errors
/// A latitude outside that range.
pub fn winter_tilt(latitude: f64) -> Result<f64, OutOfRange> {
    Ok((within("the latitude", latitude, Unit::Degree, -60.0, 60.0)?.abs() + 15.0).min(90.0))
}

/// Hours from sunrise to sunset, the bend of light in the air left out (a few minutes).
///
/// Latitude and month as [`noon_height`].
///
/// # Errors
/// A value outside its range.
pub fn day_hours(latitude: f64, month: f64) -> Result<f64, OutOfRange> {
    Ok(24.0 / PI * Sun::on(latitude, day_of(month)?)?.sets)
}

/// Length at noon of the shadow that something `height` feet tall throws on level ground: height/tan(noon height).
///
/// 0 to 300 ft; latitude and month as [`noon_height`], the sun at least 3° high. Mornings and evenings it is longer.
///
/// # Errors
/// A value outside its range.
pub fn shadow(height: f64, latitude: f64, month: f64) -> Result<f64, OutOfRange> {
    let tall = within("the height of what throws it", height, Unit::Foot, 0.0, 300.0)?;
    let sun = within(
        "the sun at noon",
        noon_height(latitude, month)?,
        Unit::Degree,
        3.0,
        90.0,
    )?;
    Ok(tall / sun.to_radians().tan())
}

/// Sun hours of a day (kWh/m² on the panel) for a panel tilted to the equator.
///
/// Latitude −60° to 60°, month 1 to 12, tilt 0° to 90°, `clearness` 20 to 75 %: the share of the light above the air that
/// comes down on level ground; 30 % a dull month, 50 % a fair one, 65 % a clear one (common practice). Within 10 % of a
/// full model in clear weather; records of the place are better.
///
/// # Errors
/// A value outside its range.
pub fn sun_hours(latitude: f64, month: f64, tilt: f64, clearness: f64) -> Result<f64, OutOfRange> {
    let sun = Sun::on(latitude, day_of(month)?)?;
    let tilted = within("the tilt", tilt, Unit::Degree, 0.0, 90.0)?.to_radians();
    let clear = within("the clearness", clearness, Unit::Percent, 20.0, 75.0)? / 100.0;
    let level = sun.above_the_air() * clear;
    let diffuse = 1.0 - 1.13 * clear;
    let beam = (sun.on_tilt(tilted) / sun.on_tilt(0.0)).max(0.0);
    let sky = f64::midpoint(1.0, tilted.cos());
    let ground = GROUND * (1.0 - sky);
    Ok(level * ((1.0 - diffuse) * beam + diffuse * sky + ground))
}

/// Sun hours of a day in the worst month, by which a panel is sized.
///
/// As [`sun_hours`], the same clearness all year: dull winters are worse than this.
///
/// # Errors
/// A value outside its range.
pub fn worst_sun_hours(latitude: f64, tilt: f64, clearness: f64) -> Result<f64, OutOfRange> {
    let mut worst = f64::INFINITY;
    let mut month = 1.0;
    while month < 12.5 {
        worst = worst.min(sun_hours(latitude, month, tilt, clearness)?);
        month += 1.0;
    }
    Ok(worst)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// FAO 56, example 8: 20° S on 3 September (day 246) 32.2 MJ/m² a day above the air; example 9: 11.7 h of day.
    #[test]
    fn the_examples_of_fao_56() {
        let sun = Sun::on(-20.0, 246.0).unwrap();
        close(sun.above_the_air() * 3.6, 32.2, 0.1);
        close(sun.sets * 24.0 / PI, 11.7, 0.05);
    }

    /// Heights at noon of an open solar library: 40° N 26.6° on 21 December and 73.4° on 21 June; 47.5° N 19.1°. The mean
    /// days of the months lie within half a degree of these.
    #[test]
    fn the_sun_at_noon() {
        close(noon_height(40.0, 12.0).unwrap(), 26.6, 0.6);
        close(noon_height(40.0, 6.0).unwrap(), 73.4, 0.6);
        close(noon_height(47.5, 12.0).unwrap(), 19.1, 0.6);
        close(noon_height(-40.0, 6.0).unwrap(), 26.6, 0.6);
        close(
            shadow(10.0, 40.0, 12.0).unwrap(),
            10.0 / 26.9_f64.to_radians().tan(),
            0.3,
        );
        assert!(noon_height(80.0, 6.0).is_err() && noon_height(40.0, 13.0).is_err());
    }

    /// An open solar library: 40° N 9.3 h on 21 December, 47.5° N 8.5 h; its noon 41.6° high at 25° N.
    #[test]
    fn days_in_winter() {
        close(day_hours(40.0, 12.0).unwrap(), 9.3, 0.2);
        close(day_hours(47.5, 12.0).unwrap(), 8.5, 0.2);
        close(noon_height(25.0, 12.0).unwrap(), 41.6, 0.6);
        close(winter_tilt(40.0).unwrap(), 55.0, 1e-9);
        close(winter_tilt(-35.0).unwrap(), 50.0, 1e-9);
    }

    /// A full clear-sky model of an open solar library, 40° N: 21 December level 2.3, tilted 40° 4.6, tilted 55° 5.1; 21 June
    /// tilted 40° 7.3. Within 10 %, the clearness taken from the level figure.
    #[test]
    fn clear_days_on_a_tilted_panel() {
        for (tilt, hours) in [(0.0, 2.3), (40.0, 4.6), (55.0, 5.1)] {
            close(sun_hours(40.0, 12.0, tilt, 60.0).unwrap() / hours, 1.0, 0.10);
        }
        close(sun_hours(40.0, 6.0, 40.0, 72.0).unwrap() / 7.3, 1.0, 0.10);
        assert!(sun_hours(40.0, 12.0, 40.0, 90.0).is_err());
    }

    /// At 40° N December is worst, and a panel at 55° has more in it than one at 20°.
    #[test]
    fn the_worst_month() {
        let steep = worst_sun_hours(40.0, 55.0, 50.0).unwrap();
        close(steep, sun_hours(40.0, 12.0, 55.0, 50.0).unwrap(), 1e-9);
        assert!(steep > worst_sun_hours(40.0, 20.0, 50.0).unwrap());
        assert!(worst_sun_hours(80.0, 55.0, 50.0).is_err());
    }

    #[test]
    fn the_south_is_the_mirror_of_the_north() {
        let north = sun_hours(35.0, 12.0, 50.0, 50.0).unwrap();
        let south = sun_hours(-35.0, 6.0, 50.0, 50.0).unwrap();
        close(south / north, 1.0, 0.08);
    }
}
