//! The readings of a visit.

use std::collections::HashMap;

use metrology::{Amps, Hertz, Ohms, QuantityError, Stated, Tellable, Volts};

use super::condition::condition;
use super::places::{Named, Places};
use crate::file::names::{Names, tables};
use crate::file::problem::Log;
use crate::file::reader::{At, Reader, refusal, unknown_hint};
use crate::file::tree::{Span, Table, Value};
use crate::visit::{Contact, Input, Reading, ReadingIx, Told};

/// What readings are judged by.
pub(super) struct Around<'t, 's> {
    pub places: &'s Places<'s>,
    pub meters: Names<'t, usize>,
}

const INPUTS: [(&str, Input); 7] = [
    ("normal", Input::Normal),
    ("high impedance", Input::Normal),
    ("low impedance", Input::LowImpedance),
    ("low-z", Input::LowImpedance),
    ("lo-z", Input::LowImpedance),
    ("lowz", Input::LowImpedance),
    ("not told", Input::NotTold),
];

/// The readings in the order of the file; none where any of them could not be read.
pub(super) fn readings(top: &mut Reader, log: &mut Log, around: &Around) -> Option<Vec<Reading>> {
    let found = tables(top, log, "reading");
    let ids = Ids::of(&found.each);
    let mut readings = Vec::new();
    let mut taken: HashMap<String, usize> = HashMap::new();
    for (n, (at, table)) in found.each.into_iter().enumerate() {
        let mut reader = Reader::of(table, at, format!("reading {}", n + 1));
        let id = name(&mut reader, log, "reading", ids.made_up("r", n));
        let corrects = corrects(&mut reader, log, &taken, &ids);
        if taken.insert(id.clone(), n).is_some() {
            let span = reader
                .entry("id")
                .map_or(reader.at(), |it| it.node.span.clone());
            let what = format!("id \"{id}\" is already taken");
            reader.says(
                log,
                span,
                what,
                "a correction gets its own id and names the old one in \"corrects\"",
            );
        }
        readings.push(read(&mut reader, log, around, id, corrects));
        reader.done(log);
    }
    readings.into_iter().collect()
}

/// The identifiers that readings or observations give themselves.
pub(super) struct Ids<'t>(std::collections::HashSet<&'t str>);

