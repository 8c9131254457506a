//! The form for one reading: the pair chosen on a picture of the receptacle, large keys, the unit fixed, the condition
//! and the meter one touch away. What it sends is put together into one line of readings, which `site::quick` reads.

use maud::{Markup, html};
use serde::Deserialize;
use site::region::{Receptacle, Words};
use site::visit::Pin;

use super::check::Target;
use super::face;
use crate::page::key_field;

/// What the form shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Name or identifier of the place, as a line of readings names it.
    pub place: String,
    /// The receptacle there.
    pub receptacle: Receptacle,
    /// Words of the region.
    pub words: Words,
    /// What was typed, where it comes back with a problem; else what is chosen to begin with.
    pub typed: Typed,
    /// The meter that readings are taken with if nothing else is chosen.
    pub meter: Option<String>,
    /// What is wrong with what was typed.
    pub problems: Vec<String>,
    /// Where it goes.
    pub target: Target,
}

/// The fields as they are sent.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct Typed {
    /// `ln`, `le` or `ne`.
    pub pair: String,
    /// What the meter showed, without a unit.
    pub value: String,
    /// `with load`, `loads off`, `everything unplugged`, or nothing where it is as found.
    pub loads: String,
    /// Power of a test load in watts; nothing where there was none.
    pub test_load: String,
    /// `low impedance`, or nothing.
    pub input: String,
    /// A class of meters; nothing for the one used last.
    pub meter: String,
    /// The reading that this one stands instead of.
    pub corrects: String,
}

const PAIRS: [(&str, Pin, Pin); 3] = [
    ("ln", Pin::Line, Pin::Neutral),
    ("le", Pin::Line, Pin::Earth),
    ("ne", Pin::Neutral, Pin::Earth),
];
const LOADS: [(&str, &str); 4] = [
    ("", "As found"),
    ("with load", "Loads on"),
    ("loads off", "Loads off"),
    ("everything unplugged", "All unplugged"),
];
/// Power of the test load that a technician carries, in watts: a kettle on its lower step. Judgement.
const TEST_LOAD: &str = "1000";

impl Typed {
    /// The line of readings that was meant, or what is wrong with a field.
    ///
    /// # Errors
    /// Says which field, and what to write there.
    pub fn line(&self, place: &str, words: &Words) -> Result<String, String> {
        let value = number(&self.value)?;
        if !self.corrects.is_empty() {
            return Ok(format!(
                "{place}: instead of {} {value} V",
                word(&self.corrects, "The corrected reading")?
            ));
        }
        let name = |pin| match pin {
            Pin::Line => words.line.as_str(),
            Pin::Neutral => words.neutral.as_str(),
            Pin::Earth => words.earth.as_str(),
        };
        let pair = PAIRS.iter().find(|(key, ..)| *key == self.pair);
        let (_, from, to) =
            pair.ok_or("The pair: choose between which two contacts the meter was held.")?;
        let mut line = format!("{place}: {}-{} {value} V", name(*from), name(*to));
        let known = LOADS.iter().any(|(it, _)| *it == self.loads);
        match self.loads.as_str() {
            "" => {}
            loads if known => line.push_str(&format!(" {loads}")),
            _ => return Err("The condition: choose one of those shown.".to_owned()),
        }
        if !self.test_load.is_empty() {
            let watts = self.test_load.trim().trim_end_matches(['W', 'w']).trim();
            let sound = watts
                .parse::<f64>()
                .is_ok_and(|it| it > 0.0 && it <= 5000.0);
            if !sound {
                return Err("The test load: write its power in watts, as 1000.".to_owned());
            }
            line.push_str(&format!(" with a test load of {watts} W"));
        }
        match self.input.as_str() {
            "" => {}
            "low impedance" => line.push_str(" low impedance"),
            _ => return Err("The input: choose one of those shown.".to_owned()),
        }
        if !self.meter.is_empty() {
            line.push_str(&format!(", meter {}", word(&self.meter, "The meter")?));
        }
        Ok(line)
    }
}

/// A value as a display shows it or as people tell it: `121.2`, `121,2`, `about 60`, `60..90`, `under 5`.
pub fn number(told: &str) -> Result<String, String> {
    let told = told.trim().trim_end_matches(['V', 'v']).trim();
    let wrong = || {
        "The value: write what the meter shows, as 121.2; or about 60, 60..90, under 5.".to_owned()
    };
    let fine = |it: char| it.is_alphanumeric() || " .,+-−~<>".contains(it);
    if told.is_empty()
        || told.len() > 40
        || !told.chars().all(fine)
        || !told.contains(|it: char| it.is_ascii_digit())
    {
        return Err(wrong());
    }
    Ok(told.replace(',', "."))
}

/// One plain word, so that nothing else is told by the way.
fn word<'a>(told: &'a str, field: &str) -> Result<&'a str, String> {
    let plain = |it: char| it.is_alphanumeric() || "-_.".contains(it);
    match !told.is_empty() && told.len() <= 60 && told.chars().all(plain) {
        true => Ok(told),
        false => Err(format!("{field}: this is no name of one.")),
    }
}

