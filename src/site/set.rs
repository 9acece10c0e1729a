//! Changing a site file by `WORD=VALUE` texts, as typed on a command line.

use super::check::{gives_away, value_of};
use super::file::{Battery, Kept, Limit, Loop, Protection, SiteFile, Travel, Typed, day};
use crate::knowledge::{Knowledge, nearest};
use crate::quantity::{Reading, Unit, parse_reading};
use crate::report::{looks_like_code, plain_text};

/// The words besides facts, with how each is written.
pub const WORDS: [(&str, &str); 11] = [
    ("operator", "what the operator's label says"),
    ("board", "what the board's label says"),
    (
        "battery",
        "\"24 V, 7 Ah, lead-acid, 2024-05\": one a supply, volts of the whole set",
    ),
    ("loop", "\"exit: free exit on the drive\""),
    ("eye", "where and of what kind"),
    ("edge", "where and of what kind"),
    ("protection", "\"closing, between the leading edges: edge\""),
    ("limit", "\"leaf weight: 250 kg, page 14\", out of the manual"),
    ("emergency-access", "the way in, never the code"),
    ("remark", "anything else"),
    ("name", "another name, as long as the file is named alike"),
];
const CODE: &str =
    "that looks like a code: codes, PINs and passwords are never written down; write the way, not the code";

/// Applies `WORD=VALUE`: a fact or one of [`WORDS`]. Facts and single texts are replaced, lists grow by one; an empty value takes the fact, text or whole list out.
///
/// # Errors
/// What is wrong with it, and what to write.
pub fn apply(site: &mut SiteFile, knowledge: &Knowledge, text: &str) -> Result<(), String> {
    let Some((word, value)) = text.split_once('=') else {
        return Err(format!("\"{}\" is not WORD=VALUE", plain_text(text)));
    };
    let (word, value) = (word.trim(), one_line(value));
    if let Some(fact) = knowledge.facts.get(word) {
        if value.is_empty() {
            site.facts.shift_remove(word);
            return Ok(());
        }
        if fact.of_the_moment {
            return Err(format!(
                "{word} is true of a day, not of a site: it is asked at the call"
            ));
        }
        let value = value_of(fact, &value).map_err(|(message, help)| format!("{word}: {message}; {help}"))?;
        site.facts.insert(word.to_owned(), Typed(value));
        return Ok(());
    }
    let secret = if word == "emergency-access" {
        gives_away(&value)
    } else {
        looks_like_code(&value)
    };
    if secret {
        return Err(format!("{word}: {CODE}"));
    }
    let problem = |e: String| format!("{word}: {e}");
    match word {
        "name" => {
            if super::file_name(&value) != super::file_name(&site.name) {
                return Err("name: the file would have to be called otherwise: make a new site".to_owned());
            }
            site.name = value;
        }
        "operator" => site.operator = some(value),
        "board" => site.board = some(value),
        "emergency-access" => site.emergency_access = some(value),
        "eye" | "eyes" => grow(&mut site.eyes, value, |v| Ok(v.to_owned())).map_err(problem)?,
        "edge" => grow(&mut site.edges, value, |v| Ok(v.to_owned())).map_err(problem)?,
        "remark" => grow(&mut site.remarks, value, |v| Ok(v.to_owned())).map_err(problem)?,
        "loop" => grow(&mut site.loops, value, |v| Ok(a_loop(v))).map_err(problem)?,
        "limit" => grow(&mut site.limits, value, limit).map_err(problem)?,
        "protection" => grow(&mut site.protection, value, protection).map_err(problem)?,
        "battery" => grow(&mut site.batteries, value, battery).map_err(problem)?,
        _ => {
            let words = WORDS.iter().map(|(w, _)| *w);
            let near = nearest(word, words.chain(knowledge.facts.keys().map(String::as_str)));
            let help = near.map_or_else(
                || "`pintle site --help` lists the words".to_owned(),
                |near| format!("did you mean {near}?"),
            );
            return Err(format!("there is no word or fact \"{}\"; {help}", plain_text(word)));
        }
    }
    Ok(())
}

/// Text on one line, without control characters; digits stay as they are.
fn one_line(text: &str) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    clean.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn some(value: String) -> Option<String> {
    Some(value).filter(|v| !v.is_empty())
}

fn grow<T>(list: &mut Vec<T>, value: String, read: impl Fn(&str) -> Result<T, String>) -> Result<(), String> {
    if value.is_empty() {
        list.clear();
    } else {
        list.push(read(&value)?);
    }
    Ok(())
}

fn a_loop(text: &str) -> Loop {
    let (name, purpose) = text.split_once(':').unwrap_or((text, ""));
    Loop {
        name: name.trim().to_owned(),
        purpose: some(purpose.trim().to_owned()),
    }
}

