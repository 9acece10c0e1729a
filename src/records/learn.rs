//! Base rates and outcome frequencies from closed calls, on top of the author's numbers.
//!
//! **Rates.** φ(c), the share of calls in which c arose by itself, has a Dirichlet prior: the author's shares are worth a stated number of calls.
//! Each confirmed call adds its shares k(c). Where the site's facts multiply or exclude causes, a call at a site v chose c with chance φ(c) μ(c, v) / Z(v), Z(v) = Σ φ μ,
//! μ the multiplier relative to its mean over all sites. The estimate solves φ(c) = (α(c) + k(c)) / (W + E(c)) with the exposure
//! E(c) = Σ over confirmed calls of μ(c, v) / Z(v), the fixed point of Caron & Doucet, "Efficient Bayesian inference for generalized Bradley–Terry
//! models", J. Comput. Graph. Stat. 21(1), 2012 (choice among weighted alternatives with gamma priors; from memory). Without site facts E(c) is the
//! number of calls, and this is the Dirichlet's own mean. The interval is that of Beta(α + k, W + E − α − k): exact there, close to it else.
//!
//! **What the repairs leave open.** Where a call may have been one cause or another, its shares carry the author's rates. Of α + k only α + k − Σ s (1 − s) is then
//! information about c (Louis, J. R. Stat. Soc. B 44(2), 1982; each cause by itself): the step away from the author's share is lengthened by their ratio, as repeated
//! re-weighing would, and the interval is as wide as the smaller number makes it.
//!
//! **Halves.** A call that nobody could have called back yet counts half, one that was called back counts nothing ([`super::Window`]): in k(c), in the sites behind E(c) and in the answers.
//!
//! **Outcomes.** For a cause that repairs and proofs alone confirm, each test answered by a technician before the first repair counts for the outcome it showed, on
//! top of the author's distribution. A test is asked because the plan thought it telling; that depends on earlier answers, not on this one, so within one cause it does not bend the
//! counts. What does bend them: calls whose answers misled more often end as referred, or with another repair and a fault that only seemed gone; those are not
//! counted, so what a cause shows comes out somewhat too clear, most for causes that come and go.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::beta::interval_95;
use super::outcome::{Closed, Kinds, Reader, Told};
use super::sites::{SiteKey, Sites};
use super::{Halves, Units, Window, calls, units};
use crate::belief::trace_chance;
use crate::call::{Call, Counted, Engine, Entry, Rank};
use crate::knowledge::schema::Severity;
use crate::model::{CauseId, TestId};

/// Calls that the author's rates are worth, where nobody says otherwise. A rate of 45 in a thousand then counts as good within a factor of two
/// (95 %: 21 to 78), which is as well as a tradesman knows his own calls; after 200 confirmed calls both count the same.
pub const WEIGHT: f64 = 200.0;
/// Answers that the author's outcome frequencies are worth. "Often", 0.66, then means 0.44 to 0.84, about how far people's use of such words spreads.
pub const TEST_WEIGHT: f64 = 20.0;
/// Fewest answers from which an outcome distribution is written.
pub const FEWEST_ANSWERS: f64 = 10.0;
/// Chance of showing from which a spell's answers count for a cause.
const SHOWS: f64 = 1.0 - 1e-9;

/// How much the author's numbers are worth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Weights {
    /// Rates, in calls; above 0.
    pub rates: f64,
    /// Outcomes, in answers; above 0.
    pub tests: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Self {
            rates: WEIGHT,
            tests: TEST_WEIGHT,
        }
    }
}

/// What one thread has counted.
pub struct Tally<'a> {
    reader: Reader<'a>,
    sites: &'a Sites,
    window: &'a Window,
    counts: Counts,
}

/// Whole-number counts: the same in any order.
#[derive(Debug, Clone, Default)]
struct Counts {
    kinds: Kinds,
    /// Of the calls that confirm a cause, how many count half.
    half: u64,
    /// How often each cause arose by itself, and how much of that is left open: the sum of share × (1 − share).
    causes: BTreeMap<CauseId, (Units, Units)>,
    /// At what sites.
    sites: BTreeMap<SiteKey, Units>,
    /// Outcomes by test and cause; no cause: healthy.
    outcomes: BTreeMap<(TestId, Option<CauseId>), Vec<Units>>,
    /// First and last day.
    days: Option<(String, String)>,
}

impl<'a> Tally<'a> {
    /// Nothing counted yet; `window` has seen every call that is going to be counted.
    #[must_use]
    pub fn new(engine: &'a Engine, sites: &'a Sites, window: &'a Window) -> Self {
        Self {
            reader: Reader::new(engine),
            sites,
            window,
            counts: Counts::default(),
        }
    }

