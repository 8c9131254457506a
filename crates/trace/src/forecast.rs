//! What a check would show under a cause.
//!
//! A check's result falls into classes r. `P(r | c) = Σ_s w_s P(r | world s) / Σ_s w_s`, w: likelihood of what was told.
//! A cause whose severity decides what follows from it is forecast step by step of its severity, so that a check that
//! tells a bad joint from a middling one is worth what it tells. Two causes are told apart by a check as well as the
//! total variation `½ Σ_r |P(r|c) − P(r|d)|` allows.

use rayon::prelude::*;
use site::visit::Lamp;

use crate::causes::Cause;
use crate::checks::{Check, CheckKind};
use crate::claims::lamp;
use crate::engine::{Care, Further, Weighed, weigh};
use crate::fault::{Kind, Misreads, Severity};
use crate::likelihood::Slips;
use crate::seeing;
use crate::sieve::cells;
use crate::study::Study;

/// Result classes of a voltage, upper ends, over nominal.
const CLASSES: [f64; 20] = [
    0.004,
    0.012,
    0.025,
    0.05,
    0.1,
    0.2,
    0.42,
    0.58,
    0.8,
    0.9,
    0.94,
    0.96,
    0.975,
    0.99,
    1.01,
    1.03,
    1.065,
    1.25,
    1.8,
    f64::INFINITY,
];
/// How much more than one check's, by chance, the largest variation of some twenty checks is. Judgement.
const LARGEST: f64 = 1.5;
/// Probabilities of the result classes, check by check.
pub(crate) type Classes = Vec<Vec<f64>>;

/// How one cause would answer some checks.
#[derive(Clone, Debug)]
pub(crate) struct Forecast {
    /// Whatever its severity.
    pub whole: Classes,
    /// By cell of its faults' steps (as `Held::by_step`), where a world has it.
    pub by_step: [Option<Classes>; 9],
    /// How many worlds speak.
    worlds: f64,
}

impl Forecast {
    /// The classes of one check in a cell.
    pub fn of(&self, cell: usize, check: usize) -> &[f64] {
        &self.by_step[cell].as_ref().unwrap_or(&self.whole)[check]
    }

    /// Largest total variation that one of the checks shows between two causes, beyond what few worlds show between two
    /// samples of one cause: `½ Σ_r √(2/π p (1 − p) (1/n + 1/m))`, p the mean of both, n and m worlds.
    pub fn apart(&self, other: &Forecast) -> f64 {
        let few = 1.0 / self.worlds + 1.0 / other.worlds;
        let variation = |(a, b): (&Vec<f64>, &Vec<f64>)| {
            let (mut apart, mut chance) = (0.0, 0.0);
            for (x, y) in a.iter().zip(b) {
                let p = 0.5 * (x + y);
                apart += 0.5 * (x - y).abs();
                chance += 0.5 * (core::f64::consts::FRAC_2_PI * p * (1.0 - p) * few).sqrt();
            }
            apart - LARGEST * chance
        };
        let each = self.whole.iter().zip(&other.whole).map(variation);
        each.fold(0.0, f64::max)
    }
}

/// Forecasts of some causes for some checks, and the sample they were made in.
pub(crate) struct Forecasts {
    pub each: Vec<Forecast>,
    pub weighed: Weighed,
}

/// Forecasts the answers of causes to some of a study's checks, by their numbers.
pub(crate) fn forecasts(
    study: &Study<'_>,
    causes: &[Cause],
    checks: &[usize],
    worlds: usize,
) -> Forecasts {
    let care = Care {
        worlds,
        smoothing: 0.5,
        slips: Slips::Worst,
        seed: study.question.seed ^ 0xA5A5,
    };
    let further: Vec<Further> = checks.iter().map(|c| study.further[*c].clone()).collect();
    let weighed = weigh(study, causes, &further, care);
    let of = |i: usize| {
        Forecaster {
            study,
            checks,
            weighed: &weighed,
            cause: &causes[i],
            index: i,
        }
        .forecast()
    };
    Forecasts {
        each: (0..causes.len()).into_par_iter().map(of).collect(),
        weighed,
    }
}

/// One cause in a sample.
struct Forecaster<'f> {
    study: &'f Study<'f>,
    checks: &'f [usize],
    weighed: &'f Weighed,
    cause: &'f Cause,
    index: usize,
}

