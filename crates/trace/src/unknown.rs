//! How well something outside the catalogue goes with what was told.
//!
//! Two ways to be unknown, half of its prior each. Anything: `P(all) = Π b(t_i)`, every reading anywhere by itself
//! (`likelihood::broad`). Something at one outlet X: its three contacts stand at potentials that no fault we know gives
//! them, and are consistent with themselves, while the rest of the site is sound:
//! `P(all) = 1/n Σ_X P(rest | nothing wrong) Π_i P(t_i | those told before it at X)`.
//! There a pair read again reads again the same, the third pair of three closes the triangle of the other two, a test
//! load leaves what it finds or takes a part of it, a low-impedance input finds the same or less, and lamps light where
//! enough was read. The shares are judgement.

use site::model::OutletIx;
use site::visit::{Lamp, Pin};

use crate::causes::Cause;
use crate::claims::lamp;
use crate::engine::{Care, Further, weigh};
use crate::likelihood::{Slips, ln_add};
use crate::look::Looked;
use crate::seeing::{Lanes, Seeing};
use crate::study::{Claim, Study, Witness};

/// Prior weight of a cause outside the catalogue, relative to "nothing wrong". Judgement.
const PRIOR: f64 = 1.5e-2;
/// Worlds in which the rest of the site is sound.
const WORLDS: usize = 128;
/// Standard deviation of what the same pair reads again, fraction of nominal and of the reading: loads come and go.
const AGAIN: (f64, f64) = (0.004, 0.02);
/// Admittance from which an input is a low-impedance one, siemens.
const LOW: f64 = 1e-4;

/// Log weight of something outside the catalogue.
pub(crate) fn ln_weight(study: &Study<'_>) -> f64 {
    let anything = study
        .witnesses
        .iter()
        .map(|w| anyhow(study, w))
        .sum::<f64>();
    let half = (0.5 * PRIOR).ln();
    let mut outlets: Vec<OutletIx> = study.witnesses.iter().filter_map(|w| w.outlet).collect();
    outlets.sort_unstable();
    outlets.dedup();
    let share = half - (outlets.len().max(1) as f64).ln();
    let rest = Rest::of(study);
    outlets.iter().fold(half + anything, |sum, o| {
        ln_add(sum, share + at_outlet(study, *o) + rest.without(study, *o))
    })
}

/// A witness where anything may be.
fn anyhow(study: &Study<'_>, w: &Witness) -> f64 {
    match &w.claim {
        Claim::Volts(r) => study.readings.told[*r].ln_slip,
        Claim::Lamps(_) => (1.0f64 / 16.0).ln(),
        Claim::Detector(_) | Claim::Works(_) => 0.5f64.ln(),
        Claim::Felt | Claim::FaultLight | Claim::CableSparks => 0.02f64.ln(),
        Claim::Frequency(..) => 0.05f64.ln(),
        Claim::Sign(kind, at) => study.sign(*kind, *at, &Cause::none()).max(0.03).ln(),
        Claim::Reach(_) => 0.08f64.ln(),
        Claim::BreakerClosed(_) | Claim::SwitchOn(_) => 0.0,
    }
}

/// Everything told at one outlet, if the contacts stand at unknown potentials there.
fn at_outlet(study: &Study<'_>, outlet: OutletIx) -> f64 {
    let mut known = Known {
        nominal: study.nominal,
        plain: [None; 3],
    };
    let here = || study.witnesses.iter().filter(|w| w.outlet == Some(outlet));
    let is_plain = |w: &&Witness| {
        study.conditions[w.condition].test_load.is_none()
            && matches!(w.seeing, Seeing::Volts { y, .. } if y.re < LOW)
    };
    let plain = here().filter(is_plain);
    let others = here().filter(|w| !is_plain(w));
    plain.chain(others).map(|w| known.hear(study, w)).sum()
}

