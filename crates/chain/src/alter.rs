//! What a fault changes, and how that becomes new admittances of a few branches.
//!
//! A conductor with admittance `y` and an added series resistance `R` has `y' = 1 / (1/y + R)`. Conductors exchanged at
//! an element join the near end of one to the far end of another. A bridge of `R` ohms adds `1/R` across two nodes.
//! Several alterations of one element compose: first the exchange, then what stands in series with each near end.

use std::collections::HashMap;

use network::{Batch, Cx8, Spot};
use num_complex::Complex64;
use site::visit::Contact;

use crate::element::{Conductor, Element};
use crate::wiring::Wiring;

/// A resistance of an alteration: known, or the severity of the fault that it belongs to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ohmic {
    /// Known, ohms.
    Is(f64),
    /// The fault's severity, in ohms, times this.
    Severity(f64),
}

/// A node named by what it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Point {
    /// A contact or bar, or true earth.
    Contact(Contact),
    /// The source side of an element's conductor.
    Near(Element, Conductor),
    /// The load side of an element's conductor.
    Far(Element, Conductor),
}

/// One thing that a fault changes.
#[expect(
    missing_docs,
    reason = "the line of each variant says what its fields are"
)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Alteration {
    /// Resistance in series with a conductor of an element.
    Series {
        at: Element,
        of: Conductor,
        ohms: Ohmic,
    },
    /// Resistance across two points.
    Bridge { from: Point, to: Point, ohms: Ohmic },
    /// Two conductors of an element exchanged.
    Exchange {
        at: Element,
        one: Conductor,
        other: Conductor,
    },
    /// All voltages of the supply times the severity.
    Volts,
    /// The supply's frequency is the severity, hertz.
    Frequency,
}

/// One resistance term of a spot's new admittance: `1 / (1/y_base + fixed + Σ factor·severity)`.
#[derive(Clone, Debug)]
struct Term {
    base: Option<usize>,
    fixed: f64,
    by_severity: Vec<(usize, f64)>,
}

impl Term {
    /// Its admittance in one lane.
    fn siemens(&self, batch: &Batch, severities: &[[f64; 8]], lane: usize) -> Complex64 {
        let of = |(fault, factor): &(usize, f64)| severities[*fault][lane] * factor;
        let ohms = self.fixed + self.by_severity.iter().map(of).sum::<f64>();
        match self.base.map(|b| batch.y[b].lane(lane)) {
            Some(base) if ohms == 0.0 => base,
            Some(base) => base / (base * ohms + 1.0),
            None => Complex64::from(1.0 / ohms),
        }
    }
}

/// New admittances of a few spots, as functions of the severities of up to two faults.
#[derive(Clone, Debug, Default)]
pub struct Recipe {
    spots: Vec<(usize, Vec<Term>)>,
    /// Which fault's severity scales all voltages, if any.
    pub volts: Option<usize>,
    /// Which fault's severity is the frequency, if any.
    pub frequency: Option<usize>,
}

impl Recipe {
    /// True where the network stays as it is.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.spots.is_empty()
    }

    /// How many spots change.
    #[must_use]
    pub fn rank(&self) -> usize {
        self.spots.len()
    }

    /// Numbers of the spots it changes.
    pub fn spots(&self) -> impl Iterator<Item = usize> {
        self.spots.iter().map(|(spot, _)| *spot)
    }

    /// True where both change the same spot.
    #[must_use]
    pub fn touches(&self, other: &Recipe) -> bool {
        self.spots
            .iter()
            .any(|(spot, _)| other.spots.iter().any(|(s, _)| s == spot))
    }

    /// The changed spots and their new admittances in the lanes of a batch, for given severities.
    pub fn write(&self, batch: &Batch, severities: &[[f64; 8]], out: &mut Vec<(usize, Cx8)>) {
        for (spot, terms) in &self.spots {
            let of = |k: usize| {
                terms
                    .iter()
                    .map(|term| term.siemens(batch, severities, k))
                    .sum()
            };
            let sum = Cx8::from_lanes(of);
            out.push((*spot, sum));
        }
    }
}

/// All spots that recipes ask for, each once.
#[derive(Clone, Debug, Default)]
pub struct Spots {
    list: Vec<Spot>,
    known: HashMap<Spot, usize>,
}

impl Spots {
    /// The spots in the order of their numbers.
    #[must_use]
    pub fn list(&self) -> &[Spot] {
        &self.list
    }

    fn number(&mut self, spot: Spot) -> usize {
        *self.known.entry(spot).or_insert_with(|| {
            self.list.push(spot);
            self.list.len() - 1
        })
    }
}

