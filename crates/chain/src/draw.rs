//! Eight sampled worlds at a time, under a condition, as admittances and EMFs.
//!
//! Loads are linear here: `y = P / |V|²` at nominal voltage, lagging by the power factor. An electronic load brings its
//! filter: a capacitor across line and neutral and one from each to earth. Behind an open conductor it cuts out at low
//! voltage and leaves its filter alone; some of the worlds have it so (`guess::IDLE`), whatever is broken.

#![allow(clippy::needless_range_loop)] // loops over lanes: the compiler makes vectors of them

use network::{Batch, Cx8};
use num_complex::Complex64;
use site::visit::{Condition, LoadScope, Running, SwitchState};

use crate::guess::{self, Guess};
use crate::lanes::{self, Lanes};
use crate::wiring::{Dim, Part, Slot, Wiring, is_electronic};
use crate::worlds::Worlds;

/// Admittance across an open breaker or switch, siemens.
const OPEN: f64 = 1e-11;
/// By how much the two sides of a filter differ, in its own log deviations.
const UNEVEN: f64 = 0.4;
/// Part of a whole turn by which the states of several told loads of one outlet are apart, so that they differ.
const TURN: f64 = 0.382;

/// What one outlet's slot draws in eight worlds.
#[derive(Clone, Copy)]
struct Drawn {
    load: Cx8,
    /// From the first and from the second contact to earth.
    filter: [Cx8; 2],
}

/// What is known of a slot under a condition.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Known {
    Nothing,
    All(Running),
}

