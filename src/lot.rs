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

/// Standard normal (Box & Muller, Annals of Mathematical Statistics 29, 1958).
pub(crate) fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let (u, v) = (1.0 - unit(rng), unit(rng));
    libm::sqrt(-2.0 * libm::log(u)) * libm::cos(std::f64::consts::TAU * v)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_chacha::rand_core::SeedableRng as _;

    #[test]
    fn normal_has_mean_0_and_variance_1() {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let drawn: Vec<f64> = (0..20_000).map(|_| normal(&mut rng)).collect();
        let n = drawn.len() as f64;
        let mean = drawn.iter().sum::<f64>() / n;
        let variance = drawn.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n;
        // Four standard errors: 4/√n, 4·√(2/n).
        assert!(mean.abs() < 0.029 && (variance - 1.0).abs() < 0.04, "{mean} {variance}");
    }
}
