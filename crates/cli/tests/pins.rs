//! `pins`, `pin`, `parts` and `bench` as they are run.

mod run;

use std::path::Path;

use run::{assert_in_order, json, text, wattwright, with_input};
use serde_json::Value;

fn report(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../site/tests/data/inventory");
    folder.join(name).display().to_string()
}

#[test]
fn every_connector_is_listed_drawn_and_written_with_its_sources() {
    let all = json(&wattwright(&["pins", "--json"]));
    let connectors = all["connectors"].as_array().expect("connectors");
    assert_eq!(connectors.len(), 10);
    let list = text(&wattwright(&["pins"]).stdout);
    let mut misses = Vec::new();
    for it in connectors {
        let id = it["id"].as_str().expect("an identifier");
        let output = wattwright(&["pins", id]);
        let page = text(&output.stdout);
        let drawn = it["seen"]["rows"]
            .as_array()
            .is_some_and(|it| !it.is_empty());
        if !list.contains(id)
            || output.status.code() != Some(0)
            || page.contains("+-----+") != drawn
        {
            misses.push(format!("{id} is not listed or drawn"));
        }
        if let Some(line) = page.lines().find(|it| it.chars().count() > 80) {
            misses.push(format!("{id}: wider than a page: {line}"));
        }
        for pin in it["pins"].as_array().expect("pins") {
            for key in ["pin", "signal", "colour", "rating", "says"] {
                // four small contacts for signals have no rating
                let side_band =
                    key == "rating" && pin["pin"].as_str().is_some_and(|it| it.starts_with('S'));
                if pin[key].is_null() != side_band {
                    misses.push(format!("{id}, pin {}: no {key}", pin["pin"]));
                }
            }
            let sourced = |it: &Value| it["source"].is_string() && it["basis"].is_string();
            let limits = pin["limits"].as_array().expect("limits");
            if !sourced(&pin["says"]) || !limits.iter().all(|it| sourced(&it["limit"])) {
                misses.push(format!(
                    "{id}, pin {}: a value without its source",
                    pin["pin"]
                ));
            }
            let row = |line: &str| line.split_whitespace().next() == pin["pin"].as_str();
            if !page.lines().any(row) {
                misses.push(format!("{id}, pin {} is not on the page", pin["pin"]));
            }
        }
        let at = |what: &str| page.find(what).unwrap_or(usize::MAX);
        if at("Caution") > at("Pins, read against COM") || !page.contains("never opened") {
            misses.push(format!("{id}: the caution does not come first"));
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
}

#[test]
fn a_reading_at_a_pin_is_judged_in_the_order_of_the_house() {
    let output = wattwright(&["pin", "24-pin pin 9 4.41 V, meter mid, standby"]);
    let page = text(&output.stdout);
    assert_eq!(output.status.code(), Some(1), "{page}");
    assert_in_order(
        &page,
        &[
            "▲ DEFECT",
            "it is for the technician",
            "Found",
            "limit: 4.75 V to 5.25 V",
            "Next",
            "Caution",
        ],
    );
    let good = wattwright(&[
        "pin",
        "24-pin pin 9 4.98 V with an ordinary meter",
        "--json",
    ]);
    assert_eq!(good.status.code(), Some(0));
    assert_eq!(json(&good)["finding"]["verdict"], "good");
    let unusable = wattwright(&["pin", "24-pin pin 99 4.98"]);
    assert_eq!(unusable.status.code(), Some(2));
    assert!(
        text(&unusable.stderr).contains("line:1:15  \"4.98\" is no voltage; write \"4.98 V\""),
        "{}",
        text(&unusable.stderr)
    );
    let unknown = wattwright(&["pins", "main-42"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(
        text(&unknown.stderr).contains("did you mean \"main-24\"?"),
        "{}",
        text(&unknown.stderr)
    );
}

#[test]
fn a_report_becomes_a_table_and_a_broken_one_a_place() {
    let page = text(
        &wattwright(&[
            "parts",
            &report("office.json"),
            "--id",
            "pc",
            "--at",
            "desk",
        ])
        .stdout,
    );
    for wanted in [
        "2  memory modules",
        "What was left out",
        "id = \"pc\"",
        "{ kind = \"memory\", count = 2, generation = \"DDR4\" },",
    ] {
        assert!(page.contains(wanted), "{wanted}: {page}");
    }
    let told = json(&wattwright(&["parts", &report("tower.txt"), "--json"]));
    assert_eq!(told["supply"], "750 W");
    let hostile = with_input(
        &["parts", "-"],
        b"{\"class\": \"system\",\n \"product\": 7}",
    );
    assert_eq!(hostile.status.code(), Some(2));
    assert!(
        text(&hostile.stderr).contains("-:2:13  product is a bare number"),
        "{}",
        text(&hostile.stderr)
    );
    // what a report says reaches no terminal as a command
    let escape = b"[{\"class\":\"processor\",\"product\":\"\\u001b]0;x\\u0007y\"}]";
    let shown = text(&with_input(&["parts", "-"], escape).stdout);
    assert!(
        shown.contains("]0;xy") && !shown.contains(['\u{1b}', '\u{7}']),
        "{shown}"
    );
}

#[test]
fn a_supply_is_fitted_step_by_step() {
    let output = wattwright(&["bench", "board, processor 65 W, 2 disk-3.5"]);
    let page = text(&output.stdout);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert_in_order(
        &page,
        &[
            "Caution",
            "pull its cord out",
            "until its latch clicks",
            "Read standby",
            "own power button",
            "Read PWR_OK",
            "sata-power",
        ],
    );
    assert!(page.lines().all(|it| it.chars().count() <= 80), "{page}");
    let told = json(&wattwright(&["bench", "board, processor 65 W", "--json"]));
    let steps = told["steps"].as_array().expect("steps");
    let unsourced: Vec<&Value> = steps
        .iter()
        .filter(|it| !it["source"].is_string() || it["caution"] == "")
        .collect();
    assert!(steps.len() > 12 && unsourced.is_empty(), "{unsourced:#?}");
    let nothing = wattwright(&["bench", "2 fan"]);
    assert_eq!(nothing.status.code(), Some(2));
    assert!(
        text(&nothing.stderr).contains("needs no connector"),
        "{}",
        text(&nothing.stderr)
    );
}
