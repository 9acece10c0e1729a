//! The page of `pintle why`: the ranking now, what each answer did, whether the answers agree, and how the next step was chosen.

use super::phrases::{self, percent};
use super::privacy::plain_text;
use crate::belief::{Conflict, Influence, conflict, influence};
use crate::call::{Call, Purpose, Step};
use crate::knowledge::schema::Severity;
use crate::model::{CauseId, TestId};
use crate::plan::{Action, Choice, Priced};
use crate::terminal::Style;

/// Causes below this share are not listed one by one.
const LISTED: f64 = 0.01;
/// At most so many causes are listed.
const MOST_LISTED: usize = 10;
/// A pair from here is named as a pair.
const PAIR: f64 = 0.10;
/// So many causes are followed through the answers.
const LEADING: usize = 5;
/// An answer that moves the odds by less than this (5 %) did nothing worth a line.
const NOTHING: f64 = 0.05;
/// Alternatives that are shown with their price.
const ALTERNATIVES: usize = 3;
/// Columns of the longest bar.
const BAR: usize = 20;

/// Why the ranking is what it is and how the next step was chosen.
#[must_use]
pub fn render_why(call: &Call<'_>, style: &Style) -> String {
    let mut page = Page {
        text: String::new(),
        style: *style,
    };
    stopped(&mut page, call);
    ranking(&mut page, call);
    answers(&mut page, call);
    agreement(&mut page, call);
    next_step(&mut page, call);
    page.text
}

/// A page that grows by lines and wraps them.
struct Page {
    text: String,
    style: Style,
}

impl Page {
    fn heading(&mut self, title: &str) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        let title = self.style.strong(title);
        self.text.push_str(&title);
        self.text.push('\n');
    }

    /// A line, broken at the width, further lines indented by `hang`.
    fn line(&mut self, text: &str, indent: usize, hang: usize) {
        self.painted(text, indent, hang, |_, line| line.to_owned());
    }

    fn painted(&mut self, text: &str, indent: usize, hang: usize, paint: fn(&Style, &str) -> String) {
        let (first, rest) = (" ".repeat(indent), " ".repeat(hang));
        let options = textwrap::Options::new(self.style.width.max(20))
            .initial_indent(&first)
            .subsequent_indent(&rest)
            .break_words(false);
        for line in textwrap::wrap(text, options) {
            self.text.push_str(&paint(&self.style, &line));
            self.text.push('\n');
        }
    }
}

fn stopped(page: &mut Page, call: &Call<'_>) {
    let Some(stop) = call.stop() else {
        return;
    };
    page.painted("OUT OF USE: nobody runs this gate.", 0, 0, Style::danger);
    if !stop.made_safe {
        page.painted("Making it safe is not recorded yet.", 0, 0, Style::danger);
    }
    for sign in &stop.signs {
        let ask = call.engine.knowledge.signs.get(sign).map_or(sign.as_str(), |s| &s.ask);
        page.line(&format!("Yes or can't tell: {}", plain_text(ask)), 2, 4);
    }
    if let Some(danger) = stop.danger {
        page.line(&format!("By the ranking: {}.", phrases::worst(danger)), 2, 4);
    }
}

/// Causes by P(c ∈ G), most likely first.
fn ranked(call: &Call<'_>) -> Vec<(CauseId, f64)> {
    let p = call.belief().causes(&call.engine.model);
    let mut ranked: Vec<(CauseId, f64)> = p.into_iter().enumerate().map(|(c, p)| (CauseId::at(c), p)).collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    ranked
}

