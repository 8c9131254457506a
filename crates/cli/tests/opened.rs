//! Starting and stopping the workbench as a person does.
#![cfg(unix)]

mod opened_program;

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Command, Stdio};
use std::time::Duration;

use opened_program::{open, signal};

/// Twice what is promised, which the bench measures: this one only tells an end from waiting for somebody.
const SOON: Duration = Duration::from_secs(2);

#[test]
fn ctrl_c_stops_it_while_streams_are_open_and_requests_run() {
    let folder = tempfile::tempdir().expect("a folder");
    for name in ["INT", "TERM"] {
        let mut program = open(&folder.path().join("x.db"), &["--port", "0"]);
        let home = program.get("/");
        let site = &home[home.find("/site/").expect("a site")..];
        let site = site.split('"').next().expect("quoted").to_owned();
        let mut waiting = Vec::new();
        // a feed that never ends, an answer that takes long, a form that never comes whole, a connection that says nothing
        let halves = [
            program.request("GET", "/live", ""),
            program.request("GET", &format!("{site}/place/waiting-room"), ""),
            program.request(
                "GET",
                "/quick?region=iec-230&told=desk%3A+line-neutral+3+V%2C+line-earth+231+V",
                "",
            ),
            program
                .request("POST", &format!("{site}/tell"), "key=")
                .replace("Content-Length: 4", "Content-Length: 400"),
            String::new(),
        ];
        for it in &halves {
            let mut stream = TcpStream::connect(("127.0.0.1", program.port)).expect("it listens");
            stream.write_all(it.as_bytes()).expect("sent");
            waiting.push(stream);
        }
        let mut head = [0; 12];
        waiting[0].read_exact(&mut head).expect("the feed opens");
        assert_eq!(&head, b"HTTP/1.1 200");
        signal(&program.child, name);
        assert!(
            program.ends_within(SOON),
            "it waits for somebody after {name}"
        );
        assert!(program.child.wait().expect("ended").success(), "{name}");
    }
}

#[test]
fn a_port_in_use_is_left_to_whoever_has_it() {
    let folder = tempfile::tempdir().expect("a folder");
    // the usual one, taken by us or by somebody else
    let taken = TcpListener::bind(("127.0.0.1", web::PORT));
    let program = open(&folder.path().join("x.db"), &[]);
    assert_ne!(program.port, web::PORT);
    assert!(program.get("/").contains("Larkfield Animal Clinic"));
    drop(taken);
    // one that was named is not exchanged for another
    let taken = TcpListener::bind(("127.0.0.1", 0)).expect("a free port");
    let port = taken.local_addr().expect("bound").port().to_string();
    let output = Command::new(env!("CARGO_BIN_EXE_wattwright"))
        .args(["open", "--no-browser", "--port", &port, "--data"])
        .arg(folder.path().join("y.db"))
        .output()
        .expect("it runs");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains(&port) && said.contains("--port"), "{said}");
}

/// `script` (of bsdutils) gives the program a terminal.
#[cfg(target_os = "linux")]
#[test]
fn without_a_word_it_opens_the_workbench_on_a_terminal_and_stops_on_ctrl_c() {
    let folder = tempfile::tempdir().expect("a folder");
    // a shell that waited beside the program would die of ctrl-c itself
    let program = concat!("exec '", env!("CARGO_BIN_EXE_wattwright"), "'");
    let mut child = Command::new("script")
        .args(["-qec", program, "/dev/null"])
        .env("SHELL", "/bin/sh")
        .env("XDG_DATA_HOME", folder.path())
        .env("BROWSER", "true")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("a terminal");
    let mut out = child.stdout.take().expect("piped");
    let mut said = String::new();
    let mut buffer = [0; 4096];
    while !said.contains("Stop it with ctrl-c") {
        let n = out.read(&mut buffer).expect("it says something");
        assert!(n > 0, "it ended: {said}");
        said += &String::from_utf8_lossy(&buffer[..n]);
    }
    assert!(
        said.contains("Type next") && said.contains("The workbench is open at http://127.0.0.1:"),
        "{said}"
    );
    let mut keys = child.stdin.take().expect("piped");
    keys.write_all(b"\x03").expect("typed");
    out.read_to_string(&mut said).expect("it says the rest");
    let ended = child.wait().expect("it ends");
    assert!(ended.success(), "{ended}: {said}");
    assert!(
        folder.path().join("wattwright/wattwright.db").exists(),
        "it keeps what it has where its owner's data are"
    );
}

/// Where nobody sits no code is made: it would stay in the file that the output goes to.
#[test]
fn opened_to_the_network_without_a_terminal_it_prints_no_code() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("x.db");
    let output = Command::new("timeout")
        .args([
            "-s",
            "INT",
            "5",
            env!("CARGO_BIN_EXE_wattwright"),
            "open",
            "--no-browser",
            "--lan",
            "--port",
            "0",
            "--data",
        ])
        .arg(&data)
        .output()
        .expect("it runs");
    let said = String::from_utf8_lossy(&output.stdout).into_owned()
        + &String::from_utf8_lossy(&output.stderr);
    let refused = said.contains("no address in a local network");
    assert!(
        refused || said.contains("Fingerprint of its certificate"),
        "{said}"
    );
    assert!(
        !said.contains("Code for one phone") && !said.contains('█'),
        "{said}"
    );
}
