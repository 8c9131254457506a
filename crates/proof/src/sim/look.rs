//! Makes a check by its key and puts what came of it into the visit.
//!
//! A meter is one more branch in the network, which is solved anew for every reading.

use metrology::Watts;
use num_complex::Complex64;
use site::model::{CircuitIx, OutletIx};
use site::visit::{
    Condition, Contact, Input, Observation, Pin, Reading, Sign, Signals, SwitchState, Told, Visit,
    Whereabouts,
};

use crate::sim::fault::{At, Fault};
use crate::sim::lay::{Laid, TestLoad, lay};
use crate::sim::net::{Node, SOIL};
use crate::sim::person::Person;
use crate::sim::premises::Premises;

/// Premises with the faults that are there.
#[derive(Clone, Debug)]
pub struct World {
    /// The premises.
    pub premises: Premises,
    /// The faults.
    pub faults: Vec<Fault>,
}

/// A check, read from its key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Check {
    /// A voltage between two contacts of an outlet.
    Volts(usize, Pin, Pin, How),
    /// Earth to earth of two outlets.
    Between(usize, usize),
    /// Lamp tester.
    Lamps(usize),
    /// Detector at a contact.
    Detector(usize, Pin),
    /// A look at the breaker.
    Breaker(usize),
    /// A look at the switch that feeds an outlet.
    Switch(usize),
}

/// How a voltage is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum How {
    /// As it is.
    Plain,
    /// With a test load at the outlet.
    Loaded,
    /// On the low-impedance input.
    LowImpedance,
    /// With the switch that feeds the outlet put on.
    SwitchedOn,
}

/// Power on the test load's name plate, watts.
pub const TEST_LOAD: f64 = 1000.0;
/// The pairs of an outlet.
pub const PAIRS: [(Pin, Pin); 3] = [
    (Pin::Line, Pin::Neutral),
    (Pin::Line, Pin::Earth),
    (Pin::Neutral, Pin::Earth),
];

/// The number of a contact among line, neutral, earth.
#[must_use]
pub fn slot(pin: Pin) -> usize {
    match pin {
        Pin::Line => 0,
        Pin::Neutral => 1,
        Pin::Earth => 2,
    }
}

fn word(pin: Pin) -> &'static str {
    ["line", "neutral", "earth"][slot(pin)]
}

impl Check {
    /// Reads a key; `None` where it is not one this crate knows.
    #[must_use]
    pub fn of(key: &str, world: &World) -> Option<Self> {
        let site = &world.premises.site;
        let mut parts = key.split(':');
        let what = parts.next()?;
        let first = parts.next()?;
        let outlet = |id: &str| site.outlet(id).map(|o| o.0);
        let pin = |w: &str| {
            [Pin::Line, Pin::Neutral, Pin::Earth]
                .into_iter()
                .find(|p| word(*p) == w)
        };
        match what {
            "volts" => {
                let (a, b) = parts.next()?.split_once('-')?;
                let how = match parts.next() {
                    None => How::Plain,
                    Some("load") => How::Loaded,
                    Some("low-impedance") => How::LowImpedance,
                    Some("switch-on") => How::SwitchedOn,
                    Some(_) => return None,
                };
                Some(Check::Volts(outlet(first)?, pin(a)?, pin(b)?, how))
            }
            "between" => Some(Check::Between(outlet(first)?, outlet(parts.next()?)?)),
            "lamps" => Some(Check::Lamps(outlet(first)?)),
            "detector" => Some(Check::Detector(outlet(first)?, pin(parts.next()?)?)),
            "switch" => Some(Check::Switch(outlet(first)?)),
            "breaker" => Some(Check::Breaker(site.circuit(first)?.0)),
            _ => None,
        }
    }
}

impl World {
    /// Whether a fault of this kind is there, and where.
    #[must_use]
    pub fn has(&self, kind: &str) -> Option<&Fault> {
        self.faults.iter().find(|f| f.kind == kind)
    }

    /// The network under a test load.
    #[must_use]
    pub fn laid(&self, test: TestLoad) -> Laid {
        lay(&self.premises, &self.faults, test)
    }

    /// Volts across two nodes with an admittance between them. Where loads find no steady state they are left out of
    /// the reading, which is then that of a collapsed supply: 0 V.
    fn across(&self, mut laid: Laid, a: Node, b: Node, y: Complex64) -> f64 {
        laid.net.siemens(a, b, y);
        laid.net.volts().map_or(0.0, |v| (v[a] - v[b]).norm())
    }

    /// The contact that is touched when this one is meant.
    fn touched(&self, outlet: usize, pin: Pin) -> Pin {
        let named = |kind, a, b| {
            self.has(kind)
                .filter(|f| f.at == At::Outlet(outlet))
                .map(|_| (a, b))
        };
        let mix = named("contacts-named-wrongly", Pin::Line, Pin::Neutral)
            .or(named("line-earth-named-wrongly", Pin::Line, Pin::Earth))
            .or(named(
                "neutral-earth-named-wrongly",
                Pin::Neutral,
                Pin::Earth,
            ));
        match mix {
            Some((a, b)) if pin == a => b,
            Some((a, b)) if pin == b => a,
            _ => pin,
        }
    }

    /// Volts that a meter of this admittance would show, before it errs.
    #[must_use]
    pub fn volts(&self, outlet: usize, pair: (Pin, Pin), test: TestLoad, y: Complex64) -> f64 {
        let laid = self.laid(test);
        let (a, b) = (self.touched(outlet, pair.0), self.touched(outlet, pair.1));
        let (a, b) = (laid.pins[outlet][slot(a)], laid.pins[outlet][slot(b)]);
        self.across(laid, a, b, y)
    }

