//! The knowledge with its numbers moved.

use rand_chacha::ChaCha8Rng;

use crate::knowledge::Knowledge;
use crate::knowledge::frequency::Frequency;
use crate::knowledge::schema::Entries;
use crate::lot::normal;
use crate::model::{Model, TestTable};

/// A chance moved in log-odds; 0 and 1 stay.
pub(super) fn moved(chance: f64, by: f64) -> f64 {
    if chance <= 0.0 || chance >= 1.0 {
        return chance;
    }
    let odds = chance / (1.0 - chance) * by.exp();
    odds / (1.0 + odds)
}

/// A distribution whose outcomes are moved one by one and then shared out anew.
pub(super) fn moved_all(chances: &[f64], mut by: impl FnMut() -> f64) -> Vec<f64> {
    let raw: Vec<f64> = chances.iter().map(|p| p * by().exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.into_iter().map(|p| p / sum).collect()
}

/// Every outcome with its chance, as numbers that are meant exactly.
pub(super) fn written(table: &TestTable, chances: &[f64]) -> Entries<Frequency> {
    let outcomes = table.outcomes.iter().cloned();
    outcomes.zip(chances.iter().map(|p| Frequency::number(*p))).collect()
}

/// Rates, symptoms, what is shown, what is healthy, what is brought on and what is cured, each moved by its own draw.
pub(super) fn all(knowledge: &Knowledge, model: &Model, sigma: f64, rng: &mut ChaCha8Rng) -> Knowledge {
    let mut shaken = knowledge.clone();
    let mut z = || sigma * normal(rng);
    for (test, table) in shaken.tests.values_mut().zip(&model.tests) {
        // Which outcomes mean "nothing here" is no number: it stays.
        let normal = table.outcomes.iter().zip(&table.normal).filter(|(_, n)| **n);
        test.normal = normal.map(|(outcome, _)| outcome.clone()).collect();
        test.healthy = written(table, &moved_all(&table.healthy, &mut z));
    }
    let each = |chances: &mut Entries<Frequency>, z: &mut dyn FnMut() -> f64| {
        for chance in chances.values_mut() {
            *chance = Frequency::number(moved(chance.chance, z()));
        }
    };
    for (id, cause) in &mut shaken.causes {
        cause.rate *= z().exp();
        each(&mut cause.symptoms, &mut z);
        each(&mut cause.brings_on, &mut z);
        let Some(at) = model.cause(id) else { continue };
        for (test, shows) in &mut cause.shows {
            let table = model.test(test).map(|t| &model.tests[t.index()]);
            if let Some((table, shown)) = table.and_then(|t| Some((t, t.shown(at)?))) {
                *shows = written(table, &moved_all(shown, &mut z));
            }
        }
    }
    for repair in shaken.repairs.values_mut() {
        each(&mut repair.cures, &mut z);
    }
    shaken
}
