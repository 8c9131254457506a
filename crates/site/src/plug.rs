//! Connectors between a supply and what it feeds, by the names they have in files.
//!
//! Only which there are; their pins, colours and ratings are tables of their own.

/// A connector of a supply, named for what it goes to and its ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Plug {
    /// Board, 24 ways.
    Main24,
    /// Board, 20 ways.
    Main20,
    /// Board of a supply with 12 V only, 10 ways.
    Main10,
    /// Processor, 4 ways.
    Processor4,
    /// Processor, 8 ways (one, or two halves of 4).
    Processor8,
    /// Graphics card, 6 ways.
    Graphics6,
    /// Graphics card, 8 ways (or 6 and 2).
    Graphics8,
    /// Graphics card, 12 ways and 4 for signals.
    Graphics12,
    /// Drives, 4 ways in a row.
    Peripheral,
    /// Drives, 15 contacts.
    Sata,
}

impl Plug {
    /// Every connector with its name in files.
    pub const NAMES: [(&'static str, Plug); 10] = [
        ("main-24", Plug::Main24),
        ("main-20", Plug::Main20),
        ("main-10", Plug::Main10),
        ("processor-4", Plug::Processor4),
        ("processor-8", Plug::Processor8),
        ("graphics-6", Plug::Graphics6),
        ("graphics-8", Plug::Graphics8),
        ("graphics-12+4", Plug::Graphics12),
        ("peripheral", Plug::Peripheral),
        ("sata-power", Plug::Sata),
    ];

    /// Its name in files, as `graphics-8`.
    pub fn name(self) -> &'static str {
        let own = Plug::NAMES.iter().find(|(_, it)| *it == self);
        own.map_or("", |(name, _)| name)
    }
}

/// So many connectors of one kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plugs {
    /// Which.
    pub plug: Plug,
    /// How many.
    pub count: u32,
}

/// A cable that leads from connectors of the supply to another one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Adapter {
    /// What it is plugged into, each of them.
    pub from: Vec<Plug>,
    /// What it offers.
    pub to: Plug,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_connector_has_a_name_of_its_own() {
        for (name, plug) in Plug::NAMES {
            assert_eq!(plug.name(), name);
            let same = Plug::NAMES.iter().filter(|(it, _)| *it == name);
            assert_eq!(same.count(), 1, "{name}");
        }
    }
}
