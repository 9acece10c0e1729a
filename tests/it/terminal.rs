//! Whole calls by a person's keys on a pseudo-terminal. The test reads the page and types what a person there would.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::OnceLock;

use pintle::call::{Event, Journal, Target};
use pintle::knowledge::schema::{Case, CaseReading, CaseRepair, Condition, Moves, Now, Provocation, Severity};
use pintle::knowledge::{Knowledge, WithCases};

use super::pty::{self, CTRL_C, ESC, Next, Shown, Terminal, journals, pintle};

/// A pair of batteries at the end of its life: readings, observations, site facts, a repair with parts.
const CASE: &str = "battery-five-years";

/// What is typed for the one device or place of a retest line.
pub(crate) const ONE_DEVICE: &str = "by the left post: stopped it at three places";

fn knowledge() -> &'static Knowledge {
    static KNOWLEDGE: OnceLock<Knowledge> = OnceLock::new();
    KNOWLEDGE.get_or_init(|| Knowledge::built_in(&[], WithCases::Yes).0)
}

fn case(name: &str) -> &'static Case {
    let knowledge = knowledge();
    let file = |index: usize| &knowledge.sources.files[index].name;
    let wanted = format!("/{name}.yaml");
    let found = knowledge.cases.iter().find(|(at, _)| file(*at).ends_with(&wanted));
    &found.expect("a case of the built-in pack").1
}

/// Somebody at the gate of a case.
pub(crate) struct Somebody<'k> {
    knowledge: &'k Knowledge,
    case: &'k Case,
    /// Causes that are still there.
    left: BTreeSet<String>,
    /// The test whose readings are being asked.
    test: Option<&'k str>,
    /// What was asked, in order: a kind and an id.
    pub(crate) asked: Vec<(&'static str, String)>,
}

impl<'k> Somebody<'k> {
    pub(crate) fn at(knowledge: &'k Knowledge, case: &'k Case) -> Self {
        Self {
            knowledge,
            case,
            left: case.causes.iter().cloned().collect(),
            test: None,
            asked: Vec::new(),
        }
    }

    pub(crate) fn at_case(name: &str) -> Self {
        Self::at(knowledge(), case(name))
    }

    fn note(&mut self, kind: &'static str, id: &str) {
        self.asked.push((kind, id.to_owned()));
    }

