//! Groups that no check can tell apart, and the check that settles the decision soonest.
//!
//! A check's result falls into classes r; `P(r | c)` is the posterior mean over worlds. Two causes are told apart by a
//! check as well as the total variation `½ Σ_r |P(r|c) − P(r|d)|` allows. The worth of a check is the expected fall in
//! loss, `min_a Σ_t P(t) L(a,t) − Σ_r P(r) min_a Σ_t P(t|r) L(a,t)`, with the loss of naming the wrong group added to
//! both, over its minutes. Where a stop is there for caution only, a check is also worth the doubt about danger that it
//! takes away, as no single check may be able to lift the stop.
//! Source: value of information, Raiffa and Schlaifer 1961 (from memory).

use site::finding::Use;
use site::visit::Lamp;

use crate::causes::Cause;
use crate::checks::{Check, CheckKind};
use crate::claims::lamp;
use crate::decide::{NEEDLESS_STOP, SOUND, Stakes, Truth, UNKNOWN, WRONG_NAME};
use crate::engine::{Care, Further, Weighed, weigh};
use crate::fault::{Kind, Misreads, Severity};
use crate::likelihood::Slips;
use crate::seeing;
use crate::sieve::{Held, Sifted, hold};
use crate::study::{Claim, Study};

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
/// Below this total variation over all checks, two causes are one group.
const SAME: f64 = 0.3;
/// Below this total variation over the checks at the places looked at, and this difference of log evidence, a fault
/// changes nothing there.
const SAME_HERE: f64 = 0.12;
const SAME_EVIDENCE: f64 = 0.5;
/// Minutes of loss that a minute of checking must save. Judgement.
const WORTH_A_MINUTE: f64 = 2.0;
/// How much more a danger counts than a trifle of the same probability when causes are picked to look ahead at.
const DANGER_COUNTS: f64 = 20.0;
/// Causes looked at ahead, and worlds for it.
const AHEAD: usize = 64;
const WORLDS: usize = 48;

/// What the sieve leaves, put in groups, with what could be checked.
pub(crate) struct Outlook {
    /// Groups, most probable first.
    pub groups: Vec<Grouped>,
    /// What could be true, and what to do.
    pub stakes: Stakes,
    /// Probability of each truth.
    pub weights: Vec<f64>,
    /// The best check, if one is worth its minutes.
    pub next: Option<Proposed>,
    pub work: crate::answer::Work,
}

/// Causes that no check tells apart, by their numbers in the sieve's list.
#[derive(Clone, Debug)]
pub(crate) struct Grouped {
    pub members: Vec<usize>,
    pub probability: f64,
}

/// A proposed check.
#[derive(Clone, Debug)]
pub(crate) struct Proposed {
    pub check: usize,
    pub worth: f64,
    /// By class of result: its probability and the group it would point to, with that group's probability then.
    pub results: Vec<(usize, f64, Option<usize>, f64)>,
}