impl Forecaster<'_> {
    fn forecast(&self) -> Forecast {
        let (study, weighed) = (self.study, self.weighed);
        let all = weighed.all(self.index);
        let max = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let heat = heat(all, max);
        let worlds = speaking(all, max, heat);
        let check = |c: &usize| &study.checks[*c];
        let empty = || -> Classes {
            let n = self.checks.iter().map(|c| n_classes(check(c).kind));
            n.map(|n| vec![0.0; n]).collect()
        };
        let mut by_step: [Option<Classes>; 9] = core::array::from_fn(|_| None);
        let mut totals = [0.0; 9];
        // What is wrong with the meter is wrong with its next reading too.
        let faults = self.cause.faults.iter().flatten();
        let misread: Vec<(Misreads, Severity)> = faults
            .map(|i| &study.singles[*i as usize])
            .map(|s| (s.fault.misreads, s.severity))
            .collect();
        for (batch, ln) in weighed.of(self.index).enumerate() {
            let speaks = |ln: &f64| match max == f64::NEG_INFINITY {
                true => 1.0,
                false => (heat * (ln - max)).exp(),
            };
            let weights: Vec<f64> = ln.iter().map(speaks).collect();
            if weights.iter().all(|w| *w < UNHEARD) {
                continue;
            }
            let cells = cells(study, self.cause, &weighed.worlds, batch);
            let service = weighed.service(batch, self.index);
            for (k, w) in weights.into_iter().enumerate() {
                if w < UNHEARD {
                    continue;
                }
                totals[cells[k]] += w;
                let scale = 1.0 + service[k];
                let mut number = 0;
                let classes = by_step[cells[k]].get_or_insert_with(empty);
                for (c, classes) in self.checks.iter().zip(classes) {
                    let at = |n: usize| weighed.number(batch, self.index, number + n)[k];
                    self.add(check(c), w, scale, &misread, at, classes);
                    number += study.further[*c].seeing.len();
                }
            }
        }
        let mut whole = empty();
        for classes in by_step.iter().flatten() {
            for (sum, some) in whole.iter_mut().zip(classes) {
                sum.iter_mut().zip(some).for_each(|(s, p)| *s += p);
            }
        }
        let shares = |classes: &mut Classes, total: f64| {
            for classes in classes {
                let n = classes.len() as f64;
                // A check goes wrong now and then.
                let share = |p: f64| 0.99 * p / total.max(1e-300) + 0.01 / n;
                classes.iter_mut().for_each(|p| *p = share(*p));
            }
        };
        shares(&mut whole, totals.iter().sum());
        for (classes, total) in by_step.iter_mut().zip(totals) {
            if let Some(classes) = classes {
                shares(classes, total);
            }
        }
        Forecast {
            whole,
            by_step,
            worlds,
        }
    }

    /// Adds what one world shows, of a weight.
    fn add(
        &self,
        check: &Check,
        w: f64,
        scale: f64,
        misread: &[(Misreads, Severity)],
        at: impl Fn(usize) -> f64,
        classes: &mut [f64],
    ) {
        let study = self.study;
        let mut two = |p: f64| {
            classes[0] += w * p;
            classes[1] += w * (1.0 - p);
        };
        match check.kind {
            CheckKind::Volts { .. } => {
                // A meter blurs the ends of the classes by some parts in a thousand and a tenth of a volt.
                let x = misread.iter().fold(
                    at(0) * scale / study.nominal,
                    |x, (misreads, severity)| match misreads {
                        Misreads::LeadOpen => 0.002,
                        Misreads::WrongFunction => 0.002,
                        Misreads::Factor => x * severity.at(0.5),
                        Misreads::Nothing | Misreads::NamesExchanged(..) => x,
                    },
                );
                let blur = 0.006 * x + 0.001;
                let below = class_of(0, x - blur);
                let here = class_of(below, x);
                classes[below] += w * 0.25;
                classes[here] += w * 0.5;
                classes[class_of(here, x + blur)] += w * 0.25;
            }
            CheckKind::Lamps(_) => {
                for (class, p) in classes.iter_mut().enumerate() {
                    let told = class_lamps(class);
                    let lit: f64 = (0..3)
                        .map(|i| as_two(told[i], at(i), study.nominal))
                        .product();
                    *p += w * lit;
                }
            }
            CheckKind::Detector(..) => two(seeing::signals(at(0), study.nominal)),
            CheckKind::Switch(o) => two(study.sign(
                Kind::SwitchOff,
                site::visit::Whereabouts::Outlet(o),
                self.cause,
            )),
            CheckKind::Breaker(c) => two(study.sign(
                Kind::BreakerTripped,
                site::visit::Whereabouts::Circuit(c),
                self.cause,
            )),
        }
    }
}

/// Number of result classes of a check.
pub(crate) fn n_classes(kind: CheckKind) -> usize {
    match kind {
        CheckKind::Volts { .. } => CLASSES.len(),
        CheckKind::Lamps(_) => 8,
        CheckKind::Detector(..) | CheckKind::Breaker(_) | CheckKind::Switch(_) => 2,
    }
}

/// Lower and upper end of a voltage class, over nominal.
pub(crate) fn class_bounds(class: usize) -> (f64, f64) {
    (
        if class == 0 { 0.0 } else { CLASSES[class - 1] },
        CLASSES[class],
    )
}

/// The three lamps of a lamp class: line-neutral, line-earth, neutral-earth.
pub(crate) fn class_lamps(class: usize) -> [Lamp; 3] {
    core::array::from_fn(|i| {
        if class >> i & 1 == 1 {
            Lamp::Lit
        } else {
            Lamp::Dark
        }
    })
}

/// Power that log likelihoods are scaled by, so that at least a few worlds speak: one alone would foretell everything for
/// certain, and differently for causes that are the same.
fn heat(ln: &[f64], max: f64) -> f64 {
    let mut heat = 1.0;
    while speaking(ln, max, heat) < FEW && heat > 0.05 {
        heat *= 0.7;
    }
    heat
}

/// How many worlds of equal weight would tell as much, `(Σ w)² / Σ w²`.
fn speaking(ln: &[f64], max: f64, heat: f64) -> f64 {
    if max == f64::NEG_INFINITY {
        return ln.len() as f64;
    }
    let w = ln.iter().map(|ln| (heat * (ln - max)).exp());
    let (sum, squares) = w.fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
    sum * sum / squares
}

/// Weight below which a world is not heard.
const UNHEARD: f64 = 1e-6;
/// Worlds that speak at least. Judgement.
const FEW: f64 = 6.0;

/// Chance that a lamp is told lit or dark, dim counted with the nearer.
fn as_two(told: Lamp, volts: f64, nominal: f64) -> f64 {
    let dim = lamp(Lamp::Dim, volts, nominal);
    lamp(told, volts, nominal) + 0.5 * dim
}

/// Class of a voltage over nominal, which is not in one below `from`.
fn class_of(from: usize, x: f64) -> usize {
    let ends = CLASSES[from..CLASSES.len() - 1].iter();
    from + ends.take_while(|end| x >= **end).count()
}
