//! What can be checked next: at each outlet, between outlets, at the breaker.
//!
//! Each check carries the minutes it takes, its hazard class (0 look, listen, plug-in indicator; 1 probes at an outlet's
//! face) and the skill it asks for. Nothing of a higher class is in this list: what lies behind a cover is named to a
//! licensed electrician and never proposed.

use metrology::Watts;
use network::NodeIx;
use site::model::{CircuitIx, Feed, OutletIx, Switched};
use site::visit::{
    Condition, Contact, Input, Lamp, Pin, Reading, Sign, Skill, SwitchState, Whereabouts,
};

use crate::engine::Further;
use crate::seeing::{Seeing, input_admittance};
use crate::study::{Claim, Study, Witness, lamps, standing};

/// A check that could be made.
#[derive(Clone, Debug)]
pub(crate) struct Check {
    pub key: String,
    pub kind: CheckKind,
    pub minutes: f64,
    pub hazard: u8,
    pub skill: Skill,
}

/// The kinds of check.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum CheckKind {
    /// A voltage between two contacts.
    Volts {
        from: (OutletIx, Pin),
        to: (OutletIx, Pin),
        under: Under,
        input: Input,
    },
    /// A three-lamp tester.
    Lamps(OutletIx),
    /// A non-contact detector at a contact.
    Detector(OutletIx, Pin),
    /// Looking at a breaker.
    Breaker(CircuitIx),
    /// Looking at the switch that feeds an outlet: wall switch, timer, switch of a strip.
    Switch(OutletIx),
}

/// What is done at the outlet for the check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Under {
    AsIs,
    /// A test load is plugged in.
    TestLoad,
    /// The switch that feeds it, found off, is put on.
    SwitchedOn,
}

/// Power of the test load that a technician carries, watts. Judgement: a heat gun or a kettle on its lower step.
pub(crate) const TEST_LOAD: f64 = 1000.0;

/// Minutes to tell a result; with probes, to set up the leads and prove the meter as well. Judgement.
const TELLING: f64 = 0.5;
const PROBES: f64 = 1.5;

const PAIRS: [(Pin, Pin); 3] = [
    (Pin::Line, Pin::Neutral),
    (Pin::Line, Pin::Earth),
    (Pin::Neutral, Pin::Earth),
];

/// The word of a pair in keys.
pub(crate) fn pair_key(from: Pin, to: Pin) -> String {
    format!(
        "{}-{}",
        crate::seeing::pin_key(from),
        crate::seeing::pin_key(to)
    )
}

/// Whether a reading is one across two contacts, either way round.
fn is_across(r: &Reading, from: (OutletIx, Pin), to: (OutletIx, Pin)) -> bool {
    let (a, b) = (Contact::Outlet(from.0, from.1), Contact::Outlet(to.0, to.1));
    (r.from, r.to) == (a, b) || (r.from, r.to) == (b, a)
}

