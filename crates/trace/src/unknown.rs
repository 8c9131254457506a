//! How well something outside the catalogue goes with what was told.
//!
//! Three ways to be unknown, a third of its prior each. Anything: `P(all) = Π b(t_i)`, every reading anywhere by itself
//! (`likelihood::broad`). Scattered: the wave is no sine or the meter is out of order, so that every reading is a share of
//! its own of what a sound site shows, `P(all) = P(signs | nothing wrong) Π_i P(t_i | x_i)`. Something at one outlet X: its
//! three contacts stand at potentials that no fault we know gives them, and are consistent with themselves, while the rest
//! of the site is sound: `P(all) = 1/n Σ_X P(rest | nothing wrong) Π_i P(t_i | those told before it at X)` (`known`).

use site::model::OutletIx;

use crate::causes::{CALLED, Cause};
use crate::checks::CheckKind;
use crate::engine::{Care, Further, weigh};
use crate::forecast::Classes;
use crate::known::at_outlet;
use crate::likelihood::{Slips, broad, ln_add};
use crate::look::Looked;
use crate::seeing::Lanes;
use crate::study::{Claim, Study, Witness};

/// Prior weight of a cause outside the catalogue, relative to "nothing wrong", at large as the prevalences are. Judgement.
const PRIOR: f64 = 1.5e-2;
/// Worlds in which the rest of the site is sound.
const WORLDS: usize = 128;
/// Where readings are scattered: the least and the largest share of what is shown. Judgement.
const SCATTERED: (f64, f64) = (0.2, 1.8);

/// Something outside the catalogue: its log weight, and which of the ways to be unknown it is.
#[derive(Clone, Debug)]
pub(crate) struct Unknown {
    pub ln_weight: f64,
    /// Log weight of each way.
    ways: Vec<(Way, f64)>,
}

/// A way to be unknown.
#[derive(Clone, Copy, Debug)]
enum Way {
    Anything,
    Scattered,
    At(OutletIx),
}

impl Unknown {
    /// Weighs it by what was told.
    pub fn of(study: &Study<'_>) -> Self {
        let told = study.witnesses.iter();
        let anything = told.clone().map(|w| anyhow(study, w)).sum::<f64>();
        let each = (CALLED * PRIOR / 3.0).ln();
        let mut outlets: Vec<OutletIx> = told.filter_map(|w| w.outlet).collect();
        outlets.sort_unstable();
        outlets.dedup();
        let share = each - (outlets.len().max(1) as f64).ln();
        let rest = Rest::of(study);
        let mut ways = vec![
            (Way::Anything, each + anything),
            (Way::Scattered, each + rest.scattered(study)),
        ];
        ways.extend(outlets.into_iter().map(|o| {
            let (_, here) = at_outlet(study, o);
            (Way::At(o), share + here + rest.without(study, o))
        }));
        let sum = |sum, way: &(_, f64)| ln_add(sum, way.1);
        Unknown {
            ln_weight: ways.iter().fold(f64::NEG_INFINITY, sum),
            ways,
        }
    }

    /// Its log evidence: the weight without the prior.
    pub fn ln_evidence(&self) -> f64 {
        self.ln_weight - (CALLED * PRIOR).ln()
    }

    /// What each check of a study would show: where it is unknown whatever is consistent with what was told there, else
    /// what a sound site shows.
    pub fn forecast(&self, study: &Study<'_>, sound: &Classes) -> Classes {
        let mut out: Classes = sound.iter().map(|c| vec![0.0; c.len()]).collect();
        for (way, ln) in &self.ways {
            let share = (ln - self.ln_weight).exp();
            let known = match way {
                Way::At(o) => Some(at_outlet(study, *o).0),
                _ => None,
            };
            for ((check, sound), out) in study.checks.iter().zip(sound).zip(&mut out) {
                let is_volts = matches!(check.kind, CheckKind::Volts { .. });
                let shown: Vec<f64> = match (way, &known) {
                    (Way::At(o), Some(known)) if study.is_near(check.kind, &[*o]) => (0..sound
                        .len())
                        .map(|class| known.shows(check, class))
                        .collect(),
                    (Way::At(_), _) => sound.clone(),
                    (Way::Scattered, _) if !is_volts => sound.clone(),
                    _ => vec![1.0; sound.len()],
                };
                let total: f64 = shown.iter().sum();
                for (out, p) in out.iter_mut().zip(shown) {
                    *out += share * p / total;
                }
            }
        }
        out
    }
}

/// A witness where anything may be.
pub(crate) fn anyhow(study: &Study<'_>, w: &Witness) -> f64 {
    match &w.claim {
        Claim::Volts(r) => broad(study.readings.told[*r].value, study.nominal).ln(),
        Claim::Lamps(_) => (1.0f64 / 16.0).ln(),
        Claim::Detector(_) | Claim::Works(_) => 0.5f64.ln(),
        Claim::Felt | Claim::FaultLight | Claim::CableSparks => 0.02f64.ln(),
        Claim::Frequency(..) => 0.05f64.ln(),
        Claim::Sign(kind, at) => study.sign(*kind, *at, &Cause::none()).max(0.03).ln(),
        Claim::Reach(_) => 0.08f64.ln(),
        Claim::BreakerClosed(_) | Claim::SwitchOn(_) => 0.0,
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

    /// Log of the mean probability of all that was told where every reading is some share of what is shown.
    fn scattered(&self, study: &Study<'_>) -> f64 {
        let (least, most) = SCATTERED;
        let told = &study.readings.told;
        let of_world = |(volts, ln): &(Vec<f64>, Vec<f64>)| {
            let each = told.iter().zip(volts).map(|(t, x)| {
                let slack = 2.0 * t.variance.sqrt() + 0.002 * study.nominal;
                let within = (least * x - slack..=most * x + slack).contains(&t.value);
                let even = f64::from(u8::from(within)) / ((most - least) * x + 2.0 * slack);
                (0.95 * even + 0.05 * broad(t.value, study.nominal))
                    .max(1e-300)
                    .ln()
            });
            each.sum::<f64>() + ln.iter().sum::<f64>()
        };
        let sum = self
            .worlds
            .iter()
            .map(of_world)
            .fold(f64::NEG_INFINITY, ln_add);
        sum - (self.worlds.len() as f64).ln()
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
