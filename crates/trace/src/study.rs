//! A question made ready: the network, what was witnessed under which condition, and which causes are weighed.

use chain::alter::Spots;
use chain::element::Element;
use chain::wiring::Wiring;
use site::model::{CircuitIx, Origin, OutletIx, PanelIx, Site};
use site::region::Polarity;
use site::visit::{
    Bar, Condition, Contact, Input, Lamp, Observation, Pin, Reach, Reading, Sign, Signals, Skill,
    Told as ToldValue, Tone, Visit, Whereabouts,
};

use crate::causes::{self, Single, misread_pin};
use crate::checks::Check;
use crate::engine::Further;
use crate::fault::{Kind, Misreads};
use crate::likelihood::Readings;
use crate::seeing::{self, ProbeList, Seeing};
use crate::told;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// The site.
    pub site: &'a Site,
    /// Readings and observations.
    pub visit: &'a Visit,
    /// What the person may do.
    pub skill: Skill,
    /// Seed of all sampling: the same question and seed give the same answer.
    pub seed: u64,
}

/// One reading or observation, ready to be compared.
#[derive(Clone, Debug)]
pub(crate) struct Witness {
    /// Identifier of the reading or observation.
    pub id: String,
    /// Number of its condition.
    pub condition: usize,
    /// How it is seen in the network.
    pub seeing: Seeing,
    /// What it is held against.
    pub claim: Claim,
    /// Outlet it was made at, if at one.
    pub outlet: Option<OutletIx>,
    /// The pins, for a voltage at one outlet.
    pub pins: Option<(Pin, Pin)>,
}

/// What was told.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Claim {
    /// A voltage, by its number in `Readings`.
    Volts(usize),
    /// Lamps line-neutral, line-earth, neutral-earth.
    Lamps([site::visit::Lamp; 3]),
    /// Detector.
    Detector(site::visit::Signals),
    /// Works or not.
    Works(bool),
    /// Felt.
    Felt,
    /// A protector or a UPS says that the wiring is wrong.
    FaultLight,
    /// A cable between machines at two outlets sparked or got hot.
    CableSparks,
    /// A frequency: hertz and its standard deviation.
    Frequency(f64, f64),
    /// A sign whose probability each fault states.
    Sign(Kind, Whereabouts),
    /// How far the trouble reaches.
    Reach(Reach),
    /// The breaker of a circuit is closed.
    BreakerClosed(Whereabouts),
    /// The switch that feeds an outlet is on, or there is none.
    SwitchOn(Whereabouts),
}

/// Everything that does not change while causes are weighed.
pub(crate) struct Study<'a> {
    pub question: Question<'a>,
    /// The whole visit, of which the question's may be one circuit's part: what was checked anywhere is checked.
    pub whole: &'a Visit,
    pub wiring: Wiring<'a>,
    pub spots: Spots,
    pub conditions: Vec<Condition>,
    pub probes: Vec<ProbeList>,
    /// How many pairs and mutual impedances of each list the witnesses need, by themselves.
    pub n_plain: Vec<(usize, usize)>,
    /// The same with those of mistakes of measuring; the rest is for looking ahead.
    pub n_probes: Vec<(usize, usize)>,
    pub witnesses: Vec<Witness>,
    pub readings: Readings,
    pub singles: Vec<Single>,
    /// For each misreading single: the seeing of each witness, where it differs.
    pub misread: Vec<Vec<(usize, Seeing)>>,
    pub nominal: f64,
    pub remarks: Vec<String>,
    /// Outlets whose first two contacts are named the other way round, where that is as good.
    pub turned: Vec<OutletIx>,
    /// Checks that could be made, and how each would be seen.
    pub checks: Vec<Check>,
    pub further: Vec<Further>,
}

