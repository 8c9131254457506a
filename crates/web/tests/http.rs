//! The workbench spoken to as browsers, other pages and other programs would.

mod support;

use support::{bench, embedded, encoded, key};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn only_who_has_the_pass_gets_in() {
    let bench = bench().await;
    let host = bench.host();
    let without = bench
        .send("GET", "/", &[("Host", &host)], b"")
        .await
        .expect("an answer");
    assert_eq!(without.status, 401);
    assert!(!without.text().contains("Larkfield"), "{}", without.text());
    let wrong = format!("wattwright-{}={}", bench.port, "0".repeat(64));
    let wrong = bench
        .send("GET", "/", &[("Host", &host), ("Cookie", &wrong)], b"")
        .await
        .expect("an answer");
    assert_eq!(wrong.status, 401);
    let handed = bench
        .send("GET", "/enter?pass=x", &[("Host", &host)], b"")
        .await
        .expect("an answer");
    assert_eq!((handed.status, handed.header("set-cookie")), (401, None));
    let handed = format!("/enter?pass={}", bench.pass);
    let handed = bench
        .send("GET", &handed, &[("Host", &host)], b"")
        .await
        .expect("an answer");
    let cookie = handed.header("set-cookie").expect("a cookie").to_owned();
    for part in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    assert!(
        bench
            .get("/")
            .await
            .text()
            .contains("Larkfield Animal Clinic")
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn another_host_and_another_origin_can_neither_read_nor_write() {
    let bench = bench().await;
    let (host, cookie) = (bench.host(), bench.cookie());
    for other in ["evil.example", "127.0.0.1:1", "localhost", ""] {
        let answer = bench
            .send("GET", "/", &[("Host", other), ("Cookie", &cookie)], b"")
            .await
            .expect("an answer");
        assert!(
            answer.status >= 400 && !answer.text().contains("Larkfield"),
            "{other}: {}",
            answer.status
        );
    }
    let site = bench.site().await;
    let visits = bench.get(&format!("{site}/visits")).await.text();
    let close = format!("{site}/visit/1/close");
    let body = encoded(&[("key", "00000000-0000-4000-8000-000000000000")]);
    let kind = ("Content-Type", "application/x-www-form-urlencoded");
    let own = format!("http://{host}");
    for origin in [
        None,
        Some("null"),
        Some("http://evil.example"),
        Some("http://127.0.0.1:1"),
        Some("https://127.0.0.1"),
    ] {
        let mut headers = vec![("Host", host.as_str()), ("Cookie", &cookie), kind];
        headers.extend(origin.map(|it| ("Origin", it)));
        let answer = bench
            .send("POST", &close, &headers, body.as_bytes())
            .await
            .expect("an answer");
        assert_eq!(answer.status, 403, "{origin:?}");
    }
    assert_eq!(
        keyless(&visits),
        keyless(&bench.get(&format!("{site}/visits")).await.text()),
        "nothing was changed"
    );
    let embedded = embedded(&host, &cookie);
    assert_eq!(
        bench
            .send("GET", "/", &embedded, b"")
            .await
            .expect("an answer")
            .status,
        403
    );
    let headers = [
        ("Host", host.as_str()),
        ("Cookie", &cookie),
        kind,
        ("Origin", &own),
    ];
    assert_eq!(
        bench
            .send("POST", &close, &headers, body.as_bytes())
            .await
            .expect("an answer")
            .status,
        303
    );
}

/// A page without the keys of its forms, which are new each time.
fn keyless(page: &str) -> String {
    page.split("name=\"key\" value=\"")
        .map(|it| it.split_once('"').map_or(it, |(_, rest)| rest))
        .collect()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_answer_carries_the_policy_and_no_page_has_inline_script() {
    let bench = bench().await;
    let site = bench.site().await;
    for path in [
        "/",
        "/help",
        "/copies",
        "/new",
        "/nowhere",
        "/look/look.css",
        &site,
    ] {
        let answer = bench.get(path).await;
        let policy = answer.header("content-security-policy").unwrap_or_default();
        assert!(
            policy.starts_with("default-src 'self'") && !policy.contains("unsafe"),
            "{path}: {policy}"
        );
        assert_eq!(
            answer.header("x-content-type-options"),
            Some("nosniff"),
            "{path}"
        );
        assert!(!answer.text().contains("<script>"), "{path}");
        assert!(
            !answer.text().contains("http://") || path.starts_with("/look/"),
            "{path} names an address elsewhere"
        );
    }
}

/// Four devices tell their first reading of a visit in the same moment, with meters that it does not know yet.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn devices_that_begin_at_once_share_one_visit() {
    let bench = bench().await;
    let mut rng = fastrand::Rng::with_seed(8);
    let site = key(&mut rng);
    let made = bench
        .post(
            "/new",
            &[
                ("key", site.as_str()),
                ("name", "Quarry office"),
                ("region", "iec-230"),
                ("circuit", "F1"),
                ("breaker", "16 A"),
                ("outlet", "Desk"),
            ],
        )
        .await;
    assert_eq!(made.status, 303);
    let keys = [(); 4].map(|()| key(&mut rng));
    let tell = |nth: usize, meter: &'static str| {
        let (bench, site, key) = (&bench, &site, &keys[nth]);
        async move {
            let reading = [
                ("key", key.as_str()),
                ("place", "desk"),
                ("pair", "ln"),
                ("value", "230.1"),
                ("meter", meter),
            ];
            let told = bench.post(&format!("/site/{site}/tell"), &reading).await;
            assert_eq!(told.status, 303, "{}", told.text());
        }
    };
    tokio::join!(
        tell(0, "mid"),
        tell(1, "cheap"),
        tell(2, "good"),
        tell(3, "mid")
    );
    let visits = bench.get(&format!("/site/{site}/visits")).await.text();
    assert!(visits.contains("4 readings,"), "{visits}");
    assert_eq!(visits.matches(" readings,").count(), 1, "{visits}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_form_that_comes_twice_counts_once_and_a_slip_loses_nothing() {
    let bench = bench().await;
    let mut rng = fastrand::Rng::with_seed(3);
    let site_key = key(&mut rng);
    let fields = [
        ("key", site_key.as_str()),
        ("name", "Old <mill> & co"),
        ("region", "iec-230"),
        ("circuit", "F1"),
        ("breaker", "16 A"),
        ("outlet", "Front desk, left"),
    ];
    for _ in 0..2 {
        let made = bench.post("/new", &fields).await;
        assert_eq!(
            (made.status, made.header("location")),
            (303, Some(format!("/site/{site_key}").as_str()))
        );
    }
    let site = format!("/site/{site_key}");
    assert!(
        bench
            .get(&site)
            .await
            .text()
            .contains("Old &lt;mill&gt; &amp; co")
    );
    let told = key(&mut rng);
    let reading = [
        ("key", told.as_str()),
        ("place", "front-desk-left"),
        ("pair", "ln"),
        ("value", "231,4"),
        ("meter", "mid"),
    ];
    for _ in 0..3 {
        assert_eq!(
            bench.post(&format!("{site}/tell"), &reading).await.status,
            303
        );
    }
    let visits = bench.get(&format!("{site}/visits")).await.text();
    assert!(visits.contains("1 reading,"), "{visits}");
    let slip = key(&mut rng);
    let slip = [
        ("key", slip.as_str()),
        ("place", "front-desk-left"),
        ("pair", "ln"),
        ("value", "12o"),
        ("loads", "loads off"),
    ];
    let answer = bench.post(&format!("{site}/tell"), &slip).await;
    let page = answer.text();
    assert_eq!(answer.status, 422);
    assert!(
        page.contains("value=\"12o\"") && page.contains("value=\"loads off\" checked"),
        "{page}"
    );
    // the same key with other words is no second reading
    let other = [
        ("key", told.as_str()),
        ("place", "front-desk-left"),
        ("pair", "ne"),
        ("value", "3"),
    ];
    assert!(bench.post(&format!("{site}/tell"), &other).await.status < 500);
    assert!(
        bench
            .get(&format!("{site}/visits"))
            .await
            .text()
            .contains("1 reading,")
    );
    // a correction names the old one, which stays
    let corrected = key(&mut rng);
    let correction = [
        ("key", corrected.as_str()),
        ("place", "front-desk-left"),
        ("corrects", "r1"),
        ("value", "229.8"),
    ];
    let answer = bench.post(&format!("{site}/tell"), &correction).await;
    assert_eq!(answer.status, 303, "{}", answer.text());
    let page = bench.get(&format!("{site}/visit/1")).await.text();
    assert!(page.contains("corrected by r2"), "{page}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_file_is_changed_by_touch_and_by_hand_and_undone() {
    let bench = bench().await;
    let site = bench.site().await;
    let key = "00000000-0000-4000-8000-000000000001";
    let add = [
        ("key", key),
        ("revision", "1"),
        ("what", "outlet"),
        ("name", "Cellar, at the pump"),
        ("after", "outlet:lab"),
        ("run", "3 m"),
    ];
    assert_eq!(bench.post(&format!("{site}/add"), &add).await.status, 303);
    assert!(
        bench
            .get(&site)
            .await
            .text()
            .contains("Cellar, at the pump")
    );
    // a second tab began with the state before: it is told, and what it sent comes back
    let text = "format = 1\nname = \"mine\"\nregion = \"north-america\"\n";
    let late = bench
        .post(
            &format!("{site}/file"),
            &[("key", key), ("revision", "1"), ("text", text)],
        )
        .await;
    let page = late.text();
    assert_eq!(late.status, 409);
    assert!(
        page.contains("name = &quot;mine&quot;") && page.contains("Cellar, at the pump"),
        "{page}"
    );
    let broken = "format = 1\nname = \"mine\"\nregion = \"north-america\"\n[[circuit]]\nid = \"A\"\nbreaker = \"20\"\n";
    let refused = bench
        .post(
            &format!("{site}/file"),
            &[("key", key), ("revision", "2"), ("text", broken)],
        )
        .await;
    assert_eq!(refused.status, 422);
    assert!(
        refused.text().contains("Line 6") && refused.text().contains("20 A"),
        "{}",
        refused.text()
    );
    assert_eq!(
        bench
            .post(&format!("{site}/undo"), &[("key", key), ("revision", "2")])
            .await
            .status,
        303
    );
    assert!(
        !bench
            .get(&site)
            .await
            .text()
            .contains("Cellar, at the pump")
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_taken_out_is_taken_in_elsewhere_with_the_same_findings() {
    let (one, other) = (bench().await, bench().await);
    // a site of the same name is there already, a demo of its own; taken in, the first one stands beside it
    let site = one.site().await;
    let out = one.get(&format!("{site}/export")).await;
    assert_eq!(out.header("content-type"), Some("application/zip"));
    let mut body =
        b"--cut\r\nContent-Disposition: form-data; name=\"file\"; filename=\"site.zip\"\r\n\r\n"
            .to_vec();
    body.extend(&out.body);
    body.extend(b"\r\n--cut--\r\n");
    let taken = other
        .post_as(
            "/copies/take-in",
            "multipart/form-data; boundary=cut",
            &body,
        )
        .await;
    assert_eq!(
        (taken.status, taken.header("location")),
        (303, Some("/copies?done=taken-in")),
        "{}",
        taken.text()
    );
    let visit = format!("{site}/visit/1");
    let (here, there) = (one.get(&visit).await.text(), other.get(&visit).await.text());
    assert!(
        here.contains("outside its limits") || here.contains("asks for a cause"),
        "{here}"
    );
    assert_eq!(keyless(&here), keyless(&there));
    // again it is refused, and said why
    let again = other
        .post_as(
            "/copies/take-in",
            "multipart/form-data; boundary=cut",
            &body,
        )
        .await;
    assert_eq!(again.status, 422);
    let backed = other.post("/copies/back-up", &[("key", "x")]).await;
    assert_eq!(backed.status, 303);
    assert!(
        other
            .get("/copies?done=backed-up")
            .await
            .text()
            .contains("Backed up as")
    );
}

/// A quick trace stands in its address; a site is made around it and has its readings.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_quick_trace_becomes_a_site() {
    let bench = bench().await;
    let first = bench
        .get(&format!(
            "/quick?{}",
            encoded(&[
                ("region", "north-america"),
                (
                    "line",
                    "desk: hot-neutral 0.4 V, hot-ground 121.3 V, neutral-ground 120.9 V"
                )
            ])
        ))
        .await;
    let to = first
        .header("location")
        .expect("told things stand in the address")
        .to_owned();
    let page = bench.get(&to).await.text();
    assert!(
        page.contains("Danger") && page.contains("Check next"),
        "{page}"
    );
    let told = "desk: hot-neutral 0.4 V, hot-ground 121.3 V, neutral-ground 120.9 V\nhall: hot-neutral 121 V";
    let made = bench
        .post(
            "/new",
            &[
                ("key", "00000000-0000-4000-8000-000000000009"),
                ("name", "Around the desk"),
                ("region", "north-america"),
                ("told", told),
            ],
        )
        .await;
    assert_eq!(made.status, 303, "{}", made.text());
    let visit = bench
        .get("/site/00000000-0000-4000-8000-000000000009/visit/1")
        .await
        .text();
    assert!(
        visit.contains("desk, hot to ground: 121.3 V")
            && visit.contains("hall, hot to neutral: 121 V"),
        "{visit}"
    );
}
