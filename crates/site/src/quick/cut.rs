//! A line cut into parts, items and words; each remembers where it stands.

use super::told::Span;

/// One word.
#[derive(Clone, Debug)]
pub(super) struct Word {
    /// In lower case, without the punctuation around it.
    pub low: String,
    /// Where it stands, without that punctuation.
    pub at: Span,
}

/// What stands between two commas.
#[derive(Clone, Debug)]
pub(super) struct Item {
    /// Its words.
    pub words: Vec<Word>,
    /// Where it stands.
    pub at: Span,
    /// First after a semicolon or at the beginning.
    pub starts_part: bool,
}

/// The items of a line. A comma between two digits is a decimal sign.
pub(super) fn items(line: &str) -> Vec<Item> {
    let bytes = line.as_bytes();
    let digit = |at: Option<usize>| {
        at.and_then(|it| bytes.get(it))
            .is_some_and(u8::is_ascii_digit)
    };
    let mut items = Vec::new();
    let (mut start, mut starts_part) = (0, true);
    for (at, c) in line.char_indices().chain([(line.len(), ';')]) {
        let ends_part = matches!(c, ';' | '\n');
        let comma = c == ',' && !(digit(at.checked_sub(1)) && digit(Some(at + 1)));
        if !ends_part && !comma {
            continue;
        }
        items.push(Item {
            words: words(line, start..at),
            at: trimmed(line, start..at),
            starts_part,
        });
        (start, starts_part) = (at + c.len_utf8(), ends_part);
    }
    items
}

/// The words within a part of the line.
pub(super) fn words(line: &str, within: Span) -> Vec<Word> {
    let mut words = Vec::new();
    let mut start = None;
    let text = &line[within.clone()];
    for (at, c) in text.char_indices().chain([(text.len(), ' ')]) {
        if !c.is_whitespace() {
            start.get_or_insert(at);
        } else if let Some(from) = start.take() {
            words.extend(word(line, within.start + from..within.start + at));
        }
    }
    words
}

fn word(line: &str, at: Span) -> Option<Word> {
    let raw = &line[at.clone()];
    let body = raw.trim_start_matches(['(', '[', '{', '"', '\'', '“', '=']);
    let start = at.start + raw.len() - body.len();
    let body = body.trim_end_matches([')', ']', '}', '"', '\'', '’', '”', '.', '!', '?', ':', '=']);
    let at = start..start + body.len();
    (!body.is_empty()).then(|| Word {
        low: body.to_lowercase().replace('’', "'"),
        at,
    })
}

/// The span without blanks around it.
pub(super) fn trimmed(line: &str, within: Span) -> Span {
    let text = &line[within.clone()];
    let start = within.start + text.len() - text.trim_start().len();
    start..start + text.trim().len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_does_not_part_and_others_do() {
        let cut = |line| {
            items(line)
                .iter()
                .map(|it| it.words.len())
                .collect::<Vec<_>>()
        };
        assert_eq!(cut("H-N 118,2 V, N-G 1,3 V"), [3, 3]);
        assert_eq!(cut("H-N 120 V,N-G 0 V; buzzing"), [3, 3, 1]);
        assert_eq!(cut(""), [0]);
    }

    #[test]
    fn words_know_where_they_stand() {
        let line = " é (Warm) plate.";
        let found: Vec<&str> = items(line)[0]
            .words
            .iter()
            .map(|it| &line[it.at.clone()])
            .collect();
        assert_eq!(found, ["é", "Warm", "plate"]);
    }
}
