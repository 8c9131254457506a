//! Findings from what a supply was held against: is it dangerous, may it stay in use, whose is it; then what, how sure,
//! and what next.

mod input;
mod seats;

use metrology::{Basis, Conformity};
use site::finding::{Action, Finding, Limit, Use, Verdict, When, Who};
use site::machine::Build;
use site::supply::{Input, Rail, Supply};
use site::typical::Moment;

use crate::demand::Demand;
use crate::fit::Standing;
use crate::inlet::factor_says;
use crate::lines::{Line, Of};
use crate::place::Place;
use crate::plugs::{Met, Need};

/// Where nothing has to be done.
pub(crate) const NOTHING_TO_DO: Action = Action {
    use_: Use::Yes,
    who: Who::Nobody,
    when: When::None,
};

const OVERLOADED: &str = "A supply beyond its limits shuts down under load and ages fast. Replace it as a whole: a supply is never opened.";
const HOT_CONTACT: &str = "A contact beyond its rating gets hot and may burn: unplug the machine before anything is seated or parted, and do not run it like this.";

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
    found.extend(input::input(supply, place));
    // of each limit the moment that is judged worst; among those the one that gives way first, which stands first
    let mut worst: Vec<(Verdict, &Line)> = Vec::new();
    for line in lines {
        let verdict = decide(line, held.standing).0;
        match worst.iter_mut().find(|(_, it)| it.of == line.of) {
            Some(it) if it.0 < verdict => *it = (verdict, line),
            Some(_) => {}
            None => worst.push((verdict, line)),
        }
    }
    found.extend(worst.into_iter().map(|(_, line)| finding(line, held)));
    found.extend(untold(held));
    found.extend(seats::connectors(supply, place, seated));
    found.extend(seats::adapters(supply, place));
    found.extend(seats::cards(held));
    found.extend(seats::form(held.build, supply, place));
    found.sort_by_key(|it| std::cmp::Reverse((it.verdict, it.action.use_)));
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
        // our guess alone makes no defect
        (Conformity::Fails, _) if is_guess(line) => (
            Verdict::Undecided,
            action(Use::Yes, When::Plan),
            "It may shut down in such peaks; no guide says that it has to bear them.",
        ),
        (Conformity::Fails, _) => (
            Verdict::Defect,
            action(if in_use { Use::Restricted } else { Use::Stop }, When::Soon),
            OVERLOADED,
        ),
        (Conformity::Undecided, _) => (Verdict::Undecided, action(Use::Yes, When::Plan), ""),
    }
}

/// A peak of 10 ms on a supply of which no guide speaks.
fn is_guess(line: &Line) -> bool {
    line.moment == Moment::Excursion && line.basis == Basis::Judgement
}

/// What could not be judged because nobody told it.
fn untold(held: &Held) -> Vec<Finding> {
    let (supply, place) = (held.supply, held.place);
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
    let is_told = |rail: Rail| supply.rails.iter().any(|it| it.rail.family() == rail);
    for rail in [Rail::Plus12, Rail::Plus5, Rail::Plus33] {
        let drawn = held.demand.amps(Moment::Sustained, rail).value() > 0.0;
        if drawn && !supply.rails.is_empty() && !is_told(rail) {
            let what = format!("what its {} rail may give is not told", rail.name());
            say(&what, Verdict::Undecided);
        }
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
