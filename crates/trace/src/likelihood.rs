//! How probable the readings are, given what a sampled world predicts for them.
//!
//! `t = x (1 + s + g_r) + e`: told `t`, predicted `x` at nominal service voltage; `s` the service voltage's deviation
//! (common to all), `g_r` the gain error of a meter on a range (common to its readings), `e` independent: counts,
//! rounding, pick-up. So `t − x ~ N(0, D + U Uᵀ)`, `D` diagonal, one column of `U` for each common error, and
//! `ln N = −½ (n ln 2π + ln|D| + ln|A| + rᵀD⁻¹r − bᵀA⁻¹b)`, `A = I + UᵀD⁻¹U`, `b = UᵀD⁻¹r` (matrix determinant lemma).
//! As a reading has at most one gain, A is an arrow: with `T = A₀₀ − Σ A₀g²/A_gg` and `h = b₀ − Σ A₀g b_g/A_gg`,
//! `|A| = T Π A_gg`, `bᵀA⁻¹b = h²/T + Σ b_g²/A_gg`, and `y = A⁻¹b` and `P = A⁻¹` are as easily had. With
//! `α = C⁻¹r` and `κ = diag C⁻¹` of the covariance `C = D + U Uᵀ`, `α_i = (r_i − U_i y) / D_i` and
//! `κ_i = (1 − U_i P U_iᵀ / D_i) / D_i`, leaving reading i out takes `α_i²/κ_i` off `rᵀC⁻¹r` and divides `|C|` by `1/κ_i`.
//!
//! Each reading may be a slip (probe beside the contact, wrong pair) with a small chance, which leaves it a broad density
//! whatever the world is. Summed are no slip, each one, and, where a slip explains a world better than none, the best
//! one together with each further one. Sets beyond that are left out: three slips at once are rarer than a cause outside
//! the catalogue.
//! Source: Matrix Computations, 4th ed., §2.1 (section from memory). Held by: the tests below and `brute`.

#![allow(clippy::needless_range_loop)] // loops over lanes: the compiler makes vectors of them

use chain::lanes::{self, Lanes};

/// Gains of meters on their ranges followed exactly; more than this are taken as independent.
pub const GAINS: usize = 8;
/// Chance that one reading is a slip. Judgement.
pub const SLIP: f64 = 0.004;

/// Log of what a slip's chance is over the constant factors of a reading that is none.
#[inline(always)]
fn slip_over_none() -> f64 {
    SLIP.ln() - (1.0 - SLIP).ln() + 0.5 * core::f64::consts::TAU.ln()
}

/// One told voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// Volts.
    pub value: f64,
    /// Independent variance, volts squared, without the part that goes with the predicted value.
    pub variance: f64,
    /// Relative independent deviation, fraction of the predicted value.
    pub relative: f64,
    /// Which meter-and-range gain it shares (from 1 on) and how large it is, fraction.
    pub gain: Option<(usize, f64)>,
    /// Natural logarithm of the density that a slip would give.
    pub ln_slip: f64,
}

impl Told {
    /// Column and size of its gain where that is followed exactly; [`GAINS`] and zero where it is not.
    #[inline(always)]
    fn followed(&self) -> (usize, f64) {
        match self.gain {
            Some((at, size)) if (1..=GAINS).contains(&at) => (at - 1, size),
            _ => (GAINS, 0.0),
        }
    }
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
    /// None, each reading in turn, and the best with each further one.
    Each,
}

impl Readings {
    /// Some of the readings, by their numbers.
    #[must_use]
    pub fn only(&self, kept: &[usize]) -> Self {
        Readings {
            told: kept.iter().map(|i| self.told[*i]).collect(),
            ..*self
        }
    }

    /// Log likelihood in each of eight worlds; `x[i]` predicts reading `i`, `widen[i]` is added to its variance.
    #[must_use]
    pub fn ln_likelihood(&self, x: &[Lanes], widen: &[f64], slips: Slips) -> Lanes {
        self.ln_likelihood_in(&mut Room::default(), x, widen, slips)
    }

