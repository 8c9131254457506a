//! A machine and its supply as they are written, with the JSON Schema that comes from these types.

use std::collections::BTreeMap;

use metrology::{Amps, Celsius, Fraction, Seconds, Volts, Watts};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use super::written::one_of;
use crate::machine::{Generation, PartKind};
use crate::plug::Plug;
use crate::supply::{Correction, Feeds, FormFactor, Guide, Mark, Rail};

/// A machine.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Machine {
    /// Identifier.
    pub id: String,
    /// Where it is plugged in: an outlet, a cord or a UPS.
    pub at: String,
    /// Real power while on, measured or printed on it.
    #[schemars(with = "Option<Watts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power: Option<String>,
    /// Its parts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<Part>,
    /// Size of supply that its case takes.
    #[schemars(schema_with = "forms")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub takes: Option<String>,
    /// Temperature of the air that its supply draws in.
    #[schemars(with = "Option<Celsius>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air: Option<String>,
    /// Time from the start of one drive to that of the next, where they start one after the other.
    #[schemars(with = "Option<Seconds>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stagger: Option<String>,
    /// How long it is on in a day.
    #[schemars(with = "Option<Seconds>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// The supply in it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supply: Option<Supply>,
    /// Everything else, kept as it is written.
    #[serde(flatten)]
    pub rest: BTreeMap<String, serde_json::Value>,
}

/// A part, or several that are the same.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// What it is.
    #[schemars(schema_with = "kinds")]
    pub kind: String,
    /// How many; one where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// Words for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Base power of a processor.
    #[schemars(with = "Option<Watts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tdp: Option<String>,
    /// Board power of a graphics card.
    #[schemars(with = "Option<Watts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub board_power: Option<String>,
    /// Power for sustained work that the maker of another part gives.
    #[schemars(with = "Option<Watts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power: Option<String>,
    /// Power that it draws for a short time.
    #[schemars(with = "Option<Watts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub peak: Option<String>,
    /// Currents printed on it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub nameplate: Vec<Nameplate>,
    /// Current of a drive from +12 V (+5 V where it has only that) while its disks speed up.
    #[schemars(with = "Option<Amps>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spin_up: Option<String>,
    /// Generation of a memory module.
    #[schemars(schema_with = "generations")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub generation: Option<String>,
    /// Connectors that each needs; the usual ones where left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub needs: Vec<Connectors>,
}

/// A current printed on a part.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Nameplate {
    /// The rail it is drawn from.
    #[schemars(schema_with = "rails")]
    pub rail: String,
    /// The current.
    #[schemars(with = "Amps")]
    pub current: String,
}

/// A supply.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Supply {
    /// What people call it; needed in a list of candidates.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// Output for ever, all rails together.
    #[schemars(with = "Option<Watts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating: Option<String>,
    /// What each rail may give.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rails: Vec<RailLimit>,
    /// What several rails may give together.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub combined: Vec<Combined>,
    /// Design guide that it follows; a revision may stand behind, as "ATX 3.1".
    #[schemars(schema_with = "guides")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guide: Option<String>,
    /// Its size.
    #[schemars(schema_with = "forms")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub form: Option<String>,
    /// Voltages that it may be plugged into.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub input: Option<InputRange>,
    /// Position of its voltage selector, where it has one.
    #[schemars(schema_with = "positions")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub selector: Option<String>,
    /// Input current printed on its label.
    #[schemars(with = "Option<Amps>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub input_current: Option<String>,
    /// Peak of the current when it is plugged in cold.
    #[schemars(with = "Option<Amps>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inrush: Option<String>,
    /// What is done about its power factor.
    #[schemars(schema_with = "corrections")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correction: Option<String>,
    /// Level of the voluntary efficiency mark.
    #[schemars(schema_with = "marks")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark: Option<String>,
    /// Efficiency at some loads.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub efficiency: Vec<EfficiencyAt>,
    /// Connectors that it has.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub connectors: Vec<Connectors>,
    /// Adapters that lie ready.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub adapters: Vec<Adapter>,
    /// When it was put into use, as 2024-05-01.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub installed: Option<String>,
    /// Temperature of the air up to which its rating holds.
    #[schemars(with = "Option<Celsius>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated_at: Option<String>,
}

/// What a rail may give.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RailLimit {
    /// Which.
    #[schemars(schema_with = "rails")]
    pub rail: String,
    /// For ever.
    #[schemars(with = "Amps")]
    pub max: String,
    /// For a short time.
    #[schemars(with = "Option<Amps>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub peak: Option<String>,
    /// What it feeds, where there are several of its voltage.
    #[schemars(schema_with = "feeds")]
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub feeds: Vec<String>,
}

/// What several rails may give together.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Combined {
    /// Which; "+12 V" stands for all of that voltage.
    #[schemars(schema_with = "several_rails")]
    pub rails: Vec<String>,
    /// Together.
    #[schemars(with = "Watts")]
    pub max: String,
}

/// From one voltage to another.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InputRange {
    /// Lowest.
    #[schemars(with = "Volts")]
    pub from: String,
    /// Highest.
    #[schemars(with = "Volts")]
    pub to: String,
}

/// Efficiency at a share of the rating.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EfficiencyAt {
    /// Share of the rating.
    #[schemars(with = "Fraction")]
    pub load: String,
    /// Output over input.
    #[schemars(with = "Fraction")]
    pub efficiency: String,
}

/// Connectors of one kind.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Connectors {
    /// Which.
    #[schemars(schema_with = "plugs")]
    pub connector: String,
    /// How many; one where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
}

/// An adapter.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Adapter {
    /// What it is plugged into, each of them.
    #[schemars(schema_with = "several_plugs")]
    pub from: Vec<String>,
    /// What it offers.
    #[schemars(schema_with = "plugs")]
    pub to: String,
}

fn names<T>(all: &[(&'static str, T)]) -> Schema {
    let names: Vec<&str> = all.iter().map(|(it, _)| *it).collect();
    one_of(&names)
}

fn list_of(schema: Schema) -> Schema {
    json_schema!({ "type": "array", "items": schema })
}

macro_rules! words {
    ($($name:ident: $schema:expr;)+) => { $(fn $name(_: &mut SchemaGenerator) -> Schema { $schema })+ };
}

words! {
    kinds: names(&PartKind::NAMES);
    generations: names(&Generation::NAMES);
    rails: names(&Rail::NAMES);
    several_rails: list_of(names(&Rail::NAMES));
    plugs: names(&Plug::NAMES);
    several_plugs: list_of(names(&Plug::NAMES));
    feeds: list_of(names(&Feeds::NAMES));
    forms: names(&FormFactor::NAMES);
    guides: json_schema!({ "type": "string", "examples": Guide::NAMES.map(|(it, _)| it) });
    positions: one_of(&["115 V", "230 V", "not known"]);
    corrections: names(&Correction::NAMES);
    marks: names(&Mark::NAMES);
}
