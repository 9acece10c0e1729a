//! From walks to words: what each box, arrow and margin of a card says. Every text of a pack passes through here, and is cleaned here.

use std::collections::HashMap;

use petgraph::stable_graph::NodeIndex;
use petgraph::visit::{EdgeRef, IntoEdgeReferences};

use super::{Arrow, Chart, Kind, Part, Step, percent};
use crate::belief::{Evidence, Spell};
use crate::call::Engine;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{At, Band, Condition, Fact, Moves, Now, Severity, Task, Test, Who, tasks_of};
use crate::model::{SiteFacts, SymptomId};
use crate::plan::{Action, LikelyWalks, Situation, Stage, TooLikely, Way, Why};
use crate::report::plain_text;

/// What card is wanted.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// The symptom.
    pub symptom: SymptomId,
    /// What is known of the site.
    pub site: SiteFacts,
    /// What the site is called; none for a card that is of no one gate.
    pub name: Option<String>,
    /// On the phone or at the gate.
    pub at: At,
    /// The most that whoever reads it may do.
    pub who: Who,
    /// Most boxes.
    pub most: usize,
}

/// Where the drawing ends, the likeliest cause is named if it has at least this chance.
const WORTH_NAMING: f64 = 0.1;

/// Grows the walks of a card; `each` is called for every box that was planned. This is what takes time.
#[must_use]
pub fn grow(engine: &Engine, wanted: &Wanted, each: &(dyn Fn() + Sync)) -> LikelyWalks {
    let mut start = Situation::starting(Evidence::reported(vec![wanted.symptom]));
    start.site = wanted.site.clone();
    start.at = wanted.at;
    start.who = wanted.who;
    for epoch in &mut start.evidence.epochs {
        epoch.spells = vec![Spell {
            now: Some(Now::Present),
            under: Vec::new(),
            answers: Vec::new(),
        }];
    }
    LikelyWalks::grow(&engine.planner(), &start, wanted.most, each)
}

/// Puts the walks into words.
#[must_use]
pub fn gather(engine: &Engine, wanted: &Wanted, walks: &LikelyWalks) -> Chart {
    let order = numbered(walks);
    let number: HashMap<NodeIndex, usize> = order.iter().enumerate().map(|(i, n)| (*n, i + 1)).collect();
    let mut words = Words {
        engine,
        wanted,
        walks,
        cautions: Vec::new(),
    };
    let boxes: Vec<Step> = order.iter().map(|n| words.step(*n, number[n])).collect();
    let mut arrows: Vec<Arrow> = walks
        .graph
        .edge_references()
        .map(|e| Arrow {
            from: number[&e.source()],
            to: number[&e.target()],
            label: words.answer(&walks.graph[e.source()], &e.weight().0),
        })
        .collect();
    arrows.sort_by_key(|a| (a.from, a.to));
    let symptom = &engine.knowledge.symptoms[wanted.symptom.index()];
    Chart {
        title: plain_text(&symptom.title),
        about: words.about(),
        extent: extent(walks),
        front: words.front(),
        head: words.head(),
        boxes,
        arrows,
        foot: words.foot(),
        cautions: words.cautions,
    }
}

/// Stages in reading order: a box, then all that its likeliest answer leads to, then the next answer.
fn numbered(walks: &LikelyWalks) -> Vec<NodeIndex> {
    let mut order = Vec::new();
    let mut open = vec![walks.start];
    while let Some(node) = open.pop() {
        if order.contains(&node) {
            continue;
        }
        order.push(node);
        let mut next: Vec<(f64, NodeIndex)> = walks.graph.edges(node).map(|e| (e.weight().1, e.target())).collect();
        // The likeliest is taken from the end.
        next.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        open.extend(next.into_iter().map(|(_, n)| n));
    }
    order
}

fn extent(walks: &LikelyWalks) -> String {
    let boxes = walks.graph.node_count();
    let share = walks.share_beyond();
    if share <= 0.0 {
        return format!("All of the walk is here: {boxes} boxes.");
    }
    let left = match walks.left_out {
        0 => String::new(),
        n => format!(", the likeliest. Left out: {n} more that the arrows here lead to, and all behind them"),
    };
    format!(
        "{boxes} boxes{left}. {} of walks go beyond this card: where a box says office, go on with pintle or call the office.",
        percent(share)
    )
}

