//! Something cannot be done: what, where, what to do. Nothing that was typed is lost over it.

use maud::{Markup, html};

use crate::page::Page;

/// What is shown instead of a page.
pub struct Outage {
    /// What cannot be done, one sentence.
    pub what: String,
    /// Why, line by line, as it was found.
    pub why: Vec<String>,
    /// What to do.
    pub advice: String,
    /// What was typed, to be copied from here.
    pub typed: Option<String>,
}

impl Outage {
    /// With one reason.
    pub fn of(what: &str, why: impl Into<String>, advice: &str) -> Outage {
        Outage {
            what: what.to_owned(),
            why: vec![why.into()],
            advice: advice.to_owned(),
            typed: None,
        }
    }
}

impl Page for Outage {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Outage)> {
        let full = Outage::of(
            "This was not kept.",
            "the disk is full",
            "Make room and send it again.",
        );
        vec![
            (
                "plain",
                Outage::of("There is no such page.", "", "Go back to the sites."),
            ),
            (
                "with what was typed",
                Outage {
                    typed: Some("name = \"<script>\"\n".repeat(40)),
                    ..full
                },
            ),
        ]
    }

    fn title(&self) -> String {
        "Not done".to_owned()
    }

    fn render(&self) -> Markup {
        html! {
            h1 { (self.what) }
            div .wrong role="alert" {
                ul { @for why in self.why.iter().filter(|it| !it.is_empty()) { li { (why) } } li { (self.advice) } }
            }
            @if let Some(typed) = &self.typed {
                h2 { "What you sent" }
                textarea .file readonly aria-label="What you sent" { (typed) }
            }
            a .key href="/" { "To the sites" }
        }
    }
}