fn limit(text: &str) -> Result<Limit, String> {
    let how = || "write it as \"leaf weight: 250 kg, page 14\"".to_owned();
    let (what, rest) = text.split_once(':').ok_or_else(how)?;
    let (value, page) = match rest.rsplit_once(", page ") {
        Some((value, page)) => (value, Some(Typed(page.trim().to_owned()))),
        None => (rest, None),
    };
    let value = Typed(value.trim().to_owned());
    if !value.0.chars().any(|c| c.is_ascii_digit()) {
        return Err(how());
    }
    Ok(Limit {
        what: what.trim().to_owned(),
        value,
        page,
    })
}

fn protection(text: &str) -> Result<Protection, String> {
    let how = || "write it as \"closing, between the leading edges: edge\"; the way is closing or opening".to_owned();
    let (place, by) = text.rsplit_once(':').ok_or_else(how)?;
    let (travel, place) = place.split_once(',').ok_or_else(how)?;
    let travel = match travel.trim() {
        "closing" => Travel::Closing,
        "opening" => Travel::Opening,
        _ => return Err(how()),
    };
    Ok(Protection {
        travel,
        place: place.trim().to_owned(),
        by: by.trim().to_owned(),
    })
}

/// Each part says by itself what it is: volts, ampere hours, a date, else the chemistry.
fn battery(text: &str) -> Result<Battery, String> {
    let mut battery = Battery::default();
    for part in text.split(',').map(str::trim).filter(|p| !p.is_empty()) {
        let lower = part.to_lowercase();
        if day(part).is_some() {
            battery.date = Some(part.to_owned());
        } else if let Some(ah) = lower.strip_suffix("ah") {
            battery.ah = Some(Typed(ah.trim().to_owned()));
        } else if lower.ends_with('v') && matches!(parse_reading(part, Unit::Volt), Ok(Reading::Value(_))) {
            battery.volts = Some(Typed(part.to_owned()));
        } else if part.chars().any(|c| c.is_ascii_digit()) {
            return Err(format!(
                "\"{part}\" is neither volts (24 V), nor ampere hours (7 Ah), nor a date (2024-05)"
            ));
        } else {
            battery.chemistry = Some(part.to_owned());
        }
    }
    Ok(battery)
}

/// A baseline from `TEST/READING@OF=VALUE`; `/READING` may be left out where the test has one that makes a baseline, `@OF` where there is only one. Something else is `WHAT=VALUE`, with a blank in it
/// or `what:` before it.
///
/// # Errors
/// What is wrong with it, and what to write.
pub fn baseline(knowledge: &Knowledge, text: &str, date: &str, meter: Option<&str>) -> Result<Kept, String> {
    let Some((key, value)) = text.split_once('=') else {
        return Err(format!("\"{}\" is not TEST=VALUE", plain_text(text)));
    };
    let value = one_line(value);
    let mut kept = Kept {
        value: Typed(value.clone()),
        date: date.to_owned(),
        meter: meter.map(one_line),
        ..Kept::default()
    };
    let (key, of) = key.split_once('@').unwrap_or((key, ""));
    kept.of = some(one_line(of));
    let key = one_line(key);
    if let Some(what) = key.strip_prefix("what:") {
        kept.what = Some(what.trim().to_owned());
    } else if key.contains(' ') {
        kept.what = Some(key);
    } else {
        let (test, reading) = key.split_once('/').unwrap_or((&key, ""));
        let tests = &knowledge.tests;
        let entry = tests.get(test).ok_or_else(|| {
            let near = nearest(test, tests.keys().map(String::as_str));
            let help = near.map_or_else(
                || "`pintle explain WORD` finds tests; `what:NAME=VALUE` keeps anything".to_owned(),
                |near| format!("did you mean {near}?"),
            );
            format!("there is no test \"{}\"; {help}", plain_text(test))
        })?;
        let names = || entry.readings.keys().cloned().collect::<Vec<_>>().join(", ");
        let reading = match reading {
            "" => super::keep::reading_of(entry).ok_or_else(|| match names().as_str() {
                "" => format!("{test} has nothing to read: it is looked at"),
                names => format!("{test} has several readings: write {test}/READING, one of {names}"),
            })?,
            reading if entry.readings.contains_key(reading) => reading,
            reading => {
                return Err(format!(
                    "{test} has no reading \"{}\", only {}",
                    plain_text(reading),
                    names()
                ));
            }
        };
        let unit = entry.readings[reading].unit;
        match parse_reading(&value, unit) {
            Ok(Reading::Value(given)) if given.quantity.value > 0.0 => {}
            Ok(_) => return Err(format!("{test}: a baseline is a number over 0 in {}", unit.symbol())),
            Err(error) => return Err(format!("{test}: {error}")),
        }
        kept.value = Typed(super::with_unit(&value, unit));
        (kept.test, kept.reading) = (Some(test.to_owned()), Some(reading.to_owned()));
        return Ok(kept);
    }
    if !value.chars().any(|c| c.is_ascii_digit()) {
        return Err("a baseline is a number with its unit".to_owned());
    }
    if kept
        .what
        .as_deref()
        .is_some_and(|what| looks_like_code(&format!("{what} {value}")))
    {
        return Err(CODE.to_owned());
    }
    Ok(kept)
}
