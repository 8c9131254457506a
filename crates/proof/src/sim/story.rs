//! A visit before the first led check: what is wrong, where it shows, what is told.
//!
//! One visit in four finds nothing wrong, sixty in a hundred one fault, fifteen two. A fault is drawn again where nothing
//! that may be checked at an outlet's face could show it: a difference of 1.5 % of nominal in some plain, loaded or
//! earth-to-earth voltage, or an open device at the panel. Of two faults each must show beside the other at one and the
//! same outlet, where the visit then starts: two troubles far apart are two visits, not one with two faults.

use num_complex::Complex64;
use site::model::OutletIx;
use site::visit::{Pin, Sign, Visit, Whereabouts};

use crate::chance::Chance;
use crate::sim::fault::{At, Fault};
use crate::sim::look::{Check, How, PAIRS, TEST_LOAD, World, observe};
use crate::sim::person::Person;
use crate::sim::premises::Premises;

/// What kind of visit it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
pub enum Sort {
    /// Nothing is wrong.
    Sound,
    /// One fault.
    Single,
    /// Two faults.
    Double,
    /// The installation is sound, the person errs.
    Mistake,
}

/// A visit about to be led.
#[derive(Clone, Debug)]
pub struct Story {
    /// Premises and faults.
    pub world: World,
    /// What kind of visit.
    pub sort: Sort,
    /// The person.
    pub person: Person,
    /// What is told so far.
    pub visit: Visit,
    /// Where it starts.
    pub here: usize,
}

/// Share of nominal from which a difference shows.
const SHOWS: f64 = 0.015;

/// Plain and loaded voltages of the three pairs of every outlet, then earth of every outlet to the soil.
#[must_use]
pub fn faces(world: &World) -> Vec<[f64; 7]> {
    let n = world.premises.site.outlets.len();
    let three = |laid: &crate::sim::lay::Laid, volts: &[Complex64], o: usize| {
        let [l, ne, e] = laid.pins[o];
        [(l, ne), (l, e), (ne, e)].map(|(a, b)| (volts[a] - volts[b]).norm())
    };
    let solve = |laid: &crate::sim::lay::Laid| {
        laid.net
            .volts()
            .unwrap_or_else(|_| vec![Complex64::ZERO; 10_000])
    };
    let plain = world.laid(None);
    let volts = solve(&plain);
    let mut out = vec![[0.0; 7]; n];
    for (o, row) in out.iter_mut().enumerate() {
        row[..3].copy_from_slice(&three(&plain, &volts, o));
        row[6] = volts[plain.pins[o][2]].norm();
        let loaded = world.laid(Some((o, TEST_LOAD)));
        row[3..6].copy_from_slice(&three(&loaded, &solve(&loaded), o));
    }
    out
}

/// Greatest difference of each outlet's face, over nominal.
fn differences(a: &[[f64; 7]], b: &[[f64; 7]], nominal: f64) -> Vec<f64> {
    let row = |(x, y): (&[f64; 7], &[f64; 7])| {
        x.iter()
            .zip(y)
            .map(|(x, y)| (x - y).abs() / nominal)
            .fold(0.0, f64::max)
    };
    a.iter().zip(b).map(row).collect()
}

fn at_the_panel(fault: &Fault) -> bool {
    [
        "breaker-open",
        "arc-device-open",
        "residual-device-open-panel",
    ]
    .contains(&fault.kind)
}

impl World {
    /// How far each outlet's face is from what it would be with fewer faults, over nominal.
    #[must_use]
    pub fn shows(&self, without: &[Fault]) -> Vec<f64> {
        let twin = World {
            premises: self.premises.clone(),
            faults: without.to_vec(),
        };
        differences(&faces(self), &faces(&twin), self.premises.truth.volts)
    }

    /// The outlets where every fault shows beside the others.
    #[must_use]
    pub fn where_all_show(&self) -> Vec<usize> {
        let site = &self.premises.site;
        let mut all: Vec<usize> = (0..site.outlets.len()).collect();
        for i in 0..self.faults.len() {
            let mut others = self.faults.clone();
            let it = others.remove(i);
            let shows = self.shows(&others);
            let dead = others.iter().any(|f| f.kind == "supply-dead");
            let told_by_the_panel = |o: usize| {
                at_the_panel(&it) && it.at.circuit(site) == Some(site.outlets[o].circuit.0)
            };
            all.retain(|o| !dead && (told_by_the_panel(*o) || shows[*o] > SHOWS));
        }
        all
    }
}

