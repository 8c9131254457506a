//! A whole visit: circuits are traced by themselves, and what lies above them is weighed by all of them together.
//!
//! Given what is wrong in front of the circuits (service, supply, panels, the meter: `g`), the circuits' own faults are
//! independent, so `P(g | all) ∝ P(g) Π_c E_c(g)`, `E_c(g) = Σ_l P(l) P(readings of c | g, l)` over the faults `l` of circuit
//! c. Each cause of a circuit is reweighed by `Π_{c' ≠ c} E_c'(g) / E_c'(nothing)`. That the circuits share the service's
//! exact voltage is left out.

use std::collections::BTreeSet;

use chain::element::Element;
use site::finding::{Use, Verdict, When, Who};
use site::model::{CircuitIx, OutletIx};
use site::visit::{Contact, Visit, Whereabouts};

use crate::answer::{Answer, FaultAt, Group, Member, Part};
use crate::likelihood::ln_add;
use crate::settle::Goal;
use crate::sieve::{Held, Sifted, settle, sift};
use crate::study::{Question, Study, standing};
use crate::tell::Teller;
use crate::{outlook, words};

/// What is wrong in front of the circuits: fault, element, leg; sorted.
type Above = Vec<(&'static str, Element, usize)>;

/// Readings in, ranked causes and the next check out.
#[must_use]
pub fn trace(question: &Question<'_>) -> Answer {
    let (parts, n_outlets) = by_circuit(question);
    let apart = |goal| weigh(studies(question, &parts), goal);
    if parts.len() > 1 && n_outlets > AS_ONE {
        return apart(Goal::Probability).answer(question, &parts);
    }
    let whole = [(String::new(), question.visit.clone())];
    let as_one = studies(question, &whole);
    if parts.len() < 2 || circuits_asked_about(&as_one) < 2 {
        return weigh(as_one, Goal::Probability).answer(question, &whole);
    }
    let apart = apart(Goal::Probability);
    let as_one = weigh(as_one, Goal::Against(apart.ln_evidence));
    if apart.ln_evidence > as_one.ln_evidence {
        apart.answer(question, &parts)
    } else {
        as_one.answer(question, &whole)
    }
}

/// Outlets of the circuits in question up to which they are weighed as one network, with the service's voltage that they
/// share and every pair of faults in two of them. Where more than one circuit shows something they are weighed apart as
/// well, as three faults in two circuits are no pair, and what explains the readings better is told: the log evidence of
/// all causes, with what is not in the catalogue, as one or summed over the circuits.
const AS_ONE: usize = 16;

/// Parts of a visit, each studied by itself.
fn studies<'v>(question: &Question<'v>, visits: &'v [(String, Visit)]) -> Vec<Study<'v>> {
    let study = |(_, visit): &'v (String, Visit)| {
        Study::of(Question { visit, ..*question }, question.visit)
    };
    visits.iter().map(study).collect()
}

fn circuits_asked_about(studies: &[Study<'_>]) -> usize {
    let circuits = studies.iter().flat_map(|study| {
        let circuit = |o: OutletIx| study.question.site.outlets[o.0].circuit;
        study.asked_about().into_iter().map(circuit)
    });
    circuits.collect::<BTreeSet<CircuitIx>>().len()
}

/// A visit weighed, as one or circuit by circuit.
struct Weighed<'v> {
    studies: Vec<Study<'v>>,
    sifted: Vec<Sifted>,
    ln_evidence: f64,
}

fn weigh(mut studies: Vec<Study<'_>>, goal: Goal) -> Weighed<'_> {
    let sifted = studies.iter_mut().map(|study| sift(study, goal));
    let mut sifted: Vec<Sifted> = sifted.collect();
    let ln_evidence = sifted.iter().map(ln_evidence).sum();
    if studies.len() > 1 {
        weigh_above(&studies, &mut sifted);
    }
    Weighed {
        studies,
        sifted,
        ln_evidence,
    }
}

fn ln_evidence(sifted: &Sifted) -> f64 {
    let weights = sifted.held.iter().map(Held::ln_weight);
    weights.fold(sifted.of_unknown.ln_weight, ln_add)
}

impl Weighed<'_> {
    /// What is told, of the visit's parts by name.
    fn answer(mut self, question: &Question<'_>, parts: &[(String, Visit)]) -> Answer {
        let answers: Vec<Answer> = self
            .studies
            .iter()
            .zip(&mut self.sifted)
            .map(|(study, sifted)| {
                let outlook = outlook::look_ahead(study, sifted);
                Teller {
                    study,
                    sifted,
                    outlook: &outlook,
                }
                .answer()
            })
            .collect();
        let names = parts.iter().map(|(name, _)| name.clone());
        together(question, names.collect(), answers)
    }
}

