//! A case as an assumed site and a visit, by one list of words for all cases.
//!
//! Every place that has a reading between two named contacts or a lamp pattern becomes an outlet, in the order told;
//! places called panel or board are read at the panel. Numbers keep the width that people give them: a value without
//! decimals is rounded, `min` and `max` are a range, `max` alone is `up to`. Sentences are searched for words; one that
//! denies (`not`, `no`, `without` shortly before the word) says nothing.

use metrology::{Hertz, Stated, Volts};
use site::model::{OutletIx, PanelIx, Site};
use site::region::Region;
use site::visit::{
    Bar, Condition, Contact, Input, Lamp, LoadScope, LoadsAt, Observation, Pin, Reach, Reading,
    Running, Sign, Signals, Skill, Told, Visit, Whereabouts,
};

use crate::field::case::{Case, Lamps};

/// A case ready to be asked.
#[derive(Clone, Debug)]
pub struct Asked {
    /// The site assumed around its places.
    pub site: Site,
    /// What was told.
    pub visit: Visit,
}

/// Words and the sign that each is.
const SIGNS: [(&[&str], Sign); 15] = [
    (&["flicker", "flash", "strobe", "blink"], Sign::Flicker),
    (&["brighter", "very bright", "brighten"], Sign::Brightening),
    (&["dim ", "dimmer", "dimming", "went dim"], Sign::Dimming),
    (
        &[
            "destroyed",
            "burned out",
            "burnt out",
            "fizzle",
            "appliances fail",
            "supplies failed",
            "equipment burned",
            "all damage",
            "lamps failed",
            "damaged",
            "failed again",
        ],
        Sign::EquipmentBurnt,
    ),
    (
        &[
            "scorch", "melted", "glowing", "smelled", "smell", "charred", "smoke", "fire", "arcing",
        ],
        Sign::Burnt,
    ),
    (
        &["shock", "tingl", "feels alternating current"],
        Sign::Shock,
    ),
    (&["buzz", "crackl", "sizzl"], Sign::Buzzing),
    (&["warm", "overheat"], Sign::Warm),
    (&["loosely", "falls out", "worn"], Sign::LoosePlug),
    (&["storm", "lightning", "outage"], Sign::AfterStorm),
    (
        &[
            "newly",
            "was changed",
            "replaced",
            "rewired",
            "renovat",
            "works",
            "handyman",
            "installer",
        ],
        Sign::AfterWorks,
    ),
    (
        &["two-wire", "old building", "older home", "two-slot"],
        Sign::OldWiring,
    ),
    (&["breaker trips", "breaker tripped"], Sign::BreakerTripped),
    (&["damp", "wet ", "rain"], Sign::Wet),
    (
        &["does not work", "is dead", "are dead", "went dead"],
        Sign::Dead,
    ),
];

/// Words and how far the trouble reaches.
const REACHES: [(&[&str], Reach); 4] = [
    (
        &[
            "neighbour",
            "houses",
            "street",
            "two transformers",
            "other transformer",
        ],
        Reach::Street,
    ),
    (
        &[
            "every outlet",
            "all outlets",
            "whole house",
            "all over the house",
            "another on",
            "in one room",
        ],
        Reach::House,
    ),
    (&["one floor"], Reach::Floor),
    (
        &[
            "outlet only",
            "this outlet",
            "other outlets",
            "at one outlet",
        ],
        Reach::Outlet,
    ),
];

/// Printed legends of three-lamp testers and the lamps that they stand for: line-neutral, line-earth, neutral-earth.
const LEGENDS: [(&str, [bool; 3]); 5] = [
    ("open ground", [true, false, false]),
    ("open neutral", [false, true, false]),
    ("hot/neutral reversed", [true, false, true]),
    ("hot/ground reversed", [false, true, true]),
    ("open hot", [false, false, false]),
];

fn says(sentence: &str, words: &[&str]) -> bool {
    words.iter().any(|word| {
        sentence.find(word).is_some_and(|at| {
            let before: String = sentence[..at]
                .chars()
                .rev()
                .take(16)
                .collect::<String>()
                .chars()
                .rev()
                .collect();
            ![" no ", " not ", "without "]
                .iter()
                .any(|deny| format!(" {before}").contains(deny))
        })
    })
}

