//! A report as text, as `dmidecode` prints it: structures under a line `Handle 0x..., DMI type N, ...`, each with a title and
//! lines `Key: Value` behind one tab, and lists behind two.

use metrology::Watts;

use super::{Found, PORTABLE, Report, generation, is_portable, label};
use crate::file::problem::Log;
use crate::file::tree::Span;
use crate::machine::PartKind;

/// One structure.
struct Structure<'t> {
    kind: u16,
    at: Span,
    title: bool,
    keys: Vec<(&'t str, &'t str, Span)>,
}

impl<'t> Structure<'t> {
    fn get(&self, key: &str) -> &'t str {
        let found = self.keys.iter().find(|(it, ..)| *it == key);
        found.map_or("", |(_, value, _)| value)
    }
}

/// Types of structures that are read: board, chassis, processor, slot, memory, battery, fan, supply.
const READ: [u16; 8] = [2, 3, 4, 9, 17, 22, 27, 39];

/// What the report tells; problems are logged.
pub(super) fn read(text: &str, log: &mut Log) -> Option<Found> {
    let structures = structures(text, log);
    if structures.is_empty() && log.is_clean() {
        let what = "no structure of SMBIOS stands here, and no JSON".to_owned();
        let hint = "give what `lshw -json` or `dmidecode` wrote, run as an administrator";
        log.add(0..0, "", what, Some(hint.to_owned()));
    }
    let mut found = Found::of(Report::Smbios);
    for it in &structures {
        told(it, &mut found, log);
    }
    if !structures.is_empty() {
        found.leave(
            "drives: SMBIOS does not know of them; count them, or give what `lshw -json` writes",
        );
        found.leave(
            "graphics: SMBIOS does not say what a card is; write kind = \"graphics\" for one",
        );
    }
    Some(found)
}

fn structures<'t>(text: &'t str, log: &mut Log) -> Vec<Structure<'t>> {
    let mut all: Vec<Structure> = Vec::new();
    let mut open = false;
    let mut start = 0;
    for raw in text.split_inclusive('\n') {
        let line = raw.trim_end_matches(['\n', '\r']);
        let at = start..start + line.len();
        start += raw.len();
        if let Some(n) = line.find(|c: char| c.is_control() && c != '\t') {
            let what = "a control character stands in the report".to_owned();
            let hint = Some("give the report as it was printed, as text".to_owned());
            log.add(at.start + n..at.start + n, "", what, hint);
            return all;
        }
        if line.trim().is_empty() {
            open = false;
        } else if let Some(rest) = line.strip_prefix("Handle ") {
            match kind_of(rest) {
                Some(kind) => all.push(Structure {
                    kind,
                    at,
                    title: false,
                    keys: Vec::new(),
                }),
                None => broken(at, log, "the type of this structure cannot be read"),
            }
            open = true;
        } else if !open {
            // what stands before, between and behind structures: version, remarks
            if line.contains("DMI table is broken") {
                broken(
                    at,
                    log,
                    "the table is broken from here on, as the report itself says",
                );
            }
        } else if let Some(last) = all.last_mut() {
            body(line, at, last, log);
        }
    }
    all
}

fn broken(at: Span, log: &mut Log, what: &str) {
    let hint =
        "run the report again; if it stays so, the firmware is at fault: write the parts by hand";
    log.add(at, "", what.to_owned(), Some(hint.to_owned()));
}

/// `0x0004, DMI type 4, 48 bytes` has type 4.
fn kind_of(rest: &str) -> Option<u16> {
    let (_, behind) = rest.split_once("DMI type ")?;
    behind.split(',').next()?.trim().parse().ok()
}

fn body<'t>(line: &'t str, at: Span, structure: &mut Structure<'t>, log: &mut Log) {
    let depth = line.chars().take_while(|it| *it == '\t').count();
    match depth {
        0 if !structure.title => structure.title = true,
        0 if line.starts_with(['#', '<']) || line.contains("TRUNCATED") => {
            broken(at, log, "the structure is cut off here");
        }
        0 => {
            let what = "this line belongs to nothing before it".to_owned();
            log.add(
                at,
                "",
                what,
                Some("give the report as it was printed".to_owned()),
            );
        }
        1 => {
            let line = &line[1..];
            if line.contains("TRUNCATED") {
                broken(at, log, "the structure is cut off here");
                return;
            }
            let Some((key, value)) = line.split_once(':') else {
                return; // `Strings:` and `Header and Data:` have a colon; a line without is a remark
            };
            let (key, value) = (key.trim(), value.trim());
            if let Some((_, old, _)) = structure.keys.iter().find(|(it, ..)| *it == key)
                && *old != value
                && READ.contains(&structure.kind)
            {
                let what = format!("\"{key}\" stands twice in one structure, and differs");
                log.add(
                    at,
                    "",
                    what,
                    Some("give the report as it was printed".to_owned()),
                );
                return;
            }
            structure.keys.push((key, value, at));
        }
        _ => {} // items of a list
    }
}

