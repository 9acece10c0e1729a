//! What is wrong with a site file, measured against the knowledge.

use super::file::{Kept, SiteFile, day};
use super::store::{Read, file_name, help};
use super::{battery_value, facts};
use crate::call::evaluate;
use crate::finding::{Level, Location};
use crate::knowledge::schema::{BatteryFact, Fact, Task, Test};
use crate::knowledge::{Knowledge, Position, nearest};
use crate::quantity::{Reading, Unit, parse_reading};
use crate::report::looks_like_code;

/// Something wrong with a site file.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteFinding {
    /// How bad: an error is not used in a call.
    pub level: Level,
    /// Where.
    pub position: Position,
    /// What is wrong, in one sentence.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// Digits in one word from which a way in looks like a code.
const CODE_DIGITS: usize = 4;

/// Whether a text about a way in looks like the code itself: more is refused here than in a remark, for nothing else belongs in it than a way.
#[must_use]
pub fn gives_away(text: &str) -> bool {
    let digits = |word: &str| word.chars().filter(char::is_ascii_digit).count();
    looks_like_code(text)
        || looks_like_code(&format!("code {text}"))
        || text.split_whitespace().any(|word| digits(word) >= CODE_DIGITS)
}

/// Every finding about a site file, in the order of the file. `stem` is its file name without the ending, `today` the day from which ages count.
#[must_use]
pub fn check(read: &Read, stem: &str, knowledge: &Knowledge, today: jiff::civil::Date) -> Vec<SiteFinding> {
    let mut checker = Checker {
        read,
        knowledge,
        today,
        found: Vec::new(),
    };
    for finding in &read.findings {
        checker.found.push(SiteFinding {
            level: finding.level(),
            position: read.sources.position(&finding.location),
            message: finding.message.clone(),
            help: help(&finding.help),
        });
    }
    if let Some(site) = &read.site {
        checker.site(site, stem);
    }
    checker.found.sort_by_key(|f| f.position);
    checker.found
}

struct Checker<'a> {
    read: &'a Read,
    knowledge: &'a Knowledge,
    today: jiff::civil::Date,
    found: Vec<SiteFinding>,
}

