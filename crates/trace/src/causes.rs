//! Every fault at every place it may sit, alone and in pairs, with its prior.
//!
//! Faults are independent: `P(cause) = Π p_i Π (1 − p_j)`, over the faults in it and those not in it. Relative to "nothing
//! wrong" a cause weighs `Π p_i / (1 − p_i)`. Prevalences count places at large; `p_i` is that of a visit somebody was called
//! to.

use chain::alter::{Alteration, Recipe, Spots};
use chain::element::Element;
use chain::wiring::Wiring;
use site::model::{CircuitIx, Feed, Origin, OutletIx, PanelIx, Site, Switched};
use site::visit::Condition;

use crate::fault::{Fault, Misreads, Place, Severity, Sits};
use crate::faults;
use crate::seeing::Lanes;

/// One fault at one place.
#[derive(Clone, Debug)]
pub struct Single {
    /// The fault.
    pub fault: &'static Fault,
    /// Where.
    pub at: Element,
    /// Which leg, for faults of a leg.
    pub leg: usize,
    /// `ln(p / (1 − p))`.
    pub ln_odds: f64,
    /// How bad it may be: the fault's, unless somebody asks for one severity.
    pub severity: Severity,
    /// What it changes, condition by condition.
    pub recipes: Vec<Recipe>,
    alterations: Vec<Vec<Alteration>>,
    /// Spots that it changes under any condition, a bit for each.
    spots: Vec<u64>,
}

/// A set of none, one or two faults.
#[derive(Clone, Debug)]
pub struct Cause {
    /// Numbers into the singles; a lone fault is the first.
    pub faults: [Option<u32>; 2],
    /// Log prior weight relative to "nothing wrong".
    pub ln_prior: f64,
    /// Where the two touch the same spot: what they change together, condition by condition; of a
    /// pair that is new to the sieve, under those only that something was witnessed under.
    pub merged: Option<Box<Vec<Recipe>>>,
    /// How bad its faults are in each eight worlds, where that is not drawn with the worlds.
    pub pinned: Option<Box<[Lanes; 2]>>,
}

impl Cause {
    /// Nothing wrong.
    #[must_use]
    pub fn none() -> Self {
        Cause {
            faults: [None, None],
            ln_prior: 0.0,
            merged: None,
            pinned: None,
        }
    }

    /// How many faults.
    #[must_use]
    pub fn len(&self) -> usize {
        self.faults.iter().flatten().count()
    }

    /// True where nothing is wrong.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// All single faults of a network under the given conditions.
#[must_use]
pub fn singles(wiring: &Wiring<'_>, conditions: &[Condition], spots: &mut Spots) -> Vec<Single> {
    let everywhere = |fault: &'static Fault| {
        places(fault.sits, wiring)
            .into_iter()
            .map(move |(at, leg)| (fault, at, leg))
    };
    faults::ALL
        .iter()
        .copied()
        .flat_map(everywhere)
        .filter_map(|(fault, at, leg)| single(wiring, conditions, fault, at, leg, spots))
        .collect()
}

/// One fault at one place, where it can have it.
#[must_use]
pub fn single(
    wiring: &Wiring<'_>,
    conditions: &[Condition],
    fault: &'static Fault,
    at: Element,
    leg: usize,
    spots: &mut Spots,
) -> Option<Single> {
    let place = Place {
        site: wiring.site,
        at,
        leg,
    };
    let alterations: Option<Vec<Vec<Alteration>>> = conditions
        .iter()
        .map(|c| (fault.alters)(&place, c))
        .collect();
    let alterations = alterations?;
    let recipes: Option<Vec<Recipe>> = alterations
        .iter()
        .map(|list| wiring.recipe(&list.iter().map(|a| (0, *a)).collect::<Vec<_>>(), spots))
        .collect();
    let recipes = recipes?;
    let mut bits = Vec::new();
    for spot in recipes.iter().flat_map(Recipe::spots) {
        bits.resize(bits.len().max(spot / 64 + 1), 0_u64);
        bits[spot / 64] |= 1 << (spot % 64);
    }
    let called = if fault.is_misreading() { 1.0 } else { CALLED };
    let p = called * fault.prevalence.value * chance_of_place(fault, wiring.site, at);
    let ln_odds = (p / (1.0 - p)).ln();
    Some(Single {
        fault,
        at,
        leg,
        ln_odds,
        severity: fault.severity,
        recipes,
        alterations,
        spots: bits,
    })
}

/// How much likelier any fault of the wiring is where somebody was called to than the prevalences say, which count premises
/// at large: with it some two in three of such visits to five outlets find something. Judgement.
pub(crate) const CALLED: f64 = 4.0;

/// Chance that a place is what a fault needs, where nobody told: one outlet in ten hangs behind a switch. Judgement.
fn chance_of_place(fault: &Fault, site: &Site, at: Element) -> f64 {
    match (fault.sits, at) {
        (Sits::SwitchedOutlet, Element::Outlet(o))
            if site.outlets[o.0].switched == Switched::NotKnown =>
        {
            0.1
        }
        // Where nobody told, one circuit in seven shares its neutral. Judgement.
        (Sits::SharedNeutral, _) if site.origin == Origin::Assumed => 0.15,
        _ => 1.0,
    }
}