impl<'a> Study<'a> {
    pub fn of(question: Question<'a>, whole: &'a Visit) -> Self {
        let (site, visit) = (question.site, question.visit);
        let mut study = Study::open(question, &circuits_of(site, visit));
        study.whole = whole;
        let mut ranges = Vec::new();
        for reading in standing(visit) {
            study.reading(reading, &mut ranges);
        }
        for observation in &visit.observations {
            study.observation(observation);
        }
        study.n_plain = counts(&study.probes);
        study.register_misreadings();
        study.n_probes = counts(&study.probes);
        (study.checks, study.further) = study.possible_checks();
        let looked_at = study.circuits_looked_at();
        study.singles = causes::singles(&study.wiring, &study.conditions, &mut study.spots);
        study
            .singles
            .retain(|s| s.at.circuit(site).is_none_or(|c| looked_at.contains(&c)));
        study.misread = (0..study.singles.len())
            .map(|i| study.misreadings(i))
            .collect();
        study
    }

    /// A study of these circuits, with nothing witnessed and no cause weighed yet.
    pub fn open(question: Question<'a>, circuits: &[CircuitIx]) -> Self {
        let site = question.site;
        let mut study = Study {
            question,
            whole: question.visit,
            wiring: Wiring::of(site, circuits),
            spots: Spots::default(),
            conditions: Vec::new(),
            probes: Vec::new(),
            n_plain: Vec::new(),
            n_probes: Vec::new(),
            witnesses: Vec::new(),
            readings: Readings {
                told: Vec::new(),
                service: chain::guess::SERVICE_VOLTS,
            },
            singles: Vec::new(),
            misread: Vec::new(),
            nominal: site
                .service
                .system
                .legs
                .first()
                .map_or(120.0, |l| l.volts.si()),
            remarks: Vec::new(),
            turned: turned(question),
            checks: Vec::new(),
            further: Vec::new(),
        };
        study.condition(&Condition::default());
        study
    }

    /// The number of a condition.
    pub fn condition(&mut self, condition: &Condition) -> usize {
        let same = |c: &Condition| {
            c.loads == condition.loads
                && c.named == condition.named
                && c.test_load == condition.test_load
                && c.switches == condition.switches
                && c.breakers == condition.breakers
        };
        self.conditions.iter().position(same).unwrap_or_else(|| {
            self.conditions.push(condition.clone());
            self.probes.push(ProbeList::default());
            self.conditions.len() - 1
        })
    }

    /// The contact as it is met: a receptacle that takes the plug either way round names its first two contacts as one
    /// pleases, and what is nearer to the line is taken as line.
    pub fn as_met(&self, contact: Contact) -> Contact {
        match contact {
            Contact::Outlet(o, pin) if self.turned.contains(&o) => Contact::Outlet(
                o,
                match pin {
                    Pin::Line => Pin::Neutral,
                    Pin::Neutral => Pin::Line,
                    Pin::Earth => Pin::Earth,
                },
            ),
            other => other,
        }
    }

    /// Whether a voltage is more than any pair of the system has.
    pub fn is_beyond(&self, reading: &Reading) -> bool {
        let highest = told::highest(self.question.site.service.system);
        matches!(&reading.value, ToldValue::Volts(v) if v.value.si().abs() > highest)
    }

    /// Whether it is so, and the same two contacts were not read again as something that can be.
    pub fn is_impossible(&self, reading: &Reading) -> bool {
        let pair = |r: &Reading| (r.from, r.to);
        let mut others = standing(self.whole).filter(|r| pair(r) == pair(reading));
        self.is_beyond(reading) && others.all(|r| self.is_beyond(r))
    }