    /// The same in buffers that are used again.
    pub(crate) fn ln_likelihood_in(
        &self,
        room: &mut Room,
        x: &[Lanes],
        widen: &[f64],
        slips: Slips,
    ) -> Lanes {
        #[cfg(target_arch = "x86_64")]
        {
            #[target_feature(enable = "avx2,fma")]
            fn fast(
                it: &Readings,
                room: &mut Room,
                x: &[Lanes],
                widen: &[f64],
                slips: Slips,
            ) -> Lanes {
                it.in_lanes(room, x, widen, slips)
            }
            if std::arch::is_x86_feature_detected!("avx2")
                && std::arch::is_x86_feature_detected!("fma")
            {
                // SAFETY: both features have just been found on this processor.
                return unsafe { fast(self, room, x, widen, slips) };
            }
        }
        self.in_lanes(room, x, widen, slips)
    }

    #[inline(always)]
    fn in_lanes(&self, room: &mut Room, x: &[Lanes], widen: &[f64], slips: Slips) -> Lanes {
        let n = self.told.len();
        if n == 0 {
            return [0.0; 8];
        }
        let mut sums = Sums::new();
        let (mut det, mut ln_det) = ([1.0; 8], [0.0; 8]);
        room.rows.resize(n, Row::NONE);
        for (i, (x, row)) in x.iter().zip(&mut room.rows).enumerate() {
            self.set_row(i, x, widen, row);
            sums.add(row);
            for k in 0..8 {
                det[k] *= row.d[k];
            }
            if i % 16 == 15 {
                // Before the product leaves the range of a double.
                let part = lanes::ln(det);
                det = [1.0; 8];
                for k in 0..8 {
                    ln_det[k] += part[k];
                }
            }
        }
        let whole = sums.solve();
        for k in 0..8 {
            det[k] *= whole.det[k];
        }
        let part = lanes::ln(det);
        let constant = n as f64 * ((1.0 - SLIP).ln() - 0.5 * core::f64::consts::TAU.ln());
        let mut all = [0.0; 8];
        for k in 0..8 {
            all[k] = constant - 0.5 * (ln_det[k] + part[k] + whole.q[k]);
        }
        let mut best = Best::none();
        room.less.clear();
        for (i, row) in room.rows[..n].iter().enumerate() {
            let (e, ratio) = self.less(i, &sums, &whole, row);
            best.keep(i, &e, &ratio);
            if slips == Slips::Each {
                room.less.push((e, ratio));
            }
        }
        let mut high = [0.0; 8];
        for k in 0..8 {
            high[k] = best.e[k].max(0.0);
        }
        let mut sum = shifted(&[0.0; 8], &high);
        match slips {
            Slips::Worst => {
                let term = shifted(&best.e, &high);
                for k in 0..8 {
                    sum[k] += term[k] * best.ratio[k].sqrt();
                }
            }
            Slips::Each => {
                for (e, ratio) in &room.less {
                    let term = shifted(e, &high);
                    for k in 0..8 {
                        sum[k] += term[k] * ratio[k].sqrt();
                    }
                }
            }
        }
        let ln_sum = lanes::ln(sum);
        let mut out = [0.0; 8];
        for k in 0..8 {
            out[k] = all[k] + high[k] + ln_sum[k];
        }
        if slips == Slips::Each && n > 2 && best.e.iter().any(|e| *e > 0.0) {
            let further = self.further(&best.at, room);
            let ln_ratio = lanes::ln(best.ratio);
            for k in 0..8 {
                if best.e[k] > 0.0 {
                    let one = all[k] + best.e[k] + 0.5 * ln_ratio[k];
                    out[k] = ln_add(out[k], one + further[k]);
                }
            }
        }
        out
    }

    /// The largest log likelihood that voltages could have: all as told, no common error, and the slip that helps most.
    pub(crate) fn most(&self) -> f64 {
        let ln = |t: &Told| 0.5 * t.variance.ln();
        let sound = self
            .told
            .iter()
            .map(|t| (1.0 - SLIP).ln() - 0.5 * core::f64::consts::TAU.ln() - ln(t));
        let helps = |most: f64, t: &Told| most.max(slip_over_none() + t.ln_slip + ln(t));
        sound.sum::<f64>() + self.told.iter().fold(0.0, helps) + core::f64::consts::LN_2
    }

