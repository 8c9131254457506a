//! Which demand is held against which limit.
//!
//! Limits are those of the label times what age and heat leave (`crate::left`); for peaks of 10 ms the label times what
//! the design guides publish. Of several +12 V rails the second feeds the processor and the first the rest (ATX12V design
//! guide 2.0), a third and fourth the graphics cards' own connectors (our guess), where the file does not say what each
//! feeds. Held by: tests/exact.rs, tests/ref.rs, tests/plugs.rs.

use metrology::{Amps, Basis, Watts};
use site::plug::Plug;
use site::supply::{Feeds, Guide, Rail, Supply};
use site::typical::Moment;

use crate::demand::Demand;
use crate::inlet::Inlet;
use crate::lines::{Limit, Line, Of, Unit};
use crate::place::Place;
use crate::plugs::{Met, Need};
use crate::rules::{Doubted, Excursions, Rules};
use crate::sum::Sum;

const LABEL: &str = "label of the supply, less what age and heat take";

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

/// Each rail at each moment; a standby rail while the machine is off, too.
pub(crate) fn rails(lines: &mut Vec<Line>, demand: &Demand, supply: &Supply, left: Doubted<f64>) {
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
pub(crate) fn together(
    lines: &mut Vec<Line>,
    demand: &Demand,
    supply: &Supply,
    left: Doubted<f64>,
) {
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
pub(crate) fn contacts(
    lines: &mut Vec<Line>,
    demand: &Demand,
    seated: &[(Need, Met)],
    supply: &Supply,
) {
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
pub(crate) fn at_the_inlet(
    lines: &mut Vec<Line>,
    supply: &Supply,
    place: &Place,
    inlet: Option<&Inlet>,
) {
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
