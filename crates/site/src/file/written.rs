//! A site as it is written: the types of the file, from which its JSON Schema comes. Quantities are texts, kept as
//! they were written; [`super::read_site`] makes sense of them.

use std::collections::BTreeMap;

use metrology::{Amps, Hertz, Metres, Ohms, Volts, Watts};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use super::written_machine::Machine;
use crate::model::Earthing;
use crate::region::Region;

/// A site file.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SiteFile {
    /// Format of this file: 1.
    pub format: u32,
    /// Name as people call the place.
    pub name: String,
    /// Region profile: voltages, limits, words.
    #[schemars(schema_with = "regions")]
    pub region: String,
    /// Anything to know about the file itself, as "Invented."
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Where the power comes in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub service: Option<Service>,
    /// Panels; the one without `from` is the service panel. May be left out where there is only one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub panel: Vec<Panel>,
    /// Branch circuits.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub circuit: Vec<Circuit>,
    /// Outlets.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outlet: Vec<Outlet>,
    /// Extension cords and strips: each is an outlet at its end.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cord: Vec<Cord>,
    /// Known loads.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub load: Vec<Load>,
    /// UPSs, kept as they are written.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ups: Vec<Equipment>,
    /// Machines with their parts and supplies.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub machine: Vec<Machine>,
    /// Protectors against surges, kept as they are written.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub protector: Vec<Protector>,
    /// Lines that come into the premises, kept as they are written.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub line: Vec<Line>,
}

/// The service.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Service {
    /// Voltage system; the usual one of the region where left out.
    #[schemars(schema_with = "systems")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub system: Option<String>,
    /// How earth and neutral meet; the usual one of the system where left out.
    #[schemars(schema_with = "earthings")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub earthing: Option<String>,
    /// Nominal frequency, where the region has two.
    #[schemars(with = "Option<Hertz>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frequency: Option<String>,
    /// Prospective fault current at the service panel.
    #[schemars(with = "Option<Amps>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fault_current: Option<String>,
    /// Length of the service drop.
    #[schemars(with = "Option<Metres>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drop: Option<String>,
    /// Resistance of the local earth electrode.
    #[schemars(with = "Option<Ohms>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub electrode: Option<String>,
}

/// A panel.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Panel {
    /// Identifier.
    pub id: String,
    /// The panel that feeds it; left out for the service panel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// Length of the feeder.
    #[schemars(with = "Option<Metres>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub run: Option<String>,
    /// Cable of the feeder.
    #[schemars(schema_with = "cable")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cable: Option<String>,
}

/// A branch circuit.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Circuit {
    /// Identifier, as on the panel's directory.
    pub id: String,
    /// Panel it starts from; the service panel where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panel: Option<String>,
    /// Leg by its name: A, B, L1, ...
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leg: Option<String>,
    /// Second leg, where its outlets have two lines.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second_leg: Option<String>,
    /// Rating of the overcurrent device.
    #[schemars(with = "Option<Amps>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub breaker: Option<String>,
    /// Cable; the usual one behind the breaker where left out.
    #[schemars(schema_with = "cable")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cable: Option<String>,
    /// Whether an earth conductor was run.
    #[schemars(schema_with = "known_or_not")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub earth: Option<Word>,
    /// Residual-current protection at the panel: rated tripping current, or yes for the usual one.
    #[schemars(schema_with = "residual")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub residual_current: Option<Word>,
    /// Arc-fault protection at the panel.
    #[schemars(schema_with = "yes_no")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arc_fault: Option<Word>,
    /// Another circuit with which it shares one neutral (multiwire).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shares_neutral_with: Option<String>,
}

/// An outlet.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outlet {
    /// Identifier.
    pub id: String,
    /// Words for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Circuit that feeds it; that of the outlet before where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circuit: Option<String>,
    /// The outlet before it on the circuit; left out straight from the panel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
    /// Cable length from the previous point.
    #[schemars(with = "Option<Metres>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub run: Option<String>,
    /// Cable from the previous point, where it is not that of the circuit.
    #[schemars(schema_with = "cable")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cable: Option<String>,
    /// Receptacle shape; the usual one where left out.
    #[schemars(schema_with = "receptacles")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub receptacle: Option<String>,
    /// Whether it hangs behind a wall switch or timer.
    #[schemars(schema_with = "known_or_not")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub switched: Option<Word>,
    /// Residual-current device built into it: rated tripping current, or yes for the usual one.
    #[schemars(schema_with = "residual")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub residual_current: Option<Word>,
}

