//! Premises as they are told and as they are.
//!
//! Told: a site document with circuits, outlets and their order, most runs with a length that is a little off, some of
//! the loads. Hidden: what everything really measures. Lengths are gamma distributed, most of the rest is uniform; no
//! figure here is taken from the engine. Receptacles are those that tell line from neutral.

use metrology::{Amps, Celsius, Fraction, Metres, Volts, Watts};
use site::model::{
    Cable, Circuit, CircuitIx, EarthRun, Earthing, Feed, Feeder, Load, LoadKind, Origin, Outlet,
    OutletIx, Panel, PanelIx, Service, Site, Switched,
};
use site::region::{Polarity, Region};

use crate::chance::Chance;
use crate::sim::appliance::{Appliance, Draws};

/// Premises: the told site and the hidden truth.
#[derive(Clone, Debug)]
pub struct Premises {
    /// As told.
    pub site: Site,
    /// As it is.
    pub truth: Truth,
}

/// What everything really measures, SI units.
#[derive(Clone, Debug)]
pub struct Truth {
    /// Nominal line to neutral, volts.
    pub volts: f64,
    /// Service voltage over nominal, leg by leg.
    pub legs: Vec<f64>,
    /// Angular frequency.
    pub omega: f64,
    /// Source impedance of one leg: resistance, reactance.
    pub source: (f64, f64),
    /// One conductor of the service.
    pub drop: f64,
    /// Electrode of the source, of the premises.
    pub electrodes: (f64, f64),
    /// Neutral-earth bond.
    pub bond: f64,
    /// Loads of the rest of the premises, watts, from leg to neutral.
    pub rest: Vec<f64>,
    /// Loads from the first leg to the second, watts.
    pub across: f64,
    /// One conductor of the feeder of each panel.
    pub feeders: Vec<f64>,
    /// Breaker, neutral screw, earth screw of each circuit, and the shared home run where there is one.
    pub starts: Vec<[f64; 3]>,
    /// Runs, one for each outlet.
    pub runs: Vec<Run>,
    /// Contacts of each outlet.
    pub contacts: Vec<[f64; 3]>,
    /// What is plugged in.
    pub appliances: Vec<Appliance>,
}

/// A run as it is.
#[derive(Clone, Copy, Debug)]
pub struct Run {
    /// Length, metres.
    pub metres: f64,
    /// Each conductor with its joints, ohms.
    pub ohms: [f64; 3],
    /// Reactance of a conductor, ohms.
    pub reactance: f64,
    /// Between line-neutral, line-earth, neutral-earth, farads.
    pub farads: [f64; 3],
    /// Of each conductor to the building, farads.
    pub stray: [f64; 3],
    /// Insulation between each two, siemens.
    pub leaks: [f64; 3],
}

/// Ohms of a metre at 20 °C of the cables behind usual breakers: NEC chapter 9 table 8 (14, 12 AWG) and IEC 60228
/// (1.5, 2.5 mm²), rounded.
const METRE: [(f64, &str, f64); 4] = [
    (15.0, "14 AWG copper", 8.3e-3),
    (20.0, "12 AWG copper", 5.2e-3),
    (16.0, "2.5 mm2", 7.4e-3),
    (10.0, "1.5 mm2", 12.1e-3),
];

impl Premises {
    /// Premises at random: three in four North American, the others 230 V.
    #[must_use]
    pub fn draw(chance: &mut Chance) -> Self {
        let american = chance.happens(0.75);
        let n_circuits = 1 + chance.weighted([0.3, 0.4, 0.3].into_iter());
        let n_outlets = (n_circuits + 1).max(3) + chance.below(8 - (n_circuits + 1).max(3) + 1);
        Self::of(
            chance,
            if american { "north-america" } else { "iec-230" },
            n_circuits,
            n_outlets,
        )
    }

