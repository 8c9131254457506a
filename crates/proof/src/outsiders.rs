//! Faults that no catalogue lists, invented here: does the engine say that nothing it knows fits?
//!
//! Each is a source where none belongs, or a meter that makes nothing of what it sees. Right is an end with something not
//! in the catalogue in front, or the verdict `undecided`.

use std::f64::consts::FRAC_PI_2;

use rayon::prelude::*;
use serde::Serialize;
use site::finding::Verdict;

use crate::chance::Chance;
use crate::led::{Led, lead};
use crate::sim::fault::{At, Defect, End, Fault, Wire};
use crate::sim::lay::OPEN;
use crate::sim::look::World;
use crate::sim::premises::Premises;
use crate::sim::story::{Sort, Story};

/// The kinds, each with what it is.
pub const KINDS: [(&str, &str); 7] = [
    (
        "half-wave-feed",
        "the line comes through a rectifier: about 0.5 to 0.75 of nominal, stiff under load",
    ),
    (
        "autotransformer-feed",
        "line at 0.6 and neutral at 0.3 of nominal against earth, both stiff",
    ),
    (
        "foreign-volts-in-neutral",
        "some 48 V of another source stand in the neutral, a quarter turn off",
    ),
    (
        "foreign-volts-on-earth",
        "the earth contact hangs on another source's terminal, 40 V to 80 V, a quarter turn off",
    ),
    (
        "high-leg",
        "a high leg of a delta service on one outlet: 1.73 of nominal to neutral and to earth",
    ),
    (
        "inconsistent-readings",
        "a chopped wave: no two readings agree",
    ),
    (
        "balanced-supply",
        "line and neutral each at half the voltage against earth, both stiff",
    ),
];

/// What an invented fault does; nothing for any other kind.
#[must_use]
pub fn defects(fault: &Fault) -> Vec<Defect> {
    let At::Outlet(o) = fault.at else {
        return Vec::new();
    };
    let (l, n, e) = (Wire::Line, Wire::Neutral, Wire::Earth);
    let (pin, wire) = (|w| End::Pin(o, w), |w| End::Terminal(o, w));
    let open = |w| Defect::Series(fault.at, w, OPEN);
    let bad = fault.how_bad;
    match fault.kind {
        "half-wave-feed" => vec![
            open(l),
            Defect::Feeds(pin(l), wire(n), 0.5 + 0.25 * bad, 0.0, 0.3),
        ],
        "autotransformer-feed" => vec![
            open(l),
            open(n),
            Defect::Feeds(pin(l), wire(e), 0.55 + 0.1 * bad, 0.0, 0.4),
            Defect::Feeds(pin(n), wire(e), 0.25 + 0.1 * bad, 0.0, 0.4),
        ],
        "foreign-volts-in-neutral" => vec![
            open(n),
            Defect::Feeds(pin(n), wire(n), 0.3 + 0.2 * bad, FRAC_PI_2, 0.3),
        ],
        "foreign-volts-on-earth" => vec![
            open(e),
            Defect::Feeds(pin(e), wire(n), 0.35 + 0.3 * bad, FRAC_PI_2, 1.0),
        ],
        "high-leg" => vec![
            open(l),
            Defect::Feeds(pin(l), wire(n), 1.7 + 0.06 * bad, FRAC_PI_2, 0.2),
        ],
        "balanced-supply" => vec![
            open(l),
            open(n),
            Defect::Feeds(pin(l), wire(e), 0.5, 0.0, 0.3),
            Defect::Feeds(pin(n), wire(e), -0.5, 0.0, 0.3),
        ],
        _ => Vec::new(),
    }
}

/// How a visit to an invented fault ended.
#[derive(Clone, Debug, Serialize)]
pub struct Ended {
    /// Kind of the fault.
    pub kind: &'static str,
    /// Number of the visit.
    pub number: u64,
    /// Something not in the catalogue leads.
    pub unknown_leads: bool,
    /// The verdict is undecided.
    pub undecided: bool,
    /// Its probability.
    pub unknown: f64,
    /// What leads otherwise, with its probability.
    pub leading: (String, f64),
    /// Led checks.
    pub checks: usize,
}

impl Ended {
    /// The engine says that nothing it knows fits.
    #[must_use]
    pub fn is_right(&self) -> bool {
        self.unknown_leads || self.undecided
    }
}

/// The visit of a kind, a seed and a number.
#[must_use]
pub fn story(kind: usize, seed: u64, number: u64) -> Story {
    let mut chance = Chance::new(seed, 1_000_000 * (kind as u64 + 1) + number);
    let premises = Premises::draw(&mut chance);
    let at = At::Outlet(chance.below(premises.site.outlets.len()));
    let fault = Fault {
        kind: KINDS[kind].0,
        at,
        leg: 0,
        how_bad: chance.unit(),
    };
    let world = World {
        premises,
        faults: vec![fault],
    };
    let mut story = Story::begin(&mut chance, world, Sort::Single);
    if let (At::Outlet(o), "inconsistent-readings") = (at, fault.kind) {
        // Nothing shows in the network, so the story began anywhere; that is as good a place.
        story.here = o;
    }
    story
}

/// Leads `n` visits to each kind.
#[must_use]
pub fn visits(seed: u64, n: u64) -> Vec<Ended> {
    let all: Vec<(usize, u64)> = (0..KINDS.len())
        .flat_map(|k| (0..n).map(move |i| (k, i)))
        .collect();
    all.into_par_iter()
        .map(|(k, i)| ended(KINDS[k].0, i, &lead(story(k, seed, i), seed)))
        .collect()
}

fn ended(kind: &'static str, number: u64, led: &Led) -> Ended {
    let answer = &led.answer;
    let first = answer.causes.first();
    let named = first.map_or(String::new(), |g| {
        let all: Vec<String> = g
            .faults
            .iter()
            .map(|f| format!("{}@{}", f.kind, f.at))
            .collect();
        if all.is_empty() {
            "nothing is wrong".into()
        } else {
            all.join(" + ")
        }
    });
    let probability = first.map_or(0.0, |g| g.probability);
    Ended {
        kind,
        number,
        unknown_leads: answer.not_in_catalogue > probability,
        undecided: answer.verdict == Verdict::Undecided,
        unknown: answer.not_in_catalogue,
        leading: (named, probability),
        checks: led.checks.len(),
    }
}

/// A table by kind, the goal beside the whole, and what was said instead.
#[must_use]
pub fn table(all: &[Ended]) -> String {
    let mut out = String::new();
    let share = |kind: Option<&str>| {
        let of: Vec<&Ended> = all
            .iter()
            .filter(|e| kind.is_none_or(|k| e.kind == k))
            .collect();
        let right = of.iter().filter(|e| e.is_right()).count();
        format!(
            "{:>5.1} % of {}",
            100.0 * right as f64 / of.len().max(1) as f64,
            of.len()
        )
    };
    for (kind, says) in KINDS {
        out += &format!("  {kind:<26} {}   {says}\n", share(Some(kind)));
    }
    out += &format!("  {:<26} {}   goal: at least 80 %\n", "all", share(None));
    for e in all.iter().filter(|e| !e.is_right()).take(30) {
        out += &format!(
            "    {} #{}: {} {:.2}, unknown {:.2}, {} checks\n",
            e.kind, e.number, e.leading.0, e.leading.1, e.unknown, e.checks
        );
    }
    out
}
