//! Before a backup is put back: what happens to what is here.

use maud::{Markup, html};

use crate::page::{Page, Part, key_field, trail};
use crate::words;

/// A backup in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Backup {
    /// Name of its file.
    pub name: String,
    /// When it was made.
    pub when: String,
    /// Its size.
    pub kilobytes: u64,
}

/// The page.
pub struct Restore {
    /// The one that was chosen.
    pub backup: Backup,
    /// Where everything is kept.
    pub data: String,
    /// Sites and readings that are here now; none where they cannot be read.
    pub now: Option<(usize, usize)>,
    /// Key of the form.
    pub key: String,
}

impl Page for Restore {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Restore)> {
        let page = |now| Restore {
            backup: samples()[0].clone(),
            data: "wattwright.db".into(),
            now,
            key: "k".into(),
        };
        vec![("sound", page(Some((3, 120)))), ("damaged", page(None))]
    }

    fn title(&self) -> String {
        "Restore a backup".to_owned()
    }

    fn part(&self) -> Part {
        Part::Copies
    }

    fn render(&self) -> Markup {
        html! {
            (trail(&[("Copies".to_owned(), "/copies".to_owned())]))
            h1 { "Restore the backup of " (self.backup.when) }
            div .wrong {
                p { b { "What was told since then will not be shown any more." }
                    @if let Some((sites, readings)) = self.now {
                        " Here now: " (words::count(sites, "site", "sites")) " with " (words::count(readings, "reading", "readings")) "."
                    }
                }
            }
            h2 { "What happens" }
            ol {
                li { "The backup is read whole and checked. If it is broken, nothing else happens." }
                li { "What is in " code { (self.data) } " now is kept as it is, in a file beside it with " code { "replaced" } " and the time in its name. \
                      Nothing is written over or removed: opened with " code { "wattwright open --data" } " it is all there." }
                li { "A copy of the backup takes its place; the backup stays too." }
                li { "Every phone has to be paired anew: the backup may know one that was shut out since." }
            }
            p { "Before that: have every phone send what it still keeps, and close any other workbench that is open on the same file." }
            form method="post" action="/copies/restore" {
                (key_field(&self.key))
                input type="hidden" name="backup" value=(self.backup.name);
                div .keys .two {
                    button type="submit" .main { "Restore this backup" }
                    a .key href="/copies" { "Leave everything as it is" }
                }
            }
        }
    }
}

/// Backups to choose from.
pub fn list(backups: &[Backup]) -> Markup {
    html! {
        ul .list { @for it in backups { li { a href={ "/copies/restore?backup=" (it.name) } {
            b { "Restore that of " (it.when) }
            span .small .faint { (it.name) ", " (it.kilobytes) " kB" }
        } } } }
    }
}

/// Backups as samples have them.
#[cfg(test)]
pub fn samples() -> Vec<Backup> {
    let of = |day: u32| Backup {
        name: format!("wattwright-2026-03-{day:02}T09-12-00Z.db"),
        when: format!("2026-03-{day:02} 09:12:00 UTC"),
        kilobytes: 96,
    };
    (1..9).rev().map(of).collect()
}
