//! Causes with how sure: a bar and a sentence each, the evidence behind a link.

use maud::{Markup, html};
use site::region::Words;
use trace::answer::{Answer, Group};

use super::{bars, shape};
use crate::words;

/// Causes of one answer or of one circuit of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Causes {
    /// Of what, as "circuit A3"; empty for the whole.
    pub about: String,
    /// Most probable first.
    pub groups: Vec<Group>,
}

/// All lists of an answer: of the whole, or circuit by circuit where there are several.
pub fn of(answer: &Answer) -> Vec<Causes> {
    if answer.parts.is_empty() {
        return vec![Causes {
            about: String::new(),
            groups: answer.causes.clone(),
        }];
    }
    let part = |it: &trace::answer::Part| Causes {
        about: it.about.replacen(':', " ", 1),
        groups: it.causes.clone(),
    };
    answer.parts.iter().map(part).collect()
}

/// The list in short.
pub fn short(it: &Causes, region: &Words) -> Markup {
    let (shown, n, rest) = trace::words::worth_a_line(&it.groups);
    html! {
        @if !it.about.is_empty() { h3 { (trace::words::sentence(&it.about)) } }
        @for (rank, group) in shown.iter().enumerate() { (one(rank, group, region)) }
        (further(n, rest))
    }
}

fn further(n: usize, together: f64) -> Markup {
    html! {
        @if n > 0 { p .faint { (trace::words::percent(together)) " for " (words::count(n, "further cause", "further causes together")) "." } }
    }
}

fn one(rank: usize, group: &Group, region: &Words) -> Markup {
    let frequent = group.others.iter().filter(|it| it.probability >= 0.01);
    let rare = group
        .others
        .iter()
        .filter(|it| it.probability < 0.01)
        .count();
    html! {
        div .cause {
            p { span .share { (trace::words::percent(group.probability)) } " " (shape::verdict(group.verdict)) }
            (bars::share(group.probability))
            p {
                b { (trace::words::sentence(&group.says)) }
                @if let Some(severity) = &group.severity { " (" (severity) ")" }
                "."
            }
            @for other in frequent {
                p .faint { "Or, which no check tells apart: " (other.says) " (" (trace::words::percent(other.probability)) ")." }
            }
            @if rare > 0 { p .faint { "Or one of " (words::count(rare, "rarer cause that looks", "rarer causes that look")) " the same." } }
            p { "If so: " (trace::words::to_do(group.action, region)) ". " (group.mends) }
            @if rank == 0 && !group.caution.is_empty() { p .caution { b { "Caution. " } (group.caution) } }
        }
    }
}

/// A cause with its evidence, reading by reading, as a picture for a customer.
pub fn with_evidence(it: &Causes, region: &Words) -> Markup {
    let (shown, n, rest) = trace::words::worth_a_line(&it.groups);
    html! {
        @if !it.about.is_empty() { h2 { (trace::words::sentence(&it.about)) } }
        @for (rank, group) in shown.iter().enumerate() {
            (one(rank, group, region))
            @if group.evidence.is_empty() { p .faint { "Its evidence was not worked out reading by reading." } }
            @else {
                p .small .faint { "To the right of the middle: the reading speaks for this cause. To the left, hollow: against it." }
                @for it in &group.evidence {
                    div .witness {
                        div { b { (it.read) } }
                        div { span .faint { "if so, it would be: " } (it.predicts) }
                        div { (bars::lean(it.weight)) span .small { (words::weight(it.weight)) } }
                    }
                }
            }
        }
        (further(n, rest))
    }
}
