//! A score that can be read: a hundred points, and a line for everything that was taken off.

use serde::Serialize;

use super::debrief::Debrief;

/// Minutes lost for each point taken off.
const MINUTES_A_POINT: f64 = 2.0;
/// From here on a drill is passed, unless there was a grave unsafe act.
const PASS: u32 = 70;

/// Points and where they went.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Score {
    /// What is left of a hundred.
    pub points: u32,
    /// What was taken off, and for what.
    pub lines: Vec<Taken>,
}

/// Points taken off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Taken {
    /// How many.
    pub points: u32,
    /// For what.
    pub why: String,
    /// What to practise against it.
    #[serde(skip)]
    pub practise: &'static str,
    /// The time it took: the dearest step says what to practise.
    #[serde(skip)]
    pub about_time: bool,
}

impl Score {
    pub(super) fn of(debrief: &Debrief) -> Self {
        let mut lines = Vec::new();
        let mut take = |points: u32, most: u32, why: String, practise: &'static str| {
            if points > 0 {
                lines.push(Taken {
                    points: points.min(most),
                    why,
                    practise,
                    about_time: practise.is_empty(),
                });
            }
        };
        if !debrief.ended_well() {
            let left = debrief.ending.map_or("not closed at all", |e| e.say());
            let right: Vec<&str> = debrief.right_endings.iter().map(|e| e.say()).collect();
            let why = format!(
                "left as \"{left}\"; right would have been \"{}\"",
                right.join("\" or \"")
            );
            take(
                30,
                30,
                why,
                "Before you close: what is proven gone, what is still open, who must know?",
            );
        } else if !debrief.left.is_empty() && debrief.ending == Some(crate::knowledge::schema::Ending::Fixed) {
            let why = format!("still there: {}", debrief.left.join("; "));
            take(
                30,
                30,
                why,
                "After a cure, look for what it brought with it before the retest.",
            );
        }
        let lost = debrief.lost();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "minutes of a call"
        )]
        let points = (lost / MINUTES_A_POINT).round() as u32;
        take(
            points,
            40,
            format!("{lost:.0} min lost to steps that were not the best, a point for every two"),
            "",
        );
        let guesses = count(debrief.guesses.iter().filter(|g| g.support < 0.5).count());
        let why = format!("{guesses} repair(s) that the answers did not support, five points each");
        take(
            5 * guesses,
            15,
            why,
            "Say how sure you are before you reach for a part, and what would make you surer.",
        );
        let skipped = count(debrief.skipped.len());
        let why = format!("{skipped} preparation(s) left out, four points each");
        take(
            4 * skipped,
            20,
            why,
            "Before each step: powered or isolated, held off, secured, clear, entitled?",
        );
        let unsafe_acts = count(debrief.unsafe_acts.len());
        let why = format!("{unsafe_acts} unsafe act(s), twenty points each");
        take(20 * unsafe_acts, 60, why, "Cautions first.");
        if let Some(over) = debrief.over_time {
            take(
                10,
                10,
                format!("{over:.0} min over the time"),
                "Take the cheap telling reading first.",
            );
        }
        let off: u32 = lines.iter().map(|l| l.points).sum();
        Self {
            points: 100_u32.saturating_sub(off),
            lines,
        }
    }

    /// Enough points.
    #[must_use]
    pub fn passes(&self) -> bool {
        self.points >= PASS
    }

    /// The line that cost most.
    #[must_use]
    pub fn dearest(&self) -> Option<&Taken> {
        self.lines.iter().max_by_key(|l| l.points)
    }
}

fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}
