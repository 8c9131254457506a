//! A supply from its table: of a machine, or of a list of candidates.

use metrology::{Fraction, Volts};

use super::circuit::current;
use super::inner::{air, count, date, each, power, within, words};
use crate::file::near::listed;
use crate::file::problem::Log;
use crate::file::reader::{Reader, unknown_hint};
use crate::file::tree::{Entry, Span, Table, Value};
use crate::plug::{Adapter, Plug, Plugs};
use crate::supply::{
    Combined, Correction, EfficiencyAt, Feeds, FormFactor, Guide, Input, Mark, Rail, RailLimit,
    Selected, Supply,
};

/// Everything that a supply's table says, but for its identifier.
pub(in crate::file) fn read(reader: &mut Reader, log: &mut Log) -> Supply {
    let rails = rails(reader, log);
    Supply {
        id: String::new(),
        rating: power(reader, log, "rating"),
        combined: combined(reader, log, &rails),
        rails,
        guide: guide(reader, log),
        form: reader
            .one_of(log, "form", &FormFactor::NAMES)
            .map(|it| it.it),
        input: input(reader, log),
        input_current: current(reader, log, "input_current"),
        inrush: current(reader, log, "inrush"),
        correction: reader
            .one_of(log, "correction", &Correction::NAMES)
            .map(|it| it.it),
        mark: reader.one_of(log, "mark", &Mark::NAMES).map(|it| it.it),
        efficiency: efficiency(reader, log),
        connectors: plugs(reader, log, "connectors"),
        adapters: adapters(reader, log),
        installed: date(reader, log, "installed"),
        rated_at: air(reader, log, "rated_at"),
    }
}

fn rails(reader: &mut Reader, log: &mut Log) -> Vec<RailLimit> {
    let example = "{ rail = \"+12 V\", max = \"36 A\" }";
    let mut seen: Vec<Rail> = Vec::new();
    each(reader, log, "rails", example, |it, log, span| {
        let rail = rail(it, log);
        let max = current(it, log, "max");
        if !it.has("max") {
            it.needs("max", "max = \"36 A\", what it may give for ever");
        }
        let peak = current(it, log, "peak");
        let feeds = feeds(it, log);
        let (rail, max) = (rail?, max?);
        if seen.contains(&rail) {
            let what = format!("rail \"{}\" stands here twice", rail.name());
            let hint = "write +12 V1, +12 V2 where there are several of a voltage";
            it.says(log, span, what, hint);
            return None;
        }
        if let Some(other) = seen.iter().find(|it| are_rivals(**it, rail)) {
            let what = format!(
                "rail \"{}\" stands beside \"{}\"",
                rail.name(),
                other.name()
            );
            let hint = "write either +12 V, or +12 V1, +12 V2 and so on";
            it.says(log, span, what, hint);
            return None;
        }
        seen.push(rail);
        if peak.is_some_and(|peak| peak < max) {
            it.says(
                log,
                span,
                "peak is less than max",
                "exchange them, or leave peak out",
            );
        }
        Some(RailLimit {
            rail,
            max,
            peak,
            feeds,
        })
    })
}

/// `+12 V` is the sum of `+12 V1` and its kin: a supply has the one or the others.
fn are_rivals(a: Rail, b: Rail) -> bool {
    a != b && a.family() == b.family() && (a == Rail::Plus12 || b == Rail::Plus12)
}

/// The rail that a table is about.
pub(super) fn rail(reader: &mut Reader, log: &mut Log) -> Option<Rail> {
    let word = reader.needed(log, "rail", "rail = \"+12 V\"")?;
    let found = Rail::named(word.it);
    if found.is_none() {
        unknown_rail(reader, log, word.it, word.span);
    }
    found
}

fn unknown_rail(reader: &Reader, log: &mut Log, word: &str, span: Span) {
    let what = format!("rail \"{word}\" is not known");
    let hint = format!("write {}", listed(Rail::NAMES.iter().map(|(it, _)| *it)));
    reader.says(log, span, what, &hint);
}

fn feeds(reader: &mut Reader, log: &mut Log) -> Vec<Feeds> {
    words(reader, log, "feeds", "\"processor\"", |it, log, _, node| {
        it.choice(log, "feeds", node, &Feeds::NAMES)
    })
}

fn combined(reader: &mut Reader, log: &mut Log, rails: &[RailLimit]) -> Vec<Combined> {
    let example = "{ rails = [\"+5 V\", \"+3.3 V\"], max = \"100 W\" }";
    each(reader, log, "combined", example, |it, log, span| {
        let example = "\"+5 V\", \"+3.3 V\"";
        if !it.has("rails") {
            it.needs("rails", &format!("rails = [{example}]"));
        }
        if !it.has("max") {
            it.needs("max", "max = \"100 W\", what they may give together");
        }
        let named = words(it, log, "rails", example, |it, log, word, node| {
            let Some(rail) = Rail::named(word) else {
                unknown_rail(it, log, word, node.span.clone());
                return None;
            };
            let known = rails.iter().any(|it| it.rail.family() == rail.family());
            if !known && !rails.is_empty() {
                let what = format!("\"{}\" is not among the rails of this supply", rail.name());
                let hint = "add it to rails, or leave it out here";
                it.says(log, node.span.clone(), what, hint);
                return None;
            }
            Some(rail)
        });
        let max = power(it, log, "max")?;
        if named.is_empty() && log.is_clean() && it.has("rails") {
            let hint = format!("write rails = [{example}]");
            it.says(log, span, "rails names none", &hint);
        }
        (!named.is_empty()).then_some(Combined { rails: named, max })
    })
}