fn told(it: &Structure, found: &mut Found, log: &mut Log) {
    match it.kind {
        2 => found.part(PartKind::Board, label(it.get("Product Name")), None),
        3 if is_portable(it.get("Type")) => found.leave(PORTABLE),
        4 => processor(it, found),
        17 => memory(it, found, log),
        22 => found.leave(PORTABLE),
        27 => fan(it, found),
        39 => supply(it, found, log),
        9 if it.get("Current Usage").eq_ignore_ascii_case("in use") => {
            let slot = label(it.get("Designation")).unwrap_or_else(|| "without a name".to_owned());
            found.leave(format!("slot {slot} is in use, but not by what: write kind = \"card\" or \"graphics\" for it"));
        }
        _ => {}
    }
}

fn processor(it: &Structure, found: &mut Found) {
    let status = it.get("Status").to_lowercase();
    if status.starts_with("unpopulated") {
        return;
    }
    if !status.starts_with("populated") {
        found.leave("a processor's socket of which it is not told whether it is filled");
    } else if status.contains("disabled") {
        found.leave("a processor that is turned off");
    } else {
        found.part(PartKind::Processor, label(it.get("Version")), None);
    }
}

fn memory(it: &Structure, found: &mut Found, log: &mut Log) {
    let size = it.get("Size");
    match size.to_lowercase().as_str() {
        "no module installed" | "none" => return,
        "" | "unknown" => {
            return found.leave("a memory socket of which it is not told whether it is filled");
        }
        _ => {}
    }
    let (number, unit) = size.split_once(' ').unwrap_or((size, ""));
    let known = ["kB", "MB", "GB", "TB"].contains(&unit);
    match number.parse::<u64>() {
        Ok(it) if it > 0 && known => {}
        _ => {
            let at = it.keys.iter().find(|(key, ..)| *key == "Size");
            let at = at.map_or(it.at.clone(), |(.., at)| at.clone());
            let what = format!("\"{size}\" is no size of memory");
            log.add(
                at,
                "memory device",
                what,
                Some("as printed it is \"8192 MB\" or \"8 GB\"".to_owned()),
            );
            return;
        }
    }
    let form = it.get("Form Factor").to_lowercase();
    if form.contains("row of chips") {
        found.leave("memory soldered to the board: counted with the board");
    } else if it.get("Type") == "Flash" {
        // the firmware's own
    } else {
        found.part(PartKind::Memory, None, generation(it.get("Type")));
    }
}

fn fan(it: &Structure, found: &mut Found) {
    let kind = it.get("Type").to_lowercase();
    if kind.contains("fan") {
        found.part(PartKind::Fan, None, None);
    } else {
        found.leave("a cooling device of which it is not told that it is a fan");
    }
}

fn supply(it: &Structure, found: &mut Found, log: &mut Log) {
    let told = it.get("Max Power Capacity");
    if it.get("Status").to_lowercase().contains("not present") {
        return;
    }
    if label(told).is_none() {
        return found.leave("what is told of a supply: its output is not");
    }
    match told.parse::<Watts>() {
        Ok(power) if power.si() > 0.0 => match found.supply {
            Some(before) if before != power => {
                found.leave(format!(
                    "a second supply of {power}: one is written, look at both"
                ));
            }
            _ => found.supply = Some(power),
        },
        _ => {
            let at = it
                .keys
                .iter()
                .find(|(key, ..)| *key == "Max Power Capacity");
            let at = at.map_or(it.at.clone(), |(.., at)| at.clone());
            let what = format!("\"{told}\" is no power");
            log.add(
                at,
                "power supply",
                what,
                Some("as printed it is \"450 W\"".to_owned()),
            );
        }
    }
}
