//! Sentences: what people tell who do not write lists. `the lights in the kitchen got very bright, then a smell of plastic`
//!
//! A sentence ends at a full stop, `;` or a line break. It is searched for the patterns of `said`; one that is denied shortly
//! before (`no`, `not`, `without`) says nothing. A sentence of which nothing is understood is kept as an observation that
//! says so, and whether its words speak of harm: nothing told is dropped.

use super::cut::{self, Word};
use super::said::{self, Pattern};
use super::told::Level;
use crate::model::{OutletIx, Site};
use crate::visit::{Condition, Lamp, Observation, Pin, Sign, Signals, Tone, Visit, Whereabouts};

/// A visit with more told of it in sentences; what belongs to an outlet is of `here`, or of the site where there is none.
/// It cannot fail: what is not understood is an observation of its own.
pub fn more_said(text: &str, site: &Site, before: &Visit, here: Option<OutletIx>) -> Visit {
    let mut visit = before.clone();
    for (sentence, heard) in sentences(text) {
        for (sign, level) in heard {
            let at = match (level, here) {
                (Level::Site, _) | (_, None) => Whereabouts::Site,
                (Level::Outlet, Some(o)) => Whereabouts::Outlet(o),
                (Level::Circuit, Some(o)) => Whereabouts::Circuit(site.outlets[o.0].circuit),
            };
            visit.observations.push(Observation {
                id: format!("o{}", visit.observations.len() + 1),
                at,
                what: sign,
                condition: Condition {
                    remark: Some(sentence.to_owned()),
                    ..Condition::default()
                },
            });
        }
    }
    visit
}

/// Each sentence of a text with what it tells; one that is not understood tells just that.
pub(super) fn sentences(text: &str) -> Vec<(&str, Vec<(Sign, Level)>)> {
    text.split([';', '\n'])
        .flat_map(|it| it.split(". "))
        .map(str::trim)
        .filter(|it| !it.is_empty())
        .map(|it| {
            let mut told = heard(it);
            if told.is_empty() {
                told.push((Sign::NotUnderstood(tone(it)), Level::Outlet));
            }
            (it, told)
        })
        .collect()
}

/// Whether words speak of harm to people or of fire.
pub(super) fn tone(sentence: &str) -> Tone {
    let words = words_of(sentence);
    match said::HARM.iter().any(|it| found(&words, it).is_some()) {
        true => Tone::Harm,
        false => Tone::Plain,
    }
}

/// What one sentence tells.
pub(super) fn heard(sentence: &str) -> Vec<(Sign, Level)> {
    let words = words_of(sentence);
    let says = |patterns: &[Pattern]| patterns.iter().any(|it| found(&words, it).is_some());
    let mut out: Vec<(Sign, Level)> = said::SIGNS
        .iter()
        .filter(|(patterns, ..)| says(patterns))
        .map(|(_, sign, level)| (*sign, *level))
        .collect();
    let first = |rows: &[(&[Pattern], Sign, Level)]| {
        let row = rows.iter().find(|(patterns, ..)| says(patterns));
        row.map(|(_, sign, level)| (*sign, *level))
    };
    out.extend(first(said::TRIPS));
    out.extend(first(said::REACHES));
    if let Some(lamps) = legend(&words) {
        // a legend is the tester's guess; what it saw is its lamps
        out.retain(|(it, _)| !matches!(it, Sign::NeutralBroken | Sign::EarthMissing));
        out.push((lamps, Level::Outlet));
    }
    out.extend(detector(&words).map(|it| (it, Level::Outlet)));
    out
}

/// A legend of a tester, or of a protector that tests the outlet it is in.
fn legend(words: &[Word]) -> Option<Sign> {
    said::TESTERS.iter().find(|it| found(words, it).is_some())?;
    let at = (0..words.len()).find_map(|n| super::phrase::legend(&words[n..]));
    let passed = || said::PASSED.iter().any(|it| found(words, it).is_some());
    let right = [Some(Lamp::Lit), Some(Lamp::Lit), Some(Lamp::Dark)];
    let lamps = match at {
        Some((lamps, _)) => lamps,
        None => passed().then_some(right)?,
    };
    let [Some(line_neutral), Some(line_earth), Some(neutral_earth)] = lamps else {
        return None;
    };
    // what passed before something happened says nothing of now
    let is_past = said::PAST.iter().any(|it| found(words, it).is_some());
    if lamps == right && is_past {
        return None;
    }
    Some(Sign::Lamps {
        line_neutral,
        line_earth,
        neutral_earth,
    })
}

