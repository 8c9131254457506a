//! Worlds pulled towards what was told: importance sampling for the causes that lead.
//!
//! Where readings are sharp, few worlds of the prior carry a cause's evidence, most often because one or two unknowns,
//! its severity first, have to be just so. Let z_A be those unknowns, given all others of a world: there, a Gaussian
//! `q(z_A | others)` is fitted to the readings (`fit`: Gauss-Newton from one start, which does not depend on the world's
//! own z_A), a new z_A is drawn from the mixture `δ p + (1 − δ) q`, and the world weighs `ω = p / (δ p + (1 − δ) q)`. This
//! is exact whatever the fit is worth, and no world weighs more than `1/δ`. Where a reading may be a slip, q is half the
//! fit to all readings and half the fit to all others.
//! States of loads and everything else stay as drawn; moving a few unknowns costs low-rank updates of the same factors.
//! Other causes are weighed in the same worlds afterwards (`engine::weigh_beside`).
//! Source: Owen and Zhou 2000, defensive mixtures (from memory). Held by: `brute`.

use chain::worlds::Worlds;
use rayon::prelude::*;

use crate::answer::Work;
use crate::causes::Cause;
use crate::engine::Weighed;
use crate::fit::{Fit, telling};
use crate::likelihood::{Readings, Slips};
use crate::look::Looked;
use crate::seeing::Lanes;
use crate::slope::{Eight, Moves, Scope, with_eight};
use crate::study::Study;

/// Part of the worlds that keep what the prior drew.
const KEPT: f64 = 0.15;
/// Unknowns pulled, at most. Each costs some four more updates a world; beyond six, what is left is seldom sharp.
const MOST_DIMS: usize = 6;
/// An unknown is worth pulling if the readings narrow it at least about to this: 1/√(1 + 0.8²) = 0.78 of its prior.
const LEAST: f64 = 0.8;
/// A severity that is left more open than this, standard deviations, is on a plateau: an open conductor is one from some
/// kilohms on, and a Gaussian fitted to its edge would miss the rest.
const PLATEAU: f64 = 0.6;
/// Readings fitted, at most: where there are more, some of them evenly through the visit. A fit takes the cube of their
/// number, and is only where worlds are drawn from.
const FITTED: usize = 64;
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
    /// The readings that are fitted, by their numbers, and as they were told.
    kept: Vec<usize>,
    readings: Readings,
    /// Which of these: all, and where one is better taken for a slip, once more without it.
    fits: Vec<Vec<usize>>,
}

impl Pull {
    /// For a cause, by worlds of a sample that carry it; `None` where nothing is worth pulling.
    pub fn of(
        study: &Study<'_>,
        moves: &Moves,
        cause: &Cause,
        sample: &Weighed,
        index: usize,
        work: &mut Work,
    ) -> Option<Pull> {
        let n_sites = study.wiring.dims;
        let mut smooth = moves.smooth(study, cause);
        smooth.retain(|d| *d < n_sites || spread(sample, index, *d) < PLATEAU);
        let scope = Scope {
            causes: &[cause],
            dims: &smooth,
        };
        let chosen = carriers(sample.all(index))?;
        let n_told = study.readings.told.len();
        let kept: Vec<usize> = (0..n_told)
            .step_by(n_told.div_ceil(FITTED).max(1))
            .collect();
        let readings = study.readings.only(&kept);
        let look = |eight: &[usize]| {
            let dims = 0..sample.worlds.dims();
            let scores = dims.flat_map(|d| eight.iter().map(move |at| sample.worlds.all(d)[*at]));
            let worlds = Worlds::of(8, scores.collect());
            with_eight(study, moves, &scope, &worlds, 0, |eight| {
                let mut seen = Looked::default();
                eight.look(cause, &worlds, &[], &mut seen)?;
                seen.keep(&kept);
                let mut moved = worlds.clone();
                let slopes = eight.slopes(cause, &mut moved, &smooth, &[], &seen, &kept)?;
                Some(((seen, slopes), eight.work))
            })
        };
        let looked = chosen.par_chunks_exact(8).map(look);
        let looked: Vec<_> = looked.collect::<Option<_>>()?;
        let (eights, works): (Vec<_>, Vec<Work>) = looked.into_iter().unzip();
        works.iter().for_each(|it| work.add(it));
        let seen = &eights[0].0;
        let x: Vec<[f64; 1]> = seen.volts.iter().map(|x| [x[0]]).collect();
        let mut fits: Vec<Vec<usize>> = vec![(0..x.len()).collect()];
        if let [Some(slip)] = readings.slips(&x, &seen.widen) {
            fits.push((0..x.len()).filter(|i| *i != slip).collect());
        }
        let mut chosen_dims: Vec<usize> = Vec::new();
        for counts in fits.iter().rev() {
            for c in telling(&readings, counts, &eights, LEAST, MOST_DIMS) {
                if !chosen_dims.contains(&c) && chosen_dims.len() < MOST_DIMS {
                    chosen_dims.push(c);
                }
            }
        }
        let dims: Vec<usize> = chosen_dims.iter().map(|c| smooth[*c]).collect();
        let start = dims
            .iter()
            .map(|d| sample.worlds.all(*d)[chosen[0]])
            .collect();
        (!dims.is_empty()).then_some(Pull {
            dims,
            start,
            kept,
            readings,
            fits,
        })
    }

