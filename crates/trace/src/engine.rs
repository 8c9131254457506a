//! Causes weighed in sampled worlds.
//!
//! The evidence of a cause is the mean over worlds and severities of the likelihood of all that was witnessed,
//! `E(c) = 1/N Σ_s L(readings | x_s) Π P(observations | s)`: sampled are lengths, joints, loads, capacitances, the service
//! and the severities; the service's voltage, the meters' gains, rounding and counts are integrated in closed form
//! (`likelihood`). Worlds are shared by all causes, so that their ratios vary less than they do themselves.
//! One batch of eight worlds is factored once for each condition; a cause is a low-rank update of it.

use chain::alter::Recipe;
use chain::worlds::Worlds;
use network::{Batch, Cx8, Factors, Order, Probes, Scratch, Seen, Spot};
use rayon::prelude::*;

use crate::answer::Work;
use crate::causes::Cause;
use crate::fault::Misreads;
use crate::likelihood::Slips;
use crate::seeing::{Lanes, Seeing};
use crate::study::{Claim, Study};

/// How carefully causes are weighed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Care {
    /// Sampled worlds, a multiple of 8.
    pub worlds: usize,
    /// Smoothing of few samples: fraction of the spread of eight worlds added to each reading's deviation.
    pub smoothing: f64,
    /// How slips are summed.
    pub slips: Slips,
    /// Seed.
    pub seed: u64,
}

/// Log likelihoods of causes in worlds, and what else was to be seen.
pub(crate) struct Weighed {
    /// Worlds they were weighed in.
    pub worlds: Worlds,
    /// By batch, cause, lane.
    pub ln: Vec<f64>,
    n_causes: usize,
    /// Numbers of the further seeings by batch, cause, number.
    pub numbers: Vec<Lanes>,
    n_numbers: usize,
    /// What it took.
    pub work: Work,
}

impl Weighed {
    /// Log likelihoods of a cause, batch by batch.
    pub fn of(&self, cause: usize) -> impl Iterator<Item = &[f64]> {
        self.ln
            .chunks_exact(8 * self.n_causes)
            .map(move |b| &b[8 * cause..8 * cause + 8])
    }

    /// Log of the mean likelihood of a cause.
    pub fn ln_evidence(&self, cause: usize) -> f64 {
        let max = self
            .of(cause)
            .flatten()
            .fold(f64::NEG_INFINITY, |m, x| m.max(*x));
        if max == f64::NEG_INFINITY {
            return max;
        }
        let sum: f64 = self.of(cause).flatten().map(|x| (x - max).exp()).sum();
        max + (sum / self.worlds.len() as f64).ln()
    }

    /// Effective number of worlds that carry a cause: `(Σw)² / Σw²`.
    pub fn effective(&self, cause: usize) -> f64 {
        let max = self
            .of(cause)
            .flatten()
            .fold(f64::NEG_INFINITY, |m, x| m.max(*x));
        let (mut s, mut q) = (0.0, 0.0);
        for x in self.of(cause).flatten() {
            let w = (x - max).exp();
            s += w;
            q += w * w;
        }
        if q > 0.0 { s * s / q } else { 0.0 }
    }

    /// One further number of a cause in one batch.
    pub fn number(&self, batch: usize, cause: usize, number: usize) -> &Lanes {
        &self.numbers[(batch * self.n_causes + cause) * self.n_numbers + number]
    }
}

/// Something further to be seen, beside the witnesses.
#[derive(Clone, Debug)]
pub(crate) struct Further {
    /// Number of the condition.
    pub condition: usize,
    /// How.
    pub seeing: Seeing,
}

/// The part of a study that a set of causes needs.
struct Ready<'s> {
    study: &'s Study<'s>,
    order: Order,
    spots: Vec<Spot>,
    local: Vec<usize>,
    used: Vec<usize>,
    /// Conditions under which something is to be seen.
    conditions: Vec<usize>,
}

/// One batch, factored for each condition.
struct InBatch<'b> {
    batches: &'b [Batch],
    probes: Vec<Probes<'b>>,
    /// By single: severities and written changes, condition by condition.
    written: Vec<Option<Written>>,
}

