//! What can be wrong with a network, in numbers; whoever knows the site adds words and place.

use crate::topology::{BranchIx, NodeIx};
use std::fmt;

/// Why a network has no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum NetworkError {
    /// Nodes that no branch joins to the datum: their potential is undefined. Give each a leakage path.
    Islands {
        /// The nodes concerned, in ascending order.
        floating: Vec<NodeIx>,
    },
    /// A batch does not have one admittance and one EMF for every branch.
    BatchShape {
        /// Which batch.
        batch: usize,
        /// Branches of the topology.
        branches: usize,
        /// Admittances given.
        admittances: usize,
        /// EMFs given.
        emfs: usize,
    },
    /// With these admittances a part of the network floats or resonates without loss (or a value is not a number).
    Singular {
        /// Which batch.
        batch: usize,
        /// Which sample of the batch, 0 to 7.
        lane: usize,
        /// A node of the part concerned.
        node: NodeIx,
    },
    /// A node or branch of another topology was named.
    Unknown {
        /// Nodes that this topology does not have.
        nodes: Vec<NodeIx>,
        /// Branches that this topology does not have.
        branches: Vec<BranchIx>,
    },
    /// The loads found no steady state: they ask for more than the network can carry.
    Unsettled {
        /// Rounds made.
        rounds: usize,
        /// Load branch furthest from what it asks for.
        worst: BranchIx,
        /// How far, as a fraction of its admittance.
        off_by: f64,
    },
}

impl fmt::Display for NetworkError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Islands { floating } => {
                write!(
                    f,
                    "{} nodes have no path to the datum, first {:?}",
                    floating.len(),
                    floating.first()
                )
            }
            Self::BatchShape {
                batch,
                branches,
                admittances,
                emfs,
            } => write!(
                f,
                "batch {batch} has {admittances} admittances and {emfs} EMFs for {branches} branches"
            ),
            Self::Singular { batch, lane, node } => {
                write!(
                    f,
                    "batch {batch}, sample {lane}: the part of the network around {node:?} floats"
                )
            }
            Self::Unknown { nodes, branches } => {
                write!(
                    f,
                    "the topology has no nodes {nodes:?} and no branches {branches:?}"
                )
            }
            Self::Unsettled {
                rounds,
                worst,
                off_by,
            } => {
                write!(
                    f,
                    "no steady state after {rounds} rounds; {worst:?} is still off by {off_by:.1e}"
                )
            }
        }
    }
}

impl std::error::Error for NetworkError {}
