//! A backup put in the place of the data while the workbench is open, and where the data is damaged.

mod support;

use std::net::Ipv4Addr;

use support::phone::{Phone, code};
use support::{at_reception, bench, bench_at, key};
use web::Reach;

fn first_backup(page: &str) -> String {
    let at = page
        .find("/copies/restore?backup=")
        .expect("a backup is offered");
    page[at + "/copies/restore?backup=".len()..]
        .split('"')
        .next()
        .expect("quoted")
        .to_owned()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_backup_is_restored_while_it_is_open_and_nothing_is_lost() {
    let bench = bench_at(
        Reach::Addresses(vec![Ipv4Addr::LOCALHOST]),
        web::outside(),
        |_| {},
    )
    .await;
    let site = bench.site().await;
    let mut phone = Phone::new(&bench);
    assert_eq!(phone.pair(&code(&bench).await, "Known").await.status, 303);
    assert_eq!(
        bench.post("/copies/back-up", &[("key", "x")]).await.status,
        303
    );
    let mut rng = fastrand::Rng::with_seed(9);
    let told = key(&mut rng);
    let reading = at_reception(&told, "119.7");
    assert_eq!(
        bench.post(&format!("{site}/tell"), &reading).await.status,
        303
    );
    let visits = bench.get(&format!("{site}/visits")).await.text();
    let backup = first_backup(&bench.get("/copies").await.text());
    let ask = bench.get(&format!("/copies/restore?backup={backup}")).await;
    assert!(
        ask.status == 200 && ask.text().contains("will not be shown any more"),
        "{}",
        ask.text()
    );
    for wrong in [
        "",
        "../test.db",
        "test.db",
        "/etc/passwd",
        "test-2026-01-01T00-00-00Z.db",
    ] {
        assert_eq!(
            bench
                .post("/copies/restore", &[("key", "x"), ("backup", wrong)])
                .await
                .status,
            404,
            "{wrong}"
        );
    }
    assert_eq!(bench.get(&format!("{site}/visits")).await.status, 200);
    let done = bench
        .post("/copies/restore", &[("key", "x"), ("backup", &backup)])
        .await;
    assert_eq!(
        (done.status, done.header("location")),
        (303, Some("/copies?done=restored")),
        "{}",
        done.text()
    );
    let now = bench.get(&format!("{site}/visits")).await.text();
    assert!(
        visits.contains("reading") && now != visits,
        "what was told since is not shown"
    );
    // the phone knew the way before; the backup knows it, and it has to be paired anew all the same
    assert_eq!(phone.get("/").await.status, 401);
    // what was here stands beside it, whole
    let folder = bench.data.parent().expect("a folder");
    let old = std::fs::read_dir(folder)
        .expect("read")
        .filter_map(|it| Some(it.ok()?.path()))
        .find(|it| {
            let name = it
                .file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned();
            name.contains("-replaced-") && name.ends_with(".db")
        });
    let kept = bench_at(Reach::Machine, web::outside(), |to| {
        std::fs::copy(old.expect("kept"), to).expect("copied");
    })
    .await;
    let page = kept.get(&format!("{site}/visits")).await.text();
    let counts = |it: &str| {
        it.split("id=\"main\"")
            .nth(1)
            .map(|it| it.matches("reading").count())
    };
    assert_eq!(counts(&page), counts(&visits));
    // and work goes on
    let told = key(&mut rng);
    let reading = [
        ("key", told.as_str()),
        ("place", "reception"),
        ("pair", "ln"),
        ("value", "118.8"),
    ];
    assert_eq!(
        bench.post(&format!("{site}/tell"), &reading).await.status,
        303
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn damaged_data_is_said_to_be_and_a_backup_is_offered() {
    let before = bench().await;
    let site = before.site().await;
    assert_eq!(
        before.post("/copies/back-up", &[("key", "x")]).await.status,
        303
    );
    let from = before.data.with_file_name("backups");
    let broken = b"not a store any more".to_vec();
    let bench = bench_at(
        Reach::Addresses(vec![Ipv4Addr::LOCALHOST]),
        web::outside(),
        |data| {
            std::fs::write(data, &broken).expect("written");
            let to = data.with_file_name("backups");
            std::fs::create_dir(&to).expect("made");
            for file in std::fs::read_dir(&from).expect("read") {
                let path = file.expect("read").path();
                std::fs::copy(&path, to.join(path.file_name().expect("a name"))).expect("copied");
            }
        },
    )
    .await;
    let said = bench.opened.damage.clone().expect("the terminal is told");
    assert!(said.contains("damaged"), "{said}");
    for path in ["/", &site, "/help", "/copies"] {
        let answer = bench.get(path).await;
        assert!(
            answer.status == 503 && answer.text().contains("The data is damaged"),
            "{path}: {}",
            answer.status
        );
    }
    // a phone is told no more than that; and who has no pass nothing at all
    let answer = Phone::new(&bench).get("/").await;
    assert!(
        answer.status == 503 && !answer.text().contains("backup"),
        "{}",
        answer.text()
    );
    let answer = bench
        .send("GET", "/", &[("Host", &bench.host())], b"")
        .await
        .expect("an answer");
    assert!(answer.status == 401 && !answer.text().contains("damaged"));
    assert_eq!(
        std::fs::read(&bench.data).expect("read"),
        broken,
        "it was left as it is"
    );
    let backup = first_backup(&bench.get("/").await.text());
    assert_eq!(
        bench
            .get(&format!("/copies/restore?backup={backup}"))
            .await
            .status,
        200
    );
    let done = bench
        .post("/copies/restore", &[("key", "x"), ("backup", &backup)])
        .await;
    assert_eq!(done.status, 303, "{}", done.text());
    assert!(
        bench
            .get("/")
            .await
            .text()
            .contains("Larkfield Animal Clinic")
    );
    assert_eq!(bench.get(&site).await.status, 200);
    let folder = bench.data.parent().expect("a folder");
    let kept = std::fs::read_dir(folder)
        .expect("read")
        .filter_map(|it| std::fs::read(it.ok()?.path()).ok());
    assert_eq!(
        kept.filter(|it| *it == broken).count(),
        1,
        "the damaged file stays"
    );
}

/// A file over 32 MiB is not read whole when it is opened; what is wrong with it stands on every page soon after.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn damage_in_a_large_file_is_found_behind_the_opening_and_said_on_every_page() {
    let before = bench().await;
    let site = before.site().await;
    let id: store::SiteId = site
        .trim_start_matches("/site/")
        .parse()
        .expect("an identifier");
    let store = store::Store::open(&before.data).await.expect("a store");
    let visit = store
        .visits(id)
        .await
        .expect("read")
        .pop()
        .expect("a visit")
        .id;
    for n in 0..5u128 {
        let bytes = vec![b'a' + n as u8; 7 << 20];
        let it = store::NewAttachment {
            place: "reception",
            note: "",
            bytes: &bytes,
        };
        let key = store::Key(uuid::Uuid::from_u128(n));
        let kept = store
            .attach(visit, key, it, jiff::Timestamp::UNIX_EPOCH)
            .await;
        kept.expect("kept");
    }
    store.close().await;
    before.stop.send(()).expect("it runs");
    before.ended.await.expect("it ended");
    let mut file = std::fs::read(&before.data).expect("read");
    assert!(file.len() > 33 << 20);
    // the last pages of the table of contents: none that a site needs
    let at = file.len() - (3 << 20);
    file[at..at + 200_000].fill(0xff);
    let bench = bench_at(Reach::Machine, web::outside(), |data| {
        std::fs::write(data, &file).expect("written")
    })
    .await;
    let begun = std::time::Instant::now();
    while !bench.get("/help").await.text().contains("is damaged") {
        assert!(begun.elapsed().as_secs() < 120, "nothing is said");
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    for path in ["/", &site, "/copies", "/nowhere"] {
        assert!(
            bench.get(path).await.text().contains("is damaged"),
            "{path}"
        );
    }
}
