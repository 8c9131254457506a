//! Small sites on which the engine is held to plain sampling.

use site::file::Form;
use site::model::Site;
use site::region::Region;
use site::visit::{Skill, Visit};

use super::{Brute, Plan, brute};
use crate::causes::Cause;
use crate::sieve::sift;
use crate::study::{Question, Study};
use crate::words;

/// A site and what was told there.
struct Case {
    name: &'static str,
    region: &'static str,
    /// A site file without its head, or nothing: then a site is assumed.
    site: &'static str,
    line: &'static str,
}

const THREE_OUTLETS: &str = r#"
[[circuit]]
id = "A4"
breaker = "20 A"
cable = "12 AWG copper"
[[outlet]]
id = "hall"
circuit = "A4"
run = "12 m"
[[outlet]]
id = "desk"
after = "hall"
run = "6 m"
[[outlet]]
id = "window"
after = "desk"
run = "5 m"
[[load]]
id = "heater"
at = "window"
power = "900 W"
"#;

const THREE_OUTLETS_TT: &str = r#"
[service]
earthing = "TT"
[[circuit]]
id = "A4"
breaker = "16 A"
cable = "2.5 mm² copper"
[[outlet]]
id = "hall"
circuit = "A4"
run = "12 m"
[[outlet]]
id = "desk"
after = "hall"
run = "6 m"
[[outlet]]
id = "window"
after = "desk"
run = "5 m"
"#;

const CASES: &[Case] = &[
    Case {
        name: "one sound reading",
        region: "north-america",
        site: "",
        line: "H-N 120 V",
    },
    Case {
        name: "three sound readings",
        region: "north-america",
        site: "",
        line: "H-N 119.6 V, H-G 119.8 V, N-G 0.3 V",
    },
    Case {
        name: "open neutral",
        region: "north-america",
        site: "",
        line: "H-N 0 V, H-G 120 V, N-G 120 V",
    },
    Case {
        name: "a ghost on the earth",
        region: "north-america",
        site: "",
        line: "H-N 120 V, H-G 61 V, N-G 54 V",
    },
    Case {
        name: "a ghost, two readings",
        region: "north-america",
        site: "",
        line: "H-N 121 V, H-G 40 V",
    },
    Case {
        name: "reversed",
        region: "north-america",
        site: "",
        line: "H-N 120 V, H-G 0.5 V, N-G 120 V",
    },
    Case {
        name: "a poor neutral under load",
        region: "north-america",
        site: "",
        line: "H-N 119 V; H-N 108 V with test load 1000 W, N-G 11 V with test load 1000 W",
    },
    Case {
        name: "lamps",
        region: "north-america",
        site: "",
        line: "lamps HN dark, HG lit, NG dark; H-N 20 V",
    },
    Case {
        name: "a detector",
        region: "north-america",
        site: "",
        line: "H-N 0 V, detector quiet at hot",
    },
    Case {
        name: "six readings of three outlets",
        region: "north-america",
        site: THREE_OUTLETS,
        line: "hall: H-N 119.5 V, N-G 0.5 V; desk: H-N 112.4 V, N-G 7.5 V; window: H-N 111.8 V, N-G 7.9 V",
    },
    Case {
        name: "earthed by itself, three readings",
        region: "iec-230",
        site: "",
        line: "L-N 231 V, L-E 228 V, N-E 3 V",
    },
    Case {
        name: "earthed by itself, no earth",
        region: "iec-230",
        site: THREE_OUTLETS_TT,
        line: "hall: L-N 231 V, L-E 230 V; desk: L-N 231 V, L-E 96 V, N-E 88 V; window: L-E 97 V",
    },
];

fn read(case: &Case) -> (Site, Visit) {
    let region = Region::find(case.region).unwrap();
    if case.site.is_empty() {
        return site::quick::quick(case.line, region)
            .unwrap_or_else(|it| panic!("{}: {it}", case.name));
    }
    let text = format!(
        "format = 1\nname = \"Case\"\nregion = \"{}\"\n{}",
        case.region, case.site
    );
    let site = site::file::read_site(&text, "case.toml", Form::Toml)
        .unwrap_or_else(|it| panic!("{}: {it}", case.name))
        .site;
    let empty = Visit {
        site: site.name.clone(),
        date: None,
        skill: Skill::Technician,
        meters: Vec::new(),
        readings: Vec::new(),
        observations: Vec::new(),
        cannot: Vec::new(),
    };
    let visit = site::quick::more(case.line, &site, &empty, None)
        .unwrap_or_else(|it| panic!("{}: {it}", case.name));
    (site, visit)
}

/// Heavy: prints every case's leading causes beside plain sampling.
#[test]
#[ignore = "minutes"]
fn exact_leading_causes_weigh_as_in_plain_sampling() {
    let worlds = std::env::var("WORLDS")
        .ok()
        .and_then(|w| w.parse().ok())
        .unwrap_or(100_000);
    let only = std::env::var("CASE").unwrap_or_default();
    for case in CASES.iter().filter(|c| c.name.contains(&only)) {
        let (site, visit) = read(case);
        let question = Question {
            site: &site,
            visit: &visit,
            skill: Skill::Technician,
            seed: 1,
        };
        let mut study = Study::of(question, question.visit);
        let start = std::time::Instant::now();
        let sifted = sift(&mut study);
        let took = start.elapsed().as_secs_f64() * 1e3;
        let mut leading: Vec<(Cause, f64, f64)> = sifted
            .held
            .iter()
            .take(10)
            .map(|h| {
                (
                    h.cause.clone(),
                    h.ln_weight - h.cause.ln_prior,
                    h.probability,
                )
            })
            .collect();
        if let Some(none) = sifted.held.iter().skip(10).find(|h| h.cause.is_empty()) {
            leading.push((none.cause.clone(), none.ln_weight, none.probability));
        }
        let causes: Vec<Cause> = leading.iter().map(|(c, ..)| c.clone()).collect();
        let start = std::time::Instant::now();
        let truth = brute(
            &study,
            &causes,
            Plan {
                worlds,
                inner: 8,
                seed: 99,
            },
        );
        println!(
            "== {} ({took:.0} ms, brute {:.1} s) unknown {:.4}",
            case.name,
            start.elapsed().as_secs_f64(),
            sifted.unknown
        );
        for ((cause, ours, p), Brute { ln, error }) in leading.iter().zip(&truth) {
            let says: Vec<String> = cause
                .faults
                .iter()
                .flatten()
                .map(|i| words::says(&site, &study.singles[*i as usize]))
                .collect();
            println!(
                "{p:8.5} ours {ours:8.3} brute {ln:8.3} ± {error:.3} off {:+.3}  {}",
                ours - ln,
                says.join(" + ")
            );
        }
    }
}
