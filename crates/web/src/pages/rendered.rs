//! Every sample of every page is drawn, and looked at for what must never be there and what must never be missing.

use crate::page::{Page, framed};

/// Name of a page, of a sample, and what it renders.
fn all() -> Vec<(&'static str, &'static str, String)> {
    fn of<P: Page>(name: &'static str, all: &mut Vec<(&'static str, &'static str, String)>) {
        let samples = P::samples();
        assert!(!samples.is_empty(), "{name} has no samples");
        all.extend(
            samples
                .iter()
                .map(|(sample, page)| (name, *sample, framed(page).into_string())),
        );
    }
    let mut all = Vec::new();
    of::<super::home::Home>("home", &mut all);
    of::<super::new_site::NewSite>("new site", &mut all);
    of::<super::site::SitePage>("site", &mut all);
    of::<super::place::PlacePage>("place", &mut all);
    of::<super::thing::ThingPage>("thing", &mut all);
    of::<super::evidence::Evidence>("evidence", &mut all);
    of::<super::quick::Quick>("quick", &mut all);
    of::<super::visits::Visits>("visits", &mut all);
    of::<super::visit::VisitPage>("visit", &mut all);
    of::<super::compare::Compare>("compare", &mut all);
    of::<super::file::FilePage>("file", &mut all);
    of::<super::copies::Copies>("copies", &mut all);
    of::<super::restore::Restore>("restore", &mut all);
    of::<super::damaged::Damaged>("damaged", &mut all);
    of::<super::phones::PhonesPage>("phones", &mut all);
    of::<super::pair::Pair>("pair", &mut all);
    of::<super::help::Help>("help", &mut all);
    of::<super::outage::Outage>("outage", &mut all);
    all
}

/// The text of a page without its tags.
fn text(html: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for it in html.chars() {
        match it {
            '<' => inside = true,
            '>' => inside = false,
            _ if !inside => out.push(it),
            _ => {}
        }
    }
    out
}

#[test]
fn no_page_shows_what_is_no_number_and_each_carries_the_caution() {
    let mut misses = Vec::new();
    for (page, sample, html) in all() {
        let words = text(&html);
        for never in ["NaN", "inf V", "Some(", "None", "{", "}"] {
            // a file as it is kept has braces of its own
            let kept = page == "file" && (never == "{" || never == "}");
            if words.contains(never) && !kept {
                misses.push(format!("{page}, {sample}: {never}"));
            }
        }
        for always in [
            "prove the meter on a known live source before and after",
            "licensed practice",
        ] {
            if !words.contains(always) {
                misses.push(format!("{page}, {sample}: {always} is missing"));
            }
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
}

#[test]
fn nothing_that_was_typed_becomes_part_of_a_page() {
    for (page, sample, html) in all() {
        assert!(
            !html.contains("<b>third</b>") && !html.contains("<b>bold</b>"),
            "{page}, {sample}"
        );
        assert!(!html.contains("<script>"), "{page}, {sample}");
        assert!(
            !html.contains("style="),
            "{page}, {sample}: the content policy refuses it"
        );
        assert!(
            !html.contains("onclick"),
            "{page}, {sample}: the content policy refuses it"
        );
    }
}

/// Two elements of one id make labels and live parts point at the wrong one.
#[test]
fn an_id_stands_once_on_a_page() {
    let mut misses = Vec::new();
    for (page, sample, html) in all() {
        let mut ids: Vec<&str> = html
            .split(" id=\"")
            .skip(1)
            .filter_map(|it| it.split('"').next())
            .collect();
        ids.sort_unstable();
        for pair in ids.windows(2) {
            if pair[0] == pair[1] {
                misses.push(format!("{page}, {sample}: {}", pair[0]));
            }
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
}

/// First whether it is dangerous, then what to check, then what to type: the order of a place page.
#[test]
fn the_first_line_stands_first_and_the_next_check_second() {
    for (page, sample, html) in all().into_iter().filter(|it| it.0 == "place") {
        let at = |id: &str| html.find(&format!("id=\"{id}\""));
        assert!(at("first") < at("entry"), "{page}, {sample}");
        if at("check").is_some() {
            assert!(
                at("first") < at("check") && at("check") < at("entry"),
                "{page}, {sample}"
            );
        }
        assert!(
            at("causes").is_none() || at("entry") < at("causes"),
            "{page}, {sample}"
        );
    }
}