struct Words<'a> {
    engine: &'a Engine,
    wanted: &'a Wanted,
    walks: &'a LikelyWalks,
    cautions: Vec<String>,
}

impl<'a> Words<'a> {
    fn knowledge(&self) -> &'a Knowledge {
        &self.engine.knowledge
    }

    fn step(&mut self, node: NodeIndex, number: usize) -> Step {
        let walks = self.walks;
        let stage = &walks.graph[node];
        let (kind, title) = self.title(stage);
        Step {
            number,
            kind,
            title,
            place: self.place(stage),
            stop: stage.stop.as_ref().map(|s| self.stop(s)),
            conditions: self.conditions(stage),
            cautions: self.cautions_of(stage),
            minutes: self.minutes(stage),
            reach: stage.reach,
            then: self.then(node),
            beyond: self.beyond(node),
        }
    }

    fn title(&self, stage: &Stage) -> (Kind, String) {
        let k = self.knowledge();
        match stage.action {
            Action::Test(t) => (Kind::Test, plain_text(&k.tests[t.index()].title)),
            Action::Fact(f) => (Kind::Ask, plain_text(&k.facts[f.index()].ask)),
            Action::Repair(r) => (
                Kind::Repair,
                format!("Repair: {}", plain_text(&k.repairs[r.index()].title)),
            ),
            Action::NoFaultFound => (
                Kind::End,
                "END. Watch three whole cycles (MOVES). Still there: hand it on; else no fault found".to_owned(),
            ),
            Action::Visit => (Kind::End, "END. Send somebody to the gate".to_owned()),
            Action::Refer => (Kind::End, format!("END. {}", self.referred(stage))),
        }
    }

    /// Where it is done.
    fn place(&self, stage: &Stage) -> Option<String> {
        let k = self.knowledge();
        let place = match stage.action {
            Action::Test(t) => k.tests[t.index()].place.as_ref(),
            Action::Repair(r) => k.repairs[r.index()].place.as_ref(),
            _ => None,
        };
        place.and_then(|p| k.places.get(p)).map(|p| plain_text(&p.title))
    }

    fn referred(&self, stage: &Stage) -> String {
        let stays = if stage.situation.stopped {
            "; the gate stays out of use"
        } else {
            ""
        };
        match stage.why {
            Why::ForOthers(cause) => {
                let title = plain_text(&self.knowledge().causes[cause.index()].title);
                format!("As good as certain: {title}. Not yours to put right: hand it on{stays}")
            }
            Why::DangerStands => {
                "A danger is likely, and nothing you may do puts it right: it stays out of use, hand it on".to_owned()
            }
            _ => format!("Nothing left here is worth its time: hand it on{stays}"),
        }
    }

    fn stop(&self, danger: &TooLikely) -> String {
        let worst = match danger.severity {
            Severity::Kill => "kill",
            Severity::Maim => "maim",
            Severity::Hurt | Severity::None => "hurt",
        };
        let title = plain_text(&self.knowledge().causes[danger.cause.index()].title);
        format!(
            "STOP: out of use first. May {worst}, {} likely: {title}",
            percent(danger.chance)
        )
    }

    /// What must hold: isolation, movement, who, what is put back.
    fn conditions(&self, stage: &Stage) -> Vec<String> {
        let k = self.knowledge();
        let (needs, moves, who, entitled, unplugs) = match stage.action {
            Action::Test(t) => {
                let t = &k.tests[t.index()];
                (&t.needs[..], t.moves, t.who, t.entitled, t.unplugs.as_ref())
            }
            Action::Repair(r) => {
                let r = &k.repairs[r.index()];
                (&r.needs[..], r.moves, r.who, r.entitled, None)
            }
            _ => return Vec::new(),
        };
        let holds = |c: Condition| stage.situation.standing.conditions.contains(&c);
        let mut words: Vec<String> = Vec::new();
        for &need in needs {
            words.push(
                match (need, holds(need)) {
                    (Condition::Isolated, true) => "isolated",
                    (Condition::Isolated, false) => "ISOLATE",
                    (Condition::Powered, true) => continue,
                    (Condition::Powered, false) => "power back on",
                    (Condition::HeldOff, true) => "other commands held off",
                    (Condition::HeldOff, false) => "hold off other commands",
                    (Condition::LeafSecured, true) => "leaf secured",
                    (Condition::LeafSecured, false) => "SECURE THE LEAF",
                }
                .to_owned(),
            );
        }
        match moves {
            Moves::Commanded => {
                words.push("MOVES".to_owned());
            }
            Moves::ByHand => words.push("hand at the leaf or arm".to_owned()),
            Moves::No => {}
        }
        if who == Who::Electrician {
            words.push("licensed electrician only".to_owned());
        }
        if entitled {
            words.push("only for somebody entitled".to_owned());
        }
        if let Some(device) = unplugs {
            let device = plain_text(device);
            words.push(format!("{device}: back and tested before it moves"));
        }
        if stage.situation.stopped && stage.stop.is_none() {
            words.push("still out of use".to_owned());
        }
        match stage.why {
            Why::Settles => words.push("settle this danger first".to_owned()),
            Why::First => words.push("before anything is pressed or reset".to_owned()),
            _ => {}
        }
        words
    }

    /// Numbers of the cautions of a box; a caution that is not listed yet is listed.
    fn cautions_of(&mut self, stage: &Stage) -> Vec<usize> {
        let k = self.knowledge();
        let (own, place, tasks, moves, inside) = match stage.action {
            Action::Test(t) => {
                let t = &k.tests[t.index()];
                (&t.cautions, t.place.as_deref(), &t.tasks, t.moves, &t.inside)
            }
            Action::Repair(r) => {
                let r = &k.repairs[r.index()];
                (&r.cautions, r.place.as_deref(), &r.tasks, r.moves, &r.inside)
            }
            _ => return Vec::new(),
        };
        let tasks: Vec<Task> = tasks_of(tasks, moves, inside.is_some());
        let standing = k.standing.values().filter(|s| s.attaches(place, &tasks));
        // Of a place alone: said once for all, under the cautions.
        let standing = standing.filter(|s| !s.tasks.is_empty()).map(|s| &s.text);
        let texts: Vec<String> = own.iter().chain(standing).map(|t| plain_text(t)).collect();
        let mut numbers: Vec<usize> = texts
            .into_iter()
            .map(|text| {
                let at = self.cautions.iter().position(|c| *c == text).unwrap_or_else(|| {
                    self.cautions.push(text);
                    self.cautions.len() - 1
                });
                at + 1
            })
            .collect();
        numbers.sort_unstable();
        numbers.dedup();
        numbers
    }

    /// Work and getting there from where one stands.
    fn minutes(&self, stage: &Stage) -> Option<f64> {
        let planner = self.engine.planner();
        let (k, costs) = (self.knowledge(), planner.costs());
        let standing = &stage.situation.standing;
        match stage.action {
            Action::Test(t) => Some(k.tests[t.index()].minutes + costs.access(costs.test(t), standing)),
            Action::Fact(f) => Some(k.facts[f.index()].minutes),
            Action::Repair(r) => {
                let action = costs.repair(r);
                let mut after = standing.clone();
                costs.go(action, &mut after);
                Some(k.repairs[r.index()].minutes + costs.access(action, standing) + costs.proof(&after))
            }
            Action::Visit | Action::Refer | Action::NoFaultFound => None,
        }
    }

    /// What follows a repair that helped; what a worked-out value is made of.
    fn then(&self, node: NodeIndex) -> Vec<String> {
        let k = self.knowledge();
        let stage = &self.walks.graph[node];
        match stage.action {
            Action::Test(t) => {
                let value = k.tests[t.index()].value.as_deref();
                value
                    .map(|v| format!("Work out: {}", plain_text(v)))
                    .into_iter()
                    .collect()
            }
            Action::Repair(_) if stage.situation.stopped => {
                vec!["Then: out of use until the danger is seen to be gone; office".to_owned()]
            }
            Action::Repair(r) => {
                let repair = &k.repairs[r.index()];
                let still: f64 = self.walks.graph.edges(node).map(|e| e.weight().1).sum();
                let beyond: f64 = self
                    .walks
                    .beyond
                    .iter()
                    .filter(|b| b.from == node)
                    .map(|b| b.chance)
                    .sum();
                let end = match (repair.explains, self.wanted.at) {
                    (true, _) => "END explained, nothing changed",
                    (false, At::Phone) => "END waiting: retest at the gate",
                    (false, At::Gate) => "retest, END fixed",
                };
                let gone = (1.0 - still - beyond).clamp(0.0, 1.0);
                vec![format!("Run it (MOVES). Gone ({}): {end}", percent(gone * stage.reach))]
            }
            _ => Vec::new(),
        }
    }

    /// The stub of the answers that lead beyond the card.
    fn beyond(&self, node: NodeIndex) -> Option<String> {
        let stage = &self.walks.graph[node];
        let ways: Vec<_> = self.walks.beyond.iter().filter(|b| b.from == node).collect();
        let number_fact = matches!(stage.action, Action::Fact(f) if self.knowledge().facts[f.index()].number.is_some());
        if ways.is_empty() && !number_fact {
            return None;
        }
        let all = self.walks.graph.edges(node).next().is_none();
        let share = stage.reach * ways.iter().map(|b| b.chance).sum::<f64>();
        let answers: Vec<String> = ways.iter().map(|b| self.answer(stage, &b.way)).collect();
        let what = match (all, &answers[..]) {
            (_, [only]) => format!("{only} ({})", percent(share)),
            (true, _) => "Then".to_owned(),
            (false, _) => format!("Else ({})", percent(share)),
        };
        let likely = stage
            .leading
            .filter(|_| all && !matches!(stage.action, Action::Repair(_)));
        let likely = likely
            .filter(|(_, chance)| *chance >= WORTH_NAMING)
            .map(|(cause, chance)| {
                let title = &self.knowledge().causes[cause.index()].title;
                format!("Likely: {} {}. ", plain_text(title), percent(chance))
            });
        Some(format!("{}{what}: office", likely.unwrap_or_default()))
    }

    /// The answer, with its limits if it is a band of numbers.
    fn answer(&self, stage: &Stage, way: &Way) -> String {
        let k = self.knowledge();
        let text = match (stage.action, way) {
            (Action::Test(t), Way::Outcome(o)) => {
                let test = &k.tests[t.index()];
                match test.bands.get_index(*o) {
                    Some((_, band)) => limits(test, band),
                    None => test
                        .outcomes
                        .get_index(*o)
                        .map(|(_, o)| o.say.clone())
                        .unwrap_or_default(),
                }
            }
            (Action::Fact(f), Way::Value(v)) => value(&k.facts[f.index()], *v),
            _ => "Still there".to_owned(),
        };
        plain_text(&text)
    }

    fn about(&self) -> Vec<String> {
        let k = self.knowledge();
        let whom = match (self.wanted.at, self.wanted.who) {
            (At::Phone, _) => "For the phone: only what a caller may do",
            (At::Gate, Who::Anyone) => "At the gate, for anyone: look and listen, open nothing",
            (At::Gate, Who::Technician) => "At the gate, for a gate technician",
            (At::Gate, Who::Electrician) => "At the gate, for a licensed electrician",
        };
        let known = k.facts.iter().filter_map(|(id, fact)| {
            let value = self.wanted.site.get(id)?;
            let said = fact.values.get(value).map_or(value, |v| &v.say);
            Some(format!("{} {said}", fact.ask))
        });
        let known: Vec<String> = known.collect();
        let name = self.wanted.name.as_deref().unwrap_or("Site");
        let site = if known.is_empty() {
            format!("{name}: nothing known beforehand")
        } else {
            format!("{name}: {}", known.join("; "))
        };
        [format!("{whom}, who sees the gate do it now"), site]
            .iter()
            .map(|t| plain_text(t))
            .collect()
    }

    /// The rules of the front: what comes before anything, and what the words in capitals mean.
    fn front(&self) -> Vec<String> {
        let mut lines = vec![
            "Before anything: look at the signs on the back. If any is so, or can't be ruled out: STOP, nobody runs it."
                .to_owned(),
            format!(
                "MOVES: whole travel in sight, nobody in it, stop in reach. {ISOLATE} \
                 Local codes, the operator's manual and licensed people win over this card."
            ),
        ];
        if self.wanted.at == At::Gate {
            lines[1].push_str(" END fixed: only after the whole retest on the back.");
        }
        lines
    }

    fn head(&self) -> Vec<Part> {
        let k = self.knowledge();
        let part = |heading: &str, lines: &[String]| Part {
            heading: heading.to_owned(),
            lines: lines.iter().map(|l| plain_text(l)).collect(),
        };
        let signs: Vec<String> = k.signs.values().map(|s| s.ask.clone()).collect();
        let how = match self.wanted.at {
            At::Gate => &k.out_of_use.technician,
            At::Phone => &k.out_of_use.caller,
        };
        let mut always = vec!["Local codes, the operator's manual and licensed people win over this card.".to_owned()];
        let covered = k.facts.get("gate-type").and_then(|f| f.values.get("not-covered"));
        if let Some(kind) = covered {
            always.push(format!(
                "Not for: {}. There isolate, release nothing, hand it on.",
                kind.say
            ));
        }
        always.push(ISOLATE.to_owned());
        let mut parts = vec![
            part(
                "STOP at any of these, seen or not ruled out: out of use, whatever the boxes say",
                &signs,
            ),
            part("Out of use: how", how),
            part("MOVES: before the gate moves, each time", &k.movement),
            part("Always", &always),
        ];
        parts.retain(|p| !p.lines.is_empty());
        parts
    }

    fn foot(&self) -> Vec<Part> {
        let k = self.knowledge();
        let place = k
            .standing
            .values()
            .filter(|s| s.tasks.is_empty())
            .map(|s| plain_text(&s.text));
        let mut parts = vec![
            Part {
                heading: "Cautions everywhere".to_owned(),
                lines: place.collect(),
            },
            Part {
                heading: "Boxes".to_owned(),
                lines: vec![
                    "Square: a test. Round: a question. Thick: a repair. Double: an end. Black bar: STOP, out of use first. Under a broken line the card ends: go on with pintle, or call the office.".to_owned(),
                    "Minutes: work and getting there. Per cent: of all walks that start here, how many get to the box or leave the card there.".to_owned(),
                ],
            },
        ];
        let retest: Vec<String> = k.retest.values().map(|l| plain_text(&l.title)).collect();
        if !retest.is_empty() && self.wanted.at == At::Gate {
            parts.push(Part {
                heading: "Before END fixed: the safety retest, every line passed; give back what was held off"
                    .to_owned(),
                lines: retest,
            });
        }
        let drawn = format!(
            "Drawn by pintle {} from: {} ({}). Throw it away when that changes.",
            env!("CARGO_PKG_VERSION"),
            k.titles.join(", "),
            k.fingerprint
        );
        parts.push(Part {
            heading: "This card".to_owned(),
            lines: vec![plain_text(&drawn)],
        });
        parts.retain(|p| !p.lines.is_empty());
        parts
    }
}

/// What isolated means, on both sides of the card.
const ISOLATE: &str = "ISOLATE: mains AND battery AND solar off, at each leaf; then one open command from clear of the gate moves nothing.";

/// The limits of a band with their unit, "11.8 to 12.4 V"; what has no unit keeps its word, "low: below 0.95".
fn limits(test: &Test, band: &Band) -> String {
    let unit = match (&test.value, test.readings.values().next()) {
        (None, Some(reading)) => reading.unit.suffix(),
        _ => String::new(),
    };
    let limits = match (band.from, band.below) {
        (None, Some(below)) => format!("below {below}{unit}"),
        (Some(from), Some(below)) => format!("{from} to {below}{unit}"),
        (Some(from), None) => format!("{from}{unit} or more"),
        (None, None) => return band.say.clone(),
    };
    if unit.is_empty() {
        format!("{}: {limits}", band.say)
    } else {
        limits
    }
}

fn value(fact: &Fact, at: usize) -> String {
    fact.values
        .get_index(at)
        .map(|(_, v)| v.say.clone())
        .unwrap_or_default()
}