    /// Counts one call.
    ///
    /// # Errors
    /// When it is a call of quite other knowledge.
    pub fn add(&mut self, engine: &Engine, entries: Vec<Entry>) -> Result<(), super::Strange> {
        let Closed { call, told } = self.reader.read(entries)?;
        let (told, halves) = self.window.judged(told, &call);
        self.counts.kinds.add(&told);
        if let Some(first) = call.entries.first() {
            let day: String = first
                .time
                .chars()
                .take(10)
                .filter(|c| c.is_ascii_digit() || *c == '-')
                .collect();
            let days = self.counts.days.get_or_insert_with(|| (day.clone(), day.clone()));
            if day < days.0 {
                days.0.clone_from(&day);
            }
            if day > days.1 {
                days.1 = day;
            }
        }
        let Told::Confirmed(confirmed) = told else {
            return Ok(());
        };
        let site = self.sites.key(&call.situation().site);
        let at_site = self.counts.sites.entry(site).or_default();
        for &(cause, share) in &confirmed.arisen {
            let seen = self.counts.causes.entry(cause).or_default();
            seen.0 += halves.of(units(share));
            seen.1 += halves.of(units(share * (1.0 - share)));
            *at_site += halves.of(units(share));
        }
        self.counts.half += u64::from(halves == Halves::One);
        if let Some(cause) = self.reader.alone(&call) {
            self.answers(engine, &call, cause, halves);
        }
        Ok(())
    }

    /// Answers of a technician before the first repair.
    fn answers(&mut self, engine: &Engine, call: &Call<'_>, cause: CauseId, halves: Halves) {
        let answers = call
            .answers()
            .iter()
            .filter(|a| a.counts && a.epoch == 0 && a.by != Rank::Told);
        for answer in answers {
            let table = &engine.model.tests[answer.test.index()];
            let (of, chances) = match table.shown(cause) {
                // What comes and goes must not be counted as showing while nobody can say that it did.
                Some(_) if shown_for_sure(engine, call, answer, cause) < SHOWS => continue,
                Some(shown) => (Some(cause), shown),
                None => (None, table.healthy.as_slice()),
            };
            let into = self
                .counts
                .outcomes
                .entry((answer.test, of))
                .or_insert_with(|| vec![0; chances.len()]);
            for (into, share) in into.iter_mut().zip(shares(answer, chances)) {
                *into += halves.of(units(share));
            }
        }
    }
}

/// The chance that the cause showed on tests in the spell of an answer.
fn shown_for_sure(engine: &Engine, call: &Call<'_>, answer: &Counted, cause: CauseId) -> f64 {
    let spell = &call.situation().evidence.epochs[answer.epoch].spells[answer.spell];
    let show = &engine.model.shows[cause.index()];
    trace_chance(spell.now, show.share(&spell.under), show.traces(&spell.under))
}

/// What an answer counts for each outcome: 1 for the one it lies in; near a limit, where the meter can't tell, by likelihood and what was expected.
fn shares(answer: &Counted, chances: &[f64]) -> Vec<f64> {
    if let Some(numbers) = &answer.numbers {
        let weighed: Vec<f64> = numbers.likelihood.iter().zip(chances).map(|(l, p)| l * p).collect();
        let total: f64 = weighed.iter().sum();
        if total > 0.0 {
            return weighed.into_iter().map(|w| w / total).collect();
        }
    }
    (0..chances.len())
        .map(|o| f64::from(u8::from(o == answer.outcome)))
        .collect()
}

impl Counts {
    fn join(&mut self, other: Self) {
        self.kinds.join(&other.kinds);
        self.half += other.half;
        for (cause, (seen, open)) in other.causes {
            let mine = self.causes.entry(cause).or_default();
            mine.0 += seen;
            mine.1 += open;
        }
        for (site, share) in other.sites {
            *self.sites.entry(site).or_default() += share;
        }
        for (key, counts) in other.outcomes {
            let mine = self.outcomes.entry(key).or_insert_with(|| vec![0; counts.len()]);
            mine.iter_mut().zip(counts).for_each(|(mine, theirs)| *mine += theirs);
        }
        if let Some((first, last)) = other.days {
            let days = self.days.get_or_insert_with(|| (first.clone(), last.clone()));
            days.0 = first.min(days.0.clone());
            days.1 = last.max(days.1.clone());
        }
    }
}

