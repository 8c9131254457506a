//! `expect`: what a meter or a lamp tester would show at any place and pair, under any cause and load.

use chain::element::Element;
use metrology::{Fraction, Hertz, Meter, Ohms};
use serde::Serialize;
use site::model::Site;
use site::quick::{self, Ask, Asked};
use site::region::Region;
use site::visit::{Input, UsedMeter};
use trace::expect::{Expected, Look, NotExpected, Supposed, expect};
use trace::fault::Severity;

use crate::args::Expect;
use crate::ending::{Ending, Exit, FORMAT, Page, Refusal};
use crate::input;
use crate::screen::{Format, Looks, Screen};
use crate::show::{answer, words};

/// The shape of `expect --json`.
#[derive(Serialize)]
struct Answer {
    format: u32,
    /// The faults that are supposed; none: everything is sound.
    cause: Vec<Fault>,
    expected: Vec<Seen>,
}

#[derive(Serialize)]
struct Fault {
    kind: String,
    at: String,
    severity: Option<f64>,
    says: String,
}

#[derive(Serialize)]
struct Seen {
    #[serde(flatten)]
    expected: Expected,
    /// The condition in words; empty for none.
    condition: String,
}

/// Runs the verb.
pub fn run(args: &Expect, json: bool, format: Format) -> Ending {
    let told = match &args.site {
        Some(path) => Ok(input::site(path)?.site),
        None => Err(input::region(&args.setting.region)?),
    };
    let causes = args
        .cause
        .iter()
        .map(|it| Cause::read(it))
        .collect::<Result<Vec<_>, _>>()?;
    let line = args.places.as_deref().unwrap_or("");
    let (site, asked, meter) = asked(line, told, &causes)?;
    if asked.is_empty() {
        return Err(Refusal::plain(
            "nothing to look at; name a place, as \"front-desk\", or what to read there, as \"front-desk: hot-neutral, lamps\"",
        ));
    }
    let supposed = causes
        .iter()
        .map(|it| it.placed(&site, &asked))
        .collect::<Result<Vec<_>, _>>()?;
    let mut seen = Vec::new();
    for it in &asked {
        let look = look(it, meter.as_ref());
        let expected =
            expect(&site, &supposed, &it.condition, &[look], args.seed).map_err(refuse)?;
        let mut condition = words::condition(&site, &it.condition);
        if it.input == Input::LowImpedance {
            condition.push_str(", on the low-impedance input");
        }
        seen.extend(expected.into_iter().map(|expected| Seen {
            expected,
            condition: condition.clone(),
        }));
    }
    let cause = supposed.iter().map(|it| fault(&site, it)).collect();
    let it = Answer {
        format: FORMAT,
        cause,
        expected: seen,
    };
    if json {
        Ok(Page::json(&it, Exit::Good))
    } else {
        Ok(Page::good(page(&it, format)))
    }
}

fn refuse(error: NotExpected) -> Refusal {
    Refusal::plain(error.to_string())
}

fn page(it: &Answer, format: Format) -> String {
    let mut screen = Screen::new(format);
    let cause: Vec<String> = it
        .cause
        .iter()
        .map(|it| trace::words::clause(&it.says))
        .collect();
    let cause = if cause.is_empty() {
        "everything is sound".to_owned()
    } else {
        cause.join(", and ")
    };
    screen.hanging("If ", Looks::Faint, &format!("{cause}:"), Looks::Heading);
    let rows: Vec<Vec<String>> = it
        .expected
        .iter()
        .map(|it| {
            vec![
                format!("{}{}", it.expected.look, it.condition),
                it.expected.says.clone(),
            ]
        })
        .collect();
    screen.table(2, &["looked at", "it shows, nine times in ten"], &rows);
    screen.blank();
    screen.paragraph(
        0,
        "To understand and to teach: a real outlet is read, not expected.",
    );
    screen.paragraph(0, answer::ALWAYS);
    screen.finish()
}

fn fault(site: &Site, it: &Supposed) -> Fault {
    let says = trace::faults::find(&it.kind).zip(Element::from_key(site, &it.at));
    let says = says.map_or(String::new(), |(fault, at)| {
        trace::words::fill(fault.says, site, at)
    });
    Fault {
        kind: it.kind.clone(),
        at: it.at.clone(),
        severity: it.severity,
        says,
    }
}

/// What is asked, at the site given or one assumed around the places of the line and of the causes.
fn asked(
    line: &str,
    told: Result<Site, &'static Region>,
    causes: &[Cause],
) -> Result<(Site, Vec<Asked>, Option<UsedMeter>), Refusal> {
    let outlet = |it: &Cause| {
        Some(
            it.at
                .as_deref()?
                .split_once(':')
                .filter(|(kind, _)| matches!(*kind, "run" | "outlet"))?
                .1
                .to_owned(),
        )
    };
    let others: Vec<String> = causes.iter().filter_map(outlet).collect();
    let others: Vec<String> = others
        .into_iter()
        .filter(|it| !it.starts_with("outlet-"))
        .collect();
    if line.trim().is_empty() {
        // without a line the places of the causes are looked at
        let line = others.join("; ");
        return Ok(quick::asked(
            if line.is_empty() { "outlet" } else { &line },
            told,
            &others,
        )?);
    }
    Ok(quick::asked(line, told, &others)?)
}

