//! How probable the readings are, given what a sampled world predicts for them.
//!
//! `t = x (1 + s + g_r) + e`: told `t`, predicted `x` at nominal service voltage; `s` the service voltage's deviation
//! (common to all), `g_r` the gain error of a meter on a range (common to its readings), `e` independent: counts,
//! rounding, pick-up. So `t − x ~ N(0, D + U Uᵀ)`, `D` diagonal, one column of `U` for each common error, and
//! `ln N = −½ (n ln 2π + Σ ln d + ln|A| + rᵀD⁻¹r − bᵀA⁻¹b)`, `A = I + UᵀD⁻¹U`, `b = UᵀD⁻¹r` (matrix determinant lemma).
//! A reading may be a slip (probe beside the contact, wrong pair) with a small chance: the mixture over "none" and "this
//! one" is summed by taking each reading out of `A` and `b` in turn. Two slips at once are left out.
//! Source: Matrix Computations, 4th ed., §2.1 (section from memory). Held by: tests/exact.rs.

use crate::seeing::Lanes;

/// Common errors followed exactly; more than this are taken as independent.
pub const COMMON: usize = 4;
/// Chance that one reading is a slip. Judgement.
pub const SLIP: f64 = 0.01;

/// One told voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// Volts.
    pub value: f64,
    /// Independent variance, volts squared, without the part that goes with the predicted value.
    pub variance: f64,
    /// Relative independent deviation, fraction of the predicted value.
    pub relative: f64,
    /// Which meter-and-range gain it shares (1.., 0 is the service's) and how large it is, fraction.
    pub gain: Option<(usize, f64)>,
    /// Natural logarithm of the density that a slip would give.
    pub ln_slip: f64,
}

/// The told voltages and the service's deviation.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    /// Each reading.
    pub told: Vec<Told>,
    /// Relative standard deviation of the service voltage.
    pub service: f64,
}

/// How carefully slips are summed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slips {
    /// None and the reading that fits worst.
    Worst,
    /// None and each reading in turn.
    Each,
}

impl Readings {
    /// Log likelihood in each of eight worlds; `x[i]` predicts reading `i`, `widen[i]` is added to its variance.
    #[must_use]
    pub fn ln_likelihood(&self, x: &[Lanes], widen: &[f64], slips: Slips) -> Lanes {
        core::array::from_fn(|k| self.one(|i| x[i][k], widen, slips))
    }

    fn one(&self, x: impl Fn(usize) -> f64, widen: &[f64], slips: Slips) -> f64 {
        let n = self.told.len();
        if n == 0 {
            return 0.0;
        }
        let mut sums = Sums::new();
        let (mut worst, mut worst_at) = (-1.0, 0);
        for (i, t) in self.told.iter().enumerate() {
            let row = self.row(i, t, x(i), widen);
            sums.add(&row, 1.0);
            let pull = row.r * row.r / (row.d + row.u.iter().map(|u| u * u).sum::<f64>());
            if pull > worst {
                (worst, worst_at) = (pull, i);
            }
        }
        let (ln_keep, ln_slip) = ((1.0 - SLIP).ln(), SLIP.ln());
        let all = sums.ln_density() + n as f64 * ln_keep;
        let without = |i: usize| {
            let mut less = sums;
            less.add(&self.row(i, &self.told[i], x(i), widen), -1.0);
            less.ln_density() + (n - 1) as f64 * ln_keep + ln_slip + self.told[i].ln_slip
        };
        match slips {
            Slips::Worst => ln_add(all, without(worst_at)),
            Slips::Each if worst < 4.0 => ln_add(all, without(worst_at)),
            Slips::Each => (0..n).fold(all, |sum, i| ln_add(sum, without(i))),
        }
    }

    #[inline]
    fn row(&self, i: usize, t: &Told, x: f64, widen: &[f64]) -> Row {
        let mut u = [0.0; COMMON];
        u[0] = self.service * x;
        let mut d = t.variance + (t.relative * x).powi(2) + widen.get(i).copied().unwrap_or(0.0);
        if let Some((at, gain)) = t.gain {
            if at < COMMON {
                u[at] = gain * x;
            } else {
                d += (gain * x).powi(2);
            }
        }
        Row {
            r: t.value - x,
            d,
            u,
        }
    }
}

struct Row {
    r: f64,
    d: f64,
    u: [f64; COMMON],
}

#[derive(Clone, Copy)]
struct Sums {
    n: f64,
    ln_d: f64,
    quad: f64,
    a: [[f64; COMMON]; COMMON],
    b: [f64; COMMON],
}

