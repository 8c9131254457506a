//! The cases as they are written down.

use serde::Deserialize;

/// All cases.
#[derive(Clone, Debug, Deserialize)]
pub struct Cases {
    /// The cases.
    pub cases: Vec<Case>,
}

/// One case.
#[derive(Clone, Debug, Deserialize)]
pub struct Case {
    /// Identifier, `fc-001`.
    pub id: String,
    /// `outlet_circuit`, `machine_supply`, `ups_protector`, `other`.
    pub category: String,
    /// `north-america`, `iec-230`, `japan-100`, `region not told`.
    pub region: String,
    /// The way of the power, in words.
    pub chain: Vec<String>,
    /// What was read.
    pub readings: Vec<Told>,
    /// What a lamp tester showed.
    pub lamps: Vec<Lamps>,
    /// Sentences.
    pub observations: Vec<String>,
    /// What it was.
    pub cause: Cause,
    /// Who had to act.
    pub who: String,
}

/// A reading as told.
#[derive(Clone, Debug, Deserialize)]
pub struct Told {
    /// Where.
    pub place: String,
    /// The pair as told.
    pub pair: String,
    /// The two contacts by intended role.
    pub between: Option<[String; 2]>,
    /// The number.
    pub value: Option<f64>,
    /// Lowest.
    pub min: Option<f64>,
    /// Highest.
    pub max: Option<f64>,
    /// `V`, `A`, `Hz`, ...
    pub unit: String,
    /// Under which condition.
    pub condition: Option<String>,
    /// The words, where they were not a plain number.
    pub told: Option<String>,
    /// True where the number is a rounding of words.
    #[serde(default)]
    pub approximate: bool,
}

/// A lamp pattern.
#[derive(Clone, Debug, Deserialize)]
pub struct Lamps {
    /// Where.
    pub place: String,
    /// Pairs that light, `line-neutral`.
    pub lit: Vec<String>,
    /// Under which condition.
    pub condition: Option<String>,
}

/// What it was.
#[derive(Clone, Debug, Deserialize)]
pub struct Cause {
    /// Codes, most important first.
    pub faults: Vec<String>,
    /// `confirmed`, `consensus`, `likely`, `ambiguous`.
    pub basis: String,
    /// Codes or words that are not excluded.
    pub alternatives_not_excluded: Vec<String>,
}

const DATA: &str = include_str!("../../data/field-cases.json");

/// Every case.
///
/// # Errors
/// Where the data that is built in does not read; a test holds that it does.
pub fn all() -> Result<Vec<Case>, String> {
    serde_json::from_str::<Cases>(DATA)
        .map(|it| it.cases)
        .map_err(|e| format!("data/field-cases.json: {e}"))
}
