//! The best order of checks on premises small enough to search all of it, against the engine's.
//!
//! A told site of two outlets, nine causes (nothing, and eight single faults), six hidden truths of each. Every check has
//! a discretised outcome for every truth. `f(S) = 0` where all truths left in `S` name one cause or no check splits them,
//! else `f(S) = 1 + min_c Σ_o P(o | S) f(S ∩ o)`: expected number of checks of the best policy, over all subsets that can
//! come up. That policy knows the six truths and errs in nothing, so that it is a bound that nobody reaches. Both start
//! with one line-neutral reading at the first outlet.

use std::collections::HashMap;

use num_complex::Complex64;
use rayon::prelude::*;
use serde::Serialize;
use site::visit::{Lamp, Pin, Skill, Visit};

use crate::calibration::middle;
use crate::chance::Chance;
use crate::led::lead;
use crate::same::{holds, of_truth};
use crate::sim::fault::{Fault, KINDS, Kind};
use crate::sim::look::{Check, How, PAIRS, TEST_LOAD, World, slot};
use crate::sim::net::SOIL;
use crate::sim::person::Person;
use crate::sim::premises::Premises;
use crate::sim::story::{Sort, Story};

/// Hidden truths of each cause.
const TRUTHS: usize = 6;
/// Single faults besides nothing.
const FAULTS: usize = 8;
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
    /// Checks of the engine.
    pub led: usize,
    /// The engine's leading group was right.
    pub right: bool,
}

struct Small {
    worlds: Vec<World>,
    cause: Vec<usize>,
    /// By check, by world.
    outcomes: Vec<Vec<u32>>,
    first: Vec<u32>,
    best: HashMap<u64, (f64, Option<usize>)>,
}

fn checks(n_outlets: usize) -> Vec<Check> {
    let mut out = vec![Check::Breaker(0)];
    for o in 0..n_outlets {
        for (a, b) in PAIRS {
            out.extend(
                [How::Plain, How::Loaded, How::LowImpedance].map(|how| Check::Volts(o, a, b, how)),
            );
        }
        out.push(Check::Lamps(o));
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
        let n_checks = checks(2);
        let mut faults: Vec<Vec<Fault>> = vec![Vec::new()];
        let kinds: Vec<&Kind> = KINDS
            .iter()
            .filter(|k| !k.id.contains("supply") && !k.id.contains("overloaded"))
            .collect();
        while faults.len() <= FAULTS {
            let kind = kinds[chance.weighted(kinds.iter().map(|k| k.weight))];
            let places = kind.sits.places(&told.site);
            if places.is_empty() {
                continue;
            }
            let (at, leg) = *chance.pick(&places);
            let fault = Fault {
                kind: kind.id,
                at,
                leg,
                how_bad: kind.bad.draw(&mut chance),
            };
            let new = of_truth(&told.site, &[fault]);
            let world = World {
                premises: told.clone(),
                faults: vec![fault],
            };
            let known = faults.iter().any(|f| of_truth(&told.site, f) == new);
            if !known && !world.where_all_show().is_empty() {
                faults.push(vec![fault]);
            }
        }
        let mut worlds = Vec::new();
        let mut cause = Vec::new();
        for (c, faults) in faults.iter().enumerate() {
            for _ in 0..TRUTHS {
                worlds.push(World {
                    premises: told.redrawn(&mut chance),
                    faults: faults.clone(),
                });
                cause.push(c);
            }
        }
        let outcomes = n_checks
            .iter()
            .map(|c| worlds.iter().map(|w| outcome(w, *c)).collect())
            .collect();
        let first = worlds
            .iter()
            .map(|w| outcome(w, Check::Volts(0, Pin::Line, Pin::Neutral, How::Plain)))
            .collect();
        Self {
            worlds,
            cause,
            outcomes,
            first,
            best: HashMap::new(),
        }
    }

    fn members(&self, set: u64) -> impl Iterator<Item = usize> + use<> {
        let n = self.worlds.len();
        (0..n).filter(move |w| set >> w & 1 == 1)
    }

    fn split(&self, set: u64, check: usize) -> Vec<u64> {
        let mut parts: Vec<(u32, u64)> = Vec::new();
        for w in self.members(set) {
            let outcome = self.outcomes[check][w];
            match parts.iter_mut().find(|(o, _)| *o == outcome) {
                Some((_, part)) => *part |= 1 << w,
                None => parts.push((outcome, 1 << w)),
            }
        }
        parts.into_iter().map(|(_, part)| part).collect()
    }

    fn is_settled(&self, set: u64) -> bool {
        let mut causes = self.members(set).map(|w| self.cause[w]);
        let first = causes.next();
        causes.all(|c| Some(c) == first)
    }

    /// Expected checks of the best policy, and its first check.
    fn solve(&mut self, set: u64) -> (f64, Option<usize>) {
        if self.is_settled(set) {
            return (0.0, None);
        }
        if let Some(known) = self.best.get(&set) {
            return *known;
        }
        let whole = f64::from(set.count_ones());
        let mut splits: Vec<(f64, usize, Vec<u64>)> = (0..self.outcomes.len())
            .filter_map(|c| {
                let parts = self.split(set, c);
                let least = 1.0
                    + parts
                        .iter()
                        .filter(|p| !self.is_settled(**p))
                        .map(|p| f64::from(p.count_ones()) / whole)
                        .sum::<f64>();
                (parts.len() > 1).then_some((least, c, parts))
            })
            .collect();
        splits.sort_by(|a, b| a.0.total_cmp(&b.0));
        splits.dedup_by(|a, b| a.2 == b.2);
        let mut best = (f64::INFINITY, None);
        for (_, check, parts) in splits {
            let share = |p: u64| f64::from(p.count_ones()) / whole;
            // What is open after this check costs at least one more.
            let open = |p: &u64| {
                !self.is_settled(*p)
                    && (0..self.outcomes.len()).any(|c| self.split(*p, c).len() > 1)
            };
            let mut bound = 1.0
                + parts
                    .iter()
                    .filter(|p| open(p))
                    .map(|p| share(*p))
                    .sum::<f64>();
            let mut sum = 1.0;
            for part in &parts {
                if bound >= best.0 {
                    break;
                }
                let rest = self.solve(*part).0;
                sum += share(*part) * rest;
                bound += share(*part) * (rest - 1.0).max(0.0);
            }
            if bound < best.0 && sum < best.0 {
                best = (sum, Some(check));
            }
        }
        let found = if best.1.is_some() { best } else { (0.0, None) };
        self.best.insert(set, found);
        found
    }

    /// Checks of the best policy for one world.
    fn depth(&mut self, world: usize) -> usize {
        let all = 0..self.worlds.len();
        let mut set = all
            .filter(|w| self.first[*w] == self.first[world])
            .fold(0, |s, w| s | 1 << w);
        let mut depth = 0;
        while let (_, Some(check)) = self.solve(set) {
            depth += 1;
            let outcome = self.outcomes[check][world];
            set = self
                .members(set)
                .filter(|w| self.outcomes[check][*w] == outcome)
                .fold(0, |s, w| s | 1 << w);
        }
        depth
    }
}

