//! What a closed call tells: what was wrong, that nothing was, or nothing that could be counted.

use std::collections::{BTreeSet, VecDeque};

use crate::belief::{Belief, Branch, Evidence, Hypothesis, Prior, PriorWeigher};
use crate::call::{Call, Engine, Entry, Event};
use crate::knowledge::schema::Ending;
use crate::model::{CauseId, SiteFacts};

/// From this share on, repairs and proofs alone say which single cause it was. High enough to leave out causes that one repair cures alike; low enough to
/// keep calls with several wrong repairs before the right one, for those are the calls whose answers misled.
const ALONE: f64 = 0.75;
/// Priors of different sites that are kept at hand, a thread.
const PRIORS: usize = 8;

/// Why a call can't be used: it is about quite other knowledge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strange {
    /// Line of the file, from 1.
    pub line: usize,
    /// What is strange there.
    pub reason: String,
}

/// Why a call counts for no cause.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unconfirmed {
    /// It has not ended.
    Open,
    /// Ended as fixed or explained, but not every symptom was seen gone after the last repair.
    NotProven,
    /// What was answered excludes everything that is listed.
    Excluded,
    /// The same symptom came back at the same site too soon.
    CalledBack,
    /// Handed on.
    Referred {
        /// A fault that nobody wrote down was the likeliest of all.
        not_listed: bool,
    },
    /// It ended in another way.
    Ended(Ending),
}

/// What a call tells.
#[derive(Debug, Clone)]
pub enum Told {
    /// Repaired and proven.
    Confirmed(Confirmed),
    /// No fault found: counts for *nothing wrong*.
    NothingWrong,
    /// Counts for no cause.
    Nothing(Unconfirmed),
}

/// What proven repairs say was wrong: mostly the one cause that was repaired. What they leave open (which of two causes a repair cured, a fault that
/// comes and goes and only seemed cured) has its share given every answer and proof.
#[derive(Debug, Clone)]
pub struct Confirmed {
    /// The belief with everything that counts.
    pub belief: Belief,
    /// Chance of each cause that it was there and had arisen by itself; those of 0 left out. An unrelated pair adds to 2, one that was brought on by the
    /// other to 1.
    pub arisen: Vec<(CauseId, f64)>,
}

/// A call with what it tells.
pub struct Closed<'a> {
    /// The call; nothing is believed of it yet.
    pub call: Call<'a>,
    /// What it tells.
    pub told: Told,
}

/// Reads calls one after the other; one a thread.
pub struct Reader<'a> {
    engine: &'a Engine,
    priors: VecDeque<(SiteFacts, Prior)>,
}

impl<'a> Reader<'a> {
    /// A reader over some knowledge.
    #[must_use]
    pub fn new(engine: &'a Engine) -> Self {
        Self {
            engine,
            priors: VecDeque::new(),
        }
    }

