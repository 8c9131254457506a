//! Findings from what a supply was held against: is it dangerous, may it stay in use, whose is it; then what, how sure,
//! and what next.

use metrology::{Basis, Conformity, Volts};
use site::finding::{Action, Finding, Limit, Use, Verdict, When, Who};
use site::machine::{Build, Part, PartKind};
use site::plug::Adapter;
use site::supply::{FormFactor, Input, Selected, Supply};
use site::typical::Usuals;

use crate::demand::Demand;
use crate::fit::{Place, Standing, factor_says};
use crate::lines::{Line, Of};
use crate::plugs::{self, Met, Need};
use crate::rules::Rules;

/// Where nothing has to be done.
pub(crate) const NOTHING_TO_DO: Action = Action {
    use_: Use::Yes,
    who: Who::Nobody,
    when: When::None,
};

const OVERLOADED: &str = "A supply beyond its limits shuts down under load and ages fast. Replace it as a whole: a supply is never opened.";
const HOT_CONTACT: &str = "A contact beyond its rating gets hot and may burn: unplug the machine before anything is seated or parted, and do not run it like this.";
const WRONG_INPUT: &str = "Set it before it is plugged in, with the cord out of the wall: 230 V on a supply set to 115 V destroys it at once, with a bang and smoke.";

/// What is held against what.
pub(crate) struct Held<'a> {
    pub demand: &'a Demand,
    pub build: &'a Build,
    pub supply: &'a Supply,
    pub place: &'a Place,
    pub standing: Standing,
}

/// Everything that was found, the worst first.
pub(crate) fn findings(held: &Held, lines: &[Line], seated: &[(Need, Met)]) -> Vec<Finding> {
    let (supply, place) = (held.supply, held.place);
    let mut found = Vec::new();
    found.extend(input(supply, place));
    let mut told: Vec<&Of> = Vec::new();
    for line in lines {
        if !told.contains(&&line.of) {
            told.push(&line.of); // the worst moment of each stands first
            found.push(finding(line, held));
        }
    }
    found.extend(untold(supply, place));
    found.extend(connectors(supply, place, seated));
    found.extend(adapters(supply, place));
    found.extend(cards(held));
    found.extend(form(held.build, supply, place));
    found.sort_by_key(|it| std::cmp::Reverse(it.verdict));
    found
}

fn about(place: &Place, verdict: Verdict, statement: String, action: Action) -> Finding {
    Finding {
        element: place.element.clone(),
        verdict,
        statement,
        evidence: Vec::new(),
        limit: None,
        action,
        caution: String::new(),
    }
}

fn action(use_: Use, when: When) -> Action {
    Action {
        use_,
        who: Who::Technician,
        when,
    }
}

/// Three digits, as they are read.
pub(crate) fn number(value: f64) -> String {
    match value.abs() {
        it if it >= 100.0 => format!("{value:.0}"),
        it if it >= 10.0 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    }
}

/// A probability in words that do not say more than is known.
pub(crate) fn percent(p: f64) -> String {
    match 100.0 * p {
        it if it > 99.0 => "over 99 %".to_owned(),
        it if it < 1.0 => "under 1 %".to_owned(),
        it => format!("{it:.0} %"),
    }
}

fn finding(line: &Line, held: &Held) -> Finding {
    let (supply, place) = (held.supply, held.place);
    let unit = line.unit;
    let what = line.of.says();
    let when = match line.of {
        Of::Inrush(_) => "when plugged in cold",
        _ => line.moment.words(),
    };
    let (demand, limit) = (number(line.demand), number(line.limit));
    let doubt = number(2.0 * line.u_demand);
    let chance = percent(line.probability());
    let statement = format!(
        "{what}: {demand} ± {doubt} {unit:?} {when}, of {limit} {unit:?}; holds with {chance}"
    );
    let (verdict, action, caution) = decide(line, held.standing);
    let mut found = about(place, verdict, statement, action);
    let margin = format!(
        "margin {} ± {} {unit:?} (95 %)",
        number(line.margin()),
        number(2.0 * line.u_margin())
    );
    found.evidence.push(margin);
    if verdict == Verdict::Undecided
        && let Some(part) = line.doubt.and_then(|it| held.demand.parts.get(it))
    {
        found.evidence.push(format!(
            "most of the doubt is in: {}; what stands on its label or sheet would decide",
            part.says
        ));
    }
    if matches!(line.of, Of::Inlet | Of::Circuit(_)) {
        found.evidence.push(factor_says(supply));
    }
    if let (Of::Circuit(_), Some(circuit)) = (&line.of, &place.circuit) {
        let others = number(circuit.others.si());
        found.evidence.push(format!(
            "of it {others} A by what else the file has on the circuit"
        ));
    }
    found.limit = Some(Limit {
        says: format!("{limit} {unit:?}"),
        source: line.source.to_owned(),
        basis: line.basis,
    });
    found.caution = caution.to_owned();
    found
}

