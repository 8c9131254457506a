//! All causes weighed coarsely, the plausible ones again with more worlds, the leading ones with many.
//!
//! Every single fault and every pair of faults takes part in the first round. A round keeps what could still matter:
//! causes within a margin of log weight below the best, at most so many. What a round drops keeps the weight it had.

use crate::answer::Work;
use crate::causes::{self, Cause};
use crate::engine::{Care, Weighed, weigh};
use crate::likelihood::{Slips, ln_add};
use crate::settle::weigh_well;
use crate::study::Study;

/// A cause with its posterior.
#[derive(Clone, Debug)]
pub(crate) struct Held {
    pub cause: Cause,
    /// Log of prior times evidence.
    pub ln_weight: f64,
    /// Posterior probability.
    pub probability: f64,
    /// Posterior over the steps of its faults: index `3 · step of the first + step of the second`.
    pub by_step: [f64; 9],
    /// Posterior mean of the log severity of each fault.
    pub ln_severity: [f64; 2],
}

/// What the sieve leaves.
pub(crate) struct Sifted {
    /// Causes, most probable first.
    pub held: Vec<Held>,
    /// Probability of something that is not in the catalogue.
    pub unknown: f64,
    pub work: Work,
}

/// Prior weight of a cause outside the catalogue, relative to "nothing wrong". Judgement.
pub(crate) const UNKNOWN_PRIOR: f64 = 1e-2;

struct Round {
    worlds: usize,
    smoothing: f64,
    slips: Slips,
    margin: f64,
    most: usize,
}

const FIRST: Round = Round {
    worlds: 8,
    smoothing: 0.7,
    slips: Slips::Worst,
    margin: 14.0,
    most: 240,
};
const SECOND: Round = Round {
    worlds: 192,
    smoothing: 0.1,
    slips: Slips::Each,
    margin: 6.0,
    most: 20,
};
const LAST: Round = Round {
    worlds: 1536,
    smoothing: 0.0,
    slips: Slips::Each,
    margin: f64::INFINITY,
    most: 48,
};

/// Weighs every cause of a study.
pub(crate) fn sift(study: &mut Study<'_>) -> Sifted {
    let mut work = Work::default();
    let tt = std::time::Instant::now();
    let n = study.singles.len();
    let mut pool: Vec<Cause> = vec![Cause::none()];
    pool.extend((0..n).map(|i| Cause {
        faults: [Some(i as u32), None],
        ln_prior: study.singles[i].ln_odds,
        merged: None,
    }));
    // On large sites only singles that are not hopeless make pairs.
    let mut partners: Vec<usize> = (0..n).collect();
    if n > MOST_PARTNERS {
        let (ranked, w) = round(study, pool.clone(), &FIRST);
        work.add(&w);
        partners = ranked
            .iter()
            .filter_map(|h| h.cause.faults[0])
            .map(|i| i as usize)
            .take(MOST_PARTNERS)
            .collect();
        partners.sort_unstable();
    }
    for (k, i) in partners.iter().enumerate() {
        for j in &partners[k + 1..] {
            let pair = causes::pair(&study.wiring, &study.singles, *i, *j, &mut study.spots);
            pool.extend(pair);
        }
    }
    work.causes = pool.len() as u64 + 1;
    if std::env::var("TALK").is_ok() {
        eprintln!(
            "STAGE pool {:.1} ms, spots {}, singles {}, conditions {}, probes {:?}",
            tt.elapsed().as_secs_f64() * 1e3,
            study.spots.list().len(),
            n,
            study.conditions.len(),
            study.n_probes
        );
    }
    let mut settled: Vec<Held> = Vec::new();
    for this in [&FIRST, &SECOND, &LAST] {
        let t0 = std::time::Instant::now();
        let np = pool.len();
        let (ranked, w) = round(study, pool, this);
        if std::env::var("TALK").is_ok() {
            eprintln!(
                "STAGE {} causes {np} {:.1} ms {:?}",
                this.worlds,
                t0.elapsed().as_secs_f64() * 1e3,
                w
            );
        }
        work.add(&w);
        let best = ranked.first().map_or(0.0, |h| h.ln_weight);
        // Single faults stay in any case: a pair is a guess about something that nobody asked about more often than not.
        let alone = |h: &Held| core::ptr::eq(this, &FIRST) && h.cause.len() < 2;
        let stay = |(k, h): &(usize, Held)| {
            (*k < this.most || alone(h)) && h.ln_weight > best - this.margin
        };
        if core::ptr::eq(this, &LAST) {
            settled.extend(ranked);
            break;
        }
        let (on, off): (Vec<_>, Vec<_>) = ranked.into_iter().enumerate().partition(stay);
        // The first round's weights are smoothed and too rough to keep.
        if !core::ptr::eq(this, &FIRST) {
            settled.extend(off.into_iter().map(|(_, h)| h));
        }
        pool = on.into_iter().map(|(_, h)| h.cause).collect();
        if pool.is_empty() {
            pool = vec![Cause::none()];
        }
    }
    let mut out = Sifted {
        held: settled,
        unknown: 0.0,
        work,
    };
    settle(&mut out, study);
    out
}