fn guide(reader: &mut Reader, log: &mut Log) -> Option<Guide> {
    let word = reader.text(log, "guide")?;
    // the revision within a version does not matter here: ATX 3.1 is ATX 3
    let version = word.it.split('.').next().unwrap_or_default();
    let folded = crate::file::fold(version);
    let names = Guide::NAMES.iter();
    let found = names
        .clone()
        .find(|(it, _)| crate::file::fold(it) == folded);
    if found.is_none() {
        let what = format!("guide \"{}\" is not known", word.it);
        let hint = unknown_hint(version, names.map(|(it, _)| *it), "write");
        reader.says(log, word.span, what, &hint);
    }
    found.map(|(_, it)| *it)
}

const POSITIONS: [(&str, Option<Selected>); 3] = [
    ("115 V", Some(Selected::Low)),
    ("230 V", Some(Selected::High)),
    ("not known", None),
];

fn input(reader: &mut Reader, log: &mut Log) -> Input {
    let selector = reader.one_of(log, "selector", &POSITIONS);
    let Some(entry) = reader.entry("input") else {
        return selector.map_or(Input::NotTold, |it| Input::Selector(it.it));
    };
    let example = "input = { from = \"100 V\", to = \"240 V\" }";
    let Value::Table(table) = &entry.node.value else {
        let what = format!("input is {}, and a table is wanted", entry.node.kind());
        let hint = format!("write {example}");
        reader.says(log, entry.node.span.clone(), what, &hint);
        return Input::NotTold;
    };
    if selector.is_some() {
        let hint = "a supply with a selector has no range of its own: keep one of them";
        reader.says(
            log,
            entry.at.clone(),
            "input and selector both stand here",
            hint,
        );
    }
    let range = range(table, entry, &reader.element, log);
    range.map_or(Input::NotTold, |(from, to)| Input::Range { from, to })
}

fn range(table: &Table, entry: &Entry, element: &str, log: &mut Log) -> Option<(Volts, Volts)> {
    let span = entry.node.span.clone();
    let mut it = Reader::of(table, span.clone(), format!("{element}, input"));
    for (key, example) in [("from", "from = \"100 V\""), ("to", "to = \"240 V\"")] {
        if !it.has(key) {
            it.needs(key, example);
        }
    }
    let from = it.quantity::<Volts>(log, "from");
    let to = it.quantity::<Volts>(log, "to");
    let found = match (&from, &to) {
        (Some(from), Some(to)) if from.it.si() > 0.0 && from.it < to.it && to.it.si() <= 1e3 => {
            Some((from.it, to.it))
        }
        (Some(_), Some(_)) => {
            let hint = "write the lowest and the highest voltage of its label";
            it.says(log, span, "such a range cannot be", hint);
            None
        }
        _ => None,
    };
    it.done(log);
    found
}

fn efficiency(reader: &mut Reader, log: &mut Log) -> Vec<EfficiencyAt> {
    let example = "{ load = \"50 %\", efficiency = \"90 %\" }";
    let mut all = each(reader, log, "efficiency", example, |it, log, _| {
        let load = share(it, log, "load", "load = \"50 %\"", 1.5);
        let efficiency = share(it, log, "efficiency", "efficiency = \"90 %\"", 0.999);
        let (load, efficiency) = (load?, efficiency?);
        Some(EfficiencyAt { load, efficiency })
    });
    all.sort_by(|a, b| a.load.si().total_cmp(&b.load.si()));
    all
}

fn share(
    reader: &mut Reader,
    log: &mut Log,
    key: &'static str,
    example: &str,
    most: f64,
) -> Option<Fraction> {
    if !reader.has(key) {
        reader.needs(key, example);
    }
    let can_be = |it: Fraction| it.si() > 0.0 && it.si() <= most;
    within(reader, log, key, can_be, &format!("write {example}"))
}

/// Connectors with their numbers.
pub(super) fn plugs(reader: &mut Reader, log: &mut Log, key: &'static str) -> Vec<Plugs> {
    let example = "{ connector = \"sata-power\", count = 4 }";
    each(reader, log, key, example, |it, log, _| {
        if !it.has("connector") {
            it.needs("connector", "connector = \"sata-power\"");
        }
        let plug = it.one_of(log, "connector", &Plug::NAMES);
        let count = count(it, log, 64);
        Some(Plugs {
            plug: plug?.it,
            count,
        })
    })
}

fn adapters(reader: &mut Reader, log: &mut Log) -> Vec<Adapter> {
    let example = "{ from = [\"peripheral\", \"peripheral\"], to = \"graphics-6\" }";
    each(reader, log, "adapters", example, |it, log, _| {
        for (key, example) in [
            ("from", "from = [\"peripheral\"]"),
            ("to", "to = \"graphics-6\""),
        ] {
            if !it.has(key) {
                it.needs(key, example);
            }
        }
        let from = words(it, log, "from", "\"peripheral\"", |it, log, _, node| {
            it.choice(log, "from", node, &Plug::NAMES)
        });
        let to = it.one_of(log, "to", &Plug::NAMES);
        let to = to?.it;
        (!from.is_empty()).then_some(Adapter { from, to })
    })
}