fn look(it: &Asked, meter: Option<&UsedMeter>) -> Look {
    let meter: &Meter = match meter {
        Some(it) => &it.meter,
        None => Meter::unknown(),
    };
    match it.what {
        Ask::Lamps(at) => Look::Lamps(at),
        Ask::Detector(at, pin) => Look::Detector(at, pin),
        Ask::Volts(from, to) => {
            let low = || {
                meter
                    .low_impedance_input()
                    .or_else(|| Meter::classes().iter().find_map(Meter::low_impedance_input))
            };
            let input = match it.input {
                Input::LowImpedance => low().unwrap_or_else(|| meter.input()),
                Input::Normal | Input::NotTold => meter.input(),
            };
            Look::Volts { from, to, input }
        }
    }
}

/// A cause as it was typed.
struct Cause {
    kind: String,
    at: Option<String>,
    severity: Option<f64>,
}

impl Cause {
    /// `open-neutral-run@run:desk`, `poor-neutral-run@run:desk=2.5 ohm`, or the fault alone.
    fn read(text: &str) -> Result<Cause, Refusal> {
        let (fault, severity) = match text.split_once('=') {
            Some((fault, severity)) => (fault, Some(severity.trim())),
            None => (text, None),
        };
        let (kind, at) = match fault.split_once('@') {
            Some((kind, at)) => (kind.trim(), Some(at.trim().to_owned())),
            None => (fault.trim(), None),
        };
        let Some(fault) = trace::faults::find(kind) else {
            return Err(refuse(NotExpected::NoSuchFault(kind.to_owned())));
        };
        let severity = severity
            .map(|it| severity_of(it, kind, fault.severity))
            .transpose()?;
        Ok(Cause {
            kind: kind.to_owned(),
            at,
            severity,
        })
    }

    /// At the element that was named, or else at the first one of the outlet looked at that can have it.
    fn placed(&self, site: &Site, asked: &[Asked]) -> Result<Supposed, Refusal> {
        let supposed = |at: String| Supposed {
            kind: self.kind.clone(),
            at,
            severity: self.severity,
        };
        if let Some(at) = &self.at {
            return Ok(supposed(at.clone()));
        }
        let mut keys = Vec::new();
        for it in asked {
            let outlet = match it.what {
                Ask::Lamps(at) | Ask::Detector(at, _) => at,
                Ask::Volts(site::visit::Contact::Outlet(at, _), _) => at,
                Ask::Volts(..) => continue,
            };
            let circuit = site.outlets[outlet.0].circuit;
            keys.extend(
                [
                    Element::Run(outlet),
                    Element::Outlet(outlet),
                    Element::Circuit(circuit),
                ]
                .map(|it| it.key(site)),
            );
        }
        keys.extend(site.panels.iter().map(|it| format!("panel:{}", it.id)));
        keys.extend(["service", "supply", "meter:1"].map(str::to_owned));
        let can = |key: &String| {
            expect(site, &[supposed(key.clone())], &asked[0].condition, &[], 1).is_ok()
        };
        let found = keys.into_iter().find(can);
        found.map(supposed).ok_or_else(|| {
            Refusal::plain(format!(
                "nothing looked at can have \"{0}\"; name its element, as \"{0}@run:front-desk\"",
                self.kind
            ))
        })
    }
}

fn severity_of(text: &str, kind: &str, of: Severity) -> Result<f64, Refusal> {
    let ohms = text.parse::<Ohms>().map(Ohms::si);
    let value = ohms
        .or_else(|_| text.parse::<Fraction>().map(Fraction::si))
        .or_else(|_| text.parse::<Hertz>().map(Hertz::si));
    let Ok(value) = value else {
        return Err(Refusal::plain(format!(
            "severity \"{text}\" of {kind} is not understood; write \"2.5 ohm\", \"92 %\" or \"59 Hz\""
        )));
    };
    let (low, high) = match of {
        Severity::One => {
            return Err(Refusal::plain(format!(
                "{kind} has no severity; leave \"={text}\" out"
            )));
        }
        Severity::LogUniform(low, high) | Severity::Uniform(low, high) => (low, high),
    };
    if !(low..=high).contains(&value) {
        return Err(Refusal::plain(format!(
            "severity \"{text}\" of {kind} is outside of {low} to {high} (ohms, fraction of nominal, or hertz)"
        )));
    }
    Ok(value)
}
