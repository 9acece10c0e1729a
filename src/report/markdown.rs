//! The service record as a Markdown page, in the order in which a service manager reads it: how it ended, what is
//! deficient, who and when, the complaint, dangers, evidence, cause, repair, retest, what is left, signatures.

use std::fmt::Write as _;

use super::phrases::{clock, percent};
use super::record::{
    BookedVisit, CauseLine, DoneRepair, Labelled, NoteLine, OutOfUseLine, Ranking, ReadingLine, RetestLine,
    ServiceRecord, Timed,
};

/// So many ruled-out causes are on the page; the data has all.
const MOST_RULED_OUT: usize = 15;

/// Writes a record as Markdown (the table form of GitHub's dialect). Texts of people and packs are escaped: none can make a heading,
/// a link, a picture or HTML.
#[must_use]
pub fn markdown(record: &ServiceRecord) -> String {
    let mut page = Page::default();
    head(&mut page, record);
    before(&mut page, record);
    evidence(&mut page, record);
    work(&mut page, record);
    rest(&mut page, record);
    page.text
}

/// A page that grows by blocks.
#[derive(Default)]
struct Page {
    text: String,
}

impl Page {
    fn put(&mut self, line: std::fmt::Arguments<'_>) {
        // Writing to a String can't fail.
        let _written = self.text.write_fmt(line);
        self.text.push('\n');
    }

    fn heading(&mut self, title: &str) {
        self.put(format_args!("\n## {title}\n"));
    }

    fn item(&mut self, text: &str) {
        self.put(format_args!("- {text}"));
    }

    fn items(&mut self, texts: impl IntoIterator<Item = String>) {
        texts.into_iter().for_each(|t| self.item(&t));
    }

    /// A heading with its items; nothing without items.
    fn list(&mut self, title: &str, texts: impl IntoIterator<Item = String>) {
        let mut texts = texts.into_iter().peekable();
        if texts.peek().is_some() {
            self.heading(title);
            self.items(texts);
        }
    }

    fn row(&mut self, cells: &[&str]) {
        self.put(format_args!("| {} |", cells.join(" | ")));
    }

    fn table(&mut self, titles: &[&str]) {
        self.row(titles);
        self.row(&vec!["---"; titles.len()]);
    }
}

fn head(page: &mut Page, record: &ServiceRecord) {
    let site = record
        .site
        .as_deref()
        .map_or_else(|| "site not named".to_owned(), escape);
    page.put(format_args!("# Service record: {site}\n"));
    page.put(format_args!("**Ended as: {}**\n", record.ending.word.to_uppercase()));
    page.items(record.ending.says.iter().map(|s| format!("**{}**", escape(s))));
    page.items(
        record
            .ending
            .reason
            .iter()
            .map(|r| format!("Reason given: {}", escape(r))),
    );
    page.items(record.callback.iter().map(|c| format!("**Callback:** {}", escape(c))));
    if !record.deficiencies.is_empty() {
        page.heading("Deficiencies");
        page.put(format_args!(
            "These lines of the safety retest are not passed. \"Not done\" is not a pass. The owner is to be told in writing.\n"
        ));
        page.items(record.deficiencies.iter().map(labelled));
    }
    page.heading("Call");
    page.table(&["", ""]);
    let time = |t: &Option<String>| t.as_deref().map_or_else(|| "-".to_owned(), when);
    page.row(&["Opened", &time(&record.opened)]);
    page.row(&["Closed", &time(&record.closed)]);
    page.row(&["Person at the gate", &escape(&record.technician)]);
    if let Some(how) = &record.entitlement {
        page.row(&["Person asking was verified by", &escape(how)]);
    }
    page.row(&["Time at standard figures", &format!("{:.0} minutes", record.minutes)]);
    page.put(format_args!(""));
    page.items(record.visits.iter().map(timed));
}