/// A limit that may not hold is worse where something gets hot than where a protection ends it.
fn decide(line: &Line, standing: Standing) -> (Verdict, Action, &'static str) {
    let in_use = matches!(standing, Standing::InUse { .. });
    match (line.conformity(), &line.of) {
        (Conformity::Conforms, _) => (Verdict::Good, NOTHING_TO_DO, ""),
        (Conformity::Fails, Of::Contact(..)) => {
            (Verdict::Danger, action(Use::Stop, When::Now), HOT_CONTACT)
        }
        (Conformity::Undecided, Of::Contact(..)) => (
            Verdict::Undecided,
            action(Use::Restricted, When::Soon),
            HOT_CONTACT,
        ),
        (_, Of::Inrush(_)) => (
            Verdict::Advice,
            action(Use::Yes, When::Plan),
            "The device may trip when the machine is plugged in cold: plug machines in one after the other.",
        ),
        (Conformity::Fails, Of::Circuit(_)) => (
            Verdict::Defect,
            action(Use::Restricted, When::Soon),
            "The overcurrent device may trip under load: move loads to another circuit. A larger device is never the answer; circuits are a licensed electrician's.",
        ),
        (Conformity::Fails, _) => (
            Verdict::Defect,
            action(if in_use { Use::Restricted } else { Use::Stop }, When::Soon),
            OVERLOADED,
        ),
        (Conformity::Undecided, _) => (Verdict::Undecided, action(Use::Yes, When::Plan), ""),
    }
}

/// The input range or the selector against the voltage of the place.
fn input(supply: &Supply, place: &Place) -> Option<Finding> {
    let rules = Rules::built_in();
    let (low, high) = place.range;
    let volts = |it: Volts| it.to_string();
    let covers = |from: Volts, to: Volts| from <= low && high <= to;
    match supply.input {
        Input::NotTold => None,
        Input::Range { from, to } => {
            let good = covers(from, to);
            let nominal = place.nominal;
            let verdict = match good {
                true => Verdict::Good,
                // it works at the nominal voltage, and not over the whole range
                false if from <= nominal && nominal <= to => Verdict::Advice,
                false if nominal > to => Verdict::Danger,
                false => Verdict::Defect,
            };
            let what = format!(
                "input of {} to {}, and outlets of the region have {} to {}",
                volts(from),
                volts(to),
                volts(low),
                volts(high)
            );
            let todo = match verdict {
                Verdict::Good => NOTHING_TO_DO,
                Verdict::Advice => action(Use::Yes, When::Plan),
                _ => action(Use::Stop, When::Now),
            };
            let mut found = about(place, verdict, what, todo);
            if verdict == Verdict::Danger {
                found.caution = "More than its highest input voltage destroys it at once, with a bang and smoke: do not plug it in.".to_owned();
            }
            Some(found)
        }
        Input::Selector(None) => {
            let what = format!(
                "it has a voltage selector of which nobody told the position; here it has to be at {}",
                volts(right(place).volts())
            );
            let mut found = about(
                place,
                Verdict::Undecided,
                what,
                action(Use::Stop, When::Now),
            );
            found
                .evidence
                .push("a look at the selector would decide".to_owned());
            found.caution = WRONG_INPUT.to_owned();
            Some(found)
        }
        Input::Selector(Some(set)) => {
            let range = rules.selector(set);
            let right = right(place);
            let verdict = match (set == right, set) {
                (true, _) => Verdict::Good,
                (false, Selected::Low) => Verdict::Danger,
                (false, Selected::High) => Verdict::Defect,
            };
            let what = match verdict {
                Verdict::Good => format!("voltage selector at {}, as it has to be", set.volts()),
                Verdict::Danger => format!(
                    "voltage selector at {} where the outlet has {}: it would be destroyed",
                    set.volts(),
                    place.nominal
                ),
                _ => format!(
                    "voltage selector at {} where the outlet has {}: it does not start, or shuts down under load",
                    set.volts(),
                    place.nominal
                ),
            };
            let todo = match verdict {
                Verdict::Good => NOTHING_TO_DO,
                _ => action(Use::Stop, When::Now),
            };
            let mut found = about(place, verdict, what, todo);
            found.limit = Some(Limit {
                says: format!("{} to {}", range.value.0, range.value.1),
                source: range.source.to_string(),
                basis: range.basis,
            });
            if verdict != Verdict::Good {
                found.caution = WRONG_INPUT.to_owned();
            }
            Some(found)
        }
    }
}

