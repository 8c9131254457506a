//! The steps of fitting a supply: their order, their limits and their cautions.

use site::bench::{Step, sequence};
use site::plug::Plug;
use site::quick::at_pin;
use site::supply::Guide;

const OFFICE: [Plug; 4] = [Plug::Main24, Plug::Processor8, Plug::Sata, Plug::Sata];
const TOWER: [Plug; 5] = [
    Plug::Main24,
    Plug::Processor8,
    Plug::Graphics8,
    Plug::Graphics12,
    Plug::Peripheral,
];
const ONLY_12: [Plug; 2] = [Plug::Main10, Plug::Processor8];

fn place(steps: &[Step], id: &str) -> usize {
    steps
        .iter()
        .position(|it| it.id == id)
        .unwrap_or_else(|| panic!("no step {id}"))
}

fn read(steps: &[Step]) -> Vec<String> {
    let at = |it: &Step| {
        let at = it.at.as_ref()?;
        Some(format!(
            "{} {} {}",
            at.connector.id,
            at.pin.number,
            at.limits.first()?.limit.says
        ))
    };
    steps.iter().filter_map(at).collect()
}

#[test]
fn unplugged_first_then_standby_then_the_rest() {
    for plugs in [&OFFICE[..], &TOWER[..], &ONLY_12[..]] {
        let steps = sequence(plugs, None);
        let order = [
            "unplug",
            "fasten",
            "main",
            "processor",
            "live",
            "standby",
            "asked-not",
            "start",
            "rails",
            "good",
            "work",
            "close",
        ];
        let at: Vec<usize> = order.iter().map(|it| place(&steps, it)).collect();
        assert!(at.is_sorted(), "{at:?}");
        let misses: Vec<&str> = (steps.iter())
            .filter(|it| {
                let sound = !it.caution.is_empty()
                    && !it.source.source.is_empty()
                    && !it.does.contains('{')
                    && !it.if_not.contains('{');
                // a probe is held in class 2 only, against a limit, or the step says what is seen
                let class = if it.at.is_some() {
                    it.hazard == 2
                } else {
                    it.hazard != 2 && it.expect.is_some()
                };
                let limit = it.at.as_ref().is_none_or(|it| !it.limits.is_empty());
                !(sound && class && limit)
            })
            .map(|it| it.id)
            .collect();
        assert!(misses.is_empty(), "{misses:?}");
    }
}

/// Design guide 336521, table 4-2; ATX12V design guide 2.0, table 2; design guide 1.1, tables 14 and 15.
#[test]
fn ref_what_is_read_where_and_its_limits() {
    let three = read(&sequence(&OFFICE, Some(Guide::Three)));
    assert_eq!(
        three,
        [
            "main-24 9 4.75 V to 5.25 V",
            "main-24 16 2 V to 5.25 V",
            "main-24 16 up to 800 mV",
            "main-24 10 11.2 V to 12.6 V",
            "main-24 4 4.75 V to 5.25 V",
            "main-24 1 3.14 V to 3.47 V",
            "processor-8 5 11.2 V to 12.6 V",
            "main-24 8 2.4 V to 5 V",
            "main-24 10 11.2 V to 12.6 V",
        ]
    );
    let two = read(&sequence(&OFFICE, Some(Guide::Two)));
    assert!(
        two.contains(&"main-24 10 11.4 V to 12.6 V".to_owned()),
        "{two:?}"
    );
    // not told: by the guides of the board's connector
    let not_told = sequence(&OFFICE, None);
    let processor = not_told[place(&not_told, "processor-rail")]
        .at
        .as_ref()
        .expect("a pin");
    let whens: Vec<&str> = processor.limits.iter().map(|it| it.when.as_str()).collect();
    assert_eq!(whens, ["ATX12V 2", "ATX 3"]);
    // a board for 12 V only has no +5 V, and another standby
    let only = read(&sequence(&ONLY_12, Some(Guide::Only12)));
    assert!(
        only.contains(&"main-10 7 11.2 V to 12.6 V".to_owned())
            && !only.iter().any(|it| it.contains("main-10 4")),
        "{only:?}"
    );
}

#[test]
fn a_plug_of_much_current_is_looked_at_and_never_probed() {
    let steps = sequence(&TOWER, None);
    let probed = |it: &Step| {
        it.at
            .as_ref()
            .is_some_and(|it| it.connector.id == "graphics-12+4")
    };
    assert!(!steps.iter().any(probed));
    assert!(steps[place(&steps, "seated")].does.contains("12V-2x6"));
    let rest = &steps[place(&steps, "rest")].does;
    assert!(
        rest.contains("graphics, 8 pins") && rest.contains("drive or fan"),
        "{rest}"
    );
}

/// What a step says to type is understood as a reading at that pin.
#[test]
fn prop_what_is_to_be_typed_is_understood() {
    for step in sequence(&TOWER, None)
        .into_iter()
        .chain(sequence(&ONLY_12, None))
    {
        let Some(at) = &step.at else { continue };
        let line = at.to_type().replace("...", "5.01");
        let reading = at_pin(&line).unwrap_or_else(|it| panic!("{line}: {it}"));
        assert_eq!(
            (&reading.connector.id, &reading.pin.number),
            (&at.connector.id, &at.pin.number),
            "{line}"
        );
        assert!(reading.machine.is_some(), "{line}");
    }
}