    fn reading(&mut self, reading: &Reading, ranges: &mut Vec<told::Shared>) {
        let meter = reading
            .meter
            .and_then(|m| self.question.visit.meters.get(m))
            .map(|m| &m.meter);
        match &reading.value {
            ToldValue::Volts(stated) => {
                let condition = self.condition(&reading.condition);
                let (Some(from), Some(to)) = (
                    self.wiring.contact(self.as_met(reading.from)),
                    self.wiring.contact(self.as_met(reading.to)),
                ) else {
                    self.remarks.push(format!(
                        "{}: nothing is known of one of its contacts; left out",
                        reading.id
                    ));
                    return;
                };
                if stated.value.si() < 0.0 {
                    self.remarks.push(format!(
                        "{}: an alternating voltage cannot be negative; its size was taken. Was the meter on d.c.?",
                        reading.id
                    ));
                }
                let (mut told, y) = told::volts(
                    stated,
                    meter,
                    reading.input == Input::LowImpedance,
                    across_line(reading),
                    reading.meter.unwrap_or(0),
                    self.nominal,
                    self.wiring.omega,
                    ranges,
                );
                if self.is_impossible(reading) {
                    told.ln_slip = told::NO_SLIP;
                }
                let probe = self.probes[condition].across(from, to);
                let (outlet, pins) = match (reading.from, reading.to) {
                    (Contact::Outlet(a, p), Contact::Outlet(b, q)) if a == b => {
                        (Some(a), Some((p, q)))
                    }
                    (Contact::Outlet(a, _), _) | (_, Contact::Outlet(a, _)) => (Some(a), None),
                    _ => (None, None),
                };
                self.readings.told.push(told);
                self.witnesses.push(Witness {
                    id: reading.id.clone(),
                    condition,
                    seeing: Seeing::Volts { probe, y },
                    claim: Claim::Volts(self.readings.told.len() - 1),
                    outlet,
                    pins,
                });
            }
            ToldValue::Hertz(stated) => {
                let sigma = (stated.half_width.si() / 3f64.sqrt()).max(0.1);
                self.witnesses.push(Witness {
                    id: reading.id.clone(),
                    condition: 0,
                    seeing: Seeing::Told,
                    claim: Claim::Frequency(stated.value.si(), sigma),
                    outlet: None,
                    pins: None,
                });
            }
            ToldValue::Amps(_) | ToldValue::Ohms(_) => {
                self.remarks.push(format!(
                    "{}: kept in the record; a current or a resistance is not weighed",
                    reading.id
                ));
            }
        }
    }

    fn observation(&mut self, it: &Observation) {
        if let Sign::NotUnderstood(tone) = it.what {
            self.remarks.push(not_understood(it, tone));
            return;
        }
        let condition = self.condition(&it.condition);
        let outlet = match it.at {
            Whereabouts::Outlet(o) => Some(o),
            _ => None,
        };
        let node =
            |pin| outlet.and_then(|o| self.wiring.contact(self.as_met(Contact::Outlet(o, pin))));
        let (l, n, mut e) = (node(Pin::Line), node(Pin::Neutral), node(Pin::Earth));
        if outlet.is_none() && it.what == Sign::Shock {
            // metal of the premises hangs on the earth of the panel
            e = self.wiring.contact(Contact::Panel(PanelIx(0), Bar::Earth));
        }
        let probes = &mut self.probes[condition];
        let placed = match (it.what, l, n, e) {
            (
                Sign::Lamps {
                    line_neutral,
                    line_earth,
                    neutral_earth,
                },
                Some(l),
                Some(n),
                Some(e),
            ) => {
                let seeing = lamps(probes, l, n, e, self.nominal);
                Some((
                    seeing,
                    Claim::Lamps([line_neutral, line_earth, neutral_earth]),
                ))
            }
            (Sign::FaultLight, Some(l), Some(n), Some(e)) => {
                Some((lamps(probes, l, n, e, self.nominal), Claim::FaultLight))
            }
            (Sign::Detector { pin, signals }, Some(l), Some(n), Some(e)) => {
                let node = match pin {
                    Pin::Line => l,
                    Pin::Neutral => n,
                    Pin::Earth => e,
                };
                let probe = probes.probe(node, network::NodeIx::DATUM);
                Some((Seeing::Detector { probe }, Claim::Detector(signals)))
            }
            (Sign::Dead, Some(l), Some(n), _) => {
                Some((powered(probes, l, n, self.nominal), Claim::Works(false)))
            }
            (Sign::Works, Some(l), Some(n), _) => {
                Some((powered(probes, l, n, self.nominal), Claim::Works(true)))
            }
            (Sign::CableSparks, _, _, Some(e)) => self.earth_elsewhere(outlet).map(|other| {
                let ohms = seeing::SCREEN_OHMS;
                let probe = self.probes[condition].probe(e, other);
                (Seeing::Touch { probe, ohms }, Claim::CableSparks)
            }),
            (Sign::Shock, _, _, Some(e)) => {
                let probe = probes.probe(e, network::NodeIx::DATUM);
                Some((
                    Seeing::Touch {
                        probe,
                        ohms: 3000.0,
                    },
                    Claim::Felt,
                ))
            }
            (Sign::BreakerClosed, ..) => Some((Seeing::Told, Claim::BreakerClosed(it.at))),
            (Sign::SwitchOn, ..) => Some((Seeing::Told, Claim::SwitchOn(it.at))),
            (Sign::Scope(reach), ..) => Some((Seeing::Told, Claim::Reach(reach))),
            (other, ..) => kind(other).map(|k| (Seeing::Told, Claim::Sign(k, it.at))),
        };
        match placed {
            Some((seeing, claim)) => {
                self.witnesses.push(Witness {
                    id: it.id.clone(),
                    condition,
                    seeing,
                    claim,
                    outlet,
                    pins: None,
                });
            }
            None => self.remarks.push(format!(
                "{}: cannot be weighed without an outlet; kept in the record",
                it.id
            )),
        }
    }

