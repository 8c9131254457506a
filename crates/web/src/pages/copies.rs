//! Everything as files: take out, take in, back up, restore.

use maud::{Markup, html};

use super::restore::{self, Backup};
use crate::page::{Page, Part, key_field};

/// The page.
pub struct Copies {
    /// Where everything is kept.
    pub data: String,
    /// Where backups stand.
    pub folder: String,
    /// Those there are, the newest first.
    pub backups: Vec<Backup>,
    /// Sites with the address of their export.
    pub sites: Vec<(String, String)>,
    /// What was done just now.
    pub done: Option<String>,
    /// What is wrong with what was sent.
    pub problems: Vec<String>,
    /// Key of the forms.
    pub key: String,
}

impl Page for Copies {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Copies)> {
        let page = |sites: Vec<_>, done: Option<&str>, problems: Vec<String>| Copies {
            data: "wattwright.sqlite".into(),
            folder: "backups".into(),
            backups: match sites.is_empty() {
                true => Vec::new(),
                false => restore::samples(),
            },
            sites,
            done: done.map(str::to_owned),
            problems,
            key: "k".into(),
        };
        vec![
            ("empty", page(Vec::new(), None, Vec::new())),
            (
                "done",
                page(
                    vec![("Larkfield Animal Clinic".into(), "/site/1/export".into())],
                    Some("Backed up."),
                    Vec::new(),
                ),
            ),
            (
                "refused",
                page(Vec::new(), None, vec!["site:3:1  unknown key \"x\"".into()]),
            ),
        ]
    }

    fn title(&self) -> String {
        "Copies".to_owned()
    }

    fn part(&self) -> Part {
        Part::Copies
    }

    fn render(&self) -> Markup {
        html! {
            h1 { "Copies of everything" }
            @if let Some(done) = &self.done { p .sheet role="status" { b { (done) } } }
            @if !self.problems.is_empty() { div .wrong role="alert" { ul { @for it in &self.problems { li { (it) } } } } }
            h2 { "Take out" }
            @if self.sites.is_empty() { p { "No site is kept here yet." } }
            ul .list { @for (name, href) in &self.sites { li { a href=(href) download { b { (name) } span .small .faint { "the site, its visits and attachments as one file" } } } } }
            h2 #take-in { "Take in" }
            form .sheet method="post" action="/copies/take-in" enctype="multipart/form-data" {
                (key_field(&self.key))
                div .field {
                    label for="file" { "A file taken out before, or a site file" }
                    input #file type="file" name="file" required accept=".zip,.toml";
                    p .hint { "It becomes a site of its own beside those that are here." }
                }
                button type="submit" { "Take it in" }
            }
            h2 { "Back up" }
            p { "Everything is kept in " code { (self.data) } "; backups stand in " code { (self.folder) } "." }
            form method="post" action="/copies/back-up" { (key_field(&self.key)) button type="submit" { "Back up now" } }
            h2 { "Restore" }
            p { "Nothing is ever written over: what is here now is kept under another name. The next page says more before anything happens." }
            @if self.backups.is_empty() { p { "No backup was made yet. One that is kept elsewhere can be copied into the folder of backups." } }
            (restore::list(&self.backups))
        }
    }
}
