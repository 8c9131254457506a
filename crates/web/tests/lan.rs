//! Phones in the local network, over TLS with a certificate that is checked: paired, at work, shut out; and who means no good.

mod support;

use std::net::Ipv4Addr;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use support::phone::{Phone, code};
use support::{Bench, at_reception, bench_at, embedded, encoded, key};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use web::{Outside, Reach};

/// So many seconds later than it is, for the test that says so.
static LATER: AtomicI64 = AtomicI64::new(0);

async fn open() -> Bench {
    open_with(web::outside()).await
}

async fn open_with(outside: Outside) -> Bench {
    bench_at(Reach::Addresses(vec![Ipv4Addr::LOCALHOST]), outside, |_| {}).await
}

async fn paired(bench: &Bench, name: &str) -> Phone {
    let mut phone = Phone::new(bench);
    let answer = phone.pair(&code(bench).await, name).await;
    assert_eq!(answer.status, 303, "{}", answer.text());
    phone
}

async fn shut_out(bench: &Bench, name: &str) {
    let page = bench.get("/phones").await.text();
    let row = page
        .split("<li class=\"told\">")
        .skip(1)
        .find(|it| it.contains(&format!("<b>{name}</b>")))
        .expect("listed");
    let id = row
        .split("name=\"phone\" value=\"")
        .nth(1)
        .and_then(|it| it.split('"').next())
        .expect("an identifier");
    let out = bench
        .post("/phones/shut-out", &[("key", "x"), ("phone", id)])
        .await;
    assert_eq!(out.status, 303);
}

