//! A supply held against a demand at a place: every rail, combined limit and total at every moment that matters, its
//! connectors and contacts, its inlet and the circuit behind it.
//!
//! Limits are those of the label times what age and heat leave:
//! `f = max(f_min, 1 − a y) · (1 − k max(0, ϑ − ϑ_r))`; a: loss a year, y: years in use, k: loss for each kelvin, ϑ: air
//! drawn in, ϑ_r: air up to which the rating holds. For peaks of 10 ms the label times what the design guides publish.
//! Of several +12 V rails the second feeds the processor and the first the rest (ATX12V design guide 2.0), a third and
//! fourth the graphics cards' own connectors (our guess), where the file does not say what each feeds.
//! Source of a, k: judgement, `data/rules.toml`. Held by: tests/table.rs, tests/exact.rs.

use jiff::civil::Date;
use metrology::{Amps, Basis, Volts, Watts};
use site::finding::{Action, Finding, Verdict};
use site::machine::{Build, Machine};
use site::model::Site;
use site::plug::Plug;
use site::region::Region;
use site::supply::{Feeds, Guide, Rail, Supply};
use site::typical::Moment;

use crate::demand::Demand;
use crate::inlet::{Inlet, factor, inlet};
use crate::judge;
use crate::lines::{Limit, Line, Of, Unit};
use crate::plugs::{self, Met, Need};
use crate::rules::{Doubted, Excursions, Rules};
use crate::sum::Sum;

/// Where a machine is to run.
#[derive(Clone, Debug)]
pub struct Place {
    /// What findings are about, as `machine:front-desk-pc`.
    pub element: String,
    /// Nominal voltage of the outlet.
    pub nominal: Volts,
    /// Lowest and highest voltage of the region at an outlet.
    pub range: (Volts, Volts),
    /// The circuit, where the machine stands in a site.
    pub circuit: Option<Branch>,
    /// The UPS between, where there is one.
    pub behind: Option<String>,
}

/// The circuit that feeds a machine.
#[derive(Clone, Debug)]
pub struct Branch {
    /// Identifier.
    pub id: String,
    /// Rating of its overcurrent device.
    pub breaker: Amps,
    /// What else is known to draw from it.
    pub others: Amps,
}

impl Place {
    /// Anywhere in a region.
    pub fn in_region(region: &'static Region) -> Place {
        let system = &region.systems[0];
        let range = region.range(system, 0, None);
        Place {
            element: "machine".to_owned(),
            nominal: system.volts(0, None),
            range: (range.low.value, range.high.value),
            circuit: None,
            behind: None,
        }
    }

    /// Where a machine of a site stands.
    pub fn of(site: &Site, machine: &Machine) -> Place {
        let outlet = &site.outlets[machine.at.0];
        let circuit = &site.circuits[outlet.circuit.0];
        let system = site.service.system;
        let nominal = system.volts(circuit.leg, circuit.second_leg);
        let range = site.region.range(system, circuit.leg, circuit.second_leg);
        let on_it = site
            .loads
            .iter()
            .filter(|it| it.id != machine.id && site.outlets[it.at.0].circuit == outlet.circuit);
        let amps = on_it.map(|it| it.power.si() / (it.power_factor.si() * nominal.si()));
        let usual = site.region.usual.breaker.value;
        Place {
            element: format!("machine:{}", machine.id),
            nominal,
            range: (range.low.value, range.high.value),
            circuit: Some(Branch {
                id: circuit.id.clone(),
                breaker: circuit.breaker.unwrap_or(usual),
                others: Amps::from_si(amps.sum()),
            }),
            behind: machine.behind.clone(),
        }
    }
}

/// Whether a supply is in use or to be chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Standing {
    /// It is in the machine, judged as it is today.
    InUse {
        /// Today, for its age.
        today: Date,
    },
    /// It would be new, judged as it will be after so many years.
    Chosen {
        /// Years in use.
        years: f64,
    },
}

/// Energy of a year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Year {
    /// In kilowatt-hours.
    pub kilowatt_hours: f64,
    /// Its standard uncertainty.
    pub u_kilowatt_hours: f64,
    /// Hours on in a day.
    pub hours_on: f64,
    /// What that costs, where a price of a kilowatt-hour was told, in its money.
    pub cost: Option<f64>,
}

