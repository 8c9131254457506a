//! Eight sampled worlds at a time, under a condition, as admittances and EMFs.
//!
//! Loads are linear here: `y = P / |V|²` at nominal voltage, lagging by the power factor. An electronic load brings its
//! filter: a capacitor across line and neutral and one from each to earth. Loads that cut out at low voltage are left
//! in: behind an open conductor the filter alone already ties the two contacts together.

use network::{Batch, Cx8};
use num_complex::Complex64;
use site::visit::{Condition, LoadScope, Running, SwitchState};

use crate::guess;
use crate::wiring::{Length, Part, Slot, Wiring, is_electronic};
use crate::worlds::Worlds;

/// Admittance across an open breaker or switch, siemens.
const OPEN: f64 = 1e-11;

/// What one outlet's slot draws in eight worlds.
#[derive(Clone, Copy)]
struct Drawn {
    load: [Complex64; 8],
    filter: [Complex64; 8],
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
        let slots: Vec<Drawn> = self
            .slots
            .iter()
            .map(|s| self.drawn(s, worlds, batch, condition))
            .collect();
        let n = self.parts.len();
        let mut y = Vec::with_capacity(n);
        let mut emf = Vec::with_capacity(n);
        for part in &self.parts {
            let mut e = Cx8::splat(Complex64::new(0.0, 0.0));
            y.push(self.admittance(part, worlds, batch, &slots, condition));
            if let Part::Source { leg, dim } = part {
                let leg = &self.site.service.system.legs[*leg];
                for (k, z) in worlds.scores(*dim, batch).into_iter().enumerate() {
                    let volts = leg.volts.si() * (1.0 + guess::LEG_VOLTS * z);
                    e.set_lane(k, Complex64::from_polar(volts, leg.angle));
                }
            }
            emf.push(e);
        }
        Batch { y, emf }
    }

    fn admittance(
        &self,
        part: &Part,
        worlds: &Worlds,
        batch: usize,
        slots: &[Drawn],
        condition: &Condition,
    ) -> Cx8 {
        let each = |f: &dyn Fn(usize) -> Complex64| {
            let mut out = Cx8::splat(Complex64::new(0.0, 0.0));
            for k in 0..8 {
                out.set_lane(k, f(k));
            }
            out
        };
        match part {
            Part::Source { leg, dim } => {
                let z = worlds.scores(*dim, batch);
                let scale = (self.site.service.system.legs[*leg].volts.si() / 120.0).max(0.1);
                each(&|k| {
                    // The same unknown moves impedance and voltage; the latter by parts in a thousand only.
                    let r = guess::SOURCE.at(-z[k]) * scale;
                    Complex64::new(1.0, 0.0) / Complex64::new(r, r * guess::SOURCE_X_OVER_R)
                })
            }
            Part::Conductor {
                cable,
                length,
                joint,
                joints,
            } => {
                let (metres, z) = (
                    self.metres(length, worlds, batch),
                    worlds.scores(*joint, batch),
                );
                let r = cable.resistance_per_metre();
                let x = cable.reactance_per_metre(metrology::Hertz::from_si(
                    self.omega / core::f64::consts::TAU,
                ));
                each(&|k| {
                    let ohms = r * metres[k] + joints * guess::JOINT.at(z[k]);
                    Complex64::new(1.0, 0.0) / Complex64::new(ohms, x * metres[k])
                })
            }
            Part::Resistor { guess, dim } => {
                let z = worlds.scores(*dim, batch);
                each(&|k| Complex64::new(1.0 / guess.at(z[k]), 0.0))
            }
            Part::Breaker { circuit, dim } => {
                let is_open = condition.breakers.contains(&(*circuit, SwitchState::Open));
                Self::contacts(guess::BREAKER, is_open, worlds.scores(*dim, batch))
            }
            Part::Switched { outlet, dim } => {
                let is_open = condition.switches.contains(&(*outlet, SwitchState::Open));
                Self::contacts(guess::CONTACT, is_open, worlds.scores(*dim, batch))
            }
            Part::Fixed { ohms } => Cx8::splat(Complex64::new(1.0 / ohms, 0.0)),
            Part::CableCapacitance { guess, dim, halves } => {
                let z = worlds.scores(*dim, batch);
                let mut metres = [0.0; 8];
                for length in halves.iter().flatten() {
                    for (sum, m) in metres.iter_mut().zip(self.metres(length, worlds, batch)) {
                        *sum += 0.5 * m;
                    }
                }
                each(&|k| Complex64::new(1e-12, self.omega * guess.at(z[k]) * metres[k].max(0.2)))
            }
            Part::Load { slot } => each(&|k| slots[*slot].load[k]),
            Part::Filter { slot } => each(&|k| slots[*slot].filter[k]),
            Part::Rest { guess, dim, volts } => {
                let z = worlds.scores(*dim, batch);
                each(&|k| Complex64::new(guess.at(z[k]) / (volts * volts), 0.0))
            }
        }
    }

    /// Contacts of a device, closed or open.
    fn contacts(guess: guess::Guess, is_open: bool, z: [f64; 8]) -> Cx8 {
        Cx8::from_lanes(|k| match is_open {
            true => OPEN.into(),
            false => (1.0 / guess.at(z[k])).into(),
        })
    }

    fn metres(&self, length: &Length, worlds: &Worlds, batch: usize) -> [f64; 8] {
        worlds.scores(length.dim, batch).map(|z| length.guess.at(z))
    }

    fn drawn(&self, slot: &Slot, worlds: &Worlds, batch: usize, condition: &Condition) -> Drawn {
        let known = self.known(slot, condition);
        let levels = |dim| worlds.levels(dim, batch);
        let (plugged, on, electronic) = (
            levels(slot.plugged),
            levels(slot.on),
            levels(slot.electronic),
        );
        let power = worlds.scores(slot.power, batch);
        let (zx, zy) = (
            worlds.scores(slot.filter_x, batch),
            worlds.scores(slot.filter_y, batch),
        );
        let v2 = slot.volts * slot.volts;
        let mut out = Drawn {
            load: [Complex64::new(1e-10, 0.0); 8],
            filter: [Complex64::new(1e-12, self.omega * 2e-12); 8],
        };
        let test: f64 = match condition.test_load {
            Some((at, watts)) if at == slot.outlet => watts.si(),
            _ => 0.0,
        };
        // Where loads were told, something more that nobody told is less likely.
        let hidden = if slot.told.is_empty() {
            guess::HIDDEN_PLUGGED
        } else {
            0.3 * guess::HIDDEN_PLUGGED
        };
        for k in 0..8 {
            let mut load = Complex64::new(1e-10, 0.0);
            let mut filter = Complex64::new(1e-12, self.omega * 2e-12);
            let mut hang =
                |watts: f64, factor: f64, is_on: bool, has_filter: bool, leak: Option<f64>| {
                    if is_on {
                        let real = watts / v2;
                        let tan = (1.0 / (factor * factor) - 1.0).max(0.0).sqrt();
                        load += Complex64::new(real, -real * tan);
                    } else {
                        load += Complex64::new(1.0 / guess::OFF_LEAK, 0.0);
                    }
                    if has_filter {
                        load += Complex64::new(0.0, self.omega * guess::X_CAPACITOR.at(zx[k]));
                        let c = match leak {
                            Some(amps) => amps / slot.volts / self.omega,
                            None => guess::Y_CAPACITOR.at(zy[k]),
                        };
                        filter += Complex64::new(0.0, self.omega * c);
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
                let state = state(named, (on[k] + 0.382 * i as f64).fract());
                if state != Running::Unplugged {
                    let watts = l.power.si() * (guess::TOLD_POWER_LOG_SIGMA * power[k]).exp();
                    let factor = l.power_factor.si().clamp(0.1, 1.0);
                    let leak = l.leakage.map(|a| a.si());
                    hang(
                        watts,
                        factor,
                        state == Running::On,
                        is_electronic(l.kind) || leak.is_some(),
                        leak,
                    );
                }
            }
            let is_there = match known {
                Known::Nothing => plugged[k] < hidden,
                Known::All(Running::Unplugged) => false,
                Known::All(_) => slot.told.is_empty() || plugged[k] < hidden,
            };
            if is_there {
                let state = state(None, on[k]);
                let watts = guess::HIDDEN_LOAD.at(power[k]).min(12.0 * slot.volts);
                hang(
                    watts,
                    0.95,
                    state == Running::On,
                    electronic[k] < guess::HIDDEN_ELECTRONIC,
                    None,
                );
            }
            if test > 0.0 {
                hang(test * (1.0 + 0.03 * zx[k]), 1.0, true, false, None);
            }
            out.load[k] = load;
            out.filter[k] = filter;
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
