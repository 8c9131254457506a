//! The last round: the causes that are left, each weighed until its log evidence is known well enough.
//!
//! All are weighed in the same worlds of the prior first. The leading ones whose standard error is still too large get
//! worlds pulled towards the readings (`pull`), as many as the first of them say are needed. Whatever else could matter is
//! weighed in its first pulled worlds too, of what the sieve dropped what has all its faults or is part of it: there
//! `ln E(c) − ln E(leader)` is known much better than either, so that of the rest of the worlds only the leader's share is
//! needed. What leads and is still in doubt after that gets a try of its own. What several samples say of a cause is pooled
//! (`Estimate::pooled`).

use rayon::prelude::*;

use crate::answer::Work;
use crate::causes::Cause;
use crate::engine::{Care, Weighed, weigh, weigh_beside};
use crate::estimate::Estimate;
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

    /// Worlds for one cause at most: in the first round, in the second.
    fn most(self) -> [usize; 2] {
        match self {
            Goal::Probability | Goal::Against(_) => [512, 1024],
            #[cfg(test)]
            Goal::Evidence => [1536, 4096],
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
/// Standard error of the log evidence from which a cause that was dropped is weighed beside one that it shares a fault with.
const DOUBTFUL: f64 = 0.15;
/// What worlds of the prior alone may be wrong by in the log evidence of all causes, with much to spare: on simulated
/// visits up to some four.
const ROUGH: f64 = 12.0;
/// Causes that worlds are pulled for in one round, at most.
const MOST: usize = 8;
/// Branches of all conditions' networks up to which that many are worth their time: two and a half branches of six
/// outlets. Larger ones get fewer, so that the time for a cause grows no faster than the networks.
const SMALL: f64 = 300.0;

/// Where a cause was weighed best so far.
#[derive(Clone, Copy)]
struct Best {
    sample: usize,
    index: usize,
    evidence: Estimate,
}

/// Weighs causes well; as many as were given, in their order. What is known of others, their log evidence and its standard
/// error, is improved where they share a fault with what leads and could matter.
pub(crate) fn weigh_well(
    study: &Study<'_>,
    causes: Vec<Cause>,
    others: &mut [Held],
    care: Care,
    goal: Goal,
) -> (Vec<Held>, Work) {
    let prior = weigh(study, &causes, &[], care);
    let mut work = prior.work;
    let first = |index: usize| Best {
        sample: 0,
        index,
        evidence: prior.mean(index),
    };
    let mut best: Vec<Best> = (0..causes.len()).map(first).collect();
    let mut samples = vec![prior];
    let mut moves = None;
    let fold = |best: &[Best], with: fn(f64, f64) -> f64| {
        let weights = causes.iter().zip(best);
        let weights = weights.map(|(c, it)| c.ln_prior + it.evidence.ln);
        weights.fold(f64::NEG_INFINITY, with)
    };
    let ln_evidence = fold(&best, ln_add);
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
            most: fold(&best, f64::max),
            others,
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
            let at = samples.len();
            let leader = core::iter::once((&found.leader, at));
            for (it, sample) in leader.chain(found.known.iter().map(|it| (it, at + 1))) {
                let best = &mut best[it.cause];
                let (pooled, leads) = best.evidence.pooled(&it.evidence);
                best.evidence = pooled;
                if let Some(index) = it.index.filter(|_| leads) {
                    (best.sample, best.index) = (sample, index);
                }
            }
            for it in found.others {
                let other = &mut others[it.cause];
                let (pooled, leads) = other.evidence.pooled(&it.evidence);
                if let (true, Some(index), Some(sample)) = (leads, it.index, &found.in_same) {
                    *other = hold(study, other.cause.clone(), index, sample);
                }
                other.evidence = pooled;
            }
            samples.push(found.sample);
            samples.extend(found.in_same);
        }
    }
    let held = causes.into_par_iter().zip(&best).map(|(cause, best)| {
        let mut held = hold(study, cause, best.index, &samples[best.sample]);
        held.evidence = best.evidence;
        held
    });
    (held.collect(), work)
}

/// Causes that are not known well enough, with the standard error that would be; of those that have all faults of
/// another, only that one. The more `patient`, the more must be missing.
fn leaders(causes: &[Cause], best: &[Best], goal: Goal, patient: f64) -> Vec<(usize, f64)> {
    let weight = |c: usize| causes[c].ln_prior + best[c].evidence.ln;
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
        let is_doubtful = best[c].evidence.error > patient * enough;
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
    !of.is_empty() && is_part(of, cause)
}

/// Whether a cause has every fault of another.
fn is_part(of: &Cause, cause: &Cause) -> bool {
    let mut faults = of.faults.iter().flatten();
    faults.all(|f| cause.faults.contains(&Some(*f)))
}

/// What is known before worlds are pulled.
struct Known<'k> {
    study: &'k Study<'k>,
    moves: &'k Moves,
    causes: &'k [Cause],
    best: &'k [Best],
    /// The largest log weight among them.
    most: f64,
    others: &'k [Held],
    samples: &'k [Weighed],
    care: Care,
    goal: Goal,
}

/// What pulling for a leader gave.
struct Found {
    sample: Weighed,
    leader: Says,
    /// Others in the first worlds of that sample.
    in_same: Option<Weighed>,
    /// Of the causes, and of what the sieve dropped.
    known: Vec<Says>,
    others: Vec<Says>,
    work: Work,
}