/// Compares on premises `0..n` of a seed, two truths of every cause on each.
#[must_use]
pub fn sites(seed: u64, n: u64) -> Vec<Compared> {
    (0..n)
        .into_par_iter()
        .flat_map(|number| compare(seed, number))
        .collect()
}

fn compare(seed: u64, number: u64) -> Vec<Compared> {
    let mut small = Small::draw(seed, number);
    let mut out = Vec::new();
    for w in 0..small.worlds.len() {
        if w % TRUTHS >= 2 {
            continue;
        }
        let world = small.worlds[w].clone();
        let site = world.premises.site.clone();
        let mut visit = Visit {
            site: site.name.clone(),
            date: None,
            skill: Skill::Technician,
            meters: Person::exact().meters(),
            readings: Vec::new(),
            observations: Vec::new(),
            cannot: Vec::new(),
        };
        let mut person = Person::exact();
        world.look(
            Check::Volts(0, Pin::Line, Pin::Neutral, How::Plain),
            &mut person,
            &mut visit,
        );
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
                here: 0,
            },
            seed,
        );
        out.push(Compared {
            site: number,
            truth: if named.is_empty() {
                "nothing".into()
            } else {
                named.join(" + ")
            },
            best: small.depth(w),
            led: led.checks.len(),
            right: led
                .answer
                .causes
                .first()
                .is_some_and(|g| holds(&site, g, &truth)),
        });
    }
    out
}

/// Medians, means and their ratios, with the goal.
#[must_use]
pub fn table(all: &[Compared]) -> String {
    let best = middle(all.iter().map(|c| c.best as f64));
    let led = middle(all.iter().map(|c| c.led as f64));
    let right = all.iter().filter(|c| c.right).count();
    let mut out = format!(
        "{} visits to premises of two outlets, nine causes each\n",
        all.len()
    );
    out += &format!(
        "  best policy by exhaustive search, median (mean)  {} ({:.2})\n",
        best.0, best.1
    );
    out += &format!(
        "  led checks, median (mean)                        {} ({:.2})\n",
        led.0, led.1
    );
    out += &format!(
        "  ratio of means                                   {:.2}   goal: at most 1.2\n",
        led.1 / best.1
    );
    out += &format!(
        "  ratio of medians                                 {:.2}\n",
        led.0 / best.0
    );
    out += &format!(
        "  true group first                                 {right} of {}\n",
        all.len()
    );
    for c in all {
        out += &format!(
            "    {} {:<60} best {} led {}{}\n",
            c.site,
            c.truth,
            c.best,
            c.led,
            if c.right { "" } else { " wrong" }
        );
    }
    out
}
