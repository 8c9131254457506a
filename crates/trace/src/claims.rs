//! How probable an observation is, given what a sampled world shows.
//!
//! What an instrument or a person makes of volts is in `seeing`; here is how often it is told so, and how often a sign
//! is told without any cause for it. All of it is judgement.

use chain::element::Element;
use site::visit::{Lamp, Reach, Whereabouts};

use crate::causes::Cause;
use crate::fault::Kind;
use crate::seeing::{self, Lanes};
use crate::study::{Claim, Study};

/// Chance that a lamp is told as it was, at volts across it.
pub(crate) fn lamp(told: Lamp, volts: f64, nominal: f64) -> f64 {
    let dim = 0.02 + 0.5 * (-((volts / nominal - 0.5) / 0.1).powi(2)).exp();
    let lit = seeing::lit(volts, nominal);
    match told {
        Lamp::Dim => dim,
        Lamp::Lit => (1.0 - dim) * lit,
        Lamp::Dark => (1.0 - dim) * (1.0 - lit),
    }
}

/// How often a sign is told where nothing is wrong that would make it. Judgement.
fn background(kind: Kind) -> f64 {
    match kind {
        Kind::BreakerTripped | Kind::ResidualTripped => 0.02,
        Kind::ArcTripped | Kind::Buzzing | Kind::Warm | Kind::EquipmentBurnt => 0.01,
        Kind::Burnt | Kind::Brightening | Kind::SwitchMatters => 0.005,
        Kind::Flicker | Kind::Dimming | Kind::Wet | Kind::SwitchOff => 0.03,
        Kind::LoosePlug => 0.04,
        Kind::AfterWorks => 0.1,
        Kind::AfterStorm => 0.05,
        Kind::OldWiring => 0.15,
        // somebody who says so has looked or has it from a tester, and is right nine times in ten
        Kind::NeutralBroken | Kind::EarthMissing => 0.001,
    }
}

impl Study<'_> {
    /// Log probability of what was told in one world; `numbers` are what its way of seeing yields there.
    pub fn ln_told(
        &self,
        claim: &Claim,
        numbers: &[Lanes],
        k: usize,
        cause: &Cause,
        severities: &[Lanes; 2],
        condition: usize,
    ) -> f64 {
        let nominal = self.nominal;
        match claim {
            Claim::Volts(_) => 0.0,
            Claim::Lamps(told) => {
                let all: f64 = told
                    .iter()
                    .zip(numbers)
                    .map(|(t, v)| lamp(*t, v[k], nominal))
                    .product();
                (0.99 * all + 0.01 / 12.0).ln()
            }
            Claim::Detector(told) => seeing::signals_as(numbers[0][k], nominal, *told).ln(),
            Claim::Works(works) => {
                let p = seeing::works(numbers[0][k], nominal);
                if *works { p.ln() } else { (1.0 - p).ln() }
            }
            Claim::FaultLight => seeing::fault_light(numbers[1][k], numbers[2][k], nominal).ln(),
            Claim::CableSparks => seeing::sparks(numbers[0][k]).ln(),
            Claim::Felt => seeing::felt(numbers[0][k]).ln(),
            Claim::Frequency(hertz, sigma) => {
                let mut expected = self.wiring.omega / core::f64::consts::TAU;
                for (slot, fault) in cause.faults.iter().enumerate() {
                    if fault.is_some_and(|f| {
                        self.singles[f as usize].recipes[condition]
                            .frequency
                            .is_some()
                    }) {
                        expected = severities[slot][k];
                    }
                }
                let s2 = sigma * sigma + 0.05 * 0.05;
                (-0.5 * (hertz - expected).powi(2) / s2).max(-30.0)
                    - 0.5 * (core::f64::consts::TAU * s2).ln()
            }
            Claim::Sign(kind, at) => self.sign(*kind, *at, cause).ln(),
            Claim::BreakerClosed(at) => (1.0 - self.sign(Kind::BreakerTripped, *at, cause))
                .max(1e-3)
                .ln(),
            Claim::SwitchOn(at) => (1.0 - self.sign(Kind::SwitchOff, *at, cause))
                .max(1e-3)
                .ln(),
            Claim::Reach(told) => self.reach(*told, cause).ln(),
        }
    }

    /// Chance of a sign at a place under a cause.
    pub fn sign(&self, kind: Kind, at: Whereabouts, cause: &Cause) -> f64 {
        let site = self.question.site;
        let mut not = 1.0 - background(kind);
        for i in cause.faults.iter().flatten() {
            let single = &self.singles[*i as usize];
            let reaches = match (at, single.at.circuit(site)) {
                // A switch is looked at for one outlet.
                (Whereabouts::Outlet(o), _) if kind == Kind::SwitchOff => {
                    matches!(single.at, Element::Outlet(a) | Element::Run(a) if a == o)
                }
                (Whereabouts::Outlet(o), Some(c)) => site.outlets[o.0].circuit == c,
                (Whereabouts::Circuit(w), Some(c)) => w == c,
                _ => true,
            };
            let said = single
                .fault
                .signs
                .iter()
                .find(|(k, _)| *k == kind)
                .map_or(0.0, |(_, p)| *p);
            if reaches {
                not *= 1.0 - said;
            }
        }
        (1.0 - not).clamp(1e-4, 0.999)
    }

    /// Chance that the trouble is told to reach this far under a cause.
    pub fn reach(&self, told: Reach, cause: &Cause) -> f64 {
        let one = |r: Reach| match (r as i32 - told as i32).abs() {
            0 => 0.6,
            1 => 0.15,
            _ => 0.03,
        };
        cause
            .faults
            .iter()
            .flatten()
            .map(|i| one(self.singles[*i as usize].fault.reach))
            .fold(None, |best: Option<f64>, p| {
                Some(best.map_or(p, |b| b.max(p)))
            })
            .unwrap_or(0.08)
    }
}
