//! What an operating system reports of its machine, read into the parts of a machine.
//!
//! Two open formats are read: JSON as `lshw -json` writes it, and SMBIOS as text, as `dmidecode` prints it. A report is a
//! witness, not a reading: firmware leaves placeholders and stale entries. What it does not tell is not told here either, and
//! everything that was there and is no part is listed with the reason why it was left out.

mod lshw;
mod smbios;

use metrology::Watts;
use serde::Serialize;

use crate::file::Problems;
use crate::file::problem::Log;
use crate::machine::{Build, Generation, Part, PartKind};

/// Longest report that is read, in bytes.
pub const LONGEST: usize = 16 << 20;

/// How a report is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Report {
    /// JSON, as `lshw -json` writes it.
    Lshw,
    /// SMBIOS as text, as `dmidecode` prints it.
    Smbios,
}

/// What was understood of a report.
#[derive(Clone, Debug, PartialEq)]
pub struct Inventory {
    /// How it was written.
    pub report: Report,
    /// The parts that it tells, equal ones together.
    pub build: Build,
    /// Output of the supply, where the report tells one.
    pub supply: Option<Watts>,
    /// What was there and is no part here, and why, each once.
    pub left_out: Vec<String>,
}

/// Reads a report of either kind. `name` stands in its problems.
///
/// # Errors
/// Where it cannot be read whole, with line and column.
pub fn read(bytes: &[u8], name: &str) -> Result<Inventory, Problems> {
    let refuse = |text: &str, at: usize, what: String, hint: &str| {
        let mut log = Log::of(name, text);
        log.add(at..at, "", what, Some(hint.to_owned()));
        Err(log.close())
    };
    if bytes.len() > LONGEST {
        let what = format!("the report is longer than {} MiB", LONGEST >> 20);
        return refuse("", 0, what, "give the report of one machine");
    }
    let text = match std::str::from_utf8(bytes) {
        Ok(it) => it.strip_prefix('\u{feff}').unwrap_or(it),
        Err(error) => {
            let sound = std::str::from_utf8(&bytes[..error.valid_up_to()]).unwrap_or("");
            let what = "the report is not UTF-8 from here on".to_owned();
            return refuse(sound, sound.len(), what, "save it as UTF-8 text");
        }
    };
    let mut log = Log::of(name, text);
    let found = match text.trim_start().starts_with(['{', '[']) {
        true => lshw::read(text, &mut log),
        false => smbios::read(text, &mut log),
    };
    match found {
        Some(found) if log.is_clean() => Ok(found.inventory()),
        _ => Err(log.close()),
    }
}

/// What was found so far.
struct Found {
    report: Report,
    parts: Vec<Part>,
    supply: Option<Watts>,
    left_out: Vec<String>,
}

impl Found {
    fn of(report: Report) -> Found {
        Found {
            report,
            parts: Vec::new(),
            supply: None,
            left_out: Vec::new(),
        }
    }

    /// Adds a part to those that are the same.
    fn part(&mut self, kind: PartKind, label: Option<String>, generation: Option<Generation>) {
        let part = Part {
            label,
            generation,
            ..Part::of(kind)
        };
        let alike = |it: &&mut Part| {
            Part {
                count: 1,
                ..(**it).clone()
            } == part
        };
        match self.parts.iter_mut().find(alike) {
            Some(it) => it.count = it.count.saturating_add(1),
            None => self.parts.push(part),
        }
    }

    /// Notes what was left out, and why.
    fn leave(&mut self, what: impl Into<String>) {
        let what = what.into();
        if !self.left_out.contains(&what) {
            self.left_out.push(what);
        }
    }

    fn inventory(mut self) -> Inventory {
        let has = |kind: PartKind| self.parts.iter().any(|it| it.kind == kind);
        let mut missing = Vec::new();
        if self.supply.is_none() {
            missing.push("the supply: read its label and write [machine.supply] with it");
        }
        if !has(PartKind::Fan) {
            missing.push("fans: count them");
        }
        if has(PartKind::Processor) {
            missing.push("the processor's power: write tdp = \"... W\" from its maker's sheet");
        }
        if has(PartKind::Graphics) {
            missing.push(
                "the graphics card's power: write board_power = \"... W\" from its maker's sheet",
            );
        }
        for it in missing {
            self.leave(format!("not told: {it}"));
        }
        self.parts.sort_by_key(|it| it.kind);
        Inventory {
            report: self.report,
            build: Build {
                parts: self.parts,
                ..Build::default()
            },
            supply: self.supply,
            left_out: self.left_out,
        }
    }
}

