//! Small sites on which the engine is held to plain sampling.

use site::file::Form;
use site::model::Site;
use site::region::Region;
use site::visit::{Skill, Visit};

use super::{Brute, Plan, brute};
use crate::causes::Cause;
use crate::settle::Goal;
use crate::sieve::{Held, settle, sift};
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
        line: "hall: L-N 231 V, L-E 230 V; desk: L-N 231 V, L-E 118 V, N-E 109 V; window: L-E 118 V",
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
    let empty = site::quick::nothing(&site);
    let visit = site::quick::more(case.line, &site, &empty, None)
        .unwrap_or_else(|it| panic!("{}: {it}", case.name));
    (site, visit)
}

/// A cause weighed both ways.
struct Row {
    says: String,
    probability: f64,
    /// What it would be by plain sampling's evidence.
    by_brute: f64,
    /// Log weight, prior included, and its standard error: the engine's and plain sampling's.
    ours: (f64, f64),
    brute: (f64, f64),
}

/// The ten leading causes and "nothing wrong".
fn weighed_twice(case: &Case, plan: Plan) -> Vec<Row> {
    let (site, visit) = read(case);
    let question = Question {
        site: &site,
        visit: &visit,
        skill: Skill::Technician,
        seed: 1,
    };
    let mut study = Study::of(question, question.visit);
    let mut sifted = sift(&mut study, Goal::Evidence);
    let mut held: Vec<Held> = sifted.held.iter().take(10).cloned().collect();
    let sound = sifted.held.iter().skip(10).find(|h| h.cause.is_empty());
    held.extend(sound.cloned());
    let causes: Vec<Cause> = held.iter().map(|h| h.cause.clone()).collect();
    let truth = brute(&study, &causes, plan);
    let says = |cause: &Cause| -> String {
        let each = cause.faults.iter().flatten();
        let each: Vec<String> = each
            .map(|i| words::says(&site, &study.singles[*i as usize]))
            .collect();
        if each.is_empty() {
            "nothing wrong".into()
        } else {
            each.join("; ")
        }
    };
    let same = |a: &Held, b: &Held| a.cause.faults == b.cause.faults;
    for it in &mut sifted.held {
        let found = held.iter().zip(&truth).find(|(h, _)| same(h, it));
        if let Some((_, b)) = found.filter(|(_, b)| b.error < KNOWN) {
            (it.evidence.ln, it.evidence.error, it.evidence.unsure) = (b.ln, b.error, 0.0);
        }
    }
    settle(&study, &mut sifted);
    let by_brute = |h: &Held| {
        let found = sifted.held.iter().find(|it| same(it, h));
        found.map_or(0.0, |it| it.probability)
    };
    let row = |(h, b): (&Held, &Brute)| Row {
        says: says(&h.cause),
        probability: h.probability,
        by_brute: by_brute(h),
        ours: (h.ln_weight(), h.evidence.error),
        brute: (h.cause.ln_prior + b.ln, b.error),
    };
    held.iter().zip(&truth).map(row).collect()
}

/// Standard error below which plain sampling's log evidence is known.
const KNOWN: f64 = 0.1;

/// Leading causes, down to a tenth of the first one's probability, within 0.05 and what plain sampling leaves open;
/// the others within four standard errors; and the same ranking as by plain sampling's evidence, prevalences doubted alike,
/// where it is apart by more than that. What plain sampling itself does not know to a tenth is printed and not judged.
fn misses(case: &Case, rows: &[Row]) -> Vec<String> {
    let mut out = Vec::new();
    let best = rows
        .iter()
        .map(|r| r.brute.0)
        .fold(f64::NEG_INFINITY, f64::max);
    let allowed = |r: &Row| match (r.brute.1 < KNOWN, r.brute.0 > best - 2.3) {
        (false, _) => f64::INFINITY,
        (true, true) => 0.05 + 3.0 * r.brute.1,
        (true, false) => 0.05 + 4.0 * r.ours.1.hypot(r.brute.1),
    };
    for (i, r) in rows.iter().enumerate() {
        println!(
            "{:8.5} ours {:8.3} ± {:.3} brute {:8.3} ± {:.3} off {:+.3} {}",
            r.probability,
            r.ours.0,
            r.ours.1,
            r.brute.0,
            r.brute.1,
            r.ours.0 - r.brute.0,
            r.says
        );
        let off = (r.ours.0 - r.brute.0).abs();
        if off.is_nan() || off > allowed(r) {
            out.push(format!("{}: {off:.3} off: {}", case.name, r.says));
        }
        for later in &rows[i + 1..] {
            if later.by_brute.ln() > r.by_brute.ln() + allowed(r) + allowed(later) {
                let (a, b) = (&r.says, &later.says);
                out.push(format!("{}: {a} is ranked before {b}", case.name));
            }
        }
    }
    out
}

fn hold_to_plain_sampling(plan: Plan, which: impl Fn(&Case) -> bool) {
    let mut all = Vec::new();
    for case in CASES.iter().filter(|c| which(c)) {
        println!("== {}: {}", case.name, case.line);
        all.extend(misses(case, &weighed_twice(case, plan)));
    }
    assert!(all.is_empty(), "{} misses:\n{}", all.len(), all.join("\n"));
}

/// The cases that few worlds of plain sampling tell much about, in 6 000 worlds.
#[test]
fn exact_leading_causes_weigh_as_in_plain_sampling() {
    let plan = Plan {
        worlds: 6_000,
        inner: 8,
        seed: 99,
    };
    let quick = [
        "three sound readings",
        "open neutral",
        "a ghost on the earth",
        "reversed",
        "a detector",
        "earthed by itself, no earth",
    ];
    hold_to_plain_sampling(plan, |case| quick.contains(&case.name));
}

/// Against plain sampling of the same model in 200 000 worlds, 8 draws of the common errors in each; takes minutes:
/// `cargo test --release -p trace --lib brute -- --ignored --nocapture`. `CASE` names one, `WORLDS` another number.
#[test]
#[ignore = "minutes of plain sampling"]
fn exact_every_case_weighs_as_in_plain_sampling() {
    let told = |name: &str| std::env::var(name).ok();
    let worlds = told("WORLDS")
        .and_then(|w| w.parse().ok())
        .unwrap_or(200_000);
    let only = told("CASE").unwrap_or_default();
    let plan = Plan {
        worlds,
        inner: 8,
        seed: 99,
    };
    hold_to_plain_sampling(plan, |case| case.name.contains(&only));
}
