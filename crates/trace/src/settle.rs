//! The last round: the causes that are left, each weighed until its log evidence is known well enough.
//!
//! All are weighed in the same worlds of the prior first. The leading ones whose standard error is still too large get
//! worlds pulled towards the readings (`pull`), in which every cause that shares their faults is weighed too; twice, so
//! that one that the first round of pulling left in doubt gets its own. Of the samples in which a cause was weighed, the
//! one with the least standard error counts.

use rayon::prelude::*;

use crate::answer::Work;
use crate::causes::Cause;
use crate::engine::{Care, Mean, Weighed, weigh};
use crate::pull::Pull;
use crate::sieve::{Held, hold};
use crate::slope::Moves;
use crate::study::Study;

/// Standard error of a log evidence that is enough: half of the 0.05 that answers are held to.
const ENOUGH: f64 = 0.025;
/// Causes this far in log weight below the best are not worth pulling worlds for: a twentieth of its probability.
const LEADING: f64 = 3.0;
/// Causes that worlds are pulled for in one round, at most.
const MOST: usize = 6;
/// Pulled worlds to begin with, and at most for one cause.
const FIRST: usize = 256;
const LAST: usize = 1536;

/// Where a cause was weighed best so far.
#[derive(Clone, Copy)]
struct Best {
    sample: usize,
    index: usize,
    mean: Mean,
}

/// Weighs causes well; as many as were given, in their order.
pub(crate) fn weigh_well(study: &Study<'_>, causes: Vec<Cause>, care: Care) -> (Vec<Held>, Work) {
    let prior = weigh(study, &causes, &[], care);
    let mut work = prior.work;
    let mut best: Vec<Best> = (0..causes.len())
        .map(|index| Best {
            sample: 0,
            index,
            mean: prior.mean(index),
        })
        .collect();
    let mut samples = vec![prior];
    let mut moves = None;
    for round in 0..2 {
        let leaders = leaders(&causes, &best, round);
        if leaders.is_empty() {
            break;
        }
        if moves.is_none() {
            moves = Moves::of(study);
        }
        let Some(moves) = &moves else { break };
        if std::env::var("TALK").is_ok() {
            for c in 0..causes.len().min(14) {
                let m = best[c].mean;
                eprintln!(
                    "   round {round} {:?} w {:.2} ln {:.3} eff {:.0} err {:.3} s{} {}",
                    causes[c].faults,
                    causes[c].ln_prior + m.ln,
                    m.ln,
                    m.effective,
                    m.error,
                    best[c].sample,
                    if leaders.contains(&c) { "*" } else { "" }
                );
            }
        }
        let pulled: Vec<(Vec<usize>, Weighed)> = leaders
            .par_iter()
            .filter_map(|l| pull(study, moves, &causes, &best, &samples, *l, care))
            .collect();
        for (members, weighed) in pulled {
            work.add(&weighed.work);
            for (index, c) in members.iter().enumerate() {
                let mean = weighed.mean(index);
                if mean.error < best[*c].mean.error {
                    best[*c] = Best {
                        sample: samples.len(),
                        index,
                        mean,
                    };
                }
            }
            samples.push(weighed);
        }
    }
    if std::env::var("TALK").is_ok() {
        for c in 0..causes.len().min(14) {
            let m = best[c].mean;
            eprintln!(
                "   end {:?} w {:.2} ln {:.3} eff {:.0} err {:.3} s{}",
                causes[c].faults,
                causes[c].ln_prior + m.ln,
                m.ln,
                m.effective,
                m.error,
                best[c].sample
            );
        }
    }
    let held = causes
        .into_iter()
        .zip(&best)
        .map(|(cause, best)| hold(study, cause, best.index, &samples[best.sample]));
    (held.collect(), work)
}

/// Leading causes that are not known well enough; of those that share all faults of another, only that one.
fn leaders(causes: &[Cause], best: &[Best], round: usize) -> Vec<usize> {
    let weight = |c: usize| causes[c].ln_prior + best[c].mean.ln;
    let mut order: Vec<usize> = (0..causes.len()).collect();
    order.sort_by(|a, b| weight(*b).total_cmp(&weight(*a)));
    let most = order.first().map_or(0.0, |c| weight(*c));
    let mut out: Vec<usize> = Vec::new();
    for c in order {
        if weight(c) < most - LEADING || out.len() == MOST {
            break;
        }
        // What was pulled already gets another try of its own only where it is still far off.
        let error = best[c].mean.error;
        let in_doubt = if round == 0 {
            error > ENOUGH
        } else {
            error > 2.0 * ENOUGH
        };
        if in_doubt && !out.iter().any(|l| shares(&causes[*l], &causes[c])) {
            out.push(c);
        }
    }
    out
}

/// Whether a cause has every fault of another, which has some.
fn shares(of: &Cause, cause: &Cause) -> bool {
    !of.is_empty()
        && of
            .faults
            .iter()
            .flatten()
            .all(|f| cause.faults.contains(&Some(*f)))
}

/// Worlds pulled for a leader: as many as the first of them say are needed.
fn pull(
    study: &Study<'_>,
    moves: &Moves,
    causes: &[Cause],
    best: &[Best],
    samples: &[Weighed],
    leader: usize,
    care: Care,
) -> Option<(Vec<usize>, Weighed)> {
    let mut work = Work::default();
    let known = &best[leader];
    let sample = &samples[known.sample];
    let pull = Pull::of(
        study,
        moves,
        &causes[leader],
        sample,
        known.index,
        &mut work,
    )?;
    let mut members = vec![leader];
    members.extend((0..causes.len()).filter(|c| {
        *c != leader && best[*c].mean.error > ENOUGH && shares(&causes[leader], &causes[*c])
    }));
    let list: Vec<&Cause> = members.iter().map(|c| &causes[*c]).collect();
    let seeded = |nth: u64| Care {
        seed: care
            .seed
            .wrapping_add((leader as u64 + 1) * 0x2545_F491 + nth),
        ..care
    };
    let mut out = pull.weigh(study, moves, &list, FIRST, seeded(1));
    let error = out.mean(0).error;
    let needed = (FIRST as f64 * (error / ENOUGH).powi(2)).min(LAST as f64) as usize;
    if needed > FIRST {
        out.join(&pull.weigh(study, moves, &list, needed - FIRST, seeded(2)));
    }
    if std::env::var("TALK").is_ok() {
        eprintln!(
            "  pulled {:?}: {} dims {:?} start {:?} n {} error first {:.3} then {:.3} eff {:.0}",
            causes[leader].faults,
            list.len(),
            pull.say(study),
            pull.start(),
            out.worlds.len(),
            error,
            out.mean(0).error,
            out.mean(0).effective
        );
    }
    out.work.add(&work);
    Some((members, out))
}