fn ranking(page: &mut Page, call: &Call<'_>) {
    page.heading("Ranking now");
    let belief = call.belief();
    if call.symptoms().is_empty() {
        page.line("Nothing was reported yet: there is nothing to rank.", 2, 2);
        return;
    }
    if belief.total <= 0.0 {
        page.line(
            "The answers exclude everything: there is no ranking. See below which to take again.",
            2,
            2,
        );
        return;
    }
    let ranked = ranked(call);
    let shown: Vec<&(CauseId, f64)> = ranked.iter().filter(|(_, p)| *p >= LISTED).take(MOST_LISTED).collect();
    for (cause, p) in &shown {
        let mark = match call.engine.model.severity[cause.index()] {
            Severity::Kill => " (may kill)",
            Severity::Maim => " (may maim)",
            Severity::Hurt | Severity::None => "",
        };
        bar(
            page,
            *p,
            &format!("{}{mark}", phrases::cause(&call.engine.knowledge, cause.index())),
        );
    }
    bar(page, belief.not_listed(), "something that is not listed");
    bar(page, belief.nothing(), "nothing wrong now");
    if !call.repairs().is_empty() {
        bar(page, belief.cured(), "everything listed that was wrong is put right");
    }
    pairs(page, call);
    let rest = ranked.iter().skip(shown.len()).filter(|(_, p)| *p > 0.0).count();
    let more = match rest {
        0 => String::new(),
        1 => " 1 more cause is less likely.".to_owned(),
        n => format!(" {n} more causes are less likely."),
    };
    let note = format!("Lines may add to more than 100: two faults can be there at once.{more}");
    page.painted(&note, 2, 2, Style::faint);
}

fn bar(page: &mut Page, p: f64, label: &str) {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of a short bar, 0 to BAR"
    )]
    let filled = (p.clamp(0.0, 1.0) * BAR as f64).round() as usize;
    let (full, empty) = if page.style.unicode { ('█', '·') } else { ('#', '.') };
    let drawn: String = (0..BAR).map(|i| if i < filled { full } else { empty }).collect();
    page.line(&format!("{:>6}  {drawn}  {label}", percent(p)), 2, 12 + BAR);
}

fn pairs(page: &mut Page, call: &Call<'_>) {
    let belief = call.belief();
    let model = &call.engine.model;
    let p = belief.causes(model);
    let likely: Vec<CauseId> = (0..p.len()).filter(|&c| p[c] >= PAIR).map(CauseId::at).collect();
    for (i, &c) in likely.iter().enumerate() {
        for &d in &likely[i + 1..] {
            let both = belief.share(|b| b.has(c) && b.has(d));
            if both > PAIR {
                let title = |c: CauseId| phrases::cause(&call.engine.knowledge, c.index());
                page.line(
                    &format!("{:>6}  both at once: {} and {}", percent(both), title(c), title(d)),
                    2,
                    10,
                );
            }
        }
    }
}

/// What a change of the log odds is called; limits ln 2 and ln 10.
fn strength(log_odds: f64) -> &'static str {
    match log_odds.abs() {
        m if m < 2f64.ln() => "a little",
        m if m < 10f64.ln() => "clearly",
        _ => "strongly",
    }
}

fn answers(page: &mut Page, call: &Call<'_>) {
    if call.symptoms().is_empty() {
        return;
    }
    page.heading("What each answer did");
    let evidence = &call.situation().evidence;
    let leading: Vec<CauseId> = ranked(call)
        .into_iter()
        .filter(|r| r.1 > 0.0)
        .take(LEADING)
        .map(|r| r.0)
        .collect();
    let prior = call.engine.planner().prior(call.situation());
    let all = influence(&call.engine.model, &prior, evidence, &leading);
    if all.is_empty() {
        page.line(
            "Nothing that counts was answered yet: the ranking is what the symptoms and the site make of it.",
            2,
            2,
        );
        return;
    }
    let mut events: Vec<usize> = all.iter().map(|i| i.event).collect();
    events.dedup();
    for event in events {
        let how = call.answers().iter().find(|c| c.event == event);
        let how = how.map_or_else(String::new, |c| format!(" ({})", phrases::rank(c.by)));
        page.line(&format!("{}{how}", phrases::evidence(call, event)), 2, 4);
        one_answer(page, call, &all, event);
    }
    for old in call.answers().iter().filter(|c| !c.counts) {
        let text = format!(
            "{} ({}): does not count, a later or surer answer about the same thing does",
            phrases::answer(&call.engine.knowledge, old),
            phrases::rank(old.by)
        );
        page.painted(&text, 2, 4, Style::faint);
    }
    let note = "For the five leading causes. Each line is one answer with all others kept. Answers share what they say: they don't add up.";
    page.painted(note, 2, 2, Style::faint);
}

