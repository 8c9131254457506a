//! What parts draw where nobody told it, from `data/parts.toml`: by kind, rail and moment, each with its doubt.

mod read;

use std::sync::OnceLock;

use metrology::{Amps, Fraction, Seconds, Sourced, Watts};
use serde::Serialize;

use crate::machine::{Generation, PartKind};
use crate::supply::{Feeds, Rail};

/// A moment in the life of a machine at which its supply is looked at.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Moment {
    /// Plugged in and switched off.
    Off,
    /// On, nothing to do.
    Idle,
    /// The usual day.
    Typical,
    /// All parts at work for long.
    Sustained,
    /// Switched on: drives speed up.
    Start,
    /// The processor above its base power, for seconds.
    Peak,
    /// A graphics card's peak of 10 ms on top of that.
    Excursion,
}

impl Moment {
    /// Every moment, in the order of a table.
    pub const ALL: [Moment; 7] = [
        Moment::Off,
        Moment::Idle,
        Moment::Typical,
        Moment::Sustained,
        Moment::Start,
        Moment::Peak,
        Moment::Excursion,
    ];

    /// For the head of a row.
    pub fn short(self) -> &'static str {
        match self {
            Moment::Off => "off",
            Moment::Idle => "idle",
            Moment::Typical => "usual day",
            Moment::Sustained => "sustained",
            Moment::Start => "start",
            Moment::Peak => "peak, seconds",
            Moment::Excursion => "peak, 10 ms",
        }
    }

    /// Words for people, as in "while idle".
    pub fn words(self) -> &'static str {
        match self {
            Moment::Off => "off, plugged in",
            Moment::Idle => "idle",
            Moment::Typical => "on a usual day",
            Moment::Sustained => "at sustained work",
            Moment::Start => "at the start, drives speeding up",
            Moment::Peak => "in peaks of seconds",
            Moment::Excursion => "in peaks of 10 ms",
        }
    }
}

/// A value in the unit that it is written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// At the rail.
    Current(Amps),
    /// At the part.
    Power(Watts),
    /// Of the power that its maker gives for sustained work.
    Share(Fraction),
}

/// A value with its standard uncertainty, in the same unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Typical {
    /// Value.
    pub value: Amount,
    /// Standard uncertainty.
    pub u: Amount,
}

/// What a part of a kind draws from one rail.
#[derive(Clone, Debug)]
pub struct Draw {
    /// Kind of part.
    pub kind: PartKind,
    /// Generation of a memory module; `None` where nobody told it.
    pub generation: Option<Generation>,
    /// The rail.
    pub rail: Rail,
    /// Through which connectors.
    pub through: Feeds,
    /// Whether a regulator of the board stands between.
    pub regulated: bool,
    /// At each moment, in the order of [`Moment::ALL`].
    pub at: [Sourced<Typical>; 7],
}

/// All that is taken for usual.
#[derive(Clone, Debug)]
pub struct Usuals {
    /// What parts draw.
    pub draws: Vec<Draw>,
    /// Power and its standard uncertainty of a part whose maker's figure nobody told.
    pub powers: Vec<(PartKind, Sourced<(Watts, Watts)>)>,
    /// Efficiency of a regulator on the board, with its standard uncertainty.
    pub regulator: Sourced<(Fraction, Fraction)>,
    /// Relative standard uncertainty of what stands on a sheet or label.
    pub sheet: Sourced<Fraction>,
    /// How long a drive speeds up.
    pub spin_up: Sourced<Seconds>,
    /// What a graphics card draws through its slot: at most, and usually where it has connectors of its own.
    pub slot: Sourced<(Watts, Watts)>,
}

impl Usuals {
    /// Those that are built into the program.
    pub fn built_in() -> &'static Usuals {
        static ALL: OnceLock<Usuals> = OnceLock::new();
        ALL.get_or_init(|| {
            let text = include_str!("../data/parts.toml");
            read::read(text).expect("the parts of `data` read, held by the tests below")
        })
    }

    /// What a part draws, one entry a rail.
    pub fn draws(
        &self,
        kind: PartKind,
        generation: Option<Generation>,
    ) -> impl Iterator<Item = &Draw> {
        let of = move |it: &&Draw| it.kind == kind && it.generation == generation;
        self.draws.iter().filter(of)
    }

    /// The power that is taken for a part whose maker's figure nobody told.
    pub fn power(&self, kind: PartKind) -> Option<&Sourced<(Watts, Watts)>> {
        let found = self.powers.iter().find(|(it, _)| *it == kind);
        found.map(|(_, it)| it)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_part_draws_something_and_says_where_that_is_from() {
        let all = Usuals::built_in();
        for (name, kind) in PartKind::NAMES {
            assert!(all.draws(kind, None).count() > 0, "{name}");
        }
        for (name, generation) in Generation::NAMES {
            let of = all.draws(PartKind::Memory, Some(generation));
            assert_eq!(of.count(), 1, "{name}");
        }
        for draw in &all.draws {
            for it in &draw.at {
                assert!(!it.source.is_empty());
            }
            let shares = |it: &Sourced<Typical>| matches!(it.value.value, Amount::Share(_));
            let of_power = draw.at[1..].iter().any(shares);
            assert!(
                !of_power || all.power(draw.kind).is_some(),
                "{:?}",
                draw.kind
            );
        }
    }

    /// Five product manuals of 3.5 inch drives (recorder, desktop of 2006, economical, server 2 TB, server 500 GB) give
    /// 2.0, 2.8, 2.0, 1.72 and 2.03 A from +12 V while the disks speed up: mean 2.11, standard deviation 0.41. Three of
    /// them give both rails: idle 0.272, 0.520, 0.39 A and working 0.397, 0.762, 0.69 A from +12 V, idle 0.415, 0.611,
    /// 0.46 A and working 0.641, 0.772, 0.50 A from +5 V. Two figures are kept.
    #[test]
    fn ref_a_disk_draws_what_the_manuals_say() {
        let all = Usuals::built_in();
        let at = |rail: Rail, moment: usize| {
            let draw = all.draws(PartKind::Disk35, None).find(|it| it.rail == rail);
            let it = &draw.expect("a 3.5 inch disk has both rails").at[moment].value;
            match (it.value, it.u) {
                (Amount::Current(value), Amount::Current(u)) => (value.si(), u.si()),
                other => panic!("{other:?}"),
            }
        };
        let of = |values: &[f64]| {
            let n = values.len() as f64;
            let mean = values.iter().sum::<f64>() / n;
            let square = values.iter().map(|it| (it - mean).powi(2)).sum::<f64>();
            (mean, (square / (n - 1.0)).sqrt())
        };
        for (got, wanted) in [
            (at(Rail::Plus12, 4), of(&[2.0, 2.8, 2.0, 1.72, 2.03])),
            (at(Rail::Plus12, 1), of(&[0.272, 0.520, 0.39])),
            (at(Rail::Plus12, 3), of(&[0.397, 0.762, 0.69])),
            (at(Rail::Plus5, 1), of(&[0.415, 0.611, 0.46])),
            (at(Rail::Plus5, 3), of(&[0.641, 0.772, 0.50])),
        ] {
            assert!((got.0 - wanted.0).abs() < 0.02, "{got:?} {wanted:?}");
            assert!((got.1 - wanted.1).abs() < 0.02, "{got:?} {wanted:?}");
        }
    }
}
