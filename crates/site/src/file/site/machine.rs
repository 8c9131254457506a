//! What a machine is made of, from its table.

use metrology::{Seconds, Watts};

use super::circuit::current;
use super::inner::{air, count, each, power, within};
use super::supply::{plugs, rail};
use crate::file::problem::Log;
use crate::file::reader::{At, Reader};
use crate::file::tree::Value;
use crate::machine::{Build, Generation, Part, PartKind};
use crate::supply::{FormFactor, Supply};

/// What a machine's table says beyond where it is plugged in and what it draws.
pub(super) fn read(
    reader: &mut Reader,
    log: &mut Log,
    id: Option<&At<&str>>,
) -> (Build, Option<Supply>) {
    let build = Build {
        parts: parts(reader, log),
        takes: reader
            .one_of(log, "takes", &FormFactor::NAMES)
            .map(|it| it.it),
        air: air(reader, log, "air"),
        stagger: within(
            reader,
            log,
            "stagger",
            |it: Seconds| it.si() <= 120.0,
            "write the time from one drive's start to the next, as \"2 s\"",
        ),
        on: within(
            reader,
            log,
            "on",
            |it: Seconds| it.si() > 0.0 && it.si() <= 86_400.0,
            "write how long it is on in a day, as \"9 h\"",
        ),
    };
    (build, supply(reader, log, id))
}

fn supply(reader: &mut Reader, log: &mut Log, id: Option<&At<&str>>) -> Option<Supply> {
    let entry = reader.entry("supply")?;
    let Value::Table(table) = &entry.node.value else {
        let what = format!("supply is {}, and a table is wanted", entry.node.kind());
        let hint = "write [machine.supply] below the machine, and the keys of the supply below it";
        reader.says(log, entry.node.span.clone(), what, hint);
        return None;
    };
    let element = format!("{}, supply", reader.element);
    let mut inner = Reader::of(table, entry.node.span.clone(), element);
    let name = inner.text(log, "id").map(|it| it.it);
    let mut supply = super::supply::read(&mut inner, log);
    supply.id = name.or(id.map(|it| it.it)).unwrap_or_default().to_owned();
    inner.done(log);
    Some(supply)
}

fn parts(reader: &mut Reader, log: &mut Log) -> Vec<Part> {
    let example = "{ kind = \"processor\", tdp = \"65 W\" }";
    each(reader, log, "parts", example, |it, log, _| {
        if !it.has("kind") {
            it.needs("kind", "kind = \"processor\", or what else it is");
        }
        let kind = it.one_of(log, "kind", &PartKind::NAMES).map(|it| it.it);
        let part = Part {
            kind: kind.unwrap_or(PartKind::Board),
            count: count(it, log, 64),
            label: it.text(log, "label").map(|it| it.it.to_owned()),
            power: maker_power(it, log, kind),
            peak: power(it, log, "peak"),
            nameplate: nameplate(it, log),
            spin_up: current(it, log, "spin_up"),
            generation: it
                .one_of(log, "generation", &Generation::NAMES)
                .map(|it| it.it),
            needs: plugs(it, log, "needs"),
        };
        let kind = kind?;
        let spins = |it: PartKind| it.spins();
        only(it, log, kind, "spin_up", spins, "drives with disks");
        let memory = |it: PartKind| it == PartKind::Memory;
        only(it, log, kind, "generation", memory, "memory");
        if let (Some(power), Some(peak)) = (part.power, part.peak)
            && peak < power
        {
            let hint = "exchange them, or leave peak out";
            it.says(
                log,
                it.at(),
                "peak is less than what it draws for long",
                hint,
            );
        }
        Some(part)
    })
}

/// What its maker gives for sustained work: under the word that the trade has for it.
fn maker_power(reader: &mut Reader, log: &mut Log, kind: Option<PartKind>) -> Option<Watts> {
    let keys = [
        ("tdp", PartKind::Processor),
        ("board_power", PartKind::Graphics),
    ];
    let mut found = power(reader, log, "power");
    for (key, of) in keys {
        let special = power(reader, log, key);
        if let Some(kind) = kind {
            only(reader, log, kind, key, |it| it == of, of.words(2));
        }
        if found.is_some() && special.is_some() {
            let what = format!("power and {key} both stand here");
            reader.says(log, reader.at(), what, "keep one of them");
        }
        found = found.or(special);
    }
    found
}

/// A key that only some kinds of part have.
fn only(
    reader: &mut Reader,
    log: &mut Log,
    kind: PartKind,
    key: &'static str,
    of: impl Fn(PartKind) -> bool,
    whose: &str,
) {
    if of(kind) {
        return;
    }
    if let Some(entry) = reader.entry(key) {
        let what = format!("{key} does not belong to a {}", kind.words(1));
        let hint = format!("it is for {whose}; write power where its maker gives one");
        reader.says(log, entry.at.clone(), what, &hint);
    }
}

fn nameplate(reader: &mut Reader, log: &mut Log) -> Vec<(crate::supply::Rail, metrology::Amps)> {
    let example = "{ rail = \"+5 V\", current = \"0.7 A\" }";
    each(reader, log, "nameplate", example, |it, log, _| {
        if !it.has("current") {
            it.needs("current", "current = \"0.7 A\", as printed on it");
        }
        let (rail, current) = (rail(it, log), current(it, log, "current"));
        Some((rail?, current?))
    })
}
