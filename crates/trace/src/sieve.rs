//! All causes weighed coarsely, the plausible ones again with more worlds, the leading ones with many.
//!
//! Every single fault and every pair of faults takes part in the first round. A round keeps what could still matter:
//! causes within a margin of log weight below the best, at most so many. What a round drops keeps the weight it had, or
//! its ratio to a cause that went on and shares a fault with it, `ln E(c) = ln E(d) + ln (E_r(c) / E_r(d))`, E_r in the
//! worlds of that round: where few worlds carry both, the ratio is known much better than either.

use std::collections::HashSet;

use chain::alter::Recipe;
use chain::worlds::{Worlds, level};
use rayon::prelude::*;

use crate::answer::Work;
use crate::causes::{self, Cause};
use crate::engine::{Care, Weighed, weigh, weigh_coarsely};
use crate::estimate::Estimate;
use crate::faults;
use crate::likelihood::Slips;
use crate::seeing::Lanes;
use crate::settle::{Goal, weigh_well};
use crate::study::Study;
use crate::unknown::Unknown;

/// A cause with its posterior.
#[derive(Clone, Debug)]
pub(crate) struct Held {
    pub cause: Cause,
    /// Its log evidence.
    pub evidence: Estimate,
    /// Posterior probability.
    pub probability: f64,
    /// Posterior over the steps of its faults: index `3 · step of the first + step of the second`.
    pub by_step: [f64; 9],
    /// Posterior mean of the log severity of each fault.
    pub ln_severity: [f64; 2],
    /// Eight severities of each fault that stand for its posterior: its quantiles at 1/16, 3/16, … 15/16.
    pub severities: [Lanes; 2],
}

impl Held {
    /// Log of prior times evidence.
    pub fn ln_weight(&self) -> f64 {
        self.cause.ln_prior + self.evidence.ln
    }
}

/// What the sieve leaves.
pub(crate) struct Sifted {
    /// Causes, most probable first.
    pub held: Vec<Held>,
    /// Probability of something that is not in the catalogue.
    pub unknown: f64,
    /// How it goes with what was told.
    pub of_unknown: Unknown,
    pub work: Work,
}

/// A round that leaves fewer causes.
struct Round {
    worlds: usize,
    smoothing: f64,
    slips: Slips,
    /// Log weight below the best at which a cause is dropped.
    margin: f64,
    /// Causes left, at most.
    most: usize,
}

/// The rounds. Few worlds carry few of the details that readings hang on, so readings are taken for less sure by part of
/// the worlds' own spread: 0.7 of it where there are eight worlds (the truth lies within one spread of the mean of
/// eight in about two of three cases, and then costs half a unit of log weight), less where more worlds tell more.
/// Margins are a few times what such a weight is wrong by: up to some seven units in the first round on the cases of
/// `brute`, three in the second, one in the third; a cause seven units below the best has a thousandth of its
/// probability. How many are left halves the work from round to round while worlds multiply: some 20 000 causes in 8
/// worlds, 240 in 64, 96 in 192, 20 in 512 and more.
const ROUNDS: [Round; 3] = [
    Round {
        worlds: 8,
        smoothing: 0.7,
        slips: Slips::Worst,
        margin: 14.0,
        most: 240,
    },
    Round {
        worlds: 64,
        smoothing: 0.3,
        slips: Slips::Each,
        margin: 10.0,
        most: 96,
    },
    Round {
        worlds: 192,
        smoothing: 0.15,
        slips: Slips::Each,
        margin: 7.0,
        most: 20,
    },
];

/// Worlds of the prior in the last round: where nothing told is sharp, most of them count, and the log evidence has a
/// standard error of `√(1/n − 1/512)`, 0.025 at n = 390; where that is not so, `settle` goes on.
const LAST: usize = 512;

/// Singles that make pairs, at most: some 34 000 pairs. A branch of six outlets has 214.
const MOST_PARTNERS: usize = 260;

/// Places that those change, at most, so that all pairs are weighed at once: what two change together comes on top.
const PARTNERS_SPOTS: usize = 300;

/// Where readings were taken under several conditions, each a network of its own, the first round hears the one most
/// was told under, and leaves this many causes within this margin to be heard under all: most pairs are hopeless by then,
/// and what only the others speak for stays with its prior. Judgement.
const HEARD: (usize, f64) = (4000, 22.0);

