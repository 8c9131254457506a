//! Whatever stands in a file: a site or problems come out, never a panic.

use proptest::prelude::*;
use serde_json::Value;
use site::file::written_visit::VisitFile;
use site::file::{
    Form, read_on, read_site, read_visit, read_visit_document, site_from_value, visit_from_file,
    visit_from_value,
};
use site::model::Site;

const DEMO_SITE: &str = include_str!("../data/demo/site.toml");
const DEMO_VISIT: &str = include_str!("../data/demo/visit.toml");
const TEN: &str = include_str!("data/ten.toml");

fn demo() -> Site {
    read_site(DEMO_SITE, "site.toml", Form::Toml)
        .expect("the demo reads")
        .site
}

/// Reads a text as everything it could be, and checks what must hold of any answer.
fn try_all(text: &str, site: &Site) {
    for form in [Form::Toml, Form::Json] {
        match read_site(text, "any", form) {
            Ok(document) => {
                sound(&document.site);
                let again = read_site(&document.to_toml(), "again", Form::Toml);
                let problems = again.err().map(|it| it.long());
                assert_eq!(problems, None);
                let again = read_site(&document.to_json(), "again", Form::Json);
                let again = again.expect("what was written is read again");
                assert_eq!(again.written(), document.written());
            }
            Err(problems) => {
                assert!(problems.count() > 0);
                let long = problems.long();
                assert!(problems.iter().all(|it| it.line >= Some(1)), "{long}");
                assert!(problems.iter().all(|it| it.column >= Some(1)), "{long}");
            }
        }
        if let Err(problems) = read_visit(text, "any", form, site) {
            assert!(problems.count() > 0 && !problems.long().is_empty());
        }
    }
}

/// Every index points at something, nothing goes round, and every number is finite and of the right sign.
fn sound(site: &Site) {
    for (ix, panel) in site.panels.iter().enumerate() {
        assert_eq!(ix == 0, panel.feeder.is_none());
        assert!(panel.feeder.iter().all(|it| it.from.0 < ix));
    }
    for (ix, circuit) in site.circuits.iter().enumerate() {
        let legs = site.service.system.legs.len();
        assert!(circuit.panel.0 < site.panels.len() && circuit.leg < legs);
        assert!(
            circuit
                .second_leg
                .is_none_or(|it| it < legs && it != circuit.leg)
        );
        assert!(
            circuit
                .breaker
                .is_none_or(|it| it.si() > 0.0 && it.si().is_finite())
        );
        if let Some(first) = circuit.shares_neutral_with {
            assert!(first.0 < ix && site.circuits[first.0].shares_neutral_with.is_none());
        }
    }
    for outlet in &site.outlets {
        assert!(outlet.circuit.0 < site.circuits.len());
        assert!(outlet.receptacle < site.region.receptacles.len());
        assert!(
            outlet
                .run
                .is_none_or(|it| it.si() >= 0.0 && it.si().is_finite())
        );
        if let Some(after) = outlet.after {
            assert_eq!(site.outlets[after.0].circuit, outlet.circuit);
        }
    }
    assert_eq!(site.outlets_from_the_panel().len(), site.outlets.len());
    for load in &site.loads {
        assert!(load.at.0 < site.outlets.len());
        assert!(load.power.si() >= 0.0 && load.power.si().is_finite());
    }
}

/// A text with a few pieces cut out, doubled, exchanged or replaced.
fn slips() -> impl Strategy<Value = Vec<(usize, usize, usize)>> {
    prop::collection::vec((any::<usize>(), any::<usize>(), 0..18usize), 1..6)
}

const PIECES: [&str; 16] = [
    "\"",
    "]",
    "[[",
    "=",
    "\n",
    "id",
    "\"-5 V\"",
    "1e999",
    "nan",
    "é",
    "\u{0}",
    "{",
    "A3",
    "true",
    "2026-01-01",
    "\"\"",
];

fn with_slips(text: &str, slips: &[(usize, usize, usize)]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for (at, other, kind) in slips {
        if chars.is_empty() {
            break;
        }
        let (at, other) = (at % chars.len(), other % chars.len());
        match kind {
            0 => drop(chars.drain(at..(at + other % 40).min(chars.len()))),
            1 => chars.swap(at, other),
            kind => {
                let piece = PIECES[(kind - 2) % PIECES.len()].chars();
                let end = (at + other % 4).min(chars.len());
                chars.splice(at..end, piece);
            }
        }
    }
    chars.into_iter().collect()
}

