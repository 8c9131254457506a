//! Findings on connectors, adapters, graphics cards and the size of a supply: what is plugged and fastened where.

use metrology::Basis;
use site::finding::{Finding, Limit, Use, Verdict, When};
use site::machine::{Build, Part, PartKind};
use site::plug::Adapter;
use site::supply::{FormFactor, Supply};
use site::typical::Usuals;

use super::{HOT_CONTACT, Held, NOTHING_TO_DO, about, action, number};
use crate::place::Place;
use crate::plugs::{self, Met, Need};

/// Each part with its connector, or without.
pub(super) fn connectors(supply: &Supply, place: &Place, seated: &[(Need, Met)]) -> Vec<Finding> {
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
pub(super) fn adapters(supply: &Supply, place: &Place) -> Vec<Finding> {
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
pub(super) fn cards(held: &Held) -> Vec<Finding> {
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

pub(super) fn form(build: &Build, supply: &Supply, place: &Place) -> Option<Finding> {
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