impl Study<'_> {
    /// Checks that this person may make, has not made and can make, with how each would be seen.
    pub fn possible_checks(&mut self) -> (Vec<Check>, Vec<Further>) {
        let mut out = Vec::new();
        let mut further = Vec::new();
        let here = self.here();
        let skill = self.question.skill;
        let looked_at = self.circuits_looked_at();
        let site = self.question.site;
        let in_question = |o: OutletIx| looked_at.contains(&site.outlets[o.0].circuit);
        for o in self.outlets_near(crate::near::TO_CHECK) {
            let id = self.question.site.outlets[o.0].id.clone();
            let walk = if here == Some(o) || here.is_none() {
                0.0
            } else {
                1.0
            };
            for (from, to) in PAIRS {
                let pair = pair_key(from, to);
                let reads = |under, input, key: String, minutes| Check {
                    key,
                    kind: CheckKind::Volts {
                        from: (o, from),
                        to: (o, to),
                        under,
                        input,
                    },
                    minutes,
                    hazard: 1,
                    skill: Skill::Technician,
                };
                out.push(reads(
                    Under::AsIs,
                    Input::Normal,
                    format!("volts:{id}:{pair}"),
                    0.7 + walk,
                ));
                if in_question(o) {
                    out.push(reads(
                        Under::TestLoad,
                        Input::Normal,
                        format!("volts:{id}:{pair}:load"),
                        2.5 + walk,
                    ));
                }
                out.push(reads(
                    Under::AsIs,
                    Input::LowImpedance,
                    format!("volts:{id}:{pair}:low-impedance"),
                    0.8 + walk,
                ));
                if self.is_switched(o) && self.is_found_odd(o) {
                    out.push(reads(
                        Under::SwitchedOn,
                        Input::Normal,
                        format!("volts:{id}:{pair}:switch-on"),
                        1.2 + walk,
                    ));
                }
            }
            out.push(Check {
                key: format!("lamps:{id}"),
                kind: CheckKind::Lamps(o),
                minutes: 0.5 + walk,
                hazard: 0,
                skill: Skill::Anyone,
            });
            for pin in [Pin::Line, Pin::Neutral, Pin::Earth] {
                out.push(Check {
                    key: format!("detector:{id}:{}", crate::seeing::pin_key(pin)),
                    kind: CheckKind::Detector(o, pin),
                    minutes: 0.5 + walk,
                    hazard: 0,
                    skill: Skill::Anyone,
                });
            }
        }
        if let Some(o) = here.or(self.wiring.outlets.first().copied()) {
            let site = self.question.site;
            let other = self
                .wiring
                .outlets
                .iter()
                .copied()
                .find(|p| site.outlets[p.0].circuit != site.outlets[o.0].circuit);
            if let Some(p) = other {
                let key = format!(
                    "between:{}:{}:earth",
                    site.outlets[o.0].id, site.outlets[p.0].id
                );
                out.push(Check {
                    key,
                    kind: CheckKind::Volts {
                        from: (o, Pin::Earth),
                        to: (p, Pin::Earth),
                        under: Under::AsIs,
                        input: Input::Normal,
                    },
                    minutes: 4.0,
                    hazard: 1,
                    skill: Skill::Technician,
                });
            }
        }
        for c in self.wiring.circuits.clone() {
            let key = format!("breaker:{}", self.question.site.circuits[c.0].id);
            out.push(Check {
                key,
                kind: CheckKind::Breaker(c),
                minutes: 2.0,
                hazard: 0,
                skill: Skill::Anyone,
            });
        }
        for o in self.outlets_near(crate::near::TO_CHECK) {
            if self.is_switched(o) {
                let key = format!("switch:{}", self.question.site.outlets[o.0].id);
                let walk = if here == Some(o) || here.is_none() {
                    0.0
                } else {
                    1.0
                };
                out.push(Check {
                    key,
                    kind: CheckKind::Switch(o),
                    minutes: 0.7 + walk,
                    hazard: 0,
                    skill: Skill::Anyone,
                });
            }
        }
        for check in &mut out {
            check.minutes += if check.hazard == 0 { TELLING } else { PROBES };
        }
        out.retain(|c| c.skill <= skill && !self.whole.cannot.contains(&c.key) && !self.is_made(c));
        out.retain(|c| match self.further(c.kind) {
            Some(f) => {
                further.push(f);
                true
            }
            None => false,
        });
        (out, further)
    }

    /// How many readings and remarks the whole visit has.
    pub fn n_told(&self) -> usize {
        self.whole.readings.len() + self.whole.observations.len()
    }

    /// The outlet of the last reading or observation.
    pub fn here(&self) -> Option<OutletIx> {
        self.witnesses.iter().rev().find_map(|w| w.outlet)
    }

    /// Whether a check is to read again what was more than any pair of the system has.
    pub fn is_to_read_again(&self, check: usize) -> bool {
        let CheckKind::Volts {
            from,
            to,
            under: Under::AsIs,
            input: Input::Normal,
        } = self.checks[check].kind
        else {
            return false;
        };
        standing(self.whole).any(|r| is_across(r, from, to) && self.is_beyond(r))
    }

    fn is_made(&self, check: &Check) -> bool {
        let visit = self.whole;
        match check.kind {
            CheckKind::Volts { from, to, under, input } => standing(visit).any(|r| {
                let same = is_across(r, from, to) && !self.is_beyond(r);
                let loaded = r.condition.test_load.is_some();
                let on = r.condition.switches.contains(&(from.0, SwitchState::Closed));
                let low = r.input == Input::LowImpedance;
                same && loaded == (under == Under::TestLoad)
                    && on == (under == Under::SwitchedOn)
                    && low == (input == Input::LowImpedance)
            }),
            CheckKind::Lamps(o) => visit
                .observations
                .iter()
                .any(|it| it.at == Whereabouts::Outlet(o) && matches!(it.what, Sign::Lamps { .. })),
            CheckKind::Detector(o, pin) => visit.observations.iter().any(|it| {
                it.at == Whereabouts::Outlet(o) && matches!(it.what, Sign::Detector { pin: p, .. } if p == pin)
            }),
            CheckKind::Switch(o) => {
                let told = |s: Sign| matches!(s, Sign::SwitchOff | Sign::SwitchOn);
                visit.observations.iter().any(|it| it.at == Whereabouts::Outlet(o) && told(it.what))
            }
            CheckKind::Breaker(c) => visit.observations.iter().any(|it| {
                let here = it.at == Whereabouts::Circuit(c)
                    || matches!(it.at, Whereabouts::Outlet(o) if self.question.site.outlets[o.0].circuit == c);
                here && matches!(it.what, Sign::BreakerTripped | Sign::BreakerClosed)
            }),
        }
    }

    /// How a check would be seen in the network; `None` where the outlet has no such contact.
    fn further(&mut self, kind: CheckKind) -> Option<Further> {
        let site = self.question.site;
        let has = |o: OutletIx, pin: Pin| {
            pin != Pin::Earth
                || site
                    .region
                    .receptacles
                    .get(site.outlets[o.0].receptacle)
                    .is_none_or(|r| r.earth_contact)
        };
        match kind {
            CheckKind::Volts {
                from,
                to,
                under,
                input,
            } => {
                if !has(from.0, from.1) || !has(to.0, to.1) {
                    return None;
                }
                let condition = match under {
                    Under::AsIs => Condition::default(),
                    Under::SwitchedOn => Condition {
                        switches: vec![(from.0, SwitchState::Closed)],
                        ..Condition::default()
                    },
                    Under::TestLoad => Condition {
                        test_load: Some((from.0, Watts::from_si(TEST_LOAD))),
                        ..Condition::default()
                    },
                };
                let a = self
                    .wiring
                    .contact(self.as_met(Contact::Outlet(from.0, from.1)))?;
                let b = self
                    .wiring
                    .contact(self.as_met(Contact::Outlet(to.0, to.1)))?;
                let condition = self.condition(&condition);
                let probe = self.probes[condition].probe(a, b);
                let of = metrology::Meter::unknown();
                let input = match input {
                    Input::LowImpedance => of.low_impedance_input().unwrap_or(metrology::Input {
                        resistance: metrology::Ohms::from_si(3e3),
                        capacitance: metrology::Farads::from_si(0.0),
                    }),
                    _ => of.input(),
                };
                let y = input_admittance(input.resistance, input.capacitance, self.wiring.omega);
                Some(Further {
                    condition,
                    seeing: Seeing::Volts { probe, y },
                })
            }
            CheckKind::Lamps(o) => {
                if !has(o, Pin::Earth) {
                    return None;
                }
                let node = |pin| self.wiring.contact(self.as_met(Contact::Outlet(o, pin)));
                let (l, n, e) = (node(Pin::Line)?, node(Pin::Neutral)?, node(Pin::Earth)?);
                let seeing = lamps(&mut self.probes[0], l, n, e, self.nominal);
                Some(Further {
                    condition: 0,
                    seeing,
                })
            }
            CheckKind::Detector(o, pin) => {
                if !has(o, pin) {
                    return None;
                }
                let node = self.wiring.contact(self.as_met(Contact::Outlet(o, pin)))?;
                let probe = self.probes[0].probe(node, NodeIx::DATUM);
                Some(Further {
                    condition: 0,
                    seeing: Seeing::Detector { probe },
                })
            }
            CheckKind::Breaker(_) | CheckKind::Switch(_) => Some(Further {
                condition: 0,
                seeing: Seeing::Told,
            }),
        }
    }

    /// The outlets asked about: the one that the visit began at, and those at which somebody noticed something or an
    /// instrument showed what a sound outlet does not. Others are looked at to tell what is wrong with these.
    pub fn asked_about(&self) -> Vec<OutletIx> {
        let first = self.witnesses.iter().find_map(|w| w.outlet);
        let odd = self.witnesses.iter().filter(|w| self.is_odd(w));
        let odd = odd.filter_map(|w| w.outlet);
        let mut out: Vec<OutletIx> = first.into_iter().chain(odd).collect();
        out.sort_unstable();
        out.dedup();
        out
    }

    /// Whether anything told at an outlet is what a sound one would not show.
    fn is_found_odd(&self, outlet: OutletIx) -> bool {
        let mut here = self.witnesses.iter().filter(|w| w.outlet == Some(outlet));
        here.any(|w| self.is_odd(w))
    }

    /// Whether a switch, a timer or a strip's switch may feed an outlet.
    fn is_switched(&self, outlet: OutletIx) -> bool {
        let it = &self.question.site.outlets[outlet.0];
        it.switched != Switched::No || matches!(it.feed, Feed::Cord(_))
    }

    /// Whether a sound outlet would not show this, by a wide margin: what is nearer to sound is for the causes to weigh.
    fn is_odd(&self, w: &Witness) -> bool {
        match &w.claim {
            Claim::Volts(r) => {
                let share = self.readings.told[*r].value / self.nominal;
                match w.pins {
                    Some((Pin::Earth, Pin::Neutral) | (Pin::Neutral, Pin::Earth)) => share > 0.05,
                    Some(_) => (share - 1.0).abs() > 0.12,
                    None => false,
                }
            }
            Claim::Lamps(told) => *told != [Lamp::Lit, Lamp::Lit, Lamp::Dark],
            Claim::Sign(..)
            | Claim::Felt
            | Claim::FaultLight
            | Claim::CableSparks
            | Claim::Works(false) => true,
            Claim::Detector(_)
            | Claim::Works(true)
            | Claim::Frequency(..)
            | Claim::Reach(_)
            | Claim::BreakerClosed(_)
            | Claim::SwitchOn(_) => false,
        }
    }

    /// True for checks at the outlets asked about, and at their breakers.
    pub fn is_near(&self, kind: CheckKind, asked: &[OutletIx]) -> bool {
        let near = |o: OutletIx| asked.contains(&o);
        match kind {
            CheckKind::Volts { from, to, .. } => near(from.0) && near(to.0),
            CheckKind::Lamps(o) | CheckKind::Detector(o, _) | CheckKind::Switch(o) => near(o),
            CheckKind::Breaker(c) => asked
                .iter()
                .any(|o| self.question.site.outlets[o.0].circuit == c),
        }
    }
}
