//! The last round: the causes that are left, each weighed until its log evidence is known well enough.
//!
//! All are weighed in the same worlds of the prior first. The leading ones whose standard error is still too large get
//! worlds pulled towards the readings (`pull`), as many as the first of them say are needed. Causes that have all faults
//! of such a leader are weighed in its first pulled worlds too: there `ln E(c) − ln E(leader)` is known much better than
//! either, so that of the rest of the worlds only the leader's share is needed. What leads and is still in doubt after
//! that gets a try of its own. Of the samples in which a cause was weighed, the one with the least standard error counts.

use rayon::prelude::*;

use crate::answer::Work;
use crate::causes::Cause;
use crate::engine::{Care, Weighed, weigh};
use crate::likelihood::ln_add;
use crate::pull::Pull;
use crate::sieve::{Held, hold};
use crate::slope::Moves;
use crate::study::Study;

/// What has to be known well.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Goal {
    /// Probabilities, as answers give them.
    Probability,
    /// The same, unless all causes together are far below this log evidence of another account of what was told: nothing
    /// is told of them then.
    Against(f64),
    /// The log evidence itself of whatever leads, as plain sampling is compared with.
    #[cfg(test)]
    Evidence,
}

/// Standard error of a probability that is enough. Judgement, as are the next two.
const SURE: f64 = 0.015;
/// Standard error of a log evidence that is too large in any case: few worlds speak, and they may be the wrong ones.
const VAGUE: f64 = 0.5;
/// Log weight below the best from which a cause is left as it is: a hundredth of its probability.
const FAR: f64 = 4.6;

impl Goal {
    /// Worlds pulled for one cause to begin with.
    fn first(self) -> usize {
        match self {
            Goal::Probability | Goal::Against(_) => 64,
            #[cfg(test)]
            Goal::Evidence => 256,
        }
    }

    /// Standard error of the log evidence that is enough for a cause `far` below the best in log weight, of probability p
    /// among all: of a probability it is `p (1 − p)` of that. `None` where any is.
    fn enough(self, far: f64, p: f64) -> Option<f64> {
        match self {
            _ if far > FAR => None,
            Goal::Probability | Goal::Against(_) => {
                Some((SURE / (p * (1.0 - p)).max(1e-9)).min(VAGUE))
            }
            #[cfg(test)]
            Goal::Evidence if far < 3.0 => Some(0.025),
            #[cfg(test)]
            Goal::Evidence => Some(0.1),
        }
    }

    /// Whether causes with this log evidence in the prior's worlds are worth more of them.
    fn is_open(self, ln_evidence: f64) -> bool {
        match self {
            Goal::Against(other) => ln_evidence > other - ROUGH,
            _ => true,
        }
    }
}

/// A ratio to a better known cause that is known as well as this is good enough.
const RATIO: f64 = 0.02;
/// What worlds of the prior alone may be wrong by in the log evidence of all causes, with much to spare: on simulated
/// visits up to some four.
const ROUGH: f64 = 12.0;
/// Causes that worlds are pulled for in one round, at most.
const MOST: usize = 8;
/// Worlds for one cause: all of a round at most, all of the second round at most.
const LAST: usize = 1536;
const AGAIN: usize = 4096;
/// Branches of all conditions' networks up to which that many are worth their time: two and a half branches of six
/// outlets. Larger ones get fewer, so that the time for a cause grows no faster than the networks.
const SMALL: f64 = 300.0;

/// Where a cause was weighed best so far.
#[derive(Clone, Copy)]
struct Best {
    sample: usize,
    index: usize,
    /// Log evidence and its standard error.
    ln: f64,
    error: f64,
}

/// Weighs causes well; as many as were given, in their order.
pub(crate) fn weigh_well(
    study: &Study<'_>,
    causes: Vec<Cause>,
    care: Care,
    goal: Goal,
) -> (Vec<Held>, Work) {
    let prior = weigh(study, &causes, &[], care);
    let mut work = prior.work;
    let first = |index: usize| {
        let mean = prior.mean(index);
        Best {
            sample: 0,
            index,
            ln: mean.ln,
            error: mean.error,
        }
    };
    let mut best: Vec<Best> = (0..causes.len()).map(first).collect();
    let mut samples = vec![prior];
    let mut moves = None;
    let weights = causes.iter().zip(&best).map(|(c, it)| c.ln_prior + it.ln);
    let ln_evidence = weights.fold(f64::NEG_INFINITY, ln_add);
    let rounds: &[bool] = match goal.is_open(ln_evidence) {
        true => &[false, true],
        false => &[],
    };
    for &again in rounds {
        let leaders = leaders(&causes, &best, goal, if again { 2.0 } else { 1.0 });
        if leaders.is_empty() {
            break;
        }
        if moves.is_none() {
            moves = Moves::of(study);
        }
        let Some(moves) = &moves else { break };
        let known = Known {
            study,
            moves,
            causes: &causes,
            best: &best,
            samples: &samples,
            care,
            goal,
        };
        let found: Vec<Found> = leaders
            .par_iter()
            .map(|(l, enough)| known.pull(*l, *enough, again))
            .collect();
        for found in found {
            work.add(&found.work);
            for (c, index, ln, error) in found.known {
                if error < best[c].error {
                    (best[c].ln, best[c].error) = (ln, error);
                    if let Some(index) = index {
                        (best[c].sample, best[c].index) = (samples.len(), index);
                    }
                }
            }
            samples.push(found.sample);
        }
    }
    let held = causes.into_par_iter().zip(&best).map(|(cause, best)| {
        let mut held = hold(study, cause, best.index, &samples[best.sample]);
        held.ln_weight = held.cause.ln_prior + best.ln;
        held.error = best.error;
        held
    });
    (held.collect(), work)
}

