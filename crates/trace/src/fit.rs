//! A Gaussian fitted to a few unknowns in each of eight worlds, all else in those worlds given.
//!
//! `x(z) ≈ x(z₀) + J (z − z₀)`, readings `t ~ N(x, R)`, unknowns `z ~ N(0, I)`; with `R = L Lᵀ`, `J̃ = L⁻¹J`,
//! `r̃ = L⁻¹(t − x(z₀))`: the posterior is `N(m, P⁻¹)`, `P = I + J̃ᵀJ̃ = K Kᵀ`, `m = P⁻¹J̃ᵀ(r̃ + J̃z₀)`. Going to m and
//! linearising there again is a Gauss-Newton step. A draw is `z = m + w K⁻ᵀξ`, ξ standard normal, w a little above one.
//! Source: Numerical Optimization (Nocedal, Wright), ch. 10 (from memory). Held by: `brute`.

#![allow(clippy::needless_range_loop)] // matrices by row and column, and lanes: the compiler makes vectors of them

use chain::lanes::{self, Lanes};

use crate::likelihood::Readings;
use crate::look::Looked;

/// How much wider than fitted is drawn, so that the tails cover what they were fitted to.
const WIDER: f64 = 1.15;

/// The fit in eight worlds.
#[derive(Clone)]
pub(crate) struct Fit {
    n: usize,
    /// m by unknown.
    pub mean: Vec<Lanes>,
    /// K, row by row.
    root: Vec<Lanes>,
    /// Log of likelihood times prior where it was linearised, but for a constant.
    pub ln_joint: Lanes,
}

impl Fit {
    /// Of the readings that count, seen at `at` (by unknown), moving with `slopes` (by unknown, reading).
    pub fn of(
        readings: &Readings,
        counts: &[usize],
        seen: &Looked,
        slopes: &[Vec<Lanes>],
        at: &[Lanes],
    ) -> Fit {
        let (n, n_read) = (slopes.len(), counts.len());
        let root = covariance(readings, counts, seen);
        let mut residual: Vec<Lanes> = counts
            .iter()
            .map(|i| seen.volts[*i].map(|x| readings.told[*i].value - x))
            .collect();
        forward(&root, &mut residual);
        let mut ln_joint = seen.ln;
        let (pull, away) = (dot(&residual, &residual), dot(at, at));
        for k in 0..8 {
            let ln_det: f64 = (0..n_read).map(|i| root[i * n_read + i][k].ln()).sum();
            ln_joint[k] -= ln_det + 0.5 * (pull[k] + away[k]);
        }
        let mut columns: Vec<Vec<Lanes>> = Vec::with_capacity(n);
        for (slope, z) in slopes.iter().zip(at) {
            let mut column: Vec<Lanes> = counts.iter().map(|i| slope[*i]).collect();
            forward(&root, &mut column);
            for i in 0..n_read {
                for k in 0..8 {
                    residual[i][k] += column[i][k] * z[k];
                }
            }
            columns.push(column);
        }
        let mut p = vec![[0.0; 8]; n * n];
        let mut mean = vec![[0.0; 8]; n];
        for a in 0..n {
            for b in 0..=a {
                p[a * n + b] = dot(&columns[a], &columns[b]);
            }
            for k in 0..8 {
                p[a * n + a][k] += 1.0;
            }
            mean[a] = dot(&columns[a], &residual);
        }
        cholesky(&mut p, n);
        forward(&p, &mut mean);
        backward(&p, &mut mean);
        Fit {
            n,
            mean,
            root: p,
            ln_joint,
        }
    }

    /// Takes over what another fit says of one world.
    pub fn take(&mut self, other: &Fit, k: usize) {
        for (mine, theirs) in self.mean.iter_mut().zip(&other.mean) {
            mine[k] = theirs[k];
        }
        for (mine, theirs) in self.root.iter_mut().zip(&other.root) {
            mine[k] = theirs[k];
        }
        self.ln_joint[k] = other.ln_joint[k];
    }

    /// Draws from standard normals `xi` (by unknown).
    pub fn draw(&self, xi: &[Lanes]) -> Vec<Lanes> {
        let mut z = xi.to_vec();
        backward(&self.root, &mut z);
        for a in 0..self.n {
            for k in 0..8 {
                z[a][k] = self.mean[a][k] + WIDER * z[a][k];
            }
        }
        z
    }

    /// How far a place is from the mean in one world, in the fit's own standard deviations.
    pub fn far(&self, at: &[Lanes], k: usize) -> f64 {
        let mut far = 0.0;
        for a in 0..self.n {
            let xi: f64 = (a..self.n)
                .map(|b| self.root[b * self.n + a][k] * (at[b][k] - self.mean[b][k]))
                .sum();
            far += xi * xi;
        }
        far.sqrt()
    }

    /// Log of the prior's density over this one's.
    pub fn ln_prior_over(&self, z: &[Lanes]) -> Lanes {
        let n = self.n;
        let mut det = [1.0; 8];
        let mut out = [n as f64 * WIDER.ln(); 8];
        for a in 0..n {
            // ξ = Kᵀ(z − m)/w, element by element.
            let mut xi = [0.0; 8];
            for b in a..n {
                let row = &self.root[b * n + a];
                for k in 0..8 {
                    xi[k] += row[k] * (z[b][k] - self.mean[b][k]);
                }
            }
            for k in 0..8 {
                let xi = xi[k] / WIDER;
                out[k] += 0.5 * (xi * xi - z[a][k] * z[a][k]);
                det[k] *= self.root[a * n + a][k];
            }
        }
        let ln_det = lanes::ln(det);
        for k in 0..8 {
            out[k] -= ln_det[k];
        }
        out
    }
}

