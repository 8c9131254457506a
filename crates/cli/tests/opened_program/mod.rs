//! The program itself with the workbench open, and a client that speaks to it as a page does.
#![allow(dead_code)] // each test uses a part of it

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;

/// A workbench in a process of its own.
pub struct Program {
    pub child: Child,
    pub port: u16,
    pub pass: String,
    /// What it said when it was open.
    pub said: Value,
}

/// Starts it over these data and waits until it says where it is.
pub fn open(data: &Path, more: &[&str]) -> Program {
    let mut child = Command::new(env!("CARGO_BIN_EXE_wattwright"))
        .args(["open", "--json", "--no-browser", "--data"])
        .arg(data)
        .args(more)
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let out = child.stdout.take().expect("piped");
    let line = BufReader::new(out)
        .lines()
        .map_while(Result::ok)
        .find(|it| !it.is_empty());
    let said: Value = serde_json::from_str(&line.expect("it says where it is")).expect("JSON");
    let address = said["address"].as_str().expect("an address");
    let (front, pass) = address.split_once("/enter?pass=").expect("a pass");
    let port = front.rsplit(':').next().and_then(|it| it.parse().ok());
    Program {
        child,
        port: port.expect("a port"),
        pass: pass.to_owned(),
        said,
    }
}

impl Program {
    pub fn request(&self, method: &str, path: &str, body: &str) -> String {
        let (port, pass) = (self.port, &self.pass);
        format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\nConnection: close\r\n\
             Cookie: wattwright-{port}={pass}\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        )
    }

    /// The whole answer; empty where there is none, as when the program is killed meanwhile.
    pub fn ask(&self, method: &str, path: &str, body: &str) -> String {
        asked(self.port, &self.request(method, path, body))
    }

    /// A page that is asked for; what comes is read by whoever asks.
    pub fn stream(&self, path: &str) -> std::io::Result<TcpStream> {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port))?;
        stream.write_all(self.request("GET", path, "").as_bytes())?;
        Ok(stream)
    }

    pub fn get(&self, path: &str) -> String {
        self.ask("GET", path, "")
    }

    /// Waits for it to end; whether it did in time.
    pub fn ends_within(&mut self, limit: Duration) -> bool {
        let begun = Instant::now();
        while begun.elapsed() < limit {
            if self.child.try_wait().expect("it can be asked").is_some() {
                return true;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        false
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill(); // it may have ended
        let _ = self.child.wait();
    }
}

pub fn asked(port: u16, request: &str) -> String {
    let mut all = Vec::new();
    if let Ok(mut stream) = TcpStream::connect(("127.0.0.1", port)) {
        // it may be killed at any moment
        let _ = stream.write_all(request.as_bytes());
        let _ = stream.read_to_end(&mut all);
    }
    String::from_utf8_lossy(&all).into_owned()
}

/// Sends a signal that a person or a system would.
pub fn signal(child: &Child, name: &str) {
    let sent = Command::new("kill")
        .args([&format!("-{name}"), &child.id().to_string()])
        .status();
    assert!(sent.is_ok_and(|it| it.success()), "the signal is sent");
}
