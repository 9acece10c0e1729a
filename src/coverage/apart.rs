//! What kind of test would part two causes that none parts well: worked out from what the knowledge says of both.

use serde::Serialize;

use super::matrix::{NOTICED, best_parting};
use crate::call::Engine;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Cause, Provocation, Repair, Touch, When};
use crate::model::{CauseId, ShowTable};

/// A symptom, a moment or a rate counts as different where two causes are this far apart in it.
const DIFFERS: f64 = 0.3;

/// Two causes that no test parts well, and what would.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Apart {
    /// Their ids.
    pub causes: [String; 2],
    /// Their titles.
    pub titles: [String; 2],
    /// Greatest total variation of any test between them.
    pub variation: f64,
    /// The title of the test that comes nearest to parting them, if any tells anything.
    pub best_test: Option<String>,
    /// What would part them, the most telling first; one sentence each. Never empty.
    pub ways: Vec<String>,
}

/// What would part two causes. `None` where the site does: no site has both.
#[must_use]
pub fn part(engine: &Engine, a: CauseId, b: CauseId) -> Option<Apart> {
    let knowledge = &engine.knowledge;
    let (a_id, a_cause) = knowledge.causes.get_index(a.index())?;
    let (b_id, b_cause) = knowledge.causes.get_index(b.index())?;
    if never_both(&a_cause.when, &b_cause.when) {
        return None;
    }
    let (variation, test) = best_parting(&engine.model, a, b);
    let pair = Pair {
        knowledge,
        variation,
        ids: [a_id, b_id],
        causes: [a_cause, b_cause],
        shows: [&engine.model.shows[a.index()], &engine.model.shows[b.index()]],
    };
    Some(Apart {
        causes: [a_id.clone(), b_id.clone()],
        titles: [a_cause.title.clone(), b_cause.title.clone()],
        variation,
        best_test: test
            .and_then(|t| knowledge.tests.get_index(t))
            .map(|(_, t)| t.title.clone()),
        ways: pair.ways(),
    })
}

/// Whether some fact allows one cause only where it forbids the other.
fn never_both(a: &When, b: &When) -> bool {
    a.iter().any(|(fact, values)| {
        b.get(fact)
            .is_some_and(|other| values.iter().all(|v| !other.contains(v)))
    })
}

