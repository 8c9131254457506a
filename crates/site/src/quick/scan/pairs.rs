//! Pairs of contacts, at one place or between two.

use super::values::{numeric, skip};
use super::{BETWEEN, Before, Mode, Scan, span};
use crate::quick::cut::Word;
use crate::quick::phrase::{self, Meaning};
use crate::quick::told::{ContactTold, End, Span, Spanned};
use crate::visit::Pin;

impl Scan<'_, '_, '_> {
    /// `desk ground to hall ground 60 V`: names before the contacts.
    pub(super) fn between_places(
        &mut self,
        rest: &[Word],
        words: &str,
        before: &mut Before,
    ) -> usize {
        const NAME: usize = 6;
        for i in 0..rest.len().min(NAME) {
            let Some((one, used)) = phrase::end(&rest[i..]) else {
                continue;
            };
            let c = i + used;
            if rest
                .get(c)
                .is_none_or(|it| !BETWEEN.contains(&it.low.as_str()))
            {
                continue;
            }
            for j in c + 1..rest.len().min(c + 1 + NAME) {
                let Some((other, used)) = phrase::end(&rest[j..]) else {
                    continue;
                };
                let end = j + used;
                let value = &rest[end + skip(&rest[end..])..];
                let has_value =
                    self.value(value).is_some() || value.first().is_some_and(|it| numeric(&it.low));
                let ends = value.is_empty() || phrase::at(value).is_some();
                if !(has_value || (self.mode == Mode::Asking && ends)) {
                    continue;
                }
                let from = ContactTold {
                    place: self.name(&rest[..i]),
                    end: one,
                    at: span(&rest[i..c]),
                };
                let to = ContactTold {
                    place: self.name(&rest[c + 1..j]),
                    end: other,
                    at: span(&rest[j..end]),
                };
                before.n_telling += 1;
                return end
                    + self.after_pair(from, to, &rest[..end], &rest[end..], None, words, before);
            }
        }
        0
    }

    pub(super) fn name(&self, words: &[Word]) -> Option<Spanned<String>> {
        let skipped = words
            .iter()
            .take_while(|it| matches!(it.low.as_str(), "the" | "between" | "from"))
            .count();
        let words = &words[skipped..];
        let at = span(words);
        (!words.is_empty()).then(|| Spanned {
            it: self
                .text(&at)
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" "),
            at,
        })
    }
}

/// A pair at the start of the words: `HN`, `hot-neutral`, `hot to neutral`, `hot neutral`, `between hot and neutral`.
pub(super) fn pair(words: &[Word]) -> Option<(ContactTold, ContactTold, usize)> {
    let first = words.first()?;
    if matches!(first.low.as_str(), "between" | "from") {
        return pair(&words[1..]).map(|(from, to, used)| (from, to, used + 1));
    }
    let contact = |end: End, at: Span| ContactTold {
        place: None,
        end,
        at,
    };
    if let Some((one, other)) = joined(&first.low) {
        return Some((
            contact(one, first.at.clone()),
            contact(other, first.at.clone()),
            1,
        ));
    }
    let (one, n) = phrase::end(words)?;
    let gap = usize::from(
        words
            .get(n)
            .is_some_and(|it| BETWEEN.contains(&it.low.as_str())),
    );
    let (other, m) = phrase::end(words.get(n + gap..)?)?;
    // legs, or metal and a contact, without a sign between them are rather a name and a contact
    let apart = |it: &End| matches!(it, End::Leg(_) | End::Metal);
    if gap == 0 && (apart(&one) || apart(&other)) {
        return None;
    }
    let end = n + gap + m;
    Some((
        contact(one, span(&words[..n])),
        contact(other, span(&words[n + gap..end])),
        end,
    ))
}

/// A pair written as one word.
pub(super) fn joined(word: &str) -> Option<(End, End)> {
    let end = |part: &str| {
        let word = Word {
            low: part.to_owned(),
            at: 0..0,
        };
        match phrase::end(std::slice::from_ref(&word)) {
            Some((it @ (End::Pin(_) | End::Leg(_)), _)) => Some(it),
            _ => None,
        }
    };
    let parts: Vec<&str> = word
        .split(['-', '–', '—', '/', '→', '_', '+', '>'])
        .filter(|it| !matches!(*it, "to" | "" | "and"))
        .collect();
    if let [one, other] = parts.as_slice() {
        return Some((end(one)?, end(other)?));
    }
    let [only] = parts.as_slice() else {
        return None;
    };
    let split = |at: usize| {
        Some((
            End::Pin(phrase::pin(only.get(..at)?)?),
            End::Pin(phrase::pin(only.get(at..)?)?),
        ))
    };
    match only.len() {
        2 if only.is_ascii() => split(1),
        3 if only.ends_with("pe") => split(1),
        _ => None,
    }
}

/// Whether these words are things told and not the name of a place.
pub(super) fn known(words: &[Word]) -> bool {
    let mut n = 0;
    let mut telling = false;
    while n < words.len() {
        let rest = &words[n..];
        let found = pair(rest)
            .map(|it| (it.2, true))
            .or_else(|| phrase::at(rest).map(|(it, used)| (used, it != Meaning::Filler)));
        let Some((used, tells)) = found else {
            return false;
        };
        telling |= tells;
        n += used;
    }
    telling
}

/// Whether an item that asks for nothing is the name of a place.
pub(super) fn names_a_place(words: &[Word]) -> bool {
    !words.is_empty()
        && pair(words).is_none()
        && words.iter().all(|it| !BETWEEN.contains(&it.low.as_str()))
        && (0..words.len())
            .all(|n| !matches!(phrase::at(&words[n..]), Some((it, _)) if it != Meaning::Filler))
}

/// Index of the lamp across two contacts.
pub(super) fn which_lamp(a: Pin, b: Pin) -> Option<usize> {
    match (a.min(b), a.max(b)) {
        (Pin::Line, Pin::Neutral) => Some(0),
        (Pin::Line, Pin::Earth) => Some(1),
        (Pin::Neutral, Pin::Earth) => Some(2),
        _ => None,
    }
}