    /// The test on the page, where it asks for readings with a decimal in them.
    fn reading_asked(&self, shown: &Shown) -> Option<&'k str> {
        let (id, test) = self.knowledge.tests.iter().find(|(_, t)| is(&t.title, shown.title()))?;
        let first = self.first_reading(id)?;
        let ranged = test.readings.values().next()?.range.is_some();
        (ranged && first.contains('.')).then_some(id.as_str())
    }

    /// What the case has for the first reading of a test.
    fn first_reading(&self, test: &str) -> Option<&'k str> {
        let first = self.knowledge.tests[test].readings.keys().next()?;
        match self.case.readings.get(test)? {
            CaseReading::Text(text) if text != "cannot" => Some(text),
            CaseReading::Text(_) => None,
            CaseReading::Readings(map) => map.get(first).map(String::as_str),
        }
    }

    fn count(&self, kind: &str) -> usize {
        self.asked.iter().filter(|(k, _)| *k == kind).count()
    }

    /// What to type for what is on the screen.
    pub(crate) fn reply(&mut self, shown: &Shown) -> String {
        match shown.prompt.as_str() {
            "signs:" => {
                self.note("signs", "");
                return self.signs(shown);
            }
            "in the caller's words:" => {
                self.note("complaint", "");
                return self.case.says.join("; ");
            }
            "which, one or more numbers:" => return self.symptoms(shown),
            "numbers, 0 for none:" => return self.provocations(shown),
            // Asked after "c" where tools are needed: the first is that it can't be done.
            "which:" => return "1".to_owned(),
            "old and new settings, sizes, remarks (Enter for none):" | "reading or remark (Enter for none):" => {
                return String::new();
            }
            // Of the devices or places of a retest line there is one.
            prompt if prompt.contains(" 1 (Enter: no more):") => return ONE_DEVICE.to_owned(),
            prompt if prompt.contains(" (Enter: no more):") => return String::new(),
            // What is proposed stands behind it.
            prompt if prompt.starts_with("in a sentence, for the record (Enter keeps it):") => return String::new(),
            "how does it end (0 not yet):" => {
                self.note("end", "");
                return "1".to_owned();
            }
            prompt if prompt.starts_with("who else is there") => return "the driver of the van".to_owned(),
            // A caller's words were said back; the likeliest is what was meant.
            "which (0 none):" => return "1".to_owned(),
            "1-3 (t another question first):" => {
                self.note("send", "");
                return "1".to_owned();
            }
            _ => {}
        }
        self.by_title(shown)
    }

    fn by_title(&mut self, shown: &Shown) -> String {
        let knowledge = self.knowledge;
        let title = shown.title().to_owned();
        if title == "The site" {
            return self.fact(shown);
        }
        if title == "Right now" {
            self.note("now", "");
            let now = match self.case.now {
                Now::Present => "1",
                Now::Away => "2",
                Now::Unknown => "3",
            };
            return now.to_owned();
        }
        if title == "Proof" {
            return self.proof(shown);
        }
        if title == "Run and watch" {
            let shows = self.case.now == Now::Present && !self.left.is_empty();
            return if shows { "1" } else { "2" }.to_owned();
        }
        let standard = [
            ("STOP: out of use for everybody", "stop"),
            ("Before the gate moves", "clearance"),
            ("Who is asking", "entitlement"),
            ("On the phone", "caller"),
            ("Put it back", "device-back"),
            ("Before the gate is run", "clear-signs"),
            ("Give back", "give-back"),
        ];
        if let Some((_, kind)) = standard.iter().find(|(t, _)| *t == title) {
            self.note(kind, "");
            return "1".to_owned();
        }
        if title.starts_with("Safety retest ") {
            self.note("retest", &title);
            return "1".to_owned();
        }
        if let Some((id, _)) = knowledge.conditions.iter().find(|(_, c)| is(&c.title, &title)) {
            self.note("condition", id);
            return "1".to_owned();
        }
        let cures = shown.says("cures ");
        if let Some((id, _)) = knowledge.repairs.iter().find(|(_, r)| cures && is(&r.title, &title)) {
            return self.repair(id);
        }
        if let Some((id, _)) = knowledge.tests.iter().find(|(_, t)| is(&t.title, &title)) {
            self.test = Some(id);
        }
        self.answer(shown)
    }

    fn signs(&self, shown: &Shown) -> String {
        let number = |id: &String| numbered(shown, &self.knowledge.signs[id].ask);
        let numbers: Vec<String> = self.case.signs.iter().map(number).collect();
        if numbers.is_empty() {
            "0".to_owned()
        } else {
            numbers.join(" ")
        }
    }

    fn symptoms(&self, shown: &Shown) -> String {
        let number = |id: &String| shown.number_of(&self.knowledge.symptoms[id].title);
        let found: Vec<String> = self
            .case
            .symptoms
            .iter()
            .filter_map(number)
            .map(|n| n.to_string())
            .collect();
        assert!(
            !found.is_empty(),
            "none of {:?} was understood:\n{}",
            self.case.symptoms,
            shown.page
        );
        found.join(" ")
    }

    fn provocations(&self, shown: &Shown) -> String {
        let under = &self.case.under;
        let found: Vec<String> = Provocation::ALL
            .iter()
            .filter(|p| under.contains(p))
            .filter_map(|p| shown.number_of(p.say()))
            .map(|n| n.to_string())
            .collect();
        if found.is_empty() {
            "0".to_owned()
        } else {
            found.join(" ")
        }
    }

    fn fact(&mut self, shown: &Shown) -> String {
        let asked = self
            .knowledge
            .facts
            .iter()
            .find(|(_, f)| shown.says(f.caller.as_ref().unwrap_or(&f.ask)) || shown.says(&f.ask));
        let (id, fact) = asked.expect("a fact of the knowledge");
        self.note("fact", id);
        let Some(value) = self.case.site.get(id) else {
            return "c".to_owned();
        };
        match fact.values.get(&value.0) {
            Some(choice) => numbered(shown, &choice.say),
            None => value.0.clone(),
        }
    }

    fn proof(&mut self, shown: &Shown) -> String {
        let knowledge = self.knowledge;
        let asked = knowledge.symptoms.iter().find(|(_, s)| shown.says(&s.gone));
        let (id, _) = asked.expect("a symptom of the knowledge");
        self.note("proof", id);
        let causes = self.left.iter().filter_map(|c| knowledge.causes.get(c));
        let still_there = causes.into_iter().any(|c| c.symptoms.contains_key(id));
        if still_there { "2" } else { "1" }.to_owned()
    }

    fn repair(&mut self, id: &str) -> String {
        self.note("repair", id);
        match self.case.repairs.get(id) {
            Some(CaseRepair::Cannot) => return "2".to_owned(),
            Some(CaseRepair::Fails) => {}
            _ => self.left.retain(|c| !self.knowledge.repairs[id].cures.contains_key(c)),
        }
        "1".to_owned()
    }

    fn answer(&mut self, shown: &Shown) -> String {
        let id = self
            .test
            .unwrap_or_else(|| panic!("no test is called {:?}:\n{}", shown.title(), shown.page));
        let test = &self.knowledge.tests[id];
        self.note("test", id);
        let text = match self.case.readings.get(id) {
            None => return "c".to_owned(),
            Some(CaseReading::Text(text)) if text == "cannot" => return "c".to_owned(),
            Some(CaseReading::Text(text)) => match test.outcomes.get(text) {
                Some(outcome) => {
                    self.note("observation", id);
                    numbered(shown, &outcome.say)
                }
                None => text.clone(),
            },
            Some(CaseReading::Readings(map)) => {
                let what = |spec: &pintle::knowledge::schema::ReadingSpec| {
                    let ask = spec.ask.clone().unwrap_or_else(|| "reading".to_owned());
                    format!("{ask} ({}):", spec.unit.symbol())
                };
                let prompt = pty::flat(&shown.prompt);
                let asked = test.readings.iter().find(|(_, spec)| pty::flat(&what(spec)) == prompt);
                let (reading, _) = asked.unwrap_or_else(|| panic!("{id} has no reading {:?}", shown.prompt));
                map[reading].clone()
            }
        };
        if test.outcomes.is_empty() {
            self.note("reading", id);
        }
        text
    }
}

