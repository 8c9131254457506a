//! Items to what they tell: at each word the longest thing that is understood.

mod instruments;
mod pairs;
mod values;

use std::ops::Range;

use super::cut::{self, Item, Word};
use super::phrase::{self, Meaning};
use super::prose;
use super::told::{AskTold, AskedTold, ConditionTold, Level, Part, Span, Spanned, Told};
use crate::file::near::nearest;
use crate::file::problem::Log;
use crate::visit::{Sign, Tone};
use instruments::goes_on_detecting;
use pairs::{known, names_a_place, pair};
pub(super) use values::longest;
use values::{clock, numeric};

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
        if self.is_only_a_sentence(item, &words) && self.sentence(&words) {
            return;
        }
        self.words(item, &words);
    }

    /// Whether words are rather a sentence than a list: none is a number or a pair, and as a list they are not understood.
    fn is_only_a_sentence(&self, item: &Item, words: &[Word]) -> bool {
        let counts = |n: usize| pair(&words[n..]).is_some() || numeric(&words[n].low);
        if self.mode == Mode::Asking || (0..words.len()).any(counts) {
            return false;
        }
        let mut log = Log::of("", self.line);
        let mut trial = Scan {
            line: self.line,
            mode: self.mode,
            log: &mut log,
            told: self.told.clone(),
        };
        trial.words(item, words);
        !log.is_clean()
    }

    /// Takes the words as a sentence, where that tells something or speaks of harm.
    fn sentence(&mut self, words: &[Word]) -> bool {
        let at = span(words);
        let text = self.text(&at).to_owned();
        let mut told = prose::heard(&text);
        if told.is_empty() && prose::tone(&text) == Tone::Harm {
            told.push((Sign::NotUnderstood(Tone::Harm), Level::Outlet));
        }
        let signs = told.iter().map(|(sign, level)| Spanned {
            it: (*sign, *level, text.clone()),
            at: at.clone(),
        });
        self.part().signs.extend(signs);
        !told.is_empty()
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
        let used = self.value_first(rest, &words, before);
        if used > 0 {
            return used;
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
pub(super) fn span(words: &[Word]) -> Span {
    match (words.first(), words.last()) {
        (Some(first), Some(last)) => first.at.start..last.at.end,
        _ => 0..0,
    }
}