fn before(page: &mut Page, record: &ServiceRecord) {
    page.list("Site", record.facts.iter().map(labelled));
    page.heading("Complaint");
    let words = match record.complaint.words.as_str() {
        "" => "no words were written down".to_owned(),
        words => escape(words),
    };
    page.put(format_args!("> {words}"));
    if !record.complaint.symptoms.is_empty() || !record.complaint.denied.is_empty() {
        page.put(format_args!(""));
    }
    page.items(
        record
            .complaint
            .symptoms
            .iter()
            .map(|s| format!("Taken for: {}", escape(s))),
    );
    page.items(
        record
            .complaint
            .denied
            .iter()
            .map(|s| format!("Asked after, not there: {}", escape(s))),
    );
    page.heading("Hazard signs");
    if record.signs.is_empty() {
        page.put(format_args!("**Not asked.**"));
    }
    for (i, asked) in record.signs.iter().enumerate() {
        if i > 0 {
            page.put(format_args!(""));
        }
        page.put(format_args!(
            "Asked {} at {}:\n",
            escape(&asked.place),
            when(&asked.time)
        ));
        page.table(&["Question", "Answer"]);
        for sign in &asked.answers {
            let answer = if sign.answer == "no" {
                "no".to_owned()
            } else {
                format!("**{}**", escape(&sign.answer))
            };
            page.row(&[&escape(&sign.question), &answer]);
        }
    }
    page.list("Out of use and made safe", record.out_of_use.iter().map(out_of_use));
    if let Some(booked) = &record.visit {
        visit(page, booked);
    }
}

fn visit(page: &mut Page, visit: &BookedVisit) {
    page.heading("The visit, as booked on the phone");
    page.table(&["", ""]);
    page.row(&["Booked", &when(&visit.time)]);
    page.row(&["Who", &escape(&visit.who)]);
    page.row(&["Time at the gate", &visit.booked]);
    let promise = format!(
        "put right at this visit in {} of such calls; with the kit alone in {}",
        percent(visit.promised),
        percent(visit.bare)
    );
    page.row(&["Promise", &promise]);
    page.put(format_args!(""));
    page.items(visit.remarks.iter().map(|r| escape(r)));
    if !visit.load.is_empty() {
        page.put(format_args!(""));
        page.table(&["Loaded", "Fits by", "For", "Put right with it and all above"]);
        for line in &visit.load {
            page.row(&[
                &escape(&line.things),
                &escape(&line.fits),
                &escape(&line.causes),
                &percent(line.rate),
            ]);
        }
    }
}

fn evidence(page: &mut Page, record: &ServiceRecord) {
    page.list("Was it doing it?", record.doing_it.iter().map(timed));
    page.heading("Told, seen and measured");
    if record.readings.is_empty() {
        page.put(format_args!("Nothing was measured or looked at."));
    } else {
        page.table(&["No.", "Test", "Place", "Reading", "Held against", "Outcome", "How"]);
        record.readings.iter().for_each(|r| reading(page, r));
        page.put(format_args!(
            "\n± is the most that the meter may err, unless it says otherwise. \"Superseded\": a later or surer answer about the same thing counts."
        ));
    }
    ranking(page, &record.ranking);
    page.heading(if record.settled {
        "Cause found"
    } else {
        "Cause: not settled"
    });
    if record.causes.is_empty() {
        page.put(format_args!("No cause stands out."));
    }
    page.items(record.causes.iter().map(cause));
    if !record.ruled_out.is_empty() {
        page.heading("Ruled out, and by what");
        page.put(format_args!(
            "Each has become at least ten times less likely than before the first answer.\n"
        ));
        page.items(record.ruled_out.iter().take(MOST_RULED_OUT).map(|r| {
            let how = if r.together {
                "several answers together, most of all: "
            } else {
                ""
            };
            format!("{} - {how}{}", escape(&r.cause), escape(&r.by))
        }));
        if let more @ 1.. = record.ruled_out.len().saturating_sub(MOST_RULED_OUT) {
            page.item(&format!("{more} more that were less likely to begin with"));
        }
    }
}

/// How the ranking moved: a row a moment, a column a cause.
fn ranking(page: &mut Page, ranking: &Ranking) {
    if ranking.points.len() < 2 {
        return;
    }
    page.heading("How the ranking moved");
    let causes: Vec<String> = ranking.lines.iter().map(|l| escape(&l.cause)).collect();
    let titles: Vec<&str> = ["After", "Where"]
        .into_iter()
        .chain(causes.iter().map(String::as_str))
        .collect();
    page.table(&titles);
    for (at, point) in ranking.points.iter().enumerate() {
        let number = point.number.map_or_else(String::new, |n| format!("{n} "));
        let mut cells = vec![format!("{number}{}", escape(&point.label)), escape(&point.taken)];
        cells.extend(
            ranking
                .lines
                .iter()
                .map(|l| l.chances.get(at).map_or_else(String::new, |p| escape(&percent(*p)))),
        );
        page.row(&cells.iter().map(String::as_str).collect::<Vec<_>>());
    }
    page.put(format_args!(
        "\nChance that each was there at the start. Two can be there at once: a row may add to more than 100."
    ));
}

