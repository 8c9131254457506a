//! Answers made by hand, for the tests of the pages; and the pinned pages themselves.

use metrology::Basis;
use site::finding::{Action, Finding, Limit, Use, Verdict, When, Who};
use site::region::Words;
use trace::answer::{
    Answer, Danger, Evidence, FORMAT, FaultAt, Group, Member, Next, Outcome, Work,
};

/// The words of North America.
pub fn north_america() -> Words {
    let region = site::region::Region::find("north-america").expect("a built-in region");
    region.words.clone()
}

const STOP: Action = Action {
    use_: Use::Stop,
    who: Who::Electrician,
    when: When::Now,
};
const LEAVE: Action = Action {
    use_: Use::Yes,
    who: Who::Nobody,
    when: When::None,
};

/// An open neutral behind which a load hangs.
pub fn danger() -> Answer {
    let evidence = |reading: &str, read: &str, predicts: &str, weight: f64| Evidence {
        reading: reading.into(),
        read: read.into(),
        predicts: predicts.into(),
        weight,
    };
    let group = |probability: f64, kind: &str, says: &str| {
        Group {
        probability,
        faults: vec![FaultAt { kind: kind.into(), at: "run:front-desk".into() }],
        says: says.into(),
        others: Vec::new(),
        verdict: Verdict::Danger,
        action: STOP,
        mends: "A licensed electrician finds and remakes the broken neutral between panel and front-desk.".into(),
        caution: "The neutral contact may be at full hot voltage.".into(),
        severity: None,
        evidence: Vec::new(),
    }
    };
    let first = Group {
        others: vec![Member {
            probability: 0.31,
            faults: vec![FaultAt {
                kind: "open-neutral-terminal".into(),
                at: "outlet:front-desk".into(),
            }],
            says: "the neutral is loose at a terminal of front-desk".into(),
        }],
        severity: Some("over 30 kΩ".into()),
        evidence: vec![
            evidence("r1", "front-desk, hot to neutral: 0 V", "0 V to 3 V", 4.1),
            evidence(
                "r2",
                "front-desk, hot to ground: 120 V",
                "117 V to 123 V",
                0.05,
            ),
            evidence(
                "r3",
                "front-desk, neutral to ground: 120 V",
                "60 V to 123 V",
                8.2,
            ),
        ],
        ..group(
            0.91,
            "open-neutral-run",
            "the neutral is broken between panel and front-desk",
        )
    };
    Answer {
        format: FORMAT,
        verdict: Verdict::Danger,
        action: STOP,
        headline: "Dangerous: take it out of use now. It is for a licensed electrician.".into(),
        because: "A broken neutral puts the neutral slot at full voltage as soon as something is switched on.".into(),
        danger: Danger { shock: 0.97, fire: 0.12 },
        caution: "The neutral contact may be at full hot voltage although equipment seems dead: do not touch it, unplug what is behind it.".into(),
        causes: vec![
            first,
            group(0.05, "line-earth-reversed", "hot and ground are exchanged at front-desk"),
            group(0.004, "open-neutral-service", "the neutral of the service is lost"),
        ],
        not_in_catalogue: 0.03,
        next: Some(Next {
            key: "unplugged:front-desk:line-neutral".into(),
            says: "Unplug everything on this circuit and read hot to neutral at front-desk again.".into(),
            caution: "Rated probes, one hand where you can.".into(),
            minutes: 4.0,
            hazard: 1,
            would_mean: vec![
                Outcome { result: "under 5 V".into(), probability: 0.2, means: "the neutral is not simply open".into() },
                Outcome { result: "60 V to 100 V".into(), probability: 0.8, means: "the neutral floats: it is open".into() },
            ],
            worth: 0.3,
            tell: "front-desk: hot-neutral ... V everything unplugged".into(),
        }),
        for_electrician: vec!["The joints of the neutral between panel and front-desk, with the circuit off.".into()],
        parts: Vec::new(),
        findings: vec![Finding {
            element: "outlet:front-desk".into(),
            verdict: Verdict::Defect,
            statement: "hot to neutral is 0 V, below the lowest that is allowed".into(),
            evidence: vec!["r1: 0 V ± 0.4 V".into()],
            limit: Some(Limit {
                says: "114 V to 126 V".into(),
                source: "ANSI C84.1, Table 1, Range A service".into(),
                basis: Basis::Published,
            }),
            action: STOP,
            caution: String::new(),
        }],
        remarks: vec!["The three readings add up within the meter's accuracy.".into()],
        work: Work { causes: 481, solutions: 7696, factorings: 16, refactorings: 2 },
    }
}

/// Nothing wrong.
pub fn good() -> Answer {
    Answer {
        verdict: Verdict::Good,
        action: LEAVE,
        headline: "Not dangerous as far as read: it may stay in use, nobody has to act.".into(),
        because: "All three pairs at front-desk are within their limits.".into(),
        danger: Danger {
            shock: 0.002,
            fire: 0.001,
        },
        caution: String::new(),
        causes: vec![Group {
            probability: 0.985,
            faults: Vec::new(),
            says: "nothing is wrong".into(),
            others: Vec::new(),
            verdict: Verdict::Good,
            action: LEAVE,
            mends: String::new(),
            caution: String::new(),
            severity: None,
            evidence: Vec::new(),
        }],
        not_in_catalogue: 0.005,
        next: None,
        for_electrician: Vec::new(),
        findings: Vec::new(),
        remarks: Vec::new(),
        ..danger()
    }
}

/// Compares with the page kept under `pins/`; `WATTWRIGHT_PIN=1 cargo test -p wattwright` writes it anew.
pub fn pinned(name: &str, text: &str) {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("pins")
        .join(name);
    if std::env::var_os("WATTWRIGHT_PIN").is_some() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("pins can be made");
        std::fs::write(&path, text).expect("a pin can be written");
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(
        text, kept,
        "{name} has changed; look at it, then refresh with WATTWRIGHT_PIN=1 cargo test"
    );
}
