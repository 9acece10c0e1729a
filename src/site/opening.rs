//! What a site file says at the opening of a call.

use jiff::civil::Date;

use super::check::{newer_battery, value_of};
use super::file::{SiteFile, Travel, day};
use super::with_unit;
use crate::call::{Event, days_between};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{BatteryFact, Each, Fact};
use crate::model::SiteFacts;
use crate::quantity::{Reading, parse_reading};
use crate::report::plain_text;

/// Days in a year, on the average of the calendar.
const YEAR: f64 = 365.2425;

/// The events with which a call at a known site opens: facts that stay, facts to be asked again with their old value, baselines, what the retest goes through one by one.
///
/// The journal then says by itself what the file said, whatever becomes of the file. What the knowledge does not have, or what is damaged, is left out: `check` tells of it.
#[must_use]
pub fn events(site: &SiteFile, knowledge: &Knowledge, today: Date) -> Vec<Event> {
    let from = match &site.updated {
        Some(date) => format!("site file of {}", plain_text(date)),
        None => "site file".to_owned(),
    };
    let mut events = Vec::new();
    for (id, fact) in knowledge.facts.iter().filter(|(_, f)| !f.of_the_moment) {
        let by_battery = battery_value(site, fact, today);
        let said = || value_of(fact, &site.facts.get(id)?.0).ok();
        // An age that was worked out from a date is of today.
        let aged = fact.from_battery == Some(BatteryFact::Age) && by_battery.is_some();
        let Some(value) = by_battery.or_else(said) else {
            continue;
        };
        let fact = id.clone();
        events.push(if knowledge.facts[id].may_change && !aged {
            Event::Remembered {
                fact,
                value,
                from: from.clone(),
            }
        } else {
            Event::Fact {
                fact,
                value: Some(value),
                from: Some(from.clone()),
            }
        });
    }
    events.extend(site.baselines.iter().filter_map(|kept| {
        let (test, reading) = (kept.test.clone()?, kept.reading.clone()?);
        let entry = knowledge.tests.get(&test)?;
        let spec = entry.readings.get(&reading)?;
        let Ok(Reading::Value(given)) = parse_reading(&kept.value.0, spec.unit) else {
            return None;
        };
        let usable = given.quantity.value > 0.0
            && day(&kept.date).is_some_and(|d| d <= today)
            && newer_battery(site, entry, &kept.date).is_none();
        let value = with_unit(&plain_text(&kept.value.0), spec.unit);
        usable.then(|| Event::Baseline {
            test,
            reading,
            of: kept.of.as_deref().map(plain_text),
            value,
            date: plain_text(&kept.date),
        })
    }));
    let by_place = |travel: Travel| {
        let places = site.protection.iter().filter(|p| p.travel == travel);
        places.map(|p| format!("{}: {}", p.place, p.by)).collect::<Vec<_>>()
    };
    let fitted = [
        (Each::Eye, site.eyes.clone()),
        (Each::Edge, site.edges.clone()),
        (Each::ClosingPlace, by_place(Travel::Closing)),
        (Each::OpeningPlace, by_place(Travel::Opening)),
    ];
    events.extend(
        fitted
            .into_iter()
            .filter(|(_, what)| !what.is_empty())
            .map(|(each, what)| Event::Fitted {
                each,
                what: what.iter().map(|w| plain_text(w)).collect(),
            }),
    );
    events
}

/// Every fact that a site file knows, those that may have changed among them.
#[must_use]
pub fn facts(site: &SiteFile, knowledge: &Knowledge, today: Date) -> SiteFacts {
    let mut known = SiteFacts::unknown();
    for (id, fact) in knowledge.facts.iter().filter(|(_, f)| !f.of_the_moment) {
        let said = || value_of(fact, &site.facts.get(id)?.0).ok();
        if let Some(value) = battery_value(site, fact, today).or_else(said) {
            known.learn(id, &value);
        }
    }
    known
}

/// What the batteries say of a fact. Where two sets differ in volts or chemistry, nothing; of ages, the oldest counts.
#[must_use]
pub fn battery_value(site: &SiteFile, fact: &Fact, today: Date) -> Option<String> {
    let same = |mut values: Vec<String>| {
        values.dedup();
        (values.len() == 1).then(|| values.remove(0))
    };
    match fact.from_battery? {
        BatteryFact::Volts => same(
            site.batteries
                .iter()
                .filter_map(|b| value_of(fact, &b.volts.as_ref()?.0).ok())
                .collect(),
        ),
        BatteryFact::Chemistry => same(
            site.batteries
                .iter()
                .filter_map(|b| value_of(fact, b.chemistry.as_ref()?).ok())
                .collect(),
        ),
        BatteryFact::Age => {
            let dates = site.batteries.iter().filter_map(|b| day(b.date.as_ref()?));
            let oldest = dates.min().filter(|d| *d <= today)?;
            let years = days_between(&oldest.to_string(), &today.to_string())? / YEAR;
            let young = fact.values.iter().filter_map(|(id, v)| Some((v.below_years?, id)));
            let mut young: Vec<(f64, &String)> = young.filter(|(limit, _)| years < *limit).collect();
            young.sort_by(|a, b| a.0.total_cmp(&b.0));
            let rest = || fact.values.iter().find(|(_, v)| v.below_years.is_none());
            young
                .first()
                .map(|(_, id)| (*id).clone())
                .or_else(|| rest().map(|(id, _)| id.clone()))
        }
    }
}
