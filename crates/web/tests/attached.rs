//! Pictures and notes of a place: taken in, shown, given out so that nothing in them runs, taken along.

mod support;

use support::{Answer, Bench, bench, key};

/// A picture of one grey dot, made for this test.
const DOT: &[u8] = &[
    0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0x00, 0x00, 0x0d, 0x49, 0x48, 0x44, 0x52,
    0x00, 0x00, 0x00, 0x01, 0x00, 0x00, 0x00, 0x01, 0x08, 0x00, 0x00, 0x00, 0x00, 0x3a, 0x7e, 0x9b,
    0x55, 0x00, 0x00, 0x00, 0x0a, 0x49, 0x44, 0x41, 0x54, 0x78, 0x9c, 0x63, 0x68, 0x00, 0x00, 0x00,
    0x82, 0x00, 0x81, 0x77, 0xcd, 0x72, 0xb6, 0x00, 0x00, 0x00, 0x00, 0x49, 0x45, 0x4e, 0x44, 0xae,
    0x42, 0x60, 0x82,
];

async fn send(bench: &Bench, place: &str, key: &str, note: &str, picture: &[u8]) -> Answer {
    let part = |name: &str, value: &[u8]| {
        let head = format!("--cut\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n");
        [head.as_bytes(), value, b"\r\n"].concat()
    };
    let named = "--cut\r\nContent-Disposition: form-data; name=\"picture\"; filename=\"a.png\"\r\nContent-Type: image/png\r\n\r\n";
    let body = [
        part("key", key.as_bytes()),
        part("note", note.as_bytes()),
        [named.as_bytes(), picture, b"\r\n"].concat(),
        // the other of the two fields, empty as a browser sends it
        [named.as_bytes(), b"\r\n"].concat(),
        b"--cut--\r\n".to_vec(),
    ]
    .concat();
    let kind = "multipart/form-data; boundary=cut";
    bench.post_as(&format!("{place}/attach"), kind, &body).await
}

/// Addresses of pictures on a page.
fn pictures(page: &str) -> Vec<String> {
    let after = page.split("<img src=\"").skip(1);
    after
        .filter_map(|it| it.split('"').next().map(str::to_owned))
        .collect()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_picture_is_kept_once_shown_and_taken_along() {
    let (one, other) = (bench().await, bench().await);
    let mut rng = fastrand::Rng::with_seed(11);
    let site = one.site().await;
    let place = format!("{site}/place/front-desk");
    let first = key(&mut rng);
    for _ in 0..3 {
        let sent = send(&one, &place, &first, "Scorched <b>cover</b>", DOT).await;
        assert_eq!(sent.status, 303, "{}", sent.text());
    }
    let sent = send(&one, &place, &key(&mut rng), "Key at the reception", b"").await;
    assert_eq!(sent.status, 303, "{}", sent.text());
    for page in [&place, &format!("{site}/visit/1")] {
        let shown = one.get(page).await.text();
        assert_eq!(pictures(&shown).len(), 1, "{page}");
        assert!(
            shown.contains("Scorched &lt;b&gt;cover&lt;/b&gt;"),
            "{page}"
        );
        assert!(shown.contains("Key at the reception"), "{page}");
    }
    let elsewhere = one.get(&format!("{site}/place/lab")).await.text();
    assert!(pictures(&elsewhere).is_empty() && !elsewhere.contains("Scorched"));

    let href = pictures(&one.get(&place).await.text()).remove(0);
    let given = one.get(&href).await;
    assert_eq!((given.status, given.body.as_slice()), (200, DOT));
    for (header, value) in [
        ("content-type", "image/png"),
        ("x-content-type-options", "nosniff"),
        ("content-disposition", "inline"),
        ("content-security-policy", "default-src 'none'; sandbox"),
    ] {
        assert_eq!(given.header(header), Some(value));
    }
    // only under its own visit
    let wrong = href.replace("/visit/1/", "/visit/2/");
    assert_eq!(one.get(&wrong).await.status, 404);

    let out = one.get(&format!("{site}/export")).await;
    let head =
        b"--cut\r\nContent-Disposition: form-data; name=\"file\"; filename=\"site.zip\"\r\n\r\n";
    let body = [head, out.body.as_slice(), b"\r\n--cut--\r\n"].concat();
    let kind = "multipart/form-data; boundary=cut";
    let taken = other.post_as("/copies/take-in", kind, &body).await;
    assert_eq!(taken.status, 303, "{}", taken.text());
    assert_eq!(other.get(&href).await.body, DOT);
    let there = other.get(&place).await.text();
    assert!(there.contains("Key at the reception") && pictures(&there) == [href]);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_could_run_is_refused_and_the_note_comes_back() {
    let bench = bench().await;
    let mut rng = fastrand::Rng::with_seed(12);
    let site = bench.site().await;
    let place = format!("{site}/place/front-desk");
    let large = vec![0x20; store::LARGEST + (1 << 20)];
    for (what, bytes) in [
        (
            "SVG",
            &b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"[..],
        ),
        ("HTML", b"<!doctype html><script>alert(1)</script>"),
        ("a program", b"\x7fELF\x02\x01\x01\0\0\0\0\0\0\0\0\0"),
        ("an archive", b"PK\x03\x04\x14\0\0\0"),
        ("letters only", b"hello"),
        ("too much", &large),
        ("nothing", b""),
    ] {
        let note = if what == "nothing" {
            ""
        } else {
            "What I meant"
        };
        let sent = send(&bench, &place, &key(&mut rng), note, bytes).await;
        assert_eq!(sent.status, 422, "{what}: {}", sent.text());
        let page = sent.text();
        assert!(page.contains("role=\"alert\""), "{what}");
        let told = ["JPEG", "16 MB", "Nothing was chosen"]
            .iter()
            .any(|it| page.contains(it));
        assert!(
            told && page.contains(&format!(">{note}</textarea>")),
            "{what}: {page}"
        );
    }
    let long = "x".repeat(600);
    let sent = send(&bench, &place, &key(&mut rng), &long, DOT).await;
    assert_eq!(sent.status, 422, "{}", sent.text());
    let nowhere = send(
        &bench,
        &format!("{site}/place/nowhere"),
        &key(&mut rng),
        "",
        DOT,
    )
    .await;
    assert!([404, 422].contains(&nowhere.status), "{}", nowhere.status);
    assert!(pictures(&bench.get(&format!("{site}/visit/1")).await.text()).is_empty());
}
