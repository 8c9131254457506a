//! The meters of a visit: a class, and what is known better than the class.

use metrology::{
    Accuracy, Category, Farads, Function, Input as MeterInput, Meter, Ohms, Response, Volts,
};

use crate::file::names::{Names, element, tables};
use crate::file::problem::Log;
use crate::file::reader::{Reader, unknown_hint};
use crate::file::tree::{Node, Value};
use crate::visit::{Input, UsedMeter, Visit};

/// Capacitance of an input of which only the resistance is told, and the resistance of a low-impedance input of which
/// nothing is told. Our judgement, after the generic classes.
const CAPACITANCE: Farads = Farads::from_si(100e-12);
const LOW_IMPEDANCE: MeterInput = MeterInput {
    resistance: Ohms::from_si(3e3),
    capacitance: CAPACITANCE,
};

const RESPONSES: [(&str, Response); 2] = [
    ("true-rms", Response::TrueRms),
    ("average", Response::Average),
];
const CATEGORIES: [(&str, Category); 6] = [
    ("II", Category::II),
    ("III", Category::III),
    ("IV", Category::IV),
    ("CAT II", Category::II),
    ("CAT III", Category::III),
    ("CAT IV", Category::IV),
];

/// The functions whose accuracy may be told, by their key.
const ACCURACIES: [(&str, Function); 4] = [
    ("ac_volts", Function::AcVolts),
    ("ac_amps", Function::AcAmps),
    ("ohms", Function::Ohms),
    ("hertz", Function::Hertz),
];

/// The meters of a visit, in the order of the file; none where one could not be read.
pub(super) fn meters<'t>(
    top: &mut Reader<'t>,
    log: &mut Log,
    names: &mut Names<'t, usize>,
) -> Vec<Option<UsedMeter>> {
    let found = tables(top, log, "meter");
    names.partial |= !found.whole;
    let mut meters = Vec::new();
    for (n, (at, table)) in found.each.into_iter().enumerate() {
        let mut it = element(log, "meter", n, at, table);
        names.add(log, &it.reader.element, &it.id, n);
        let meter = read(&mut it.reader, log);
        meters.push(it.id.map(|id| UsedMeter {
            id: id.it.to_owned(),
            meter,
        }));
        it.reader.done(log);
    }
    meters
}

fn read(reader: &mut Reader, log: &mut Log) -> Meter {
    let mut meter = class(reader, log).unwrap_or_else(|| Meter::unknown().clone());
    if let Some(name) = reader.text(log, "name") {
        meter.name = name.it.to_owned();
    }
    for (key, function) in ACCURACIES {
        if let Some(it) = reader.quantity::<Accuracy>(log, key) {
            meter = meter.with_accuracy(function, it.it);
        }
    }
    if let Some(it) = reader.quantity::<Volts>(log, "resolution") {
        resolve(&mut meter, it.it);
    }
    if let Some(entry) = reader.entry("input")
        && let Some(it) = input(reader, log, "input", &entry.node)
    {
        meter = meter.with_input(it);
    }
    if let Some(entry) = reader.entry("low_impedance")
        && let Some(it) = input(reader, log, "low_impedance", &entry.node)
    {
        meter = meter.with_low_impedance(it);
    }
    if let Some(it) = reader.one_of(log, "response", &RESPONSES) {
        meter.response = it.it;
    }
    if let Some(it) = reader.one_of(log, "category", &CATEGORIES) {
        meter.category = it.it;
    }
    if let Some(it) = reader.quantity::<Volts>(log, "rated") {
        meter.rated = it.it;
    }
    meter
}

fn class(reader: &mut Reader, log: &mut Log) -> Option<Meter> {
    let word = reader.text(log, "class")?;
    let found = Meter::class(word.it);
    if found.is_none() {
        let what = format!("class \"{}\" is not known", word.it);
        let ids = Meter::classes().iter().filter_map(|it| it.class.as_deref());
        reader.says(log, word.span, what, &unknown_hint(word.it, ids, "write"));
    }
    found.cloned()
}

/// One unit of the last digit on the range in use: the ranges of alternating volts become one with this digit.
fn resolve(meter: &mut Meter, digit: Volts) {
    let ranges = meter.ranges(Function::AcVolts).to_vec();
    let Some(mut range) = ranges.last().copied() else {
        return;
    };
    range.resolution = digit.si().abs().max(1e-6);
    if let Some(scale) = meter
        .functions
        .iter_mut()
        .find(|it| it.function == Function::AcVolts)
    {
        scale.ranges = vec![range];
    }
}

/// `"10 MΩ"`, or `{ resistance = "10 MΩ", capacitance = "100 pF" }`.
fn input(reader: &Reader, log: &mut Log, key: &str, node: &Node) -> Option<MeterInput> {
    let Value::Table(table) = &node.value else {
        return Some(MeterInput {
            resistance: above_zero(reader, log, key, node)?,
            capacitance: CAPACITANCE,
        });
    };
    let mut inner = Reader::of(
        table,
        node.span.clone(),
        format!("{}: {key}", reader.element),
    );
    let resistance = inner
        .entry("resistance")
        .and_then(|it| above_zero(&inner, log, "resistance", &it.node));
    if !inner.has("resistance") {
        inner.needs("resistance", "resistance = \"10 MΩ\"");
    }
    let capacitance = inner.quantity::<Farads>(log, "capacitance");
    inner.done(log);
    Some(MeterInput {
        resistance: resistance?,
        capacitance: capacitance.map_or(CAPACITANCE, |it| it.it),
    })
}

fn above_zero(reader: &Reader, log: &mut Log, key: &str, node: &Node) -> Option<Ohms> {
    let it = reader.quantity_of::<Ohms>(log, key, node)?;
    if it.si() < 1.0 {
        let what = format!("{key} of {it} cannot be");
        reader.says(
            log,
            node.span.clone(),
            what,
            "write it as on the data sheet, as \"10 MΩ\"",
        );
        return None;
    }
    Some(it)
}

/// A reading on a low-impedance input shows that the meter has one, even where its class knows of none.
pub(super) fn give_low_impedance(visit: &mut Visit) {
    for reading in &visit.readings {
        if let (Input::LowImpedance, Some(ix)) = (reading.input, reading.meter) {
            let used = &mut visit.meters[ix];
            if used.meter.low_impedance_input().is_none() {
                used.meter = used.meter.clone().with_low_impedance(LOW_IMPEDANCE);
            }
        }
    }
}