/// Turns log weights into probabilities, something outside the catalogue among them, and sorts.
pub(crate) fn settle(sifted: &mut Sifted, study: &Study<'_>) {
    let unknown = unknown_ln_weight(study);
    let total = sifted
        .held
        .iter()
        .fold(unknown, |sum, h| ln_add(sum, h.ln_weight));
    for h in &mut sifted.held {
        h.probability = (h.ln_weight - total).exp();
    }
    sifted
        .held
        .sort_by(|a, b| b.ln_weight.total_cmp(&a.ln_weight));
    sifted.unknown = (unknown - total).exp();
}

/// Singles that make pairs, at most.
const MOST_PARTNERS: usize = 260;

fn round(study: &Study<'_>, pool: Vec<Cause>, this: &Round) -> (Vec<Held>, Work) {
    let care = Care {
        worlds: this.worlds,
        smoothing: this.smoothing,
        slips: this.slips,
        seed: study.question.seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ this.worlds as u64,
    };
    if core::ptr::eq(this, &LAST) {
        let (mut held, work) = weigh_well(study, pool, care);
        held.sort_by(|a, b| b.ln_weight.total_cmp(&a.ln_weight));
        return (held, work);
    }
    let weighed = weigh(study, &pool, &[], care);
    let work = weighed.work;
    let mut held: Vec<Held> = pool
        .into_iter()
        .enumerate()
        .map(|(i, cause)| hold(study, cause, i, &weighed))
        .collect();
    held.sort_by(|a, b| b.ln_weight.total_cmp(&a.ln_weight));
    (held, work)
}

pub(crate) fn hold(study: &Study<'_>, cause: Cause, index: usize, weighed: &Weighed) -> Held {
    let ln_weight = cause.ln_prior + weighed.ln_evidence(index);
    let max = weighed
        .of(index)
        .flatten()
        .fold(f64::NEG_INFINITY, |m, x| m.max(*x));
    let mut by_step = [0.0; 9];
    let mut ln_severity = [0.0; 2];
    let mut total = 0.0;
    for (batch, lanes) in weighed.of(index).enumerate() {
        let severity = cause.faults.map(|f| {
            f.map(|i| {
                let severity = study.singles[i as usize].severity;
                let levels = weighed.worlds.levels(study.wiring.dims + i as usize, batch);
                levels.map(|u| severity.at(u))
            })
        });
        for k in 0..8 {
            let w = if max == f64::NEG_INFINITY {
                0.0
            } else {
                (lanes[k] - max).exp()
            };
            let mut at = [0usize; 2];
            for slot in 0..2 {
                if let (Some(s), Some(i)) = (severity[slot], cause.faults[slot]) {
                    let steps = study.singles[i as usize].fault.steps;
                    at[slot] = steps
                        .iter()
                        .rposition(|step| step.from <= s[k])
                        .unwrap_or(0)
                        .min(2);
                    ln_severity[slot] += w * s[k].max(1e-300).ln();
                }
            }
            by_step[3 * at[0] + at[1]] += w;
            total += w;
        }
    }
    if total > 0.0 {
        by_step.iter_mut().for_each(|p| *p /= total);
        ln_severity.iter_mut().for_each(|s| *s /= total);
    } else {
        by_step[0] = 1.0;
    }
    Held {
        cause,
        ln_weight,
        probability: 0.0,
        by_step,
        ln_severity,
    }
}

/// Log weight of something outside the catalogue: every reading anywhere, every observation as likely as not.
fn unknown_ln_weight(study: &Study<'_>) -> f64 {
    use crate::study::Claim;
    study.witnesses.iter().fold(UNKNOWN_PRIOR.ln(), |sum, w| {
        sum + match &w.claim {
            Claim::Volts(r) => study.readings.told[*r].ln_slip,
            Claim::Lamps(_) => (1.0f64 / 10.0).ln(),
            Claim::Detector(_) | Claim::Works(_) => 0.5f64.ln(),
            Claim::Felt => 0.02f64.ln(),
            Claim::Frequency(..) => 0.05f64.ln(),
            Claim::Sign(kind, at) => study.sign(*kind, *at, &Cause::none()).max(0.03).ln(),
            Claim::Reach(_) => 0.08f64.ln(),
            Claim::BreakerClosed(_) | Claim::SwitchOn(_) => 0.0,
        }
    })
}
