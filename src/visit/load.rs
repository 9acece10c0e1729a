//! The smallest load that gives a chosen chance of putting a gate right at the first visit.
//!
//! Problem: things may be loaded or not; a fault is put right when for each of its causes some repair is at hand with everything it needs. Find
//! the fewest things with which the chance reaches the aim; among as few, those with the best chance.
//!
//! Exact: by branch and bound over sets of one size after the other. A set S with k more things can't gain more than the k best sums, over the
//! faults that a thing is of use for, of what the fault could still gain, each divided by the fewest things that it still lacks: whatever makes
//! that fault better brings at least so many of them. Only where the search is cut off ([`MOST_NODES`]) is the result the best one found;
//! [`Load::smallest`] says which.

use std::collections::BTreeMap;

/// A set of things, by position; problems of more than 128 things are cut before.
pub type Things = u128;

/// One way to put a cause right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Way {
    /// Everything it needs.
    pub needs: Things,
    /// Chance that it cures the cause.
    pub cures: f64,
}

/// What may be wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Chance that it is this.
    pub chance: f64,
    /// The ways for each of its causes; none for one that nobody there can put right. No causes: nothing has to be done.
    pub causes: Vec<Vec<Way>>,
}

impl Fault {
    /// Chance that all of it is put right with these things.
    fn settled(&self, loaded: Things) -> f64 {
        let cured = |ways: &Vec<Way>| {
            let at_hand = ways.iter().filter(|w| w.needs & !loaded == 0);
            1.0 - at_hand.map(|w| 1.0 - w.cures).product::<f64>()
        };
        self.causes.iter().map(cured).product()
    }

    /// The fewest things that can make it any better, and every thing that might; nothing where it is as good as it gets.
    fn lacks(&self, loaded: Things) -> (u32, Things) {
        let missing = |w: &Way| w.needs & !loaded;
        let (mut fewest, mut of_use) = (u32::MAX, 0);
        for ways in &self.causes {
            for way in ways.iter().filter(|w| missing(w) != 0) {
                of_use |= missing(way);
                fewest = fewest.min(missing(way).count_ones());
            }
        }
        // While two causes can't be put right at all, neither alone makes it better.
        let hopeless = self.causes.iter().filter(|ways| ways.iter().all(|w| missing(w) != 0));
        let needed = hopeless.filter_map(|ways| ways.iter().map(|w| missing(w).count_ones()).min());
        (needed.fold(fewest, u32::max), of_use)
    }
}

/// What faults with the same ways have in common: by cause, what each way needs and the bits of its chance.
type Key = Vec<Vec<(Things, u64)>>;

/// The same faults, fewer of them: what no load changes is taken into the chance, and those that the same ways put right are one.
#[must_use]
pub fn merged(faults: impl Iterator<Item = Fault>) -> Vec<Fault> {
    let mut by_ways: BTreeMap<Key, (f64, Vec<Vec<Way>>)> = BTreeMap::new();
    for fault in faults {
        let (fixed, open): (Vec<Vec<Way>>, Vec<Vec<Way>>) = fault
            .causes
            .into_iter()
            .partition(|ways| ways.iter().all(|w| w.needs == 0));
        let fixed = Fault {
            chance: fault.chance,
            causes: fixed,
        };
        let mut open: Vec<Vec<Way>> = open.into_iter().map(|ways| needed(&ways)).collect();
        let key =
            |ways: &Vec<Way>| -> Vec<(Things, u64)> { ways.iter().map(|w| (w.needs, w.cures.to_bits())).collect() };
        open.sort_by_key(key);
        let chance = fixed.chance * fixed.settled(0);
        by_ways.entry(open.iter().map(key).collect()).or_insert((0.0, open)).0 += chance;
    }
    let mut merged: Vec<Fault> = by_ways
        .into_values()
        .map(|(chance, causes)| Fault { chance, causes })
        .collect();
    merged.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    merged
}

/// Ways in one order; two that need the same things are one.
fn needed(ways: &[Way]) -> Vec<Way> {
    let mut by_needs: BTreeMap<Things, f64> = BTreeMap::new();
    for way in ways {
        *by_needs.entry(way.needs).or_insert(1.0) *= 1.0 - way.cures;
    }
    by_needs
        .into_iter()
        .map(|(needs, fails)| Way {
            needs,
            cures: 1.0 - fails,
        })
        .collect()
}

/// A load.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// What is loaded.
    pub things: Things,
    /// Chance of putting it right with it.
    pub rate: f64,
    /// No smaller set reaches the aim, and none as small has a better chance.
    pub smallest: bool,
}

/// Sets looked at before the search is cut off.
pub const MOST_NODES: usize = 20_000;

/// Chance of putting right whatever it is with these things.
#[must_use]
pub fn rate(faults: &[Fault], loaded: Things) -> f64 {
    faults.iter().map(|f| f.chance * f.settled(loaded)).sum()
}

