//! The program as it is run: verbs, exit codes, problems, JSON.

mod run;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use run::{assert_in_order, code, demo, json, text, wattwright, with_input};
use serde_json::Value;

/// A folder of its own for a test.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder can be made");
    folder
}

const BROKEN_NEUTRAL: &str = "hot-neutral 0 V, hot-ground 120 V, neutral-ground 120 V";

#[test]
fn three_readings_on_a_line_give_danger_first() {
    let output = wattwright(&["trace", BROKEN_NEUTRAL]);
    let page = text(&output.stdout);
    assert_eq!(code(&output), 1, "{page}");
    assert_in_order(
        &page,
        &[
            "◆ DANGER",
            "What is wrong, and how sure",
            "Caution",
            "Check next",
            "Evidence",
            "Considered",
        ],
    );
    assert!(page.lines().all(|it| it.chars().count() <= 80), "{page}");
    assert!(!page.contains('\u{1b}'), "no colour where no terminal is");
}

#[test]
fn the_same_question_gives_the_same_answer() {
    let one = wattwright(&["trace", "--json", BROKEN_NEUTRAL]);
    let two = wattwright(&["trace", "--json", BROKEN_NEUTRAL]);
    assert_eq!(text(&one.stdout), text(&two.stdout));
    let answer = json(&one);
    assert_eq!(answer["format"], 1);
    let keys = [
        "verdict",
        "action",
        "headline",
        "causes",
        "not_in_catalogue",
        "next",
        "findings",
        "work",
    ];
    assert!(keys.iter().all(|it| !answer[it].is_null()), "{answer:#}");
}

#[test]
fn problems_of_a_line_come_all_at_once_and_end_with_2() {
    let output = wattwright(&["trace", "hot-neutral 120, buzing, 60 V"]);
    let problems = text(&output.stderr);
    assert_eq!((code(&output), text(&output.stdout).as_str()), (2, ""));
    let wanted = [
        "line:1:13  hot-neutral: 120 has no unit; write \"120 V\"",
        "did you mean \"buzzing\"?",
        "\"60 V\" has no pair",
        "3 problems",
    ];
    assert!(wanted.iter().all(|it| problems.contains(it)), "{problems}");
    let output = wattwright(&["trace", "--json", "hot-neutral 120"]);
    assert_eq!((code(&output), text(&output.stderr).as_str()), (2, ""));
    assert_eq!(json(&output)["error"]["problems"][0]["column"], 13);
}

#[test]
fn a_region_has_its_own_words_and_an_unknown_one_is_refused() {
    let page = text(
        &wattwright(&[
            "trace",
            "--region",
            "iec-230",
            "L-N 230 V, L-PE 230 V, N-PE 0.4 V",
        ])
        .stdout,
    );
    assert!(
        page.contains("line to neutral") && !page.contains("hot"),
        "{page}"
    );
    let output = wattwright(&["trace", "--region", "atlantis", "L-N 230 V"]);
    assert_eq!(code(&output), 2);
    assert!(
        text(&output.stderr).contains("north-america, iec-230"),
        "{}",
        text(&output.stderr)
    );
}

#[test]
fn nothing_typed_runs_the_demo_and_says_what_to_type_next() {
    let output = wattwright(&[]);
    let page = text(&output.stdout);
    assert_eq!(code(&output), 1, "{page}");
    let (_, next) = page
        .split_once("Type next\n")
        .expect("it says what to type");
    let commands: Vec<&str> = next
        .lines()
        .map(str::trim)
        .filter(|it| it.starts_with("wattwright "))
        .collect();
    assert_eq!(commands.len(), 3, "{next}");
    for command in commands {
        let arguments = split(command.strip_prefix("wattwright ").expect("filtered"));
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let output = with_input(&arguments, "done\n");
        assert!(
            code(&output) < 2 && !output.stdout.is_empty(),
            "{command}: {}",
            text(&output.stderr)
        );
    }
}

/// The faults that the demo's readings were calculated with, as its file says: three, in two circuits, are no pair.
#[test]
fn all_three_faults_of_the_demo_are_found_and_the_danger_comes_first() {
    let output = wattwright(&["trace", &demo("site.toml"), &demo("visit.toml"), "--json"]);
    let answer = json(&output);
    assert_eq!(answer["verdict"], "danger", "{answer:#}");
    let led: Vec<Vec<&str>> = answer["parts"]
        .as_array()
        .expect("circuit by circuit")
        .iter()
        .map(|part| part["causes"][0]["faults"].as_array().expect("a cause"))
        .map(|faults| faults.iter().filter_map(|it| it["kind"].as_str()).collect())
        .collect();
    assert_eq!(
        led,
        [
            vec!["open-neutral-run"],
            vec!["line-neutral-reversed-outlet", "open-earth-terminal"]
        ]
    );
}