    /// Premises in a region with so many circuits and outlets.
    #[must_use]
    pub fn of(chance: &mut Chance, region: &str, n_circuits: usize, n_outlets: usize) -> Self {
        let region = Region::find(region).unwrap_or(&Region::all()[0]);
        let american = region.id != "iec-230";
        let system = match american {
            true => {
                &region.systems[usize::from(chance.happens(0.12)).min(region.systems.len() - 1)]
            }
            false => {
                &region.systems[usize::from(chance.happens(0.35)).min(region.systems.len() - 1)]
            }
        };
        let earthing = if american {
            Earthing::TnCS
        } else {
            *chance.pick(&[Earthing::TnCS, Earthing::TnCS, Earthing::TT, Earthing::TnS])
        };
        let receptacle = region
            .receptacles
            .iter()
            .position(|r| r.polarity == Polarity::Defined && r.earth_contact);
        let mut site = Site {
            name: "simulated".into(),
            region,
            service: Service {
                system,
                earthing,
                frequency: region.frequencies[0],
                fault_current: None,
                drop: None,
                electrode: None,
            },
            panels: vec![Panel {
                id: "main".into(),
                feeder: None,
            }],
            circuits: Vec::new(),
            outlets: Vec::new(),
            loads: Vec::new(),
            machines: Vec::new(),
            origin: Origin::Told,
        };
        let warm = Celsius::from_si(30.0);
        let cable = |text: &str| Cable::read(text, warm).unwrap_or(region.usual.feeder.value);
        let sub_panel = chance.happens(0.15);
        if sub_panel {
            let feeder = Feeder {
                from: PanelIx(0),
                run: None,
                cable: region.usual.feeder.value,
            };
            site.panels.push(Panel {
                id: "sub".into(),
                feeder: Some(feeder),
            });
        }
        let n_legs = system.legs.len();
        let shares = american && n_circuits > 1 && chance.happens(0.3);
        let mut metre = Vec::new();
        for c in 0..n_circuits {
            let size = if american {
                chance.below(2)
            } else {
                2 + usize::from(chance.happens(0.2))
            };
            let (rating, name, ohms) = METRE[size];
            let partner = (shares && c == 1).then_some(CircuitIx(0));
            let leg = if partner.is_some() {
                (site.circuits[0].leg + 1) % n_legs
            } else {
                chance.below(n_legs)
            };
            let panel = if partner.is_some() {
                site.circuits[0].panel
            } else {
                PanelIx(chance.below(site.panels.len()))
            };
            site.circuits.push(Circuit {
                id: format!("C{}", c + 1),
                panel,
                leg,
                second_leg: None,
                shares_neutral_with: partner,
                breaker: Some(Amps::from_si(rating)),
                residual_current: (chance.happens(if american { 0.08 } else { 0.5 })
                    && partner.is_none()
                    && !(shares && c == 0))
                    .then(|| Amps::from_si(if american { 0.005 } else { 0.03 })),
                arc_fault: american && chance.happens(0.15),
                cable: cable(name),
                earth_run: if chance.happens(0.12) {
                    EarthRun::NotKnown
                } else {
                    EarthRun::Yes
                },
            });
            metre.push(ohms * (1.0 + 0.0039 * chance.between(-8.0, 28.0)));
        }
        let mut runs = Vec::new();
        let mut last: Vec<Option<usize>> = vec![None; n_circuits];
        for o in 0..n_outlets {
            let c = if o < n_circuits {
                o
            } else {
                chance.below(n_circuits)
            };
            // Most outlets follow the last one of their circuit, some branch off an earlier one.
            let earlier: Vec<usize> = (0..o)
                .filter(|p| {
                    site.outlets[*p].circuit.0 == c
                        && matches!(site.outlets[*p].feed, Feed::Fixed(_))
                })
                .collect();
            let after = match earlier.is_empty() {
                true => None,
                false if chance.happens(0.85) => last[c]
                    .filter(|p| earlier.contains(p))
                    .or(earlier.last().copied()),
                false => Some(*chance.pick(&earlier)),
            };
            let is_cord = after.is_some() && o >= n_circuits && chance.happens(0.1);
            let metres = match (after, is_cord) {
                (_, true) => chance.between(1.0, 8.0),
                (None, _) => 3.0 + chance.gamma(3, 15.0),
                _ => 1.0 + chance.gamma(2, 5.5),
            };
            let told = chance
                .happens(0.6)
                .then(|| Metres::from_si((metres * chance.between(0.85, 1.15)).round().max(1.0)));
            let cord = if american { "16 AWG copper" } else { "1.5 mm2" };
            site.outlets.push(Outlet {
                id: format!("{}{}", if is_cord { "strip" } else { "outlet" }, o + 1),
                label: format!("outlet {}", o + 1),
                circuit: CircuitIx(c),
                after: after.map(OutletIx),
                run: told,
                feed: if is_cord {
                    Feed::Cord(cable(cord))
                } else {
                    Feed::Fixed(site.circuits[c].cable)
                },
                receptacle: receptacle.unwrap_or(0),
                switched: if chance.happens(0.08) && !is_cord {
                    Switched::Yes
                } else {
                    Switched::No
                },
                residual_current: (american && !is_cord && chance.happens(0.08))
                    .then(|| Amps::from_si(0.005)),
            });
            let per_metre = if is_cord { 13.3e-3 } else { metre[c] };
            runs.push(Run::draw(chance, metres, per_metre));
            if !is_cord {
                last[c] = Some(o);
            }
        }
        let truth = Truth::draw(chance, &mut site, runs);
        Self { site, truth }
    }
}

