//! A value with its source: how far it may be trusted stands beside it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::fmt;

/// How far a value may be trusted, best first.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// Seen in public material.
    Published,
    /// A closed form or a numerical solution; the formula is in the source.
    Computed,
    /// Known, but not verified against the publication.
    Memory,
    /// The custom of the trade, with no publication behind it.
    CommonPractice,
    /// Our own estimate.
    Judgement,
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Basis::Published => "published",
            Basis::Computed => "computed",
            Basis::Memory => "from memory, not verified",
            Basis::CommonPractice => "common practice",
            Basis::Judgement => "our judgement",
        })
    }
}

/// A value and where it comes from. Usable in `const` through [`Sourced::new`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Sourced<T> {
    /// The value itself.
    pub value: T,
    /// How far it may be trusted.
    pub basis: Basis,
    /// Publication and clause, formula, or whose judgement.
    pub source: Cow<'static, str>,
    /// What else a reader should know, if anything.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<Cow<'static, str>>,
}

impl<T> Sourced<T> {
    /// A value with its basis and source.
    pub const fn new(value: T, basis: Basis, source: &'static str) -> Self {
        Sourced {
            value,
            basis,
            source: Cow::Borrowed(source),
            note: None,
        }
    }

    /// A value with what stands beside it in a data file.
    pub const fn read(value: T, basis: Basis, source: String) -> Self {
        Sourced {
            value,
            basis,
            source: Cow::Owned(source),
            note: None,
        }
    }

    /// A value of our own judgement; `why` says what it rests on.
    pub const fn judged(value: T, why: &'static str) -> Self {
        Sourced::new(value, Basis::Judgement, why)
    }

    /// The same value with a note beside it.
    pub fn noted(self, note: impl Into<Cow<'static, str>>) -> Self {
        Sourced {
            note: Some(note.into()),
            ..self
        }
    }

    /// Another value that rests on the same source.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Sourced<U> {
        Sourced {
            value: change(self.value),
            basis: self.basis,
            source: self.source,
            note: self.note,
        }
    }
}

/// The source as a reader sees it: `IEC 60228, Table 1 (published)`.
impl<T> Sourced<T> {
    /// Source and basis in one line, for a finding or a page.
    pub fn cited(&self) -> String {
        format!("{} ({})", self.source, self.basis)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PREVALENCE: Sourced<f64> = Sourced::judged(2e-3, "our guess, per run");

    #[test]
    fn a_sourced_value_can_be_a_constant_and_cites_itself() {
        assert_eq!(PREVALENCE.cited(), "our guess, per run (our judgement)");
    }

    #[test]
    fn a_sourced_value_survives_writing_and_reading() {
        let written = serde_json::to_string(&PREVALENCE.noted("per year")).unwrap();
        assert_eq!(
            written,
            r#"{"value":0.002,"basis":"judgement","source":"our guess, per run","note":"per year"}"#
        );
        let read: Sourced<f64> = serde_json::from_str(&written).unwrap();
        assert_eq!(read.note.as_deref(), Some("per year"));
        assert_eq!(
            serde_json::to_string(&Basis::CommonPractice).unwrap(),
            r#""common-practice""#
        );
    }
}