/// The pair of two singles, where they can be at once.
#[must_use]
pub fn pair(
    wiring: &Wiring<'_>,
    singles: &[Single],
    one: usize,
    other: usize,
    spots: &mut Spots,
) -> Option<Cause> {
    let all: Vec<usize> = (0..singles[one].recipes.len()).collect();
    pair_heard(wiring, singles, one, other, &all, spots)
}

/// As [`pair`], but what they change together is worked out under the conditions `heard` only: of thousands of pairs few
/// are ever looked at under the others.
pub(crate) fn pair_heard(
    wiring: &Wiring<'_>,
    singles: &[Single],
    one: usize,
    other: usize,
    heard: &[usize],
    spots: &mut Spots,
) -> Option<Cause> {
    let (a, b) = (&singles[one], &singles[other]);
    if a.fault.is_misreading() && b.fault.is_misreading() {
        return None;
    }
    if core::ptr::eq(a.fault, b.fault) && a.at == b.at {
        return None;
    }
    let clash = a.spots.iter().zip(&b.spots).any(|(x, y)| x & y != 0);
    let merged = if clash || a.at == b.at {
        let mut merged = vec![Recipe::default(); a.recipes.len()];
        for c in heard {
            merged[*c] = together(wiring, a, b, *c, spots)?;
        }
        Some(Box::new(merged))
    } else {
        None
    };
    Some(Cause {
        faults: [Some(one as u32), Some(other as u32)],
        ln_prior: a.ln_odds + b.ln_odds,
        merged,
        pinned: None,
    })
}

/// Works out what a pair changes together under all conditions but those `heard`, for which it was made.
pub(crate) fn complete(
    wiring: &Wiring<'_>,
    singles: &[Single],
    cause: &mut Cause,
    heard: &[usize],
    spots: &mut Spots,
) {
    let (Some(merged), [Some(one), Some(other)]) = (&mut cause.merged, cause.faults) else {
        return;
    };
    let (a, b) = (&singles[one as usize], &singles[other as usize]);
    for (c, recipe) in merged.iter_mut().enumerate() {
        // Each of the two can be by itself, and nothing that one alters is missing for the other.
        if !heard.contains(&c)
            && let Some(both) = together(wiring, a, b, c, spots)
        {
            *recipe = both;
        }
    }
}

/// What two singles change together under a condition.
fn together(
    wiring: &Wiring<'_>,
    a: &Single,
    b: &Single,
    condition: usize,
    spots: &mut Spots,
) -> Option<Recipe> {
    let of = |single: &Single, slot: usize| {
        let list = single.alterations[condition].clone();
        list.into_iter().map(move |it| (slot, it))
    };
    let list: Vec<_> = of(a, 0).chain(of(b, 1)).collect();
    wiring.recipe(&list, spots)
}

/// The places where faults of a kind may sit.
pub(crate) fn places(sits: Sits, wiring: &Wiring<'_>) -> Vec<(Element, usize)> {
    let site = wiring.site;
    let outlets = || wiring.outlets.iter().copied();
    let n_legs = site.service.system.legs.len();
    let is_cord = |o: OutletIx| matches!(site.outlets[o.0].feed, Feed::Cord(_));
    match sits {
        Sits::Supply => vec![(Element::Supply, 0)],
        Sits::Service => (0..n_legs).map(|leg| (Element::Service, leg)).collect(),
        Sits::ServicePanel => vec![(Element::Panel(PanelIx(0)), 0)],
        Sits::SubPanel => (1..site.panels.len())
            .flat_map(|p| (0..n_legs).map(move |leg| (Element::Panel(PanelIx(p)), leg)))
            .collect(),
        Sits::Circuit => wiring
            .circuits
            .iter()
            .map(|c| (Element::Circuit(*c), 0))
            .collect(),
        Sits::SharedNeutral => {
            let assumed = |c: CircuitIx| site.origin == Origin::Assumed && c.0 == 0;
            let shares = |c: &CircuitIx| shares_neutral(site, *c) || assumed(*c);
            wiring
                .circuits
                .iter()
                .filter(|c| shares(c))
                .map(|c| (Element::Circuit(*c), 0))
                .collect()
        }
        Sits::Run => outlets()
            .filter(|o| !is_cord(*o))
            .map(|o| (Element::Run(o), 0))
            .collect(),
        Sits::Cord => outlets()
            .filter(|o| is_cord(*o))
            .map(|o| (Element::Run(o), 0))
            .collect(),
        Sits::Outlet => outlets().map(|o| (Element::Outlet(o), 0)).collect(),
        Sits::SwitchedOutlet => outlets()
            .filter(|o| site.outlets[o.0].switched != Switched::No)
            .map(|o| (Element::Outlet(o), 0))
            .collect(),
        Sits::Meter => vec![(Element::Meter(0), 0)],
    }
}

/// Whether a circuit is the first of a pair that shares one neutral (each pair counts once).
fn shares_neutral(site: &Site, circuit: CircuitIx) -> bool {
    site.circuits
        .iter()
        .any(|c| c.shares_neutral_with == Some(circuit))
}

/// What a misreading at an outlet makes of a pair's contacts.
#[must_use]
pub fn misread_pin(fault: &Fault, pin: site::visit::Pin) -> site::visit::Pin {
    match fault.misreads {
        Misreads::NamesExchanged(a, b) if pin == a => b,
        Misreads::NamesExchanged(a, b) if pin == b => a,
        _ => pin,
    }
}
