//! Faces of receptacles, drawn by us, with the names of their contacts in the words of the region.
//!
//! The names stand where the contacts are, so that a probe goes where the word says. Where a receptacle does not tell
//! line from neutral the page says so beside the picture.

use maud::{Markup, html};
use site::region::{Polarity, Receptacle, Words};

/// How a face is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Two upright slots, the neutral one longer, a round or U-shaped ground below.
    SlotsAndGround,
    /// Two upright slots of which one is longer, or of equal length.
    Slots,
    /// Two round holes and an earth contact above, drawn neutrally.
    RoundWithEarth,
    /// Two round holes.
    Round,
    /// Two lines and an earth: no neutral.
    TwoLines,
}

/// The form of a receptacle; what we have no drawing for is drawn as holes with names.
pub fn form_of(it: &Receptacle) -> Form {
    let american = [
        "5-15",
        "5-20",
        "l5-20",
        "l5-30",
        "tt-30",
        "jis-earth",
        "jis-earth-terminal",
    ];
    let slots = [
        "1-15",
        "1-15-unpolarized",
        "jis-two-slot",
        "jis-two-slot-polarised",
    ];
    match it.id.as_str() {
        id if american.contains(&id) => Form::SlotsAndGround,
        id if slots.contains(&id) => Form::Slots,
        id if id.starts_with("6-") || id.starts_with("l6-") || id == "jis-200" => Form::TwoLines,
        _ if it.earth_contact => Form::RoundWithEarth,
        _ => Form::Round,
    }
}

/// A contact on a face: middle, half width, half height, and where its name stands.
struct Spot {
    x: f64,
    y: f64,
    w: f64,
    h: f64,
    word: (f64, f64),
}

/// The face with its names; rings of the class `probe` mark the pair that is chosen.
pub fn face(it: &Receptacle, words: &Words) -> Markup {
    let form = form_of(it);
    let round = matches!(form, Form::RoundWithEarth | Form::Round);
    let defined = it.polarity == Polarity::Defined;
    // seen from the front with the ground below: neutral on the left, line on the right
    let (neutral, line, earth) = match form {
        Form::SlotsAndGround | Form::Slots | Form::TwoLines => (
            Spot {
                x: 56.0,
                y: 66.0,
                w: 4.0,
                h: if defined { 19.0 } else { 15.0 },
                word: (50.0, 34.0),
            },
            Spot {
                x: 104.0,
                y: 66.0,
                w: 4.0,
                h: 15.0,
                word: (112.0, 34.0),
            },
            Spot {
                x: 80.0,
                y: 112.0,
                w: 9.0,
                h: 10.0,
                word: (80.0, 146.0),
            },
        ),
        Form::RoundWithEarth | Form::Round => (
            Spot {
                x: 52.0,
                y: 92.0,
                w: 9.0,
                h: 9.0,
                word: (54.0, 128.0),
            },
            Spot {
                x: 108.0,
                y: 92.0,
                w: 9.0,
                h: 9.0,
                word: (106.0, 128.0),
            },
            Spot {
                x: 80.0,
                y: 54.0,
                w: 9.0,
                h: 9.0,
                word: (80.0, 34.0),
            },
        ),
    };
    let second = format!("{} 2", words.line);
    let name_of_second = if form == Form::TwoLines {
        &second
    } else {
        &words.neutral
    };
    let says = format!(
        "{}: {}. {}",
        it.name,
        it.says,
        if defined {
            ""
        } else {
            "Which slot is which is not defined."
        }
    );
    html! {
        svg viewBox="0 0 160 160" role="img" aria-label=(says.trim()) {
            rect .plate x="6" y="6" width="148" height="148" rx="18" {}
            @if round { circle .ring cx="80" cy="80" r="68" {} }
            (contact(&neutral, "at-neutral", name_of_second, round))
            (contact(&line, "at-line", &words.line, round))
            @if it.earth_contact { (contact(&earth, "at-earth", &words.earth, true)) }
        }
    }
}

fn contact(it: &Spot, class: &str, word: &str, round: bool) -> Markup {
    let ring = it.w.max(it.h) + 6.0;
    html! {
        @if round { ellipse .slot cx=(it.x) cy=(it.y) rx=(it.w) ry=(it.h) {} }
        @else { rect .slot x=(it.x - it.w) y=(it.y - it.h) width=(2.0 * it.w) height=(2.0 * it.h) {} }
        ellipse class={ "probe " (class) } cx=(it.x) cy=(it.y) rx=(ring.min(it.w + 12.0)) ry=(ring) {}
        text .word x=(it.word.0) y=(it.word.1) text-anchor="middle" { (word) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use site::region::Region;

    #[test]
    fn every_receptacle_of_every_region_is_drawn_with_the_contacts_it_has() {
        let mut misses = Vec::new();
        for region in Region::all() {
            for it in &region.receptacles {
                let drawn = face(it, &region.words).into_string();
                let earth = drawn.contains("at-earth");
                let named = drawn.contains(&format!(">{}<", region.words.line));
                if earth != it.earth_contact || !named || drawn.contains("NaN") {
                    misses.push(format!("{} {}", region.id, it.id));
                }
            }
        }
        assert!(misses.is_empty(), "{misses:?}");
    }
}
