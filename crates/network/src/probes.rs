//! Transfer impedances between the places that are read and the places that may change.
//!
//! With `Z = Y⁻¹` and `a_x` the incidence of a pair of nodes: `v_p = a_pᵀ V`, `z_pq = a_pᵀ Z a_q` (ohms), symmetric. One
//! solve for each spot gives its column, of which only the elements named here are kept: `z_pc` of every probe and
//! watched pair, `z_cc` of every pair of spots, and `w_c = a_cᵀ V − e_c`, each in twice the precision, as
//! opening a conductor leaves `1 − y_c z_cc`, of which plain doubles keep nothing.
//! Held by: tests/prop.rs.

use core::ops::Range;

use crate::cx8::Cx8;
use crate::dd::CxDd8;
use crate::error::NetworkError;
use crate::factors::Factors;
use crate::order::Order;
use crate::refine::{Buffers, Care, Drive, grounded, solve_refined_in};
use crate::simd::dispatched;
use crate::topology::{BranchIx, NodeIx};
use crate::work::Work;

/// A pair of nodes where a meter may be put: its reading is the potential of `plus` minus that of `minus`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Probe {
    /// Where the first lead goes.
    pub plus: NodeIx,
    /// Where the second lead goes.
    pub minus: NodeIx,
}

/// A place where a cause may change an admittance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Spot {
    /// A branch of the topology; its EMF stays.
    Branch(BranchIx),
    /// A pair of nodes, with nothing between them so far (whatever else may join them stays).
    Across(NodeIx, NodeIx),
}

/// Which of the probes, and which of the pairs of them, are read by [`Probes::under_for`]: places in the lists that
/// [`Factors::probes`] was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// Of the probes.
    pub probes: Range<usize>,
    /// Of the pairs; both of each are among the probes.
    pub mutual: Range<usize>,
}

/// Voltages and transfer impedances of all batches, ready for [`Probes::under`].
#[derive(Clone, Debug)]
pub struct Probes<'a> {
    pub(crate) factors: &'a Factors<'a>,
    pub(crate) probes: Vec<Probe>,
    pub(crate) mutual: Vec<(usize, usize)>,
    pub(crate) watch: Vec<Probe>,
    pub(crate) spots: Vec<Spot>,
    pub(crate) of_batch: Vec<OfBatch>,
    work: Work,
}

/// The kept elements of one batch.
#[derive(Clone, Debug, Default)]
pub(crate) struct OfBatch {
    /// Voltage of every probe, then of every watched pair.
    pub v: Vec<CxDd8>,
    /// Thevenin impedance of every probe.
    pub z: Vec<CxDd8>,
    /// Mutual impedance of every pair of probes asked for.
    pub zm: Vec<CxDd8>,
    /// Admittance of every spot.
    pub y: Vec<Cx8>,
    /// Voltage across every spot's admittance.
    pub w: Vec<CxDd8>,
    /// Spot by spot: transfer impedance to every probe, then to every watched pair.
    pub z_pc: Vec<CxDd8>,
    /// Spot by spot: to itself and to every spot before it.
    pub z_cc: Vec<CxDd8>,
}

impl<'a> Factors<'a> {
    /// Prepares for reading `probes` under changes at `spots`. `mutual` names pairs of probes (places in `probes`)
    /// whose mutual impedance is wanted; of the pairs in `watch` only the voltage is.
    ///
    /// # Errors
    /// [`NetworkError::Unknown`] where a probe or spot belongs to another topology.
    ///
    /// # Panics
    /// Where `mutual` names a probe that is not there.
    pub fn probes(
        &'a self,
        probes: &[Probe],
        mutual: &[(usize, usize)],
        watch: &[Probe],
        spots: &[Spot],
    ) -> Result<Probes<'a>, NetworkError> {
        let (mut nodes, mut branches) = (Vec::new(), Vec::new());
        nodes.extend(
            probes
                .iter()
                .chain(watch)
                .flat_map(|it| [it.plus, it.minus]),
        );
        for spot in spots {
            match *spot {
                Spot::Branch(b) => branches.push(b),
                Spot::Across(a, b) => nodes.extend([a, b]),
            }
        }
        self.order.known(nodes.into_iter(), branches.into_iter())?;
        let rows = |it: &Probe| (self.order.row_of(it.plus), self.order.row_of(it.minus));
        let plan = Plan {
            probes: probes.iter().map(rows).collect(),
            watch: watch.iter().map(rows).collect(),
            mutual,
            spots: spots.iter().map(|&it| spot_rows(self.order, it)).collect(),
        };
        let mut work = Work::default();
        let mut buffers = Buffers::default();
        let of_batch = (0..self.batches.len())
            .map(|at| {
                let batch = &self.batches[at];
                let mut out = OfBatch::default();
                let refinements = prepare(
                    self.order,
                    self.slots(at),
                    &batch.y,
                    &batch.emf,
                    &plan,
                    &mut buffers,
                    &mut out,
                );
                work += Work {
                    refinements,
                    ..Work::default()
                };
                out
            })
            .collect();
        let (probes, mutual, watch, spots) = (
            probes.to_vec(),
            mutual.to_vec(),
            watch.to_vec(),
            spots.to_vec(),
        );
        Ok(Probes {
            factors: self,
            probes,
            mutual,
            watch,
            spots,
            of_batch,
            work,
        })
    }
}

