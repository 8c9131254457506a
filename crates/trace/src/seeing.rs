//! What an instrument or a person makes of the network: one to three numbers for each way of seeing.
//!
//! A meter of admittance `y = G + jωC` reads `|v / (1 + z y)|` across a pair of open-circuit voltage `v` behind `z`.
//! Three lamps hang between three nodes at once. A detector feels a contact's voltage against true earth. A machine
//! works on what is left when it draws its current. A hand feels the current from a contact to true earth.

use metrology::{Farads, Ohms};
use network::{Cx8, NodeIx, Seen, loaded, loaded_three};
use num_complex::Complex64;
use site::visit::{Pin, Signals};

pub use chain::lanes::Lanes;

/// A pair of nodes by its number in the list of probes.
pub type ProbeIx = usize;

/// A way of seeing.
#[expect(
    missing_docs,
    reason = "the line of each variant says what its fields are"
)]
#[derive(Clone, Debug, PartialEq)]
pub enum Seeing {
    /// A voltmeter across two contacts: one number, volts.
    Volts { probe: ProbeIx, y: Complex64 },
    /// Lamps line-earth, neutral-earth and line-neutral: three numbers, volts across line-neutral, line-earth,
    /// neutral-earth. The probes are line-earth and neutral-earth.
    Lamps {
        line_earth: ProbeIx,
        neutral_earth: ProbeIx,
        mutual: usize,
        y: f64,
    },
    /// A non-contact detector: one number, volts to true earth.
    Detector { probe: ProbeIx },
    /// Something plugged in that draws a little: one number, volts at its plug.
    Powered { probe: ProbeIx, y: f64 },
    /// A hand between a contact and true earth: one number, amperes through `ohms`.
    Touch { probe: ProbeIx, ohms: f64 },
    /// Nothing that a network tells.
    Told,
}

/// The probes of one condition, each once.
#[derive(Clone, Debug, Default)]
pub struct ProbeList {
    /// The pairs.
    pub pairs: Vec<network::Probe>,
    /// Pairs of probes whose mutual impedance is wanted.
    pub mutual: Vec<(usize, usize)>,
}

impl ProbeList {
    /// The number of a pair of nodes.
    pub fn probe(&mut self, plus: NodeIx, minus: NodeIx) -> ProbeIx {
        let wanted = network::Probe { plus, minus };
        self.pairs
            .iter()
            .position(|p| *p == wanted)
            .unwrap_or_else(|| {
                self.pairs.push(wanted);
                self.pairs.len() - 1
            })
    }

    /// The number of a pair of nodes whichever way round it is listed: for what sees only the size of a voltage.
    pub fn across(&mut self, one: NodeIx, other: NodeIx) -> ProbeIx {
        let listed = |p: &network::Probe| {
            (p.plus, p.minus) == (one, other) || (p.plus, p.minus) == (other, one)
        };
        // the first listed: what a witness needs stands before what is listed for looking ahead
        match self.pairs.iter().position(listed) {
            Some(at) => at,
            None => self.probe(one, other),
        }
    }

    /// How many pairs, and pairs of them, are listed.
    pub fn counts(&self) -> (usize, usize) {
        (self.pairs.len(), self.mutual.len())
    }

    /// The number of a mutual impedance.
    pub fn mutual(&mut self, one: ProbeIx, other: ProbeIx) -> usize {
        self.mutual
            .iter()
            .position(|m| *m == (one, other))
            .unwrap_or_else(|| {
                self.mutual.push((one, other));
                self.mutual.len() - 1
            })
    }
}

/// Admittance of a meter's input at an angular frequency.
#[must_use]
pub fn input_admittance(resistance: Ohms, capacitance: Farads, omega: f64) -> Complex64 {
    Complex64::new(1.0 / resistance.si(), omega * capacitance.si())
}

impl Seeing {
    /// How many numbers it yields.
    #[must_use]
    pub fn len(&self) -> usize {
        match self {
            Seeing::Lamps { .. } => 3,
            Seeing::Told => 0,
            _ => 1,
        }
    }

