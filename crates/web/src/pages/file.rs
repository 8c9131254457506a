//! Build and change a site: by touch, or in its file. Both are the same document; undo takes the last change back.

use maud::{Markup, html};

use crate::grow::Growth;
use crate::page::{Page, Width, key_field, trail};

/// The page.
pub struct FilePage {
    /// Identifier of the site.
    pub site: String,
    /// Its name.
    pub site_name: String,
    /// The file, as kept or as typed.
    pub text: String,
    /// The revision that a change begins with.
    pub revision: i64,
    /// What is wrong with what was typed: line, and words.
    pub problems: Vec<(Option<usize>, String)>,
    /// What is kept by now, where somebody else changed it meanwhile.
    pub theirs: Option<String>,
    /// Places that something can follow: value and words.
    pub feeds: Vec<(String, String)>,
    /// Places that something can be plugged into.
    pub sockets: Vec<(String, String)>,
    /// Places that a surge protector can be at.
    pub protected: Vec<(String, String)>,
    /// Machines at which a line can end.
    pub machines: Vec<(String, String)>,
    /// What was typed into a form that adds something.
    pub growth: Growth,
    /// Key of the forms.
    pub key: String,
}

impl Page for FilePage {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, FilePage)> {
        super::samples::files()
    }

    fn title(&self) -> String {
        format!("Build · {}", self.site_name)
    }

    fn width(&self) -> Width {
        Width::Wide
    }

    fn render(&self) -> Markup {
        let base = format!("/site/{}", self.site);
        html! {
            (trail(&[("Sites".into(), "/".into()), (self.site_name.clone(), base.clone())]))
            h1 { "Build and change" }
            @if !self.problems.is_empty() {
                div .wrong role="alert" {
                    p { "Not kept yet. What was typed stands below." }
                    ul { @for (line, words) in &self.problems { li { @if let Some(line) = line { b { "Line " (line) ": " } } (words) } } }
                }
            }
            @if let Some(theirs) = &self.theirs {
                div .wrong role="alert" { p { "Somebody else changed this site meanwhile. What is kept now stands first, what you sent below it; put them together and send it." } }
                textarea .file readonly aria-label="What is kept now" { (theirs) }
            }
            div .columns {
                div {
                    h2 { "By touch" }
                    (self.add("outlet", "Add an outlet", html! {
                        (self.named("outlet", "What people call it"))
                        (self.choice("outlet", "What feeds it", &self.feeds))
                        (self.field("outlet", "run", "Cable from there", "With its unit, as 6 m; empty where nobody knows", &self.growth.run))
                    }))
                    (self.add("circuit", "Add a circuit", html! {
                        (self.named("circuit", "Name on the panel's directory"))
                        (self.field("circuit", "breaker", "Its breaker", "With its unit, as 20 A", &self.growth.breaker))
                    }))
                    (self.add("ups", "Add a UPS", html! {
                        (self.named("ups", "What people call it"))
                        (self.choice("ups", "Where it is plugged in", &self.sockets))
                        (self.field("ups", "power", "Power it draws", "As 100 W; empty where nobody knows", &self.growth.power))
                    }))
                    (self.add("machine", "Add a machine", html! {
                        (self.named("machine", "What people call it"))
                        (self.choice("machine", "Where it is plugged in", &self.sockets))
                        (self.field("machine", "power", "Power it draws", "As 150 W; empty where nobody knows", &self.growth.power))
                    }))
                    (self.add("protector", "Add a surge protector", html! {
                        (self.named("protector", "What people call it"))
                        (self.choice("protector", "What it protects", &self.protected))
                    }))
                    @if !self.machines.is_empty() {
                        (self.add("line", "Add a telephone, coax or network line", html! {
                            (self.named("line", "What people call it"))
                            div .field {
                                label for="line-kind" { "What it is" }
                                select #line-kind name="line" required {
                                    @for it in ["telephone", "coax", "network"] { option value=(it) selected[self.growth.line == it] { (it) } }
                                }
                            }
                            (self.choice("line", "The machine at which it ends", &self.machines))
                        }))
                    }
                    @if self.revision > 1 {
                        form method="post" action=(format!("{base}/undo")) {
                            (key_field(&self.key))
                            input type="hidden" name="revision" value=(self.revision);
                            button .quiet type="submit" { "Undo the last change" }
                        }
                    }
                }
                div {
                    h2 { "In the file" }
                    form method="post" action=(format!("{base}/file")) {
                        (key_field(&self.key))
                        input type="hidden" name="revision" value=(self.revision);
                        div .field {
                            label for="text" { "The site's file" }
                            textarea .file #text name="text" spellcheck="false" aria-invalid=[(!self.problems.is_empty()).then_some("true")] { "\n" (self.text) }
                        }
                        button .main type="submit" { "Keep it" }
                    }
                    p { a .key .quiet href=(format!("{base}/export")) download { "Everything of this site as one file" } }
                }
            }
        }
    }
}

impl FilePage {
    fn add(&self, what: &str, title: &str, fields: Markup) -> Markup {
        html! {
            details .sheet open[self.growth.what == what] {
                summary { (title) }
                form method="post" action=(format!("/site/{}/add", self.site)) {
                    (key_field(&self.key))
                    input type="hidden" name="revision" value=(self.revision);
                    input type="hidden" name="what" value=(what);
                    (fields)
                    button type="submit" { (title) }
                }
            }
        }
    }

    fn named(&self, what: &str, label: &str) -> Markup {
        let value = if self.growth.what == what {
            self.growth.name.as_str()
        } else {
            ""
        };
        let id = format!("{what}-name");
        html! {
            div .field { label for=(id) { (label) } input type="text" id=(id) name="name" value=(value) required maxlength="120" autocomplete="off"; }
        }
    }

    fn field(&self, what: &str, name: &str, label: &str, hint: &str, value: &str) -> Markup {
        let id = format!("{what}-{name}");
        let value = if self.growth.what == what { value } else { "" };
        html! {
            div .field {
                label for=(id) { (label) }
                input type="text" id=(id) name=(name) value=(value) maxlength="40" autocomplete="off" aria-describedby=(format!("{id}-hint"));
                p .hint id=(format!("{id}-hint")) { (hint) }
            }
        }
    }

    fn choice(&self, what: &str, label: &str, places: &[(String, String)]) -> Markup {
        let id = format!("{what}-after");
        html! {
            div .field {
                label for=(id) { (label) }
                select id=(id) name="after" required {
                    @for (value, name) in places { option value=(value) selected[self.growth.what == what && self.growth.after == *value] { (name) } }
                }
            }
        }
    }
}