struct Written {
    severity: Lanes,
    changes: Vec<Vec<(usize, Cx8)>>,
}

/// Buffers of one thread.
struct Room {
    scratch: Scratch,
    seen: Seen,
    changes: Vec<(usize, Cx8)>,
    volts: Vec<Lanes>,
    widen: Vec<f64>,
    numbers: Vec<Lanes>,
}

impl Room {
    fn new() -> Self {
        Room {
            scratch: Scratch::rough(),
            seen: Seen::default(),
            changes: Vec::new(),
            volts: Vec::new(),
            widen: Vec::new(),
            numbers: Vec::new(),
        }
    }
}

/// Weighs causes and looks at further things under each.
pub(crate) fn weigh(
    study: &Study<'_>,
    causes: &[Cause],
    further: &[Further],
    care: Care,
) -> Weighed {
    let dims = study.wiring.dims + study.singles.len();
    let worlds = Worlds::draw(dims, care.worlds, care.seed);
    let n_numbers: usize = further.iter().map(|f| f.seeing.len()).sum();
    let Some(ready) = Ready::of(study, causes, further) else {
        let ln = vec![f64::NEG_INFINITY; worlds.len() * causes.len()];
        return Weighed {
            worlds,
            ln,
            n_causes: causes.len(),
            numbers: Vec::new(),
            n_numbers: 0,
            work: Work::default(),
        };
    };
    let per_batch: Vec<(Vec<f64>, Vec<Lanes>, Work)> = (0..worlds.batches())
        .into_par_iter()
        .map(|b| ready.weigh_batch(&worlds, b, causes, further, n_numbers, care))
        .collect();
    let mut out = Weighed {
        worlds,
        ln: Vec::new(),
        n_causes: causes.len(),
        numbers: Vec::new(),
        n_numbers,
        work: Work::default(),
    };
    for (ln, numbers, work) in per_batch {
        out.ln.extend(ln);
        out.numbers.extend(numbers);
        out.work.solutions += work.solutions;
        out.work.factorings += work.factorings;
        out.work.refactorings += work.refactorings;
    }
    out.work.causes = causes.len() as u64;
    out
}

impl<'s> Ready<'s> {
    fn of(study: &'s Study<'s>, causes: &[Cause], further: &[Further]) -> Option<Self> {
        let order = Order::of(&study.wiring.topology).ok()?;
        let mut used = vec![false; study.singles.len()];
        for i in causes.iter().flat_map(|c| c.faults.iter().flatten()) {
            used[*i as usize] = true;
        }
        let used: Vec<usize> = (0..used.len()).filter(|i| used[*i]).collect();
        let mut local = vec![usize::MAX; study.spots.list().len()];
        let mut spots = Vec::new();
        let singles = used.iter().flat_map(|i| &study.singles[*i].recipes);
        let merged = causes.iter().filter_map(|c| c.merged.as_deref()).flatten();
        for spot in singles.chain(merged).flat_map(Recipe::spots) {
            if local[spot] == usize::MAX {
                local[spot] = spots.len();
                spots.push(study.spots.list()[spot]);
            }
        }
        let seen = |c: usize| {
            study.witnesses.iter().any(|w| w.condition == c)
                || further.iter().any(|f| f.condition == c)
        };
        let conditions = (0..study.conditions.len()).filter(|c| seen(*c)).collect();
        Some(Ready {
            study,
            order,
            spots,
            local,
            used,
            conditions,
        })
    }

