//! Seeded chance: the same on every machine (SplitMix64, G. L. Steele et al., OOPSLA 2014).

/// A stream of chance.
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// A stream of its own for every seed and every purpose.
    #[must_use]
    pub fn new(seed: u64, purpose: u64) -> Self {
        let mut it = Self(seed ^ purpose.wrapping_mul(0xd6e8_feb8_6659_fd93));
        it.next();
        it
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to below 1.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number below `n`, which is not zero.
    pub fn below(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// True with this probability.
    pub fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// Gamma distributed with a whole shape and this mean: the sum of `shape` waiting times.
    pub fn gamma(&mut self, shape: usize, mean: f64) -> f64 {
        let sum: f64 = (0..shape).map(|_| -(1.0 - self.unit()).ln()).sum();
        sum * mean / shape as f64
    }

    /// One of these.
    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }

    /// The number of one of these, by weight.
    pub fn weighted(&mut self, weights: impl Iterator<Item = f64> + Clone) -> usize {
        let mut left = self.unit() * weights.clone().sum::<f64>();
        let mut last = 0;
        for (i, weight) in weights.enumerate() {
            left -= weight;
            last = i;
            if left < 0.0 {
                break;
            }
        }
        last
    }
}

#[cfg(test)]
mod tests {
    use super::Chance;

    #[test]
    fn prop_gamma_has_its_mean_and_weights_are_kept() {
        let mut chance = Chance::new(1, 1);
        let mean: f64 = (0..20_000).map(|_| chance.gamma(2, 5.0)).sum::<f64>() / 20_000.0;
        // Standard error 5/√2/√20000 = 0.025.
        assert!((mean - 5.0).abs() < 0.15, "{mean}");
        let thirds = (0..20_000)
            .filter(|_| chance.weighted([1.0, 2.0].into_iter()) == 0)
            .count();
        assert!((6300..7050).contains(&thirds), "{thirds}");
    }
}
