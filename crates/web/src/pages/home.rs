//! All sites.

use maud::{Markup, html};

use crate::page::Page;
use crate::words;

/// The sites there are.
pub struct Home {
    /// By name.
    pub sites: Vec<Listed>,
}

/// A site in the list.
#[derive(Clone)]
pub struct Listed {
    /// Its page.
    pub href: String,
    /// Its name.
    pub name: String,
    /// Its region in words.
    pub region: String,
    /// Outlets.
    pub n_outlets: usize,
    /// Visits.
    pub n_visits: usize,
    /// Readings of all visits.
    pub n_readings: usize,
}

impl Page for Home {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Home)> {
        let site = |n: usize, name: &str| Listed {
            href: format!("/site/{n}"),
            name: name.to_owned(),
            region: "North America".to_owned(),
            n_outlets: 8 * n,
            n_visits: n,
            n_readings: 20 * n,
        };
        let long = "A name as long as somebody who never met a small screen would write it, <b>bold</b> & all ".repeat(3);
        vec![
            ("empty", Home { sites: Vec::new() }),
            (
                "one",
                Home {
                    sites: vec![site(1, "Larkfield Animal Clinic")],
                },
            ),
            (
                "long names",
                Home {
                    sites: vec![site(0, &long), site(1, "x")],
                },
            ),
            (
                "four hundred",
                Home {
                    sites: (0..400).map(|n| site(n, &format!("Site {n}"))).collect(),
                },
            ),
        ]
    }

    fn title(&self) -> String {
        "Sites".to_owned()
    }

    fn render(&self) -> Markup {
        html! {
            h1 { "Sites" }
            @if self.sites.is_empty() { p { "No site is kept here yet." } }
            ul .list {
                @for it in &self.sites {
                    li { a href=(it.href) {
                        span { b { (it.name) } br; span .small .faint { (it.region) } }
                        span .small .faint {
                            (words::count(it.n_outlets, "outlet", "outlets")) ", "
                            (words::count(it.n_visits, "visit", "visits")) ", "
                            (words::count(it.n_readings, "reading", "readings"))
                        }
                    } }
                }
            }
            div .keys .two {
                a .key .main href="/new" { "New site" }
                a .key href="/quick" { "Quick trace of one outlet" }
                a .key .quiet href="/copies#take-in" { "Take in a file" }
            }
        }
    }
}
