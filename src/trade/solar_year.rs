//! A year of sun: the balance of the worst month, how many months run the battery down, how low it gets, how long it lasts.

use super::{OutOfRange, solar, within};
use crate::quantity::Unit;

/// Where the year comes from.
pub const SOURCE: &str = "energy, month by month; sizing on the worst month as stand-alone sizing guides have it";

/// Days of each month, January first.
const DAYS: [f64; 12] = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];

/// What a year is worked out from.
#[derive(Clone, Copy, Debug)]
pub struct Year {
    /// Plate of the panel, W.
    pub panel: f64,
    /// Sun hours of a day in each month, January first.
    pub sun_hours: [f64; 12],
    /// Load of a day, Wh.
    pub load: f64,
    /// Efficiency, percent.
    pub efficiency: f64,
    /// Share of the day's yield that is lost to shade, percent.
    pub shade: f64,
}

/// A battery beside it.
#[derive(Clone, Copy, Debug)]
pub struct Store {
    /// Ampere-hours.
    pub ampere_hours: f64,
    /// Volts of the system.
    pub volts: f64,
    /// Share that may be used, percent.
    pub usable: f64,
    /// Share left in the cold, percent.
    pub cold: f64,
}

impl Year {
    /// Watt-hours a day left over in each month, negative where the battery runs down ([`solar::balance_by_month`]).
    ///
    /// # Errors
    /// A value outside its range.
    pub fn balances(&self) -> Result<[f64; 12], OutOfRange> {
        solar::balance_by_month(self.panel, &self.sun_hours, self.load, self.efficiency, self.shade)
    }

    /// The worst month, 0 for January, and what is left over of a day in it, Wh.
    ///
    /// # Errors
    /// A value outside its range.
    pub fn worst(&self) -> Result<(usize, f64), OutOfRange> {
        let months = self.balances()?;
        let each = months.iter().copied().enumerate();
        Ok(each.fold(
            (0, f64::INFINITY),
            |worst, month| if month.1 < worst.1 { month } else { worst },
        ))
    }

    /// In how many months the battery runs down.
    ///
    /// # Errors
    /// A value outside its range.
    pub fn short_months(&self) -> Result<f64, OutOfRange> {
        Ok(self
            .balances()?
            .iter()
            .map(|left| if *left < 0.0 { 1.0 } else { 0.0 })
            .sum())
    }

    /// How low the battery gets in the year, in percent of what may be used of it, starting full at the best time: 0 means that
    /// the gate stands still.
    ///
    /// # Errors
    /// A value outside its range.
    pub fn lowest_percent(&self, store: &Store) -> Result<f64, OutOfRange> {
        let months = self.balances()?;
        let full = store.watt_hours()?;
        let (mut held, mut lowest) = (full, full);
        // Two rounds: the first ends as full as a year lets it, whatever month it began in.
        for (left, days) in months.iter().zip(DAYS).chain(months.iter().zip(DAYS)) {
            held = (held + left * days).clamp(0.0, full);
            lowest = lowest.min(held);
        }
        Ok(100.0 * lowest / full)
    }
}

impl Store {
    /// Watt-hours that may be used of it.
    ///
    /// 1 to 1000 Ah, 5 to 60 V, usable 10 to 100 %, cold 20 to 110 %.
    ///
    /// # Errors
    /// A value outside its range.
    pub fn watt_hours(&self) -> Result<f64, OutOfRange> {
        let capacity = within("the battery", self.ampere_hours, Unit::AmpereHour, 1.0, 1000.0)?;
        let v = within("the system's volts", self.volts, Unit::Volt, 5.0, 60.0)?;
        let share = within("the usable share", self.usable, Unit::Percent, 10.0, 100.0)? / 100.0;
        let left = within("the share left in the cold", self.cold, Unit::Percent, 20.0, 110.0)? / 100.0;
        Ok(capacity * v * share * left)
    }

    /// Days until it is down when `short` Wh a day are lacking.
    ///
    /// 0.1 to 5000 Wh.
    ///
    /// # Errors
    /// A value outside its range.
    pub fn days(&self, short: f64) -> Result<f64, OutOfRange> {
        Ok(self.watt_hours()? / within("what a day lacks", short, Unit::WattHour, 0.1, 5000.0)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    const HOURS: [f64; 12] = [1.6, 2.4, 3.4, 4.2, 4.8, 5.2, 5.4, 4.8, 3.8, 2.7, 1.8, 1.3];

    fn year(panel: f64) -> Year {
        Year {
            panel,
            sun_hours: HOURS,
            load: 17.6,
            efficiency: 65.0,
            shade: 0.0,
        }
    }

    fn store(ampere_hours: f64) -> Store {
        Store {
            ampere_hours,
            volts: 12.0,
            usable: 50.0,
            cold: 80.0,
        }
    }

    /// Worked by hand: 15 W, 65 % and 17.6 Wh a day: December lacks 4.9 Wh a day (15 · 1.3 · 0.65 − 17.6), January 2.0, November
    /// 0.05; the other nine months balance.
    #[test]
    fn a_year_of_a_small_panel() {
        let (month, left) = year(15.0).worst().unwrap();
        assert_eq!(month, 11);
        close(left, -4.925, 1e-9);
        close(year(15.0).short_months().unwrap(), 3.0, 0.0);
        close(year(25.0).short_months().unwrap(), 0.0, 0.0);
        let mut wrong = year(15.0);
        wrong.sun_hours[3] = 9.0;
        assert!(wrong.worst().is_err(), "no place has 9 sun hours");
    }

    /// Worked by hand: 35 Ah at 12 V, half usable, 80 % in the cold are 168 Wh; November, December and January take
    /// 1.5 + 152.7 + 62.0 of them, so it is down in January; 60 Ah (288 Wh) end January with 72 Wh, which is 25 %.
    #[test]
    fn how_low_the_battery_gets() {
        close(year(15.0).lowest_percent(&store(35.0)).unwrap(), 0.0, 1e-9);
        close(year(15.0).lowest_percent(&store(60.0)).unwrap(), 25.0, 0.5);
        close(year(25.0).lowest_percent(&store(35.0)).unwrap(), 100.0, 1e-9);
    }

    /// Worked by hand: 168 Wh last 34 days at 4.925 Wh a day lacking; 18.3 Ah carry 17.6 Wh a day for five days without sun.
    #[test]
    fn days_until_it_is_down() {
        close(store(35.0).days(4.925).unwrap(), 34.1, 0.05);
        close(store(18.333).days(17.6).unwrap(), 5.0, 0.001);
        assert!(store(35.0).days(0.0).is_err());
    }
}
