//! The next check: what, how, with which caution, why this one, and a key for each possible result.

use maud::{Markup, html};
use site::model::{OutletIx, Site};
use site::visit::Pin;
use trace::answer::{Next, Outcome};

use crate::page::key_field;
use trace::words;

/// A check as a page shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// Key of the check, to say `cannot` with.
    pub key: String,
    /// What to do.
    pub says: String,
    /// How, with which precautions.
    pub caution: String,
    /// How long it takes, and of which hazard class it is.
    pub effort: String,
    /// What each result would mean.
    pub would_mean: Vec<Outcome>,
    /// How the result is told.
    pub told: Told,
    /// Where it is made, if not here: name and page.
    pub elsewhere: Option<(String, String)>,
}

/// How a result is told.
#[derive(Clone, Debug, PartialEq)]
pub enum Told {
    /// A value, written for the dots of a line.
    Value {
        /// The line with `...` in it.
        line: String,
        /// What stands in front of the field.
        label: String,
    },
    /// One of a few results.
    Keys(Vec<Key>),
}

/// A result as a key to press.
#[derive(Clone, Debug, PartialEq)]
pub struct Key {
    /// What is on it.
    pub label: String,
    /// Three lamps, lit or dark, where it is a pattern of a tester.
    pub lamps: Option<[bool; 3]>,
    /// The line that it tells.
    pub line: String,
}

/// The outlet that a check is about.
pub fn place_of(next: &Next, site: &Site) -> Option<OutletIx> {
    let (kind, rest) = next.key.split_once(':')?;
    if kind == "breaker" {
        let circuit = site.circuit(rest)?;
        let first = site.outlets.iter().position(|it| it.circuit == circuit);
        return first.map(OutletIx);
    }
    // ids may hold a colon themselves: the longest that fits
    let fits = |id: &str| rest == id || rest.strip_prefix(id).is_some_and(|it| it.starts_with(':'));
    let all = site.outlets.iter().enumerate();
    let found = all
        .filter(|(_, it)| fits(&it.id))
        .max_by_key(|(_, it)| it.id.len());
    found.map(|(ix, _)| OutletIx(ix))
}

impl Check {
    /// Of what the trace proposes. `here` is the outlet whose page it stands on, `page_of` gives the page of another.
    pub fn of(
        next: &Next,
        site: &Site,
        here: Option<OutletIx>,
        page_of: impl Fn(&str) -> String,
    ) -> Check {
        let minutes = match next.minutes {
            it if it < 1.5 => "about a minute".to_owned(),
            it => format!("about {it:.0} minutes"),
        };
        let at = place_of(next, site);
        let away = at.filter(|it| here.is_some() && Some(*it) != here);
        Check {
            key: next.key.clone(),
            says: next.says.clone(),
            caution: next.caution.clone(),
            effort: format!("It takes {minutes}; hazard class {}.", next.hazard),
            would_mean: next.would_mean.clone(),
            told: told(next, site),
            elsewhere: away.and_then(|it| {
                let outlet = site.outlets.get(it.0)?;
                Some((outlet.label.clone(), page_of(&outlet.id)))
            }),
        }
    }
}

fn told(next: &Next, site: &Site) -> Told {
    if let Some((place, _)) = next.tell.split_once(": lamps ...") {
        return Told::Keys(lamps(place, site));
    }
    if let Some((yes, no)) = next
        .tell
        .strip_suffix(')')
        .and_then(|it| it.split_once(" (or: "))
    {
        // a line without a place is told of the outlet that the check is about, not of the page's
        let (place, yes) = match (yes.split_once(": "), place_of(next, site)) {
            (Some((place, yes)), _) => (place, yes),
            (None, at) => (at.map_or("", |it| site.outlets[it.0].id.as_str()), yes),
        };
        let labels = match next.key.split(':').next() {
            Some("breaker") => ["It is off or tripped", "It is on"],
            Some("switch") => ["It is off", "It is on, or there is none"],
            _ => ["It signals", "It stays quiet"],
        };
        let lines = [yes, no].map(|it| match place {
            "" => it.to_owned(),
            place => format!("{place}: {it}"),
        });
        let keys = labels.iter().zip(lines).map(|(label, line)| Key {
            label: (*label).to_owned(),
            lamps: None,
            line,
        });
        return Told::Keys(keys.collect());
    }
    Told::Value {
        line: next.tell.clone(),
        label: "What the meter shows".to_owned(),
    }
}

