//! Connectors, adapters and contacts.

mod support;

use plan::{Moment, Of, needs};
use site::finding::{Use, Verdict};
use site::plug::Plug;
use site::supply::Rail;
use support::{build, fit, line, near};

#[test]
fn parts_need_their_usual_connectors() {
    let of =
        |line: &str| -> Vec<Plug> { needs(&build(line), None).iter().map(|it| it.plug).collect() };
    assert_eq!(
        of("processor 65 W, 2 disks 3.5"),
        [Plug::Processor8, Plug::Sata, Plug::Sata, Plug::Main24]
    );
    assert!(of("graphics 75 W").is_empty(), "the slot gives 75 W");
    assert_eq!(of("graphics 120 W"), [Plug::Graphics6]);
    assert_eq!(of("graphics 220 W"), [Plug::Graphics8]);
    assert_eq!(of("graphics 300 W"), [Plug::Graphics6, Plug::Graphics8]);
    assert_eq!(of("graphics 450 W"), [Plug::Graphics12]);
    assert!(of("4 memory, fan, card, solid-state slot").is_empty());
}

/// By contacts: SATA power has three of 1.5 A a rail, 54 W from +12 V, and a 6-way graphics connector may be asked for
/// 75 W, an 8-way for 150 W. A peripheral connector has one contact of 11 A, 132 W.
#[test]
fn exact_an_adapter_is_sound_or_overloads_a_contact() {
    let mut misses = Vec::new();
    for (from, to, sound) in [
        ("\"sata-power\"", "graphics-6", false),
        ("\"sata-power\", \"sata-power\"", "graphics-6", true),
        ("\"sata-power\", \"sata-power\"", "graphics-8", false),
        ("\"peripheral\"", "graphics-6", true),
        ("\"peripheral\"", "graphics-8", false),
        ("\"peripheral\", \"peripheral\"", "graphics-8", true),
        ("\"peripheral\"", "sata-power", true),
        ("\"sata-power\"", "peripheral", false),
        ("\"graphics-8\", \"graphics-8\"", "graphics-12+4", true),
        ("\"peripheral\", \"peripheral\"", "processor-8", false),
    ] {
        let keys = format!("adapters = [{{ from = [{from}], to = \"{to}\" }}]");
        let fit = fit("board", &keys);
        let of = fit
            .findings
            .iter()
            .find(|it| it.statement.starts_with("adapter"));
        let of = of.expect("each adapter is judged");
        let wanted = if sound {
            Verdict::Good
        } else {
            Verdict::Danger
        };
        if of.verdict != wanted {
            misses.push(format!("{from} to {to}: {of:#?}"));
        }
        if !sound {
            assert_eq!((of.action.use_, fit.verdict), (Use::Stop, Verdict::Danger));
            assert!(of.caution.contains("unplug"), "{of:?}");
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

#[test]
fn a_missing_connector_is_named_with_an_adapter_that_would_do() {
    let says = |machine: &str, connectors: &str| -> Vec<String> {
        let fit = fit(machine, &format!("connectors = [{connectors}]"));
        let of = fit
            .findings
            .into_iter()
            .filter(|it| it.statement.contains("connector"));
        of.map(|it| {
            format!(
                "{:?} {} {}",
                it.verdict,
                it.statement,
                it.evidence.join(" ")
            )
        })
        .collect()
    };
    let one = "{ connector = \"main-24\" }, { connector = \"processor-8\" }";
    let all = says(
        "processor 65 W, disk 3.5",
        &format!("{one}, {{ connector = \"peripheral\" }}"),
    );
    assert!(
        all[0].starts_with("Defect no sata-power connector is left for a 3.5 inch disk"),
        "{all:#?}"
    );
    assert!(
        all[0].contains("peripheral to sata-power would be sound"),
        "{all:#?}"
    );
    let all = says(
        "processor 65 W, graphics 120 W",
        &format!("{one}, {{ connector = \"sata-power\", count = 4 }}"),
    );
    assert!(
        all[0].contains("no sound adapter"),
        "one SATA connector does not carry 75 W: {all:#?}"
    );
    let all = says(
        "processor 65 W",
        "{ connector = \"main-20\" }, { connector = \"processor-4\" }",
    );
    assert!(
        all.iter().filter(|it| it.starts_with("Advice")).count() == 2,
        "{all:#?}"
    );
    let all = says(
        "processor 65 W, disk 3.5",
        &format!("{one}, {{ connector = \"sata-power\" }}"),
    );
    assert_eq!(all.len(), 1, "{all:#?}");
    assert!(
        all[0].starts_with("Good every part has its connector"),
        "{all:#?}"
    );
}

/// Three cards that are fed by their slots draw 3 × 75 / 12 = 18.75 A and the board 0.85 A through two contacts of the
/// 24-way connector: 9.8 A each, of 6 A. With 20 ways it is one contact.
#[test]
fn exact_a_contact_beyond_its_rating_is_a_danger() {
    let machine = "board, 3 graphics 75 W";
    for (plug, n) in [("main-24", 2.0), ("main-20", 1.0)] {
        let keys = format!(
            "rails = [{{ rail = \"+12 V\", max = \"40 A\" }}]\nconnectors = [{{ connector = \"{plug}\" }}]"
        );
        let fit = fit(machine, &keys);
        let plug = if n > 1.5 { Plug::Main24 } else { Plug::Main20 };
        let it = line(&fit, &Of::Contact(plug, Rail::Plus12), Moment::Sustained);
        assert!(near(it.demand, (18.75 + 0.85) / n, 1e-9), "{it:?}");
        assert_eq!((fit.verdict, fit.action.use_), (Verdict::Danger, Use::Stop));
    }
}

/// A card of 600 W, 75 W of it by the slot, on one 8-way connector: 525 W where 150 W are allowed, 14.6 A a contact of 8 A.
/// One of 220 W draws 70 W by the slot and 150 W by the connector, 4.17 A a contact.
#[test]
fn exact_a_card_on_too_few_connectors_is_a_danger() {
    let contact = Of::Contact(Plug::Graphics8, Rail::Plus12);
    let machine = "{ kind = \"graphics\", board_power = \"600 W\", needs = [{ connector = \"graphics-8\" }] }";
    let large = fit(machine, "connectors = [{ connector = \"graphics-8\" }]");
    let it = line(&large, &contact, Moment::Sustained);
    assert!(near(it.demand, 525.0 / 12.0 / 3.0, 1e-9), "{it:?}");
    let too_few = |fit: &plan::Fit| {
        let of = fit.findings.iter();
        let mut of = of.filter(|it| it.statement.starts_with("a graphics card of"));
        of.next().map(|it| it.verdict)
    };
    assert_eq!(too_few(&large), Some(Verdict::Defect));
    assert_eq!(large.verdict, Verdict::Danger);
    let small = fit(
        "graphics 220 W",
        "connectors = [{ connector = \"graphics-8\" }]",
    );
    let it = line(&small, &contact, Moment::Sustained);
    assert!(near(it.demand, 150.0 / 12.0 / 3.0, 1e-9), "{it:?}");
    assert_eq!(too_few(&small), None);
}
