//! Contradictory and impossible readings: a sane answer with a reason, never a panic, never a confident cause.

use metrology::{Stated, Volts};
use proptest::prelude::*;
use site::finding::{Use, Verdict};
use site::model::{OutletIx, Site};
use site::region::Region;
use site::visit::{Condition, Contact, Input, Pin, Reading, Skill, Told, Visit};
use trace::answer::Answer;
use trace::{Question, trace};

const LN: (Pin, Pin) = (Pin::Line, Pin::Neutral);
const LE: (Pin, Pin) = (Pin::Line, Pin::Earth);
const NE: (Pin, Pin) = (Pin::Neutral, Pin::Earth);

fn reading(at: OutletIx, (from, to): (Pin, Pin), value: Stated<Volts>, n: usize) -> Reading {
    Reading {
        id: format!("r{n}"),
        from: Contact::Outlet(at, from),
        to: Contact::Outlet(at, to),
        value: Told::Volts(value),
        meter: None,
        input: Input::NotTold,
        condition: Condition::default(),
        corrects: None,
    }
}

fn ask_stated(region: &str, readings: Vec<((Pin, Pin), Stated<Volts>)>) -> Answer {
    let region = Region::find(region).expect("one of the three regions");
    let site = Site::assumed(region, &["desk"]);
    let desk = OutletIx(
        site.outlets
            .iter()
            .position(|o| o.id == "desk")
            .expect("named above"),
    );
    let visit = Visit {
        site: site.name.clone(),
        date: None,
        skill: Skill::Technician,
        meters: Vec::new(),
        readings: readings
            .into_iter()
            .enumerate()
            .map(|(n, (pair, value))| reading(desk, pair, value, n))
            .collect(),
        observations: Vec::new(),
        cannot: Vec::new(),
    };
    trace(&Question {
        site: &site,
        visit: &visit,
        skill: Skill::Technician,
        seed: 7,
    })
}

fn ask(region: &str, readings: &[((Pin, Pin), &str)]) -> Answer {
    let stated = |text: &str| {
        text.parse::<Stated<Volts>>()
            .unwrap_or_else(|e| panic!("{text}: {e:?}"))
    };
    ask_stated(
        region,
        readings
            .iter()
            .map(|(pair, text)| (*pair, stated(text)))
            .collect(),
    )
}

/// One line as a technician types it, in North America.
fn ask_line(line: &str) -> Answer {
    let region = Region::find("north-america").expect("built in");
    let (site, visit) = site::quick::quick(line, region).expect("a line");
    trace(&Question {
        site: &site,
        visit: &visit,
        skill: Skill::Technician,
        seed: 7,
    })
}

/// No cause that asks for somebody may be held for sure.
fn is_not_sure(answer: &Answer) {
    let sure = answer
        .causes
        .iter()
        .find(|g| g.probability > 0.9 && !g.faults.is_empty());
    assert!(sure.is_none(), "too sure: {sure:?}");
}

#[test]
fn pairs_that_do_not_add_up_are_told_and_not_believed() {
    let answer = ask(
        "north-america",
        &[(LN, "120 V"), (LE, "70 V"), (NE, "10 V")],
    );
    assert!(
        answer.remarks.iter().any(|r| r.contains("do not add up")),
        "{:?}",
        answer.remarks
    );
    is_not_sure(&answer);
}

#[test]
fn five_hundred_volts_are_beyond_any_outlet() {
    for region in ["north-america", "japan"] {
        let answer = ask(region, &[(LN, "500 V")]);
        assert!(
            answer
                .remarks
                .iter()
                .any(|r| r.contains("more than any pair")),
            "{:?}",
            answer.remarks
        );
        assert!(
            matches!(answer.verdict, Verdict::Undecided | Verdict::Danger),
            "{:?}",
            answer.verdict
        );
        is_not_sure(&answer);
    }
}

#[test]
fn a_negative_alternating_voltage_is_told_and_its_size_taken() {
    let answer = ask(
        "north-america",
        &[(LN, "-120 V"), (LE, "120 V"), (NE, "0.3 V")],
    );
    assert!(
        answer
            .remarks
            .iter()
            .any(|r| r.contains("cannot be negative")),
        "{:?}",
        answer.remarks
    );
    assert!(
        answer.causes[0].faults.is_empty(),
        "{}",
        answer.causes[0].says
    );
}

#[test]
fn a_voltage_that_is_no_number_is_refused_where_it_is_read() {
    for text in ["NaN V", "inf V", "-inf V", "nan"] {
        assert!(text.parse::<Stated<Volts>>().is_err(), "{text} was taken");
    }
}

#[test]
fn two_values_at_one_place_are_told_and_not_believed() {
    let answer = ask("north-america", &[(LN, "120 V"), (LN, "0 V")]);
    assert!(
        answer.remarks.iter().any(|r| r.contains("also read as")),
        "{:?}",
        answer.remarks
    );
    is_not_sure(&answer);
}

