//! Site and visit files: what is read, and what is said about what cannot be read.

use metrology::{Amps, Watts};
use serde_json::{Value, json};
use site::file::{
    Form, Problems, read_site, read_visit, read_visit_document, schema_site, schema_visit,
    site_from_file, site_from_value, visit_from_value,
};
use site::model::{CircuitIx, EarthRun, Feed, LoadKind, OutletIx, PanelIx, Site, Switched};
use site::visit::{
    Bar, Contact, Lamp, LoadScope, Pin, Reach, Running, Sign, Skill, SwitchState, Told, Visit,
    Whereabouts,
};

const DEMO_SITE: &str = include_str!("../data/demo/site.toml");
const DEMO_VISIT: &str = include_str!("../data/demo/visit.toml");

fn demo() -> Site {
    read_site(DEMO_SITE, "site.toml", Form::Toml)
        .expect("the demo reads")
        .site
}

fn site(body: &str) -> Result<Site, Problems> {
    let text = format!("format = 1\nname = \"X\"\nregion = \"north-america\"\n{body}");
    read_site(&text, "x.toml", Form::Toml).map(|it| it.site)
}

fn visit(body: &str) -> Result<Visit, Problems> {
    read_visit(
        &format!("format = 1\n{body}"),
        "v.toml",
        Form::Toml,
        &demo(),
    )
}

/// What is wrong with a site or a visit, a line each, without the file's name.
fn said<T>(read: Result<T, Problems>) -> Vec<String> {
    let problems = read.err().expect("it should not have been read");
    let line = |it: String| {
        it.split_once(':')
            .map_or(it.clone(), |(_, it)| it.to_owned())
    };
    problems.iter().map(|it| line(it.to_string())).collect()
}

#[test]
fn ten_planted_mistakes_give_ten_messages_with_line_column_and_hint() {
    let text = include_str!("data/ten.toml");
    let problems = read_site(text, "ten.toml", Form::Toml).unwrap_err();
    let said: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let wanted = [
        "ten.toml:7:10  service: system \"split-phase 120/204 V\" is not one of North America; did you mean \"split-phase 120/240 V\"?",
        "ten.toml:11:11  circuit \"A1\": breaker 20 has no unit; write \"20 A\"",
        "ten.toml:16:11  circuit \"A2\": breaker: \"15 V\" is a voltage, and a current is wanted here; write it as \"20 A\"",
        "ten.toml:19:6  circuit \"A1\": id \"A1\" is already taken; give this one another id; the first is on line 10",
        "ten.toml:20:9  circuit \"A1\": cable: \"tin\" is no metal of conductors; write \"copper\" or \"aluminium\"",
        "ten.toml:25:7  outlet \"desk\": run \"-6 m\": a length cannot be below zero; write it without the minus",
        "ten.toml:29:1  outlet \"hall\": unknown key \"circiut\"; did you mean \"circuit\"?",
        "ten.toml:35:9  outlet \"été\": after \"dosk\" is not known; did you mean \"desk\"?",
        "ten.toml:36:14  outlet \"été\": receptacle \"5-16\" is not known here; did you mean \"5-15\"?",
        "ten.toml:41:9  outlet \"shelf\": after goes round in a circle: shelf -> rack -> shelf; the first outlet after the panel has no \"after\"",
    ];
    assert_eq!(said, wanted);
    let without_hint = problems.iter().filter(|it| it.hint.is_none()).count();
    assert_eq!(without_hint, 0, "every one says what to do");
}

#[test]
fn the_long_form_shows_the_line_and_the_place() {
    let problems = site("[[circuit]]\nid = \"Äé\"\nbreaker = \"20\"\n").unwrap_err();
    let wanted = "x.toml:6:11  circuit \"Äé\": breaker \"20\" has no unit; write \"20 A\"\n  6 | breaker = \"20\"\n    |           ^^^^";
    assert_eq!(problems.long(), wanted);
    let one_line = format!(
        "{{\"format\": 1, \"name\": \"X\", \"note\": \"{}\", \"region\": \"mars\"}}",
        "é".repeat(500)
    );
    let problems = read_site(&one_line, "x.json", Form::Json).unwrap_err();
    let long = problems.long();
    let lines: Vec<&str> = long.lines().collect();
    let mark = lines[2]
        .find('^')
        .map(|at| lines[2][..at].chars().count())
        .unwrap();
    let marked: String = lines[1].chars().skip(mark).take(6).collect();
    assert_eq!(marked, "\"mars\"");
}

