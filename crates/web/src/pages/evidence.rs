//! Causes with their evidence reading by reading, as a picture to show a customer.

use maud::{Markup, html};
use site::region::Words;

use crate::look::causes::{self, Causes};
use crate::look::findings;
use crate::look::first::{Said, first};
use crate::page::{Page, Width, trail};
use trace::words;

/// The page.
pub struct Evidence {
    /// Identifier of the site.
    pub site: String,
    /// Its name.
    pub site_name: String,
    /// The visit in words.
    pub visit: String,
    /// The answer.
    pub said: Said,
    /// Causes, of the whole or circuit by circuit.
    pub causes: Vec<Causes>,
    /// Probability of something that is not in the catalogue.
    pub unknown: f64,
    /// Readings against their limits.
    pub findings: Vec<site::finding::Finding>,
    /// How many there are.
    pub n_findings: usize,
    /// What a licensed electrician would check.
    pub for_electrician: Vec<String>,
    /// What seemed odd in what was told.
    pub remarks: Vec<String>,
    /// Words of the region.
    pub words: Words,
}

impl Page for Evidence {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Evidence)> {
        super::samples::evidence()
    }

    fn title(&self) -> String {
        format!("Evidence · {}", self.site_name)
    }

    fn width(&self) -> Width {
        Width::Wide
    }

    fn follows(&self) -> Option<String> {
        Some(self.site.clone())
    }

    fn render(&self) -> Markup {
        html! {
            (trail(&[("Sites".into(), "/".into()), (self.site_name.clone(), format!("/site/{}", self.site))]))
            h1 { "Causes and evidence" }
            p .faint { (self.visit) }
            (first(&self.said, "the site"))
            div #evidence data-live {
                @for it in &self.causes { (causes::with_evidence(it, &self.words)) }
                @if !self.causes.is_empty() {
                    p { (words::percent(self.unknown)) " for something that is not in the catalogue." }
                }
                @if !self.for_electrician.is_empty() {
                    h2 { "What a " (self.words.electrician) " would check" }
                    ul { @for it in &self.for_electrician { li { (it) } } }
                }
                @if !self.remarks.is_empty() {
                    h2 { "Odd in what was told" }
                    ul { @for it in &self.remarks { li { (it) } } }
                }
                @if !self.findings.is_empty() {
                    h2 { "Readings against their limits" }
                    (findings::list(&self.findings, self.n_findings, &self.words))
                }
            }
        }
    }
}