/// How one cause would answer all checks: probabilities of the result classes, check by check.
struct Forecast {
    by_check: Vec<Vec<f64>>,
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

/// Groups the causes, weighs the actions and picks the next check.
///
/// A fault that changes nothing at the places looked at, neither what was witnessed nor what else could be seen there, is
/// no part of the answer: its cause counts as the one without it. Causes without which a held one cannot be told may be
/// added to the sieve's list, with probability zero of their own.
pub(crate) fn look_ahead(study: &Study<'_>, sifted: &mut Sifted) -> Outlook {
    let n = sifted.held.len().min(AHEAD);
    by_stake(study, sifted, n);
    let mut causes: Vec<Cause> = sifted.held[..n].iter().map(|h| h.cause.clone()).collect();
    for i in 0..n {
        for part in parts(study, &causes[i].clone()) {
            if !causes.iter().any(|c| c.faults == part.faults) {
                causes.push(part);
            }
        }
    }
    let care = Care {
        worlds: WORLDS,
        smoothing: 0.5,
        slips: Slips::Worst,
        seed: study.question.seed ^ 0xA5A5,
    };
    // What was read is looked at again, to know how far the service is off in each world.
    let mut further = study.further.clone();
    let told = study
        .witnesses
        .iter()
        .filter(|w| matches!(w.claim, Claim::Volts(_)));
    further.extend(told.map(|w| Further {
        condition: w.condition,
        seeing: w.seeing.clone(),
    }));
    let weighed = weigh(study, &causes, &further, care);
    let mut forecasts: Vec<Forecast> = (0..causes.len())
        .map(|i| forecast(study, &causes[i], i, &weighed))
        .collect();
    let asked = study.asked_about();
    let is_near = |c: &Check| study.is_near(c.kind, &asked);
    let near: Vec<bool> = study.checks.iter().map(is_near).collect();

    // Which cause stands for each held one: itself, or the part of it that matters here.
    let mut stands: Vec<usize> = (0..n).collect();
    let mut place: Vec<Option<usize>> = (0..causes.len()).map(|i| (i < n).then_some(i)).collect();
    let mut order: Vec<usize> = (0..n).collect();
    for (i, stand) in stands.iter_mut().enumerate() {
        let full = weighed.ln_evidence(i);
        let part = parts(study, &causes[i]).iter().find_map(|part| {
            let j = causes.iter().position(|c| c.faults == part.faults)?;
            let same = (weighed.ln_evidence(j) - full).abs() < SAME_EVIDENCE
                && apart(&forecasts[i], &forecasts[j], |c| near[c]) < SAME_HERE;
            same.then_some(j)
        });
        if let Some(j) = part {
            let at = *place[j].get_or_insert_with(|| {
                sifted
                    .held
                    .push(hold(study, causes[j].clone(), j, &weighed));
                order.push(j);
                sifted.held.len() - 1
            });
            *stand = at;
        }
    }
    // What was not looked ahead at counts as its part where what was told does not speak for it.
    let mut tail: Vec<usize> = (0..sifted.held.len()).collect();
    for (i, stand) in tail.iter_mut().enumerate().skip(n) {
        let held = &sifted.held[i];
        let evidence = held.ln_weight - held.cause.ln_prior;
        let part = parts(study, &held.cause).iter().find_map(|part| {
            let at = sifted
                .held
                .iter()
                .position(|h| h.cause.faults == part.faults)?;
            let h = &sifted.held[at];
            (evidence - (h.ln_weight - h.cause.ln_prior) < SAME_EVIDENCE).then_some(at)
        });
        *stand = part.unwrap_or(i);
    }
    // From here on, forecasts by the number in the sieve's list.
    let of_held = |i: usize| {
        (i < n).then_some(i).or_else(|| {
            place
                .iter()
                .skip(n)
                .position(|p| *p == Some(i))
                .map(|k| k + n)
        })
    };
    let stand_of = |i: usize| {
        let i = tail[i];
        if i < n { stands[i] } else { i }
    };

    let mut groups: Vec<Grouped> = Vec::new();
    let mut group_of: Vec<Option<usize>> = vec![None; sifted.held.len()];
    let leads = (0..n)
        .map(stand_of)
        .filter_map(|i| of_held(i).map(|f| (i, f)));
    for (i, f) in leads {
        if group_of[i].is_some() {
            continue;
        }
        let found = groups.iter().position(|g| {
            of_held(g.members[0])
                .is_some_and(|lead| apart(&forecasts[f], &forecasts[lead], |_| true) < SAME)
        });
        match found {
            Some(g) => groups[g].members.push(i),
            None => groups.push(Grouped {
                members: vec![i],
                probability: 0.0,
            }),
        }
        group_of[i] = found.or(Some(groups.len() - 1));
    }
    for i in 0..sifted.held.len() {
        let probability = sifted.held[i].probability;
        match group_of[stand_of(i)] {
            Some(g) => {
                groups[g].probability += probability;
                if !groups[g].members.contains(&i) {
                    groups[g].members.push(i);
                }
                group_of[i] = Some(g);
            }
            None => {
                groups.push(Grouped {
                    members: vec![i],
                    probability,
                });
                group_of[i] = Some(groups.len() - 1);
            }
        }
    }
    let mut sorted: Vec<usize> = (0..groups.len()).collect();
    sorted.sort_by(|a, b| groups[*b].probability.total_cmp(&groups[*a].probability));
    let mut rank = vec![0; groups.len()];
    for (r, g) in sorted.iter().enumerate() {
        rank[*g] = r;
    }
    let groups: Vec<Grouped> = sorted.into_iter().map(|g| groups[g].clone()).collect();

    let mut stakes = Stakes::default();
    let cells: Vec<Vec<(usize, f64)>> = (0..sifted.held.len())
        .map(|i| {
            let stand = &sifted.held[stand_of(i)];
            truths(study, stand)
                .into_iter()
                .map(|(t, p)| (stakes.truth(t), p))
                .collect()
        })
        .collect();
    let unknown = stakes.truth(UNKNOWN);
    stakes.settle();
    let mut weights = vec![0.0; stakes.truths.len()];
    for (held, cells) in sifted.held.iter().zip(&cells) {
        for (t, p) in cells {
            weights[*t] += p * held.probability;
        }
    }
    weights[unknown] += sifted.unknown;

    forecasts.truncate(n);
    let groups_of: Vec<Option<usize>> = (0..n).map(|i| group_of[i].map(|g| rank[g])).collect();
    let next = propose(
        study,
        sifted,
        &forecasts,
        &groups_of,
        &cells,
        &stakes,
        groups.len(),
        unknown,
    );
    Outlook {
        groups,
        stakes,
        weights,
        next,
        work: weighed.work,
    }
}

/// Puts the n causes with the most at stake first, the most probable leading: a rare danger is looked ahead at before a
/// likelier trifle.
fn by_stake(study: &Study<'_>, sifted: &mut Sifted, n: usize) {
    let stake = |h: &Held| {
        let danger: f64 = truths(study, h)
            .iter()
            .filter(|(t, _)| t.is_danger())
            .map(|(t, p)| p * (t.harm.shock + t.harm.fire))
            .sum();
        h.probability * (1.0 + DANGER_COUNTS * danger)
    };
    let mut order: Vec<(f64, usize)> = sifted.held.iter().map(stake).zip(0..).collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut first = vec![false; sifted.held.len()];
    order.iter().take(n).for_each(|(_, i)| first[*i] = true);
    let (mut on, off): (Vec<_>, Vec<_>) = sifted
        .held
        .drain(..)
        .zip(first)
        .partition(|(_, first)| *first);
    on.extend(off);
    sifted.held.extend(on.into_iter().map(|(h, _)| h));
}

/// The causes that a cause becomes without one or both of its faults, fewest first.
fn parts(study: &Study<'_>, cause: &Cause) -> Vec<Cause> {
    let mut out = Vec::new();
    if !cause.is_empty() {
        out.push(Cause::none());
    }
    if cause.len() == 2 {
        for i in cause.faults.iter().flatten() {
            let ln_prior = study.singles[*i as usize].ln_odds;
            out.push(Cause {
                faults: [Some(*i), None],
                ln_prior,
                merged: None,
            });
        }
    }
    out
}

/// What may be true if this cause is: by the steps of its faults.
pub(crate) fn truths(study: &Study<'_>, held: &Held) -> Vec<(Truth, f64)> {
    let faults: Vec<_> = held
        .cause
        .faults
        .iter()
        .flatten()
        .map(|i| study.singles[*i as usize].fault)
        .collect();
    let step = |f: usize, at: usize| Truth::of(&faults[f].steps[at.min(faults[f].steps.len() - 1)]);
    let mut out = Vec::new();
    for (cell, p) in held.by_step.iter().enumerate().filter(|(_, p)| **p > 1e-6) {
        let truth = match faults.len() {
            0 => SOUND,
            1 => step(0, cell / 3),
            _ => step(0, cell / 3).and(step(1, cell % 3)),
        };
        out.push((truth, *p));
    }
    out
}

fn forecast(
    study: &Study<'_>,
    cause: &crate::causes::Cause,
    index: usize,
    weighed: &Weighed,
) -> Forecast {
    let max = weighed
        .of(index)
        .flatten()
        .fold(f64::NEG_INFINITY, |m, x| m.max(*x));
    let mut by_check: Vec<Vec<f64>> = study
        .checks
        .iter()
        .map(|c| vec![0.0; n_classes(c.kind)])
        .collect();
    let mut total = 0.0;
    // What is wrong with the meter is wrong with its next reading too.
    let misread: Vec<(Misreads, Severity)> = cause
        .faults
        .iter()
        .flatten()
        .map(|i| &study.singles[*i as usize])
        .map(|s| (s.fault.misreads, s.severity))
        .collect();
    for (batch, ln) in weighed.of(index).enumerate() {
        for (k, ln) in ln.iter().enumerate() {
            let w = if max == f64::NEG_INFINITY {
                1.0
            } else {
                (ln - max).exp()
            };
            if w < 1e-6 {
                continue;
            }
            total += w;
            let scale = 1.0 + service(study, weighed, batch, index, k);
            let mut number = 0;
            for ((check, further), classes) in
                study.checks.iter().zip(&study.further).zip(&mut by_check)
            {
                let at = |n: usize| weighed.number(batch, index, number + n)[k];
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
                        for (weight, shift) in [(0.5, 0.0), (0.25, -blur), (0.25, blur)] {
                            classes[class_of(x + shift)] += w * weight;
                        }
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
                    CheckKind::Detector(..) => {
                        let p = seeing::signals(at(0), study.nominal);
                        classes[0] += w * p;
                        classes[1] += w * (1.0 - p);
                    }
                    CheckKind::Switch(o) => {
                        let p =
                            study.sign(Kind::SwitchOff, site::visit::Whereabouts::Outlet(o), cause);
                        classes[0] += w * p;
                        classes[1] += w * (1.0 - p);
                    }
                    CheckKind::Breaker(c) => {
                        let p = study.sign(
                            Kind::BreakerTripped,
                            site::visit::Whereabouts::Circuit(c),
                            cause,
                        );
                        classes[0] += w * p;
                        classes[1] += w * (1.0 - p);
                    }
                }
                number += further.seeing.len();
            }
        }
    }
    for classes in &mut by_check {
        for p in classes.iter_mut() {
            // A check goes wrong now and then.
            *p = 0.99 * *p / total.max(1e-300);
        }
        let n = classes.len() as f64;
        classes.iter_mut().for_each(|p| *p += 0.01 / n);
    }
    Forecast { by_check }
}