impl Premises {
    /// The same told site with another hidden truth; its loads are not told.
    #[must_use]
    pub fn redrawn(&self, chance: &mut Chance) -> Self {
        let mut site = self.site.clone();
        let runs = site
            .outlets
            .iter()
            .zip(&self.truth.runs)
            .map(|(outlet, run)| {
                let per_metre = run.ohms.iter().copied().fold(f64::INFINITY, f64::min) / run.metres;
                let metres = match outlet.run {
                    Some(told) => told.si() * chance.between(0.87, 1.17),
                    None => 2.0 + chance.gamma(2, if outlet.after.is_none() { 14.0 } else { 5.5 }),
                };
                Run::draw(chance, metres, per_metre)
            });
        let runs = runs.collect();
        let truth = Truth::draw(chance, &mut site, runs);
        site.loads.clear();
        Self { site, truth }
    }
}

impl Run {
    fn draw(chance: &mut Chance, metres: f64, per_metre: f64) -> Self {
        let mut three = |low: f64, high: f64| [(); 3].map(|()| chance.between(low, high));
        let joints = three(1e-3, 9e-3);
        let farads = three(45e-12, 160e-12);
        let stray = three(4e-12, 50e-12);
        let leaks = three(0.0, 3e-8);
        Self {
            metres,
            ohms: joints.map(|j| j + per_metre * metres),
            reactance: 1.1e-4 * metres,
            farads: farads.map(|c| c * metres),
            stray: stray.map(|c| c * metres),
            leaks,
        }
    }
}

impl Truth {
    fn draw(chance: &mut Chance, site: &mut Site, runs: Vec<Run>) -> Self {
        let american = site.region.id != "iec-230";
        let volts = site.service.system.legs[0].volts.si();
        let n_legs = site.service.system.legs.len();
        // Skewed: most supplies sit a little above nominal, few far below.
        let common = 1.035 - chance.gamma(2, 0.025).min(0.08);
        let scale = volts / 120.0;
        let appliances = furnish(chance, site, volts);
        let tight = |chance: &mut Chance, high: f64| [(); 3].map(|()| chance.between(5e-4, high));
        Self {
            volts,
            legs: (0..n_legs)
                .map(|_| common + chance.between(-0.005, 0.005))
                .collect(),
            omega: std::f64::consts::TAU * site.service.frequency.si(),
            source: (
                scale * chance.between(0.006, 0.045),
                scale * chance.between(0.005, 0.04),
            ),
            drop: chance.between(0.004, 0.05),
            electrodes: (
                chance.between(1.0, 12.0),
                if american {
                    5.0 + chance.gamma(2, 30.0)
                } else {
                    8.0 + chance.gamma(2, 45.0)
                },
            ),
            bond: chance.between(3e-4, 4e-3),
            rest: (0..n_legs).map(|_| chance.gamma(1, 700.0)).collect(),
            across: if chance.happens(0.4) {
                chance.between(300.0, 4000.0)
            } else {
                0.0
            },
            feeders: site
                .panels
                .iter()
                .map(|_| chance.between(0.008, 0.06))
                .collect(),
            starts: site
                .circuits
                .iter()
                .map(|_| {
                    let screws = tight(chance, 3e-3);
                    [chance.between(3e-3, 16e-3), screws[1], screws[2]]
                })
                .collect(),
            contacts: runs.iter().map(|_| tight(chance, 7e-3)).collect(),
            runs,
            appliances,
        }
    }
}

/// Plugs appliances in, keeps each circuit below four fifths of its breaker, and tells some of them.
fn furnish(chance: &mut Chance, site: &mut Site, volts: f64) -> Vec<Appliance> {
    let mut all: Vec<Appliance> = Vec::new();
    for o in 0..site.outlets.len() {
        let n = chance.weighted([0.25, 0.4, 0.2, 0.1, 0.05].into_iter());
        for _ in 0..n {
            let it = Appliance::draw(chance, o, volts);
            let circuit = site.outlets[o].circuit;
            let rating = site.circuits[circuit.0].breaker.map_or(15.0, |a| a.si());
            let here = |a: &&Appliance| site.outlets[a.at].circuit == circuit && a.on;
            let drawn: f64 = all.iter().filter(here).map(|a| a.watts).sum();
            if !it.on || drawn + it.watts < 0.8 * rating * volts {
                all.push(it);
            }
        }
    }
    for (i, it) in all.iter().enumerate() {
        if chance.happens(0.35) {
            site.loads.push(Load {
                id: format!("{} {}", it.kind.name, i + 1),
                at: OutletIx(it.at),
                power: Watts::from_si((it.watts * chance.between(0.75, 1.4)).round().max(1.0)),
                kind: match it.kind.draws {
                    Draws::Electronics(share) => LoadKind::Power {
                        cut_out: Volts::from_si((share * volts).round()),
                    },
                    _ => LoadKind::Impedance,
                },
                power_factor: Fraction::from_si(match it.kind.draws {
                    Draws::Motor(factor) => factor,
                    _ => 1.0,
                }),
                leakage: None,
            });
        }
    }
    all
}
