//! What an unknown phone sees, and all that it sees: where code and name are typed.

use maud::{Markup, html};

use crate::net::phones::LONGEST_NAME;
use crate::page::Page;

/// The page.
#[derive(Default)]
pub struct Pair {
    /// Why what was typed has not let in.
    pub problems: Vec<String>,
    /// The name as typed; the code is typed again.
    pub name: String,
}

impl Page for Pair {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Pair)> {
        let wrong = Pair {
            problems: vec!["This is not the code. 4 tries are left.".into()],
            name: "<b>bold</b> \"x\"".into(),
        };
        vec![("asked", Pair::default()), ("wrong", wrong)]
    }

    fn title(&self) -> String {
        "Pair this phone".to_owned()
    }

    fn render(&self) -> Markup {
        html! {
            h1 { "Pair this phone" }
            p { "This phone is not paired with the laptop, or no longer." }
            @if !self.problems.is_empty() {
                div .wrong role="alert" { ul { @for it in &self.problems { li { (it) } } } a href="/" { "To the sites" } }
            }
            ol {
                li { "On the laptop open " b { "Phones" } " and show a code." }
                li { "Compare the fingerprint there with the one in this browser's details of the connection. If they differ, stop." }
            }
            form .sheet method="post" action="/pair" autocomplete="off" {
                div .field {
                    label for="code" { "Code" }
                    input #code type="text" name="code" inputmode="numeric" autocomplete="off" required maxlength="20";
                    p .hint { "Eight digits; it may stand here already." }
                }
                div .field {
                    label for="name" { "What you call this phone" }
                    input #name type="text" name="name" required maxlength=(LONGEST_NAME) value=(self.name) autocomplete="off";
                    p .hint { "So that it is known again on the laptop, to shut it out." }
                }
                button .main type="submit" { "Pair" }
            }
        }
    }
}
