//! One visit: what was told, its findings, closing it.

use std::ops::Range;

use maud::{Markup, html};
use site::finding::Finding;
use site::region::Words;

use super::place::Row;
use crate::look::attached::{Attached, attached};
use crate::look::findings;
use crate::page::{Page, key_field, trail};
use crate::rows::ON_A_PAGE;

/// The page.
pub struct VisitPage {
    /// Identifier of the site.
    pub site: String,
    /// Its name.
    pub site_name: String,
    /// Number of the visit.
    pub number: i64,
    /// Date, and whether it is open or closed.
    pub when: String,
    /// Whether it takes more.
    pub open: bool,
    /// What was told, in its order: these of all rows.
    pub told: Vec<Row>,
    /// Which rows these are, counted from 0.
    pub shown: Range<usize>,
    /// How many there are.
    pub n_told: usize,
    /// Readings against their limits, worst first.
    pub findings: Vec<Finding>,
    /// How many there are.
    pub n_findings: usize,
    /// Pictures and notes.
    pub attached: Vec<Attached>,
    /// Words of the region.
    pub words: Words,
    /// Key of the form that closes it.
    pub key: String,
}

impl Page for VisitPage {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, VisitPage)> {
        super::samples::visits()
    }

    fn title(&self) -> String {
        format!("Visit {} · {}", self.number, self.site_name)
    }

    fn follows(&self) -> Option<String> {
        Some(self.site.clone())
    }

    fn render(&self) -> Markup {
        let base = format!("/site/{}", self.site);
        html! {
            (trail(&[("Sites".into(), "/".into()), (self.site_name.clone(), base.clone()), ("Visits".into(), format!("{base}/visits"))]))
            h1 { "Visit " (self.number) }
            p { (self.when) }
            div .keys .two {
                a .key .quiet href=(format!("{base}/visit/{}/file", self.number)) download { "As a file" }
                @if self.open {
                    form method="post" action=(format!("{base}/visit/{}/close", self.number)) {
                        (key_field(&self.key))
                        button type="submit" { span { "Close the visit" small { "It takes nothing more after that." } } }
                    }
                }
            }
            section #told data-live {
                h2 { "Told" }
                @if self.told.is_empty() { p { "Nothing yet." } }
                @else if self.told.len() < self.n_told {
                    p .small .faint { "Rows " (self.shown.start + 1) " to " (self.shown.end) " of " (self.n_told) "." }
                }
                div .keys .two {
                    @if self.shown.start > 0 { a .key .quiet href=(format!("?upto={}", self.shown.start)) { "Rows before these" } }
                    @if self.shown.end < self.n_told { a .key .quiet href=(format!("?upto={}", self.shown.end + ON_A_PAGE)) { "Rows behind these" } }
                }
                ul .list {
                    @for row in &self.told {
                        li .told {
                            span .struck[row.corrected_by.is_some()] { (row.id) ": " (row.words) }
                            @if let Some(by) = &row.corrected_by { span .small .faint { "corrected by " (by) } }
                        }
                    }
                }
            }
            section #attached data-live {
                @if !self.attached.is_empty() { h2 { "Pictures and notes" } }
                (attached(&self.attached))
            }
            section #findings data-live {
                h2 { "Readings against their limits" }
                @if self.findings.is_empty() { p { "No reading that has a limit." } }
                (findings::list(&self.findings, self.n_findings, &self.words))
            }
        }
    }
}
