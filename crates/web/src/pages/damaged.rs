//! Instead of every page where the data is damaged: what it is, that nothing was changed, the backups.

use maud::{Markup, html};

use super::restore::{self, Backup};
use crate::page::{Page, Part};

/// The page.
pub struct Damaged {
    /// What was found.
    pub why: String,
    /// Where everything is kept.
    pub data: String,
    /// Where backups stand.
    pub folder: String,
    /// Those there are, the newest first.
    pub backups: Vec<Backup>,
}

impl Page for Damaged {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Damaged)> {
        let page = |backups| {
            Damaged {
            why: "the store wattwright.db is damaged: it does not begin as a store does. Nothing in it was changed".into(),
            data: "wattwright.db".into(),
            folder: "backups".into(),
            backups,
        }
        };
        vec![
            ("with backups", page(restore::samples())),
            ("without", page(Vec::new())),
        ]
    }

    fn title(&self) -> String {
        "The data is damaged".to_owned()
    }

    fn part(&self) -> Part {
        Part::Copies
    }

    fn render(&self) -> Markup {
        html! {
            h1 { "The data is damaged" }
            div .wrong role="alert" { p { (self.why) } }
            p { "The file " code { (self.data) } " was left as it is, and stays as it is whatever you choose here." }
            h2 { "Backups" }
            @if self.backups.is_empty() {
                p { "No backup stands in " code { (self.folder) } ". One that is kept elsewhere can be copied there: this page then offers it." }
                p { "To work meanwhile, stop the workbench and start it on another file: " code { "wattwright open --data new.db" } "." }
            } @else {
                p { "The next page says what happens before anything does." }
                (restore::list(&self.backups))
            }
        }
    }
}
