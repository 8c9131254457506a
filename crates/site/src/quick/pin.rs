//! One reading at a pin of a desktop supply, as a technician types it: `24-pin pin 9 4.98 V meter cheap, standby`.
//!
//! A connector, a pin by its number, its signal or the colour of its wire, and a value; then, in any order, the meter, what
//! the machine did and the guide that the supply is made by. Numbers, meters and accuracies are read as in a line of readings.

mod words;

use metrology::{Accuracy, Function, Meter, Stated, Volts};

use super::cut::{self, Word};
use super::phrase;
use super::scan::{longest, span};
use super::told::Span;
use crate::connector::{AtPin, Connector, Machine, Pin};
use crate::file::near::{listed, nearest};
use crate::file::problem::{Log, Problems};
use crate::signal::Signal;
use crate::supply::Guide;
use words::{FILLERS, MACHINES, SIGNALS, colours, connectors, said};

const EXAMPLE: &str = "write it as \"24-pin pin 9 4.98 V\"";

/// A reading at a pin.
///
/// # Errors
/// Everything in the line that is not understood or missing, with columns and hints.
pub fn at_pin(line: &str) -> Result<AtPin, Problems> {
    let mut told = Told {
        line,
        log: Log::of(super::FILE, line),
        connector: None,
        pin: None,
        value: None,
        spoilt: false,
        meter: None,
        accuracy: None,
        machine: None,
        guide: None,
    };
    for item in cut::items(line) {
        told.words(&item.words);
    }
    told.reading()
}

/// How a pin was named.
enum Named {
    Number(String),
    Signal(Signal),
    Colour(String),
}

struct Told<'l> {
    line: &'l str,
    log: Log<'l>,
    connector: Option<&'static Connector>,
    pin: Option<(Named, Span)>,
    value: Option<Stated<Volts>>,
    /// Something was meant as a value and cannot be read.
    spoilt: bool,
    meter: Option<&'static Meter>,
    accuracy: Option<Accuracy>,
    machine: Option<Machine>,
    guide: Option<Guide>,
}