/// Every contact named wrongly: line taken for earth, neutral for line, earth for neutral.
#[test]
fn every_contact_named_wrongly_does_not_end_in_use_as_it_is() {
    let answer = ask(
        "north-america",
        &[(LN, "0.4 V"), (LE, "120 V"), (NE, "120 V")],
    );
    assert!(answer.action.use_ >= Use::Restricted, "{:?}", answer.action);
    let answer = ask(
        "north-america",
        &[(LN, "120 V"), (LE, "0.4 V"), (NE, "120 V")],
    );
    assert!(answer.action.use_ >= Use::Restricted, "{:?}", answer.action);
    assert!(answer.next.is_some(), "it does not ask on");
}

#[test]
fn nothing_told_is_answered_too() {
    let answer = ask("iec-230", &[]);
    assert!(answer.causes[0].faults.is_empty());
    let sum: f64 = answer.causes.iter().map(|g| g.probability).sum();
    assert!(sum + answer.not_in_catalogue <= 1.0 + 1e-9, "{sum}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Any readings at all, in any region: an answer whose probabilities are probabilities.
    #[test]
    fn prop_any_readings_have_an_answer(
        region in 0usize..3,
        readings in prop::collection::vec((0usize..3, -2000.0f64..2000.0, 0.0f64..300.0), 0..6),
    ) {
        let region = ["north-america", "iec-230", "japan"][region];
        let readings = readings
            .into_iter()
            .map(|(pair, value, half)| {
                let mut stated = Stated::shown(Volts::from_si(value), 1);
                stated.half_width = Volts::from_si(half);
                ([LN, LE, NE][pair], stated)
            })
            .collect();
        let answer = ask_stated(region, readings);
        let sum: f64 = answer.causes.iter().map(|g| g.probability).sum::<f64>() + answer.not_in_catalogue;
        prop_assert!(sum.is_finite() && sum <= 1.0 + 1e-9, "{}", sum);
        prop_assert!(answer.causes.iter().all(|g| (0.0..=1.0 + 1e-12).contains(&g.probability)));
        prop_assert!(!answer.headline.is_empty());
    }
}

/// The order in which two contacts are named changes nothing about the size of a voltage between them.
#[test]
fn prop_a_pair_named_the_other_way_round_is_the_same_reading() {
    let turn = |(a, b): (Pin, Pin)| (b, a);
    let told = [(LN, "119 V"), (NE, "118 V"), (LE, "3 V")];
    let plain = ask("north-america", &told);
    let turned = ask("north-america", &told.map(|(pair, v)| (turn(pair), v)));
    assert_eq!(plain.action, turned.action);
    assert_eq!(plain.causes[0].faults, turned.causes[0].faults);
}

#[test]
fn words_of_harm_that_nobody_understands_take_it_out_of_use_and_are_told_back() {
    for line in [
        "the drawer bit back and it hurt",
        "hot-neutral 120 V, hot-ground 120 V, neutral-ground 0 V, it went bang",
    ] {
        let answer = ask_line(line);
        assert_eq!(answer.action.use_, Use::Stop, "{line}");
        let said = |r: &String| r.contains("is not understood and speaks of harm");
        assert!(answer.remarks.iter().any(said), "{:?}", answer.remarks);
    }
}

/// The high leg of a four-wire delta service stands √3 × 120 V = 208 V over neutral (common practice: it feeds no
/// receptacle). No fault of the catalogue does that at one outlet and leaves the next sound; a flat battery in the meter
/// would, but for the next.
#[test]
fn a_high_leg_at_one_outlet_is_not_in_the_catalogue() {
    let line = "desk: hot-neutral 207.3 V, hot-ground 207.1 V, neutral-ground 0.1 V; hall: hot-neutral 119.6 V";
    let answer = ask_line(line);
    let most = answer.causes.iter().map(|g| g.probability);
    assert!(answer.not_in_catalogue > most.fold(0.0, f64::max));
    assert_eq!(answer.verdict, Verdict::Undecided);
    assert_eq!(answer.action.use_, Use::Stop);
}

/// A page about an outlet and a page about the site speak of the same: where the whole is a danger, so is the outlet that
/// shows it, and no place is called a danger where the whole is not.
#[test]
fn a_place_is_called_what_the_whole_is_called() {
    let broken: &[((Pin, Pin), &str)] = &[(LN, "0.4 V"), (LE, "121.3 V"), (NE, "120.9 V")];
    let sound: &[((Pin, Pin), &str)] = &[(LN, "121.2 V"), (LE, "121.1 V"), (NE, "0.1 V")];
    let exchanged: &[((Pin, Pin), &str)] = &[(LN, "121.2 V"), (LE, "0.1 V"), (NE, "121.1 V")];
    let loose: &[((Pin, Pin), &str)] = &[(LN, "96 V"), (LE, "121 V"), (NE, "25 V")];
    let none: &[((Pin, Pin), &str)] = &[(LN, "0 V"), (LE, "0 V"), (NE, "0 V")];
    let mut dangers = 0;
    for readings in [broken, sound, exchanged, loose, none] {
        let answer = ask("north-america", readings);
        let danger = |it: &Verdict| *it == Verdict::Danger;
        let at_a_place = answer.findings.iter().any(|it| danger(&it.verdict));
        assert_eq!(
            at_a_place,
            danger(&answer.verdict),
            "{readings:?}: {answer:#?}"
        );
        dangers += usize::from(at_a_place);
    }
    assert!(dangers > 0, "one of these is a danger");
}
