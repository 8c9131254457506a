//! Actions, odds and sizes in words. What a verdict is worth is decided below; here it is only said.

use site::finding::{Action, Use, Verdict, When, Who};
use site::region::Words;

/// An action as one sentence part: `take it out of use; it is for a licensed electrician, now`.
pub fn action(action: Action, words: &Words) -> String {
    let stays = match action.use_ {
        Use::Yes => "it may stay in use",
        Use::Restricted => "use it only as the caution says",
        Use::Stop => "take it out of use",
    };
    let whose = match action.who {
        Who::Nobody => return stays.to_owned(),
        Who::Owner => "the owner's".to_owned(),
        Who::Technician => "the technician's".to_owned(),
        Who::Electrician => format!("a {}'s", words.electrician),
        Who::Utility => format!("{}'s", words.utility),
    };
    let by = match action.when {
        When::None => "",
        When::Plan => ", with the next planned work",
        When::Soon => ", within days",
        When::Now => ", now",
    };
    format!("{stays}; it is {whose}{by}")
}

/// The word of a verdict.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Good => "Good",
        Verdict::Advice => "Advice",
        Verdict::Undecided => "Undecided",
        Verdict::Defect => "Defect",
        Verdict::Danger => "Danger",
    }
}

/// A headline behind its verdict, whose word need not stand twice.
pub fn headline(text: &str) -> String {
    trace::words::sentence(text.strip_prefix("DANGER: ").unwrap_or(text))
}

/// Weights smaller than this, natural logarithms of a likelihood ratio, speak neither way.
pub const NEITHER: f64 = 0.2;

/// How much a reading speaks for a cause, from the natural logarithm of its likelihood ratio.
pub fn weight(weight: f64) -> String {
    let odds = match weight.abs().exp() {
        it if it > 1000.0 => "over 1000".to_owned(),
        it if it < 10.0 => format!("{it:.1}"),
        it => format!("{it:.0}"),
    };
    match weight {
        it if !it.is_finite() => "no figure".to_owned(),
        it if it.abs() < NEITHER => "speaks neither way".to_owned(),
        it if it > 0.0 => format!("for it, {odds} : 1"),
        _ => format!("against it, {odds} : 1"),
    }
}

/// A probability for people; one that is no number is said to be not known.
pub fn percent(probability: f64) -> String {
    match probability.is_finite() {
        true => trace::words::percent(probability),
        false => "not known".to_owned(),
    }
}

/// `1 reading`, `2 readings`.
pub fn count(n: usize, one: &str, many: &str) -> String {
    match n {
        1 => format!("1 {one}"),
        n => format!("{n} {many}"),
    }
}
