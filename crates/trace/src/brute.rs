//! The same probability model by plain sampling: nothing stratified, nothing linearised, nothing dropped.
//!
//! `E(c) = 1/N Σ_s 1/M Σ_m Π_i [(1 − ε) N(t_i; x_i(1 + s_m + g_m), d_i) + ε b(t_i)] Π_j P(o_j | s)`: N worlds of
//! independent normals, in each M draws of the service's deviation s and the meters' gains g. Every reading may be a
//! slip by itself, any number at once. Its standard error comes from the spread of the N terms.
//! Shared with the engine are the network's answers (held by `network`'s own tests against a circuit simulator), the
//! catalogue and what an observation means; its own are worlds, integration, slips, priors' sum and ranking.

#![expect(clippy::needless_range_loop, reason = "lanes of several lists at once")]

use chain::worlds::Worlds;
use network::{Batch, Cx8, Factors, Order, Probes, Scratch, Seen, Spot};
use rayon::prelude::*;

use crate::causes::Cause;
use crate::fault::Misreads;
use crate::likelihood::{SLIP, ln_add};
use crate::seeing::{Lanes, Seeing};
use crate::study::{Claim, Study};

mod cases;

/// Log evidence of a cause, and its standard error.
#[derive(Clone, Copy, Debug)]
struct Brute {
    ln: f64,
    error: f64,
}

/// How much is sampled.
#[derive(Clone, Copy, Debug)]
struct Plan {
    worlds: usize,
    inner: usize,
    seed: u64,
}

/// Worlds drawn at once.
const CHUNK: usize = 512;

fn brute(study: &Study<'_>, causes: &[Cause], plan: Plan) -> Vec<Brute> {
    let order = Order::of(&study.wiring.topology).expect("a site's network is one piece");
    let n_chunks = plan.worlds.div_ceil(CHUNK);
    // By cause: ln Σ w, ln Σ w².
    let sums = (0..n_chunks)
        .into_par_iter()
        .map(|chunk| sums_of(study, &order, causes, plan, chunk))
        .reduce(
            || vec![[f64::NEG_INFINITY; 2]; causes.len()],
            |mut a, b| {
                for (a, b) in a.iter_mut().zip(&b) {
                    *a = [ln_add(a[0], b[0]), ln_add(a[1], b[1])];
                }
                a
            },
        );
    let n = (n_chunks * CHUNK) as f64;
    sums.into_iter()
        .map(|[w, q]| {
            let effective = (2.0 * w - q).exp();
            Brute {
                ln: w - n.ln(),
                error: (1.0 / effective - 1.0 / n).max(0.0).sqrt(),
            }
        })
        .collect()
}

