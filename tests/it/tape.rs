//! A tape of random numbers from which models are made: short to write, and proptest can shrink it.

#![expect(clippy::cast_precision_loss, reason = "small numbers")]

#[derive(Debug)]
pub(crate) struct Tape<'a> {
    numbers: std::slice::Iter<'a, u16>,
}

impl<'a> Tape<'a> {
    pub(crate) fn new(numbers: &'a [u16]) -> Self {
        Self {
            numbers: numbers.iter(),
        }
    }

    /// A number below `limit`; 0 past the end of the tape.
    pub(crate) fn below(&mut self, limit: usize) -> usize {
        usize::from(self.numbers.next().copied().unwrap_or(0)) % limit
    }

    /// True `percent` times in a hundred.
    pub(crate) fn chance(&mut self, percent: usize) -> bool {
        self.below(100) >= 100 - percent
    }

    /// One of these.
    pub(crate) fn pick(&mut self, from: &[f64]) -> f64 {
        from[self.below(from.len())]
    }

    /// A distribution; zeros now and then, never only zeros.
    pub(crate) fn distribution(&mut self, outcomes: usize) -> Vec<f64> {
        let mut parts: Vec<usize> = (0..outcomes)
            .map(|_| if self.chance(8) { 0 } else { 1 + self.below(40) })
            .collect();
        parts[0] += usize::from(parts.iter().all(|p| *p == 0));
        let sum: usize = parts.iter().sum();
        parts.iter().map(|p| *p as f64 / sum as f64).collect()
    }
}

/// A tape of its own for each seed (splitmix64).
pub(crate) fn seeded(seed: u64, length: usize) -> Vec<u16> {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    (0..length)
        .map(|_| {
            state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = state;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            u16::try_from((z ^ (z >> 31)) >> 48).expect("16 bits")
        })
        .collect()
}
