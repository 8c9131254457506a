//! Elimination order and storage plan of a topology, made once.
//!
//! Eliminating a node joins its remaining neighbours pairwise (fill). Taking the node with the fewest neighbours each
//! time (minimum degree) keeps near-tree networks nearly free of fill. The plan is a list of slots, one for each
//! off-diagonal element of the factor, one for each node's admittance to the datum and one spare, and a flat list
//! that names the slot of every update in the order in which `ldl` makes them.
//! Source: Direct Methods for Sparse Linear Systems, T. A. Davis, 2006, ch. 7 (chapter from memory).
//! Held by: tests/prop.rs (against a dense solution).

use crate::error::NetworkError;
use crate::topology::{BranchIx, NodeIx, Topology};
use std::collections::BTreeSet;

/// The elimination order of a topology: made once, used for any number of samples.
#[derive(Clone, Debug)]
pub struct Order {
    topology: Topology,
    /// Row of every node, datum first; the datum's row is `n`, whose voltage is kept at zero.
    pub(crate) row: Vec<u32>,
    /// Node of every row.
    pub(crate) node: Vec<NodeIx>,
    /// Start of every column in `below`, and the end of the last.
    pub(crate) start: Vec<u32>,
    /// Row of every off-diagonal slot, ascending within a column.
    pub(crate) below: Vec<u32>,
    /// Slots to update, column by column, pair by pair.
    pub(crate) targets: Vec<u32>,
    /// Branches by the slot that their admittance is added to, and where each slot's begin.
    pub(crate) feeds: Vec<u32>,
    pub(crate) feeds_start: Vec<u32>,
    /// Rows of the two ends of every branch.
    pub(crate) ends: Vec<(u32, u32)>,
}

impl Order {
    /// Orders a topology.
    ///
    /// # Errors
    /// [`NetworkError::Islands`] for nodes without a path to the datum, [`NetworkError::Unknown`] for branches that
    /// end on nodes of another topology.
    pub fn of(topology: &Topology) -> Result<Self, NetworkError> {
        topology.check()?;
        let n = topology.n_nodes();
        let (node, columns) = eliminate(topology);
        let mut row = vec![n as u32; n + 1];
        for (k, it) in node.iter().enumerate() {
            row[it.index()] = k as u32;
        }
        let mut start = vec![0_u32];
        let mut below = Vec::new();
        for column in &columns {
            let mut rows: Vec<u32> = column.iter().map(|it| row[it.index()]).collect();
            rows.sort_unstable();
            below.extend(rows);
            start.push(below.len() as u32);
        }
        let mut order = Self {
            topology: topology.clone(),
            row,
            node,
            start,
            below,
            targets: Vec::new(),
            feeds: Vec::new(),
            feeds_start: Vec::new(),
            ends: Vec::new(),
        };
        for k in 0..n {
            let rows = &order.below[order.column(k)];
            for (i, &a) in rows.iter().enumerate() {
                for &b in &rows[i + 1..] {
                    order.targets.push(order.slot(a, b));
                }
            }
        }
        order.ends = topology
            .branches()
            .iter()
            .map(|&(a, b)| (order.row[a.index()], order.row[b.index()]))
            .collect();
        let mut fed: Vec<(u32, u32)> = order
            .ends
            .iter()
            .zip(0..)
            .map(|(&(a, b), branch)| (order.slot(a.min(b), a.max(b)), branch))
            .collect();
        fed.sort_unstable();
        order.feeds = fed.iter().map(|it| it.1).collect();
        let starts = (0..=order.n_slots())
            .map(|slot| fed.partition_point(|it| (it.0 as usize) < slot) as u32);
        order.feeds_start = starts.collect();
        Ok(order)
    }

    /// The topology that was ordered.
    pub fn topology(&self) -> &Topology {
        &self.topology
    }

    /// Off-diagonal elements of the factor, fill included.
    pub fn n_off_diagonals(&self) -> usize {
        self.below.len()
    }

    pub(crate) fn n(&self) -> usize {
        self.node.len()
    }

    /// Slots: off-diagonals, one per node for its admittance to the datum, one spare.
    pub(crate) fn n_slots(&self) -> usize {
        self.below.len() + self.n() + 1
    }

