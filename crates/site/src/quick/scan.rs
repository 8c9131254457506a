//! Items to what they tell: at each word the longest thing that is understood.

use std::ops::Range;
use std::str::FromStr;

use metrology::{Accuracy, Hertz, Ohms, QuantityError, Stated, Watts};

use super::cut::{self, Item, Word};
use super::phrase::{self, Meaning};
use super::told::{
    AskTold, AskedTold, ConditionTold, ContactTold, End, Lamps, Part, ReadingTold, Span, Spanned,
    Told, ValueTold,
};
use crate::file::near::nearest;
use crate::file::problem::Log;
use crate::visit::{Lamp, Pin, Signals};

/// What a line is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mode {
    /// It tells what was read and seen.
    Telling,
    /// It names what would be read or looked at.
    Asking,
}

/// Everything that a line tells or asks.
pub(super) fn line(line: &str, mode: Mode, log: &mut Log) -> Told {
    let mut scan = Scan {
        line,
        mode,
        log,
        told: Told::default(),
    };
    for item in cut::items(line) {
        scan.item(&item);
    }
    scan.told
}

struct Scan<'a, 'l, 't> {
    line: &'a str,
    mode: Mode,
    log: &'l mut Log<'t>,
    told: Told,
}

/// Words between a pair and its value.
const BEFORE_VALUE: [&str; 14] = [
    "is", "was", "reads", "read", "shows", "gives", "measures", "measured", "at", "of", "voltage",
    "still", "=", "->",
];
/// Words between two contacts.
const BETWEEN: [&str; 11] = [
    "to", "and", "-", "–", "—", "/", "→", "->", "vs", "against", "&",
];

/// What an item has told so far, for the words that refer to it.
#[derive(Default)]
struct Before {
    /// Reading that a condition right behind it belongs to.
    reading: Option<usize>,
    /// The same of what is asked.
    asked: Option<usize>,
    tester: bool,
    watts: bool,
    /// Words that were not fillers.
    n_telling: usize,
}

