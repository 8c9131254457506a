//! Sampled worlds: every unknown of a site drawn many times, stratified.
//!
//! Every unknown (dimension) is a standard-normal score `z`, or its level `u = Φ(z)` in (0, 1). [`Worlds::draw`] gives
//! each the n scores `z_i = Φ⁻¹((i + ½)/n)` in an order of its own (Latin hypercube), so that every one-dimensional
//! margin is exact to 1/n. Source: McKay, Beckman, Conover 1979 (from memory).

use statrs::distribution::{ContinuousCDF, Normal};

/// n samples of a number of standard-normal unknowns.
#[derive(Clone, Debug)]
pub struct Worlds {
    n: usize,
    /// By unknown: which of the columns of n scores is its.
    columns: Vec<u32>,
    scores: Vec<f64>,
}

impl Worlds {
    /// Draws `n` samples (a multiple of 8 up to 65 536) of `dims` unknowns.
    #[must_use]
    pub fn draw(dims: usize, n: usize, seed: u64) -> Self {
        Self::draw_used(dims, n, seed, |_| true)
    }

    /// As [`Worlds::draw`], but nothing is drawn for unknowns that are not used: they are the one before.
    #[must_use]
    pub fn draw_used(dims: usize, n: usize, seed: u64, used: impl Fn(usize) -> bool) -> Self {
        let n = n.clamp(8, 1 << 16).next_multiple_of(8);
        let mut rng = fastrand::Rng::with_seed(seed);
        let mut one = scores(n);
        let mut columns = Vec::with_capacity(dims);
        let mut all = Vec::new();
        for dim in 0..dims {
            if used(dim) {
                rng.shuffle(&mut one);
            }
            if used(dim) || dim == 0 {
                all.extend_from_slice(&one);
            }
            columns.push((all.len() / n - 1) as u32);
        }
        Worlds {
            n,
            columns,
            scores: all,
        }
    }

    /// Worlds of given scores, unknown by unknown, `n` (a multiple of 8) of each.
    ///
    /// # Panics
    /// Where `n` is no multiple of 8 or `scores` is not `n` for each unknown.
    #[must_use]
    pub fn of(n: usize, scores: Vec<f64>) -> Self {
        assert!(n >= 8 && n.is_multiple_of(8) && scores.len().is_multiple_of(n));
        let columns = (0..(scores.len() / n) as u32).collect();
        Worlds { n, columns, scores }
    }

    /// One batch by itself.
    #[must_use]
    pub fn batch(&self, batch: usize) -> Self {
        let columns = self.scores.chunks_exact(self.n);
        let scores = columns.flat_map(|it| &it[8 * batch..8 * batch + 8]);
        Worlds {
            n: 8,
            columns: self.columns.clone(),
            scores: scores.copied().collect(),
        }
    }

    /// These and more of the same unknowns.
    ///
    /// # Panics
    /// Where other unknowns were drawn for the others.
    #[must_use]
    pub fn and(&self, more: &Worlds) -> Self {
        assert_eq!(self.columns, more.columns);
        let (mine, others) = (
            self.scores.chunks_exact(self.n),
            more.scores.chunks_exact(more.n),
        );
        let scores = mine.zip(others).flat_map(|(a, b)| a.iter().chain(b));
        Worlds {
            n: self.n + more.n,
            columns: self.columns.clone(),
            scores: scores.copied().collect(),
        }
    }

    /// Number of samples.
    #[must_use]
    pub fn len(&self) -> usize {
        self.n
    }

    /// True where there is nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.n == 0
    }

    /// Number of unknowns.
    #[must_use]
    pub fn dims(&self) -> usize {
        self.columns.len()
    }

    /// Number of batches of eight.
    #[must_use]
    pub fn batches(&self) -> usize {
        self.n / 8
    }

    /// All scores of one unknown.
    #[inline]
    #[must_use]
    pub fn all(&self, dim: usize) -> &[f64] {
        &self.scores[self.start(dim)..][..self.n]
    }

    /// The scores of one unknown in the eight samples of a batch.
    #[inline]
    #[must_use]
    pub fn scores(&self, dim: usize, batch: usize) -> [f64; 8] {
        let start = self.start(dim) + batch * 8;
        core::array::from_fn(|k| self.scores[start + k])
    }

    #[inline]
    fn start(&self, dim: usize) -> usize {
        self.columns[dim] as usize * self.n
    }

    /// Sets the scores of one unknown, for which some were drawn, in the eight samples of a batch.
    pub fn set(&mut self, dim: usize, batch: usize, scores: [f64; 8]) {
        let start = self.start(dim) + batch * 8;
        self.scores[start..start + 8].copy_from_slice(&scores);
    }

    /// The levels in (0, 1) of one unknown in the eight samples of a batch.
    #[inline]
    #[must_use]
    pub fn levels(&self, dim: usize, batch: usize) -> [f64; 8] {
        self.scores(dim, batch).map(level)
    }
}

/// The n scores `Φ⁻¹((i + ½)/n)`, rising.
#[must_use]
pub fn scores(n: usize) -> Vec<f64> {
    let normal = Normal::standard();
    (0..n)
        .map(|i| normal.inverse_cdf((i as f64 + 0.5) / n as f64))
        .collect()
}

/// The score of a level.
#[must_use]
pub fn score(level: f64) -> f64 {
    Normal::standard().inverse_cdf(level.clamp(1e-12, 1.0 - 1e-12))
}

/// The level of a score, kept off 0 and 1.
#[inline]
#[must_use]
pub fn level(score: f64) -> f64 {
    (0.5 * libm::erfc(-score * core::f64::consts::FRAC_1_SQRT_2)).clamp(1e-12, 1.0 - 1e-12)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Φ(±1) from tables of the normal distribution; 1e-14 covers their last digit and a few units in the last place.
    #[test]
    fn ref_level_of_one_standard_deviation() {
        assert!((level(1.0) - 0.841_344_746_068_543).abs() < 1e-14);
        assert!((level(-1.0) - 0.158_655_253_931_457).abs() < 1e-14);
    }

    /// Each unknown takes each of the n strata once, in an order of its own.
    #[test]
    fn exact_every_margin_is_stratified() {
        let worlds = Worlds::draw(3, 64, 7);
        for dim in 0..3 {
            let mut strata: Vec<usize> = (0..worlds.batches())
                .flat_map(|b| worlds.levels(dim, b))
                .map(|u| (u * 64.0) as usize)
                .collect();
            strata.sort_unstable();
            assert_eq!(strata, (0..64).collect::<Vec<_>>());
        }
        assert_ne!(worlds.all(0), worlds.all(1));
    }

    /// What nothing is drawn for takes no room and changes nothing for the others; more worlds follow the first.
    #[test]
    fn prop_only_what_is_used_is_drawn() {
        let used = [false, true, false, true];
        let some = Worlds::draw_used(4, 16, 7, |dim| used[dim]);
        let all = Worlds::draw(2, 16, 7);
        assert_eq!((some.dims(), some.scores.len()), (4, 3 * 16));
        assert_eq!([some.all(1), some.all(3)], [all.all(0), all.all(1)]);
        let more = Worlds::draw_used(4, 8, 8, |dim| used[dim]);
        let both = some.and(&more);
        assert_eq!(both.all(3), [some.all(3), more.all(3)].concat());
        assert_eq!(both.batch(2).all(3), more.all(3));
    }
}