fn is_asked_to_pair(answer: &support::Answer) -> bool {
    answer.text().contains("Pair this phone") && !answer.text().contains("Larkfield")
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_phone_is_paired_tells_a_reading_is_shut_out_and_then_is_out() {
    let bench = open().await;
    let site = bench.site().await;
    let mut phone = Phone::new(&bench);
    for path in [
        "/",
        &site,
        "/live",
        "/copies",
        "/help",
        "/worker.js",
        "/enter",
    ] {
        let answer = phone.get(path).await;
        assert_eq!(answer.status, 401, "{path}");
        assert!(is_asked_to_pair(&answer), "{path}: {}", answer.text());
    }
    let answer = phone.pair(&code(&bench).await, "My phone").await;
    assert_eq!((answer.status, answer.header("location")), (303, Some("/")));
    let cookie = answer.header("set-cookie").expect("a cookie").to_owned();
    for part in ["__Host-", "Secure", "HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    let token = phone.cookie.clone().expect("a cookie");
    let token = token.split_once('=').expect("a value").1.to_owned();
    // of the token only a digest is kept: it is in no file
    for file in std::fs::read_dir(bench.data.parent().expect("a folder")).expect("read") {
        let path = file.expect("read").path();
        if path.is_file() {
            let bytes = std::fs::read(&path).expect("read");
            let found = bytes.windows(token.len()).any(|it| it == token.as_bytes());
            assert!(!found, "the token stands in {}", path.display());
        }
    }
    assert!(phone.get("/").await.text().contains("Larkfield"));
    assert!(phone.get(&site).await.text().contains("id=\"drawing\""));
    let mut rng = fastrand::Rng::with_seed(5);
    let told = key(&mut rng);
    let reading = at_reception(&told, "119.7");
    assert_eq!(
        phone.post(&format!("{site}/tell"), &reading).await.status,
        303
    );
    let visits = bench.get(&format!("{site}/visits")).await.text();
    let number = visits
        .split("/visit/")
        .nth(1)
        .and_then(|it| it.split('"').next());
    let visit = format!("{site}/visit/{}", number.expect("a visit"));
    assert!(
        bench.get(&visit).await.text().contains("119.7 V"),
        "the laptop has it"
    );
    let page = bench.get("/phones").await.text();
    assert!(
        page.contains("My phone") && page.contains("last here just now"),
        "{page}"
    );

    // a stream that is open while it is shut out ends, and nothing opens again
    let host = phone.host();
    let cookie = phone.cookie.clone().expect("a cookie");
    let mut stream = phone.connect().await.expect("a connection");
    let request = format!("GET /live HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n");
    stream.write_all(request.as_bytes()).await.expect("sent");
    let mut head = [0; 1024];
    let n = stream.read(&mut head).await.expect("an answer");
    assert!(
        String::from_utf8_lossy(&head[..n]).starts_with("HTTP/1.1 200"),
        "the feed opens"
    );
    shut_out(&bench, "My phone").await;
    let mut rest = Vec::new();
    let ended = async {
        while stream.read_buf(&mut rest).await.is_ok_and(|n| n > 0) && !rest.ends_with(b"0\r\n\r\n")
        {
        }
    };
    tokio::time::timeout(std::time::Duration::from_secs(10), ended)
        .await
        .expect("the feed ends");
    for path in ["/", &site, "/live", &visit] {
        let answer = phone.get(path).await;
        assert!(
            answer.status == 401 && is_asked_to_pair(&answer),
            "{path}: {}",
            answer.status
        );
    }
    let late = [
        ("key", "00000000-0000-4000-8000-00000000000a"),
        ("place", "reception"),
        ("pair", "ln"),
        ("value", "118.1"),
    ];
    assert_eq!(phone.post(&format!("{site}/tell"), &late).await.status, 401);
    assert!(!bench.get(&visit).await.text().contains("118.1 V"));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_code_lets_one_phone_in_and_replayed_it_lets_in_nobody() {
    let bench = open().await;
    let (mut one, mut other) = (Phone::new(&bench), Phone::new(&bench));
    let code_ = code(&bench).await;
    // without a name nothing is used up
    assert_eq!(one.pair(&code_, " ").await.status, 422);
    assert_eq!(one.pair(&code_, "One").await.status, 303);
    let again = other.pair(&code_, "Other").await;
    assert_eq!((again.status, again.header("set-cookie")), (401, None));
    assert!(is_asked_to_pair(&other.get("/").await));
    assert!(
        bench
            .get("/phones")
            .await
            .text()
            .contains("<b>One</b> was let in")
    );
    // many at once with the right code: one of them
    let code_ = code(&bench).await;
    let mut all = tokio::task::JoinSet::new();
    for n in 0..8 {
        let (mut phone, code_) = (Phone::new(&bench), code_.clone());
        all.spawn(async move { phone.pair(&code_, &format!("Racer {n}")).await.status });
    }
    let let_in = all
        .join_all()
        .await
        .into_iter()
        .filter(|it| *it == 303)
        .count();
    assert_eq!(let_in, 1);
    // a code before the last one is void
    let (first, second) = (code(&bench).await, code(&bench).await);
    assert_eq!(Phone::new(&bench).pair(&first, "Late").await.status, 401);
    assert_eq!(
        Phone::new(&bench).pair(&second, "In time").await.status,
        303
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn prop_a_thousand_wrong_codes_let_nobody_in() {
    let bench = Arc::new(open().await);
    let good = paired(&bench, "Known").await;
    let mut rng = fastrand::Rng::with_seed(20_260_314);
    let mut sent = 0;
    let mut statuses = std::collections::BTreeMap::new();
    while sent < 1_000 {
        // whoever sits at the laptop makes new codes meanwhile
        let made = bench.post("/phones/code", &[("key", "x")]).await.status;
        assert_eq!(made, 303);
        let mut all = tokio::task::JoinSet::new();
        for _ in 0..50 {
            sent += 1;
            let mut phone = Phone::new(&bench);
            let wrong = match rng.u8(0..6) {
                0 => "<script>alert(1)</script>".to_owned(),
                1 => "9".repeat(rng.usize(0..3000)),
                2 => String::new(),
                3 => (0..rng.usize(0..40)).map(|_| rng.char(..)).collect(),
                _ => format!("{:07}x", rng.u32(0..10_000_000)),
            };
            all.spawn(async move {
                let answer = phone.pair(&wrong, "Nobody").await;
                (
                    answer.status,
                    answer.header("set-cookie").is_some(),
                    is_asked_to_pair(&answer),
                )
            });
        }
        for (status, cookie, asked) in all.join_all().await {
            assert!(!cookie && asked && (400..500).contains(&status), "{status}");
            *statuses.entry(status).or_insert(0) += 1;
        }
    }
    // after twenty within the hour none is looked at, and the laptop says so
    assert!(
        statuses.get(&429).is_some_and(|it| *it > 700),
        "{statuses:?}"
    );
    let page = bench.get("/phones").await.text();
    assert!(
        page.contains("Twenty wrong codes") && !page.contains("digits\">"),
        "{page}"
    );
    assert!(!page.contains("Nobody"));
    assert!(
        good.get("/").await.text().contains("Larkfield"),
        "who was paired goes on"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn five_wrong_codes_make_the_right_one_void_and_the_laptop_says_so() {
    let bench = open().await;
    let right = code(&bench).await;
    for n in 0..5 {
        let answer = Phone::new(&bench).pair("x", "Nobody").await;
        assert_eq!(answer.status, 401, "{n}");
    }
    assert_eq!(Phone::new(&bench).pair(&right, "Late").await.status, 401);
    assert!(
        bench
            .get("/phones")
            .await
            .text()
            .contains("Five wrong codes came")
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn another_host_and_another_origin_can_neither_read_nor_write_over_tls() {
    let bench = open().await;
    let phone = paired(&bench, "Mine").await;
    let (host, cookie) = (phone.host(), phone.cookie.clone().expect("a cookie"));
    let loopback = bench.host();
    let named = format!("localhost:{}", phone.port);
    for other in [
        "evil.example",
        &format!("evil.example:{}", phone.port),
        &named,
        &loopback,
        "127.0.0.1",
        "",
    ] {
        let headers = [("Host", other), ("Cookie", cookie.as_str())];
        let answer = phone
            .send("GET", "/", &headers, b"")
            .await
            .expect("an answer");
        assert!(
            answer.status >= 400 && !answer.text().contains("Larkfield"),
            "{other}: {}",
            answer.status
        );
        let headers = [
            ("Host", other),
            ("Origin", "https://evil.example"),
            ("Content-Type", "application/x-www-form-urlencoded"),
        ];
        let form = encoded(&[("code", &code(&bench).await), ("name", "Rebound")]);
        let answer = phone
            .send("POST", "/pair", &headers, form.as_bytes())
            .await
            .expect("an answer");
        assert!(
            answer.status >= 400 && answer.header("set-cookie").is_none(),
            "{other}"
        );
    }
    let site = bench.site().await;
    let own = format!("https://{host}");
    let plain = format!("http://{host}");
    let laptop = format!("http://{loopback}");
    let close = format!("{site}/visit/1/close");
    let send = async |path: &str, origin: Option<&str>, cookie: Option<&str>, body: &str| {
        let mut headers = vec![
            ("Host", host.as_str()),
            ("Content-Type", "application/x-www-form-urlencoded"),
        ];
        headers.extend(origin.map(|it| ("Origin", it)));
        headers.extend(cookie.map(|it| ("Cookie", it)));
        phone
            .send("POST", path, &headers, body.as_bytes())
            .await
            .expect("an answer")
    };
    for origin in [
        None,
        Some("null"),
        Some("https://evil.example"),
        Some(&plain),
        Some(&laptop),
    ] {
        assert_eq!(
            send(&close, origin, Some(&cookie), "key=x").await.status,
            403,
            "{origin:?}"
        );
        // a page elsewhere that has got hold of a code pairs nobody with it
        let form = encoded(&[("code", &code(&bench).await), ("name", "Forged")]);
        let forged = send("/pair", origin, None, &form).await;
        assert_eq!(
            (forged.status, forged.header("set-cookie")),
            (403, None),
            "{origin:?}"
        );
    }
    let embedded = embedded(&host, &cookie);
    assert_eq!(
        phone
            .send("GET", "/", &embedded, b"")
            .await
            .expect("an answer")
            .status,
        403
    );
    assert!(!bench.get("/phones").await.text().contains("Forged"));
    assert_eq!(
        send(&close, Some(&own), Some(&cookie), "key=x")
            .await
            .status,
        303
    );
    let answer = phone.get("/").await;
    let policy = answer.header("content-security-policy").unwrap_or_default();
    assert!(
        policy.starts_with("default-src 'self'") && !policy.contains("unsafe"),
        "{policy}"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn wrong_and_expired_tokens_and_the_pass_of_the_laptop_are_no_way_in() {
    let outside = Outside {
        now: || {
            jiff::Timestamp::now() + jiff::SignedDuration::from_secs(LATER.load(Ordering::SeqCst))
        },
        ..web::outside()
    };
    let bench = open_with(outside).await;
    let mut phone = paired(&bench, "Mine").await;
    let right = phone.cookie.clone().expect("a cookie");
    let (name, token) = right.split_once('=').expect("a value");
    let mut turned = token.to_owned();
    turned.replace_range(0..1, if token.starts_with('0') { "1" } else { "0" });
    for wrong in [
        turned.as_str(),
        &token[..63],
        &token.to_uppercase(),
        "",
        &bench.pass,
        &"0".repeat(64),
        "' OR 1=1 --",
    ] {
        if wrong == token {
            continue;
        }
        phone.cookie = Some(format!("{name}={wrong}"));
        assert!(is_asked_to_pair(&phone.get("/").await), "{wrong}");
    }
    phone.cookie = Some(bench.cookie());
    assert!(
        is_asked_to_pair(&phone.get("/").await),
        "the laptop's pass is for the laptop"
    );
    assert!(is_asked_to_pair(
        &phone.get(&format!("/enter?pass={}", bench.pass)).await
    ));
    phone.cookie = Some(right.clone());
    assert_eq!(phone.get("/").await.status, 200);
    let days = |n: i64| n * 86_400;
    LATER.store(days(179), Ordering::SeqCst);
    assert_eq!(phone.get("/").await.status, 200);
    LATER.store(days(180), Ordering::SeqCst);
    assert!(
        is_asked_to_pair(&phone.get("/").await),
        "half a year is over"
    );
    // codes are late too
    LATER.store(0, Ordering::SeqCst);
    let right = code(&bench).await;
    LATER.store(601, Ordering::SeqCst);
    assert_eq!(Phone::new(&bench).pair(&right, "Late").await.status, 401);
    assert!(
        bench
            .get("/phones")
            .await
            .text()
            .contains("not used within ten minutes")
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_the_laptops_is_not_done_on_a_phone() {
    let bench = open().await;
    let site = bench.site().await;
    let phone = paired(&bench, "Mine").await;
    let export = format!("{site}/export");
    for path in ["/copies", "/copies/restore?backup=x", "/phones", &export] {
        let answer = phone.get(path).await;
        assert_eq!(answer.status, 403, "{path}");
        assert!(answer.text().contains("done on the laptop"), "{path}");
    }
    let fields = [("key", "x"), ("phone", "x"), ("backup", "x")];
    for path in [
        "/copies/back-up",
        "/copies/take-in",
        "/copies/restore",
        "/phones/code",
        "/phones/shut-out",
    ] {
        assert_eq!(phone.post(path, &fields).await.status, 403, "{path}");
    }
    for path in [
        "//copies",
        "/./copies",
        "/%63opies",
        "/copies/",
        "/Copies",
        "/help/../phones",
    ] {
        let text = phone.get(path).await.text();
        assert!(
            !text.contains("Take out") && !text.contains("Shut out"),
            "{path}: {text}"
        );
    }
    let page = phone.get("/").await.text();
    assert!(
        !page.contains("href=\"/copies\"") && !page.contains("href=\"/phones\""),
        "not offered either: {page}"
    );
}

/// Neither without TLS, nor on the other way in: each listener answers those it is for.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_network_is_spoken_to_over_tls_only() {
    let bench = open().await;
    let phone = paired(&bench, "Mine").await;
    let mut plain = tokio::net::TcpStream::connect((phone.address, phone.port))
        .await
        .expect("it listens");
    let request = format!(
        "GET / HTTP/1.1\r\nHost: {}\r\nCookie: {}\r\nConnection: close\r\n\r\n",
        phone.host(),
        phone.cookie.clone().expect("a cookie")
    );
    plain.write_all(request.as_bytes()).await.expect("sent");
    let mut all = Vec::new();
    let _ = plain.read_to_end(&mut all).await;
    assert!(
        !String::from_utf8_lossy(&all).contains("HTTP/1.1"),
        "{}",
        String::from_utf8_lossy(&all)
    );
    let cookie = phone.cookie.clone().expect("a cookie");
    let answer = bench
        .send(
            "GET",
            "/",
            &[("Host", &bench.host()), ("Cookie", &cookie)],
            b"",
        )
        .await
        .expect("an answer");
    assert_eq!(
        answer.status, 401,
        "a phone's token is not for the laptop's own address"
    );
}