impl Checker<'_> {
    fn put(&mut self, level: Level, path: &[&str], on_key: bool, message: String, help: impl Into<String>) {
        let mut location = Location::new(0, path.iter().map(|p| (*p).to_owned()).collect());
        location.on_key = on_key;
        self.found.push(SiteFinding {
            level,
            position: self.read.sources.position(&location),
            message,
            help: help.into(),
        });
    }

    fn error(&mut self, path: &[&str], message: String, help: impl Into<String>) {
        self.put(Level::Error, path, false, message, help);
    }

    fn warning(&mut self, path: &[&str], message: String, help: impl Into<String>) {
        self.put(Level::Warning, path, false, message, help);
    }

    fn site(&mut self, site: &SiteFile, stem: &str) {
        match file_name(&site.name) {
            None => self.error(
                &["name"],
                "the name has neither a letter nor a digit".to_owned(),
                "write what the site is called",
            ),
            Some(name) if name != stem => self.warning(
                &["name"],
                format!("this name belongs into {name}.yaml, so `--site` does not find it here"),
                format!("rename the file, or use the name {stem}"),
            ),
            Some(_) => {}
        }
        if let Some(date) = &site.updated {
            self.date(&["updated"], date);
        }
        for (id, value) in &site.facts {
            self.fact(id, &value.0);
        }
        self.batteries(site);
        self.texts(site);
        for (i, limit) in site.limits.iter().enumerate() {
            if !limit.value.0.chars().any(|c| c.is_ascii_digit()) {
                let message = format!("\"{}\" has no number", shown(&limit.value.0));
                self.error(
                    &["limits", &i.to_string(), "value"],
                    message,
                    "write the number of the manual with its unit",
                );
            }
        }
        for (i, kept) in site.baselines.iter().enumerate() {
            self.baseline(site, i, kept);
        }
    }

    fn fact(&mut self, id: &str, value: &str) {
        let Some(fact) = self.knowledge.facts.get(id) else {
            let known = self.knowledge.facts.keys().map(String::as_str);
            let help = nearest(id, known).map_or_else(
                || "`pintle explain` shows the facts there are".to_owned(),
                |near| format!("did you mean `{near}`?"),
            );
            self.put(
                Level::Error,
                &["facts", id],
                true,
                format!("there is no fact `{}`", shown(id)),
                help,
            );
            return;
        };
        if fact.of_the_moment {
            let message = format!("{id} is true of a day, not of a site");
            self.put(
                Level::Error,
                &["facts", id],
                true,
                message,
                "take it out: it is asked at the call",
            );
        } else if let Err((message, help)) = value_of(fact, value) {
            self.error(&["facts", id], message, help);
        }
    }

    fn batteries(&mut self, site: &SiteFile) {
        let of_kind = |kind| {
            let facts = self.knowledge.facts.iter();
            let found = facts.into_iter().find(|(_, f)| f.from_battery == Some(kind));
            found.map(|(id, f)| (id.clone(), f.clone()))
        };
        let (volts, chemistry) = (of_kind(BatteryFact::Volts), of_kind(BatteryFact::Chemistry));
        for (i, battery) in site.batteries.iter().enumerate() {
            let i = i.to_string();
            if let (Some(value), Some((_, fact))) = (&battery.volts, &volts)
                && let Err((message, help)) = value_of(fact, &value.0)
            {
                self.error(&["batteries", &i, "volts"], message, help);
            }
            if let (Some(value), Some((_, fact))) = (&battery.chemistry, &chemistry)
                && let Err((message, help)) = value_of(fact, value)
            {
                self.error(&["batteries", &i, "chemistry"], message, help);
            }
            if let Some(date) = &battery.date {
                self.date(&["batteries", &i, "date"], date);
            }
            if let Some(ah) = &battery.ah
                && parse_reading(&ah.0, Unit::One).ok().and_then(|r| r.value()).is_none()
            {
                let message = format!("\"{}\" is no number of ampere hours", shown(&ah.0));
                self.error(&["batteries", &i, "ah"], message, "write the bare number: 7");
            }
        }
        for (id, value) in &site.facts {
            let Some(fact) = self.knowledge.facts.get(id) else {
                continue;
            };
            let said = value_of(fact, &value.0).ok();
            let derived = battery_value(site, fact, self.today);
            if let (Some(said), Some(derived)) = (said, derived)
                && said != derived
            {
                let message = format!("the batteries below say {derived}, and they are believed");
                self.warning(
                    &["facts", id],
                    message,
                    "take the fact out, or mend the battery's entry",
                );
            }
        }
    }

    fn texts(&mut self, site: &SiteFile) {
        const NEVER: &str = "codes, PINs and passwords are never written down: write the way, not the code";
        if site.emergency_access.as_deref().is_some_and(gives_away) {
            let message = "this looks like a code".to_owned();
            self.error(&["emergency-access"], message, NEVER);
        }
        let lists = [("remarks", &site.remarks), ("eyes", &site.eyes), ("edges", &site.edges)];
        for (field, list) in lists {
            for (i, _) in list.iter().enumerate().filter(|(_, text)| looks_like_code(text)) {
                self.error(&[field, &i.to_string()], "this looks like a code".to_owned(), NEVER);
            }
        }
        for (i, place) in site.protection.iter().enumerate() {
            if looks_like_code(&place.place) || looks_like_code(&place.by) {
                self.error(
                    &["protection", &i.to_string()],
                    "this looks like a code".to_owned(),
                    NEVER,
                );
            }
        }
        for (i, entry) in site.loops.iter().enumerate() {
            if entry.purpose.as_deref().is_some_and(looks_like_code) {
                self.error(&["loops", &i.to_string()], "this looks like a code".to_owned(), NEVER);
            }
        }
    }

    fn date(&mut self, path: &[&str], text: &str) {
        match day(text) {
            None => self.error(
                path,
                format!("\"{}\" is no date", shown(text)),
                "write year, month and day: 2026-03-02; for a battery year and month will do",
            ),
            Some(date) if date > self.today => self.warning(
                path,
                format!("{} lies in the future", shown(text)),
                "see whether day and month are swapped",
            ),
            Some(_) => {}
        }
    }

    fn baseline(&mut self, site: &SiteFile, i: usize, kept: &Kept) {
        let at = i.to_string();
        let path = |field: &'static str| ["baselines".to_owned(), at.clone(), field.to_owned()];
        let here = |field: &'static str| path(field);
        self.date(&here("date").each_ref().map(String::as_str), &kept.date);
        let (Some(test), Some(reading)) = (&kept.test, &kept.reading) else {
            if kept.what.is_none() || kept.test.is_some() || kept.reading.is_some() {
                self.error(
                    &["baselines", &at],
                    "a baseline is a `reading` of a `test`, or a `what` in words".to_owned(),
                    "write `test:` and `reading:`, or `what:` alone",
                );
            } else if !kept.value.0.chars().any(|c| c.is_ascii_digit()) {
                let message = format!("\"{}\" has no number", shown(&kept.value.0));
                self.error(&["baselines", &at, "value"], message, "write the number with its unit");
            }
            return;
        };
        if kept.what.is_some() {
            self.error(
                &["baselines", &at, "what"],
                "this baseline has a test and `what`".to_owned(),
                "leave `what` to those without a test",
            );
        }
        let tests = &self.knowledge.tests;
        let Some(entry) = tests.get(test) else {
            let help = nearest(test, tests.keys().map(String::as_str)).map_or_else(
                || "`pintle explain` finds tests by a word".to_owned(),
                |near| format!("did you mean `{near}`?"),
            );
            let message = format!("there is no test `{}`", shown(test));
            self.error(&["baselines", &at, "test"], message, help);
            return;
        };
        let Some(spec) = entry.readings.get(reading) else {
            let known: Vec<&str> = entry.readings.keys().map(String::as_str).collect();
            let help = match known.as_slice() {
                [] => "this test has nothing to read: it is looked at".to_owned(),
                known => format!("its readings: {}", known.join(", ")),
            };
            let message = format!("{test} has no reading `{}`", shown(reading));
            self.error(&["baselines", &at, "reading"], message, help);
            return;
        };
        let value = match parse_reading(&kept.value.0, spec.unit) {
            Ok(Reading::Value(given)) => given.quantity.value,
            Ok(_) => {
                self.error(
                    &["baselines", &at, "value"],
                    "a baseline is a number".to_owned(),
                    "leave this one out",
                );
                return;
            }
            Err(error) => {
                let help = format!("write it in {}", spec.unit.symbol());
                self.error(&["baselines", &at, "value"], error.to_string(), help);
                return;
            }
        };
        if let Some([low, high]) = spec.range
            && !(low..=high).contains(&value)
        {
            let unit = spec.unit.symbol();
            self.warning(
                &["baselines", &at, "value"],
                format!(
                    "{} is hardly possible: {low} to {high} {unit} was expected",
                    shown(&kept.value.0)
                ),
                "see whether the unit is right",
            );
        }
        if let Some(battery) = newer_battery(site, entry, &kept.date) {
            self.warning(
                &["baselines", &at, "date"],
                format!("the battery of {battery} is newer than this reading, so it is not used"),
                "read it again on the new battery",
            );
        }
        if let Some(says) = self.not_well(site, entry, reading, &kept.value.0) {
            self.warning(
                &["baselines", &at, "value"],
                format!("by the test's own limits that is \"{says}\", not a gate that is well"),
                "keep it only if it is right for this gate",
            );
        }
    }

    /// What a baseline's own test says of it, where it can be judged alone and is not normal.
    fn not_well(&self, site: &SiteFile, test: &Test, reading: &str, value: &str) -> Option<String> {
        if test.readings.len() != 1 {
            return None;
        }
        let known = facts(site, self.knowledge, self.today);
        let readings = std::collections::BTreeMap::from([(reading.to_owned(), value.to_owned())]);
        let evaluated = evaluate(self.knowledge, test, &readings, &known, true).ok()?;
        let (id, band) = test.bands.get_index(evaluated.outcome)?;
        (!is_normal(test, id)).then(|| band.say.clone())
    }
}

