//! What a fault asks of the place where it is tried, and the alterations most of them are made of.

use chain::alter::{Alteration, Ohmic, Point};
use chain::element::{Conductor, Element};
use site::model::{Circuit, CircuitIx, EarthRun, Feed, Origin, Outlet, OutletIx, Site};
use site::region::{Polarity, Receptacle};
use site::visit::{Condition, Contact, LoadScope, Pin, Running, SwitchState};

use crate::fault::Place;

/// An open switch, an open breaker, a wire that is not there: ohms, above every insulation of the chain.
const NOTHING: f64 = 1e10;
/// Two wires under one screw or a wire across two screws, ohms.
pub(super) const JUMPER: f64 = 5e-3;

impl Place<'_> {
    /// The outlet whose run or terminals this is.
    pub(super) fn outlet_ix(&self) -> Option<OutletIx> {
        match self.at {
            Element::Run(o) | Element::Outlet(o) => Some(o),
            _ => None,
        }
    }

    pub(super) fn outlet(&self) -> Option<&Outlet> {
        self.site.outlets.get(self.outlet_ix()?.0)
    }

    pub(super) fn circuit_ix(&self) -> Option<CircuitIx> {
        self.at.circuit(self.site)
    }

    pub(super) fn circuit(&self) -> Option<&Circuit> {
        self.site.circuits.get(self.circuit_ix()?.0)
    }

    fn receptacle(&self) -> Option<&Receptacle> {
        self.site.region.receptacles.get(self.outlet()?.receptacle)
    }

    /// The outlet here sits at the end of a fixed cable, so that what is behind its face is an electrician's.
    pub(super) fn is_fixed(&self) -> bool {
        self.outlet()
            .is_some_and(|o| matches!(o.feed, Feed::Fixed(_)))
    }

    /// The circuit goes from a line to the neutral, not across two lines.
    pub(super) fn has_neutral(&self) -> bool {
        self.circuit().is_some_and(|c| c.second_leg.is_none())
    }

    /// An earth conductor may have been run here; where it is told that there is none, it cannot be at fault.
    pub(super) fn has_earth_wire(&self) -> bool {
        self.circuit().is_some_and(|c| c.earth_run != EarthRun::No)
    }

    /// The receptacle here has an earth contact.
    pub(super) fn has_earth_contact(&self) -> bool {
        self.receptacle().is_some_and(|r| r.earth_contact)
    }

    /// The receptacle here tells line from neutral; without that there is nothing to reverse.
    pub(super) fn tells_line_from_neutral(&self) -> bool {
        self.has_neutral()
            && self
                .receptacle()
                .is_some_and(|r| r.polarity == Polarity::Defined)
    }

    /// Some outlet of the circuit here, or of the site where it is no circuit, tells line from neutral.
    pub(super) fn somewhere_tells_line_from_neutral(&self) -> bool {
        let here = self.circuit_ix();
        (0..self.site.outlets.len()).any(|o| {
            let there = Place {
                at: Element::Outlet(OutletIx(o)),
                ..*self
            };
            (here.is_none() || there.circuit_ix() == here) && there.tells_line_from_neutral()
        })
    }

    /// Another circuit on the same neutral; the first that is found.
    pub(super) fn partner(&self) -> Option<CircuitIx> {
        let here = self.circuit_ix()?;
        let group = self.site.neutral_group(here);
        (0..self.site.circuits.len())
            .map(CircuitIx)
            .find(|c| *c != here && self.site.neutral_group(*c) == group)
    }

    /// A circuit on another line that may share its neutral with the one here, where nobody told anything.
    pub(super) fn may_share_with(&self) -> Option<CircuitIx> {
        let here = self.circuit_ix()?;
        let leg = |c: CircuitIx| self.site.circuits[c.0].leg;
        let others = (0..self.site.circuits.len()).map(CircuitIx);
        (self.site.origin == Origin::Assumed)
            .then(|| others.into_iter().find(|c| leg(*c) != leg(here)))
            .flatten()
    }

    /// The circuit here is the one of several on one neutral that owns its way to the panel.
    pub(super) fn owns_a_shared_neutral(&self) -> bool {
        let owner = |c| self.site.neutral_group(c) == c;
        self.partner().is_some() && self.circuit_ix().is_some_and(owner)
    }

    /// The last outlet of the circuit here that feeds no other.
    pub(super) fn last_outlet(&self) -> Option<OutletIx> {
        let here = self.circuit_ix()?;
        let all = &self.site.outlets;
        let on_it: Vec<usize> = (0..all.len()).filter(|o| all[*o].circuit == here).collect();
        let feeds = |o: usize| on_it.iter().any(|p| all[*p].after == Some(OutletIx(o)));
        on_it
            .iter()
            .rev()
            .copied()
            .find(|o| !feeds(*o))
            .map(OutletIx)
    }

    /// Nominal volts from the line to the neutral of the circuit here, or of the first leg.
    pub(super) fn volts(&self) -> f64 {
        let leg = self.circuit().map_or(self.leg, |c| c.leg);
        self.site.service.system.volts(leg, None).si()
    }

    /// A contact of the outlet here.
    pub(super) fn contact(&self, pin: Pin) -> Option<Point> {
        Some(Point::Contact(Contact::Outlet(self.outlet_ix()?, pin)))
    }

    /// The severity, in ohms, in series with a conductor here.
    pub(super) fn resists(&self, of: Conductor) -> Alteration {
        Alteration::Series {
            at: self.at,
            of,
            ohms: Ohmic::Severity(1.0),
        }
    }

    /// A conductor switched off, taken off its screw or never laid here.
    pub(super) fn parts(&self, of: Conductor) -> Alteration {
        parts(self.at, of)
    }

    /// Two conductors exchanged here.
    pub(super) fn exchanges(&self, one: Conductor, other: Conductor) -> Alteration {
        Alteration::Exchange {
            at: self.at,
            one,
            other,
        }
    }
}

/// Whether a condition tells the breaker of the circuit here closed.
pub(super) fn breaker_is_closed(place: &Place<'_>, condition: &Condition) -> bool {
    let told = |c| condition.breakers.contains(&(c, SwitchState::Closed));
    place.circuit_ix().is_some_and(told)
}

/// What a condition tells of the loads at an outlet; the nearest scope holds.
pub(super) fn loads_at(site: &Site, at: OutletIx, condition: &Condition) -> Option<Running> {
    let circuit = site.outlets.get(at.0)?.circuit;
    let told = |scope| {
        condition
            .loads
            .iter()
            .find(|l| l.scope == scope)
            .map(|l| l.state)
    };
    told(LoadScope::Outlet(at))
        .or_else(|| told(LoadScope::Circuit(circuit)))
        .or_else(|| told(LoadScope::Site))
}

/// A conductor switched off, taken off its screw or never laid at an element.
pub(super) fn parts(at: Element, of: Conductor) -> Alteration {
    Alteration::Series {
        at,
        of,
        ohms: Ohmic::Is(NOTHING),
    }
}

/// A resistance across two points.
pub(super) fn joins(from: Point, to: Point, ohms: f64) -> Alteration {
    Alteration::Bridge {
        from,
        to,
        ohms: Ohmic::Is(ohms),
    }
}

/// A multiple of the severity, in ohms, across two points.
pub(super) fn leaks(from: Point, to: Point, factor: f64) -> Alteration {
    Alteration::Bridge {
        from,
        to,
        ohms: Ohmic::Severity(factor),
    }
}
