//! The connectors and the limits at their pins, entry by entry against what is published, and the way to the pin against
//! worked examples.

use metrology::{Amps, Celsius, Limits, Metres, Ohms, Quantity, Volts};
use site::connector::{CONTACT, Connector, Path, SENSE_REACH, shares, with_sense};
use site::model::Cable;
use site::plug::Plug;
use site::signal::{LEVEL_KEYS, Signal, rails};
use site::supply::Guide;
use toml::{Table, Value};

/// An entry of the reference.
fn entry(id: &str) -> Table {
    let text = include_str!("data/atx-pins.toml");
    let file: Table = text.parse().expect("the reference reads");
    let entries = file["entry"].as_array().expect("entries");
    let found = entries.iter().find(|it| it["id"].as_str() == Some(id));
    let found = found.unwrap_or_else(|| panic!("no entry {id}"));
    found.as_table().expect("a table").clone()
}

fn text(value: &Value) -> String {
    value
        .as_str()
        .map_or_else(|| value.to_string(), str::to_owned)
}

fn connector(id: &str) -> &'static Connector {
    Connector::find(id).unwrap_or_else(|| panic!("no connector {id}"))
}

fn volts(text: &str) -> Volts {
    text.parse()
        .unwrap_or_else(|error| panic!("{text}: {error:?}"))
}

/// Rows `pin, signal, colour` of the published tables.
fn misses_of_rows(id: &str, reference: &str, misses: &mut Vec<String>) {
    let ours = connector(id);
    let rows = entry(reference)["rows"].as_array().expect("rows").clone();
    if rows.len() != ours.pins.len() {
        misses.push(format!(
            "{id} has {} pins for {}",
            ours.pins.len(),
            rows.len()
        ));
    }
    for row in rows {
        let number = text(&row["pin"]);
        let Some(pin) = ours.pin(&number) else {
            misses.push(format!("{id} lacks pin {number}"));
            continue;
        };
        let published = text(&row["signal"]);
        // the table of 24 pins says "reserved (-5 V before)", that of 20 pins "-5 V"
        if pin.carries() != published {
            misses.push(format!(
                "{id} pin {number}: {} for {published}",
                pin.carries()
            ));
        }
        if let Some(colour) = row.get("colour").map(text).filter(|it| *it != pin.colour) {
            misses.push(format!("{id} pin {number}: {} for {colour}", pin.colour));
        }
    }
}

/// ATX 2.01 and ATX12V 2.x main connectors; design guide 336521, table 5-8 (processor, 4 pins).
#[test]
fn ref_every_pin_of_the_board_and_processor_connectors() {
    let mut misses = Vec::new();
    misses_of_rows("main-24", "pins-24", &mut misses);
    misses_of_rows("main-20", "pins-20", &mut misses);
    misses_of_rows("processor-4", "pins-cpu4", &mut misses);
    assert!(misses.is_empty(), "{misses:#?}");
}

/// Numbers of a list such as `1, 2 (2 officially not connected), 3` or `5-8`, what stands in brackets left out.
fn numbers(list: &str) -> Vec<String> {
    let plain: String = {
        let mut depth = 0;
        let keep = |c: char| {
            depth += i32::from(c == '(');
            let kept = depth == 0;
            depth -= i32::from(c == ')');
            kept
        };
        let mut keep = keep;
        list.chars().filter(|c| keep(*c)).collect()
    };
    let of = |part: &str| -> Vec<String> {
        let ends: Vec<u32> = part
            .trim()
            .split('-')
            .filter_map(|it| it.parse().ok())
            .collect();
        match ends[..] {
            [one] => vec![one.to_string()],
            [first, last] => (first..=last).map(|it| it.to_string()).collect(),
            _ => panic!("{part}"),
        }
    };
    plain.split(',').flat_map(of).collect()
}

