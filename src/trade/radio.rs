//! A remote and its receiver: loss on the way, margin, aerial length, loss in cable.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Speed of light, m/s, exact.
const LIGHT: f64 = 299_792_458.0;

/// Where free-space loss comes from.
pub const FREE_SPACE_SOURCE: &str = "ITU-R P.525";
/// Where loss near the ground comes from.
pub const GROUND_SOURCE: &str = "ITU-R P.525; beyond the crossover the two-ray model of radio textbooks";
/// Where the length of an aerial comes from.
pub const AERIAL_SOURCE: &str = "the wavelength in air; cut to 95 % of it, common practice";
/// Where the loss of cable comes from.
pub const COAX_SOURCE: &str =
    "from memory: small 50 Ω cable loses 0.2 to 0.3 dB/m at 433 MHz, rising as the root of frequency";

/// Where the volts of a remote's cell are judged from.
pub const CELL_SOURCE: &str = "common practice; end volts of such cells from memory: IEC 60086-2";

/// Loss in dB over `metres` of free space at `megahertz`: 20 log(4π d f/c).
///
/// 1 to 10 000 MHz, 1 to 100 000 m. Near the ground it is more: [`ground_loss`].
///
/// # Errors
/// A value outside its range.
pub fn free_space_loss(megahertz: f64, metres: f64) -> Result<f64, OutOfRange> {
    let f = within("the frequency", megahertz, Unit::Megahertz, 1.0, 10_000.0)? * 1e6;
    let d = within("the distance", metres, Unit::Metre, 1.0, 100_000.0)?;
    Ok(20.0 * (4.0 * std::f64::consts::PI * d * f / LIGHT).log10())
}

/// Loss in dB between two aerials near the ground: the larger of free space and 40 log d − 20 log(h1 · h2), which takes over
/// beyond 4 h1 h2/λ.
///
/// Heights 0.3 to 30 m; the rest as [`free_space_loss`].
///
/// # Errors
/// A value outside its range.
pub fn ground_loss(megahertz: f64, metres: f64, one_height: f64, other_height: f64) -> Result<f64, OutOfRange> {
    let free = free_space_loss(megahertz, metres)?;
    let h1 = within("the height of the remote", one_height, Unit::Metre, 0.3, 30.0)?;
    let h2 = within("the height of the aerial", other_height, Unit::Metre, 0.3, 30.0)?;
    let crossover = 4.0 * h1 * h2 * megahertz * 1e6 / LIGHT;
    if metres < crossover {
        return Ok(free);
    }
    Ok(free.max(40.0 * metres.log10() - 20.0 * (h1 * h2).log10()))
}

/// dB that are left over: power − loss − obstacles − what the receiver needs.
///
/// Power −40 to 30 dBm, loss 0 to 200 dB, obstacles 0 to 100 dB, receiver −130 to −50 dBm.
///
/// # Errors
/// A value outside its range.
pub fn margin(power: f64, loss: f64, obstacles: f64, receiver: f64) -> Result<f64, OutOfRange> {
    let sent = within("the power", power, Unit::DecibelMilliwatt, -40.0, 30.0)?;
    let way = within("the loss on the way", loss, Unit::Decibel, 0.0, 200.0)?;
    let walls = within("the obstacles", obstacles, Unit::Decibel, 0.0, 100.0)?;
    let needs = within(
        "what the receiver needs",
        receiver,
        Unit::DecibelMilliwatt,
        -130.0,
        -50.0,
    )?;
    Ok(sent - way - walls - needs)
}

/// Share in percent of its range that is left when `decibels` are lost: 10^(−dB/20) in free space, 10^(−dB/40) near the
/// ground, where loss grows with the fourth power of distance.
///
/// 0 to 60 dB.
///
/// # Errors
/// A loss outside that range.
pub fn range_left(decibels: f64, near_ground: bool) -> Result<f64, OutOfRange> {
    let lost = within("the loss", decibels, Unit::Decibel, 0.0, 60.0)?;
    Ok(100.0 * 10.0_f64.powf(-lost / if near_ground { 40.0 } else { 20.0 }))
}

/// Quarter of a wavelength in mm, times `percent`: 100 % in air, 95 % where a wire is cut.
///
/// 20 to 6000 MHz, 60 to 100 %.
///
/// # Errors
/// A value outside its range.
pub fn quarter_wave(megahertz: f64, percent: f64) -> Result<f64, OutOfRange> {
    let f = within("the frequency", megahertz, Unit::Megahertz, 20.0, 6000.0)? * 1e6;
    let share = within("the share of the length in air", percent, Unit::Percent, 60.0, 100.0)? / 100.0;
    Ok(LIGHT / f / 4.0 * 1000.0 * share)
}

