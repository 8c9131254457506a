//! Sentences in the words of the region. Nothing here decides anything.

use chain::element::Element;
use site::finding::{Action, Use, When, Who};
use site::model::{CircuitIx, Origin, OutletIx, PanelIx, Site};
use site::region::Words;
use site::visit::{
    Bar, Contact, Input, Lamp, Observation, Pin, Reach, Reading, Sign, Signals, Told, Whereabouts,
};

use crate::answer::Group;
use crate::causes::Single;

/// So many causes get a line of their own at most; none of them that is rarer than this but the first.
const NAMED: usize = 5;
const RARE: f64 = 0.01;

/// The causes worth a line each, how many others there are, and the probability of these together.
#[must_use]
pub fn worth_a_line(groups: &[Group]) -> (Vec<&Group>, usize, f64) {
    let named = |(n, it): &(usize, &Group)| *n == 0 || (*n < NAMED && it.probability >= RARE);
    let (named, others): (Vec<_>, Vec<_>) = groups.iter().enumerate().partition(named);
    let rest = others.iter().map(|(_, it)| it.probability).sum();
    let named = named.into_iter().map(|(_, it)| it).collect();
    (named, others.len(), rest)
}

/// The word of a pin.
#[must_use]
pub fn pin(site: &Site, pin: Pin) -> &str {
    let words = &site.region.words;
    match pin {
        Pin::Line => &words.line,
        Pin::Neutral => &words.neutral,
        Pin::Earth => &words.earth,
    }
}

/// What people call an outlet.
#[must_use]
pub fn outlet(site: &Site, ix: OutletIx) -> &str {
    &site.outlets[ix.0].label
}

/// A circuit in words; one that was assumed has no name of its own.
#[must_use]
pub fn circuit(site: &Site, ix: CircuitIx) -> String {
    match (site.origin, ix.0) {
        (Origin::Assumed, 0) => "the circuit".into(),
        (Origin::Assumed, 1) => "another circuit".into(),
        (Origin::Assumed, _) => "a circuit of the other leg".into(),
        (Origin::Told, c) => format!("circuit {}", site.circuits[c].id),
    }
}

/// A panel in words.
fn panel(site: &Site, ix: PanelIx) -> String {
    let word = &site.region.words.panel;
    match site.origin {
        Origin::Assumed => format!("the {word}"),
        Origin::Told => format!("{word} {}", site.panels[ix.0].id),
    }
}

/// An element in words.
#[must_use]
pub fn element(site: &Site, at: Element) -> String {
    match at {
        Element::Supply => "the supply".into(),
        Element::Service => "the service".into(),
        Element::Panel(p) => panel(site, p),
        Element::Circuit(c) => self::circuit(site, c),
        Element::Run(o) | Element::Outlet(o) => outlet(site, o).into(),
        Element::Meter(_) => "the meter".into(),
    }
}

/// A template of the catalogue filled for one place.
#[must_use]
pub fn fill(template: &str, site: &Site, at: Element) -> String {
    let words = &site.region.words;
    let circuit = at.circuit(site);
    let before = match at {
        Element::Run(o) | Element::Outlet(o) => match site.outlets[o.0].after {
            Some(b) => outlet(site, b).to_owned(),
            None => format!("the {}", words.panel),
        },
        _ => format!("the {}", words.panel),
    };
    let circuit_name = circuit.map_or_else(|| "the circuit".into(), |c| self::circuit(site, c));
    let panel = match at {
        Element::Panel(p) => self::panel(site, p),
        _ => circuit.map_or_else(
            || format!("the {}", words.panel),
            |c| self::panel(site, site.circuits[c.0].panel),
        ),
    };
    let article = |word: &str| {
        if word.starts_with(['a', 'e', 'i', 'o', 'u']) {
            "an"
        } else {
            "a"
        }
    };
    let with = |text: String, key: &str, word: &str| {
        text.replace(&format!(" an {key}"), &format!(" {} {word}", article(word)))
            .replace(&format!(" a {key}"), &format!(" {} {word}", article(word)))
            .replace(key, word)
    };
    let text = template
        .replace("{at}", &element(site, at))
        .replace("{before}", &before)
        .replace("{circuit}", &circuit_name)
        .replace("{panel}", &panel);
    let text = with(text, "{line}", &words.line);
    let text = with(text, "{neutral}", &words.neutral);
    with(text, "{earth}", &words.earth)
}

