//! Two visits side by side: the findings about each place, and what was read there.

use maud::{Markup, html};
use site::finding::{Finding, Verdict};

use crate::look::shape;
use crate::page::{Page, Width, trail};

/// The page.
pub struct Compare {
    /// Identifier of the site.
    pub site: String,
    /// Its name.
    pub site_name: String,
    /// What the two columns are called.
    pub heads: [String; 2],
    /// Place by place.
    pub rows: Vec<Pair>,
}

/// A place in both.
#[derive(Clone)]
pub struct Pair {
    /// Name of the place.
    pub name: String,
    /// What was found there: worst verdict and statements.
    pub found: [(Option<Verdict>, Vec<String>); 2],
}

impl Compare {
    /// Rows from the findings of two visits; `name` gives the words for an element.
    pub fn rows(one: &[Finding], other: &[Finding], name: impl Fn(&str) -> String) -> Vec<Pair> {
        let mut elements: Vec<&str> = Vec::new();
        for it in one.iter().chain(other) {
            if !elements.contains(&it.element.as_str()) {
                elements.push(&it.element);
            }
        }
        let about = |list: &[Finding], element: &str| {
            let here = list.iter().filter(|it| it.element == element);
            let worst = here.clone().map(|it| it.verdict).max();
            (worst, here.map(|it| it.statement.clone()).collect())
        };
        let pair = |element: &&str| Pair {
            name: name(element),
            found: [about(one, element), about(other, element)],
        };
        elements.iter().map(pair).collect()
    }
}

impl Page for Compare {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Compare)> {
        let page = |rows| Compare {
            site: "1".into(),
            site_name: "Larkfield Animal Clinic".into(),
            heads: ["Visit 1, 2026-03-14".into(), "Visit 2, 2026-06-02".into()],
            rows,
        };
        let pair = |n: usize| Pair {
            name: format!("Place {n}"),
            found: [
                (
                    Some(Verdict::Defect),
                    vec![
                        "neutral to ground at Front desk, left is 5.2 V: this asks for a cause."
                            .into(),
                    ],
                ),
                if n.is_multiple_of(2) {
                    (None, Vec::new())
                } else {
                    (
                        Some(Verdict::Good),
                        vec!["hot to neutral is 121 V: within its limits.".into()],
                    )
                },
            ],
        };
        vec![
            ("empty", page(Vec::new())),
            ("three", page((0..3).map(pair).collect())),
            ("many", page((0..300).map(pair).collect())),
        ]
    }

    fn title(&self) -> String {
        format!("Two visits · {}", self.site_name)
    }

    fn width(&self) -> Width {
        Width::Wide
    }

    fn render(&self) -> Markup {
        let base = format!("/site/{}", self.site);
        html! {
            (trail(&[("Sites".into(), "/".into()), (self.site_name.clone(), base.clone()), ("Visits".into(), format!("{base}/visits"))]))
            h1 { "Two visits side by side" }
            @if self.rows.is_empty() { p { "Neither has a reading that has a limit." } }
            @else {
                div .wide tabindex="0" role="region" aria-label="Findings side by side" {
                    table {
                        thead { tr { th scope="col" { "Place" } @for head in &self.heads { th scope="col" { (head) } } } }
                        tbody {
                            @for row in &self.rows {
                                tr {
                                    th scope="row" { (row.name) }
                                    @for (verdict, says) in &row.found {
                                        td { (shape::verdict_or_untold(*verdict)) @for line in says { div { (line) } } }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