/// How far the service is off nominal in one world, given what was read: the posterior mean of the deviation that all
/// voltages share, `s = Σ (t − x) x / v / (1/σ² + Σ x² / v)`. Readings that the world does not explain say nothing of it.
fn service(study: &Study<'_>, weighed: &Weighed, batch: usize, index: usize, k: usize) -> f64 {
    let first: usize = study.further.iter().map(|f| f.seeing.len()).sum();
    let (mut pull, mut stiff) = (0.0, study.readings.service.powi(-2));
    for (i, t) in study.readings.told.iter().enumerate() {
        let x = weighed.number(batch, index, first + i)[k];
        if (t.value - x).abs() > 0.2 * x {
            continue;
        }
        let gain = t.gain.map_or(0.0, |(_, g)| g);
        let v = t.variance + (t.relative * x).powi(2) + (gain * x).powi(2);
        pull += (t.value - x) * x / v;
        stiff += x * x / v;
    }
    pull / stiff
}

/// Chance that a lamp is told lit or dark, dim counted with the nearer.
fn as_two(told: Lamp, volts: f64, nominal: f64) -> f64 {
    let dim = lamp(Lamp::Dim, volts, nominal);
    lamp(told, volts, nominal) + 0.5 * dim
}

fn class_of(x: f64) -> usize {
    CLASSES
        .iter()
        .position(|end| x.max(0.0) < *end)
        .unwrap_or(CLASSES.len() - 1)
}