    /// Whether the log likelihood with no more than one slip is surely more than `short` below [`Readings::most`] in every
    /// world, with the variances widened or not. A column u of U with n elements adds no more than n diag(u²) to C, so
    /// that `rᵀC⁻¹r ≥ Σ r_i²/(D_i + n u_i² + n_g v_i²)`, of which a slip takes one term.
    pub(crate) fn is_hopeless(&self, x: &[Lanes], widen: &[f64], short: f64) -> bool {
        let (mut sum, mut most) = ([0.0; 8], [0.0; 8]);
        let n = x.len() as f64;
        for (i, x) in x.iter().enumerate() {
            let t = &self.told[i];
            let (fixed, relative) = self.variance(i, widen);
            let (_, gain) = t.followed();
            let square = relative + n * (self.service * self.service + gain * gain);
            for k in 0..8 {
                let r = t.value - x[k];
                let term = r * r / (fixed + square * x[k] * x[k]);
                sum[k] += term;
                most[k] = if term > most[k] { term } else { most[k] };
            }
        }
        (0..8).all(|k| sum[k] - most[k] > 2.0 * short)
    }

    /// By how much the log likelihood may rise at most where `added_each[i]` is taken off the variance of reading i again:
    /// `½ ln Π D_i/(D_i − added_i)`. Less variance leaves no set of readings a smaller `rᵀC⁻¹r`, and `|C|` falls by no
    /// more than `|D|` does.
    pub(crate) fn rise(&self, x: &[Lanes], widen: &[f64], added_each: &[f64]) -> Lanes {
        let mut out = [0.0; 8];
        let mut product = [1.0; 8];
        for (i, (x, added)) in x.iter().zip(added_each).enumerate() {
            let (fixed, relative) = self.variance(i, widen);
            for k in 0..8 {
                let d = fixed + relative * x[k] * x[k];
                product[k] *= d / (d - added).max(1e-12 * d);
            }
            if i % 16 == 15 || i + 1 == added_each.len() {
                let part = lanes::ln(product);
                product = [1.0; 8];
                for k in 0..8 {
                    out[k] += 0.5 * part[k];
                }
            }
        }
        out
    }

    /// What reading i being a slip multiplies the density by: its logarithm without the determinants, and their ratio.
    #[inline(always)]
    fn less<const L: usize>(
        &self,
        i: usize,
        sums: &Sums<L>,
        whole: &Whole<L>,
        row: &Row<L>,
    ) -> ([f64; L], [f64; L]) {
        let base = slip_over_none() + self.told[i].ln_slip;
        let grouped = row.gain < GAINS;
        let group = &sums.groups[if grouped { row.gain } else { 0 }];
        let (mut e, mut ratio) = ([0.0; L], [0.0; L]);
        for k in 0..L {
            let (u, v) = (row.u[k], row.v[k]);
            let mut alpha = row.r[k] - u * whole.y[k];
            let mut lever = u * u * whole.p[k];
            if grouped {
                alpha -= v * group.b[k];
                lever += v * (2.0 * u * group.a0[k] + v * group.a[k]);
            }
            let w = row.w[k];
            // Never quite all of a reading is told by the others.
            let kappa = w * (1.0 - w * lever).max(1e-14);
            let alpha = w * alpha;
            ratio[k] = 1.0 / kappa;
            e[k] = base + 0.5 * alpha * alpha * ratio[k];
        }
        (e, ratio)
    }

    /// The reading that is better taken for a slip than for what a world predicts, if there is one, world by world.
    #[must_use]
    pub fn slips<const L: usize>(&self, x: &[[f64; L]], widen: &[f64]) -> [Option<usize>; L] {
        let row = |i: usize| self.row(i, &x[i], widen);
        let mut sums = Sums::new();
        (0..x.len()).for_each(|i| sums.add(&row(i)));
        let whole = sums.solve();
        let mut best = [(None, 0.0); L];
        for i in 0..x.len() {
            let (e, ratio) = self.less(i, &sums, &whole, &row(i));
            for k in 0..L {
                let helps = e[k] + 0.5 * ratio[k].ln();
                if helps > best[k].1 {
                    best[k] = (Some(i), helps);
                }
            }
        }
        best.map(|(at, _)| at)
    }

