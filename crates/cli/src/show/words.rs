//! Verdicts, actions and odds in words and shapes, so that nothing hangs on colour alone.

use site::finding::Verdict;
use site::model::{CircuitIx, Origin, Site};
use site::visit::{Condition, LoadScope, Running, SwitchState};

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