/// What was seen in eight worlds, and by unknown and reading how it moves.
pub(crate) type Seen = (Looked, Vec<Vec<Lanes>>);

/// Which of some unknowns (by place in the slopes) the readings say most about, most first, `most` of them at most.
///
/// Taken one by one: the one whose J̃ⱼ is longest, in the metric `(I + Σ J̃ₐJ̃ₐᵀ)⁻¹` of those already taken, so that of
/// two that move the readings alike only one is; until it is shorter than `least` in every eight (root mean square).
pub(crate) fn telling(
    readings: &Readings,
    counts: &[usize],
    eights: &[Seen],
    least: f64,
    most: usize,
) -> Vec<usize> {
    let whitened = |(seen, slopes): &Seen| -> Vec<Vec<Lanes>> {
        let root = covariance(readings, counts, seen);
        let column = |slope: &Vec<Lanes>| {
            let mut column: Vec<Lanes> = counts.iter().map(|i| slope[*i]).collect();
            forward(&root, &mut column);
            column
        };
        slopes.iter().map(column).collect()
    };
    let mut eights: Vec<Vec<Vec<Lanes>>> = eights.iter().map(whitened).collect();
    let n = eights.first().map_or(0, Vec::len);
    let mut out: Vec<usize> = Vec::new();
    while out.len() < most {
        let size = |c: &Vec<Lanes>| dot(c, c).iter().sum::<f64>() / 8.0;
        let largest = |a: usize| eights.iter().map(|e| size(&e[a])).fold(0.0, f64::max);
        let open = (0..n).filter(|a| !out.contains(a));
        let best = open
            .map(|a| (a, largest(a)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let Some((best, _)) = best.filter(|(_, size)| *size > least * least) else {
            break;
        };
        out.push(best);
        for columns in &mut eights {
            let j = columns[best].clone();
            let jj = dot(&j, &j);
            // (I + jjᵀ)^(−½) c = c − β j jᵀc
            let beta = jj.map(|jj| match jj > 1e-12 {
                true => (1.0 - 1.0 / (1.0 + jj).sqrt()) / jj,
                false => 0.0,
            });
            for column in columns {
                let along = dot(&j, column);
                for (c, j) in column.iter_mut().zip(&j) {
                    for k in 0..8 {
                        c[k] -= beta[k] * along[k] * j[k];
                    }
                }
            }
        }
    }
    out
}

/// L: Cholesky factor of the covariance of the readings that count, about what was seen.
fn covariance(readings: &Readings, counts: &[usize], seen: &Looked) -> Vec<Lanes> {
    let n = counts.len();
    let mut out = vec![[0.0; 8]; n * n];
    let service = readings.service * readings.service;
    for a in 0..n {
        let (i, t) = (counts[a], &readings.told[counts[a]]);
        let x = &seen.volts[i];
        for b in 0..=a {
            let (j, o) = (counts[b], &readings.told[counts[b]]);
            let y = &seen.volts[j];
            let shared = match (t.gain, o.gain) {
                (Some((g, size)), Some((h, other))) if g == h => service + size * other,
                _ => service,
            };
            for k in 0..8 {
                out[a * n + b][k] = shared * x[k] * y[k];
            }
        }
        for k in 0..8 {
            out[a * n + a][k] += t.variance + seen.widen[i] + (t.relative * x[k]).powi(2);
        }
    }
    cholesky(&mut out, n);
    out
}

#[inline]
fn dot(a: &[Lanes], b: &[Lanes]) -> Lanes {
    let mut out = [0.0; 8];
    for (a, b) in a.iter().zip(b) {
        for k in 0..8 {
            out[k] += a[k] * b[k];
        }
    }
    out
}

/// Lower Cholesky factor in place, row by row.
fn cholesky(a: &mut [Lanes], n: usize) {
    for j in 0..n {
        for i in j..n {
            let mut s = a[i * n + j];
            for m in 0..j {
                let (x, y) = (a[i * n + m], a[j * n + m]);
                for k in 0..8 {
                    s[k] -= x[k] * y[k];
                }
            }
            if i == j {
                a[i * n + j] = s.map(|s| s.max(1e-300).sqrt());
            } else {
                let d = a[j * n + j];
                for k in 0..8 {
                    a[i * n + j][k] = s[k] / d[k];
                }
            }
        }
    }
}

/// `L⁻¹ b` in place.
fn forward(root: &[Lanes], b: &mut [Lanes]) {
    let n = b.len();
    for i in 0..n {
        for j in 0..i {
            let (l, x) = (root[i * n + j], b[j]);
            for k in 0..8 {
                b[i][k] -= l[k] * x[k];
            }
        }
        for k in 0..8 {
            b[i][k] /= root[i * n + i][k];
        }
    }
}

/// `L⁻ᵀ b` in place.
fn backward(root: &[Lanes], b: &mut [Lanes]) {
    let n = b.len();
    for i in (0..n).rev() {
        for j in i + 1..n {
            let (l, x) = (root[j * n + i], b[j]);
            for k in 0..8 {
                b[i][k] -= l[k] * x[k];
            }
        }
        for k in 0..8 {
            b[i][k] /= root[i * n + i][k];
        }
    }
}
