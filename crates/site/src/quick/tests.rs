use proptest::prelude::*;

use super::*;
use crate::visit::{
    Condition, Contact, Input, Lamp, LoadScope, Pin, Reach, Running, Sign, Signals, SwitchState,
    Told, Whereabouts,
};

fn north_america() -> &'static Region {
    Region::find("north-america").expect("a built-in region")
}

fn understood(line: &str) -> (Site, Visit) {
    quick(line, north_america()).unwrap_or_else(|problems| panic!("{line}\n{}", problems.long()))
}

/// Each reading as `desk.L-desk.N 118.2 V`, then each observation, in order.
fn summary(line: &str) -> String {
    let (site, visit) = understood(line);
    let pin = |it: Pin| match it {
        Pin::Line => "L",
        Pin::Neutral => "N",
        Pin::Earth => "E",
    };
    let contact = |it: &Contact| match it {
        Contact::Outlet(outlet, it) => format!("{}.{}", site.outlets[outlet.0].label, pin(*it)),
        Contact::Panel(_, bar) => format!("panel.{bar:?}"),
        Contact::TrueEarth => "earth".to_owned(),
    };
    let mut parts = Vec::new();
    for reading in &visit.readings {
        let value = match &reading.value {
            Told::Volts(it) => it.to_string(),
            Told::Hertz(it) => it.to_string(),
            Told::Amps(it) => it.to_string(),
            Told::Ohms(it) => it.to_string(),
        };
        parts.push(format!(
            "{}-{} {value}",
            contact(&reading.from),
            contact(&reading.to)
        ));
    }
    for seen in &visit.observations {
        let at = match seen.at {
            Whereabouts::Outlet(outlet) => site.outlets[outlet.0].label.clone(),
            Whereabouts::Circuit(circuit) => site.circuits[circuit.0].id.clone(),
            Whereabouts::Panel(_) => "panel".to_owned(),
            Whereabouts::Site => "site".to_owned(),
        };
        let what = match seen.what {
            Sign::Lamps {
                line_neutral,
                line_earth,
                neutral_earth,
            } => {
                let lamp = |it| match it {
                    Lamp::Lit => "lit",
                    Lamp::Dim => "dim",
                    Lamp::Dark => "dark",
                };
                format!(
                    "{}/{}/{}",
                    lamp(line_neutral),
                    lamp(line_earth),
                    lamp(neutral_earth)
                )
            }
            Sign::Detector { pin: it, signals } => format!(
                "{} {}",
                pin(it),
                if signals == Signals::Yes {
                    "signals"
                } else {
                    "quiet"
                }
            ),
            Sign::Scope(reach) => format!("scope {reach:?}"),
            other => format!("{other:?}"),
        };
        parts.push(format!("{at}: {what}"));
    }
    parts.join(", ")
}

