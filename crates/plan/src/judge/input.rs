//! Findings on what a supply may be plugged into.

use metrology::Volts;
use site::finding::{Finding, Limit, Use, Verdict, When};
use site::supply::{Input, Selected, Supply};

use super::{NOTHING_TO_DO, about, action};
use crate::place::Place;
use crate::rules::Rules;

const WRONG_INPUT: &str = "Set it before it is plugged in, with the cord out of the wall: 230 V on a supply set to 115 V destroys it at once, with a bang and smoke.";

/// The input range or the selector against the voltage of the place.
pub(super) fn input(supply: &Supply, place: &Place) -> Option<Finding> {
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