/// A supply held against a demand.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The supply.
    pub supply: String,
    /// The worst of the findings.
    pub verdict: Verdict,
    /// What to do.
    pub action: Action,
    /// Probability that the weakest of all limits holds.
    pub holds: f64,
    /// Everything that was found, the worst first.
    pub findings: Vec<Finding>,
    /// Every demand against every limit, what gives way first at the head.
    pub lines: Vec<Line>,
    /// What it draws at its inlet at sustained work.
    pub inlet: Option<Inlet>,
    /// Energy of a year, where its efficiency can be told.
    pub year: Option<Year>,
    /// Rating, where it is told.
    pub rating: Option<Watts>,
}

/// Holds a supply against a demand. `price` is what a kilowatt-hour costs.
pub fn fit(
    demand: &Demand,
    build: &Build,
    supply: &Supply,
    place: &Place,
    standing: Standing,
    price: Option<f64>,
) -> Fit {
    let on_12;
    let demand = if supply.guide == Some(Guide::Only12) {
        on_12 = demand.on_12_only();
        &on_12
    } else {
        demand
    };
    let left = left(build, supply, standing);
    let seated = plugs::seat(&plugs::needs(build, supply.guide), supply);
    let mut lines = Vec::new();
    rails(&mut lines, demand, supply, left);
    together(&mut lines, demand, supply, left);
    contacts(&mut lines, demand, supply, &seated);
    let at_inlet = inlet(demand, supply, Moment::Sustained, place.nominal);
    inlet_lines(&mut lines, supply, place, at_inlet.as_ref());
    let lines = in_order(lines);
    let held = judge::Held {
        demand,
        build,
        supply,
        place,
        standing,
    };
    let findings = judge::findings(&held, &lines, &seated);
    let worst = findings.first();
    Fit {
        supply: supply.id.clone(),
        verdict: worst.map_or(Verdict::Undecided, |it| it.verdict),
        action: worst.map_or(judge::NOTHING_TO_DO, |it| it.action),
        holds: lines.iter().map(Line::probability).fold(1.0, f64::min),
        year: year(demand, build, supply, place, price),
        inlet: at_inlet,
        rating: supply.rating,
        findings,
        lines,
    }
}

/// What gives way first at the head; what a line ranks by is worked out once.
fn in_order(lines: Vec<Line>) -> Vec<Line> {
    let mut ranked: Vec<_> = lines.into_iter().map(|it| (it.rank(), it)).collect();
    ranked.sort_by(|((pa, ga), _), ((pb, gb), _)| pa.total_cmp(pb).then(ga.total_cmp(gb)));
    ranked.into_iter().map(|(_, it)| it).collect()
}

/// Candidates in the order in which they would be chosen: by verdict, then by the energy of a year, then by rating.
pub fn rank(fits: &mut [Fit]) {
    fits.sort_by(|a, b| {
        let energy = |it: &Fit| it.year.map_or(f64::INFINITY, |it| it.kilowatt_hours);
        let rating = |it: &Fit| it.rating.map_or(f64::INFINITY, Watts::si);
        a.verdict
            .cmp(&b.verdict)
            .then(energy(a).total_cmp(&energy(b)))
            .then(rating(a).total_cmp(&rating(b)))
    });
}

/// What age and heat leave of the limits of a label.
fn left(build: &Build, supply: &Supply, standing: Standing) -> Doubted<f64> {
    let rules = Rules::built_in();
    let years = match standing {
        Standing::Chosen { years } => Doubted {
            value: years,
            u: 0.0,
        },
        Standing::InUse { today } => match supply.installed {
            Some(since) => Doubted {
                value: years_between(since, today),
                u: 0.0,
            },
            None => rules.age_not_told.value,
        },
    };
    let (a, least) = rules.ageing.value;
    let aged = (1.0 - a.value.si() * years.value).max(least.si());
    let u_aged = (a.u.si() * years.value).hypot(a.value.si() * years.u);
    let (usual, k) = rules.heat.value;
    let (air, u_air) = match build.air {
        Some(it) => (it, 0.0),
        None => rules.air.value,
    };
    let above = (air.si() - supply.rated_at.unwrap_or(usual).si()).max(0.0);
    let cool = (1.0 - k.value.si() * above).max(0.0);
    let u_cool = match above > 0.0 {
        true => (k.u.si() * above).hypot(k.value.si() * u_air),
        false => 0.0,
    };
    Doubted {
        value: aged * cool,
        u: (cool * u_aged).hypot(aged * u_cool),
    }
}

