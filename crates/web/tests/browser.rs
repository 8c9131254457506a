//! A real browser on the workbench: laptop and phone, both themes, a trace to its end, the network lost and found again.
//!
//! Needs Chromium (`./prove` installs it where it may). Pictures go to target/pages and are looked at by people.

mod browser_page;
mod support;

use browser_page::{DESK, Drive, PHONE, Theme};
use support::{bench, pictures};

/// A premises in which the neutral is broken before the waiting room and a lamp is on behind it: what each check shows.
fn truth(check: &str) -> &'static str {
    let beyond = check.contains("waiting-room");
    let kind = check.split(':').next().unwrap_or_default();
    match kind {
        "volts" if check.contains("line-neutral") => {
            if beyond {
                "0.01"
            } else {
                "121.1"
            }
        }
        "volts" if check.contains("line-earth") => "121.3",
        "volts" => {
            if beyond {
                "121.2"
            } else {
                "0.15"
            }
        }
        "between" => "0.1",
        "lamps" => {
            if beyond {
                "hot-neutral dark, hot-ground lit, neutral-ground lit"
            } else {
                "hot-neutral lit, hot-ground lit, neutral-ground dark"
            }
        }
        "detector" if check.ends_with(":line") => "detector signals",
        "detector" if check.ends_with(":neutral") && beyond => "detector signals",
        "detector" => "detector quiet",
        "breaker" => "breaker on",
        "switch" => "switch is on",
        _ => "",
    }
}

