//! A report in JSON, as `lshw -json` writes it: a tree of nodes, each with `id`, `class`, words and children.

use super::{Found, PORTABLE, Report, generation, is_portable, is_solid_state, label};
use crate::file::json_tree;
use crate::file::problem::Log;
use crate::file::tree::{Node, Table, Value};
use crate::machine::PartKind;

/// What the report tells; problems are logged.
pub(super) fn read(text: &str, log: &mut Log) -> Option<Found> {
    let root = json_tree::node(text, log)?;
    let mut found = Found::of(Report::Lshw);
    let roots = match &root.value {
        Value::List(it) => it.iter().collect(),
        _ => vec![&root],
    };
    if roots.is_empty() {
        let hint = "write the report with `lshw -json` as an administrator";
        log.add(
            root.span.clone(),
            "",
            "the list is empty".to_owned(),
            Some(hint.to_owned()),
        );
    }
    for node in roots {
        each(node, &Above::default(), &mut found, log);
    }
    Some(found)
}

/// What stands above a node.
#[derive(Clone, Copy, Default)]
struct Above<'n> {
    /// It hangs on a USB port.
    on_usb: bool,
    /// What the node right above is called by its maker.
    product: &'n str,
}

/// A node's words; what is not there is empty.
struct Words<'n> {
    id: &'n str,
    class: &'n str,
    description: &'n str,
    product: &'n str,
    bus: &'n str,
}

fn each<'n>(node: &'n Node, above: &Above<'n>, found: &mut Found, log: &mut Log) {
    let Value::Table(table) = &node.value else {
        let what = format!("a node of hardware is wanted here, found {}", node.kind());
        log.add(
            node.span.clone(),
            "",
            what,
            Some("write { \"id\": ..., \"class\": ... }".to_owned()),
        );
        return;
    };
    let mut text = |key: &str| text_of(table, key, log);
    let words = Words {
        id: text("id"),
        class: text("class"),
        description: text("description"),
        product: text("product"),
        bus: text("businfo"),
    };
    if words.class.is_empty() && table.get("class").is_none() {
        let what = "this node has no class, so it is no report of `lshw -json`".to_owned();
        log.add(node.span.start..node.span.start + 1, "", what, None);
        return;
    }
    let on_usb = above.on_usb || words.bus.starts_with("usb@");
    told(&words, table, &Above { on_usb, ..*above }, found);
    let below = Above {
        on_usb,
        product: words.product,
    };
    let Some(entry) = table.get("children") else {
        return;
    };
    match &entry.node.value {
        Value::List(children) => {
            for child in children {
                each(child, &below, found, log);
            }
        }
        _ => {
            let what = format!("children is {}, and a list is wanted", entry.node.kind());
            log.add(
                entry.node.span.clone(),
                "",
                what,
                Some("write [ ... ]".to_owned()),
            );
        }
    }
}

/// A key's text; empty where it is not there. Anything else is a problem.
fn text_of<'n>(table: &'n Table, key: &str, log: &mut Log) -> &'n str {
    let Some(entry) = table.get(key) else {
        return "";
    };
    match &entry.node.value {
        Value::Text(it) => it,
        _ => {
            let what = format!("{key} is {}, and a text is wanted", entry.node.kind());
            log.add(
                entry.node.span.clone(),
                "",
                what,
                Some("write a text in quotes".to_owned()),
            );
            ""
        }
    }
}

/// What is said under a key of a table within.
fn within<'n>(table: &'n Table, outer: &str, key: &str) -> Option<&'n Value> {
    match &table.get(outer)?.node.value {
        Value::Table(it) => it.get(key).map(|it| &it.node.value),
        _ => None,
    }
}

