//! The words and signs that stand around the numbers of a reading.

/// What stands before a number and how it widens it. The longer of two that begin alike stands first.
const LEADS: &[(&str, Lead)] = &[
    ("no more than", Lead::UpTo),
    ("not more than", Lead::UpTo),
    ("no less than", Lead::AtLeast),
    ("not less than", Lead::AtLeast),
    ("less than", Lead::UpTo),
    ("more than", Lead::AtLeast),
    ("up to", Lead::UpTo),
    ("at most", Lead::UpTo),
    ("at least", Lead::AtLeast),
    ("under", Lead::UpTo),
    ("below", Lead::UpTo),
    ("over", Lead::AtLeast),
    ("above", Lead::AtLeast),
    ("<=", Lead::UpTo),
    (">=", Lead::AtLeast),
    ("<", Lead::UpTo),
    (">", Lead::AtLeast),
    ("≤", Lead::UpTo),
    ("≥", Lead::AtLeast),
    ("approximately", Lead::About),
    ("approx.", Lead::About),
    ("approx", Lead::About),
    ("roughly", Lead::About),
    ("about", Lead::About),
    ("around", Lead::About),
    ("nearly", Lead::About),
    ("almost", Lead::About),
    ("circa", Lead::About),
    ("some", Lead::About),
    ("ca.", Lead::About),
    ("~", Lead::About),
    ("≈", Lead::About),
    ("between", Lead::Range),
    ("from", Lead::Range),
];

/// What may stand between two numbers.
pub(super) const BETWEEN: &[&str] = &["...", "..", "…", "–", "—", "-", " to ", " and "];

/// What stands between a number and its doubt.
pub(super) const PLUS_MINUS: &[&str] = &["±", "+/-", "+-"];

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Lead {
    None,
    UpTo,
    AtLeast,
    About,
    Range,
}

/// The words in front, if any, and where they end; `lower` is in ASCII lower case.
pub(super) fn lead_of(lower: &str) -> (Lead, usize) {
    let start = lower.len() - lower.trim_start().len();
    let rest = &lower[start..];
    let found = LEADS.iter().find(|(words, _)| {
        rest.strip_prefix(words).is_some_and(|after| {
            let is_sign = !words.starts_with(|c: char| c.is_ascii_alphabetic());
            is_sign
                || after.starts_with(|c: char| c.is_whitespace() || c.is_ascii_digit() || c == '-')
        })
    });
    found.map_or((Lead::None, start), |(words, lead)| {
        (*lead, start + words.len())
    })
}