impl Told<'_> {
    fn problem(&mut self, at: Span, what: String, hint: &str) {
        let hint = (!hint.is_empty()).then(|| hint.to_owned());
        self.log.add(at, "", what, hint);
    }

    fn words(&mut self, words: &[Word]) {
        let mut n = 0;
        while n < words.len() {
            n += self.step(&words[n..]);
        }
    }

    /// Reads one thing; how many words it took, at least one.
    fn step(&mut self, rest: &[Word]) -> usize {
        let low = |n: usize| rest.get(n).map_or("", |it| it.low.as_str());
        if let Some((it, used)) = said(rest, connectors()) {
            let at = span(&rest[..used]);
            set(
                &mut self.connector,
                it,
                |it| it.id.clone(),
                at,
                &mut self.log,
            );
            return used;
        }
        if matches!(low(0), "pin" | "contact") && rest.len() > 1 {
            let at = span(&rest[..2]);
            self.named(Named::Number(low(1).to_uppercase()), at);
            return 2;
        }
        if low(0) == "accuracy" {
            if let Some((it, used)) = longest::<Accuracy>(self.line, &rest[1..]) {
                self.accuracy = Some(it);
                return used + 1;
            }
            let what = "accuracy has no figures".to_owned();
            self.problem(rest[0].at.clone(), what, "write \"accuracy 0.8 % + 3\"");
            return 1;
        }
        if low(0) == "atx" && rest.len() > 1 {
            return self.atx(rest);
        }
        if let Some((it, used)) = longest::<Stated<Volts>>(self.line, rest) {
            let at = span(&rest[..used]);
            if self.value.is_some() {
                let what = "a second value stands in one reading".to_owned();
                self.problem(at, what, "write one reading at a time");
            }
            self.value = Some(it);
            return used;
        }
        if let Some((it, used)) = said(rest, SIGNALS.iter().copied()) {
            self.named(Named::Signal(it), span(&rest[..used]));
            return used;
        }
        if let Some((it, used)) = said(rest, MACHINES.iter().copied()) {
            let at = span(&rest[..used]);
            set(
                &mut self.machine,
                it,
                |it| format!("{it:?}").to_lowercase(),
                at,
                &mut self.log,
            );
            return used;
        }
        if let Some(it) = phrase::class(low(0)) {
            let at = rest[0].at.clone();
            set(&mut self.meter, it, |it| it.name.clone(), at, &mut self.log);
            return 1;
        }
        if low(0) == "12v-only" || low(0) == "12vo" {
            self.guide = Some(Guide::Only12);
            return 1;
        }
        if colours().any(|it| it == low(0)) {
            self.named(Named::Colour(low(0).to_owned()), rest[0].at.clone());
            return 1;
        }
        if !FILLERS.contains(&low(0)) {
            self.not_understood(&rest[0]);
        }
        1
    }

    fn atx(&mut self, rest: &[Word]) -> usize {
        let at = span(&rest[..2]);
        let version = rest[1].low.trim_end_matches(".x").parse::<f64>();
        match version {
            Ok(it) if (0.9..2.0).contains(&it) => self.guide = Some(Guide::One),
            Ok(it) if (2.0..3.0).contains(&it) => self.guide = Some(Guide::Two),
            Ok(it) if (3.0..4.0).contains(&it) => self.guide = Some(Guide::Three),
            _ => self.problem(
                at,
                format!("there is no guide \"atx {}\"", rest[1].low),
                "write \"atx 2.4\" or \"atx 3.0\"",
            ),
        }
        2
    }

    fn not_understood(&mut self, word: &Word) {
        let shown = &self.line[word.at.clone()];
        if shown.starts_with(|it: char| it.is_ascii_digit() || matches!(it, '-' | '+' | '.')) {
            self.spoilt = true;
            let error = shown.parse::<Volts>().err();
            let hint = error.and_then(|it| it.hint).unwrap_or_default();
            let what = format!("\"{shown}\" is no voltage");
            return self.problem(word.at.clone(), what, &hint);
        }
        let known = (FILLERS.into_iter())
            .chain(MACHINES.iter().map(|it| it.0))
            .chain(SIGNALS.iter().map(|it| it.0))
            .chain(Connector::all().iter().map(|it| it.id.as_str()));
        let hint = match nearest(shown, known) {
            Some(it) => format!("did you mean \"{it}\"?"),
            None => "say connector, pin, value, meter, and whether the machine was on".to_owned(),
        };
        let what = format!("\"{shown}\" is not understood");
        self.problem(word.at.clone(), what, &hint);
    }

    fn named(&mut self, it: Named, at: Span) {
        if self.pin.is_some() {
            let what = "a second pin stands in one reading".to_owned();
            return self.problem(at, what, "write one reading at a time, against COM");
        }
        self.pin = Some((it, at));
    }

    fn reading(mut self) -> Result<AtPin, Problems> {
        let end = self.line.len()..self.line.len();
        let Some(connector) = self.connector else {
            let ids = listed(Connector::all().iter().map(|it| it.id.as_str()));
            let hint = format!("{EXAMPLE}; connectors are {ids}");
            self.problem(end, "it is not said at which connector".to_owned(), &hint);
            return Err(self.log.close());
        };
        let pin = match self.pin.take() {
            Some((named, at)) => self.pin_of(connector, &named, at),
            None => {
                let what = "it is not said at which pin".to_owned();
                self.problem(end.clone(), what, EXAMPLE);
                None
            }
        };
        if self.value.is_none() && !self.spoilt {
            self.problem(end, "it is not said what was read".to_owned(), EXAMPLE);
        }
        let meter = match (self.meter.cloned(), self.accuracy) {
            (meter, None) => meter,
            (meter, Some(it)) => {
                let meter = meter.unwrap_or_else(|| Meter::unknown().clone());
                Some(meter.with_accuracy(Function::DcVolts, it))
            }
        };
        match (pin, self.value.take(), self.log.is_clean()) {
            (Some(pin), Some(value), true) => Ok(AtPin {
                connector,
                pin,
                value,
                meter,
                machine: self.machine,
                guide: self.guide,
            }),
            _ => Err(self.log.close()),
        }
    }

    fn pin_of(
        &mut self,
        connector: &'static Connector,
        named: &Named,
        at: Span,
    ) -> Option<&'static Pin> {
        let standby12 = |it: Signal| match it {
            Signal::Standby5 if connector.pins_of(it).next().is_none() => Signal::Standby12,
            it => it,
        };
        let (found, what) = match named {
            Named::Number(it) => (connector.pin(it), format!("pin {it}")),
            Named::Signal(it) => (connector.pins_of(standby12(*it)).next(), it.to_string()),
            Named::Colour(it) => {
                let mut of = connector
                    .pins
                    .iter()
                    .filter(|pin| pin.colour.split([' ', '(', ')']).any(|word| word == it));
                let first = of.next();
                let alike = first.is_some_and(|first| of.all(|it| it.signal == first.signal));
                (first.filter(|_| alike), format!("one signal on {it} wires"))
            }
        };
        if found.is_none() {
            let numbers = match (connector.pins.first(), connector.pins.last()) {
                (Some(first), Some(last)) => {
                    format!("its pins are {} to {}", first.number, last.number)
                }
                _ => String::new(),
            };
            let hint = format!("{numbers}; see `wattwright pins {}`", connector.id);
            self.problem(at, format!("{} has no {what}", connector.name), &hint);
        }
        found
    }
}

/// Keeps what is told, and says so where it was told otherwise before.
fn set<T: Clone>(
    kept: &mut Option<T>,
    it: T,
    name: impl Fn(&T) -> String,
    at: Span,
    log: &mut Log,
) {
    if let Some(old) = kept.as_ref().map(&name).filter(|old| *old != name(&it)) {
        let what = format!("\"{}\" contradicts \"{old}\", told before", name(&it));
        log.add(at, "", what, Some("write one reading at a time".to_owned()));
    }
    *kept = Some(it);
}