/// Values of JSON below the keys that the files have, so that most of them get past the first look.
fn values() -> impl Strategy<Value = Value> {
    let keys = prop::sample::select(vec![
        "format",
        "name",
        "region",
        "service",
        "panel",
        "circuit",
        "outlet",
        "cord",
        "load",
        "ups",
        "machine",
        "id",
        "at",
        "from",
        "to",
        "after",
        "run",
        "cable",
        "leg",
        "second_leg",
        "breaker",
        "power",
        "reading",
        "meter",
        "observation",
        "pair",
        "value",
        "condition",
        "loads",
        "sees",
        "lamps",
        "detector",
        "scope",
        "input",
        "shares_neutral_with",
        "test_load",
        "residual_current",
        "switched",
        "earth",
        "power_factor",
        "time",
        "person",
        "cannot",
        "corrects",
    ]);
    let texts = prop::sample::select(vec![
        "north-america",
        "japan",
        "A",
        "B",
        "a",
        "b",
        "20 A",
        "12 AWG",
        "6 m",
        "5 W",
        "120 V",
        "yes",
        "off",
        "hot-neutral",
        "a line",
        "true earth",
        "lit",
        "buzzing",
        "street",
        "",
        "x y z",
        "-1 V",
        "1e308 m",
    ]);
    let leaf = prop_oneof![
        4 => texts.prop_map(|it| Value::String(it.to_owned())),
        1 => any::<bool>().prop_map(Value::Bool),
        1 => any::<f64>().prop_map(|it| serde_json::json!(it)),
        1 => Just(serde_json::json!(1)),
        1 => Just(Value::Null),
    ];
    leaf.prop_recursive(5, 60, 8, move |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::Array),
            prop::collection::vec((keys.clone(), inner), 0..8).prop_map(|it| Value::Object(
                it.into_iter()
                    .map(|(key, it)| (key.to_owned(), it))
                    .collect()
            )),
        ]
    })
}

/// Small sites whose references are drawn from few names: chains, circles, doubles, wrong ends.
fn tangles() -> impl Strategy<Value = String> {
    let name = || prop::sample::select(vec!["a", "b", "c", "d"]);
    let outlet = (name(), name(), prop::option::of(name())).prop_map(|(id, circuit, after)| {
        let after = after.map_or(String::new(), |it| format!("after = \"{it}\"\n"));
        format!("[[outlet]]\nid = \"{id}\"\ncircuit = \"{circuit}\"\n{after}")
    });
    let cord =
        (name(), name()).prop_map(|(id, at)| format!("[[cord]]\nid = \"{id}\"\nat = \"{at}\"\n"));
    let panel = (name(), prop::option::of(name())).prop_map(|(id, from)| {
        let from = from.map_or(String::new(), |it| format!("from = \"{it}\"\n"));
        format!("[[panel]]\nid = \"{id}\"\n{from}")
    });
    let circuit = (name(), prop::option::of(name()), prop::option::of(name())).prop_map(
        |(id, panel, shares)| {
            let panel = panel.map_or(String::new(), |it| format!("panel = \"{it}\"\n"));
            let shares = shares.map_or(String::new(), |it| {
                format!("shares_neutral_with = \"{it}\"\n")
            });
            format!("[[circuit]]\nid = \"{id}\"\n{panel}{shares}")
        },
    );
    let machine = (
        name(),
        name(),
        prop::sample::select(vec!["ups", "machine", "load"]),
    )
        .prop_map(|(id, at, kind)| {
            format!("[[{kind}]]\nid = \"{id}\"\nat = \"{at}\"\npower = \"5 W\"\n")
        });
    let list =
        |each: BoxedStrategy<String>| prop::collection::vec(each, 0..4).prop_map(|it| it.concat());
    let all = (
        list(panel.boxed()),
        list(circuit.boxed()),
        list(outlet.boxed()),
        list(cord.boxed()),
        list(machine.boxed()),
    );
    all.prop_map(|(p, c, o, r, m)| {
        format!("format = 1\nname = \"X\"\nregion = \"north-america\"\n{p}{c}{o}{r}{m}")
    })
}