/// The first letter made a capital.
#[must_use]
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// What one fault says at its place.
#[must_use]
pub(crate) fn says(site: &Site, single: &Single) -> String {
    fill(single.fault.says, site, single.at)
}

/// A contact in words.
#[must_use]
pub fn contact(site: &Site, contact: Contact) -> String {
    match contact {
        Contact::Outlet(o, p) => format!("{} of {}", pin(site, p), outlet(site, o)),
        Contact::Panel(p, bar) => {
            let bar = match bar {
                Bar::Leg(k) => site
                    .service
                    .system
                    .legs
                    .get(k)
                    .map_or_else(|| "a leg".into(), |l| format!("leg {}", l.name)),
                Bar::Neutral => site.region.words.neutral.clone(),
                Bar::Earth => site.region.words.earth.clone(),
            };
            format!(
                "{bar} of {} {}",
                site.region.words.panel, site.panels[p.0].id
            )
        }
        Contact::TrueEarth => "true earth".into(),
    }
}

/// A reading in words: `front desk, hot to neutral: 0 V`.
#[must_use]
pub fn reading(site: &Site, r: &Reading) -> String {
    let what = match (r.from, r.to) {
        (Contact::Outlet(a, p), Contact::Outlet(b, q)) if a == b => {
            format!("{}, {} to {}", outlet(site, a), pin(site, p), pin(site, q))
        }
        (a, b) => format!("{} to {}", contact(site, a), contact(site, b)),
    };
    let value = match &r.value {
        Told::Volts(v) => v.to_string(),
        Told::Hertz(v) => v.to_string(),
        Told::Amps(v) => v.to_string(),
        Told::Ohms(v) => v.to_string(),
    };
    let mut with = String::new();
    if r.condition.test_load.is_some() {
        with.push_str(" under a test load");
    }
    if r.input == Input::LowImpedance {
        with.push_str(" on the low-impedance input");
    }
    format!("{what}{with}: {value}")
}

/// Volts for people.
#[must_use]
pub fn volts(v: f64) -> String {
    if v < 0.1 {
        format!("{:.2} V", v)
    } else if v < 10.0 {
        format!("{v:.1} V")
    } else {
        format!("{v:.0} V")
    }
}

