//! Pages about many calls: what they teach, and whether the percentages were honest.

use std::fmt::Write as _;

use super::style::Style;
use crate::records::scores::{Bin, EXACT_UP_TO};
use crate::records::{Calibration, Kinds, Learned, LearnedRate, Skips};

/// Lines in each table of changes.
const MOST_LINES: usize = 12;

/// What was learnt, as a person reads it.
#[must_use]
pub fn render_learned(learned: &Learned, skips: &Skips, style: &Style) -> String {
    let mut text = kinds_page(&learned.kinds, skips, style);
    if learned.at_half > 0 {
        let line = format!(
            "{} of those that confirm a cause count half: their site has no name, or 60 days had not passed, so a callback could not be seen.",
            learned.at_half
        );
        paragraph(&mut text, &line, style);
    }
    if learned.kinds.confirmed == 0 {
        return text;
    }
    text.push('\n');
    rates(&mut text, learned, style);
    outcomes(&mut text, learned, style);
    held(&mut text, learned, style);
    text
}

/// How many calls told what, and which files were skipped.
fn kinds_page(kinds: &Kinds, skips: &Skips, style: &Style) -> String {
    let mut text = String::new();
    let head = format!("{} of {} calls confirm a cause", kinds.confirmed, kinds.calls);
    let _ = writeln!(text, "{}", style.strong(&head));
    for (words, n) in kinds.in_words() {
        let _ = writeln!(
            text,
            "  {n:>7}  {:>5}  {words}",
            percent(n as f64 / kinds.calls.max(1) as f64)
        );
    }
    if kinds.calls > kinds.confirmed {
        paragraph(
            &mut text,
            "Only proven repairs count for causes; the others count for none.",
            style,
        );
    }
    if skips.count > 0 {
        let line = format!("skipped: {} file(s) that can't be used", skips.count);
        let _ = writeln!(text, "{}", style.caution(&line));
        for (place, reason) in &skips.named {
            paragraph(&mut text, &format!("  {place}: {reason}"), style);
        }
        if skips.count > skips.named.len() as u64 {
            let _ = writeln!(text, "  ... and {} more", skips.count - skips.named.len() as u64);
        }
    }
    text
}

fn rates(text: &mut String, learned: &Learned, style: &Style) {
    let mut changed: Vec<&LearnedRate> = learned.rates.iter().collect();
    changed.sort_by(|a, b| {
        let by = |r: &LearnedRate| (r.change.now - r.change.was).abs();
        by(b).total_cmp(&by(a)).then_with(|| a.cause.cmp(&b.cause))
    });
    let head = format!(
        "Base rates that change most, calls in a thousand ({} calls the author's worth)",
        learned.weights.rates
    );
    paragraph_with(text, &head, style, |line| style.strong(line));
    let _ = writeln!(text, "{:>8} {:>7} {:>14} {:>13}  cause", "was", "now", "95 %", "calls");
    for rate in changed.iter().take(MOST_LINES) {
        let c = &rate.change;
        let interval = format!("{} to {}", short(c.interval[0]), short(c.interval[1]));
        let calls = format!("{} of {}", short(c.seen), c.of.round());
        let line = format!(
            "{:>8} {:>7} {interval:>14} {calls:>13}  {}",
            short(c.was),
            short(c.now),
            rate.title
        );
        let _ = writeln!(text, "{}", cut(&line, style.width));
    }
    if let Some(c) = learned.nothing_wrong {
        let line = format!(
            "Nothing wrong: was {}, now {} (95 % {} to {}); {} of {} calls.",
            percent(c.was),
            percent(c.now),
            percent(c.interval[0]),
            percent(c.interval[1]),
            c.seen,
            c.of
        );
        paragraph(text, &line, style);
    }
}

fn outcomes(text: &mut String, learned: &Learned, style: &Style) {
    if learned.outcomes.is_empty() {
        return;
    }
    let mut changed: Vec<(f64, String)> = Vec::new();
    for of in &learned.outcomes {
        for (outcome, c) in &of.outcomes {
            let what = of.cause.as_deref().unwrap_or("healthy");
            let line = format!(
                "{:>8} {:>7} {:>14} {:>13}  {what}: {} {outcome}",
                percent(c.was),
                percent(c.now),
                format!(
                    "{} to {}",
                    percent(c.interval[0]).trim_end_matches(" %"),
                    percent(c.interval[1])
                ),
                format!("{} of {}", short(c.seen), c.of.round()),
                of.test
            );
            changed.push(((c.now - c.was).abs(), line));
        }
    }
    changed.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    let head = format!(
        "\nOutcomes that change most ({} answers the author's worth)",
        learned.weights.tests
    );
    let _ = writeln!(text, "{}", style.strong(&head));
    let _ = writeln!(
        text,
        "{:>8} {:>7} {:>14} {:>13}  what was there: test, outcome",
        "was", "now", "95 %", "answers"
    );
    for (_, line) in changed.iter().take(MOST_LINES) {
        let _ = writeln!(text, "{}", cut(line, style.width));
    }
}

fn held(text: &mut String, learned: &Learned, style: &Style) {
    let held: Vec<&str> = learned
        .rates
        .iter()
        .filter(|r| r.held)
        .map(|r| r.title.as_str())
        .collect();
    if held.is_empty() {
        return;
    }
    text.push('\n');
    let named = held.iter().take(3).copied().collect::<Vec<_>>().join("; ");
    let line = format!(
        "{} dangerous cause(s) would come out rarer and stay as they are ({named}{}): a dangerous gate often ends out of use or referred, and those calls \
         count for nothing.",
        held.len(),
        if held.len() > 3 { "; ..." } else { "" }
    );
    paragraph(text, &line, style);
}

