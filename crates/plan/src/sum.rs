//! A value and its doubt, kept by source, so that what two sums share is not taken for independent.
//!
//! `x = x₀ + Σ_s g_s z_s`, `u² = Σ_s g_s²`; z: independent errors with mean 0 and standard deviation 1, g: what one
//! standard deviation of source s adds to x (A or W). Parts of one row are one model, so they share one source: c of
//! them have `g = c u`, not `√c u`. Rows are independent: their g stand at different s. The board's regulator is one
//! source for all that it feeds. Sums and multiples are taken by source. Source: JCGM 100:2008, 5.2 (clause from memory).
//! Held by: tests/prop.rs (against `metrology::Budget`), tests/exact.rs.

/// A value with what each source of doubt adds to it, in one unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sum {
    value: f64,
    by: Vec<f64>,
}

impl Sum {
    /// A value that one source makes doubtful.
    pub fn of(value: f64, source: usize, u: f64) -> Sum {
        let mut sum = Sum {
            value,
            by: Vec::new(),
        };
        sum.doubt(source, u);
        sum
    }

    /// The value.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Its standard uncertainty.
    pub fn u(&self) -> f64 {
        self.by.iter().map(|g| g * g).sum::<f64>().sqrt()
    }

    /// Adds to what a source does to the value.
    pub fn doubt(&mut self, source: usize, g: f64) {
        if self.by.len() <= source {
            self.by.resize(source + 1, 0.0);
        }
        self.by[source] += g;
    }

    /// Adds `factor` times another sum, source by source.
    pub fn add(&mut self, factor: f64, other: &Sum) {
        self.value += factor * other.value;
        for (source, g) in other.by.iter().enumerate() {
            self.doubt(source, factor * g);
        }
    }

    /// So many times this sum.
    pub fn times(&self, factor: f64) -> Sum {
        Sum {
            value: factor * self.value,
            by: self.by.iter().map(|g| factor * g).collect(),
        }
    }

    /// What each source adds, for a budget.
    pub fn by_source(&self) -> &[f64] {
        &self.by
    }
}
