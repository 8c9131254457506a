//! Identifiers of a file, and what refers to them. Of elements that will not read, too: one slip gives one problem.

use std::collections::HashMap;

use super::problem::Log;
use super::reader::{At, Reader, unknown_hint};
use super::tree::{Node, Span, Table, Value};

/// The elements of one kind of table.
pub(crate) struct Tables<'t> {
    pub each: Vec<(Span, &'t Table)>,
    /// Whether something stood there that is not a table, so that more may have been meant.
    pub whole: bool,
}

/// The tables under a key of the top: `[[circuit]]`.
pub(crate) fn tables<'t>(top: &mut Reader<'t>, log: &mut Log, key: &'static str) -> Tables<'t> {
    let mut tables = Tables {
        each: Vec::new(),
        whole: true,
    };
    let Some(entry) = top.entry(key) else {
        return tables;
    };
    let refuse = |log: &mut Log, node: &Node| {
        let what = format!("{key} is {}, and tables are wanted", node.kind());
        log.add(
            node.span.clone(),
            "",
            what,
            Some(format!("write [[{key}]] above each")),
        );
    };
    match &entry.node.value {
        Value::List(list) => {
            for node in list {
                match &node.value {
                    Value::Table(table) => tables.each.push((node.span.clone(), table)),
                    _ => {
                        refuse(log, node);
                        tables.whole = false;
                    }
                }
            }
        }
        Value::Table(table) => {
            refuse(log, &entry.node);
            tables.each.push((entry.node.span.clone(), table));
        }
        _ => {
            refuse(log, &entry.node);
            tables.whole = false;
        }
    }
    tables
}

/// A table being read: its reader, already asked for the identifier.
pub(crate) struct Element<'t> {
    pub reader: Reader<'t>,
    pub id: Option<At<&'t str>>,
}

/// Starts reading an element: takes its identifier and names it in messages.
pub(crate) fn element<'t>(
    log: &mut Log,
    kind: &str,
    number: usize,
    at: Span,
    table: &'t Table,
) -> Element<'t> {
    let mut reader = Reader::of(table, at, format!("{kind} {}", number + 1));
    let id = reader.needed(log, "id", &format!("id = \"{kind}-{}\"", number + 1));
    if let Some(id) = &id {
        reader.element = format!("{kind} \"{}\"", id.it);
        let bad = if id.it.trim().is_empty() {
            Some("id is empty")
        } else if id.it.contains(':') {
            Some("an id has no colon: that parts a kind from an id, as in \"panel:main\"")
        } else if id.it.trim() != id.it {
            Some("an id neither starts nor ends with a blank")
        } else {
            None
        };
        if let Some(what) = bad {
            reader.says(
                log,
                id.span.clone(),
                what,
                "write a short word, as on the label",
            );
        }
    }
    Element { reader, id }
}

/// Identifiers that may be referred to, with what they stand for.
pub(crate) struct Names<'t, T> {
    /// What is named, for messages: `circuit`.
    kind: &'static str,
    known: HashMap<&'t str, (T, Span)>,
    order: Vec<&'t str>,
    /// Whether some element has no identifier that could be read: then an unknown name may be its.
    pub partial: bool,
}

impl<'t, T: Copy> Names<'t, T> {
    pub fn of(kind: &'static str) -> Names<'t, T> {
        Names {
            kind,
            known: HashMap::new(),
            order: Vec::new(),
            partial: false,
        }
    }

    /// The same, where some of the elements may be hidden.
    pub fn partial_if(mut self, hidden: bool) -> Names<'t, T> {
        self.partial |= hidden;
        self
    }

    /// Adds an element; says so where the name is already taken.
    pub fn add(&mut self, log: &mut Log, element: &str, id: &Option<At<&'t str>>, what: T) {
        let Some(id) = id else {
            self.partial = true;
            return;
        };
        if let Some((_, first)) = self.known.get(id.it) {
            let place = log
                .line_of(first)
                .map_or_else(String::new, |line| format!("; the first is on line {line}"));
            log.add(
                id.span.clone(),
                element,
                format!("id \"{}\" is already taken", id.it),
                Some(format!("give this one another id{place}")),
            );
            return;
        }
        self.known.insert(id.it, (what, id.span.clone()));
        self.order.push(id.it);
    }

    /// What the only name stands for, where there is just one.
    pub fn only(&self) -> Option<T> {
        match self.order.as_slice() {
            [one] if !self.partial => self.get(one),
            _ => None,
        }
    }

    /// What a name stands for.
    pub fn get(&self, name: &str) -> Option<T> {
        self.known.get(name).map(|(it, _)| *it)
    }

    /// What a reference stands for. An unknown one is logged, unless the element that is meant could not be read.
    pub fn refer(&self, log: &mut Log, element: &str, key: &str, name: &At<&str>) -> Option<T> {
        let found = self.get(name.it);
        if found.is_none() && !self.partial {
            let what = format!("{key} \"{}\" is not known", name.it);
            let hint = match self.order.is_empty() {
                true => format!("there is no {} in the file", self.kind),
                false => unknown_hint(name.it, self.order.iter().copied(), "known:"),
            };
            log.add(name.span.clone(), element, what, Some(hint));
        }
        found
    }
}

/// Circles in `before[i]`, what element i hangs on: for each the elements on it, the first in the file first.
pub(crate) fn circles(before: &[Option<usize>]) -> Vec<Vec<usize>> {
    let mut seen_in = vec![usize::MAX; before.len()]; // the walk that came by
    let mut found = Vec::new();
    for start in 0..before.len() {
        let mut at = Some(start);
        while let Some(ix) = at.filter(|ix| seen_in[*ix] == usize::MAX) {
            seen_in[ix] = start;
            at = before[ix];
        }
        if let Some(ix) = at.filter(|ix| seen_in[*ix] == start) {
            let mut circle = vec![ix];
            let mut next = before[ix];
            while let Some(it) = next.filter(|it| *it != ix) {
                circle.push(it);
                next = before[it];
            }
            let first = (0..circle.len()).min_by_key(|it| circle[*it]).unwrap_or(0);
            circle.rotate_left(first);
            found.push(circle);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::circles;

    #[test]
    fn each_circle_is_found_once() {
        let before = [None, Some(0), Some(3), Some(4), Some(2), Some(2), Some(6)];
        assert_eq!(circles(&before), [vec![2, 3, 4], vec![6]]);
        assert!(circles(&[None, Some(0), Some(1)]).is_empty());
    }
}
