//! Many led visits: is what is given 80 % true in four of five?
//!
//! Expected calibration error: `Σ_b n_b / n |mean probability − share true|` over ten bins of equal width.

use std::fmt::Write;

use rayon::prelude::*;
use serde::Serialize;

use crate::right::Hazard;
use crate::score::{Scored, score};
use crate::sim::story::{Sort, Story};

/// One bin of the reliability diagram.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Bin {
    /// How many fell in.
    pub n: usize,
    /// Mean probability given.
    pub given: f64,
    /// Share that was true.
    pub held: f64,
}

/// Ten bins of equal width.
#[must_use]
pub fn bins(pairs: &[(f64, bool)]) -> Vec<Bin> {
    let mut out = vec![Bin::default(); 10];
    for (p, held) in pairs {
        let bin = &mut out[((p * 10.0) as usize).min(9)];
        bin.n += 1;
        bin.given += p;
        bin.held += f64::from(u8::from(*held));
    }
    for bin in out.iter_mut().filter(|b| b.n > 0) {
        bin.given /= bin.n as f64;
        bin.held /= bin.n as f64;
    }
    out
}

/// Expected calibration error of bins.
#[must_use]
pub fn expected_error(bins: &[Bin]) -> f64 {
    let n: usize = bins.iter().map(|b| b.n).sum();
    bins.iter()
        .map(|b| b.n as f64 * (b.given - b.held).abs())
        .sum::<f64>()
        / n.max(1) as f64
}

/// Figures over many visits.
#[derive(Clone, Debug, Serialize)]
pub struct Summary {
    /// Seed of the visits.
    pub seed: u64,
    /// Visits.
    pub visits: usize,
    /// Reliability of what leads.
    pub leading: Vec<Bin>,
    /// Reliability of every group told.
    pub all: Vec<Bin>,
    /// Expected calibration error of what leads.
    pub error_leading: f64,
    /// The same of every group told.
    pub error_all: f64,
    /// Share of visits with the true group first: sound, single, double, mistake.
    pub first: [f64; 4],
    /// The same with the truth as the leading cause itself.
    pub leads: [f64; 4],
    /// How many visits of each.
    pub n: [usize; 4],
    /// Dangers there were, and those that ended milder than out of use.
    pub dangers: (usize, usize),
    /// Needless alarms on sound premises, share.
    pub needless: f64,
    /// Median and mean of led checks.
    pub checks: (f64, f64),
    /// Median and mean of the usual order until something is abnormal.
    pub usual: (f64, f64),
    /// Of the visits also made in the usual order to the same certainty: how many, median and mean of that order and of
    /// the led checks.
    pub settled: (usize, (f64, f64), (f64, f64)),
    /// Mean number of members in the leading group.
    pub members: f64,
    /// Checks asked for that the simulator could not make.
    pub unknown_checks: usize,
}

/// Leads visits `0..n` of a seed.
#[must_use]
pub fn visits(seed: u64, n: u64) -> Vec<Scored> {
    (0..n)
        .into_par_iter()
        .map(|i| score(i, Story::draw(seed, i), seed))
        .collect()
}

fn median(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    match all.len() {
        0 => f64::NAN,
        n if n % 2 == 1 => all[n / 2],
        n => f64::midpoint(all[n / 2 - 1], all[n / 2]),
    }
}

/// Median and mean.
#[must_use]
pub fn middle(all: impl Iterator<Item = f64>) -> (f64, f64) {
    let all: Vec<f64> = all.collect();
    let mean = all.iter().sum::<f64>() / all.len().max(1) as f64;
    (median(all), mean)
}

