//! A visit as it is written: the types of the file, from which its JSON Schema comes. Quantities are texts, kept as
//! they were written; [`super::read_visit`] makes sense of them.

use std::collections::BTreeMap;

use metrology::{Accuracy, Farads, Meter as KnownMeter, Ohms, Volts, Watts};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use super::visit::{REACHES, SIGNS};
use super::written::{Word, one_of};

/// A visit file.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VisitFile {
    /// Format of this file: 1.
    pub format: u32,
    /// Name of the site.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Date, as 2026-03-14.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// Anything to know about the file itself, as "Invented."
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Who was there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<Person>,
    /// Checks that cannot be made, by their keys.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cannot: Vec<String>,
    /// Meters used.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub meter: Vec<Meter>,
    /// Readings in the order they were taken. None is ever edited: a correction is a new one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub reading: Vec<Reading>,
    /// What was seen, heard, smelt or told.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub observation: Vec<Observation>,
}

/// The person who took the readings.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// What they may do; technician where left out.
    #[schemars(schema_with = "skills")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skill: Option<String>,
}

/// A meter: a class, and what is known better than the class.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Meter {
    /// Identifier.
    pub id: String,
    /// Generic class from which everything is taken that is not told below.
    #[schemars(schema_with = "classes")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class: Option<String>,
    /// Words for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Accuracy of alternating volts.
    #[schemars(with = "Option<Accuracy>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ac_volts: Option<String>,
    /// Accuracy of alternating current.
    #[schemars(with = "Option<Accuracy>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ac_amps: Option<String>,
    /// Accuracy of resistance.
    #[schemars(with = "Option<Accuracy>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohms: Option<String>,
    /// Accuracy of frequency.
    #[schemars(with = "Option<Accuracy>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hertz: Option<String>,
    /// One unit of the last digit shown at mains voltage.
    #[schemars(with = "Option<Volts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<String>,
    /// Ordinary input.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub input: Option<MeterInput>,
    /// Low-impedance input.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low_impedance: Option<MeterInput>,
    /// Whether it computes the true RMS.
    #[schemars(schema_with = "responses")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub response: Option<String>,
    /// Measurement category.
    #[schemars(schema_with = "categories")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub category: Option<String>,
    /// Voltage to earth that the category holds for.
    #[schemars(with = "Option<Volts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated: Option<String>,
}

/// What an input puts across the pair that it reads.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum MeterInput {
    /// Its resistance, as `"10 MΩ"`.
    Resistance(#[schemars(with = "Ohms")] String),
    /// Resistance and capacitance.
    Both(Impedance),
}

/// Resistance with a capacitance beside it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Impedance {
    /// Resistance.
    #[schemars(with = "Ohms")]
    pub resistance: String,
    /// Capacitance.
    #[schemars(with = "Option<Farads>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacitance: Option<String>,
}

/// A reading: a value across a pair, or with a clamp on a conductor.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Identifier; made up (r1, r2, ...) where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// Outlet, or panel as `panel:main`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The pair, in the words of any region: line-neutral, hot-ground, neutral-earth, line-line, ...
    #[schemars(schema_with = "pairs")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pair: Option<String>,
    /// One probe where it is no pair of one outlet: `front-desk earth`, `panel:main neutral`, `true earth`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// The other probe.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// The conductor in the clamp, for a current.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conductor: Option<String>,
    /// What was read, with its unit: `118.3 V`, `about 60 V`, `60..90 V`, `59.9 Hz`, `4.2 A`, `0.3 Ω`.
    #[schemars(schema_with = "values")]
    pub value: String,
    /// Meter; the only one of the visit where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meter: Option<String>,
    /// Which input of the meter.
    #[schemars(schema_with = "inputs")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub input: Option<String>,
    /// Under what circumstances.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub condition: Option<ConditionOrWords>,
    /// The reading that this one corrects; it stands further up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corrects: Option<String>,
}

/// Circumstances: a table, or a few words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum ConditionOrWords {
    /// `no load`, `loaded`, `unplugged`; anything else is kept as a remark.
    Words(String),
    /// The table.
    Table(Condition),
}

