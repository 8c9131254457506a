//! Causes weighed in sampled worlds.
//!
//! The evidence of a cause is the mean over worlds and severities of the likelihood of all that was witnessed,
//! `E(c) = 1/N Σ_s ω_s L(readings | x_s) Π P(observations | s)`: sampled are lengths, joints, loads, capacitances, the
//! service and the severities; the service's voltage, the meters' gains, rounding and counts are integrated in closed
//! form (`likelihood`). `ω_s = p/q` where worlds were not drawn from the prior p but from a proposal q (`pull`), else 1.
//! Worlds are shared by all causes, so that their ratios vary less than they do themselves.
//! One batch of eight worlds is factored once, and again for conditions that differ in more than a test load; a cause, and
//! such a load, is a low-rank update of it.
//! Held by: `brute`.

use chain::alter::Recipe;
use chain::worlds::Worlds;
use network::{Batch, Cx8, Order, Probes, Scratch, Seen, Spot};
use rayon::prelude::*;

use crate::answer::Work;
use crate::causes::Cause;
use crate::estimate::{Estimate, Shares, ln_mean};
use crate::likelihood::{Readings, Slips};
use crate::look::{Floor, Looked};
use crate::seats::Seats;
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
    /// By cause, world: log likelihood, and `ln ω`.
    ln: Vec<f64>,
    /// By world: `ln ω`; none where all are zero.
    ln_omega: Vec<f64>,
    n_causes: usize,
    /// By batch, cause: numbers of the further seeings, and where there are any, how far the service is off.
    pub numbers: Vec<Lanes>,
    n_numbers: usize,
    /// What it took.
    pub work: Work,
}

impl Weighed {
    /// Log likelihoods of a cause, batch by batch.
    pub fn of(&self, cause: usize) -> impl Iterator<Item = &[f64]> {
        self.all(cause).chunks_exact(8)
    }

    /// Log likelihoods of a cause, world by world.
    pub fn all(&self, cause: usize) -> &[f64] {
        let n = self.worlds.len();
        &self.ln[cause * n..(cause + 1) * n]
    }

    /// Log of the mean likelihood of a cause.
    pub fn ln_evidence(&self, cause: usize) -> f64 {
        ln_mean(self.all(cause))
    }

    /// Mean likelihood of a cause, and how well it is known.
    pub fn mean(&self, cause: usize) -> Estimate {
        Estimate::mean(self.all(cause))
    }

    /// What each world adds to a cause's mean.
    pub fn shares(&self, cause: usize) -> Shares {
        Shares::of(self.all(cause))
    }

    /// How far the service is off nominal in the worlds of one batch, given what was read, where anything further was
    /// looked at.
    pub fn service(&self, batch: usize, cause: usize) -> &Lanes {
        self.number(batch, cause, self.n_numbers - 1)
    }

    /// One further number of a cause in one batch.
    pub fn number(&self, batch: usize, cause: usize, number: usize) -> &Lanes {
        &self.numbers[(batch * self.n_causes + cause) * self.n_numbers + number]
    }

    /// A sample of one cause in worlds of their own weights: log likelihoods with `ln ω`, and that by itself.
    pub fn pulled(worlds: Worlds, ln: Vec<f64>, ln_omega: Vec<f64>, work: Work) -> Self {
        Weighed {
            worlds,
            ln,
            ln_omega,
            n_causes: 1,
            numbers: Vec::new(),
            n_numbers: 0,
            work,
        }
    }

    /// Both samples as one; nothing further is kept.
    pub fn join(&mut self, more: &Weighed) {
        let mut ln = Vec::with_capacity(self.ln.len() + more.ln.len());
        for cause in 0..self.n_causes {
            ln.extend_from_slice(self.all(cause));
            ln.extend_from_slice(more.all(cause));
        }
        self.ln = ln;
        self.ln_omega.extend_from_slice(&more.ln_omega);
        self.worlds = self.worlds.and(&more.worlds);
        self.numbers.clear();
        self.work.add(&more.work);
    }
}