/// Every pattern of three lamps that are lit or dark.
fn lamps(place: &str, site: &Site) -> Vec<Key> {
    let word = |pin| trace::words::pin(site, pin);
    let pairs = [
        (Pin::Line, Pin::Neutral),
        (Pin::Line, Pin::Earth),
        (Pin::Neutral, Pin::Earth),
    ];
    let names = pairs.map(|(a, b)| format!("{}-{}", word(a), word(b)));
    // the pattern of a sound outlet first, then by how many are lit
    let order: [[bool; 3]; 8] = [
        [true, true, false],
        [false, false, false],
        [true, false, false],
        [false, true, false],
        [false, false, true],
        [true, false, true],
        [false, true, true],
        [true, true, true],
    ];
    let key = |lit: [bool; 3]| {
        let state = |it: bool| if it { "lit" } else { "dark" };
        let each: Vec<String> = names
            .iter()
            .zip(lit)
            .map(|(it, lit)| format!("{it} {}", state(lit)))
            .collect();
        let on: Vec<&str> = names
            .iter()
            .zip(lit)
            .filter(|(_, lit)| *lit)
            .map(|(it, _)| it.as_str())
            .collect();
        Key {
            label: match on.as_slice() {
                [] => "all dark".to_owned(),
                on => format!("lit: {}", on.join(", ")),
            },
            lamps: Some(lit),
            line: format!("{place}: lamps {}", each.join(", ")),
        }
    };
    order.map(key).into()
}

/// Where the forms of a check go, and what they carry along.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// Where to.
    pub action: String,
    /// `post` where it is kept, `get` where the address keeps it.
    pub method: &'static str,
    /// Fields that each form carries.
    pub hidden: Vec<(String, String)>,
    /// Key that makes a form count once; empty where nothing is kept.
    pub key: String,
}

impl Target {
    /// A form of one key; all results of one check carry one idempotency key, as pressing two must not count as two.
    pub fn form(&self, inside: Markup) -> Markup {
        let outbox = self.method == "post";
        html! {
            form .one method=(self.method) action=(self.action) data-outbox[outbox] {
                @if !self.key.is_empty() { (key_field(&self.key)) }
                @for (name, value) in &self.hidden { input type="hidden" name=(name) value=(value); }
                (inside)
            }
        }
    }
}

/// Draws the check, or that there is none.
pub fn check(check: Option<&Check>, target: &Target) -> Markup {
    html! {
        section .sheet #check data-live aria-labelledby="check-title" {
            h2 #check-title { "Check next" }
            @match check {
                None => p { "Nothing: no check that is yours to make could change what has to be done." },
                Some(it) => (asked(it, target)),
            }
        }
    }
}

fn asked(it: &Check, target: &Target) -> Markup {
    html! {
        p .headline { b { (it.says) } }
        @if let Some((name, href)) = &it.elsewhere {
            p { "It is made at another outlet: " a href=(href) { (name) } "." }
        }
        p .caution { b { "Caution. " } (it.caution) }
        p .faint { (it.effort) }
        @match &it.told {
            Told::Value { line, label } => (target.form(html! {
                input type="hidden" name="line" value=(line);
                div .field {
                    label for="check-value" { (label) }
                    div .value {
                        input #check-value type="text" name="value" inputmode="decimal" autocomplete="off" required maxlength="40";
                        span .unit { "V" }
                    }
                }
                button .main type="submit" { "Tell it" }
            })),
            Told::Keys(keys) => div .keys .two {
                @for key in keys {
                    (target.form(html! {
                        button type="submit" name="line" value=(key.line) {
                            @if let Some(lit) = key.lamps { (lamp_picture(lit)) }
                            span { (key.label) }
                        }
                    }))
                }
            },
        }
        h3 { "Why this one" }
        @if it.would_mean.is_empty() { p { "It settles more for its minutes than any other." } }
        ul {
            @for outcome in &it.would_mean {
                li { b { (outcome.result) } " (" (words::percent(outcome.probability)) "): " (outcome.means) }
            }
        }
        div .keys .two {
            (target.form(html! { button .quiet type="submit" name="cannot" value=(it.key) { span { "Cannot be done here" } } }))
            (target.form(html! { button .quiet type="submit" name="later" value=(it.key) { span { "Not now, another one" } } }))
        }
    }
}

fn lamp_picture(lit: [bool; 3]) -> Markup {
    html! {
        svg width="58" height="22" viewBox="0 0 58 22" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2" {
            @for (n, lit) in lit.iter().enumerate() {
                @let x = 10 + 19 * n;
                @if *lit { circle cx=(x) cy="11" r="7.5" fill="currentColor" {} } @else { circle cx=(x) cy="11" r="7.5" {} }
            }
        }
    }
}

/// Hidden fields from pairs.
pub fn hidden(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
    let owned = |(a, b): &(&str, &str)| ((*a).to_owned(), (*b).to_owned());
    pairs.iter().map(owned).collect()
}