/// Under what circumstances something was read or seen.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Condition {
    /// on, off or unplugged: of all loads on the circuit, or by place (an outlet, `circuit:A4`, a load, `site`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub loads: Option<ByPlace>,
    /// A test load plugged in for this reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test_load: Option<TestLoad>,
    /// closed or open: of the wall switch of the outlet, or by outlet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub switch: Option<ByPlace>,
    /// closed or open: of the breaker of the circuit, or by circuit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub breaker: Option<ByPlace>,
    /// Time of day, as 14:30.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub time: Option<String>,
    /// In words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}

/// A state at the place of the reading, or states by place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum ByPlace {
    /// Here.
    Here(Word),
    /// By place.
    Each(BTreeMap<String, Word>),
}

/// A test load.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum TestLoad {
    /// Its power, at the outlet of the reading.
    Here(#[schemars(with = "Watts")] String),
    /// Its power, at another outlet.
    At(TestLoadAt),
}

/// A test load at a named outlet.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TestLoadAt {
    /// The outlet; that of the reading where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// Its power.
    #[schemars(with = "Watts")]
    pub power: String,
}

/// Something seen, heard, smelt or told: one of `sees`, `lamps`, `detector` and `scope`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Observation {
    /// Identifier; made up (o1, o2, ...) where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// An outlet, `circuit:A4`, `panel:main` or `site`; the whole site where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// What, in one word.
    #[schemars(schema_with = "signs")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sees: Option<String>,
    /// A three-lamp plug-in tester: lit, dim or dark for each of line-neutral, line-earth and neutral-earth.
    #[schemars(schema_with = "lamps")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lamps: Option<BTreeMap<String, String>>,
    /// A non-contact detector.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detector: Option<Detector>,
    /// How far the trouble reaches.
    #[schemars(schema_with = "reaches")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scope: Option<String>,
    /// Under what circumstances.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub condition: Option<ConditionOrWords>,
}

/// A non-contact detector held at a contact.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Detector {
    /// line, neutral or earth.
    pub contact: String,
    /// Whether it signals voltage.
    #[schemars(schema_with = "yes_no")]
    pub signals: Word,
}

fn skills(_: &mut SchemaGenerator) -> Schema {
    one_of(&["anyone", "technician", "electrician"])
}

fn classes(_: &mut SchemaGenerator) -> Schema {
    let classes = KnownMeter::classes().iter();
    one_of(
        &classes
            .filter_map(|it| it.class.as_deref())
            .collect::<Vec<_>>(),
    )
}

fn responses(_: &mut SchemaGenerator) -> Schema {
    one_of(&["true-rms", "average"])
}

fn categories(_: &mut SchemaGenerator) -> Schema {
    one_of(&["II", "III", "IV", "CAT II", "CAT III", "CAT IV"])
}

fn pairs(_: &mut SchemaGenerator) -> Schema {
    let examples = [
        "line-neutral",
        "line-earth",
        "neutral-earth",
        "hot-neutral",
        "hot-ground",
        "neutral-ground",
        "line-line",
    ];
    json_schema!({ "type": "string", "examples": examples })
}

fn values(_: &mut SchemaGenerator) -> Schema {
    let examples = [
        "118.3 V",
        "about 60 V",
        "60..90 V",
        "0 V",
        "59.9 Hz",
        "4.2 A",
        "0.3 Ω",
    ];
    json_schema!({ "type": "string", "examples": examples })
}

fn inputs(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "string", "examples": ["normal", "low impedance", "not told"] })
}

fn signs(_: &mut SchemaGenerator) -> Schema {
    one_of(&SIGNS.map(|(it, _)| it))
}

fn reaches(_: &mut SchemaGenerator) -> Schema {
    one_of(&REACHES.map(|(it, _)| it))
}

fn yes_no(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "enum": ["yes", "no", true, false] })
}

fn lamps(_: &mut SchemaGenerator) -> Schema {
    json_schema!({
        "type": "object",
        "minProperties": 3,
        "maxProperties": 3,
        "additionalProperties": { "enum": ["lit", "dim", "dark"] },
        "examples": [{ "line-neutral": "lit", "line-earth": "lit", "neutral-earth": "dark" }],
    })
}
