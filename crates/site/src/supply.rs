//! A power supply as its label and its maker's sheet describe it. What is not told is `None`, never a guess.

use jiff::civil::Date;
use metrology::{Amps, Celsius, Fraction, Volts, Watts};

use crate::plug::{Adapter, Plugs};

/// An output of a supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Rail {
    /// +12 V, where it is one.
    Plus12,
    /// The first of several +12 V rails.
    Plus12V1,
    /// The second.
    Plus12V2,
    /// The third.
    Plus12V3,
    /// The fourth.
    Plus12V4,
    /// +5 V.
    Plus5,
    /// +3.3 V.
    Plus33,
    /// -12 V.
    Minus12,
    /// -5 V, of supplies before 2003.
    Minus5,
    /// +5 V standby.
    Standby5,
    /// +12 V standby, of supplies with 12 V only.
    Standby12,
}

impl Rail {
    /// Every rail with its name in files.
    pub const NAMES: [(&'static str, Rail); 11] = [
        ("+12 V", Rail::Plus12),
        ("+12 V1", Rail::Plus12V1),
        ("+12 V2", Rail::Plus12V2),
        ("+12 V3", Rail::Plus12V3),
        ("+12 V4", Rail::Plus12V4),
        ("+5 V", Rail::Plus5),
        ("+3.3 V", Rail::Plus33),
        ("-12 V", Rail::Minus12),
        ("-5 V", Rail::Minus5),
        ("+5 VSB", Rail::Standby5),
        ("+12 VSB", Rail::Standby12),
    ];

    /// The rail with this name. Blanks and case do not count, and the plus may be missing.
    pub fn named(name: &str) -> Option<Rail> {
        let plain = |it: &str| {
            let it: String = it.chars().filter(|it| !it.is_whitespace()).collect();
            let it = it.to_uppercase().replace(['−', '–'], "-");
            it.strip_prefix('+').map(str::to_owned).unwrap_or(it)
        };
        let wanted = plain(name);
        let found = Rail::NAMES.iter().find(|(it, _)| plain(it) == wanted);
        found.map(|(_, it)| *it)
    }

    /// Its name in files, as `+12 V`.
    pub fn name(self) -> &'static str {
        let own = Rail::NAMES.iter().find(|(_, it)| *it == self);
        own.map_or("", |(name, _)| name)
    }

    /// Its nominal voltage, by magnitude.
    pub fn volts(self) -> Volts {
        Volts::from_si(match self.family() {
            Rail::Plus5 | Rail::Minus5 | Rail::Standby5 => 5.0,
            Rail::Plus33 => 3.3,
            _ => 12.0,
        })
    }

    /// The rail itself, or +12 V for each of several.
    pub fn family(self) -> Rail {
        match self {
            Rail::Plus12V1 | Rail::Plus12V2 | Rail::Plus12V3 | Rail::Plus12V4 => Rail::Plus12,
            it => it,
        }
    }

    /// Whether it is there as long as the supply is plugged in.
    pub fn is_standby(self) -> bool {
        matches!(self, Rail::Standby5 | Rail::Standby12)
    }
}

/// A supply.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Supply {
    /// What people call it; that of the machine it is built into where it has no name of its own.
    pub id: String,
    /// Output that it may give for ever, all rails together.
    pub rating: Option<Watts>,
    /// What each rail may give.
    pub rails: Vec<RailLimit>,
    /// What several rails may give together.
    pub combined: Vec<Combined>,
    /// The design guide it was made by.
    pub guide: Option<Guide>,
    /// Its size.
    pub form: Option<FormFactor>,
    /// What it may be plugged into.
    pub input: Input,
    /// Input current printed on its label.
    pub input_current: Option<Amps>,
    /// Peak of the current when it is plugged in cold.
    pub inrush: Option<Amps>,
    /// What is done about its power factor.
    pub correction: Option<Correction>,
    /// Efficiency mark.
    pub mark: Option<Mark>,
    /// Efficiency told at some loads, the smallest load first.
    pub efficiency: Vec<EfficiencyAt>,
    /// Connectors it has.
    pub connectors: Vec<Plugs>,
    /// Adapters that lie ready.
    pub adapters: Vec<Adapter>,
    /// When it was put into use.
    pub installed: Option<Date>,
    /// Temperature of the air up to which its rating holds.
    pub rated_at: Option<Celsius>,
}

/// What a rail may give.
#[derive(Clone, Debug, PartialEq)]
pub struct RailLimit {
    /// Which.
    pub rail: Rail,
    /// For ever.
    pub max: Amps,
    /// For a short time, where the label says so.
    pub peak: Option<Amps>,
    /// What it feeds, where there are several of its voltage and it is told.
    pub feeds: Vec<Feeds>,
}

/// What one of several +12 V rails feeds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Feeds {
    /// The processor's connectors.
    Processor,
    /// The graphics cards' own connectors.
    Graphics,
    /// The board's main connector, with what is plugged into the board.
    Board,
    /// Drives.
    Drives,
}