/// What was learnt of one number.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Change {
    /// What the author wrote (or the words mean).
    pub was: f64,
    /// What it is with the calls.
    pub now: f64,
    /// How often it was seen: calls, or answers.
    pub seen: f64,
    /// Out of how many.
    pub of: f64,
    /// The middle 95 % of what it may be.
    pub interval: [f64; 2],
}

/// What was learnt of a base rate, calls in a thousand.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct LearnedRate {
    /// Cause.
    pub cause: String,
    /// Its title.
    pub title: String,
    /// The rate.
    #[serde(flatten)]
    pub change: Change,
    /// It would go down, but the cause is a danger and dangerous gates often end out of use, where they count for nothing: it stays.
    pub held: bool,
}

/// What was learnt of the outcomes of one test.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct LearnedOutcomes {
    /// Test.
    pub test: String,
    /// Its title.
    pub title: String,
    /// The cause that was there; none: nothing that bears on the test.
    pub cause: Option<String>,
    /// Answers.
    pub answers: f64,
    /// Every outcome, in the author's order.
    pub outcomes: Vec<(String, Change)>,
}

/// Everything that was learnt.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Learned {
    /// Version of this format.
    pub version: u32,
    /// What the author's numbers were worth.
    pub weights: Weights,
    /// How many calls told what.
    pub kinds: Kinds,
    /// Of those that confirm a cause, how many count half: their site has no name, or 60 days had not passed.
    pub at_half: u64,
    /// First and last day of the calls.
    pub days: Option<(String, String)>,
    /// Rates of the causes that some repair cures.
    pub rates: Vec<LearnedRate>,
    /// Share of *nothing wrong*.
    pub nothing_wrong: Option<Change>,
    /// Outcomes with enough answers.
    pub outcomes: Vec<LearnedOutcomes>,
}

impl Learned {
    /// Puts the counts of all threads together on top of the author's numbers.
    #[must_use]
    pub fn from_tallies(engine: &Engine, sites: &Sites, tallies: Vec<Tally<'_>>, weights: Weights) -> Self {
        let mut counts = Counts::default();
        tallies.into_iter().for_each(|t| counts.join(t.counts));
        Self {
            version: 1,
            weights,
            kinds: counts.kinds,
            at_half: counts.half,
            rates: rates(engine, sites, &counts, weights.rates),
            nothing_wrong: nothing_wrong(engine, &counts, weights.rates),
            outcomes: outcomes(engine, &counts, weights.tests),
            days: counts.days,
        }
    }
}

/// Most rounds to the fixed point; each at least halves the distance with ordinary sites.
const MOST_ROUNDS: usize = 200;
/// Largest relative change of a rate at which the rounds end: far below what is written.
const ROUNDS_END: f64 = 1e-9;

fn rates(engine: &Engine, sites: &Sites, counts: &Counts, weight: f64) -> Vec<LearnedRate> {
    let knowledge = &engine.knowledge;
    // A cause that nothing cures is never confirmed: it had no chance to count.
    let curable: BTreeSet<CauseId> = engine
        .model
        .repairs
        .iter()
        .flat_map(|r| r.cures.iter().filter(|(_, f)| *f > 0.0).map(|(c, _)| *c))
        .collect();
    let mean_rate = |c: &CauseId| knowledge.causes[c.index()].rate * sites.mean[c.index()];
    let causes: Vec<CauseId> = curable.into_iter().filter(|c| mean_rate(c) > 0.0).collect();
    let total: f64 = causes.iter().map(mean_rate).sum();
    let prior: Vec<f64> = causes.iter().map(|c| weight * mean_rate(c) / total).collect();
    let counted = |c: &CauseId| counts.causes.get(c).copied().unwrap_or_default();
    let seen: Vec<f64> = causes.iter().map(|c| calls(counted(c).0)).collect();
    let visits = Visits {
        sites,
        causes: &causes,
        counts: &counts.sites,
    };
    let exposure = visits.exposures(&prior, &seen, weight);
    let possible = visits.possible();
    let mut learned = Vec::new();
    for (i, cause) in causes.iter().enumerate() {
        let (id, entry) = knowledge.causes.get_index(cause.index()).expect("a cause of the model");
        let scale = total / sites.mean[cause.index()];
        let all = prior[i] + seen[i];
        let told = all - calls(counted(cause).1).min(0.8 * all);
        let before = prior[i] / weight;
        let first = all / (weight + exposure[i]);
        let share = (before + (first - before) * all / told).clamp(first / 3.0, (3.0 * first).min(1.0));
        let now = scale * share;
        learned.push(LearnedRate {
            cause: id.clone(),
            title: entry.title.clone(),
            change: Change {
                was: entry.rate,
                now,
                seen: seen[i],
                of: possible[i],
                interval: interval_95(told, told * (1.0 - share) / share).map(|share| scale * share),
            },
            held: entry.severity > Severity::None && now < entry.rate,
        });
    }
    learned
}

