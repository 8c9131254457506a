//! A real browser as the phone in the local network, over TLS; and the pages about phones, copies and damage looked at.
//!
//! Needs Chromium (`./prove` installs it where it may). Pictures go to target/pages and are looked at by people.

mod browser_page;
mod support;

use std::net::Ipv4Addr;

use browser_page::{DESK, Drive, PHONE, Running, Theme, Window};
use support::phone::code;
use support::{Bench, bench_at, pictures};
use web::Reach;

async fn open() -> Bench {
    bench_at(
        Reach::Addresses(vec![Ipv4Addr::LOCALHOST]),
        web::outside(),
        |_| {},
    )
    .await
}

async fn at(browser: &Running, bench: &Bench, path: &str, window: Window, theme: Theme) -> Drive {
    let base = bench
        .opened
        .network
        .as_ref()
        .expect("open to the network")
        .address
        .clone();
    let address = format!("{base}{path}");
    Drive::open_at(browser, base, &address, window, theme).await
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_camera_brings_the_code_and_the_laptop_shuts_the_phone_out() {
    let bench = open().await;
    let site = bench.site().await;
    let browser = browser_page::launch().await;
    let laptop = Drive::open(&browser, &bench, DESK, Theme::Light).await;
    laptop.go("/phones").await;
    laptop
        .press_and_load("form[action='/phones/code'] button")
        .await;
    let digits = laptop.text(".digits").await.replace(' ', "");
    let phone = at(
        &browser,
        &bench,
        &format!("/pair#{digits}"),
        PHONE,
        Theme::Light,
    )
    .await;
    phone
        .until("document.querySelector('#code') && document.querySelector('#code').value !== ''")
        .await;
    assert_eq!(
        phone.value("document.querySelector('#code').value").await,
        digits
    );
    assert_eq!(
        phone.value("location.hash").await,
        "",
        "the code is out of the address"
    );
    phone.type_into("#name", "Phone of the test").await;
    phone.press_and_load("form[action='/pair'] button").await;
    phone
        .until("location.pathname === '/' && document.body.innerText.includes('Larkfield')")
        .await;
    assert!(phone.text("nav").await.contains("Quick trace"));
    assert!(!phone.text("nav").await.contains("Copies"));
    // the laptop's page follows by itself
    laptop
        .until("document.querySelector('#code').innerText.includes('Phone of the test was let in')")
        .await;
    laptop
        .until("document.querySelector('#phones').innerText.includes('Phone of the test')")
        .await;
    phone.go(&format!("{site}/place/reception")).await;
    phone
        .run("document.querySelector('#pair-ln').checked = true")
        .await;
    phone.type_into("#value", "119.7").await;
    phone.press("#entry button[type=submit]").await;
    phone.until("document.querySelector('#told') && document.querySelector('#told').innerText.includes('119.7 V')").await;
    laptop
        .press_and_load("form[action='/phones/shut-out'] button")
        .await;
    // shut out, its page goes to the one that asks for a code, by itself
    phone
        .until("document.querySelector('form[action=\"/pair\"]') !== null")
        .await;
    assert!(!phone.text("body").await.contains("119.7 V"));
    for it in [&laptop, &phone] {
        assert_eq!(it.violations().await, "", "the content policy was broken");
    }
    browser_page::close(browser).await;
}

/// Both widths, both themes: no serious finding of the accessibility checker, nothing beside the window.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_pages_of_phones_and_copies_are_accessible_and_fit_their_window() {
    let bench = open().await;
    assert_eq!(
        bench.post("/copies/back-up", &[("key", "x")]).await.status,
        303
    );
    let copies = bench.get("/copies").await.text();
    let restore = copies
        .split("href=\"")
        .find(|it| it.starts_with("/copies/restore"))
        .expect("a backup");
    let restore = restore.split('"').next().expect("quoted").to_owned();
    let damaged = bench_at(Reach::Machine, web::outside(), |data| {
        let folder = data.with_file_name("backups");
        std::fs::create_dir(&folder).expect("made");
        std::fs::write(folder.join("test-2026-03-14T09-12-00Z.db"), "x").expect("written");
        std::fs::write(data, "not a store").expect("written");
    })
    .await;
    let mut misses = Vec::new();
    let browser = browser_page::launch().await;
    for (width, theme) in [
        (PHONE, Theme::Light),
        (PHONE, Theme::Dark),
        (DESK, Theme::Light),
        (DESK, Theme::Dark),
    ] {
        let laptop = Drive::open(&browser, &bench, width, theme).await;
        let broken = Drive::open(&browser, &damaged, width, theme).await;
        let stranger = at(&browser, &bench, "/", width, theme).await;
        stranger
            .until("document.querySelector('#code') !== null")
            .await;
        code(&bench).await;
        let shown = [
            ("phones", &laptop, "/phones"),
            ("copies-with-backup", &laptop, "/copies"),
            ("restore", &laptop, &restore),
            ("damaged", &broken, "/"),
            ("pair", &stranger, "/pair"),
        ];
        for (name, page, path) in shown {
            page.go(path).await;
            misses.extend(looked_at(page, name).await);
        }
    }
    browser_page::close(browser).await;
    assert!(
        misses.is_empty(),
        "{misses:#?}\npictures: {}",
        pictures().display()
    );
}

async fn looked_at(page: &Drive, name: &str) -> Vec<String> {
    let mut misses: Vec<String> = page.axe().await;
    if page
        .truth("document.documentElement.scrollWidth > innerWidth")
        .await
    {
        misses.push("wider than the window".to_owned());
    }
    let small = page.value("[...document.querySelectorAll('a.key, button, nav a, .list a, input[type=text], select, summary')].filter(it => it.offsetParent && it.getBoundingClientRect().height < 43.5).map(it => it.outerHTML.slice(0, 80)).join('\\n')").await;
    if !small.is_empty() {
        misses.push(format!("smaller than a finger: {small}"));
    }
    if !page.violations().await.is_empty() {
        misses.push(page.violations().await);
    }
    page.picture(name).await;
    misses
        .into_iter()
        .map(|it| format!("{name}, {}: {it}", page.name()))
        .collect()
}