    /// What a call tells.
    ///
    /// # Errors
    /// When the call is about quite other knowledge: it names a symptom or a repair that there is not, or mostly tests that there are not.
    pub fn read(&mut self, entries: Vec<Entry>) -> Result<Closed<'a>, Strange> {
        if let Some(strange) = other_knowledge(self.engine, &entries) {
            return Err(strange);
        }
        let call = Call::folded(self.engine, entries);
        let told = self.told(&call);
        Ok(Closed { call, told })
    }

    fn told(&mut self, call: &Call<'_>) -> Told {
        let Some((ending, _)) = call.ending() else {
            return Told::Nothing(Unconfirmed::Open);
        };
        if call.symptoms().is_empty() && matches!(ending, Ending::Fixed | Ending::Explained) {
            return Told::Nothing(Unconfirmed::NotProven);
        }
        match ending {
            Ending::Fixed | Ending::Explained => self.repaired(call),
            Ending::NoFaultFound => Told::NothingWrong,
            Ending::Referred => {
                let belief = self.belief(call);
                let likeliest = belief
                    .causes(&self.engine.model)
                    .into_iter()
                    .fold(belief.nothing(), f64::max);
                let not_listed = belief.total <= 0.0 || belief.not_listed() > likeliest;
                Told::Nothing(Unconfirmed::Referred { not_listed })
            }
            other => Told::Nothing(Unconfirmed::Ended(*other)),
        }
    }

    fn repaired(&mut self, call: &Call<'_>) -> Told {
        let proven = call.repairs().last().is_some_and(|r| r.all_gone(call.symptoms()));
        if !proven {
            return Told::Nothing(Unconfirmed::NotProven);
        }
        let belief = self.belief(call);
        if !belief.branches.iter().any(Branch::anything_cured) {
            return Told::Nothing(Unconfirmed::Excluded);
        }
        let arisen = self.arisen(call, &belief);
        Told::Confirmed(Confirmed { belief, arisen })
    }

    /// Of a pair that came about by one bringing on the other, only the first had arisen by itself.
    fn arisen(&self, call: &Call<'_>, belief: &Belief) -> Vec<(CauseId, f64)> {
        let model = &self.engine.model;
        let rates = model.rates(&self.engine.knowledge, &call.situation().site);
        let weigher = PriorWeigher::new(model, &rates);
        let mut share = vec![0.0; model.causes()];
        for branch in &belief.branches {
            let weight = branch.weight / belief.total;
            match branch.hypothesis {
                Hypothesis::Single(c) => share[c.index()] += weight,
                Hypothesis::Pair(c, d) => {
                    let [unrelated, c_first, d_first] = weigher.ways(c, d);
                    let all = (unrelated + c_first + d_first).max(f64::MIN_POSITIVE);
                    share[c.index()] += weight * (unrelated + c_first) / all;
                    share[d.index()] += weight * (unrelated + d_first) / all;
                }
                Hypothesis::NotListed | Hypothesis::Nothing => {}
            }
        }
        let shares = share.into_iter().enumerate().filter(|(_, s)| *s > 0.0);
        shares.map(|(c, s)| (CauseId::at(c), s)).collect()
    }

    /// The single cause that repairs and proofs confirm *without any answer*: only then do the answers not choose what they are counted for.
    #[must_use]
    pub fn alone(&mut self, call: &Call<'_>) -> Option<CauseId> {
        let evidence = &call.situation().evidence;
        let proofs: BTreeSet<usize> = evidence
            .epochs
            .iter()
            .flat_map(|e| e.proofs.iter().map(|p| p.event))
            .collect();
        let bare = evidence.filtered(&|event| proofs.contains(&event));
        let belief = self.weigh(&call.situation().site, &bare);
        let cured = belief.branches.iter().filter(|b| b.anything_cured());
        let total: f64 = cured.clone().map(|b| b.weight).sum();
        let likeliest = cured.max_by(|a, b| a.weight.total_cmp(&b.weight))?;
        match likeliest.hypothesis {
            Hypothesis::Single(cause) if likeliest.weight >= ALONE * total => Some(cause),
            _ => None,
        }
    }

    /// What is believed with everything that counts.
    #[must_use]
    pub fn belief(&mut self, call: &Call<'_>) -> Belief {
        self.weigh(&call.situation().site, &call.situation().evidence)
    }

    fn weigh(&mut self, site: &SiteFacts, evidence: &Evidence) -> Belief {
        let model = &self.engine.model;
        let at = self.priors.iter().position(|(of, _)| of == site).unwrap_or_else(|| {
            let prior = Prior::new(model, &model.rates(&self.engine.knowledge, site));
            if self.priors.len() == PRIORS {
                self.priors.pop_back();
            }
            self.priors.push_front((site.clone(), prior));
            0
        });
        Belief::new(model, &self.priors[at].1, evidence)
    }
}

/// The first thing in a call that this knowledge can't judge.
fn other_knowledge(engine: &Engine, entries: &[Entry]) -> Option<Strange> {
    let model = &engine.model;
    let (mut answers, mut unknown, mut first) = (0, 0, None);
    for (i, entry) in entries.iter().enumerate() {
        let strange = |what: String| {
            Some(Strange {
                line: i + 1,
                reason: format!(
                    "a call of other knowledge: there is no {what}; name the packs it was made with by --pack"
                ),
            })
        };
        match &entry.event {
            Event::Complaint { symptoms, .. } => {
                if let Some(id) = symptoms.iter().find(|s| model.symptom_id(s).is_none()) {
                    return strange(format!("symptom `{id}`"));
                }
            }
            Event::Repaired { repair, .. } if model.repair(repair).is_none() => {
                return strange(format!("repair `{repair}`"));
            }
            Event::Answer { test, .. } => {
                answers += 1;
                if model.test(test).is_none() {
                    unknown += 1;
                    first = first.or_else(|| strange(format!("test `{test}`")));
                }
            }
            _ => {}
        }
    }
    first.filter(|_| 2 * unknown > answers)
}