/// Words of a command; those between double quotes are one.
fn split(command: &str) -> Vec<String> {
    let parts = command.split('"').enumerate();
    let words = parts.flat_map(|(n, part)| match n % 2 {
        0 => part
            .split_whitespace()
            .map(str::to_owned)
            .collect::<Vec<_>>(),
        _ => vec![part.to_owned()],
    });
    words.collect()
}

#[test]
fn files_are_judged_traced_and_proofread() {
    let (site, visit) = (demo("site.toml"), demo("visit.toml"));
    let judged = wattwright(&["judge", &site, &visit]);
    assert_eq!(code(&judged), 1);
    assert!(
        text(&judged.stdout).contains("Larkfield Animal Clinic"),
        "{}",
        text(&judged.stdout)
    );
    let judgement = json(&wattwright(&["judge", "--json", &site, &visit]));
    assert!(
        judgement["findings"]
            .as_array()
            .is_some_and(|it| !it.is_empty()),
        "{judgement:#}"
    );
    let traced = wattwright(&["trace", &site, &visit]);
    assert_eq!(code(&traced), 1, "{}", text(&traced.stderr));
    let proofed = wattwright(&["proofread", &visit, &site]);
    assert_eq!(code(&proofed), 0, "{}", text(&proofed.stdout));
    let alone = wattwright(&["proofread", &visit]);
    assert_eq!(code(&alone), 2);
    assert!(
        text(&alone.stderr).contains("Larkfield Animal Clinic"),
        "{}",
        text(&alone.stderr)
    );
}

#[test]
fn every_problem_of_a_file_is_shown_with_its_place() {
    let folder = folder("proofread");
    let broken = folder.join("site.toml");
    let sound = std::fs::read_to_string(demo("site.toml")).expect("the demo is there");
    let text_of = sound
        .replace("breaker = \"20 A\"", "breaker = \"20\"")
        .replace("leg = \"B\"", "leg = \"Q\"");
    std::fs::write(&broken, text_of).expect("a file can be written");
    let output = wattwright(&["proofread", &broken.display().to_string()]);
    let page = text(&output.stdout);
    assert_eq!(code(&output), 2, "{page}");
    assert!(
        page.contains("site.toml:")
            && page.contains("write \"20 A\"")
            && page.contains("2 problems"),
        "{page}"
    );
    let missing = wattwright(&["judge", "nowhere.toml", "nowhere.toml"]);
    assert_eq!(code(&missing), 2);
    assert!(
        text(&missing.stderr).contains("nowhere.toml cannot be read"),
        "{}",
        text(&missing.stderr)
    );
}

#[test]
fn json_lines_are_answered_in_order_and_a_bad_line_stops_nothing() {
    let site: Value =
        toml::from_str(&std::fs::read_to_string(demo("site.toml")).expect("the demo"))
            .expect("sound");
    let visit: Value =
        toml::from_str(&std::fs::read_to_string(demo("visit.toml")).expect("the demo"))
            .expect("sound");
    let good = serde_json::json!({ "site": plain(site), "visit": plain(visit) });
    let input = format!(
        "{good}\nnot json\n\n{{\"site\": 1, \"visit\": 2}}\n{{\"line\": \"H-N 120 V, H-G 120 V, N-G 0.3 V\"}}\n{{\"line\": \"H-N 120\"}}\n"
    );
    let output = with_input(&["trace", "--lines"], &input);
    let lines: Vec<Value> = text(&output.stdout)
        .lines()
        .map(|it| serde_json::from_str(it).expect("each is JSON"))
        .collect();
    let answered: Vec<bool> = lines.iter().map(|it| it.get("error").is_none()).collect();
    assert_eq!(
        answered,
        [true, false, false, true, false],
        "{}",
        text(&output.stderr)
    );
    assert_eq!(lines[0]["format"], 1);
    assert!(
        lines[4]["error"]["problems"][0]["hint"] == "write \"120 V\"",
        "{}",
        lines[4]
    );
    assert_eq!(code(&output), 2);
}

/// Dates of a TOML file as JSON has them: as texts.
fn plain(value: Value) -> Value {
    match value {
        Value::Object(map) if map.len() == 1 && map.contains_key("$__toml_private_datetime") => {
            map.into_values().next().unwrap_or_default()
        }
        Value::Object(map) => {
            Value::Object(map.into_iter().map(|(key, it)| (key, plain(it))).collect())
        }
        Value::Array(list) => Value::Array(list.into_iter().map(plain).collect()),
        other => other,
    }
}

