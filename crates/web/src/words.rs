//! Verdicts, odds and sizes in words. What a verdict is worth is decided below; here it is only said.

use site::finding::Verdict;
use trace::words::{NEITHER, odds_for};

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

/// How much a reading speaks for a cause, where no head of a column says so.
pub fn weight(weight: f64) -> String {
    match weight.abs() < NEITHER {
        true => "speaks neither way".to_owned(),
        false => odds_for(weight),
    }
}

/// `1 reading`, `2 readings`.
pub fn count(n: usize, one: &str, many: &str) -> String {
    match n {
        1 => format!("1 {one}"),
        n => format!("{n} {many}"),
    }
}