#[derive(Default)]
struct Local {
    /// For each conductor: where its near end goes, by position in `conductors`.
    goes: Vec<usize>,
    conductors: Vec<Conductor>,
    series: Vec<Vec<(usize, Ohmic)>>,
}

impl Wiring<'_> {
    /// Turns the alterations of up to two faults (each with its number) into a recipe; `None` where the site has no such
    /// conductor or point in this network, or where nothing would change.
    #[must_use]
    pub fn recipe(&self, alterations: &[(usize, Alteration)], spots: &mut Spots) -> Option<Recipe> {
        let mut recipe = Recipe::default();
        let mut locals: Vec<(Element, Local)> = Vec::new();
        let mut sums: Vec<(usize, Vec<Term>)> = Vec::new();
        for (fault, alteration) in alterations {
            match *alteration {
                Alteration::Volts => recipe.volts = Some(*fault),
                Alteration::Frequency => recipe.frequency = Some(*fault),
                Alteration::Series { at, of, ohms } => {
                    self.joint(at, of)?;
                    let local = local_of(&mut locals, at);
                    let i = position(local, of);
                    local.series[i].push((*fault, ohms));
                }
                Alteration::Exchange { at, one, other } => {
                    self.joint(at, one)?;
                    self.joint(at, other)?;
                    let local = local_of(&mut locals, at);
                    let (i, j) = (position(local, one), position(local, other));
                    local.goes.swap(i, j);
                }
                Alteration::Bridge { from, to, ohms } => {
                    let (a, b) = (self.point(from)?, self.point(to)?);
                    if a == b {
                        return None;
                    }
                    let spot = spots.number(across(a, b));
                    let term = term_of(None, &[(*fault, ohms)]);
                    push(&mut sums, spot, term);
                }
            }
        }
        for (at, local) in &locals {
            for (i, of) in local.conductors.iter().enumerate() {
                let near = self.joint(*at, *of)?;
                let to = local.goes[i];
                let far = self.joint(*at, local.conductors[to])?;
                let base = near.branch.map(|b| b.index());
                if to == i {
                    if local.series[i].is_empty() {
                        continue;
                    }
                    let spot = spots.number(
                        near.branch
                            .map_or(across(near.near, near.far), Spot::Branch),
                    );
                    push(&mut sums, spot, term_of(base, &local.series[i]));
                } else {
                    if let Some(own) = near.branch {
                        let spot = spots.number(Spot::Branch(own));
                        if !sums.iter().any(|(s, _)| *s == spot) {
                            sums.push((spot, Vec::new()));
                        }
                    }
                    let spot = spots.number(across(near.near, far.far));
                    push(&mut sums, spot, term_of(base, &local.series[i]));
                }
            }
        }
        recipe.spots = sums;
        Some(recipe)
    }

    fn point(&self, point: Point) -> Option<network::NodeIx> {
        match point {
            Point::Contact(c) => self.contact(c),
            Point::Near(e, c) => self.joint(e, c).map(|j| j.near),
            Point::Far(e, c) => self.joint(e, c).map(|j| j.far),
        }
    }
}

fn across(a: network::NodeIx, b: network::NodeIx) -> Spot {
    if a.index() <= b.index() {
        Spot::Across(a, b)
    } else {
        Spot::Across(b, a)
    }
}

fn local_of(locals: &mut Vec<(Element, Local)>, at: Element) -> &mut Local {
    let i = locals
        .iter()
        .position(|(e, _)| *e == at)
        .unwrap_or_else(|| {
            locals.push((at, Local::default()));
            locals.len() - 1
        });
    &mut locals[i].1
}

fn position(local: &mut Local, of: Conductor) -> usize {
    if let Some(i) = local.conductors.iter().position(|c| *c == of) {
        return i;
    }
    local.conductors.push(of);
    local.goes.push(local.conductors.len() - 1);
    local.series.push(Vec::new());
    local.conductors.len() - 1
}

fn push(sums: &mut Vec<(usize, Vec<Term>)>, spot: usize, term: Term) {
    match sums.iter_mut().find(|(s, _)| *s == spot) {
        Some((_, terms)) => terms.push(term),
        None => sums.push((spot, vec![term])),
    }
}

fn term_of(base: Option<usize>, ohms: &[(usize, Ohmic)]) -> Term {
    let mut term = Term {
        base,
        fixed: 0.0,
        by_severity: Vec::new(),
    };
    for (fault, r) in ohms {
        match *r {
            Ohmic::Is(r) => term.fixed += r,
            Ohmic::Severity(factor) => term.by_severity.push((*fault, factor)),
        }
    }
    term
}
