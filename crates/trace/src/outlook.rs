//! What the sieve leaves, put into groups that no check tells apart, with what could be true and what to do.
//!
//! A fault that changes nothing at the outlets asked about, neither what was read there nor what else could be seen, is
//! no part of the answer: its cause counts as the one without it, so that hidden faults elsewhere, which nobody asked
//! about, neither dilute the causes nor raise an alarm. What people notice at an outlet (old wiring, dimming) does not
//! count for a fault that nothing at that outlet would show, another leg's say: however well it would go with it, it is
//! elsewhere. Where no outlet was asked about, all of them were.

use crate::causes::Cause;
use crate::decide::{SOUND, Stakes, Truth, UNKNOWN};
use crate::forecast::{Forecast, forecasts};
use crate::next::{Item, Outside, Proposed, propose};
use crate::sieve::{Held, Sifted, hold};
use crate::study::{Claim, Study};

/// Below this total variation over all checks, two causes are one group. Judgement, as are the next two.
const SAME: f64 = 0.3;
/// Below this total variation over the checks at the outlets asked about, and this difference of log evidence, a fault
/// changes nothing there.
const SAME_HERE: f64 = 0.12;
const SAME_EVIDENCE: f64 = 0.5;
/// How much more a danger counts than a trifle of the same probability when causes are picked to look ahead at. Judgement.
const DANGER_COUNTS: f64 = 20.0;
/// Causes looked at closely here, and worlds for it; those of them looked ahead at over all checks, and worlds.
const HERE: (usize, usize) = (200, 24);
const AHEAD: (usize, usize) = (64, 48);

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

/// Groups the causes, weighs the actions and picks the next check. Causes without which a held one cannot be told may be
/// added to the sieve's list, with probability zero of their own.
pub(crate) fn look_ahead(study: &Study<'_>, sifted: &mut Sifted) -> Outlook {
    let n = sifted.held.len().min(HERE.0);
    by_stake(study, sifted, n);
    let (stands, mut work) = stands(study, sifted, n);
    let mut mass = vec![0.0; sifted.held.len()];
    for (held, stand) in sifted.held.iter().zip(&stands) {
        mass[*stand] += held.probability;
    }

    // What stands for itself and others is looked ahead at, the most at stake first.
    let stake = |i: usize| mass[i] * (1.0 + DANGER_COUNTS * danger(study, &sifted.held[i]));
    let mut ahead: Vec<usize> = (0..mass.len()).filter(|i| mass[*i] > 0.0).collect();
    ahead.sort_by(|a, b| stake(*b).total_cmp(&stake(*a)));
    ahead.truncate(AHEAD.0);
    ahead.sort_by(|a, b| mass[*b].total_cmp(&mass[*a]));
    let mut causes: Vec<Cause> = ahead.iter().map(|i| pinned(&sifted.held[*i])).collect();
    let sound = causes.iter().position(Cause::is_empty);
    let sound = sound.unwrap_or_else(|| {
        causes.push(Cause::none());
        causes.len() - 1
    });
    let checks: Vec<usize> = (0..study.checks.len()).collect();
    let seen = forecasts(study, &causes, &checks, AHEAD.1);
    work.add(&seen.weighed.work);

    let (groups, group_of) = groups(sifted, &stands, &ahead, &seen.each);
    let mut stakes = Stakes::default();
    let unknown = stakes.truth(UNKNOWN);
    let mut weights = Vec::new();
    let mut cells: Vec<Vec<(usize, usize, f64)>> = vec![Vec::new(); mass.len()];
    for (i, mass) in mass.iter().enumerate().filter(|(_, m)| **m > 0.0) {
        for (cell, truth, p) in truths(study, &sifted.held[i]) {
            let t = stakes.truth(truth);
            cells[i].push((cell, t, p));
            weights.resize(stakes.truths.len(), 0.0);
            weights[t] += p * mass;
        }
    }
    weights.resize(stakes.truths.len(), 0.0);
    weights[unknown] += sifted.unknown;
    stakes.settle();

    let mut items = Vec::new();
    for (i, forecast) in ahead.iter().zip(&seen.each) {
        for (cell, truth, p) in &cells[*i] {
            items.push(Item {
                probability: p * mass[*i],
                truth: *truth,
                group: group_of[*i],
                cell: *cell,
                forecast,
            });
        }
    }
    let next = propose(
        study,
        &items,
        &Outside {
            probability: sifted.unknown,
            truth: unknown,
            shows: sifted.of_unknown.forecast(study, &seen.each[sound].whole),
        },
        &stakes,
        groups.len(),
    );
    Outlook {
        groups,
        stakes,
        weights,
        next,
        work,
    }
}