/// Whether an outcome means that nothing is wrong here: one of `normal`, or the likeliest on a healthy gate.
#[must_use]
pub fn is_normal(test: &Test, outcome: &str) -> bool {
    if !test.normal.is_empty() {
        return test.normal.iter().any(|n| n == outcome);
    }
    let most = test.healthy.values().map(|f| f.chance).fold(0.0, f64::max);
    test.healthy.get(outcome).is_some_and(|f| f.chance >= most)
}

/// The date of a battery that is newer than a reading of it.
#[must_use]
pub fn newer_battery<'s>(site: &'s SiteFile, test: &Test, date: &str) -> Option<&'s str> {
    if !test.tasks.contains(&Task::Battery) {
        return None;
    }
    let read = day(date)?;
    let dates = site.batteries.iter().filter_map(|b| b.date.as_deref());
    dates.filter(|d| day(d).is_some_and(|d| d > read)).max()
}

/// A fact's value as a journal holds it, or what is wrong with it and what to do.
///
/// # Errors
/// When the fact has no such value, or the number can't be read or believed.
pub fn value_of(fact: &Fact, text: &str) -> Result<String, (String, String)> {
    let Some(number) = &fact.number else {
        return if fact.values.contains_key(text) {
            Ok(text.to_owned())
        } else {
            let known: Vec<&str> = fact.values.keys().map(String::as_str).collect();
            let message = format!("this fact has no value `{}`", shown(text));
            Err((message, format!("its values: {}", known.join(", "))))
        };
    };
    let unit = number.unit.symbol();
    match parse_reading(text, number.unit) {
        Ok(Reading::Value(given)) => {
            let ([low, high], value) = (number.range, given.quantity.value);
            if (low..=high).contains(&value) {
                Ok(format!("{value} {unit}"))
            } else {
                let message = format!("{value} {unit} is hardly possible: {low} to {high} {unit} was expected");
                Err((message, "see whether the unit is right".to_owned()))
            }
        }
        Ok(_) => Err((
            "this fact is a number".to_owned(),
            "leave it out if nobody knows it".to_owned(),
        )),
        Err(error) => Err((error.to_string(), format!("write a number in {unit}"))),
    }
}

/// A text of the file on one line.
fn shown(text: &str) -> String {
    crate::report::plain_text(text)
}
