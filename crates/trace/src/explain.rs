//! Why: reading by reading, what a cause predicts, what was read, and how much that speaks for or against it.
//!
//! `weight = ln P(t_i | c) − ln P(t_i | not c)`, each reading by itself: `P(t_i | c)` the mean over worlds, `not c` the mean
//! of the other leading causes and "nothing wrong", each counted once. Readings are not independent, so the weights do not add up to the
//! odds; they tell which way each one points.

use rayon::prelude::*;

use crate::answer::Evidence;
use crate::causes::Cause;
use crate::claims::lamp;
use crate::engine::{Care, Further, weigh};
use crate::fault::Misreads;
use crate::likelihood::{Readings, Slips};
use crate::seeing;
use crate::sieve::Sifted;
use crate::study::{Claim, Study, Witness};
use crate::tell::blank;
use crate::words;

/// Evidence for each of the named causes (numbers in the sieve's list).
pub(crate) fn evidence(
    study: &Study<'_>,
    sifted: &Sifted,
    leaders: &[usize],
) -> Vec<Vec<Evidence>> {
    if leaders.is_empty() || study.witnesses.is_empty() {
        return vec![Vec::new(); leaders.len()];
    }
    let mut causes: Vec<Cause> = leaders
        .iter()
        .map(|i| sifted.held[*i].cause.clone())
        .collect();
    if !causes.iter().any(Cause::is_empty) {
        causes.push(Cause::none());
    }
    let table: Vec<Vec<(f64, String)>> = study
        .witnesses
        .chunks(AT_ONCE)
        .enumerate()
        .flat_map(|(nth, some)| under_each(study, &causes, nth * AT_ONCE, some))
        .collect();
    (0..leaders.len())
        .map(|c| {
            study
                .witnesses
                .iter()
                .zip(&table)
                .map(|(w, row)| {
                    let others = row.iter().enumerate().filter(|(d, _)| *d != c);
                    let n = (row.len() - 1).max(1) as f64;
                    let rest = others.map(|(_, (p, _))| p).sum::<f64>() / n;
                    Evidence {
                        read: read(study, &w.id),
                        predicts: row[c].1.clone(),
                        weight: (row[c].0.max(1e-12) / rest.max(1e-12)).ln(),
                        ..blank(&w.id)
                    }
                })
                .collect()
        })
        .collect()
}

/// By witness (the first of them is number `first`), by cause: probability of what was told, and words for what is
/// predicted.
fn under_each(
    study: &Study<'_>,
    causes: &[Cause],
    first: usize,
    witnesses: &[Witness],
) -> Vec<Vec<(f64, String)>> {
    // How each cause has each witness seen: as told, or with the contacts it says were meant.
    let mut further: Vec<Further> = Vec::new();
    let mut starts: Vec<Vec<usize>> = vec![Vec::new(); witnesses.len()];
    let mut n_numbers = 0;
    for (w, witness) in witnesses.iter().enumerate() {
        for cause in causes {
            let mut singles = cause.faults.iter().flatten();
            let other = singles.find_map(|s| {
                let list = &study.misread[*s as usize];
                list.iter().find(|(at, _)| *at == first + w)
            });
            starts[w].push(n_numbers);
            let seeing = other.map_or(&witness.seeing, |(_, seeing)| seeing).clone();
            n_numbers += seeing.len();
            further.push(Further {
                condition: witness.condition,
                seeing,
            });
        }
    }
    let care = Care {
        worlds: 64,
        smoothing: 0.0,
        slips: Slips::Worst,
        seed: study.question.seed ^ 0x51,
    };
    let weighed = weigh(study, causes, &further, care);
    let batches = weighed.worlds.batches();
    witnesses
        .par_iter()
        .zip(&starts)
        .map(|(w, starts)| {
            causes
                .iter()
                .enumerate()
                .map(|(c, cause)| {
                    let mut samples: Vec<Vec<f64>> = (0..w.seeing.len())
                        .map(|k| {
                            (0..batches)
                                .flat_map(|b| *weighed.number(b, c, starts[c] + k))
                                .collect()
                        })
                        .collect();
                    misread(study, cause, &w.claim, &mut samples);
                    told_under(study, w, cause, &samples)
                })
                .collect()
        })
        .collect()
}

/// Witnesses explained at once: what each cause would show for each of them is kept, 512 bytes a time.
const AT_ONCE: usize = 256;