/// dB lost in `metres` of small 50 Ω cable: 0.25 dB per metre at 433 MHz, times √(f/433). Give or take a fifth.
///
/// 0 to 100 m, 20 to 1000 MHz. A bad connector costs more than the cable.
///
/// # Errors
/// A value outside its range.
pub fn coax_loss(metres: f64, megahertz: f64) -> Result<f64, OutOfRange> {
    let length = within("the cable", metres, Unit::Metre, 0.0, 100.0)?;
    let f = within("the frequency", megahertz, Unit::Megahertz, 20.0, 1000.0)?;
    Ok(0.25 * length * (f / 433.0).sqrt())
}

/// Volts of a remote's cell under load in percent of what is printed.
///
/// Printed 1.2 to 12 V, reading 0 to 15 V.
///
/// # Errors
/// A value outside its range.
pub fn cell_percent(nominal: f64, loaded: f64) -> Result<f64, OutOfRange> {
    let printed = within("the volts on the cell", nominal, Unit::Volt, 1.2, 12.0)?;
    Ok(100.0 * within("the volts under load", loaded, Unit::Volt, 0.0, 15.0)? / printed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Printed example of ITU-R P.525: 1 GHz, 1 km is 92.45 dB. Doubling the distance or the frequency adds 6.02 dB.
    #[test]
    fn free_space() {
        close(free_space_loss(1000.0, 1000.0).unwrap(), 92.448, 0.001);
        for (f, d, loss) in [
            (300.0, 10.0, 42.0),
            (315.0, 100.0, 62.4),
            (433.92, 50.0, 59.2),
            (868.3, 150.0, 74.7),
        ] {
            close(free_space_loss(f, d).unwrap(), loss, 0.1);
        }
        let more = free_space_loss(433.92, 80.0).unwrap() - free_space_loss(433.92, 40.0).unwrap();
        close(more, 6.02, 0.005);
    }

    /// Worked by hand: 433.92 MHz, 100 m, 1 m and 2 m high: 74.0 dB, 8.8 dB more than free space; a metre higher gains 6 dB.
    #[test]
    fn near_the_ground() {
        let low = ground_loss(433.92, 100.0, 1.0, 2.0).unwrap();
        close(low, 74.0, 0.05);
        close(low - free_space_loss(433.92, 100.0).unwrap(), 8.8, 0.05);
        close(ground_loss(433.92, 100.0, 1.0, 1.0).unwrap() - low, 6.02, 0.005);
        close(
            ground_loss(433.92, 5.0, 1.0, 2.0).unwrap(),
            free_space_loss(433.92, 5.0).unwrap(),
            1e-9,
        );
    }

    /// Worked by hand: −14.4 dBm, 59.2 dB, a receiver of −105 dBm: 31.4 dB, 16.4 dB behind 15 dB of wall. Three dB less leave
    /// 71 % of the range in free space and 84 % near the ground.
    #[test]
    fn what_is_left() {
        close(margin(-14.4, 59.2, 0.0, -105.0).unwrap(), 31.4, 1e-9);
        close(margin(-14.4, 59.2, 15.0, -105.0).unwrap(), 16.4, 1e-9);
        close(range_left(3.0, false).unwrap(), 71.0, 0.5);
        close(range_left(3.0, true).unwrap(), 84.0, 0.5);
    }

    /// Wavelengths worked by hand: 300 MHz 249.8 mm, 433.92 MHz 172.7 mm, cut to 237 and 164 mm.
    #[test]
    fn aerials() {
        for (f, air, cut) in [
            (300.0, 249.8, 237.0),
            (315.0, 237.9, 226.0),
            (433.92, 172.7, 164.0),
            (915.0, 81.9, 78.0),
        ] {
            close(quarter_wave(f, 100.0).unwrap(), air, 0.05);
            close(quarter_wave(f, 95.0).unwrap(), cut, 0.5);
        }
    }

    /// Common practice: 2.5 V of 3 V and 10 V of 12 V are where a cell is changed, 2.8 V of 3 V is good.
    #[test]
    fn cells_of_remotes() {
        for (nominal, volts, percent) in [(3.0, 2.5, 83.3), (12.0, 10.0, 83.3), (3.0, 2.8, 93.3)] {
            close(cell_percent(nominal, volts).unwrap(), percent, 0.05);
        }
        assert!(cell_percent(24.0, 20.0).is_err());
    }

    /// From memory: five metres at 433 MHz lose 1 to 1.5 dB.
    #[test]
    fn cable() {
        assert!((1.0..=1.5).contains(&coax_loss(5.0, 433.0).unwrap()));
        assert!(coax_loss(-1.0, 433.0).is_err());
    }
}
