//! The best order of checks on premises small enough to search all of it, against the engine's.
//!
//! A told site of two outlets, nothing wrong or any single fault that it can have and that shows, twelve hidden truths of
//! each. Every check has a discretised outcome for every truth. With `w` the weights that the simulator draws by:
//! `f(S) = 0` where one cause has nine tenths of `w(S)` or no check splits what is left, else
//! `f(S) = 1 + min_c Σ_o w(S ∩ o) / w(S) f(S ∩ o)`: expected number of checks of the best policy, over all subsets that
//! can come up. That policy knows the truths and the weights and errs in nothing: nobody reaches it. Causes that are
//! the same to anybody (`same`) count as one. Both start with one line-neutral reading at the first outlet where it shows,
//! and are counted until the true cause has nine tenths; the engine's checks to its own end, which also asks for rare
//! dangers behind a sure name, are told beside.

use std::collections::HashMap;

use num_complex::Complex64;
use rayon::prelude::*;
use serde::Serialize;
use site::visit::{Lamp, Pin, Visit};
use trace::answer::Group;

use crate::calibration::middle;
use crate::chance::Chance;
use crate::led::lead;
use crate::same::{holds, of_truth};
use crate::sim::fault::{At, Fault, KINDS};
use crate::sim::look::{Check, How, PAIRS, TEST_LOAD, World, slot};
use crate::sim::net::SOIL;
use crate::sim::person::Person;
use crate::sim::premises::Premises;
use crate::sim::story::{Sort, Story};

/// Hidden truths of each cause.
const TRUTHS: usize = 12;
/// Share of the weight, and of the engine's probability, from which a cause is settled.
const SETTLED: f64 = 0.9;
/// Weight of nothing wrong beside the sum of all faults, as the stories have it.
const SOUND: f64 = 0.25 / 0.57;
/// Visits to each premises.
const VISITS: usize = 16;
/// Edges of the classes of a voltage, over nominal.
const EDGES: [f64; 10] = [0.006, 0.02, 0.05, 0.12, 0.3, 0.7, 0.88, 0.95, 1.06, 1.3];

/// One visit on small premises.
#[derive(Clone, Debug, Serialize)]
pub struct Compared {
    /// Number of the premises.
    pub site: u64,
    /// What was wrong.
    pub truth: String,
    /// Checks of the best policy.
    pub best: usize,
    /// Checks of the engine until the true group had as much, or all of them where it never did.
    pub led: usize,
    /// Checks of the engine until it would check nothing further: it goes on for a rare danger behind a sure name.
    pub to_the_end: usize,
    /// The group that led at the end was right.
    pub right: bool,
}

/// Worlds still possible.
type Set = [u64; 16];

fn only(world: usize) -> Set {
    let mut set = [0; 16];
    set[world / 64] = 1 << (world % 64);
    set
}

fn add(set: &mut Set, world: usize) {
    set[world / 64] |= 1 << (world % 64);
}

struct Small {
    worlds: Vec<World>,
    cause: Vec<usize>,
    weight: Vec<f64>,
    /// By check, by world.
    outcomes: Vec<Vec<u32>>,
    /// The reading that a visit starts with, by outlet, by world.
    first: [Vec<u32>; 2],
    best: HashMap<Set, (f64, Option<usize>)>,
}

fn checks(n_outlets: usize) -> Vec<Check> {
    let mut out = vec![Check::Breaker(0)];
    for o in 0..n_outlets {
        for (a, b) in PAIRS {
            out.extend(
                [How::Plain, How::Loaded, How::LowImpedance].map(|how| Check::Volts(o, a, b, how)),
            );
        }
        out.extend([Check::Lamps(o), Check::Switch(o)]);
        out.extend([Pin::Line, Pin::Neutral, Pin::Earth].map(|pin| Check::Detector(o, pin)));
    }
    out
}

fn class(share: f64) -> u32 {
    EDGES.iter().filter(|e| share > **e).count() as u32
}

/// The discretised outcome of a check without any error.
fn outcome(world: &World, check: Check) -> u32 {
    let (person, nominal) = (Person::exact(), world.premises.truth.volts);
    match check {
        Check::Volts(o, a, b, how) => {
            let test = (how == How::Loaded).then_some((o, TEST_LOAD));
            class(world.volts(o, (a, b), test, person.input(how == How::LowImpedance)) / nominal)
        }
        Check::Detector(o, pin) => {
            let laid = world.laid(None);
            let volts = laid.net.volts().unwrap_or_default();
            let node = laid.pins[o][slot(pin)];
            u32::from(
                volts
                    .get(node)
                    .is_some_and(|v| (v - volts[SOIL]).norm() > 0.5 * nominal),
            )
        }
        Check::Lamps(o) => {
            let mut laid = world.laid(None);
            let [l, n, e] = laid.pins[o];
            for (a, b) in [(l, n), (l, e), (n, e)] {
                laid.net
                    .siemens(a, b, Complex64::from(1.0 / person.lamp * 120.0 / nominal));
            }
            let volts = laid.net.volts().unwrap_or_default();
            let lit = |a: usize, b: usize| {
                let share = if volts.is_empty() {
                    0.0
                } else {
                    (volts[a] - volts[b]).norm() / nominal
                };
                match person.lamp_at(share) {
                    Lamp::Lit => 2,
                    Lamp::Dim => 1,
                    Lamp::Dark => 0,
                }
            };
            lit(l, n) + 3 * lit(l, e) + 9 * lit(n, e)
        }
        Check::Breaker(_) => u32::from(world.has("breaker-open").is_some()),
        Check::Switch(o) => {
            let off = ["switched-outlet-off", "switched-neutral"];
            u32::from(
                off.iter()
                    .any(|k| world.has(k).is_some_and(|f| f.at == At::Outlet(o))),
            )
        }
        Check::Between(..) => 0,
    }
}