/// Confirmed calls by site; multipliers are worked out again each time, for there may be as many different sites as calls.
struct Visits<'a> {
    sites: &'a Sites,
    causes: &'a [CauseId],
    counts: &'a BTreeMap<SiteKey, Units>,
}

impl Visits<'_> {
    fn each(&self, mut visit: impl FnMut(f64, &[f64])) {
        let mut multipliers = vec![0.0; self.causes.len()];
        for (site, n) in self.counts {
            for (m, cause) in multipliers.iter_mut().zip(self.causes) {
                *m = self.sites.relative(cause.index(), site);
            }
            visit(calls(*n), &multipliers);
        }
    }

    /// Calls in which each cause could occur at all.
    fn possible(&self) -> Vec<f64> {
        let mut possible = vec![0.0; self.causes.len()];
        self.each(|n, multipliers| {
            let could = possible.iter_mut().zip(multipliers).filter(|(_, m)| **m > 0.0);
            could.for_each(|(p, _)| *p += n);
        });
        possible
    }

    /// Calls that each cause was exposed to, weighed by how much likelier it is at their sites than elsewhere.
    fn exposures(&self, prior: &[f64], seen: &[f64], weight: f64) -> Vec<f64> {
        let mut share: Vec<f64> = prior.iter().map(|a| a / weight).collect();
        let mut exposure = vec![0.0; share.len()];
        for _ in 0..MOST_ROUNDS {
            exposure.fill(0.0);
            self.each(|n, multipliers| {
                let all: f64 = multipliers.iter().zip(&share).map(|(m, s)| m * s).sum();
                if all > 0.0 {
                    exposure
                        .iter_mut()
                        .zip(multipliers)
                        .for_each(|(e, m)| *e += n * m / all);
                }
            });
            let mut moved: f64 = 0.0;
            for (i, share) in share.iter_mut().enumerate() {
                let next = (prior[i] + seen[i]) / (weight + exposure[i]);
                moved = moved.max((next / *share - 1.0).abs());
                *share = next;
            }
            if moved < ROUNDS_END {
                break;
            }
        }
        exposure
    }
}

/// Share of *nothing wrong* among the calls that are not *not listed*, whose share nobody can confirm and which stays as it is.
fn nothing_wrong(engine: &Engine, counts: &Counts, weight: f64) -> Option<Change> {
    let settings = &engine.model.settings;
    let rest = 1.0 - settings.not_listed;
    let (seen, of) = (
        counts.kinds.no_fault_found as f64,
        (counts.kinds.no_fault_found + counts.kinds.confirmed) as f64,
    );
    if settings.nothing_wrong <= 0.0 || of <= 0.0 {
        return None;
    }
    let (a, b) = (weight * settings.nothing_wrong / rest + seen, weight + of);
    Some(Change {
        was: settings.nothing_wrong,
        now: rest * a / b,
        seen,
        of,
        interval: interval_95(a, b - a).map(|share| rest * share),
    })
}

fn outcomes(engine: &Engine, counts: &Counts, weight: f64) -> Vec<LearnedOutcomes> {
    let coded = super::pack::code_tests(&engine.knowledge);
    let mut learned = Vec::new();
    for ((test, cause), seen) in &counts.outcomes {
        let seen: Vec<f64> = seen.iter().map(|n| calls(*n)).collect();
        let answers: f64 = seen.iter().sum();
        let (id, entry) = engine
            .knowledge
            .tests
            .get_index(test.index())
            .expect("a test of the model");
        if answers < FEWEST_ANSWERS || coded.contains(id) {
            continue;
        }
        let table = &engine.model.tests[test.index()];
        let author = cause.and_then(|c| table.shown(c)).unwrap_or(&table.healthy);
        let change = |o: usize| {
            let a = weight * author[o] + seen[o];
            Change {
                was: author[o],
                now: a / (weight + answers),
                seen: seen[o],
                of: answers,
                interval: interval_95(a, weight + answers - a),
            }
        };
        let causes = &engine.knowledge.causes;
        learned.push(LearnedOutcomes {
            test: id.clone(),
            title: entry.title.clone(),
            cause: cause
                .and_then(|c| causes.get_index(c.index()))
                .map(|(id, _)| id.clone()),
            answers,
            outcomes: table
                .outcomes
                .iter()
                .cloned()
                .enumerate()
                .map(|(o, id)| (id, change(o)))
                .collect(),
        });
    }
    learned
}
