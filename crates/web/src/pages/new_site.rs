//! A new site: its name and region, and a first circuit with a first outlet; everything else can follow.

use maud::{Markup, html};
use serde::Deserialize;
use site::region::Region;

use crate::page::{Page, key_field, trail};

/// The form.
pub struct NewSite {
    /// What was typed.
    pub typed: Typed,
    /// What is wrong with it.
    pub problems: Vec<String>,
    /// Counts once.
    pub key: String,
}

/// Its fields.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Typed {
    /// Name of the premises.
    pub name: String,
    /// Region profile.
    pub region: String,
    /// First circuit, as on the panel's directory.
    pub circuit: String,
    /// Rating of its breaker, as `20 A`.
    pub breaker: String,
    /// First outlet.
    pub outlet: String,
    /// Lines of readings that the site is made around, one below the other; nothing where there are none.
    pub told: String,
}

impl Page for NewSite {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, NewSite)> {
        let key = "00000000-0000-4000-8000-000000000000".to_owned();
        let typed = Typed {
            name: "Old mill".into(),
            region: "iec-230".into(),
            told: "desk: L-N 230 V".into(),
            ..Typed::default()
        };
        vec![
            (
                "empty",
                NewSite {
                    typed: Typed::default(),
                    problems: Vec::new(),
                    key: key.clone(),
                },
            ),
            (
                "broken",
                NewSite {
                    typed,
                    problems: vec![
                        "circuit \"A\": breaker \"20\" has no unit; write \"20 A\"".into(),
                    ],
                    key,
                },
            ),
        ]
    }

    fn title(&self) -> String {
        "New site".to_owned()
    }

    fn render(&self) -> Markup {
        let it = &self.typed;
        html! {
            (trail(&[("Sites".into(), "/".into())]))
            h1 { "New site" }
            @if !self.problems.is_empty() { div .wrong role="alert" { ul { @for problem in &self.problems { li { (problem) } } } } }
            form .sheet method="post" action="/new" {
                (key_field(&self.key))
                input type="hidden" name="told" value=(it.told);
                @if !it.told.is_empty() {
                    p { "The site is made around what was told in the quick trace; its readings become its first visit." }
                }
                (text("name", "Name of the premises", &it.name, "As people call it", true))
                div .field {
                    label for="region" { "Region" }
                    select #region name="region" {
                        @for region in Region::all() {
                            option value=(region.id) selected[region.id == it.region] { (region.name) }
                        }
                    }
                    p .hint { "Gives voltages, limits and words." }
                }
                (text("circuit", "First circuit", &it.circuit, "As the panel's directory names it, for example A3", false))
                (text("breaker", "Its breaker", &it.breaker, "With its unit, for example 20 A; leave it empty where nobody knows", false))
                @if it.told.is_empty() {
                    (text("outlet", "First outlet", &it.outlet, "For example Front desk, left; more can follow", false))
                }
                button .main type="submit" { "Make the site" }
            }
        }
    }
}

fn text(name: &str, label: &str, value: &str, hint: &str, needed: bool) -> Markup {
    let hint_id = format!("{name}-hint");
    html! {
        div .field {
            label for=(name) { (label) }
            input type="text" id=(name) name=(name) value=(value) maxlength="200" required[needed] autocomplete="off" aria-describedby=(hint_id);
            p .hint id=(hint_id) { (hint) }
        }
    }
}
