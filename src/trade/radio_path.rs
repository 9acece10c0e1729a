//! How far a remote reaches near the ground, what stands in the way, noise, and the power that it may have.

use super::{OutOfRange, radio, within};
use crate::quantity::Unit;
use std::f64::consts::PI;

/// Speed of light over a million: metres by megahertz.
const LIGHT_MEGA: f64 = 299.792_458;

/// Where the crossover and the reach come from.
pub const REACH_SOURCE: &str = "ITU-R P.525 near, the two-ray model of radio textbooks beyond: 40 log d";
/// Where the zone and the edge come from.
pub const EDGE_SOURCE: &str = "ITU-R P.526; an open radio library has the same zone and edge";
/// Where the noise comes from.
pub const NOISE_SOURCE: &str = "thermal noise at 17 °C, -174 dBm in each hertz";
/// Where the power of a remote comes from.
pub const POWER_SOURCE: &str = "47 CFR 15.231: field at 3 m of periodic transmitters from 260 to 470 MHz from memory, 5 s in stored copies of 2008 to 2021";

fn metres_of(megahertz: f64) -> Result<f64, OutOfRange> {
    Ok(LIGHT_MEGA / within("the frequency", megahertz, Unit::Megahertz, 20.0, 6000.0)?)
}

/// Distance in m from which the ground counts: 4 · h1 · h2/wavelength.
///
/// 20 to 6000 MHz, heights 0.3 to 30 m.
///
/// # Errors
/// A value outside its range.
pub fn crossover(megahertz: f64, one_height: f64, other_height: f64) -> Result<f64, OutOfRange> {
    let wave = metres_of(megahertz)?;
    let h1 = within("the height of the remote", one_height, Unit::Metre, 0.3, 30.0)?;
    let h2 = within("the height of the aerial", other_height, Unit::Metre, 0.3, 30.0)?;
    Ok(4.0 * h1 * h2 / wave)
}

/// Distance in m at which `decibels` are lost near the ground: the nearer of free space and 40 log d − 20 log(h1 · h2), the
/// other way about than [`radio::ground_loss`].
///
/// 20 to 160 dB; the rest as [`crossover`].
///
/// # Errors
/// A value outside its range.
pub fn reach(megahertz: f64, decibels: f64, one_height: f64, other_height: f64) -> Result<f64, OutOfRange> {
    let knee = crossover(megahertz, one_height, other_height)?;
    let budget = within("the loss that it bears", decibels, Unit::Decibel, 20.0, 160.0)?;
    let at_one_metre = radio::free_space_loss(megahertz, 1.0)?;
    let free = 10.0_f64.powf((budget - at_one_metre) / 20.0);
    if free < knee {
        return Ok(free);
    }
    let ground = 10.0_f64.powf((budget + 20.0 * (one_height * other_height).log10()) / 40.0);
    Ok(free.min(ground))
}

/// Radius in m of the first Fresnel zone: √(wavelength · d1 · d2/(d1 + d2)).
///
/// 20 to 6000 MHz, 0.5 to 10 000 m each way.
///
/// # Errors
/// A value outside its range.
pub fn fresnel_radius(megahertz: f64, to_remote: f64, to_aerial: f64) -> Result<f64, OutOfRange> {
    let wave = metres_of(megahertz)?;
    let (d1, d2) = ways(to_remote, to_aerial)?;
    Ok((wave * d1 * d2 / (d1 + d2)).sqrt())
}

fn ways(to_remote: f64, to_aerial: f64) -> Result<(f64, f64), OutOfRange> {
    Ok((
        within("the way to the remote", to_remote, Unit::Metre, 0.5, 10_000.0)?,
        within("the way to the aerial", to_aerial, Unit::Metre, 0.5, 10_000.0)?,
    ))
}

/// Loss in dB over an edge that stands `above` m over the straight line (negative below it):
/// ν = above · √(2/wavelength · (1/d1 + 1/d2)), 6.9 + 20 log(√((ν − 0.1)² + 1) + ν − 0.1), nothing up to ν = −0.78.
///
/// −50 to 50 m; the rest as [`fresnel_radius`].
///
/// # Errors
/// A value outside its range.
pub fn edge_loss(megahertz: f64, above: f64, to_remote: f64, to_aerial: f64) -> Result<f64, OutOfRange> {
    let wave = metres_of(megahertz)?;
    let (d1, d2) = ways(to_remote, to_aerial)?;
    let h = within("the height over the line", above, Unit::Metre, -50.0, 50.0)?;
    let v = h * (2.0 / wave * (1.0 / d1 + 1.0 / d2)).sqrt();
    if v <= -0.78 {
        return Ok(0.0);
    }
    let past = v - 0.1;
    Ok((6.9 + 20.0 * (past.hypot(1.0) + past).log10()).max(0.0))
}

