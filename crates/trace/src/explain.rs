//! Why: reading by reading, what a cause predicts, what was read, and how much that speaks for or against it.
//!
//! `weight = ln P(t_i | c) − ln P(t_i | not c)`, each reading by itself: `P(t_i | c)` the mean over worlds, `not c` the mean
//! of the other leading causes by their posterior. Readings are not independent, so the weights do not add up to the
//! odds; they tell which way each one points.

use site::visit::{Lamp, Sign};

use crate::answer::Evidence;
use crate::engine::{Care, Further, lamp, weigh};
use crate::likelihood::{Readings, Slips};
use crate::seeing;
use crate::sieve::Sifted;
use crate::study::{Claim, Study};
use crate::tell::blank;
use crate::words;

/// Evidence for each of the named causes (numbers in the sieve's list).
pub(crate) fn evidence(
    study: &Study<'_>,
    sifted: &Sifted,
    leaders: &[usize],
) -> Vec<Vec<Evidence>> {
    let further: Vec<Further> = study
        .witnesses
        .iter()
        .map(|w| Further {
            condition: w.condition,
            seeing: w.seeing.clone(),
        })
        .collect();
    let causes: Vec<_> = leaders
        .iter()
        .map(|i| sifted.held[*i].cause.clone())
        .collect();
    if causes.is_empty() || further.is_empty() {
        return vec![Vec::new(); leaders.len()];
    }
    let care = Care {
        worlds: 64,
        smoothing: 0.0,
        slips: Slips::Worst,
        seed: study.question.seed ^ 0x51,
    };
    let weighed = weigh(study, &causes, &further, care);
    let n = weighed.worlds.batches();
    // By witness, by cause: probability of what was told, and words for what is predicted.
    let mut table: Vec<Vec<(f64, String)>> = Vec::new();
    let mut number = 0;
    for w in &study.witnesses {
        let mut row = Vec::new();
        for (c, cause) in causes.iter().enumerate() {
            let samples: Vec<Vec<f64>> = (0..w.seeing.len())
                .map(|k| {
                    (0..n)
                        .flat_map(|b| *weighed.number(b, c, number + k))
                        .collect()
                })
                .collect();
            row.push(told_under(study, w, cause, &samples));
        }
        number += w.seeing.len();
        table.push(row);
    }
    (0..leaders.len())
        .map(|c| {
            let others: f64 = leaders
                .iter()
                .enumerate()
                .filter(|(d, _)| *d != c)
                .map(|(_, i)| sifted.held[*i].probability)
                .sum();
            study
                .witnesses
                .iter()
                .zip(&table)
                .map(|(w, row)| {
                    let mut rest = 1e-9 * row[c].0;
                    let mut share = 1e-9;
                    for (d, i) in leaders.iter().enumerate().filter(|(d, _)| *d != c) {
                        let p = sifted.held[*i].probability / others.max(1e-300);
                        rest += p * row[d].0;
                        share += p;
                    }
                    Evidence {
                        read: read(study, &w.id),
                        predicts: row[c].1.clone(),
                        weight: (row[c].0.max(1e-12) / (rest / share).max(1e-12)).ln(),
                        ..blank(&w.id)
                    }
                })
                .collect()
        })
        .collect()
}

fn told_under(
    study: &Study<'_>,
    w: &crate::study::Witness,
    cause: &crate::causes::Cause,
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
            let (low, high) = (at(0.05), at(0.95));
            let says = if high - low < 0.02 * nominal.max(high) && low > 0.1 * nominal {
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
            (p, format!("signals in {:.0} %", signals * 100.0))
        }
        Claim::Works(works) => {
            let p = mean(&|i| seeing::works(samples[0][i], nominal));
            (
                if *works { p } else { 1.0 - p },
                format!("works in {:.0} %", p * 100.0),
            )
        }
        Claim::Felt => {
            let p = mean(&|i| seeing::felt(samples[0][i]));
            (p, format!("felt in {:.0} %", p * 100.0))
        }
        Claim::Frequency(..) => (
            1.0,
            "the nominal frequency, unless the supply is off".into(),
        ),
        Claim::Sign(kind, at) => {
            let p = study.sign(*kind, *at, cause);
            (p, format!("told in {:.0} %", p * 100.0))
        }
        Claim::Reach(told) => {
            let p = study.reach(*told, cause);
            (p, format!("told in {:.0} %", p * 100.0))
        }
        Claim::BreakerClosed(at) => {
            let p = 1.0 - study.sign(crate::fault::Kind::BreakerTripped, *at, cause);
            (p, format!("on in {:.0} %", p * 100.0))
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
    let at = match o.at {
        site::visit::Whereabouts::Outlet(x) => words::outlet(site, x).to_owned(),
        site::visit::Whereabouts::Circuit(c) => format!("circuit {}", site.circuits[c.0].id),
        site::visit::Whereabouts::Panel(p) => {
            format!("{} {}", site.region.words.panel, site.panels[p.0].id)
        }
        site::visit::Whereabouts::Site => "the premises".into(),
    };
    let lamp_word = |l| match l {
        Lamp::Lit => "lit",
        Lamp::Dim => "dim",
        Lamp::Dark => "dark",
    };
    let w = &site.region.words;
    let what = match o.what {
        Sign::Lamps {
            line_neutral,
            line_earth,
            neutral_earth,
        } => format!(
            "lamps: {}-{} {}, {}-{} {}, {}-{} {}",
            w.line,
            w.neutral,
            lamp_word(line_neutral),
            w.line,
            w.earth,
            lamp_word(line_earth),
            w.neutral,
            w.earth,
            lamp_word(neutral_earth)
        ),
        Sign::Detector { pin, signals } => {
            let does = if signals == site::visit::Signals::Yes {
                "signals"
            } else {
                "stays quiet"
            };
            format!("the detector {does} at {}", words::pin(site, pin))
        }
        other => sign_words(other).to_owned(),
    };
    format!("{at}: {what}")
}

fn sign_words(sign: Sign) -> &'static str {
    match sign {
        Sign::BreakerTripped => "the breaker is off or trips",
        Sign::ResidualTripped => "the residual-current device is off or trips",
        Sign::ArcTripped => "the arc-fault device is off or trips",
        Sign::BreakerClosed => "the breaker is on",
        Sign::Dead => "nothing works there",
        Sign::Works => "things work there",
        Sign::Buzzing => "buzzing",
        Sign::Warm => "warm",
        Sign::Burnt => "smell of burning or scorch marks",
        Sign::Flicker => "flicker",
        Sign::Brightening => "some lights brighten while others dim",
        Sign::Dimming => "lights dim when something starts",
        Sign::Shock => "somebody felt a tingle or a shock",
        Sign::LoosePlug => "plugs sit loosely",
        Sign::EquipmentBurnt => "equipment burnt out",
        Sign::Wet => "it was wet",
        Sign::AfterWorks => "after works",
        Sign::AfterStorm => "after a storm or an outage",
        Sign::SwitchMatters => "a wall switch changes it",
        Sign::OldWiring => "old two-wire building",
        Sign::Scope(_) => "how far the trouble reaches",
        Sign::Lamps { .. } | Sign::Detector { .. } => "",
    }
}