    /// The earth contact of an outlet of another circuit, else of another outlet.
    fn earth_elsewhere(&self, here: Option<OutletIx>) -> Option<network::NodeIx> {
        let site = self.question.site;
        let here = here?;
        let others = || self.wiring.outlets.iter().filter(|o| **o != here);
        let apart = |o: &&OutletIx| site.outlets[o.0].circuit != site.outlets[here.0].circuit;
        let other = others().find(apart).or_else(|| others().next())?;
        self.wiring.contact(Contact::Outlet(*other, Pin::Earth))
    }

    /// Circuits with anything witnessed, and those that share a neutral with them; faults of others are not in question.
    pub fn circuits_looked_at(&self) -> Vec<CircuitIx> {
        let site = self.question.site;
        let mut out: Vec<CircuitIx> = self.wiring.circuits.clone();
        let on = |c: CircuitIx| {
            let at = |o: OutletIx| site.outlets[o.0].circuit == c;
            standing(self.question.visit)
                .flat_map(|r| [r.from, r.to])
                .any(|x| matches!(x, Contact::Outlet(o, _) if at(o)))
                || self
                    .question
                    .visit
                    .observations
                    .iter()
                    .any(|it| match it.at {
                        Whereabouts::Outlet(o) => at(o),
                        Whereabouts::Circuit(w) => w == c,
                        _ => false,
                    })
        };
        let direct: Vec<CircuitIx> = out.iter().copied().filter(|c| on(*c)).collect();
        if direct.is_empty() {
            return out;
        }
        let shares = |c: &CircuitIx| {
            direct.iter().any(|d| {
                site.circuits[c.0].shares_neutral_with == Some(*d)
                    || site.circuits[d.0].shares_neutral_with == Some(*c)
            })
        };
        out.retain(|c| direct.contains(c) || shares(c));
        out
    }

    /// Lists the pairs that a reading may have been taken across if its contacts were named wrongly.
    fn register_misreadings(&mut self) {
        for i in 0..self.witnesses.len() {
            let w = &self.witnesses[i];
            let (Some(o), Some(_)) = (w.outlet, w.pins) else {
                continue;
            };
            let node = |pin| self.wiring.contact(self.as_met(Contact::Outlet(o, pin)));
            let condition = w.condition;
            if let (Some(l), Some(n), Some(e)) =
                (node(Pin::Line), node(Pin::Neutral), node(Pin::Earth))
            {
                for (a, b) in [(l, n), (l, e), (n, e)] {
                    self.probes[condition].across(a, b);
                }
            }
        }
    }