fn work(page: &mut Page, record: &ServiceRecord) {
    page.heading("Work done");
    if record.repairs.is_empty() {
        page.put(format_args!("Nothing was repaired."));
    }
    record.repairs.iter().for_each(|r| repair(page, r));
    page.heading("Safety retest");
    if record
        .retest
        .iter()
        .all(|l| l.remark.is_empty() && l.result == super::RetestResult::NotDone)
    {
        page.put(format_args!(
            "**Not done. No protection device was retested in this call.**"
        ));
    } else {
        page.table(&["Line", "Result", "Reading or remark", "When"]);
        record.retest.iter().for_each(|l| retest(page, l));
    }
    page.list("Given back", record.given_back.iter().map(timed));
    page.list(
        "Still to be given back or set again",
        record.still_to_give_back.iter().map(|w| escape(w)),
    );
    page.list(
        "State in which the gate was left",
        record.left_as.iter().map(|s| escape(s)),
    );
}

fn rest(page: &mut Page, record: &ServiceRecord) {
    let left = record.recommendations.iter();
    page.list(
        "Left to do",
        left.map(|r| format!("**{}**: {}", escape(&r.kind), escape(&r.text))),
    );
    page.list("Cautions that applied", record.cautions.iter().map(|c| escape(c)));
    page.list("Not tested", record.not_tested.iter().map(labelled));
    page.list("Not checked", record.not_checked.iter().map(labelled));
    page.list("Notes", record.notes.iter().map(note));
    page.list("Answers taken back", record.retracted.iter().map(timed));
    page.heading("Knowledge");
    let reference = &record.knowledge;
    page.item(&format!(
        "Packs: {}",
        reference.packs.iter().map(|p| escape(p)).collect::<Vec<_>>().join(", ")
    ));
    let print = reference
        .fingerprint
        .as_deref()
        .map_or_else(|| "not written down".to_owned(), escape);
    page.item(&format!("Fingerprint: {print}"));
    if let Some(other) = &reference.made_with {
        page.item(&format!(
            "**The call was held with other knowledge than this record was made with: {}**",
            escape(other)
        ));
    }
    if reference.unknown_entries > 0 {
        page.item(&format!(
            "**{} answer(s) name something that the knowledge at hand does not have; they are not shown above.**",
            reference.unknown_entries
        ));
    }
    page.heading("What this record is not");
    page.put(format_args!(
        "It is an aid for trained people, not a certificate. Local codes, the operator's manual and licensed people win over every line of it."
    ));
    page.list(
        "To be told to the owner in writing",
        record.told_in_writing.iter().map(|t| escape(t)),
    );
    page.heading("Signatures");
    let told = (!record.told_in_writing.is_empty()).then_some("Owner, told in writing");
    for signer in ["Technician", "Owner or owner's agent"].into_iter().chain(told) {
        page.put(format_args!("{signer}: \\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_ Date: \\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\n"));
    }
    let end = page.text.trim_end().len();
    page.text.truncate(end);
    page.text.push('\n');
}

fn labelled(line: &Labelled) -> String {
    let mark = if line.label.ends_with('?') { "" } else { ":" };
    format!("{}{mark} {}", escape(&line.label), escape(&line.text))
}

fn timed(line: &Timed) -> String {
    format!("{}: {}", when(&line.time), escape(&line.text))
}

fn out_of_use(line: &OutOfUseLine) -> String {
    let time = line
        .time
        .as_deref()
        .map_or_else(String::new, |t| format!("{}: ", when(t)));
    let mut text = format!("{time}**{}**", escape(&line.text));
    for reason in &line.reasons {
        text.push_str("\n  - ");
        text.push_str(&escape(reason));
    }
    text
}

