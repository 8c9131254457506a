//! Readings under a cause, without factoring again.
//!
//! A cause changes k admittances: `Y' = Y + A D Aᵀ`; A: incidence of the k spots (nodes × k), `D = diag(y' − y)` in
//! siemens, zeros allowed. Sherman-Morrison-Woodbury: `Z' = Z − Z A (D⁻¹ + Z_cc)⁻¹ Aᵀ Z` with `Z_cc = Aᵀ Z A`, and as
//! the EMFs stay, `V' = V − Z A (D⁻¹ + Z_cc)⁻¹ w`, `w = Aᵀ V − e`. So that no `D⁻¹` is needed, we factor the symmetric
//! `S = D + D Z_cc D = L Δ Lᵀ` (pivot zero where a lane changes nothing: its reciprocal is taken as zero) and use
//! `f_p = L⁻¹ D z_cp`, `u = D L⁻ᵀ Δ⁻¹ L⁻¹ D w`:
//! `v_p' = v_p − z_pcᵀ u`, `z_pq' = z_pq − f_pᵀ Δ⁻¹ f_q`.
//! A pivot far below its own terms has lost digits: below 1e-5 the same kernel runs again in twice the precision,
//! below 1e-17 of that (a part floats with hardly a leak) the network is factored again (`refactor`); `Work` tells.
//! Additions are eliminated before changes of branches, so that the network holds together in between.
//! Source: Matrix Computations, 4th ed., §2.1 (section from memory). Held by: tests/prop.rs, tests/sim.rs,
//! tests/exact.rs.

use crate::cx8::{Cx8, LANES};
use crate::dd::{CxDd8, Num};
use crate::error::NetworkError;
use crate::factors::AtNodes;
use crate::probes::{Asked, OfBatch, Probes, Spot, triangle};
use crate::refactor::Again;
use crate::simd::dispatched;
use crate::work::Work;

/// What would be seen: buffers that [`Probes::under`] fills, each in the order given to [`crate::Factors::probes`].
#[derive(Clone, Debug, Default)]
pub struct Seen {
    /// Open-circuit voltage at every probe, volts.
    pub v: Vec<Cx8>,
    /// Thevenin impedance at every probe, ohms.
    pub z: Vec<Cx8>,
    /// Mutual impedance of every pair of probes asked for, ohms.
    pub zm: Vec<Cx8>,
    /// Voltage of every watched pair, volts.
    pub watch: Vec<Cx8>,
    /// Potential of every node, volts: filled by [`Probes::under_refined`], else empty.
    pub nodes: AtNodes,
}

/// Buffers of the updates; one for each thread, kept from call to call.
#[derive(Debug, Default)]
pub struct Scratch {
    changes: Vec<(usize, Cx8)>,
    plain: Vec<Cx8>,
    double: Vec<CxDd8>,
    again: Again,
    least: Least,
}

/// What a pivot may keep of its terms before the update is done in twice the precision.
#[derive(Clone, Copy, Debug)]
struct Least(f64);

impl Default for Least {
    fn default() -> Self {
        Least(PLAIN)
    }
}

impl Scratch {
    /// Buffers for sampling: voltages of updates are good to about 10 mV only, impedances to 1e-4 of themselves, which
    /// is far below what is unknown of an installation, and few updates need twice the precision.
    pub fn rough() -> Self {
        Scratch {
            least: Least(ROUGH),
            ..Scratch::default()
        }
    }
}

const PLAIN: f64 = 1e-5;
const ROUGH: f64 = 1e-11;
const DOUBLE: f64 = 1e-17;