    /// In each lane, where reading `first` is a slip: ln Σ over the others of what being slips too multiplies by. The first
    /// is left out as a reading that weighs nothing.
    #[inline(always)]
    fn further(&self, first: &Lanes, room: &mut Room) -> Lanes {
        let mut sums = Sums::new();
        for (i, row) in room.rows.iter_mut().enumerate() {
            for k in 0..8 {
                row.w[k] = if first[k] == i as f64 { 0.0 } else { row.w[k] };
            }
            sums.add(row);
        }
        let whole = sums.solve();
        let mut high = [f64::NEG_INFINITY; 8];
        room.less.clear();
        for (i, row) in room.rows.iter().enumerate() {
            let (mut e, ratio) = self.less(i, &sums, &whole, row);
            for k in 0..8 {
                e[k] = if first[k] == i as f64 {
                    f64::NEG_INFINITY
                } else {
                    e[k]
                };
                high[k] = if e[k] > high[k] { e[k] } else { high[k] };
            }
            room.less.push((e, ratio));
        }
        let mut sum = [0.0; 8];
        for (e, ratio) in &room.less {
            let term = shifted(e, &high);
            for k in 0..8 {
                // Of the first the ratio is not a number.
                sum[k] += if term[k] > 0.0 {
                    term[k] * ratio[k].sqrt()
                } else {
                    0.0
                };
            }
        }
        let ln_sum = lanes::ln(sum);
        let mut out = [0.0; 8];
        for k in 0..8 {
            out[k] = high[k] + ln_sum[k];
        }
        out
    }

    /// Variance of reading i by itself: what is fixed, and what goes with the square of the predicted voltage.
    #[inline(always)]
    fn variance(&self, i: usize, widen: &[f64]) -> (f64, f64) {
        let t = &self.told[i];
        let loose = match t.gain {
            Some((_, size)) if t.followed().0 == GAINS => size * size,
            _ => 0.0,
        };
        let fixed = t.variance + widen.get(i).copied().unwrap_or(0.0);
        (fixed, t.relative * t.relative + loose)
    }

    #[inline(always)]
    fn row<const L: usize>(&self, i: usize, x: &[f64; L], widen: &[f64]) -> Row<L> {
        let mut row = Row::NONE;
        self.set_row(i, x, widen, &mut row);
        row
    }

    #[inline(always)]
    fn set_row<const L: usize>(&self, i: usize, x: &[f64; L], widen: &[f64], row: &mut Row<L>) {
        let t = &self.told[i];
        let (gain, size) = t.followed();
        let (fixed, relative) = self.variance(i, widen);
        row.gain = gain;
        for k in 0..L {
            row.d[k] = fixed + relative * x[k] * x[k];
            row.w[k] = 1.0 / row.d[k];
            row.r[k] = t.value - x[k];
            row.u[k] = self.service * x[k];
            row.v[k] = size * x[k];
        }
    }
}

/// The reading whose being a slip explains most, in each lane.
struct Best {
    e: Lanes,
    ratio: Lanes,
    at: Lanes,
}

impl Best {
    #[inline(always)]
    fn none() -> Self {
        Best {
            e: [f64::NEG_INFINITY; 8],
            ratio: [1.0; 8],
            at: [0.0; 8],
        }
    }

    #[inline(always)]
    fn keep(&mut self, i: usize, e: &Lanes, ratio: &Lanes) {
        for k in 0..8 {
            let better = e[k] > self.e[k];
            self.e[k] = if better { e[k] } else { self.e[k] };
            self.ratio[k] = if better { ratio[k] } else { self.ratio[k] };
            self.at[k] = if better { i as f64 } else { self.at[k] };
        }
    }
}

/// `e^(x − high)`.
#[inline(always)]
fn shifted(x: &Lanes, high: &Lanes) -> Lanes {
    let mut out = [0.0; 8];
    for k in 0..8 {
        out[k] = x[k] - high[k];
    }
    lanes::exp(out)
}

/// Buffers of [`Readings::ln_likelihood_in`].
#[derive(Clone, Debug, Default)]
pub(crate) struct Room {
    rows: Vec<Row<8>>,
    less: Vec<(Lanes, Lanes)>,
}

/// One reading: variance and its inverse, residual, and its elements of U in the service's and its gain's columns.
#[derive(Clone, Debug)]
struct Row<const L: usize> {
    gain: usize,
    d: [f64; L],
    w: [f64; L],
    r: [f64; L],
    u: [f64; L],
    v: [f64; L],
}