fn told(words: &Words, table: &Table, above: &Above, found: &mut Found) {
    let description = words.description.to_lowercase();
    match words.class {
        "system" => {
            let chassis = within(table, "configuration", "chassis");
            let told = matches!(chassis, Some(Value::Text(it)) if is_portable(it));
            if told || is_portable(words.description) {
                found.leave(PORTABLE);
            }
        }
        "bus" if words.id == "core" => found.part(PartKind::Board, label(words.product), None),
        "processor" => processor(words, table, found),
        "memory" => memory(words, table, &description, found),
        "disk" => drive(words, table, above, &description, found),
        "display" => display(words, found),
        "network" | "multimedia" | "communication" | "storage" if !above.on_usb => {
            found.leave(
                "controllers (network, sound, drives and the like): taken as built into the board; write kind = \"card\" for \
                 each that stands in a slot",
            );
        }
        "power" if words.id.starts_with("battery") => found.leave(PORTABLE),
        "power" => found.leave("what is told of a supply: this format does not say in which unit"),
        "volume" | "bus" | "bridge" | "storage" => {}
        _ if above.on_usb => found.leave(
            "what hangs on USB ports: it comes and goes; write kind = \"usb\" for what stays and draws much",
        ),
        _ => {}
    }
}

fn processor(words: &Words, table: &Table, found: &mut Found) {
    let off = table
        .get("disabled")
        .is_some_and(|it| matches!(it.node.value, Value::Flag(true)));
    let empty = words.product.to_lowercase().contains("[empty]");
    if off || empty {
        found.leave("a processor's socket that is empty or turned off");
    } else {
        found.part(PartKind::Processor, label(words.product), None);
    }
}

fn memory(words: &Words, table: &Table, description: &str, found: &mut Found) {
    let is_bank = words.id.starts_with("bank");
    if !is_bank {
        let has_banks = |it: &Node| matches!(&it.value, Value::List(it) if !it.is_empty());
        let banks = table.get("children").is_some_and(|it| has_banks(&it.node));
        if words.id.starts_with("memory") && !banks && table.get("size").is_some() {
            found.leave("memory: its size is told, but not on how many modules; count them");
        }
        return;
    }
    if description.contains("[empty]") || table.get("size").is_none() {
        return; // an empty socket draws nothing
    }
    if description.contains("row of chips") {
        found.leave("memory soldered to the board: counted with the board");
        return;
    }
    found.part(PartKind::Memory, None, generation(words.description));
}

fn drive(words: &Words, table: &Table, above: &Above, description: &str, found: &mut Found) {
    if above.on_usb {
        found.leave(
            "drives on USB ports: they come and go; write kind = \"usb\" for one that stays",
        );
        return;
    }
    let optical = ["dvd", "cd-rom", "cd-r", "blu-ray", "bd-"];
    if words.id.starts_with("cdrom") || optical.iter().any(|it| description.contains(it)) {
        return found.part(PartKind::Optical, label(words.product), None);
    }
    if description.contains("nvme") || words.bus.starts_with("nvme@") {
        // one drive shows as several nodes; its first namespace is there once, and its name stands above
        if words.id.starts_with("namespace") && (words.bus.is_empty() || words.bus.ends_with(":1"))
        {
            found.part(PartKind::SolidStateSlot, label(above.product), None);
        }
        return;
    }
    let rotations = match table.get("capabilities").map(|it| &it.node.value) {
        Some(Value::Table(it)) => it.0.iter().any(|it| it.key.ends_with("rpm")),
        _ => false,
    };
    if rotations {
        found.part(PartKind::Disk, label(words.product), None);
    } else if is_solid_state(words.product) || is_solid_state(words.description) {
        found.part(PartKind::SolidState, label(words.product), None);
    } else {
        let name = label(words.product).unwrap_or_else(|| "without a name".to_owned());
        found.leave(format!(
            "the drive {name}: it is not told whether disks turn in it; write kind = \"disk-3.5\", \"disk-2.5\" or \
             \"solid-state\""
        ));
    }
}

/// A card or a part of processor and board: the bus of the board itself has number 0.
fn display(words: &Words, found: &mut Found) {
    let bus = words
        .bus
        .strip_prefix("pci@")
        .and_then(|it| it.split(':').nth_back(1));
    match bus {
        Some(it) if it.chars().all(|it| it == '0') => {
            found.leave("graphics on the board's own bus: counted with processor and board");
        }
        Some(_) => {
            found.part(PartKind::Graphics, label(words.product), None);
            found.leave(
                "graphics on a bus of its own is taken for a card; some processors have theirs there: look whether a card is \
                 in a slot",
            );
        }
        None => found.leave(
            "graphics of which it is not told where it is: write kind = \"graphics\" for a card",
        ),
    }
}