fn id_of(place: &str) -> String {
    place.to_lowercase().replace([':', '@'], " ")
}

fn is_panel(place: &str) -> bool {
    ["panel", "board"]
        .iter()
        .any(|w| place.to_lowercase().contains(w))
}

fn region_of(case: &Case) -> &'static Region {
    let id = match case.region.as_str() {
        "japan-100" => "japan",
        "iec-230" => "iec-230",
        _ => "north-america",
    };
    Region::find(id).unwrap_or(&Region::all()[0])
}

impl Asked {
    /// The case as a question.
    #[must_use]
    pub fn of(case: &Case) -> Self {
        let with_contacts = case
            .readings
            .iter()
            .filter(|r| r.between.is_some())
            .map(|r| r.place.as_str());
        let mut places: Vec<String> = Vec::new();
        for place in with_contacts.chain(case.lamps.iter().map(|l| l.place.as_str())) {
            if !is_panel(place) && !places.contains(&id_of(place)) {
                places.push(id_of(place));
            }
        }
        let names: Vec<&str> = places.iter().map(String::as_str).collect();
        let site = Site::assumed(region_of(case), &names);
        let visit = Visit {
            site: case.id.clone(),
            date: None,
            skill: Skill::Technician,
            meters: Vec::new(),
            readings: Vec::new(),
            observations: Vec::new(),
            cannot: Vec::new(),
        };
        let mut asked = Self { site, visit };
        asked.read(case);
        for lamps in &case.lamps {
            asked.lamps(lamps);
        }
        let here = match (
            places.first(),
            asked
                .site
                .outlet(names.first().copied().unwrap_or("outlet")),
        ) {
            (_, Some(o)) if !is_above(case) => Whereabouts::Outlet(o),
            _ => Whereabouts::Site,
        };
        for sentence in case.observations.iter().map(|s| s.to_lowercase()) {
            asked.sentence(&sentence, here);
        }
        asked
    }

    fn read(&mut self, case: &Case) {
        for told in &case.readings {
            let condition = self.condition(told.condition.as_deref());
            let at = if is_panel(&told.place) {
                None
            } else {
                self.site.outlet(&id_of(&told.place))
            };
            let contact = |role: &str| match (role, at) {
                ("line", Some(o)) => Some(Contact::Outlet(o, Pin::Line)),
                ("neutral", Some(o)) => Some(Contact::Outlet(o, Pin::Neutral)),
                ("earth", Some(o)) => Some(Contact::Outlet(o, Pin::Earth)),
                ("line" | "line-1", None) => Some(Contact::Panel(PanelIx(0), Bar::Leg(0))),
                ("line-2", None) => Some(Contact::Panel(PanelIx(0), Bar::Leg(1))),
                ("neutral", None) => Some(Contact::Panel(PanelIx(0), Bar::Neutral)),
                ("earth", None) => Some(Contact::Panel(PanelIx(0), Bar::Earth)),
                _ => None,
            };
            let text = match (told.value, told.min, told.max) {
                (Some(v), ..) if told.approximate => format!("about {v} {}", told.unit),
                (Some(v), ..) => format!("{v} {}", told.unit),
                (None, Some(low), Some(high)) => format!("{low}..{high} {}", told.unit),
                (None, None, Some(high)) => format!("up to {high} {}", told.unit),
                (None, Some(low), None) => format!("over {low} {}", told.unit),
                _ => continue,
            };
            let ends = match (&told.between, told.unit.as_str()) {
                (Some([a, b]), "V") => contact(a).zip(contact(b)),
                (_, "Hz") => {
                    let o = OutletIx(1);
                    Some((
                        Contact::Outlet(o, Pin::Line),
                        Contact::Outlet(o, Pin::Neutral),
                    ))
                }
                _ => None,
            };
            let value = match told.unit.as_str() {
                "V" => text.parse::<Stated<Volts>>().ok().map(Told::Volts),
                "Hz" => text.parse::<Stated<Hertz>>().ok().map(Told::Hertz),
                _ => None,
            };
            if let (Some((from, to)), Some(value)) = (ends, value) {
                self.visit.readings.push(Reading {
                    id: format!("r{}", self.visit.readings.len() + 1),
                    from,
                    to,
                    value,
                    meter: None,
                    input: Input::NotTold,
                    condition,
                    corrects: None,
                });
            }
        }
    }