impl<const L: usize> Row<L> {
    const NONE: Self = Row {
        gain: GAINS,
        d: [0.0; L],
        w: [0.0; L],
        r: [0.0; L],
        u: [0.0; L],
        v: [0.0; L],
    };
}

/// The elements of one gain: A₀g, A_gg and b_g, once solved P₀g, P_gg and y_g.
#[derive(Clone, Copy)]
struct Group<const L: usize> {
    a0: [f64; L],
    a: [f64; L],
    b: [f64; L],
}

/// A, b and `rᵀD⁻¹r`.
struct Sums<const L: usize> {
    a: [f64; L],
    b: [f64; L],
    q: [f64; L],
    groups: [Group<L>; GAINS],
    used: usize,
}

/// What all readings together give.
struct Whole<const L: usize> {
    /// `|A|`.
    det: [f64; L],
    /// `rᵀC⁻¹r`.
    q: [f64; L],
    /// P₀₀.
    p: [f64; L],
    /// y₀.
    y: [f64; L],
}

impl<const L: usize> Sums<L> {
    #[inline(always)]
    fn new() -> Self {
        let group = Group {
            a0: [0.0; L],
            a: [1.0; L],
            b: [0.0; L],
        };
        Sums {
            a: [1.0; L],
            b: [0.0; L],
            q: [0.0; L],
            groups: [group; GAINS],
            used: 0,
        }
    }

    #[inline(always)]
    fn add(&mut self, row: &Row<L>) {
        for k in 0..L {
            let (wr, wu) = (row.w[k] * row.r[k], row.w[k] * row.u[k]);
            self.q[k] += wr * row.r[k];
            self.a[k] += wu * row.u[k];
            self.b[k] += wu * row.r[k];
        }
        if row.gain < GAINS {
            self.used = self.used.max(row.gain + 1);
            let group = &mut self.groups[row.gain];
            for k in 0..L {
                let wv = row.w[k] * row.v[k];
                group.a0[k] += wv * row.u[k];
                group.a[k] += wv * row.v[k];
                group.b[k] += wv * row.r[k];
            }
        }
    }