/// A probability for people: `87 %`, `under 1 %`, `over 99 %`.
#[must_use]
pub fn percent(probability: f64) -> String {
    let percent = 100.0 * probability;
    if !percent.is_finite() {
        "unknown".to_owned()
    } else if percent < 1.0 {
        "under 1 %".to_owned()
    } else if percent > 99.0 {
        "over 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// Who, as the region says it.
#[must_use]
pub fn who(site: &Site, who: Who) -> String {
    match who {
        Who::Nobody => "nobody has to act".into(),
        Who::Owner => "the owner's to do".into(),
        Who::Technician => "the technician's to do".into(),
        Who::Electrician => format!("a {}'s work", site.region.words.electrician),
        Who::Utility => format!("{}'s work", site.region.words.utility),
    }
}

/// The first line: dangerous or not, may it stay in use, whose it is.
#[must_use]
pub fn headline(site: &Site, action: Action, danger: f64) -> String {
    let lead = match (action.use_, danger) {
        (Use::Stop, d) if d >= 0.5 => "DANGER: take it out of use now",
        (Use::Stop, _) => "POSSIBLE DANGER: out of use until this is settled",
        (Use::Restricted, _) => "Use it only with the restriction below",
        (Use::Yes, d) if d >= 0.01 => "No sign of danger so far; it may stay in use",
        (Use::Yes, _) => "Not dangerous as far as was checked; it may stay in use",
    };
    let by = match action.when {
        When::None => "",
        When::Plan => ", with the next planned work",
        When::Soon => ", within days",
        When::Now => ", now",
    };
    match action.who {
        Who::Nobody => format!("{lead}. Nobody has to act."),
        w => format!("{lead}. It is {}{by}.", who(site, w)),
    }
}

/// Something seen, heard or told in words: `front desk: buzzing`.
#[must_use]
pub fn observation(site: &Site, o: &Observation) -> String {
    let at = match o.at {
        Whereabouts::Outlet(x) => outlet(site, x).to_owned(),
        Whereabouts::Circuit(c) => circuit(site, c),
        Whereabouts::Panel(p) => {
            format!("{} {}", site.region.words.panel, site.panels[p.0].id)
        }
        Whereabouts::Site => "the premises".into(),
    };
    format!("{at}: {}", sign(o.what, &site.region.words))
}

/// A sign in words, by the names of the region: `lamps hot-neutral lit, hot-ground dark, neutral-ground lit`.
#[must_use]
pub fn sign(sign: Sign, words: &Words) -> String {
    let pin = |it: Pin| match it {
        Pin::Line => words.line.as_str(),
        Pin::Neutral => words.neutral.as_str(),
        Pin::Earth => words.earth.as_str(),
    };
    let lamp = |it: Lamp| match it {
        Lamp::Lit => "lit",
        Lamp::Dim => "dim",
        Lamp::Dark => "dark",
    };
    let plain = match sign {
        Sign::Lamps {
            line_neutral,
            line_earth,
            neutral_earth,
        } => {
            let name = |a, b| format!("{}-{}", pin(a), pin(b));
            return format!(
                "lamps {} {}, {} {}, {} {}",
                name(Pin::Line, Pin::Neutral),
                lamp(line_neutral),
                name(Pin::Line, Pin::Earth),
                lamp(line_earth),
                name(Pin::Neutral, Pin::Earth),
                lamp(neutral_earth)
            );
        }
        Sign::Detector {
            pin: it,
            signals: Signals::Yes,
        } => return format!("detector signals at {}", pin(it)),
        Sign::Detector {
            pin: it,
            signals: Signals::No,
        } => return format!("detector quiet at {}", pin(it)),
        Sign::ResidualTripped => return format!("{} tripped", words.residual),
        Sign::Scope(reach) => {
            let far = match reach {
                Reach::Pin => "one contact",
                Reach::Outlet => "one outlet",
                Reach::Circuit => "one circuit",
                Reach::Leg => "one leg",
                Reach::Floor => "one floor or panel",
                Reach::House => "the whole premises",
                Reach::Street => "the neighbours as well",
            };
            return format!("it reaches {far}");
        }
        Sign::BreakerTripped => "breaker tripped",
        Sign::ArcTripped => "arc-fault device tripped",
        Sign::BreakerClosed => "breaker on",
        Sign::Dead => "nothing plugged in works",
        Sign::Works => "things plugged in work",
        Sign::Buzzing => "buzzing",
        Sign::Warm => "warm",
        Sign::Burnt => "smell of burning or scorch marks",
        Sign::Flicker => "lights flicker or things restart",
        Sign::Brightening => "some lights brighten",
        Sign::Dimming => "lights dim when something starts",
        Sign::Shock => "a tingle or a shock was felt",
        Sign::LoosePlug => "plugs sit loosely",
        Sign::EquipmentBurnt => "several things burnt out",
        Sign::Wet => "water or damp",
        Sign::AfterWorks => "after works",
        Sign::AfterStorm => "after a storm or an outage",
        Sign::SwitchMatters => "a switch changes it",
        Sign::SwitchOff => "its switch is off",
        Sign::SwitchOn => "its switch is on, or there is none",
        Sign::OldWiring => "old wiring",
        Sign::NeutralBroken => return format!("{} broken or off its terminal", words.neutral),
        Sign::EarthMissing => return format!("{} open or missing", words.earth),
        Sign::FaultLight => "a protector or a UPS says that the wiring is wrong",
        Sign::CableSparks => "a cable between machines at two outlets sparked or got hot",
        Sign::NotUnderstood(_) => "not understood, kept in the record",
    };
    plain.to_owned()
}

/// An action as a part of a sentence: `take it out of use; it is for a licensed electrician, now`.
#[must_use]
pub fn to_do(action: Action, words: &Words) -> String {
    let use_ = match action.use_ {
        Use::Yes => "it may stay in use",
        Use::Restricted => "use it only as the caution says",
        Use::Stop => "take it out of use",
    };
    let when = match action.when {
        When::None => "",
        When::Plan => "with the next planned work",
        When::Soon => "within days",
        When::Now => "now",
    };
    let who = match action.who {
        Who::Nobody => return use_.to_owned(),
        Who::Owner => "the owner",
        Who::Technician => "the technician",
        Who::Electrician => &words.electrician,
        Who::Utility => &words.utility,
    };
    match when {
        "" => format!("{use_}; it is for {who}", who = with_article(who)),
        when => format!("{use_}; it is for {who}, {when}", who = with_article(who)),
    }
}

fn with_article(who: &str) -> String {
    if who.starts_with("the ") || who.starts_with("a ") {
        who.to_owned()
    } else {
        format!("a {who}")
    }
}

/// A sentence as a part of another: its first letter made small, unless it begins with an abbreviation or a name.
#[must_use]
pub fn clause(text: &str) -> String {
    let mut chars = text.chars();
    match (chars.next(), chars.next()) {
        (Some(first), Some(second)) if second.is_lowercase() || second == ' ' => {
            first.to_lowercase().chain([second]).chain(chars).collect()
        }
        _ => text.to_owned(),
    }
}

/// A headline behind its verdict, whose word need not stand twice.
#[must_use]
pub fn behind_verdict(text: &str) -> String {
    sentence(text.strip_prefix("DANGER: ").unwrap_or(text))
}

/// Weights smaller than this, natural logarithms of a likelihood ratio, speak neither way.
pub const NEITHER: f64 = 0.2;

/// How much a reading speaks for a cause, from the natural logarithm of its likelihood ratio: `for it, 20 : 1`.
#[must_use]
pub fn odds_for(weight: f64) -> String {
    let odds = |it: f64| {
        let ratio = it.exp();
        if ratio > 1000.0 {
            "over 1000".to_owned()
        } else if ratio < 10.0 {
            format!("{ratio:.1}")
        } else {
            format!("{ratio:.0}")
        }
    };
    if !weight.is_finite() {
        "no figure".to_owned()
    } else if weight.abs() < NEITHER {
        "neither way".to_owned()
    } else if weight > 0.0 {
        format!("for it, {} : 1", odds(weight))
    } else {
        format!("against it, {} : 1", odds(-weight))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doubt_is_never_rounded_away() {
        assert_eq!(percent(0.9999), "over 99 %");
        assert_eq!(percent(0.99), "99 %");
        assert_eq!(percent(0.004), "under 1 %");
        assert_eq!(percent(f64::NAN), "unknown");
    }

    #[test]
    fn weights_are_told_as_odds() {
        assert_eq!(odds_for(3.0), "for it, 20 : 1");
        assert_eq!(odds_for(-0.7), "against it, 2.0 : 1");
        assert_eq!(odds_for(50.0), "for it, over 1000 : 1");
        assert_eq!(odds_for(0.0), "neither way");
        assert_eq!(odds_for(f64::NEG_INFINITY), "no figure");
    }
}