/// What a mistake of measuring makes of the volts that were there.
fn misread(study: &Study<'_>, cause: &Cause, claim: &Claim, samples: &mut [Vec<f64>]) {
    let Claim::Volts(_) = claim else { return };
    for i in cause.faults.iter().flatten() {
        let single = &study.singles[*i as usize];
        let n = samples[0].len();
        for (k, v) in samples[0].iter_mut().enumerate() {
            let level = (k as f64 + 0.5) / n as f64;
            match single.fault.misreads {
                Misreads::LeadOpen => *v = 0.03 * level * study.nominal,
                Misreads::WrongFunction => *v = 0.01 * level * study.nominal,
                Misreads::Factor => *v *= single.severity.at(level),
                Misreads::Nothing | Misreads::NamesExchanged(..) => {}
            }
        }
    }
}

fn told_under(
    study: &Study<'_>,
    w: &Witness,
    cause: &Cause,
    samples: &[Vec<f64>],
) -> (f64, String) {
    let nominal = study.nominal;
    let mean = |f: &dyn Fn(usize) -> f64| {
        let n = samples.first().map_or(0, Vec::len);
        (0..n).map(f).sum::<f64>() / n.max(1) as f64
    };
    match &w.claim {
        Claim::Volts(r) => {
            let one = Readings {
                told: vec![study.readings.told[*r]],
                service: study.readings.service,
            };
            let p = mean(&|i| one.ln_likelihood(&[[samples[0][i]; 8]], &[], Slips::Each)[0].exp());
            let mut sorted = samples[0].clone();
            sorted.sort_by(f64::total_cmp);
            let at = |q: f64| sorted[((sorted.len() - 1) as f64 * q) as usize];
            // The service's own deviation is common to all; it widens what a world gives.
            let service = 1.645 * study.readings.service;
            let (low, high) = (at(0.05) * (1.0 - service), at(0.95) * (1.0 + service));
            let says = if high - low < 0.1 * nominal.max(high) && low > 0.5 * nominal {
                format!("about {}", words::volts(0.5 * (low + high)))
            } else {
                format!("{} to {}", words::volts(low), words::volts(high))
            };
            (p, says)
        }
        Claim::Lamps(told) => {
            let p = mean(&|i| {
                (0..3)
                    .map(|k| lamp(told[k], samples[k][i], nominal))
                    .product()
            });
            let lit: Vec<String> = (0..3)
                .map(|k| {
                    let p = mean(&|i| seeing::lit(samples[k][i], nominal));
                    if p > 0.7 {
                        "lit"
                    } else if p < 0.3 {
                        "dark"
                    } else {
                        "either"
                    }
                    .to_owned()
                })
                .collect();
            (p, format!("lamps {}", lit.join(", ")))
        }
        Claim::Detector(told) => {
            let p = mean(&|i| seeing::signals_as(samples[0][i], nominal, *told));
            let signals = mean(&|i| seeing::signals(samples[0][i], nominal));
            (p, format!("signals in {}", words::percent(signals)))
        }
        Claim::Works(works) => {
            let p = mean(&|i| seeing::works(samples[0][i], nominal));
            (
                if *works { p } else { 1.0 - p },
                format!("works in {}", words::percent(p)),
            )
        }
        Claim::Felt => {
            let p = mean(&|i| seeing::felt(samples[0][i]));
            (p, format!("felt in {}", words::percent(p)))
        }
        Claim::CableSparks => {
            let p = mean(&|i| seeing::sparks(samples[0][i]));
            (p, format!("sparks in {}", words::percent(p)))
        }
        Claim::FaultLight => {
            let p = mean(&|i| seeing::fault_light(samples[1][i], samples[2][i], nominal));
            (p, format!("told in {}", words::percent(p)))
        }
        Claim::Frequency(..) => (
            1.0,
            "the nominal frequency, unless the supply is off".into(),
        ),
        Claim::Sign(kind, at) => {
            let p = study.sign(*kind, *at, cause);
            (p, format!("told in {}", words::percent(p)))
        }
        Claim::Reach(told) => {
            let p = study.reach(*told, cause);
            (p, format!("told in {}", words::percent(p)))
        }
        Claim::SwitchOn(at) => {
            let p = 1.0 - study.sign(crate::fault::Kind::SwitchOff, *at, cause);
            (p, format!("on, or none, in {}", words::percent(p)))
        }
        Claim::BreakerClosed(at) => {
            let p = 1.0 - study.sign(crate::fault::Kind::BreakerTripped, *at, cause);
            (p, format!("on in {}", words::percent(p)))
        }
    }
}

/// A reading or observation in words.
pub(crate) fn read(study: &Study<'_>, id: &str) -> String {
    let (site, visit) = (study.question.site, study.question.visit);
    if let Some(r) = visit.readings.iter().find(|r| r.id == id) {
        return words::reading(site, r);
    }
    let Some(o) = visit.observations.iter().find(|o| o.id == id) else {
        return id.to_owned();
    };
    words::observation(site, o)
}
