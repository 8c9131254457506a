//! The check that settles the decision soonest.
//!
//! The worth of a check is the expected fall in loss,
//! `min_a Σ_t P(t) L(a,t) − Σ_r P(r) min_a Σ_t P(t|r) L(a,t)`, r: its result, with the loss of naming the wrong group added
//! to both, over its minutes. Where a stop is there for caution only, a check is also worth the doubt about danger that it
//! takes away, as no single check may be able to lift the stop.
//!
//! Whether there is a further check is decided by its worth. Which one comes first is decided by what it tells of the name
//! too, `I(g; r) = H(g) − Σ_r P(r) H(g|r)`, g: group: the fall in loss sees one check ahead and takes one that settles
//! something now over one that lets the next settle more.
//! Source: value of information, Raiffa and Schlaifer 1961 (from memory).

use rayon::prelude::*;
use site::finding::Use;

use crate::checks::Check;
use crate::decide::{NEEDLESS_STOP, Stakes, Truth, WRONG_NAME};
use crate::forecast::{Classes, Forecast, n_classes};
use crate::study::Study;

/// Minutes of loss that a minute of checking must save, and how many readings and remarks may be told before that rises
/// with their square: the more was told without an end, the less the forecasts are to be believed. Judgement.
const WORTH_A_MINUTE: f64 = 1.5;
const PATIENCE: f64 = 10.0;
/// What a nat of the name is worth in the order of checks, minutes of loss a minute: as much for one that takes long, since
/// getting at a place and telling what it shows takes as long for each. Judgement, after the best order on small premises.
const A_NAT: f64 = 120.0;

/// A proposed check.
#[derive(Clone, Debug)]
pub(crate) struct Proposed {
    pub check: usize,
    pub worth: f64,
    /// What the order goes by.
    pub first: f64,
    /// By class of result: its probability and the group it would point to, with that group's probability then.
    pub results: Vec<(usize, f64, Option<usize>, f64)>,
}

/// One cause at one step of its severity.
pub(crate) struct Item<'f> {
    pub probability: f64,
    /// Number of what is then true.
    pub truth: usize,
    pub group: usize,
    /// Cell of the forecast.
    pub cell: usize,
    pub forecast: &'f Forecast,
}

/// What is true outside the catalogue.
pub(crate) struct Outside {
    pub probability: f64,
    /// Number of what is then true.
    pub truth: usize,
    pub shows: Classes,
}

/// The best check, if one is worth its minutes.
pub(crate) fn propose(
    study: &Study<'_>,
    items: &[Item<'_>],
    unknown: &Outside,
    stakes: &Stakes,
    n_groups: usize,
) -> Option<Proposed> {
    let before = Share::of(
        items.iter().map(|it| (it, it.probability)),
        (unknown.truth, unknown.probability),
        stakes,
        n_groups,
    );
    // One check alone often cannot lift a stop that is there for caution only; two or three can.
    let stops = |t: &Truth| t.action.use_ == Use::Stop;
    let asked_for = before.of_truths(stakes, stops);
    let cautious =
        stakes.best(&before.by_truth).0.use_ == Use::Stop && asked_for < 0.5 * before.mass;
    let loss = before.loss(stakes);
    let tired = (study.n_told() as f64 / PATIENCE).max(1.0).powi(2);
    let enough = WORTH_A_MINUTE * tired;
    let tried = |c: usize| -> Proposed {
        let check = &study.checks[c];
        let n = n_classes(check.kind);
        let (mut after, mut doubt) = (0.0, 0.0);
        let mut told = before.entropy();
        let mut results = Vec::with_capacity(n);
        for class in 0..n {
            let shares = items
                .iter()
                .map(|it| (it, it.probability * it.forecast.of(it.cell, c)[class]));
            let outside = unknown.probability * unknown.shows[c][class];
            let share = Share::of(shares, (unknown.truth, outside), stakes, n_groups);
            after += share.loss(stakes);
            doubt += share.doubt();
            told -= share.entropy();
            let (top, lead) = share.leading();
            results.push((class, share.mass, top, lead / share.mass.max(1e-300)));
        }
        let settles = if cautious {
            before.doubt() - doubt
        } else {
            0.0
        };
        let worth = (loss - after + NEEDLESS_STOP * settles) / check.minutes;
        Proposed {
            check: c,
            worth,
            first: worth + A_NAT * told,
            results,
        }
    };
    // What no pair can have is read again before anything is made of it.
    if let Some(c) = (0..study.checks.len()).find(|c| study.is_to_read_again(*c)) {
        return Some(Proposed {
            results: Vec::new(),
            ..tried(c)
        });
    }
    let all: Vec<Proposed> = (0..study.checks.len()).into_par_iter().map(tried).collect();
    if all.iter().all(|it| it.worth <= enough) {
        return None;
    }
    all.into_iter().max_by(|a, b| a.first.total_cmp(&b.first))
}

/// The part of all probability that one result has.
struct Share {
    by_truth: Vec<f64>,
    by_group: Vec<f64>,
    unknown: f64,
    mass: f64,
    /// Of the mass, what is dangerous.
    dangerous: f64,
}

impl Share {
    fn of<'f>(
        items: impl Iterator<Item = (&'f Item<'f>, f64)>,
        unknown: (usize, f64),
        stakes: &Stakes,
        n_groups: usize,
    ) -> Self {
        let mut out = Share {
            by_truth: vec![0.0; stakes.truths.len()],
            by_group: vec![0.0; n_groups],
            unknown: unknown.1,
            mass: unknown.1,
            dangerous: 0.0,
        };
        out.by_truth[unknown.0] += unknown.1;
        for (item, p) in items {
            out.by_truth[item.truth] += p;
            out.by_group[item.group] += p;
            out.mass += p;
        }
        out.dangerous = out.of_truths(stakes, Truth::is_danger);
        out
    }

    /// The part that some truths have.
    fn of_truths(&self, stakes: &Stakes, which: impl Fn(&Truth) -> bool) -> f64 {
        let truths = stakes.truths.iter().zip(&self.by_truth);
        truths.filter(|(t, _)| which(t)).map(|(_, p)| p).sum()
    }

    /// The group that leads, unless what is not in the catalogue does, and the leader's part.
    fn leading(&self) -> (Option<usize>, f64) {
        let groups = self.by_group.iter().copied().enumerate();
        let (top, mass) = groups
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0, 0.0));
        if mass >= self.unknown {
            (Some(top), mass)
        } else {
            (None, self.unknown)
        }
    }

    /// Loss of the best action, and of naming a wrong group.
    fn loss(&self, stakes: &Stakes) -> f64 {
        stakes.best(&self.by_truth).1 + WRONG_NAME * (self.mass - self.leading().1)
    }

    /// How undecided the name is: the mass times the entropy of the groups in it, nats.
    fn entropy(&self) -> f64 {
        let parts = self.by_group.iter().chain([&self.unknown]);
        let parts = parts.filter(|p| **p > 0.0);
        parts.map(|p| p * (self.mass / p).ln()).sum()
    }

    /// How undecided it is whether there is danger: `2 p (1 − p)` of the mass.
    fn doubt(&self) -> f64 {
        if self.mass > 0.0 {
            2.0 * self.dangerous * (1.0 - self.dangerous / self.mass)
        } else {
            0.0
        }
    }
}

/// The check that a proposal names.
pub(crate) fn check_of<'s>(study: &'s Study<'_>, proposed: &Proposed) -> &'s Check {
    &study.checks[proposed.check]
}
