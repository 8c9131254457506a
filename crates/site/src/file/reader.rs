//! Reading a table key by key: what is there is converted, what is wrong is logged, what nobody asked for is named.
//!
//! One slip gives one problem: a key that is misspelt is not also reported as missing.

use std::str::FromStr;

use metrology::QuantityError;

use super::near::{a_slip_from, fold, listed, nearest};
use super::problem::Log;
use super::tree::{Entry, Node, Span, Table, Value};

/// A value and where it stands.
#[derive(Clone, Debug)]
pub(crate) struct At<T> {
    pub span: Span,
    pub it: T,
}

/// Reads one table.
pub(crate) struct Reader<'t> {
    table: &'t Table,
    /// Where the table starts, for what is missing.
    at: Span,
    /// What the table describes, as `circuit "A4"`.
    pub element: String,
    asked: Vec<&'static str>,
    missing: Vec<(&'static str, String)>,
}

impl<'t> Reader<'t> {
    pub fn of(table: &'t Table, at: Span, element: String) -> Reader<'t> {
        Reader {
            table,
            at: first_line(table, at),
            element,
            asked: Vec::new(),
            missing: Vec::new(),
        }
    }

    /// The entry under a key, if any.
    pub fn entry(&mut self, key: &'static str) -> Option<&'t Entry> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        self.table.get(key)
    }

    /// Whether a key is there, whatever it says.
    pub fn has(&self, key: &str) -> bool {
        self.table.get(key).is_some()
    }

    /// Where the table stands, for a problem of the whole.
    pub fn at(&self) -> Span {
        self.at.clone()
    }

    /// Logs a problem of this table.
    pub fn says(&self, log: &mut Log, span: Span, what: impl Into<String>, hint: &str) {
        let hint = (!hint.is_empty()).then(|| hint.to_owned());
        log.add(span, &self.element, what.into(), hint);
    }

    /// Remembers that a key is missing; said by [`Reader::done`], unless a misspelt key stands for it.
    pub fn needs(&mut self, key: &'static str, example: &str) {
        self.missing.push((key, example.to_owned()));
    }

    /// A text.
    pub fn text(&mut self, log: &mut Log, key: &'static str) -> Option<At<&'t str>> {
        let node = &self.entry(key)?.node;
        match &node.value {
            Value::Text(it) => Some(At {
                span: node.span.clone(),
                it,
            }),
            Value::Number(it) => {
                let what = format!("{key} {it} is a bare number, and a text is wanted");
                self.says(log, node.span.clone(), what, &format!("write \"{it}\""));
                None
            }
            _ => {
                let what = format!("{key} is {}, and a text is wanted", node.kind());
                self.says(log, node.span.clone(), what, "write a text in quotes");
                None
            }
        }
    }

    /// A text that has to be there.
    pub fn needed(
        &mut self,
        log: &mut Log,
        key: &'static str,
        example: &str,
    ) -> Option<At<&'t str>> {
        if self.table.get(key).is_none() {
            self.asked.push(key);
            self.needs(key, example);
            return None;
        }
        self.text(log, key)
    }

    /// A text that has to be there and holds a quantity: a bare number is taken too, and refused by its unit.
    pub fn needed_or_number(
        &mut self,
        log: &mut Log,
        key: &'static str,
        example: &str,
    ) -> Option<At<&'t str>> {
        match self.table.get(key).map(|it| &it.node) {
            Some(Node {
                span,
                value: Value::Number(it),
            }) => {
                self.asked.push(key);
                let span = span.clone();
                Some(At { span, it })
            }
            _ => self.needed(log, key, example),
        }
    }

    /// A quantity such as `"20 A"`.
    pub fn quantity<Q: FromStr<Err = QuantityError>>(
        &mut self,
        log: &mut Log,
        key: &'static str,
    ) -> Option<At<Q>> {
        let node = &self.entry(key)?.node;
        let read = self.quantity_of(log, key, node)?;
        Some(At {
            span: node.span.clone(),
            it: read,
        })
    }

    /// A node as a quantity; a bare number is refused with the unit that is missing.
    pub fn quantity_of<Q: FromStr<Err = QuantityError>>(
        &self,
        log: &mut Log,
        key: &str,
        node: &Node,
    ) -> Option<Q> {
        let (shown, read) = match &node.value {
            Value::Text(it) => (format!("\"{it}\""), it.parse::<Q>()),
            Value::Number(it) => (it.clone(), it.parse::<Q>()),
            _ => {
                let what = format!("{key} is {}, and a quantity is wanted", node.kind());
                self.says(
                    log,
                    node.span.clone(),
                    what,
                    "write a number with its unit in quotes",
                );
                return None;
            }
        };
        match read {
            Ok(it) if matches!(node.value, Value::Text(_)) => Some(it),
            Ok(_) => {
                let hint = format!("write \"{shown}\"");
                self.says(
                    log,
                    node.span.clone(),
                    format!("{key} {shown} is not in quotes"),
                    &hint,
                );
                None
            }
            Err(error) => {
                let what = refusal(key, &shown, &error);
                let hint =
                    error
                        .hint
                        .as_deref()
                        .unwrap_or(match error.what.contains("below zero") {
                            true => "write it without the minus",
                            false => "correct the number",
                        });
                self.says(log, node.span.clone(), what, hint);
                None
            }
        }
    }

