//! What is known of an outlet whose contacts stand at potentials that no fault we know gives them.
//!
//! They are consistent with themselves: a pair read again reads again the same, the third pair of three closes the triangle
//! of the other two, a test load leaves what it finds or takes a part of it, a low-impedance input finds the same or less,
//! and lamps light where enough was read. Densities are per volt; the shares are judgement.

use site::model::OutletIx;
use site::visit::{Input, Lamp, Pin};

use crate::checks::{Check, CheckKind, Under};
use crate::claims::lamp;
use crate::forecast::{class_bounds, class_lamps};
use crate::likelihood::broad;
use crate::seeing::Seeing;
use crate::study::{Claim, Study, Witness};
use crate::unknown::anyhow;

/// Standard deviation of what the same pair reads again, fraction of nominal and of the reading: loads come and go.
const AGAIN: (f64, f64) = (0.004, 0.02);
/// Admittance from which an input is a low-impedance one, siemens.
const LOW: f64 = 1e-4;
/// Points in a class of voltages at which its density is taken, and where the last class is cut, over nominal.
const STEPS: usize = 8;
const MOST: f64 = 2.5;

/// Everything told at one outlet, if the contacts stand at unknown potentials there: what is known of them by that, and
/// its log density.
pub(crate) fn at_outlet(study: &Study<'_>, outlet: OutletIx) -> (Known, f64) {
    let mut known = Known {
        nominal: study.nominal,
        plain: [None; 3],
    };
    let here = || study.witnesses.iter().filter(|w| w.outlet == Some(outlet));
    let is_plain = |w: &&Witness| {
        let condition = &study.conditions[w.condition];
        condition.test_load.is_none()
            && condition.switches.is_empty()
            && matches!(w.seeing, Seeing::Volts { y, .. } if y.re < LOW)
    };
    let plain = here().filter(is_plain);
    let others = here().filter(|w| !is_plain(w));
    let ln = plain.chain(others).map(|w| known.hear(study, w)).sum();
    (known, ln)
}

/// How a pair was read.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Taken {
    Plain,
    Loaded,
    Low,
    SwitchedOn,
}

/// What was read at an outlet so far: line-neutral, line-earth, neutral-earth, as it stands.
pub(crate) struct Known {
    nominal: f64,
    plain: [Option<f64>; 3],
}

/// The number of a pair of contacts in line-neutral, line-earth, neutral-earth.
fn pair((a, b): (Pin, Pin)) -> usize {
    match (a, b) {
        (Pin::Line, Pin::Neutral) | (Pin::Neutral, Pin::Line) => 0,
        (Pin::Line, Pin::Earth) | (Pin::Earth, Pin::Line) => 1,
        _ => 2,
    }
}

impl Known {
    /// Log density of one witness, given those before.
    fn hear(&mut self, study: &Study<'_>, w: &Witness) -> f64 {
        match (&w.claim, w.pins) {
            (Claim::Volts(r), Some(pins)) => {
                let told = &study.readings.told[*r];
                let condition = &study.conditions[w.condition];
                let low = matches!(w.seeing, Seeing::Volts { y, .. } if y.re >= LOW);
                let taken = if condition.test_load.is_some() {
                    Taken::Loaded
                } else if !condition.switches.is_empty() {
                    Taken::SwitchedOn
                } else if low {
                    Taken::Low
                } else {
                    Taken::Plain
                };
                let density = self.density(pins, taken, told.value, told.variance);
                let plain = &mut self.plain[pair(pins)];
                if taken == Taken::Plain && plain.is_none() {
                    *plain = Some(told.value);
                }
                density.max(1e-300).ln()
            }
            (Claim::Lamps(told), _) => self.lamps(told),
            _ => anyhow(study, w),
        }
    }

    /// Density of volts between two contacts, of a variance by themselves.
    fn density(&self, pins: (Pin, Pin), taken: Taken, x: f64, variance: f64) -> f64 {
        let p = pair(pins);
        let spread = variance + (AGAIN.0 * self.nominal).powi(2);
        let near = |to: f64| {
            let sigma = (spread + (AGAIN.1 * to).powi(2)).sqrt();
            (-0.5 * ((x - to) / sigma).powi(2)).exp() / (sigma * core::f64::consts::TAU.sqrt())
        };
        let within = |low: f64, high: f64| {
            let slack = 3.0 * spread.sqrt();
            let inside = (low - slack..=high + slack).contains(&x);
            f64::from(u8::from(inside)) / (high - low + 2.0 * slack)
        };
        let broad = broad(x, self.nominal);
        let [one, other] = self.others(p);
        match (self.plain[p], one, other) {
            // What the switch feeds may be anything.
            _ if taken == Taken::SwitchedOn => broad,
            (Some(before), ..) if taken == Taken::Loaded => {
                0.4 * within(0.9 * before, before) + 0.4 * within(0.0, before) + 0.2 * broad
            }
            (Some(before), ..) if taken == Taken::Low => {
                0.5 * near(before) + 0.4 * within(0.0, before) + 0.1 * broad
            }
            (Some(before), ..) => 0.9 * near(before) + 0.1 * broad,
            (None, Some(a), Some(b)) => {
                let (least, most) = ((a - b).abs(), a + b);
                let triangle = 0.35 * near(least) + 0.15 * near(most) + 0.4 * within(least, most);
                triangle + 0.1 * broad
            }
            // The third contact stands with one of the two.
            (None, Some(a), None) | (None, None, Some(a)) => {
                0.3 * near(a) + 0.1 * near(0.0) + 0.6 * broad
            }
            (None, None, None) => broad,
        }
    }

    /// How likely one class of a check's results is, up to a factor for the check.
    pub fn shows(&self, check: &Check, class: usize) -> f64 {
        match check.kind {
            CheckKind::Volts {
                from,
                to,
                under,
                input,
            } => {
                let taken = match (under, input) {
                    (Under::TestLoad, _) => Taken::Loaded,
                    (Under::SwitchedOn, _) => Taken::SwitchedOn,
                    (_, Input::LowImpedance) => Taken::Low,
                    _ => Taken::Plain,
                };
                let (low, high) = class_bounds(class);
                let width = (high.min(MOST) - low) * self.nominal;
                let at = |i: usize| low * self.nominal + width * (i as f64 + 0.5) / STEPS as f64;
                let density = |i| self.density((from.1, to.1), taken, at(i), 0.0);
                (0..STEPS).map(density).sum::<f64>() * width
            }
            CheckKind::Lamps(_) => self.lamps(&class_lamps(class)).exp(),
            CheckKind::Detector(..) | CheckKind::Breaker(_) | CheckKind::Switch(_) => 1.0,
        }
    }

    fn others(&self, p: usize) -> [Option<f64>; 2] {
        [1, 2].map(|k| self.plain[(p + k) % 3])
    }

    /// Lamps of which a pair was read light accordingly in four cases of five, where the contact carries them.
    fn lamps(&self, told: &[Lamp; 3]) -> f64 {
        let each = told
            .iter()
            .zip(&self.plain)
            .map(|(told, volts)| match volts {
                Some(v) => 0.8 * lamp(*told, *v, self.nominal) + 0.2 * 0.4,
                None => 1.0 / 3.0,
            });
        each.product::<f64>().ln()
    }
}