/// Whether the percentages were honest, as a person reads it.
#[must_use]
pub fn render_calibration(calibration: &Calibration, skips: &Skips, style: &Style) -> String {
    let mut text = kinds_page(&calibration.kinds, skips, style);
    let Some(scores) = &calibration.scores else {
        return text;
    };
    text.push('\n');
    let head = format!("What it said right before the first repair, {} calls", scores.calls);
    let _ = writeln!(text, "{}", style.strong(&head));
    let _ = writeln!(
        text,
        "{:>12} {:>7} {:>8} {:>10} {:>14}",
        "it said", "calls", "mean", "came true", "if honest"
    );
    for bin in &scores.bins {
        bin_line(&mut text, bin, style);
    }
    if let Some(bin) = scores.bins.iter().max_by_key(|b| b.calls) {
        let said = format!(
            "Of the calls where it said {:.0} to {:.0} %, {} were that.",
            bin.from * 100.0,
            bin.to * 100.0,
            percent(bin.observed)
        );
        paragraph(&mut text, &said, style);
    }
    let _ = writeln!(text);
    let _ = writeln!(
        text,
        "Brier score {:.4} = reliability {:.4} - resolution {:.4} + uncertainty {:.4}\n            {:+.4} within the bins; 0 is best",
        scores.brier, scores.reliability, scores.resolution, scores.uncertainty, scores.within
    );
    let _ = writeln!(text, "Log score   {:.4}; 0 is best", scores.log);
    if let Some(z) = scores.z {
        let _ = writeln!(text, "Spiegelhalter's z {z:.2}; {} of 10 bins inside", scores.inside());
        paragraph(
            &mut text,
            verdict(z, scores.inside(), scores.observed - scores.predicted),
            style,
        );
    }
    text.push('\n');
    paragraph(&mut text, &notes(calibration), style);
    text
}

fn bin_line(text: &mut String, bin: &Bin, style: &Style) {
    let said = format!("{:.0} to {:.0} %", bin.from * 100.0, bin.to * 100.0);
    if bin.calls == 0 {
        let _ = writeln!(text, "{said:>12} {:>7}", 0);
        return;
    }
    let expected = format!(
        "{} to {}",
        percent(bin.expected[0]).trim_end_matches(" %"),
        percent(bin.expected[1])
    );
    let mark = if bin.inside {
        "inside".to_owned()
    } else {
        style.caution("OUTSIDE")
    };
    let _ = writeln!(
        text,
        "{said:>12} {:>7} {:>8} {:>10} {expected:>14}  {mark}",
        bin.calls,
        percent(bin.predicted),
        percent(bin.observed)
    );
}

/// In words; 2.58 is the 99 % point of the normal distribution on both sides.
fn verdict(z: f64, inside: usize, observed_less_said: f64) -> &'static str {
    match (z.abs() < 2.58 && inside >= 9, observed_less_said > 0.0) {
        (true, _) => "Nothing here speaks against the percentages.",
        (false, true) => "The percentages were not honest: on the whole too low.",
        (false, false) => "The percentages were not honest: on the whole too high.",
    }
}

fn notes(calibration: &Calibration) -> String {
    let a = &calibration.asides;
    format!(
        "One prediction a call: the leading cause, as a share of what is listed: p / (1 - not listed - nothing wrong). \"If honest\": where 95 % of the shares lie; exact up to \
         {EXACT_UP_TO} calls in a line, normal above. {} calls count as misses because a repair of the leading cause was proven not to help. {} were left open by more \
         than 5 % and settled by a draw from the belief given everything; that part of them can't speak against it. Not scored: {} in which the draw says that nothing \
         listed was wrong, {} in which the leading cause was never put to the test, {} without a percentage.{}",
        a.refuted,
        a.drawn,
        a.nothing_listed,
        a.not_tested,
        a.without_prediction,
        match a.called_back {
            0 => String::new(),
            n => format!(" Nor {n} that were called back within 60 days."),
        }
    )
}

fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.095 {
        format!("{:.1} %", share * 100.0)
    } else {
        format!("{:.0} %", share * 100.0)
    }
}

/// At most three digits, no more than one behind the point.
fn short(value: f64) -> String {
    let rounded = format!("{value:.1}");
    match rounded.strip_suffix(".0") {
        Some(whole) => whole.to_owned(),
        None if value >= 99.95 => format!("{value:.0}"),
        None => rounded,
    }
}

fn cut(line: &str, width: usize) -> String {
    if line.chars().count() <= width {
        return line.to_owned();
    }
    let start: String = line.chars().take(width.saturating_sub(3)).collect();
    format!("{}...", start.trim_end())
}

fn paragraph(text: &mut String, words: &str, style: &Style) {
    paragraph_with(text, words, style, str::to_owned);
}

fn paragraph_with(text: &mut String, words: &str, style: &Style, paint: impl Fn(&str) -> String) {
    let indent: String = words.chars().take_while(|c| *c == ' ').collect();
    let further = format!("{indent}  ");
    let options = textwrap::Options::new(style.width.max(20))
        .initial_indent(&indent)
        .subsequent_indent(if indent.is_empty() { "" } else { &further })
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    for line in textwrap::wrap(words.trim_start(), options) {
        let _ = writeln!(text, "{}", paint(&line));
    }
}