/// Longest label, in characters.
const LABEL: usize = 60;

/// What firmware writes where nobody filled in anything.
const PLACEHOLDERS: [&str; 18] = [
    "",
    "unknown",
    "none",
    "n/a",
    "na",
    "not specified",
    "not provided",
    "not available",
    "undefined",
    "default string",
    "to be filled by o.e.m.",
    "to be filled by oem",
    "o.e.m.",
    "oem",
    "system product name",
    "[empty]",
    "empty",
    "no dimm",
];

/// A text as a label: one line, no control characters, no longer than a line; nothing for a placeholder.
fn label(text: &str) -> Option<String> {
    let visible = |c: char| {
        !c.is_control()
            && !matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let plain: String = text
        .chars()
        .filter(|c| c.is_whitespace() || visible(*c))
        .collect();
    let mut line = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    if PLACEHOLDERS.contains(&line.to_lowercase().as_str()) {
        return None;
    }
    if let Some((at, _)) = line.char_indices().nth(LABEL) {
        line.truncate(at);
    }
    Some(line)
}

/// The generation of memory that a text names; the newest word wins, as "DDR" is in all of them.
fn generation(text: &str) -> Option<Generation> {
    let upper = text.to_uppercase();
    let mut words = upper.split(|c: char| !c.is_ascii_alphanumeric());
    words.find_map(|word| {
        let same = Generation::NAMES.iter().find(|(name, _)| *name == word);
        same.map(|(_, it)| *it)
    })
}

/// Whether a text says that a drive has no disks that turn.
fn is_solid_state(text: &str) -> bool {
    let lower = text.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_ascii_alphanumeric());
    words.any(|it| it == "ssd") || lower.contains("solid state") || lower.contains("solid-state")
}

/// Chassis that are fed by an adapter.
fn is_portable(chassis: &str) -> bool {
    let lower = chassis.to_lowercase();
    let words = [
        "notebook",
        "laptop",
        "portable",
        "tablet",
        "convertible",
        "detachable",
        "hand held",
        "handheld",
    ];
    words.iter().any(|it| lower.contains(it))
}

const PORTABLE: &str = "a portable machine: it is fed by an adapter, so that none of the tables of desktop supplies hold for it";

impl Inventory {
    /// A `[[machine]]` table for a site file; what has to be filled in stands in it as a comment.
    pub fn table(&self, id: Option<&str>, at: Option<&str>) -> String {
        let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
        let key = |name: &str, told: Option<&str>, hint: &str| match told {
            Some(it) => format!("{name} = {}\n", quoted(it)),
            None => format!("# {name} = \"...\"  # {hint}\n"),
        };
        let mut text = "[[machine]]\n".to_owned();
        text += &key("id", id, "what people call it");
        text += &key("at", at, "the outlet, cord or UPS that it is plugged into");
        text += "parts = [\n";
        for part in &self.build.parts {
            let mut keys = vec![format!("kind = {}", quoted(part.kind.name()))];
            if part.count != 1 {
                keys.push(format!("count = {}", part.count));
            }
            if let Some(it) = part.generation {
                keys.push(format!("generation = {}", quoted(it.name())));
            }
            if let Some(it) = &part.label {
                keys.push(format!("label = {}", quoted(it)));
            }
            text += &format!("  {{ {} }},\n", keys.join(", "));
        }
        text += "]\n";
        if let Some(rating) = self.supply {
            text += &format!("\n[machine.supply]\nrating = \"{rating}\"\n");
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn placeholders_and_control_characters_are_no_labels() {
        assert_eq!(label(" To Be Filled By O.E.M. "), None);
        assert_eq!(label("Not  Specified"), None);
        assert_eq!(label("\u{1b}[31mred\u{7}").as_deref(), Some("[31mred"));
        assert_eq!(label("two\nlines\u{202e}").as_deref(), Some("two lines"));
        assert_eq!(label(&"x".repeat(500)).map(|it| it.len()), Some(LABEL));
    }

    #[test]
    fn memory_is_of_the_generation_that_is_named() {
        assert_eq!(
            generation("DIMM DDR4 Synchronous 2400 MHz (0.4 ns)"),
            Some(Generation::Ddr4)
        );
        assert_eq!(generation("ddr Synchronous"), Some(Generation::Ddr));
        assert_eq!(generation("LPDDR5"), None);
        assert_eq!(generation("DIMM"), None);
    }
}