/// Weighs every cause of a study.
pub(crate) fn sift(study: &mut Study<'_>, goal: Goal) -> Sifted {
    let mut work = Work::default();
    let singles: Vec<usize> = (0..study.singles.len()).collect();
    let alone = |i: &usize| Cause {
        faults: [Some(*i as u32), None],
        ln_prior: study.singles[*i].ln_odds,
        merged: None,
        pinned: None,
    };
    let mut pool: Vec<Cause> = vec![Cause::none()];
    pool.extend(singles.iter().map(alone));
    // On large sites only singles that are not hopeless make pairs.
    let mut partners = singles;
    if partners.len() > MOST_PARTNERS {
        let weighed = weigh(study, &pool, &[], ROUNDS[0].care(study));
        work.add(&weighed.work);
        partners = Vec::new();
        let mut spots = HashSet::new();
        for (c, _) in ranked(&pool, &weighed) {
            if partners.len() == MOST_PARTNERS || spots.len() > PARTNERS_SPOTS {
                break;
            }
            spots.extend(study.recipes(&pool[c]).flat_map(Recipe::spots));
            partners.extend(pool[c].faults[0].map(|i| i as usize));
        }
        partners.sort_unstable();
        // The others have just been in their first round.
        let stays = |i: &u32| partners.binary_search(&(*i as usize)).is_ok();
        pool.retain(|c| c.faults[0].as_ref().is_none_or(stays));
    }
    let heard = study.conditions_seen(&[]);
    // All partners of one single side by side: their transfer impedances lie so too.
    for (k, j) in partners.iter().enumerate() {
        for i in &partners[..k] {
            let (wiring, singles) = (&study.wiring, &study.singles);
            pool.extend(causes::pair_heard(
                wiring,
                singles,
                *i,
                *j,
                &heard,
                &mut study.spots,
            ));
        }
    }
    let n_pairs = pool.iter().filter(|c| c.len() == 2).count();
    work.causes = (2 + study.singles.len() + n_pairs) as u64;
    if let Some(condition) = busiest(study) {
        let (most, margin) = HEARD;
        let care = ROUNDS[0].care(study);
        let weighed = weigh_coarsely(study, &pool, Some(condition), care, margin);
        work.add(&weighed.work);
        let ranked = ranked(&pool, &weighed);
        let best = ranked.first().map_or(0.0, |r| r.1);
        let stays = |(rank, r): (usize, &(usize, f64))| {
            pool[r.0].len() < 2 || rank < most && r.1 > best - margin
        };
        let kept = ranked
            .iter()
            .enumerate()
            .filter(|(rank, r)| stays((*rank, r)));
        pool = kept.map(|(_, r)| pool[r.0].clone()).collect();
    }
    let mut dropped: Vec<Dropped> = Vec::new();
    for (nth, round) in ROUNDS.iter().enumerate() {
        let weighed = match nth {
            0 => weigh_coarsely(study, &pool, None, round.care(study), round.margin),
            _ => weigh(study, &pool, &[], round.care(study)),
        };
        work.add(&weighed.work);
        let ranked = ranked(&pool, &weighed);
        let best = ranked.first().map_or(0.0, |r| r.1);
        // Single faults stay in the first round in any case: most pairs are guesses about something nobody asked about.
        let alone = |c: usize| nth == 0 && pool[c].len() < 2;
        let stays = |(rank, r): &(usize, &(usize, f64))| {
            (*rank < round.most || alone(r.0)) && r.1 > best - round.margin
        };
        // And where a pair stays, so do its faults alone: few worlds may carry it and miss them.
        let staying = ranked.iter().enumerate().filter(stays);
        let staying = staying.flat_map(|(_, r)| pool[r.0].faults);
        let staying: HashSet<u32> = staying.flatten().collect();
        let is_part = |c: usize| {
            let single = pool[c].faults[0].filter(|_| alone(c));
            single.is_some_and(|f| staying.contains(&f))
        };
        let (on, off): (Vec<_>, Vec<_>) = ranked
            .iter()
            .enumerate()
            .partition(|it| stays(it) || is_part(it.1.0));
        let mut taken: Vec<Option<Cause>> = pool.into_iter().map(Some).collect();
        let mut take = |c: usize| taken[c].take();
        pool = on.iter().filter_map(|(_, r)| take(r.0)).collect();
        if nth == 0 {
            for cause in &mut pool {
                let (wiring, singles) = (&study.wiring, &study.singles);
                causes::complete(wiring, singles, cause, &heard, &mut study.spots);
            }
        } else {
            // The first round's weights are smoothed and too rough to keep.
            let stay: Vec<(usize, &Cause)> = on.iter().map(|(_, r)| r.0).zip(&pool).collect();
            let off = off.iter().filter_map(|(_, r)| Some((r.0, take(r.0)?)));
            let off: Vec<(usize, Cause)> = off.collect();
            let study = &*study;
            let off = off.into_par_iter().map(|(c, cause)| Dropped {
                tie: tie(&weighed, (c, &cause), &stay),
                held: hold(study, cause, c, &weighed),
            });
            dropped.par_extend(off);
        }
        if pool.is_empty() {
            pool = vec![Cause::none()];
        }
    }
    let care = Care {
        worlds: LAST,
        smoothing: 0.0,
        slips: Slips::Each,
        seed: seed(study, LAST),
    };
    let (mut others, ties): (Vec<Held>, Vec<Option<Tie>>) =
        dropped.into_iter().map(|it| (it.held, it.tie)).unzip();
    let (mut held, more) = weigh_well(study, pool, &mut others, care, goal);
    // What was dropped last may be tied to what is known by now, what was dropped before that to it.
    for (mut it, tie) in others.into_iter().zip(ties).rev() {
        if let Some(tie) = tie
            && let Some(to) = held.iter().find(|h| h.cause.faults == tie.to)
        {
            let tied = to.evidence.plus(&tie.ln_ratio);
            (it.evidence, _) = it.evidence.pooled(&tied);
        }
        held.push(it);
    }
    work.add(&more);
    let mut out = Sifted {
        held,
        unknown: 0.0,
        of_unknown: Unknown::of(study),
        work,
    };
    settle(study, &mut out);
    out
}

