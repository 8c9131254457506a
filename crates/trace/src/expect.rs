//! What a meter, a lamp tester or a detector would show at any place, under any cause and condition.
//!
//! The same sampled worlds as in a trace, not weighed by anything: the answer is a spread, from the 5th to the 95th
//! percentile over everything that is not known of the site. The service's voltage varies too.

use chain::element::Element;
use metrology::Meter;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use site::model::{CircuitIx, OutletIx, Site};
use site::visit::{Condition, Contact, Pin, Skill};

use crate::causes::{self, Cause};
use crate::engine::{Care, Further, weigh};
use crate::fault::{Misreads, Severity};
use crate::likelihood::Slips;
use crate::seeing::{self, Seeing, input_admittance};
use crate::study::{Question, Study, lamps};
use crate::{faults, words};

/// One fault asked for: its identifier, the element's key, and a severity where one is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Supposed {
    /// Identifier in the catalogue.
    pub kind: String,
    /// Element key, as in [`Element::key`].
    pub at: String,
    /// Severity in the fault's unit (ohms, factor, hertz); the whole spread where none is given.
    pub severity: Option<f64>,
}

/// What is looked at.
#[derive(Clone, Debug, PartialEq)]
pub enum Look {
    /// A voltmeter.
    Volts {
        /// One probe.
        from: Contact,
        /// The other.
        to: Contact,
        /// The meter's input.
        input: metrology::Input,
    },
    /// A three-lamp tester.
    Lamps(OutletIx),
    /// A non-contact detector.
    Detector(OutletIx, Pin),
}

/// What would be seen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Expected {
    /// What is looked at, in words.
    pub look: String,
    /// What would be seen, in words.
    pub says: String,
    /// For a voltage: 5th percentile, median, 95th percentile, volts. For lamps: the chances that line-neutral,
    /// line-earth and neutral-earth are lit. For a detector: the chance that it signals.
    pub numbers: Vec<f64>,
}

/// What cannot be expected.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotExpected {
    /// No such fault in the catalogue.
    NoSuchFault(String),
    /// No such element in the site.
    NoSuchElement(String),
    /// The element cannot have the fault.
    CannotHave {
        /// The fault.
        kind: String,
        /// The element.
        at: String,
    },
    /// More than two faults at once.
    TooMany,
    /// A contact that the site does not have.
    NoSuchContact,
}

impl core::fmt::Display for NotExpected {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            NotExpected::NoSuchFault(kind) => {
                let near = faults::ALL
                    .iter()
                    .find(|x| x.id.contains(kind.as_str()) || kind.contains(x.id));
                write!(f, "there is no fault \"{kind}\" in the catalogue")?;
                match near {
                    Some(x) => write!(f, "; did you mean \"{}\"?", x.id),
                    None => write!(f, "; the schema of faults lists them all"),
                }
            }
            NotExpected::NoSuchElement(at) => {
                write!(
                    f,
                    "the site has no \"{at}\"; write for example run:ID, outlet:ID, circuit:ID, panel:ID, service or supply"
                )
            }
            NotExpected::CannotHave { kind, at } => write!(f, "\"{at}\" cannot have \"{kind}\""),
            NotExpected::TooMany => write!(f, "at most two faults at once"),
            NotExpected::NoSuchContact => write!(f, "that contact is not there"),
        }
    }
}

impl core::error::Error for NotExpected {}

