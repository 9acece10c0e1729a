//! What a trainee did to people's safety: unsafe acts, and preparation that was left out.

use serde::Serialize;

use super::site::SimulatedSite;
use crate::call::{Call, Event};
use crate::knowledge::schema::{Condition, Ending, Moves, Severity, Touch, Who};

/// An unsafe act.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct UnsafeAct {
    /// Position of its event.
    pub entry: usize,
    /// What was done.
    pub what: String,
    /// What could have happened.
    pub could: String,
    /// The rule that it breaks.
    pub rule: String,
    /// Worst that it can do. From *may maim* on the drill is not passed.
    pub severity: Severity,
}

impl UnsafeAct {
    /// Not passed, whatever the score.
    #[must_use]
    pub fn is_grave(&self) -> bool {
        self.severity >= Severity::Maim
    }
}

/// Preparation that a step needs and that was left out, without a hand or a body in danger by it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Skipped {
    /// Position of the event it should have come before.
    pub entry: usize,
    /// What was left out.
    pub what: String,
}

/// Both, gathered event by event.
#[derive(Debug, Clone, Default)]
pub(super) struct Conduct {
    pub(super) unsafe_acts: Vec<UnsafeAct>,
    pub(super) skipped: Vec<Skipped>,
}

const COULD_MOVE: &str = "It moves on somebody nobody saw, and nobody is near a stop.";
const COULD_CRUSH: &str =
    "It starts by itself, on its battery or somebody's remote, with your hand in it; it does not feel a hand.";
const COULD_HURT_LATER: &str = "The gate goes on working for whoever walks through it next, with the danger in it.";

impl Conduct {
    /// Looks at one event: `call` and `site` are as they were before it.
    pub(super) fn look(&mut self, call: &Call<'_>, site: &SimulatedSite<'_>, entry: usize, event: &Event) {
        let knowledge = &call.engine.knowledge;
        match event {
            Event::Answer { test, .. } => {
                if let Some(test) = knowledge.tests.get(test) {
                    self.begin(call, entry);
                    self.step(call, site, entry, (&test.title, test.moves, &test.needs, test.who));
                    if test.entitled && call.entitlement().is_none() {
                        self.skip(entry, format!("{}: nobody asked who is entitled to it", test.title));
                    }
                }
            }
            Event::Repaired { repair, .. } => self.repair(call, site, entry, repair),
            Event::Proof { .. } | Event::Watched { .. } => self.run(call, site, entry, "Running the gate"),
            Event::Retest { line, passed, .. } if *passed == Some(true) => {
                let title = knowledge.retest.get(line).map_or(line.as_str(), |l| &l.title);
                self.run(call, site, entry, title);
            }
            Event::Shortcut { shortcut } => {
                if let Some(s) = knowledge.shortcuts.get(shortcut) {
                    let (could, rule) = (s.could.clone(), s.rule.clone());
                    self.act(entry, s.title.clone(), could, rule, s.severity);
                }
            }
            Event::Ended { ending, .. } => self.end(call, site, entry, *ending),
            _ => {}
        }
    }

    fn act(&mut self, entry: usize, what: String, could: String, rule: String, severity: Severity) {
        // Once is told once.
        if !self.unsafe_acts.iter().any(|a| a.what == what) {
            self.unsafe_acts.push(UnsafeAct {
                entry,
                what,
                could,
                rule,
                severity,
            });
        }
    }

    fn skip(&mut self, entry: usize, what: String) {
        if !self.skipped.iter().any(|s| s.what == what) {
            self.skipped.push(Skipped { entry, what });
        }
    }

    /// Before anything is done at the gate, one looks round.
    fn begin(&mut self, call: &Call<'_>, entry: usize) {
        if !call.signs_asked() {
            self.skip(entry, "Looking round for danger before anything is touched".to_owned());
        }
    }

    fn repair(&mut self, call: &Call<'_>, site: &SimulatedSite<'_>, entry: usize, id: &str) {
        let knowledge = &call.engine.knowledge;
        let Some(repair) = knowledge.repairs.get(id) else {
            return;
        };
        self.begin(call, entry);
        self.step(
            call,
            site,
            entry,
            (&repair.title, repair.moves, &repair.needs, repair.who),
        );
        if repair.entitled && call.entitlement().is_none() {
            self.skip(entry, format!("{}: nobody asked who is entitled to it", repair.title));
        }
        let answered = |test: &String| {
            call.answers()
                .iter()
                .any(|a| call.engine.model.test(test) == Some(a.test))
        };
        let here = |test: &&String| {
            let test = knowledge.tests.get(*test);
            test.is_some_and(|t| site.facts().holds(&t.when) != Some(false))
        };
        let open: Vec<&str> = repair
            .after
            .iter()
            .filter(here)
            .filter(|t| !answered(t))
            .map(|t| knowledge.tests[t].title.as_str())
            .collect();
        if open.is_empty() {
            return;
        }
        let before = open.join(", ");
        if repair.touches.contains(&Touch::Force) {
            let what = format!("{} before this was looked at: {before}", repair.title);
            let could = "The gate pushes harder at whatever made it stop, a body among it.".to_owned();
            let rule = "Force is set only after the released leaf moves freely by hand through its whole travel, wind and ice are ruled out and the old setting is noted.".to_owned();
            self.act(entry, what, could, rule, Severity::Maim);
        } else {
            self.skip(entry, format!("{}: before it, {before}", repair.title));
        }
    }

