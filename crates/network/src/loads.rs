//! A network with loads that are not impedances: constant current and constant power, with a cut-out voltage.
//!
//! Each load is a branch whose admittance follows its voltage: `y = |I| e^{-jφ} / |v|` or `y = S* / |v|²` (S in volt-
//! amperes). Fixed point: factor, solve, set `y` anew, until no admittance moves by more than 1e-12 of itself. For one
//! load behind `z` an error shrinks by `|2 z y / (1 + z y)|` each round (half that for a constant current), so it
//! settles while the voltage is above half the open-circuit one, where a constant power has its stable solution;
//! steps are halved when an error grows. Below its cut-out voltage a load follows as an impedance; the one furthest
//! below is then switched off, once and for all (1e-9 S stay), and the search goes on: a machine does not come
//! back because others have stopped.
//! The result is checked by power balance (Tellegen): `Σ −e i* = Σ_loads v i* + Σ_losses (v − e) i*`.
//! Held by: tests/exact.rs, tests/prop.rs.

use crate::cx8::Cx8;
use crate::error::NetworkError;
use crate::factors::{AtBranches, AtNodes, Batch};
use crate::order::Order;
use crate::topology::BranchIx;
use crate::work::Work;
use num_complex::Complex64;

/// What a load asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Load {
    /// A constant impedance, given as its admittance in siemens.
    Impedance(Complex64),
    /// A constant current.
    Current {
        /// Amperes.
        amps: f64,
        /// By how much it lags its voltage, radians.
        lag: f64,
        /// Below this voltage it stops.
        cut_out: f64,
    },
    /// A constant power.
    Power {
        /// Volt-amperes, positive imaginary part for an inductive load.
        va: Complex64,
        /// Below this voltage it stops.
        cut_out: f64,
    },
}

/// What became of a load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Running {
    /// It has what it asks for.
    Yes,
    /// Its voltage was below the cut-out, and it stopped.
    CutOut,
}

/// Complex power, volt-amperes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// Given by the EMFs.
    pub supplied: Complex64,
    /// Taken by the loads.
    pub loads: Complex64,
    /// Taken by all other admittances.
    pub losses: Complex64,
    /// `|supplied − loads − losses|`: zero but for rounding.
    pub residual: f64,
}

/// The steady state that was found.
#[derive(Clone, Debug)]
pub struct Settled {
    /// Potential of every node, volts.
    pub volts: AtNodes<Complex64>,
    /// Current of every branch from `from` to `to`, amperes.
    pub amps: AtBranches<Complex64>,
    /// Admittance of every branch as it ended, siemens: a linear network with the same state.
    pub y: AtBranches<Complex64>,
    /// What became of each load, in the order given.
    pub running: Vec<Running>,
    /// Where the power goes.
    pub balance: Balance,
    /// What it took.
    pub work: Work,
}

const STILL: f64 = 1e-12;
const ROUNDS: usize = 1000;
const STOPPED: f64 = 1e-9;
/// Siemens beyond which a load only short-circuits its own supply.
const RUNAWAY: f64 = 1e15;

impl Load {
    /// Admittance at a voltage of this magnitude.
    fn y_at(&self, volts: f64) -> Complex64 {
        match *self {
            Self::Impedance(y) => y,
            Self::Current { amps, lag, cut_out } => {
                Complex64::from_polar(amps / volts.max(cut_out), -lag)
            }
            Self::Power { va, cut_out } => va.conj() / volts.max(cut_out).powi(2),
        }
    }

    fn cut_out(&self) -> f64 {
        match *self {
            Self::Impedance(_) => 0.0,
            Self::Current { cut_out, .. } | Self::Power { cut_out, .. } => cut_out,
        }
    }
}

