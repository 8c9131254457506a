//! Connectors of a desktop supply: every pin with its signal, colour and rating, and the connector as seen from the side
//! that is probed. The tables are `data/connectors.toml`.

mod limits;
mod path;
mod read;
mod verdict;

pub use limits::{Held, shuts_down};
pub use path::{CONTACT, Path, SENSE_REACH, shares, with_sense};
pub use verdict::{AtPin, CAUTION, Judged, Machine, judged};

use std::sync::OnceLock;

use metrology::{Amps, Gauge, Sourced, Volts, Watts};

use crate::plug::Plug;
use crate::signal::Signal;
use crate::supply::Guide;

/// A connector.
#[derive(Clone, Debug)]
pub struct Connector {
    /// Identifier, as that of [`Plug`] in files: `main-24`.
    pub id: String,
    /// Words for people.
    pub name: String,
    /// What people call it in a line of readings.
    pub called: Vec<String>,
    /// Who needs it.
    pub needed_by: String,
    /// Guides whose supplies have it.
    pub guides: Vec<Guide>,
    /// Its pins, in the order of their numbers.
    pub pins: Vec<Pin>,
    /// Current that one contact may carry, by terminal; the first is taken where the terminal is not known.
    pub ratings: Vec<(String, Sourced<Amps>)>,
    /// Usual wire.
    pub wire: Gauge,
    /// Power that may be drawn through it, where a specification says so.
    pub power: Option<Sourced<Watts>>,
    /// What its sense pins say.
    pub tells: Vec<(String, Sourced<String>)>,
    /// How it is seen when probed.
    pub seen: Seen,
    /// What to take care of with this one.
    pub caution: String,
    /// Where its pins are published.
    pub source: Sourced<()>,
}

/// A pin.
#[derive(Clone, Debug, PartialEq)]
pub struct Pin {
    /// Number as moulded or published: `9`, `S1`.
    pub number: String,
    /// What it carries.
    pub signal: Signal,
    /// What else it carries: `sense`.
    pub also: Option<String>,
    /// What it carried on older supplies.
    pub formerly: Option<Signal>,
    /// Usual colour of its wire.
    pub colour: String,
    /// Of which kind its contact is.
    pub contact: Contact,
    /// What else a reader should know.
    pub note: Option<String>,
}

/// A kind of contact.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Contact {
    /// That of the connector's rating.
    #[default]
    Power,
    /// A small one for signals, which the rating does not hold for.
    SideBand,
}

/// A connector as seen from one side.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Numbers of the pins, row by row from the top, from left to right; none where no source shows it.
    pub rows: Vec<Vec<String>>,
    /// What stands at the upper edge: `latch`, `key`.
    pub edge: String,
    /// From where it is seen, in words, with the source.
    pub says: Sourced<String>,
}

impl Connector {
    /// Every connector there is.
    pub fn all() -> &'static [Connector] {
        static ALL: OnceLock<Vec<Connector>> = OnceLock::new();
        ALL.get_or_init(|| {
            read::connectors(include_str!("../data/connectors.toml"))
                .expect("`data` reads, held by tests/connector.rs")
        })
    }

    /// The connector with this identifier, name or one of the words people use for it.
    pub fn find(name: &str) -> Option<&'static Connector> {
        let name = crate::file::fold(name);
        let same = |it: &str| crate::file::fold(it) == name;
        Connector::all()
            .iter()
            .find(|it| same(&it.id) || same(&it.name) || it.called.iter().any(|it| same(it)))
    }

    /// What is known of a supply's plug.
    pub fn of(plug: Plug) -> Option<&'static Connector> {
        Connector::find(plug.name())
    }

    /// The identifier that was likely meant.
    pub fn near(name: &str) -> Option<&'static str> {
        let ids = Connector::all().iter().map(|it| it.id.as_str());
        crate::file::near::nearest(name, ids)
    }

    /// Guides whose supplies have it, by their names in files.
    pub fn guide_names(&self) -> Vec<&'static str> {
        let name = |it: &Guide| crate::signal::guide_name(*it);
        self.guides.iter().map(name).collect()
    }

    /// The pin with this number.
    pub fn pin(&self, number: &str) -> Option<&Pin> {
        self.pins
            .iter()
            .find(|it| it.number.eq_ignore_ascii_case(number))
    }

    /// What a contact may carry where its terminal is not known.
    pub fn rating(&self) -> Option<&Sourced<Amps>> {
        self.ratings.first().map(|(_, it)| it)
    }

    /// What the contact of a pin may carry; nothing is known of a small one for signals.
    pub fn rating_of(&self, pin: &Pin) -> Option<&Sourced<Amps>> {
        self.rating().filter(|_| pin.contact == Contact::Power)
    }

    /// Pins of a signal.
    pub fn pins_of(&self, signal: Signal) -> impl Iterator<Item = &Pin> {
        self.pins.iter().filter(move |it| it.signal == signal)
    }

    /// What the contacts of a signal may carry together at this rating each, if all of them share evenly.
    pub fn capability(&self, signal: Signal, rating: Amps) -> Option<Watts> {
        let volts = signal.nominal()?;
        let n_pins = self.pins_of(signal).count() as f64;
        Some(Watts::from_si(n_pins * rating.si() * volts.si().abs()))
    }
}

impl Seen {
    /// The same from the other side: each row the other way round.
    pub fn mirrored(&self) -> Vec<Vec<String>> {
        let turned = |row: &Vec<String>| row.iter().rev().cloned().collect();
        self.rows.iter().map(turned).collect()
    }
}

impl Pin {
    /// Signal with what else is known of it: `+3.3 V and sense`, `reserved (-5 V before)`.
    pub fn carries(&self) -> String {
        let mut text = self.signal.to_string();
        if let Some(also) = &self.also {
            text = format!("{text} and {also}");
        }
        if let Some(formerly) = self.formerly {
            text = format!("{text} ({formerly} before)");
        }
        text
    }

    /// What it is meant to be, where it is a rail.
    pub fn nominal(&self) -> Option<Volts> {
        self.signal.nominal()
    }
}