impl Work {
    /// Adds what more was computed; causes are counted by who knows them.
    pub(crate) fn add(&mut self, more: &Work) {
        self.solutions += more.solutions;
        self.factorings += more.factorings;
        self.refactorings += more.refactorings;
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

/// Places where the causes weighed at once change the network, at most: transfer impedances between all of them are kept,
/// 256 bytes each, which is 20 MB; under several conditions no more than that for all.
const MOST_SPOTS: f64 = 400.0;

/// Weighs causes in worlds of the prior, and looks at further things under each.
pub(crate) fn weigh(
    study: &Study<'_>,
    causes: &[Cause],
    further: &[Further],
    care: Care,
) -> Weighed {
    let heard = Heard::all(study, further);
    weigh_heard(study, causes, further, care, &heard)
}

/// Weighs causes in the worlds of a sample, which has drawn how bad their faults are.
pub(crate) fn weigh_beside(
    study: &Study<'_>,
    causes: &[Cause],
    sample: &Weighed,
    care: Care,
) -> Weighed {
    let heard = Heard::all(study, &[]);
    let mut out = weigh_in(study, causes, &[], sample.worlds.clone(), care, &heard);
    for row in out.ln.chunks_exact_mut(sample.worlds.len()) {
        row.iter_mut()
            .zip(&sample.ln_omega)
            .for_each(|(ln, o)| *ln += o);
    }
    out.ln_omega.clone_from(&sample.ln_omega);
    out
}

/// Weighs causes in few worlds, by all that was witnessed or what was under one condition only. What ends `margin` of log
/// weight below the best in any case is not weighed to the end.
pub(crate) fn weigh_coarsely(
    study: &Study<'_>,
    causes: &[Cause],
    under: Option<usize>,
    care: Care,
    margin: f64,
) -> Weighed {
    let heard = match under {
        None => Heard {
            margin: Some(margin),
            ..Heard::all(study, &[])
        },
        Some(condition) => {
            let told = study.witnesses.iter().filter_map(|w| match w.claim {
                Claim::Volts(r) if w.condition == condition => Some(r),
                _ => None,
            });
            let kept: Vec<usize> = told.collect();
            Heard {
                conditions: vec![condition],
                readings: Some((study.readings.only(&kept), kept)),
                margin: Some(margin),
            }
        }
    };
    weigh_heard(study, causes, &[], care, &heard)
}

/// Which part of what was witnessed is weighed.
struct Heard {
    conditions: Vec<usize>,
    /// The readings, and their numbers among all; `None` where it is all of them.
    readings: Option<(Readings, Vec<usize>)>,
    /// Log weight below the best from which a weight may be anything below that.
    margin: Option<f64>,
}

impl Heard {
    /// All of it, to the end.
    fn all(study: &Study<'_>, further: &[Further]) -> Self {
        Heard {
            conditions: study.conditions_seen(further),
            readings: None,
            margin: None,
        }
    }

    fn readings<'h>(&'h self, study: &'h Study<'_>) -> &'h Readings {
        self.readings.as_ref().map_or(&study.readings, |it| &it.0)
    }
}

/// Causes that say in each lot what is best, before others are weighed against it.
const FIRST: usize = 512;

/// Causes whose log likelihoods are put in their places at once.
const ROWS: usize = 256;

fn weigh_heard(
    study: &Study<'_>,
    causes: &[Cause],
    further: &[Further],
    care: Care,
    heard: &Heard,
) -> Weighed {
    let n_sites = study.wiring.dims;
    let used = study.used(causes);
    let worlds = Worlds::draw_used(n_sites + used.len(), care.worlds, care.seed, |dim| {
        dim < n_sites || used[dim - n_sites]
    });
    weigh_in(study, causes, further, worlds, care, heard)
}

