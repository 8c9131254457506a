//! What was seen, heard, smelt or told at a visit.

use super::condition::condition;
use super::places::{Named, Places};
use super::reading::{Ids, name};
use crate::file::names::tables;
use crate::file::problem::Log;
use crate::file::reader::Reader;
use crate::file::tree::{Node, Value};
use crate::pair::role;
use crate::visit::{Lamp, Observation, Reach, Sign, Signals, Tone, Whereabouts};

/// The signs that are one word, with the word.
pub(in crate::file) const SIGNS: [(&str, Sign); 28] = [
    ("breaker-tripped", Sign::BreakerTripped),
    ("residual-tripped", Sign::ResidualTripped),
    ("arc-tripped", Sign::ArcTripped),
    ("breaker-closed", Sign::BreakerClosed),
    ("dead", Sign::Dead),
    ("works", Sign::Works),
    ("buzzing", Sign::Buzzing),
    ("warm", Sign::Warm),
    ("burnt", Sign::Burnt),
    ("flicker", Sign::Flicker),
    ("brightening", Sign::Brightening),
    ("dimming", Sign::Dimming),
    ("shock", Sign::Shock),
    ("loose-plug", Sign::LoosePlug),
    ("equipment-burnt", Sign::EquipmentBurnt),
    ("wet", Sign::Wet),
    ("after-works", Sign::AfterWorks),
    ("after-storm", Sign::AfterStorm),
    ("switch-matters", Sign::SwitchMatters),
    ("switch-off", Sign::SwitchOff),
    ("switch-on", Sign::SwitchOn),
    ("old-wiring", Sign::OldWiring),
    ("neutral-broken", Sign::NeutralBroken),
    ("earth-missing", Sign::EarthMissing),
    ("fault-light", Sign::FaultLight),
    ("cable-sparks", Sign::CableSparks),
    ("not-understood", Sign::NotUnderstood(Tone::Plain)),
    ("harm-not-understood", Sign::NotUnderstood(Tone::Harm)),
];

const LAMP: [(&str, Lamp); 3] = [("lit", Lamp::Lit), ("dim", Lamp::Dim), ("dark", Lamp::Dark)];

const SIGNALS: [(&str, Signals); 2] = [("yes", Signals::Yes), ("no", Signals::No)];

/// How far a trouble reaches, with the word for it.
pub(in crate::file) const REACHES: [(&str, Reach); 7] = [
    ("pin", Reach::Pin),
    ("outlet", Reach::Outlet),
    ("circuit", Reach::Circuit),
    ("leg", Reach::Leg),
    ("floor", Reach::Floor),
    ("house", Reach::House),
    ("street", Reach::Street),
];

/// The observations in the order of the file; none where any of them could not be read.
pub(super) fn observations(
    top: &mut Reader,
    log: &mut Log,
    places: &Places,
) -> Option<Vec<Observation>> {
    let found = tables(top, log, "observation");
    let ids = Ids::of(&found.each);
    let mut observations = Vec::new();
    let mut taken = std::collections::HashSet::new();
    for (n, (at, table)) in found.each.into_iter().enumerate() {
        let mut reader = Reader::of(table, at, format!("observation {}", n + 1));
        let id = name(&mut reader, log, "observation", ids.made_up("o", n));
        if !taken.insert(id.clone()) {
            let span = reader
                .entry("id")
                .map_or(reader.at(), |it| it.node.span.clone());
            reader.says(
                log,
                span,
                format!("id \"{id}\" is already taken"),
                "give it another one",
            );
        }
        observations.push(read(&mut reader, log, places, id));
        reader.done(log);
    }
    observations.into_iter().collect()
}

fn read(reader: &mut Reader, log: &mut Log, places: &Places, id: String) -> Option<Observation> {
    let place = place(reader, log, places);
    let what = sign(reader, log);
    let condition = condition(reader, log, places, place);
    let (place, what) = (place?, what?);
    if matches!(what, Sign::Lamps { .. } | Sign::Detector { .. })
        && !matches!(place, Named::Outlet(_))
    {
        reader.says(
            log,
            reader.at(),
            "lamps and detectors are held to an outlet",
            "name the outlet in \"at\"",
        );
        return None;
    }
    Some(Observation {
        id,
        at: place.whereabouts().unwrap_or(Whereabouts::Site),
        what,
        condition: condition?,
    })
}