#[test]
fn what_people_type_is_understood() {
    let cases = [
        (
            "hot-neutral 0 V, hot-ground 120 V, neutral-ground 120 V",
            "outlet.L-outlet.N 0 V, outlet.L-outlet.E 120 V, outlet.N-outlet.E 120 V",
        ),
        (
            "H-N 118.2 V, N-G 1.3 V",
            "outlet.L-outlet.N 118.2 V, outlet.N-outlet.E 1.3 V",
        ),
        (
            "HN 118,2 V,NG 1,3 V",
            "outlet.L-outlet.N 118,2 V, outlet.N-outlet.E 1,3 V",
        ),
        (
            "L-N 231 V; L-PE 232 V; N/PE 0.4V",
            "outlet.L-outlet.N 231 V, outlet.L-outlet.E 232 V, outlet.N-outlet.E 0.4V",
        ),
        (
            "live to earth 230 V and phase to neutral = 229 V",
            "outlet.L-outlet.E 230 V, outlet.L-outlet.N 229 V",
        ),
        (
            "between hot and neutral about 60 V",
            "outlet.L-outlet.N about 60 V",
        ),
        (
            "hot neutral 60..90 V, line-to-ground: 60 to 90 V, N-G under 5 V",
            "outlet.L-outlet.N 60..90 V, outlet.L-outlet.E 60 to 90 V, outlet.N-outlet.E under 5 V",
        ),
        (
            "hot-neutral reads 120 V hot-ground reads 120 V neutral-ground is 0 V",
            "outlet.L-outlet.N 120 V, outlet.L-outlet.E 120 V, outlet.N-outlet.E 0 V",
        ),
        (
            "Desk: H-N 118.2 V, N-G 1.3 V; hall: H-N 119 V",
            "Desk.L-Desk.N 118.2 V, Desk.N-Desk.E 1.3 V, hall.L-hall.N 119 V",
        ),
        (
            "desk: H-N 118 V, hall: H-N 119 V",
            "desk.L-desk.N 118 V, hall.L-hall.N 119 V",
        ),
        ("desk ground to hall ground 60 V", "desk.E-hall.E 60 V"),
        (
            "desk: H-N 120 V, ground to hall ground 60 V",
            "desk.L-desk.N 120 V, desk.E-hall.E 60 V",
        ),
        (
            "ground floor ground to front desk ground 3.1 V",
            "ground floor.E-front desk.E 3.1 V",
        ),
        (
            "ground to water pipe 40 V, neutral to a ground rod 2 V",
            "outlet.E-earth 40 V, outlet.N-earth 2 V",
        ),
        ("lamps HN lit, HG dark, NG lit", "outlet: lit/dark/lit"),
        ("lamps: HN lit HG lit, others dark", "outlet: lit/lit/dark"),
        (
            "desk: all lamps dark; hall: lamps HN dim, HG lit, NG out",
            "desk: dark/dark/dark, hall: dim/lit/dark",
        ),
        ("tester shows open ground", "outlet: lit/dark/dark"),
        ("tester says hot/neutral reversed", "outlet: lit/dark/lit"),
        ("detector signals at neutral", "outlet: N signals"),
        (
            "detector signals at hot and neutral, quiet at ground",
            "outlet: L signals, outlet: N signals, outlet: E quiet",
        ),
        ("detector at ground beeps", "outlet: E signals"),
        (
            "buzzing, warm plate, smell of burning",
            "outlet: Buzzing, outlet: Warm, outlet: Burnt",
        ),
        (
            "buzzing and warm, lights flicker",
            "outlet: Buzzing, outlet: Warm, site: Flicker",
        ),
        (
            "some lights brighten, whole house",
            "site: Brightening, site: scope House",
        ),
        (
            "breaker tripped, dead, this circuit",
            "circuit: BreakerTripped, outlet: Dead, circuit: scope Circuit",
        ),
        (
            "tingle, after storm, the street too",
            "outlet: Shock, site: AfterStorm, site: scope Street",
        ),
        ("works, after works", "outlet: Works, site: AfterWorks"),
        (
            "RCD tripped; old wiring",
            "circuit: ResidualTripped, site: OldWiring",
        ),
        (
            "panel: A-N 128 V, B-N 112 V, A-B 240 V",
            "panel.Leg(0)-panel.Neutral 128 V, panel.Leg(1)-panel.Neutral 112 V, panel.Leg(0)-panel.Leg(1) 240 V",
        ),
        (
            "panel: L1-N 128 V, leg B to neutral 112 V",
            "panel.Leg(0)-panel.Neutral 128 V, panel.Leg(1)-panel.Neutral 112 V",
        ),
        (
            "frequency 59.8 Hz, current in neutral 3.1 A, neutral-ground 0.4 ohm",
            "outlet.L-outlet.N 59.8 Hz, outlet.N-outlet.N 3.1 A, outlet.N-outlet.E 0.4 ohm",
        ),
        ("hot-neutral dead", "outlet.L-outlet.N dead"),
        (
            "outlet before: H-N 120 V; H-N 0 V",
            "an outlet before it.L-an outlet before it.N 120 V, an outlet before it.L-an outlet before it.N 0 V",
        ),
        ("", ""),
    ];
    let mut misses = Vec::new();
    for (line, wanted) in cases {
        let got = match quick(line, north_america()) {
            Ok(_) => summary(line),
            Err(problems) => problems.to_string(),
        };
        if got != wanted {
            misses.push(format!("{line}\n  wanted {wanted}\n  got    {got}"));
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

#[test]
fn a_condition_holds_for_its_reading_or_for_the_place() {
    let conditions = |line: &str| {
        understood(line)
            .1
            .readings
            .iter()
            .map(|it| it.condition.clone())
            .collect::<Vec<Condition>>()
    };
    let state = |it: &Condition| it.loads.first().map(|it| it.state);
    let each = conditions("H-N 121 V, N-G 0.2 V with load, H-G 121 V");
    assert_eq!(
        each.iter().map(state).collect::<Vec<_>>(),
        [None, Some(Running::On), None]
    );
    let place = conditions("H-N 115 V, N-G 3 V, with load; H-N 121 V, everything unplugged");
    assert_eq!(
        place.iter().map(state).collect::<Vec<_>>(),
        [
            Some(Running::On),
            Some(Running::On),
            Some(Running::Unplugged)
        ]
    );
    let label = conditions("desk with load: H-N 115 V; with load: H-N 115 V");
    assert_eq!(
        label.iter().map(state).collect::<Vec<_>>(),
        [Some(Running::On), Some(Running::On)]
    );
    let own = conditions("with load, H-N 115 V, N-G 0 V no load");
    assert_eq!(
        own.iter().map(state).collect::<Vec<_>>(),
        [Some(Running::On), Some(Running::Off)]
    );
    let heater = conditions("H-N 112 V with test load 1000 W, H-N 110 V with a 1.5 kW heater");
    assert_eq!(
        heater
            .iter()
            .map(|it| it.test_load.map(|it| it.1.si()))
            .collect::<Vec<_>>(),
        [Some(1000.0), Some(1500.0)]
    );
    let switch = conditions("H-N 0 V with the wall switch off at 14:30, H-N 1 V breaker off");
    assert_eq!(switch[0].switches[0].1, SwitchState::Open);
    assert_eq!(switch[0].time, Some(jiff::civil::time(14, 30, 0, 0)));
    assert_eq!(switch[1].breakers[0].1, SwitchState::Open);
    let here = conditions("H-N 60 V nothing plugged in");
    assert!(matches!(here[0].loads[0].scope, LoadScope::Outlet(_)));
}

#[test]
fn the_meter_and_its_input_are_kept() {
    let (_, visit) =
        understood("meter mid, accuracy 0.8 % + 3, input 1 MΩ, H-N 60 V, H-N 2 V lo-z");
    assert_eq!(visit.meters.len(), 1);
    let meter = &visit.meters[0].meter;
    assert_eq!(meter.class.as_deref(), Some("mid"));
    assert_eq!(meter.input().resistance.si(), 1e6);
    assert_eq!(
        meter
            .range_for(metrology::Function::AcVolts, 60.0)
            .accuracy
            .counts,
        3.0
    );
    assert_eq!(
        visit.readings.iter().map(|it| it.input).collect::<Vec<_>>(),
        [Input::NotTold, Input::LowImpedance]
    );
    assert_eq!(visit.readings[0].meter, Some(0));
    assert_eq!(understood("H-N 120 V").1.readings[0].meter, None);
}

#[test]
fn the_words_are_kept_with_what_was_made_of_them() {
    let (_, visit) = understood("sometimes a slightly warm plate, H-N 118 V again");
    assert_eq!(
        visit.observations[0].condition.remark.as_deref(),
        Some("sometimes a slightly warm plate")
    );
    assert_eq!(
        visit.readings[0].condition.remark.as_deref(),
        Some("H-N 118 V again")
    );
}

#[test]
fn a_correction_names_the_reading_that_it_replaces() {
    let (_, visit) = understood("H-N 12 V, N-G 0 V; instead of r1 121 V, instead of r2 H-G 120 V");
    assert_eq!(visit.readings.len(), 4);
    assert_eq!(visit.readings[2].corrects, Some(crate::visit::ReadingIx(0)));
    assert_eq!(
        (visit.readings[2].from, visit.readings[2].to),
        (visit.readings[0].from, visit.readings[0].to)
    );
    assert_eq!(visit.readings[3].corrects, Some(crate::visit::ReadingIx(1)));
    let (_, visit) =
        understood("H-N 12 V with load; instead of r1 121 V; instead of r1 122 V no load");
    let states: Vec<_> = visit
        .readings
        .iter()
        .map(|it| it.condition.loads[0].state)
        .collect();
    assert_eq!(states, [Running::On, Running::On, Running::Off]);
}

#[test]
fn more_is_told_of_a_visit_at_a_known_site() {
    let (site, before) = understood("desk: H-N 120 V");
    let desk = OutletIx(
        site.outlets
            .iter()
            .position(|it| it.id == "desk")
            .expect("the desk"),
    );
    let after = more("N-G 0 V; instead of r1 12 V", &site, &before, Some(desk))
        .expect("both are understood");
    assert_eq!(
        after
            .readings
            .iter()
            .map(|it| it.id.as_str())
            .collect::<Vec<_>>(),
        ["r1", "r2", "r3"]
    );
    let problem =
        more("H-N 120 V, dseks: H-N 0 V", &site, &before, None).expect_err("two problems");
    let shown: Vec<String> = problem.iter().map(ToString::to_string).collect();
    assert_eq!(shown.len(), 2, "{shown:#?}");
    assert!(
        shown[0].starts_with("line:1:1  it is not said at which outlet; write its name"),
        "{}",
        shown[0]
    );
    assert_eq!(
        shown[1],
        "line:1:12  no outlet is called \"dseks\"; did you mean \"desk\"?"
    );
}

#[test]
fn every_problem_is_reported_at_once_with_its_column() {
    let cases: [(&str, &[&str]); 14] = [
        (
            "hot-neutral 120",
            &["line:1:13  hot-neutral: 120 has no unit; write \"120 V\""],
        ),
        (
            "hot-neutral 120 Q, H-G",
            &[
                "line:1:17  hot-neutral: \"Q\" is not a unit of voltage; write \"120 V\"",
                "line:1:20  H-G has no value; write the value behind it, as \"H-G 120 V\"",
            ],
        ),
        (
            "120 V",
            &[
                "line:1:1  \"120 V\" has no pair; write the two contacts before it, as \"hot-neutral 120 V\"",
            ],
        ),
        (
            "120",
            &[
                "line:1:1  \"120\" has no pair; write what was read and the unit, as \"hot-neutral 120 V\"",
            ],
        ),
        (
            "buzing, purple monkey",
            &[
                "line:1:1  \"buzing\" is not understood; did you mean \"buzzing\"?",
                "line:1:9  \"purple monkey\" is not understood; leave it out, or use a word that is known: buzzing, warm plate, \
             smell of burning, lights flicker, dead, works, tingle, breaker tripped, after storm, whole house, with load, everything unplugged",
            ],
        ),
        (
            "not buzzing",
            &[
                "line:1:1  \"not\" is not understood; say only what is there; what is not there is left out",
            ],
        ),
        (
            "desk hot-neutral 120 V",
            &[
                "line:1:1  \"desk\" is not understood; if it is the name of a place, write \"desk:\"",
            ],
        ),
        (
            "lamps HN lit",
            &[
                "line:1:7  the lamps HG and NG are not told; say of each whether it is lit, dim or dark, or write \"others dark\"",
            ],
        ),
        (
            "lamps HN lit, HN dark, others dark",
            &[
                "line:1:15  this lamp is told twice and differently; part two patterns with a semicolon",
            ],
        ),
        (
            "detector signals",
            &[
                "line:1:10  it is not said what the detector does at which contact; write \"detector signals at neutral\" or \"detector quiet at ground\"",
            ],
        ),
        (
            "H-N 120 V, with load, everything unplugged",
            &[
                "line:1:23  \"everything unplugged\" contradicts a condition told before; write a condition right behind the value it belongs to, or part the two with a semicolon",
            ],
        ),
        (
            "hot-hot 120 V",
            &[
                "line:1:1  both probes are at the same contact; name two contacts, with their places where they are two",
            ],
        ),
        (
            "instead of r3 120 V",
            &["line:1:12  there is no reading r3 before this one; leave the correction out"],
        ),
        (
            "panel: H-N 120 V; desk: A-N 120 V",
            &[
                "line:1:8  a panel has several hots; name the leg, as \"A-N\"",
                "line:1:25  an outlet has no contact \"A\"; write hot, neutral or ground; legs are read at a panel: \"panel: A-N 121 V\"",
            ],
        ),
    ];
    let mut misses = Vec::new();
    for (line, wanted) in cases {
        let got: Vec<String> = match quick(line, north_america()) {
            Ok(_) => Vec::new(),
            Err(problems) => problems.iter().map(ToString::to_string).collect(),
        };
        if got != wanted {
            misses.push(format!("{line}\n  wanted {wanted:#?}\n  got {got:#?}"));
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

#[test]
fn the_words_of_every_region_are_taken_in_each() {
    for region in Region::all() {
        let words = &region.words;
        let line = format!(
            "{0}-{1} 100 V, {0} to {2} 100 V, {1}-{2} 0 V",
            words.line, words.neutral, words.earth
        );
        let (_, visit) =
            quick(&line, region).unwrap_or_else(|it| panic!("{}: {line}\n{it}", region.id));
        assert_eq!(visit.readings.len(), 3, "{line}");
    }
}

#[test]
fn every_phrase_is_reachable_and_has_one_meaning() {
    let mut phrases: Vec<&str> = phrase::all().collect();
    let n = phrases.len();
    phrases.sort_unstable();
    let twice: Vec<&str> = phrases
        .windows(2)
        .filter(|it| it[0] == it[1])
        .map(|it| it[0])
        .collect();
    assert!(twice.is_empty(), "{n} phrases, twice: {twice:?}");
    assert!(
        phrases
            .iter()
            .all(|it| *it == it.to_lowercase() && !it.contains("  ") && *it == it.trim())
    );
}

#[test]
fn signs_of_every_kind_can_be_told() {
    let seen = |line: &str| {
        understood(line)
            .1
            .observations
            .iter()
            .map(|it| it.what)
            .collect::<Vec<_>>()
    };
    assert_eq!(
        seen("this slot only, this outlet only, one leg, one floor"),
        [
            Sign::Scope(Reach::Pin),
            Sign::Scope(Reach::Outlet),
            Sign::Scope(Reach::Leg),
            Sign::Scope(Reach::Floor),
        ]
    );
    assert_eq!(
        seen(
            "breaker on, AFCI tripped, lights dim, loose plug, several machines burnt, wet, switch matters"
        ),
        [
            Sign::BreakerClosed,
            Sign::ArcTripped,
            Sign::Dimming,
            Sign::LoosePlug,
            Sign::EquipmentBurnt,
            Sign::Wet,
            Sign::SwitchMatters,
        ]
    );
}

#[test]
fn a_question_names_contacts_without_values() {
    let ask = |line: &str| {
        let (site, asked, _) = asked(line, Err(north_america()), &[])
            .unwrap_or_else(|it| panic!("{line}\n{}", it.long()));
        let name = |it: OutletIx| site.outlets[it.0].label.clone();
        let told = asked.iter().map(|it| {
            let what = match it.what {
                Ask::Volts(Contact::Outlet(a, from), Contact::Outlet(b, to)) => {
                    format!("{}.{from:?}-{}.{to:?}", name(a), name(b))
                }
                Ask::Volts(from, to) => format!("{from:?}-{to:?}"),
                Ask::Lamps(at) => format!("{} lamps", name(at)),
                Ask::Detector(at, pin) => format!("{} detector {pin:?}", name(at)),
            };
            format!(
                "{what}{}",
                if it.condition.loads.is_empty() {
                    ""
                } else {
                    " loaded"
                }
            )
        });
        told.collect::<Vec<_>>().join(", ")
    };
    let all = |it: &str| {
        format!("{it}.Line-{it}.Neutral, {it}.Line-{it}.Earth, {it}.Neutral-{it}.Earth, {it} lamps")
    };
    assert_eq!(
        ask("desk: hot-neutral with load, lamps, detector at ground"),
        "desk.Line-desk.Neutral loaded, desk lamps, desk detector Earth"
    );
    assert_eq!(
        ask("front desk; hall"),
        format!("{}, {}", all("front desk"), all("hall"))
    );
    assert_eq!(ask("outlet"), all("outlet"));
    assert_eq!(ask("hot to ground"), "outlet.Line-outlet.Earth");
    assert_eq!(ask("desk ground to hall ground"), "desk.Earth-hall.Earth");
    let refused = asked("desk: hot-neutral, buzzing", Err(north_america()), &[])
        .expect_err("a result in a question");
    assert_eq!(
        refused.to_string(),
        "line:1:20  a result stands in a question; name only the contacts or the instrument"
    );
}

#[test]
fn what_was_told_survives_the_visit_file() {
    let line = "front desk: H-N 118.2 V with test load 1000 W, N-G 1.3 V at 14:30, ground to hall ground about 60 V, lamps HN lit, HG dim, NG dark, \
                detector signals at neutral, detector quiet at ground, buzzing, warm, smell of burning, loose plug, wet, tingle, dead, works, \
                switch matters, breaker tripped, breaker on, RCD tripped, AFCI tripped, lights flicker, lights dim, some lights brighten, \
                several machines burnt, after works, after storm, old wiring, this slot only, this outlet only, this circuit, one leg, \
                one floor, whole house, the street too, meter mid, accuracy 0.5 % + 2, input 1 MΩ; instead of r1 119 V lo-z; \
                hall: H-N 0 V everything unplugged, H-G 120 V wall switch off, ground to water pipe 2 V breaker off; panel: A-N 128 V, B-N 112 V; \
                hall: current in neutral 3.1 A, 59.8 Hz, N-G 0.4 ohm nothing plugged in";
    let (site, visit) = understood(line);
    let file = toml::to_string(&written(&visit, &site, Counts::default()))
        .expect("a table can be written");
    let file = format!("format = 1\nsite = \"assumed\"\n{file}");
    let read = crate::file::read_visit(&file, "visit.toml", crate::file::Form::Toml, &site)
        .unwrap_or_else(|it| panic!("{}\n{file}", it.long()));
    assert_eq!(read.readings.len(), visit.readings.len());
    for (old, new) in visit.readings.iter().zip(&read.readings) {
        assert_eq!(format!("{old:?}"), format!("{new:?}"));
    }
    for (old, new) in visit.observations.iter().zip(&read.observations) {
        assert_eq!(format!("{old:?}"), format!("{new:?}"));
    }
    let (told, kept) = (&visit.meters[0].meter, &read.meters[0].meter);
    assert_eq!((told.input(), &told.class), (kept.input(), &kept.class));
    assert_eq!(
        told.ranges(metrology::Function::AcVolts),
        kept.ranges(metrology::Function::AcVolts)
    );
    assert_eq!(written(&visit, &site, Counts::of(&visit)).len(), 0);
}

proptest! {
    #[test]
    fn prop_arbitrary_text_never_panics(text in ".{0,200}") {
        let _ = quick(&text, north_america());
    }

    #[test]
    fn prop_arbitrary_words_of_the_language_never_panic(
        words in proptest::collection::vec(prop_oneof![
            proptest::sample::select(phrase::all().collect::<Vec<_>>()).prop_map(str::to_owned),
            proptest::sample::select(vec!["H-N", "hot", "to", "ground", "neutral", "A", "N", "desk", "120", "V", "120 V", "about", "60..90 V",
                ",", ";", ":", "r1", "1000 W", "10 MΩ", "0.8 % + 3", "lit", "dark", "at", "é", "−3 V", "nan V", "1e999 V"]).prop_map(str::to_owned),
        ], 0..24)
    ) {
        let line = words.join(" ");
        if let Err(problems) = quick(&line, north_america()) {
            let n_columns = line.chars().count() + 1;
            for problem in &problems {
                prop_assert!(problem.column.is_some_and(|it| (1..=n_columns).contains(&it)), "{line}: {problem:?}");
            }
        }
    }
}

#[test]
fn a_sentence_in_a_line_is_understood_or_says_that_it_is_not() {
    let cases = [
        (
            "it gave me a nasty zap yesterday, hot-neutral 120 V",
            "outlet.L-outlet.N 120 V, outlet: Shock",
        ),
        (
            "bench: the neighbours have it too; the bulbs got brighter all evening",
            "site: scope Street, site: Brightening",
        ),
        (
            "the plate spat at me and it hurt",
            "outlet: NotUnderstood(Harm)",
        ),
        (
            "measured 60 V between case and water pipe",
            "outlet.E-earth 60 V",
        ),
        ("chassis to ground 41 V", "outlet.E-earth 41 V"),
        (
            "48 V across hot and the cover screw",
            "outlet.L-outlet.E 48 V",
        ),
        ("cabinet to my hand about 30 V", "outlet.E-earth about 30 V"),
    ];
    let got: Vec<String> = cases.iter().map(|(line, _)| summary(line)).collect();
    assert_eq!(got, cases.map(|(_, wanted)| wanted.to_owned()));
}

#[test]
fn an_outlet_gets_the_contacts_that_were_read_at_it() {
    let japan = Region::find("japan").expect("a built-in region");
    let earth = |line: &str| {
        let (site, _) = quick(line, japan).expect("understood");
        let outlet = &site.outlets[site.outlet("outlet").expect("the outlet").0];
        japan.receptacles[outlet.receptacle].earth_contact
    };
    assert!(!earth("L-N 101 V"));
    assert!(earth("L-N 101 V, L-E 70 V"));
}