fn one_answer(page: &mut Page, call: &Call<'_>, all: &[Influence], event: usize) {
    let mut did: Vec<&Influence> = all
        .iter()
        .filter(|i| i.event == event && i.log_odds.abs() >= NOTHING)
        .collect();
    if did.is_empty() {
        page.line("told the leading five apart hardly at all", 6, 8);
        return;
    }
    did.sort_by(|a, b| b.log_odds.total_cmp(&a.log_odds).then(a.cause.cmp(&b.cause)));
    for i in did {
        let side = if i.log_odds > 0.0 { "for" } else { "against" };
        let cause = phrases::cause(&call.engine.knowledge, i.cause.index());
        page.line(&format!("{} {side}: {cause}", strength(i.log_odds)), 6, 8);
    }
}

fn agreement(page: &mut Page, call: &Call<'_>) {
    if call.symptoms().is_empty() {
        return;
    }
    page.heading("Do the answers agree?");
    let prior = call.engine.planner().prior(call.situation());
    match conflict(&call.engine.model, &prior, &call.situation().evidence) {
        Conflict::None => page.line("They do.", 2, 2),
        Conflict::Rare => page.line(
            "They are unusual together, but there is a cause that explains them: rare, but it fits.",
            2,
            2,
        ),
        Conflict::Contradiction { retake } => {
            page.painted(
                "No. They contradict each other, and no listed cause explains them together.",
                2,
                2,
                Style::caution,
            );
            page.line(&format!("Take again: {}", phrases::evidence(call, retake)), 2, 4);
        }
        Conflict::Impossible { retake } => {
            page.painted(
                "No. Together they exclude everything that is listed.",
                2,
                2,
                Style::caution,
            );
            page.line(&format!("Take again: {}", phrases::evidence(call, retake)), 2, 4);
            page.line(
                "If it stands, the gate has something that this knowledge does not have: refer.",
                2,
                4,
            );
        }
    }
}

