//! The first block of every page about a place: is it dangerous, may it stay in use, whose is it.

use maud::{Markup, html};
use site::finding::Verdict;
use trace::answer::{Answer, Part};

use super::shape;
use trace::words;

/// What stands first.
#[derive(Clone, Debug, PartialEq)]
pub struct First {
    /// Worst verdict that the evidence supports.
    pub verdict: Verdict,
    /// Dangerous or not, may it stay in use, whose it is.
    pub headline: String,
    /// What that is about, and why.
    pub because: String,
    /// The caution that goes with it.
    pub caution: String,
    /// Probabilities of harm, in words.
    pub harm: Option<String>,
}

impl First {
    /// Of a whole answer.
    pub fn of(answer: &Answer) -> First {
        let (shock, fire) = (
            words::percent(answer.danger.shock),
            words::percent(answer.danger.fire),
        );
        First {
            verdict: answer.verdict,
            headline: trace::words::behind_verdict(&answer.headline),
            because: answer.because.clone(),
            caution: answer.caution.clone(),
            harm: Some(format!(
                "Probability of a shock hazard {shock}, of a fire hazard {fire}."
            )),
        }
    }

    /// Of what one circuit's readings say.
    pub fn of_part(part: &Part) -> First {
        First {
            verdict: part.verdict,
            headline: trace::words::behind_verdict(&part.headline),
            because: part.because.clone(),
            caution: part.caution.clone(),
            harm: None,
        }
    }
}

/// Where the answer of a page stands.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// Nothing is told yet.
    Nothing,
    /// It is being worked out; the page renews itself, or is opened again.
    Soon,
    /// It is there.
    First(First),
    /// It could not be worked out.
    Failed(String),
}

/// Draws it. `about` says of what, as "Circuit A3".
pub fn first(said: &Said, about: &str) -> Markup {
    html! {
        @match said {
            Said::Nothing => section .first .undecided #first data-live aria-label="May it stay in use" {
                span .verdict .untold { "Nothing read yet" }
                p .headline { "Not known: nothing is told of " (about) "." }
                p { "Until it was read, treat it as live and as not proved." }
            },
            Said::Soon => section .first .undecided #first data-live data-soon aria-label="May it stay in use" {
                span .verdict .untold { "Being weighed" }
                p .headline { "The answer about " (about) " is being worked out." }
                p { "Until it is here, treat everything as live. This page renews itself; without script, open it again." }
            },
            Said::Failed(why) => section .first .danger #first data-live aria-label="May it stay in use" {
                span .verdict { "No answer" }
                p .headline { "No answer could be worked out. Treat what you stand before as live." }
                p { (why) }
            },
            Said::First(it) => section class={ "first " (shape::class(it.verdict)) } #first data-live aria-label="May it stay in use" {
                (shape::verdict(it.verdict)) " " span .small .faint { (trace::words::sentence(about)) }
                p .headline { (it.headline) }
                @if !it.because.is_empty() { p { (it.because) } }
                @if !it.caution.is_empty() { p .caution { b { "Caution. " } (it.caution) } }
                @if let Some(harm) = &it.harm { p .faint .small { (harm) } }
            },
        }
    }
}
