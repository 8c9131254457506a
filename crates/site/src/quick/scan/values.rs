//! Values, and what stands around them: the pair before, the test load, the conductor in a clamp.

use std::str::FromStr;

use metrology::{Hertz, Ohms, QuantityError, Stated, Watts};

use super::pairs::pair;
use super::{BEFORE_VALUE, Before, Mode, Scan, span};
use crate::quick::cut::Word;
use crate::quick::phrase;
use crate::quick::told::{
    AskTold, AskedTold, ConditionTold, ContactTold, End, ReadingTold, Span, Spanned, ValueTold,
};
use crate::visit::Pin;

impl Scan<'_, '_, '_> {
    /// A pair is followed by what a lamp does or by a value; how many words that took.
    #[expect(
        clippy::too_many_arguments,
        reason = "one call with all that a reading is made of"
    )]
    pub(super) fn after_pair(
        &mut self,
        from: ContactTold,
        to: ContactTold,
        pair: &[Word],
        rest: &[Word],
        corrects: Option<Spanned<usize>>,
        words: &str,
        before: &mut Before,
    ) -> usize {
        if self.mode == Mode::Asking {
            let at = span(pair);
            let conditions = ConditionTold::default();
            self.part().asked.push(AskedTold {
                what: AskTold::Volts(from, to),
                conditions,
                at,
            });
            before.asked = Some(self.part().asked.len() - 1);
            return 0;
        }
        let skipped = skip(rest);
        let rest = &rest[skipped..];
        let lamp = rest.first().and_then(|it| phrase::lamp(&it.low));
        if let (Some(lamp), None) = (lamp, &corrects) {
            self.lamp(&from, &to, lamp, span(pair), words);
            return skipped + 1;
        }
        let (value, used) = match self.value(rest) {
            Some(found) => found,
            None => {
                let shown = self.text(&span(pair)).to_owned();
                return skipped + self.no_value(rest, &shown, span(pair));
            }
        };
        let at = pair.first().map_or(0, |it| it.at.start)..rest[used - 1].at.end;
        let conditions = ConditionTold::default();
        let reading = ReadingTold {
            from,
            to,
            value,
            conditions,
            corrects,
            at,
            words: words.to_owned(),
        };
        self.part().readings.push(reading);
        before.reading = Some(self.part().readings.len() - 1);
        skipped + used
    }

    /// A value before its pair: `60 V between case and water pipe`; 0 where a value follows the pair, which it is of.
    pub(super) fn value_first(&mut self, rest: &[Word], words: &str, before: &mut Before) -> usize {
        let Some((value, used)) = self.value(rest).filter(|_| numeric(&rest[0].low)) else {
            return 0;
        };
        let small = |it: &&Word| matches!(it.low.as_str(), "across" | "measured" | "read" | "is");
        let used = used + rest[used..].iter().take_while(small).count();
        let Some((from, to, n)) = pair(&rest[used..]) else {
            return 0;
        };
        let behind = &rest[used + n..];
        let told_behind = behind
            .get(skip(behind)..)
            .is_some_and(|it| self.value(it).is_some());
        if self.mode == Mode::Asking || told_behind {
            return 0;
        }
        before.n_telling += 1;
        self.part().readings.push(ReadingTold {
            from,
            to,
            value,
            conditions: ConditionTold::default(),
            corrects: None,
            at: span(&rest[..used + n]),
            words: words.to_owned(),
        });
        before.reading = Some(self.part().readings.len() - 1);
        used + n
    }

    /// The longest value that the words start with, of whichever kind.
    pub(super) fn value(&self, words: &[Word]) -> Option<(ValueTold, usize)> {
        let volts = self.longest(words).map(|(it, n)| (ValueTold::Volts(it), n));
        let hertz = self.longest(words).map(|(it, n)| (ValueTold::Hertz(it), n));
        let amps = self.longest(words).map(|(it, n)| (ValueTold::Amps(it), n));
        let ohms = self.longest(words).map(|(it, n)| (ValueTold::Ohms(it), n));
        // max_by_key takes the last of equals: volts, where a word such as "nothing" is of every kind
        [ohms, amps, hertz, volts]
            .into_iter()
            .flatten()
            .max_by_key(|(_, n)| *n)
    }

    pub(super) fn longest<T: FromStr>(&self, words: &[Word]) -> Option<(T, usize)> {
        longest(self.line, words)
    }

    /// Says why there is no value behind a pair; how many words were meant as one.
    pub(super) fn no_value(&mut self, rest: &[Word], pair: &str, at: Span) -> usize {
        let Some(first) = rest.first().filter(|it| numeric(&it.low)) else {
            let hint = format!("write the value behind it, as \"{pair} 120 V\"");
            self.problem(at, format!("{pair} has no value"), &hint);
            return 0;
        };
        let unit = rest.get(1).filter(|it| {
            phrase::at(std::slice::from_ref(it)).is_none() && self::pair(&rest[1..]).is_none()
        });
        let meant = if unit.is_some() { 2 } else { 1 };
        let at = first.at.start..rest[meant - 1].at.end;
        let refusal = self.text(&at).parse::<Stated<metrology::Volts>>().err();
        self.refuse(refusal, at, pair);
        meant
    }

    pub(super) fn refuse(&mut self, error: Option<QuantityError>, at: Span, of: &str) {
        let Some(error) = error else { return };
        let within = at.start + error.at.start..at.start + error.at.end;
        let what = if of.is_empty() {
            error.what
        } else {
            format!("{of}: {}", error.what)
        };
        self.problem(within, what, error.hint.as_deref().unwrap_or(""));
    }

    pub(super) fn test_load(&mut self, rest: &[Word], at: Span, before: &mut Before) -> usize {
        let skipped = skip(rest);
        if let Some((it, used)) = self.longest::<Watts>(&rest[skipped..]) {
            let at = span(&rest[skipped..skipped + used]);
            before.watts = true;
            self.condition(
                ConditionTold {
                    test_load: Some(Spanned { it, at }),
                    ..ConditionTold::default()
                },
                before,
            );
            return skipped + used;
        }
        if !before.watts {
            let what = "the test load has no power".to_owned();
            self.problem(
                at,
                what,
                "write \"test load 1000 W\", or \"with load\" where nobody knows",
            );
        }
        0
    }

    pub(super) fn current(
        &mut self,
        rest: &[Word],
        at: Span,
        words: &str,
        before: &mut Before,
    ) -> usize {
        let skipped = rest
            .iter()
            .take_while(|it| {
                matches!(
                    it.low.as_str(),
                    "in" | "on" | "through" | "the" | "of" | "around"
                )
            })
            .count();
        let Some((end, used)) = phrase::end(&rest[skipped..]) else {
            let what = "it is not said in which conductor".to_owned();
            self.problem(at, what, "write \"current in neutral 3.1 A\"");
            return skipped;
        };
        before.n_telling += 1;
        let pair = &rest[skipped..skipped + used];
        let contact = ContactTold {
            place: None,
            end,
            at: span(pair),
        };
        let used = skipped + used;
        used + self.after_pair(
            contact.clone(),
            contact,
            pair,
            &rest[used..],
            None,
            words,
            before,
        )
    }

    pub(super) fn instead(
        &mut self,
        rest: &[Word],
        at: Span,
        words: &str,
        before: &mut Before,
    ) -> usize {
        let number = rest
            .first()
            .and_then(|it| it.low.trim_start_matches(['r', '#']).parse::<usize>().ok());
        let Some(number) = number else {
            self.problem(
                at,
                "it is not said which reading is corrected".to_owned(),
                "write \"instead of r2 118.4 V\"",
            );
            return 0;
        };
        let corrects = Some(Spanned {
            it: number,
            at: rest[0].at.clone(),
        });
        before.n_telling += 1;
        if let Some((from, to, used)) = pair(&rest[1..]) {
            let used = used + 1;
            return used
                + self.after_pair(
                    from,
                    to,
                    &rest[1..used],
                    &rest[used..],
                    corrects,
                    words,
                    before,
                );
        }
        let same = ContactTold {
            place: None,
            end: End::Same,
            at: rest[0].at.clone(),
        };
        1 + self.after_pair(
            same.clone(),
            same,
            &rest[..1],
            &rest[1..],
            corrects,
            words,
            before,
        )
    }

    /// A value that no pair stands before.
    pub(super) fn number(&mut self, rest: &[Word], words: &str, before: &mut Before) -> usize {
        if let Some((it, used)) = self.longest::<Watts>(rest) {
            before.watts = true;
            let at = span(&rest[..used]);
            self.condition(
                ConditionTold {
                    test_load: Some(Spanned { it, at }),
                    ..ConditionTold::default()
                },
                before,
            );
            return used;
        }
        if let Some((it, used)) = self.longest::<Stated<Hertz>>(rest) {
            let at = span(&rest[..used]);
            let contact = |pin| ContactTold {
                place: None,
                end: End::Pin(pin),
                at: at.clone(),
            };
            let (from, to) = (contact(Pin::Line), contact(Pin::Neutral));
            let reading = ReadingTold {
                from,
                to,
                value: ValueTold::Hertz(it),
                conditions: ConditionTold::default(),
                corrects: None,
                at: at.clone(),
                words: words.to_owned(),
            };
            self.part().readings.push(reading);
            before.reading = Some(self.part().readings.len() - 1);
            return used;
        }
        if let Some((it, used)) = self.longest::<Ohms>(rest) {
            let at = span(&rest[..used]);
            if it.si() < 1000.0 {
                let hint = format!(
                    "write the two contacts before it, as \"neutral-ground {}\"",
                    self.text(&at)
                );
                self.problem(at, "a resistance without its pair".to_owned(), &hint);
            } else {
                self.told.meter.input = Some(Spanned { it, at });
            }
            return used;
        }
        if !numeric(&rest[0].low) {
            return 0;
        }
        if self.mode == Mode::Asking {
            let used = self.value(rest).map_or(1, |it| it.1);
            let what = "a result stands in a question".to_owned();
            self.problem(
                span(&rest[..used]),
                what,
                "name only the contacts or the instrument",
            );
            return used;
        }
        let (used, hint) = match self.value(rest) {
            Some((ValueTold::Amps(_), used)) => (
                used,
                "write the conductor before it, as \"current in neutral",
            ),
            Some((_, used)) => (used, "write the two contacts before it, as \"hot-neutral"),
            None => (1, "write what was read and the unit, as \"hot-neutral"),
        };
        let at = span(&rest[..used]);
        let shown = self.text(&at).to_owned();
        let unit = if used == 1 && self.value(rest).is_none() {
            " V"
        } else {
            ""
        };
        self.problem(
            at,
            format!("\"{shown}\" has no pair"),
            &format!("{hint} {shown}{unit}\""),
        );
        used
    }
}

/// The most words from the first on that read as one thing, and how many they are.
pub(in crate::quick) fn longest<T: FromStr>(line: &str, words: &[Word]) -> Option<(T, usize)> {
    const LONGEST: usize = 8;
    let most = words.len().min(LONGEST);
    (1..=most)
        .rev()
        .find_map(|n| Some((line[span(&words[..n])].parse().ok()?, n)))
}

/// Whether a word looks like the beginning of a number.
pub(super) fn numeric(word: &str) -> bool {
    word.trim_start_matches(['~', '≈', '<', '>', '±', '+', '-', '−', '.', '=', '≤', '≥'])
        .starts_with(|c: char| c.is_ascii_digit())
}

/// How many words between a pair and its value say nothing.
pub(super) fn skip(words: &[Word]) -> usize {
    words
        .iter()
        .take_while(|it| BEFORE_VALUE.contains(&it.low.as_str()))
        .count()
}

pub(super) fn clock(word: &str) -> Option<jiff::civil::Time> {
    let (hour, minute) = word.split_once(':')?;
    jiff::civil::Time::new(hour.parse().ok()?, minute.parse().ok()?, 0, 0).ok()
}
