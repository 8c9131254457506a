//! Sampled worlds: every unknown of a site drawn many times, stratified.
//!
//! Each unknown (dimension) takes the n scores `z_i = Φ⁻¹((i + ½)/n)` in an order of its own (Latin hypercube), so that
//! every one-dimensional margin is exact to 1/n. Source: McKay, Beckman, Conover 1979 (from memory).

use statrs::distribution::{ContinuousCDF, Normal};

/// n samples of a number of standard-normal unknowns.
#[derive(Clone, Debug)]
pub struct Worlds {
    n: usize,
    dims: usize,
    scores: Vec<f64>,
    order: Vec<u16>,
}

impl Worlds {
    /// Draws `n` samples (a multiple of 8 up to 65 536) of `dims` unknowns.
    #[must_use]
    pub fn draw(dims: usize, n: usize, seed: u64) -> Self {
        let n = n.clamp(8, 1 << 16).next_multiple_of(8);
        let normal = Normal::standard();
        let scores = (0..n)
            .map(|i| normal.inverse_cdf((i as f64 + 0.5) / n as f64))
            .collect();
        let mut rng = fastrand::Rng::with_seed(seed);
        let mut order = vec![0u16; dims * n];
        let mut one: Vec<u16> = (0..n).map(|i| i as u16).collect();
        for d in 0..dims {
            rng.shuffle(&mut one);
            order[d * n..(d + 1) * n].copy_from_slice(&one);
        }
        Worlds {
            n,
            dims,
            scores,
            order,
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
        self.dims
    }

    /// Number of batches of eight.
    #[must_use]
    pub fn batches(&self) -> usize {
        self.n / 8
    }

    /// The scores of one unknown in the eight samples of a batch.
    #[inline]
    #[must_use]
    pub fn scores(&self, dim: usize, batch: usize) -> [f64; 8] {
        let start = dim * self.n + batch * 8;
        core::array::from_fn(|k| self.scores[usize::from(self.order[start + k])])
    }

    /// The levels in (0, 1) of one unknown in the eight samples of a batch.
    #[inline]
    #[must_use]
    pub fn levels(&self, dim: usize, batch: usize) -> [f64; 8] {
        let start = dim * self.n + batch * 8;
        core::array::from_fn(|k| (f64::from(self.order[start + k]) + 0.5) / self.n as f64)
    }
}
