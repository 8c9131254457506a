//! The answer of a trace: what a person gets, in the order in which they get it.
//!
//! Also the stable shape of `trace --json`; it changes only together with `format`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use site::finding::{Action, Finding, Verdict};

/// Version of the shape.
pub const FORMAT: u32 = 1;

/// Readings in, ranked causes and the next check out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Answer {
    /// Version of this shape.
    pub format: u32,
    /// Worst verdict that the evidence supports.
    pub verdict: Verdict,
    /// May it stay in use, whose is it, by when: the action with the least expected loss.
    pub action: Action,
    /// First line for people: dangerous or not, may it stay in use, whose it is.
    pub headline: String,
    /// What the action is about, in words, and why.
    pub because: String,
    /// Probability that somebody or something comes to harm if all stays in use.
    pub danger: Danger,
    /// The caution that goes with the action.
    pub caution: String,
    /// Causes, most probable first; causes that no check can tell apart are one group.
    pub causes: Vec<Group>,
    /// Probability of something that is not in the catalogue.
    pub not_in_catalogue: f64,
    /// What to check next, if anything that this person may check could change the action.
    pub next: Option<Next>,
    /// What a licensed electrician would check; named, never instructed.
    pub for_electrician: Vec<String>,
    /// Findings, worst first: for each outlet with readings, and for the leading causes.
    pub findings: Vec<Finding>,
    /// What seemed odd in what was told: readings that do not add up, impossible values, two values at one place.
    pub remarks: Vec<String>,
    /// Circuit by circuit, where the visit has readings on several; else empty. `causes` are then their combinations.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<Part>,
    /// How much was computed.
    pub work: Work,
}

/// What one circuit's readings say, with what the others say about the service and the supply taken in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Part {
    /// The circuit: `circuit:A4`.
    pub about: String,
    /// Worst verdict that the evidence supports.
    pub verdict: Verdict,
    /// The action with the least expected loss.
    pub action: Action,
    /// First line for people.
    pub headline: String,
    /// What the action is about.
    pub because: String,
    /// The caution that goes with it.
    pub caution: String,
    /// Causes, most probable first.
    pub causes: Vec<Group>,
}

/// Probabilities of a dangerous state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Danger {
    /// That a cause with a shock hazard is there.
    pub shock: f64,
    /// That a cause with a fire hazard is there.
    pub fire: f64,
}

/// Causes that no check can tell apart.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Group {
    /// Probability of the whole group.
    pub probability: f64,
    /// The group's leading cause: its faults; empty means that nothing is wrong.
    pub faults: Vec<FaultAt>,
    /// What is wrong, one sentence.
    pub says: String,
    /// The other causes of the group, with their probabilities.
    pub others: Vec<Member>,
    /// Verdict if this is it.
    pub verdict: Verdict,
    /// What would have to be done if this is it.
    pub action: Action,
    /// What mends it, and who.
    pub mends: String,
    /// The caution.
    pub caution: String,
    /// Severity that fits best, in words, where the fault has one: `about 2.3 Ω`.
    pub severity: Option<String>,
    /// Reading by reading: what this cause predicts, what was read, how much that speaks for or against it.
    pub evidence: Vec<Evidence>,
}

/// One fault at one place.
#[derive(
    Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
pub struct FaultAt {
    /// Identifier of the fault in the catalogue.
    pub kind: String,
    /// Element: `run:front-desk`, `outlet:front-desk`, `circuit:A4`, `service`.
    pub at: String,
}

/// One more cause of a group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Member {
    /// Its probability.
    pub probability: f64,
    /// Its faults.
    pub faults: Vec<FaultAt>,
    /// In words.
    pub says: String,
}

/// One reading or observation against a cause.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Evidence {
    /// The reading's or observation's identifier.
    pub reading: String,
    /// What was read, in words: `front-desk, hot to neutral: 0 V`.
    pub read: String,
    /// What this cause predicts, in words: `0 V to 3 V`.
    pub predicts: String,
    /// Natural logarithm of the likelihood under this cause over that under all other causes together:
    /// positive speaks for it.
    pub weight: f64,
}

/// The next check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Next {
    /// Key of the check, to say `cannot` with.
    pub key: String,
    /// What to do, one sentence.
    pub says: String,
    /// How, with which precautions.
    pub caution: String,
    /// Minutes it takes.
    pub minutes: f64,
    /// Hazard class, 0 to 1 here.
    pub hazard: u8,
    /// What each result would mean.
    pub would_mean: Vec<Outcome>,
    /// Expected fall in loss per minute.
    pub worth: f64,
    /// How to tell the result in one line of readings, a template such as `front-desk hot-neutral ... V`.
    pub tell: String,
}

/// One result of a check and what it would mean.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Outcome {
    /// Result in words: `under 5 V`, `about 120 V`.
    pub result: String,
    /// How probable it is.
    pub probability: f64,
    /// What it would mean.
    pub means: String,
}

/// How much was computed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Work {
    /// Causes considered.
    pub causes: u64,
    /// Network solutions, one for each cause, sampled world and condition.
    pub solutions: u64,
    /// Factorisations of whole networks.
    pub factorings: u64,
    /// Of those, the ones an ill-conditioned update asked for.
    pub refactorings: u64,
}
