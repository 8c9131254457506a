//! Under what circumstances something was read or seen.

use metrology::Watts;

use super::places::{Named, Places};
use crate::file::problem::Log;
use crate::file::reader::{At, Reader};
use crate::file::tree::{Entry, Node, Table, Value};
use crate::model::{CircuitIx, OutletIx};
use crate::visit::{Condition, LoadScope, LoadsAt, Running, SwitchState};

const RUNNING: [(&str, Running); 3] = [
    ("on", Running::On),
    ("off", Running::Off),
    ("unplugged", Running::Unplugged),
];

const SWITCH: [(&str, SwitchState); 6] = [
    ("closed", SwitchState::Closed),
    ("open", SwitchState::Open),
    ("on", SwitchState::Closed),
    ("off", SwitchState::Open),
    ("yes", SwitchState::Closed),
    ("no", SwitchState::Open),
];

/// What people write in a word or two; anything else is kept as a remark.
const PHRASES: [(&str, Running); 8] = [
    ("no load", Running::Off),
    ("unloaded", Running::Off),
    ("without load", Running::Off),
    ("loaded", Running::On),
    ("under load", Running::On),
    ("with load", Running::On),
    ("unplugged", Running::Unplugged),
    ("everything unplugged", Running::Unplugged),
];

/// The condition of a reading or observation at `here`; nothing where it is wrong.
pub(super) fn condition(
    reader: &mut Reader,
    log: &mut Log,
    places: &Places,
    here: Option<Named>,
) -> Option<Condition> {
    let Some(entry) = reader.entry("condition") else {
        return Some(Condition::default());
    };
    let table = match &entry.node.value {
        Value::Table(it) => it,
        Value::Text(words) => return Some(phrase(places, here, words)),
        _ => {
            let what = format!("condition is {}, and a table is wanted", entry.node.kind());
            reader.says(
                log,
                entry.node.span.clone(),
                what,
                "write condition = { loads = \"off\" }",
            );
            return None;
        }
    };
    let mut inner = Reader::of(
        table,
        entry.node.span.clone(),
        format!("{}: condition", reader.element),
    );
    let mut condition = Condition::default();
    let mut sound = true;
    if let Some(entry) = inner.entry("loads") {
        sound &= loads(&inner, log, places, here, entry, &mut condition).is_some();
    }
    if let Some(entry) = inner.entry("test_load") {
        condition.test_load = test_load(&inner, log, places, here, &entry.node);
        sound &= condition.test_load.is_some();
    }
    if let Some(entry) = inner.entry("switch") {
        let outlet = |it: Named| match it {
            Named::Outlet(it) => Some(it),
            _ => None,
        };
        let of = States {
            what: "an outlet",
            meant: &outlet,
        };
        sound &= of
            .read(&inner, log, places, here, entry, &mut condition.switches)
            .is_some();
    }
    if let Some(entry) = inner.entry("breaker") {
        let circuit = |it: Named| circuit_of(places, it);
        let of = States {
            what: "a circuit",
            meant: &circuit,
        };
        sound &= of
            .read(&inner, log, places, here, entry, &mut condition.breakers)
            .is_some();
    }
    if let Some(entry) = inner.entry("time") {
        condition.time = time(&inner, log, &entry.node);
        sound &= condition.time.is_some();
    }
    condition.remark = inner.text(log, "remark").map(|it| it.it.to_owned());
    inner.done(log);
    sound.then_some(condition)
}

/// The circuit that feeds a place.
fn circuit_of(places: &Places, here: Named) -> Option<CircuitIx> {
    match here {
        Named::Circuit(it) => Some(it),
        Named::Outlet(it) => Some(places.site.outlets[it.0].circuit),
        _ => None,
    }
}

/// Where a word about all loads holds that names no place: on the circuit of the reading, else everywhere.
fn scope_here(places: &Places, here: Option<Named>) -> LoadScope {
    here.and_then(|it| circuit_of(places, it))
        .map_or(LoadScope::Site, LoadScope::Circuit)
}

fn phrase(places: &Places, here: Option<Named>, words: &str) -> Condition {
    let known = crate::file::fold(words);
    let found = PHRASES
        .iter()
        .find(|(it, _)| crate::file::fold(it) == known);
    Condition {
        loads: found
            .map(|(_, state)| LoadsAt {
                scope: scope_here(places, here),
                state: *state,
            })
            .into_iter()
            .collect(),
        remark: Some(words.to_owned()),
        ..Condition::default()
    }
}

