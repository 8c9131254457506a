//! `demand` and `supply` as they are run: pages, JSON, exit codes, and what a slip gets.

mod run;

use std::process::Output;

use run::{assert_in_order, code, demo, json, text, wattwright};
use serde_json::Value;

fn out(output: &Output) -> String {
    text(&output.stdout)
}

fn err(output: &Output) -> String {
    text(&output.stderr)
}

const LINE: &str = "processor 65 W, 2 disks 3.5, 4 memory";

#[test]
fn a_line_gives_the_demand_by_rail_and_moment() {
    let output = wattwright(&["demand", LINE]);
    let page = out(&output);
    assert_eq!(code(&output), 0, "{page}");
    for part in [
        "+12 V",
        "+5 VSB",
        "peak, seconds",
        "2 3.5 inch disks",
        "no board is told",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(page.lines().all(|it| it.chars().count() <= 80), "{page}");
    let told = json(&wattwright(&["demand", LINE, "--json"]));
    let moments = told["moments"].as_array().expect("a list");
    let start = moments
        .iter()
        .find(|it| it["moment"] == "start")
        .expect("the start");
    let p12 = &start["rails"].as_array().expect("a list")[0];
    assert_eq!(p12["rail"], "+12 V");
    // 0.7 × 65 / (12 × 0.88) + 2 × 2.1 + 0.85
    let amps = p12["amps"].as_f64().expect("a number");
    assert!((amps - 9.359).abs() < 0.001, "{amps}");
}

#[test]
fn the_supply_of_a_machine_is_judged_in_the_order_of_the_house() {
    let output = wattwright(&["supply", &demo("site.toml"), "front-desk-pc"]);
    let page = out(&output);
    assert_in_order(
        &page,
        &[
            "It may stay in use",
            "First to give way",
            "What was found",
            "Caution",
            "What next",
        ],
    );
    assert!(page.contains("never opened"), "{page}");
    let told = json(&wattwright(&[
        "supply",
        &demo("site.toml"),
        "front-desk-pc",
        "--json",
    ]));
    let one = &told["supplies"][0];
    assert!(one["holds"].as_f64().is_some_and(|it| it > 0.5), "{one}");
    assert!(
        one["gives_way_first"]["of"].is_string() && one["limits"].is_array(),
        "{one}"
    );
}

#[test]
fn candidates_stand_side_by_side_the_best_first() {
    let (site, among) = (demo("site.toml"), demo("supplies.toml"));
    let run = |more: &[&str]| {
        let mut all = vec!["supply", &site, "front-desk-pc", "--among", &among];
        all.extend(more);
        wattwright(&all)
    };
    let page = out(&run(&["--price", "0.20", "--width", "100"]));
    let table = page.split("Side by side").nth(1).expect("the table");
    for id in ["plain-300", "quiet-450", "small-200", "label-lost"] {
        assert!(table.contains(id), "{id}: {page}");
    }
    assert!(table.find("quiet-450") < table.find("small-200"), "{page}");
    let told = json(&run(&["--json"]));
    let all = told["supplies"].as_array().expect("a list");
    assert_eq!(all[0]["supply"], "quiet-450");
    let small = all
        .iter()
        .find(|it| it["supply"] == "small-200")
        .expect("it");
    assert_eq!(
        small["verdict"], "defect",
        "an SFX supply in a case that takes ATX"
    );
    assert_eq!(small["year"]["cost"], Value::Null, "no price was told");
    let shown = run(&["--show", "small-200"]);
    assert_eq!(code(&shown), 1);
    assert!(out(&shown).contains("its size is SFX, and the case takes ATX"));
}

#[test]
fn a_selector_set_wrong_for_the_region_is_a_danger() {
    let among = demo("supplies.toml");
    let output = wattwright(&[
        "supply",
        LINE,
        "--among",
        &among,
        "--show",
        "plain-300",
        "--region",
        "iec-230",
        "--width",
        "200",
    ]);
    assert_eq!(code(&output), 1);
    assert!(out(&output).starts_with("◆ DANGER"), "{}", out(&output));
    assert!(out(&output).contains("it would be destroyed"));
}

#[test]
fn a_slip_gets_its_place_and_what_to_do() {
    let (site, among) = (demo("site.toml"), demo("supplies.toml"));
    let cases: [(&[&str], &str); 9] = [
        (
            &["demand", "procesor 65 W"],
            "line:1:1  \"procesor\" is not understood; did you mean \"processor\"?",
        ),
        (&["demand", "processor 65"], "line:1:11"),
        (
            &["demand", &site],
            "is a file: name a machine of it behind it",
        ),
        (&["demand", &site, "pc"], "it has front-desk-pc"),
        (&["supply", LINE], "--among FILE"),
        (&["supply", LINE, "--among", &site], "did you mean"),
        (
            &["supply", LINE, "--among", &among, "--show", "x"],
            "there are",
        ),
        (&["supply", LINE, "--among", &among, "--price=-1"], "price"),
        (
            &["supply", LINE, "--among", "nowhere.toml"],
            "cannot be read",
        ),
    ];
    let mut misses = Vec::new();
    for (arguments, wanted) in cases {
        let output = wattwright(arguments);
        let said = err(&output);
        if code(&output) != 2 || !said.contains(wanted) {
            misses.push(format!("{arguments:?}: {} {said}", code(&output)));
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}
