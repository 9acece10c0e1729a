//! What is wrong with cases: ids that no entry has, readings that can't be read.

use std::collections::BTreeMap;

use super::reading::evaluate;
use crate::finding::{Code, Finding, Location};
use crate::knowledge::check::{SOURCE_HELP, is_missing, suggestion};
use crate::knowledge::schema::{Case, CaseReading, Severity, Test};
use crate::knowledge::{Knowledge, sections};
use crate::model::SiteFacts;
use crate::quantity::parse_reading;

/// Checks every case of the knowledge. It needs no engine, so it works on knowledge with errors.
#[must_use]
pub fn check_cases(knowledge: &Knowledge) -> Vec<Finding> {
    let cases = knowledge.cases.iter();
    cases
        .flat_map(|(file, case)| check_in(knowledge, case, *file))
        .collect()
}

/// Checks one case that stands in a file of its own.
#[must_use]
pub fn check_case(knowledge: &Knowledge, case: &Case) -> Vec<Finding> {
    check_in(knowledge, case, 0)
}

fn check_in(knowledge: &Knowledge, case: &Case, file: usize) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut of_case = CaseCheck {
        knowledge,
        case,
        file,
        found: &mut found,
    };
    of_case.site();
    of_case.ids();
    of_case.readings();
    of_case.staging();
    if is_missing(&case.source) {
        let message = "this case does not say where it comes from".to_owned();
        of_case.find(Code::MissingSource, &["source"], message, SOURCE_HELP.to_owned());
    }
    found
}

struct CaseCheck<'a> {
    knowledge: &'a Knowledge,
    case: &'a Case,
    file: usize,
    found: &'a mut Vec<Finding>,
}