/// A cause that a round dropped, and what its weight is tied to.
struct Dropped {
    held: Held,
    tie: Option<Tie>,
}

/// The ratio of a cause's evidence to another's.
#[derive(Clone, Copy)]
struct Tie {
    to: [Option<u32>; 2],
    ln_ratio: Estimate,
}

/// The cause that goes on and tells most about one that does not: with one of its faults less, or nothing wrong.
fn tie(weighed: &Weighed, (c, cause): (usize, &Cause), stay: &[(usize, &Cause)]) -> Option<Tie> {
    let parts = stay.iter().filter(|(_, d)| {
        d.len() < cause.len()
            && d.faults
                .iter()
                .flatten()
                .all(|f| cause.faults.contains(&Some(*f)))
    });
    let own = weighed.shares(c);
    let ties = parts.map(|(i, d)| Tie {
        to: d.faults,
        ln_ratio: own.ln_ratio_to(&weighed.shares(*i)),
    });
    ties.min_by(|a, b| a.ln_ratio.doubt().total_cmp(&b.ln_ratio.doubt()))
}

/// The condition most was witnessed under, where there are several.
fn busiest(study: &Study<'_>) -> Option<usize> {
    let conditions = study.conditions_seen(&[]);
    let n = |c: &usize| study.witnesses.iter().filter(|w| w.condition == *c).count();
    let most = conditions
        .iter()
        .copied()
        .max_by_key(|c| (n(c), core::cmp::Reverse(*c)));
    most.filter(|_| conditions.len() > 1)
}

impl Round {
    fn care(&self, study: &Study<'_>) -> Care {
        Care {
            worlds: self.worlds,
            smoothing: self.smoothing,
            slips: self.slips,
            seed: seed(study, self.worlds),
        }
    }
}

/// Each round has worlds of its own.
fn seed(study: &Study<'_>, worlds: usize) -> u64 {
    study.question.seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ worlds as u64
}

/// Causes by number with their log weights, heaviest first.
fn ranked(pool: &[Cause], weighed: &Weighed) -> Vec<(usize, f64)> {
    let weight = |(c, cause): (usize, &Cause)| (c, cause.ln_prior + weighed.ln_evidence(c));
    let mut out: Vec<(usize, f64)> = pool.par_iter().enumerate().map(weight).collect();
    out.par_sort_by(|a, b| b.1.total_cmp(&a.1));
    out
}