/// How likely harm to somebody is under a held cause.
fn danger(study: &Study<'_>, held: &Held) -> f64 {
    let truths = truths(study, held).into_iter();
    truths
        .filter(|(_, t, _)| t.is_danger())
        .map(|(_, t, p)| p * (t.harm.shock + t.harm.fire))
        .sum()
}

/// Puts the n causes with the most at stake first, the most probable leading: a rare danger is looked at before a
/// likelier trifle.
fn by_stake(study: &Study<'_>, sifted: &mut Sifted, n: usize) {
    let stake = |h: &Held| h.probability * (1.0 + DANGER_COUNTS * danger(study, h));
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

/// By held cause: which one stands for it, itself or the part of it that matters at the outlets asked about. Of what is
/// not among the first n, the part that what was told does not speak against.
fn stands(study: &Study<'_>, sifted: &mut Sifted, n: usize) -> (Vec<usize>, crate::answer::Work) {
    let mut causes: Vec<Cause> = sifted.held[..n].iter().map(pinned).collect();
    for i in 0..n {
        for part in parts(study, &causes[i]) {
            if !causes.iter().any(|c| c.faults == part.faults) {
                causes.push(part);
            }
        }
    }
    let asked = study.asked_about();
    let is_near = |c: &usize| asked.is_empty() || study.is_near(study.checks[*c].kind, &asked);
    let near: Vec<usize> = (0..study.checks.len()).filter(is_near).collect();
    let seen = forecasts(study, &causes, &near, HERE.1);
    // Places in the sieve's list; parts that are not in it join it where one stands for another.
    let mut place: Vec<Option<usize>> = (0..causes.len())
        .map(|i| {
            let same = |h: &Held| h.cause.faults == causes[i].faults;
            if i < n {
                Some(i)
            } else {
                sifted.held.iter().position(same)
            }
        })
        .collect();
    let mut out: Vec<usize> = (0..sifted.held.len()).collect();
    for (i, stand) in out.iter_mut().enumerate().take(n) {
        let full = seen.weighed.ln_evidence(i);
        let part = parts(study, &causes[i]).iter().find_map(|part| {
            let j = causes.iter().position(|c| c.faults == part.faults)?;
            let more = full - seen.weighed.ln_evidence(j) - by_signs(study, &causes[i], part);
            let same = more.abs() < SAME_EVIDENCE && seen.each[i].apart(&seen.each[j]) < SAME_HERE;
            same.then_some(j)
        });
        if let Some(j) = part {
            *stand = *place[j].get_or_insert_with(|| {
                let mut joins = hold(study, causes[j].clone(), j, &seen.weighed);
                joins.cause.pinned = None;
                sifted.held.push(joins);
                sifted.held.len() - 1
            });
        }
    }
    out.extend(out.len()..sifted.held.len());
    for i in n..out.len() {
        let held = &sifted.held[i];
        let part = parts(study, &held.cause).iter().find_map(|part| {
            let same = |h: &Held| h.cause.faults == part.faults;
            let at = sifted.held.iter().position(same)?;
            (held.evidence.ln - sifted.held[at].evidence.ln < SAME_EVIDENCE).then_some(at)
        });
        if let Some(at) = part {
            out[i] = out[at];
        }
    }
    // What stands for one may itself be stood for.
    for i in 0..out.len() {
        while out[out[i]] != out[i] {
            out[i] = out[out[i]];
        }
    }
    (out, seen.weighed.work)
}

/// Of the log evidence that a cause has more than a part of it, what it owes to signs noticed at outlets.
fn by_signs(study: &Study<'_>, cause: &Cause, part: &Cause) -> f64 {
    let signs = study.witnesses.iter().filter_map(|w| match w.claim {
        Claim::Sign(kind, at) if w.outlet.is_some() => Some((kind, at)),
        _ => None,
    });
    signs
        .map(|(kind, at)| (study.sign(kind, at, cause) / study.sign(kind, at, part)).ln())
        .sum()
}

/// A held cause as bad as it is by what was told, so that few worlds tell what else it would show.
fn pinned(held: &Held) -> Cause {
    Cause {
        pinned: Some(Box::new(held.severities)),
        ..held.cause.clone()
    }
}

/// The causes that a cause becomes without one or both of its faults, fewest first.
fn parts(study: &Study<'_>, cause: &Cause) -> Vec<Cause> {
    let mut out = Vec::new();
    if !cause.is_empty() {
        out.push(Cause::none());
    }
    if cause.len() == 2 {
        for (slot, i) in cause.faults.iter().enumerate() {
            let Some(i) = i else { continue };
            let pinned = cause.pinned.as_ref().map(|p| Box::new([p[slot], [0.0; 8]]));
            out.push(Cause {
                faults: [Some(*i), None],
                ln_prior: study.singles[*i as usize].ln_odds,
                merged: None,
                pinned,
            });
        }
    }
    out
}

/// Groups, most probable first, and by held cause that stands for any: its group. What was not looked ahead at is a group
/// by itself.
fn groups(
    sifted: &Sifted,
    stands: &[usize],
    ahead: &[usize],
    seen: &[Forecast],
) -> (Vec<Grouped>, Vec<usize>) {
    let mut groups: Vec<Grouped> = Vec::new();
    let mut leads: Vec<usize> = Vec::new();
    let mut group_of: Vec<Option<usize>> = vec![None; stands.len()];
    let single = |i: usize| Grouped {
        members: vec![i],
        probability: 0.0,
    };
    for (f, i) in ahead.iter().enumerate() {
        let found = leads
            .iter()
            .position(|lead| seen[f].apart(&seen[*lead]) < SAME);
        match found {
            Some(g) => groups[g].members.push(*i),
            None => {
                groups.push(single(*i));
                leads.push(f);
            }
        }
        group_of[*i] = found.or(Some(groups.len() - 1));
    }
    for (i, stand) in stands.iter().enumerate() {
        let g = *group_of[*stand].get_or_insert_with(|| {
            groups.push(single(*stand));
            groups.len() - 1
        });
        groups[g].probability += sifted.held[i].probability;
        if !groups[g].members.contains(&i) {
            groups[g].members.push(i);
        }
    }
    let mut sorted: Vec<usize> = (0..groups.len()).collect();
    sorted.sort_by(|a, b| groups[*b].probability.total_cmp(&groups[*a].probability));
    let mut rank = vec![0; groups.len()];
    for (r, g) in sorted.iter().enumerate() {
        rank[*g] = r;
    }
    let groups = sorted.into_iter().map(|g| groups[g].clone()).collect();
    let group_of = group_of.into_iter().map(|g| g.map_or(0, |g| rank[g]));
    (groups, group_of.collect())
}

/// What may be true if this cause is: by the steps of its faults, as `Held::by_step` counts them.
pub(crate) fn truths(study: &Study<'_>, held: &Held) -> Vec<(usize, Truth, f64)> {
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
        out.push((cell, truth, *p));
    }
    out
}