impl Probes<'_> {
    /// What the probes see in batch `batch` if each named spot (place in `spots`, each at most once) had this new
    /// admittance in siemens. Voltages are good to about 1e-8 V, impedances to 1e-9 of themselves, open conductors
    /// included. Without changes: the network as it stands.
    ///
    /// # Errors
    /// [`NetworkError::Singular`] where the changes leave a part without any path to the datum: leave it a leak.
    ///
    /// # Panics
    /// Where `batch` or a spot is not there.
    pub fn under(
        &self,
        batch: usize,
        changes: &[(usize, Cx8)],
        scratch: &mut Scratch,
        out: &mut Seen,
    ) -> Result<Work, NetworkError> {
        self.under_for(&self.all(), batch, changes, scratch, out)
    }

    /// As [`Probes::under`], for some of the probes and of the pairs of them only; watched pairs are all read.
    ///
    /// # Errors
    /// As [`Probes::under`].
    ///
    /// # Panics
    /// As [`Probes::under`], and where a pair is not of these probes.
    pub fn under_for(
        &self,
        asked: &Asked,
        batch: usize,
        changes: &[(usize, Cx8)],
        scratch: &mut Scratch,
        out: &mut Seen,
    ) -> Result<Work, NetworkError> {
        let it = &self.of_batch[batch];
        scratch.changes.clear();
        let across = |spot: usize| matches!(self.spots[spot], Spot::Across(..));
        scratch
            .changes
            .extend(changes.iter().filter(|it| across(it.0)));
        scratch
            .changes
            .extend(changes.iter().filter(|it| !across(it.0)));
        out.nodes.0.clear();
        let mut work = Work {
            updates: 1,
            ..Work::default()
        };
        if update(
            it,
            asked,
            &self.mutual,
            &scratch.changes,
            scratch.least.0,
            &mut scratch.plain,
            out,
        ) {
            return Ok(work);
        }
        work.doubled = 1;
        if update_double(
            it,
            asked,
            &self.mutual,
            &scratch.changes,
            DOUBLE,
            &mut scratch.double,
            out,
        ) {
            return Ok(work);
        }
        self.again(asked, batch, changes, &mut scratch.again, out)
            .map(|more| work + more)
    }

    /// As [`Probes::under`], by factoring the changed network and correcting its solution: slower, good to 1e-12 of
    /// the largest voltage whatever is open, and with the potential of every node.
    ///
    /// # Errors
    /// As [`Probes::under`].
    ///
    /// # Panics
    /// As [`Probes::under`].
    pub fn under_refined(
        &self,
        batch: usize,
        changes: &[(usize, Cx8)],
        scratch: &mut Scratch,
        out: &mut Seen,
    ) -> Result<Work, NetworkError> {
        self.again(&self.all(), batch, changes, &mut scratch.again, out)
    }
}

dispatched! {
    fn update(
        it: &OfBatch, asked: &Asked, mutual: &[(usize, usize)], changes: &[(usize, Cx8)], least: f64, room: &mut Vec<Cx8>,
        out: &mut Seen,
    ) -> bool = update_plain_in
}

dispatched! {
    fn update_double(
        it: &OfBatch, asked: &Asked, mutual: &[(usize, usize)], changes: &[(usize, Cx8)], least: f64, room: &mut Vec<CxDd8>,
        out: &mut Seen,
    ) -> bool = update_double_in
}

#[inline(always)]
fn update_plain_in<const FMA: bool>(
    it: &OfBatch,
    asked: &Asked,
    mutual: &[(usize, usize)],
    changes: &[(usize, Cx8)],
    least: f64,
    room: &mut Vec<Cx8>,
    out: &mut Seen,
) -> bool {
    update_in::<Cx8, FMA>(it, asked, mutual, changes, least, room, out)
}

#[inline(always)]
fn update_double_in<const FMA: bool>(
    it: &OfBatch,
    asked: &Asked,
    mutual: &[(usize, usize)],
    changes: &[(usize, Cx8)],
    least: f64,
    room: &mut Vec<CxDd8>,
    out: &mut Seen,
) -> bool {
    update_in::<CxDd8, FMA>(it, asked, mutual, changes, least, room, out)
}