fn reading(page: &mut Page, line: &ReadingLine) {
    let how = format!(
        "{} {}, {}{}",
        line.by,
        line.taken,
        when(&line.time),
        if line.counts { "" } else { ", superseded" }
    );
    let place = line.place.as_deref().map_or_else(|| "-".to_owned(), escape);
    page.row(&[
        &line.number.to_string(),
        &escape(&line.test),
        &place,
        &escape(&line.reading),
        &escape(&line.limits),
        &escape(&line.outcome),
        &escape(&how),
    ]);
}

fn cause(line: &CauseLine) -> String {
    format!(
        "{} - {} ({}); {}",
        escape(&line.cause),
        line.words,
        percent(line.chance),
        escape(&line.now)
    )
}

fn repair(page: &mut Page, done: &DoneRepair) {
    page.item(&format!("{}: **{}**", when(&done.time), escape(&done.repair)));
    if done.explained {
        page.put(format_args!(
            "  - Nothing was changed: the owner was told how it works."
        ));
    } else {
        page.put(format_args!("  - Minutes: {:.0}", done.minutes));
    }
    let lines = [
        ("Parts", done.parts.join("; ")),
        ("Noted", done.noted.clone().unwrap_or_default()),
        ("Touched", done.touched.join(", ")),
        ("Wiped, must be set again", done.wiped.join(", ")),
    ];
    for (label, text) in lines.iter().filter(|(_, text)| !text.is_empty()) {
        page.put(format_args!("  - {label}: {}", escape(text)));
    }
    for proof in &done.proof {
        page.put(format_args!(
            "  - Proof, {}: {}",
            escape(&proof.label),
            escape(&proof.text)
        ));
    }
}

fn retest(page: &mut Page, line: &RetestLine) {
    let result = match line.result {
        super::RetestResult::Passed => "passed".to_owned(),
        other => format!("**{}**", other.say()),
    };
    let time = line.time.as_deref().map_or_else(|| "-".to_owned(), when);
    page.row(&[&escape(&line.title), &result, &escape(&line.remark), &time]);
    for one in &line.each {
        page.row(&[
            "",
            if one.result == super::RetestResult::Passed {
                "passed"
            } else {
                "**NOT PASSED**"
            },
            &escape(&one.what),
            "",
        ]);
    }
}

fn note(line: &NoteLine) -> String {
    let text = line.text.as_deref().map_or_else(
        || "*a note was left out here: it looked like a code or a PIN*".to_owned(),
        escape,
    );
    format!("{}: {text}", when(&line.time))
}

/// A time as it is shown.
fn when(time: &str) -> String {
    escape(&clock(time))
}

/// Takes every meaning for Markdown and HTML off a text. The text has no line breaks: [`super::plain_text`] saw to that.
fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    let list = text.trim_start_matches(|c: char| c.is_ascii_digit());
    let ends_number = |l: &str| l.is_empty() || l.starts_with(' ');
    let numbered = list.len() < text.len() && list.strip_prefix(['.', ')']).is_some_and(ends_number);
    for (i, c) in text.char_indices() {
        let begins = i == 0 && matches!(c, '-' | '+' | '=');
        let number = numbered && i == text.len() - list.len();
        if begins
            || number
            || matches!(
                c,
                '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '#' | '|' | '~' | '&' | '!' | '$'
            )
        {
            escaped.push('\\');
        }
        escaped.push(if c.is_control() { ' ' } else { c });
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::{escape, when};

    #[test]
    fn nothing_that_people_write_has_a_meaning_for_markdown() {
        for (text, escaped) in [
            ("# big", "\\# big"),
            ("- item", "\\- item"),
            ("12. item", "12\\. item"),
            ("12.4 V", "12.4 V"),
            ("a | b", "a \\| b"),
            ("[x](y) ![p](q)", "\\[x\\](y) \\!\\[p\\](q)"),
            ("<b>&amp;", "\\<b\\>\\&amp;"),
            ("a\nb", "a b"),
            ("snake_case *bold*", "snake\\_case \\*bold\\*"),
        ] {
            assert_eq!(escape(text), escaped);
        }
    }

    #[test]
    fn times_are_shown_to_the_minute_with_their_zone() {
        assert_eq!(when("2026-01-01T08:00:00Z"), "2026-01-01 08:00 UTC");
        assert_eq!(when("2026-01-01T08:00:00.25-05:00"), "2026-01-01 08:00 -05:00");
        assert_eq!(when("yesterday"), "yesterday");
    }
}