#[test]
fn problems_are_written_as_json_too() {
    let problems = site("[[circuit]]\nid = \"A\"\nbreaker = 20\n").unwrap_err();
    let wanted = json!([{
        "file": "x.toml", "line": 6, "column": 11, "element": "circuit \"A\"",
        "what": "breaker 20 has no unit", "hint": "write \"20 A\"",
    }]);
    assert_eq!(serde_json::to_value(&problems).unwrap(), wanted);
}

#[test]
fn one_slip_gives_one_problem() {
    // each body has one slip, and things that hang on what is broken
    let bodies = [
        "[[circuit]]\nid = \"A\"\nbreaker = 20\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[load]]\nid = \"l\"\nat = \"x\"\npower = \"5 W\"\n",
        "[[circuit]]\nbreaker = \"20 A\"\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[outlet]]\nid = \"y\"\ncircuit = \"A\"\nafter = \"x\"\n",
        "[[circut]]\nid = \"A\"\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n",
        "[[circuit]]\nid = \"B\"\n[[circut]]\nid = \"A\"\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n",
        "[circuit]\nid = \"A\"\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n",
        "circuit = \"A\"\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n",
        "[[circuit]]\nid = \"A\"\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\nafter = \"z\"\n[[outlet]]\nid = \"y\"\nafter = \"x\"\n",
        "[[circuit]]\nid = \"A\"\n[[outlet]]\nid = \"x\"\ncircuit = \"B\"\n[[outlet]]\nid = \"y\"\nafter = \"x\"\ncircuit = \"A\"\n",
        "[service]\nsystem = \"delta\"\n[[circuit]]\nid = \"A\"\nleg = \"Q\"\n",
        "[[circuit]]\nid = \"A\"\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\nafter = \"x\"\n[[cord]]\nid = \"c\"\nat = \"x\"\n",
        "[[panel]]\nid = \"p\"\nfrom = \"q\"\n[[panel]]\nid = \"q\"\nfrom = \"p\"\n[[circuit]]\nid = \"A\"\npanel = \"p\"\n",
        "[[circuit]]\nid = \"A\"\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[outlet]]\nid = \"y\"\nafter = \"x\"\n[[outlet]]\nid = \"y\"\nafter = \"x\"\n",
        "[[circuit]]\nid = \"A\"\n[[load]]\nid = \"l\"\nat = \"u\"\npower = \"5 W\"\n[[ups]]\nid = \"u\"\nat = \"nowhere\"\n",
        "[[circuit]]\nid = \"A\"\nbreker = \"20 A\"\n",
        "[[circuit]]\nid = \"A\"\nshares_neutral_with = \"A\"\n",
    ];
    let mut misses = Vec::new();
    for body in bodies {
        let said = said(site(body));
        if said.len() != 1 {
            misses.push(format!("{body}{said:#?}"));
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

#[test]
fn every_kind_of_slip_is_named_at_its_place() {
    let about = |body: &str, place: &str, part: &str| {
        let all = said(site(body));
        let hit = all
            .iter()
            .any(|it| it.starts_with(place) && it.contains(part));
        (!hit || all.len() != 1).then(|| format!("{body:?}: wanted {place} {part}, got {all:#?}"))
    };
    let circuit = "[[circuit]]\nid = \"A\"\n";
    let misses: Vec<String> = [
        about("[[circuit]]\nid = \"A\"\nleg = \"C\"\n", "6:7", "not a leg of the split-phase 120/240 V; write \"A\" or \"B\""),
        about("[[circuit]]\nid = \"A\"\nleg = \"A\"\nsecond_leg = \"A\"\n", "7:14", "same as leg"),
        about("[[circuit]]\nid = \"A:1\"\n", "5:6", "no colon"),
        about("[[circuit]]\nid = \"\"\n", "5:6", "empty"),
        about("[[circuit]]\nid = 7\n", "5:6", "a text is wanted; write \"7\""),
        about("[[circuit]]\nid = \"A\"\nbreaker = \"0 A\"\n", "6:11", "cannot be"),
        about("[[circuit]]\nid = \"A\"\nearth = \"perhaps\"\n", "6:9", "write \"yes\", \"no\" or \"not known\""),
        about("[service]\nearthing = \"TN\"\n", "5:12", "earthing \"TN\" is not known"),
        about("[service]\nfrequency = \"50 Hz\"\n", "5:13", "not one of the region"),
        about("[service]\nelectrode = \"-3 ohm\"\n", "5:13", "cannot be below zero"),
        about("[service]\ndrop = \"2000 km\"\n", "5:8", "longer than any building"),
        about("service = 3\n", "4:11", "a table is wanted"),
        about("[[panel]]\nid = \"p\"\n[[panel]]\nid = \"q\"\n", "6:1", "\"p\" is the service panel already"),
        about(&format!("{circuit}[[outlet]]\nid = \"x\"\n"), "6:1", "circuit is missing"),
        about(&format!("{circuit}[[outlet]]\nid = \"x\"\ncircuit = \"A\"\nresidual_current = \"6\"\n"), "9:20", "has no unit; write \"6 A\""),
        about(&format!("{circuit}[[outlet]]\nid = \"x\"\ncircuit = \"A\"\nswitched = 3\n"), "9:12", "switched \"3\" is not known"),
        about(&format!("{circuit}[[cord]]\nid = \"x\"\nat = \"x\"\n"), "8:6", "circle: x -> x"),
        about(&format!("{circuit}[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[load]]\nid = \"l\"\nat = \"x\"\n"), "9:1", "power is missing"),
        about(&format!("{circuit}[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[load]]\nid = \"l\"\nat = \"x\"\npower = \"60 W\"\ncurrent = \"1 A\"\n"), "13:1", "both stand here"),
        about(&format!("{circuit}[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[load]]\nid = \"l\"\nat = \"x\"\npower = \"60 W\"\npower_factor = 95\n"), "13:16", "cannot be"),
        about(&format!("{circuit}[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[load]]\nid = \"l\"\nat = \"x\"\npower = \"60 W\"\nkind = \"motor\"\n"), "13:8", "\"impedance\", \"current\" or \"power\""),
        about(&format!("{circuit}[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[load]]\nid = \"l\"\nat = \"m\"\npower = \"6 W\"\n[[machine]]\nid = \"m\"\nat = \"x\"\n"), "11:6", "nothing plugs into it"),
        about("[[circuit]]\nid = \"A\"\n[[circuit]]\nid = \"B\"\n[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[outlet]]\nid = \"y\"\ncircuit = \"B\"\nafter = \"x\"\n", "14:9", "is on circuit \"A\", and this outlet is on \"B\""),
        about(&format!("{circuit}[[protector]]\nid = \"p\"\nat = \"circuit:B\"\n"), "8:6", "at \"B\" is not known"),
        about(&format!("{circuit}[[protector]]\nid = \"p\"\nat = \"nowhere\"\n"), "8:6", "at \"nowhere\" is not known"),
        about(&format!("{circuit}[[outlet]]\nid = \"x\"\ncircuit = \"A\"\n[[machine]]\nid = \"m\"\nat = \"x\"\n[[line]]\nid = \"l\"\nkind = \"post\"\nto = \"m\"\n"), "14:8", "\"telephone\", \"coax\" or \"network\""),
        about("[[panel]]\nid = \"p\"\n[[panel]]\nid = \"q\"\nfrom = \"p\"\n[[circuit]]\nid = \"A\"\n[[circuit]]\nid = \"B\"\npanel = \"q\"\nshares_neutral_with = \"A\"\n", "14:23", "another panel"),
    ]
    .into_iter()
    .flatten()
    .collect();
    assert!(misses.is_empty(), "{}", misses.join("\n"));
    let top = |text: &str| said(read_site(text, "x.toml", Form::Toml));
    assert_eq!(
        top("name = \"X\"\nregion = \"japan\"\n"),
        ["1:1  format is missing; write format = 1"]
    );
    assert_eq!(
        top("format = 2\nname = \"X\"\nregion = \"japan\"\n"),
        ["1:10  format 2 is not known; this program reads format 1"]
    );
    assert_eq!(
        top("format = 1\nname = \"X\"\nregion = \"iec230x\"\n"),
        ["3:10  region \"iec230x\" is not known; did you mean \"iec-230\"?"]
    );
}

#[test]
fn broken_syntax_is_said_in_both_forms() {
    let toml = said(read_site(
        "format = 1\nname = \nregion = \"japan\"\nfoo bar\n",
        "x.toml",
        Form::Toml,
    ));
    assert!(toml.len() >= 2, "both of the broken lines: {toml:?}");
    assert!(toml[0].starts_with("2:"), "{toml:?}");
    let json = said(read_site(
        "{\"format\": 1,\n \"name\": }",
        "x.json",
        Form::Json,
    ));
    assert_eq!(json, ["2:10  expected value"]);
    assert_eq!(said(read_site("[1]", "x.json", Form::Json)).len(), 1);
    let twice = said(read_site(
        "{\"format\": 1, \"format\": 1, \"name\": \"X\", \"region\": \"japan\"}",
        "x.json",
        Form::Json,
    ));
    assert_eq!(
        twice,
        ["1:15  key \"format\" stands here twice; keep one of them"]
    );
}

#[test]
fn a_json_file_says_the_same_and_points_at_the_same() {
    let text = "{\n  \"format\": 1, \"name\": \"X\", \"region\": \"north-america\", \"note\": null,\n  \"circuit\": [{ \"id\": \"A\", \"breaker\": 20 }, { \"id\": \"B\", \"cabel\": \"12 AWG\" }]\n}";
    let wanted = [
        "3:39  circuit \"A\": breaker 20 has no unit; write \"20 A\"",
        "3:58  circuit \"B\": unknown key \"cabel\"; did you mean \"cable\"?",
    ];
    assert_eq!(said(read_site(text, "x.json", Form::Json)), wanted);
    let value: Value = serde_json::from_str(text).unwrap();
    let problems = site_from_value(&value, "line 7").unwrap_err();
    assert!(problems.iter().all(|it| it.line.is_none()));
    assert_eq!(
        problems.iter().next().unwrap().to_string(),
        "line 7  circuit \"A\": breaker 20 has no unit; write \"20 A\""
    );
}

#[test]
fn the_demo_is_read_as_it_is_meant() {
    let document = read_site(DEMO_SITE, "site.toml", Form::Toml).unwrap();
    let site = &document.site;
    assert_eq!(
        (site.outlets.len(), site.circuits.len(), site.loads.len()),
        (8, 2, 6)
    );
    assert!(DEMO_SITE.contains("Invented") && DEMO_VISIT.contains("Invented"));
    let hallway = &site.outlets[site.outlet("hallway").unwrap().0];
    assert_eq!(hallway.after, site.outlet("waiting-room"));
    assert_eq!(hallway.switched, Switched::No);
    assert_eq!(site.circuits[1].earth_run, EarthRun::Yes);
    let pc = site
        .loads
        .iter()
        .find(|it| it.id == "front-desk-pc")
        .unwrap();
    assert_eq!(pc.at, site.outlet("front-desk").unwrap(), "behind the UPS");
    assert_eq!(pc.power, Watts::from_si(150.0));
    let visit = read_visit(DEMO_VISIT, "visit.toml", Form::Toml, site).unwrap();
    assert_eq!((visit.readings.len(), visit.observations.len()), (18, 4));
    let corrected = visit.readings.iter().find_map(|it| it.corrects).unwrap();
    assert_eq!(visit.readings[corrected.0].id, "slip");
    assert!(
        visit.readings.iter().all(|it| it.meter == Some(0)),
        "the only meter"
    );
}

#[test]
fn a_site_is_put_together_from_its_parts() {
    let body = "[service]\nsystem = \"Split-Phase 120/240V\"\nearthing = \"tn-c-s\"\nelectrode = \"25 ohm\"\n\
        [[panel]]\nid = \"far\"\nfrom = \"near\"\nrun = \"45 ft\"\n[[panel]]\nid = \"near\"\nfrom = \"main\"\ncable = \"2 AWG aluminum\"\n\
        [[circuit]]\nid = \"A1\"\npanel = \"far\"\nbreaker = \"15 A\"\n[[circuit]]\nid = \"B1\"\npanel = \"far\"\nshares_neutral_with = \"A1\"\nresidual_current = \"yes\"\narc_fault = true\n\
        [[circuit]]\nid = \"R\"\nleg = \"A\"\nsecond_leg = \"B\"\nbreaker = \"20 A\"\n\
        [[outlet]]\nid = \"x\"\nafter = \"y\"\n[[outlet]]\nid = \"y\"\ncircuit = \"B1\"\nresidual_current = \"6 mA\"\n[[outlet]]\nid = \"range\"\ncircuit = \"R\"\n\
        [[cord]]\nid = \"strip\"\nat = \"x\"\nlength = \"2 m\"\n[[load]]\nid = \"kettle\"\nat = \"strip\"\ncurrent = \"10 A\"\nkind = \"impedance\"\n";
    let site = site(body).map_err(|it| it.long()).unwrap();
    let ids: Vec<&str> = site.panels.iter().map(|it| it.id.as_str()).collect();
    assert_eq!(
        ids,
        ["main", "near", "far"],
        "each after the one that feeds it"
    );
    assert_eq!(site.panels[2].feeder.as_ref().unwrap().from, PanelIx(1));
    let [a1, b1, r] = [0, 1, 2].map(|ix| &site.circuits[ix]);
    assert_eq!(
        (a1.panel, a1.leg, b1.leg),
        (PanelIx(2), 0, 1),
        "a shared neutral has its circuits on both legs"
    );
    assert_eq!(
        (a1.shares_neutral_with, b1.shares_neutral_with),
        (None, Some(CircuitIx(0)))
    );
    assert_eq!(
        site.neutral_group(CircuitIx(1)),
        site.neutral_group(CircuitIx(0))
    );
    assert_eq!(b1.residual_current, Some(Amps::from_si(0.006)));
    assert!(b1.arc_fault);
    assert_eq!(
        (a1.cable.to_string(), r.second_leg),
        ("14 AWG copper".to_owned(), Some(1))
    );
    let outlet = |id: &str| &site.outlets[site.outlet(id).unwrap().0];
    assert_eq!(
        outlet("x").circuit,
        CircuitIx(1),
        "that of the outlet before"
    );
    assert_eq!(
        outlet("strip").circuit,
        CircuitIx(1),
        "that of the outlet it is plugged into"
    );
    assert!(matches!(outlet("strip").feed, Feed::Cord(_)));
    let shape = &site.region.receptacles[outlet("range").receptacle];
    assert_eq!(shape.id, "6-15", "two lines have their own receptacles");
    assert_eq!(site.loads[0].power, Watts::from_si(1200.0));
    assert_eq!(site.loads[0].kind, LoadKind::Impedance);
    let order = site.outlets_from_the_panel();
    let place = |id: &str| {
        order
            .iter()
            .position(|it| Some(*it) == site.outlet(id))
            .unwrap()
    };
    assert!(place("y") < place("x") && place("x") < place("strip") && order.len() == 4);
}

#[test]
fn readings_are_read_with_their_places_and_conditions() {
    let body = "person = { skill = \"electrician\" }\ncannot = [\"load-test\"]\n\
        [[meter]]\nid = \"m\"\nac_volts = \"0.8 % + 3\"\nresolution = \"0.1 V\"\ninput = \"1 MΩ\"\ncategory = \"CAT IV\"\n\
        [[meter]]\nid = \"n\"\nclass = \"cheap\"\n\
        [[reading]]\nfrom = \"front-desk ground\"\nto = \"hallway ground\"\nvalue = \"60..90 V\"\nmeter = \"m\"\ninput = \"low impedance\"\n\
        [[reading]]\nat = \"panel:main\"\npair = \"A-B\"\nvalue = \"240 V\"\n\
        [[reading]]\nat = \"panel:main\"\npair = \"leg B to neutral\"\nvalue = \"120 V\"\nmeter = \"n\"\n\
        [[reading]]\nat = \"lab\"\nfrom = \"earth\"\nto = \"true earth\"\nvalue = \"2 V\"\n\
        [[reading]]\nat = \"lab\"\nvalue = \"59.9 Hz\"\n\
        [[reading]]\nat = \"lab\"\nconductor = \"ground\"\nvalue = \"0.4 A\"\n\
        [[reading]]\nat = \"lab\"\npair = \"neutral-ground\"\nvalue = \"0.3 ohm\"\ncondition = { loads = { site = \"unplugged\", lab-pc = \"off\", \"circuit:A3\" = \"on\", store = \"off\" }, test_load = { at = \"store\", power = \"1500 W\" }, breaker = \"open\", switch = { lab = \"closed\" }, time = 14:30:00, remark = \"cold\" }\n\
        [[reading]]\nat = \"lab\"\npair = \"hot-neutral\"\nvalue = \"dead\"\ncondition = \"no load\"\n";
    let visit = visit(body).map_err(|it| it.long()).unwrap();
    let (desk, lab) = (
        demo().outlet("front-desk").unwrap(),
        demo().outlet("lab").unwrap(),
    );
    assert_eq!(
        (visit.skill, visit.cannot.as_slice()),
        (Skill::Electrician, &["load-test".to_owned()][..])
    );
    let r = &visit.readings;
    assert_eq!(r[0].from, Contact::Outlet(desk, Pin::Earth));
    assert!(
        visit.meters[0].meter.low_impedance_input().is_some(),
        "it was read on it"
    );
    assert_eq!(
        (r[1].from, r[1].to),
        (
            Contact::Panel(PanelIx(0), Bar::Leg(0)),
            Contact::Panel(PanelIx(0), Bar::Leg(1))
        )
    );
    assert_eq!(
        (r[2].from, r[2].to),
        (
            Contact::Panel(PanelIx(0), Bar::Leg(1)),
            Contact::Panel(PanelIx(0), Bar::Neutral)
        )
    );
    assert_eq!(
        (r[3].from, r[3].to),
        (Contact::Outlet(lab, Pin::Earth), Contact::TrueEarth)
    );
    assert!(matches!(r[4].value, Told::Hertz(_)) && matches!(r[6].value, Told::Ohms(_)));
    assert_eq!(
        (r[5].from, r[5].to),
        (
            Contact::Outlet(lab, Pin::Earth),
            Contact::Outlet(lab, Pin::Earth)
        )
    );
    let condition = &r[6].condition;
    assert_eq!(condition.loads.len() + condition.named.len(), 4);
    assert_eq!(
        condition.test_load,
        Some((demo().outlet("store").unwrap(), Watts::from_si(1500.0)))
    );
    assert_eq!(condition.breakers, [(CircuitIx(1), SwitchState::Open)]);
    assert_eq!(condition.switches, [(lab, SwitchState::Closed)]);
    assert_eq!(condition.time, Some(jiff::civil::time(14, 30, 0, 0)));
    assert_eq!(
        r[7].condition.loads[0].scope,
        LoadScope::Circuit(CircuitIx(1))
    );
    assert_eq!(r[7].condition.loads[0].state, Running::Off);
    assert_eq!(
        (r[7].id.as_str(), r[1].meter, r[2].meter),
        ("r8", None, Some(1))
    );
}

#[test]
fn every_sign_can_be_written() {
    let words = [
        "breaker-tripped",
        "residual-tripped",
        "arc-tripped",
        "breaker-closed",
        "dead",
        "works",
        "buzzing",
        "warm",
        "burnt",
        "flicker",
        "brightening",
        "dimming",
        "shock",
        "loose-plug",
        "equipment-burnt",
        "wet",
        "after-works",
        "after-storm",
        "switch-matters",
        "old-wiring",
    ];
    for word in words {
        let read = visit(&format!(
            "[[observation]]\nat = \"lab\"\nsees = \"{word}\"\n"
        ))
        .unwrap();
        let wanted = word.replace('-', "");
        assert_eq!(
            format!("{:?}", read.observations[0].what).to_lowercase(),
            wanted
        );
    }
    for (word, reach) in [
        ("pin", Reach::Pin),
        ("outlet", Reach::Outlet),
        ("circuit", Reach::Circuit),
        ("leg", Reach::Leg),
        ("floor", Reach::Floor),
        ("house", Reach::House),
        ("street", Reach::Street),
    ] {
        let read = visit(&format!("[[observation]]\nscope = \"{word}\"\n")).unwrap();
        assert_eq!(
            (read.observations[0].what, read.observations[0].at),
            (Sign::Scope(reach), Whereabouts::Site)
        );
    }
    let read = visit("[[observation]]\nat = \"lab\"\nlamps = { HN = \"lit\", N-G = \"dim\", line-earth = \"dark\" }\n[[observation]]\nat = \"outlet:lab\"\ndetector = { contact = \"ground\", signals = true }\n").unwrap();
    let lamps = Sign::Lamps {
        line_neutral: Lamp::Lit,
        line_earth: Lamp::Dark,
        neutral_earth: Lamp::Dim,
    };
    assert_eq!(read.observations[0].what, lamps);
    assert!(matches!(
        read.observations[1].what,
        Sign::Detector {
            pin: Pin::Earth,
            ..
        }
    ));
}

#[test]
fn a_slip_in_a_visit_is_named_at_its_place() {
    let about = |body: &str, place: &str, part: &str| {
        let all = said(visit(body));
        let hit = all
            .iter()
            .any(|it| it.starts_with(place) && it.contains(part));
        (!hit || all.len() != 1).then(|| format!("{body:?}: wanted {place} {part}, got {all:#?}"))
    };
    let reading = "[[reading]]\nat = \"lab\"\npair = \"hot-neutral\"\n";
    let misses: Vec<String> = [
        about(
            "site = \"Elsewhere\"\n",
            "2:8",
            "this visit is to \"Elsewhere\"",
        ),
        about("date = \"yesterday\"\n", "2:8", "is not a date"),
        about(
            "person = { skill = \"boss\" }\n",
            "2:20",
            "\"anyone\", \"technician\" or \"electrician\"",
        ),
        about(
            "[[meter]]\nid = \"m\"\nclass = \"posh\"\n",
            "4:9",
            "class \"posh\" is not known",
        ),
        about(
            "[[meter]]\nid = \"m\"\nac_volts = \"0.8 + 3\"\n",
            "4:12",
            "no percent sign",
        ),
        about(
            "[[meter]]\nid = \"m\"\ninput = { resistance = \"10 V\" }\n",
            "4:24",
            "is a voltage, and a resistance is wanted",
        ),
        about(
            &format!("{reading}value = 118\n"),
            "5:9",
            "has no unit; write \"118 V\"",
        ),
        about(
            &format!("{reading}value = \"118\"\n"),
            "5:9",
            "has no unit; write \"118 V\"",
        ),
        about(
            &format!("{reading}value = \"-118 V\"\n"),
            "5:9",
            "below zero",
        ),
        about(&format!("{reading}value = \"NaN V\"\n"), "5:9", "value"),
        about(
            &format!("{reading}value = \"118 W\"\n"),
            "5:9",
            "is a power, and a voltage is wanted",
        ),
        about(
            &format!("{reading}valu = \"118 V\"\n"),
            "5:1",
            "did you mean \"value\"?",
        ),
        about(
            &format!("{reading}value = \"118 V\"\nmeter = \"x\"\n"),
            "6:9",
            "there is no meter in the file",
        ),
        about(
            &format!("{reading}value = \"118 V\"\ncorrects = \"r9\"\n"),
            "6:12",
            "is not a reading",
        ),
        about(
            &format!("{reading}value = \"118 V\"\ninput = \"loz!\"\n"),
            "6:9",
            "did you mean \"lo-z\"?",
        ),
        about(
            &format!("{reading}value = \"118 V\"\ncondition = {{ load = \"off\" }}\n"),
            "6:15",
            "did you mean \"loads\"?",
        ),
        about(
            &format!("{reading}value = \"118 V\"\ncondition = {{ loads = {{ lav = \"off\" }} }}\n"),
            "6:25",
            "did you mean \"lab\"?",
        ),
        about(
            &format!("{reading}value = \"118 V\"\ncondition = {{ test_load = 1500 }}\n"),
            "6:27",
            "has no unit",
        ),
        about(
            &format!("{reading}value = \"118 V\"\ncondition = {{ time = \"noon\" }}\n"),
            "6:22",
            "not a time of day",
        ),
        about(
            "[[reading]]\nat = \"lap\"\npair = \"hot-neutral\"\nvalue = \"1 V\"\n",
            "3:6",
            "did you mean \"lab\"?",
        ),
        about(
            "[[reading]]\nat = \"lab\"\npair = \"red-black\"\nvalue = \"1 V\"\n",
            "4:8",
            "is not a pair",
        ),
        about(
            "[[reading]]\nat = \"lab\"\npair = \"line-line\"\nvalue = \"1 V\"\n",
            "4:8",
            "has one line only",
        ),
        about(
            "[[reading]]\nat = \"lab\"\nvalue = \"1 V\"\n",
            "2:1",
            "pair is missing",
        ),
        about(
            "[[reading]]\nat = \"lab\"\nfrom = \"line\"\nvalue = \"1 V\"\n",
            "2:1",
            "to is missing",
        ),
        about(
            "[[reading]]\nfrom = \"lab line\"\nto = \"lab line\"\nvalue = \"1 V\"\n",
            "2:1",
            "the same contact",
        ),
        about(
            "[[reading]]\nat = \"circuit:A3\"\npair = \"hot-neutral\"\nvalue = \"1 V\"\n",
            "3:6",
            "no place for probes",
        ),
        about("[[observation]]\nat = \"lab\"\n", "2:1", "sees is missing"),
        about(
            "[[observation]]\nat = \"lab\"\nsees = \"buzing\"\n",
            "4:8",
            "did you mean \"buzzing\"?",
        ),
        about(
            "[[observation]]\nat = \"lab\"\nlamps = { hot-neutral = \"lit\" }\n",
            "4:9",
            "not all three",
        ),
        about(
            "[[observation]]\nat = \"site\"\ndetector = { contact = \"hot\", signals = \"yes\" }\n",
            "2:1",
            "held to an outlet",
        ),
        about(
            "[[observation]]\nat = \"lab\"\nsees = \"wet\"\nscope = \"leg\"\n",
            "2:1",
            "in one observation",
        ),
    ]
    .into_iter()
    .flatten()
    .collect();
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

#[test]
fn what_was_written_is_written_again() {
    let document = read_site(DEMO_SITE, "site.toml", Form::Toml).unwrap();
    assert_eq!(document.to_toml(), DEMO_SITE, "comments and all");
    let json = document.to_json();
    let again = read_site(&json, "site.json", Form::Json).unwrap();
    assert_eq!(again.written(), document.written());
    assert_eq!(again.to_json(), json);
    let toml = again.to_toml();
    let third = read_site(&toml, "again.toml", Form::Toml)
        .map_err(|it| it.long())
        .unwrap();
    assert_eq!(third.written(), document.written());
    assert_eq!(format!("{:?}", third.site), format!("{:?}", document.site));
    let fourth = site_from_file(document.written(), "memory").unwrap();
    assert_eq!(format!("{:?}", fourth.site), format!("{:?}", document.site));

    let visit = read_visit_document(DEMO_VISIT, "visit.toml", Form::Toml, &document.site).unwrap();
    assert_eq!(visit.to_toml(), DEMO_VISIT);
    let again =
        read_visit_document(&visit.to_json(), "visit.json", Form::Json, &document.site).unwrap();
    assert_eq!(format!("{:?}", again.visit), format!("{:?}", visit.visit));
    let third =
        read_visit_document(&again.to_toml(), "v.toml", Form::Toml, &document.site).unwrap();
    assert_eq!(third.written(), visit.written());
    let value: Value = serde_json::from_str(&visit.to_json()).unwrap();
    assert_eq!(
        visit_from_value(&value, "line 1", &document.site)
            .unwrap()
            .readings
            .len(),
        18
    );
}

/// The keys that a reader knows, from its own message about a key that nobody knows.
fn known<T>(read: Result<T, Problems>) -> Vec<String> {
    let problems = read.err().expect("a key that nobody knows");
    let hint = problems
        .iter()
        .find_map(|it| it.hint.clone().filter(|it| it.starts_with("known here: ")));
    let hint = hint.expect("an unknown key far from any other");
    let mut keys: Vec<String> = hint
        .split('"')
        .skip(1)
        .step_by(2)
        .map(str::to_owned)
        .collect();
    keys.sort();
    keys
}

#[test]
fn schema_and_readers_know_the_same_keys() {
    let properties = |schema: &Value, name: &str| {
        let table = if name.is_empty() {
            schema
        } else {
            &schema["$defs"][name]
        };
        let keys = table["properties"]
            .as_object()
            .unwrap_or_else(|| panic!("no {name} in the schema"));
        let mut keys: Vec<String> = keys.keys().cloned().collect();
        keys.sort();
        keys
    };
    let odd = "zzzzzzzzzzzz = 1\n";
    let sites = schema_site();
    for (name, header) in [
        ("", ""),
        ("Service", "[service]\n"),
        ("Panel", "[[panel]]\n"),
        ("Circuit", "[[circuit]]\n"),
        ("Outlet", "[[outlet]]\n"),
        ("Cord", "[[cord]]\n"),
        ("Load", "[[load]]\n"),
    ] {
        assert_eq!(
            known(site(&format!("{header}{odd}"))),
            properties(&sites, name),
            "{name}"
        );
    }
    let visits = schema_visit();
    for (name, header) in [
        ("", ""),
        ("Meter", "[[meter]]\n"),
        ("Reading", "[[reading]]\n"),
        ("Observation", "[[observation]]\n"),
        ("Person", "[person]\n"),
    ] {
        assert_eq!(
            known(visit(&format!("{header}{odd}"))),
            properties(&visits, name),
            "{name}"
        );
    }
    let inner = |start: &str, end: &str| known(visit(&format!("{start}zzzzzzzzzzzz = 1 {end}\n")));
    assert_eq!(
        inner("[[reading]]\ncondition = { ", "}"),
        properties(&visits, "Condition")
    );
    assert_eq!(
        inner("[[reading]]\ncondition = { test_load = { ", "} }"),
        properties(&visits, "TestLoadAt")
    );
    assert_eq!(
        inner("[[observation]]\ndetector = { ", "}"),
        properties(&visits, "Detector")
    );
    assert_eq!(
        inner("[[meter]]\ninput = { ", "}"),
        properties(&visits, "Impedance")
    );
}

#[test]
fn the_schema_names_the_words() {
    let site = schema_site();
    assert_eq!(
        site["properties"]["region"]["enum"],
        json!(["north-america", "iec-230", "japan"])
    );
    assert!(site["$defs"]["Amps"].to_string().contains("20 A"));
    let breaker = &site["$defs"]["Circuit"]["properties"]["breaker"];
    assert!(breaker.to_string().contains("Amps"), "{breaker}");
    let visit = schema_visit();
    let signs = visit["$defs"]["Observation"]["properties"]["sees"]["enum"]
        .as_array()
        .unwrap();
    assert_eq!(signs.len(), 28);
    assert_eq!(site["required"], json!(["format", "name", "region"]));
}

#[test]
fn outlets_of_two_lines_have_their_own_pair() {
    let body = "[[circuit]]\nid = \"R\"\nleg = \"A\"\nsecond_leg = \"B\"\n[[outlet]]\nid = \"ac\"\ncircuit = \"R\"\n";
    let site = site(body).unwrap();
    let read = |pair: &str| {
        let text =
            format!("format = 1\n[[reading]]\nat = \"ac\"\npair = \"{pair}\"\nvalue = \"240 V\"\n");
        read_visit(&text, "v.toml", Form::Toml, &site)
    };
    for pair in ["line-line", "hot-hot", "L1-L2"] {
        let reading = &read(pair).unwrap().readings[0];
        let ac = OutletIx(0);
        assert_eq!(
            (reading.from, reading.to),
            (
                Contact::Outlet(ac, Pin::Line),
                Contact::Outlet(ac, Pin::Neutral)
            )
        );
    }
    assert!(said(read("hot-neutral"))[0].contains("two lines and no neutral"));
}