    /// Weighs the cause that this is for in `n` worlds pulled for it; how bad the faults of `later` are is drawn too.
    pub fn weigh(
        &self,
        study: &Study<'_>,
        moves: &Moves,
        cause: &Cause,
        later: &[Cause],
        n: usize,
        seed: u64,
    ) -> Weighed {
        let n_sites = study.wiring.dims;
        let used = study.used(core::iter::once(cause).chain(later));
        let mut worlds = Worlds::draw_used(n_sites + used.len(), n, seed, |dim| {
            dim < n_sites || used[dim - n_sites]
        });
        let scope = Scope {
            causes: &[cause],
            dims: &self.dims,
        };
        let per_batch: Vec<Option<Pulled>> = (0..worlds.batches())
            .into_par_iter()
            .map(|b| {
                with_eight(study, moves, &scope, &worlds, b, |eight| {
                    self.weigh_eight(study, eight, cause, &worlds, b, seed)
                })
            })
            .collect();
        let n = worlds.len();
        let mut ln = vec![f64::NEG_INFINITY; n];
        let mut ln_omega = vec![f64::NEG_INFINITY; n];
        let mut work = Work::default();
        for (b, pulled) in per_batch.into_iter().enumerate() {
            let Some(pulled) = pulled else { continue };
            for (d, z) in self.dims.iter().zip(&pulled.scores) {
                worlds.set(*d, b, *z);
            }
            ln[8 * b..8 * b + 8].copy_from_slice(&pulled.ln);
            ln_omega[8 * b..8 * b + 8].copy_from_slice(&pulled.ln_omega);
            work.add(&pulled.work);
        }
        Weighed::pulled(worlds, ln, ln_omega, work)
    }

    fn weigh_eight(
        &self,
        study: &Study<'_>,
        eight: &mut Eight<'_>,
        cause: &Cause,
        worlds: &Worlds,
        index: usize,
        seed: u64,
    ) -> Option<Pulled> {
        let mut here = worlds.batch(index);
        let drawn: Vec<Lanes> = self.dims.iter().map(|d| here.scores(*d, 0)).collect();
        let fits: Vec<Fit> = self
            .fits
            .iter()
            .map(|counts| self.fit(eight, cause, counts, &mut here))
            .collect::<Option<_>>()?;
        let draws: Vec<Vec<Lanes>> = fits.iter().map(|f| f.draw(&drawn)).collect();
        let mut scores = drawn.clone();
        let mut rng = fastrand::Rng::with_seed(seed ^ (index as u64).wrapping_mul(0x9E37_79B9));
        for k in 0..8 {
            // Kept as drawn, or of one of the fits.
            let of = (rng.f64() - KEPT) / (1.0 - KEPT) * fits.len() as f64;
            if of >= 0.0 {
                for (z, draw) in scores.iter_mut().zip(&draws[of as usize]) {
                    z[k] = draw[k];
                }
            }
        }
        let mut over = [KEPT; 8];
        for fit in &fits {
            let part = (1.0 - KEPT) / fits.len() as f64;
            for (over, ln) in over.iter_mut().zip(fit.ln_prior_over(&scores)) {
                *over += part * (-ln).min(700.0).exp();
            }
        }
        let ln_omega = over.map(|q| -q.ln());
        for (d, z) in self.dims.iter().zip(&scores) {
            here.set(*d, 0, *z);
        }
        let mut looked = Looked::default();
        let ln = match eight.look(cause, &here, &self.dims, &mut looked) {
            Some(()) => {
                let mut ln = looked.ln_likelihood(&study.readings, Slips::Each);
                ln.iter_mut().zip(&ln_omega).for_each(|(l, o)| *l += o);
                ln
            }
            None => [f64::NEG_INFINITY; 8],
        };
        Some(Pulled {
            scores,
            ln,
            ln_omega,
            work: eight.work,
        })
    }