/// What the looks would show.
///
/// # Errors
/// Where a fault, an element or a contact is not there.
pub fn expect(
    site: &Site,
    supposed: &[Supposed],
    condition: &Condition,
    looks: &[Look],
    seed: u64,
) -> Result<Vec<Expected>, NotExpected> {
    let visit = site::quick::nothing(site);
    let question = Question {
        site,
        visit: &visit,
        skill: Skill::Technician,
        seed,
    };
    let circuits = circuits_of(site, supposed, looks);
    let mut study = Study::open(question, &circuits);
    let number = study.condition(condition);
    let mut further = Vec::new();
    for look in looks {
        further.push(Further {
            condition: number,
            seeing: seeing_of(&mut study, look, number)?,
        });
    }
    let mut cause = Cause::none();
    if supposed.len() > 2 {
        return Err(NotExpected::TooMany);
    }
    for wanted in supposed {
        let fault = faults::find(&wanted.kind)
            .ok_or_else(|| NotExpected::NoSuchFault(wanted.kind.clone()))?;
        let at = Element::from_key(site, &wanted.at)
            .ok_or_else(|| NotExpected::NoSuchElement(wanted.at.clone()))?;
        let cannot = || NotExpected::CannotHave {
            kind: wanted.kind.clone(),
            at: wanted.at.clone(),
        };
        let leg = causes::places(fault.sits, &study.wiring)
            .into_iter()
            .find(|(e, _)| *e == at)
            .ok_or_else(cannot)?
            .1;
        let mut single = causes::single(
            &study.wiring,
            &study.conditions,
            fault,
            at,
            leg,
            &mut study.spots,
        )
        .ok_or_else(cannot)?;
        if let Some(x) = wanted.severity {
            single.severity = Severity::Uniform(x, x);
        }
        study.singles.push(single);
    }
    match study.singles.len() {
        0 => {}
        1 => cause.faults = [Some(0), None],
        _ => {
            cause = causes::pair(&study.wiring, &study.singles, 0, 1, &mut study.spots)
                .ok_or_else(|| NotExpected::CannotHave {
                    kind: supposed[1].kind.clone(),
                    at: supposed[1].at.clone(),
                })?;
        }
    }
    study.misread = vec![Vec::new(); study.singles.len()];
    // With contacts named wrongly, the probes sit elsewhere.
    let exchanged: Vec<&'static crate::fault::Fault> = study
        .singles
        .iter()
        .map(|s| s.fault)
        .filter(|f| matches!(f.misreads, Misreads::NamesExchanged(..)))
        .collect();
    for (f, look) in further.iter_mut().zip(looks) {
        if let (
            Some(fault),
            Look::Volts {
                from: Contact::Outlet(a, p),
                to: Contact::Outlet(b, q),
                input,
            },
        ) = (exchanged.first(), look)
        {
            let swapped = Look::Volts {
                from: Contact::Outlet(*a, causes::misread_pin(fault, *p)),
                to: Contact::Outlet(*b, causes::misread_pin(fault, *q)),
                input: *input,
            };
            f.seeing = seeing_of(&mut study, &swapped, number)?;
        }
    }
    let care = Care {
        worlds: 512,
        smoothing: 0.0,
        slips: Slips::Worst,
        seed,
    };
    let weighed = weigh(&study, core::slice::from_ref(&cause), &further, care);
    let mut at = 0;
    Ok(looks
        .iter()
        .zip(&further)
        .map(|(look, f)| {
            let samples: Vec<Vec<f64>> = (0..f.seeing.len())
                .map(|k| {
                    (0..weighed.worlds.batches())
                        .flat_map(|b| *weighed.number(b, 0, at + k))
                        .collect()
                })
                .collect();
            at += f.seeing.len();
            tell(&study, look, &samples)
        })
        .collect())
}

fn circuits_of(site: &Site, supposed: &[Supposed], looks: &[Look]) -> Vec<CircuitIx> {
    let mut out = Vec::new();
    let mut want = |c: CircuitIx| {
        if !out.contains(&c) {
            out.push(c);
        }
    };
    for look in looks {
        let outlets: Vec<OutletIx> = match look {
            Look::Volts { from, to, .. } => [from, to]
                .into_iter()
                .filter_map(|c| {
                    if let Contact::Outlet(o, _) = c {
                        Some(*o)
                    } else {
                        None
                    }
                })
                .collect(),
            Look::Lamps(o) | Look::Detector(o, _) => vec![*o],
        };
        outlets.iter().for_each(|o| want(site.outlets[o.0].circuit));
    }
    for s in supposed {
        if let Some(c) = Element::from_key(site, &s.at).and_then(|e| e.circuit(site)) {
            want(c);
        }
    }
    // One more to borrow from or to compare with.
    if let Some(c) = (0..site.circuits.len())
        .map(CircuitIx)
        .find(|c| !out.contains(c))
    {
        out.push(c);
    }
    out
}

