//! The words people use for contacts and pairs of contacts, of any region: `hot-neutral`, `L-PE`, `N/G`.

use crate::visit::Pin;

/// What a word for a contact means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// Line, the only or the first one.
    Line,
    /// The first of two lines, named as such.
    FirstLine,
    /// The second of two lines.
    SecondLine,
    /// Neutral.
    Neutral,
    /// Earth.
    Earth,
}

const WORDS: [(&[&str], Role); 5] = [
    (
        &["line", "hot", "live", "phase", "l", "h", "active"],
        Role::Line,
    ),
    (
        &["line1", "hot1", "phase1", "l1", "h1", "leg1", "x"],
        Role::FirstLine,
    ),
    (
        &["line2", "hot2", "phase2", "l2", "h2", "leg2", "y"],
        Role::SecondLine,
    ),
    (&["neutral", "n", "neut", "return"], Role::Neutral),
    (
        &["earth", "ground", "g", "e", "pe", "gnd", "egc", "grounding"],
        Role::Earth,
    ),
];

/// What may stand between the two contacts of a pair.
const BETWEEN: [&str; 8] = ["-", "–", "—", "/", "_", " to ", " and ", ":"];

/// What people write without anything between.
const GLUED: [(&str, Role, Role); 13] = [
    ("ln", Role::Line, Role::Neutral),
    ("hn", Role::Line, Role::Neutral),
    ("le", Role::Line, Role::Earth),
    ("lg", Role::Line, Role::Earth),
    ("hg", Role::Line, Role::Earth),
    ("lpe", Role::Line, Role::Earth),
    ("ne", Role::Neutral, Role::Earth),
    ("ng", Role::Neutral, Role::Earth),
    ("npe", Role::Neutral, Role::Earth),
    ("gn", Role::Earth, Role::Neutral),
    ("l1l2", Role::FirstLine, Role::SecondLine),
    ("ll", Role::FirstLine, Role::SecondLine),
    ("hh", Role::FirstLine, Role::SecondLine),
];

/// The contact that a word means; case and blanks do not count.
pub fn role(word: &str) -> Option<Role> {
    let word = squeezed(word);
    let known = |(words, _): &&(&[&str], Role)| words.contains(&word.as_str());
    WORDS.iter().find(known).map(|(_, it)| *it)
}

/// The two contacts that a pair means. `line-line` is the first and the second line.
pub fn roles(pair: &str) -> Option<(Role, Role)> {
    let pair = pair.trim().to_lowercase();
    for between in BETWEEN {
        if let Some((a, b)) = pair.split_once(between)
            && let (Some(a), Some(b)) = (role(a), role(b))
        {
            return Some(match (a, b) {
                (Role::Line, Role::Line) => (Role::FirstLine, Role::SecondLine),
                other => other,
            });
        }
    }
    let pair = squeezed(&pair);
    let glued = GLUED.iter().find(|(it, ..)| *it == pair);
    glued.map(|(_, a, b)| (*a, *b))
}

fn squeezed(word: &str) -> String {
    let letters = word.chars().filter(|it| !it.is_whitespace());
    letters.flat_map(char::to_lowercase).collect()
}

/// Words for something at true earth potential.
pub fn is_true_earth(words: &str) -> bool {
    const WORDS: [&str; 12] = [
        "true earth",
        "true ground",
        "earth rod",
        "ground rod",
        "rod",
        "water pipe",
        "pipe",
        "soil",
        "damp ground",
        "remote earth",
        "reference earth",
        "building steel",
    ];
    WORDS.contains(&words.trim().to_lowercase().as_str())
}

/// How many lines an outlet has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lines {
    /// Line and neutral.
    One,
    /// Two lines and no neutral.
    Two,
}

impl Role {
    /// The contact of an outlet by this name, if it has one.
    pub fn pin(self, lines: Lines) -> Option<Pin> {
        match (self, lines) {
            (Role::Line | Role::FirstLine, _) => Some(Pin::Line),
            (Role::Neutral, Lines::One) | (Role::SecondLine, Lines::Two) => Some(Pin::Neutral),
            (Role::Earth, _) => Some(Pin::Earth),
            (Role::Neutral, Lines::Two) | (Role::SecondLine, Lines::One) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_wording_of_a_pair_is_read() {
        let (l, n, e) = (Role::Line, Role::Neutral, Role::Earth);
        let mut misses = Vec::new();
        for (wanted, wordings) in [
            (
                (l, n),
                &[
                    "line-neutral",
                    "hot-neutral",
                    "Hot - Neutral",
                    "live/neutral",
                    "phase to neutral",
                    "L-N",
                    "H-N",
                    "LN",
                    "hn",
                    "l–n",
                    "hot_neutral",
                    "active-neutral",
                ][..],
            ),
            (
                (l, e),
                &[
                    "line-earth",
                    "hot-ground",
                    "HOT-GROUND",
                    "L-PE",
                    "H-G",
                    "hot to ground",
                    "live-earth",
                    "lpe",
                    "hg",
                ],
            ),
            (
                (n, e),
                &[
                    "neutral-earth",
                    "neutral-ground",
                    "N-G",
                    "N-E",
                    "N-PE",
                    "ng",
                    "neutral and ground",
                    "n/gnd",
                ],
            ),
            ((n, l), &["neutral-line", "neutral-hot", "N-L"]),
            ((e, n), &["ground-neutral", "earth-neutral", "gn"]),
            (
                (Role::FirstLine, Role::SecondLine),
                &[
                    "line-line",
                    "hot-hot",
                    "L1-L2",
                    "hot 1 - hot 2",
                    "leg1-leg2",
                    "x-y",
                    "ll",
                ],
            ),
        ] {
            for wording in wordings {
                if roles(wording) != Some(wanted) {
                    misses.push(format!("{wording}: {:?}", roles(wording)));
                }
            }
        }
        assert!(misses.is_empty(), "{misses:#?}");
        for wrong in ["", "-", "line", "line-", "red-black", "line neutral earth"] {
            assert_eq!(roles(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn an_outlet_of_two_lines_has_no_neutral() {
        assert_eq!(Role::Neutral.pin(Lines::Two), None);
        assert_eq!(Role::SecondLine.pin(Lines::Two), Some(Pin::Neutral));
        assert_eq!(Role::SecondLine.pin(Lines::One), None);
    }
}
