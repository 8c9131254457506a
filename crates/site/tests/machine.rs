//! Machines and supplies of a site file, and lists of supplies: what is read, and every kind of slip at its place.

use metrology::{Amps, Celsius, Seconds, Volts, Watts};
use site::file::written::SiteFile;
use site::file::{Form, Problems, read_site, read_supplies, site_from_file};
use site::machine::{Generation, PartKind};
use site::model::Site;
use site::plug::Plug;
use site::supply::{Correction, Feeds, FormFactor, Guide, Input, Mark, Rail, Selected};

const HEAD: &str = "format = 1\nname = \"X\"\nregion = \"north-america\"\n[[circuit]]\nid = \"A\"\n[[outlet]]\nid = \"o\"\ncircuit = \"A\"\n";

/// An invented machine that says all it can.
const WHOLE: &str = r#"[[machine]]
id = "pc"
at = "o"
power = "120 W"
takes = "SFX"
air = "35 °C"
stagger = "2 s"
on = "9 h"
colour = "beige"
parts = [
  { kind = "processor", tdp = "65 W", peak = "90 W" },
  { kind = "memory", count = 2, generation = "DDR4" },
  { kind = "disk-3.5", count = 2, spin_up = "1.8 A", nameplate = [{ rail = "+12 V", current = "0.55 A" }, { rail = "+5 V", current = "0.6 A" }] },
  { kind = "graphics", board_power = "120 W", label = "Card of an invented maker", needs = [{ connector = "graphics-8" }] },
]
[machine.supply]
rating = "450 W"
rails = [{ rail = "+12V1", max = "18 A", peak = "20 A", feeds = ["board", "drives"] }, { rail = "+12 V2", max = "18 A" }, { rail = "5 V", max = "15 A" }, { rail = "+3.3 V", max = "15 A" }, { rail = "-12 V", max = "0.3 A" }, { rail = "+5 VSB", max = "2 A" }]
combined = [{ rails = ["+5 V", "+3.3 V"], max = "100 W" }, { rails = ["+12 V"], max = "400 W" }]
guide = "ATX12V 2.4"
form = "SFX"
input = { from = "100 V", to = "240 V" }
input_current = "8 A"
inrush = "40 A"
correction = "active"
mark = "gold"
efficiency = [{ load = "100 %", efficiency = "87 %" }, { load = "50 %", efficiency = "90 %" }]
connectors = [{ connector = "main-24" }, { connector = "sata-power", count = 4 }]
adapters = [{ from = ["peripheral", "peripheral"], to = "graphics-6" }]
installed = 2021-05-01
rated_at = "40 °C"
"#;

fn site(body: &str) -> Result<Site, Problems> {
    read_site(&format!("{HEAD}{body}"), "x.toml", Form::Toml).map(|it| it.site)
}

#[test]
fn a_machine_that_says_all_it_can_is_read_as_it_is_meant() {
    let site = site(WHOLE).map_err(|it| it.long()).unwrap();
    let machine = site.machine("pc").unwrap();
    assert_eq!(
        (machine.at, &machine.behind),
        (site.outlet("o").unwrap(), &None)
    );
    assert_eq!(machine.power, Some(Watts::from_si(120.0)));
    let build = &machine.build;
    assert_eq!(build.takes, Some(FormFactor::Sfx));
    assert_eq!(build.air, Some(Celsius::from_si(35.0)));
    assert_eq!(build.stagger, Some(Seconds::from_si(2.0)));
    assert_eq!(build.on, Some(Seconds::from_si(9.0 * 3600.0)));
    let [cpu, memory, disk, card] = build.parts.as_slice() else {
        panic!("{:?}", build.parts)
    };
    assert_eq!(cpu.kind, PartKind::Processor);
    assert_eq!(
        (cpu.power, cpu.peak),
        (Some(Watts::from_si(65.0)), Some(Watts::from_si(90.0)))
    );
    assert_eq!(
        (memory.count, memory.generation),
        (2, Some(Generation::Ddr4))
    );
    assert_eq!(disk.spin_up, Some(Amps::from_si(1.8)));
    assert_eq!(disk.nameplate[1], (Rail::Plus5, Amps::from_si(0.6)));
    assert_eq!(card.needs[0].plug, Plug::Graphics8);
    assert_eq!(card.label.as_deref(), Some("Card of an invented maker"));
    let supply = machine.supply.as_ref().unwrap();
    assert_eq!(supply.id, "pc", "named for the machine it is in");
    assert_eq!(supply.rating, Some(Watts::from_si(450.0)));
    assert_eq!(supply.rails.len(), 6);
    assert_eq!(supply.rails[0].peak, Some(Amps::from_si(20.0)));
    assert_eq!(supply.rails[0].feeds, [Feeds::Board, Feeds::Drives]);
    assert_eq!(supply.rails[4].rail, Rail::Minus12);
    assert_eq!(supply.combined[1].rails, [Rail::Plus12]);
    assert_eq!(supply.guide, Some(Guide::Two));
    let input = Input::Range {
        from: Volts::from_si(100.0),
        to: Volts::from_si(240.0),
    };
    assert_eq!(supply.input, input);
    assert_eq!(
        (supply.correction, supply.mark),
        (Some(Correction::Active), Some(Mark::Gold))
    );
    assert_eq!(
        supply.efficiency[0].load.si(),
        0.5,
        "the smallest load first"
    );
    assert_eq!(supply.connectors[1].count, 4);
    assert_eq!(supply.adapters[0].from.len(), 2);
    assert_eq!(supply.installed.unwrap().to_string(), "2021-05-01");
}

