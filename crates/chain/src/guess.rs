//! What is not told of a site: medians and spreads, each with its basis.
//!
//! A guess is log-normal: `x = median · exp(log_sigma · z)`, z standard normal. The engine samples it; a told value
//! replaces it.

use metrology::Basis;

use crate::lanes::{self, Lanes};

/// A log-normal guess.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Guess {
    /// Median, SI units.
    pub median: f64,
    /// Standard deviation of the natural logarithm.
    pub log_sigma: f64,
    /// How far it may be trusted.
    pub basis: Basis,
    /// What it rests on.
    pub source: &'static str,
}

impl Guess {
    /// The value at a standard-normal score.
    #[inline]
    #[must_use]
    pub fn at(&self, z: f64) -> f64 {
        self.median * (self.log_sigma * z).exp()
    }

    /// The values at eight standard-normal scores.
    #[inline]
    #[must_use]
    pub fn in_lanes(&self, z: &Lanes) -> Lanes {
        lanes::exp(z.map(|z| self.log_sigma * z)).map(|x| self.median * x)
    }
}

const fn judged(median: f64, log_sigma: f64, source: &'static str) -> Guess {
    Guess {
        median,
        log_sigma,
        basis: Basis::Judgement,
        source,
    }
}

const fn practice(median: f64, log_sigma: f64, source: &'static str) -> Guess {
    Guess {
        median,
        log_sigma,
        basis: Basis::CommonPractice,
        source,
    }
}

/// Length of a run nobody measured, metres.
pub const RUN: Guess = judged(
    7.0,
    0.6,
    "our guess: neighbouring outlets of ordinary rooms, 2 m to 25 m",
);
/// Length from the panel to a first outlet nobody measured, metres.
pub const HOME_RUN: Guess = judged(14.0, 0.6, "our guess: panel to first outlet, 4 m to 50 m");
/// Relative doubt of a length that was told.
pub const TOLD_LENGTH_LOG_SIGMA: f64 = 0.1;
/// Resistance of one sound joint, ohms.
pub const JOINT: Guess = practice(
    1.5e-3,
    0.7,
    "sound terminal or splice 0.5 mohm to 3 mohm, trade experience",
);
/// Resistance of one sound contact of an outlet, ohms.
pub const CONTACT: Guess = practice(
    3e-3,
    0.5,
    "plug blade to receptacle 1 mohm to 5 mohm, trade experience",
);
/// Capacitance between two conductors of a cable, farads per metre.
pub const CABLE_CAPACITANCE: Guess =
    judged(8e-11, 0.35, "cable 50 pF/m to 200 pF/m, trade experience");
/// Capacitance of a conductor to true earth around it, farads per metre.
pub const STRAY_CAPACITANCE: Guess = judged(
    2e-11,
    0.6,
    "our guess: conductor to building, 10 pF/m to 60 pF/m",
);
/// Insulation of a run between two conductors, ohms.
pub const INSULATION: Guess = judged(
    3e8,
    0.8,
    "our guess: new cable far above 1 Mohm, old cable some tens of Mohm",
);
/// Impedance of the source (transformer and network) per leg, ohms at 120 V; scales with voltage.
pub const SOURCE: Guess = judged(
    0.03,
    0.5,
    "our guess: prospective current at the service of 1 kA to 10 kA",
);
/// Reactance of the source over its resistance.
pub const SOURCE_X_OVER_R: f64 = 0.7;
/// Resistance of one conductor of the service drop, ohms.
pub const DROP: Guess = judged(0.015, 0.6, "our guess: 25 m of service cable");
/// Resistance of the neutral-earth bond, ohms.
pub const BOND: Guess = judged(1e-3, 0.5, "our guess: a bonding screw and bar");
/// Electrode of the premises, ohms, where there is a metallic path as well.
pub const ELECTRODE: Guess = judged(25.0, 0.8, "our guess: rods and pipes, 5 ohm to 120 ohm");
/// Electrode of the premises in TT and in Japan, ohms.
pub const ELECTRODE_TT: Guess = judged(
    40.0,
    0.7,
    "our guess: class D and TT practice, 10 ohm to 160 ohm",
);
/// Electrode of the source, ohms.
pub const ELECTRODE_SOURCE: Guess =
    judged(4.0, 0.7, "our guess: transformer earth, 1 ohm to 15 ohm");
/// Load of the rest of the premises on one leg, watts.
pub const REST: Guess = judged(350.0, 1.3, "our guess: everything not looked at");
/// Load between two legs, watts.
pub const REST_ACROSS: Guess = judged(
    150.0,
    1.5,
    "our guess: heaters and cooling between two legs",
);
/// Load on an outlet nobody described, watts, while on.
pub const HIDDEN_LOAD: Guess = judged(90.0, 1.2, "our guess: a desk with a machine up to a heater");
/// Chance that something is plugged in where nobody said.
pub const HIDDEN_PLUGGED: f64 = 0.65;
/// Chance that what is plugged in draws its power, where nobody said.
pub const HIDDEN_ON: f64 = 0.65;
/// Chance that a plugged load is electronic (a filter on its input), where nobody said.
pub const HIDDEN_ELECTRONIC: f64 = 0.65;
/// Capacitor line to neutral of an electronic load's filter, farads.
pub const X_CAPACITOR: Guess = judged(
    2.2e-7,
    0.7,
    "our guess: 0.1 uF to 1 uF in ordinary supplies",
);
/// Capacitor of an electronic load's filter to its case, each side, farads.
pub const Y_CAPACITOR: Guess = practice(
    3.3e-9,
    0.5,
    "leakage 0.2 mA to 1 mA at 120 V and 0.5 mA to 2 mA at 230 V per machine",
);
/// Capacitance of an outlet's contact to its earth contact: plates, boxes, a cord that hangs there; farads.
pub const CONTACT_CAPACITANCE: Guess = judged(
    1.5e-11,
    1.2,
    "our guess: a bare outlet 2 pF, with a cord of a metre or two 150 pF",
);
/// Insulation between the line and the neutral contact of an outlet, ohms.
pub const CONTACT_INSULATION: Guess = judged(
    3e10,
    1.7,
    "our guess: 1 Gohm where it is dusty or damp, 1 Tohm where it is clean and dry",
);
/// Chance that an electronic load that is on draws next to nothing: it idles, or has cut out where little voltage is left.
pub const IDLE: f64 = 0.25;
/// Off-state resistance of a switched-off load still plugged in, ohms.
pub const OFF_LEAK: f64 = 5e6;
/// Standard deviation of the logarithm of a told power.
pub const TOLD_POWER_LOG_SIGMA: f64 = 0.2;
/// Relative standard deviation of the service voltage around nominal.
pub const SERVICE_VOLTS: f64 = 0.022;
/// Relative standard deviation of one leg against the others.
pub const LEG_VOLTS: f64 = 0.004;
/// Breaker: poles, springs and screws together, ohms.
pub const BREAKER: Guess = judged(
    6e-3,
    0.4,
    "our guess: 15 A and 20 A breakers, 3 mohm to 12 mohm",
);
