//! Drawing by lot, so that a seed gives the same on every machine: `ChaCha8`'s stream is documented, and what is made of it is written out here.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng as _;

/// Draws an index by weight: cumulative search, so that the mapping from the stream stays what it is.
pub(crate) fn draw(rng: &mut ChaCha8Rng, weights: &[f64]) -> usize {
    let total: f64 = weights.iter().sum();
    let mut rest = unit(rng) * total;
    for (i, weight) in weights.iter().enumerate() {
        rest -= weight;
        if rest < 0.0 {
            return i;
        }
    }
    weights.iter().rposition(|w| *w > 0.0).unwrap_or(0)
}

/// A number from 0 to 1, 1 excluded, from the upper 53 bits.
pub(crate) fn unit(rng: &mut ChaCha8Rng) -> f64 {
    (rng.next_u64() >> 11) as f64 / 9_007_199_254_740_992.0
}
