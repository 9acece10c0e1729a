//! When a call is a callback: the same symptom at the same site soon after a call that had ended as put right.
//!
//! A callback is said and written down, and learning takes the earlier call's confirmation back. It is *no evidence* in the new call: how much
//! likelier the earlier repair's cause is than before nobody has counted, and a made-up number would change what is tested. The technician is told what was
//! repaired; the repairs of the earlier call count for nothing either, for they were done before this call's answers.

use super::event::{Entry, Event};
use crate::knowledge::schema::Ending;

/// Days after a call's end within which the same symptom at the same site is a callback (common practice).
pub const CALLBACK_DAYS: f64 = 60.0;

/// An earlier call at the same site.
#[derive(Debug, Clone, PartialEq)]
pub struct Earlier {
    /// Its id.
    pub id: String,
    /// When it ended, RFC 3339.
    pub ended: String,
    /// How.
    pub ending: Ending,
    /// What was reported: symptom ids.
    pub symptoms: Vec<String>,
    /// What was done, in a few words; may be empty.
    pub done: String,
}

/// Days from one moment to another, both RFC 3339 or a bare day; `None` if one can't be read.
#[must_use]
pub fn days_between(from: &str, to: &str) -> Option<f64> {
    Some((second(to)? - second(from)?) as f64 / 86_400.0)
}

/// Seconds since 1970.
pub(crate) fn second(time: &str) -> Option<i64> {
    if let Ok(at) = time.parse::<jiff::Timestamp>() {
        return Some(at.as_second());
    }
    let day: jiff::civil::Date = time.parse().ok()?;
    let at = day.to_datetime(jiff::civil::Time::midnight());
    let at = jiff::tz::TimeZone::UTC.to_timestamp(at).ok()?;
    Some(at.as_second())
}

/// The latest call that a complaint of these symptoms at this time is a callback of: ended as fixed or explained no more than [`CALLBACK_DAYS`] before,
/// with a symptom in common.
#[must_use]
pub fn called_back<'e>(earlier: &'e [Earlier], symptoms: &[String], time: &str) -> Option<&'e Earlier> {
    let age = |e: &Earlier| days_between(&e.ended, time);
    let right = |e: &&Earlier| {
        matches!(e.ending, Ending::Fixed | Ending::Explained)
            && e.symptoms.iter().any(|s| symptoms.contains(s))
            && age(e).is_some_and(|days| (0.0..=CALLBACK_DAYS).contains(&days))
    };
    earlier.iter().filter(right).min_by(|a, b| {
        let days = |e: &Earlier| age(e).unwrap_or(f64::INFINITY);
        days(a).total_cmp(&days(b)).then(a.id.cmp(&b.id))
    })
}

/// The event that follows a complaint which is a callback.
pub(super) fn of_entry(earlier: &[Earlier], entry: &Entry) -> Option<Entry> {
    let Event::Complaint { symptoms, .. } = &entry.event else {
        return None;
    };
    let of = called_back(earlier, symptoms, &entry.time)?;
    let event = Event::Callback {
        of: of.id.clone(),
        text: in_words(of, &entry.time),
    };
    Some(Entry {
        time: entry.time.clone(),
        event,
    })
}

/// "same symptom 12 days after call 2026-03-02-1: fixed, battery replaced".
fn in_words(of: &Earlier, time: &str) -> String {
    let days = days_between(&of.ended, time).unwrap_or(0.0).floor();
    let plural = if (days - 1.0).abs() < 0.5 { "" } else { "s" };
    let done = if of.done.is_empty() {
        String::new()
    } else {
        format!(", {}", of.done)
    };
    format!(
        "same symptom {days} day{plural} after call {}: {}{done}",
        of.id,
        of.ending.say()
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn earlier(id: &str, ended: &str, ending: Ending) -> Earlier {
        Earlier {
            id: id.to_owned(),
            ended: ended.to_owned(),
            ending,
            symptoms: vec!["slow".to_owned(), "dead".to_owned()],
            done: "battery replaced".to_owned(),
        }
    }

    fn of(earlier: &[Earlier], symptom: &str, time: &str) -> Option<String> {
        called_back(earlier, &[symptom.to_owned()], time).map(|e| e.id.clone())
    }

    #[test]
    fn the_window_has_two_ends_and_the_offset_counts() {
        let one = [earlier("a", "2026-03-01T12:00:00+02:00", Ending::Fixed)];
        for (time, back) in [
            ("2026-03-01T10:00:00Z", true),
            ("2026-03-01T09:59:59Z", false),
            ("2026-04-30T10:00:00Z", true),
            ("2026-04-30T10:00:01Z", false),
            ("no time", false),
        ] {
            assert_eq!(of(&one, "slow", time).is_some(), back, "{time}");
        }
    }

    #[test]
    fn only_what_had_ended_as_put_right_and_the_same_symptom() {
        let time = "2026-03-10T08:00:00Z";
        for ending in [
            Ending::Waiting,
            Ending::Referred,
            Ending::NoFaultFound,
            Ending::OutOfUse,
        ] {
            assert_eq!(of(&[earlier("a", "2026-03-01T08:00:00Z", ending)], "slow", time), None);
        }
        let both = [
            earlier("a", "2026-03-01T08:00:00Z", Ending::Fixed),
            earlier("b", "2026-03-05T08:00:00Z", Ending::Explained),
        ];
        assert_eq!(of(&both, "slow", time).as_deref(), Some("b"), "the latest");
        assert_eq!(of(&both, "noisy", time), None);
    }

    #[test]
    fn in_words_it_is_a_line() {
        let one = earlier("2026-03-01-1", "2026-03-01T08:00:00Z", Ending::Fixed);
        assert_eq!(
            in_words(&one, "2026-03-13T09:00:00Z"),
            "same symptom 12 days after call 2026-03-01-1: fixed, battery replaced"
        );
        let bare = Earlier {
            done: String::new(),
            ..one
        };
        assert_eq!(
            in_words(&bare, "2026-03-02T09:00:00Z"),
            "same symptom 1 day after call 2026-03-01-1: fixed"
        );
    }
}
