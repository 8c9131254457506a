//! The region profiles: all of them read, every value has a source, and no limit that the program asks for is missing.

use metrology::{Hertz, Sourced};
use site::model::Earthing;
use site::region::{AMP_KEYS, FRACTION_KEYS, Polarity, Region, VOLT_KEYS};

const IDS: [&str; 3] = ["north-america", "iec-230", "japan"];

#[test]
fn every_region_is_found_by_its_name() {
    let found: Vec<_> = Region::all().iter().map(|it| it.id.as_str()).collect();
    assert_eq!(found, IDS);
    assert!(Region::find("atlantis").is_none());
}

#[test]
fn every_limit_that_is_asked_for_is_in_every_region() {
    let mut missing = Vec::new();
    for region in Region::all() {
        let mut check = |key: &str, number: f64| {
            if !(number.is_finite() && number > 0.0) {
                missing.push(format!("{} {key}: {number}", region.id));
            }
        };
        for key in VOLT_KEYS {
            check(key, region.volts(key).value.si());
        }
        for key in AMP_KEYS {
            check(key, region.amps(key).value.si());
        }
        for key in FRACTION_KEYS {
            check(key, region.fraction(key).value.si());
        }
        for key in ["frequency.low", "frequency.high"] {
            check(key, region.hertz(key).value.si());
        }
    }
    assert!(missing.is_empty(), "{missing:#?}");
    assert!(Region::all()[0].volts("no.such").value.si().is_nan());
}

/// Every pair of legs of every system, in order: low, usually low, nominal, usually high, high. NaN is not in order.
#[test]
fn every_pair_of_legs_has_its_limits_around_the_nominal_voltage() {
    let mut wrong = Vec::new();
    for region in Region::all() {
        for system in &region.systems {
            let legs = 0..system.legs.len();
            for (leg, second) in legs.clone().flat_map(|a| legs.clone().map(move |b| (a, b))) {
                let second = (second != leg).then_some(second);
                let range = region.range(system, leg, second);
                let volts = [
                    range.low.value,
                    range.usual_low.value,
                    system.volts(leg, second),
                    range.usual_high.value,
                    range.high.value,
                ];
                if !volts.is_sorted() || volts[0] == volts[4] {
                    wrong.push(format!("{} leg {leg} to {second:?}: {volts:?}", system.id));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn every_value_has_a_source() {
    fn said<T>(it: &Sourced<T>) -> bool {
        it.source.trim().len() > 3
    }
    for region in Region::all() {
        let limits = &region.limits;
        let sources = [
            limits.volts.iter().all(|(_, it)| said(it)),
            limits.amps.iter().all(|(_, it)| said(it)),
            limits.fractions.iter().all(|(_, it)| said(it)),
            region
                .bands
                .iter()
                .all(|it| said(&it.low) && said(&it.high)),
            region.colours.iter().all(|(_, it)| said(it)),
            region.receptacles.iter().all(|it| said(&it.source)),
            region.breakers.iter().all(|(_, it)| said(it)),
            region.cables.iter().all(|(_, it)| said(it)),
            region.systems.iter().all(|it| said(&it.source)),
            said(&region.words.source),
            said(&region.conductor_temperature),
            said(&region.usual.breaker) && said(&region.usual.feeder) && said(&region.usual.cord),
        ];
        assert!(sources.iter().all(|it| *it), "{}: {sources:?}", region.id);
        assert!(region.cables.is_sorted_by_key(|(up_to, _)| up_to.si()));
    }
}

/// ANSI C84.1 Table 1 (from memory, cross-checked by the percentages -5 and +5 of 120 V) and EN 50160 (-10, +10 and
/// -15 % of 230 V), and article 38 of the Japanese enforcement regulations (101 V ± 6 V). Exact decimal figures.
#[test]
fn ref_limits_of_line_to_neutral() {
    let read = |region: &str, key| Region::find(region).unwrap().volts(key).value.si();
    let wanted = [
        ("north-america", "outlet.low", 108.0),
        ("north-america", "outlet.usual-low", 0.95 * 120.0),
        ("north-america", "outlet.usual-high", 1.05 * 120.0),
        ("north-america", "outlet.high", 127.0),
        ("iec-230", "outlet.low", 0.85 * 230.0),
        ("iec-230", "outlet.usual-low", 0.9 * 230.0),
        ("iec-230", "outlet.high", 1.1 * 230.0),
        ("japan", "outlet.usual-low", 101.0 - 6.0),
        ("japan", "outlet.high", 101.0 + 6.0),
    ];
    for (region, key, volts) in wanted {
        assert!((read(region, key) - volts).abs() < 1e-9, "{region} {key}");
    }
}

#[test]
fn no_reversal_verdict_where_the_plug_fits_both_ways() {
    let polarity = |region: &str, id: &str| {
        let region = Region::find(region).unwrap();
        let found = region.receptacles.iter().find(|it| it.id == id);
        found.map(|it| (it.polarity, it.earth_contact))
    };
    let both_ways = Some((Polarity::Undefined, true));
    assert_eq!(polarity("iec-230", "cee-7-3"), both_ways);
    assert_eq!(
        polarity("north-america", "5-15"),
        Some((Polarity::Defined, true))
    );
    let japan = Region::find("japan").unwrap();
    assert!(
        !japan.receptacles[0].earth_contact,
        "two slots are the rule"
    );
}

#[test]
fn systems_and_earthings_are_those_of_the_region() {
    let region = Region::find("iec-230").unwrap();
    let system = region.system("Single-Phase 230V").unwrap();
    assert_eq!(system.earthings.len(), 3);
    assert!(Region::find("japan").unwrap().systems[0].earthings == [Earthing::TT]);
    assert_eq!(
        region.band(Hertz::from_si(50.2)).unwrap().nominal.si(),
        50.0
    );
    assert_eq!(region.words.earth, "earth");
    assert_eq!(Region::all()[0].words.earth, "ground");
}

/// sqrt(3) * 120 V = 207.846 V, and twice 120 V in opposition. Tolerance: rounding of the cosines.
#[test]
fn exact_voltage_between_legs() {
    let region = &Region::all()[0];
    let wye = region.system("wye 120/208 V").unwrap();
    let split = region.system("split-phase 120/240 V").unwrap();
    assert!((wye.volts(0, Some(1)).si() - 207.846_096_908_265_27).abs() < 1e-9);
    assert!((split.volts(0, Some(1)).si() - 240.0).abs() < 1e-9);
    assert!((split.volts(1, None).si() - 120.0).abs() < 1e-9);
}