/// How many calls told what.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Kinds {
    /// Calls that could be read.
    pub calls: u64,
    /// Fixed or explained, and proven: these count.
    pub confirmed: u64,
    /// No fault found.
    pub no_fault_found: u64,
    /// Referred; *not listed* was not the likeliest.
    pub referred: u64,
    /// Referred with *not listed* the likeliest.
    pub referred_not_listed: u64,
    /// Waiting for parts or a return.
    pub waiting: u64,
    /// Made safe and left out of use.
    pub out_of_use: u64,
    /// A deficiency was refused.
    pub deficiency_refused: u64,
    /// The caller withdrew.
    pub withdrawn: u64,
    /// Fixed or explained by its ending, but not proven.
    pub not_proven: u64,
    /// The answers exclude everything listed.
    pub excluded: u64,
    /// Not ended.
    pub open: u64,
    /// Fixed or explained and proven, but called back.
    pub called_back: u64,
}

impl Kinds {
    /// Counts a call.
    pub fn add(&mut self, told: &Told) {
        self.calls += 1;
        let kind = match told {
            Told::Confirmed(_) => &mut self.confirmed,
            Told::NothingWrong => &mut self.no_fault_found,
            Told::Nothing(Unconfirmed::Open) => &mut self.open,
            Told::Nothing(Unconfirmed::CalledBack) => &mut self.called_back,
            Told::Nothing(Unconfirmed::Excluded) => &mut self.excluded,
            Told::Nothing(Unconfirmed::Referred { not_listed: false }) => &mut self.referred,
            Told::Nothing(Unconfirmed::Referred { not_listed: true }) => &mut self.referred_not_listed,
            Told::Nothing(Unconfirmed::Ended(Ending::Waiting)) => &mut self.waiting,
            Told::Nothing(Unconfirmed::Ended(Ending::OutOfUse)) => &mut self.out_of_use,
            Told::Nothing(Unconfirmed::Ended(Ending::DeficiencyRefused)) => &mut self.deficiency_refused,
            Told::Nothing(Unconfirmed::Ended(Ending::Withdrawn)) => &mut self.withdrawn,
            Told::Nothing(Unconfirmed::NotProven | Unconfirmed::Ended(_)) => &mut self.not_proven,
        };
        *kind += 1;
    }

    /// Adds another thread's counts.
    pub fn join(&mut self, other: &Self) {
        let mine = self.fields_mut();
        for (mine, theirs) in mine.into_iter().zip(other.fields()) {
            *mine += theirs;
        }
    }

    fn fields(&self) -> [u64; 13] {
        let mut copy = *self;
        copy.fields_mut().map(|f| *f)
    }

    fn fields_mut(&mut self) -> [&mut u64; 13] {
        [
            &mut self.calls,
            &mut self.confirmed,
            &mut self.no_fault_found,
            &mut self.referred,
            &mut self.referred_not_listed,
            &mut self.waiting,
            &mut self.out_of_use,
            &mut self.deficiency_refused,
            &mut self.withdrawn,
            &mut self.not_proven,
            &mut self.excluded,
            &mut self.open,
            &mut self.called_back,
        ]
    }

    /// Each kind in words, those without a call left out.
    #[must_use]
    pub fn in_words(&self) -> Vec<(&'static str, u64)> {
        let words = [
            "fixed or explained, and proven",
            "no fault found: nothing wrong",
            "referred",
            "referred, most likely not listed (nobody wrote it down)",
            "waiting",
            "out of use",
            "deficiency refused",
            "withdrawn",
            "called fixed or explained, but not proven",
            "answers that exclude everything listed",
            "still open",
            "called fixed or explained, but called back",
        ];
        let counts = self.fields();
        words
            .into_iter()
            .zip(counts.into_iter().skip(1))
            .filter(|(_, n)| *n > 0)
            .collect()
    }
}