    /// Solves for y and P.
    #[inline(always)]
    fn solve(&mut self) -> Whole<L> {
        let (mut t, mut h, mut q) = (self.a, self.b, self.q);
        let mut det = [1.0; L];
        for group in &mut self.groups[..self.used] {
            for k in 0..L {
                let s = 1.0 / group.a[k];
                det[k] *= group.a[k];
                q[k] -= group.b[k] * group.b[k] * s;
                t[k] -= group.a0[k] * group.a0[k] * s;
                h[k] -= group.a0[k] * group.b[k] * s;
                group.a0[k] *= s;
                group.b[k] *= s;
                group.a[k] = s;
            }
        }
        let (mut p, mut y) = ([0.0; L], [0.0; L]);
        for k in 0..L {
            det[k] *= t[k];
            p[k] = 1.0 / t[k];
            y[k] = h[k] * p[k];
            q[k] -= h[k] * y[k];
        }
        for group in &mut self.groups[..self.used] {
            for k in 0..L {
                let along = group.a0[k];
                group.b[k] -= along * y[k];
                group.a0[k] = -along * p[k];
                group.a[k] += along * along * p[k];
            }
        }
        Whole { det, q, p, y }
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

    /// Readings of three ranges and some of none, and what worlds predict for them, up to half of `off` from each.
    fn random(rng: &mut fastrand::Rng, n: usize, off: f64) -> (Readings, Vec<Lanes>) {
        let told: Vec<Told> = (0..n)
            .map(|i| Told {
                value: 100.0 + 40.0 * rng.f64(),
                variance: 0.1 + rng.f64(),
                relative: 0.002,
                gain: (i % 4 < 3).then_some((1 + i % 3, 0.006)),
                ln_slip: broad(100.0, 120.0).ln(),
            })
            .collect();
        let x = told
            .iter()
            .map(|t| core::array::from_fn(|_| t.value + off * (rng.f64() - 0.5)))
            .collect();
        let readings = Readings {
            told,
            service: 0.022,
        };
        (readings, x)
    }

    /// The determinant lemma against the 2 × 2 density written out, to 1e-12: a handful of operations in f64.
    #[test]
    fn exact_two_readings_with_common_errors() {
        let readings = Readings {
            told: vec![told(118.0, 0.25), told(117.0, 0.36)],
            service: 0.02,
        };
        let x = [120.0, 119.0];
        let got = readings.ln_likelihood(&x.map(|x| [x; 8]), &[], Slips::Each)[0];
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

    /// Against the dense covariance, factored by Cholesky, over every set of slips that is summed: random readings of
    /// three ranges. 1e-9: cancellation in taking rows out of sums that are some 1e4 times larger than what is left.
    #[test]
    fn exact_slips_sum_as_in_dense_covariances() {
        let mut rng = fastrand::Rng::with_seed(3);
        for case in 0..200 {
            let n = 3 + case % 5;
            let (readings, x) = random(&mut rng, n, 4.0);
            let got = readings.ln_likelihood(&x, &[], Slips::Each);
            for (k, got) in got.into_iter().enumerate() {
                let of = |out: &[usize]| dense(&readings, &x, k, out);
                let none = of(&[]);
                let each: Vec<f64> = (0..n).map(|i| of(&[i])).collect();
                // The best is chosen without the determinants: where two are near, either is right.
                let mut wants = Vec::new();
                for best in 0..n {
                    let one = each.iter().fold(none, |sum, e| ln_add(sum, *e));
                    let two = (0..n).filter(|j| *j != best).map(|j| of(&[best, j]));
                    wants.extend([one, two.fold(one, ln_add)]);
                }
                let near = wants
                    .iter()
                    .map(|w| (w - got).abs())
                    .fold(f64::MAX, f64::min);
                assert!(near < 1e-9, "{case} {k}: {got}, of {wants:?}");
            }
        }
    }

    /// Log density where the readings `out` are slips.
    fn dense(readings: &Readings, x: &[Lanes], k: usize, out: &[usize]) -> f64 {
        let kept: Vec<usize> = (0..x.len()).filter(|i| !out.contains(i)).collect();
        let mut ln: f64 = out
            .iter()
            .map(|i| SLIP.ln() + readings.told[*i].ln_slip)
            .sum();
        let n = kept.len();
        let mut l = vec![vec![0.0; n]; n];
        let mut y = vec![0.0; n];
        for a in 0..n {
            let (i, t) = (kept[a], &readings.told[kept[a]]);
            for b in 0..=a {
                let (j, o) = (kept[b], &readings.told[kept[b]]);
                let mut c = readings.service.powi(2) * x[i][k] * x[j][k];
                if let (Some(g), Some(h)) = (t.gain, o.gain)
                    && g.0 == h.0
                {
                    c += g.1 * h.1 * x[i][k] * x[j][k];
                }
                if a == b {
                    c += t.variance + (t.relative * x[i][k]).powi(2);
                }
                for m in 0..b {
                    c -= l[a][m] * l[b][m];
                }
                l[a][b] = if a == b { c.sqrt() } else { c / l[b][b] };
            }
            let mut r = t.value - x[i][k];
            for m in 0..a {
                r -= l[a][m] * y[m];
            }
            y[a] = r / l[a][a];
            ln += (1.0 - SLIP).ln()
                - 0.5 * (core::f64::consts::TAU.ln() + y[a] * y[a])
                - l[a][a].ln();
        }
        ln
    }

    /// Whatever is called hopeless is: against the likelihood itself, from readings near to readings far off.
    #[test]
    fn prop_nothing_hopeful_is_called_hopeless() {
        let mut rng = fastrand::Rng::with_seed(7);
        let mut called = 0;
        for case in 0..2000 {
            let n = 3 + case % 6;
            let off = 10f64.powf(2.5 * rng.f64());
            let (readings, x) = random(&mut rng, n, off);
            let widen: Vec<f64> = (0..n).map(|_| rng.f64()).collect();
            let short = 20.0 * rng.f64();
            if readings.is_hopeless(&x, &widen, short) {
                called += 1;
                for widen in [&widen[..], &[]] {
                    let ln = readings.ln_likelihood(&x, widen, Slips::Worst);
                    let most = ln.into_iter().fold(f64::NEG_INFINITY, f64::max);
                    assert!(most < readings.most() - short, "{case}: {most}");
                }
            }
        }
        assert!(called > 300, "{called}");
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