/// The number to type for the option that reads like this.
fn numbered(shown: &Shown, option: &str) -> String {
    let number = shown.number_of(option);
    number
        .unwrap_or_else(|| panic!("{option:?} is not listed before {}\n{}", shown.prompt, shown.page))
        .to_string()
}

/// Whether a title on the page is this one; long ones are cut there.
fn is(title: &str, shown: &str) -> bool {
    shown == title || shown.strip_suffix("...").is_some_and(|start| title.starts_with(start))
}

fn diagnose(data: &Path) -> Terminal {
    diagnose_with(data, &[])
}

fn diagnose_with(data: &Path, more: &[&str]) -> Terminal {
    let mut command = pintle(data);
    command.args(["diagnose", "--at", "gate"]).args(more);
    Terminal::start(command)
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

/// Answers until `enough` says so, or the call is over.
pub(crate) fn go_on(
    terminal: &mut Terminal,
    somebody: &mut Somebody<'_>,
    mut shown: Shown,
    enough: &dyn Fn(&Shown, &Somebody<'_>) -> bool,
) -> Shown {
    for _ in 0..200 {
        if enough(&shown, somebody) {
            return shown;
        }
        let reply = somebody.reply(&shown);
        shown = terminal.answer(&reply);
    }
    panic!("it goes round in a circle: {:?}", somebody.asked);
}

/// A call up to the first step of the plan.
fn to_the_plan(terminal: &mut Terminal, somebody: &mut Somebody<'_>) -> Shown {
    let first = terminal.question();
    go_on(terminal, somebody, first, &|shown, _| shown.says("also: c can't"))
}

/// A call up to the first test that asks for readings.
fn to_a_reading(terminal: &mut Terminal, somebody: &mut Somebody<'_>) -> (Shown, String) {
    let first = terminal.question();
    let shown = go_on(terminal, somebody, first, &|shown, s| s.reading_asked(shown).is_some());
    let id = somebody.reading_asked(&shown).expect("just seen").to_owned();
    (shown, id)
}

fn events(data: &Path) -> Vec<Event> {
    let [journal] = &journals(data)[..] else {
        panic!("{:?}", journals(data));
    };
    let stored = Journal::load(journal).expect("a journal");
    assert!(!stored.torn);
    stored.entries.into_iter().map(|e| e.event).collect()
}

fn call_id(data: &Path) -> String {
    let journals = journals(data);
    let stem = journals[0].file_stem().expect("a name");
    stem.to_string_lossy().into_owned()
}

#[test]
fn a_whole_call_by_keys_comes_to_the_cause_and_its_record_names_it() {
    let data = folder();
    let mut terminal = diagnose(data.path());
    let mut somebody = Somebody::at_case(CASE);
    let mut shown = terminal.question();
    let (text, code) = loop {
        let reply = somebody.reply(&shown);
        terminal.line(&reply);
        match terminal.next() {
            Next::Question(next) => shown = next,
            Next::Over(text, code) => break (text, code),
        }
        assert!(somebody.asked.len() < 200, "{:?}", somebody.asked);
    };
    assert_eq!(code, 0, "{text}");
    let id = call_id(data.path());
    let last = pty::flat(&text);
    assert!(
        last.contains(&format!("The call has ended: fixed. Its record: pintle report {id}")),
        "{last}"
    );
    terminal.assert_fits();

    for (kind, least) in [
        ("signs", 1),
        ("complaint", 1),
        ("fact", 3),
        ("now", 1),
        ("observation", 2),
        ("reading", 1),
        ("repair", 1),
        ("clearance", 1),
        ("proof", 2),
        ("give-back", 1),
        ("end", 1),
    ] {
        assert!(
            somebody.count(kind) >= least,
            "{kind} {} times: {:?}",
            somebody.count(kind),
            somebody.asked
        );
    }
    // Every line of the retest that the site calls for, each once.
    let retest = &knowledge().retest;
    let lines: BTreeSet<&String> = somebody
        .asked
        .iter()
        .filter(|(k, _)| *k == "retest")
        .map(|(_, id)| id)
        .collect();
    assert_eq!(lines.len(), somebody.count("retest"));
    assert!(
        lines.len() >= retest.values().filter(|l| l.when.is_empty()).count(),
        "{lines:?}"
    );

    let record = pintle(data.path()).args(["report", &id]).output().expect("it runs");
    assert!(record.status.success(), "{record:?}");
    let record = String::from_utf8(record.stdout).expect("text");
    let title = &knowledge().causes[&case(CASE).causes[0]].title;
    assert!(record.to_lowercase().contains(&title.to_lowercase()), "{record}");
}

#[test]
fn a_reading_is_questioned_until_it_can_be_one() {
    let data = folder();
    let mut terminal = diagnose(data.path());
    let mut somebody = Somebody::at_case(CASE);
    let (page, asked) = to_a_reading(&mut terminal, &mut somebody);
    let right = somebody.first_reading(&asked).expect("a reading");
    let (reading, spec) = knowledge().tests[&asked].readings.first().expect("a reading");
    let prompted = |shown: &Shown, typed: &str| assert_eq!(shown.prompt, format!("{} {typed}", page.prompt));

    // A wrong unit: said so, and put back for mending.
    let shown = terminal.answer("27.2 kg");
    assert!(shown.says("kg"), "{}", shown.page);
    prompted(&shown, "27.2 kg");
    // No number at all.
    terminal.wipe(20);
    let shown = terminal.answer("about right");
    assert!(shown.says("about right"), "{}", shown.page);
    prompted(&shown, "about right");
    // Impossible: is it really so? No brings the line back.
    terminal.wipe(20);
    let [low, high] = spec.range.expect("a range");
    let impossible = format!("{} {}", (high + 1.0) * 1000.0, spec.unit.symbol());
    let shown = terminal.answer(&impossible);
    let question = format!(
        "{impossible} is hardly possible here: {low} to {high} {}",
        spec.unit.symbol()
    );
    assert!(shown.says(&question), "{question}:\n{}", shown.page);
    assert_eq!(shown.prompt, "Is that really what it shows? (y/n)");
    let shown = terminal.answer("n");
    prompted(&shown, &impossible);
    // The right one, without its unit and with a decimal comma; then the other readings of the test.
    terminal.wipe(20);
    let number = right.split(' ').next().expect("a number").replace('.', ",");
    let shown = terminal.answer(&number);
    somebody.test = knowledge().tests.get_key_value(&asked).map(|(id, _)| id.as_str());
    let title = &knowledge().tests[&asked].title;
    let shown = go_on(&mut terminal, &mut somebody, shown, &|shown, _| {
        !shown.title().is_empty() && !is(title, shown.title())
    });
    assert!(
        shown.page.starts_with("= "),
        "what it comes to is said:\n{}",
        shown.page
    );
    terminal.assert_fits();
    terminal.kill();

    let answers: Vec<Event> = events(data.path())
        .into_iter()
        .filter(|e| matches!(e, Event::Answer { test, .. } if *test == asked))
        .collect();
    let [Event::Answer { readings, .. }] = &answers[..] else {
        panic!("{answers:?}");
    };
    assert_eq!(readings[reading], number);
}

#[test]
fn a_question_mark_on_a_reading_is_no_evidence() {
    let data = folder();
    let mut terminal = diagnose(data.path());
    let mut somebody = Somebody::at_case(CASE);
    let (page, asked) = to_a_reading(&mut terminal, &mut somebody);
    let shown = terminal.answer("?");
    assert_ne!(shown.title(), page.title(), "asked again: {}", shown.page);
    terminal.kill();
    let last = events(data.path()).pop().expect("events");
    let target = Target::Test(asked);
    assert_eq!(last, Event::Cannot { target });
}

#[test]
fn every_letter_does_what_it_says() {
    let data = folder();
    let mut terminal = diagnose(data.path());
    let mut somebody = Somebody::at_case(CASE);
    let question = to_the_plan(&mut terminal, &mut somebody);
    let same = |shown: &Shown| assert_eq!(shown.prompt, question.prompt, "{}", shown.page);

    // ? lists them all.
    let shown = terminal.answer("?");
    same(&shown);
    assert_eq!(shown.title(), "What you can type at any question");
    for letter in ["c", "s", "w", "t", "l", "a", "m", "b", "r", "p", "e"] {
        assert!(
            shown.page.lines().any(|l| l.starts_with(&format!("  {letter}  "))),
            "{letter} is not in the help:\n{}",
            shown.page
        );
    }
    // w: the ranking, and what was weighed against it.
    let shown = terminal.answer("w");
    same(&shown);
    assert!(
        shown.page.contains("likely") && shown.page.contains('%'),
        "{}",
        shown.page
    );
    // t: others, by a word that none has, then none of them.
    let shown = terminal.answer("t");
    assert!(shown.prompt.starts_with("a word of it"), "{}", shown.prompt);
    let shown = terminal.answer("xylophone");
    assert!(shown.says("None has that word in its name."), "{}", shown.page);
    same(&shown);
    terminal.answer("t");
    let shown = terminal.answer("");
    assert_eq!(shown.options().len(), 9, "{}", shown.page);
    let shown = terminal.answer("0");
    same(&shown);
    // a: the answers so far.
    let shown = terminal.answer("a");
    assert!(shown.options().len() >= 3, "{}", shown.page);
    let shown = terminal.answer("0");
    same(&shown);
    // m: the complaint.
    let shown = terminal.answer("m");
    assert_eq!(shown.options().len(), 3, "{}", shown.page);
    let shown = terminal.answer("0");
    same(&shown);
    // r: a remark is kept and the question stays; one with a code in it is refused.
    terminal.answer("r");
    let shown = terminal.answer("dog in the yard");
    same(&shown);
    terminal.answer("r");
    let shown = terminal.answer("gate code is 4711");
    assert!(shown.says("Codes are never written down"), "{}", shown.page);
    same(&shown);
    // b: the last answer is taken back and asked again; Esc does the same with the one before it.
    let shown = terminal.answer("b");
    assert!(shown.says("Taken back: doing it now: present"), "{}", shown.page);
    assert_eq!(shown.title(), "Right now");
    let shown = terminal.press(ESC);
    assert!(shown.says("Taken back: "), "{}", shown.page);
    assert_eq!(shown.title(), "The site");
    // s: passes a fact over; what has to be known can't be passed over.
    let shown = terminal.answer("s");
    assert_eq!(shown.title(), "Right now");
    let shown = terminal.answer("s");
    assert!(shown.says("That can't be passed over here"), "{}", shown.page);
    // e: an ending can be refused.
    let shown = terminal.answer("e");
    assert!(shown.prompt.starts_with("how does it end"), "{}", shown.prompt);
    let shown = terminal.answer("0");
    assert_eq!(shown.prompt, "1-3:");
    // Anything else is no answer, and is put back for mending.
    let shown = terminal.answer("seven");
    assert!(
        shown.says("\"seven\" is not one of the numbers 1 to 3."),
        "{}",
        shown.page
    );
    assert_eq!(shown.prompt, "1-3: seven");
    terminal.wipe(5);
    // p: kept.
    terminal.line("p");
    let (text, code) = terminal.end();
    assert_eq!(code, 0);
    assert!(
        text.contains(&format!("Kept. Go on with: pintle resume {}", call_id(data.path()))),
        "{text}"
    );
    terminal.assert_fits();

    let events = events(data.path());
    let notes: Vec<&Event> = events.iter().filter(|e| matches!(e, Event::Note { .. })).collect();
    assert_eq!(
        notes,
        [&Event::Note {
            text: "dog in the yard".to_owned()
        }]
    );
    assert_eq!(
        events.iter().filter(|e| matches!(e, Event::Retracted { .. })).count(),
        2
    );
    assert_eq!(events.last(), Some(&Event::Paused));
}

#[test]
fn interrupted_at_a_prompt_the_call_is_kept_and_goes_on_at_the_same_question() {
    let data = folder();
    let mut terminal = diagnose(data.path());
    let mut somebody = Somebody::at_case(CASE);
    let question = to_the_plan(&mut terminal, &mut somebody);
    terminal.keys("half typed");
    terminal.keys(CTRL_C);
    let (text, code) = terminal.end();
    assert_eq!(code, 0);
    let id = call_id(data.path());
    assert!(
        text.contains(&format!("Kept. Go on with: pintle resume {id}")),
        "{text}"
    );
    let before: Vec<Event> = events(data.path());
    assert_eq!(before.last(), Some(&Event::Paused));

    let mut command = pintle(data.path());
    command.args(["resume", &id]);
    let mut terminal = Terminal::start(command);
    let shown = terminal.question();
    assert_eq!(shown.title(), question.title());
    assert_eq!(shown.prompt, question.prompt);
    assert_eq!(shown.flat(), question.flat(), "the same step for the same reason");
    // Its answers are the same, and it goes on.
    let reply = somebody.reply(&shown);
    terminal.answer(&reply);
    terminal.keys(CTRL_C);
    terminal.end();
    let after = events(data.path());
    assert_eq!(after[..before.len()], before[..]);
    assert!(
        matches!(after[before.len()], Event::Resumed { .. }),
        "{:?}",
        after[before.len()]
    );
    assert!(after.len() > before.len() + 2);
}

#[test]
fn interrupting_works_at_the_first_question_and_at_a_question_within_one() {
    for answers in [
        &[][..],
        &["0"][..],
        &["0", "it is slow"][..],
        &["0", "it is slow", "1", "e"][..],
    ] {
        let data = folder();
        let mut terminal = diagnose(data.path());
        terminal.question();
        for answer in answers {
            terminal.answer(answer);
        }
        terminal.keys(CTRL_C);
        let (text, code) = terminal.end();
        assert_eq!(code, 0, "after {answers:?}");
        assert!(
            text.contains("Kept. Go on with: pintle resume "),
            "after {answers:?}: {text}"
        );
    }
}

#[test]
fn a_complaint_can_be_found_in_the_whole_list_and_taken_back() {
    let data = folder();
    let mut terminal = diagnose(data.path());
    terminal.question();
    let complaint = terminal.answer("0");
    assert_eq!(complaint.title(), "The complaint");
    let shown = terminal.press(ESC);
    assert!(shown.says("Taken back: hazard signs"), "{}", shown.page);
    assert_eq!(shown.title(), "Before anything else");
    terminal.answer("0");
    let shown = terminal.answer("it is slow");
    assert!(!shown.options().is_empty(), "{}", shown.page);
    // None of them; then nothing typed: all there are, and the words stay.
    let shown = terminal.answer("0");
    assert_eq!(shown.prompt, complaint.prompt);
    let shown = terminal.answer("");
    let symptoms = &knowledge().symptoms;
    assert_eq!(shown.options().len(), symptoms.len() + 1, "{}", shown.page);
    terminal.answer(&symptoms.len().to_string());
    terminal.assert_fits();
    terminal.kill();
    let last = events(data.path()).pop().expect("events");
    let symptoms = symptoms.keys().last().cloned().into_iter().collect();
    let words = "it is slow".to_owned();
    assert_eq!(last, Event::Complaint { words, symptoms });
}

#[test]
fn what_is_typed_ahead_in_one_go_answers_one_question_after_the_other() {
    let data = folder();
    let mut terminal = diagnose(data.path());
    terminal.question();
    terminal.keys("0\rgate is slow\r1\r1\r");
    // The prompts in between flash by.
    let mut shown = terminal.question();
    while shown.title() != "The site" || shown.says("What kind of gate is it?") {
        shown = terminal.question();
    }
    terminal.kill();
    let events = events(data.path());
    assert!(matches!(&events[1], Event::Signs { yes, unsure } if yes.is_empty() && unsure.is_empty()));
    assert!(
        matches!(&events[2], Event::Complaint { words, symptoms } if words == "gate is slow" && symptoms.len() == 1)
    );
    let (fact, value) = ("gate-type".to_owned(), Some("swing".to_owned()));
    assert_eq!(
        events[3],
        Event::Fact {
            fact,
            value,
            from: None
        }
    );
    assert_eq!(events.len(), 4);
}

#[test]
fn while_the_gate_is_out_of_use_nothing_that_moves_or_powers_it_is_offered() {
    let knowledge = knowledge();
    let data = folder();
    let mut terminal = diagnose(data.path());
    let mut somebody = Somebody::at_case(CASE);
    let shown = terminal.question();
    // The sign about a leaf that leans, unsure of another: both count.
    let leaning = knowledge
        .signs
        .values()
        .find(|s| s.ask.contains("leaning"))
        .expect("a sign");
    let number = numbered(&shown, &leaning.ask);
    let other = if number == "1" { 2 } else { 1 };
    let shown = terminal.answer(&format!("{number} {other}?"));
    assert_eq!(shown.title(), "STOP: out of use for everybody");
    assert!(shown.says(&leaning.ask), "{}", shown.page);
    for line in &knowledge.out_of_use.technician {
        assert!(shown.says(line), "{line} is missing:\n{}", shown.page);
    }
    // Nothing else until it is made safe.
    let shown = terminal.answer("9");
    assert!(shown.says("\"9\" is not one of the numbers 1 to 3."), "{}", shown.page);
    terminal.wipe(1);
    let shown = terminal.answer("1");
    assert_eq!(shown.title(), "The complaint");

    let safe_test = |title: &str| {
        let test = knowledge.tests.values().find(|t| is(&t.title, title));
        // Powered, without movement, only to look at what may hurt.
        let bears = |id: &String| {
            let mut causes = knowledge.causes.values();
            causes.any(|c| c.severity > Severity::None && c.shows.contains_key(id))
        };
        let found = test.and_then(|t| knowledge.tests.iter().find(|(_, other)| other.title == t.title));
        found.is_none_or(|(id, t)| t.moves == Moves::No && (!t.needs.contains(&Condition::Powered) || bears(id)))
    };
    let safe_repair = |title: &str| {
        let repair = knowledge.repairs.values().find(|r| is(&r.title, title));
        repair.is_none_or(|r| r.moves == Moves::No && !r.needs.contains(&Condition::Powered))
    };
    let mut planned = 0;
    let mut picked_from = false;
    let mut shown = shown;
    for _ in 0..40 {
        let title = shown.title().to_owned();
        assert_ne!(title, "Before the gate moves");
        if shown.says("also: c can't") {
            planned += 1;
            let safe = if shown.says("cures ") {
                safe_repair(&title)
            } else {
                safe_test(&title)
            };
            assert!(safe, "{title} is offered while the gate is out of use");
            if !picked_from {
                picked_from = true;
                terminal.answer("t");
                let list = terminal.answer("");
                for (_, option) in list.options() {
                    let safe = option
                        .strip_prefix("repair: ")
                        .map_or_else(|| safe_test(&option), safe_repair);
                    assert!(safe, "{option} can be picked while the gate is out of use");
                }
                assert_eq!(terminal.answer("0").prompt, shown.prompt);
            }
        }
        if title == "Before the gate is run" || planned >= 4 {
            break;
        }
        if shown.prompt.starts_with("how does it end") {
            break;
        }
        let reply = somebody.reply(&shown);
        shown = terminal.answer(&reply);
    }
    assert!(
        planned > 0 || shown.prompt.starts_with("how does it end"),
        "{}",
        shown.page
    );
    terminal.assert_fits();
    terminal.kill();
}