/// What is found of one cause: its number, its place in a sample if it is in it, its log evidence.
struct Says {
    cause: usize,
    index: Option<usize>,
    evidence: Estimate,
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
        // What shares the leader's faults is known as well as it where their ratio is; else it is weighed beside it, and so
        // is whatever else could matter.
        let to_leader = self.samples[0].shares(leader);
        let ratio = |c: usize| self.samples[0].shares(c).ln_ratio_to(&to_leader);
        let open = |c: &usize| *c != leader && self.best[*c].evidence.doubt() > RATIO;
        let (sharing, strange): (Vec<usize>, Vec<usize>) = (0..self.causes.len())
            .filter(open)
            .partition(|c| shares(cause, &self.causes[*c]));
        let (mut beside, along): (Vec<usize>, Vec<usize>) = sharing
            .into_iter()
            .partition(|c| pull.is_some() && ratio(*c).doubt() > RATIO);
        let mut others = Vec::new();
        if pull.is_some() {
            let matters = |c: &usize| {
                let (it, evidence) = (&self.causes[*c], &self.best[*c].evidence);
                is_part(it, cause) || self.could_matter(it, evidence)
            };
            beside.extend(strange.into_iter().filter(matters));
            others.extend(self.others_with(cause, again));
        }
        let later: Vec<Cause> = beside
            .iter()
            .map(|c| &self.causes[*c])
            .chain(others.iter().map(|o| &self.others[*o].cause))
            .cloned()
            .collect();
        let conditions = self.study.conditions_seen(&[]).len();
        let branches = conditions * self.study.wiring.parts.len();
        let patience = (SMALL / branches as f64).min(1.0);
        let most = patience * self.goal.most()[usize::from(again)] as f64;
        let needed = |variance: f64| (variance / (enough * enough)).min(most) as usize;
        // Variance that one world of the prior adds.
        let prior =
            self.samples[0].mean(leader).error.powi(2) * self.samples[0].worlds.len() as f64;
        let of_prior = |work: &mut Work| {
            let care = Care {
                worlds: needed(prior).max(first),
                seed: seed(0),
                ..self.care
            };
            let sample = weigh(self.study, core::slice::from_ref(cause), &[], care);
            work.add(&sample.work);
            sample
        };
        let mut in_same = None;
        let mut evidence = Vec::new();
        let (sample, leads) = match pull {
            None => {
                let sample = of_prior(&mut work);
                let leads = sample.mean(0);
                (sample, leads)
            }
            Some(pull) => {
                let weigh = |n, seed| pull.weigh(self.study, self.moves, cause, &later, n, seed);
                let mut sample = weigh(first, seed(0));
                let mut leads = sample.mean(0);
                let to_leader = sample.shares(0);
                in_same = (!later.is_empty())
                    .then(|| weigh_beside(self.study, &later, &sample, self.care));
                let pulled = leads.error.powi(2) * first as f64;
                let helps = pulled <= prior;
                match needed(pulled).saturating_sub(first) {
                    // Pulling helped less than it costs.
                    _ if !helps => leads = of_prior(&mut work).mean(0),
                    0 => {}
                    n => {
                        sample.join(&weigh(n, seed(1)));
                        leads = sample.mean(0);
                    }
                }
                work.add(&sample.work);
                if let Some(beside) = &in_same {
                    work.add(&beside.work);
                    // In worlds that carry the leader badly its share in them says nothing.
                    evidence.extend((0..later.len()).map(|i| match helps {
                        true => leads.plus(&beside.shares(i).ln_ratio_to(&to_leader)),
                        false => beside.mean(i),
                    }));
                }
                (sample, leads)
            }
        };
        let says = |cause: usize, index: Option<usize>, evidence: &Estimate| Says {
            cause,
            index,
            evidence: *evidence,
        };
        let (of_beside, of_others) = evidence.split_at(beside.len());
        let mut known = Vec::new();
        for (i, (c, here)) in beside.iter().zip(of_beside).enumerate() {
            let before = leads.plus(&ratio(*c));
            let sharper = match here.doubt() < before.doubt() {
                true => here,
                false => &before,
            };
            known.push(says(*c, Some(i), sharper));
        }
        known.extend(
            along
                .iter()
                .map(|c| says(*c, None, &leads.plus(&ratio(*c)))),
        );
        let others = others.iter().zip(of_others).zip(beside.len()..);
        let others = others.map(|((o, evidence), i)| says(*o, Some(i), evidence));
        Found {
            others: others.collect(),
            leader: says(leader, Some(0), &leads),
            sample,
            known,
            in_same,
            work,
        }
    }

    /// Whether a cause may be near enough the most probable, as far as it is known.
    fn could_matter(&self, cause: &Cause, evidence: &Estimate) -> bool {
        cause.ln_prior + evidence.ln + 2.0 * evidence.doubt() > self.most - FAR
    }

    /// What the sieve dropped and is not known well: parts of a cause, and in the first round what has all its faults and
    /// could matter.
    fn others_with(&self, cause: &Cause, again: bool) -> impl Iterator<Item = usize> {
        let goes_with = move |other: &Held| {
            let has_all = !again && shares(cause, &other.cause);
            is_part(&other.cause, cause)
                || has_all && self.could_matter(&other.cause, &other.evidence)
        };
        let others = self.others.iter().enumerate();
        let others = others.filter(move |(_, o)| o.evidence.doubt() > DOUBTFUL && goes_with(o));
        others.map(|(i, _)| i)
    }
}
