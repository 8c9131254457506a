//! Worlds pulled towards what was told: importance sampling for the causes that lead.
//!
//! Where readings are sharp, few worlds of the prior carry a cause's evidence, most often because one or two unknowns,
//! its severity first, have to be just so. Let z_A be those unknowns, given all others of a world: there, a Gaussian
//! `q(z_A | others)` is fitted to the readings (`fit`: Gauss-Newton from one start, which does not depend on the world's
//! own z_A), a new z_A is drawn from the mixture `δ p + (1 − δ) q`, and the world weighs `ω = p / (δ p + (1 − δ) q)`. This
//! is exact whatever the fit is worth, and no world weighs more than `1/δ`.
//! States of loads and everything else stay as drawn; moving a few unknowns costs low-rank updates of the same factors.
//! Other causes that need the same unknowns just so are weighed in the same pulled worlds.
//! Source: Owen and Zhou 2000, defensive mixtures (from memory). Held by: `brute`.

use chain::worlds::Worlds;
use rayon::prelude::*;

use crate::answer::Work;
use crate::causes::Cause;
use crate::engine::{Care, Weighed};
use crate::fit::{Fit, telling};
use crate::likelihood::Slips;
use crate::look::Looked;
use crate::seeing::Lanes;
use crate::slope::{Eight, Moves, Scope, with_eight};
use crate::study::Study;

/// Part of the worlds that keep what the prior drew.
const KEPT: f64 = 0.15;
/// Unknowns pulled, at most. Each costs some four more updates a world; beyond five, what is left is seldom sharp.
const MOST_DIMS: usize = 5;
/// An unknown is worth pulling if the readings narrow it at least about to this: 1/√(1 + 0.8²) = 0.78 of its prior.
const LEAST: f64 = 0.8;
/// Furthest that one step moves an unknown, standard deviations.
const FURTHEST: f64 = 1.5;
/// Steps at most, and when a fit is near enough: what it would still move, in its own standard deviations.
const STEPS: usize = 6;
const NEAR: f64 = 0.5;

/// What is pulled for a cause, and from where.
#[derive(Clone, Debug)]
pub(crate) struct Pull {
    /// The unknowns.
    dims: Vec<usize>,
    /// Where every world's fit starts.
    start: Vec<f64>,
    /// The readings that are fitted: not one that is better taken for a slip.
    counts: Vec<usize>,
}

impl Pull {
    /// For a cause, by the eight worlds of a sample that carry it most; `None` where nothing is worth pulling.
    pub fn of(
        study: &Study<'_>,
        moves: &Moves,
        cause: &Cause,
        sample: &Weighed,
        index: usize,
        work: &mut Work,
    ) -> Option<Pull> {
        let ln = sample.all(index);
        let mut order: Vec<usize> = (0..ln.len()).collect();
        order.sort_by(|a, b| ln[*b].total_cmp(&ln[*a]));
        let top = &order[..8];
        if ln[top[0]] == f64::NEG_INFINITY {
            return None;
        }
        let dims = 0..sample.worlds.dims();
        let scores = dims.flat_map(|d| top.iter().map(move |at| sample.worlds.all(d)[*at]));
        let worlds = Worlds::of(8, scores.collect());
        let smooth = moves.smooth(study, cause);
        let scope = Scope {
            causes: &[cause],
            dims: &smooth,
        };
        with_eight(study, moves, &scope, &worlds, 0, |eight| {
            let mut seen = Looked::default();
            eight.look(cause, &worlds, &[], &mut seen)?;
            let mut moved = worlds.clone();
            let slopes = eight.slopes(cause, &mut moved, &smooth, &[], &seen)?;
            work.add(&eight.work);
            let first: Vec<f64> = seen.volts.iter().map(|x| x[0]).collect();
            let slip = study.readings.slip(&first, &seen.widen);
            let counts: Vec<usize> = (0..first.len()).filter(|i| Some(*i) != slip).collect();
            let chosen = telling(&study.readings, &counts, &seen, &slopes, LEAST, MOST_DIMS);
            let dims: Vec<usize> = chosen.iter().map(|c| smooth[*c]).collect();
            let start = dims.iter().map(|d| worlds.all(*d)[0]).collect();
            (!dims.is_empty()).then_some(Pull {
                dims,
                start,
                counts,
            })
        })
    }

    pub fn start(&self) -> Vec<f64> {
        self.start
            .iter()
            .map(|z| (z * 100.0).round() / 100.0)
            .collect()
    }
    pub fn say(&self, study: &Study<'_>) -> Vec<String> {
        self.dims
            .iter()
            .map(|d| {
                if *d >= study.wiring.dims {
                    return format!("sev{}", d - study.wiring.dims);
                }
                for (i, s) in study.wiring.slots.iter().enumerate() {
                    let t = format!("{s:?}");
                    for k in ["power", "filter_x", "filter_y"] {
                        if t.contains(&format!("{k}: {d}")) {
                            return format!("{k}{i}");
                        }
                    }
                }
                for (p, part) in study.wiring.parts.iter().enumerate() {
                    let t = format!("{part:?}");
                    if t.contains(&format!("dim: {d} "))
                        || t.contains(&format!("dim: {d},"))
                        || t.contains(&format!("joint: {d},"))
                    {
                        return format!("{}#{p}:{d}", t.split(' ').next().unwrap_or(""));
                    }
                }
                format!("{d}")
            })
            .collect()
    }

