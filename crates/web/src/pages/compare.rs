//! Two visits side by side: the findings about each place, and what was read there.

use std::collections::HashMap;

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
    pub fn rows<'f>(
        one: impl Iterator<Item = &'f Finding>,
        other: impl Iterator<Item = &'f Finding>,
        name: impl Fn(&str) -> String,
    ) -> Vec<Pair> {
        let mut rows: Vec<Pair> = Vec::new();
        let mut row_of: HashMap<&str, usize> = HashMap::new();
        for (side, it) in one.map(|it| (0, it)).chain(other.map(|it| (1, it))) {
            let row = *row_of.entry(&it.element).or_insert_with(|| {
                rows.push(Pair {
                    name: name(&it.element),
                    found: [(None, Vec::new()), (None, Vec::new())],
                });
                rows.len() - 1
            });
            let (worst, statements) = &mut rows[row].found[side];
            *worst = (*worst).max(Some(it.verdict));
            statements.push(it.statement.clone());
        }
        rows
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
