//! One reading at a pin: how it is understood, and what is found.

use metrology::{Meter, Volts};
use proptest::prelude::*;
use site::connector::{CAUTION, Connector, Machine, judged};
use site::finding::{Use, Verdict};
use site::quick::at_pin;
use site::signal::rails;
use site::supply::Guide;

fn verdict(line: &str) -> (Verdict, Use) {
    let reading = at_pin(line).unwrap_or_else(|it| panic!("{line}: {it}"));
    let finding = judged(&reading).finding;
    (finding.verdict, finding.action.use_)
}

/// A reading far inside and far outside of each published limit, by a meter whose doubt is far smaller than the distance.
/// Limits: design guide 336521, table 4-2; ATX12V design guide 2.0, table 2; design guide 1.1, tables 14 and 15.
#[test]
fn ref_readings_on_either_side_of_published_limits() {
    use Verdict::{Advice, Danger, Defect, Good, Undecided};
    let cases = [
        ("24-pin pin 9 4.98 V meter mid", Good, Use::Yes),
        (
            "24-pin purple 4.60 V, meter mid, standby",
            Defect,
            Use::Restricted,
        ),
        ("24-pin pin 9 5.40 V, meter mid", Defect, Use::Stop),
        (
            "24-pin 5vsb 0.02 V, meter mid, standby",
            Defect,
            Use::Restricted,
        ),
        (
            "24-pin pin 10 12.04 V, meter mid, under load",
            Good,
            Use::Yes,
        ),
        // 11.30 V: inside ATX 3.x (11.20 V), outside older guides (11.40 V)
        ("24-pin pin 10 11.30 V, meter good, on", Undecided, Use::Yes),
        ("24-pin pin 10 11.30 V, meter good, atx 3.0", Good, Use::Yes),
        (
            "24-pin pin 10 11.30 V, meter good, atx 2.4",
            Defect,
            Use::Restricted,
        ),
        ("24-pin pin 10 11.02 V, meter good", Defect, Use::Restricted),
        ("eps pin 5 12.90 V meter good", Defect, Use::Stop),
        ("20-pin pin 12 -11.8 V meter mid", Good, Use::Yes),
        ("20-pin pin 12 11.8 V meter mid", Undecided, Use::Yes),
        ("20-pin pin 18 -4.3 V meter good", Defect, Use::Restricted),
        ("24-pin pin 20 0.01 V meter mid", Good, Use::Yes),
        ("24-pin pin 20 -5.01 V meter mid", Advice, Use::Yes),
        ("24-pin pin 4 0.02 V meter mid", Undecided, Use::Yes),
        (
            "24-pin pin 4 0.02 V meter mid machine on",
            Defect,
            Use::Restricted,
        ),
        ("24-pin pin 4 0.02 V meter mid standby", Good, Use::Yes),
        ("24-pin pin 4 2.1 V meter mid standby", Advice, Use::Yes),
        ("24-pin PS_ON# 0.10 V meter mid machine on", Good, Use::Yes),
        (
            "24-pin PS_ON# 0.10 V meter mid standby",
            Defect,
            Use::Restricted,
        ),
        ("24-pin PS_ON# 4.95 V meter mid standby", Good, Use::Yes),
        ("24-pin PS_ON# 2.40 V meter mid standby", Advice, Use::Yes),
        (
            "24-pin PS_ON# 4.95 V meter mid machine on",
            Defect,
            Use::Restricted,
        ),
        ("24-pin PS_ON# 1.40 V meter mid", Defect, Use::Restricted),
        ("24-pin PWR_OK 4.90 V meter mid machine on", Good, Use::Yes),
        (
            "24-pin PWR_OK 0.05 V meter mid machine on",
            Defect,
            Use::Restricted,
        ),
        ("24-pin PWR_OK 0.05 V meter mid standby", Good, Use::Yes),
        ("24-pin PWR_OK 1.50 V meter mid", Defect, Use::Restricted),
        // pulled up from a +5 V rail at 5.12 V
        ("24-pin PWR_OK 5.12 V meter mid machine on", Good, Use::Yes),
        ("24-pin PWR_OK 6.10 V meter mid", Defect, Use::Stop),
        // too close to a level for this meter, from either side
        ("24-pin PS_ON# 0.805 V meter cheap", Undecided, Use::Yes),
        ("24-pin PS_ON# 1.995 V meter cheap", Undecided, Use::Yes),
        ("24-pin PS_ON# 5.22 V meter cheap", Undecided, Use::Yes),
        ("24-pin PS_ON# 5.28 V meter cheap", Undecided, Use::Yes),
        (
            "24-pin PWR_OK 5.22 V meter cheap machine on",
            Undecided,
            Use::Yes,
        ),
        ("24-pin PWR_OK 0.402 V meter cheap", Undecided, Use::Yes),
        ("24-pin PS_ON# -5.00 V meter mid", Undecided, Use::Yes),
        ("24-pin pin 3 0.01 V meter good", Good, Use::Yes),
        ("24-pin pin 3 0.60 V meter good", Defect, Use::Restricted),
        ("sata contact 3 3.31 V meter mid", Advice, Use::Yes),
        ("pcie 8-pin pin 4 0.00 V meter mid", Good, Use::Yes),
        ("12v-2x6 pin S3 2.10 V meter mid", Undecided, Use::Yes),
        ("12vo pin 7 11.99 V meter mid standby", Good, Use::Yes),
        ("24-pin pin 9 118.2 V meter mid", Danger, Use::Stop),
        ("24-pin pin 9 -230 V", Danger, Use::Stop),
    ];
    let misses: Vec<String> = (cases.iter())
        .filter(|(line, wanted, use_)| verdict(line) != (*wanted, *use_))
        .map(|(line, wanted, use_)| format!("{line}: {:?} for {:?}", verdict(line), (wanted, use_)))
        .collect();
    assert!(misses.is_empty(), "{misses:#?}");
}