    fn weigh_batch(
        &self,
        worlds: &Worlds,
        index: usize,
        causes: &[Cause],
        further: &[Further],
        n_numbers: usize,
        care: Care,
    ) -> (Vec<f64>, Vec<Lanes>, Work) {
        let study = self.study;
        let mut ln = vec![f64::NEG_INFINITY; 8 * causes.len()];
        let mut numbers = vec![[0.0; 8]; n_numbers * causes.len()];
        let batches: Vec<Batch> = self
            .conditions
            .iter()
            .map(|c| study.wiring.batch(worlds, index, &study.conditions[*c]))
            .collect();
        let mut work = Work {
            factorings: batches.len() as u64,
            ..Work::default()
        };
        let factors: Option<Vec<Factors<'_>>> = batches
            .iter()
            .map(|b| self.order.factor(core::slice::from_ref(b)).ok())
            .collect();
        let Some(factors) = factors else {
            return (ln, numbers, work);
        };
        let probes: Option<Vec<Probes<'_>>> = factors
            .iter()
            .zip(&self.conditions)
            .map(|(f, c)| {
                let list = &study.probes[*c];
                let (pairs, mutual) = match study.n_probes.get(*c) {
                    Some((pairs, mutual)) if further.is_empty() => (*pairs, *mutual),
                    _ => (list.pairs.len(), list.mutual.len()),
                };
                f.probes(
                    &list.pairs[..pairs],
                    &list.mutual[..mutual],
                    &[],
                    &self.spots,
                )
                .ok()
            })
            .collect();
        let Some(probes) = probes else {
            return (ln, numbers, work);
        };
        let mut written: Vec<Option<Written>> = (0..study.singles.len()).map(|_| None).collect();
        for i in &self.used {
            let single = &study.singles[*i];
            let severity = worlds
                .levels(study.wiring.dims + i, index)
                .map(|u| single.severity.at(u));
            let changes = self
                .conditions
                .iter()
                .zip(&batches)
                .map(|(c, b)| self.write(&single.recipes[*c], b, &[severity]))
                .collect();
            written[*i] = Some(Written { severity, changes });
        }
        let batch = InBatch {
            batches: &batches,
            probes,
            written,
        };
        const CHUNK: usize = 256;
        let numbers_chunk = (CHUNK * n_numbers).max(1);
        let tasks = ln
            .par_chunks_mut(8 * CHUNK)
            .zip(causes.par_chunks(CHUNK))
            .enumerate();
        let done: Vec<(Vec<Lanes>, Work)> = tasks
            .map_init(Room::new, |room, (_, (ln, causes))| {
                let mut work = Work::default();
                let mut numbers = Vec::with_capacity(n_numbers * causes.len());
                for (ln, cause) in ln.chunks_exact_mut(8).zip(causes) {
                    numbers.resize(numbers.len() + n_numbers, [0.0; 8]);
                    let lanes =
                        self.weigh_one(&batch, cause, further, care, room, &mut numbers, &mut work);
                    ln.copy_from_slice(&lanes);
                }
                (numbers, work)
            })
            .collect();
        for (at, (some, _)) in numbers.chunks_mut(numbers_chunk).zip(&done) {
            at.copy_from_slice(some);
        }
        for (_, w) in &done {
            work.solutions += w.solutions;
            work.refactorings += w.refactorings;
        }
        (ln, numbers, work)
    }

    fn write(&self, recipe: &Recipe, batch: &Batch, severities: &[Lanes]) -> Vec<(usize, Cx8)> {
        let mut out = Vec::with_capacity(recipe.rank());
        recipe.write(batch, severities, &mut out);
        for (spot, _) in &mut out {
            *spot = self.local[*spot];
        }
        out
    }