#[test]
fn a_led_trace_is_kept_resumed_and_corrected() {
    let folder = folder("led");
    let kept = folder.join("visit.toml").display().to_string();
    let told = "desk: hot-neutral 118.2 V, neutral-ground 4.1 V, with load";
    let first = with_input(
        &["trace", "--led", "--keep", &kept, told],
        "cannot\nfoo bar\n120\nkitchen: H-N 119 V\ninstead of r1 121.4 V\ndone\n",
    );
    let page = text(&first.stdout);
    assert!(code(&first) < 2, "{}", text(&first.stderr));
    assert!(page.contains("\"foo bar\" is not understood"), "{page}");
    assert!(page.contains(&format!("--keep {kept}")), "{page}");
    let file = std::fs::read_to_string(&kept).expect("it is kept");
    let document: toml::Table = toml::from_str(&file).expect("it is TOML");
    let count = |key: &str| {
        document
            .get(key)
            .and_then(toml::Value::as_array)
            .map_or(0, Vec::len)
    };
    assert_eq!((count("reading"), count("cannot")), (4, 1), "{file}");
    assert!(file.contains("corrects = \"r1\""), "{file}");

    let by_hand = format!("# mine\n{file}");
    std::fs::write(&kept, &by_hand).expect("a person may edit it");
    let second = with_input(
        &["trace", "--led", "--keep", &kept, "--json"],
        "desk: buzzing\ndone\n",
    );
    let answers = text(&second.stdout).lines().count();
    assert_eq!(
        answers,
        2,
        "{}{}",
        text(&second.stdout),
        text(&second.stderr)
    );
    let after = std::fs::read_to_string(&kept).expect("it is kept");
    assert!(
        after.starts_with(by_hand.trim_end()),
        "what was there stays: {after}"
    );
    assert!(after.contains("sees = \"buzzing\""), "{after}");
}

#[test]
fn being_led_at_a_site_with_a_file_asks_for_names() {
    let folder = folder("led-site");
    let kept = folder.join("visit.toml").display().to_string();
    let output = with_input(
        &["trace", "--led", &demo("site.toml"), "--keep", &kept],
        "front-dsek: H-N 120 V\nfront-desk: H-N 120.3 V\ndone\n",
    );
    let page = text(&output.stdout);
    assert!(
        page.contains("did you mean \"front-desk\"?"),
        "{page}{}",
        text(&output.stderr)
    );
    let proofed = wattwright(&["proofread", &demo("site.toml"), &kept]);
    assert_eq!(code(&proofed), 0, "{}", text(&proofed.stdout));
}

#[test]
fn a_short_result_stands_for_the_dots_of_the_check() {
    let told = "hot-neutral 0 V, hot-ground 120 V, neutral-ground 120 V";
    let answer = json(&wattwright(&["trace", "--json", told]));
    let tell = answer["next"]["tell"]
        .as_str()
        .unwrap_or_default()
        .to_owned();
    let short = if tell.contains("lamps") {
        "HN dark, HG lit, NG lit"
    } else if tell.contains("... V") {
        "120 V"
    } else if tell.contains("breaker") {
        "on"
    } else {
        "signals"
    };
    let output = with_input(&["trace", "--led", "--json", told], format!("{short}\n"));
    let lines: Vec<Value> = text(&output.stdout)
        .lines()
        .map(|it| serde_json::from_str(it).expect("JSON"))
        .collect();
    assert_eq!(lines.len(), 2, "{tell}: {short}: {}", text(&output.stdout));
    assert!(lines[1].get("error").is_none(), "{}", lines[1]);
}

#[test]
fn what_a_cause_would_show_can_be_asked() {
    let page = text(
        &wattwright(&[
            "expect",
            "--cause",
            "open-neutral-run@run:desk",
            "desk: hot-neutral, lamps",
        ])
        .stdout,
    );
    assert!(
        page.contains("hot-ground lit, neutral-ground lit"),
        "{page}"
    );
    let sound = json(&wattwright(&["expect", "--json"]));
    assert_eq!(
        sound["expected"].as_array().map(Vec::len),
        Some(4),
        "{sound:#}"
    );
    for refused in [
        vec!["expect", "--cause", "nothing-like-it"],
        vec![
            "expect",
            "--cause",
            "open-neutral-circuit@circuit:nowhere",
            "desk",
        ],
        vec!["expect", "--cause", "poor-neutral-run=2.5", "desk"],
        vec!["expect", "desk: hot-neutral 120 V"],
    ] {
        let output = wattwright(&refused);
        assert_eq!(code(&output), 2, "{refused:?}");
        assert!(!output.stderr.is_empty(), "{refused:?}");
    }
}

#[test]
fn schemas_completions_and_the_manual_page_are_written() {
    for document in ["site", "visit", "answer"] {
        let schema = json(&wattwright(&["schema", document]));
        assert!(schema["properties"].is_object(), "{document}");
    }
    let faults = json(&wattwright(&["schema", "faults"]));
    let ids: Vec<&str> = faults["faults"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|it| it["id"].as_str())
        .collect();
    assert!(
        ids.contains(&"open-neutral-run") && ids.len() > 40,
        "{ids:?}"
    );
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        assert!(
            text(&wattwright(&["completions", shell]).stdout).contains("proofread"),
            "{shell}"
        );
    }
    let man = text(&wattwright(&["man"]).stdout);
    assert!(
        man.contains(".TH wattwright") && man.contains("Exit codes"),
        "{man}"
    );
}