/// +5 VSB 4.78 V with a meter of 0.5 % + 3 counts of 10 mV: half-width 53.9 mV, `u = 53.9/√3 = 31.1 mV`, with 2.9 mV of the
/// display 31.25 mV: `Φ((4.78 − 4.75)/0.03125) = Φ(0.96) = 0.831`: undecided. With 0.05 % + 10 counts of 0.1 mV it conforms.
#[test]
fn exact_the_meters_doubt_decides_near_a_limit() {
    let reading = at_pin("24-pin pin 9 4.78 V meter cheap").expect("a reading");
    let found = judged(&reading).finding;
    assert_eq!(found.verdict, Verdict::Undecided);
    assert!(found.statement.contains("83 %"), "{}", found.statement);
    assert_eq!(
        verdict("24-pin pin 9 4.780 V meter high-grade").0,
        Verdict::Good
    );
}

#[test]
fn a_line_is_understood_as_it_was_meant() {
    let it = at_pin("24-pin pin 9 4.98 V with an ordinary meter").expect("a reading");
    assert_eq!(
        (it.connector.id.as_str(), it.pin.number.as_str()),
        ("main-24", "9")
    );
    assert_eq!(it.value.value, Volts::from_si(4.98));
    assert!(it.meter.is_none() && it.machine.is_none() && it.guide.is_none());
    let it =
        at_pin("PCIe 8-pin, pin 2: 11.9 V, good meter, under load, ATX 3.1").expect("a reading");
    assert_eq!(
        (it.connector.id.as_str(), it.pin.number.as_str()),
        ("graphics-8", "2")
    );
    assert_eq!(
        it.meter.as_ref().map(|it| &it.name),
        Meter::class("good").map(|it| &it.name)
    );
    assert_eq!(
        (it.machine, it.guide),
        (Some(Machine::On), Some(Guide::Three))
    );
    // the standby rail of a board for 12 V only is another
    let it = at_pin("10-pin standby rail 12.0 V").expect("a reading");
    assert_eq!(it.pin.number, "7");
    let it = at_pin("24-pin pin 9 4.78 V accuracy 0.05 % + 1").expect("a reading");
    assert_eq!(judged(&it).finding.verdict, Verdict::Good);
}