impl Sums {
    fn new() -> Self {
        let mut a = [[0.0; COMMON]; COMMON];
        for (k, row) in a.iter_mut().enumerate() {
            row[k] = 1.0;
        }
        Sums {
            n: 0.0,
            ln_d: 0.0,
            quad: 0.0,
            a,
            b: [0.0; COMMON],
        }
    }

    #[inline]
    fn add(&mut self, row: &Row, sign: f64) {
        let w = sign / row.d;
        self.n += sign;
        self.ln_d += sign * row.d.ln();
        self.quad += w * row.r * row.r;
        for j in 0..COMMON {
            if row.u[j] == 0.0 {
                continue;
            }
            self.b[j] += w * row.u[j] * row.r;
            for k in 0..=j {
                self.a[j][k] += w * row.u[j] * row.u[k];
            }
        }
    }

    /// By Cholesky of `A`, lower half.
    #[inline]
    fn ln_density(&self) -> f64 {
        let mut l = self.a;
        let mut y = self.b;
        let mut ln_det = 0.0;
        let mut gain = 0.0;
        for j in 0..COMMON {
            let mut pivot = l[j][j];
            for k in 0..j {
                pivot -= l[j][k] * l[j][k];
            }
            let root = pivot.max(1e-300).sqrt();
            ln_det += 2.0 * root.ln();
            l[j][j] = root;
            for i in j + 1..COMMON {
                let mut s = l[i][j];
                for k in 0..j {
                    s -= l[i][k] * l[j][k];
                }
                l[i][j] = s / root;
            }
            let mut s = y[j];
            for k in 0..j {
                s -= l[j][k] * y[k];
            }
            y[j] = s / root;
            gain += y[j] * y[j];
        }
        -0.5 * (self.n * core::f64::consts::TAU.ln() + self.ln_d + ln_det + self.quad - gain)
    }
}

/// `ln(eᵃ + eᵇ)`.
#[inline]
#[must_use]
pub fn ln_add(a: f64, b: f64) -> f64 {
    let (high, low) = if a > b { (a, b) } else { (b, a) };
    if low == f64::NEG_INFINITY || high - low > 40.0 {
        high
    } else {
        high + (low - high).exp().ln_1p()
    }
}

/// Density of a voltage about which nothing is known, per volt: near zero, near a nominal voltage, or anywhere.
/// Judgement; also what a slip and a cause outside the catalogue give.
#[must_use]
pub fn broad(volts: f64, nominal: f64) -> f64 {
    let near_zero = 0.30 * (-volts.abs() / (0.02 * nominal)).exp() / (0.02 * nominal);
    let sigma = 0.06 * nominal;
    let near_nominal = 0.25 * (-0.5 * ((volts - nominal) / sigma).powi(2)).exp()
        / (sigma * core::f64::consts::TAU.sqrt());
    let anywhere = if volts.abs() <= 2.2 * nominal {
        0.42 / (2.2 * nominal)
    } else {
        0.0
    };
    let far = 0.03 / nominal * (-(volts.abs() / (6.0 * nominal))).exp() / 6.0;
    near_zero + near_nominal + anywhere + far
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(value: f64, variance: f64) -> Told {
        Told {
            value,
            variance,
            relative: 0.0,
            gain: Some((1, 0.01)),
            ln_slip: -1e9,
        }
    }

    /// The determinant lemma against the 2 × 2 density written out, to 1e-12: a handful of operations in f64.
    #[test]
    fn exact_two_readings_with_common_errors() {
        let readings = Readings {
            told: vec![told(118.0, 0.25), told(117.0, 0.36)],
            service: 0.02,
        };
        let x = [120.0, 119.0];
        let got = readings.one(|i| x[i], &[], Slips::Each);
        let g2 = 0.02f64.powi(2) + 0.01f64.powi(2);
        let (a, b, c) = (
            0.25 + g2 * x[0] * x[0],
            g2 * x[0] * x[1],
            0.36 + g2 * x[1] * x[1],
        );
        let det = a * c - b * b;
        let (r0, r1) = (-2.0, -2.0);
        let quad = (c * r0 * r0 - 2.0 * b * r0 * r1 + a * r1 * r1) / det;
        let want =
            -0.5 * (2.0 * core::f64::consts::TAU.ln() + det.ln() + quad) + 2.0 * (1.0 - SLIP).ln();
        assert!((got - want).abs() < 1e-12, "{got} {want}");
    }

    /// The broad density integrates to one less its far tail below zero volts.
    #[test]
    fn exact_the_broad_density_is_a_density() {
        let step = 0.01;
        let sum: f64 = (0..800_000)
            .map(|i| broad((f64::from(i) + 0.5) * step, 120.0) * step)
            .sum();
        assert!((sum - 1.0).abs() < 0.01, "{sum}");
    }
}
