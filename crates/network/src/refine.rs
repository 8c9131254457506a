//! Voltages of twice the precision: solve, form the residual branch by branch, correct.
//!
//! `r = J − Σ_b a_b y_b (a_bᵀ V − e_b)`, `V ← V + (L D Lᵀ)⁻¹ r`, V held as `hi + lo`. The current of a branch enters both
//! its ends as the same number and is formed with `V` and the product in twice the precision, so that an island
//! behind 1e12 Ω keeps its balance although amperes circulate in it. Each step multiplies the error by about 1e-15
//! times the growth of the solve; one step is made at least, and further ones while a correction is above 1e-10 of
//! the largest voltage, three at most. The columns of probes and bridges do without where the network is well tied to
//! the datum ([`grounded`]); those of branches, which may be opened, do not.
//! Source: N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed., ch. 12 (chapter from memory).
//! Held by: tests/exact.rs.

use crate::cx8::{Cx8, LANES};
use crate::dd::CxDd8;
use crate::ldl::{solve_in, solve_pair_in};
use crate::order::Order;

/// What drives the network.
#[derive(Clone, Copy)]
pub(crate) enum Drive<'a> {
    /// The EMFs of all branches.
    Emfs(&'a [Cx8]),
    /// One ampere into the first row and out of the second, all EMFs dead.
    Unit(usize, usize),
}

/// Whether a solution is corrected.
#[derive(Clone, Copy)]
pub(crate) enum Care {
    /// As solved: relative accuracy of plain doubles, but for what [`grounded`] tells.
    Usual,
    /// Corrected to twice the precision.
    Double,
}

/// Whether the whole network is so well tied to the datum that plain solutions do for impedances: rounding leaves up
/// to 1e-16 A of the injected ampere in a part, which shifts it by that times its impedance to the datum, the largest
/// `1/d_k`. At 1e3 Ω this is below 1e-12 Ω.
pub(crate) fn grounded(order: &Order, m: &[Cx8]) -> bool {
    let inverse = &m[order.n_off_diagonals()..][..order.n()];
    inverse
        .iter()
        .all(|it| it.norm_sqr().iter().all(|&square| square < 1e6))
}

/// Buffers of the solver; after a call `x` holds the voltages by row, the datum's zero last.
#[derive(Clone, Debug, Default)]
pub(crate) struct Buffers {
    pub x: Vec<CxDd8>,
    rest: Vec<CxDd8>,
    j: Vec<Cx8>,
    plain: Vec<Cx8>,
}

impl Buffers {
    /// Voltage of one row over another.
    #[inline(always)]
    pub fn across(&self, plus: usize, minus: usize, out: &mut CxDd8) {
        out.set_difference(&self.x[plus], &self.x[minus]);
    }
}

const STEPS: usize = 3;
const ENOUGH: f64 = 1e-10;

/// Solves for the drive; returns the number of corrections made.
#[inline(always)]
pub(crate) fn solve_refined_in<const FMA: bool>(
    order: &Order,
    m: &[Cx8],
    y: &[Cx8],
    drive: Drive<'_>,
    care: Care,
    buffers: &mut Buffers,
) -> u64 {
    let rows = order.n() + 1;
    let Buffers { x, rest, j, plain } = buffers;
    x.resize(rows, CxDd8::ZERO);
    rest.resize(rows, CxDd8::ZERO);
    j.resize(rows, Cx8::ZERO);
    plain.resize(rows, Cx8::ZERO);
    let mut first = 1;
    match drive {
        Drive::Emfs(_) => {
            x.fill(CxDd8::ZERO);
            residual_in::<FMA>(order, y, drive, x, rest);
            rounded(rest, j);
            solve_in::<FMA>(order, m, j);
            for (x, j) in x.iter_mut().zip(j.iter()) {
                x.hi = *j;
            }
        }
        Drive::Unit(plus, minus) => {
            solve_pair_in::<FMA>(order, m, j, plus, minus);
            if let Care::Double = care {
                // Nearly always the only step: voltages are plain as yet, and there are no second parts to follow.
                plain.copy_from_slice(j);
                unit(rest, plus, minus);
                let mut current = CxDd8::ZERO;
                for (&(from, to), y) in order.ends.iter().zip(y) {
                    let (from, to) = (from as usize, to as usize);
                    current.set_current_plain::<FMA>(y, &plain[from], &plain[to]);
                    if let Ok([from, to]) = rest.get_disjoint_mut([from, to]) {
                        current.pass(from, to);
                    }
                }
                rounded(rest, j);
                solve_in::<FMA>(order, m, j);
                for ((x, plain), j) in x.iter_mut().zip(plain.iter()).zip(j.iter()) {
                    x.set_sum(plain, j);
                }
                if is_still(x, j) {
                    return 1;
                }
                first = 2;
            } else {
                for (x, j) in x.iter_mut().zip(j.iter()) {
                    (x.hi, x.lo) = (*j, Cx8::ZERO);
                }
            }
        }
    }
    if matches!(care, Care::Usual) {
        return 0;
    }
    for step in first..=STEPS {
        residual_in::<FMA>(order, y, drive, x, rest);
        rounded(rest, j);
        solve_in::<FMA>(order, m, j);
        for (x, j) in x.iter_mut().zip(j.iter()) {
            x.add_plain(j);
        }
        if is_still(x, j) {
            return step as u64;
        }
    }
    STEPS as u64
}

/// Whether voltages were hardly moved by the last step.
#[inline(always)]
fn is_still(x: &[CxDd8], step: &[Cx8]) -> bool {
    let (mut most, mut moved) = ([0.0_f64; LANES], [0.0_f64; LANES]);
    for (x, step) in x.iter().zip(step) {
        let (size, change) = (x.hi.norm_sqr(), step.norm_sqr());
        for l in 0..LANES {
            most[l] = if size[l] > most[l] { size[l] } else { most[l] };
            moved[l] = if change[l] > moved[l] {
                change[l]
            } else {
                moved[l]
            };
        }
    }
    (0..LANES).all(|l| moved[l] <= ENOUGH * ENOUGH * most[l])
}

#[inline(always)]
fn rounded(rest: &[CxDd8], j: &mut [Cx8]) {
    for (j, r) in j.iter_mut().zip(rest) {
        *j = r.rounded();
    }
}

/// The currents of a unit drive.
#[inline(always)]
fn unit(rest: &mut [CxDd8], plus: usize, minus: usize) {
    rest.fill(CxDd8::ZERO);
    rest[plus].add_plain(&Cx8::ONE);
    rest[minus].sub_plain(&Cx8::ONE);
}

#[inline(always)]
fn residual_in<const FMA: bool>(
    order: &Order,
    y: &[Cx8],
    drive: Drive<'_>,
    x: &[CxDd8],
    rest: &mut [CxDd8],
) {
    match drive {
        Drive::Unit(plus, minus) => unit(rest, plus, minus),
        Drive::Emfs(_) => rest.fill(CxDd8::ZERO),
    }
    let mut current = CxDd8::ZERO;
    for (b, (&(from, to), y)) in order.ends.iter().zip(y).enumerate() {
        let (from, to) = (from as usize, to as usize);
        if let Drive::Emfs(emf) = drive {
            let mut beyond = x[to];
            beyond.add_plain(&emf[b]);
            current.set_current::<FMA>(y, &x[from], &beyond);
        } else {
            current.set_current::<FMA>(y, &x[from], &x[to]);
        }
        if let Ok([from, to]) = rest.get_disjoint_mut([from, to]) {
            current.pass(from, to);
        }
    }
}