#[test]
fn pin_what_cannot_be_used_is_told_with_its_column() {
    let said = |line: &str| at_pin(line).map(|_| ()).expect_err(line).to_string();
    let cases = [
        ("", "line:1:1  it is not said at which connector"),
        ("24-pin", "line:1:7  it is not said at which pin"),
        ("24-pin pin 9", "line:1:13  it is not said what was read"),
        (
            "24-pin pin 25 5 V",
            "line:1:8  board, 24 pins has no pin 25; its pins are 1 to 24",
        ),
        ("24-pin pin 9 4.98", "line:1:14  \"4.98\" is no voltage"),
        ("24-pin pin 9 4.98 A", "line:1:14  \"4.98\" is no voltage"),
        (
            "24-pin pin 9 5 V 6 V",
            "line:1:18  a second value stands in one reading",
        ),
        (
            "24-pin pin 9 pin 8 5 V",
            "line:1:14  a second pin stands in one reading",
        ),
        (
            "24-pin 20-pin pin 9 5 V",
            "line:1:8  \"main-20\" contradicts \"main-24\"",
        ),
        (
            "24-pin pin 9 5 V standby unplugged",
            "line:1:26  \"unplugged\" contradicts \"standby\"",
        ),
        (
            "24-pin pin 9 5 V atx 7",
            "line:1:18  there is no guide \"atx 7\"; write \"atx 2.4\" or \"atx 3.0\"",
        ),
        (
            "24-pin pin 9 5 V stanby",
            "line:1:18  \"stanby\" is not understood; did you mean \"standby\"?",
        ),
        ("24-pin black 5 V bananas", "\"bananas\" is not understood"),
        (
            "graphics-6 black 0 V",
            "graphics, 6 pins has no one signal on black wires",
        ),
    ];
    let misses: Vec<String> = (cases.iter())
        .filter(|(line, wanted)| !said(line).contains(wanted))
        .map(|(line, wanted)| format!("{line:?}: {} for {wanted}", said(line)))
        .collect();
    assert!(misses.is_empty(), "{misses:#?}");
}

proptest! {
    /// Any text is answered with a reading or with problems, and every reading with a finding that has its caution.
    #[test]
    fn prop_any_line_is_answered(line in "\\PC{0,60}|(24-pin|sata|pin|PS_ON#|[0-9.\\-]{1,6}|V|atx|meter|cheap|off|,|;| ){0,14}") {
        if let Ok(reading) = at_pin(&line) {
            prop_assert!(judged(&reading).finding.caution.ends_with(CAUTION));
        }
    }

    /// At every pin, nothing that is outside of the extra-low range is ever called good, and nothing above a rail's trip point
    /// may stay in use.
    #[test]
    fn prop_too_much_is_never_left_in_use(which in 0usize..10, pin in 0usize..24, millivolts in prop_oneof![-400_000i32..400_000, -14_000i32..14_000, 0i32..6_000]) {
        let connector = &Connector::all()[which];
        let pin = &connector.pins[pin % connector.pins.len()];
        let value = f64::from(millivolts) / 1e3;
        let line = format!("{} pin {} {value:.3} V meter good machine on", connector.id, pin.number);
        let finding = judged(&at_pin(&line).expect("a reading")).finding;
        if value.abs() > 62.0 {
            prop_assert_eq!(finding.verdict, Verdict::Danger, "{}", line);
        }
        let trip = rails().trip(pin.signal).and_then(|it| it.value.upper);
        if trip.is_some_and(|it| value > it.si() * 1.02) {
            prop_assert_eq!(finding.action.use_, Use::Stop, "{}", line);
        }
        // what is called undecided for its closeness is neither nearly sure nor nearly impossible
        if let Some((before, _)) = finding.statement.split_once(" % only") {
            let percent: f64 = before.rsplit(' ').next().and_then(|it| it.parse().ok()).expect("a number");
            prop_assert!((5.0..=95.0).contains(&percent), "{}: {}", line, finding.statement);
        }
        prop_assert!(finding.limit.is_none_or(|it| !it.source.is_empty() && !it.says.is_empty()));
    }
}