/// A sound site of several panels and circuits, whose elements stand in the file in any order: each outlet hangs on
/// one that comes before it in the building, not in the file.
fn forests() -> impl Strategy<Value = (String, usize)> {
    let parents = prop::collection::vec(any::<prop::sample::Index>(), 1..14);
    let order = any::<prop::sample::Index>();
    (parents.clone(), parents, order).prop_map(|(panels, outlets, order)| {
        let mut tables = Vec::new();
        for (ix, from) in panels.iter().enumerate() {
            let from = match ix {
                0 => String::new(),
                _ => format!("from = \"p{}\"\n", from.index(ix)),
            };
            tables.push(format!("[[panel]]\nid = \"p{ix}\"\n{from}"));
            tables.push(format!("[[circuit]]\nid = \"c{ix}\"\npanel = \"p{ix}\"\n"));
        }
        for (ix, before) in outlets.iter().enumerate() {
            let place = match before.index(ix + 1) {
                this if this == ix => format!("circuit = \"c{}\"", before.index(panels.len())),
                before => format!("after = \"o{before}\""),
            };
            tables.push(format!("[[outlet]]\nid = \"o{ix}\"\n{place}\n"));
        }
        let turn = order.index(tables.len());
        tables.rotate_left(turn);
        if order.index(2) == 1 {
            tables.reverse();
        }
        let head = "format = 1\nname = \"X\"\nregion = \"north-america\"\n";
        (format!("{head}{}", tables.concat()), outlets.len())
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_any_bytes_are_answered(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        try_all(&String::from_utf8_lossy(&bytes), &demo());
    }

    #[test]
    fn prop_any_text_of_the_signs_of_the_files_is_answered(text in "[\\[\\]{}=\"'#.,:\\-\\\\ \n\tadeinortu0-9Aé]{0,200}") {
        try_all(&text, &demo());
    }

    #[test]
    fn prop_a_valid_file_with_slips_is_answered(slips in slips(), which in 0..4usize) {
        let json;
        let text = match which {
            0 => DEMO_SITE,
            1 => DEMO_VISIT,
            2 => TEN,
            _ => {
                json = read_site(DEMO_SITE, "site.toml", Form::Toml).unwrap().to_json();
                &json
            }
        };
        try_all(&with_slips(text, &slips), &demo());
    }

    #[test]
    fn prop_any_value_is_answered(value in values()) {
        let site = demo();
        if let Ok(document) = site_from_value(&value, "any") {
            sound(&document.site);
        }
        let _ = visit_from_value(&value, "any", &site);
        try_all(&value.to_string(), &site);
    }

    #[test]
    fn prop_any_tangle_of_references_is_answered(text in tangles()) {
        try_all(&text, &demo());
    }

    #[test]
    fn prop_a_sound_site_is_read_in_any_order((text, n_outlets) in forests()) {
        let read = read_site(&text, "any", Form::Toml);
        prop_assert!(read.is_ok(), "{text}{}", read.err().map_or(String::new(), |it| it.long()));
        let site = read.expect("it was").site;
        prop_assert_eq!(site.outlets.len(), n_outlets);
        sound(&site);
    }
}

/// Row by row, or all at once: the same visit, corrections and low-impedance inputs too.
#[test]
fn prop_a_visit_read_on_is_the_visit_read_whole() {
    let site = demo();
    let document = read_visit_document(DEMO_VISIT, "visit.toml", Form::Toml, &site);
    let mut whole = document.expect("the demo reads").written().clone();
    for (n, row) in whole.reading.iter_mut().enumerate() {
        row.id.get_or_insert(format!("row {n}"));
    }
    for (n, row) in whole.observation.iter_mut().enumerate() {
        row.id.get_or_insert(format!("sign {n}"));
    }
    let mut corrected = whole.reading[0].clone();
    corrected.id = Some("corrected".to_owned());
    corrected.corrects = whole.reading[0].id.clone();
    corrected.input = Some("low impedance".to_owned());
    whole.reading.push(corrected);
    let at_once = visit_from_file(&whole, "whole", &site).expect("it reads");
    let head = VisitFile {
        reading: Vec::new(),
        observation: Vec::new(),
        ..whole.clone()
    };
    for step in 1..=whole.reading.len() {
        let mut visit = visit_from_file(&head, "head", &site).expect("it reads");
        let mut read = |reading, observation| {
            let more = VisitFile {
                reading,
                observation,
                ..head.clone()
            };
            read_on(&mut visit, more, "more", &site).expect("it reads");
        };
        for rows in whole.reading.chunks(step) {
            read(rows.to_vec(), Vec::new());
        }
        for rows in whole.observation.chunks(step) {
            read(Vec::new(), rows.to_vec());
        }
        assert_eq!(format!("{visit:?}"), format!("{at_once:?}"), "by {step}");
    }
}

#[test]
fn a_row_that_corrects_nothing_is_refused_and_changes_nothing() {
    let site = demo();
    let mut visit = read_visit(DEMO_VISIT, "visit.toml", Form::Toml, &site).expect("it reads");
    let before = format!("{visit:?}");
    let document = read_visit_document(DEMO_VISIT, "visit.toml", Form::Toml, &site);
    let mut more = document.expect("it reads").written().clone();
    more.reading.truncate(1);
    more.reading[0].id = Some("new".to_owned());
    more.reading[0].corrects = Some("nowhere".to_owned());
    let refused = read_on(&mut visit, more, "more", &site).expect_err("there is no such reading");
    assert!(refused.to_string().contains("nowhere"), "{refused}");
    assert_eq!(format!("{visit:?}"), before);
}