    /// The same with the switch that feeds an outlet put on.
    fn switched_on(&self, outlet: usize) -> World {
        let mut out = self.clone();
        out.faults.retain(|f| !is_off(f, outlet));
        out
    }

    /// Makes a check and adds what came of it.
    pub fn look(&self, check: Check, person: &mut Person, visit: &mut Visit) {
        let truth = &self.premises.truth;
        match check {
            Check::Volts(o, a, b, how) => {
                let test = (how == How::Loaded).then_some((o, TEST_LOAD * person.load));
                let y = person.input(how == How::LowImpedance);
                let pair = if person.chance.happens(0.5 * person.slips) {
                    *person.chance.pick(&PAIRS)
                } else {
                    (a, b)
                };
                let volts = match how {
                    How::SwitchedOn => self.switched_on(o).volts(o, pair, test, y),
                    _ => self.volts(o, pair, test, y),
                };
                let condition = Condition {
                    test_load: (how == How::Loaded)
                        .then_some((OutletIx(o), Watts::from_si(TEST_LOAD))),
                    switches: (how == How::SwitchedOn)
                        .then_some((OutletIx(o), SwitchState::Closed))
                        .into_iter()
                        .collect(),
                    ..Condition::default()
                };
                let input = if how == How::LowImpedance {
                    Input::LowImpedance
                } else {
                    Input::Normal
                };
                let contacts = (
                    Contact::Outlet(OutletIx(o), a),
                    Contact::Outlet(OutletIx(o), b),
                );
                self.note(volts, contacts, condition, input, person, visit);
            }
            Check::Between(o, p) => {
                let laid = self.laid(None);
                let (a, b) = (laid.pins[o][2], laid.pins[p][2]);
                let volts = self.across(laid, a, b, person.input(false));
                let earth = |o| Contact::Outlet(OutletIx(o), Pin::Earth);
                self.note(
                    volts,
                    (earth(o), earth(p)),
                    Condition::default(),
                    Input::Normal,
                    person,
                    visit,
                );
            }
            Check::Lamps(o) => {
                let mut laid = self.laid(None);
                let [l, n, e] = laid.pins[o];
                let y = Complex64::from(1.0 / person.lamp * 120.0 / truth.volts);
                for (a, b) in [(l, n), (l, e), (n, e)] {
                    laid.net.siemens(a, b, y);
                }
                let volts = laid.net.volts().unwrap_or_default();
                let at = |a: Node, b: Node| match volts.is_empty() {
                    true => 0.0,
                    false => (volts[a] - volts[b]).norm() / truth.volts,
                };
                let lamp = |a, b| person.lamp_at(at(a, b));
                let what = Sign::Lamps {
                    line_neutral: lamp(l, n),
                    line_earth: lamp(l, e),
                    neutral_earth: lamp(n, e),
                };
                observe(visit, Whereabouts::Outlet(OutletIx(o)), what);
            }
            Check::Detector(o, pin) => {
                let laid = self.laid(None);
                let node = laid.pins[o][slot(self.touched(o, pin))];
                let share = self.across(laid, node, SOIL, Complex64::from(1e-12)) / truth.volts;
                let signals = if person.detects(share) {
                    Signals::Yes
                } else {
                    Signals::No
                };
                observe(
                    visit,
                    Whereabouts::Outlet(OutletIx(o)),
                    Sign::Detector { pin, signals },
                );
            }
            Check::Switch(o) => {
                let off = self.faults.iter().any(|f| is_off(f, o));
                let what = if off { Sign::SwitchOff } else { Sign::SwitchOn };
                observe(visit, Whereabouts::Outlet(OutletIx(o)), what);
            }
            Check::Breaker(c) => {
                let here = |kind| {
                    self.faults
                        .iter()
                        .any(|f| f.kind == kind && f.at == At::Circuit(c))
                };
                let what = if here("residual-device-open-panel") {
                    Sign::ResidualTripped
                } else if here("arc-device-open") {
                    Sign::ArcTripped
                } else if here("breaker-open") {
                    Sign::BreakerTripped
                } else {
                    Sign::BreakerClosed
                };
                observe(visit, Whereabouts::Circuit(CircuitIx(c)), what);
            }
        }
    }

    fn note(
        &self,
        volts: f64,
        (from, to): (Contact, Contact),
        condition: Condition,
        input: Input,
        person: &mut Person,
        visit: &mut Visit,
    ) {
        let nothing = self.has("lead-open").is_some() || self.has("wrong-function").is_some();
        let slipped = person.chance.happens(0.5 * person.slips);
        let wild = self.has("inconsistent-readings").is_some();
        let volts = if wild {
            volts * person.chance.between(0.35, 1.45)
        } else {
            volts
        };
        let volts = match (nothing || slipped, self.has("flat-battery")) {
            (true, _) => person.chance.between(0.0, 0.8),
            (false, Some(fault)) => volts * fault.how_bad,
            (false, None) => volts,
        };
        visit.readings.push(Reading {
            id: format!("r{}", visit.readings.len() + 1),
            from,
            to,
            value: Told::Volts(person.tell(volts)),
            meter: person.meter(),
            input,
            condition,
            corrects: None,
        });
    }
}

/// Whether a fault is that the switch which feeds an outlet is off.
fn is_off(fault: &Fault, outlet: usize) -> bool {
    match fault.kind {
        "switched-outlet-off" | "switched-neutral" => fault.at == At::Outlet(outlet),
        "strip-switch-off" => fault.at == At::Run(outlet),
        _ => false,
    }
}

/// Adds an observation.
pub fn observe(visit: &mut Visit, at: Whereabouts, what: Sign) {
    let id = format!("o{}", visit.observations.len() + 1);
    visit.observations.push(Observation {
        id,
        at,
        what,
        condition: Condition::default(),
    });
}