fn weigh_in(
    study: &Study<'_>,
    causes: &[Cause],
    further: &[Further],
    worlds: Worlds,
    care: Care,
    heard: &Heard,
) -> Weighed {
    let n_numbers = match further {
        [] => 0,
        some => 1 + some.iter().map(|f| f.seeing.len()).sum::<usize>(),
    };
    let n = worlds.len();
    let mut out = Weighed {
        ln: vec![f64::NEG_INFINITY; n * causes.len()],
        ln_omega: Vec::new(),
        n_causes: causes.len(),
        numbers: vec![[0.0; 8]; worlds.batches() * causes.len() * n_numbers],
        n_numbers,
        work: Work::default(),
        worlds,
    };
    out.work.causes = causes.len() as u64;
    let Ok(order) = Order::of(&study.wiring.topology) else {
        return out;
    };
    let mut parts: Vec<(usize, Ready<'_>)> = Vec::new();
    let mut first = 0;
    while first < causes.len() {
        let ready = Ready::of(study, &order, &causes[first..], heard);
        first += ready.n_causes;
        parts.push((first - ready.n_causes, ready));
    }
    let tasks: Vec<(usize, usize)> = (0..parts.len())
        .flat_map(|p| (0..out.worlds.batches()).map(move |b| (p, b)))
        .collect();
    let done: Vec<(Vec<f64>, Vec<Lanes>, Work)> = tasks
        .par_iter()
        .map(|(p, b)| {
            let (first, ready) = &parts[*p];
            let some = &causes[*first..first + ready.n_causes];
            ready.weigh_batch(&out.worlds, *b, some, further, n_numbers, care)
        })
        .collect();
    for ((p, b), (_, numbers, work)) in tasks.iter().zip(&done) {
        let at = (b * causes.len() + parts[*p].0) * n_numbers;
        out.numbers[at..at + numbers.len()].copy_from_slice(numbers);
        out.work.add(work);
    }
    let batches = out.worlds.batches();
    for (p, (first, ready)) in parts.iter().enumerate() {
        let mine = &done[p * batches..(p + 1) * batches];
        let rows = out.ln[first * n..(first + ready.n_causes) * n].par_chunks_exact_mut(n);
        rows.enumerate().with_min_len(ROWS).for_each(|(c, row)| {
            for (lanes, (ln, _, _)) in row.chunks_exact_mut(8).zip(mine) {
                lanes.copy_from_slice(&ln[8 * c..8 * c + 8]);
            }
        });
    }
    out
}

impl Study<'_> {
    /// By single: whether one of the causes has it.
    pub fn used<'c>(&self, causes: impl IntoIterator<Item = &'c Cause>) -> Vec<bool> {
        let mut used = vec![false; self.singles.len()];
        for i in causes.into_iter().flat_map(|c| c.faults.iter().flatten()) {
            used[*i as usize] = true;
        }
        used
    }

    /// All recipes of a cause.
    pub fn recipes<'c>(&'c self, cause: &'c Cause) -> impl Iterator<Item = &'c Recipe> {
        let own = cause.faults.iter().flatten();
        own.flat_map(|i| &self.singles[*i as usize].recipes)
            .chain(cause.merged.iter().flat_map(|m| m.iter()))
    }

    /// Conditions under which something is to be seen.
    pub fn conditions_seen(&self, further: &[Further]) -> Vec<usize> {
        let seen = |c: &usize| {
            self.witnesses.iter().any(|w| w.condition == *c)
                || further.iter().any(|f| f.condition == *c)
        };
        (0..self.conditions.len()).filter(seen).collect()
    }

    /// Whether a cause has a mistake of measuring.
    pub fn is_mistake(&self, cause: &Cause) -> bool {
        let mut faults = cause.faults.iter().flatten();
        faults.any(|i| self.singles[*i as usize].fault.is_misreading())
    }

    /// How many pairs and mutual impedances of a condition's list the witnesses need.
    pub fn probes_for(&self, condition: usize, mistaken: bool) -> (usize, usize) {
        let needed = if mistaken {
            &self.n_probes
        } else {
            &self.n_plain
        };
        needed.get(condition).copied().unwrap_or_default()
    }

    /// Severities of a cause in a batch of worlds.
    pub fn severities(&self, cause: &Cause, worlds: &Worlds, batch: usize) -> [Lanes; 2] {
        if let Some(pinned) = &cause.pinned {
            return **pinned;
        }
        cause.faults.map(|f| {
            f.map_or([0.0; 8], |i| {
                let severity = self.singles[i as usize].severity;
                let levels = worlds.levels(self.wiring.dims + i as usize, batch);
                levels.map(|u| severity.at(u))
            })
        })
    }
}

/// The part of a study that the first of some causes need.
struct Ready<'s> {
    study: &'s Study<'s>,
    order: &'s Order,
    /// How many of the causes.
    n_causes: usize,
    spots: Vec<Spot>,
    local: Vec<usize>,
    used: Vec<usize>,
    heard: &'s Heard,
    /// Whether a mistake of measuring is among the causes.
    mistaken: bool,
    /// The largest log likelihood that what is heard can have.
    most: f64,
}

/// One batch, under each condition.
struct InBatch<'b> {
    batches: &'b [Batch],
    probes: Vec<Probes<'b>>,
    seats: Seats,
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
    looked: Looked,
    numbers: Vec<Lanes>,
}

