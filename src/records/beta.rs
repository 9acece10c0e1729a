//! The beta distribution: its distribution function and quantiles.
//!
//! Own code because the small crates that have it are translations of one textbook routine with a slip in its switching point, and the large
//! ones bring thirty crates. Checked below against published tables and in CI against `SciPy`.

/// Most terms of the continued fraction; it needs about the square root of the larger parameter.
const MOST_TERMS: u32 = 20_000;

/// `I_x(a, b)`, the chance that a beta variable lies at or below x. `a` and `b` above 0, x from 0 to 1.
///
/// By the continued fraction DLMF 8.17.22 (<https://dlmf.nist.gov/8.17.E22>), evaluated by Lentz's method, on the side where it converges fast.
#[must_use]
pub fn beta_cdf(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    by_logs(x, x.ln(), (-x).ln_1p(), a, b)
}

/// The same with ln x and ln (1 − x) given, so that an x very near to 0 keeps its digits.
fn by_logs(x: f64, ln_x: f64, ln_rest: f64, a: f64, b: f64) -> f64 {
    let ln_front = a * ln_x + b * ln_rest - ln_beta(a, b);
    if x < (a + 1.0) / (a + b + 2.0) {
        ln_front.exp() * fraction(x, a, b) / a
    } else {
        1.0 - ln_front.exp() * fraction(1.0 - x, b, a) / b
    }
}

fn ln_beta(a: f64, b: f64) -> f64 {
    libm::lgamma(a) + libm::lgamma(b) - libm::lgamma(a + b)
}

fn fraction(x: f64, a: f64, b: f64) -> f64 {
    let not_zero = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / not_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for m in (1..MOST_TERMS).map(f64::from) {
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut factor = 1.0;
        for term in [even, odd] {
            d = 1.0 / not_zero(1.0 + term * d);
            c = not_zero(1.0 + term / c);
            factor = c * d;
            value *= factor;
        }
        if (factor - 1.0).abs() < 1e-16 {
            break;
        }
    }
    value
}

/// The x at which `I_x(a, b)` is p: by halving on ln (x / (1 − x)), which keeps the digits of very small x. With `a` 0 it is 0, with `b` 0 it is 1.
#[must_use]
pub fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    if a <= 0.0 {
        return 0.0;
    }
    if b <= 0.0 {
        return 1.0;
    }
    let (mut low, mut high) = (-700.0_f64, 700.0_f64);
    for _ in 0..100 {
        let middle = low.midpoint(high);
        let (ln_x, ln_rest) = (-(-middle).exp().ln_1p(), -middle.exp().ln_1p());
        if by_logs(ln_x.exp(), ln_x, ln_rest, a, b) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    1.0 / (1.0 + (-low.midpoint(high)).exp())
}

/// The middle 95 % of a beta distribution.
#[must_use]
pub fn interval_95(a: f64, b: f64) -> [f64; 2] {
    [beta_quantile(0.025, a, b), beta_quantile(0.975, a, b)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The binomial sum that it stands for: `I_p(k, n − k + 1)` = P(at least k of n), DLMF 8.17.5.
    #[test]
    fn it_is_a_binomial_tail() {
        // P(at least 3 of 5) at 0.4 = 10·0.064·0.36 + 5·0.0256·0.6 + 0.01024 = 0.31744.
        assert!((beta_cdf(0.4, 3.0, 3.0) - 0.317_44).abs() < 1e-14);
        // P(at least 1 of 20) at 0.05 = 1 − 0.95^20.
        assert!((beta_cdf(0.05, 1.0, 20.0) - (1.0 - 0.95_f64.powi(20))).abs() < 1e-14);
    }

    /// Percentage points of F from Abramowitz & Stegun, Handbook of Mathematical Functions, table 26.9 (from memory), by 26.6.2: for F with ν₁, ν₂ degrees of
    /// freedom, x = ν₁F / (ν₁F + ν₂) is beta with ν₁/2, ν₂/2.
    #[test]
    fn published_points_of_f() {
        for (above, nu1, nu2, published, digit) in [
            (0.05, 4.0, 10.0, 3.48, 0.005),
            (0.05, 5.0, 2.0, 19.30, 0.005),
            (0.05, 10.0, 10.0, 2.98, 0.005),
            (0.025, 5.0, 10.0, 4.24, 0.005),
            (0.01, 1.0, 1.0, 4052.0, 0.5),
        ] {
            let x = beta_quantile(1.0 - above, nu1 / 2.0, nu2 / 2.0);
            let f = nu2 * x / (nu1 * (1.0 - x));
            assert!((f - published).abs() <= digit, "{above} {nu1} {nu2}: {f}");
        }
    }

    #[test]
    fn quantiles_undo_the_distribution() {
        for (a, b) in [(0.05, 9.0), (0.5, 0.5), (4.5, 95.5), (1.0, 1.0), (3_000.0, 200_000.0)] {
            for p in [0.025, 0.5, 0.975] {
                let x = beta_quantile(p, a, b);
                let back = beta_cdf(x, a, b);
                assert!((back - p).abs() < 1e-9, "{a} {b} {p}: {x} gives {back}");
            }
        }
    }
}
