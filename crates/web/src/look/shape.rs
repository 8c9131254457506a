//! Verdicts by shape and word; the colour of the class only repeats them.

use maud::{Markup, html};
use site::finding::Verdict;

use crate::words;

/// The class of a verdict, as the style sheet colours it.
pub fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Good => "good",
        Verdict::Advice => "advice",
        Verdict::Undecided => "undecided",
        Verdict::Defect => "defect",
        Verdict::Danger => "danger",
    }
}

/// Shape and word.
pub fn verdict(verdict: Verdict) -> Markup {
    html! {
        span class={ "verdict " (class(verdict)) } { (shape(verdict)) (words::verdict(verdict)) }
    }
}

/// Shape and word, or that nothing was read there yet.
pub fn verdict_or_untold(verdict: Option<Verdict>) -> Markup {
    match verdict {
        Some(it) => self::verdict(it),
        None => html! { span.verdict.untold { "nothing read" } },
    }
}

/// Disc, ring, broken ring, triangle, lozenge: told apart without colour, at any size and in print.
fn shape(verdict: Verdict) -> Markup {
    html! {
        svg viewBox="0 0 24 24" aria-hidden="true" {
            @match verdict {
                Verdict::Good => {
                    circle .fill cx="12" cy="12" r="10" {}
                    path .cut d="M7 12.5l3.5 3.5L17 9" {}
                }
                Verdict::Advice => {
                    circle .line cx="12" cy="12" r="9" {}
                    circle .fill cx="12" cy="12" r="3" {}
                }
                Verdict::Undecided => {
                    circle .line cx="12" cy="12" r="9" stroke-dasharray="4.7 4.7" {}
                    path .line d="M7.5 12h9" {}
                }
                Verdict::Defect => {
                    path .fill d="M12 1.5L23 21.5H1z" {}
                    path .cut d="M12 9v5.5" {}
                    circle .dot cx="12" cy="18.2" r="1.5" {}
                }
                Verdict::Danger => {
                    path .fill d="M12 0.5L23.5 12L12 23.5L0.5 12z" {}
                    path .cut d="M12 6v7.5" {}
                    circle .dot cx="12" cy="17.2" r="1.6" {}
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_verdict_has_a_shape_and_a_word_of_its_own() {
        let all = [
            Verdict::Good,
            Verdict::Advice,
            Verdict::Undecided,
            Verdict::Defect,
            Verdict::Danger,
        ];
        let drawn: Vec<String> = all.map(|it| shape(it).into_string()).into();
        for (n, (it, shape)) in all.iter().zip(&drawn).enumerate() {
            assert!(!drawn[..n].contains(shape), "{it:?} is drawn like another");
            let whole = verdict(*it).into_string();
            assert!(whole.contains(words::verdict(*it)), "{whole}");
        }
    }
}
