//! JSON text to a tree with places. `serde_json` says what is wrong with the syntax; the scan below then only has to
//! find where everything stands in a text that is known to be sound.

use super::problem::Log;
use super::tree::{Entry, Node, Table, Value};

/// The tree of a JSON text, an empty table where it is not JSON or not an object.
pub(crate) fn read(text: &str, log: &mut Log) -> Table {
    let Some(node) = node(text, log) else {
        return Table::default();
    };
    match node.value {
        Value::Table(table) => table,
        _ => {
            let what = format!("an object is wanted here, found {}", node.kind());
            log.add(node.span, "", what, Some("write { ... }".to_owned()));
            Table::default()
        }
    }
}

/// What a JSON text says, whatever it is; nothing where it is not JSON. A key that stands twice is a problem.
pub(crate) fn node(text: &str, log: &mut Log) -> Option<Node> {
    if let Err(error) = serde_json::from_str::<serde_json::Value>(text) {
        let at = offset_of(text, error.line(), error.column());
        let message = error.to_string();
        let what = message.split(" at line ").next().unwrap_or(&message);
        log.add(at..at, "", what.to_owned(), None);
        return None;
    }
    let Some(Some(node)) = (Scan { text, at: 0 }).node() else {
        log.add(0..0, "", "there is no object here".to_owned(), None);
        return None;
    };
    nested(&node, log);
    Some(node)
}

/// JSON lets a key stand twice; one of the two would be lost without a word.
fn doubles(table: &Table, log: &mut Log) {
    let mut seen = std::collections::HashSet::new();
    for entry in &table.0 {
        if !seen.insert(entry.key.as_str()) {
            let what = format!("key \"{}\" stands here twice", entry.key);
            let hint = Some("keep one of them".to_owned());
            log.add(entry.at.clone(), "", what, hint);
        }
        nested(&entry.node, log);
    }
}

fn nested(node: &Node, log: &mut Log) {
    match &node.value {
        Value::Table(it) => doubles(it, log),
        Value::List(it) => it.iter().for_each(|each| nested(each, log)),
        _ => {}
    }
}

/// Byte offset of a line and a byte column, both counted from 1 (a column of 0 is the end of the line before).
fn offset_of(text: &str, line: usize, column: usize) -> usize {
    let start: usize = text
        .split_inclusive('\n')
        .take(line.saturating_sub(1))
        .map(str::len)
        .sum();
    let mut at = (start + column.saturating_sub(1)).min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

struct Scan<'t> {
    text: &'t str,
    at: usize,
}

impl Scan<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn blank(&mut self) {
        while matches!(self.peek(), Some(b' ' | b'\n' | b'\r' | b'\t')) {
            self.at += 1;
        }
    }

    /// Steps over `byte` and the blanks before it, if it is next.
    fn takes(&mut self, byte: u8) -> bool {
        self.blank();
        let found = self.peek() == Some(byte);
        self.at += usize::from(found);
        found
    }

    /// A value; within it nothing for null, and nothing at all where the text is not what it was said to be.
    fn node(&mut self) -> Option<Option<Node>> {
        self.blank();
        let start = self.at;
        let value = match self.peek()? {
            b'{' => Value::Table(self.table()?),
            b'[' => Value::List(self.list()?),
            b'"' => Value::Text(self.string()?),
            _ => match self.word()? {
                Some(it) => it,
                None => return Some(None),
            },
        };
        Some(Some(Node {
            span: start..self.at,
            value,
        }))
    }

    fn table(&mut self) -> Option<Table> {
        self.takes(b'{');
        let mut entries = Vec::new();
        while !self.takes(b'}') {
            self.takes(b',');
            self.blank();
            let start = self.at;
            let key = self.string()?;
            let at = start..self.at;
            if !self.takes(b':') {
                return None;
            }
            // null says nothing, as if the key were not there
            if let Some(node) = self.node()? {
                entries.push(Entry { key, at, node });
            }
        }
        Some(Table(entries))
    }

    fn list(&mut self) -> Option<Vec<Node>> {
        self.takes(b'[');
        let mut nodes = Vec::new();
        while !self.takes(b']') {
            self.takes(b',');
            nodes.extend(self.node()?);
        }
        Some(nodes)
    }

    fn string(&mut self) -> Option<String> {
        let start = self.at;
        if self.peek() != Some(b'"') {
            return None;
        }
        self.at += 1;
        loop {
            match self.peek()? {
                b'\\' => self.at += 2,
                b'"' => break,
                _ => self.at += 1,
            }
        }
        self.at += 1;
        serde_json::from_str(self.text.get(start..self.at)?).ok()
    }

    fn word(&mut self) -> Option<Option<Value>> {
        let start = self.at;
        while !matches!(
            self.peek(),
            None | Some(b',' | b']' | b'}' | b' ' | b'\n' | b'\r' | b'\t')
        ) {
            self.at += 1;
        }
        Some(match self.text.get(start..self.at)? {
            "" => return None,
            "true" => Some(Value::Flag(true)),
            "false" => Some(Value::Flag(false)),
            "null" => None,
            number => Some(Value::Number(number.to_owned())),
        })
    }
}