async fn tell(page: &Drive, pair: &str, value: &str) {
    page.run(&format!(
        "document.querySelector('#pair-{pair}').checked = true"
    ))
    .await;
    page.type_into("#value", value).await;
    let before = page.text("#told").await;
    page.press("#entry button[type=submit]").await;
    let quoted = serde_json::to_string(&before).expect("a text is JSON");
    page.until(&format!(
        "document.querySelector('#told') && document.querySelector('#told').innerText !== {quoted}"
    ))
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_technician_does_the_job_on_a_phone_and_the_laptop_follows() {
    let (one, other) = (bench().await, bench().await);
    let browser = browser_page::launch().await;
    let laptop = Drive::open(&browser, &one, DESK, Theme::Light).await;
    let phone = Drive::open(&browser, &one, PHONE, Theme::Dark).await;

    // a site, made on the phone
    phone.go("/new").await;
    phone.type_into("#name", "Test premises").await;
    phone.type_into("#circuit", "A3").await;
    phone.type_into("#breaker", "20 A").await;
    phone.type_into("#outlet", "Reception").await;
    phone
        .press_and_load("form[action='/new'] button.main")
        .await;
    let site = phone.path().await;
    for (name, after) in [
        ("Front desk", "outlet:reception"),
        ("Waiting room", "outlet:front-desk"),
    ] {
        phone.go(&format!("{site}/file")).await;
        phone
            .run("document.querySelector('#outlet-name').closest('details').open = true")
            .await;
        phone.type_into("#outlet-name", name).await;
        phone
            .run(&format!(
                "document.querySelector('#outlet-after').value = '{after}'"
            ))
            .await;
        phone
            .press_and_load("form[action$='/add']:has(#outlet-name) button")
            .await;
    }
    laptop.go(&site).await;
    laptop.run("window.notReloaded = true").await;
    laptop
        .until("document.querySelectorAll('#drawing a.place').length === 3")
        .await;

    // the readings of three outlets, the network gone in the middle
    phone.go(&format!("{site}/place/reception")).await;
    phone.choose("#meter", "mid").await;
    tell(&phone, "ln", "121.2").await;
    phone.go(&format!("{site}/place/front-desk")).await;
    tell(&phone, "ln", "121.1").await;
    phone.go(&format!("{site}/place/waiting-room")).await;
    tell(&phone, "ln", "0.01").await;
    phone.network(false).await;
    for (pair, value) in [("le", "121.3"), ("ne", "121.2")] {
        phone
            .run(&format!(
                "document.querySelector('#pair-{pair}').checked = true"
            ))
            .await;
        phone.type_into("#value", value).await;
        phone.press("#entry button[type=submit]").await;
        phone
            .until("document.querySelector('#value').value === ''")
            .await;
    }
    phone.until("!document.querySelector('#kept').hidden").await;
    let kept = phone.text("#kept").await;
    assert!(
        kept.contains("121.3 V") && kept.contains("121.2 V"),
        "{kept}"
    );
    phone.picture("place-away").await;
    let waiting = format!("{site}/place/waiting-room");
    let there = one.get(&waiting).await.text();
    assert!(
        !there.contains("hot to ground: 121.3 V"),
        "it cannot be there yet"
    );
    phone.network(true).await;
    phone
        .until("JSON.parse(localStorage.getItem('wattwright-waiting') || '[]').length === 0")
        .await;
    phone
        .until("document.querySelector('#told').innerText.includes('121.2 V')")
        .await;
    let visit = one.get(&format!("{site}/visit/1")).await.text();
    for once in [
        "hot to neutral: 0.01 V",
        "hot to ground: 121.3 V",
        "neutral to ground: 121.2 V",
    ] {
        let told = visit.split("id=\"findings\"").next().unwrap_or_default();
        assert_eq!(told.matches(once).count(), 1, "{once}");
    }

    // the laptop has followed, by itself
    laptop
        .until("document.querySelector('#drawing').innerText.includes('Defect')")
        .await;
    laptop
        .until("document.querySelector('#first').innerText.includes('out of use')")
        .await;
    assert!(
        laptop.truth("window.notReloaded === true").await,
        "the page was not loaded again"
    );
    laptop.picture("site-told").await;

    // led to the end
    let mut n_checks = 0;
    loop {
        phone.go(&waiting).await;
        phone
            .until("document.querySelector('#check') !== null")
            .await;
        if phone.text("#check").await.contains("Nothing: no check") {
            break;
        }
        n_checks += 1;
        assert!(
            n_checks < 25,
            "the trace does not end: {}",
            phone.text("#check").await
        );
        phone.picture(&format!("check-{n_checks}")).await;
        let check = phone
            .value("document.querySelector('#check button[name=cannot]').value")
            .await;
        let shown = truth(&check);
        assert!(!shown.is_empty(), "no truth for {check}");
        if phone
            .truth("document.querySelector('#check-value') !== null")
            .await
        {
            phone.type_into("#check-value", shown).await;
            phone
                .press_and_load("#check form:has(#check-value) button")
                .await;
        } else {
            phone
                .press_and_load(&format!("#check button[name=line][value*='{shown}']"))
                .await;
        }
    }
    phone.picture("trace-end").await;
    let end = phone.text("main").await;
    assert!(
        end.contains("neutral is broken") || end.contains("neutral is off"),
        "{end}"
    );
    assert!(end.contains("electrician"), "{end}");

    // closed, taken out, taken in elsewhere: the same findings
    laptop.go(&format!("{site}/visit/1")).await;
    laptop.press_and_load("form[action$='/close'] button").await;
    assert!(laptop.text("main").await.contains("closed"));
    let out = one.get(&format!("{site}/export")).await;
    let mut body =
        b"--cut\r\nContent-Disposition: form-data; name=\"file\"; filename=\"site.zip\"\r\n\r\n"
            .to_vec();
    body.extend(&out.body);
    body.extend(b"\r\n--cut--\r\n");
    assert_eq!(
        other
            .post_as(
                "/copies/take-in",
                "multipart/form-data; boundary=cut",
                &body
            )
            .await
            .status,
        303
    );
    let second = Drive::open(&browser, &other, DESK, Theme::Dark).await;
    for page in ["visit/1", "evidence"] {
        laptop.go(&format!("{site}/{page}")).await;
        second.go(&format!("{site}/{page}")).await;
        for it in [&laptop, &second] {
            it.until("document.querySelector('[data-soon]') === null")
                .await;
        }
        assert_eq!(
            laptop.text("main").await,
            second.text("main").await,
            "{page}"
        );
    }
    second.picture("evidence-taken-in").await;
    for it in [&laptop, &phone, &second] {
        assert_eq!(it.violations().await, "", "the content policy was broken");
    }
    browser_page::close(browser).await;
}

/// A form with a file, as a browser sends it.
async fn send_file(bench: &support::Bench, to: &str, field: &str, file: &[u8], key: &str) {
    let head = format!(
        "--cut\r\nContent-Disposition: form-data; name=\"key\"\r\n\r\n{key}\r\n\
         --cut\r\nContent-Disposition: form-data; name=\"note\"\r\n\r\nAs it was found, cover on\r\n\
         --cut\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"file\"\r\n\r\n"
    );
    let body = [head.as_bytes(), file, b"\r\n--cut--\r\n"].concat();
    let sent = bench
        .post_as(to, "multipart/form-data; boundary=cut", &body)
        .await;
    assert_eq!(sent.status, 303, "{}", sent.text());
}

async fn attach_picture(bench: &support::Bench, place: &str) {
    let picture = include_bytes!("../../../pictures/place.png");
    let key = "00000000-0000-4000-8000-000000000077";
    send_file(bench, &format!("{place}/attach"), "picture", picture, key).await;
}

/// A site of 25 circuits with 20 outlets each, taken in as a file; its page.
async fn huge_site(bench: &support::Bench) -> String {
    let mut text = "format = 1\nname = \"Five hundred\"\nregion = \"iec-230\"\n".to_owned();
    for c in 0..25 {
        text += &format!("[[circuit]]\nid = \"F{c}\"\nbreaker = \"16 A\"\n");
        for o in 0..20 {
            let feed = match o {
                0 => format!("circuit = \"F{c}\""),
                _ => format!("after = \"o{c}-{}\"", o - 1),
            };
            text += &format!("[[outlet]]\nid = \"o{c}-{o}\"\n{feed}\nrun = \"4 m\"\n");
        }
    }
    send_file(bench, "/copies/take-in", "file", text.as_bytes(), "").await;
    let home = bench.get("/").await.text();
    let (before, _) = home.split_once("Five hundred").expect("it is listed");
    let at = before.rfind("/site/").expect("it has a page");
    let page = before[at..].split('"').next();
    page.expect("a quoted address").to_owned()
}

/// Every page, both widths, both themes: no serious finding of the accessibility checker, nothing beside the window.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_page_is_accessible_and_fits_its_window() {
    let bench = bench().await;
    let site = bench.site().await;
    let told = support::encoded(&[
        ("region", "north-america"),
        (
            "told",
            "desk: hot-neutral 0.4 V, hot-ground 121.3 V, neutral-ground 120.9 V",
        ),
    ]);
    let mut pages: Vec<(String, String)> = Vec::new();
    let mut add = |name: &str, path: String| pages.push((name.to_owned(), path));
    add("sites", "/".into());
    add("new", "/new".into());
    add("quick", "/quick".into());
    add("quick-led", format!("/quick?{told}"));
    add("quick-japan", "/quick?region=japan".into());
    add("quick-iec", "/quick?region=iec-230".into());
    add("help", "/help".into());
    add("copies", "/copies".into());
    add("nowhere", "/nowhere".into());
    attach_picture(&bench, &format!("{site}/place/waiting-room")).await;
    let huge = huge_site(&bench).await;
    add("site", site.clone());
    add("site-500", huge.clone());
    add("place-of-500", format!("{huge}/place/o3-7"));
    add("thing-ups", format!("{site}/thing/ups/desk-ups"));
    add("thing-line", format!("{site}/thing/line/telephone"));
    add("place", format!("{site}/place/waiting-room"));
    add(
        "place-correct",
        format!("{site}/place/waiting-room?corrects=r1"),
    );
    add("visits", format!("{site}/visits"));
    add("visit", format!("{site}/visit/1"));
    add("compare", format!("{site}/compare?one=1&other=1"));
    add("evidence", format!("{site}/evidence"));
    add("build", format!("{site}/file"));
    let browser = browser_page::launch().await;
    let mut misses = Vec::new();
    for (width, theme) in [
        (PHONE, Theme::Light),
        (PHONE, Theme::Dark),
        (DESK, Theme::Light),
        (DESK, Theme::Dark),
    ] {
        let page = Drive::open(&browser, &bench, width, theme).await;
        for (name, path) in &pages {
            page.go(path).await;
            page.until("document.querySelector('[data-soon]') === null")
                .await;
            page.run("document.querySelectorAll('details').forEach(it => it.open = true)")
                .await;
            for found in page.axe().await {
                misses.push(format!("{name}, {}: {found}", page.name()));
            }
            if page
                .truth("document.documentElement.scrollWidth > innerWidth")
                .await
            {
                misses.push(format!("{name}, {}: wider than the window", page.name()));
            }
            let small = page.value("[...document.querySelectorAll('a.key, button, nav a, .list a, input[type=text], select, summary, a.place')].filter(it => it.offsetParent && it.getBoundingClientRect().height < 43.5).map(it => it.outerHTML.slice(0, 80)).join('\\n')").await;
            if !small.is_empty() {
                misses.push(format!(
                    "{name}, {}: smaller than a finger: {small}",
                    page.name()
                ));
            }
            page.run("document.querySelectorAll('details').forEach(it => it.open = false)")
                .await;
            if (width, theme, name.as_str()) == (PHONE, Theme::Light, "place") {
                page.glance("readme-place").await;
            }
            page.picture(name).await;
        }
        if !page.violations().await.is_empty() {
            misses.push(format!("{}: {}", page.name(), page.violations().await));
        }
    }
    browser_page::close(browser).await;
    assert!(
        misses.is_empty(),
        "{misses:#?}\npictures: {}",
        pictures().display()
    );
}
