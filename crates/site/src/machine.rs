//! A machine as its parts, and what is known of each. What is not told is `None`, never a guess: what a part draws
//! where nobody told it stands in `data/parts.toml`.

use metrology::{Amps, Celsius, Seconds, Watts};

use crate::model::OutletIx;
use crate::plug::Plugs;
use crate::supply::{FormFactor, Rail, Supply};

/// A machine of a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Identifier in files.
    pub id: String,
    /// The outlet that it is fed from.
    pub at: OutletIx,
    /// The UPS between, the nearest one where there are several.
    pub behind: Option<String>,
    /// Real power it was measured to draw, or that is printed on it.
    pub power: Option<Watts>,
    /// What it is made of.
    pub build: Build,
    /// The supply in it.
    pub supply: Option<Supply>,
}

/// What a machine is made of, wherever it stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Build {
    /// Its parts.
    pub parts: Vec<Part>,
    /// Size of supply that its case takes.
    pub takes: Option<FormFactor>,
    /// Air that its supply draws in.
    pub air: Option<Celsius>,
    /// Time from the start of one drive to that of the next; all at once where not told.
    pub stagger: Option<Seconds>,
    /// How long it is on in a day.
    pub on: Option<Seconds>,
}

/// A part, or several that are the same.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// What it is.
    pub kind: PartKind,
    /// How many.
    pub count: u32,
    /// Words for people.
    pub label: Option<String>,
    /// Power that its maker gives it for sustained work: base power of a processor, board power of a graphics card.
    pub power: Option<Watts>,
    /// Power that it draws for a short time, where told.
    pub peak: Option<Watts>,
    /// Currents printed on it, by rail.
    pub nameplate: Vec<(Rail, Amps)>,
    /// Current of a drive from +12 V (+5 V for one that has only that) while its disks speed up.
    pub spin_up: Option<Amps>,
    /// Generation of a memory module.
    pub generation: Option<Generation>,
    /// Connectors of the supply that each needs; the usual ones where none are told.
    pub needs: Vec<Plugs>,
}

impl Part {
    /// One part of a kind, nothing else known.
    pub fn of(kind: PartKind) -> Part {
        Part {
            kind,
            count: 1,
            label: None,
            power: None,
            peak: None,
            nameplate: Vec::new(),
            spin_up: None,
            generation: None,
            needs: Vec::new(),
        }
    }
}

/// What a part is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PartKind {
    /// Processor.
    Processor,
    /// Main board, without processor and memory.
    Board,
    /// Memory module.
    Memory,
    /// Drive with 3.5 inch disks.
    Disk35,
    /// Drive with 2.5 inch disks.
    Disk25,
    /// Drive with disks of which nobody told the size.
    Disk,
    /// Solid-state drive with a cable.
    SolidState,
    /// Solid-state drive in a slot of the board.
    SolidStateSlot,
    /// Optical drive.
    Optical,
    /// Graphics card.
    Graphics,
    /// Another card in a slot.
    Card,
    /// Fan.
    Fan,
    /// Pump of a liquid cooler.
    Pump,
    /// Something that is fed by a USB port.
    Usb,
}

impl PartKind {
    /// Every kind with its name in files.
    pub const NAMES: [(&'static str, PartKind); 14] = [
        ("processor", PartKind::Processor),
        ("board", PartKind::Board),
        ("memory", PartKind::Memory),
        ("disk-3.5", PartKind::Disk35),
        ("disk-2.5", PartKind::Disk25),
        ("disk", PartKind::Disk),
        ("solid-state", PartKind::SolidState),
        ("solid-state-slot", PartKind::SolidStateSlot),
        ("optical", PartKind::Optical),
        ("graphics", PartKind::Graphics),
        ("card", PartKind::Card),
        ("fan", PartKind::Fan),
        ("pump", PartKind::Pump),
        ("usb", PartKind::Usb),
    ];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        let own = PartKind::NAMES.iter().find(|(_, it)| *it == self);
        own.map_or("", |(name, _)| name)
    }

    /// What it is called, one of it or several.
    pub fn words(self, count: u32) -> &'static str {
        let (one, several) = match self {
            PartKind::Processor => ("processor", "processors"),
            PartKind::Board => ("board", "boards"),
            PartKind::Memory => ("memory module", "memory modules"),
            PartKind::Disk35 => ("3.5 inch disk", "3.5 inch disks"),
            PartKind::Disk25 => ("2.5 inch disk", "2.5 inch disks"),
            PartKind::Disk => ("disk of untold size", "disks of untold size"),
            PartKind::SolidState => ("solid-state drive", "solid-state drives"),
            PartKind::SolidStateSlot => {
                ("solid-state drive in a slot", "solid-state drives in slots")
            }
            PartKind::Optical => ("optical drive", "optical drives"),
            PartKind::Graphics => ("graphics card", "graphics cards"),
            PartKind::Card => ("card", "cards"),
            PartKind::Fan => ("fan", "fans"),
            PartKind::Pump => ("pump", "pumps"),
            PartKind::Usb => ("USB load", "USB loads"),
        };
        if count == 1 { one } else { several }
    }

    /// Whether disks turn in it.
    pub fn spins(self) -> bool {
        matches!(self, PartKind::Disk35 | PartKind::Disk25 | PartKind::Disk)
    }
}

/// Generation of memory.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Generation {
    /// DDR.
    Ddr,
    /// DDR2.
    Ddr2,
    /// DDR3.
    Ddr3,
    /// DDR4.
    Ddr4,
    /// DDR5.
    Ddr5,
}

impl Generation {
    /// Every generation with its name in files.
    pub const NAMES: [(&'static str, Generation); 5] = [
        ("DDR", Generation::Ddr),
        ("DDR2", Generation::Ddr2),
        ("DDR3", Generation::Ddr3),
        ("DDR4", Generation::Ddr4),
        ("DDR5", Generation::Ddr5),
    ];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        let own = Generation::NAMES.iter().find(|(_, it)| *it == self);
        own.map_or("", |(name, _)| name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_part_has_a_name_of_its_own() {
        for (name, kind) in PartKind::NAMES {
            assert_eq!(kind.name(), name);
            let same = PartKind::NAMES.iter().filter(|(it, _)| *it == name);
            assert_eq!(same.count(), 1, "{name}");
            assert_ne!(kind.words(1), kind.words(2));
        }
    }
}