    /// True where the network tells nothing about it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The numbers in eight samples, pushed to `out`.
    #[inline(always)]
    pub fn numbers(&self, seen: &Seen, out: &mut Vec<Lanes>) {
        match self {
            Seeing::Volts { probe, y } => {
                out.push(magnitude(loaded(
                    seen.v[*probe],
                    seen.z[*probe],
                    Cx8::from(*y),
                )));
            }
            Seeing::Lamps {
                line_earth,
                neutral_earth,
                mutual,
                y,
            } => {
                let (a, b, m) = (*line_earth, *neutral_earth, seen.zm[*mutual]);
                let lamp = Cx8::from(*y);
                let [le, ne] = loaded_three(
                    [seen.v[a], seen.v[b]],
                    [[seen.z[a], m], [m, seen.z[b]]],
                    [lamp, lamp, lamp],
                );
                out.push(magnitude(le - ne));
                out.push(magnitude(le));
                out.push(magnitude(ne));
            }
            Seeing::Detector { probe } => out.push(magnitude(seen.v[*probe])),
            Seeing::Powered { probe, y } => {
                out.push(magnitude(loaded(
                    seen.v[*probe],
                    seen.z[*probe],
                    Cx8::from(*y),
                )));
            }
            Seeing::Touch { probe, ohms } => {
                let volts = magnitude(loaded(
                    seen.v[*probe],
                    seen.z[*probe],
                    Cx8::from(1.0 / ohms),
                ));
                out.push(volts.map(|v| v / ohms));
            }
            Seeing::Told => {}
        }
    }
}

#[inline(always)]
fn magnitude(x: Cx8) -> Lanes {
    x.norm_sqr().map(f64::sqrt)
}

/// Chance that a lamp of a three-lamp tester is seen lit, at volts across it, for a nominal voltage.
///
/// A small neon lamp strikes at about 90 V peak, 64 V r.m.s. (component notes); testers for other voltages are taken to
/// scale. The width is judgement.
#[must_use]
pub fn lit(volts: f64, nominal: f64) -> f64 {
    logistic((volts / nominal - LAMP_STRIKES) / LAMP_WIDTH)
}

/// Strike voltage of a lamp over nominal.
pub const LAMP_STRIKES: f64 = 0.55;
/// Width of the strike's doubt over nominal.
pub const LAMP_WIDTH: f64 = 0.04;
/// Resistance of one lamp with its resistor, ohms (30 kohm to 220 kohm in series, common practice).
pub const LAMP_OHMS: f64 = 1.5e5;

/// Chance that a non-contact detector signals at a contact that has these volts to true earth. It errs some one in fifty
/// times: it hears the neighbour, or a hand shields it. Judgement.
#[must_use]
pub fn signals(volts: f64, nominal: f64) -> f64 {
    0.02 + 0.95 * logistic((volts / nominal - 0.5) / 0.07)
}

/// Resistance of a signal cable's screen with its two plugs, ohms. Judgement.
pub const SCREEN_OHMS: f64 = 1.0;

/// Chance that a cable between two machines sparks or gets hot at this current through its screen: from a few amperes.
/// Judgement.
#[must_use]
pub fn sparks(amps: f64) -> f64 {
    0.001 + 0.5 * logistic((amps / 3.0).max(1e-12).ln() / 0.4)
}

/// Chance that a protector or a UPS says that the wiring is wrong, from the volts that a lamp tester would see
/// there: it looks for line against earth, and for nothing between neutral and earth. Common practice; the rates are judgement.
#[must_use]
pub fn fault_light(line_earth: f64, neutral_earth: f64, nominal: f64) -> f64 {
    let right = lit(line_earth, nominal) * (1.0 - lit(neutral_earth, nominal));
    0.01 + 0.94 * (1.0 - right)
}

/// Chance that what is plugged in works, at these volts.
#[must_use]
pub fn works(volts: f64, nominal: f64) -> f64 {
    0.01 + 0.97 * logistic((volts / nominal - 0.7) / 0.05)
}

/// Chance that somebody feels this current: perception from about 0.5 mA (IEC 60479-1, zone AC-1 limit).
#[must_use]
pub fn felt(amps: f64) -> f64 {
    0.002 + 0.9 * logistic((amps / 4e-4).max(1e-12).ln() / 0.5)
}

#[inline]
fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

/// Chance of what the detector did.
#[must_use]
pub fn signals_as(volts: f64, nominal: f64, told: Signals) -> f64 {
    let p = signals(volts, nominal);
    match told {
        Signals::Yes => p,
        Signals::No => 1.0 - p,
    }
}

/// The word of a pin for keys.
#[must_use]
pub fn pin_key(pin: Pin) -> &'static str {
    match pin {
        Pin::Line => "line",
        Pin::Neutral => "neutral",
        Pin::Earth => "earth",
    }
}