impl<'t> Ids<'t> {
    pub fn of(each: &[(Span, &'t Table)]) -> Ids<'t> {
        let id = |(_, table): &(Span, &'t Table)| match &table.get("id")?.node.value {
            Value::Text(it) => Some(it.as_str()),
            _ => None,
        };
        Ids(each.iter().filter_map(id).collect())
    }

    /// An identifier for the nth that none has given itself: `r1`, `r2`, ...
    pub fn made_up(&self, letter: &str, n: usize) -> String {
        let mut id = format!("{letter}{}", n + 1);
        while self.0.contains(id.as_str()) {
            id.push('\'');
        }
        id
    }
}

/// The identifier, or the one made up; either names the element in messages.
pub(super) fn name(reader: &mut Reader, log: &mut Log, kind: &str, made_up: String) -> String {
    let id = match reader.text(log, "id") {
        Some(it) if it.it.trim().is_empty() => {
            reader.says(
                log,
                it.span,
                "id is empty",
                "leave it out, or write a short word",
            );
            made_up
        }
        Some(it) => it.it.to_owned(),
        None => made_up,
    };
    reader.element = format!("{kind} \"{id}\"");
    id
}

fn corrects(
    reader: &mut Reader,
    log: &mut Log,
    taken: &HashMap<String, usize>,
    ids: &Ids,
) -> Option<ReadingIx> {
    let old = reader.text(log, "corrects")?;
    if let Some(ix) = taken.get(old.it) {
        return Some(ReadingIx(*ix));
    }
    let (what, hint) = match ids.0.contains(old.it) {
        true => (
            format!("corrects \"{}\", which stands further down", old.it),
            "a correction comes after what it corrects".to_owned(),
        ),
        false => (
            format!("corrects \"{}\", which is not a reading", old.it),
            unknown_hint(
                old.it,
                taken.keys().map(String::as_str),
                "readings before it:",
            ),
        ),
    };
    reader.says(log, old.span, what, &hint);
    None
}

fn read(
    reader: &mut Reader,
    log: &mut Log,
    around: &Around,
    id: String,
    corrects: Option<ReadingIx>,
) -> Option<Reading> {
    let meter = meter(reader, log, around);
    let value = value(reader, log, meter.is_some());
    let place = place(reader, log, around.places);
    let contacts = contacts(reader, log, around.places, &place, value.as_ref());
    let input = reader.one_of(log, "input", &INPUTS);
    let here = match &place {
        Place::Here(it) => Some(*it),
        Place::NotTold | Place::Broken => None,
    };
    let condition = condition(reader, log, around.places, here.or(of_contact(&contacts)));
    let (from, to) = contacts?;
    Some(Reading {
        id,
        from,
        to,
        value: value?,
        meter,
        input: input.map_or(Input::NotTold, |it| it.it),
        condition: condition?,
        corrects,
    })
}

fn of_contact(contacts: &Option<(Contact, Contact)>) -> Option<Named> {
    match contacts.as_ref()?.0 {
        Contact::Outlet(it, _) => Some(Named::Outlet(it)),
        Contact::Panel(it, _) => Some(Named::Panel(it)),
        Contact::TrueEarth => None,
    }
}

/// The meter by its name; the only one of the visit where none is named.
fn meter(reader: &mut Reader, log: &mut Log, around: &Around) -> Option<usize> {
    match reader.text(log, "meter") {
        Some(name) => around.meters.refer(log, &reader.element, "meter", &name),
        None => around.meters.only(),
    }
}

/// Where the reading was taken.
enum Place {
    Here(Named),
    NotTold,
    /// Told, but not known: already a problem.
    Broken,
}

fn place(reader: &mut Reader, log: &mut Log, places: &Places) -> Place {
    if !reader.has("at") {
        let _ = reader.entry("at");
        return Place::NotTold;
    }
    let found = reader.text(log, "at").and_then(|it| {
        let found = places.find(log, &reader.element, "at", &it)?;
        if !matches!(found, Named::Outlet(_) | Named::Panel(_)) {
            let what = format!("at \"{}\" is no place for probes", it.it);
            reader.says(
                log,
                it.span,
                what,
                "name an outlet, or a panel as \"panel:main\"",
            );
            return None;
        }
        Some(found)
    });
    found.map_or(Place::Broken, Place::Here)
}

fn contacts(
    reader: &mut Reader,
    log: &mut Log,
    places: &Places,
    place: &Place,
    value: Option<&Told>,
) -> Option<(Contact, Contact)> {
    let pair = reader.text(log, "pair");
    let from = reader.text(log, "from");
    let to = reader.text(log, "to");
    let clamped = reader.text(log, "conductor");
    if matches!(place, Place::Broken) {
        return None;
    }
    let here = match place {
        Place::Here(it) => Some(*it),
        _ => None,
    };
    let end = |reader: &Reader, log: &mut Log, key: &str, words: &At<&str>| match places
        .anywhere(here, words.it)
    {
        Ok(it) => Some(it),
        Err(why) => {
            let hint =
                "write \"line\", \"front-desk line\", \"panel:main neutral\" or \"true earth\"";
            reader.says(log, words.span.clone(), format!("{key}: {why}"), hint);
            None
        }
    };
    if let Some(words) = clamped {
        let it = end(reader, log, "conductor", &words)?;
        return Some((it, it));
    }
    if from.is_some() || to.is_some() {
        for (key, end) in [("from", &from), ("to", &to)] {
            if end.is_none() && !reader.has(key) {
                reader.needs(key, &format!("{key} = \"...\", where the other probe was"));
            }
        }
        let a = from.and_then(|it| end(reader, log, "from", &it));
        let b = to.and_then(|it| end(reader, log, "to", &it));
        return apart(reader, log, a?, b?, value);
    }
    if reader.has("pair") && pair.is_none() {
        return None;
    }
    let Some(here) = here else {
        reader.needs("at", "at = \"...\", the outlet");
        return None;
    };
    let (words, span) = match (&pair, value) {
        (Some(it), _) => (it.it, it.span.clone()),
        // line and neutral have the same frequency and, with a clamp, the line is what people clamp
        (None, Some(Told::Hertz(_) | Told::Amps(_))) => ("line-neutral", reader.at()),
        (None, _) => {
            let example = match places.lines_at(here) {
                Some(crate::pair::Lines::Two) => "pair = \"line-line\"",
                _ => "pair = \"line-neutral\"",
            };
            if !(reader.has("from") || reader.has("to")) {
                reader.needs("pair", example);
            }
            return None;
        }
    };
    match places.pair(here, words) {
        Ok((a, b)) => apart(reader, log, a, b, value),
        Err(why) => {
            let hint = "write \"line-neutral\", \"line-earth\", \"neutral-earth\" or \"line-line\", or hot and ground";
            reader.says(log, span, format!("pair: {why}"), hint);
            None
        }
    }
}

/// Two probes at one contact read nothing; with a clamp there is only one contact.
fn apart(
    reader: &Reader,
    log: &mut Log,
    a: Contact,
    b: Contact,
    value: Option<&Told>,
) -> Option<(Contact, Contact)> {
    if a == b && !matches!(value, Some(Told::Amps(_))) {
        let hint = "name two contacts";
        reader.says(
            log,
            reader.at(),
            "both probes are at the same contact",
            hint,
        );
        return None;
    }
    Some((a, b))
}

/// What was read: the unit says what it is. With a meter named, a round number is what its display showed.
fn value(reader: &mut Reader, log: &mut Log, by_meter: bool) -> Option<Told> {
    let example = "value = \"118.3 V\"";
    let text = reader.needed_or_number(log, "value", example)?;
    let told = told(text.it);
    let problem = match told {
        Ok(it) => match out_of_reach(&it) {
            None => return Some(if by_meter { shown(it) } else { it }),
            Some(why) => QuantityError {
                what: format!("\"{}\" {why}", text.it),
                hint: Some("write what the display showed".to_owned()),
                at: 0..0,
            },
        },
        Err(error) => error,
    };
    let what = refusal("value", &format!("\"{}\"", text.it), &problem);
    reader.says(log, text.span, what, problem.hint.as_deref().unwrap_or(""));
    None
}

/// A value by its unit: volts, hertz, amperes or ohms.
///
/// # Errors
/// What is wrong with it as a voltage, which most are.
pub(crate) fn told(text: &str) -> Result<Told, QuantityError> {
    fn of<Q: Tellable>(text: &str) -> Result<Stated<Q>, QuantityError> {
        text.parse()
    }
    let volts = match of::<Volts>(text) {
        Ok(it) => return Ok(Told::Volts(it)),
        Err(error) => error,
    };
    if let Ok(it) = of::<Hertz>(text) {
        Ok(Told::Hertz(it))
    } else if let Ok(it) = of::<Amps>(text) {
        Ok(Told::Amps(it))
    } else if let Ok(it) = of::<Ohms>(text) {
        Ok(Told::Ohms(it))
    } else {
        Err(volts)
    }
}

fn shown(told: Told) -> Told {
    match told {
        Told::Volts(it) => Told::Volts(it.with_display()),
        Told::Hertz(it) => Told::Hertz(it.with_display()),
        Told::Amps(it) => Told::Amps(it.with_display()),
        Told::Ohms(it) => Told::Ohms(it.with_display()),
    }
}

/// Why no meter can have shown this.
fn out_of_reach(told: &Told) -> Option<&'static str> {
    let (value, highest) = match told {
        Told::Volts(it) => (it.value.si(), 1e5),
        Told::Hertz(it) => (it.value.si(), 1e6),
        Told::Amps(it) => (it.value.si(), 1e6),
        Told::Ohms(it) => (it.value.si(), 1e12),
    };
    if value < 0.0 {
        Some("is below zero, which an alternating quantity never is")
    } else if value > highest {
        Some("is more than a meter can show")
    } else {
        None
    }
}