    /// Weighs causes, the first of them the one that this is for, in `n` worlds pulled for it.
    pub fn weigh(
        &self,
        study: &Study<'_>,
        moves: &Moves,
        causes: &[&Cause],
        n: usize,
        care: Care,
    ) -> Weighed {
        let n_sites = study.wiring.dims;
        let used = study.used(causes.iter().copied());
        let mut worlds = Worlds::draw_used(n_sites + used.len(), n, care.seed, |dim| {
            dim < n_sites || used[dim - n_sites]
        });
        let scope = Scope {
            causes,
            dims: &self.dims,
        };
        let per_batch: Vec<Option<Pulled>> = (0..worlds.batches())
            .into_par_iter()
            .map(|b| {
                with_eight(study, moves, &scope, &worlds, b, |eight| {
                    self.weigh_eight(study, eight, causes, &worlds, b, care)
                })
            })
            .collect();
        let mut out = Weighed::none(Worlds::of(8, vec![0.0; 8]), causes.len());
        let n = worlds.len();
        let mut ln = vec![f64::NEG_INFINITY; n * causes.len()];
        for (b, pulled) in per_batch.into_iter().enumerate() {
            let Some(pulled) = pulled else { continue };
            for (d, z) in self.dims.iter().zip(&pulled.scores) {
                worlds.set(*d, b, *z);
            }
            for (c, lanes) in pulled.ln.iter().enumerate() {
                ln[c * n + 8 * b..c * n + 8 * b + 8].copy_from_slice(lanes);
            }
            out.work.add(&pulled.work);
        }
        out.set(worlds, ln);
        out
    }

    fn weigh_eight(
        &self,
        study: &Study<'_>,
        eight: &mut Eight<'_>,
        causes: &[&Cause],
        worlds: &Worlds,
        index: usize,
        care: Care,
    ) -> Option<Pulled> {
        let mut here = worlds.batch(index);
        let drawn: Vec<Lanes> = self.dims.iter().map(|d| here.scores(*d, 0)).collect();
        let fit = self.fit(study, eight, causes[0], &mut here)?;
        let (mut scores, _) = fit.draw(&drawn);
        let mut rng =
            fastrand::Rng::with_seed(care.seed ^ (index as u64).wrapping_mul(0x9E37_79B9));
        for k in 0..8 {
            if rng.f64() < KEPT {
                for (z, drawn) in scores.iter_mut().zip(&drawn) {
                    z[k] = drawn[k];
                }
            }
        }
        let ln_omega = fit
            .ln_prior_over(&scores)
            .map(|ln| -(KEPT + (1.0 - KEPT) * (-ln).min(700.0).exp()).ln());
        for (d, z) in self.dims.iter().zip(&scores) {
            here.set(*d, 0, *z);
        }
        let mut looked = Looked::default();
        let mut ln = Vec::with_capacity(causes.len());
        for cause in causes {
            ln.push(match eight.look(cause, &here, &self.dims, &mut looked) {
                Some(()) => {
                    let mut lanes = looked.ln_likelihood(study, Slips::Each);
                    lanes.iter_mut().zip(&ln_omega).for_each(|(l, o)| *l += o);
                    lanes
                }
                None => [f64::NEG_INFINITY; 8],
            });
        }
        Some(Pulled {
            scores,
            ln,
            work: eight.work,
        })
    }

    /// Gauss-Newton steps, until no world moves by more than half of what is left open, or patience ends.
    fn fit(
        &self,
        study: &Study<'_>,
        eight: &mut Eight<'_>,
        cause: &Cause,
        here: &mut Worlds,
    ) -> Option<Fit> {
        let mut at: Vec<Lanes> = self.start.iter().map(|z| [*z; 8]).collect();
        let mut seen = Looked::default();
        for step in 1.. {
            for (d, z) in self.dims.iter().zip(&at) {
                here.set(*d, 0, *z);
            }
            eight.look(cause, here, &self.dims, &mut seen)?;
            let slopes = eight.slopes(cause, here, &self.dims, &self.dims, &seen)?;
            let fit = Fit::of(&study.readings, &self.counts, &seen, &slopes, &at);
            if step == STEPS || fit.is_at(&at, NEAR) {
                return Some(fit);
            }
            for (at, goal) in at.iter_mut().zip(&fit.mean) {
                for (z, goal) in at.iter_mut().zip(goal) {
                    *z += (goal - *z).clamp(-FURTHEST, FURTHEST);
                }
            }
        }
        None
    }
}

/// One batch, pulled.
struct Pulled {
    /// By unknown pulled.
    scores: Vec<Lanes>,
    /// By cause: log likelihood and log weight.
    ln: Vec<Lanes>,
    work: Work,
}
