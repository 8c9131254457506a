//! Ten thousand requests that mean no good: none may end in a fault of ours, none may get in, none may leave a mark on a page.

mod support;

use std::sync::Arc;

use support::{Bench, bench, key};

/// Words that try to break out of where they stand.
const NASTY: [&str; 12] = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "';--",
    "../../../../etc/passwd",
    "%2e%2e%2f%2e%2e%2fetc%2fpasswd",
    "\u{0}\u{1}\u{7f}",
    "\r\nSet-Cookie: a=b",
    "{{7*7}}",
    "r1; hall: H-N 3 V",
    "121.2 V; desk: dead",
    "𝓾𝓷𝓲𝓬𝓸𝓭𝓮\u{202e}",
    "[[outlet]]\nid = \"x\"",
];

const PATHS: [&str; 16] = [
    "/",
    "/new",
    "/quick",
    "/help",
    "/copies",
    "/copies/back-up",
    "/copies/take-in",
    "/live",
    "/enter",
    "/look/look.css",
    "{site}",
    "{site}/tell",
    "{site}/visits",
    "{site}/visit/1",
    "{site}/file",
    "{site}/compare",
];

const FIELDS: [&str; 20] = [
    "key",
    "place",
    "line",
    "value",
    "pair",
    "loads",
    "test_load",
    "input",
    "meter",
    "corrects",
    "cannot",
    "later",
    "put_off",
    "name",
    "region",
    "circuit",
    "outlet",
    "told",
    "text",
    "revision",
];

fn word(rng: &mut fastrand::Rng) -> String {
    match rng.u8(0..6) {
        0 | 1 => rng.choice(NASTY).unwrap_or("").to_owned(),
        2 => "x".repeat(1 << rng.u8(0..14)),
        3 => (0..rng.usize(0..40)).map(|_| rng.char(..)).collect(),
        4 => key(rng),
        _ => rng
            .choice([
                "desk",
                "ln",
                "121.2",
                "r1",
                "1",
                "-1",
                "9223372036854775807",
                "with load",
                "iec-230",
            ])
            .unwrap_or("")
            .to_owned(),
    }
}

fn target(rng: &mut fastrand::Rng, site: &str) -> String {
    let path = rng.choice(PATHS).unwrap_or("/").replace("{site}", site);
    let mut path = match rng.u8(0..8) {
        0 => format!(
            "{path}/{}",
            support::encoded(&[("", &word(rng))]).trim_start_matches('=')
        ),
        1 => format!(
            "/site/{}",
            support::encoded(&[("", &word(rng))]).trim_start_matches('=')
        ),
        2 => format!(
            "{path}/../../{}",
            rng.choice(["etc/passwd", "look/../look/look.css", "%00"])
                .unwrap_or("")
        ),
        3 => format!("{site}/visit/{}", rng.i64(..)),
        _ => path,
    };
    if rng.bool() {
        let pair = (rng.choice(FIELDS).unwrap_or("key"), word(rng));
        path.push_str(&format!(
            "?{}",
            support::encoded(&[(pair.0, pair.1.as_str())])
        ));
    }
    path.truncate(9000);
    path
}

struct Sent {
    bytes: Vec<u8>,
    what: String,
    own_host: bool,
    own_pass: bool,
    own_origin: bool,
    post: bool,
}

