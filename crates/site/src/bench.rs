//! Fitting a supply at the bench: the steps in their order, for the connectors that a machine needs.
//!
//! Unplug and wait; fasten; connect; standby first; then the rest. The steps are `data/bench.toml`; pins, colours and limits
//! come from the connectors' tables, so that each stands once.

use std::sync::OnceLock;

use metrology::{Basis, Sourced};
use serde::Deserialize;

use crate::connector::{CAUTION, Connector, Held, Pin};
use crate::plug::Plug;
use crate::signal::Signal;
use crate::supply::Guide;

/// A step.
#[derive(Clone, Debug)]
pub struct Step {
    /// Which of the steps in the data: `standby`.
    pub id: &'static str,
    /// What to do, one sentence or two.
    pub does: String,
    /// What is seen if it is right; for a reading its limits say so.
    pub expect: Option<&'static str>,
    /// Where to read, if something is read.
    pub at: Option<Probe>,
    /// What it means if it is not so, and what to do.
    pub if_not: String,
    /// 0: look and listen; 2: extra-low-voltage side of an open machine; 3: unplugged and discharged.
    pub hazard: u8,
    /// The caution that belongs to it.
    pub caution: String,
    /// Where the step comes from.
    pub source: &'static Sourced<()>,
}

/// Where a step reads, and what it is held against.
#[derive(Clone, Debug)]
pub struct Probe {
    /// Connector.
    pub connector: &'static Connector,
    /// Pin.
    pub pin: &'static Pin,
    /// What the machine does then, in the words of a reading at a pin.
    pub machine: &'static str,
    /// Limits, with their sources.
    pub limits: Vec<Held>,
}

impl Probe {
    /// What to type once it is read: `main-24 pin 9 ... V, standby`.
    pub fn to_type(&self) -> String {
        format!(
            "{} pin {} ... V, {}",
            self.connector.id, self.pin.number, self.machine
        )
    }
}

/// The steps for a supply by a guide, where it is known, and these connectors.
pub fn sequence(plugs: &[Plug], guide: Option<Guide>) -> Vec<Step> {
    let guides = guides(plugs, guide);
    let mut steps = Vec::new();
    for entry in entries() {
        if entry.at.is_empty() {
            steps.push(entry.step(None, None));
            continue;
        }
        let mut there: Vec<&Connector> = Vec::new();
        for it in plugs.iter().filter_map(|it| Connector::of(*it)) {
            if entry.at.contains(&it.id) && !there.iter().any(|other| other.id == it.id) {
                there.push(it);
            }
        }
        match (there.is_empty(), entry.signal.is_empty()) {
            (true, _) => {}
            // one step for all that are only plugged in, or looked at
            (false, true) => steps.push(entry.step(Some(&there), None)),
            (false, false) => {
                for connector in there {
                    let probes = entry
                        .signal
                        .iter()
                        .filter_map(|it| entry.probe(connector, *it, &guides));
                    steps.extend(probes.map(|it| entry.step(Some(&[connector]), Some(it))));
                }
            }
        }
    }
    steps
}

/// The guides that the supply may be made by: the one told, else those of the board's connector.
fn guides(plugs: &[Plug], guide: Option<Guide>) -> Vec<Guide> {
    let board = [Plug::Main24, Plug::Main20, Plug::Main10];
    let main = plugs
        .iter()
        .find(|it| board.contains(it))
        .and_then(|it| Connector::of(*it));
    match (guide, main) {
        (Some(it), _) => vec![it],
        (None, Some(it)) => it.guides.clone(),
        (None, None) => Guide::NAMES.iter().map(|(_, it)| *it).collect(),
    }
}

const UNPLUGGED: &str = "Only with the cord out of the outlet and the board's lamp dark.";
const LOOK: &str = "Touch nothing inside while the cord is in.";

struct Entry {
    id: String,
    does: String,
    expect: Option<String>,
    if_not: String,
    signal: Vec<Signal>,
    level: Option<String>,
    machine: Option<String>,
    at: Vec<String>,
    hazard: u8,
    source: Sourced<()>,
}

impl Entry {
    fn probe(
        &'static self,
        connector: &'static Connector,
        signal: Signal,
        guides: &[Guide],
    ) -> Option<Probe> {
        let pin = connector.pins_of(signal).next()?;
        let limits = match &self.level {
            Some(key) => vec![Held::level(key)],
            None => connector.limits_by(pin, guides),
        };
        Some(Probe {
            connector,
            pin,
            machine: self.machine.as_deref().unwrap_or_default(),
            limits,
        })
    }

    fn step(&'static self, at: Option<&[&'static Connector]>, probe: Option<Probe>) -> Step {
        let name = |it: &&'static Connector| format!("{} ({})", it.id, it.name);
        let names: Vec<String> = at.unwrap_or_default().iter().map(name).collect();
        let filled = |text: &str| text.replace("{connector}", &names.join(" and "));
        let caution = match (self.hazard, &probe) {
            (0, _) => LOOK.to_owned(),
            (2, Some(it)) => format!("{} {CAUTION}", it.connector.caution),
            _ => UNPLUGGED.to_owned(),
        };
        Step {
            id: &self.id,
            does: filled(&self.does),
            expect: self.expect.as_deref(),
            if_not: filled(&self.if_not),
            at: probe,
            hazard: self.hazard,
            caution,
            source: &self.source,
        }
    }
}

fn entries() -> &'static [Entry] {
    static ALL: OnceLock<Vec<Entry>> = OnceLock::new();
    ALL.get_or_init(|| {
        read(include_str!("../data/bench.toml")).expect("`data` reads, held by tests/bench.rs")
    })
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[expect(dead_code, reason = "there is only one so far")]
    format: u32,
    step: Vec<StepEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StepEntry {
    id: String,
    does: String,
    expect: Option<String>,
    if_not: String,
    #[serde(default)]
    signal: Vec<Signal>,
    level: Option<String>,
    machine: Option<String>,
    #[serde(default)]
    at: Vec<String>,
    hazard: u8,
    source: String,
    basis: Basis,
}

fn read(text: &str) -> Result<Vec<Entry>, String> {
    let file: File = toml::from_str(text).map_err(|it| it.to_string())?;
    let entry = |it: StepEntry| Entry {
        source: Sourced::read((), it.basis, it.source),
        id: it.id,
        does: it.does,
        expect: it.expect,
        if_not: it.if_not,
        signal: it.signal,
        level: it.level,
        machine: it.machine,
        at: it.at,
        hazard: it.hazard,
    };
    Ok(file.step.into_iter().map(entry).collect())
}
