//! The README's example is what the program prints, but for lines with numbers: the last digit may differ between machines.

use std::path::Path;
use std::process::Command;

#[test]
fn pin_the_readme_shows_what_is_printed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let readme = std::fs::read_to_string(root.join("README.md")).expect("the README");
    let mut lines = readme
        .lines()
        .skip_while(|l| !l.starts_with("    $ wattwright"));
    let command = lines.next().expect("an example");
    let typed = command
        .split('"')
        .nth(1)
        .expect("a line of readings in quotes");
    let shown: Vec<&str> = lines
        .take_while(|l| l.is_empty() || l.starts_with("    "))
        .map(str::trim)
        .filter(|l| !l.is_empty() && !l.contains(|c: char| c.is_ascii_digit()))
        .collect();
    assert!(shown.len() > 8, "{shown:?}");
    let out = Command::new(env!("CARGO_BIN_EXE_wattwright"))
        .args(["trace", typed, "--width", "100"])
        .output()
        .expect("the program runs");
    let printed = String::from_utf8_lossy(&out.stdout);
    let missing: Vec<&&str> = shown.iter().filter(|l| !printed.contains(**l)).collect();
    assert!(missing.is_empty(), "not printed: {missing:#?}\n{printed}");
}