/// Turns log weights into probabilities, something outside the catalogue among them, and sorts.
///
/// A weight is known to within its standard error only, and of many the one that was lucky leads; and how often a fault
/// is met was guessed. So probabilities are the mean over draws of all weights and prevalences, `P(c) = E[w_c / Σ w]`,
/// `ln w_c ~ N(ln Ŵ_c − σ_c²/2 + Σ_f δ_f, σ_c²)`, `δ_f ~ N(−τ²/2, τ²)` for each fault f of the catalogue wherever it is, so that
/// a guess is the mean: of two causes that are told apart by how often they are met, neither is sure.
///
/// And the model is not the premises: in one draw of [`MISFIT`] the evidence counts for [`WORTH`] of itself only, `ln w_c −
/// (1 − κ) (ln E_c − max ln E)` (a likelihood raised to a power below one, as where a model is known to be wrong by little
/// and its evidence grows without limit: J. W. Miller and D. B. Dunson, Robust Bayesian inference via coarsening, J. Am.
/// Stat. Assoc. 114 (2019), from memory). Without it what led was given 0.97 and was true in 0.90 of simulated visits.
pub(crate) fn settle(study: &Study<'_>, sifted: &mut Sifted) {
    let singles = study.singles.iter();
    let kinds: Vec<usize> = singles
        .map(|s| {
            faults::ALL
                .iter()
                .position(|f| f.id == s.fault.id)
                .unwrap_or(0)
        })
        .collect();
    let held = &mut sifted.held;
    let ln_unknown = sifted.of_unknown.ln_weight;
    let most = held.iter().map(Held::ln_weight).fold(ln_unknown, f64::max);
    let unknown_evidence = sifted.of_unknown.ln_evidence();
    let evidences = held.iter().map(|h| h.evidence.ln);
    let most_evidence = evidences.fold(unknown_evidence, f64::max);
    // What is further below has no part in any draw.
    let counts = |h: &Held| h.ln_weight() > most - HOPELESS;
    let n_kinds = faults::ALL.len();
    let scores = Worlds::draw(n_kinds + 1 + held.len(), DRAWS, 0x5E77);
    let drawn = |nth: usize| -> (Vec<f64>, f64) {
        let score = |dim: usize| scores.all(dim)[nth];
        let guess = |kind: usize| GUESSED * (score(kind) - 0.5 * GUESSED);
        let worth = if nth.is_multiple_of(MISFIT) {
            WORTH
        } else {
            1.0
        };
        let less = |evidence: f64| (worth - 1.0) * (evidence - most_evidence);
        let unknown = ln_unknown + guess(n_kinds) + less(unknown_evidence);
        let ln = held.iter().zip(n_kinds + 1..).map(|(h, dim)| {
            if !counts(h) {
                return f64::NEG_INFINITY;
            }
            let faults = h.cause.faults.iter().flatten();
            let guesses: f64 = faults.map(|i| guess(kinds[*i as usize])).sum();
            let doubt = h.evidence.doubt().min(VAGUE);
            let drawn = h.ln_weight() + doubt * (score(dim) - 0.5 * doubt);
            drawn + guesses + less(h.evidence.ln)
        });
        let mut ln: Vec<f64> = ln.collect();
        let high = ln.iter().copied().fold(unknown, f64::max);
        let unknown = (unknown - high).exp();
        ln.iter_mut().for_each(|ln| *ln = (*ln - high).exp());
        let total = unknown + ln.iter().sum::<f64>();
        ln.iter_mut().for_each(|p| *p /= total);
        (ln, unknown / total)
    };
    let draws: Vec<(Vec<f64>, f64)> = (0..DRAWS).into_par_iter().map(drawn).collect();
    for (nth, h) in held.iter_mut().enumerate() {
        h.probability = draws.iter().map(|d| d.0[nth]).sum::<f64>() / DRAWS as f64;
    }
    let unknown = draws.iter().map(|d| d.1).sum::<f64>() / DRAWS as f64;
    held.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    sifted.unknown = unknown;
}

/// Standard deviation of the logarithm of a guessed prevalence: within a factor of three, two times in three. Judgement.
const GUESSED: f64 = 1.1;
/// In one draw of so many the evidence is worth this share of itself. Judgement, after `proof calibration`.
const MISFIT: usize = 16;
const WORTH: f64 = 1.0 / 3.0;
/// Log weight below the best from which a cause is hopeless: a draw lifts it by some twelve at most.
const HOPELESS: f64 = 30.0;
/// Draws of all weights.
const DRAWS: usize = 128;
/// Largest deviation taken of a log weight. Judgement.
const VAGUE: f64 = 2.0;

/// In each of eight worlds: which steps a cause's faults are at, `3 · step of the first + step of the second`.
pub(crate) fn cells(study: &Study<'_>, cause: &Cause, worlds: &Worlds, batch: usize) -> [usize; 8] {
    let severities = study.severities(cause, worlds, batch);
    core::array::from_fn(|k| {
        let step = |slot: usize| {
            let Some(i) = cause.faults[slot] else {
                return 0;
            };
            let steps = study.singles[i as usize].fault.steps.iter();
            let reached = steps
                .take(3)
                .filter(|step| step.from <= severities[slot][k]);
            reached.count().saturating_sub(1)
        };
        3 * step(0) + step(1)
    })
}

