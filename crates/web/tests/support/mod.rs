//! A workbench for one test, and a client that can send what no browser would.
#![allow(dead_code)]

pub mod phone;

use std::path::{Path, PathBuf};

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use web::{Browser, Opened, Outside, Reach, Setup};

/// A workbench over a store of its own, with the invented demo in it.
pub struct Bench {
    /// Its port.
    pub port: u16,
    /// The pass of this run.
    pub pass: String,
    /// The address that hands the pass over.
    pub address: String,
    /// Where it keeps everything.
    pub data: PathBuf,
    /// What a person is told.
    pub opened: Opened,
    /// Stops it.
    pub stop: tokio::sync::oneshot::Sender<()>,
    /// Ends when it has stopped.
    pub ended: tokio::task::JoinHandle<()>,
    _folder: tempfile::TempDir,
}

/// Starts one that only this machine reaches.
pub async fn bench() -> Bench {
    bench_at(Reach::Machine, web::outside(), |_| {}).await
}

/// Starts one, over what `prepare` has put at the path of its data.
pub async fn bench_at(reach: Reach, outside: Outside, prepare: impl FnOnce(&Path)) -> Bench {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let data = folder.path().join("test.db");
    prepare(&data);
    let setup = Setup {
        data: Some(data.clone()),
        port: Some(0),
        browser: Browser::Leave,
        reach,
    };
    let running = web::start(&setup, outside)
        .await
        .expect("the workbench opens");
    let opened = running.opened();
    let address = running.address.clone();
    let (front, pass) = address
        .split_once("/enter?pass=")
        .expect("the address hands the pass over");
    let port = front
        .rsplit(':')
        .next()
        .and_then(|it| it.parse().ok())
        .expect("a port");
    let pass = pass.to_owned();
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let end = async move {
        if stopped.await.is_err() {
            std::future::pending::<()>().await; // nobody stops it
        }
    };
    let ended = tokio::spawn(async move {
        running.until(end).await.expect("it stops");
    });
    Bench {
        port,
        pass,
        address,
        data,
        opened,
        stop,
        ended,
        _folder: folder,
    }
}

/// What came back.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        let named = |line: &&str| {
            line.split_once(':')
                .is_some_and(|(it, _)| it.eq_ignore_ascii_case(name))
        };
        self.head
            .lines()
            .find(named)
            .and_then(|it| it.split_once(": "))
            .map(|(_, it)| it)
    }
}

/// A request with headers of one's own, as it goes over the wire.
pub fn request(method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Vec<u8> {
    let mut request = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n").into_bytes();
    for (name, value) in headers {
        request.extend(format!("{name}: {value}\r\n").as_bytes());
    }
    if method == "POST" {
        request.extend(format!("Content-Length: {}\r\n", body.len()).as_bytes());
    }
    request.extend(b"\r\n");
    request.extend(body);
    request
}

/// What a browser adds where a page of another origin embeds ours.
pub fn embedded<'h>(host: &'h str, cookie: &'h str) -> [(&'h str, &'h str); 4] {
    [
        ("Host", host),
        ("Cookie", cookie),
        ("Sec-Fetch-Site", "cross-site"),
        ("Sec-Fetch-Mode", "no-cors"),
    ]
}

/// A reading at the demo's reception, as its form sends it.
pub fn at_reception<'h>(key: &'h str, value: &'h str) -> [(&'h str, &'h str); 5] {
    [
        ("key", key),
        ("place", "reception"),
        ("pair", "ln"),
        ("value", value),
        ("meter", "mid"),
    ]
}

impl Bench {
    pub fn host(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }

    pub fn cookie(&self) -> String {
        format!("wattwright-{}={}", self.port, self.pass)
    }

    /// Sends bytes as they are; `None` where the connection was closed without an answer.
    pub async fn raw(&self, request: &[u8]) -> Option<Answer> {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).await.ok()?;
        // a server that refuses early may close before all is written
        let _ = stream.write_all(request).await;
        let mut all = Vec::new();
        let _ = stream.read_to_end(&mut all).await;
        answer_of(&all)
    }

    /// A request with headers of one's own.
    pub async fn send(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &[u8],
    ) -> Option<Answer> {
        self.raw(&request(method, path, headers, body)).await
    }

    /// As a page of the workbench gets another.
    pub async fn get(&self, path: &str) -> Answer {
        let (host, cookie) = (self.host(), self.cookie());
        let headers = [("Host", host.as_str()), ("Cookie", &cookie)];
        self.send("GET", path, &headers, b"")
            .await
            .expect("an answer")
    }

    /// As a page of the workbench sends a form.
    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.post_as(
            path,
            "application/x-www-form-urlencoded",
            encoded(fields).as_bytes(),
        )
        .await
    }

    pub async fn post_as(&self, path: &str, kind: &str, body: &[u8]) -> Answer {
        let (host, cookie) = (self.host(), self.cookie());
        let origin = format!("http://{host}");
        let headers = [
            ("Host", host.as_str()),
            ("Cookie", &cookie),
            ("Origin", &origin),
            ("Content-Type", kind),
        ];
        self.send("POST", path, &headers, body)
            .await
            .expect("an answer")
    }

    /// The page of the first site, as `/site/...`.
    pub async fn site(&self) -> String {
        let home = self.get("/").await.text();
        let at = home.find("/site/").expect("a site is listed");
        home[at..]
            .split('"')
            .next()
            .expect("a quoted address")
            .to_owned()
    }
}

/// What was read from a connection, as an answer.
pub fn answer_of(all: &[u8]) -> Option<Answer> {
    let end = all.windows(4).position(|it| it == b"\r\n\r\n")?;
    let head = String::from_utf8_lossy(&all[..end]).into_owned();
    let status = head.split(' ').nth(1)?.parse().ok()?;
    let body = all[end + 4..].to_vec();
    let chunked = head
        .to_ascii_lowercase()
        .contains("transfer-encoding: chunked");
    let body = if chunked { unchunked(&body) } else { body };
    Some(Answer { status, head, body })
}

/// A form's fields as they are sent.
pub fn encoded(fields: &[(&str, &str)]) -> String {
    let one = |text: &str| {
        let mut out = String::new();
        for byte in text.bytes() {
            match byte {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' => {
                    out.push(byte as char)
                }
                _ => out.push_str(&format!("%{byte:02X}")),
            }
        }
        out
    };
    let pairs: Vec<String> = fields
        .iter()
        .map(|(a, b)| format!("{}={}", one(a), one(b)))
        .collect();
    pairs.join("&")
}

fn unchunked(mut body: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    while let Some(end) = body.windows(2).position(|it| it == b"\r\n") {
        let size = std::str::from_utf8(&body[..end])
            .ok()
            .and_then(|it| usize::from_str_radix(it.trim(), 16).ok());
        let Some(size) = size.filter(|it| *it > 0 && end + 2 + it <= body.len()) else {
            break;
        };
        out.extend(&body[end + 2..end + 2 + size]);
        body = &body[(end + 4 + size).min(body.len())..];
    }
    out
}

/// A key that no other form has.
pub fn key(rng: &mut fastrand::Rng) -> String {
    let it = rng.u128(..);
    let hex = format!("{it:032x}");
    format!(
        "{}-{}-4{}-8{}-{}",
        &hex[..8],
        &hex[8..12],
        &hex[13..16],
        &hex[17..20],
        &hex[20..]
    )
}

/// The folder that pictures go to.
pub fn pictures() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/pages");
    std::fs::create_dir_all(&folder).expect("a folder for pictures");
    folder
}