impl Small {
    fn draw(seed: u64, number: u64) -> Self {
        let mut chance = Chance::new(seed, 90_000_000 + number);
        let told = loop {
            let it = Premises::of(&mut chance, "north-america", 1, 2);
            if it.site.outlets[1].id.starts_with("outlet") && it.site.panels.len() == 1 {
                break it;
            }
        };
        let checks = checks(2);
        let mut causes: Vec<(Vec<Fault>, f64)> = Vec::new();
        for kind in &KINDS {
            let places = kind.sits.places(&told.site);
            for (at, leg) in &places {
                let how_bad = kind.bad.draw(&mut chance);
                let fault = Fault {
                    kind: kind.id,
                    at: *at,
                    leg: *leg,
                    how_bad,
                };
                let world = World {
                    premises: told.clone(),
                    faults: vec![fault],
                };
                if !world.where_all_show().is_empty() {
                    causes.push((vec![fault], kind.weight / places.len() as f64));
                }
            }
        }
        let faults: f64 = causes.iter().map(|c| c.1).sum();
        causes.push((Vec::new(), SOUND * faults));
        // Room for 1024 worlds; what is met least is left out where there are more.
        causes.sort_by(|a, b| b.1.total_cmp(&a.1));
        causes.truncate(1024 / TRUTHS);
        let mut names = Vec::new();
        let (mut worlds, mut cause, mut weight) = (Vec::new(), Vec::new(), Vec::new());
        for (faults, w) in &causes {
            let name = of_truth(&told.site, faults);
            let c = names.iter().position(|n| *n == name).unwrap_or_else(|| {
                names.push(name);
                names.len() - 1
            });
            for _ in 0..TRUTHS {
                worlds.push(World {
                    premises: told.redrawn(&mut chance),
                    faults: faults.clone(),
                });
                cause.push(c);
                weight.push(w / TRUTHS as f64);
            }
        }
        let of_check = |c: &Check| -> Vec<u32> { worlds.iter().map(|w| outcome(w, *c)).collect() };
        let outcomes = checks.iter().map(of_check).collect();
        let first = [0, 1].map(|o| of_check(&start(o)));
        Self {
            worlds,
            cause,
            weight,
            outcomes,
            first,
            best: HashMap::new(),
        }
    }

    fn members(&self, set: Set) -> impl Iterator<Item = usize> + use<> {
        let n = self.worlds.len();
        (0..n).filter(move |w| set[w / 64] >> (w % 64) & 1 == 1)
    }

    fn weight_of(&self, set: Set) -> f64 {
        self.members(set).map(|w| self.weight[w]).sum()
    }

    fn split(&self, set: Set, check: usize) -> Vec<Set> {
        let mut parts: Vec<(u32, Set)> = Vec::new();
        for w in self.members(set) {
            let outcome = self.outcomes[check][w];
            match parts.iter_mut().find(|(o, _)| *o == outcome) {
                Some((_, part)) => add(part, w),
                None => parts.push((outcome, only(w))),
            }
        }
        parts.into_iter().map(|(_, part)| part).collect()
    }

    fn is_settled(&self, set: Set) -> bool {
        let mut by_cause = vec![0.0; self.worlds.len()];
        let mut sum = 0.0;
        for w in self.members(set) {
            by_cause[self.cause[w]] += self.weight[w];
            sum += self.weight[w];
        }
        by_cause.into_iter().any(|w| w >= SETTLED * sum)
    }

