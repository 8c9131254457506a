//! What supplies bear and give beside what their labels say: `data/rules.toml`, each value with its source.

mod read;

use std::collections::BTreeMap;
use std::sync::OnceLock;

use metrology::{Amps, Celsius, Fraction, Sourced, Volts, Watts};
use site::connector::Connector;
use site::plug::Plug;
use site::signal::Signal;
use site::supply::{Correction, Mark, Rail, Selected};

use read::NotCounted;

/// A value with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubted<Q> {
    /// Value.
    pub value: Q,
    /// Standard uncertainty.
    pub u: Q,
}

/// All rules.
#[derive(Clone, Debug)]
pub struct Rules {
    efficiency: Vec<Levels>,
    /// Standard uncertainty of an efficiency.
    pub efficiency_doubt: Sourced<Fraction>,
    /// Efficiency of the standby converter.
    pub standby_efficiency: Sourced<Fraction>,
    power_factors: BTreeMap<String, Sourced<Doubted<Fraction>>>,
    selectors: Vec<(String, Sourced<(Volts, Volts)>)>,
    inrush: Vec<(Volts, Sourced<Doubted<Amps>>)>,
    /// Share of an overcurrent device's rating that may be drawn for long.
    pub breaker_continuous: Sourced<Fraction>,
    /// Peak of an inrush over the rating of an overcurrent device that it lets pass.
    pub breaker_inrush: Sourced<Fraction>,
    excursions: BTreeMap<String, Sourced<Doubted<Fraction>>>,
    /// Rating above which a supply with a 12+4 connector bears larger excursions.
    pub large_above: Sourced<Watts>,
    /// What is lost in a year, and what is left at the least.
    pub ageing: Sourced<(Doubted<Fraction>, Fraction)>,
    /// Years of a supply in use of which nobody told the age.
    pub age_not_told: Sourced<Doubted<f64>>,
    /// Air up to which a rating holds, and what is lost for each kelvin above it.
    pub heat: Sourced<(Celsius, Doubted<Fraction>)>,
    /// Air that a supply draws in, with its doubt in kelvin.
    pub air: Sourced<(Celsius, f64)>,
    /// Efficiency of the regulators of a board behind a supply with 12 V only.
    pub only_12: Sourced<Doubted<Fraction>>,
    /// Contacts of each connector.
    pub contacts: Vec<Contacts>,
}

/// Efficiencies at 20 %, 50 % and 100 % of the rating.
#[derive(Clone, Debug)]
struct Levels {
    mark: Option<Mark>,
    nominal: Volts,
    at: Sourced<[Fraction; 3]>,
}

/// The contacts of a connector that carry power, from the tables of pins.
#[derive(Clone, Debug)]
pub struct Contacts {
    /// Which connector.
    pub plug: Plug,
    /// How many carry each rail.
    pub rails: Vec<(Rail, u32)>,
    /// What one may carry, where the terminals are not known.
    pub rating: Sourced<Amps>,
    /// Power that a graphics card may draw through it.
    pub allowed: Option<Watts>,
}

impl Contacts {
    /// How many contacts carry a rail.
    pub fn carrying(&self, rail: Rail) -> u32 {
        let found = self.rails.iter().find(|(it, _)| *it == rail.family());
        found.map_or(0, |(_, n)| *n)
    }

    /// Power that the contacts of a rail could carry by their rating.
    pub fn power(&self, rail: Rail) -> Watts {
        f64::from(self.carrying(rail)) * (rail.volts() * self.rating.value)
    }

    /// Of a connector of the tables, less the pins that are not counted on; `None` where no rating is known.
    fn of(plug: Plug, not_counted: &[NotCounted]) -> Option<Contacts> {
        const RAILS: [(Signal, Rail); 5] = [
            (Signal::Plus12, Rail::Plus12),
            (Signal::Plus5, Rail::Plus5),
            (Signal::Plus3, Rail::Plus33),
            (Signal::Standby5, Rail::Standby5),
            (Signal::Standby12, Rail::Standby12),
        ];
        let connector = Connector::of(plug)?;
        let count = |(signal, rail): (Signal, Rail)| {
            let less = not_counted
                .iter()
                .filter(|it| it.connector == plug.name() && it.rail == rail.name());
            let less: u32 = less.map(|it| it.pins).sum();
            let pins = connector.pins_of(signal).count() as u32;
            (rail, pins.saturating_sub(less))
        };
        Some(Contacts {
            plug,
            rails: RAILS.map(count).into(),
            rating: connector.rating()?.clone(),
            allowed: connector.power.as_ref().map(|it| it.value),
        })
    }
}

/// What a supply's power factor is known from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FactorFrom {
    /// Its correction was told.
    Correction(Correction),
    /// It has an efficiency mark.
    Mark,
    /// Nothing.
    Nothing,
}

