//! How the ranking moved with each answer: the belief worked out anew after each, by the fold that made it then.

use super::phrases;
use super::privacy::plain_text;
use super::reasoning::at_the_start;
use super::record::{Ranking, RankingLine, RankingPoint};
use crate::belief::Hypothesis;
use crate::call::{Call, Entry, Event};

/// At most so many lines.
const LINES: usize = 5;
/// What was never in front is shown from here.
const NEAR: f64 = 0.1;
/// Longest label of a point, in characters.
const LABEL: usize = 26;

/// The ranking after the complaint, after each answer that counted when it was given, and after each proof run.
pub(super) fn moved(call: &Call<'_>) -> Ranking {
    let mut ranking = Ranking {
        points: Vec::new(),
        lines: Vec::new(),
    };
    if call.symptoms().is_empty() {
        return ranking;
    }
    let mut columns: Vec<Vec<f64>> = Vec::new();
    for (at, point) in points(call) {
        let then = Call::in_memory(call.engine, up_to(call, at));
        let answered = call.answers().iter().any(|a| a.event == at);
        if answered && !then.answers().iter().any(|a| a.event == at && a.counts) {
            continue;
        }
        columns.push(chances(&then));
        ranking.points.push(point);
    }
    ranking.lines = lines(call, &columns);
    ranking
}

/// Positions of the entries after which the ranking is shown.
fn points(call: &Call<'_>) -> Vec<(usize, RankingPoint)> {
    let places = phrases::places(call);
    let answers = call.answers();
    let counts = |i: &usize| !call.retracted().contains(i);
    let event = |i: usize| &call.entries[i].event;
    let proofs: Vec<usize> = (0..call.entries.len())
        .filter(counts)
        .filter(|&i| matches!(event(i), Event::Proof { .. }))
        .collect();
    // A proof run is one point: after its last symptom.
    let last_proofs = proofs.iter().copied().filter(|i| !proofs.contains(&(i + 1)));
    let mut at: Vec<usize> = answers.iter().map(|a| a.event).chain(last_proofs).collect();
    at.sort_unstable();
    let first = at.first().copied().unwrap_or(call.entries.len());
    let complaint = (0..call.entries.len())
        .filter(counts)
        .rfind(|&i| matches!(event(i), Event::Complaint { .. }) && i < first);
    // The site and whether it does it now are asked between the complaint and the first answer: they belong to the start.
    let start = complaint.map(|i| i.max(first.saturating_sub(1)));
    let point = |i: usize, number: Option<usize>, label: String, text: String| {
        let point = RankingPoint {
            number,
            label,
            text,
            time: plain_text(&call.entries[i].time),
            taken: phrases::place(places[i]).to_owned(),
        };
        (i, point)
    };
    let mut points: Vec<(usize, RankingPoint)> = start
        .into_iter()
        .map(|i| {
            let text = "The complaint, and what was known of the site before the first answer";
            point(i, None, "complaint".to_owned(), text.to_owned())
        })
        .collect();
    points.extend(at.into_iter().map(|i| {
        let number = answers.iter().position(|a| a.event == i).map(|n| n + 1);
        let text = phrases::evidence(call, i);
        let label = match (number, event(i)) {
            (Some(_), Event::Answer { test, .. }) => short(&phrases::test(&call.engine.knowledge, test)),
            _ => "proof run".to_owned(),
        };
        point(i, number, label, text)
    }));
    points
}

/// The entries up to a position, without what was taken back of them later.
fn up_to(call: &Call<'_>, at: usize) -> Vec<Entry> {
    let taken_back = call.entries[at + 1..]
        .iter()
        .filter(|e| matches!(e.event, Event::Retracted { entry } if entry <= at));
    call.entries[..=at].iter().chain(taken_back).cloned().collect()
}

/// P(c ∈ H) of every cause, then of a fault that is not listed, then of nothing wrong.
fn chances(call: &Call<'_>) -> Vec<f64> {
    let belief = call.belief();
    let mut chances = at_the_start(belief, &call.engine.model);
    for other in [Hypothesis::NotListed, Hypothesis::Nothing] {
        chances.push(belief.share(|b| b.hypothesis == other));
    }
    chances
}

fn lines(call: &Call<'_>, columns: &[Vec<f64>]) -> Vec<RankingLine> {
    let (Some(last), Some(all)) = (columns.last(), columns.first().map(Vec::len)) else {
        return Vec::new();
    };
    let peak = |c: usize| columns.iter().map(|p| p[c]).fold(0.0, f64::max);
    let leader = |p: &Vec<f64>| (0..all).max_by(|a, b| p[*a].total_cmp(&p[*b]).then(b.cmp(a)));
    let led: Vec<usize> = columns.iter().filter_map(leader).collect();
    let mut shown: Vec<usize> = (0..all).filter(|c| led.contains(c) || peak(*c) >= NEAR).collect();
    let rank = |c: &usize| (led.last() == Some(c), led.contains(c), peak(*c));
    shown.sort_by(|a, b| rank(b).partial_cmp(&rank(a)).unwrap_or(std::cmp::Ordering::Equal));
    shown.truncate(LINES);
    shown.sort_by(|a, b| last[*b].total_cmp(&last[*a]).then(a.cmp(b)));
    let causes = call.engine.model.causes();
    shown
        .into_iter()
        .map(|c| RankingLine {
            cause: match c.checked_sub(causes) {
                None => phrases::cause(&call.engine.knowledge, c),
                Some(0) => "a fault that is not listed".to_owned(),
                Some(_) => "nothing wrong now".to_owned(),
            },
            chances: columns.iter().map(|p| p[c]).collect(),
        })
        .collect()
}

/// The first words of a title.
fn short(title: &str) -> String {
    if title.chars().count() <= LABEL {
        return title.to_owned();
    }
    let mut text = String::new();
    for word in title.split(' ') {
        if text.chars().count() + word.chars().count() > LABEL - 2 {
            break;
        }
        text.push_str(word);
        text.push(' ');
    }
    if text.is_empty() {
        text = title.chars().take(LABEL - 1).collect();
    }
    format!("{}…", text.trim_end_matches([' ', ',', ':', ';']))
}

#[cfg(test)]
mod tests {
    use super::{LABEL, short};

    #[test]
    fn labels_are_short_and_end_at_a_word() {
        assert_eq!(short("Stop terminals"), "Stop terminals");
        assert_eq!(
            short("Read the board before touching it: power lamp or display"),
            "Read the board before…"
        );
        assert_eq!(short(&"x".repeat(80)).chars().count(), LABEL);
    }
}
