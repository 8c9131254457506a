//! Several quantities known together.
//!
//! `y = f(x)`, `V_y = J V_x Jᵀ`; V: covariance, J: sensitivity coefficients `∂y_i/∂x_j`. `u_i = √V_ii`,
//! `r_ij = V_ij / (u_i u_j)`. Right as far as f is straight over a few u. Source: JCGM 100:2008, 5.2 and H.2.
//! Held by: tests/ref.rs (H.2), tests/prop_uncertainty.rs.

/// A symmetric matrix of covariances.
#[derive(Debug, Clone, PartialEq)]
pub struct Covariance {
    n: usize,
    /// Row by row.
    cells: Vec<f64>,
}

impl Covariance {
    /// From a function that gives each covariance; it is asked for `i <= j` only.
    pub fn of(n: usize, mut of: impl FnMut(usize, usize) -> f64) -> Self {
        let mut cells = vec![0.0; n * n];
        for i in 0..n {
            for j in i..n {
                let it = of(i, j);
                cells[i * n + j] = it;
                cells[j * n + i] = it;
            }
        }
        Covariance { n, cells }
    }

    /// Means of repeated simultaneous observations, one series per quantity, and the covariance of the means:
    /// `Σ (x_k − x̄)(y_k − ȳ) / (n (n − 1))` (JCGM 100:2008, 5.2.3).
    ///
    /// Nothing if the series differ in length or have fewer than two observations.
    pub fn of_means(series: &[&[f64]]) -> Option<(Vec<f64>, Self)> {
        let n = series.first().map_or(0, |it| it.len());
        if n < 2 || series.iter().any(|it| it.len() != n) {
            return None;
        }
        let count = n as f64;
        let means: Vec<f64> = series
            .iter()
            .map(|it| it.iter().sum::<f64>() / count)
            .collect();
        let covariance = Covariance::of(series.len(), |i, j| {
            let pairs = series[i].iter().zip(series[j]);
            pairs
                .map(|(x, y)| (x - means[i]) * (y - means[j]))
                .sum::<f64>()
                / (count * (count - 1.0))
        });
        Some((means, covariance))
    }

    /// How many quantities there are.
    pub fn n(&self) -> usize {
        self.n
    }

    /// Covariance of two of them.
    pub fn get(&self, i: usize, j: usize) -> f64 {
        self.cells[i * self.n + j]
    }

    /// Standard uncertainty of one.
    pub fn u(&self, i: usize) -> f64 {
        self.get(i, i).max(0.0).sqrt()
    }

    /// Correlation of two, 0 where one of them is exact.
    pub fn correlation(&self, i: usize, j: usize) -> f64 {
        let scale = self.u(i) * self.u(j);
        if scale == 0.0 {
            0.0
        } else {
            (self.get(i, j) / scale).clamp(-1.0, 1.0)
        }
    }

    /// Standard uncertainty of a weighted sum; weights beyond the quantities count for nothing.
    pub fn u_of(&self, weights: &[f64]) -> f64 {
        self.between(weights, weights).max(0.0).sqrt()
    }

    /// Covariance of quantities computed from these; `sensitivities[i][j] = ∂y_i/∂x_j`.
    pub fn propagated(&self, sensitivities: &[&[f64]]) -> Covariance {
        Covariance::of(sensitivities.len(), |i, j| {
            self.between(sensitivities[i], sensitivities[j])
        })
    }

    fn between(&self, left: &[f64], right: &[f64]) -> f64 {
        let row = |i: usize| {
            right
                .iter()
                .take(self.n)
                .enumerate()
                .map(|(j, w)| w * self.get(i, j))
                .sum::<f64>()
        };
        left.iter()
            .take(self.n)
            .enumerate()
            .map(|(i, w)| w * row(i))
            .sum()
    }
}