/// Signs that a person tells, with their probabilities: this crate's own guesses.
fn tales(kind: &str) -> &'static [(Sign, f64)] {
    match kind {
        k if k.contains("poor") && !k.contains("earth") => &[
            (Sign::Flicker, 0.45),
            (Sign::Dimming, 0.35),
            (Sign::Buzzing, 0.1),
            (Sign::Warm, 0.15),
        ],
        "worn-contacts" => &[
            (Sign::LoosePlug, 0.6),
            (Sign::Warm, 0.2),
            (Sign::Flicker, 0.25),
        ],
        "worn-earth-contact" => &[(Sign::LoosePlug, 0.5)],
        "service-neutral-open" | "shared-neutral-open" | "feeder-neutral-open" => &[
            (Sign::Brightening, 0.55),
            (Sign::Flicker, 0.4),
            (Sign::EquipmentBurnt, 0.3),
        ],
        "wrong-voltage-outlet" | "wrong-voltage-circuit" => {
            &[(Sign::EquipmentBurnt, 0.5), (Sign::AfterWorks, 0.5)]
        }
        "supply-high" => &[(Sign::EquipmentBurnt, 0.2), (Sign::Brightening, 0.15)],
        "supply-low" => &[(Sign::Dimming, 0.4)],
        "circuit-overloaded" => &[(Sign::Dimming, 0.5), (Sign::Warm, 0.2)],
        "switched-outlet-off" | "switched-neutral" => &[(Sign::SwitchMatters, 0.35)],
        "no-earth-run" => &[(Sign::OldWiring, 0.6)],
        k if k.contains("reversed") || k.contains("jumper") || k.contains("live-earth") => {
            &[(Sign::AfterWorks, 0.3)]
        }
        k if k.starts_with("open-") => &[(Sign::Flicker, 0.1), (Sign::AfterWorks, 0.1)],
        _ => &[],
    }
}

impl Story {
    /// The visit of a seed and a number.
    #[must_use]
    pub fn draw(seed: u64, number: u64) -> Self {
        let mut chance = Chance::new(seed, number + 1);
        let sort = [Sort::Sound, Sort::Single, Sort::Double, Sort::Mistake]
            [chance.weighted([0.25, 0.57, 0.15, 0.03].into_iter())];
        Self::of(&mut chance, sort)
    }

    /// A visit of a given sort.
    #[must_use]
    pub fn of(chance: &mut Chance, sort: Sort) -> Self {
        loop {
            let premises = Premises::draw(chance);
            let faults = match sort {
                Sort::Sound => Vec::new(),
                Sort::Single => vec![Fault::draw(chance, &premises.site, false)],
                Sort::Mistake => vec![Fault::draw(chance, &premises.site, true)],
                Sort::Double => {
                    let one = Fault::draw(chance, &premises.site, false);
                    let other = Fault::draw(chance, &premises.site, false);
                    if (one.kind, one.at) == (other.kind, other.at) {
                        continue;
                    }
                    vec![one, other]
                }
            };
            let world = World { premises, faults };
            if sort == Sort::Mistake || !world.where_all_show().is_empty() {
                return Self::begin(chance, world, sort);
            }
        }
    }

    /// The start of a visit to a world: where the trouble shows, one to three readings, what is told.
    #[must_use]
    pub fn begin(chance: &mut Chance, world: World, sort: Sort) -> Self {
        let n = world.premises.site.outlets.len();
        let shows = world.shows(&[]);
        let most = shows.iter().copied().fold(0.0, f64::max);
        let here = match world.faults.first().map(|f| f.at) {
            Some(At::Outlet(o)) if sort == Sort::Mistake => o,
            _ if sort == Sort::Mistake || most < SHOWS => chance.below(n),
            _ => {
                let all = world.where_all_show();
                let most = all.iter().map(|o| shows[*o]).fold(0.0, f64::max);
                let worst: Vec<usize> = all
                    .into_iter()
                    .filter(|o| shows[*o] >= 0.6 * most)
                    .collect();
                if worst.is_empty() {
                    chance.below(n)
                } else {
                    *chance.pick(&worst)
                }
            }
        };
        let omega = world.premises.truth.omega;
        let person = Person::draw(Chance::new((chance.unit() * 1e15) as u64, 7), omega);
        let visit = Visit {
            meters: person.meters(),
            ..site::quick::nothing(&world.premises.site)
        };
        let mut story = Story {
            world,
            sort,
            person,
            visit,
            here,
        };
        story.tell(chance);
        story
    }

    fn tell(&mut self, chance: &mut Chance) {
        let at = Whereabouts::Outlet(OutletIx(self.here));
        let mut first: Vec<Check> = PAIRS
            .map(|(a, b)| Check::Volts(self.here, a, b, How::Plain))
            .to_vec();
        first.push(Check::Lamps(self.here));
        let n = 1 + chance.below(3);
        let mut made = 0;
        while made < n {
            let i = chance.weighted([0.5, 0.2, 0.15, 0.15][..first.len()].iter().copied());
            self.world
                .look(first.remove(i), &mut self.person, &mut self.visit);
            made += 1;
        }
        if chance.happens(0.4) {
            let pair = (Pin::Line, Pin::Neutral);
            let volts = self
                .world
                .volts(self.here, pair, None, Complex64::from(1e-3));
            let share = volts / self.world.premises.truth.volts;
            if !(0.4..0.85).contains(&share) {
                observe(
                    &mut self.visit,
                    at,
                    if share > 0.5 { Sign::Works } else { Sign::Dead },
                );
            }
        }
        for fault in self.world.faults.clone() {
            for (sign, probability) in tales(fault.kind) {
                if chance.happens(*probability) {
                    observe(&mut self.visit, at, *sign);
                }
            }
        }
        if self.sort == Sort::Sound && chance.happens(0.25) {
            let innocent = [
                Sign::Flicker,
                Sign::AfterWorks,
                Sign::AfterStorm,
                Sign::Dimming,
                Sign::OldWiring,
            ];
            observe(&mut self.visit, at, *chance.pick(&innocent));
        }
    }
}
