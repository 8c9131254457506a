//! Each reading held against its published limit, with the meter's own doubt.
//!
//! Conformance probability as JCGM 106: `good` from 95 %, outside to 5 %, else `undecided` with what would decide it.

use metrology::{Conformity, Function, Measured, Meter, Sourced, Volts};
use site::finding::{Action, Finding, Limit, Use, Verdict, When, Who};
use site::model::Site;
use site::visit::{Contact, Input, Pin, Reading, Told, Visit};

use crate::study::standing;
use crate::told::as_read;
use crate::words;

/// Findings for every reading that has a limit, in the order of the readings.
#[must_use]
pub fn verdicts(site: &Site, visit: &Visit) -> Vec<Finding> {
    standing(visit)
        .filter_map(|r| verdict(site, visit, r))
        .collect()
}

/// The finding of one reading, where it has a limit; whether a later one corrects it is not looked at.
#[must_use]
pub fn verdict(site: &Site, visit: &Visit, r: &Reading) -> Option<Finding> {
    let (Contact::Outlet(o, p), Contact::Outlet(q, s)) = (r.from, r.to) else {
        return None;
    };
    let Told::Volts(stated) = &r.value else {
        return None;
    };
    if o != q || r.input == Input::LowImpedance {
        return None;
    }
    let meter = r.meter.and_then(|m| visit.meters.get(m)).map(|m| &m.meter);
    let stated = as_read(stated, meter.is_some(), pair(p, s) == (true, true, false));
    let doubt = metrology::doubt(
        meter.unwrap_or(Meter::unknown()),
        Function::AcVolts,
        stated.value.si().abs(),
    )
    .alone();
    let value = Volts::from_si(stated.value.si().abs());
    let u = Volts::from_si((doubt.powi(2) + stated.standard_u().si().powi(2)).sqrt());
    let measured = Measured { value, u };
    let outlet = &site.outlets[o.0];
    let circuit = &site.circuits[outlet.circuit.0];
    let element = format!("outlet:{}", outlet.id);
    let name = &outlet.label;
    let (line, neutral, earth) = (
        words::pin(site, Pin::Line),
        words::pin(site, Pin::Neutral),
        words::pin(site, Pin::Earth),
    );
    let evidence = vec![words::reading(site, r)];
    match pair(p, s) {
        (true, true, false) => {
            let range = site
                .region
                .range(site.service.system, circuit.leg, circuit.second_leg);
            let p = metrology::conforms_between(&measured, range.low.value, range.high.value);
            let says = format!("{} to {}", range.low.value, range.high.value);
            let limit = Some(limit_of(says, range.high));
            let what = format!(
                "{line} to {neutral} at {name} is {}",
                words::volts(value.si())
            );
            Some(match Conformity::of(p) {
                Conformity::Conforms => Finding {
                    element,
                    verdict: Verdict::Good,
                    statement: format!("{what}: within its limits ({}).", words::percent(p)),
                    evidence,
                    limit,
                    action: Action {
                        use_: Use::Yes,
                        who: Who::Nobody,
                        when: When::None,
                    },
                    caution: String::new(),
                },
                Conformity::Fails => Finding {
                    element,
                    verdict: Verdict::Defect,
                    statement: format!("{what}: outside its limits."),
                    evidence,
                    limit,
                    action: Action {
                        use_: Use::Restricted,
                        who: Who::Electrician,
                        when: When::Soon,
                    },
                    caution: format!(
                        "Equipment may not work or may be harmed at this voltage; the cause is {} to find.",
                        words::who(site, Who::Electrician)
                    ),
                },
                Conformity::Undecided => Finding {
                    element,
                    verdict: Verdict::Undecided,
                    statement: format!(
                        "{what}: within its limits with {} only; a better meter or range would decide it (standard uncertainty now {}).",
                        words::percent(p),
                        words::volts(u.si())
                    ),
                    evidence,
                    limit,
                    action: Action {
                        use_: Use::Yes,
                        who: Who::Technician,
                        when: When::Plan,
                    },
                    caution: String::new(),
                },
            })
        }
        (false, true, true) => {
            let earthing = site.service.earthing;
            let advice = site.region.neutral_earth_advice(earthing);
            let defect = site.region.neutral_earth_defect(earthing);
            let below_defect = metrology::conforms_below(&measured, defect.value);
            let below_advice = metrology::conforms_below(&measured, advice.value);
            let (verdict, held, text, action) = if below_defect < 0.5 {
                let action = Action {
                    use_: Use::Restricted,
                    who: Who::Electrician,
                    when: When::Soon,
                };
                (Verdict::Defect, defect, "asks for a cause", action)
            } else if below_advice < 0.5 {
                let action = Action {
                    use_: Use::Yes,
                    who: Who::Electrician,
                    when: When::Plan,
                };
                (
                    Verdict::Advice,
                    advice,
                    "is more than usual; read it again under a known load",
                    action,
                )
            } else {
                let action = Action {
                    use_: Use::Yes,
                    who: Who::Nobody,
                    when: When::None,
                };
                (Verdict::Good, advice, "is as usual", action)
            };
            let statement = format!(
                "{neutral} to {earth} at {name} is {}: this {text}.",
                words::volts(value.si())
            );
            let limit = Some(limit_of(format!("up to {}", held.value), held));
            Some(Finding {
                element,
                verdict,
                statement,
                evidence,
                limit,
                action,
                caution: String::new(),
            })
        }
        _ => None,
    }
}

/// Which of line, neutral, earth a pair touches.
fn pair(p: Pin, q: Pin) -> (bool, bool, bool) {
    let has = |x| p == x || q == x;
    (has(Pin::Line), has(Pin::Neutral), has(Pin::Earth))
}

fn limit_of(says: String, limit: &Sourced<Volts>) -> Limit {
    Limit {
        says,
        source: limit.source.to_string(),
        basis: limit.basis,
    }
}