fn years_between(since: Date, today: Date) -> f64 {
    let days = since.until(today).map_or(0, |it| it.get_days());
    (f64::from(days) / 365.25).max(0.0)
}

const LABEL: &str = "label of the supply, less what age and heat take (our judgement)";

fn of_label(value: f64, unit: Unit, left: Doubted<f64>) -> Limit {
    Limit {
        value: value * left.value,
        u: value * left.u,
        unit,
        source: LABEL,
        basis: Basis::Judgement,
    }
}

/// The label times what the guides publish for 10 ms.
fn for_an_excursion(value: f64, unit: Unit, left: Doubted<f64>, supply: &Supply) -> Limit {
    let rules = Rules::built_in();
    let has_12_4 = supply
        .connectors
        .iter()
        .any(|it| it.plug == Plug::Graphics12);
    let above = supply.rating.is_some_and(|it| it > rules.large_above.value);
    let of = match supply.guide {
        Some(Guide::Three | Guide::Only12) if has_12_4 && above => Excursions::Large,
        Some(Guide::Three | Guide::Only12) => Excursions::Small,
        _ => Excursions::Unpublished,
    };
    let share = rules.excursion(of);
    let (times, u) = (share.value.value.si(), share.value.u.si());
    Limit {
        value: value * left.value * times,
        u: value * (left.u * times).hypot(left.value * u),
        unit,
        source: &share.source,
        basis: share.basis,
    }
}

/// What a rail feeds, with the share of it.
fn feeds(rail: Rail, supply: &Supply) -> Vec<(Feeds, f64)> {
    let all = [
        Feeds::Processor,
        Feeds::Graphics,
        Feeds::Board,
        Feeds::Drives,
    ];
    let of_12: Vec<_> = supply
        .rails
        .iter()
        .filter(|it| it.rail.family() == Rail::Plus12)
        .collect();
    if rail.family() != Rail::Plus12 || of_12.len() < 2 {
        return all.map(|it| (it, 1.0)).to_vec();
    }
    let told = of_12.iter().any(|it| !it.feeds.is_empty());
    let carry = |it: Feeds| -> Vec<Rail> {
        if told {
            let of = of_12.iter().filter(|rail| rail.feeds.contains(&it));
            let of: Vec<Rail> = of.map(|it| it.rail).collect();
            return if of.is_empty() {
                vec![of_12[0].rail]
            } else {
                of
            };
        }
        match it {
            Feeds::Processor => vec![of_12[1].rail],
            Feeds::Graphics if of_12.len() > 2 => of_12[2..].iter().map(|it| it.rail).collect(),
            _ => vec![of_12[0].rail],
        }
    };
    let share = |it: Feeds| {
        let by = carry(it);
        let n = by.len() as f64;
        by.contains(&rail).then_some((it, 1.0 / n))
    };
    all.into_iter().filter_map(share).collect()
}

/// Current that a rail of this supply carries at a moment.
fn current(demand: &Demand, rail: Rail, supply: &Supply, moment: Moment) -> Sum {
    let mut sum = Sum::default();
    for (through, share) in feeds(rail, supply) {
        sum.add(share, &demand.through(moment, rail, through));
    }
    sum
}

