//! How the readings under a cause move with each unknown, in eight worlds at once.
//!
//! `∂x_i/∂z_d ≈ (x_i(z + h e_d) − x_i(z)) / h`: an unknown moves the admittances of a few branches, so that looking at
//! worlds that differ in a few unknowns is one more low-rank update of the same factors. The EMFs stay: a leg's own
//! voltage moves its readings by parts in a thousand, far less than the service's, and is left to chance.

use chain::element::Conductor;
use chain::worlds::Worlds;
use network::{Batch, BranchIx, Cx8, NodeIx, Order, Probes, Scratch, Seen, Spot};
use site::visit::{Contact, Pin};

use crate::answer::Work;
use crate::causes::Cause;
use crate::look::Looked;
use crate::near::TO_FIT;
use crate::seats::Seats;
use crate::seeing::Lanes;
use crate::study::Study;

/// Step of an unknown, standard deviations: small beside its spread, large beside what rough updates lose.
const STEP: f64 = 0.05;

const PINS: [Pin; 3] = [Pin::Line, Pin::Neutral, Pin::Earth];

/// What a study's unknowns can move.
pub(crate) struct Moves {
    order: Order,
    branches: Vec<BranchIx>,
    /// By unknown of the site: places of the parts it moves.
    parts: Vec<Vec<usize>>,
    /// Unknowns of the site that move readings smoothly: not those that decide between states, nor those of outlets far
    /// from all that was told.
    smooth: Vec<usize>,
}

impl Moves {
    /// Of a study.
    pub fn of(study: &Study<'_>) -> Option<Self> {
        let parts = study.wiring.moved_by();
        let decides = study.wiring.decides();
        let near = parts_near(study);
        let smooth =
            (0..parts.len()).filter(|d| !decides[*d] && parts[*d].iter().any(|p| near[*p]));
        Some(Moves {
            order: Order::of(&study.wiring.topology).ok()?,
            branches: study.wiring.topology.branch_ixs().collect(),
            smooth: smooth.collect(),
            parts,
        })
    }

    /// Unknowns that move a cause's readings smoothly: the site's, and its severities.
    pub fn smooth(&self, study: &Study<'_>, cause: &Cause) -> Vec<usize> {
        let own = cause.faults.iter().flatten();
        let severities = own.map(|i| study.wiring.dims + *i as usize);
        self.smooth.iter().copied().chain(severities).collect()
    }
}

/// By part: whether it belongs to an outlet worth a closer look, or to none.
fn parts_near(study: &Study<'_>) -> Vec<bool> {
    let wiring = &study.wiring;
    let mut owner = vec![None; wiring.topology.n_nodes() + 1];
    for o in &wiring.outlets {
        for (conductor, pin) in Conductor::THREE.into_iter().zip(PINS) {
            let nodes = [
                wiring.terminal(*o, conductor),
                wiring.contact(Contact::Outlet(*o, pin)),
            ];
            for node in nodes.into_iter().flatten() {
                owner[node.index()] = Some(*o);
            }
        }
    }
    let outlets = study.outlets_near(TO_FIT);
    let is_near = |node: &NodeIx| owner[node.index()].is_none_or(|o| outlets.contains(&o));
    let ends = wiring.topology.branches().iter();
    ends.map(|(a, b)| is_near(a) && is_near(b)).collect()
}

/// Eight worlds, ready to be looked at under some causes, with some unknowns moved.
pub(crate) struct Eight<'a> {
    study: &'a Study<'a>,
    moves: &'a Moves,
    places: Places,
    conditions: &'a [usize],
    batches: &'a [Batch],
    /// The same, between looks; during one, the parts moved differ.
    moved: Vec<Batch>,
    probes: Vec<Probes<'a>>,
    seats: Seats,
    scratch: Scratch,
    seen: Seen,
    changes: Vec<(usize, Cx8)>,
    /// What it took so far.
    pub work: Work,
}

/// What may be looked at.
pub(crate) struct Scope<'a> {
    /// Causes.
    pub causes: &'a [&'a Cause],
    /// Unknowns that may be moved.
    pub dims: &'a [usize],
}