/// An extension cord or strip.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cord {
    /// Identifier of the outlet at its end.
    pub id: String,
    /// Where it is plugged in.
    pub at: String,
    /// Words for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Its length.
    #[schemars(with = "Option<Metres>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<String>,
    /// Its cable.
    #[schemars(schema_with = "cable")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cable: Option<String>,
    /// Receptacle shape at its end.
    #[schemars(schema_with = "receptacles")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub receptacle: Option<String>,
    /// Residual-current device in it: rated tripping current, or yes for the usual one.
    #[schemars(schema_with = "residual")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub residual_current: Option<Word>,
}

/// A load.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// Identifier.
    pub id: String,
    /// Where it is plugged in.
    pub at: String,
    /// Real power while on; this or `current`.
    #[schemars(with = "Option<Watts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power: Option<String>,
    /// Current while on at nominal voltage; this or `power`.
    #[schemars(with = "Option<Amps>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub current: Option<String>,
    /// What stays constant when the voltage changes: impedance (heaters, lamps), current, or power (electronic
    /// supplies, the default).
    #[schemars(schema_with = "load_kinds")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// Voltage below which a load of constant power draws nothing.
    #[schemars(with = "Option<Volts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut_out: Option<String>,
    /// Power factor, above 0 up to 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power_factor: Option<NumberOrText>,
    /// Current to earth through its line filter.
    #[schemars(with = "Option<Amps>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leakage: Option<String>,
}

/// A UPS. Only what it draws is judged so far; the rest is kept as it is written.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Equipment {
    /// Identifier.
    pub id: String,
    /// Where it is plugged in: an outlet, a cord or another UPS.
    pub at: String,
    /// Real power while on.
    #[schemars(with = "Option<Watts>")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power: Option<String>,
    /// Everything else.
    #[serde(flatten)]
    pub rest: BTreeMap<String, serde_json::Value>,
}

/// A protector against surges. It is drawn and not judged so far.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Protector {
    /// Identifier.
    pub id: String,
    /// Where it is: an outlet, a cord or a UPS, `panel:main` or `circuit:A3`.
    pub at: String,
    /// Everything else.
    #[serde(flatten)]
    pub rest: BTreeMap<String, serde_json::Value>,
}

/// A line that comes into the premises by a cable of its own. It is drawn and not judged so far.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Line {
    /// Identifier.
    pub id: String,
    /// What it is.
    #[schemars(schema_with = "lines")]
    pub kind: String,
    /// Where it ends: a machine.
    pub to: String,
    /// Everything else.
    #[serde(flatten)]
    pub rest: BTreeMap<String, serde_json::Value>,
}

/// A word, or `true` and `false` for yes and no.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Word {
    /// Yes or no.
    Flag(bool),
    /// The word.
    Text(String),
}

/// A plain number or a text.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum NumberOrText {
    /// As `0.95`.
    Number(f64),
    /// As `"95 %"`.
    Text(String),
}

pub(super) fn one_of(words: &[&str]) -> Schema {
    json_schema!({ "type": "string", "enum": words })
}

/// Words of which each has its place in one region only.
fn such_as(words: &[&str]) -> Schema {
    json_schema!({ "type": "string", "examples": words })
}

fn regions(_: &mut SchemaGenerator) -> Schema {
    let ids: Vec<&str> = Region::all().iter().map(|it| it.id.as_str()).collect();
    one_of(&ids)
}

fn systems(_: &mut SchemaGenerator) -> Schema {
    let systems = Region::all().iter().flat_map(|it| &it.systems);
    such_as(&systems.map(|it| it.id.as_str()).collect::<Vec<_>>())
}

fn receptacles(_: &mut SchemaGenerator) -> Schema {
    let shapes = Region::all().iter().flat_map(|it| &it.receptacles);
    let mut ids: Vec<&str> = shapes.map(|it| it.id.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    such_as(&ids)
}

fn earthings(_: &mut SchemaGenerator) -> Schema {
    one_of(&Earthing::NAMES.map(|(it, _)| it))
}

fn load_kinds(_: &mut SchemaGenerator) -> Schema {
    one_of(&["impedance", "current", "power"])
}

fn lines(_: &mut SchemaGenerator) -> Schema {
    one_of(&["telephone", "coax", "network"])
}

fn cable(_: &mut SchemaGenerator) -> Schema {
    let examples = ["12 AWG copper", "2.5 mm² copper", "4/0 AWG aluminium"];
    json_schema!({ "type": "string", "description": "size and metal of the conductors", "examples": examples })
}

fn known_or_not(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "enum": ["yes", "no", "not known", true, false] })
}

fn yes_no(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "enum": ["yes", "no", true, false] })
}

fn residual(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": ["string", "boolean"], "examples": ["6 mA", "30 mA", "yes", "no"] })
}