    /// How each witness is seen under a misreading, where that differs.
    fn misreadings(&mut self, single: usize) -> Vec<(usize, Seeing)> {
        let (fault, at) = (self.singles[single].fault, self.singles[single].at);
        let (Misreads::NamesExchanged(..), Element::Outlet(o)) = (fault.misreads, at) else {
            return Vec::new();
        };
        let mut out = Vec::new();
        for (i, w) in self.witnesses.iter().enumerate() {
            if w.outlet != Some(o) {
                continue;
            }
            let (Some((p, q)), Seeing::Volts { y, .. }) = (w.pins, &w.seeing) else {
                continue;
            };
            let node = |pin| {
                self.wiring
                    .contact(self.as_met(Contact::Outlet(o, misread_pin(fault, pin))))
            };
            if let (Some(a), Some(b)) = (node(p), node(q)) {
                let probe = self.probes[w.condition].across(a, b);
                out.push((i, Seeing::Volts { probe, y: *y }));
            }
        }
        out
    }
}

/// Says which words count for nothing, and for harm what would let them count.
fn not_understood(it: &Observation, tone: Tone) -> String {
    let words = it.condition.remark.as_deref().unwrap_or(&it.id);
    match tone {
        Tone::Plain => format!("\"{words}\" is not understood and was not weighed."),
        Tone::Harm => format!(
            "\"{words}\" is not understood and speaks of harm: keep it out of use, and read the three pairs of contacts there, or say it in other words."
        ),
    }
}

/// Outlets of undefined polarity at which what is called line reads as the neutral does.
fn turned(question: Question<'_>) -> Vec<OutletIx> {
    let (site, visit) = (question.site, question.visit);
    let half = 0.5
        * site
            .service
            .system
            .legs
            .first()
            .map_or(120.0, |l| l.volts.si());
    let undefined = |o: &OutletIx| {
        let shape = site.region.receptacles.get(site.outlets[o.0].receptacle);
        shape.is_some_and(|r| r.polarity == Polarity::Undefined)
    };
    let votes = |o: OutletIx| {
        let read = standing(visit).map(|r| match (r.from, r.to, &r.value) {
            (Contact::Outlet(a, p), Contact::Outlet(b, q), ToldValue::Volts(v))
                if a == o && b == o =>
            {
                let high = v.value.si().abs() > half;
                match (p, q) {
                    (Pin::Line, Pin::Earth) | (Pin::Earth, Pin::Line) => {
                        if high {
                            -1
                        } else {
                            1
                        }
                    }
                    (Pin::Neutral, Pin::Earth) | (Pin::Earth, Pin::Neutral) => {
                        if high {
                            1
                        } else {
                            -1
                        }
                    }
                    _ => 0,
                }
            }
            _ => 0,
        });
        let seen = visit
            .observations
            .iter()
            .filter(|it| it.at == Whereabouts::Outlet(o))
            .map(|it| match it.what {
                Sign::Lamps {
                    line_earth,
                    neutral_earth,
                    ..
                } => i32::from(neutral_earth == Lamp::Lit) - i32::from(line_earth == Lamp::Lit),
                Sign::Detector {
                    pin: Pin::Line,
                    signals,
                } => {
                    if signals == Signals::Yes {
                        -1
                    } else {
                        1
                    }
                }
                Sign::Detector {
                    pin: Pin::Neutral,
                    signals,
                } => {
                    if signals == Signals::Yes {
                        1
                    } else {
                        -1
                    }
                }
                _ => 0,
            });
        read.chain(seen).sum::<i32>()
    };
    (0..site.outlets.len())
        .map(OutletIx)
        .filter(undefined)
        .filter(|o| votes(*o) > 0)
        .collect()
}

fn counts(probes: &[ProbeList]) -> Vec<(usize, usize)> {
    probes.iter().map(ProbeList::counts).collect()
}

/// Whether a reading is from line to neutral of one outlet.
fn across_line(r: &Reading) -> bool {
    match (r.from, r.to) {
        (Contact::Outlet(a, p), Contact::Outlet(b, q)) => {
            a == b && p != Pin::Earth && q != Pin::Earth
        }
        _ => false,
    }
}

