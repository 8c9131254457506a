//! Factors of a topology for given samples, and what the undisturbed network does.
//!
//! `i_b = y_b (v_from − v_to − e_b)`: current of branch b from `from` to `to` in amperes, admittance in siemens, EMF in
//! volts, positive at `from`, so that an open branch shows `v_from − v_to = e_b`.

use crate::cx8::{Cx8, add_product, sub_product};
use crate::dd::CxDd8;
use crate::error::NetworkError;
use crate::ldl::{factor, first_bad, solve_from_in};
use crate::order::Order;
use crate::refine::{Buffers, Care, Drive, solve_refined_in};
use crate::simd::dispatched;
use crate::topology::{BranchIx, NodeIx};
use crate::work::Work;
use std::ops::Index;

/// Eight samples of all values of a network. Leave no lane unset: repeat a sample to fill the last batch.
#[derive(Clone, Debug, Default)]
pub struct Batch {
    /// Admittance of every branch, siemens, by [`BranchIx::index`].
    pub y: Vec<Cx8>,
    /// EMF in series with it, volts, positive at `from`.
    pub emf: Vec<Cx8>,
}

impl Batch {
    /// All admittances and EMFs zero, for as many branches as the order's topology has.
    pub fn zero(n_branches: usize) -> Self {
        Self {
            y: vec![Cx8::ZERO; n_branches],
            emf: vec![Cx8::ZERO; n_branches],
        }
    }
}

/// A value for every node, looked up by [`NodeIx`]; the datum's is zero.
#[derive(Clone, Debug, Default)]
pub struct AtNodes<T = Cx8>(pub(crate) Vec<T>);

impl<T> Index<NodeIx> for AtNodes<T> {
    type Output = T;

    fn index(&self, node: NodeIx) -> &T {
        &self.0[node.index()]
    }
}

/// A value for every branch, looked up by [`BranchIx`].
#[derive(Clone, Debug, Default)]
pub struct AtBranches<T = Cx8>(pub(crate) Vec<T>);

impl<T> Index<BranchIx> for AtBranches<T> {
    type Output = T;

    fn index(&self, branch: BranchIx) -> &T {
        &self.0[branch.index()]
    }
}

/// Voltages and currents of one batch.
#[derive(Clone, Debug, Default)]
pub struct State {
    /// Potential of every node, volts.
    pub volts: AtNodes,
    /// Current of every branch from `from` to `to`, amperes.
    pub amps: AtBranches,
    /// What it took.
    pub work: Work,
}

/// The factors of some batches. Borrows order and samples, so that neither is edited under it. To keep memory small,
/// factor one batch at a time and drop it.
#[derive(Clone, Debug)]
pub struct Factors<'a> {
    pub(crate) order: &'a Order,
    pub(crate) batches: &'a [Batch],
    m: Vec<Cx8>,
}

impl Order {
    /// Factors every batch.
    ///
    /// # Errors
    /// [`NetworkError::BatchShape`] and [`NetworkError::Singular`].
    pub fn factor<'a>(&'a self, batches: &'a [Batch]) -> Result<Factors<'a>, NetworkError> {
        let slots = self.n_slots();
        let mut m = Vec::with_capacity(slots * batches.len());
        for (at, batch) in batches.iter().enumerate() {
            let branches = self.topology().n_branches();
            if batch.y.len() != branches || batch.emf.len() != branches {
                let (admittances, emfs) = (batch.y.len(), batch.emf.len());
                return Err(NetworkError::BatchShape {
                    batch: at,
                    branches,
                    admittances,
                    emfs,
                });
            }
            factor_checked(self, &batch.y, &mut m, at)?;
        }
        Ok(Factors {
            order: self,
            batches,
            m,
        })
    }
}

pub(crate) fn factor_checked(
    order: &Order,
    y: &[Cx8],
    m: &mut Vec<Cx8>,
    batch: usize,
) -> Result<(), NetworkError> {
    if factor(order, y, m) {
        return Ok(());
    }
    let (lane, row) = first_bad(order, &m[m.len() - order.n_slots()..]);
    Err(NetworkError::Singular {
        batch,
        lane,
        node: order.node[row],
    })
}

