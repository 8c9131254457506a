//! What stands within the table of a machine or a supply: lists of tables and of words, numbers, dates, quantities.

use jiff::civil::Date;
use metrology::{Celsius, QuantityError, Watts};

use crate::file::problem::Log;
use crate::file::reader::Reader;
use crate::file::tree::{Entry, Node, Span, Value};

/// A power above zero that a machine can have.
pub(super) fn power(reader: &mut Reader, log: &mut Log, key: &'static str) -> Option<Watts> {
    let can_be = |it: Watts| it.si() > 0.0 && it.si() <= 1e5;
    let hint = "write a power above zero, as \"65 W\"";
    within(reader, log, key, can_be, hint)
}

/// Temperature of air around a machine.
pub(super) fn air(reader: &mut Reader, log: &mut Log, key: &'static str) -> Option<Celsius> {
    let can_be = |it: Celsius| (-40.0..=100.0).contains(&it.si());
    within(
        reader,
        log,
        key,
        can_be,
        "write a temperature, as \"40 °C\"",
    )
}

/// A date, as 2024-05-01.
pub(super) fn date(reader: &mut Reader, log: &mut Log, key: &'static str) -> Option<Date> {
    let node = &reader.entry(key)?.node;
    let read = match &node.value {
        Value::Text(it) | Value::Moment(it) => it.trim().parse().ok(),
        _ => None,
    };
    if read.is_none() {
        let what = format!("{key} is not a date");
        let hint = format!("write year, month and day: {key} = 2024-05-01");
        reader.says(log, node.span.clone(), what, &hint);
    }
    read
}

/// A list of tables within a table; each is read by itself, and what it does not know is named.
pub(super) fn each<'t, T>(
    reader: &mut Reader<'t>,
    log: &mut Log,
    key: &'static str,
    example: &str,
    mut read: impl FnMut(&mut Reader<'t>, &mut Log, Span) -> Option<T>,
) -> Vec<T> {
    let Some(entry) = reader.entry(key) else {
        return Vec::new();
    };
    let wanted = |log: &mut Log, node: &Node| {
        let what = format!("{key} is {}, and a list of tables is wanted", node.kind());
        reader.says(
            log,
            node.span.clone(),
            what,
            &format!("write {key} = [{example}]"),
        );
    };
    let Value::List(list) = &entry.node.value else {
        wanted(log, &entry.node);
        return Vec::new();
    };
    let mut all = Vec::new();
    for (n, node) in list.iter().enumerate() {
        let Value::Table(table) = &node.value else {
            wanted(log, node);
            continue;
        };
        let element = format!("{}, {key} {}", reader.element, n + 1);
        let mut inner = Reader::of(table, node.span.clone(), element);
        all.extend(read(&mut inner, log, node.span.clone()));
        inner.done(log);
    }
    all
}

/// How many there are of something; one where it is not told.
pub(super) fn count(reader: &mut Reader, log: &mut Log, most: u32) -> u32 {
    let Some(Entry { node, .. }) = reader.entry("count") else {
        return 1;
    };
    let read = match &node.value {
        Value::Number(it) => it.parse::<u32>().ok(),
        _ => None,
    };
    match read {
        Some(it) if (1..=most).contains(&it) => it,
        _ => {
            let what = format!("count is not a number from 1 to {most}");
            reader.says(log, node.span.clone(), what, "write count = 2");
            1
        }
    }
}

/// A list of words, each read by itself.
pub(super) fn words<'t, T>(
    reader: &mut Reader<'t>,
    log: &mut Log,
    key: &'static str,
    example: &str,
    mut read: impl FnMut(&Reader<'t>, &mut Log, &str, &'t Node) -> Option<T>,
) -> Vec<T> {
    let Some(entry) = reader.entry(key) else {
        return Vec::new();
    };
    let Value::List(list) = &entry.node.value else {
        let what = format!("{key} is {}, and a list is wanted", entry.node.kind());
        let hint = format!("write {key} = [{example}]");
        reader.says(log, entry.node.span.clone(), what, &hint);
        return Vec::new();
    };
    let mut all = Vec::new();
    for node in list {
        match &node.value {
            Value::Text(it) => all.extend(read(reader, log, it, node)),
            _ => {
                let what = format!("{key} holds {}, and words are wanted", node.kind());
                let hint = format!("write {key} = [{example}]");
                reader.says(log, node.span.clone(), what, &hint);
            }
        }
    }
    all
}

/// A quantity that has to be possible.
pub(super) fn within<Q: std::str::FromStr<Err = QuantityError> + Copy + std::fmt::Display>(
    reader: &mut Reader,
    log: &mut Log,
    key: &'static str,
    holds: impl Fn(Q) -> bool,
    hint: &str,
) -> Option<Q> {
    let it = reader.quantity::<Q>(log, key)?;
    if !holds(it.it) {
        let what = format!("{key} of {} cannot be", it.it);
        reader.says(log, it.span, what, hint);
        return None;
    }
    Some(it.it)
}