/// The visit split by circuits that nothing told ties together, each with its name, and how many outlets these have.
fn by_circuit(question: &Question<'_>) -> (Vec<(String, Visit)>, usize) {
    let (site, visit) = (question.site, question.visit);
    let mut tied: Vec<usize> = (0..site.circuits.len()).collect();
    let circuit = |o: OutletIx| site.outlets[o.0].circuit.0;
    let mut tie = |a: usize, b: usize| {
        let (from, to) = (tied[a].max(tied[b]), tied[a].min(tied[b]));
        tied.iter_mut()
            .filter(|t| **t == from)
            .for_each(|t| *t = to);
    };
    for (i, c) in site.circuits.iter().enumerate() {
        if let Some(with) = c.shares_neutral_with {
            tie(i, with.0);
        }
    }
    for r in standing(visit) {
        if let (Contact::Outlet(a, _), Contact::Outlet(b, _)) = (r.from, r.to) {
            tie(circuit(a), circuit(b));
        }
    }
    let of_contact = |c: Contact| match c {
        Contact::Outlet(o, _) => Some(tied[circuit(o)]),
        _ => None,
    };
    let of_place = |at: Whereabouts| match at {
        Whereabouts::Outlet(o) => Some(tied[circuit(o)]),
        Whereabouts::Circuit(CircuitIx(c)) => Some(tied[c]),
        _ => None,
    };
    let mut parts: Vec<usize> = standing(visit)
        .filter_map(|r| of_contact(r.from).or(of_contact(r.to)))
        .chain(visit.observations.iter().filter_map(|o| of_place(o.at)))
        .collect();
    parts.sort_unstable();
    parts.dedup();
    let in_question = |o: &&site::model::Outlet| parts.contains(&tied[o.circuit.0]);
    let n_outlets = site.outlets.iter().filter(in_question).count();
    // What belongs to no circuit (a panel's reading, a remark on the premises) counts once, with the first.
    let first = parts.first().copied();
    let split = parts
        .iter()
        .map(|part| {
            let mut mine = Visit {
                readings: Vec::new(),
                observations: Vec::new(),
                ..visit.clone()
            };
            let here = |p: Option<usize>| p.or(first) == Some(*part);
            mine.readings = standing(visit)
                .filter(|r| here(of_contact(r.from).or(of_contact(r.to))))
                .cloned()
                .map(|mut r| {
                    r.corrects = None;
                    r
                })
                .collect();
            mine.observations = visit
                .observations
                .iter()
                .filter(|o| here(of_place(o.at)))
                .cloned()
                .collect();
            (format!("circuit:{}", site.circuits[*part].id), mine)
        })
        .collect();
    (split, n_outlets)
}

