//! TOML text to a tree with places; every syntax error at once.

use toml::de::{DeTable, DeValue};

use super::problem::Log;
use super::tree::{Entry, Node, Table, Value};

/// The tree of a TOML text. What is broken is logged, what can be read is still there.
pub(crate) fn read(text: &str, log: &mut Log) -> Table {
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in &errors {
        let span = error.span().unwrap_or(0..0);
        log.add(span, "", sentence(error.message()), None);
    }
    table_of(table.get_ref())
}

/// The parser's message on one line.
fn sentence(message: &str) -> String {
    message.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn table_of(table: &DeTable<'_>) -> Table {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref().to_string(),
            at: key.span(),
            node: node_of(value.get_ref(), value.span()),
        })
        .collect();
    entries.sort_by_key(|it| it.at.start); // the parser's table is sorted by name
    Table(entries)
}

fn node_of(value: &DeValue<'_>, span: std::ops::Range<usize>) -> Node {
    let value = match value {
        DeValue::String(it) => Value::Text(it.to_string()),
        DeValue::Integer(it) => Value::Number(decimal(it)),
        DeValue::Float(it) => Value::Number(it.to_string()),
        DeValue::Boolean(it) => Value::Flag(*it),
        DeValue::Datetime(it) => Value::Moment(it.to_string()),
        DeValue::Array(it) => Value::List(
            it.iter()
                .map(|each| node_of(each.get_ref(), each.span()))
                .collect(),
        ),
        DeValue::Table(it) => Value::Table(table_of(it)),
    };
    Node { span, value }
}

/// A whole number in decimal, whatever the base it was written in.
fn decimal(number: &toml::de::DeInteger<'_>) -> String {
    match number.radix() {
        10 => number.to_string(),
        radix => i128::from_str_radix(number.as_str(), radix)
            .map_or_else(|_| number.to_string(), |it| it.to_string()),
    }
}