/// EPS12V guide (from memory); PCI Express electromechanical specification; design guide 336521, table 5-5.
#[test]
fn ref_every_pin_of_the_eight_and_six_pin_connectors() {
    let mut misses = Vec::new();
    for (id, reference, n_pins) in [
        ("processor-8", "pins-cpu8", 8),
        ("graphics-6", "pins-pcie6", 6),
        ("graphics-8", "pins-pcie8", 8),
    ] {
        let ours = connector(id);
        let mut seen = 0;
        for (signal, list) in entry(reference)["values"].as_table().expect("values") {
            for number in numbers(&text(list)) {
                seen += 1;
                let pin = ours
                    .pin(&number)
                    .map(|it| it.signal.to_string())
                    .unwrap_or_default();
                if !pin.eq_ignore_ascii_case(signal) {
                    misses.push(format!("{id} pin {number}: {pin} for {signal}"));
                }
            }
        }
        if (seen, ours.pins.len()) != (n_pins, n_pins) {
            misses.push(format!(
                "{id}: {seen} pins compared, {} listed",
                ours.pins.len()
            ));
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
}

/// Design guide 336521, table 5-7.
#[test]
fn ref_every_pin_of_the_graphics_connector_of_600_watts() {
    let ours = connector("12v-2x6");
    assert_eq!(ours.pins.len(), 16);
    let mut misses = Vec::new();
    for row in entry("pins-12v2x6")["rows"].as_array().expect("rows") {
        let (pins, says) = (text(&row["pins"]), text(&row["signal"]));
        let list = if pins.starts_with('S') {
            vec![pins]
        } else {
            numbers(&pins)
        };
        for number in list {
            let pin = ours.pin(&number).expect("a pin");
            let shown = match says.contains(',') {
                true => format!("{}, {}", pin.signal, pin.colour),
                false => pin.signal.to_string(),
            };
            if shown != says {
                misses.push(format!("pin {number}: {shown} for {says}"));
            }
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
}

/// Encyclopedia article on Serial ATA, table of the power connector; common pin list of the peripheral plug; article on the
/// connectors of the 12 V only guide (three +12 V contacts at 8 A give 288 W; the other pins from memory).
#[test]
fn ref_the_connectors_that_articles_list() {
    let signals = |id: &str| -> Vec<String> {
        connector(id)
            .pins
            .iter()
            .map(|it| it.signal.to_string())
            .collect()
    };
    assert_eq!(
        signals("sata"),
        [
            "+3.3 V", "+3.3 V", "PWDIS", "COM", "COM", "COM", "+5 V", "+5 V", "+5 V", "COM",
            "spin-up", "COM", "+12 V", "+12 V", "+12 V"
        ]
    );
    assert_eq!(signals("peripheral"), ["+12 V", "COM", "COM", "+5 V"]);
    let only_12 = connector("12vo");
    let power = only_12
        .capability(Signal::Plus12, Amps::from_si(8.0))
        .expect("a rail");
    assert!((power.si() - 288.0).abs() < 1e-9, "{power}");
}

/// Handbook on upgrading computers, tables 18.6 and 18.7; design guide 336521, section 5.2.2.4.3.
#[test]
fn ref_ratings_of_contacts_and_what_connectors_carry() {
    let all = |id: &str| -> Vec<String> {
        connector(id)
            .ratings
            .iter()
            .map(|(_, it)| it.value.to_string())
            .collect()
    };
    let published = entry("pin-main")["values"]
        .as_table()
        .expect("values")
        .clone();
    let main = ["standard", "high_current", "extra_high_current"].map(|it| text(&published[it]));
    assert_eq!(all("main-24"), main);
    assert_eq!(all("main-20"), main);
    for id in ["graphics-6", "graphics-8"] {
        assert_eq!(all(id), [text(&entry("pin-pcie")["value"])], "{id}");
    }
    assert_eq!(all("12v-2x6"), [text(&entry("pin-12v2x6")["value"])]);
    let rated = |it: &&site::connector::Pin| connector("12v-2x6").rating_of(it).is_some();
    assert_eq!(
        connector("12v-2x6").pins.iter().filter(rated).count(),
        12,
        "the twelve power pins"
    );
    let power = entry("power-pcie")["values"]
        .as_table()
        .expect("values")
        .clone();
    for (id, name) in [
        ("graphics-6", "6-pin"),
        ("graphics-8", "8-pin"),
        ("12v-2x6", "12+4-pin"),
    ] {
        let ours = connector(id)
            .power
            .as_ref()
            .expect("a limit of power")
            .value;
        assert_eq!(ours.to_string(), text(&power[name]), "{id}");
    }
    // 3 x 6 A x 3.3 V + 4 x 6 A x 5 V + 6 A x 12 V = 251.4 W
    let standard = Amps::from_si(6.0);
    let of = |signal| {
        connector("main-20")
            .capability(signal, standard)
            .expect("a rail")
            .si()
    };
    let sum = of(Signal::Plus3) + of(Signal::Plus5) + of(Signal::Plus12);
    assert!((sum - 251.4).abs() < 1e-9, "{sum}");
    // 3 x 8 A x 12 V; of the plug of six the specification connects two of the three
    let eight = connector("graphics-8").capability(Signal::Plus12, Amps::from_si(8.0));
    assert_eq!(
        eight.expect("a rail").to_string(),
        text(&entry("pcie-capability")["values"]["8-pin"])
    );
}

/// Design guide 336521, tables 5-6 and section 3.3: what the sense pins say.
#[test]
fn ref_what_sense_pins_say() {
    let said = |id: &str, when: &str| -> String {
        let found = connector(id).tells.iter().find(|it| it.0 == when);
        found
            .unwrap_or_else(|| panic!("{id}: {when}"))
            .1
            .value
            .clone()
    };
    let word = |value: &Value| match text(value).as_str() {
        "open" => "open".to_owned(),
        _ => "to COM".to_owned(),
    };
    for row in entry("sense-8pin")["rows"].as_array().expect("rows") {
        let when = format!(
            "SENSE1 {}, SENSE0 {}",
            word(&row["sense1"]),
            word(&row["sense0"])
        );
        assert_eq!(said("graphics-8", &when), text(&row["means"]));
    }
    for row in entry("sense-12v2x6")["rows"].as_array().expect("rows") {
        let when = format!("SENSE0 {}, SENSE1 {}", word(&row["s0"]), word(&row["s1"]));
        let means = said("12v-2x6", &when);
        for power in ["start", "max"].map(|it| text(&row[it])) {
            assert!(means.contains(&power), "{when}: {means} for {power}");
        }
    }
}

/// Design guide 336521, table 4-2; ATX design guide 0.9, table 3; ATX12V design guide 2.0, table 2.
#[test]
fn ref_every_limit_of_a_rail() {
    let mut misses = Vec::new();
    let names = [
        ("p12V", Signal::Plus12),
        ("p5V", Signal::Plus5),
        ("p3p3V", Signal::Plus3),
        ("m12V", Signal::Minus12),
        ("p5VSB", Signal::Standby5),
        ("m5V", Signal::Minus5),
    ];
    for (prefix, guide) in [
        ("reg3", Guide::Three),
        ("reg2", Guide::Two),
        ("reg2", Guide::One),
    ] {
        for (name, signal) in names {
            if guide != Guide::One && signal == Signal::Minus5 {
                assert!(rails().rail(signal, guide).is_none());
                continue;
            }
            let published = entry(&format!("{prefix}-{name}"));
            let rail = rails().rail(signal, guide).expect("a rail");
            let Limits { lower, upper } = rail.limits.value;
            let ours = [lower, Some(rail.nominal), upper].map(|it| it.map(Volts::si));
            let wanted = ["min", "nominal", "max"]
                .map(|it| Some(volts(&text(&published["values"][it])).si()));
            if ours != wanted || rail.limits.source != text(&published["source"]) {
                misses.push(format!("{signal} by {guide:?}: {ours:?} for {wanted:?}"));
            }
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
    let standby = rails()
        .rail(Signal::Standby12, Guide::Only12)
        .expect("a rail");
    let published = &entry("reg-12vsb")["values"];
    assert_eq!(
        standby.limits.value.lower,
        Some(volts(&text(&published["min"])))
    );
    assert_eq!(
        standby.limits.value.upper,
        Some(volts(&text(&published["max"])))
    );
}

/// ATX/ATX12V design guide 1.1, tables 11, 14 and 15; ATX design guide 0.9, tables 8 and 11.
#[test]
fn ref_levels_ripple_and_shutting_down() {
    let said = |id: &str, key: &str| text(&entry(id)["values"][key]);
    let level = |key: &str| rails().level(key).value;
    let first = |text: String| {
        text.split(" V")
            .next()
            .map(|it| it.split(' ').next_back().unwrap_or_default().to_owned())
    };
    let plain = |it: Option<Volts>| it.map(|it| it.si());
    let number = |text: String| first(text).and_then(|it| it.parse::<f64>().ok());
    assert_eq!(plain(level("ps-on.on").upper), number(said("pson", "on")));
    assert_eq!(plain(level("ps-on.off").lower), number(said("pson", "off")));
    assert_eq!(
        plain(level("ps-on.off").upper),
        number(said("pson", "open"))
    );
    assert_eq!(
        plain(level("pwr-ok.low").upper),
        number(said("pwrok-levels", "low"))
    );
    assert_eq!(
        plain(level("pwr-ok.high").lower),
        number(said("pwrok-levels", "high"))
    );
    assert!(
        said("pwrok-levels", "high").contains("to 5 V")
            && plain(level("pwr-ok.high").upper) == Some(5.0)
    );
    assert_eq!(
        plain(level("ps-on.usual-off").lower),
        number(said("pson-read", "good"))
    );
    for (name, signal) in [
        ("p12V", Signal::Plus12),
        ("p5V", Signal::Plus5),
        ("p3p3V", Signal::Plus3),
        ("m12V", Signal::Minus12),
        ("p5VSB", Signal::Standby5),
        ("m5V", Signal::Minus5),
    ] {
        let published = text(&entry(&format!("ripple-{name}"))["value"]);
        assert_eq!(
            rails().ripple(signal).map(|it| it.value),
            Some(volts(&published)),
            "{signal}"
        );
    }
    for (id, signal) in [
        ("ovp-p12V", Signal::Plus12),
        ("ovp-p5V", Signal::Plus5),
        ("ovp-p3p3V", Signal::Plus3),
        ("ovp-5vsb", Signal::Standby5),
    ] {
        let ours = rails().trip(signal).expect("a trip").value;
        let published = [said(id, "min"), said(id, "max")].map(|it| Some(volts(&it)));
        assert_eq!([ours.lower, ours.upper], published, "{signal}");
    }
}

/// Design guide 336521, table 4-9; design guide 613768 revision 2.1, table 4-9: every figure stands in our words.
#[test]
fn ref_every_time() {
    let ours = |id: &str| {
        let found = rails().times().iter().find(|it| it.id == id);
        found.unwrap_or_else(|| panic!("no {id}")).is.value.clone()
    };
    let mut misses = Vec::new();
    for id in ["t0", "t1", "t2", "t3", "t4", "t5", "t5-31", "t6"] {
        let entry = entry(id);
        let values = entry.get("values").and_then(Value::as_table);
        let said: Vec<String> = match values {
            Some(it) => it.values().map(text).collect(),
            None => vec![text(&entry["value"])],
        };
        let mine = ours(&id[..2].to_uppercase());
        for figure in said
            .iter()
            .flat_map(|it| it.split(' '))
            .filter(|it| it.parse::<f64>().is_ok())
        {
            if !mine
                .split(|c: char| !c.is_ascii_digit() && c != '.')
                .any(|it| it == figure)
            {
                misses.push(format!("{id}: {figure} is not in \"{mine}\""));
            }
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
}

#[test]
fn the_tables_are_whole() {
    let mut misses = Vec::new();
    for it in Connector::all() {
        let id = &it.id;
        let drawn: Vec<&String> = it.seen.rows.iter().flatten().collect();
        let known = |number: &&&String| it.pin(number).is_some();
        if !drawn.is_empty()
            && (drawn.len() != it.pins.len() || drawn.iter().filter(known).count() != drawn.len())
        {
            misses.push(format!(
                "{id}: the view shows {} of {} pins",
                drawn.len(),
                it.pins.len()
            ));
        }
        let mut turned_twice = it.seen.clone();
        turned_twice.rows = it.seen.mirrored();
        if turned_twice.mirrored() != it.seen.rows {
            misses.push(format!("{id}: turning it twice changes it"));
        }
        if it.ratings.is_empty()
            || it.guides.is_empty()
            || it.caution.is_empty()
            || it.source.source.is_empty()
        {
            misses.push(format!("{id} lacks ratings, guides, caution or source"));
        }
        for name in it.called.iter().chain([&it.id, &it.name]) {
            match Connector::find(name) {
                Some(found) if found.id == *id => {}
                found => misses.push(format!(
                    "\"{name}\" finds {:?} for {id}",
                    found.map(|it| &it.id)
                )),
            }
        }
        for pin in &it.pins {
            if pin.signal.short().is_empty()
                || pin.signal.short().len() > 5
                || pin.signal.says().is_none()
            {
                misses.push(format!(
                    "{id} pin {}: {} is not described",
                    pin.number, pin.signal
                ));
            }
        }
    }
    for (name, plug) in Plug::NAMES {
        if Connector::of(plug).is_none_or(|it| it.id != name) {
            misses.push(format!("the plug {name} of files has no table"));
        }
    }
    for key in LEVEL_KEYS {
        let Limits { lower, upper } = rails().level(key).value;
        if lower.or(upper).is_none_or(|it| it.si().is_nan()) {
            misses.push(format!("level {key}"));
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
    assert!(
        rails()
            .level("no.such")
            .value
            .upper
            .is_some_and(|it| it.si().is_nan())
    );
}

/// Worked example: 5.02 V, 0.6 m of 18 AWG at 40 °C, two contacts of 10 mΩ, 2.5 A, return neglected: 4.93611 V, `U − I (r l + R)`
/// with `ρ = 0.017241 Ω mm²/m`, `α = 0.00393 1/K`. Tolerance: the digits given.
#[test]
fn ref_standby_at_the_pin() {
    let wire = Cable::read("18 AWG", Celsius::from_si(40.0)).expect("a cable");
    let path = Path {
        wire,
        length: Metres::from_si(0.6),
        contact: CONTACT.value,
        n_contacts: 2,
        n_wires: 1,
    };
    let (supply, current) = (Volts::from_si(5.02), Amps::from_si(2.5));
    let load = path.at_load(supply, current).si();
    let published = volts(&text(&entry("vsb-pin")["outputs"]["pin"])).si();
    assert!((load - published).abs() < 1e-5, "{load} for {published}");
    // behind the last contact 2.5 A x 10 mΩ less than at its back
    let back = path.at_back(supply, current).si();
    assert!((back - load - 0.025).abs() < 1e-12, "{back}");
    // two of everything side by side lose half
    let two = Path { n_wires: 2, ..path };
    assert!((two.lost(current).si() - path.lost(current).si() / 2.0).abs() < 1e-12);
}

/// Worked examples: 50 A through six contacts, even and uneven, and through five. Tolerance 1e-4 as given.
#[test]
fn ref_how_pins_share() {
    let wire = Cable::read("16 AWG", Celsius::from_si(50.0)).expect("a cable");
    let one = Ohms::from_si(0.6 * wire.resistance_per_metre());
    let of = |milliohms: &[f64]| -> Vec<f64> {
        let contacts: Vec<Ohms> = milliohms
            .iter()
            .map(|it| Ohms::from_si(it * 1e-3))
            .collect();
        shares(Amps::from_si(50.0), one, &contacts)
            .iter()
            .map(|it| it.si())
            .collect()
    };
    let close = |a: &f64, b: f64| (a - b).abs() < 1e-4 * b;
    assert!(of(&[5.0; 6]).iter().all(|it| close(it, 50.0 / 6.0)));
    let uneven = of(&[2.0, 5.0, 5.0, 10.0, 10.0, 20.0]);
    let published = entry("pins-uneven")["outputs"]["currents"]
        .as_array()
        .expect("currents")
        .clone();
    let far: Vec<_> = (uneven.iter().zip(&published))
        .filter(|(ours, it)| !close(ours, it.as_float().unwrap_or(f64::NAN)))
        .collect();
    assert!(far.is_empty(), "{far:?}");
    let rating = connector("12v-2x6").rating().expect("a rating").value.si();
    assert_eq!(uneven.iter().filter(|it| **it > rating).count(), 3);
    assert_eq!(of(&[5.0; 5]).iter().filter(|it| **it > rating).count(), 5);
}

/// ATX design guide 0.9, 3.2.2: the sense wire makes up for 100 mV.
#[test]
fn ref_a_sense_wire_reaches_so_far() {
    assert_eq!(
        SENSE_REACH.value,
        Volts::of(volts(&text(&entry("wire-drop")["value"])).si())
    );
    let load = |lost: f64| with_sense(Volts::from_si(3.3), Volts::from_si(lost)).si();
    assert_eq!(load(0.08), 3.3);
    assert!((load(0.13) - 3.27).abs() < 1e-12);
}