/// Where a selector has to be: at the position nearest to the nominal voltage.
fn right(place: &Place) -> Selected {
    let off = |it: Selected| (it.volts() - place.nominal).abs();
    match off(Selected::Low) < off(Selected::High) {
        true => Selected::Low,
        false => Selected::High,
    }
}

/// What could not be judged because nobody told it.
fn untold(supply: &Supply, place: &Place) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut say = |what: &str, verdict: Verdict| {
        let mut it = about(
            place,
            verdict,
            what.to_owned(),
            action(Use::Yes, When::Plan),
        );
        it.evidence
            .push("the label of the supply would decide; it is read with the cord out".to_owned());
        found.push(it);
    };
    if supply.rating.is_none() {
        say(
            "its rating is not told: all rails together cannot be judged",
            Verdict::Undecided,
        );
    }
    if supply.rails.is_empty() {
        say(
            "what its rails may give is not told: no rail can be judged",
            Verdict::Undecided,
        );
    } else if !supply.rails.iter().any(|it| it.rail.is_standby()) {
        say(
            "what its standby rail may give is not told",
            Verdict::Advice,
        );
    }
    if supply.input == Input::NotTold {
        say(
            "what it may be plugged into is not told: a selector may be set wrong",
            Verdict::Advice,
        );
    }
    found
}

fn connectors(supply: &Supply, place: &Place, seated: &[(Need, Met)]) -> Vec<Finding> {
    if seated.is_empty() {
        return Vec::new();
    }
    if supply.connectors.is_empty() {
        let what = format!(
            "which connectors it has is not told; needed: {}",
            listed(seated)
        );
        let todo = action(Use::Yes, When::Plan);
        return vec![about(place, Verdict::Advice, what, todo)];
    }
    let mut found = Vec::new();
    for (need, met) in seated {
        match met {
            Met::Not(adapter) => {
                let what = format!(
                    "no {} connector is left for a {}",
                    need.plug.name(),
                    need.of
                );
                let todo = action(Use::Stop, When::Soon);
                let mut it = about(place, Verdict::Defect, what, todo);
                it.evidence.push(match adapter {
                    Some(it) => format!("an adapter {} would be sound", plugs::says(it)),
                    None => "no sound adapter fits what is left".to_owned(),
                });
                it.caution = "Unplug the machine and wait before anything is seated or parted; never force a connector that does not go in.".to_owned();
                found.push(it);
            }
            Met::By(plug) if *plug != need.plug => {
                let what = format!(
                    "a {} connector stands in for a {} of a {}",
                    plug.name(),
                    need.plug.name(),
                    need.of
                );
                let todo = action(Use::Yes, When::Plan);
                let mut it = about(place, Verdict::Advice, what, todo);
                it.evidence
                    .push("it fits; its contacts are judged by what they carry".to_owned());
                found.push(it);
            }
            Met::By(_) | Met::Through(_) => {}
        }
    }
    if !found.iter().any(|it| it.verdict >= Verdict::Defect) {
        let what = format!("every part has its connector: {}", listed(seated));
        found.push(about(place, Verdict::Good, what, NOTHING_TO_DO));
    }
    found
}