/// The smallest load with which the chance reaches `aim`; everything of use where nothing reaches it.
#[must_use]
pub fn smallest(faults: &[Fault], things: usize, aim: f64) -> Load {
    let all = all(things);
    let enough = aim - 1e-12;
    if rate(faults, all) < enough {
        let of_use = faults.iter().fold(0, |set, f| set | f.lacks(0).1);
        return Load {
            things: of_use & all,
            rate: rate(faults, all),
            smallest: false,
        };
    }
    let mut greedy = greedy(faults, things, enough);
    let mut nodes = 0;
    for size in 0..greedy.count_ones() {
        let mut search = Search {
            faults,
            things,
            best: enough,
            found: None,
            nodes: &mut nodes,
        };
        search.extend(0, all, size);
        let found = search.found;
        if nodes >= MOST_NODES {
            // What was found of this size is as good as any; whether fewer would do is not known.
            let things = found.unwrap_or(greedy);
            return Load {
                things,
                rate: rate(faults, things),
                smallest: false,
            };
        }
        if let Some(things) = found {
            return Load {
                things,
                rate: rate(faults, things),
                smallest: true,
            };
        }
    }
    // None smaller: the best of that size is at least as good as the greedy one.
    let size = greedy.count_ones();
    let mut search = Search {
        faults,
        things,
        best: rate(faults, greedy) + 1e-12,
        found: None,
        nodes: &mut nodes,
    };
    search.extend(0, all, size);
    greedy = search.found.unwrap_or(greedy);
    Load {
        things: greedy,
        rate: rate(faults, greedy),
        smallest: nodes < MOST_NODES,
    }
}

/// Bundle after bundle, the one with the greatest gain a thing first.
#[must_use]
pub fn in_order(faults: &[Fault], from: Things, of: Things) -> Vec<(Things, f64)> {
    let (mut loaded, mut order) = (from, Vec::new());
    while loaded | of != loaded {
        let bundle = best_bundle(faults, loaded, of).unwrap_or(of & !loaded);
        loaded |= bundle;
        order.push((bundle, rate(faults, loaded)));
    }
    order
}

/// What some way lacks and can be had, with the greatest gain a thing.
#[must_use]
pub fn best_bundle(faults: &[Fault], loaded: Things, of: Things) -> Option<Things> {
    let mut bundles: Vec<Things> = faults
        .iter()
        .flat_map(|f| f.causes.iter().flatten())
        .map(|w| w.needs & !loaded)
        .filter(|b| *b != 0 && b & !of == 0)
        .collect();
    bundles.sort_unstable();
    bundles.dedup();
    let now = rate(faults, loaded);
    let gain = |b: Things| (rate(faults, loaded | b) - now) / f64::from(b.count_ones());
    bundles
        .into_iter()
        .map(|b| (gain(b), b))
        .filter(|(gain, _)| *gain > 1e-9)
        .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))
        .map(|(_, b)| b)
}

/// A load that reaches the aim, and from which nothing can be left out.
fn greedy(faults: &[Fault], things: usize, enough: f64) -> Things {
    let all = all(things);
    let mut loaded = 0;
    while rate(faults, loaded) < enough {
        // A pair of causes may need two bundles at once: then the whole of some fault.
        let next = best_bundle(faults, loaded, all).or_else(|| {
            let whole = |f: &Fault| (f.lacks(loaded).1 != 0).then(|| f.lacks(loaded).1);
            faults.iter().find_map(whole)
        });
        loaded |= next.unwrap_or(all);
    }
    for thing in (0..things).rev() {
        let without = loaded & !(1 << thing);
        if without != loaded && rate(faults, without) >= enough {
            loaded = without;
        }
    }
    loaded
}

struct Search<'f> {
    faults: &'f [Fault],
    things: usize,
    /// What a set has to reach, and then to beat.
    best: f64,
    found: Option<Things>,
    nodes: &'f mut usize,
}

impl Search<'_> {
    /// Every set with `more` further things out of `open` that can be better than the best.
    fn extend(&mut self, loaded: Things, mut open: Things, more: u32) {
        *self.nodes += 1;
        if *self.nodes >= MOST_NODES {
            return;
        }
        let now = rate(self.faults, loaded);
        if more == 0 {
            if now >= self.best {
                self.best = now + 1e-12;
                self.found = Some(loaded);
            }
            return;
        }
        let gains = self.gains(loaded, open);
        for i in 0..gains.len() {
            // What was taken before is not taken again: each set is met once.
            let could: f64 = gains[i..].iter().take(more as usize).map(|g| g.0).sum();
            if now + could < self.best || gains.len() - i < more as usize {
                return;
            }
            let thing = 1 << gains[i].1;
            open &= !thing;
            self.extend(loaded | thing, open, more - 1);
        }
    }

    /// The most that each open thing can add to any set on the way, best first.
    fn gains(&self, loaded: Things, open: Things) -> Vec<(f64, usize)> {
        let mut gains: Vec<(f64, usize)> = (0..self.things)
            .filter(|t| open & (1 << t) != 0)
            .map(|t| (0.0, t))
            .collect();
        for fault in self.faults {
            let (fewest, of_use) = fault.lacks(loaded);
            if of_use & open == 0 {
                continue;
            }
            let could = fault.settled(loaded | open) - fault.settled(loaded);
            let each = fault.chance * could / f64::from(fewest);
            let useful = |g: &&mut (f64, usize)| of_use & (1 << g.1) != 0;
            gains.iter_mut().filter(useful).for_each(|g| g.0 += each);
        }
        gains.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        gains
    }
}

/// Every thing of a problem.
fn all(things: usize) -> Things {
    if things >= 128 { Things::MAX } else { (1 << things) - 1 }
}
