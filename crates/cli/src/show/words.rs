//! Verdicts, actions and odds in words and shapes, so that nothing hangs on colour alone.

use site::finding::{Action, Use, Verdict, When, Who};
use site::region::Words;

use crate::screen::Looks;

/// Shape and word of a verdict: `◆ DANGER`.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Good => "● GOOD",
        Verdict::Advice => "○ ADVICE",
        Verdict::Undecided => "? UNDECIDED",
        Verdict::Defect => "▲ DEFECT",
        Verdict::Danger => "◆ DANGER",
    }
}

/// Looks of a verdict.
pub fn looks(verdict: Verdict) -> Looks {
    match verdict {
        Verdict::Good => Looks::Good,
        Verdict::Advice | Verdict::Undecided => Looks::Doubt,
        Verdict::Defect => Looks::Bad,
        Verdict::Danger => Looks::Danger,
    }
}

/// An action: `take it out of use, now; licensed electrician`.
pub fn action(action: Action, words: &Words) -> String {
    let use_ = match action.use_ {
        Use::Yes => "it may stay in use",
        Use::Restricted => "use it only as the caution says",
        Use::Stop => "take it out of use",
    };
    let when = match action.when {
        When::None => "",
        When::Plan => "with the next planned work",
        When::Soon => "within days",
        When::Now => "now",
    };
    let who = match action.who {
        Who::Nobody => return use_.to_owned(),
        Who::Owner => "the owner",
        Who::Technician => "the technician",
        Who::Electrician => &words.electrician,
        Who::Utility => &words.utility,
    };
    match when {
        "" => format!("{use_}; it is for {who}", who = with_article(who)),
        when => format!("{use_}; it is for {who}, {when}", who = with_article(who)),
    }
}

fn with_article(who: &str) -> String {
    if who.starts_with("the ") || who.starts_with("a ") {
        who.to_owned()
    } else {
        format!("a {who}")
    }
}

/// A probability for people: `87 %`, `under 1 %`, `over 99 %`.
pub fn percent(probability: f64) -> String {
    let percent = 100.0 * probability;
    if !percent.is_finite() {
        "unknown".to_owned()
    } else if percent < 1.0 {
        "under 1 %".to_owned()
    } else if percent > 99.0 {
        "over 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// How much a reading speaks for a cause, from the natural logarithm of its likelihood ratio: `for it, 20 : 1`.
pub fn weight(weight: f64) -> String {
    let odds = |it: f64| {
        let ratio = it.exp();
        if ratio > 1000.0 { "over 1000".to_owned() } else if ratio < 10.0 { format!("{ratio:.1}") } else { format!("{ratio:.0}") }
    };
    if !weight.is_finite() {
        "no figure".to_owned()
    } else if weight.abs() < 0.2 {
        "neither way".to_owned()
    } else if weight > 0.0 {
        format!("for it, {} : 1", odds(weight))
    } else {
        format!("against it, {} : 1", odds(-weight))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doubt_is_never_rounded_away() {
        assert_eq!(percent(0.9999), "over 99 %");
        assert_eq!(percent(0.99), "99 %");
        assert_eq!(percent(0.004), "under 1 %");
        assert_eq!(percent(f64::NAN), "unknown");
    }

    #[test]
    fn weights_are_told_as_odds() {
        assert_eq!(weight(3.0), "for it, 20 : 1");
        assert_eq!(weight(-0.7), "against it, 2.0 : 1");
        assert_eq!(weight(50.0), "for it, over 1000 : 1");
        assert_eq!(weight(0.0), "neither way");
        assert_eq!(weight(f64::NEG_INFINITY), "no figure");
    }
}
