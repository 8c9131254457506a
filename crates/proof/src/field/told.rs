//! A case as an assumed site and a visit.
//!
//! Every place that has a reading in volts or a lamp pattern becomes an outlet, in the order told; places called panel or
//! board are read at the panel. Numbers keep the width that people give them: a value without decimals is rounded, `min`
//! and `max` are a range, `max` alone is `up to`. A pair that is told in words only, and every sentence, is understood as a
//! technician's line is, by `site::quick`; there is no list of words here.

use metrology::{Hertz, Stated, Volts};
use site::model::{Feed, OutletIx, PanelIx, Site};
use site::quick;
use site::region::Region;
use site::visit::{
    Bar, Condition, Contact, Input, Lamp, LoadScope, LoadsAt, Observation, Pin, Reading, Running,
    Sign, Skill, Told, Visit, Whereabouts,
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

/// A pair that is told in words, `chassis-earth`, as a line tells it.
fn in_words(told: &crate::field::case::Told) -> Option<String> {
    let (from, to) = told.pair.split_once('-')?;
    Some(format!("{from} to {to}"))
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
            .filter(|r| r.unit == "V" && (r.between.is_some() || in_words(r).is_some()))
            .map(|r| r.place.as_str());
        let mut places: Vec<String> = Vec::new();
        for place in with_contacts.chain(case.lamps.iter().map(|l| l.place.as_str())) {
            if !is_panel(place) && !places.contains(&id_of(place)) {
                places.push(id_of(place));
            }
        }
        let names: Vec<&str> = places.iter().map(String::as_str).collect();
        let mut site = Site::assumed(region_of(case), &names);
        if is_on_the_way(case, &["cord", "extension", "power strip"]) {
            // the outlets that the case is about hang on it: those between the assumed one before and the one after
            let cord = Feed::Cord(site.region.usual.cord.value);
            let n = names.len().max(1);
            site.outlets
                .iter_mut()
                .skip(1)
                .take(n)
                .for_each(|o| o.feed = cord);
        }
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
        let first = names.first().copied().unwrap_or("outlet");
        let here = asked
            .site
            .outlet(first)
            .filter(|_| !names.is_empty() || !is_above(case));
        let swings = case.readings.iter().filter(|r| r.value.or(r.max).is_none());
        let swings = swings.filter_map(|r| r.told.as_ref());
        for sentence in case.observations.iter().chain(swings) {
            asked.visit = quick::more_said(sentence, &asked.site, &asked.visit, here);
        }
        asked.site.fit_receptacles(&asked.visit);
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
            if let (None, "V", Some(pair)) = (&told.between, told.unit.as_str(), in_words(told)) {
                let line = format!("{pair} {text}");
                match quick::more(&line, &self.site, &self.visit, at) {
                    Ok(visit) => {
                        self.visit = visit;
                        if let Some(reading) = self.visit.readings.last_mut() {
                            reading.condition.loads = condition.loads;
                        }
                    }
                    Err(_) => self.visit = quick::more_said(&line, &self.site, &self.visit, at),
                }
                continue;
            }
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

/// The case tells of no outlet and of nothing plugged into one, so that what it tells is of the premises.
fn is_above(case: &Case) -> bool {
    !is_on_the_way(
        case,
        &["outlet", "socket", "receptacle", "pedestal", "cord"],
    )
}

fn is_on_the_way(case: &Case, words: &[&str]) -> bool {
    case.chain
        .iter()
        .any(|c| words.iter().any(|w| c.contains(w)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::case::all;

    #[test]
    fn prop_no_sentence_of_a_case_is_lost() {
        let mut lost = Vec::new();
        for case in all().expect("built in") {
            let asked = Asked::of(&case);
            let kept: Vec<&str> = asked
                .visit
                .observations
                .iter()
                .filter_map(|it| it.condition.remark.as_deref())
                .collect();
            for sentence in &case.observations {
                let parts = sentence.split(';').map(str::trim);
                lost.extend(parts.filter(|it| !kept.contains(it)).map(str::to_owned));
            }
        }
        assert!(lost.is_empty(), "{lost:#?}");
    }

    #[test]
    fn prop_every_voltage_of_a_pair_is_read_or_kept_in_words() {
        for case in all().expect("built in") {
            let told = case.readings.iter().filter(|r| {
                let pair = r.between.is_some() || in_words(r).is_some();
                r.unit == "V" && pair && r.value.or(r.max).or(r.min).is_some()
            });
            let asked = Asked::of(&case);
            let kept = asked.visit.readings.len() + asked.visit.observations.len();
            assert!(told.count() <= kept, "{}", case.id);
        }
    }
}
