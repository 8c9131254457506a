//! The visits of a site over time.

use maud::{Markup, html};

use crate::page::{Page, key_field, trail};
use crate::words;

/// The page.
pub struct Visits {
    /// Identifier of the site.
    pub site: String,
    /// Its name.
    pub site_name: String,
    /// Latest first.
    pub visits: Vec<Listed>,
    /// Key of the form that opens one.
    pub key: String,
}

/// A visit in the list.
#[derive(Clone)]
pub struct Listed {
    /// Its number at the site.
    pub number: i64,
    /// In words: date, open or closed.
    pub when: String,
    /// Readings.
    pub n_readings: usize,
    /// Other things told.
    pub n_observations: usize,
    /// Whether it takes more.
    pub open: bool,
}

impl Page for Visits {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Visits)> {
        let visit = |n: i64| Listed {
            number: n,
            when: format!("2026-03-{:02}", 1 + n % 28),
            n_readings: 20,
            n_observations: 3,
            open: n == 2,
        };
        let page = |visits| Visits {
            site: "1".into(),
            site_name: "Larkfield Animal Clinic".into(),
            visits,
            key: "k".into(),
        };
        vec![
            ("empty", page(Vec::new())),
            ("two", page(vec![visit(2), visit(1)])),
            ("hundred", page((1..100).rev().map(visit).collect())),
        ]
    }

    fn title(&self) -> String {
        format!("Visits · {}", self.site_name)
    }

    fn follows(&self) -> Option<String> {
        Some(self.site.clone())
    }

    fn render(&self) -> Markup {
        let base = format!("/site/{}", self.site);
        let any_open = self.visits.iter().any(|it| it.open);
        html! {
            (trail(&[("Sites".into(), "/".into()), (self.site_name.clone(), base.clone())]))
            h1 { "Visits" }
            div #visits data-live {
                @if self.visits.is_empty() { p { "No visit yet; the first reading opens one." } }
                ul .list {
                    @for it in &self.visits {
                        li { a href=(format!("{base}/visit/{}", it.number)) {
                            span { b { "Visit " (it.number) } br; span .small .faint { (it.when) } }
                            span .small .faint {
                                (words::count(it.n_readings, "reading", "readings")) ", "
                                (words::count(it.n_observations, "other thing told", "other things told"))
                                @if it.open { ", open" }
                            }
                        } }
                    }
                }
            }
            @if !any_open {
                form method="post" action=(format!("{base}/visits")) { (key_field(&self.key)) button .main type="submit" { "Open a visit" } }
            }
            @if self.visits.len() > 1 {
                h2 { "Compare two" }
                form .sheet method="get" action=(format!("{base}/compare")) {
                    (choice("one", "One", &self.visits, self.visits[1].number))
                    (choice("other", "The other", &self.visits, self.visits[0].number))
                    button type="submit" { "Side by side" }
                }
            }
        }
    }
}

fn choice(name: &str, label: &str, visits: &[Listed], chosen: i64) -> Markup {
    html! {
        div .field {
            label for=(name) { (label) }
            select id=(name) name=(name) {
                @for it in visits { option value=(it.number) selected[it.number == chosen] { "Visit " (it.number) ", " (it.when) } }
            }
        }
    }
}
