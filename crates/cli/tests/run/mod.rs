//! The program run to its end, with what it wrote.

#![allow(dead_code, reason = "no test file needs all of it")]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

pub fn wattwright(arguments: &[&str]) -> Output {
    with_input(arguments, "")
}

pub fn with_input(arguments: &[&str], input: impl AsRef<[u8]>) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_wattwright"))
        .args(arguments)
        .env_remove("WATTWRIGHT_REGION")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut to = child.stdin.take().expect("its input is piped");
    let _ = to.write_all(input.as_ref()); // a program that has ended already does not read
    drop(to);
    child.wait_with_output().expect("the program ends")
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

pub fn code(output: &Output) -> i32 {
    output.status.code().expect("no signal ends it")
}

pub fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|it| panic!("{it}: {}", text(&output.stdout)))
}

/// A file of the demo.
pub fn demo(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../site/data/demo");
    folder.join(name).display().to_string()
}

/// Parts of a page, each there and in this order.
pub fn assert_in_order(page: &str, parts: &[&str]) {
    let at: Vec<Option<usize>> = parts.iter().map(|it| page.find(it)).collect();
    assert!(
        at.iter().all(Option::is_some) && at.is_sorted(),
        "{at:?}\n{page}"
    );
}