/// As "main-24, 2 sata-power".
fn listed(seated: &[(Need, Met)]) -> String {
    let mut counted: Vec<(&str, usize)> = Vec::new();
    for (need, _) in seated {
        let name = need.plug.name();
        match counted.iter_mut().find(|(it, _)| *it == name) {
            Some((_, n)) => *n += 1,
            None => counted.push((name, 1)),
        }
    }
    let each: Vec<String> = counted
        .iter()
        .map(|(name, n)| match n {
            1 => (*name).to_owned(),
            n => format!("{n} {name}"),
        })
        .collect();
    each.join(", ")
}

/// Adapters that lie ready, used or not: one that overloads a contact is dangerous in a drawer too.
fn adapters(supply: &Supply, place: &Place) -> Vec<Finding> {
    let one = |adapter: &Adapter| {
        let Some((asked, carried, rating)) = plugs::loading(adapter) else {
            let what = format!(
                "adapter {}: its contacts are in no table that we have",
                plugs::says(adapter)
            );
            return about(
                place,
                Verdict::Undecided,
                what,
                action(Use::Stop, When::Plan),
            );
        };
        let sound = asked <= carried;
        let verdict = if sound {
            Verdict::Good
        } else {
            Verdict::Danger
        };
        let what = format!(
            "adapter {}: up to {} W may be asked of contacts that carry {} W{}",
            plugs::says(adapter),
            number(asked.si()),
            number(carried.si()),
            if sound {
                ", it is sound"
            } else {
                ": it overloads them"
            }
        );
        let todo = match sound {
            true => NOTHING_TO_DO,
            false => action(Use::Stop, When::Now),
        };
        let mut found = about(place, verdict, what, todo);
        found.limit = Some(Limit {
            says: format!("{} a contact", rating.value),
            source: rating.source.to_string(),
            basis: rating.basis,
        });
        if !sound {
            found.caution = HOT_CONTACT.to_owned();
        }
        found
    };
    supply.adapters.iter().map(one).collect()
}

/// Graphics cards whose connectors are not allowed to carry what the slot leaves.
fn cards(held: &Held) -> Vec<Finding> {
    let of = held.build.parts.iter();
    let of = of.filter(|it| it.kind == PartKind::Graphics);
    let slot = &Usuals::built_in().slot;
    let one = |part: &Part| {
        let by_cable = part.power? - slot.value.0;
        let allowed = plugs::allowed(part);
        if by_cable <= allowed {
            return None;
        }
        let what = format!(
            "a graphics card of {} W has connectors for {} W and a slot for {} W",
            number(part.power?.si()),
            number(allowed.si()),
            number(slot.value.0.si())
        );
        let todo = action(Use::Stop, When::Soon);
        let mut found = about(held.place, Verdict::Defect, what, todo);
        found.limit = Some(Limit {
            says: format!("{} W by its connectors", number(allowed.si())),
            source: slot.source.to_string(),
            basis: slot.basis,
        });
        found.caution = HOT_CONTACT.to_owned();
        Some(found)
    };
    of.filter_map(one).collect()
}

fn form(build: &Build, supply: &Supply, place: &Place) -> Option<Finding> {
    let (takes, form) = (build.takes?, supply.form?);
    if takes == form && takes != FormFactor::Own {
        let what = format!("its size is {}, as the case takes it", form.name());
        return Some(about(place, Verdict::Good, what, NOTHING_TO_DO));
    }
    let own = takes == FormFactor::Own || form == FormFactor::Own;
    let mut found = match own {
        true => about(
            place,
            Verdict::Undecided,
            "a size of the machine's maker: only its own part is known to fit".to_owned(),
            action(Use::Yes, When::Plan),
        ),
        false => about(
            place,
            Verdict::Defect,
            format!(
                "its size is {}, and the case takes {}",
                form.name(),
                takes.name()
            ),
            action(Use::Stop, When::Soon),
        ),
    };
    found.limit = Some(Limit {
        says: format!("{} by the design guide", takes.name()),
        source: "design guides 336521 and its forerunners, mechanical chapters".to_owned(),
        basis: Basis::Memory,
    });
    Some(found)
}