fn seeing_of(study: &mut Study<'_>, look: &Look, condition: usize) -> Result<Seeing, NotExpected> {
    let node =
        |study: &Study<'_>, c: Contact| study.wiring.contact(c).ok_or(NotExpected::NoSuchContact);
    match look {
        Look::Volts { from, to, input } => {
            let (a, b) = (node(study, *from)?, node(study, *to)?);
            let y = input_admittance(input.resistance, input.capacitance, study.wiring.omega);
            Ok(Seeing::Volts {
                probe: study.probes[condition].probe(a, b),
                y,
            })
        }
        Look::Lamps(o) => {
            let pin = |p| node(study, Contact::Outlet(*o, p));
            let (l, n, e) = (pin(Pin::Line)?, pin(Pin::Neutral)?, pin(Pin::Earth)?);
            Ok(lamps(&mut study.probes[condition], l, n, e, study.nominal))
        }
        Look::Detector(o, p) => {
            let a = node(study, Contact::Outlet(*o, *p))?;
            Ok(Seeing::Detector {
                probe: study.probes[condition].probe(a, network::NodeIx::DATUM),
            })
        }
    }
}

fn tell(study: &Study<'_>, look: &Look, samples: &[Vec<f64>]) -> Expected {
    let site = study.question.site;
    let nominal = study.nominal;
    let mean = |k: usize, f: &dyn Fn(f64) -> f64| {
        samples[k].iter().map(|v| f(*v)).sum::<f64>() / samples[k].len().max(1) as f64
    };
    match look {
        Look::Volts { from, to, .. } => {
            // The service's own deviation widens what the worlds give: quantiles of the scaled sample.
            let s = study.readings.service;
            let mut sorted: Vec<f64> = samples[0]
                .iter()
                .flat_map(|v| [v * (1.0 - 1.4 * s), *v, v * (1.0 + 1.4 * s)])
                .collect();
            sorted.sort_by(f64::total_cmp);
            let at = |q: f64| sorted[((sorted.len() - 1) as f64 * q) as usize];
            let (low, mid, high) = (at(0.05), at(0.5), at(0.95));
            let misread = study
                .singles
                .iter()
                .map(|s| s.fault.misreads)
                .find(|m| *m != Misreads::Nothing);
            let says = match misread {
                Some(Misreads::LeadOpen | Misreads::WrongFunction) => {
                    "next to nothing, whatever is there".into()
                }
                _ if high - low < 0.08 * high => format!("about {}", words::volts(mid)),
                _ => format!(
                    "{} to {}, typically {}",
                    words::volts(low),
                    words::volts(high),
                    words::volts(mid)
                ),
            };
            let look = match (from, to) {
                (Contact::Outlet(a, p), Contact::Outlet(b, q)) if a == b => {
                    format!(
                        "{}, {} to {}",
                        words::outlet(site, *a),
                        words::pin(site, *p),
                        words::pin(site, *q)
                    )
                }
                (a, b) => format!(
                    "{} to {}",
                    words::contact(site, *a),
                    words::contact(site, *b)
                ),
            };
            Expected {
                look,
                says,
                numbers: vec![low, mid, high],
            }
        }
        Look::Lamps(o) => {
            let lit: Vec<f64> = (0..3)
                .map(|k| mean(k, &|v| seeing::lit(v, nominal)))
                .collect();
            let word = |p: f64| match p {
                p if p > 0.8 => "lit".to_owned(),
                p if p < 0.2 => "dark".to_owned(),
                p => format!("lit in {:.0} %", p * 100.0),
            };
            let w = &site.region.words;
            let says = format!(
                "{}-{} {}, {}-{} {}, {}-{} {}",
                w.line,
                w.neutral,
                word(lit[0]),
                w.line,
                w.earth,
                word(lit[1]),
                w.neutral,
                w.earth,
                word(lit[2])
            );
            Expected {
                look: format!("{}, three-lamp tester", words::outlet(site, *o)),
                says,
                numbers: lit,
            }
        }
        Look::Detector(o, p) => {
            let signals = mean(0, &|v| seeing::signals(v, nominal));
            let says = format!("signals in {:.0} %", signals * 100.0);
            let look = format!(
                "{}, detector at {}",
                words::outlet(site, *o),
                words::pin(site, *p)
            );
            Expected {
                look,
                says,
                numbers: vec![signals],
            }
        }
    }
}

/// The ordinary input of a meter class, or of a meter of which nothing is told.
#[must_use]
pub fn input_of(class: Option<&str>) -> metrology::Input {
    class
        .and_then(Meter::class)
        .unwrap_or(Meter::unknown())
        .input()
}
