//! Holds the engine's answers against the cases.

use std::fmt::Write;

use serde::Serialize;
use site::finding::{Use, Who};
use site::visit::{Observation, Sign};
use trace::Question;
use trace::answer::Group;

use crate::field::case::{Case, all};
use crate::field::codes::{Code, find};
use crate::field::told::Asked;

/// One case judged.
#[derive(Clone, Debug, Serialize)]
pub struct Judged {
    /// Case.
    pub id: String,
    /// Codes that count as right.
    pub wanted: Vec<String>,
    /// Place of the first right group, from 1.
    pub place: Option<usize>,
    /// Leading groups: faults and probability.
    pub got: Vec<(String, f64)>,
    /// Something not in the catalogue.
    pub not_in_catalogue: f64,
    /// Mildest use that is right, and the one given.
    pub uses: (Use, Use),
    /// Who had to act, and who was named.
    pub who: (String, Who),
    /// Readings and observations that were understood.
    pub understood: usize,
    /// Sentences that were not.
    pub not_understood: usize,
}

impl Judged {
    /// The action is no milder than the hazard.
    #[must_use]
    pub fn is_as_strong(&self) -> bool {
        self.uses.1 >= self.uses.0
    }

    /// And it is given to somebody who may do at least as much as whoever had to act.
    #[must_use]
    pub fn is_whose(&self) -> bool {
        let wanted = match self.who.0.as_str() {
            "licensed_electrician" | "utility" => 2,
            "technician" => 1,
            _ => 0,
        };
        let given = match self.who.1 {
            Who::Electrician | Who::Utility => 2,
            Who::Technician => 1,
            Who::Owner | Who::Nobody => 0,
        };
        given >= wanted
    }
}

/// The codes of a case that count as right; empty for a case that is not of the wiring, or that is none but a stray
/// voltage.
#[must_use]
pub fn wanted(case: &Case) -> Vec<&'static Code> {
    let codes: Vec<&Code> = case.cause.faults.iter().filter_map(|c| find(c)).collect();
    let of_the_wiring = case.category == "outlet_circuit"
        || case.cause.faults.first().is_some_and(|c| find(c).is_some());
    if !of_the_wiring {
        return Vec::new();
    }
    if case.cause.basis == "ambiguous" {
        let more = case
            .cause
            .alternatives_not_excluded
            .iter()
            .filter_map(|c| find(c));
        return codes.into_iter().chain(more).collect();
    }
    codes.into_iter().take(1).collect()
}

/// A group that says that nothing is wrong is never right, whatever else no check tells apart from it.
fn is_right(group: &Group, codes: &[&Code]) -> bool {
    if group.faults.is_empty() {
        return false;
    }
    let right = |kind: &str| codes.iter().any(|c| c.kinds.contains(&kind));
    let members = std::iter::once(&group.faults).chain(group.others.iter().map(|m| &m.faults));
    members
        .into_iter()
        .any(|faults| faults.iter().any(|f| right(&f.kind)))
}

/// Judges every case of the wiring.
///
/// # Errors
/// Where the data does not read.
pub fn cases(seed: u64) -> Result<Vec<Judged>, String> {
    let judged = all()?.into_iter().filter_map(|case| {
        let codes = wanted(&case);
        (!codes.is_empty()).then(|| judge(&case, &codes, seed))
    });
    Ok(judged.collect())
}

fn judge(case: &Case, codes: &[&Code], seed: u64) -> Judged {
    let asked = Asked::of(case);
    let question = Question {
        site: &asked.site,
        visit: &asked.visit,
        skill: asked.visit.skill,
        seed,
    };
    let answer = trace::trace(&question);
    let lost = |it: &&Observation| matches!(it.what, Sign::NotUnderstood(_));
    let n = asked.visit.observations.len();
    let not_understood = asked.visit.observations.iter().filter(lost).count();
    let named = |g: &Group| match g.faults.is_empty() {
        true => "nothing is wrong".to_owned(),
        false => g
            .faults
            .iter()
            .map(|f| format!("{}@{}", f.kind, f.at))
            .collect::<Vec<_>>()
            .join(" + "),
    };
    Judged {
        id: case.id.clone(),
        wanted: codes.iter().map(|c| c.code.to_owned()).collect(),
        place: answer
            .causes
            .iter()
            .position(|g| is_right(g, codes))
            .map(|p| p + 1),
        got: answer
            .causes
            .iter()
            .take(3)
            .map(|g| (named(g), g.probability))
            .collect(),
        not_in_catalogue: answer.not_in_catalogue,
        uses: (
            codes.iter().map(|c| c.at_least).min().unwrap_or(Use::Yes),
            answer.action.use_,
        ),
        who: (case.who.clone(), answer.action.who),
        understood: asked.visit.readings.len() + n - not_understood,
        not_understood,
    }
}

/// Rates, then each case with what was wanted and what came.
#[must_use]
pub fn table(all: &[Judged]) -> String {
    let n = all.len();
    let rate = |keep: &dyn Fn(&Judged) -> bool| {
        let k = all.iter().filter(|j| keep(j)).count();
        format!("{k} of {n}, {:.0} %", 100.0 * k as f64 / n.max(1) as f64)
    };
    let mut out =
        format!("{n} real cases of the wiring, each traced once on what was told, nothing led\n");
    let _ = writeln!(
        out,
        "  true cause in the first group                {}",
        rate(&|j| j.place == Some(1))
    );
    let _ = writeln!(
        out,
        "  true cause in the first three                {}",
        rate(&|j| j.place.is_some_and(|p| p <= 3))
    );
    let _ = writeln!(
        out,
        "  action at least as strong as the case's      {}",
        rate(&|j| j.is_as_strong() && j.is_whose())
    );
    let _ = writeln!(
        out,
        "  action not milder than the hazard            {}   goal: all",
        rate(&Judged::is_as_strong)
    );
    for j in all {
        let mark = if j.place == Some(1) { "ok" } else { "  " };
        let milder = if j.is_as_strong() { "" } else { " MILDER" };
        let place = j.place.map_or("-".into(), |p| p.to_string());
        let _ = writeln!(
            out,
            "{mark} {} want {} ({:?}, {}), place {place}, {:?} by {:?}{milder}, understood {}, not {}",
            j.id,
            j.wanted.join(" or "),
            j.uses.0,
            j.who.0,
            j.uses.1,
            j.who.1,
            j.understood,
            j.not_understood
        );
        if j.not_in_catalogue > 0.02 {
            let _ = writeln!(
                out,
                "       {:.2} something not in the catalogue",
                j.not_in_catalogue
            );
        }
        for (named, p) in &j.got {
            let _ = writeln!(out, "       {p:.2} {named}");
        }
    }
    out
}
