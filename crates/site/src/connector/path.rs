//! From the supply to the load: what a meter reads at the back of a connector, and what is left behind it.
//!
//! `U_back = U − I R_w`, `R_w = r l / n`; `U_load = U_back − I R_c m / n`. U: voltage at the supply's end (V), I: current of
//! the rail through this connector (A), r: resistance of one wire per metre at its temperature (Ω/m), l: length (m), n: wires
//! and contacts side by side, R_c: one contact (Ω), m: contacts one behind the other. The return adds the same with its own n:
//! what it loses lifts the load's COM. Even sharing is taken; uneven contacts share as their conductances,
//! `I_k = I g_k / Σ g`, `g = 1 / (r l + R_c)`. A sense wire lets the supply raise U by the loss, as far as it reaches:
//! `U_load = U − max(0, loss − 100 mV)`. It stops being true where wires of different lengths share a rail.
//! Source: Ohm's law; sense: ATX design guide 0.9, 3.2.2. Held by: tests/connector.rs (worked examples).

use metrology::{Amps, Basis, Metres, Ohms, Sourced, Volts};

use crate::model::Cable;

/// A sound contact, at its highest when new.
pub const CONTACT: Sourced<Ohms> = Sourced::new(
    Ohms::from_si(10e-3),
    Basis::Memory,
    "connector maker's specification of this family of terminals: 10 mΩ at most when new",
);

/// How much of the loss a sense wire makes up for.
pub const SENSE_REACH: Sourced<Volts> = Sourced::new(
    Volts::from_si(0.1),
    Basis::Published,
    "ATX design guide 0.9, 3.2.2 (+3.3 V)",
);

/// Wires and contacts side by side from the supply to a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Path {
    /// One wire, at its temperature.
    pub wire: Cable,
    /// Its length.
    pub length: Metres,
    /// One contact.
    pub contact: Ohms,
    /// Contacts one behind the other; one for a plug at the board, more with extensions or modular cables.
    pub n_contacts: u32,
    /// Wires and contacts side by side; at least one.
    pub n_wires: u32,
}

impl Path {
    /// Resistance of the wires together.
    pub fn wires(&self) -> Ohms {
        let one = self.wire.resistance_per_metre() * self.length.si();
        Ohms::from_si(one / self.side_by_side())
    }

    /// Resistance of the contacts together.
    pub fn contacts(&self) -> Ohms {
        let one = self.contact.si() * f64::from(self.n_contacts);
        Ohms::from_si(one / self.side_by_side())
    }

    /// What a meter reads at the back of the last connector, its other lead at the supply's COM.
    pub fn at_back(&self, supply: Volts, current: Amps) -> Volts {
        let before = f64::from(self.n_contacts.saturating_sub(1)) * self.contact.si();
        let lost = current.si() * (self.wires().si() + before / self.side_by_side());
        Volts::from_si(supply.si() - lost)
    }

    /// What is left behind the last contact.
    pub fn at_load(&self, supply: Volts, current: Amps) -> Volts {
        Volts::from_si(supply.si() - self.lost(current).si())
    }

    /// What wires and contacts lose together.
    pub fn lost(&self, current: Amps) -> Volts {
        Volts::from_si(current.si() * (self.wires().si() + self.contacts().si()))
    }

    fn side_by_side(&self) -> f64 {
        f64::from(self.n_wires.max(1))
    }
}

/// How a current divides between wires that are alike but for their contacts; evenly where none conducts better.
pub fn shares(current: Amps, wire: Ohms, contacts: &[Ohms]) -> Vec<Amps> {
    let conductance = |it: &Ohms| 1.0 / (wire.si() + it.si()).max(1e-12);
    let all: f64 = contacts.iter().map(conductance).sum();
    let share = |it: &Ohms| Amps::from_si(current.si() * conductance(it) / all);
    contacts.iter().map(share).collect()
}

/// Voltage at a load whose supply is told of the loss by a sense wire.
pub fn with_sense(supply: Volts, lost: Volts) -> Volts {
    let left = (lost.si() - SENSE_REACH.value.si()).max(0.0);
    Volts::from_si(supply.si() - left)
}