impl Scan<'_, '_, '_> {
    fn problem(&mut self, at: Span, what: String, hint: &str) {
        let element = match self.told.parts.last().and_then(|it| it.place.as_ref()) {
            Some(place) => format!("place \"{}\"", place.it),
            None => String::new(),
        };
        self.log.add(
            at,
            &element,
            what,
            (!hint.is_empty()).then(|| hint.to_owned()),
        );
    }

    fn part(&mut self) -> &mut Part {
        if self.told.parts.is_empty() {
            self.told.parts.push(Part::default());
        }
        let last = self.told.parts.len() - 1;
        &mut self.told.parts[last]
    }

    fn text(&self, at: &Span) -> &str {
        &self.line[at.clone()]
    }

    fn item(&mut self, item: &Item) {
        let (label, words) = self.label(item);
        if let Some(label) = label {
            self.told.parts.push(Part {
                place: Some(label),
                ..Part::default()
            });
        } else if item.starts_part && !words.is_empty() {
            let place = self.told.parts.last().and_then(|it| it.place.clone());
            self.told.parts.push(Part {
                place,
                ..Part::default()
            });
        }
        self.words(item, &words);
    }

    /// The name before a colon, if the item starts with one, and the words behind it.
    fn label(&self, item: &Item) -> (Option<Spanned<String>>, Vec<Word>) {
        let text = self.text(&item.at);
        let clock = |at: usize| {
            let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
            digit(text[..at].chars().next_back()) && digit(text[at + 1..].chars().next())
        };
        let colon = text
            .char_indices()
            .find(|(at, c)| *c == ':' && !clock(*at))
            .map(|(at, _)| item.at.start + at);
        let Some(colon) = colon else {
            return match self.mode {
                Mode::Asking if item.starts_part && names_a_place(&item.words) => {
                    (self.name(&item.words), Vec::new())
                }
                _ => (None, item.words.clone()),
            };
        };
        let at = cut::trimmed(self.line, item.at.start..colon);
        if at.is_empty() || known(&cut::words(self.line, at.clone())) {
            return (None, item.words.clone());
        }
        // "desk with load:" is a name and a condition
        let words = cut::words(self.line, at.clone());
        let cut = (1..words.len())
            .find(|n| known(&words[*n..]))
            .unwrap_or(words.len());
        let at = if cut == words.len() {
            at
        } else {
            span(&words[..cut])
        };
        let name = self
            .text(&at)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        let behind = item.words.iter().filter(|it| it.at.start > colon).cloned();
        (
            Some(Spanned { it: name, at }),
            words[cut..].iter().cloned().chain(behind).collect(),
        )
    }

    fn words(&mut self, item: &Item, words: &[Word]) {
        let mut before = Before::default();
        let mut unknown: Option<Range<usize>> = None;
        let mut n = 0;
        while n < words.len() {
            let used = self.step(item, &words[n..], &mut before);
            if used == 0 {
                unknown = Some(unknown.map_or(n, |it| it.start)..n + 1);
                n += 1;
                before.n_telling += 1;
                continue;
            }
            self.not_understood(words, unknown.take());
            n += used;
        }
        self.not_understood(words, unknown);
    }

    /// Reads one thing; how many words it took, 0 where none is understood.
    fn step(&mut self, item: &Item, rest: &[Word], before: &mut Before) -> usize {
        let words = self.text(&item.at).to_owned();
        if before.tester
            && let Some((lamps, used)) = phrase::legend(rest)
        {
            self.lamps(lamps, span(&rest[..used]), &words);
            return used;
        }
        if let Some((from, to, used)) = pair(rest) {
            before.n_telling += 1;
            return used
                + self.after_pair(from, to, &rest[..used], &rest[used..], None, &words, before);
        }
        if !self.part().detected.is_empty() && goes_on_detecting(rest) {
            return self.detector(rest, &words);
        }
        if let Some((meaning, used)) = phrase::at(rest) {
            before.n_telling += usize::from(meaning != Meaning::Filler);
            return self.meant(meaning, used, rest, &words, before);
        }
        if let (Some(class), Some("meter" | "multimeter")) = (
            phrase::class(&rest[0].low),
            rest.get(1).map(|it| it.low.as_str()),
        ) {
            self.class(class.class.clone(), span(&rest[..2]));
            return 2;
        }
        if let Some(time) = clock(&rest[0].low) {
            let told = ConditionTold {
                time: Some(Spanned {
                    it: time,
                    at: rest[0].at.clone(),
                }),
                ..ConditionTold::default()
            };
            self.condition(told, before);
            return 1;
        }
        let used = if before.n_telling == 0 {
            self.between_places(rest, &words, before)
        } else {
            0
        };
        if used > 0 {
            used
        } else {
            self.number(rest, &words, before)
        }
    }

    fn meant(
        &mut self,
        meaning: Meaning,
        used: usize,
        rest: &[Word],
        words: &str,
        before: &mut Before,
    ) -> usize {
        let at = span(&rest[..used]);
        let mut told = ConditionTold::default();
        match meaning {
            Meaning::Filler => {}
            Meaning::Sign(sign, level) => {
                self.part().signs.push(Spanned {
                    it: (sign, level, words.to_owned()),
                    at,
                });
            }
            Meaning::Loads(running, level) => {
                told.loads = Some(Spanned {
                    it: (running, level),
                    at,
                })
            }
            Meaning::Switch(it) => told.switch = Some(Spanned { it, at }),
            Meaning::Breaker(it) => told.breaker = Some(Spanned { it, at }),
            Meaning::Input(it) => told.input = Some(Spanned { it, at }),
            Meaning::Tester if self.mode == Mode::Asking => {
                let conditions = ConditionTold::default();
                self.part().asked.push(AskedTold {
                    what: AskTold::Lamps,
                    conditions,
                    at,
                });
                before.asked = Some(self.part().asked.len() - 1);
            }
            Meaning::Tester => before.tester = true,
            Meaning::AllLamps(it) => self.lamps([Some(it); 3], at, words),
            Meaning::OtherLamps(it) => self.other_lamps(it, at),
            Meaning::TestLoad => return used + self.test_load(&rest[used..], at, before),
            Meaning::Detector => return used + self.detector(&rest[used..], words),
            Meaning::Meter => return used + self.meter(&rest[used..], at),
            Meaning::Accuracy => return used + self.accuracy(&rest[used..], at),
            Meaning::Current => return used + self.current(&rest[used..], at, words, before),
            Meaning::InsteadOf => return used + self.instead(&rest[used..], at, words, before),
        }
        self.condition(told, before);
        used
    }

    /// A pair is followed by what a lamp does or by a value; how many words that took.
    #[expect(
        clippy::too_many_arguments,
        reason = "one call with all that a reading is made of"
    )]
    fn after_pair(
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

    /// The longest value that the words start with, of whichever kind.
    fn value(&self, words: &[Word]) -> Option<(ValueTold, usize)> {
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

    fn longest<T: FromStr>(&self, words: &[Word]) -> Option<(T, usize)> {
        const LONGEST: usize = 8;
        let most = words.len().min(LONGEST);
        (1..=most)
            .rev()
            .find_map(|n| Some((self.text(&span(&words[..n])).parse().ok()?, n)))
    }

    /// Says why there is no value behind a pair; how many words were meant as one.
    fn no_value(&mut self, rest: &[Word], pair: &str, at: Span) -> usize {
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

    fn refuse(&mut self, error: Option<QuantityError>, at: Span, of: &str) {
        let Some(error) = error else { return };
        let within = at.start + error.at.start..at.start + error.at.end;
        let what = if of.is_empty() {
            error.what
        } else {
            format!("{of}: {}", error.what)
        };
        self.problem(within, what, error.hint.as_deref().unwrap_or(""));
    }

    fn lamp(&mut self, from: &ContactTold, to: &ContactTold, lamp: Lamp, at: Span, words: &str) {
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
    fn lamps(&mut self, lamps: Lamps, at: Span, words: &str) {
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

    fn other_lamps(&mut self, lamp: Lamp, at: Span) {
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

    fn detector(&mut self, rest: &[Word], words: &str) -> usize {
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

    fn meter(&mut self, rest: &[Word], at: Span) -> usize {
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

    fn class(&mut self, class: Option<String>, at: Span) {
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

    fn accuracy(&mut self, rest: &[Word], at: Span) -> usize {
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

    fn test_load(&mut self, rest: &[Word], at: Span, before: &mut Before) -> usize {
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

    fn current(&mut self, rest: &[Word], at: Span, words: &str, before: &mut Before) -> usize {
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

    fn instead(&mut self, rest: &[Word], at: Span, words: &str, before: &mut Before) -> usize {
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

    /// `desk ground to hall ground 60 V`: names before the contacts.
    fn between_places(&mut self, rest: &[Word], words: &str, before: &mut Before) -> usize {
        const NAME: usize = 6;
        for i in 0..rest.len().min(NAME) {
            let Some((one, used)) = phrase::end(&rest[i..]) else {
                continue;
            };
            let c = i + used;
            if rest
                .get(c)
                .is_none_or(|it| !BETWEEN.contains(&it.low.as_str()))
            {
                continue;
            }
            for j in c + 1..rest.len().min(c + 1 + NAME) {
                let Some((other, used)) = phrase::end(&rest[j..]) else {
                    continue;
                };
                let end = j + used;
                let value = &rest[end + skip(&rest[end..])..];
                let has_value =
                    self.value(value).is_some() || value.first().is_some_and(|it| numeric(&it.low));
                let ends = value.is_empty() || phrase::at(value).is_some();
                if !(has_value || (self.mode == Mode::Asking && ends)) {
                    continue;
                }
                let from = ContactTold {
                    place: self.name(&rest[..i]),
                    end: one,
                    at: span(&rest[i..c]),
                };
                let to = ContactTold {
                    place: self.name(&rest[c + 1..j]),
                    end: other,
                    at: span(&rest[j..end]),
                };
                before.n_telling += 1;
                return end
                    + self.after_pair(from, to, &rest[..end], &rest[end..], None, words, before);
            }
        }
        0
    }

    fn name(&self, words: &[Word]) -> Option<Spanned<String>> {
        let skipped = words
            .iter()
            .take_while(|it| matches!(it.low.as_str(), "the" | "between" | "from"))
            .count();
        let words = &words[skipped..];
        let at = span(words);
        (!words.is_empty()).then(|| Spanned {
            it: self
                .text(&at)
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" "),
            at,
        })
    }

    /// A value that no pair stands before.
    fn number(&mut self, rest: &[Word], words: &str, before: &mut Before) -> usize {
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

    /// Right behind a value a condition holds for that reading, else for the part.
    fn condition(&mut self, new: ConditionTold, before: &Before) {
        let part = self.part();
        let reading = before.reading.and_then(|n| part.readings.get_mut(n));
        let asked = before.asked.and_then(|n| part.asked.get_mut(n));
        let old = match (reading, asked) {
            (Some(reading), _) => &mut reading.conditions,
            (None, Some(asked)) => &mut asked.conditions,
            (None, None) => &mut part.conditions,
        };
        let mut twice = Vec::new();
        add(&mut old.loads, new.loads, &mut twice);
        add(&mut old.test_load, new.test_load, &mut twice);
        add(&mut old.switch, new.switch, &mut twice);
        add(&mut old.breaker, new.breaker, &mut twice);
        add(&mut old.input, new.input, &mut twice);
        add(&mut old.time, new.time, &mut twice);
        for at in twice {
            let what = format!("\"{}\" contradicts a condition told before", self.text(&at));
            self.problem(at, what, "write a condition right behind the value it belongs to, or part the two with a semicolon");
        }
    }

    fn not_understood(&mut self, words: &[Word], unknown: Option<Range<usize>>) {
        let Some(range) = unknown else { return };
        let behind_is_pair = pair(&words[range.end..]).is_some();
        let at = span(&words[range]);
        let shown = self.text(&at).to_owned();
        let hint = if shown.contains("not ") || shown == "not" || shown == "no" {
            "say only what is there; what is not there is left out".to_owned()
        } else if behind_is_pair {
            format!("if it is the name of a place, write \"{shown}:\"")
        } else if let Some(meant) = nearest(&shown, phrase::all()) {
            format!("did you mean \"{meant}\"?")
        } else {
            "leave it out, or use a word that is known: buzzing, warm plate, smell of burning, lights flicker, dead, works, \
             tingle, breaker tripped, after storm, whole house, with load, everything unplugged"
                .to_owned()
        };
        self.problem(at, format!("\"{shown}\" is not understood"), &hint);
    }
}

fn add<T: PartialEq>(old: &mut Option<Spanned<T>>, new: Option<Spanned<T>>, twice: &mut Vec<Span>) {
    match (&old, new) {
        (Some(old), Some(new)) if old.it != new.it => twice.push(new.at),
        (None, new) => *old = new,
        _ => {}
    }
}

/// The span of some words; empty at 0 for none.
fn span(words: &[Word]) -> Span {
    match (words.first(), words.last()) {
        (Some(first), Some(last)) => first.at.start..last.at.end,
        _ => 0..0,
    }
}

/// Whether a detector's state and a contact follow: `quiet at ground`, behind another that named the detector.
fn goes_on_detecting(words: &[Word]) -> bool {
    let Some((_, used)) = phrase::detects(words) else {
        return false;
    };
    let small = |it: &&Word| matches!(it.low.as_str(), "at" | "on" | "in" | "near" | "the");
    let at = used + words[used..].iter().take_while(small).count();
    matches!(phrase::end(&words[at..]), Some((End::Pin(_), _)))
}

/// How many words between a pair and its value say nothing.
fn skip(words: &[Word]) -> usize {
    words
        .iter()
        .take_while(|it| BEFORE_VALUE.contains(&it.low.as_str()))
        .count()
}

/// Whether a word looks like the beginning of a number.
fn numeric(word: &str) -> bool {
    word.trim_start_matches(['~', '≈', '<', '>', '±', '+', '-', '−', '.', '=', '≤', '≥'])
        .starts_with(|c: char| c.is_ascii_digit())
}

fn clock(word: &str) -> Option<jiff::civil::Time> {
    let (hour, minute) = word.split_once(':')?;
    jiff::civil::Time::new(hour.parse().ok()?, minute.parse().ok()?, 0, 0).ok()
}

/// Index of the lamp across two contacts.
fn which_lamp(a: Pin, b: Pin) -> Option<usize> {
    match (a.min(b), a.max(b)) {
        (Pin::Line, Pin::Neutral) => Some(0),
        (Pin::Line, Pin::Earth) => Some(1),
        (Pin::Neutral, Pin::Earth) => Some(2),
        _ => None,
    }
}

/// A pair at the start of the words: `HN`, `hot-neutral`, `hot to neutral`, `hot neutral`, `between hot and neutral`.
fn pair(words: &[Word]) -> Option<(ContactTold, ContactTold, usize)> {
    let first = words.first()?;
    if matches!(first.low.as_str(), "between" | "from") {
        return pair(&words[1..]).map(|(from, to, used)| (from, to, used + 1));
    }
    let contact = |end: End, at: Span| ContactTold {
        place: None,
        end,
        at,
    };
    if let Some((one, other)) = joined(&first.low) {
        return Some((
            contact(one, first.at.clone()),
            contact(other, first.at.clone()),
            1,
        ));
    }
    let (one, n) = phrase::end(words)?;
    let gap = usize::from(
        words
            .get(n)
            .is_some_and(|it| BETWEEN.contains(&it.low.as_str())),
    );
    let (other, m) = phrase::end(words.get(n + gap..)?)?;
    // two legs or a leg and a contact without a sign between them are rather a name and a contact
    if gap == 0 && (matches!(one, End::Leg(_)) || matches!(other, End::Leg(_))) {
        return None;
    }
    let end = n + gap + m;
    Some((
        contact(one, span(&words[..n])),
        contact(other, span(&words[n + gap..end])),
        end,
    ))
}

/// A pair written as one word.
fn joined(word: &str) -> Option<(End, End)> {
    let end = |part: &str| {
        let word = Word {
            low: part.to_owned(),
            at: 0..0,
        };
        match phrase::end(std::slice::from_ref(&word)) {
            Some((it @ (End::Pin(_) | End::Leg(_)), _)) => Some(it),
            _ => None,
        }
    };
    let parts: Vec<&str> = word
        .split(['-', '–', '—', '/', '→', '_', '+', '>'])
        .filter(|it| !matches!(*it, "to" | "" | "and"))
        .collect();
    if let [one, other] = parts.as_slice() {
        return Some((end(one)?, end(other)?));
    }
    let [only] = parts.as_slice() else {
        return None;
    };
    let split = |at: usize| {
        Some((
            End::Pin(phrase::pin(only.get(..at)?)?),
            End::Pin(phrase::pin(only.get(at..)?)?),
        ))
    };
    match only.len() {
        2 if only.is_ascii() => split(1),
        3 if only.ends_with("pe") => split(1),
        _ => None,
    }
}

/// Whether an item that asks for nothing is the name of a place.
fn names_a_place(words: &[Word]) -> bool {
    !words.is_empty()
        && pair(words).is_none()
        && words.iter().all(|it| !BETWEEN.contains(&it.low.as_str()))
        && (0..words.len())
            .all(|n| !matches!(phrase::at(&words[n..]), Some((it, _)) if it != Meaning::Filler))
}

/// Whether these words are things told and not the name of a place.
fn known(words: &[Word]) -> bool {
    let mut n = 0;
    let mut telling = false;
    while n < words.len() {
        let rest = &words[n..];
        let found = pair(rest)
            .map(|it| (it.2, true))
            .or_else(|| phrase::at(rest).map(|(it, used)| (used, it != Meaning::Filler)));
        let Some((used, tells)) = found else {
            return false;
        };
        telling |= tells;
        n += used;
    }
    telling
}