/// Causes that are not known well enough, with the standard error that would be; of those that have all faults of
/// another, only that one. The more `patient`, the more must be missing.
fn leaders(causes: &[Cause], best: &[Best], goal: Goal, patient: f64) -> Vec<(usize, f64)> {
    let weight = |c: usize| causes[c].ln_prior + best[c].ln;
    let mut order: Vec<usize> = (0..causes.len()).collect();
    order.sort_by(|a, b| weight(*b).total_cmp(&weight(*a)));
    let most = order.first().map_or(0.0, |c| weight(*c));
    let total: f64 = order.iter().map(|c| (weight(*c) - most).exp()).sum();
    let mut out: Vec<(usize, f64)> = Vec::new();
    for c in order {
        let far = most - weight(c);
        let Some(enough) = goal.enough(far, (-far).exp() / total) else {
            break;
        };
        let is_doubtful = best[c].error > patient * enough;
        if is_doubtful && !out.iter().any(|(l, _)| shares(&causes[*l], &causes[c])) {
            out.push((c, enough));
        }
        if out.len() == MOST {
            break;
        }
    }
    out
}

/// Whether a cause has every fault of another, which has some.
fn shares(of: &Cause, cause: &Cause) -> bool {
    let mut faults = of.faults.iter().flatten();
    !of.is_empty() && faults.all(|f| cause.faults.contains(&Some(*f)))
}

/// What is known before worlds are pulled.
struct Known<'k> {
    study: &'k Study<'k>,
    moves: &'k Moves,
    causes: &'k [Cause],
    best: &'k [Best],
    samples: &'k [Weighed],
    care: Care,
    goal: Goal,
}

/// A sample of some causes, and for each its number, its place in the sample if it is in it, log evidence and error.
struct Found {
    sample: Weighed,
    known: Vec<(usize, Option<usize>, f64, f64)>,
    work: Work,
}

impl Known<'_> {
    /// Worlds pulled for a leader; where there is nothing to pull, more of the prior's.
    fn pull(&self, leader: usize, enough: f64, again: bool) -> Found {
        let mut work = Work::default();
        let first = self.goal.first();
        let cause = &self.causes[leader];
        let at = &self.best[leader];
        let sample = &self.samples[at.sample];
        let pull = Pull::of(self.study, self.moves, cause, sample, at.index, &mut work);
        let seed = |nth: u64| {
            let own = (leader as u64 + 1) * 0x2545_F491 + 2 * u64::from(again) + nth;
            self.care.seed.wrapping_add(own)
        };
        // What shares the leader's faults is known as well as it where their ratio is; else it is weighed with it.
        let sharing = (0..self.causes.len()).filter(|c| {
            *c != leader && self.best[*c].error > RATIO && shares(cause, &self.causes[*c])
        });
        let ratio = |c: usize| self.samples[0].ln_ratio(c, leader);
        let (apart, along): (Vec<usize>, Vec<usize>) =
            sharing.partition(|c| pull.is_some() && ratio(*c).1 > RATIO);
        let conditions = self.study.conditions_seen(&[]).len();
        let branches = conditions * self.study.wiring.parts.len();
        let patience = (SMALL / branches as f64).min(1.0);
        let most = patience * if again { AGAIN } else { LAST } as f64;
        let needed = |variance: f64| (variance / (enough * enough)).min(most) as usize;
        // Variance that one world of the prior adds.
        let prior =
            self.samples[0].mean(leader).error.powi(2) * self.samples[0].worlds.len() as f64;
        let mut of_prior = || {
            let care = Care {
                worlds: needed(prior).max(first),
                seed: seed(0),
                ..self.care
            };
            let sample = weigh(self.study, core::slice::from_ref(cause), &[], care);
            work.add(&sample.work);
            sample
        };
        let (sample, leads) = match pull {
            None => {
                let sample = of_prior();
                let leads = sample.mean(0);
                (sample, leads)
            }
            Some(pull) => {
                let mut list = vec![cause];
                list.extend(apart.iter().map(|c| &self.causes[*c]));
                let mut sample = pull.weigh(self.study, self.moves, &list, first, seed(0));
                let mut leads = sample.mean(0);
                let pulled = leads.error.powi(2) * first as f64;
                let more = match needed(pulled).saturating_sub(first) {
                    // Pulling helped less than it costs.
                    _ if pulled > prior => {
                        let more = of_prior();
                        leads = more.mean(0);
                        None
                    }
                    0 => None,
                    n => Some(pull.weigh(self.study, self.moves, &list[..1], n, seed(1))),
                };
                work.add(&sample.work);
                if let Some(more) = more {
                    work.add(&more.work);
                    leads = sample.mean_with(0, &more);
                    if list.len() == 1 {
                        sample.join(&more);
                    }
                }
                (sample, leads)
            }
        };
        let mut known = vec![(leader, Some(0), leads.ln, leads.error)];
        for (i, c) in apart.iter().enumerate() {
            let (here, before) = (sample.ln_ratio(i + 1, 0), ratio(*c));
            let (ratio, doubt) = if here.1 < before.1 { here } else { before };
            known.push((*c, Some(i + 1), leads.ln + ratio, leads.error.hypot(doubt)));
        }
        for c in along {
            let (ratio, doubt) = ratio(c);
            known.push((c, None, leads.ln + ratio, leads.error.hypot(doubt)));
        }
        Found {
            sample,
            known,
            work,
        }
    }
}
