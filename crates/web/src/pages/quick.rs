//! Quick trace of an outlet without a site: what is told stands in the address, so nothing has to be set up, going back
//! takes the last one back, and a site can be made around it later.

use maud::{Markup, html};
use serde::Deserialize;
use site::region::Region;

use crate::look::causes::{self, Causes};
use crate::look::check::{Check, check};
use crate::look::entry::{Entry, Typed, entry};
use crate::look::first::{Said, first};
use crate::look::seen::{Line, line, seen};
use crate::page::{Page, Part};

/// The page.
pub struct Quick {
    /// Region profile.
    pub region: &'static Region,
    /// Lines told so far.
    pub told: Vec<String>,
    /// Each reading and remark, as it was understood.
    pub understood: Vec<String>,
    /// The answer.
    pub said: Said,
    /// The next check.
    pub check: Option<Option<Check>>,
    /// The form for a reading.
    pub entry: Entry,
    /// The line that was not understood, and why.
    pub line: (String, Vec<String>),
    /// Causes.
    pub causes: Vec<Causes>,
}

/// What the address holds.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// Region profile.
    pub region: String,
    /// What the outlet is called.
    pub place: String,
    /// Lines told so far, one below the other.
    pub told: String,
    /// One more line.
    pub line: String,
    /// Checks that cannot be made, one below the other.
    pub not: String,
    /// One more of them.
    pub cannot: String,
    /// A check that is put off.
    pub later: String,
    /// One more reading, field by field.
    #[serde(flatten)]
    pub typed: Typed,
}

impl Page for Quick {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Quick)> {
        super::samples::quick()
    }

    fn title(&self) -> String {
        "Quick trace".to_owned()
    }

    fn part(&self) -> Part {
        Part::Quick
    }

    fn render(&self) -> Markup {
        let target = &self.entry.target;
        let words = &self.region.words;
        let example = format!(
            "desk: {}-{} 118.2 V, {}-{} 4.1 V, with load",
            words.line, words.neutral, words.neutral, words.earth
        );
        let own = Line {
            typed: &self.line.0,
            problems: &self.line.1,
            example: &example,
            open: self.told.is_empty(),
        };
        html! {
            h1 { "Quick trace of one outlet" }
            @if self.told.is_empty() {
                form .sheet method="get" action="/quick" {
                    div .field {
                        label for="region" { "Region" }
                        select #region name="region" {
                            @for it in Region::all() { option value=(it.id) selected[it.id == self.region.id] { (it.name) } }
                        }
                    }
                    button .quiet type="submit" { "Take this region" }
                }
            } @else {
                (first(&self.said, "the outlet"))
                @if let Some(it) = &self.check { (check(it.as_ref(), target)) }
            }
            (entry(&self.entry))
            (seen(&self.entry.place, words, target))
            (line(&own, target))
            @if !self.told.is_empty() {
                section #told {
                    h2 { "Told so far" }
                    ul { @for it in &self.understood { li { (it) } } }
                    details {
                        summary { "Correct what was told" }
                        form method="get" action="/quick" {
                            input type="hidden" name="region" value=(self.region.id);
                            div .field {
                                label for="told-text" { "One line each" }
                                textarea #told-text name="told" rows="6" { (self.told.join("\n")) }
                            }
                            button type="submit" { "Take it so" }
                        }
                    }
                }
                section #causes {
                    h2 { "What is wrong, and how sure" }
                    @for it in &self.causes { (causes::short(it, words)) }
                }
                form method="get" action="/new" {
                    input type="hidden" name="region" value=(self.region.id);
                    input type="hidden" name="told" value=(self.told.join("\n"));
                    button type="submit" { "Make a site around it" }
                }
                p { a .key .quiet href=(format!("/quick?region={}", self.region.id)) { "Begin again" } }
            }
        }
    }
}
