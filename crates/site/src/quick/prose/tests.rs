use super::*;
use crate::region::Region;
use crate::visit::Reach;

fn signs(text: &str) -> Vec<Sign> {
    let all = sentences(text);
    all.into_iter()
        .flat_map(|(_, told)| told)
        .map(|(sign, _)| sign)
        .collect()
}

fn misses(cases: &[(&str, &[Sign])]) -> String {
    let wrong = cases.iter().filter(|(text, wanted)| signs(text) != *wanted);
    let lines = wrong
        .map(|(text, wanted)| format!("{text}\n  wanted {wanted:?}\n  got    {:?}\n", signs(text)));
    lines.collect()
}

#[test]
fn what_people_feel_smell_and_hear_is_understood() {
    use Sign::{Burnt, Buzzing, Shock, Warm};
    let cases: &[(&str, &[Sign])] = &[
        ("I got a nasty jolt off the filing cabinet", &[Shock]),
        (
            "You can feel a faint current when you stroke the laptop",
            &[Shock],
        ),
        ("the kitchen tap is live", &[Shock]),
        (
            "There was a stink like hot plastic behind the printer",
            &[Burnt],
        ),
        ("the plug had melted into the socket", &[Burnt]),
        ("it arced when the heater came on", &[Burnt]),
        ("the wall hisses at night", &[Buzzing]),
        ("The cover gets really hot by noon", &[Warm]),
        ("No smell, no sparks", &[Sign::NotUnderstood(Tone::Plain)]),
    ];
    let got = misses(cases);
    assert!(got.is_empty(), "{got}");
}

#[test]
fn what_lamps_and_appliances_do_is_understood() {
    use Sign::{Brightening, Dimming, EquipmentBurnt, Flicker};
    let cases: &[(&str, &[Sign])] = &[
        ("The bulbs in the hall blink all evening", &[Flicker]),
        ("voltage keeps jumping about", &[Flicker]),
        (
            "when the kettle starts the lamps upstairs get brighter",
            &[Brightening],
        ),
        ("The two legs are quite uneven", &[Brightening]),
        ("the lights dim whenever the copier runs", &[Dimming]),
        (
            "both chargers and the routers died overnight",
            &[EquipmentBurnt],
        ),
        (
            "the dimmer is in the hall",
            &[Sign::NotUnderstood(Tone::Plain)],
        ),
    ];
    let got = misses(cases);
    assert!(got.is_empty(), "{got}");
}

#[test]
fn what_was_found_at_the_wiring_is_understood() {
    use Sign::{AfterWorks, EarthMissing, FaultLight, NeutralBroken, OldWiring};
    let cases: &[(&str, &[Sign])] = &[
        (
            "The neutral wire had corroded through at the lug",
            &[NeutralBroken],
        ),
        ("a loose neutral behind the plate", &[NeutralBroken]),
        ("this socket has no earth", &[EarthMissing]),
        (
            "somebody cut the ground pin off; it is missing",
            &[EarthMissing, Sign::NotUnderstood(Tone::Plain)],
        ),
        (
            "it runs on a three-prong adapter in a two-prong outlet",
            &[OldWiring],
        ),
        ("the UPS reports a site wiring fault", &[FaultLight]),
        ("a contractor swapped the panel in May", &[AfterWorks]),
        (
            "sparks flew from the network cable when I plugged it in",
            &[Sign::Burnt, Sign::CableSparks],
        ),
    ];
    let got = misses(cases);
    assert!(got.is_empty(), "{got}");
}

#[test]
fn how_far_it_reaches_is_understood() {
    let cases: &[(&str, &[Sign])] = &[
        (
            "people next door have it as well",
            &[Sign::Scope(Reach::Street)],
        ),
        ("half of the house is affected", &[Sign::Scope(Reach::Leg)]),
        ("it is the same in every room", &[Sign::Scope(Reach::House)]),
        ("only at this outlet", &[Sign::Scope(Reach::Outlet)]),
    ];
    let got = misses(cases);
    assert!(got.is_empty(), "{got}");
}

#[test]
fn devices_that_trip_are_told_apart() {
    use Sign::{ArcTripped, BreakerTripped, ResidualTripped};
    let cases: &[(&str, &[Sign])] = &[
        ("the fuse blew twice", &[BreakerTripped]),
        ("a ground-fault breaker trips at once", &[ResidualTripped]),
        ("the arc-fault breaker tripped", &[ArcTripped]),
        (
            "the breaker has not tripped",
            &[Sign::NotUnderstood(Tone::Plain)],
        ),
    ];
    let got = misses(cases);
    assert!(got.is_empty(), "{got}");
}

#[test]
fn a_tester_and_a_detector_are_read_out_of_a_sentence() {
    use Lamp::{Dark, Lit};
    let lamps = |line_neutral, line_earth, neutral_earth| Sign::Lamps {
        line_neutral,
        line_earth,
        neutral_earth,
    };
    let cases: &[(&str, &[Sign])] = &[
        (
            "my plug-in tester says open neutral",
            &[lamps(Dark, Lit, Dark)],
        ),
        (
            "the tester calls it 'hot/ground reversed'",
            &[lamps(Dark, Lit, Lit)],
        ),
        ("Two testers passed it", &[lamps(Lit, Lit, Dark)]),
        ("a tester passed it before the flood", &[Sign::Wet]),
        (
            "the detector beeps at the ground hole",
            &[Sign::Detector {
                pin: Pin::Earth,
                signals: Signals::Yes,
            }],
        ),
        (
            "the voltage pen stays silent at the short slot",
            &[Sign::Detector {
                pin: Pin::Line,
                signals: Signals::No,
            }],
        ),
    ];
    let got = misses(cases);
    assert!(got.is_empty(), "{got}");
}

#[test]
fn nothing_told_is_dropped() {
    let site = Site::assumed(Region::find("north-america").expect("built in"), &["desk"]);
    let before = crate::quick::nothing(&site);
    let here = site.outlet("desk");
    let text = "The cat likes it. Grandmother stank of ozone; the lights flicker";
    let after = more_said(text, &site, &before, here);
    let told: Vec<_> = after
        .observations
        .iter()
        .map(|it| it.condition.remark.as_deref())
        .collect();
    assert_eq!(
        told,
        [
            Some("The cat likes it"),
            Some("Grandmother stank of ozone"),
            Some("the lights flicker")
        ]
    );
    assert_eq!(after.observations[0].what, Sign::NotUnderstood(Tone::Plain));
}

#[test]
fn harmless_words_are_no_signs() {
    let texts = [
        "the smoke detector chirps",
        "the hot wire goes to the outlet on the left",
        "all electrical drawings are in the office",
        "the display is a bit small",
        "proved on a known live source",
    ];
    for text in texts {
        assert_eq!(signs(text), [Sign::NotUnderstood(Tone::Plain)], "{text}");
    }
}

#[test]
fn harm_in_unknown_words_is_heard_as_harm() {
    for text in [
        "he was hurt by it",
        "a bang and a flash",
        "the metal frame seems to be live",
    ] {
        assert_eq!(tone(text), Tone::Harm, "{text}");
    }
    assert_eq!(tone("the carpet is green"), Tone::Plain);
}