/// Makes one batch of worlds ready and does something with it; `None` where the network has no answer.
pub(crate) fn with_eight<T>(
    study: &Study<'_>,
    moves: &Moves,
    scope: &Scope<'_>,
    worlds: &Worlds,
    index: usize,
    act: impl FnOnce(&mut Eight<'_>) -> Option<T>,
) -> Option<T> {
    let conditions = study.conditions_seen(&[]);
    let batches = study.batches(worlds, index, &conditions);
    let places = Places::of(study, moves, scope);
    let mistaken = scope.causes.iter().any(|c| study.is_mistake(c));
    let read = |c: usize| study.probes_for(c, mistaken);
    let seats = Seats::of(study, &conditions, &batches, read, &places.spots);
    let factors = seats.factors(&moves.order, &batches)?;
    let probes = seats.probes(&factors)?;
    let work = Work {
        factorings: factors.len() as u64,
        ..Work::default()
    };
    act(&mut Eight {
        study,
        moves,
        places,
        conditions: &conditions,
        batches: &batches,
        moved: batches.clone(),
        probes,
        seats,
        scratch: Scratch::rough(),
        seen: Seen::default(),
        changes: Vec::new(),
        work,
    })
}

impl Eight<'_> {
    /// Looks at everything under a cause, in worlds (eight of them) that differ from these by some unknowns.
    pub fn look(
        &mut self,
        cause: &Cause,
        worlds: &Worlds,
        dims: &[usize],
        out: &mut Looked,
    ) -> Option<()> {
        let study = self.study;
        let severities = study.severities(cause, worlds, 0);
        let parts = || {
            dims.iter()
                .filter_map(|d| self.moves.parts.get(*d))
                .flatten()
                .copied()
        };
        out.clear(study);
        for (nth, condition) in self.conditions.iter().copied().enumerate() {
            let batch = &mut self.moved[nth];
            let told = &study.conditions[condition];
            study.wiring.redraw(batch, parts(), worlds, 0, told);
            self.changes.clear();
            match cause.merged.as_deref() {
                Some(recipes) => recipes[condition].write(batch, &severities, &mut self.changes),
                None => {
                    for (slot, i) in cause.faults.iter().enumerate() {
                        let Some(i) = i else { continue };
                        let recipe = &study.singles[*i as usize].recipes[condition];
                        recipe.write(batch, &severities[slot..=slot], &mut self.changes);
                    }
                }
            }
            for (spot, _) in &mut self.changes {
                *spot = self.places.of_spot[*spot];
            }
            for part in parts() {
                let place = self.places.of_part[part];
                if !self.changes.iter().any(|(p, _)| *p == place) {
                    self.changes.push((place, batch.y[part]));
                }
            }
            for part in parts() {
                batch.y[part] = self.batches[nth].y[part];
            }
            let seat = self.seats.seat(nth);
            seat.complete(&mut self.changes);
            let (scratch, seen) = (&mut self.scratch, &mut self.seen);
            let probes = &self.probes[seat.network];
            let done = probes.under_for(&seat.asked, 0, &self.changes, scratch, seen);
            self.work.solutions += 8;
            self.work.refactorings += done.ok()?.refactorings;
            study.look(cause, &severities, condition, &self.seen, out);
        }
        Some(())
    }

    /// By unknown: by reading kept, how much it moves with one standard deviation, where `base` was seen in `worlds`, of
    /// which the same are kept. While one unknown is moved, `also` are as in `worlds`.
    pub fn slopes(
        &mut self,
        cause: &Cause,
        worlds: &mut Worlds,
        dims: &[usize],
        also: &[usize],
        base: &Looked,
        kept: &[usize],
    ) -> Option<Vec<Vec<Lanes>>> {
        let mut out = Vec::with_capacity(dims.len());
        let mut other = Looked::default();
        let mut moved = also.to_vec();
        for dim in dims {
            let before = worlds.scores(*dim, 0);
            worlds.set(*dim, 0, before.map(|z| z + STEP));
            if !also.contains(dim) {
                moved.push(*dim);
            }
            let done = self.look(cause, worlds, &moved, &mut other);
            moved.truncate(also.len());
            worlds.set(*dim, 0, before);
            done?;
            other.keep(kept);
            let pairs = other.volts.iter().zip(&base.volts);
            let slope = |(a, b): (&Lanes, &Lanes)| core::array::from_fn(|k| (a[k] - b[k]) / STEP);
            out.push(pairs.map(slope).collect());
        }
        Some(out)
    }
}

/// Where the network may change: for the causes, and for the parts moved.
struct Places {
    spots: Vec<Spot>,
    /// By number of a study's spot: its place in the list.
    of_spot: Vec<usize>,
    /// By part: its branch's place in the list.
    of_part: Vec<usize>,
}

impl Places {
    fn of(study: &Study<'_>, moves: &Moves, scope: &Scope<'_>) -> Self {
        let mut out = Places {
            spots: Vec::new(),
            of_spot: vec![usize::MAX; study.spots.list().len()],
            of_part: vec![usize::MAX; moves.branches.len()],
        };
        let recipes = scope.causes.iter().flat_map(|c| study.recipes(c));
        for spot in recipes.flat_map(|r| r.spots()) {
            if out.of_spot[spot] == usize::MAX {
                out.of_spot[spot] = out.spots.len();
                let spot = study.spots.list()[spot];
                if let Spot::Branch(b) = spot {
                    out.of_part[b.index()] = out.spots.len();
                }
                out.spots.push(spot);
            }
        }
        let parts = scope.dims.iter().filter_map(|d| moves.parts.get(*d));
        for part in parts.flatten() {
            if out.of_part[*part] == usize::MAX {
                out.of_part[*part] = out.spots.len();
                out.spots.push(Spot::Branch(moves.branches[*part]));
            }
        }
        out
    }
}