fn request(rng: &mut fastrand::Rng, bench: &Bench, site: &str) -> Sent {
    let (host, cookie) = (bench.host(), bench.cookie());
    let own_host = rng.u8(0..10) > 0;
    let own_pass = rng.u8(0..6) > 0;
    let own_origin = rng.u8(0..6) > 0;
    let post = rng.bool();
    let method = match (post, rng.u8(0..12)) {
        (true, _) => "POST",
        (false, 0) => "PUT",
        (false, 1) => "DELETE",
        (false, _) => "GET",
    };
    let path = target(rng, site);
    let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
    head += &format!(
        "Host: {}\r\n",
        if own_host {
            host.as_str()
        } else {
            rng.choice(["evil.example", "127.0.0.1", "localhost:1", ""])
                .unwrap_or("")
        }
    );
    if own_pass {
        head += &format!("Cookie: a=b; {cookie}\r\n");
    } else if rng.bool() {
        head += &format!("Cookie: wattwright-{}={}\r\n", bench.port, "f".repeat(64));
    }
    if own_origin {
        head += &format!("Origin: http://{host}\r\n");
    } else if rng.bool() {
        head += "Origin: http://evil.example\r\n";
    }
    if rng.u8(0..4) == 0 {
        head += "X-Outbox: 1\r\n";
    }
    let body: Vec<u8> = match rng.u8(0..8) {
        0 => (0..rng.usize(0..300)).map(|_| rng.u8(..)).collect(),
        1 => vec![b'a'; 3 << 20],
        _ => {
            let n = rng.usize(0..8);
            let fields: Vec<(&str, String)> = (0..n)
                .map(|_| (rng.choice(FIELDS).unwrap_or("key"), word(rng)))
                .collect();
            let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (*a, b.as_str())).collect();
            support::encoded(&fields).into_bytes()
        }
    };
    let kind = rng.choice([
        "application/x-www-form-urlencoded",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "application/json",
        "",
    ]);
    let mut bytes = head.into_bytes();
    if method != "GET" {
        bytes.extend(
            format!(
                "Content-Type: {}\r\nContent-Length: {}\r\n",
                kind.unwrap_or(""),
                body.len()
            )
            .bytes(),
        );
    }
    bytes.extend(b"\r\n");
    if method != "GET" {
        bytes.extend(body);
    }
    Sent {
        bytes,
        what: format!("{method} {}", path.chars().take(200).collect::<String>()),
        own_host,
        own_pass,
        own_origin,
        post,
    }
}

/// Live pages stay open, so they are asked for with a wrong pass only; everything else comes as it is drawn.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn prop_ten_thousand_hostile_requests_break_nothing() {
    let bench = Arc::new(bench().await);
    let made = [
        ("key", "00000000-0000-4000-8000-000000000001"),
        ("name", "<script>alert(1)</script>"),
        ("region", "north-america"),
        ("outlet", "desk"),
    ];
    assert_eq!(bench.post("/new", &made).await.status, 303);
    let site = "/site/00000000-0000-4000-8000-000000000001";
    let mut rng = fastrand::Rng::with_seed(20_260_314);
    let mut faults: Vec<String> = Vec::new();
    let mut n_answered = 0;
    for _ in 0..10_000 {
        let sent = request(&mut rng, &bench, site);
        if sent.what.contains("/live") && sent.own_pass && sent.own_host {
            continue;
        }
        let Some(answer) = bench.raw(&sent.bytes).await else {
            continue;
        };
        n_answered += 1;
        let body = answer.text();
        let is_static = sent.what.contains("/look/") || sent.what.contains("/enter");
        let mut wrong = Vec::new();
        if answer.status >= 500 {
            wrong.push("a fault of ours");
        }
        if body.contains("<script>alert") || body.contains("<img src=x") {
            wrong.push("what was sent is a part of the page");
        }
        if answer.header("set-cookie").is_some() {
            wrong.push("a cookie was given away");
        }
        if (!sent.own_host || !sent.own_pass) && !is_static && answer.status < 400 {
            wrong.push("let in without pass or host");
        }
        if sent.post && !sent.own_origin && answer.status < 400 {
            wrong.push("let in from elsewhere");
        }
        if body.contains("root:")
            || body.contains(bench.data.to_string_lossy().as_ref())
                && !body.contains("Copies of everything")
        {
            wrong.push("a leak");
        }
        faults.extend(
            wrong
                .iter()
                .map(|it| format!("{it}: {} -> {}", sent.what, answer.status)),
        );
    }
    assert!(
        faults.is_empty(),
        "{} of them: {:#?}",
        faults.len(),
        &faults[..faults.len().min(20)]
    );
    assert!(n_answered > 8_000, "only {n_answered} were answered");
    assert!(
        bench
            .get("/")
            .await
            .text()
            .contains("Larkfield Animal Clinic")
    );
}