#[test]
fn help_lists_the_exit_codes_and_how_to_write_a_line() {
    let help = text(&wattwright(&["--help"]).stdout);
    assert!(
        help.contains("Exit codes") && help.contains("licensed electrician"),
        "{help}"
    );
    let line = text(&wattwright(&["help", "reread"]).stdout);
    assert!(
        line.contains("about 60 V; 60..90 V") && line.contains("lamps HN lit, others dark"),
        "{line}"
    );
    let unknown = wattwright(&["mend"]);
    assert_eq!(code(&unknown), 2);
    assert!(
        text(&unknown.stderr).contains("--help"),
        "{}",
        text(&unknown.stderr)
    );
}

#[test]
fn the_examples_of_the_help_are_understood() {
    let help = text(&wattwright(&["help", "reread"]).stdout);
    let examples = [
        "hot-neutral 0 V, hot-ground 120 V, neutral-ground 120 V",
        "desk: H-N 118.2 V, N-G 1.3 V; hall: H-N 119.0 V",
        "desk ground to hall ground 60 V; desk ground to water pipe 40 V",
        "panel: A-N 128 V, B-N 112 V, A-B 240 V",
        "frequency 59.8 Hz; current in neutral 3.1 A; neutral to ground 0.4 ohm, power off",
        "lamps HN lit, HG dark, NG lit",
        "lamps HN lit, others dark",
        "detector signals at neutral, detector quiet at ground",
    ];
    for example in examples {
        assert!(help.contains(example), "not in the help: {example}");
        let output = wattwright(&["reread", example]);
        assert_eq!(code(&output), 0, "{example}: {}", text(&output.stderr));
    }
    // the lists of remarks, scopes and conditions, each of them
    let flat = help.split_whitespace().collect::<Vec<_>>().join(" ");
    for (from, to) in [
        ("Remarks: ", " How far"),
        ("it reaches: ", " Conditions"),
        ("of the place. ", " Meter:"),
    ] {
        let list = flat
            .split_once(from)
            .and_then(|it| it.1.split_once(to))
            .unwrap_or_else(|| panic!("{from}"))
            .0;
        for word in list.split(", ") {
            let output = wattwright(&["reread", &format!("H-N 120 V {word}")]);
            assert_eq!(code(&output), 0, "{word}: {}", text(&output.stderr));
        }
    }
}

#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_is_no_panic() {
    let program = env!("CARGO_BIN_EXE_wattwright");
    for verb in ["demo", "schema", "man"] {
        let line = format!("'{program}' {verb} | true");
        let output = Command::new("sh")
            .args(["-c", &line])
            .output()
            .expect("a shell");
        assert_eq!(text(&output.stderr), "", "{verb}");
    }
    let mut child = Command::new(program)
        .args(["trace", "--lines"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    drop(child.stdout.take());
    let mut to = child.stdin.take().expect("piped");
    let _ = to.write_all(b"{\"line\": \"H-N 120 V\"}\n{\"line\": \"H-N 120 V\"}\n");
    drop(to);
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(text(&output.stderr), "");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told_and_ends_with_2() {
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .expect("Linux has it");
    let output = Command::new(env!("CARGO_BIN_EXE_wattwright"))
        .arg("schema")
        .stdout(full)
        .stderr(Stdio::piped())
        .output()
        .expect("the program runs");
    assert_eq!(code(&output), 2);
    assert!(
        text(&output.stderr).contains("cannot be written"),
        "{}",
        text(&output.stderr)
    );
}

#[test]
fn a_line_that_tells_nothing_is_refused() {
    for line in ["", "  ", "desk:", "with load", "meter mid"] {
        let output = wattwright(&["trace", line]);
        assert_eq!(code(&output), 2, "{line:?}: {}", text(&output.stdout));
        assert!(
            text(&output.stderr).contains("help reread"),
            "{line:?}: {}",
            text(&output.stderr)
        );
    }
}

#[test]
fn colour_is_asked_for_or_absent() {
    let page = |arguments: &[&str]| text(&wattwright(arguments).stdout);
    assert!(page(&["trace", "--colour", "always", BROKEN_NEUTRAL]).contains("\u{1b}["));
    assert!(!page(&["trace", "--colour", "never", BROKEN_NEUTRAL]).contains('\u{1b}'));
    let narrow = page(&["trace", "--width", "40", BROKEN_NEUTRAL]);
    assert!(
        narrow.lines().all(|it| it.chars().count() <= 40),
        "{narrow}"
    );
}