#[test]
fn a_machine_is_written_again_as_it_was() {
    let text = format!("{HEAD}{WHOLE}");
    let document = read_site(&text, "x.toml", Form::Toml).unwrap();
    assert_eq!(document.to_toml(), text, "to the letter");
    let written: &SiteFile = document.written();
    assert_eq!(written.machine[0].rest["colour"], "beige", "kept");
    for again in [
        read_site(&written.to_toml(), "x.toml", Form::Toml).unwrap(),
        read_site(&written.to_json(), "x.json", Form::Json).unwrap(),
        site_from_file(written, "x").unwrap(),
    ] {
        assert_eq!(again.site.machines, document.site.machines);
        assert_eq!(again.written(), written);
    }
}

/// As files were written while machines were kept and not read.
#[test]
fn an_old_file_still_reads() {
    let site = site("[[ups]]\nid = \"u\"\nat = \"o\"\n[[machine]]\nid = \"a\"\nat = \"u\"\npower = \"150 W\"\n[[machine]]\nid = \"b\"\nat = \"o\"\nmaker = \"an invented one\"\nbought = 2020-01-01\n").unwrap();
    assert_eq!(site.machine("a").unwrap().behind.as_deref(), Some("u"));
    let b = site.machine("b").unwrap();
    assert!(b.build.parts.is_empty() && b.supply.is_none() && b.power.is_none());
    assert_eq!(site.loads.len(), 2, "each is a load too");
}

