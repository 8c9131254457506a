//! Lamp testers, detectors and meters.

use metrology::Accuracy;

use super::pairs::which_lamp;
use super::values::numeric;
use super::{Mode, Scan, span};
use crate::quick::cut::Word;
use crate::quick::phrase;
use crate::quick::told::{
    AskTold, AskedTold, ConditionTold, ContactTold, End, Lamps, Span, Spanned,
};
use crate::visit::{Lamp, Pin, Signals};

impl Scan<'_, '_, '_> {
    pub(super) fn lamp(
        &mut self,
        from: &ContactTold,
        to: &ContactTold,
        lamp: Lamp,
        at: Span,
        words: &str,
    ) {
        let index = match (&from.end, &to.end) {
            (End::Pin(a), End::Pin(b)) => which_lamp(*a, *b),
            _ => None,
        };
        let Some(index) = index else {
            self.problem(
                at,
                "a lamp tester has no lamp there".to_owned(),
                "its lamps are HN, HG and NG",
            );
            return;
        };
        let mut lamps: Lamps = [None; 3];
        lamps[index] = Some(lamp);
        self.lamps(lamps, at, words);
    }

    /// Adds lamps to the pattern of the part.
    pub(super) fn lamps(&mut self, lamps: Lamps, at: Span, words: &str) {
        let part = self.part();
        let Some(pattern) = part.lamps.last_mut() else {
            part.lamps.push(Spanned {
                it: (lamps, words.to_owned()),
                at,
            });
            return;
        };
        let clash = pattern
            .it
            .0
            .iter()
            .zip(&lamps)
            .any(|(old, new)| old.zip(*new).is_some_and(|(a, b)| a != b));
        for (old, new) in pattern.it.0.iter_mut().zip(&lamps) {
            *old = old.or(*new);
        }
        if !pattern.it.1.ends_with(words) {
            pattern.it.1 = format!("{}, {words}", pattern.it.1);
        }
        if clash {
            self.problem(
                at,
                "this lamp is told twice and differently".to_owned(),
                "part two patterns with a semicolon",
            );
        }
    }

    pub(super) fn other_lamps(&mut self, lamp: Lamp, at: Span) {
        match self.part().lamps.last_mut() {
            Some(pattern) => pattern
                .it
                .0
                .iter_mut()
                .for_each(|it| *it = it.or(Some(lamp))),
            None => self.problem(
                at,
                "no lamp was named before".to_owned(),
                "write \"lamps HN lit, others dark\"",
            ),
        }
    }

    pub(super) fn detector(&mut self, rest: &[Word], words: &str) -> usize {
        let (mut n, mut state, mut pins) = (0, None::<Signals>, Vec::<Spanned<Pin>>::new());
        let mut found = Vec::new();
        let mut pins_first = false;
        while n < rest.len() {
            if let Some((now, used)) = phrase::detects(&rest[n..]) {
                if !pins_first && state.is_some() && !pins.is_empty() {
                    found.extend(pins.drain(..).map(|it| (it, state)));
                }
                state = Some(now);
                pins_first |= !pins.is_empty();
                if pins_first {
                    found.extend(pins.drain(..).map(|it| (it, state)));
                }
                n += used;
            } else if let Some((End::Pin(pin), used)) = phrase::end(&rest[n..]) {
                pins.push(Spanned {
                    it: pin,
                    at: span(&rest[n..n + used]),
                });
                n += used;
            } else if matches!(
                rest[n].low.as_str(),
                "at" | "on"
                    | "in"
                    | "near"
                    | "to"
                    | "held"
                    | "and"
                    | "the"
                    | "of"
                    | "is"
                    | "only"
                    | "with"
            ) {
                n += 1;
            } else {
                break;
            }
        }
        found.extend(pins.drain(..).map(|it| (it, state)));
        if self.mode == Mode::Asking && !found.is_empty() {
            for (pin, _) in found {
                let conditions = ConditionTold::default();
                self.part().asked.push(AskedTold {
                    what: AskTold::Detector(pin.it),
                    conditions,
                    at: pin.at,
                });
            }
            return n;
        }
        if found.is_empty() || found.iter().any(|(_, state)| state.is_none()) {
            let at = rest.first().map_or(0..0, |it| it.at.clone());
            let what = "it is not said what the detector does at which contact".to_owned();
            self.problem(
                at,
                what,
                "write \"detector signals at neutral\" or \"detector quiet at ground\"",
            );
        }
        for (pin, state) in found {
            if let Some(state) = state {
                let it = (pin.it, state, words.to_owned());
                self.part().detected.push(Spanned { it, at: pin.at });
            }
        }
        n
    }

    pub(super) fn meter(&mut self, rest: &[Word], at: Span) -> usize {
        let skipped = rest
            .iter()
            .take_while(|it| matches!(it.low.as_str(), "is" | "class" | "of" | "kind" | "a"))
            .count();
        match rest.get(skipped).and_then(|it| phrase::class(&it.low)) {
            Some(class) => {
                self.class(class.class.clone(), at.start..rest[skipped].at.end);
                skipped + 1
            }
            None => {
                let what = "it is not said which class of meter".to_owned();
                self.problem(
                    at,
                    what,
                    "write \"meter cheap\", \"meter mid\" or \"meter good\", or leave it out",
                );
                skipped
            }
        }
    }

    pub(super) fn class(&mut self, class: Option<String>, at: Span) {
        let Some(class) = class else { return };
        match &self.told.meter.class {
            Some(old) if old.it != class => {
                let what = format!("the meter is \"{}\" before and \"{class}\" here", old.it);
                self.problem(
                    at,
                    what,
                    "a line knows one meter; put two into a visit file",
                );
            }
            _ => self.told.meter.class = Some(Spanned { it: class, at }),
        }
    }

    pub(super) fn accuracy(&mut self, rest: &[Word], at: Span) -> usize {
        if let Some((it, used)) = self.longest::<Accuracy>(rest) {
            self.told.meter.accuracy = Some(Spanned {
                it,
                at: span(&rest[..used]),
            });
            return used;
        }
        let used = rest
            .iter()
            .take_while(|it| numeric(&it.low) || matches!(it.low.as_str(), "%" | "+"))
            .count();
        let meant = if used == 0 { at } else { span(&rest[..used]) };
        let refusal = self.text(&meant).parse::<Accuracy>().err();
        self.refuse(refusal, meant, "accuracy");
        used
    }
}

/// Whether a detector's state and a contact follow: `quiet at ground`, behind another that named the detector.
pub(super) fn goes_on_detecting(words: &[Word]) -> bool {
    let Some((_, used)) = phrase::detects(words) else {
        return false;
    };
    let small = |it: &&Word| matches!(it.low.as_str(), "at" | "on" | "in" | "near" | "the");
    let at = used + words[used..].iter().take_while(small).count();
    matches!(phrase::end(&words[at..]), Some((End::Pin(_), _)))
}
