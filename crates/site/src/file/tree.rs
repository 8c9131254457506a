//! What a file says, whatever its form: values that remember where they stand.

use std::ops::Range;

/// Where something stands in the text, in bytes. Empty at 0 where there is no text (a value handed over in memory).
pub(crate) type Span = Range<usize>;

/// A value with its place.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub span: Span,
    pub value: Value,
}

/// A value of TOML or JSON.
#[derive(Clone, Debug)]
pub(crate) enum Value {
    Text(String),
    /// As it was written, so that a message can show it.
    Number(String),
    Flag(bool),
    /// A TOML date, time or both, as written.
    Moment(String),
    List(Vec<Node>),
    Table(Table),
}

/// Keys and values in the order they were written.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table(pub Vec<Entry>);

/// A key with its value.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub key: String,
    pub at: Span,
    pub node: Node,
}

impl Table {
    /// The entry under a key.
    pub fn get(&self, key: &str) -> Option<&Entry> {
        self.0.iter().find(|it| it.key == key)
    }
}

impl Node {
    /// What kind of value it is, for messages.
    pub fn kind(&self) -> &'static str {
        match &self.value {
            Value::Text(_) => "a text",
            Value::Number(_) => "a bare number",
            Value::Flag(_) => "true or false",
            Value::Moment(_) => "a date or time",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
        }
    }

    /// The same without places, as JSON; dates become texts.
    pub fn plain(&self) -> serde_json::Value {
        use serde_json::Value as Json;
        match &self.value {
            Value::Text(it) | Value::Moment(it) => Json::String(it.clone()),
            Value::Number(it) => number(it),
            Value::Flag(it) => Json::Bool(*it),
            Value::List(it) => Json::Array(it.iter().map(Node::plain).collect()),
            Value::Table(it) => it.plain(),
        }
    }
}

impl Table {
    /// The same without places, as JSON.
    pub fn plain(&self) -> serde_json::Value {
        serde_json::Value::Object(
            self.0
                .iter()
                .map(|it| (it.key.clone(), it.node.plain()))
                .collect(),
        )
    }

    /// From a JSON value in memory, which has no places.
    pub fn of(object: &serde_json::Map<String, serde_json::Value>) -> Table {
        Table(
            object
                .iter()
                .filter(|(_, value)| !value.is_null())
                .map(|(key, value)| Entry {
                    key: key.clone(),
                    at: 0..0,
                    node: node_of(value),
                })
                .collect(),
        )
    }
}

fn node_of(value: &serde_json::Value) -> Node {
    use serde_json::Value as Json;
    let value = match value {
        Json::Null => Value::Table(Table::default()), // not reached: null is left out, it says nothing
        Json::Bool(it) => Value::Flag(*it),
        Json::Number(it) => Value::Number(it.to_string()),
        Json::String(it) => Value::Text(it.clone()),
        Json::Array(it) => Value::List(it.iter().filter(|it| !it.is_null()).map(node_of).collect()),
        Json::Object(it) => Value::Table(Table::of(it)),
    };
    Node { span: 0..0, value }
}

/// A number as written; what JSON cannot hold (`inf`, `nan`, `0x1F`) stays a text.
fn number(written: &str) -> serde_json::Value {
    let plain = written.replace('_', "");
    let plain = plain.strip_prefix('+').unwrap_or(&plain);
    serde_json::from_str::<serde_json::Number>(plain).map_or_else(
        |_| serde_json::Value::String(written.to_owned()),
        serde_json::Value::Number,
    )
}