fn rails(lines: &mut Vec<Line>, demand: &Demand, supply: &Supply, left: Doubted<f64>) {
    for limit in &supply.rails {
        let max = limit.max.si();
        let short = limit.peak.map_or(max, Amps::si);
        let of = Of::Rail(limit.rail);
        let mut hold = |moment: Moment, limit_for: Limit| {
            let amps = current(demand, limit.rail, supply, moment);
            if amps.value() > 0.0 {
                let mut line = Line::of(of.clone(), moment, &amps, limit_for);
                line.doubt = demand.most_doubtful(&amps);
                lines.push(line);
            }
        };
        if limit.rail.is_standby() {
            hold(Moment::Off, of_label(max, Unit::A, left));
        }
        hold(Moment::Sustained, of_label(max, Unit::A, left));
        hold(Moment::Start, of_label(short, Unit::A, left));
        hold(Moment::Peak, of_label(short, Unit::A, left));
        if limit.rail.family() == Rail::Plus12 {
            let limit_for = for_an_excursion(max, Unit::A, left, supply);
            hold(Moment::Excursion, limit_for);
        }
    }
}

/// Combined limits, and the rating.
fn together(lines: &mut Vec<Line>, demand: &Demand, supply: &Supply, left: Doubted<f64>) {
    let mut hold = |of: Of, moment: Moment, watts: &Sum, limit: Limit| {
        if watts.value() > 0.0 {
            let mut line = Line::of(of, moment, watts, limit);
            line.doubt = demand.most_doubtful(watts);
            lines.push(line);
        }
    };
    let moments = [Moment::Sustained, Moment::Start, Moment::Peak];
    for it in &supply.combined {
        let max = it.max.si();
        let of = || Of::Together(it.rails.clone());
        let watts = |moment: Moment| {
            let mut sum = Sum::default();
            for rail in &it.rails {
                sum.add(
                    rail.volts().si(),
                    &current(demand, *rail, &whole_if_plain(*rail, supply), moment),
                );
            }
            sum
        };
        for moment in moments {
            hold(of(), moment, &watts(moment), of_label(max, Unit::W, left));
        }
        if it.rails.iter().any(|it| it.family() == Rail::Plus12) {
            let limit = for_an_excursion(max, Unit::W, left, supply);
            hold(of(), Moment::Excursion, &watts(Moment::Excursion), limit);
        }
    }
    let Some(rating) = supply.rating.map(Watts::si) else {
        return;
    };
    for moment in moments {
        let limit = of_label(rating, Unit::W, left);
        hold(Of::Total, moment, &demand.watts(moment), limit);
    }
    let limit = for_an_excursion(rating, Unit::W, left, supply);
    let watts = demand.watts(Moment::Excursion);
    hold(Of::Total, Moment::Excursion, &watts, limit);
}

/// "+12 V" in a combined limit stands for all rails of that voltage, so it carries what all of them feed.
fn whole_if_plain(rail: Rail, supply: &Supply) -> std::borrow::Cow<'_, Supply> {
    if rail == Rail::Plus12 {
        return std::borrow::Cow::Owned(Supply::default());
    }
    std::borrow::Cow::Borrowed(supply)
}

/// Contacts of the board's, processor's and graphics cards' connectors.
fn contacts(lines: &mut Vec<Line>, demand: &Demand, supply: &Supply, seated: &[(Need, Met)]) {
    if supply.connectors.is_empty() {
        return;
    }
    let rules = Rules::built_in();
    let plugged: Vec<Plug> = seated
        .iter()
        .filter_map(|(need, met)| match met {
            Met::By(plug) => Some(*plug),
            Met::Through(_) => Some(need.plug),
            Met::Not(_) => None,
        })
        .collect();
    let sides: [(Feeds, &[Plug], &[Rail]); 3] = [
        (
            Feeds::Board,
            &[Plug::Main24, Plug::Main20, Plug::Main10],
            &[
                Rail::Plus12,
                Rail::Plus5,
                Rail::Plus33,
                Rail::Standby5,
                Rail::Standby12,
            ],
        ),
        (
            Feeds::Processor,
            &[Plug::Processor4, Plug::Processor8],
            &[Rail::Plus12],
        ),
        (
            Feeds::Graphics,
            &[Plug::Graphics6, Plug::Graphics8, Plug::Graphics12],
            &[Rail::Plus12],
        ),
    ];
    for (through, kinds, rails) in sides {
        let of = plugged.iter().filter(|it| kinds.contains(it));
        let of: Vec<_> = of.filter_map(|it| rules.contacts(*it)).collect();
        let weakest = of
            .iter()
            .min_by(|a, b| a.rating.value.si().total_cmp(&b.rating.value.si()));
        let Some(weakest) = weakest else { continue };
        for rail in rails {
            let n: u32 = of.iter().map(|it| it.carrying(*rail)).sum();
            let amps = demand.through(Moment::Sustained, *rail, through);
            if n == 0 || amps.value() <= 0.0 {
                continue;
            }
            let limit = Limit {
                value: weakest.rating.value.si(),
                u: 0.0,
                unit: Unit::A,
                source: &weakest.rating.source,
                basis: weakest.rating.basis,
            };
            let each = amps.times(1.0 / f64::from(n));
            let of = Of::Contact(weakest.plug, *rail);
            let mut line = Line::of(of, Moment::Sustained, &each, limit);
            line.doubt = demand.most_doubtful(&each);
            lines.push(line);
        }
    }
}

