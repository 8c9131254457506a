//! Electrical networks in the steady state: phasors, eight samples at a time.
//!
//! `Y V = J`: nodal analysis with complex symmetric `Y`. What is done once per topology, per sample and per cause has
//! a type each:
//!
//! ```
//! use network::{Batch, Cx8, NodeIx, Order, Probe, Scratch, Seen, Spot, Topology};
//!
//! let mut topology = Topology::new();
//! let (source, outlet) = (topology.node(), topology.node());
//! let supply = topology.branch(source, NodeIx::DATUM);
//! let run = topology.branch(source, outlet);
//! let load = topology.branch(outlet, NodeIx::DATUM);
//! let order = Order::of(&topology)?; // symbolic: once per topology
//!
//! let mut batch = Batch::zero(topology.n_branches());
//! batch.y[supply.index()] = Cx8::from(100.0);
//! batch.emf[supply.index()] = Cx8::from(120.0);
//! batch.y[run.index()] = Cx8::from(10.0);
//! batch.y[load.index()] = Cx8::from(0.1);
//! let batches = [batch];
//! let factors = order.factor(&batches)?; // numeric: once per set of samples
//!
//! let probe = Probe { plus: outlet, minus: NodeIx::DATUM };
//! let probes = factors.probes(&[probe], &[], &[], &[Spot::Branch(run)])?; // once per set of probes and spots
//! let (mut scratch, mut seen) = (Scratch::default(), Seen::default());
//! probes.under(0, &[(0, Cx8::from(1e-9))], &mut scratch, &mut seen)?; // once per cause: the run is open
//! assert!(seen.v[0].lane(0).norm() < 2e-6);
//! # Ok::<(), network::NetworkError>(())
//! ```
//!
//! Nothing here has heard of a site, an outlet or a meter's accuracy. All quantities are SI: volts (RMS phasors),
//! amperes, siemens, ohms. Nothing runs in parallel: the caller gives batches to its threads.

#![allow(
    clippy::needless_range_loop,
    reason = "a loop over lanes touches several arrays alike"
)]

mod cx8;
mod dd;
mod error;
mod factors;
mod ldl;
mod loads;
mod meter;
mod order;
mod probes;
mod refactor;
mod refine;
mod simd;
mod topology;
mod update;
mod work;

pub use cx8::{Cx8, LANES};
pub use error::NetworkError;
pub use factors::{AtBranches, AtNodes, Batch, Factors, State};
pub use loads::{Balance, Load, Running, Settled};
pub use meter::{Phasor, loaded, loaded_pair, loaded_three};
pub use order::Order;
pub use probes::{Asked, Probe, Probes, Spot};
pub use topology::{BranchIx, NodeIx, Topology};
pub use update::{Scratch, Seen};
pub use work::Work;