/// `loads = "off"`, or `loads = { front-desk = "off", "circuit:A4" = "unplugged", heater = "on" }`.
fn loads(
    reader: &Reader,
    log: &mut Log,
    places: &Places,
    here: Option<Named>,
    entry: &Entry,
    condition: &mut Condition,
) -> Option<()> {
    let Value::Table(table) = &entry.node.value else {
        let state = reader.choice(log, "loads", &entry.node, &RUNNING)?;
        let scope = scope_here(places, here);
        condition.loads.push(LoadsAt { scope, state });
        return Some(());
    };
    let mut sound = Some(());
    for entry in &table.0 {
        let place = places.find(log, &reader.element, "loads", &key_of(entry));
        let state = reader.choice(log, &entry.key, &entry.node, &RUNNING);
        let (Some(place), Some(state)) = (place, state) else {
            sound = None;
            continue;
        };
        let scope = match place {
            Named::Load(ix) => {
                condition.named.push((ix, state));
                continue;
            }
            Named::Outlet(it) => LoadScope::Outlet(it),
            Named::Circuit(it) => LoadScope::Circuit(it),
            Named::Panel(_) | Named::Site => LoadScope::Site,
        };
        condition.loads.push(LoadsAt { scope, state });
    }
    sound
}

fn key_of(entry: &Entry) -> At<&str> {
    At {
        span: entry.at.clone(),
        it: &entry.key,
    }
}

/// `"1500 W"` at the outlet of the reading, or `{ at = "hall", power = "1500 W" }`.
fn test_load(
    reader: &Reader,
    log: &mut Log,
    places: &Places,
    here: Option<Named>,
    node: &Node,
) -> Option<(OutletIx, Watts)> {
    let (at, power) = match &node.value {
        Value::Table(table) => {
            let mut inner = Reader::of(
                table,
                node.span.clone(),
                format!("{}: test_load", reader.element),
            );
            let at = match inner.text(log, "at") {
                Some(name) => Some(places.find(log, &inner.element, "at", &name)?),
                None => here,
            };
            if !inner.has("power") {
                inner.needs("power", "power = \"1500 W\"");
            }
            let power = inner.quantity::<Watts>(log, "power");
            inner.done(log);
            (at, power?.it)
        }
        _ => (here, reader.quantity_of::<Watts>(log, "test_load", node)?),
    };
    let Some(Named::Outlet(at)) = at else {
        let hint = "write test_load = { at = \"...\", power = \"1500 W\" }";
        reader.says(log, node.span.clone(), "test_load is at no outlet", hint);
        return None;
    };
    if !(power.si() > 0.0 && power.si() <= 1e5) {
        let what = format!("test_load of {power} cannot be");
        reader.says(
            log,
            node.span.clone(),
            what,
            "write its power, as \"1500 W\"",
        );
        return None;
    }
    Some((at, power))
}

/// States of switches or breakers: one word for the place of the reading, or a table by place.
struct States<'f, Ix> {
    what: &'static str,
    meant: &'f dyn Fn(Named) -> Option<Ix>,
}

impl<Ix> States<'_, Ix> {
    fn read(
        &self,
        reader: &Reader,
        log: &mut Log,
        places: &Places,
        here: Option<Named>,
        entry: &Entry,
        into: &mut Vec<(Ix, SwitchState)>,
    ) -> Option<()> {
        let refuse = |log: &mut Log, span| {
            let what = format!("{} is that of {}, and none is named", entry.key, self.what);
            let hint = format!("write {} = {{ \"...\" = \"open\" }}", entry.key);
            reader.says(log, span, what, &hint);
        };
        let by_place: Vec<(Option<Ix>, &Node)> = match &entry.node.value {
            Value::Table(Table(entries)) => {
                let named = |it| {
                    let name = key_of(it);
                    let found = places.find(log, &reader.element, &entry.key, &name)?;
                    let meant = (self.meant)(found);
                    if meant.is_none() {
                        refuse(log, name.span);
                    }
                    meant
                };
                let found: Vec<Option<Ix>> = entries.iter().map(named).collect();
                found
                    .into_iter()
                    .zip(entries.iter().map(|it| &it.node))
                    .collect()
            }
            _ => {
                let meant = here.and_then(self.meant);
                if meant.is_none() {
                    refuse(log, entry.node.span.clone());
                }
                vec![(meant, &entry.node)]
            }
        };
        let mut sound = Some(());
        for (ix, node) in by_place {
            match (ix, reader.choice(log, &entry.key, node, &SWITCH)) {
                (Some(ix), Some(state)) => into.push((ix, state)),
                _ => sound = None,
            }
        }
        sound
    }
}

fn time(reader: &Reader, log: &mut Log, node: &Node) -> Option<jiff::civil::Time> {
    let written = match &node.value {
        Value::Text(it) | Value::Moment(it) => Some(it.trim()),
        _ => None,
    };
    let found = written.and_then(|it| it.parse().ok());
    if found.is_none() {
        let what = format!(
            "time {} is not a time of day",
            written.unwrap_or(node.kind())
        );
        reader.says(
            log,
            node.span.clone(),
            what,
            "write hours and minutes, as \"14:30\"",
        );
    }
    found
}