    #[allow(clippy::too_many_arguments)]
    fn weigh_one(
        &self,
        batch: &InBatch<'_>,
        cause: &Cause,
        further: &[Further],
        care: Care,
        room: &mut Room,
        numbers: &mut Vec<Lanes>,
        work: &mut Work,
    ) -> Lanes {
        let study = self.study;
        let first = numbers.len() - further.iter().map(|f| f.seeing.len()).sum::<usize>();
        let n_readings = study.readings.told.len();
        room.volts.clear();
        room.volts.resize(n_readings, [0.0; 8]);
        room.widen.clear();
        room.widen.resize(n_readings, 0.0);
        let mut ln = [0.0; 8];
        let parts: [Option<&Written>; 2] = cause
            .faults
            .map(|f| f.and_then(|i| batch.written[i as usize].as_ref()));
        let singles = cause.faults.map(|f| f.map(|i| &study.singles[i as usize]));
        let severities = parts.map(|p| p.map_or([0.0; 8], |w| w.severity));
        for (nth, condition) in self.conditions.iter().copied().enumerate() {
            room.changes.clear();
            match cause.merged.as_deref() {
                Some(recipes) => {
                    let recipe = &recipes[condition];
                    room.changes
                        .extend(self.write(recipe, &batch.batches[nth], &severities));
                }
                None => {
                    for part in parts.iter().flatten() {
                        room.changes.extend_from_slice(&part.changes[nth]);
                    }
                }
            }
            let done = batch.probes[nth].under(0, &room.changes, &mut room.scratch, &mut room.seen);
            work.solutions += 8;
            match done {
                Ok(w) => work.refactorings += w.refactorings,
                Err(_) => return [f64::NEG_INFINITY; 8],
            }
            let mut factor = [1.0; 8];
            for (single, severity) in singles.iter().zip(&severities) {
                if single.is_some_and(|s| s.recipes[condition].volts.is_some()) {
                    for k in 0..8 {
                        factor[k] *= severity[k];
                    }
                }
            }
            for (i, witness) in study
                .witnesses
                .iter()
                .enumerate()
                .filter(|(_, w)| w.condition == condition)
            {
                let seeing = cause
                    .faults
                    .iter()
                    .flatten()
                    .find_map(|s| {
                        study.misread[*s as usize]
                            .iter()
                            .find(|(w, _)| *w == i)
                            .map(|(_, s)| s)
                    })
                    .unwrap_or(&witness.seeing);
                room.numbers.clear();
                seeing.numbers(&room.seen, &mut room.numbers);
                for number in &mut room.numbers {
                    for k in 0..8 {
                        number[k] *= factor[k];
                    }
                }
                match &witness.claim {
                    Claim::Volts(r) => {
                        room.volts[*r] = room.numbers[0];
                        for (single, severity) in singles.iter().zip(&severities) {
                            let Some(single) = single else { continue };
                            match single.fault.misreads {
                                Misreads::LeadOpen => {
                                    room.volts[*r] = [0.01 * study.nominal; 8];
                                    room.widen[*r] += (0.02 * study.nominal).powi(2);
                                }
                                Misreads::WrongFunction => {
                                    room.volts[*r] = [0.0; 8];
                                    room.widen[*r] += (0.005 * study.nominal).powi(2);
                                }
                                Misreads::Factor => {
                                    for k in 0..8 {
                                        room.volts[*r][k] *= severity[k];
                                    }
                                }
                                Misreads::Nothing | Misreads::NamesExchanged(..) => {}
                            }
                        }
                    }
                    claim => {
                        for (k, ln) in ln.iter_mut().enumerate() {
                            *ln += study.ln_told(
                                claim,
                                &room.numbers,
                                k,
                                cause,
                                &severities,
                                condition,
                            );
                        }
                    }
                }
            }
            let mut at = first;
            for f in further {
                let n = f.seeing.len();
                if f.condition == condition && n > 0 {
                    room.numbers.clear();
                    f.seeing.numbers(&room.seen, &mut room.numbers);
                    for (out, number) in numbers[at..at + n].iter_mut().zip(&room.numbers) {
                        *out = core::array::from_fn(|k| number[k] * factor[k]);
                    }
                }
                at += n;
            }
        }
        if care.smoothing > 0.0 {
            for (widen, x) in room.widen.iter_mut().zip(&room.volts) {
                let mean = x.iter().sum::<f64>() / 8.0;
                let spread = x.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 7.0;
                *widen += care.smoothing * care.smoothing * spread;
            }
        }
        let volts = study
            .readings
            .ln_likelihood(&room.volts, &room.widen, care.slips);
        core::array::from_fn(|k| {
            if (ln[k] + volts[k]).is_nan() {
                f64::NEG_INFINITY
            } else {
                ln[k] + volts[k]
            }
        })
    }
}