/// Draws the form.
pub fn entry(it: &Entry) -> Markup {
    let correcting = !it.typed.corrects.is_empty();
    html! {
        form .sheet #entry method=(it.target.method) action=(it.target.action) data-outbox[it.target.method == "post"] aria-labelledby="entry-title" {
            h2 #entry-title {
                @if correcting { "Correct " (it.typed.corrects) " by a new reading" } @else { "Tell a reading" }
            }
            @if !it.problems.is_empty() {
                div .wrong role="alert" #entry-wrong { ul { @for problem in &it.problems { li { (problem) } } } }
            }
            @if !it.target.key.is_empty() { (key_field(&it.target.key)) }
            @for (name, value) in &it.target.hidden { input type="hidden" name=(name) value=(value); }
            @if !it.target.hidden.iter().any(|(name, _)| name == "place") { input type="hidden" name="place" value=(it.place); }
            @if correcting { input type="hidden" name="corrects" value=(it.typed.corrects); }
            @else { (pairs(it)) }
            div .field {
                label for="value" { "What the meter shows" }
                div .value {
                    input #value type="text" name="value" value=(it.typed.value) inputmode="decimal" autocomplete="off"
                        required maxlength="40" aria-describedby="value-hint" aria-invalid=[(!it.problems.is_empty()).then_some("true")];
                    span .unit { "V" }
                }
                p .hint #value-hint { "Also: about 60, 60..90, under 5." }
            }
            @if !correcting { (condition(it)) }
            button .main type="submit" { "Tell it" }
        }
    }
}

fn pairs(it: &Entry) -> Markup {
    let word = |pin| match pin {
        Pin::Line => it.words.line.as_str(),
        Pin::Neutral => it.words.neutral.as_str(),
        Pin::Earth => it.words.earth.as_str(),
    };
    let two = face::form_of(&it.receptacle) == face::Form::TwoLines;
    let name = |pin| match (pin, two) {
        (Pin::Neutral, true) => format!("{} 2", it.words.line),
        _ => word(pin).to_owned(),
    };
    html! {
        fieldset {
            legend { "Between which contacts" }
            div .face {
                (face::face(&it.receptacle, &it.words))
                div .choice .big {
                    @for (key, from, to) in PAIRS {
                        @if it.receptacle.earth_contact || to != Pin::Earth {
                            label {
                                input type="radio" name="pair" id=(format!("pair-{key}")) value=(key) required
                                    checked[it.typed.pair == key || (it.typed.pair.is_empty() && key == "ln")];
                                (name(from)) " – " (name(to))
                            }
                        }
                    }
                }
            }
            p .hint { (it.receptacle.name) ": " (it.receptacle.says) "." }
        }
    }
}

fn condition(it: &Entry) -> Markup {
    html! {
        fieldset {
            legend { "What is switched on there" }
            div .choice {
                @for (value, name) in LOADS {
                    label { input type="radio" name="loads" value=(value) checked[it.typed.loads == value]; (name) }
                }
                label { input type="checkbox" name="test_load" value=(TEST_LOAD) checked[!it.typed.test_load.is_empty()]; "Test load " (TEST_LOAD) " W" }
                label { input type="checkbox" name="input" value="low impedance" checked[!it.typed.input.is_empty()]; "Low-impedance input" }
            }
        }
        div .field {
            label for="meter" { "Meter" }
            select #meter name="meter" {
                option value="" selected[it.typed.meter.is_empty()] {
                    @match &it.meter {
                        Some(meter) => { "The one used last: " (meter) }
                        None => "Not told: a doubtful one is assumed"
                    }
                }
                @for class in metrology::Meter::classes() {
                    @if let Some(id) = &class.class {
                        option value=(id) selected[it.typed.meter == *id] { (class.name) }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use site::region::Region;

    fn words() -> Words {
        Region::find("north-america")
            .expect("a built-in region")
            .words
            .clone()
    }

    fn typed(value: &str) -> Typed {
        Typed {
            pair: "ln".into(),
            value: value.into(),
            ..Typed::default()
        }
    }

    #[test]
    fn what_is_chosen_becomes_one_line() {
        let it = Typed {
            loads: "with load".into(),
            test_load: "1000".into(),
            input: "low impedance".into(),
            meter: "mid".into(),
            ..typed("121,2 V")
        };
        let line = it.line("desk", &words()).expect("it is sound");
        assert_eq!(
            line,
            "desk: hot-neutral 121.2 V with load with a test load of 1000 W low impedance, meter mid"
        );
        let region = Region::find("north-america").expect("a built-in region");
        let (_, visit) = site::quick::quick(&line, region).expect("the line is understood");
        assert!(visit.readings[0].condition.test_load.is_some());
        assert_eq!((visit.readings.len(), visit.meters.len()), (1, 1));
    }

    #[test]
    fn a_field_tells_nothing_but_itself() {
        let mut misses = Vec::new();
        for value in [
            "",
            " ",
            "V",
            "120 V; hall: H-N 3",
            "120: 3",
            "1\n2",
            "<script>",
            "no digit",
        ] {
            if let Ok(line) = typed(value).line("desk", &words()) {
                misses.push(line);
            }
        }
        let other = Typed {
            corrects: "r1; hall".into(),
            ..typed("120")
        };
        misses.extend(other.line("desk", &words()));
        assert!(misses.is_empty(), "{misses:?}");
        for value in [
            "120", "121.2", "0", "about 60", "60..90", "under 5", "<5", "~60",
        ] {
            assert!(typed(value).line("desk", &words()).is_ok(), "{value}");
        }
    }
}