impl Feeds {
    /// Every one with its name in files.
    pub const NAMES: [(&'static str, Feeds); 4] = [
        ("processor", Feeds::Processor),
        ("graphics", Feeds::Graphics),
        ("board", Feeds::Board),
        ("drives", Feeds::Drives),
    ];
}

/// What several rails may give together.
#[derive(Clone, Debug, PartialEq)]
pub struct Combined {
    /// Which.
    pub rails: Vec<Rail>,
    /// Together.
    pub max: Watts,
}

/// The published design guide that a supply follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Guide {
    /// ATX 2.01 to ATX12V 1.x.
    One,
    /// ATX12V 2.x.
    Two,
    /// ATX 3.x: short peaks above the rating are published.
    Three,
    /// One rail of 12 V.
    Only12,
}

impl Guide {
    /// Every guide with its name in files.
    pub const NAMES: [(&'static str, Guide); 4] = [
        ("ATX12V 1", Guide::One),
        ("ATX12V 2", Guide::Two),
        ("ATX 3", Guide::Three),
        ("ATX12VO", Guide::Only12),
    ];
}

/// The size and fastening of a supply, by the names of the design guides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FormFactor {
    /// ATX12V.
    Atx,
    /// SFX12V.
    Sfx,
    /// TFX12V.
    Tfx,
    /// CFX12V.
    Cfx,
    /// LFX12V.
    Lfx,
    /// Flex ATX.
    Flex,
    /// A size of the machine's maker.
    Own,
}

impl FormFactor {
    /// Every size with its name in files.
    pub const NAMES: [(&'static str, FormFactor); 7] = [
        ("ATX", FormFactor::Atx),
        ("SFX", FormFactor::Sfx),
        ("TFX", FormFactor::Tfx),
        ("CFX", FormFactor::Cfx),
        ("LFX", FormFactor::Lfx),
        ("Flex ATX", FormFactor::Flex),
        ("own", FormFactor::Own),
    ];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        let own = FormFactor::NAMES.iter().find(|(_, it)| *it == self);
        own.map_or("", |(name, _)| name)
    }
}

/// What a supply may be plugged into.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Input {
    /// Nobody told.
    #[default]
    NotTold,
    /// Anything from one voltage to another.
    Range {
        /// Lowest.
        from: Volts,
        /// Highest.
        to: Volts,
    },
    /// It has a selector for the voltage; in which position, where told.
    Selector(Option<Selected>),
}

/// Position of a voltage selector.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Selected {
    /// 115 V.
    Low,
    /// 230 V.
    High,
}

impl Selected {
    /// Nominal voltage printed on it.
    pub fn volts(self) -> Volts {
        Volts::from_si(match self {
            Selected::Low => 115.0,
            Selected::High => 230.0,
        })
    }
}

/// What is done about the power factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Correction {
    /// Nothing: current flows at the peaks of the voltage only.
    None,
    /// A choke.
    Passive,
    /// A converter of its own.
    Active,
}

impl Correction {
    /// Every kind with its name in files.
    pub const NAMES: [(&'static str, Correction); 3] = [
        ("none", Correction::None),
        ("passive", Correction::Passive),
        ("active", Correction::Active),
    ];
}

/// Level of the voluntary efficiency mark for computer supplies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// The mark without a metal.
    Basic,
    /// Bronze.
    Bronze,
    /// Silver.
    Silver,
    /// Gold.
    Gold,
    /// Platinum.
    Platinum,
    /// Titanium.
    Titanium,
}

impl Mark {
    /// Every level with its name in files.
    pub const NAMES: [(&'static str, Mark); 6] = [
        ("basic", Mark::Basic),
        ("bronze", Mark::Bronze),
        ("silver", Mark::Silver),
        ("gold", Mark::Gold),
        ("platinum", Mark::Platinum),
        ("titanium", Mark::Titanium),
    ];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        let own = Mark::NAMES.iter().find(|(_, it)| *it == self);
        own.map_or("", |(name, _)| name)
    }
}

/// Efficiency at a share of the rating.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EfficiencyAt {
    /// Share of the rating.
    pub load: Fraction,
    /// Output over input.
    pub efficiency: Fraction,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rails_are_found_by_the_ways_labels_write_them() {
        for (written, wanted) in [
            ("+12 V", Some(Rail::Plus12)),
            ("12V", Some(Rail::Plus12)),
            ("+12v2", Some(Rail::Plus12V2)),
            ("-12 V", Some(Rail::Minus12)),
            ("−12 V", Some(Rail::Minus12)),
            ("+5Vsb", Some(Rail::Standby5)),
            ("3.3 V", Some(Rail::Plus33)),
            ("+9 V", None),
            ("", None),
        ] {
            assert_eq!(Rail::named(written), wanted, "{written}");
        }
        for (name, rail) in Rail::NAMES {
            assert_eq!(Rail::named(name), Some(rail));
            assert_eq!(rail.name(), name);
        }
    }
}