/// A cause with what a sample says of it.
pub(crate) fn hold(study: &Study<'_>, cause: Cause, index: usize, weighed: &Weighed) -> Held {
    let max = weighed
        .of(index)
        .flatten()
        .fold(f64::NEG_INFINITY, |m, x| m.max(*x));
    let mut by_step = [0.0; 9];
    let mut ln_severity = [0.0; 2];
    let mut total = 0.0;
    for (batch, lanes) in weighed.of(index).enumerate() {
        let severities = study.severities(&cause, &weighed.worlds, batch);
        let cells = cells(study, &cause, &weighed.worlds, batch);
        for k in 0..8 {
            let w = if max == f64::NEG_INFINITY {
                0.0
            } else {
                (lanes[k] - max).exp()
            };
            for (slot, sum) in ln_severity.iter_mut().enumerate() {
                if cause.faults[slot].is_some() {
                    *sum += w * severities[slot][k].max(1e-300).ln();
                }
            }
            by_step[cells[k]] += w;
            total += w;
        }
    }
    if total > 0.0 {
        by_step.iter_mut().for_each(|p| *p /= total);
        ln_severity.iter_mut().for_each(|s| *s /= total);
    } else {
        by_step[0] = 1.0;
    }
    let severities = [0, 1].map(|slot| quantiles(study, &cause, slot, index, weighed));
    Held {
        severities,
        cause,
        evidence: weighed.mean(index),
        probability: 0.0,
        by_step,
        ln_severity,
    }
}

/// Quantiles of the posterior of how bad one of a cause's faults is.
fn quantiles(
    study: &Study<'_>,
    cause: &Cause,
    slot: usize,
    index: usize,
    weighed: &Weighed,
) -> Lanes {
    let Some(i) = cause.faults[slot] else {
        return [0.0; 8];
    };
    let ln = weighed.all(index);
    let max = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let scores = weighed.worlds.all(study.wiring.dims + i as usize);
    let mut all: Vec<(f64, f64)> = scores
        .iter()
        .zip(ln)
        .map(|(z, ln)| (*z, (ln - max).exp()))
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = all.iter().map(|(_, w)| w).sum();
    let severity = study.singles[i as usize].severity;
    let (mut at, mut sum) = (0, 0.0);
    core::array::from_fn(|k| {
        let until = total * (k as f64 + 0.5) / 8.0;
        while at + 1 < all.len() && sum + all[at].1 < until {
            sum += all[at].1;
            at += 1;
        }
        severity.at(level(all[at].0))
    })
}

#[cfg(test)]
mod tests {
    use site::region::Region;
    use site::visit::Skill;

    use super::*;
    use crate::Question;
    use crate::estimate::Estimate;

    /// Two causes, 12 nats of evidence apart and of equal prior: nearly all that is left to the second comes from the draws in
    /// which the evidence counts for less, `P ≈ e^(−12 κ) / 16`; of eight such draws of a guessed prevalence that is good to a
    /// factor of three. Were the evidence always worth all of itself it would be 6e-6.
    #[test]
    fn exact_evidence_counts_for_less_now_and_then() {
        let region = Region::find("north-america").expect("a region of the project");
        let line = "desk: H-N 119 V, N-G 0.4 V";
        let (site, visit) = site::quick::quick(line, region).unwrap_or_else(|it| panic!("{it}"));
        let question = Question {
            site: &site,
            visit: &visit,
            skill: Skill::Technician,
            seed: 1,
        };
        let mut study = Study::of(question, question.visit);
        let mut sifted = sift(&mut study, Goal::Probability);
        sifted.held.truncate(2);
        sifted.of_unknown.ln_weight = -1e3;
        for (held, ln) in sifted.held.iter_mut().zip([-20.0, -32.0]) {
            held.cause.ln_prior = 0.0;
            held.evidence = Estimate {
                ln,
                error: 0.0,
                unsure: 0.0,
            };
        }
        settle(&study, &mut sifted);
        let second = sifted.held[1].probability;
        let want = (-12.0 * WORTH).exp() / MISFIT as f64;
        assert!(
            second > want / 3.0 && second < 3.0 * want,
            "{second} for {want}"
        );
    }
}