/// `false` where a pivot lost more than `least` of its terms; `out` is then unusable.
#[inline(always)]
fn update_in<N: Num, const FMA: bool>(
    it: &OfBatch,
    asked: &Asked,
    mutual: &[(usize, usize)],
    changes: &[(usize, Cx8)],
    least: f64,
    room: &mut Vec<N>,
    out: &mut Seen,
) -> bool {
    let (k, n_probes) = (changes.len(), asked.probes.len());
    let n_read = it.v.len();
    let first = asked.probes.start;
    // Room for D, Δ⁻¹, u, S by rows, and f: for w first, then for each probe.
    let needed = 3 * k + k * k + (n_probes + 1) * k;
    if room.len() < needed {
        room.resize(needed, N::ZERO);
    }
    let (d, rest) = room[..needed].split_at_mut(k);
    let (inverse, rest) = rest.split_at_mut(k);
    let (u, rest) = rest.split_at_mut(k);
    let (s, f) = rest.split_at_mut(k * k);
    let mut l = N::ZERO;

    for (d, (spot, y)) in d.iter_mut().zip(changes) {
        d.set_difference(y, &it.y[*spot]);
    }
    for (i, &(spot, _)) in changes.iter().enumerate() {
        for (j, &(other, _)) in changes[..i].iter().enumerate() {
            l.set_product::<FMA>(&d[j], N::of(&it.z_cc[triangle(spot, other)]));
            s[i * k + j].set_product::<FMA>(&l, &d[i]);
        }
        l.set_product::<FMA>(&d[i], N::of(&it.z_cc[triangle(spot, spot)]));
        s[i * k + i] = d[i];
        s[i * k + i].add_product::<FMA>(&l, &d[i]);
        f[i].set_product::<FMA>(&d[i], N::of(&it.w[spot]));
        let z_pc = &it.z_pc[spot * n_read + first..][..n_probes];
        for (z, f) in z_pc.iter().zip(f[k..].chunks_exact_mut(k)) {
            f[i].set_product::<FMA>(&d[i], N::of(z));
        }
    }
    let mut lost = false;
    for i in 0..k {
        let pivot = s[i * k + i];
        // The pivot's terms: D and D² z, of which z alone could be zero.
        let spot = changes[i].0;
        let (d, z) = (
            d[i].high().norm_sqr(),
            it.z_cc[triangle(spot, spot)].hi.norm_sqr(),
        );
        let size = pivot.high().norm_sqr();
        for l in 0..LANES {
            let enough = size[l] >= least * least * d[l] * (1.0 + d[l] * z[l]);
            lost |= !enough; // so that a pivot that is not a number counts as lost
        }
        inverse[i].set_inverse_or_zero::<FMA>(&pivot);
        // Downwards, so that column i of the rows above still holds L Δ.
        for j in (i + 1..k).rev() {
            l.set_product::<FMA>(&s[j * k + i], &inverse[i]);
            for other in i + 1..=j {
                let above = s[other * k + i];
                s[j * k + other].sub_product::<FMA>(&l, &above);
            }
            s[j * k + i] = l;
            for f in f.chunks_exact_mut(k) {
                let (done, rest) = f.split_at_mut(j);
                rest[0].sub_product::<FMA>(&l, &done[i]);
            }
        }
    }
    if lost {
        return false;
    }
    for i in (0..k).rev() {
        let (u, below) = u[i..].split_first_mut().expect("i is below k");
        u.set_product::<FMA>(&f[i], &inverse[i]);
        for (j, below) in below.iter().enumerate() {
            u.sub_product::<FMA>(&s[(i + 1 + j) * k + i], below);
        }
    }
    for (u, d) in u.iter_mut().zip(d.iter()) {
        l = *u;
        u.set_product::<FMA>(&l, d);
    }
    out.v.clear();
    out.watch.clear();
    for p in asked.probes.clone().chain(it.z.len()..n_read) {
        l = *N::of(&it.v[p]);
        for (u, &(spot, _)) in u.iter().zip(changes) {
            l.sub_product::<FMA>(N::of(&it.z_pc[spot * n_read + p]), u);
        }
        let seen = if p < it.z.len() {
            &mut out.v
        } else {
            &mut out.watch
        };
        seen.push(*l.high());
    }
    out.z.clear();
    for (p, z) in it.z[asked.probes.clone()].iter().enumerate() {
        let f = &f[(p + 1) * k..][..k];
        out.z.push(impedance::<N, FMA>(z, f, inverse, f));
    }
    out.zm.clear();
    for (&(p, q), z) in mutual
        .iter()
        .zip(&it.zm)
        .skip(asked.mutual.start)
        .take(asked.mutual.len())
    {
        let (p, q) = (p - first, q - first);
        let (f, g) = (&f[(p + 1) * k..][..k], &f[(q + 1) * k..][..k]);
        out.zm.push(impedance::<N, FMA>(z, f, inverse, g));
    }
    true
}

/// `z − fᵀ Δ⁻¹ g`.
#[inline(always)]
fn impedance<N: Num, const FMA: bool>(z: &CxDd8, f: &[N], inverse: &[N], g: &[N]) -> Cx8 {
    let (mut z, mut part) = (*N::of(z), N::ZERO);
    for ((f, inverse), g) in f.iter().zip(inverse).zip(g) {
        part.set_product::<FMA>(f, inverse);
        z.sub_product::<FMA>(&part, g);
    }
    *z.high()
}
