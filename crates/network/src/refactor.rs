//! Readings under a cause by factoring the changed network.
//!
//! Spots across pairs that nothing joined become further branches; the order of such an extended topology is made when
//! it is first needed and kept in the scratch. Everything is then solved as in `refine`, with the new admittances.

use crate::cx8::Cx8;
use crate::dd::CxDd8;
use crate::error::NetworkError;
use crate::factors::factor_checked;
use crate::order::Order;
use crate::probes::{Asked, Probe, Probes, Spot};
use crate::refine::{Buffers, Care, Drive, solve_refined_in};
use crate::simd::dispatched;
use crate::topology::NodeIx;
use crate::update::Seen;
use crate::work::Work;
use std::collections::HashMap;

/// Buffers, and the orders of topologies extended by the pairs that name them.
#[derive(Debug, Default)]
pub(crate) struct Again {
    orders: HashMap<Vec<(NodeIx, NodeIx)>, Order>,
    /// Branches of the topology that `orders` extend, by which another network in the same scratch is noticed.
    base: Vec<(NodeIx, NodeIx)>,
    y: Vec<Cx8>,
    emf: Vec<Cx8>,
    m: Vec<Cx8>,
    buffers: Buffers,
}

impl Probes<'_> {
    pub(crate) fn again(
        &self,
        asked: &Asked,
        batch: usize,
        changes: &[(usize, Cx8)],
        room: &mut Again,
        out: &mut Seen,
    ) -> Result<Work, NetworkError> {
        let it = &self.factors.batches[batch];
        let mut work = Work {
            refactorings: 1,
            ..Work::default()
        };
        room.y.clone_from(&it.y);
        room.emf.clone_from(&it.emf);
        let mut pairs = Vec::new();
        for &(spot, y) in changes {
            match self.spots[spot] {
                Spot::Branch(b) => room.y[b.index()] = y,
                Spot::Across(a, b) => {
                    pairs.push((a, b));
                    room.y.push(y);
                    room.emf.push(Cx8::ZERO);
                }
            }
        }
        let base = self.factors.order;
        if room.base != base.topology().branches() {
            room.base = base.topology().branches().to_vec();
            room.orders.clear();
        }
        if !pairs.is_empty() && !room.orders.contains_key(&pairs) {
            room.orders.insert(pairs.clone(), base.extended(&pairs)?);
            work.orderings = 1;
        }
        let Again {
            orders,
            y,
            emf,
            m,
            buffers,
            ..
        } = room;
        let order = orders.get(&pairs).unwrap_or(base);
        m.clear();
        factor_checked(order, y, m, batch)?;
        work.refinements = read(order, m, y, emf, self, asked, buffers, out);
        Ok(work)
    }
}

dispatched! {
    fn read(
        order: &Order, m: &[Cx8], y: &[Cx8], emf: &[Cx8], plan: &Probes<'_>, asked: &Asked, buffers: &mut Buffers,
        out: &mut Seen,
    ) -> u64 = read_in
}

#[inline(always)]
#[allow(clippy::too_many_arguments)]
fn read_in<const FMA: bool>(
    order: &Order,
    m: &[Cx8],
    y: &[Cx8],
    emf: &[Cx8],
    plan: &Probes<'_>,
    asked: &Asked,
    buffers: &mut Buffers,
    out: &mut Seen,
) -> u64 {
    let rows = |it: &Probe| (order.row_of(it.plus), order.row_of(it.minus));
    let mut steps = solve_refined_in::<FMA>(order, m, y, Drive::Emfs(emf), Care::Double, buffers);
    let mut across = CxDd8::ZERO;
    out.nodes.0.clear();
    for &row in &order.row {
        out.nodes.0.push(buffers.x[row as usize].hi);
    }
    let (probes, mutual) = (
        &plan.probes[asked.probes.clone()],
        &plan.mutual[asked.mutual.clone()],
    );
    for (seen, pairs) in [(&mut out.v, probes), (&mut out.watch, &plan.watch[..])] {
        seen.clear();
        for (plus, minus) in pairs.iter().map(rows) {
            buffers.across(plus, minus, &mut across);
            seen.push(across.hi);
        }
    }
    out.z.clear();
    out.zm.clear();
    out.zm.resize(mutual.len(), Cx8::ZERO);
    for (p, (plus, minus)) in asked.probes.clone().zip(probes.iter().map(rows)) {
        steps +=
            solve_refined_in::<FMA>(order, m, y, Drive::Unit(plus, minus), Care::Double, buffers);
        buffers.across(plus, minus, &mut across);
        out.z.push(across.hi);
        for (&(first, second), zm) in mutual.iter().zip(&mut out.zm) {
            if first == p {
                let (plus, minus) = rows(&plan.probes[second]);
                buffers.across(plus, minus, &mut across);
                *zm = across.hi;
            }
        }
    }
    steps
}