/// What was read at an outlet so far: line-neutral, line-earth, neutral-earth, as it stands.
struct Known {
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
                let (p, x) = (pair(pins), told.value);
                let loaded = study.conditions[w.condition].test_load.is_some();
                let low = matches!(w.seeing, Seeing::Volts { y, .. } if y.re >= LOW);
                let spread = told.variance + (AGAIN.0 * self.nominal).powi(2);
                let near = |to: f64| {
                    let sigma = (spread + (AGAIN.1 * to).powi(2)).sqrt();
                    (-0.5 * ((x - to) / sigma).powi(2)).exp()
                        / (sigma * core::f64::consts::TAU.sqrt())
                };
                let within = |low: f64, high: f64| {
                    let slack = 3.0 * spread.sqrt();
                    let inside = (low - slack..=high + slack).contains(&x);
                    f64::from(u8::from(inside)) / (high - low + 2.0 * slack)
                };
                let broad = told.ln_slip.exp();
                let [one, other] = self.others(p);
                let density = match (self.plain[p], one, other) {
                    (Some(before), ..) if loaded => {
                        0.4 * within(0.9 * before, before) + 0.4 * within(0.0, before) + 0.2 * broad
                    }
                    (Some(before), ..) if low => {
                        0.5 * near(before) + 0.4 * within(0.0, before) + 0.1 * broad
                    }
                    (Some(before), ..) => 0.9 * near(before) + 0.1 * broad,
                    (None, Some(a), Some(b)) => {
                        let (least, most) = ((a - b).abs(), a + b);
                        let triangle =
                            0.35 * near(least) + 0.15 * near(most) + 0.4 * within(least, most);
                        triangle + 0.1 * broad
                    }
                    // The third contact stands with one of the two.
                    (None, Some(a), None) | (None, None, Some(a)) => {
                        0.3 * near(a) + 0.1 * near(0.0) + 0.6 * broad
                    }
                    (None, None, None) => broad,
                };
                if !loaded && !low && self.plain[p].is_none() {
                    self.plain[p] = Some(x);
                }
                density.max(1e-300).ln()
            }
            (Claim::Lamps(told), _) => self.lamps(told),
            _ => anyhow(study, w),
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

/// Nothing wrong in a few worlds: what each witness sees there.
struct Rest {
    /// By world: told voltages, and by witness the log probability of what was told.
    worlds: Vec<(Vec<f64>, Vec<f64>)>,
}

impl Rest {
    fn of(study: &Study<'_>) -> Self {
        let none = [Cause::none()];
        let further: Vec<Further> = study
            .witnesses
            .iter()
            .map(|w| Further {
                condition: w.condition,
                seeing: w.seeing.clone(),
            })
            .collect();
        let care = Care {
            worlds: WORLDS,
            smoothing: 0.0,
            slips: Slips::Worst,
            seed: study.question.seed ^ 0x0BAD,
        };
        let weighed = weigh(study, &none, &further, care);
        let mut worlds = Vec::new();
        for batch in 0..weighed.worlds.batches() {
            for k in 0..8 {
                let (mut volts, mut ln) = (vec![0.0; study.readings.told.len()], Vec::new());
                let mut number = 0;
                for w in &study.witnesses {
                    let n = w.seeing.len();
                    let seen: Vec<Lanes> = (0..n)
                        .map(|i| *weighed.number(batch, 0, number + i))
                        .collect();
                    number += n;
                    if let Claim::Volts(r) = w.claim {
                        volts[r] = seen[0][k];
                    }
                    ln.push(study.ln_told(
                        &w.claim,
                        &seen,
                        k,
                        &none[0],
                        &[[0.0; 8]; 2],
                        w.condition,
                    ));
                }
                worlds.push((volts, ln));
            }
        }
        Rest { worlds }
    }

    /// Log of the mean probability of all that was told elsewhere than at an outlet.
    fn without(&self, study: &Study<'_>, outlet: OutletIx) -> f64 {
        let elsewhere = |w: &&Witness| w.outlet != Some(outlet);
        let kept: Vec<usize> = study
            .witnesses
            .iter()
            .filter(elsewhere)
            .filter_map(|w| match w.claim {
                Claim::Volts(r) => Some(r),
                _ => None,
            })
            .collect();
        let readings = study.readings.only(&kept);
        let mut looked = Looked::default();
        let mut sum = f64::NEG_INFINITY;
        for eight in self.worlds.chunks_exact(8) {
            looked.volts = kept
                .iter()
                .map(|r| core::array::from_fn(|k| eight[k].0[*r]))
                .collect();
            looked.widen = vec![0.0; kept.len()];
            looked.ln = core::array::from_fn(|k| {
                let told = study.witnesses.iter().zip(&eight[k].1);
                told.filter(|(w, _)| elsewhere(w)).map(|(_, ln)| ln).sum()
            });
            let ln = looked.ln_likelihood(&readings, Slips::Worst);
            sum = ln.iter().fold(sum, |sum, ln| ln_add(sum, *ln));
        }
        sum - (self.worlds.len() as f64).ln()
    }
}