/// Where; the whole site where nothing is told.
fn place(reader: &mut Reader, log: &mut Log, places: &Places) -> Option<Named> {
    if !reader.has("at") {
        let _ = reader.entry("at");
        return Some(Named::Site);
    }
    let name = reader.text(log, "at")?;
    let found = places.find(log, &reader.element, "at", &name)?;
    if let Named::Load(ix) = found {
        // what was seen at a load was seen at its outlet
        return Some(Named::Outlet(places.site.loads[ix.0].at));
    }
    Some(found)
}

fn sign(reader: &mut Reader, log: &mut Log) -> Option<Sign> {
    let word = reader.one_of(log, "sees", &SIGNS).map(|it| it.it);
    let lamps = reader.entry("lamps").map(|it| lamps(reader, log, &it.node));
    let detector = reader
        .entry("detector")
        .map(|it| detector(reader, log, &it.node));
    let scope = reader
        .one_of(log, "scope", &REACHES)
        .map(|it| Sign::Scope(it.it));
    let keys = ["sees", "lamps", "detector", "scope"];
    let told: Vec<&str> = keys.into_iter().filter(|it| reader.has(it)).collect();
    match told.as_slice() {
        [] => {
            reader.needs("sees", "sees = \"buzzing\", or lamps, detector or scope");
            None
        }
        [_] => word.or(lamps.flatten()).or(detector.flatten()).or(scope),
        [first, second, ..] => {
            let what = format!("{first} and {second} stand in one observation");
            reader.says(log, reader.at(), what, "write an [[observation]] for each");
            None
        }
    }
}

/// `lamps = { line-neutral = "lit", line-earth = "lit", neutral-earth = "dark" }`, in the words of any region.
fn lamps(reader: &Reader, log: &mut Log, node: &Node) -> Option<Sign> {
    const HINT: &str =
        "write { line-neutral = \"lit\", line-earth = \"lit\", neutral-earth = \"dark\" }";
    let Value::Table(table) = &node.value else {
        let what = format!("lamps is {}, and the three lamps are wanted", node.kind());
        reader.says(log, node.span.clone(), what, HINT);
        return None;
    };
    let mut seen: [Option<Lamp>; 3] = [None; 3];
    let mut sound = true;
    for entry in &table.0 {
        let Some(place) = lamp_place(&entry.key) else {
            let what = format!("lamps: \"{}\" is not one of the three pairs", entry.key);
            reader.says(log, entry.at.clone(), what, HINT);
            sound = false;
            continue;
        };
        let lamp = reader.choice(log, &entry.key, &entry.node, &LAMP);
        sound &= lamp.is_some();
        seen[place] = lamp;
    }
    if !sound {
        return None;
    }
    let [Some(line_neutral), Some(line_earth), Some(neutral_earth)] = seen else {
        reader.says(
            log,
            node.span.clone(),
            "lamps: not all three are told",
            HINT,
        );
        return None;
    };
    Some(Sign::Lamps {
        line_neutral,
        line_earth,
        neutral_earth,
    })
}

/// Which of the three lamps sits across a pair.
fn lamp_place(pair: &str) -> Option<usize> {
    use crate::pair::Role::{Earth, Line, Neutral};
    match crate::pair::roles(pair)? {
        (Line, Neutral) | (Neutral, Line) => Some(0),
        (Line, Earth) | (Earth, Line) => Some(1),
        (Neutral, Earth) | (Earth, Neutral) => Some(2),
        _ => None,
    }
}

/// `detector = { contact = "earth", signals = "yes" }`.
fn detector(reader: &Reader, log: &mut Log, node: &Node) -> Option<Sign> {
    const HINT: &str = "write detector = { contact = \"earth\", signals = \"yes\" }";
    let Value::Table(table) = &node.value else {
        let what = format!("detector is {}, and a table is wanted", node.kind());
        reader.says(log, node.span.clone(), what, HINT);
        return None;
    };
    let mut inner = Reader::of(
        table,
        node.span.clone(),
        format!("{}: detector", reader.element),
    );
    let word = inner.needed(log, "contact", "contact = \"earth\"");
    let pin = word
        .as_ref()
        .and_then(|it| role(it.it)?.pin(crate::pair::Lines::One));
    if let (Some(word), None) = (&word, pin) {
        let what = format!("contact \"{}\" is not one of an outlet", word.it);
        inner.says(
            log,
            word.span.clone(),
            what,
            "write \"line\", \"neutral\" or \"earth\"",
        );
    }
    if !inner.has("signals") {
        inner.needs("signals", "signals = \"yes\" or \"no\"");
    }
    let signals = inner.one_of(log, "signals", &SIGNALS);
    inner.done(log);
    Some(Sign::Detector {
        pin: pin?,
        signals: signals?.it,
    })
}