impl Room {
    fn new() -> Self {
        Room {
            scratch: Scratch::rough(),
            seen: Seen::default(),
            changes: Vec::new(),
            looked: Looked::default(),
            numbers: Vec::new(),
        }
    }
}

impl<'s> Ready<'s> {
    fn of(study: &'s Study<'s>, order: &'s Order, causes: &[Cause], heard: &'s Heard) -> Ready<'s> {
        let mut out = Ready {
            study,
            order,
            n_causes: 0,
            spots: Vec::new(),
            local: vec![usize::MAX; study.spots.list().len()],
            used: Vec::new(),
            heard,
            mistaken: false,
            most: heard.readings(study).most(),
        };
        let n_conditions = heard.conditions.len().max(1) as f64;
        let most = (MOST_SPOTS / n_conditions.sqrt()) as usize;
        let mut known = vec![false; study.singles.len()];
        for cause in causes {
            for i in cause.faults.iter().flatten() {
                if !std::mem::replace(&mut known[*i as usize], true) {
                    out.add(&study.singles[*i as usize].recipes);
                }
            }
            if let Some(merged) = &cause.merged {
                out.add(merged);
            }
            if out.spots.len() > most && out.n_causes > 0 {
                break;
            }
            out.n_causes += 1;
        }
        let used = study.used(&causes[..out.n_causes]);
        out.used = (0..used.len()).filter(|i| used[*i]).collect();
        out.mistaken = causes[..out.n_causes].iter().any(|c| study.is_mistake(c));
        out
    }

    /// Adds the spots that recipes change under the conditions heard.
    fn add(&mut self, recipes: &[Recipe]) {
        for spot in self
            .heard
            .conditions
            .iter()
            .flat_map(|c| recipes[*c].spots())
        {
            if self.local[spot] == usize::MAX {
                self.local[spot] = self.spots.len();
                self.spots.push(self.study.spots.list()[spot]);
            }
        }
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
        let batches = study.batches(worlds, index, &self.heard.conditions);
        let read = |c: usize| match further.is_empty() {
            true => study.probes_for(c, self.mistaken),
            false => study.probes[c].counts(),
        };
        let conditions = &self.heard.conditions;
        let seats = Seats::of(study, conditions, &batches, read, &self.spots);
        let mut work = Work::default();
        let Some(factors) = seats.factors(self.order, &batches) else {
            return (ln, numbers, work);
        };
        work.factorings = factors.len() as u64;
        let Some(probes) = seats.probes(&factors) else {
            return (ln, numbers, work);
        };
        let mut written: Vec<Option<Written>> = (0..study.singles.len()).map(|_| None).collect();
        for i in &self.used {
            let single = &study.singles[*i];
            let severity = worlds
                .levels(study.wiring.dims + i, index)
                .map(|u| single.severity.at(u));
            let changes = self
                .heard
                .conditions
                .iter()
                .zip(&batches)
                .map(|(c, b)| {
                    let mut out = Vec::new();
                    self.write(&single.recipes[*c], b, &[severity], &mut out);
                    out
                })
                .collect();
            written[*i] = Some(Written { severity, changes });
        }
        let batch = InBatch {
            batches: &batches,
            probes,
            seats,
            written,
        };
        const CHUNK: usize = 128;
        let weigh_some = |room: &mut Room, causes: &[Cause], ln: &mut [f64], floor: f64| {
            let mut work = Work::default();
            let mut numbers = Vec::with_capacity(n_numbers * causes.len());
            for (ln, cause) in ln.chunks_exact_mut(8).zip(causes) {
                let before = numbers.len();
                numbers.resize(before + n_numbers, [0.0; 8]);
                let floor = Floor {
                    ln: floor - cause.ln_prior,
                    most: self.most,
                };
                let lanes = self.weigh_one(
                    &batch,
                    cause,
                    further,
                    care,
                    floor,
                    room,
                    &mut numbers[before..],
                    &mut work,
                );
                ln.copy_from_slice(&lanes);
            }
            (numbers, work)
        };
        let weigh_all = |causes: &[Cause], ln: &mut [f64], floor: f64| -> Vec<(Vec<Lanes>, Work)> {
            ln.par_chunks_mut(8 * CHUNK)
                .zip(causes.par_chunks(CHUNK))
                .map_init(Room::new, |room, (ln, causes)| {
                    weigh_some(room, causes, ln, floor)
                })
                .collect()
        };
        let first = match self.heard.margin {
            Some(_) if worlds.batches() == 1 => FIRST.min(causes.len()),
            _ => 0,
        };
        let (ln_first, ln_rest) = ln.split_at_mut(8 * first);
        let mut done = weigh_all(&causes[..first], ln_first, f64::NEG_INFINITY);
        let weights = ln_first.chunks_exact(8).zip(causes);
        let best = weights
            .map(|(ln, cause)| cause.ln_prior + ln_mean(ln))
            .fold(f64::NEG_INFINITY, f64::max);
        let floor = best - self.heard.margin.unwrap_or(f64::INFINITY);
        done.extend(weigh_all(&causes[first..], ln_rest, floor));
        let mut at = 0;
        for (some, w) in &done {
            numbers[at..at + some.len()].copy_from_slice(some);
            at += some.len();
            work.add(w);
        }
        (ln, numbers, work)
    }

    fn write(
        &self,
        recipe: &Recipe,
        batch: &Batch,
        severities: &[Lanes],
        out: &mut Vec<(usize, Cx8)>,
    ) {
        let before = out.len();
        recipe.write(batch, severities, out);
        for (spot, _) in &mut out[before..] {
            *spot = self.local[*spot];
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn weigh_one(
        &self,
        batch: &InBatch<'_>,
        cause: &Cause,
        further: &[Further],
        care: Care,
        floor: Floor,
        room: &mut Room,
        numbers: &mut [Lanes],
        work: &mut Work,
    ) -> Lanes {
        let study = self.study;
        room.looked.clear(study);
        let parts: [Option<&Written>; 2] = cause
            .faults
            .map(|f| f.and_then(|i| batch.written[i as usize].as_ref()));
        let drawn = parts.map(|p| p.map_or([0.0; 8], |w| w.severity));
        let severities = cause.pinned.as_deref().copied().unwrap_or(drawn);
        for (nth, condition) in self.heard.conditions.iter().copied().enumerate() {
            room.changes.clear();
            match cause.merged.as_deref() {
                Some(recipes) => {
                    let batch = &batch.batches[nth];
                    self.write(&recipes[condition], batch, &severities, &mut room.changes);
                }
                None if cause.pinned.is_some() => {
                    let batch = &batch.batches[nth];
                    for (i, severity) in cause.faults.iter().zip(&severities) {
                        let Some(i) = i else { continue };
                        let recipe = &study.singles[*i as usize].recipes[condition];
                        self.write(
                            recipe,
                            batch,
                            core::slice::from_ref(severity),
                            &mut room.changes,
                        );
                    }
                }
                None => {
                    for part in parts.iter().flatten() {
                        room.changes.extend_from_slice(&part.changes[nth]);
                    }
                }
            }
            let seat = batch.seats.seat(nth);
            seat.complete(&mut room.changes);
            let (scratch, seen) = (&mut room.scratch, &mut room.seen);
            let probes = &batch.probes[seat.network];
            let done = probes.under_for(&seat.asked, 0, &room.changes, scratch, seen);
            work.solutions += 8;
            match done {
                Ok(w) => work.refactorings += w.refactorings,
                Err(_) => return [f64::NEG_INFINITY; 8],
            }
            study.look(cause, &severities, condition, &room.seen, &mut room.looked);
            if further.is_empty() {
                continue;
            }
            let factor = study.factor(cause, &severities, condition);
            let mut at = 0;
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
        let readings = self.heard.readings(study);
        if let Some((_, kept)) = &self.heard.readings {
            room.looked.keep(kept);
        }
        if let Some(last) = numbers.last_mut() {
            *last = room.looked.service(readings);
        }
        if care.smoothing > 0.0 {
            let looked = &mut room.looked;
            looked.ln_likelihood_smooth(readings, care.smoothing, care.slips, floor)
        } else {
            room.looked.ln_likelihood(readings, care.slips)
        }
    }
}

impl Study<'_> {
    /// One batch of worlds under each of some conditions.
    pub fn batches(&self, worlds: &Worlds, index: usize, conditions: &[usize]) -> Vec<Batch> {
        let mut out: Vec<Batch> = Vec::with_capacity(conditions.len());
        for c in conditions {
            let condition = &self.conditions[*c];
            out.push(match out.first() {
                None => self.wiring.batch(worlds, index, condition),
                Some(drawn) => self.wiring.batch_as(drawn, worlds, index, condition),
            });
        }
        out
    }
}
