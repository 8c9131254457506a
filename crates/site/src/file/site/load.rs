//! Loads of a site file, and the equipment that later parts judge: UPSs and machines.

use metrology::{Amps, Fraction, Volts, Watts};

use super::Around;
use super::circuit::current;
use super::machine;
use super::outlet::Thing;
use crate::file::names::{Names, element, tables};
use crate::file::problem::Log;
use crate::file::reader::{At, Reader};
use crate::file::tree::Value;
use crate::machine::Build;
use crate::supply::Supply;

/// A load as far as it could be read.
pub(super) struct Load<'t> {
    pub id: Option<At<&'t str>>,
    pub element: String,
    pub plugged: Option<At<&'t str>>,
    pub power: Option<Watts>,
    pub current: Option<Amps>,
    pub kind: Kind,
    pub cut_out: Option<Volts>,
    pub power_factor: Option<Fraction>,
    pub leakage: Option<Amps>,
    pub from: From,
    /// What a machine is made of, and its supply.
    pub machine: Option<(Build, Option<Supply>)>,
}

/// Which table a load was written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum From {
    /// `[[load]]`.
    Load,
    /// `[[ups]]`.
    Ups,
    /// `[[machine]]`.
    Machine,
}

/// How a load's current follows its voltage, as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Impedance,
    Current,
    Power,
}

const KINDS: [(&str, Kind); 3] = [
    ("impedance", Kind::Impedance),
    ("current", Kind::Current),
    ("power", Kind::Power),
];

/// The loads, UPSs and machines, in this order; their names are added to those of all things in the rooms.
pub(super) fn loads<'t>(
    top: &mut Reader<'t>,
    log: &mut Log,
    around: &Around,
    names: &mut Names<'t, Thing>,
) -> Vec<Load<'t>> {
    let mut loads = Vec::new();
    for (key, from) in [
        ("load", From::Load),
        ("ups", From::Ups),
        ("machine", From::Machine),
    ] {
        let found = tables(top, log, key);
        names.partial |= !found.whole;
        for (n, (at, table)) in found.each.into_iter().enumerate() {
            let mut it = element(log, key, n, at, table);
            let thing = match from {
                From::Ups => Thing::Ups(loads.len()),
                _ => Thing::Load,
            };
            names.add(log, &it.reader.element, &it.id, thing);
            let mut load = read(&mut it.reader, log, around, it.id, from);
            match from {
                From::Load => it.reader.done(log),
                From::Ups => it.reader.done_with_others(log),
                From::Machine => {
                    let made_of = machine::read(&mut it.reader, log, load.id.as_ref());
                    load.machine = Some(made_of);
                    it.reader.done_with_far_others(log);
                }
            }
            loads.push(load);
        }
    }
    loads
}

fn read<'t>(
    reader: &mut Reader<'t>,
    log: &mut Log,
    around: &Around,
    id: Option<At<&'t str>>,
    from: From,
) -> Load<'t> {
    let plugged = reader.needed(log, "at", "at = \"...\", where it is plugged in");
    let power = power(reader, log);
    let mut load = Load {
        element: reader.element.clone(),
        plugged,
        power,
        current: None,
        kind: Kind::Power,
        cut_out: None,
        power_factor: None,
        leakage: None,
        from,
        machine: None,
        id,
    };
    if from != From::Load {
        return load;
    }
    load.current = current(reader, log, "current");
    if !reader.has("power") && !reader.has("current") {
        reader.needs("power", "power = \"60 W\", what it draws while on");
    }
    if let (Some(_), Some(entry)) = (load.power, reader.entry("current")) {
        let hint = "keep what was measured or stands on its label";
        reader.says(
            log,
            entry.at.clone(),
            "power and current both stand here",
            hint,
        );
    }
    load.kind = reader
        .one_of(log, "kind", &KINDS)
        .map_or(Kind::Power, |it| it.it);
    load.cut_out = cut_out(reader, log, around);
    load.power_factor = power_factor(reader, log);
    load.leakage = current(reader, log, "leakage");
    load
}

fn power(reader: &mut Reader, log: &mut Log) -> Option<Watts> {
    let it = reader.quantity::<Watts>(log, "power")?;
    if !(it.it.si() >= 0.0 && it.it.si() <= 1e6) {
        let what = format!("power of {} cannot be", it.it);
        reader.says(log, it.span, what, "write what it draws, as \"60 W\"");
        return None;
    }
    Some(it.it)
}

fn cut_out(reader: &mut Reader, log: &mut Log, around: &Around) -> Option<Volts> {
    let it = reader.quantity::<Volts>(log, "cut_out")?;
    let nominal = around
        .system
        .map_or(f64::INFINITY, |it| 2.0 * it.legs[0].volts.si());
    if !(it.it.si() >= 0.0 && it.it.si() <= nominal) {
        let what = format!("cut_out of {} cannot be", it.it);
        reader.says(
            log,
            it.span,
            what,
            "write the voltage below which it draws nothing",
        );
        return None;
    }
    Some(it.it)
}

/// A power factor: `0.95` or `"95 %"`, the one quantity without a unit.
fn power_factor(reader: &mut Reader, log: &mut Log) -> Option<Fraction> {
    let node = &reader.entry("power_factor")?.node;
    let plain = match &node.value {
        Value::Number(it) => it.parse::<f64>().ok(),
        Value::Text(it) => it.trim().parse::<f64>().ok(),
        _ => None,
    };
    let it = match plain {
        Some(it) => Fraction::from_si(it),
        None => reader.quantity_of::<Fraction>(log, "power_factor", node)?,
    };
    if !(it.si() > 0.0 && it.si() <= 1.0) {
        let what = format!("power_factor of {} cannot be", it.si());
        reader.says(
            log,
            node.span.clone(),
            what,
            "write a number above 0 up to 1, as 0.95",
        );
        return None;
    }
    Some(it)
}