/// Largest total variation that one of the checks that count shows between two causes.
fn apart(one: &Forecast, other: &Forecast, counts: impl Fn(usize) -> bool) -> f64 {
    one.by_check
        .iter()
        .zip(&other.by_check)
        .enumerate()
        .filter(|(c, _)| counts(*c))
        .map(|(_, (a, b))| 0.5 * a.iter().zip(b).map(|(x, y)| (x - y).abs()).sum::<f64>())
        .fold(0.0, f64::max)
}

#[allow(clippy::too_many_arguments)]
fn propose(
    study: &Study<'_>,
    sifted: &Sifted,
    forecasts: &[Forecast],
    groups_of: &[Option<usize>],
    cells: &[Vec<(usize, f64)>],
    stakes: &Stakes,
    n_groups: usize,
    unknown: usize,
) -> Option<Proposed> {
    let n_truths = stakes.truths.len();
    let mut best: Option<Proposed> = None;
    let mut by_truth = vec![0.0; n_truths];
    let mut by_group = vec![0.0; n_groups];
    let danger: Vec<usize> = (0..n_truths)
        .filter(|t| stakes.truths[*t].is_danger())
        .collect();
    for (c, check) in study.checks.iter().enumerate() {
        let n = n_classes(check.kind);
        let mut after = 0.0;
        let mut results = Vec::with_capacity(n);
        let mut before_truth = vec![0.0; n_truths];
        let mut before_group = vec![0.0; n_groups];
        let mut mass_all = 0.0;
        let (mut dangerous, mut doubt_after) = (0.0, 0.0);
        for class in 0..n {
            by_truth.iter_mut().for_each(|w| *w = 0.0);
            by_group.iter_mut().for_each(|w| *w = 0.0);
            let mut mass = 0.0;
            for (i, forecast) in forecasts.iter().enumerate() {
                let p = sifted.held[i].probability * forecast.by_check[c][class];
                mass += p;
                for (t, share) in &cells[i] {
                    by_truth[*t] += p * share;
                }
                if let Some(g) = groups_of[i] {
                    by_group[g] += p;
                }
            }
            let p = sifted.unknown / n as f64;
            by_truth[unknown] += p;
            mass += p;
            let in_danger: f64 = danger.iter().map(|t| by_truth[*t]).sum();
            dangerous += in_danger;
            doubt_after += doubt(in_danger, mass);
            let (top, top_mass) = by_group
                .iter()
                .copied()
                .enumerate()
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .unwrap_or((0, 0.0));
            let lead = top_mass.max(p);
            after += stakes.best(&by_truth).1 + WRONG_NAME * (mass - lead);
            results.push((
                class,
                mass,
                (top_mass >= p).then_some(top),
                top_mass / mass.max(1e-300),
            ));
            for (sum, x) in before_truth.iter_mut().zip(&by_truth) {
                *sum += x;
            }
            for (sum, x) in before_group.iter_mut().zip(&by_group) {
                *sum += x;
            }
            mass_all += mass;
        }
        let lead = before_group.iter().copied().fold(sifted.unknown, f64::max);
        // One check alone often cannot lift a stop that is there for caution only; two or three can.
        let (action, loss) = stakes.best(&before_truth);
        let cautious = action.use_ == Use::Stop && dangerous < 0.5 * mass_all;
        let settles = if cautious {
            doubt(dangerous, mass_all) - doubt_after
        } else {
            0.0
        };
        let before = loss + WRONG_NAME * (mass_all - lead);
        let worth = (before - after + NEEDLESS_STOP * settles) / check.minutes;
        if worth > WORTH_A_MINUTE && best.as_ref().is_none_or(|b| worth > b.worth) {
            best = Some(Proposed {
                check: c,
                worth,
                results,
            });
        }
    }
    best
}

/// How undecided it is whether there is danger: `2 p (1 − p)` of a mass.
fn doubt(dangerous: f64, mass: f64) -> f64 {
    if mass > 0.0 {
        2.0 * dangerous * (1.0 - dangerous / mass)
    } else {
        0.0
    }
}

/// The check that a proposal names.
pub(crate) fn check_of<'s>(study: &'s Study<'_>, proposed: &Proposed) -> &'s Check {
    &study.checks[proposed.check]
}