    /// Expected checks of the best policy, and its first check.
    fn solve(&mut self, set: Set) -> (f64, Option<usize>) {
        if self.is_settled(set) {
            return (0.0, None);
        }
        if let Some(known) = self.best.get(&set) {
            return *known;
        }
        let whole = self.weight_of(set);
        let mut splits: Vec<(f64, usize, Vec<Set>)> = (0..self.outcomes.len())
            .filter_map(|c| {
                let parts = self.split(set, c);
                let least = 1.0
                    + parts
                        .iter()
                        .filter(|p| !self.is_settled(**p))
                        .map(|p| self.weight_of(*p) / whole)
                        .sum::<f64>();
                (parts.len() > 1).then_some((least, c, parts))
            })
            .collect();
        splits.sort_by(|a, b| a.0.total_cmp(&b.0));
        splits.dedup_by(|a, b| a.2 == b.2);
        let mut best = (f64::INFINITY, None);
        for (_, check, parts) in splits {
            let shares: Vec<f64> = parts.iter().map(|p| self.weight_of(*p) / whole).collect();
            // What is open after this check costs at least one more.
            let open = |p: &Set| {
                !self.is_settled(*p)
                    && (0..self.outcomes.len()).any(|c| self.split(*p, c).len() > 1)
            };
            let mut bound = 1.0
                + parts
                    .iter()
                    .zip(&shares)
                    .filter(|(p, _)| open(p))
                    .map(|(_, s)| s)
                    .sum::<f64>();
            let mut sum = 1.0;
            for (part, share) in parts.iter().zip(&shares) {
                if bound >= best.0 {
                    break;
                }
                let rest = self.solve(*part).0;
                sum += share * rest;
                bound += share * (rest - 1.0).max(0.0);
            }
            if bound < best.0 && sum < best.0 {
                best = (sum, Some(check));
            }
        }
        let found = if best.1.is_some() { best } else { (0.0, None) };
        self.best.insert(set, found);
        found
    }

    /// Checks of the best policy for one world, from an outlet.
    fn depth(&mut self, world: usize, here: usize) -> usize {
        let first = &self.first[here];
        let mut set = gather((0..self.worlds.len()).filter(|w| first[*w] == first[world]));
        let mut depth = 0;
        while let (_, Some(check)) = self.solve(set) {
            depth += 1;
            let outcome = self.outcomes[check][world];
            set = gather(
                self.members(set)
                    .filter(|w| self.outcomes[check][*w] == outcome),
            );
        }
        depth
    }
}

/// What a visit to an outlet starts with.
fn start(outlet: usize) -> Check {
    Check::Volts(outlet, Pin::Line, Pin::Neutral, How::Plain)
}

fn gather(worlds: impl Iterator<Item = usize>) -> Set {
    let mut set = [0; 16];
    worlds.for_each(|w| add(&mut set, w));
    set
}

/// Compares on premises `0..n` of a seed, drawn by weight on each.
#[must_use]
pub fn sites(seed: u64, n: u64) -> Vec<Compared> {
    (0..n)
        .into_par_iter()
        .flat_map(|number| compare(seed, number))
        .collect()
}

fn compare(seed: u64, number: u64) -> Vec<Compared> {
    let mut small = Small::draw(seed, number);
    let mut chance = Chance::new(seed, 80_000_000 + number);
    let mut out = Vec::new();
    for _ in 0..VISITS {
        let w = chance.weighted(small.weight.iter().copied());
        let world = small.worlds[w].clone();
        let site = world.premises.site.clone();
        let mut visit = Visit {
            meters: Person::exact().meters(),
            ..site::quick::nothing(&site)
        };
        let mut person = Person::exact();
        let here = world.where_all_show().first().copied().unwrap_or(0);
        world.look(start(here), &mut person, &mut visit);
        let truth = of_truth(&site, &world.faults);
        let named = world
            .faults
            .iter()
            .map(|f| format!("{}@{}", f.kind, f.at.key(&site)))
            .collect::<Vec<_>>();
        let led = lead(
            Story {
                world,
                sort: Sort::Single,
                person,
                visit,
                here,
            },
            seed,
        );
        let right = |g: &Option<Group>| g.as_ref().is_some_and(|g| holds(&site, g, &truth));
        let sure = |g: &Option<Group>| g.as_ref().is_some_and(|g| g.probability >= SETTLED);
        let settled = led.leaders.iter().position(|g| right(g) && sure(g));
        out.push(Compared {
            site: number,
            truth: if named.is_empty() {
                "nothing".into()
            } else {
                named.join(" + ")
            },
            best: small.depth(w, here),
            led: settled.unwrap_or(led.checks.len()),
            to_the_end: led.checks.len(),
            right: led.leaders.last().is_some_and(right),
        });
    }
    out
}

/// Medians, means and their ratios, with the goal.
#[must_use]
pub fn table(all: &[Compared]) -> String {
    let best = middle(all.iter().map(|c| c.best as f64));
    let led = middle(all.iter().map(|c| c.led as f64));
    let end = middle(all.iter().map(|c| c.to_the_end as f64));
    let right = all.iter().filter(|c| c.right).count();
    let mut out = format!("{} visits to premises of two outlets\n", all.len());
    let mut line = |name: &str, value: String| out += &format!("  {name:<50} {value}\n");
    let both = |(median, mean): (f64, f64)| format!("{median} ({mean:.2})");
    line("best policy to nine tenths, median (mean)", both(best));
    line("led checks to nine tenths, median (mean)", both(led));
    line(
        "ratio of medians, of means",
        format!(
            "{:.2}, {:.2}   goal: at most 1.2",
            led.0 / best.0,
            led.1 / best.1
        ),
    );
    line("led checks to the end, median (mean)", both(end));
    line("true group first at the end", format!("{right}"));
    for c in all {
        out += &format!(
            "    {} {:<60} best {} led {}{} end {}\n",
            c.site,
            c.truth,
            c.best,
            c.led,
            if c.right { "" } else { " wrong" },
            c.to_the_end
        );
    }
    out
}