impl Probes<'_> {
    /// What preparing took.
    pub fn work(&self) -> Work {
        self.work
    }

    /// The spots that changes are named by, in the order they were given.
    pub fn spots(&self) -> &[Spot] {
        &self.spots
    }

    /// Every probe and every pair of them.
    pub fn all(&self) -> Asked {
        Asked {
            probes: 0..self.probes.len(),
            mutual: 0..self.mutual.len(),
        }
    }

    /// Admittance of a spot in a batch as it stands, siemens; zero for [`Spot::Across`].
    pub fn y(&self, batch: usize, spot: usize) -> &Cx8 {
        &self.of_batch[batch].y[spot]
    }
}

/// Rows of a spot's ends, and its branch.
pub(crate) fn spot_rows(order: &Order, spot: Spot) -> (usize, usize, Option<usize>) {
    match spot {
        Spot::Branch(b) => {
            let (from, to) = order.ends[b.index()];
            (from as usize, to as usize, Some(b.index()))
        }
        Spot::Across(a, b) => (order.row_of(a), order.row_of(b), None),
    }
}

/// All that is wanted, by rows.
struct Plan<'a> {
    probes: Vec<(usize, usize)>,
    watch: Vec<(usize, usize)>,
    mutual: &'a [(usize, usize)],
    spots: Vec<(usize, usize, Option<usize>)>,
}

dispatched! {
    fn prepare(
        order: &Order, m: &[Cx8], y: &[Cx8], emf: &[Cx8], plan: &Plan<'_>, buffers: &mut Buffers, out: &mut OfBatch,
    ) -> u64 = prepare_in
}

#[inline(always)]
fn prepare_in<const FMA: bool>(
    order: &Order,
    m: &[Cx8],
    y: &[Cx8],
    emf: &[Cx8],
    plan: &Plan<'_>,
    buffers: &mut Buffers,
    out: &mut OfBatch,
) -> u64 {
    let usual = if grounded(order, m) {
        Care::Usual
    } else {
        Care::Double
    };
    let mut steps = solve_refined_in::<FMA>(order, m, y, Drive::Emfs(emf), Care::Double, buffers);
    let n_read = plan.probes.len() + plan.watch.len();
    let n_spots = plan.spots.len();
    // Written in place: numbers of this size are costly to hand about.
    out.v.resize(n_read, CxDd8::ZERO);
    for (&(plus, minus), v) in plan.probes.iter().chain(&plan.watch).zip(&mut out.v) {
        buffers.across(plus, minus, v);
    }
    out.w.resize(n_spots, CxDd8::ZERO);
    for (&(plus, minus, branch), w) in plan.spots.iter().zip(&mut out.w) {
        buffers.across(plus, minus, w);
        if let Some(b) = branch {
            w.sub_plain(&emf[b]);
        }
        out.y.push(branch.map_or(Cx8::ZERO, |b| y[b]));
    }
    out.zm.resize(plan.mutual.len(), CxDd8::ZERO);
    out.z.resize(plan.probes.len(), CxDd8::ZERO);
    for (p, &(plus, minus)) in plan.probes.iter().enumerate() {
        steps += solve_refined_in::<FMA>(order, m, y, Drive::Unit(plus, minus), usual, buffers);
        buffers.across(plus, minus, &mut out.z[p]);
        for (&(first, second), zm) in plan.mutual.iter().zip(&mut out.zm) {
            if first == p {
                let (plus, minus) = plan.probes[second];
                buffers.across(plus, minus, zm);
            }
        }
    }
    out.z_pc.resize(n_spots * n_read, CxDd8::ZERO);
    out.z_cc.resize(n_spots * (n_spots + 1) / 2, CxDd8::ZERO);
    for (c, &(plus, minus, branch)) in plan.spots.iter().enumerate() {
        let care = if branch.is_some() {
            Care::Double
        } else {
            usual
        };
        steps += solve_refined_in::<FMA>(order, m, y, Drive::Unit(plus, minus), care, buffers);
        let z_pc = &mut out.z_pc[c * n_read..][..n_read];
        for (&(plus, minus), z) in plan.probes.iter().chain(&plan.watch).zip(z_pc) {
            buffers.across(plus, minus, z);
        }
        for (other, &(plus, minus, across)) in plan.spots.iter().enumerate() {
            // Of a branch and a pair across, the branch's column is the better one.
            let mine = match (branch, across) {
                (Some(_), None) => true,
                (None, Some(_)) => false,
                _ => other <= c,
            };
            if mine {
                buffers.across(plus, minus, &mut out.z_cc[triangle(c, other)]);
            }
        }
    }
    steps
}

/// Place of a pair of spots in the lower triangle, row by row.
#[inline(always)]
pub(crate) fn triangle(a: usize, b: usize) -> usize {
    let (big, small) = if a > b { (a, b) } else { (b, a) };
    big * (big + 1) / 2 + small
}
