//! What is joined to what: nodes and branches, before any value is known.

use crate::error::NetworkError;

/// A node. The datum is the reference earth, potential zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NodeIx(pub(crate) u32);

impl NodeIx {
    /// The reference earth: potential 0 V.
    pub const DATUM: Self = Self(0);

    /// Place in a table of all nodes with the datum first (datum 0, first node 1).
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// A branch: an admittance with an EMF in series, between two nodes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct BranchIx(pub(crate) u32);

impl BranchIx {
    /// Place in a table of all branches, as in [`crate::Batch::y`].
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// Nodes and branches, grown one by one. Branches may be parallel.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Topology {
    n_nodes: u32,
    branches: Vec<(NodeIx, NodeIx)>,
}

impl Topology {
    /// A network of the datum alone.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a node.
    pub fn node(&mut self) -> NodeIx {
        self.n_nodes += 1;
        NodeIx(self.n_nodes)
    }

    /// Adds a branch; its current counts positive from `from` to `to`, its EMF positive at `from`.
    pub fn branch(&mut self, from: NodeIx, to: NodeIx) -> BranchIx {
        self.branches.push((from, to));
        BranchIx(self.branches.len() as u32 - 1)
    }

    /// Nodes without the datum.
    pub fn n_nodes(&self) -> usize {
        self.n_nodes as usize
    }

    /// Branches.
    pub fn n_branches(&self) -> usize {
        self.branches.len()
    }

    /// The two ends of a branch, `(from, to)`.
    ///
    /// # Panics
    /// Where the branch belongs to a larger topology.
    pub fn ends(&self, branch: BranchIx) -> (NodeIx, NodeIx) {
        self.branches[branch.index()]
    }

    /// The ends of every branch, in the order of their indices.
    pub fn branches(&self) -> &[(NodeIx, NodeIx)] {
        &self.branches
    }

    /// Every branch, in the order they were added.
    pub fn branch_ixs(&self) -> impl Iterator<Item = BranchIx> + use<> {
        (0..self.branches.len() as u32).map(BranchIx)
    }

    /// Every node, the datum left out.
    pub fn nodes(&self) -> impl Iterator<Item = NodeIx> + use<> {
        (1..=self.n_nodes).map(NodeIx)
    }

    pub(crate) fn has(&self, node: NodeIx) -> bool {
        node.0 <= self.n_nodes
    }

    /// Finds unknown nodes and nodes without a path to the datum, all of them at once.
    pub(crate) fn check(&self) -> Result<(), NetworkError> {
        let mut unknown: Vec<NodeIx> = self
            .branches
            .iter()
            .flat_map(|&(a, b)| [a, b])
            .filter(|&n| !self.has(n))
            .collect();
        if !unknown.is_empty() {
            unknown.sort();
            unknown.dedup();
            return Err(NetworkError::Unknown {
                nodes: unknown,
                branches: Vec::new(),
            });
        }
        let mut beside = vec![Vec::new(); self.n_nodes() + 1];
        for &(a, b) in &self.branches {
            beside[a.index()].push(b);
            beside[b.index()].push(a);
        }
        let mut seen = vec![false; self.n_nodes() + 1];
        let mut todo = vec![NodeIx::DATUM];
        while let Some(node) = todo.pop() {
            if !std::mem::replace(&mut seen[node.index()], true) {
                todo.extend(&beside[node.index()]);
            }
        }
        let floating: Vec<NodeIx> = self.nodes().filter(|n| !seen[n.index()]).collect();
        if floating.is_empty() {
            Ok(())
        } else {
            Err(NetworkError::Islands { floating })
        }
    }
}
