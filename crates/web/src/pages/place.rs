//! Standing at an outlet, phone in hand: may it stay in use, whose is it; the next check; one reading at a time.

use maud::{Markup, html};

use crate::look::attached::{self, Add, Attached};
use crate::look::causes::{self, Causes};
use crate::look::check::{Check, check};
use crate::look::entry::{Entry, entry};
use crate::look::first::{Said, first};
use crate::look::seen::{Line, line, seen};
use crate::page::{Page, trail};

/// The page.
pub struct PlacePage {
    /// Identifier of the site, as its addresses have it.
    pub site: String,
    /// Name of the site.
    pub site_name: String,
    /// Name of the outlet.
    pub name: String,
    /// Where it hangs, in words.
    pub hangs: String,
    /// Outlets before and after it: what they are, name, page.
    pub beside: Vec<(&'static str, String, String)>,
    /// What the answer about its circuit is called, as "circuit A3".
    pub about: String,
    /// The answer.
    pub said: Said,
    /// The next check; `None` while there is no answer.
    pub check: Option<Option<Check>>,
    /// The form for a reading.
    pub entry: Entry,
    /// What was typed as a line, and what is wrong with it.
    pub line: (String, Vec<String>),
    /// What was told here, latest first.
    pub told: Vec<Row>,
    /// How much more there is that is not shown.
    pub n_earlier: usize,
    /// Causes of its circuit.
    pub causes: Vec<Causes>,
    /// Whether the visit takes readings.
    pub open: Open,
    /// Pictures and notes of this place.
    pub attached: Vec<Attached>,
    /// The form for another.
    pub add: Add,
}

/// Whether there is a visit that takes readings.
#[derive(Clone, Debug, PartialEq)]
pub enum Open {
    /// Yes; in words.
    Visit(String),
    /// No: the last one is closed, a new one is opened with the first reading.
    Closed(String),
    /// No visit yet.
    None,
}

/// Something told.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Identifier.
    pub id: String,
    /// In words.
    pub words: String,
    /// The reading that stands instead of it.
    pub corrected_by: Option<String>,
    /// Whether it is a reading.
    pub is_reading: bool,
    /// Where a correction is told; nowhere once the visit is closed.
    pub correct: Option<String>,
}

impl Page for PlacePage {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, PlacePage)> {
        super::samples::places()
    }

    fn title(&self) -> String {
        format!("{} · {}", self.name, self.site_name)
    }

    fn follows(&self) -> Option<String> {
        Some(self.site.clone())
    }

    fn render(&self) -> Markup {
        let site = format!("/site/{}", self.site);
        let target = &self.entry.target;
        let example = format!(
            "{}: {}-{} 118.2 V, buzzing",
            self.entry.place, self.entry.words.line, self.entry.words.neutral
        );
        let words = Line {
            typed: &self.line.0,
            problems: &self.line.1,
            example: &example,
            open: false,
        };
        html! {
            (trail(&[("Sites".into(), "/".into()), (self.site_name.clone(), site.clone())]))
            h1 { (self.name) }
            p .faint .small { (self.hangs) }
            (first(&self.said, &self.about))
            @match &self.open {
                Open::Visit(_) => {}
                Open::Closed(words) => p .caution { (words) " is closed and takes nothing more: the first reading told here opens a new visit." },
                Open::None => p .caution { "No visit yet: the first reading told here opens one." },
            }
            @if let Some(it) = &self.check { (check(it.as_ref(), target)) }
            (entry(&self.entry))
            (seen(&self.entry.place, &self.entry.words, target))
            (line(&words, target))
            section #told data-live {
                h2 { "Told here" }
                @if self.told.is_empty() { p { "Nothing yet." } }
                ul .list {
                    @for row in &self.told {
                        li .told {
                            span .struck[row.corrected_by.is_some()] { (row.id) ": " (row.words) }
                            @if let Some(by) = &row.corrected_by { span .small .faint { "corrected by " (by) } }
                            @else if let Some(href) = &row.correct { a href=(href) aria-label=(format!("Correct {}", row.id)) { "Correct" } }
                        }
                    }
                }
                @if self.n_earlier > 0 { p .small .faint { "And " (self.n_earlier) " before these, on the page of the visit." } }
            }
            section #causes data-live {
                @if !self.causes.is_empty() {
                    h2 { "What is wrong, and how sure" }
                    @for it in &self.causes { (causes::short(it, &self.entry.words)) }
                    p { a .key .quiet href=(format!("{site}/evidence")) { "The evidence, reading by reading" } }
                }
            }
            section #attached data-live {
                @if !self.attached.is_empty() { h2 { "Pictures and notes" } }
                (attached::attached(&self.attached))
            }
            (attached::add(&self.add))
            p .small .faint #offline {
                "Without the laptop this page still takes readings: they are kept on the phone and sent once when it is back. \
                 Answers and next checks need the laptop."
            }
            @if !self.beside.is_empty() {
                h2 { "Beside it" }
                ul .list { @for (what, name, href) in &self.beside { li { a href=(href) { b { (name) } span .small .faint { (what) } } } } }
            }
        }
    }
}