impl Wiring<'_> {
    /// Admittances and EMFs of one batch of worlds under a condition. EMFs are at nominal service voltage.
    #[must_use]
    pub fn batch(&self, worlds: &Worlds, batch: usize, condition: &Condition) -> Batch {
        let n = self.parts.len();
        let mut out = Batch {
            y: vec![Cx8::ZERO; n],
            emf: vec![Cx8::ZERO; n],
        };
        for (part, emf) in self.parts.iter().zip(&mut out.emf) {
            if let Part::Source { leg, dim } = part {
                let leg = &self.site.service.system.legs[*leg];
                let z = worlds.scores(*dim, batch);
                *emf = Cx8::from_lanes(|k| {
                    let volts = leg.volts.si() * (1.0 + guess::LEG_VOLTS * z[k]);
                    Complex64::from_polar(volts, leg.angle)
                });
            }
        }
        self.redraw(&mut out, 0..n, worlds, batch, condition);
        out
    }

    /// The same batch of worlds under another condition: what conditions do not change is taken over.
    #[must_use]
    pub fn batch_as(
        &self,
        drawn: &Batch,
        worlds: &Worlds,
        batch: usize,
        condition: &Condition,
    ) -> Batch {
        let mut out = drawn.clone();
        let varies = |part: &Part| {
            matches!(
                part,
                Part::Load { .. }
                    | Part::Filter { .. }
                    | Part::Breaker { .. }
                    | Part::Switched { .. }
            )
        };
        let parts = (0..self.parts.len()).filter(|p| varies(&self.parts[*p]));
        self.redraw(&mut out, parts, worlds, batch, condition);
        out
    }

    /// Draws the admittances of some parts (places in [`Wiring::parts`]) again, from these worlds; EMFs stay.
    pub fn redraw(
        &self,
        into: &mut Batch,
        parts: impl IntoIterator<Item = usize>,
        worlds: &Worlds,
        batch: usize,
        condition: &Condition,
    ) {
        // Loads and filters of one slot follow each other.
        let mut last: Option<(usize, Drawn)> = None;
        for p in parts {
            into.y[p] = match &self.parts[p] {
                Part::Load { slot } | Part::Filter { slot, .. } => {
                    let drawn = match last {
                        Some((at, drawn)) if at == *slot => drawn,
                        _ => self.drawn(&self.slots[*slot], worlds, batch, condition),
                    };
                    last = Some((*slot, drawn));
                    match &self.parts[p] {
                        Part::Filter { side, .. } => drawn.filter[*side],
                        _ => drawn.load,
                    }
                }
                part => self.admittance(part, worlds, batch, condition),
            };
        }
    }

    /// By unknown: the parts (places in [`Wiring::parts`]) whose admittance it moves.
    #[must_use]
    pub fn moved_by(&self) -> Vec<Vec<usize>> {
        let mut out = vec![Vec::new(); self.dims];
        for (p, part) in self.parts.iter().enumerate() {
            match part {
                Part::Source { dim, .. }
                | Part::Resistor { dim, .. }
                | Part::Breaker { dim, .. }
                | Part::Switched { dim, .. }
                | Part::Rest { dim, .. } => out[*dim].push(p),
                Part::Conductor { length, joint, .. } => {
                    out[length.dim].push(p);
                    out[*joint].push(p);
                }
                Part::CableCapacitance { dim, halves, .. } => {
                    out[*dim].push(p);
                    for length in halves.iter().flatten() {
                        out[length.dim].push(p);
                    }
                }
                Part::Load { slot } | Part::Filter { slot, .. } => {
                    let slot = &self.slots[*slot];
                    for dim in slot.dims() {
                        out[dim].push(p);
                    }
                }
                Part::Fixed { .. } => {}
            }
        }
        out
    }

    /// By unknown: whether it decides between states of a load.
    #[must_use]
    pub fn decides(&self) -> Vec<bool> {
        let mut out = vec![false; self.dims];
        for slot in &self.slots {
            for dim in [slot.plugged, slot.on, slot.electronic] {
                out[dim] = true;
            }
        }
        out
    }

    fn admittance(&self, part: &Part, worlds: &Worlds, batch: usize, condition: &Condition) -> Cx8 {
        let at = |guess: &Guess, dim: Dim| guess.in_lanes(&worlds.scores(dim, batch));
        match part {
            Part::Source { leg, dim } => {
                let scale = (self.site.service.system.legs[*leg].volts.si() / 120.0).max(0.1);
                // The same unknown moves impedance and voltage; the latter by parts in a thousand only.
                let ohms = guess::SOURCE.in_lanes(&worlds.scores(*dim, batch).map(|z| -z));
                in_series(
                    &ohms.map(|r| r * scale),
                    &ohms.map(|r| r * scale * guess::SOURCE_X_OVER_R),
                )
            }
            Part::Conductor {
                cable,
                length,
                joint,
                joints,
            } => {
                let metres = at(&length.guess, length.dim);
                let mut ohms = at(&guess::JOINT, *joint);
                let r = cable.resistance_per_metre();
                let x = cable.reactance_per_metre(metrology::Hertz::from_si(
                    self.omega / core::f64::consts::TAU,
                ));
                for k in 0..8 {
                    ohms[k] = r * metres[k] + joints * ohms[k];
                }
                in_series(&ohms, &metres.map(|m| x * m))
            }
            Part::Resistor { guess, dim } => real(at(guess, *dim).map(|r| 1.0 / r)),
            Part::Breaker { circuit, dim } => {
                match condition.breakers.contains(&(*circuit, SwitchState::Open)) {
                    true => OPEN.into(),
                    false => real(at(&guess::BREAKER, *dim).map(|r| 1.0 / r)),
                }
            }
            Part::Switched { outlet, dim } => {
                match condition.switches.contains(&(*outlet, SwitchState::Open)) {
                    true => OPEN.into(),
                    false => real(at(&guess::CONTACT, *dim).map(|r| 1.0 / r)),
                }
            }
            Part::Fixed { ohms } => (1.0 / ohms).into(),
            Part::CableCapacitance { guess, dim, halves } => {
                let farads = at(guess, *dim);
                let mut metres = [0.0; 8];
                for length in halves.iter().flatten() {
                    let run = at(&length.guess, length.dim);
                    for k in 0..8 {
                        metres[k] += 0.5 * run[k];
                    }
                }
                let mut y = Cx8::from(1e-12);
                for k in 0..8 {
                    y.im[k] = self.omega * farads[k] * metres[k].max(0.2);
                }
                y
            }
            Part::Rest { guess, dim, volts } => {
                real(at(guess, *dim).map(|watts| watts / (volts * volts)))
            }
            Part::Load { .. } | Part::Filter { .. } => Cx8::ZERO, // drawn by the slot
        }
    }

    fn drawn(&self, slot: &Slot, worlds: &Worlds, batch: usize, condition: &Condition) -> Drawn {
        let known = self.known(slot, condition);
        let levels = |dim| worlds.levels(dim, batch);
        let scores = |dim| worlds.scores(dim, batch);
        let (plugged, on, electronic) = (
            levels(slot.plugged),
            levels(slot.on),
            levels(slot.electronic),
        );
        let power = scores(slot.power);
        let zx = scores(slot.filter_x);
        let x_capacitor = guess::X_CAPACITOR.in_lanes(&zx);
        let (zy, uneven) = (scores(slot.filter_y), scores(slot.uneven));
        // The two sides are alike, not equal: one has more than the other by the factor of one unknown.
        let tilted = |guess: &Guess, z: &Lanes, by: f64| {
            guess.in_lanes(&core::array::from_fn(|k| z[k] + by * uneven[k]))
        };
        let y_capacitor = [1.0, -1.0].map(|side| tilted(&guess::Y_CAPACITOR, &zy, UNEVEN * side));
        let stray = [1.0, -1.0].map(|side| tilted(&guess::CONTACT_CAPACITANCE, &[0.0; 8], side));
        let insulation = guess::CONTACT_INSULATION.in_lanes(&scores(slot.insulation));
        let hidden_watts = guess::HIDDEN_LOAD.in_lanes(&power);
        let told_doubt = lanes::exp(power.map(|z| guess::TOLD_POWER_LOG_SIGMA * z));
        let v2 = slot.volts * slot.volts;
        let mut out = Drawn {
            load: Cx8::ZERO,
            filter: [Cx8::ZERO; 2],
        };
        let test: f64 = match condition.test_load {
            Some((at, watts)) if at == slot.outlet => watts.si(),
            _ => 0.0,
        };
        let idle = electronic.map(|u| u / guess::HIDDEN_ELECTRONIC % 1.0 < guess::IDLE);
        for k in 0..8 {
            let mut load = Complex64::new(1.0 / insulation[k], 0.0);
            let mut filter = [0, 1].map(|side| Complex64::new(1e-12, self.omega * stray[side][k]));
            let mut hang =
                |watts: f64, factor: f64, is_on: bool, has_filter: bool, leak: Option<f64>| {
                    let draws = is_on && !(has_filter && idle[k]);
                    if draws {
                        let real = watts / v2;
                        let tan = (1.0 / (factor * factor) - 1.0).max(0.0).sqrt();
                        load += Complex64::new(real, -real * tan);
                    } else {
                        load += Complex64::new(1.0 / guess::OFF_LEAK, 0.0);
                    }
                    if has_filter {
                        load += Complex64::new(0.0, self.omega * x_capacitor[k]);
                        for side in 0..2 {
                            let c = match leak {
                                Some(amps) => amps / slot.volts / self.omega,
                                None => y_capacitor[side][k],
                            };
                            filter[side] += Complex64::new(0.0, self.omega * c);
                        }
                    }
                };
            let state = |told: Option<Running>, level: f64| match (told, known) {
                (Some(state), _) | (None, Known::All(state)) => state,
                (None, Known::Nothing) if level < guess::HIDDEN_ON => Running::On,
                (None, Known::Nothing) => Running::Off,
            };
            for (i, ix) in slot.told.iter().enumerate() {
                let l = &self.site.loads[ix.0];
                let named = condition
                    .named
                    .iter()
                    .find(|(which, _)| which == ix)
                    .map(|(_, state)| *state);
                let state = state(named, (on[k] + TURN * i as f64).fract());
                if state != Running::Unplugged {
                    let factor = l.power_factor.si().clamp(0.1, 1.0);
                    let leak = l.leakage.map(|a| a.si());
                    hang(
                        l.power.si() * told_doubt[k],
                        factor,
                        state == Running::On,
                        is_electronic(l.kind) || leak.is_some(),
                        leak,
                    );
                }
            }
            let is_there = match known {
                Known::Nothing => plugged[k] < slot.hidden(),
                Known::All(Running::Unplugged) => false,
                Known::All(_) => slot.told.is_empty() || plugged[k] < slot.hidden(),
            };
            if is_there {
                let state = state(None, on[k]);
                hang(
                    hidden_watts[k].min(12.0 * slot.volts),
                    0.95,
                    state == Running::On,
                    electronic[k] < guess::HIDDEN_ELECTRONIC,
                    None,
                );
            }
            if test > 0.0 {
                hang(test * (1.0 + 0.03 * zx[k]), 1.0, true, false, None);
            }
            out.load.set_lane(k, load);
            for side in 0..2 {
                out.filter[side].set_lane(k, filter[side]);
            }
        }
        out
    }

    fn known(&self, slot: &Slot, condition: &Condition) -> Known {
        let circuit = self.site.outlets[slot.outlet.0].circuit;
        let rank = |scope: &LoadScope| match scope {
            LoadScope::Outlet(o) if *o == slot.outlet => Some(2),
            LoadScope::Circuit(c) if *c == circuit => Some(1),
            LoadScope::Site => Some(0),
            _ => None,
        };
        let best = condition
            .loads
            .iter()
            .filter_map(|l| rank(&l.scope).map(|r| (r, l.state)))
            .max_by_key(|(r, _)| *r);
        best.map_or(Known::Nothing, |(_, state)| Known::All(state))
    }
}

impl Slot {
    /// Chance that something more is plugged in: where loads were told, something that nobody told is less likely.
    fn hidden(&self) -> f64 {
        match self.told.is_empty() {
            true => guess::HIDDEN_PLUGGED,
            false => 0.3 * guess::HIDDEN_PLUGGED,
        }
    }

    fn dims(&self) -> [Dim; 8] {
        [
            self.plugged,
            self.on,
            self.power,
            self.electronic,
            self.filter_x,
            self.filter_y,
            self.uneven,
            self.insulation,
        ]
    }
}

fn real(y: Lanes) -> Cx8 {
    Cx8 {
        re: y,
        im: [0.0; 8],
    }
}

/// `1 / (r + jx)`.
fn in_series(r: &Lanes, x: &Lanes) -> Cx8 {
    Cx8 { re: *r, im: *x }.recip()
}
