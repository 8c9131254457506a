//! Verdicts, actions and odds in words and shapes, so that nothing hangs on colour alone.

use site::finding::Verdict;
use site::model::{CircuitIx, Origin, Site};
use site::region::Words;
use site::visit::{Condition, Lamp, LoadScope, Pin, Reach, Running, Sign, Signals, SwitchState};

use crate::screen::Looks;

/// Shape and word of a verdict: `◆ DANGER`.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Good => "● GOOD",
        Verdict::Advice => "○ ADVICE",
        Verdict::Undecided => "? UNDECIDED",
        Verdict::Defect => "▲ DEFECT",
        Verdict::Danger => "◆ DANGER",
    }
}

/// Looks of a verdict.
pub fn looks(verdict: Verdict) -> Looks {
    match verdict {
        Verdict::Good => Looks::Good,
        Verdict::Advice | Verdict::Undecided => Looks::Doubt,
        Verdict::Defect => Looks::Bad,
        Verdict::Danger => Looks::Danger,
    }
}

/// What the loads, switches and breakers did, behind a comma; nothing where nothing was told.
pub fn condition(site: &Site, condition: &Condition) -> String {
    let mut parts = Vec::new();
    for loads in &condition.loads {
        let whose = match loads.scope {
            LoadScope::Outlet(outlet) => format!("at {}", site.outlets[outlet.0].label),
            LoadScope::Circuit(circuit) => format!("of {}", circuit_name(site, circuit)),
            LoadScope::Site => "of the whole site".to_owned(),
        };
        let state = match loads.state {
            Running::On => "on",
            Running::Off => "off",
            Running::Unplugged => "unplugged",
        };
        parts.push(format!("loads {whose} {state}"));
    }
    for (load, state) in &condition.named {
        let state = match state {
            Running::On => "on",
            Running::Off => "off",
            Running::Unplugged => "unplugged",
        };
        parts.push(format!("{} {state}", site.loads[load.0].id));
    }
    if let Some((outlet, power)) = condition.test_load {
        parts.push(format!(
            "test load of {power} at {}",
            site.outlets[outlet.0].label
        ));
    }
    let state = |it: SwitchState| if it == SwitchState::Open { "off" } else { "on" };
    for (outlet, it) in &condition.switches {
        parts.push(format!(
            "wall switch of {} {}",
            site.outlets[outlet.0].label,
            state(*it)
        ));
    }
    for (circuit, it) in &condition.breakers {
        parts.push(format!(
            "breaker of {} {}",
            circuit_name(site, *circuit),
            state(*it)
        ));
    }
    if let Some(time) = condition.time {
        parts.push(format!("at {}", time.strftime("%H:%M")));
    }
    if parts.is_empty() {
        String::new()
    } else {
        format!(", {}", parts.join(", "))
    }
}

/// A circuit by its name; the one that was assumed has none.
pub fn circuit_name(site: &Site, circuit: CircuitIx) -> String {
    match site.origin {
        Origin::Assumed => "the circuit".to_owned(),
        Origin::Told => format!("circuit {}", site.circuits[circuit.0].id),
    }
}

/// A sign in words.
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

/// A probability for people: `87 %`, `under 1 %`, `over 99 %`.
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
}