/// The readings that stand: those that no later one corrects.
pub(crate) fn standing(visit: &Visit) -> impl Iterator<Item = &Reading> {
    let corrected: std::collections::HashSet<usize> = visit
        .readings
        .iter()
        .filter_map(|it| Some(it.corrects?.0))
        .collect();
    let all = visit.readings.iter().enumerate();
    all.filter_map(move |(i, r)| (!corrected.contains(&i)).then_some(r))
}

pub(crate) fn lamps(
    probes: &mut ProbeList,
    l: network::NodeIx,
    n: network::NodeIx,
    e: network::NodeIx,
    nominal: f64,
) -> Seeing {
    let (line_earth, neutral_earth) = (probes.probe(l, e), probes.probe(n, e));
    let mutual = probes.mutual(line_earth, neutral_earth);
    Seeing::Lamps {
        line_earth,
        neutral_earth,
        mutual,
        y: 120.0 / nominal / seeing::LAMP_OHMS,
    }
}

pub(crate) fn powered(
    probes: &mut ProbeList,
    l: network::NodeIx,
    n: network::NodeIx,
    nominal: f64,
) -> Seeing {
    // Something of 40 W.
    Seeing::Powered {
        probe: probes.probe(l, n),
        y: 40.0 / (nominal * nominal),
    }
}

fn kind(sign: Sign) -> Option<Kind> {
    Some(match sign {
        Sign::BreakerTripped => Kind::BreakerTripped,
        Sign::ResidualTripped => Kind::ResidualTripped,
        Sign::ArcTripped => Kind::ArcTripped,
        Sign::Buzzing => Kind::Buzzing,
        Sign::Warm => Kind::Warm,
        Sign::Burnt => Kind::Burnt,
        Sign::Flicker => Kind::Flicker,
        Sign::Brightening => Kind::Brightening,
        Sign::Dimming => Kind::Dimming,
        Sign::LoosePlug => Kind::LoosePlug,
        Sign::EquipmentBurnt => Kind::EquipmentBurnt,
        Sign::Wet => Kind::Wet,
        Sign::AfterWorks => Kind::AfterWorks,
        Sign::AfterStorm => Kind::AfterStorm,
        Sign::SwitchMatters => Kind::SwitchMatters,
        Sign::SwitchOff => Kind::SwitchOff,
        Sign::OldWiring => Kind::OldWiring,
        Sign::NeutralBroken => Kind::NeutralBroken,
        Sign::EarthMissing => Kind::EarthMissing,
        _ => return None,
    })
}

/// The circuits worth following outlet by outlet: those with anything told, and one or two beside them to compare with.
fn circuits_of(site: &Site, visit: &Visit) -> Vec<CircuitIx> {
    if site.origin == Origin::Assumed || site.circuits.len() <= 3 {
        return (0..site.circuits.len()).map(CircuitIx).collect();
    }
    let mut wanted = vec![false; site.circuits.len()];
    let circuit_of = |o: OutletIx| site.outlets[o.0].circuit.0;
    for r in standing(visit) {
        for contact in [r.from, r.to] {
            if let Contact::Outlet(o, _) = contact {
                wanted[circuit_of(o)] = true;
            }
        }
    }
    for o in &visit.observations {
        match o.at {
            Whereabouts::Outlet(o) => wanted[circuit_of(o)] = true,
            Whereabouts::Circuit(c) => wanted[c.0] = true,
            _ => {}
        }
    }
    if !wanted.iter().any(|w| *w) {
        wanted[0] = true;
    }
    let told: Vec<usize> = (0..wanted.len()).filter(|i| wanted[*i]).collect();
    let same_leg = |i: &usize, j: usize| site.circuits[*i].leg == site.circuits[j].leg;
    for other_leg in [false, true] {
        let beside = (0..wanted.len()).find(|j| {
            !wanted[*j]
                && site.outlets.iter().any(|o| o.circuit.0 == *j)
                && told.iter().all(|i| same_leg(i, *j)) != other_leg
        });
        if told.len() < 3
            && let Some(j) = beside
        {
            wanted[j] = true;
        }
    }
    (0..wanted.len())
        .filter(|i| wanted[*i])
        .map(CircuitIx)
        .collect()
}
