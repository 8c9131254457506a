//! Factoring and solving the nodal equations, eight samples at a time, without losing a leak.
//!
//! `Y V = J` with `Y = Σ_b y_b a_b a_bᵀ` (siemens), `a_b` the incidence of branch b; `Y = L D Lᵀ`, never `ᴴ`, as `Y` is
//! complex symmetric and not Hermitian. The diagonal of `Y` is never formed: 50 S beside a leak of 1e-12 S would
//! swallow it. Eliminating node k is done as star-mesh transformation instead, the datum being one more neighbour:
//! `d_k = g_k + Σ_i y_ik`, `l_ik = y_ik / d_k`, `y_ij += l_ik y_jk`, `g_i += l_ik g_k`, with `g_i` the admittance from i
//! to the datum. `L = I − (l_ik)`, `D = diag(d_k)`: the same factors at the same cost, but built from sums of
//! admittances only. Where these lie in the right half plane nothing cancels, and every element keeps its relative
//! accuracy, however small; a part that floats gives `d_k = 0` exactly. Active networks (negative conductance) or
//! lossless resonance lose this guarantee. No pivoting is needed: any order of elimination is as good.
//! Source: the elimination of W. K. Grassmann, M. I. Taksar and D. P. Heyman, Operations Research 33 (1985) 1107, for
//! Markov chains, and its error analysis by C. A. O'Cinneide, Numer. Math. 65 (1993) 109 (both from memory), both
//! real; carried to complex admittances here. Held by: tests/prop.rs, tests/exact.rs.

use crate::cx8::{Cx8, LANES, add_product, fma, mul};
use crate::order::Order;
use crate::simd::dispatched;

dispatched! {
    /// Appends the factors of the admittances `y` to `m`; `false` where a pivot is zero or not finite.
    pub(crate) fn factor(order: &Order, y: &[Cx8], m: &mut Vec<Cx8>) -> bool = factor_in
}

#[inline(always)]
fn factor_in<const FMA: bool>(order: &Order, y: &[Cx8], m: &mut Vec<Cx8>) -> bool {
    let before = m.len();
    m.reserve(order.n_slots());
    for ends in order.feeds_start.windows(2) {
        let mut sum = Cx8::ZERO;
        for &b in &order.feeds[ends[0] as usize..ends[1] as usize] {
            sum += y[b as usize];
        }
        m.push(sum);
    }
    let m = &mut m[before..];
    let (off, diagonal) = m.split_at_mut(order.below.len());
    let mut target = 0;
    let mut watch = [0.0; LANES];
    for k in 0..order.n() {
        let column = order.column(k);
        let ground = diagonal[k];
        let mut d = ground;
        for y in &off[column.clone()] {
            d += *y;
        }
        let inverse = d.recip();
        for l in 0..LANES {
            watch[l] = fma::<FMA>(inverse.re[l] + inverse.im[l], 0.0, watch[l]);
        }
        // What is updated lies in later columns.
        let (column_on, later) = off.split_at_mut(column.end);
        for a in column.clone() {
            let ratio = mul::<FMA>(&column_on[a], &inverse);
            let row = order.below[a] as usize;
            add_product::<FMA>(&mut diagonal[row], &ratio, &ground);
            for b in a + 1..column.end {
                let at = order.targets[target] as usize - column.end;
                target += 1;
                add_product::<FMA>(&mut later[at], &ratio, &column_on[b]);
            }
            column_on[a] = ratio;
        }
        diagonal[k] = inverse;
    }
    watch.iter().all(|&it| it == 0.0)
}

/// `j ← Y⁻¹ j` by rows of the order; the last element (the datum) ends as zero.
#[inline(always)]
pub(crate) fn solve_in<const FMA: bool>(order: &Order, m: &[Cx8], j: &mut [Cx8]) {
    solve_from_in::<FMA>(order, m, j, 0);
}

/// As [`solve_in`] where no current enters before row `first`: supplies are eliminated late, and most rows wait for
/// nothing.
#[inline(always)]
pub(crate) fn solve_from_in<const FMA: bool>(
    order: &Order,
    m: &[Cx8],
    j: &mut [Cx8],
    first: usize,
) {
    let (off, inverse) = m.split_at(order.below.len());
    let n = order.n();
    for k in first..n {
        let jk = j[k];
        for a in order.column(k) {
            let row = order.below[a] as usize;
            add_product::<FMA>(&mut j[row], &off[a], &jk);
        }
    }
    j[n] = Cx8::ZERO;
    back_in::<FMA>(order, off, inverse, j);
}

/// As [`solve_in`] for currents at two rows only: walks their paths through the elimination tree.
#[inline(always)]
pub(crate) fn solve_pair_in<const FMA: bool>(
    order: &Order,
    m: &[Cx8],
    j: &mut [Cx8],
    plus: usize,
    minus: usize,
) {
    let (off, inverse) = m.split_at(order.below.len());
    let n = order.n();
    j.fill(Cx8::ZERO);
    j[plus] += Cx8::ONE;
    j[minus] -= Cx8::ONE;
    let (mut a, mut b) = (plus, minus);
    while a.min(b) < n {
        let k = a.min(b);
        let jk = j[k];
        for s in order.column(k) {
            let row = order.below[s] as usize;
            add_product::<FMA>(&mut j[row], &off[s], &jk);
        }
        let column = order.column(k);
        let parent = if column.is_empty() {
            n
        } else {
            order.below[column.start] as usize
        };
        if a == k {
            a = parent;
        }
        if b == k {
            b = parent;
        }
    }
    j[n] = Cx8::ZERO;
    back_in::<FMA>(order, off, inverse, j);
}

#[inline(always)]
fn back_in<const FMA: bool>(order: &Order, off: &[Cx8], inverse: &[Cx8], j: &mut [Cx8]) {
    for k in (0..order.n()).rev() {
        let mut x = mul::<FMA>(&j[k], &inverse[k]);
        // The nearest row comes last: it has only just been found, and all others need not wait for it.
        for a in order.column(k).rev() {
            add_product::<FMA>(&mut x, &off[a], &j[order.below[a] as usize]);
        }
        j[k] = x;
    }
}

/// The lane and row of the first pivot that is not finite.
pub(crate) fn first_bad(order: &Order, m: &[Cx8]) -> (usize, usize) {
    let inverse = &m[order.below.len()..];
    (0..order.n())
        .find_map(|row| {
            let it = inverse[row];
            (0..LANES)
                .find(|&l| !(it.re[l].is_finite() && it.im[l].is_finite()))
                .map(|lane| (lane, row))
        })
        .unwrap_or((0, 0))
}
