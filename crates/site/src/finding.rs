//! Findings: the one currency between what judges and what shows.

use serde::{Deserialize, Serialize};

/// What an element is, in one word.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Nothing to do.
    Good,
    /// Not wrong, could be better.
    Advice,
    /// Cannot be said yet; the finding says what would decide it.
    Undecided,
    /// Wrong; to be mended.
    Defect,
    /// A hand or a building could come to harm.
    Danger,
}

/// May it stay in use?
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Use {
    /// Yes.
    Yes,
    /// Only under the restriction that the caution names.
    Restricted,
    /// No: out of use until it is put right.
    Stop,
}

/// Whose it is.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Who {
    /// Nobody has to act.
    Nobody,
    /// The owner or user of the premises.
    Owner,
    /// The technician.
    Technician,
    /// A licensed electrician.
    Electrician,
    /// The utility (network operator).
    Utility,
}

/// By when.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum When {
    /// No time: nothing to do.
    None,
    /// With the next planned work.
    Plan,
    /// Within days.
    Soon,
    /// Before anything else.
    Now,
}

/// What to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Action {
    /// May it stay in use?
    #[serde(rename = "use")]
    pub use_: Use,
    /// Whose it is.
    pub who: Who,
    /// By when.
    pub when: When,
}

/// One finding: never without its evidence and the source of its limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Finding {
    /// What it is about, as in the file: `outlet:front-desk`, `circuit:A4`, `service`.
    pub element: String,
    /// Verdict.
    pub verdict: Verdict,
    /// What was found, one sentence.
    pub statement: String,
    /// What speaks for it, a line each.
    pub evidence: Vec<String>,
    /// The limit it was held against, where there is one.
    pub limit: Option<Limit>,
    /// What to do.
    pub action: Action,
    /// Caution shown with it; empty where nothing can hurt.
    pub caution: String,
}

/// A limit with its source.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Limit {
    /// As written, with units: `114 V to 126 V`.
    pub says: String,
    /// Publication and clause, or what it rests on.
    pub source: String,
    /// How far the value may be trusted.
    pub basis: metrology::Basis,
}