struct Pair<'a> {
    knowledge: &'a Knowledge,
    variation: f64,
    ids: [&'a String; 2],
    causes: [&'a Cause; 2],
    shows: [&'a ShowTable; 2],
}

impl Pair<'_> {
    fn ways(&self) -> Vec<String> {
        let mut ways: Vec<String> = Vec::new();
        ways.extend(self.one_repair());
        ways.extend(self.authors());
        ways.extend(self.moments());
        ways.extend(self.symptoms());
        ways.extend(self.site());
        ways.extend(self.work());
        if ways.is_empty() {
            ways.push(
                "nothing else in the knowledge differs: write in `confused-with` what does, then a test that asks it"
                    .into(),
            );
        }
        ways
    }

    fn title(&self, which: usize) -> &str {
        &self.causes[which].title
    }

    /// Repairs of a cause, surest first.
    fn repairs(&self, which: usize) -> Vec<&Repair> {
        let chance = |r: &Repair| r.cures.get(self.ids[which]).map_or(0.0, |f| f.chance);
        let mut repairs: Vec<&Repair> = self.knowledge.repairs.values().filter(|r| chance(r) > 0.0).collect();
        repairs.sort_by(|x, y| chance(y).total_cmp(&chance(x)));
        repairs
    }

    fn one_repair(&self) -> Option<String> {
        let cures = |r: &Repair, id: &String| r.cures.get(id).is_some_and(|f| f.chance >= 0.5);
        let both = |r: &&Repair| cures(r, self.ids[0]) && cures(r, self.ids[1]);
        let repair = self.knowledge.repairs.values().find(both)?;
        Some(format!(
            "one repair cures both ({}): parting them saves nothing",
            repair.title
        ))
    }

    fn authors(&self) -> Vec<String> {
        let say = |of: usize, other: usize| {
            let text = self.causes[of].confused_with.get(self.ids[other])?;
            let text = text.trim().trim_end_matches('.');
            let unasked = if self.variation < NOTICED {
                "; no test asks that"
            } else {
                ""
            };
            Some(format!("the pack says: {text}{unasked}"))
        };
        [say(0, 1), say(1, 0)].into_iter().flatten().take(1).collect()
    }

    fn moments(&self) -> Option<String> {
        let when = |which: usize| {
            let moment = self.causes[which].shows_when.as_ref();
            match moment {
                None => "always".to_owned(),
                Some(m) if m.under.is_empty() => format!("now and then ({:.0} % of the time)", m.share * 100.0),
                Some(m) => {
                    let under: Vec<&str> = m.under.iter().map(|p| p.say()).collect();
                    format!("with {}", under.join(" or "))
                }
            }
        };
        let apart = |under: &[Provocation]| (self.shows[0].share(under) - self.shows[1].share(under)).abs() >= DIFFERS;
        let provoked = |p: &&Provocation| {
            let mut moments = self.causes.iter().filter_map(|c| c.shows_when.as_ref());
            moments.any(|m| m.under.contains(p))
        };
        let look = match Provocation::ALL.iter().find(provoked) {
            Some(p) if apart(&[*p]) || apart(&[]) => format!("look again with {} and without", p.say()),
            None if apart(&[]) => "look again later: only one of them comes and goes".to_owned(),
            _ => return None,
        };
        Some(format!(
            "{} shows {}, {} {}: {look}",
            self.title(0),
            when(0),
            self.title(1),
            when(1)
        ))
    }

    fn symptoms(&self) -> Vec<String> {
        let chance = |which: usize, s: &String| self.causes[which].symptoms.get(s).map_or(0.0, |f| f.chance);
        let mut apart: Vec<(f64, &String)> = self
            .knowledge
            .symptoms
            .keys()
            .map(|s| (chance(0, s) - chance(1, s), s))
            .filter(|(by, _)| by.abs() >= DIFFERS)
            .collect();
        apart.sort_by(|x, y| y.0.abs().total_cmp(&x.0.abs()).then(x.1.cmp(y.1)));
        let say = |(by, symptom): &(f64, &String)| {
            let (more, less) = if *by > 0.0 { (0, 1) } else { (1, 0) };
            format!(
                "ask whether it also does this: \"{}\" ({} in {:.0} %, {} in {:.0} %)",
                self.knowledge.symptoms[*symptom].title,
                self.title(more),
                chance(more, symptom) * 100.0,
                self.title(less),
                chance(less, symptom) * 100.0
            )
        };
        apart.iter().take(1).map(say).collect()
    }

    /// A fact that the two do not share, though some sites may have both.
    fn site(&self) -> Option<String> {
        let confined = |of: usize, other: usize| {
            let (fact, values) = self.causes[of]
                .when
                .iter()
                .find(|(fact, _)| !self.causes[other].when.contains_key(*fact))?;
            Some(format!(
                "{} occurs only where {fact} is {}: ask that early",
                self.title(of),
                values.join(" or ")
            ))
        };
        confined(0, 1).or_else(|| confined(1, 0))
    }

    /// Where the repairs are done and what they touch.
    fn work(&self) -> Option<String> {
        let (first, second) = (*self.repairs(0).first()?, *self.repairs(1).first()?);
        let place = |r: &Repair| {
            let cover = r
                .inside
                .as_ref()
                .and_then(|c| self.knowledge.covers.get(c))
                .map(|c| &c.title);
            let place = r
                .place
                .as_ref()
                .and_then(|p| self.knowledge.places.get(p))
                .map(|p| &p.title);
            cover.or(place).cloned()
        };
        let (here, there) = (place(first), place(second));
        if let (Some(here), Some(there)) = (&here, &there)
            && here != there
        {
            return Some(format!(
                "{} is put right at {here}, {} at {there}: a look or a reading at one of the two would part them",
                self.title(0),
                self.title(1)
            ));
        }
        let only = |r: &Repair, other: &Repair| -> Vec<&'static str> {
            let own = r.touches.iter().filter(|t| !other.touches.contains(t));
            own.map(|t| touched(*t)).collect()
        };
        let (one, other) = (only(first, second), only(second, first));
        if one.is_empty() || other.is_empty() {
            return None;
        }
        let at = here.map_or(String::new(), |place| format!("both at {place}; "));
        Some(format!(
            "{at}their repairs touch {} and {}: a reading between the two would part them",
            one.join(", "),
            other.join(", ")
        ))
    }
}

fn touched(touch: Touch) -> &'static str {
    match touch {
        Touch::Board => "board",
        Touch::Force => "force",
        Touch::Limits => "limits",
        Touch::Speed => "speed",
        Touch::Arm => "arm",
        Touch::Leaf => "leaf",
        Touch::Eye => "eye",
        Touch::Edge => "edge",
        Touch::Wiring => "wiring",
        Touch::Battery => "battery",
        Touch::Charger => "charger",
        Touch::Radio => "radio",
        Touch::Keypad => "keypad",
        Touch::Loop => "loop",
        Touch::Mains => "mains",
    }
}
