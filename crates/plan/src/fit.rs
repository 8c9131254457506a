//! A supply held against a demand at a place: every rail, combined limit and total at every moment that matters, its
//! connectors and contacts, its inlet and the circuit behind it. What is held is in `crate::hold`, what follows from it
//! in `crate::judge`. Held by: tests/table.rs, tests/exact.rs.

use jiff::civil::Date;
use metrology::Watts;
use site::finding::{Action, Finding, Verdict};
use site::machine::Build;
use site::supply::{Guide, Supply};
use site::typical::Moment;

use crate::demand::Demand;
use crate::hold;
use crate::inlet::{Inlet, inlet};
use crate::judge;
use crate::left::left;
use crate::lines::Line;
use crate::place::Place;
use crate::plugs;
use crate::year::{Year, year};

/// Whether a supply is in use or to be chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Standing {
    /// It is in the machine, judged as it is today.
    InUse {
        /// Today, for its age.
        today: Date,
    },
    /// It would be new, judged as it will be after so many years.
    Chosen {
        /// Years in use.
        years: f64,
    },
}

/// A supply held against a demand.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The supply.
    pub supply: String,
    /// The worst of the findings.
    pub verdict: Verdict,
    /// What to do.
    pub action: Action,
    /// Probability that the weakest of all limits holds.
    pub holds: f64,
    /// Everything that was found, the worst first.
    pub findings: Vec<Finding>,
    /// Every demand against every limit, what gives way first at the head.
    pub lines: Vec<Line>,
    /// What it draws at its inlet at sustained work.
    pub inlet: Option<Inlet>,
    /// Energy of a year, where its efficiency can be told.
    pub year: Option<Year>,
    /// Rating, where it is told.
    pub rating: Option<Watts>,
}

/// Holds a supply against a demand. `price` is what a kilowatt-hour costs.
pub fn fit(
    demand: &Demand,
    build: &Build,
    supply: &Supply,
    place: &Place,
    standing: Standing,
    price: Option<f64>,
) -> Fit {
    let on_12;
    let demand = if supply.guide == Some(Guide::Only12) {
        on_12 = demand.on_12_only();
        &on_12
    } else {
        demand
    };
    let left = left(build, supply, standing);
    let seated = plugs::seat(&plugs::needs(build, supply.guide), supply);
    let mut lines = Vec::new();
    hold::rails(&mut lines, demand, supply, left);
    hold::together(&mut lines, demand, supply, left);
    hold::contacts(&mut lines, demand, &seated, supply);
    let at_inlet = inlet(demand, supply, Moment::Sustained, place.nominal);
    hold::at_the_inlet(&mut lines, supply, place, at_inlet.as_ref());
    let lines = in_order(lines);
    let held = judge::Held {
        demand,
        build,
        supply,
        place,
        standing,
    };
    let findings = judge::findings(&held, &lines, &seated);
    let worst = findings.first();
    Fit {
        supply: supply.id.clone(),
        verdict: worst.map_or(Verdict::Undecided, |it| it.verdict),
        action: worst.map_or(judge::NOTHING_TO_DO, |it| it.action),
        holds: lines.iter().map(Line::probability).fold(1.0, f64::min),
        year: year(demand, build, supply, place, price),
        inlet: at_inlet,
        rating: supply.rating,
        findings,
        lines,
    }
}

/// What gives way first at the head; what a line ranks by is worked out once.
fn in_order(lines: Vec<Line>) -> Vec<Line> {
    let mut ranked: Vec<_> = lines.into_iter().map(|it| (it.rank(), it)).collect();
    ranked.sort_by(|((pa, ga), _), ((pb, gb), _)| pa.total_cmp(pb).then(ga.total_cmp(gb)));
    ranked.into_iter().map(|(_, it)| it).collect()
}

/// Candidates in the order in which they would be chosen: by verdict, then by the energy of a year, then by rating.
pub fn rank(fits: &mut [Fit]) {
    fits.sort_by(|a, b| {
        let energy = |it: &Fit| it.year.map_or(f64::INFINITY, |it| it.kilowatt_hours);
        let rating = |it: &Fit| it.rating.map_or(f64::INFINITY, Watts::si);
        a.verdict
            .cmp(&b.verdict)
            .then(energy(a).total_cmp(&energy(b)))
            .then(rating(a).total_cmp(&rating(b)))
    });
}