/// Reweighs the causes of each circuit by what the other circuits say about what lies above.
fn weigh_above(studies: &[Study<'_>], sifted: &mut [Sifted]) {
    // By circuit: log evidence of each thing above, its own prior taken out; what was never held is held as hopeless.
    let tables: Vec<Vec<(Above, f64)>> = studies
        .iter()
        .zip(sifted.iter())
        .map(|(study, sifted)| {
            let mut table: Vec<(Above, f64)> = Vec::new();
            for held in &sifted.held {
                let (above, ln_prior) = above(study, held);
                let ln = held.ln_weight() - ln_prior;
                match table.iter_mut().find(|(a, _)| *a == above) {
                    Some((_, sum)) => *sum = ln_add(*sum, ln),
                    None => table.push((above, ln)),
                }
            }
            table
        })
        .collect();
    let ln_of = |c: usize, above: &Above| {
        let best = tables[c]
            .iter()
            .map(|(_, ln)| *ln)
            .fold(f64::NEG_INFINITY, f64::max);
        tables[c]
            .iter()
            .find(|(a, _)| a == above)
            .map_or(best - HOPELESS, |(_, ln)| *ln)
    };
    for c in 0..studies.len() {
        for held in &mut sifted[c].held {
            let (above, _) = above(&studies[c], held);
            let others = (0..studies.len()).filter(|d| *d != c);
            held.evidence.ln += others
                .map(|d| ln_of(d, &above) - ln_of(d, &Above::new()))
                .sum::<f64>();
        }
        settle(&studies[c], &mut sifted[c]);
    }
}

/// Log weight below a circuit's best that something above has there if the sieve dropped it.
const HOPELESS: f64 = 8.0;

/// What a cause has above its circuit, with the log prior of that.
fn above(study: &Study<'_>, held: &Held) -> (Above, f64) {
    let mut out = Above::new();
    let mut ln_prior = 0.0;
    for i in held.cause.faults.iter().flatten() {
        let s = &study.singles[*i as usize];
        if matches!(
            s.at,
            Element::Supply | Element::Service | Element::Panel(_) | Element::Meter(_)
        ) {
            out.push((s.fault.id, s.at, s.leg));
            ln_prior += s.ln_odds;
        }
    }
    out.sort();
    (out, ln_prior)
}

/// Joint causes told at most.
const TOLD: usize = 8;

/// One answer out of the circuits' answers.
fn together(question: &Question<'_>, names: Vec<String>, mut answers: Vec<Answer>) -> Answer {
    if answers.len() == 1 {
        return answers.remove(0);
    }
    let site = question.site;
    let rank = |a: &Answer| (a.action.use_, a.action.when, a.verdict);
    let lead = (0..answers.len())
        .max_by_key(|i| (rank(&answers[*i]), core::cmp::Reverse(*i)))
        .unwrap_or(0);
    let mut out = answers[lead].clone();
    let not =
        |f: &dyn Fn(&Answer) -> f64| 1.0 - answers.iter().map(|a| 1.0 - f(a)).product::<f64>();
    out.danger.shock = not(&|a| a.danger.shock);
    out.danger.fire = not(&|a| a.danger.fire);
    out.not_in_catalogue = not(&|a| a.not_in_catalogue);
    out.causes = joint(&answers);
    out.next = answers
        .iter()
        .filter_map(|a| a.next.clone())
        .max_by(|a, b| a.worth.total_cmp(&b.worth));
    let of_each = |f: &dyn Fn(&Answer) -> Vec<String>| {
        let mut list: Vec<String> = Vec::new();
        for text in answers.iter().flat_map(f) {
            if !list.contains(&text) {
                list.push(text);
            }
        }
        list
    };
    out.for_electrician = of_each(&|a| a.for_electrician.clone());
    out.remarks = of_each(&|a| a.remarks.clone());
    out.findings = answers.iter().flat_map(|a| a.findings.clone()).collect();
    out.findings.sort_by_key(|f| core::cmp::Reverse(f.verdict));
    out.findings
        .dedup_by(|a, b| a.statement == b.statement && a.element == b.element);
    for (i, a) in answers.iter().enumerate() {
        if i != lead {
            out.work.causes += a.work.causes;
            out.work.solutions += a.work.solutions;
            out.work.factorings += a.work.factorings;
            out.work.refactorings += a.work.refactorings;
        }
    }
    let troubled = answers
        .iter()
        .filter(|a| a.action.use_ != Use::Yes || a.action.when != When::None)
        .count();
    if troubled > 1 {
        out.because = format!("{troubled} circuits need somebody; first: {}", out.because);
    }
    if troubled == 0 {
        out.verdict = answers
            .iter()
            .map(|a| a.verdict)
            .max()
            .unwrap_or(Verdict::Good);
        out.headline = words::headline(site, out.action, 0.0);
    }
    debug_assert!(out.action.who != Who::Nobody || out.action.when == When::None);
    out.parts = names
        .into_iter()
        .zip(answers)
        .map(|(about, a)| Part {
            about,
            verdict: a.verdict,
            action: a.action,
            headline: a.headline,
            because: a.because,
            caution: a.caution,
            causes: a.causes,
        })
        .collect();
    out
}

/// The most probable combinations of the circuits' groups, as sets of faults.
///
/// Circuits are independent given what lies above them: `P(g, l_1 .. l_n) = P(g) Π P(l_c | g)`. A circuit that `g` does
/// not touch has it among its groups without anything above; `P(g)` is the largest that any circuit gives it.
fn joint(answers: &[Answer]) -> Vec<Group> {
    let mass = |answer: &Answer, above: &[&FaultAt]| -> f64 {
        let same = |g: &&Group| above_of(g) == above;
        answer
            .causes
            .iter()
            .filter(same)
            .map(|g| g.probability)
            .sum()
    };
    let mut everything: Vec<Vec<&FaultAt>> = answers
        .iter()
        .flat_map(|a| a.causes.iter().map(above_of))
        .collect();
    everything.push(Vec::new());
    everything.sort();
    everything.dedup();
    let of = |g: &[&FaultAt]| answers.iter().map(|a| mass(a, g)).fold(0.0, f64::max);
    let busy: f64 = everything
        .iter()
        .filter(|g| !g.is_empty())
        .map(|g| of(g))
        .sum();
    let mut all: Vec<Combined<'_>> = Vec::new();
    for g in &everything {
        let p = if g.is_empty() {
            (1.0 - busy).max(0.0)
        } else {
            of(g) / busy.max(1.0)
        };
        let mut beam = vec![Combined {
            probability: p,
            groups: Vec::new(),
        }];
        for answer in answers {
            let own = mass(answer, g);
            let here: &[&FaultAt] = if own >= 0.2 * p && own > 0.0 { g } else { &[] };
            let total = mass(answer, here).max(1e-300);
            let groups = answer.causes.iter().filter(|x| above_of(x) == here);
            let given: Vec<(&Group, f64)> = groups.map(|x| (x, x.probability / total)).collect();
            if given.is_empty() {
                continue; // a circuit that tells nothing of it
            }
            let all = beam
                .iter()
                .flat_map(|have| given.iter().map(|(x, q)| have.with(x, *q)));
            beam = most_probable(all.collect());
        }
        all.extend(beam);
    }
    most_probable(all)
        .iter()
        .filter_map(Combined::group)
        .collect()
}

/// One group of each circuit.
struct Combined<'a> {
    probability: f64,
    /// With the probability of all up to each.
    groups: Vec<(&'a Group, f64)>,
}

fn most_probable(mut all: Vec<Combined<'_>>) -> Vec<Combined<'_>> {
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    all.truncate(TOLD);
    all
}

impl<'a> Combined<'a> {
    fn with(&self, group: &'a Group, q: f64) -> Self {
        let probability = self.probability * q;
        let mut groups = self.groups.clone();
        groups.push((group, probability));
        Combined {
            probability,
            groups,
        }
    }

    fn group(&self) -> Option<Group> {
        let ((first, probability), rest) = self.groups.split_first()?;
        let first = Group {
            probability: *probability,
            ..(*first).clone()
        };
        let add = |have: Group, (x, p): &(&Group, f64)| both(&have, x, *p);
        Some(rest.iter().fold(first, add))
    }
}

/// The faults of a group that lie above the circuits.
fn above_of(group: &Group) -> Vec<&FaultAt> {
    let above = |f: &&FaultAt| {
        ["supply", "service", "panel", "meter"].contains(&f.at.split(':').next().unwrap_or(""))
    };
    group.faults.iter().filter(above).collect()
}

fn both(a: &Group, b: &Group, probability: f64) -> Group {
    let (lead, rest) = if b.verdict > a.verdict {
        (b, a)
    } else {
        (a, b)
    };
    let mut out = lead.clone();
    let faults = union(&a.faults, &b.faults);
    let more = rest.faults.iter().any(|f| !lead.faults.contains(f));
    out.probability = probability;
    if more && lead.faults.is_empty() {
        out.says.clone_from(&rest.says);
        out.mends.clone_from(&rest.mends);
        out.caution.clone_from(&rest.caution);
    } else if more {
        out.says = format!("{}; and {}", lead.says, words::clause(&rest.says));
        out.mends = format!("{} {}", lead.mends, rest.mends);
        out.caution = format!("{} {}", lead.caution, rest.caution);
    }
    let scaled = |m: &Member, of: &Group, with: &Group| Member {
        probability: m.probability * probability / of.probability.max(1e-300),
        faults: union(&m.faults, &with.faults),
        says: m.says.clone(),
    };
    let of_lead = lead.others.iter().map(|m| scaled(m, lead, rest));
    let of_rest = rest.others.iter().map(|m| scaled(m, rest, lead));
    out.others = of_lead
        .chain(of_rest)
        .filter(|m| m.faults != faults)
        .collect();
    out.others
        .sort_by(|x, y| y.probability.total_cmp(&x.probability));
    out.others.truncate(12);
    out.faults = faults;
    out.evidence = a.evidence.iter().chain(&b.evidence).cloned().collect();
    out
}

fn union(a: &[FaultAt], b: &[FaultAt]) -> Vec<FaultAt> {
    let mut all: Vec<FaultAt> = a.iter().chain(b).cloned().collect();
    all.sort();
    all.dedup();
    all
}