/// Sums up.
#[must_use]
pub fn summary(seed: u64, all: &[Scored]) -> Summary {
    let leading: Vec<(f64, bool)> = all
        .iter()
        .map(|s| (s.leading_probability(), s.leading_is_true()))
        .collect();
    let every: Vec<(f64, bool)> = all
        .iter()
        .flat_map(|s| s.groups.iter().copied())
        .filter(|g| g.0 > 0.005)
        .collect();
    let (leading, every) = (bins(&leading), bins(&every));
    let sorts = [Sort::Sound, Sort::Single, Sort::Double, Sort::Mistake];
    let of = |sort: Sort| all.iter().filter(move |s| s.sort == sort);
    let share = |part: usize, whole: usize| part as f64 / whole.max(1) as f64;
    Summary {
        seed,
        visits: all.len(),
        error_leading: expected_error(&leading),
        error_all: expected_error(&every),
        leading,
        all: every,
        first: sorts.map(|s| share(of(s).filter(|v| v.first()).count(), of(s).count())),
        leads: sorts.map(|s| {
            share(
                of(s).filter(|v| v.leads && v.first()).count(),
                of(s).count(),
            )
        }),
        n: sorts.map(|s| of(s).count()),
        dangers: (
            all.iter().filter(|s| s.hazard != Hazard::None).count(),
            all.iter().filter(|s| s.missed_danger()).count(),
        ),
        needless: share(
            of(Sort::Sound).filter(|s| s.needless_alarm()).count(),
            of(Sort::Sound).count(),
        ),
        checks: middle(all.iter().map(|s| s.checks as f64)),
        usual: middle(all.iter().map(|s| s.usual as f64)),
        settled: {
            let both = || all.iter().filter_map(|s| Some((s.settled?, s.checks)));
            (
                both().count(),
                middle(both().map(|b| b.0 as f64)),
                middle(both().map(|b| b.1 as f64)),
            )
        },
        members: all.iter().map(|s| s.members as f64).sum::<f64>() / all.len().max(1) as f64,
        unknown_checks: all.iter().map(|s| s.unknown_checks).sum(),
    }
}

impl Summary {
    /// A compact table with the goals beside the figures.
    #[must_use]
    pub fn table(&self) -> String {
        let mut out = format!("{} simulated visits, seed {}\n", self.visits, self.seed);
        let mut row = |name: &str, figure: String, goal: &str| {
            let _ = writeln!(out, "  {name:<44} {figure:>12}   {goal}");
        };
        row(
            "expected calibration error, leading group",
            format!("{:.3}", self.error_leading),
            "at most 0.05",
        );
        row(
            "expected calibration error, all groups",
            format!("{:.3}", self.error_all),
            "",
        );
        let percent = |x: f64| format!("{:.1} %", 100.0 * x);
        let counted = |i: usize| format!("{} of {}", percent(self.first[i]), self.n[i]);
        row("true group first, one fault", counted(1), "at least 85 %");
        row("true group first, two faults", counted(2), "at least 65 %");
        row("true group first, sound premises", counted(0), "");
        row("true group first, mistakes of measuring", counted(3), "");
        row(
            "dangers left in use",
            format!("{} of {}", self.dangers.1, self.dangers.0),
            "none",
        );
        row(
            "needless alarms on sound premises",
            percent(self.needless),
            "at most 2 %",
        );
        row(
            "led checks, median (mean)",
            format!("{} ({:.1})", self.checks.0, self.checks.1),
            "",
        );
        row(
            "usual order until abnormal, median (mean)",
            format!("{} ({:.1})", self.usual.0, self.usual.1),
            "",
        );
        row(
            "led checks over that, medians",
            format!("{:.2}", self.checks.0 / self.usual.0),
            "",
        );
        let (n, usual, led) = self.settled;
        row(
            "usual order to the same certainty",
            format!("{} ({:.1})", usual.0, usual.1),
            &format!("on {n} visits"),
        );
        row(
            "led checks over that, medians (means)",
            format!("{:.2} ({:.2})", led.0 / usual.0, led.1 / usual.1),
            "at most 0.7",
        );
        row(
            "causes in the leading group, mean",
            format!("{:.1}", self.members),
            "",
        );
        row(
            "checks that could not be made",
            self.unknown_checks.to_string(),
            "0",
        );
        out
    }
}