#[test]
fn every_kind_of_slip_in_a_machine_is_named_at_its_place() {
    let about = |body: &str, place: &str, part: &str| {
        let all: Vec<String> = match site(&format!("[[machine]]\nid = \"m\"\nat = \"o\"\n{body}")) {
            Ok(_) => vec!["it was read".to_owned()],
            Err(it) => it.iter().map(ToString::to_string).collect(),
        };
        let hit = all
            .iter()
            .any(|it| it.starts_with(&format!("x.toml:{place}  ")) && it.contains(part));
        (!hit || all.len() != 1).then(|| format!("{body:?}: wanted {place} {part}, got {all:#?}"))
    };
    let supply = |body: &str| format!("[machine.supply]\n{body}");
    let misses: Vec<String> = [
        about("suply = { rating = \"300 W\" }\n", "12:1", "did you mean \"supply\"?"),
        about("parts = [{ kind = \"procesor\" }]\n", "12:19", "did you mean \"processor\"?"),
        about("parts = [{ kind = \"processor\", tdp = 65 }]\n", "12:38", "write \"65 W\""),
        about("parts = [{ kind = \"processor\", tdp = \"65 A\" }]\n", "12:38", "tdp"),
        about("parts = [{ kind = \"disk-3.5\", tdp = \"6 W\" }]\n", "12:31", "does not belong to a 3.5 inch disk"),
        about("parts = [{ kind = \"fan\", spin_up = \"1 A\" }]\n", "12:26", "it is for drives"),
        about("parts = [{ kind = \"fan\", generation = \"DDR4\" }]\n", "12:26", "it is for memory"),
        about("parts = [{ count = 2 }]\n", "12:10", "kind is missing"),
        about("parts = [{ kind = \"fan\", count = 0 }]\n", "12:34", "from 1 to 64"),
        about("parts = [{ kind = \"fan\", count = \"two\" }]\n", "12:34", "from 1 to 64"),
        about("parts = [{ kind = \"processor\", tdp = \"65 W\", peak = \"60 W\" }]\n", "12:10", "less than what it draws"),
        about("parts = { kind = \"fan\" }\n", "12:9", "a list of tables is wanted"),
        about("parts = [\"fan\"]\n", "12:10", "a list of tables is wanted"),
        about("parts = [{ kind = \"disk\", nameplate = [{ rail = \"+9 V\", current = \"1 A\" }] }]\n", "12:49", "rail \"+9 V\" is not known"),
        about("parts = [{ kind = \"graphics\", needs = [{ connector = \"graphics-9\" }] }]\n", "12:54", "did you mean"),
        about("takes = \"AXT\"\n", "12:9", "did you mean \"ATX\"?"),
        about("air = \"500 °C\"\n", "12:7", "cannot be"),
        about("on = \"30 h\"\n", "12:6", "cannot be"),
        about("supply = 450\n", "12:10", "a table is wanted"),
        about(&supply("rating = 450\n"), "13:10", "write \"450 W\""),
        about(&supply("rating = \"-450 W\"\n"), "13:10", "cannot be"),
        about(&supply("ratting = \"450 W\"\n"), "13:1", "did you mean \"rating\"?"),
        about(&supply("rails = [{ rail = \"+12 V\" }]\n"), "13:10", "max is missing"),
        about(&supply("rails = [{ max = \"3 A\" }]\n"), "13:10", "rail is missing"),
        about(&supply("rails = [{ rail = \"+12 V\", max = \"3 A\" }, { rail = \"12V\", max = \"4 A\" }]\n"), "13:43", "stands here twice"),
        about(&supply("rails = [{ rail = \"+12 V\", max = \"3 A\" }, { rail = \"+12 V2\", max = \"4 A\" }]\n"), "13:43", "write either"),
        about(&supply("rails = [{ rail = \"+12 V\", max = \"3 A\", peak = \"2 A\" }]\n"), "13:10", "peak is less"),
        about(&supply("rails = [{ rail = \"+12 V\", max = \"3 A\", feeds = [\"lamp\"] }]\n"), "13:50", "feeds \"lamp\""),
        about(&supply("rails = [{ rail = \"+12 V\", max = \"3 A\" }]\ncombined = [{ rails = [\"+5 V\"], max = \"9 W\" }]\n"), "14:24", "not among the rails"),
        about(&supply("combined = [{ rails = [], max = \"9 W\" }]\n"), "13:13", "rails names none"),
        about(&supply("combined = [{ max = \"9 W\" }]\n"), "13:13", "rails is missing"),
        about(&supply("selector = \"110 V\"\n"), "13:12", "did you mean"),
        about(&supply("selector = \"115 V\"\ninput = { from = \"100 V\", to = \"240 V\" }\n"), "14:1", "both stand here"),
        about(&supply("input = { from = \"240 V\", to = \"100 V\" }\n"), "13:9", "cannot be"),
        about(&supply("input = { from = \"240 V\" }\n"), "13:9", "to is missing"),
        about(&supply("guide = \"BTX\"\n"), "13:9", "guide \"BTX\" is not known"),
        about(&supply("mark = \"copper\"\n"), "13:8", "mark \"copper\" is not known"),
        about(&supply("efficiency = [{ load = \"50 %\", efficiency = \"120 %\" }]\n"), "13:45", "cannot be"),
        about(&supply("adapters = [{ to = \"graphics-6\" }]\n"), "13:13", "from is missing"),
        about(&supply("installed = \"May\"\n"), "13:13", "not a date"),
    ]
    .into_iter()
    .flatten()
    .collect();
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

#[test]
fn a_list_of_supplies_is_read_and_its_slips_are_named() {
    let text = "format = 1\nnote = \"Invented.\"\n[[supply]]\nid = \"a\"\nrating = \"300 W\"\nselector = \"230 V\"\n[[supply]]\nid = \"b\"\nselector = \"not known\"\n";
    let all = read_supplies(text, "x.toml", Form::Toml).unwrap();
    assert_eq!(all.len(), 2);
    assert_eq!(all[0].id, "a");
    assert_eq!(all[0].input, Input::Selector(Some(Selected::High)));
    assert_eq!(all[1].input, Input::Selector(None));
    let text = "format = 1\n[[supply]]\nid = \"a\"\nrating = 300\n[[supply]]\nid = \"a\"\nwatts = \"3 W\"\n";
    let said: Vec<String> = match read_supplies(text, "x.toml", Form::Toml) {
        Ok(_) => Vec::new(),
        Err(it) => it.iter().map(ToString::to_string).collect(),
    };
    assert_eq!(said.len(), 3, "{said:#?}");
    assert!(
        said[0].starts_with("x.toml:4:10  supply \"a\": rating 300 has no unit"),
        "{said:#?}"
    );
    assert!(
        said[1].contains("already taken") && said[2].contains("unknown key"),
        "{said:#?}"
    );
    let none = read_supplies("format = 1\n", "x.toml", Form::Toml).unwrap_err();
    assert!(none.to_string().contains("[[supply]]"), "{none}");
}

#[test]
fn the_schema_knows_the_parts_and_the_rails() {
    let schema = site::file::schema_site();
    let defs = &schema["$defs"];
    let kinds = defs["Part"]["properties"]["kind"]["enum"]
        .as_array()
        .unwrap();
    assert_eq!(kinds.len(), PartKind::NAMES.len());
    let rails = defs["RailLimit"]["properties"]["rail"]["enum"]
        .as_array()
        .unwrap();
    assert_eq!(rails.len(), Rail::NAMES.len());
}