    #[inline(always)]
    pub(crate) fn column(&self, k: usize) -> std::ops::Range<usize> {
        self.start[k] as usize..self.start[k + 1] as usize
    }

    pub(crate) fn row_of(&self, node: NodeIx) -> usize {
        self.row[node.index()] as usize
    }

    /// This topology with further branches, ordered anew.
    pub(crate) fn extended(&self, across: &[(NodeIx, NodeIx)]) -> Result<Self, NetworkError> {
        let mut topology = self.topology.clone();
        for &(a, b) in across {
            topology.branch(a, b);
        }
        Self::of(&topology)
    }

    /// Nodes and branches that this topology does not have, as one problem.
    pub(crate) fn known(
        &self,
        nodes: impl Iterator<Item = NodeIx>,
        branches: impl Iterator<Item = BranchIx>,
    ) -> Result<(), NetworkError> {
        let nodes: Vec<_> = nodes.filter(|&it| !self.topology.has(it)).collect();
        let branches: Vec<_> = branches
            .filter(|it| it.index() >= self.topology.n_branches())
            .collect();
        if nodes.is_empty() && branches.is_empty() {
            Ok(())
        } else {
            Err(NetworkError::Unknown { nodes, branches })
        }
    }

    /// Slot of the pair of rows `a <= b`; the spare one for a pair that joins a node to itself.
    fn slot(&self, a: u32, b: u32) -> u32 {
        let n = self.n() as u32;
        let off = self.below.len() as u32;
        if a == b {
            return off + n;
        }
        if b == n {
            return off + a;
        }
        let column = self.column(a as usize);
        let at = self.below[column.clone()].partition_point(|&it| it < b);
        (column.start + at) as u32
    }
}

/// Nodes in order of elimination, each with the neighbours it had when eliminated.
fn eliminate(topology: &Topology) -> (Vec<NodeIx>, Vec<BTreeSet<NodeIx>>) {
    let mut beside = vec![BTreeSet::new(); topology.n_nodes() + 1];
    for &(a, b) in topology.branches() {
        if a != b && a != NodeIx::DATUM && b != NodeIx::DATUM {
            beside[a.index()].insert(b);
            beside[b.index()].insert(a);
        }
    }
    let mut left: BTreeSet<(usize, NodeIx)> = topology
        .nodes()
        .map(|it| (beside[it.index()].len(), it))
        .collect();
    let (mut nodes, mut columns) = (Vec::new(), Vec::new());
    while let Some((_, node)) = left.pop_first() {
        let around = std::mem::take(&mut beside[node.index()]);
        for &a in &around {
            left.remove(&(beside[a.index()].len(), a));
            beside[a.index()].remove(&node);
            let others = around.iter().copied().filter(|&b| b != a);
            beside[a.index()].extend(others);
            left.insert((beside[a.index()].len(), a));
        }
        nodes.push(node);
        columns.push(around);
    }
    (nodes, columns)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_a_tree_has_no_fill() {
        let mut t = Topology::new();
        let nodes: Vec<_> = (0..40).map(|_| t.node()).collect();
        t.branch(nodes[0], NodeIx::DATUM);
        for k in 1..40 {
            t.branch(nodes[k], nodes[(k - 1) / 3]);
        }
        assert_eq!(Order::of(&t).unwrap().n_off_diagonals(), 39);
    }

    #[test]
    fn exact_a_ring_of_n_has_fill_n_minus_3() {
        let mut t = Topology::new();
        let nodes: Vec<_> = (0..20).map(|_| t.node()).collect();
        for k in 0..20 {
            t.branch(nodes[k], nodes[(k + 1) % 20]);
        }
        t.branch(nodes[0], NodeIx::DATUM);
        assert_eq!(Order::of(&t).unwrap().n_off_diagonals(), 20 + 17);
    }

    #[test]
    fn every_floating_node_is_named() {
        let mut t = Topology::new();
        let (a, b, c) = (t.node(), t.node(), t.node());
        t.branch(a, NodeIx::DATUM);
        t.branch(b, c);
        assert_eq!(
            Order::of(&t).unwrap_err(),
            NetworkError::Islands {
                floating: vec![b, c]
            }
        );
    }
}