    /// One of a few words; `options` are (word, meaning).
    pub fn one_of<T: Copy>(
        &mut self,
        log: &mut Log,
        key: &'static str,
        options: &[(&str, T)],
    ) -> Option<At<T>> {
        let node = &self.entry(key)?.node;
        let it = self.choice(log, key, node, options)?;
        Some(At {
            span: node.span.clone(),
            it,
        })
    }

    /// A node as one of a few words. `true` and `false` are taken as `yes` and `no`.
    pub fn choice<T: Copy>(
        &self,
        log: &mut Log,
        key: &str,
        node: &Node,
        options: &[(&str, T)],
    ) -> Option<T> {
        let word = match &node.value {
            Value::Text(it) => it.as_str(),
            Value::Flag(true) => "yes",
            Value::Flag(false) => "no",
            Value::Number(it) => it,
            _ => {
                let what = format!("{key} is {}, and a word is wanted", node.kind());
                let hint = format!("write {}", listed(options.iter().map(|(it, _)| *it)));
                self.says(log, node.span.clone(), what, &hint);
                return None;
            }
        };
        let folded = fold(word);
        if let Some((_, it)) = options.iter().find(|(option, _)| fold(option) == folded) {
            return Some(*it);
        }
        let hint = unknown_hint(word, options.iter().map(|(it, _)| *it), "write");
        let what = format!("{key} \"{word}\" is not known");
        self.says(log, node.span.clone(), what, &hint);
        None
    }

    /// Whether a key that nobody asked for is a misspelling of this one.
    pub fn stands_for(&self, key: &str) -> bool {
        let known = |it: &&Entry| !self.asked.contains(&it.key.as_str());
        let mut others = self.table.0.iter().filter(known);
        others.any(|it| nearest(&it.key, [key]).is_some())
    }

    /// Ends the reading of a table of which only a part is known: keys that nobody asked for are let be.
    pub fn done_with_others(self, log: &mut Log) {
        self.say_missing(log);
    }

    /// The same, but a key that is a slip away from one that is known and not there is named.
    pub fn done_with_far_others(self, log: &mut Log) {
        let free = |it: &&'static str| !self.has(it);
        for entry in &self.table.0 {
            if self.asked.contains(&entry.key.as_str()) {
                continue;
            }
            if let Some(meant) = a_slip_from(&entry.key, self.asked.iter().copied().filter(free)) {
                let what = format!("unknown key \"{}\"", entry.key);
                let hint = format!("did you mean \"{meant}\"?");
                log.add(entry.at.clone(), &self.element, what, Some(hint));
            }
        }
        self.say_missing(log);
    }

    /// Ends the reading: names the keys that nobody asked for, and those that are missing.
    pub fn done(mut self, log: &mut Log) {
        let known = self.asked.iter().copied();
        let free: Vec<&str> = known.filter(|key| !self.has(key)).collect();
        for entry in &self.table.0 {
            if self.asked.contains(&entry.key.as_str()) {
                continue;
            }
            let meant = nearest(&entry.key, free.iter().copied());
            if let Some(meant) = meant {
                self.missing.retain(|(key, _)| *key != meant);
            }
            let hint = match meant.or_else(|| nearest(&entry.key, self.asked.iter().copied())) {
                Some(meant) => format!("did you mean \"{meant}\"?"),
                None => format!("known here: {}", listed(self.asked.iter().copied())),
            };
            let what = format!("unknown key \"{}\"", entry.key);
            log.add(entry.at.clone(), &self.element, what, Some(hint));
        }
        self.say_missing(log);
    }

    fn say_missing(&self, log: &mut Log) {
        for (key, example) in &self.missing {
            let what = format!("{key} is missing");
            log.add(
                self.at.clone(),
                &self.element,
                what,
                Some(format!("write {example}")),
            );
        }
    }
}

/// `did you mean "x"?`, or what may be written.
pub(crate) fn unknown_hint<'a>(
    word: &str,
    options: impl Iterator<Item = &'a str> + Clone,
    or: &str,
) -> String {
    match nearest(word, options.clone()) {
        Some(meant) => format!("did you mean \"{meant}\"?"),
        None => format!("{or} {}", listed(options)),
    }
}

/// `breaker "20" has no unit`, from `20 has no unit`.
pub(crate) fn refusal(key: &str, shown: &str, error: &QuantityError) -> String {
    if error.what.ends_with("has no unit") {
        format!("{key} {shown} has no unit")
    } else if error.what.starts_with('"') {
        format!("{key}: {}", error.what)
    } else {
        format!("{key} {shown}: {}", error.what)
    }
}

/// The place of a table for problems of the whole: its header, or its first character.
fn first_line(table: &Table, at: Span) -> Span {
    let start = at.start;
    let first = table.0.iter().map(|it| it.at.start).min().unwrap_or(at.end);
    if first > start {
        start..first.min(at.end.max(start))
    } else {
        start..at.end.min(first.max(start + 1))
    }
}