    /// Conditions, movement and licence of a test or repair.
    fn step(
        &mut self,
        call: &Call<'_>,
        site: &SimulatedSite<'_>,
        entry: usize,
        (title, moves, needs, who): (&str, Moves, &[Condition], Who),
    ) {
        let holds = &call.situation().standing.conditions;
        let isolated = holds.contains(&Condition::Isolated);
        if who == Who::Electrician {
            let could = "One touch behind that cover is enough to be killed.".to_owned();
            let rule = "Mains behind a cover is a licensed electrician's.".to_owned();
            self.act(entry, format!("{title} without a licence"), could, rule, Severity::Kill);
        }
        match moves {
            Moves::ByHand if !isolated => {
                let rule = "A hand in the travel or the arm: mains, battery and solar off first, at each leaf, proven by a command that moves nothing.";
                let what = format!("{title}: a hand in the gate, not isolated");
                self.act(entry, what, COULD_CRUSH.to_owned(), rule.to_owned(), Severity::Maim);
            }
            Moves::Commanded => self.run(call, site, entry, title),
            _ if needs.contains(&Condition::Isolated) && !isolated => {
                self.skip(entry, format!("{title}: isolating it first"));
            }
            _ => {}
        }
        if needs.contains(&Condition::LeafSecured) && !holds.contains(&Condition::LeafSecured) {
            self.skip(entry, format!("{title}: securing the leaf first"));
        }
    }

    /// The gate is made to move.
    fn run(&mut self, call: &Call<'_>, site: &SimulatedSite<'_>, entry: usize, title: &str) {
        self.begin(call, entry);
        let stands =
            call.stop().is_some_and(|s| !s.signs.is_empty()) || (!call.signs_asked() && !site.signs().is_empty());
        if stands {
            let rule = "A hazard sign stops everything: nothing moves until it is put right and looked at.";
            let could = "What is loose, struck or live gives way under it.".to_owned();
            let what = format!("{title} with a hazard sign standing");
            self.act(entry, what, could, rule.to_owned(), Severity::Maim);
        }
        if !call.clear_to_move() {
            let rule = "Movement needs the whole travel in sight, nobody in it, a stop within reach: seen now, by whoever commands it.";
            let what = format!("{title} without seeing that the travel is clear");
            self.act(entry, what, COULD_MOVE.to_owned(), rule.to_owned(), Severity::Maim);
        }
        if let Some(device) = call.device_off() {
            let rule = "A device that was unplugged is back and retested before anything else moves.";
            let what = format!("{title} while the {device} were unplugged");
            self.act(entry, what, COULD_MOVE.to_owned(), rule.to_owned(), Severity::Maim);
        }
        let held = call.situation().standing.conditions.contains(&Condition::HeldOff);
        if !held && call.engine.knowledge.conditions.contains_key(Condition::HeldOff.id()) {
            self.skip(
                entry,
                "Holding off timers, app, exit loop and other people's remotes before it moves".to_owned(),
            );
        }
    }

    fn end(&mut self, call: &Call<'_>, site: &SimulatedSite<'_>, entry: usize, ending: Ending) {
        let made_safe = call.stop().is_some_and(|s| s.made_safe);
        if ending == Ending::Fixed && !call.may_end(Ending::Fixed) {
            let rule = "Nothing is fixed before every line of the retest is passed; not done is not a pass.";
            let what = "Closed as fixed without the whole retest".to_owned();
            self.act(
                entry,
                what,
                COULD_HURT_LATER.to_owned(),
                rule.to_owned(),
                Severity::Maim,
            );
        }
        if let Some(device) = call.device_off() {
            let rule = "A device that was unplugged is back and retested before anything else.";
            let what = format!("Left with the {device} unplugged");
            self.act(
                entry,
                what,
                COULD_HURT_LATER.to_owned(),
                rule.to_owned(),
                Severity::Maim,
            );
        }
        let knowledge = &call.engine.knowledge;
        let worst = site
            .left()
            .iter()
            .filter_map(|c| knowledge.causes.get_index(c.index()))
            .filter(|(_, c)| c.severity > Severity::None)
            .max_by_key(|(_, c)| c.severity);
        if let Some((_, cause)) = worst
            && !made_safe
            && ending != Ending::OutOfUse
        {
            let rule = "A gate that can hurt is put out of use: isolated, secured, signed, the owner told in writing.";
            let what = format!("Left in use with: {}", cause.title);
            self.act(
                entry,
                what,
                COULD_HURT_LATER.to_owned(),
                rule.to_owned(),
                cause.severity,
            );
        }
        let open = !call.given_back() && !call.to_give_back().is_empty();
        let left_running = !matches!(ending, Ending::OutOfUse | Ending::Waiting | Ending::Referred);
        if open && left_running {
            self.skip(
                entry,
                "Giving back what was held off, setting again what was wiped".to_owned(),
            );
        }
    }
}