impl CaseCheck<'_> {
    fn find(&mut self, code: Code, path: &[&str], message: String, help: String) {
        let location = self.place(path);
        self.located(code, location, message, help);
    }

    fn place(&self, path: &[&str]) -> Location {
        Location::new(self.file, path.iter().map(|p| (*p).to_owned()).collect())
    }

    fn located(&mut self, code: Code, location: Location, message: String, help: String) {
        self.found.push(Finding {
            code,
            location,
            message,
            help,
        });
    }

    fn site(&mut self) {
        let knowledge = self.knowledge;
        for (fact, value) in &self.case.site {
            let Some(entry) = knowledge.facts.get(fact) else {
                self.unknown_key(&["site", fact], "fact", fact, knowledge.facts.keys());
                continue;
            };
            let value = &value.0;
            if let Some(number) = &entry.number {
                let read = parse_reading(value, number.unit).map(|r| r.value());
                let trouble = match read {
                    Ok(Some(v)) if (number.range[0]..=number.range[1]).contains(&v) => continue,
                    Ok(Some(v)) => format!("{v} is outside {} to {}", number.range[0], number.range[1]),
                    Ok(None) => "it is no number".to_owned(),
                    Err(error) => error.to_string(),
                };
                let message = format!("`{fact}` can't be \"{value}\": {trouble}");
                let help = format!("write a number in {}", number.unit);
                self.find(Code::BadCase, &["site", fact], message, help);
            } else if !entry.values.contains_key(value) {
                self.unknown(&["site", fact], "value", value, entry.values.keys());
            }
        }
    }

    fn ids(&mut self) {
        let (knowledge, case) = (self.knowledge, self.case);
        for (list, field, kind) in [
            (&case.symptoms, "symptoms", "symptom"),
            (&case.signs, "signs", "sign"),
            (&case.causes, "causes", "cause"),
        ] {
            for (i, id) in list.iter().enumerate() {
                self.known(&[field, &i.to_string()], kind, id);
            }
        }
        for repair in case.repairs.keys().filter(|r| !knowledge.repairs.contains_key(*r)) {
            self.unknown_key(&["repairs", repair], "repair", repair, knowledge.repairs.keys());
        }
        for (i, cause) in case.expect.not.iter().enumerate() {
            self.known(&["expect", "not", &i.to_string()], "cause", cause);
        }
        for (g, group) in case.expect.either.iter().enumerate() {
            for (i, cause) in group.iter().enumerate() {
                self.known(&["expect", "either", &g.to_string(), &i.to_string()], "cause", cause);
            }
        }
    }

    fn known(&mut self, path: &[&str], kind: &str, id: &str) {
        let knowledge = self.knowledge;
        match kind {
            "symptom" if !knowledge.symptoms.contains_key(id) => {
                self.unknown(path, kind, id, knowledge.symptoms.keys());
            }
            "sign" if !knowledge.signs.contains_key(id) => self.unknown(path, kind, id, knowledge.signs.keys()),
            "cause" if !knowledge.causes.contains_key(id) => self.unknown(path, kind, id, knowledge.causes.keys()),
            _ => {}
        }
    }

    /// Whether an entry of that id is written, if only one that can't be decoded (which is a finding already).
    fn written(&self, kind: &str, id: &str) -> bool {
        let section = sections::named(&format!("{kind}s"));
        section.is_some_and(|section| !self.knowledge.origins.files(section, id).is_empty())
    }

    fn unknown<'i>(&mut self, path: &[&str], kind: &str, id: &str, known: impl Iterator<Item = &'i String> + Clone) {
        self.unknown_at(self.place(path), kind, id, known);
    }

    /// The same where the id is a key.
    fn unknown_key<'i>(
        &mut self,
        path: &[&str],
        kind: &str,
        id: &str,
        known: impl Iterator<Item = &'i String> + Clone,
    ) {
        self.unknown_at(self.place(path).on_key(), kind, id, known);
    }

    fn unknown_at<'i>(
        &mut self,
        location: Location,
        kind: &str,
        id: &str,
        known: impl Iterator<Item = &'i String> + Clone,
    ) {
        if self.written(kind, id) {
            return;
        }
        let help = suggestion(id, known.map(String::as_str), kind);
        self.located(Code::BadCase, location, format!("there is no {kind} `{id}`"), help);
    }

    /// A fault that can hurt somebody is never set on a real gate for practice.
    fn staging(&mut self) {
        let (knowledge, case) = (self.knowledge, self.case);
        if case.drill.as_ref().is_none_or(|d| d.stage.is_none()) {
            return;
        }
        let dangerous = case
            .causes
            .iter()
            .find(|c| knowledge.causes.get(*c).is_some_and(|c| c.severity > Severity::None));
        let sign = case.signs.first();
        if let Some(why) = dangerous.or(sign) {
            let message = format!("`{why}` can hurt somebody, so this must not be set on a real gate");
            let help = "take `stage` out: the drill stays one for the screen".to_owned();
            self.find(Code::BadCase, &["drill", "stage"], message, help);
        }
    }

    fn readings(&mut self) {
        let knowledge = self.knowledge;
        for (id, listed) in &self.case.readings {
            let Some(test) = knowledge.tests.get(id) else {
                self.unknown_key(&["readings", id], "test", id, knowledge.tests.keys());
                continue;
            };
            match listed {
                CaseReading::Text(text) if text == "cannot" => {}
                CaseReading::Text(outcome) if !test.outcomes.is_empty() => {
                    if !test.outcomes.contains_key(outcome) {
                        self.unknown(&["readings", id], "outcome", outcome, test.outcomes.keys());
                    }
                }
                CaseReading::Readings(_) if !test.outcomes.is_empty() => {
                    let message = format!("`{id}` is an observation, not a number");
                    let known: Vec<&str> = test.outcomes.keys().map(String::as_str).collect();
                    let help = format!("name one outcome: {}", known.join(", "));
                    self.find(Code::BadCase, &["readings", id], message, help);
                }
                _ => self.numbers(id, test, listed),
            }
        }
    }

    fn numbers(&mut self, id: &str, test: &Test, listed: &CaseReading) {
        let given: BTreeMap<String, String> = match listed {
            CaseReading::Text(text) => {
                let first = test.readings.keys().take(1);
                first.map(|r| (r.clone(), text.clone())).collect()
            }
            CaseReading::Readings(map) => map.iter().map(|(r, t)| (r.clone(), t.clone())).collect(),
        };
        if let CaseReading::Readings(map) = listed
            && let Some(wrong) = map.keys().find(|r| !test.readings.contains_key(*r))
        {
            self.unknown_key(&["readings", id, wrong], "reading", wrong, test.readings.keys());
            return;
        }
        let mut site = SiteFacts::unknown();
        self.case
            .site
            .iter()
            .for_each(|(fact, value)| site.learn(fact, &value.0));
        if let Err(problem) = evaluate(self.knowledge, test, &given, &site, false) {
            let message = format!("the reading of `{id}` can't be used: {problem}");
            let help = "write what a meter would show, with its unit; the facts that its formula names belong under \
                        `site:`; `cannot` says that it can't be done";
            self.find(Code::BadCase, &["readings", id], message, help.to_owned());
        }
    }
}