/// A detector, what it does and the first slot named.
fn detector(words: &[Word]) -> Option<Sign> {
    said::DETECTORS
        .iter()
        .find(|it| found(words, it).is_some())?;
    let slot = |n: usize| {
        said::SLOTS
            .iter()
            .find(|(patterns, _)| patterns.iter().any(|it| starts(&words[n..], it)))
    };
    let pin: Pin = (0..words.len()).find_map(slot)?.1;
    let does = |patterns: &[Pattern]| patterns.iter().any(|it| found(words, it).is_some());
    let signals = match (does(said::SOUNDS), does(said::QUIET)) {
        (true, _) => Signals::Yes,
        (false, true) => Signals::No,
        (false, false) => return None,
    };
    Some(Sign::Detector { pin, signals })
}

/// Words that deny what follows within [`DENIES`] words.
const NOT: [&str; 9] = [
    "no", "not", "never", "without", "nothing", "none", "neither", "nor", "cannot",
];
/// How far a denial reaches, and how far the parts of a pattern may lie apart, in words.
const DENIES: usize = 3;
const GAP: usize = 6;

/// The sentence in words; a comma is a word, so that no denial reaches over it.
fn words_of(sentence: &str) -> Vec<Word> {
    let mut spaced = sentence.to_lowercase().replace(',', " , ");
    for harmless in said::HARMLESS {
        spaced = spaced.replace(harmless, "thing");
    }
    cut::words(&spaced, 0..spaced.len())
}

/// Where a pattern stands undenied, the first time: index of its first word.
fn found(words: &[Word], pattern: &Pattern) -> Option<usize> {
    (0..words.len())
        .find(|n| starts_loosely(&words[*n..], pattern) && !is_denied(words, *n, pattern))
}

fn is_denied(words: &[Word], at: usize, pattern: &Pattern) -> bool {
    // a pattern that begins with its own denial
    let first = pattern.trim_start_matches('=').split(' ').next();
    if denies(&words[at]) && first.is_some_and(|it| fits(&words[at].low, it)) {
        return false;
    }
    let before = &words[at.saturating_sub(DENIES)..at];
    before
        .iter()
        .rev()
        .take_while(|it| it.low != ",")
        .any(denies)
}

fn denies(word: &Word) -> bool {
    NOT.contains(&word.low.as_str()) || word.low.ends_with("n't")
}

/// The pattern at the start of the words, its parts less than [`GAP`] words apart and neither a comma
/// nor a denial between them; behind `=` there is nothing between them.
fn starts_loosely(words: &[Word], pattern: &str) -> bool {
    if let Some(tight) = pattern.strip_prefix('=') {
        return starts(words, tight);
    }
    let mut rest = words;
    for (n, part) in pattern.split(' ').enumerate() {
        let reach = if n == 0 { 1 } else { GAP };
        let goes_on = |it: &&Word| it.low != "," && (fits(&it.low, part) || !denies(it));
        let mut near = rest.iter().take_while(goes_on).take(reach);
        let Some(at) = near.position(|it| fits(&it.low, part)) else {
            return false;
        };
        rest = &rest[at + 1..];
    }
    true
}

/// The pattern at the start of the words, nothing between its parts.
fn starts(words: &[Word], pattern: &str) -> bool {
    let mut parts = pattern.split(' ').enumerate();
    parts.all(|(n, part)| words.get(n).is_some_and(|it| fits(&it.low, part)))
}

/// Whether a word is one of `a|b*`; a star stands for any ending.
fn fits(word: &str, part: &str) -> bool {
    part.split('|').any(|it| match it.strip_suffix('*') {
        Some(stem) => word.starts_with(stem),
        None => word == it,
    })
}

#[cfg(test)]
mod tests;