impl Order {
    /// The steady state of one network, `y` and `emf` by branch, with `loads` in place of the admittances of their
    /// branches. To be used for one network at a time: eight equal lanes are solved.
    ///
    /// # Errors
    /// [`NetworkError::BatchShape`], [`NetworkError::Singular`], [`NetworkError::Unknown`], and
    /// [`NetworkError::Unsettled`] where loads without a cut-out ask for more than the network can carry.
    pub fn settle(
        &self,
        y: &[Complex64],
        emf: &[Complex64],
        loads: &[(BranchIx, Load)],
    ) -> Result<Settled, NetworkError> {
        self.known(std::iter::empty(), loads.iter().map(|it| it.0))?;
        let mut batch = Batch {
            y: y.iter().map(|&y| Cx8::splat(y)).collect(),
            emf: emf.iter().map(|&e| Cx8::splat(e)).collect(),
        };
        let branches = self.topology().n_branches();
        if y.len() != branches || emf.len() != branches {
            return Err(NetworkError::BatchShape {
                batch: 0,
                branches,
                admittances: y.len(),
                emfs: emf.len(),
            });
        }
        let mut running = vec![Running::Yes; loads.len()];
        for (branch, load) in loads {
            let y = if let Load::Impedance(y) = *load {
                y
            } else {
                STOPPED.into()
            };
            batch.y[branch.index()] = Cx8::splat(y);
        }
        let mut work = Work::default();
        loop {
            let state = self.settle_running(&mut batch, loads, &running, &mut work)?;
            let shortfall = |at: usize| {
                let (branch, load) = &loads[at];
                self.volts_across(&state, *branch) / load.cut_out()
            };
            let lowest = (0..loads.len())
                .filter(|&at| running[at] == Running::Yes && shortfall(at) < 1.0)
                .min_by(|&a, &b| shortfall(a).total_cmp(&shortfall(b)));
            let Some(lowest) = lowest else {
                return Ok(self.settled(&batch, &state, loads, running, work));
            };
            running[lowest] = Running::CutOut;
            batch.y[loads[lowest].0.index()] = Cx8::from(STOPPED);
        }
    }

    /// Fixed point of the loads that run.
    fn settle_running(
        &self,
        batch: &mut Batch,
        loads: &[(BranchIx, Load)],
        running: &[Running],
        work: &mut Work,
    ) -> Result<crate::State, NetworkError> {
        let (mut step, mut before) = (1.0_f64, f64::INFINITY);
        let (mut worst, mut rounds) = ((BranchIx(0), 0.0), 0);
        for round in 1..=ROUNDS {
            rounds = round;
            let state = {
                let factors = self.factor(std::slice::from_ref(batch))?;
                *work += factors.work();
                factors.state(0)
            };
            *work += state.work;
            worst = (BranchIx(0), 0.0);
            let mut next = Vec::new();
            for ((branch, load), _) in loads.iter().zip(running).filter(|it| *it.1 == Running::Yes)
            {
                let wanted = load.y_at(self.volts_across(&state, *branch));
                let now = batch.y[branch.index()].lane(0);
                // A load of nothing is off by nothing.
                let off_by = (wanted - now).norm() / wanted.norm().max(f64::MIN_POSITIVE);
                if off_by.is_nan() || off_by > worst.1 {
                    worst = (*branch, off_by);
                }
                next.push((branch, now + step * (wanted - now)));
            }
            if worst.1 <= STILL {
                return Ok(state);
            }
            if next
                .iter()
                .any(|(_, y)| y.norm().is_nan() || y.norm() > RUNAWAY)
            {
                break;
            }
            if worst.1 > before {
                step = (step / 2.0).max(1.0 / 64.0);
            }
            before = worst.1;
            for (branch, y) in next {
                batch.y[branch.index()] = Cx8::splat(y);
            }
        }
        Err(NetworkError::Unsettled {
            rounds,
            worst: worst.0,
            off_by: worst.1,
        })
    }

    fn volts_across(&self, state: &crate::State, branch: BranchIx) -> f64 {
        let (from, to) = self.topology().ends(branch);
        (state.volts[from].lane(0) - state.volts[to].lane(0)).norm()
    }

    fn settled(
        &self,
        batch: &Batch,
        state: &crate::State,
        loads: &[(BranchIx, Load)],
        running: Vec<Running>,
        work: Work,
    ) -> Settled {
        let plain = |of: &[Cx8]| of.iter().map(|it| it.lane(0)).collect::<Vec<_>>();
        let (volts, amps) = (
            AtNodes(plain(&state.volts.0)),
            AtBranches(plain(&state.amps.0)),
        );
        let mut is_load = vec![false; amps.0.len()];
        for (branch, _) in loads {
            is_load[branch.index()] = true;
        }
        let [mut supplied, mut taken, mut losses] = [Complex64::ZERO; 3];
        for (b, &(from, to)) in self.topology().branches().iter().enumerate() {
            let (emf, i) = (batch.emf[b].lane(0), amps.0[b].conj());
            supplied -= emf * i;
            let lost = (volts[from] - volts[to] - emf) * i;
            if is_load[b] {
                taken += lost
            } else {
                losses += lost
            }
        }
        let residual = (supplied - taken - losses).norm();
        let balance = Balance {
            supplied,
            loads: taken,
            losses,
            residual,
        };
        Settled {
            volts,
            amps,
            y: AtBranches(plain(&batch.y)),
            running,
            balance,
            work,
        }
    }
}
