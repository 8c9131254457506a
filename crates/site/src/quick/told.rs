//! What a line tells, before the names of its places are looked up.

use std::ops::Range;

use metrology::{Accuracy, Amps, Hertz, Ohms, Stated, Volts, Watts};

use crate::assumed::{AFTER, BEFORE, OTHER_LEG, SAME_LEG};
use crate::visit::{Input, Lamp, Pin, Running, Sign, Signals, SwitchState};

/// Where something stands in the line, in bytes.
pub(super) type Span = Range<usize>;

/// Something with its place in the line.
#[derive(Clone, Debug)]
pub(super) struct Spanned<T> {
    pub it: T,
    pub at: Span,
}

/// A line.
#[derive(Clone, Debug, Default)]
pub(super) struct Told {
    pub parts: Vec<Part>,
    pub meter: MeterTold,
}

/// What is told of one place, between two semicolons.
#[derive(Clone, Debug, Default)]
pub(super) struct Part {
    /// Name of the place; none for the one that needs no name.
    pub place: Option<Spanned<String>>,
    pub readings: Vec<ReadingTold>,
    pub lamps: Vec<Spanned<(Lamps, String)>>,
    pub detected: Vec<Spanned<(Pin, Signals, String)>>,
    pub asked: Vec<AskedTold>,
    pub signs: Vec<Spanned<(Sign, Level, String)>>,
    pub conditions: ConditionTold,
}

/// A reading.
#[derive(Clone, Debug)]
pub(super) struct ReadingTold {
    pub from: ContactTold,
    pub to: ContactTold,
    pub value: ValueTold,
    pub conditions: ConditionTold,
    /// Number of the reading that this one corrects, from 1.
    pub corrects: Option<Spanned<usize>>,
    pub at: Span,
    pub words: String,
}

/// Something that would be read or looked at.
#[derive(Clone, Debug)]
pub(super) struct AskedTold {
    pub what: AskTold,
    pub conditions: ConditionTold,
    pub at: Span,
}

/// With which instrument, and where.
#[derive(Clone, Debug)]
pub(super) enum AskTold {
    Volts(ContactTold, ContactTold),
    Lamps,
    Detector(Pin),
}

/// A value with its unit.
#[derive(Clone, Debug)]
pub(super) enum ValueTold {
    Volts(Stated<Volts>),
    Hertz(Stated<Hertz>),
    Amps(Stated<Amps>),
    Ohms(Stated<Ohms>),
}

/// A contact, as named.
#[derive(Clone, Debug)]
pub(super) struct ContactTold {
    /// Name of the place, where it is another than that of the part.
    pub place: Option<Spanned<String>>,
    pub end: End,
    pub at: Span,
}

/// What is touched.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum End {
    Pin(Pin),
    /// A line named by its leg, on a panel: `A`, `L1`.
    Leg(String),
    /// A rod, a pipe, damp ground, a person.
    TrueEarth,
    /// Metal that hangs on the earth contact: the case of a machine, a metal box, the screw of its cover.
    Metal,
    /// Whatever the corrected reading was of.
    Same,
}

/// Three lamps as far as they are told: across line-neutral, line-earth, neutral-earth.
pub(super) type Lamps = [Option<Lamp>; 3];

/// What a sign is about when its place is an outlet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Level {
    Outlet,
    Circuit,
    Site,
}

/// Conditions, each kind at most once.
#[derive(Clone, Debug, Default)]
pub(super) struct ConditionTold {
    pub loads: Option<Spanned<(Running, Level)>>,
    pub test_load: Option<Spanned<Watts>>,
    pub switch: Option<Spanned<SwitchState>>,
    pub breaker: Option<Spanned<SwitchState>>,
    pub input: Option<Spanned<Input>>,
    pub time: Option<Spanned<jiff::civil::Time>>,
}

impl ConditionTold {
    /// Whether nothing is told.
    pub fn is_empty(&self) -> bool {
        self.loads.is_none()
            && self.test_load.is_none()
            && self.switch.is_none()
            && self.breaker.is_none()
            && self.input.is_none()
            && self.time.is_none()
    }

    /// These, and where one kind is not told here, that of `others`.
    pub fn over(&self, others: &ConditionTold) -> ConditionTold {
        let mine = self.clone();
        let other = others.clone();
        ConditionTold {
            loads: mine.loads.or(other.loads),
            test_load: mine.test_load.or(other.test_load),
            switch: mine.switch.or(other.switch),
            breaker: mine.breaker.or(other.breaker),
            input: mine.input.or(other.input),
            time: mine.time.or(other.time),
        }
    }
}

/// What is told of the meter, for the whole line.
#[derive(Clone, Debug, Default)]
pub(super) struct MeterTold {
    pub class: Option<Spanned<String>>,
    pub accuracy: Option<Spanned<Accuracy>>,
    pub input: Option<Spanned<Ohms>>,
}

impl Told {
    /// Names of the places in the order in which they come up, panels and the unnamed one left out.
    pub fn places(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        let mut unnamed = false;
        for part in &self.parts {
            unnamed |= part.place.is_none();
            let read = part
                .readings
                .iter()
                .flat_map(|it| [&it.from.place, &it.to.place]);
            let asked = part.asked.iter().filter_map(|it| match &it.what {
                AskTold::Volts(from, to) => Some([&from.place, &to.place]),
                AskTold::Lamps | AskTold::Detector(_) => None,
            });
            let others = read.chain(asked.flatten());
            for name in std::iter::once(&part.place).chain(others).flatten() {
                let ours = [BEFORE, AFTER, SAME_LEG, OTHER_LEG];
                let known = names.iter().chain(&ours).any(|it| same_name(it, &name.it));
                if !known && !super::phrase::is_panel(&name.it) {
                    names.push(&name.it);
                }
            }
        }
        if unnamed && !names.is_empty() && !names.iter().any(|it| same_name(it, UNNAMED)) {
            names.insert(0, UNNAMED);
        }
        names
    }
}

/// Name of the outlet that was given none, as in `Site::assumed`.
pub(super) const UNNAMED: &str = "outlet";

/// Whether two names are the same to a person.
pub(super) fn same_name(one: &str, other: &str) -> bool {
    crate::file::fold(one) == crate::file::fold(other)
}