/// The plan's choice where the plan has the word; else why it has not.
enum Next {
    Chosen(Box<Choice>),
    Fixed(&'static str),
}

fn next_step(page: &mut Page, call: &Call<'_>) {
    page.heading("Next step");
    if call.belief().total <= 0.0 && call.ending().is_none() && !call.symptoms().is_empty() {
        page.line(
            "No step can be priced while the answers exclude everything. Take the one above again, or refer.",
            2,
            2,
        );
        return;
    }
    match next(call) {
        Next::Fixed(why) => page.line(why, 2, 2),
        Next::Chosen(choice) => chosen(page, call, &choice),
    }
}

fn next(call: &Call<'_>) -> Next {
    let step = call.next_step();
    let proving = call
        .repairs()
        .last()
        .is_some_and(|r| r.proof.len() < call.symptoms().len());
    let proven = call.repairs().last().is_some_and(|r| r.all_gone(call.symptoms()));
    match step {
        Step::Test {
            purpose: Purpose::Plan(choice),
            ..
        }
        | Step::Repair {
            purpose: Purpose::Plan(choice),
            ..
        }
        | Step::Fact {
            purpose: Some(Purpose::Plan(choice)),
            ..
        } => Next::Chosen(choice),
        Step::Test {
            purpose: Purpose::Settles,
            ..
        } => Next::Fixed(
            "A danger is too likely: it is settled before anything else, by the cheapest safe test that tells. Safety steps have no price.",
        ),
        Step::Test {
            purpose: Purpose::AlsoCheck { .. },
            ..
        } => {
            Next::Fixed("The repair is proven. A cause that goes with what was found is looked for before the retest.")
        }
        Step::Repair {
            purpose: Purpose::AlsoCheck { .. },
            ..
        } => Next::Fixed(
            "The repair is proven, and another cause is likelier there than not: it is put right before the retest.",
        ),
        Step::Repair {
            purpose: Purpose::Settles,
            ..
        } => Next::Fixed(
            "A danger is likelier there than not: nothing else is repaired before it. Safety steps have no price.",
        ),
        Step::Fact {
            purpose: Some(Purpose::Settles | Purpose::First | Purpose::AlsoCheck { .. }),
            ..
        } => Next::Fixed("The limits of the next reading hang on it."),
        Step::Test { .. } | Step::Repair { .. } | Step::Fact { purpose: Some(_), .. } => Next::Fixed("You picked it."),
        Step::Caller => Next::Fixed("Where the caller stands comes before anything else."),
        Step::Booked => Next::Fixed("A visit is planned: the call goes on at the gate."),
        Step::Send { choice: None, .. } => {
            Next::Fixed("A hazard sign stands: somebody has to come. Safety steps have no price.")
        }
        Step::Send { .. } => Next::Chosen(Box::new(call.choice())),
        Step::Signs => Next::Fixed("Hazard signs are asked before anything else."),
        Step::PutOutOfUse => Next::Fixed("The gate is put out of use and made safe. Safety steps have no price."),
        Step::Complaint => Next::Fixed("What does the caller say? Without a symptom there is nothing to rank."),
        Step::Fact { .. } | Step::Now => {
            Next::Fixed("A question that opens the walk: it weighs the causes before the first test.")
        }
        Step::DeviceBack { .. } => Next::Fixed("A protection device is off: it goes back before anything else."),
        Step::Proof { .. } => Next::Fixed("The repair is proven by running the gate, symptom by symptom."),
        Step::ClearSigns { .. } => Next::Fixed("The danger of a hazard sign is put right before the gate is run."),
        Step::Watch => Next::Fixed("\"Nothing wrong now\" leads: the gate is run and watched before the call ends."),
        Step::Retest { .. } => {
            Next::Fixed("The repair is proven: the safety retest follows, line by line. It has no price.")
        }
        Step::GiveBack { .. } => Next::Fixed("What was held off or wiped is given back before the call ends."),
        Step::Condition { .. } | Step::Clearance { .. } | Step::Entitlement if proving || proven => {
            Next::Fixed("What must hold before the gate is run for proof or retest. Safety steps have no price.")
        }
        Step::Finish { .. } if proven || call.stop().is_some() => {
            Next::Fixed("The call can end: see which endings are open.")
        }
        Step::Condition { .. } | Step::Clearance { .. } | Step::Entitlement | Step::Finish { .. } => {
            Next::Chosen(Box::new(call.choice()))
        }
        Step::Ended => Next::Fixed("None: the call has ended."),
    }
}

fn chosen(page: &mut Page, call: &Call<'_>, choice: &Choice) {
    let title = action(call, choice.action);
    page.painted(&title, 2, 4, Style::action);
    if let Some(serves) = choice.serves {
        page.line(&format!("It comes before: {}", action(call, serves)), 2, 4);
    }
    let from_here = "from here to a working gate proven safe";
    page.line(
        &format!(
            "Cost: {} expected {from_here}, beginning with it.",
            minutes(choice.cost)
        ),
        2,
        4,
    );
    if matches!(choice.action, Action::Test(_) | Action::Fact(_)) {
        page.line(
            &format!(
                "Worth: it saves {} against going on without it ({}).",
                minutes(choice.worth()),
                minutes(choice.repairs_only)
            ),
            2,
            4,
        );
    }
    if let Action::Test(test) = choice.serves.unwrap_or(choice.action) {
        separates(page, call, test);
    }
    page.line(
        &format!(
            "No plan can cost less than {}; this one is {} above that at most.",
            minutes(choice.lower_bound),
            gap(choice)
        ),
        2,
        4,
    );
    if choice.kept < 0.9995 {
        page.line(
            &format!("Planning looked at {:.1} % of what is possible.", choice.kept * 100.0),
            2,
            4,
        );
    }
    if !choice.others.is_empty() {
        page.line("Next best:", 2, 4);
        choice
            .others
            .iter()
            .take(ALTERNATIVES)
            .for_each(|o| alternative(page, call, choice, o));
    }
}

fn gap(choice: &Choice) -> String {
    if choice.lower_bound > 0.0 {
        format!("{:.0} %", choice.gap() * 100.0)
    } else {
        minutes(choice.cost - choice.lower_bound)
    }
}

fn alternative(page: &mut Page, call: &Call<'_>, choice: &Choice, other: &Priced) {
    let more = other.cost - choice.cost;
    let text = format!(
        "{}: {} ({} more)",
        action(call, other.action),
        minutes(other.cost),
        minutes(more)
    );
    page.line(&text, 4, 6);
}

/// Which of the leading causes would show what.
fn separates(page: &mut Page, call: &Call<'_>, test: TestId) {
    let table = &call.engine.model.tests[test.index()];
    let mut shown: Vec<(usize, Vec<String>)> = Vec::new();
    for (cause, _) in ranked(call).into_iter().filter(|r| r.1 >= LISTED).take(LEADING) {
        let chances = table.outcomes_given(&[cause]);
        let most = (0..chances.len()).max_by(|a, b| chances[*a].total_cmp(&chances[*b]).then(b.cmp(a)));
        let Some(outcome) = most else {
            return;
        };
        let title = phrases::cause(&call.engine.knowledge, cause.index());
        match shown.iter_mut().find(|(o, _)| *o == outcome) {
            Some((_, causes)) => causes.push(title),
            None => shown.push((outcome, vec![title])),
        }
    }
    page.line(
        "It separates the leading causes by what they would most likely show:",
        2,
        4,
    );
    for (outcome, causes) in shown {
        let says = phrases::outcome(&call.engine.knowledge, test.index(), outcome);
        page.line(&format!("{says}: {}", causes.join("; ")), 4, 6);
    }
}

fn action(call: &Call<'_>, action: Action) -> String {
    let knowledge = &call.engine.knowledge;
    let id = |key: Option<&String>| key.cloned().unwrap_or_default();
    match action {
        Action::Test(t) => format!(
            "Test: {}",
            phrases::test(knowledge, &id(knowledge.tests.get_index(t.index()).map(|e| e.0)))
        ),
        Action::Repair(r) => {
            format!(
                "Repair: {}",
                phrases::repair(knowledge, &id(knowledge.repairs.get_index(r.index()).map(|e| e.0)))
            )
        }
        Action::Fact(f) => format!(
            "Ask: {}",
            phrases::fact(knowledge, &id(knowledge.facts.get_index(f.index()).map(|e| e.0)))
        ),
        Action::Visit => "Send somebody to the gate".to_owned(),
        Action::Refer => "Refer it to somebody else".to_owned(),
        Action::NoFaultFound => "Run and watch, then end with nothing found".to_owned(),
    }
}

fn minutes(minutes: f64) -> String {
    if minutes > 0.0 && minutes < 9.95 {
        format!("{minutes:.1} min")
    } else {
        format!("{minutes:.0} min")
    }
}

#[cfg(test)]
mod tests {
    use super::strength;

    #[test]
    fn words_change_at_a_factor_of_two_and_of_ten_in_the_odds() {
        for (factor, word) in [
            (1.9, "a little"),
            (2.1, "clearly"),
            (9.9, "clearly"),
            (10.1, "strongly"),
            (0.05, "strongly"),
            (0.6, "a little"),
        ] {
            assert_eq!(strength(f64::ln(factor)), word);
        }
    }
}