/// Current at the inlet against the label, and with everything else against the circuit.
fn inlet_lines(lines: &mut Vec<Line>, supply: &Supply, place: &Place, inlet: Option<&Inlet>) {
    let rules = Rules::built_in();
    if let Some(inlet) = inlet {
        let current = inlet.current;
        let amps = |more: f64| Sum::of(current.value.si() + more, 0, current.u.si());
        if let Some(label) = supply.input_current {
            let limit = Limit {
                value: label.si(),
                u: 0.0,
                unit: Unit::A,
                source: "input current on the label of the supply",
                basis: Basis::Published,
            };
            lines.push(Line::of(Of::Inlet, Moment::Sustained, &amps(0.0), limit));
        }
        if let Some(circuit) = &place.circuit {
            let share = &rules.breaker_continuous;
            let limit = Limit {
                value: share.value.si() * circuit.breaker.si(),
                u: 0.0,
                unit: Unit::A,
                source: &share.source,
                basis: share.basis,
            };
            let of = Of::Circuit(circuit.id.clone());
            let all = amps(circuit.others.si());
            lines.push(Line::of(of, Moment::Sustained, &all, limit));
        }
    }
    // behind a UPS it is the UPS that meets the inrush
    if let (Some(circuit), None) = (&place.circuit, &place.behind) {
        let usual = rules.inrush(place.nominal);
        let inrush = match supply.inrush {
            Some(it) => Sum::of(it.si(), 0, 0.1 * it.si()),
            None => Sum::of(usual.value.value.si(), 0, usual.value.u.si()),
        };
        let times = &rules.breaker_inrush;
        let limit = Limit {
            value: times.value.si() * circuit.breaker.si(),
            u: 0.0,
            unit: Unit::A,
            source: &times.source,
            basis: times.basis,
        };
        let of = Of::Inrush(circuit.id.clone());
        lines.push(Line::of(of, Moment::Off, &inrush, limit));
    }
}

/// Energy of a year: on for the hours told, else always; off and plugged in for the rest of the day.
fn year(
    demand: &Demand,
    build: &Build,
    supply: &Supply,
    place: &Place,
    price: Option<f64>,
) -> Option<Year> {
    const DAYS: f64 = 365.0;
    let on = inlet(demand, supply, Moment::Typical, place.nominal)?;
    let off = inlet(demand, supply, Moment::Off, place.nominal)?;
    let hours_on = build.on.map_or(24.0, |it| it.si() / 3600.0);
    let hours_off = 24.0 - hours_on;
    let energy = |on: Watts, off: Watts| (on.si() * hours_on + off.si() * hours_off) * DAYS / 1e3;
    let kilowatt_hours = energy(on.power.value, off.power.value);
    let u = energy(on.power.u, Watts::from_si(0.0)).hypot(energy(Watts::from_si(0.0), off.power.u));
    Some(Year {
        kilowatt_hours,
        u_kilowatt_hours: u,
        hours_on,
        cost: price.map(|it| it * kilowatt_hours),
    })
}

/// What the power factor of a supply rests on, for a page.
pub(crate) fn factor_says(supply: &Supply) -> String {
    let it = factor(supply);
    format!("power factor {:.2}: {}", it.value.value.si(), it.cited())
}