/// Which published short peaks a supply bears.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Excursions {
    /// Above 450 W, with a 12+4 connector.
    Large,
    /// The others of a guide that speaks of them.
    Small,
    /// No guide speaks of them.
    Unpublished,
}

impl Rules {
    /// Those that are built into the program.
    pub fn built_in() -> &'static Rules {
        static ALL: OnceLock<Rules> = OnceLock::new();
        ALL.get_or_init(|| {
            read::read(include_str!("../data/rules.toml"))
                .expect("the rules of `data` read, held by the tests below")
        })
    }

    /// Efficiencies at 20 %, 50 % and 100 % of the rating by the mark; the guide's least where there is none.
    pub fn efficiency(&self, mark: Option<Mark>, input: Volts) -> &Sourced<[Fraction; 3]> {
        let off = |it: &&Levels| (it.nominal - input).abs().si();
        let of = self.efficiency.iter().filter(|it| it.mark == mark);
        let nearest = of.min_by(|a, b| off(a).total_cmp(&off(b)));
        &nearest.unwrap_or(&self.efficiency[0]).at
    }

    /// A power factor.
    pub fn power_factor(&self, from: FactorFrom) -> &Sourced<Doubted<Fraction>> {
        &self.power_factors[match from {
            FactorFrom::Correction(Correction::None) => "none",
            FactorFrom::Correction(Correction::Passive) => "passive",
            FactorFrom::Correction(Correction::Active) => "active",
            FactorFrom::Mark => "marked",
            FactorFrom::Nothing => "not told",
        }]
    }

    /// Input range at a position of the selector.
    pub fn selector(&self, at: Selected) -> &Sourced<(Volts, Volts)> {
        let name = match at {
            Selected::Low => "115 V",
            Selected::High => "230 V",
        };
        let found = self.selectors.iter().find(|(it, _)| it == name);
        &found.unwrap_or(&self.selectors[0]).1
    }

    /// Peak current when plugged in cold, at the nominal voltage nearest to this one.
    pub fn inrush(&self, input: Volts) -> &Sourced<Doubted<Amps>> {
        let off = |it: &&(Volts, _)| (it.0 - input).abs().si();
        let nearest = self.inrush.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
        &nearest.unwrap_or(&self.inrush[0]).1
    }

    /// Share of its rating that a supply bears for 10 ms.
    pub fn excursion(&self, of: Excursions) -> &Sourced<Doubted<Fraction>> {
        &self.excursions[match of {
            Excursions::Large => "large",
            Excursions::Small => "small",
            Excursions::Unpublished => "unpublished",
        }]
    }

    /// The contacts of a connector, where they are known.
    pub fn contacts(&self, plug: Plug) -> Option<&Contacts> {
        self.contacts.iter().find(|it| it.plug == plug)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_that_is_asked_for_is_there() {
        let rules = Rules::built_in();
        for from in [
            FactorFrom::Correction(Correction::None),
            FactorFrom::Correction(Correction::Passive),
            FactorFrom::Correction(Correction::Active),
            FactorFrom::Mark,
            FactorFrom::Nothing,
        ] {
            assert!(rules.power_factor(from).value.value.si() > 0.5, "{from:?}");
        }
        for of in [
            Excursions::Large,
            Excursions::Small,
            Excursions::Unpublished,
        ] {
            assert!(rules.excursion(of).value.value.si() > 1.0, "{of:?}");
        }
        assert_eq!(
            rules.selector(Selected::High).value.0,
            Volts::from_si(180.0)
        );
        for (name, plug) in Plug::NAMES {
            let of = rules.contacts(plug).unwrap_or_else(|| panic!("{name}"));
            assert!(of.carrying(Rail::Plus12) > 0, "{name}");
        }
    }

    /// Upgrading handbook, table 18.7: a 20-way connector carries 251 W at 6 A a contact, as 3 × 6 × 3.3 + 4 × 6 × 5 +
    /// 1 × 6 × 12 = 251.4. Graphics connectors: 2 × 8 × 12 = 192 and 3 × 8 × 12 = 288 W. 12+4: 6 × 9.2 × 12 = 662.4.
    #[test]
    fn ref_connectors_carry_what_the_handbook_says() {
        let power = |plug: Plug, rails: &[Rail]| {
            let of = Rules::built_in().contacts(plug).expect("its contacts");
            rails.iter().map(|it| of.power(*it).si()).sum::<f64>()
        };
        let main = [Rail::Plus12, Rail::Plus5, Rail::Plus33];
        for (got, wanted) in [
            (power(Plug::Main20, &main), 251.4),
            (power(Plug::Graphics6, &main), 192.0),
            (power(Plug::Graphics8, &main), 288.0),
            (power(Plug::Graphics12, &main), 662.4),
        ] {
            assert!((got - wanted).abs() < 1e-9, "{got} {wanted}");
        }
    }
}
