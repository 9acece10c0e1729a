//! Numbers from a seeded stream, the same on every platform.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng as _;

/// Even over 0 to 1, from 53 random bits.
pub(crate) fn uniform(rng: &mut ChaCha8Rng) -> f64 {
    (rng.next_u64() >> 11) as f64 / (1u64 << 53) as f64
}

/// Standard normal (Box & Muller, Annals of Mathematical Statistics 29, 1958).
pub(crate) fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let (u, v) = (1.0 - uniform(rng), uniform(rng));
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
