//! What can be told without a meter: lamps, things seen, heard, smelt; and anything in a line of one's own.

use maud::{Markup, html};
use site::region::Words;

use super::check::Target;
use crate::page::key_field;

/// What people most often notice, as a line of readings says it.
fn signs(words: &Words) -> Vec<(String, &'static str)> {
    let plain = [
        ("Dead", "dead"),
        ("Works", "works"),
        ("Buzzing", "buzzing"),
        ("Warm plate", "warm plate"),
        ("Smell of burning", "smell of burning"),
        ("Lights flicker", "lights flicker"),
        ("Some lights brighten", "some lights brighten"),
        ("Tingle or shock", "tingle"),
        ("Loose plug", "loose plug"),
        ("Wet", "wet"),
        ("Breaker tripped", "breaker tripped"),
        ("Breaker on", "breaker on"),
        ("A switch changes it", "switch matters"),
        ("After works", "after works"),
        ("After a storm", "after storm"),
        ("Old wiring", "old wiring"),
    ];
    let mut all: Vec<(String, &str)> = plain.map(|(name, line)| (name.to_owned(), line)).into();
    let residual = trace::words::sentence(&format!("{} tripped", words.residual));
    all.push((residual, "ground-fault device tripped"));
    all
}

/// Keys for what was seen; each sends one line about the place.
pub fn seen(place: &str, words: &Words, target: &Target) -> Markup {
    html! {
        details .sheet #seen {
            summary { "Tell something seen, heard or smelt" }
            div .keys .two {
                @for (name, sign) in signs(words) {
                    (target.form(html! { button .quiet type="submit" name="line" value=(format!("{place}: {sign}")) { (name) } }))
                }
            }
        }
    }
}

/// One line in one's own words, and what of it was not understood.
pub struct Line<'a> {
    /// What was typed.
    pub typed: &'a str,
    /// What is wrong with it.
    pub problems: &'a [String],
    /// An example for this place.
    pub example: &'a str,
    /// Whether it stands open.
    pub open: bool,
}

/// The form for a line.
pub fn line(it: &Line<'_>, target: &Target) -> Markup {
    let bad = !it.problems.is_empty();
    html! {
        details .sheet #in-words open[it.open || bad] {
            summary { "Tell it in a line of your own" }
            form method=(target.method) action=(target.action) data-outbox[target.method == "post"] {
                @if !target.key.is_empty() { (key_field(&target.key)) }
                @for (name, value) in &target.hidden { input type="hidden" name=(name) value=(value); }
                @if bad { div .wrong role="alert" { ul { @for problem in it.problems { li { (problem) } } } } }
                div .field {
                    label for="line" { "Line" }
                    input #line type="text" name="line" value=(it.typed) maxlength="2000" required autocomplete="off"
                        aria-describedby="line-hint" aria-invalid=[bad.then_some("true")];
                    p .hint #line-hint { "As: " (it.example) ". " a href="/help#line" { "How to write a line" } "." }
                }
                button type="submit" { "Tell it" }
            }
        }
    }
}