/// Noise in dBm of a receiver: −174 + 10 log(bandwidth in Hz) + its noise figure.
///
/// 0.1 to 20 000 kHz, 0 to 30 dB.
///
/// # Errors
/// A value outside its range.
pub fn noise_floor(kilohertz: f64, figure: f64) -> Result<f64, OutOfRange> {
    let wide = within("the bandwidth", kilohertz, Unit::Kilohertz, 0.1, 20_000.0)? * 1000.0;
    Ok(-174.0 + 10.0 * wide.log10() + within("the noise figure", figure, Unit::Decibel, 0.0, 30.0)?)
}

/// Most power in dBm that a remote may radiate in the United States: the field of 41.6667 f − 7083.3333 µV/m at 3 m (f in MHz) as
/// power, 20 log(field) − 95.2.
///
/// 260 to 470 MHz.
///
/// # Errors
/// A frequency outside that range.
pub fn power_allowed(megahertz: f64) -> Result<f64, OutOfRange> {
    let f = within("the frequency", megahertz, Unit::Megahertz, 260.0, 470.0)?;
    let field = (f * 1e3 / 24.0 - 7_083.333_3) * 1e-6;
    // Power density E²/(120 π) through a sphere of 3 m, over one milliwatt.
    let watts = field * field / (120.0 * PI) * 4.0 * PI * 9.0;
    Ok(10.0 * (watts * 1000.0).log10())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Worked by hand: 433.92 MHz, 1 m and 2 m high: the ground counts from 11.6 m; 74.0 dB reach 100 m. Six decibels more
    /// reach 1.41 times as far.
    #[test]
    fn reach_near_the_ground() {
        close(crossover(433.92, 1.0, 2.0).unwrap(), 11.6, 0.05);
        let far = reach(433.92, 73.98, 1.0, 2.0).unwrap();
        close(far, 100.0, 0.1);
        close(reach(433.92, 80.0, 1.0, 2.0).unwrap() / far, 1.41, 0.01);
        close(reach(433.92, 73.98, 1.0, 4.0).unwrap() / far, 1.41, 0.01);
        for metres in [3.0, 8.0, 20.0, 40.0, 150.0] {
            let loss = radio::ground_loss(433.92, metres, 1.0, 2.0).unwrap();
            close(reach(433.92, loss, 1.0, 2.0).unwrap(), metres, 1e-6 * metres);
        }
        assert!(reach(433.92, 500.0, 1.0, 2.0).is_err());
    }

    /// Worked by hand: 433.92 MHz in the middle of 100 m 4.16 m, six tenths 2.49 m; 868.3 MHz, 150 m 3.60 m; 315 MHz, 60 m 3.78 m.
    #[test]
    fn the_first_zone() {
        for (f, half, radius) in [(433.92, 50.0, 4.16), (868.3, 75.0, 3.60), (315.0, 30.0, 3.78)] {
            close(fresnel_radius(f, half, half).unwrap(), radius, 0.005);
        }
        close(0.6 * fresnel_radius(433.92, 50.0, 50.0).unwrap(), 2.49, 0.005);
        assert!(fresnel_radius(433.92, 0.0, 50.0).is_err());
    }

    /// Worked by hand: in line 6.0 dB; 1 m above it, 433.92 MHz, 50 m each way 9.0 dB; 2 m, 40 m and 10 m 15.2 dB.
    #[test]
    fn over_an_edge() {
        for (above, one, other, loss) in [(0.0, 50.0, 50.0, 6.0), (1.0, 50.0, 50.0, 9.0), (2.0, 40.0, 10.0, 15.2)] {
            close(edge_loss(433.92, above, one, other).unwrap(), loss, 0.1);
        }
        close(edge_loss(433.92, -20.0, 50.0, 50.0).unwrap(), 0.0, 0.0);
    }

    /// Worked by hand: 200 kHz −121.0 dBm, 325 kHz −118.9 dBm, 25 kHz −130.0 dBm.
    #[test]
    fn noise() {
        for (wide, floor) in [(200.0, -121.0), (325.0, -118.9), (25.0, -130.0)] {
            close(noise_floor(wide, 0.0).unwrap(), floor, 0.05);
        }
    }

    /// Worked by hand from the rule: 315 MHz 6042 µV/m, −19.6 dBm; 433.92 MHz 10 997 µV/m, −14.4 dBm. At 315 MHz and 100 m in
    /// free space −82.0 dBm arrive.
    #[test]
    fn power_of_a_remote() {
        close(power_allowed(315.0).unwrap(), -19.6, 0.05);
        close(power_allowed(433.92).unwrap(), -14.4, 0.05);
        let arrives = power_allowed(315.0).unwrap() - radio::free_space_loss(315.0, 100.0).unwrap();
        close(arrives, -82.0, 0.1);
        assert!(power_allowed(868.3).is_err());
    }
}