    fn condition(&self, words: Option<&str>) -> Condition {
        let text = words.unwrap_or("").to_lowercase();
        let state = if ["no load", "unloaded", "nothing plugged", "unplugged"]
            .iter()
            .any(|w| text.contains(w))
        {
            Some(Running::Unplugged)
        } else if ["running", "under load", "switched-on load", "loads on"]
            .iter()
            .any(|w| text.contains(w))
        {
            Some(Running::On)
        } else {
            None
        };
        let loads = state
            .map(|state| LoadsAt {
                scope: LoadScope::Site,
                state,
            })
            .into_iter()
            .collect();
        Condition {
            loads,
            ..Condition::default()
        }
    }

    fn lamps(&mut self, lamps: &Lamps) {
        let Some(o) = self.site.outlet(&id_of(&lamps.place)) else {
            return;
        };
        let lamp = |pair: &str| {
            if lamps.lit.iter().any(|l| l == pair) {
                Lamp::Lit
            } else {
                Lamp::Dark
            }
        };
        let what = Sign::Lamps {
            line_neutral: lamp("line-neutral"),
            line_earth: lamp("line-earth"),
            neutral_earth: lamp("neutral-earth"),
        };
        let condition = self.condition(lamps.condition.as_deref());
        self.observe(Whereabouts::Outlet(o), what, condition);
    }

    fn sentence(&mut self, sentence: &str, here: Whereabouts) {
        for (words, sign) in SIGNS {
            if says(sentence, words) {
                self.observe(here, sign, Condition::default());
            }
        }
        if let Some((_, reach)) = REACHES.iter().find(|(words, _)| says(sentence, words)) {
            self.observe(here, Sign::Scope(*reach), Condition::default());
        }
        let outlet = OutletIx(1);
        if sentence.contains("tester")
            && let Some((_, lit)) = LEGENDS.iter().find(|(legend, _)| says(sentence, &[legend]))
        {
            let lamp = |on: bool| if on { Lamp::Lit } else { Lamp::Dark };
            let what = Sign::Lamps {
                line_neutral: lamp(lit[0]),
                line_earth: lamp(lit[1]),
                neutral_earth: lamp(lit[2]),
            };
            self.observe(Whereabouts::Outlet(outlet), what, Condition::default());
        }
        if sentence.contains("detector") {
            let slots = [
                (Pin::Neutral, ["longer slot", "neutral slot"]),
                (Pin::Line, ["shorter slot", "hot slot"]),
                (Pin::Earth, ["ground slot", "ground hole"]),
            ];
            let first = slots
                .iter()
                .filter_map(|(pin, words)| {
                    words
                        .iter()
                        .filter_map(|w| sentence.find(w))
                        .min()
                        .map(|at| (at, *pin))
                })
                .min();
            if let Some((_, pin)) = first {
                let what = Sign::Detector {
                    pin,
                    signals: Signals::Yes,
                };
                self.observe(Whereabouts::Outlet(outlet), what, Condition::default());
            }
        }
    }

    fn observe(&mut self, at: Whereabouts, what: Sign, condition: Condition) {
        let id = format!("o{}", self.visit.observations.len() + 1);
        self.visit.observations.push(Observation {
            id,
            at,
            what,
            condition,
        });
    }
}

/// The case tells of no outlet at all, so that what it tells is of the premises.
fn is_above(case: &Case) -> bool {
    case.readings
        .iter()
        .all(|r| r.between.is_none() || is_panel(&r.place))
        && case.lamps.is_empty()
        && !case
            .chain
            .iter()
            .any(|c| ["outlet", "socket"].iter().any(|w| c.contains(w)))
}
