//! Something that is plugged in, or comes into the premises: what the file says of it, and the way to what feeds it.

use maud::{Markup, html};

use crate::look::symbol::Symbol;
use crate::page::{Page, trail};

/// The page.
pub struct ThingPage {
    /// Identifier of the site.
    pub site: String,
    /// Name of the site.
    pub site_name: String,
    /// Its name.
    pub name: String,
    /// What it is.
    pub symbol: Symbol,
    /// What it hangs on: how, name, page.
    pub hangs: Option<(&'static str, String, Option<String>)>,
    /// What the file says of it.
    pub facts: Vec<(String, String)>,
}

impl Page for ThingPage {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, ThingPage)> {
        let page = |name: &str, symbol, facts: &[(&str, &str)]| ThingPage {
            site: "1".into(),
            site_name: "Larkfield Animal Clinic".into(),
            name: name.into(),
            symbol,
            hangs: Some((
                "Plugged into",
                "Front desk, left".into(),
                Some("/site/1/place/front-desk".into()),
            )),
            facts: facts
                .iter()
                .map(|(a, b)| ((*a).to_owned(), (*b).to_owned()))
                .collect(),
        };
        let line = ThingPage {
            hangs: Some(("Ends at", "front-desk-pc".into(), None)),
            ..page("<b>bold</b>", Symbol::Line, &[])
        };
        vec![
            (
                "ups",
                page("desk-ups", Symbol::Ups, &[("Rating", "1000 VA, 600 W")]),
            ),
            ("line", line),
        ]
    }

    fn title(&self) -> String {
        format!("{} · {}", self.name, self.site_name)
    }

    fn follows(&self) -> Option<String> {
        Some(self.site.clone())
    }

    fn render(&self) -> Markup {
        let site = format!("/site/{}", self.site);
        html! {
            (trail(&[("Sites".into(), "/".into()), (self.site_name.clone(), site.clone())]))
            h1 {
                svg .sign viewBox="-20 -20 40 40" aria-hidden="true" { (self.symbol.at(0.0, 0.0)) }
                (self.name)
            }
            p .faint { (trace::words::sentence(self.symbol.says())) }
            @if let Some((how, name, href)) = &self.hangs {
                ul .list { li {
                    @match href {
                        Some(href) => a href=(href) { b { (name) } span .small .faint { (how) } },
                        None => { (how) " " (name) }
                    }
                } }
            }
            p { "It is drawn and not judged: what is read at its outlet says whether that is sound." }
            @if !self.facts.is_empty() {
                h2 { "In the file" }
                table { tbody { @for (key, value) in &self.facts { tr { th scope="row" { (key) } td { (value) } } } } }
            }
            p { a .key .quiet href=(format!("{site}/file")) { "Change it" } }
        }
    }
}