    /// Gauss-Newton steps, each world's cut short where they lead to something less probable, until no world would move
    /// by more than half of what is left open, or patience ends.
    fn fit(
        &self,
        eight: &mut Eight<'_>,
        cause: &Cause,
        counts: &[usize],
        here: &mut Worlds,
    ) -> Option<Fit> {
        let mut at: Vec<Lanes> = self.start.iter().map(|z| [*z; 8]).collect();
        let mut seen = Looked::default();
        let mut best: Option<(Fit, Vec<Lanes>)> = None;
        let mut part = [1.0; 8];
        for _ in 0..STEPS {
            for (d, z) in self.dims.iter().zip(&at) {
                here.set(*d, 0, *z);
            }
            eight.look(cause, here, &self.dims, &mut seen)?;
            seen.keep(&self.kept);
            let slopes = eight.slopes(cause, here, &self.dims, &self.dims, &seen, &self.kept)?;
            let fit = Fit::of(&self.readings, counts, &seen, &slopes, &at);
            let (kept, place) = best.get_or_insert_with(|| (fit.clone(), at.clone()));
            let mut still = false;
            for k in 0..8 {
                if fit.ln_joint[k] >= kept.ln_joint[k] {
                    kept.take(&fit, k);
                    place
                        .iter_mut()
                        .zip(&at)
                        .for_each(|(to, from)| to[k] = from[k]);
                    part[k] = 1.0;
                } else {
                    part[k] *= 0.3;
                }
                still |= part[k] * kept.far(place, k) > NEAR;
                for ((z, place), goal) in at.iter_mut().zip(place.iter()).zip(&kept.mean) {
                    z[k] = place[k] + part[k] * (goal[k] - place[k]).clamp(-FURTHEST, FURTHEST);
                }
            }
            if !still {
                break;
            }
        }
        best.map(|(fit, _)| fit)
    }
}

/// Standard deviation of an unknown, as far as a sample tells under a cause.
fn spread(sample: &Weighed, index: usize, dim: usize) -> f64 {
    let ln = sample.all(index);
    let max = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for (ln, z) in ln.iter().zip(sample.worlds.all(dim)) {
        let w = (ln - max).exp();
        n += w;
        sum += w * z;
        squares += w * z * z;
    }
    (squares / n - (sum / n).powi(2)).max(0.0).sqrt()
}

/// Sixteen worlds that carry a cause, by their log weights: the eight heaviest, and eight by the fourth root of the
/// weight, so that other states of loads than theirs are among them.
fn carriers(ln: &[f64]) -> Option<Vec<usize>> {
    let mut order: Vec<usize> = (0..ln.len()).collect();
    order.sort_by(|a, b| ln[*b].total_cmp(&ln[*a]));
    let max = ln[order[0]];
    if max == f64::NEG_INFINITY {
        return None;
    }
    let (top, rest) = order.split_at(8);
    let mut out = top.to_vec();
    let mild: Vec<f64> = rest
        .iter()
        .map(|at| (0.25 * (ln[*at] - max)).exp())
        .collect();
    let total: f64 = mild.iter().sum();
    let (mut sum, mut next) = (0.0, total / 16.0);
    for (at, w) in rest.iter().zip(&mild) {
        sum += w;
        if sum > next && out.len() < 16 {
            out.push(*at);
            next += total / 8.0;
        }
    }
    out.resize(16, top[0]);
    Some(out)
}

/// One batch, pulled.
struct Pulled {
    /// By unknown pulled.
    scores: Vec<Lanes>,
    /// Log likelihood and log weight.
    ln: Lanes,
    /// The log weight by itself.
    ln_omega: Lanes,
    work: Work,
}
