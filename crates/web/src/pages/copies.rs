//! Everything as files: take out, take in, back up, restore.

use maud::{Markup, html};

use crate::page::{Page, Part, key_field};

/// The page.
pub struct Copies {
    /// Where everything is kept.
    pub data: String,
    /// Where backups stand.
    pub backups: String,
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
        let page = |sites, done: Option<&str>, problems: Vec<String>| Copies {
            data: "wattwright.sqlite".into(),
            backups: "backups".into(),
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
            p { "Everything is kept in " code { (self.data) } "; backups stand in " code { (self.backups) } "." }
            form method="post" action="/copies/back-up" { (key_field(&self.key)) button type="submit" { "Back up now" } }
            h2 { "Restore" }
            p { "A backup is never laid over what is here: it is restored into a new file, which is then opened." }
            ol {
                li { "Stop the workbench (ctrl-c where it was started)." }
                li { "Start it on the backup: " code { "wattwright open --data " i { "COPY" } } ", where COPY is a copy of the backup file." }
                li { "When it is what you want, start it so from then on, or move the file to where the other was." }
            }
        }
    }
}
