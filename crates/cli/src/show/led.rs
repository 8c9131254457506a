//! One step of being led: the decision, the causes that are left, the caution and the check to make.

use site::region::Words;
use trace::answer::Answer;

use crate::screen::{Looks, Screen};
use crate::show::answer;

/// What may be typed instead of a result.
pub const ORDERS: &str =
    "cannot: this check cannot be made.  why: the whole answer.  done: stop here.";

/// Writes one step.
pub fn step(screen: &mut Screen, it: &Answer, region: &Words) {
    answer::head(screen, it);
    answer::causes(screen, it, region);
    screen.heading("Caution");
    if !it.caution.is_empty() {
        screen.hanging_by(2, "  ", Looks::Plain, &it.caution, Looks::Heading);
    }
    screen.paragraph(2, answer::ALWAYS);
    if let Some(next) = &it.next {
        answer::next(screen, next);
        screen.blank();
        screen.hanging("", Looks::Plain, ORDERS, Looks::Faint);
    }
}

/// Writes how to begin.
pub fn nothing_told(screen: &mut Screen) {
    screen.paragraph(0, "Nothing is told yet. Type what you read or see, as \"desk: hot-neutral 118.2 V, buzzing\"; \"help\" shows how to write it.");
    screen.paragraph(0, answer::ALWAYS);
}

/// Writes that the search is at its end.
pub fn nothing_left(screen: &mut Screen) {
    screen.blank();
    screen.hanging(
        "",
        Looks::Plain,
        "Type a correction (\"instead of r1 ...\") or more, or \"done\".",
        Looks::Faint,
    );
}