impl<'a> Factors<'a> {
    /// The order these were made with.
    pub fn order(&self) -> &'a Order {
        self.order
    }

    /// The samples that were factored.
    pub fn batches(&self) -> &'a [Batch] {
        self.batches
    }

    /// One factoring for every batch.
    pub fn work(&self) -> Work {
        Work {
            factorings: self.batches.len() as u64,
            ..Work::default()
        }
    }

    pub(crate) fn slots(&self, batch: usize) -> &[Cx8] {
        let n = self.order.n_slots();
        &self.m[batch * n..(batch + 1) * n]
    }

    /// Node voltages of one batch by a single solve, good to about 1e-10 V where no part floats behind more than some
    /// megohms; else see [`Factors::state`].
    ///
    /// # Panics
    /// Where `batch` is not one of the batches.
    pub fn volts(&self, batch: usize) -> AtNodes {
        let it = &self.batches[batch];
        let mut out = AtNodes(Vec::with_capacity(self.order.row.len()));
        let mut j = vec![Cx8::ZERO; self.order.n() + 1];
        volts(
            self.order,
            self.slots(batch),
            &it.y,
            &it.emf,
            &mut j,
            &mut out.0,
        );
        out
    }

    /// Node voltages and branch currents of one batch as it stands, good to about 1e-13 of the largest voltage.
    ///
    /// # Panics
    /// Where `batch` is not one of the batches.
    pub fn state(&self, batch: usize) -> State {
        let mut out = State::default();
        let it = &self.batches[batch];
        state(
            self.order,
            self.slots(batch),
            &it.y,
            &it.emf,
            &mut Buffers::default(),
            &mut out,
        );
        out
    }
}

dispatched! {
    fn volts(order: &Order, m: &[Cx8], y: &[Cx8], emf: &[Cx8], j: &mut [Cx8], out: &mut Vec<Cx8>) = volts_in
}

#[inline(always)]
fn volts_in<const FMA: bool>(
    order: &Order,
    m: &[Cx8],
    y: &[Cx8],
    emf: &[Cx8],
    j: &mut [Cx8],
    out: &mut Vec<Cx8>,
) {
    let mut first = order.n();
    for ((&(from, to), y), emf) in order.ends.iter().zip(y).zip(emf) {
        // Few branches have an EMF.
        if emf.is_zero() {
            continue;
        }
        first = first.min(from as usize).min(to as usize);
        add_product::<FMA>(&mut j[from as usize], y, emf);
        sub_product::<FMA>(&mut j[to as usize], y, emf);
    }
    solve_from_in::<FMA>(order, m, j, first);
    for &row in &order.row {
        out.push(j[row as usize]);
    }
}

dispatched! {
    /// Solves for the EMFs and writes voltages and currents.
    pub(crate) fn state(order: &Order, m: &[Cx8], y: &[Cx8], emf: &[Cx8], buffers: &mut Buffers, out: &mut State) = state_in
}

#[inline(always)]
fn state_in<const FMA: bool>(
    order: &Order,
    m: &[Cx8],
    y: &[Cx8],
    emf: &[Cx8],
    buffers: &mut Buffers,
    out: &mut State,
) {
    out.work.refinements +=
        solve_refined_in::<FMA>(order, m, y, Drive::Emfs(emf), Care::Double, buffers);
    out.volts.0.clear();
    for &row in &order.row {
        out.volts.0.push(buffers.x[row as usize].hi);
    }
    out.amps.0.clear();
    let mut current = CxDd8::ZERO;
    for ((&(from, to), y), emf) in order.ends.iter().zip(y).zip(emf) {
        let mut beyond = buffers.x[to as usize];
        beyond.add_plain(emf);
        current.set_current::<FMA>(y, &buffers.x[from as usize], &beyond);
        out.amps.0.push(current.rounded());
    }
}