fn sums_of(
    study: &Study<'_>,
    order: &Order,
    causes: &[Cause],
    plan: Plan,
    chunk: usize,
) -> Vec<[f64; 2]> {
    let mut rng =
        fastrand::Rng::with_seed(plan.seed ^ (chunk as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let mut normal = move || {
        let (u, v) = (1.0 - rng.f64(), rng.f64());
        (-2.0 * u.ln()).sqrt() * (core::f64::consts::TAU * v).cos()
    };
    let n_dims = study.wiring.dims + study.singles.len();
    let worlds = Worlds::of(CHUNK, (0..n_dims * CHUNK).map(|_| normal()).collect());
    // Standard normals of the service's deviation and of each gain; the same for all causes of a world.
    let n_gains = study
        .readings
        .told
        .iter()
        .filter_map(|t| t.gain)
        .map(|g| g.0)
        .max()
        .unwrap_or(0);
    let common: Vec<Vec<f64>> = (0..CHUNK * plan.inner)
        .map(|_| (0..=n_gains).map(|_| normal()).collect())
        .collect();
    let spots = study.spots.list().to_vec();
    let mut out = vec![[f64::NEG_INFINITY; 2]; causes.len()];
    let (mut scratch, mut seen) = (Scratch::default(), Seen::default());
    let used = used_spots(study, causes, &spots);
    for b in 0..worlds.batches() {
        let batches: Vec<Batch> = study
            .conditions
            .iter()
            .map(|c| study.wiring.batch(&worlds, b, c))
            .collect();
        let factors: Vec<Factors<'_>> = batches
            .iter()
            .map(|b| {
                order
                    .factor(core::slice::from_ref(b))
                    .expect("leaks join everything")
            })
            .collect();
        let probes: Vec<Probes<'_>> = factors
            .iter()
            .zip(&study.probes)
            .map(|(f, list)| {
                f.probes(&list.pairs, &list.mutual, &[], &used.1)
                    .expect("known places")
            })
            .collect();
        for (cause, out) in causes.iter().zip(&mut out) {
            let severities = cause.faults.map(|f| {
                f.map_or([0.0; 8], |i| {
                    let dim = study.wiring.dims + i as usize;
                    worlds
                        .levels(dim, b)
                        .map(|u| study.singles[i as usize].severity.at(u))
                })
            });
            let mut volts = vec![[0.0; 8]; study.readings.told.len()];
            let mut widen = vec![0.0; study.readings.told.len()];
            let mut ln = [0.0; 8];
            for c in 0..study.conditions.len() {
                let changes = changes(study, cause, c, &batches[c], &severities, &used.0);
                if probes[c]
                    .under(0, &changes, &mut scratch, &mut seen)
                    .is_err()
                {
                    ln = [f64::NEG_INFINITY; 8];
                    continue;
                }
                see(
                    study,
                    cause,
                    c,
                    &severities,
                    &seen,
                    &mut volts,
                    &mut widen,
                    &mut ln,
                );
            }
            for k in 0..8 {
                let world = 8 * b + k;
                let draws = &common[world * plan.inner..(world + 1) * plan.inner];
                let mean: f64 = draws
                    .iter()
                    .map(|z| density(study, z, &volts, &widen, k))
                    .sum::<f64>()
                    / plan.inner as f64;
                let w = ln[k] + mean.ln();
                *out = [ln_add(out[0], w), ln_add(out[1], 2.0 * w)];
            }
        }
    }
    out
}

/// Density of all told voltages, given the common errors.
fn density(study: &Study<'_>, z: &[f64], volts: &[Lanes], widen: &[f64], k: usize) -> f64 {
    let readings = &study.readings;
    let each = readings
        .told
        .iter()
        .zip(volts)
        .zip(widen)
        .map(|((t, x), widen)| {
            let x = x[k];
            let gain = t.gain.map_or(0.0, |(at, size)| size * z[at]);
            let d = t.variance + (t.relative * x).powi(2) + widen;
            let r = t.value - x * (1.0 + readings.service * z[0] + gain);
            let kept = (-0.5 * r * r / d).exp() / (core::f64::consts::TAU * d).sqrt();
            (1.0 - SLIP) * kept + SLIP * t.ln_slip.exp()
        });
    each.product()
}

/// Places of the spots that the causes change, and the spots.
fn used_spots(study: &Study<'_>, causes: &[Cause], spots: &[Spot]) -> (Vec<usize>, Vec<Spot>) {
    let mut local = vec![usize::MAX; spots.len()];
    let mut used = Vec::new();
    for cause in causes {
        let own = cause
            .faults
            .iter()
            .flatten()
            .flat_map(|i| &study.singles[*i as usize].recipes);
        for recipe in own.chain(cause.merged.iter().flat_map(|m| m.iter())) {
            for spot in recipe.spots() {
                if local[spot] == usize::MAX {
                    local[spot] = used.len();
                    used.push(spots[spot]);
                }
            }
        }
    }
    (local, used)
}

fn changes(
    study: &Study<'_>,
    cause: &Cause,
    condition: usize,
    batch: &Batch,
    severities: &[Lanes; 2],
    local: &[usize],
) -> Vec<(usize, Cx8)> {
    let mut out = Vec::new();
    match &cause.merged {
        Some(recipes) => recipes[condition].write(batch, severities, &mut out),
        None => {
            for (slot, i) in cause.faults.iter().enumerate() {
                if let Some(i) = i {
                    let recipe = &study.singles[*i as usize].recipes[condition];
                    recipe.write(batch, &severities[slot..=slot], &mut out);
                }
            }
        }
    }
    for (spot, _) in &mut out {
        *spot = local[*spot];
    }
    out
}

#[allow(clippy::too_many_arguments)]
fn see(
    study: &Study<'_>,
    cause: &Cause,
    condition: usize,
    severities: &[Lanes; 2],
    seen: &Seen,
    volts: &mut [Lanes],
    widen: &mut [f64],
    ln: &mut Lanes,
) {
    let of_slot = |slot: usize| cause.faults[slot].map(|i| &study.singles[i as usize]);
    let factor = |k: usize| -> f64 {
        (0..2)
            .filter(|s| of_slot(*s).is_some_and(|it| it.recipes[condition].volts.is_some()))
            .map(|s| severities[s][k])
            .product()
    };
    for (i, w) in study
        .witnesses
        .iter()
        .enumerate()
        .filter(|(_, w)| w.condition == condition)
    {
        let mut seeing: &Seeing = &w.seeing;
        for single in cause.faults.iter().flatten().rev() {
            for (at, other) in &study.misread[*single as usize] {
                if *at == i {
                    seeing = other;
                }
            }
        }
        let mut numbers = Vec::new();
        seeing.numbers(seen, &mut numbers);
        for n in &mut numbers {
            for (k, n) in n.iter_mut().enumerate() {
                *n *= factor(k);
            }
        }
        let Claim::Volts(r) = &w.claim else {
            for (k, ln) in ln.iter_mut().enumerate() {
                *ln += study.ln_told(&w.claim, &numbers, k, cause, severities, condition);
            }
            continue;
        };
        volts[*r] = numbers[0];
        for slot in 0..2 {
            match of_slot(slot).map(|it| it.fault.misreads) {
                Some(Misreads::LeadOpen) => {
                    volts[*r] = [0.003 * study.nominal; 8];
                    widen[*r] += (0.006 * study.nominal).powi(2);
                }
                Some(Misreads::WrongFunction) => {
                    volts[*r] = [0.0; 8];
                    widen[*r] += (0.005 * study.nominal).powi(2);
                }
                Some(Misreads::Factor) => {
                    for k in 0..8 {
                        volts[*r][k] *= severities[slot][k];
                    }
                }
                _ => {}
            }
        }
    }
}
