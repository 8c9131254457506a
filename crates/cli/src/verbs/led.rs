//! `trace --led`: give a result, get the next check, until none that is yours to make could change what has to be done.

use std::io::{self, BufRead, IsTerminal, Write};
use std::path::Path;

use site::file;
use site::model::{Origin, OutletIx, Site};
use site::quick::{self, Counts};
use site::region::Region;
use site::visit::{Contact, Visit, Whereabouts};
use trace::Question;
use trace::answer::{Answer, Next};

use crate::args::{LINE_HELP, Trace};
use crate::ending::{Ending, Exit, Page, Refusal};
use crate::input;
use crate::keep::{self, Keep};
use crate::screen::{Format, Screen};
use crate::show::{answer, led};
use crate::verbs::trace::is_file;

/// Runs the verb.
pub fn run(args: &Trace, json: bool, format: Format) -> Ending {
    let (site, visit, keep) = begin(args)?;
    let mut led = Led {
        args,
        json,
        format,
        site,
        visit,
        keep,
    };
    match led.lead() {
        Ok(exit) => Ok(Page {
            text: String::new(),
            exit,
        }),
        Err(Stop::Refused(refusal)) => Err(refusal),
        // whoever read the output has gone; what was told is kept
        Err(Stop::Gone) => Ok(Page {
            text: String::new(),
            exit: Exit::Good,
        }),
    }
}

/// Why being led ends before its end.
enum Stop {
    Refused(Refusal),
    Gone,
}

impl From<Refusal> for Stop {
    fn from(refusal: Refusal) -> Stop {
        Stop::Refused(refusal)
    }
}

impl From<io::Error> for Stop {
    fn from(error: io::Error) -> Stop {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Stop::Gone,
            _ => Stop::Refused(Refusal::plain(format!(
                "the conversation cannot go on: {error}"
            ))),
        }
    }
}

/// Site, visit and kept file as the command line has them.
fn begin(args: &Trace) -> Result<(Site, Visit, Option<Keep>), Refusal> {
    let kept = args.keep.as_deref().filter(|it| it.exists());
    let (site_file, visit_file, line) = match args.what.as_slice() {
        [] => (None, None, None),
        [line] if !is_file(line) => (None, None, Some(line.as_str())),
        [site] => (Some(site), None, None),
        [site, visit, ..] => (Some(site), Some(visit), None),
    };
    let site = site_file
        .map(|it| input::site(Path::new(it)))
        .transpose()?
        .map(|it| it.site);
    if let (Some(_), Some(kept)) = (visit_file, kept) {
        let kept = kept.display();
        return Err(Refusal::plain(format!(
            "{kept} holds a visit already; give it alone, or a new file to keep this visit in"
        )));
    }
    if let Some(kept) = kept {
        let (mut keep, mut site, mut visit) = Keep::resume(kept, site)?;
        if let Some(line) = line {
            let here = here(&visit);
            (site, visit) = add(line, &site, &visit, here)?;
            keep.write(&site, &visit)?;
        }
        return Ok((site, visit, Some(keep)));
    }
    let (site, mut visit) = match (site, visit_file, line) {
        (Some(site), Some(visit), _) => {
            let visit = input::visit(Path::new(visit), &site)?;
            (site, visit)
        }
        (Some(site), None, _) => {
            let visit = quick::nothing(&site);
            (site, visit)
        }
        (None, _, line) => quick::quick(line.unwrap_or(""), input::region(&args.setting.region)?)?,
    };
    visit.skill = input::skill(&args.setting, &visit);
    let keep = args
        .keep
        .as_deref()
        .map(|path| Keep::begin(path, &site, &visit, today()))
        .transpose()?;
    Ok((site, visit, keep))
}

/// The clock is read here and nowhere else.
fn today() -> jiff::civil::Date {
    jiff::ZonedDateTime::now().date()
}

struct Led<'a> {
    args: &'a Trace,
    json: bool,
    format: Format,
    site: Site,
    visit: Visit,
    keep: Option<Keep>,
}

impl Led<'_> {
    fn lead(&mut self) -> Result<Exit, Stop> {
        let prompts = io::stdin().is_terminal();
        let mut lines = io::stdin().lock().lines();
        let mut it = self.ask();
        self.show(&it)?;
        loop {
            let next = it.next.clone();
            if prompts {
                let place = next.as_ref().and_then(|it| place_of(it, &self.site));
                let at = place.map_or("", |it| self.site.outlets[it.0].id.as_str());
                self.say(&format!("{at}> "))?;
            }
            let Some(line) = lines.next() else { break };
            let line = line?;
            match line.trim().to_lowercase().as_str() {
                "" => continue,
                "done" | "quit" | "exit" | "stop" => break,
                "why" => {
                    self.show_all(&it)?;
                    continue;
                }
                "help" | "?" => {
                    self.say(&format!("{LINE_HELP}\n\n{}\n", led::ORDERS))?;
                    continue;
                }
                "cannot" | "can't" | "can not" | "skip" => match &next {
                    Some(next) => self.visit.cannot.push(next.key.clone()),
                    None => continue,
                },
                _ => match tell(&line, next.as_ref(), &self.site, &self.visit) {
                    Ok((site, visit)) => (self.site, self.visit) = (site, visit),
                    Err(refusal) if self.json => {
                        self.say(&(refusal.json() + "\n"))?;
                        continue;
                    }
                    Err(refusal) => {
                        self.say(&refusal.shown())?;
                        continue;
                    }
                },
            }
            if let Some(keep) = &mut self.keep {
                keep.write(&self.site, &self.visit)?;
            }
            it = self.ask();
            self.show(&it)?;
        }
        if let (Some(path), false) = (&self.args.keep, self.json) {
            let site = self.args.what.first().filter(|it| is_file(it));
            let site = site.map_or(String::new(), |it| format!("{it} "));
            let path = path.display();
            self.say(&format!(
                "\nKept in {path}. To go on: wattwright trace --led {site}--keep {path}\n"
            ))?;
        }
        Ok(Exit::of(it.verdict, &it.action))
    }

    fn ask(&self) -> Answer {
        let skill = input::skill(&self.args.setting, &self.visit);
        trace::trace(&Question {
            site: &self.site,
            visit: &self.visit,
            skill,
            seed: self.args.seed,
        })
    }

    fn say(&self, text: &str) -> Result<(), Stop> {
        let mut out = io::stdout().lock();
        out.write_all(text.as_bytes())?;
        out.flush()?;
        Ok(())
    }

    fn show(&self, it: &Answer) -> Result<(), Stop> {
        if self.json {
            let text =
                serde_json::to_string(it).map_err(|error| Refusal::plain(error.to_string()))?;
            return self.say(&(text + "\n"));
        }
        let mut screen = Screen::new(self.format);
        screen.blank();
        let words = &self.site.region.words;
        if Counts::of(&self.visit) == Counts::default() {
            led::nothing_told(&mut screen);
        } else if it.next.is_some() {
            led::step(&mut screen, it, words);
        } else {
            answer::page(&mut screen, it, words);
            led::nothing_left(&mut screen);
        }
        self.say(&screen.finish())
    }

    fn show_all(&self, it: &Answer) -> Result<(), Stop> {
        let mut screen = Screen::new(self.format);
        screen.blank();
        answer::page(&mut screen, it, &self.site.region.words);
        self.say(&screen.finish())
    }
}

/// The outlet of the last thing told.
fn here(visit: &Visit) -> Option<OutletIx> {
    let read = visit.readings.iter().rev().find_map(|it| match it.from {
        Contact::Outlet(outlet, _) => Some(outlet),
        _ => None,
    });
    read.or_else(|| {
        visit.observations.iter().rev().find_map(|it| match it.at {
            Whereabouts::Outlet(outlet) => Some(outlet),
            _ => None,
        })
    })
}

/// The outlet that a check is about: a result told without a name belongs there.
fn place_of(next: &Next, site: &Site) -> Option<OutletIx> {
    if let Some(circuit) = next.key.strip_prefix("breaker:") {
        let circuit = site.circuits.iter().position(|it| it.id == circuit)?;
        return site
            .outlets
            .iter()
            .position(|it| it.circuit.0 == circuit)
            .map(OutletIx);
    }
    let (name, _) = next.tell.split_once(':')?;
    site.outlets
        .iter()
        .position(|it| it.id == name)
        .map(OutletIx)
}

/// A result as it was typed: a whole line, or only what stands for the dots of the check's own line.
fn tell(
    line: &str,
    next: Option<&Next>,
    site: &Site,
    visit: &Visit,
) -> Result<(Site, Visit), Refusal> {
    let place = next
        .and_then(|it| place_of(it, site))
        .or_else(|| here(visit));
    let whole = add(line, site, visit, place).and_then(|it| told_something(it, visit));
    let Err(refusal) = whole else { return whole };
    let Some(completed) = next.and_then(|it| complete(line.trim(), it)) else {
        return Err(refusal);
    };
    let completed = add(&completed, site, visit, place).and_then(|it| told_something(it, visit));
    // a value alone is meant for the check, and so are its problems
    let value = |c: char| c.is_ascii_digit() || "~<>+-−".contains(c);
    if completed.is_ok() || line.trim_start().starts_with(value) {
        return completed;
    }
    Err(refusal)
}

fn told_something(new: (Site, Visit), old: &Visit) -> Result<(Site, Visit), Refusal> {
    if Counts::of(&new.1) == Counts::of(old) {
        return Err(Refusal::plain(
            "that tells no reading and nothing seen; \"help\" shows how to write it",
        ));
    }
    Ok(new)
}

/// The line that the check asks for, with the dots filled in or the alternative chosen.
fn complete(told: &str, next: &Next) -> Option<String> {
    if let Some((yes, no)) = next
        .tell
        .strip_suffix(')')
        .and_then(|it| it.split_once(" (or: "))
    {
        let place = yes
            .split_once(": ")
            .map_or(String::new(), |(place, _)| format!("{place}: "));
        let word = told.to_lowercase();
        let word = word
            .trim_start_matches("it ")
            .trim_start_matches("the ")
            .trim_start_matches("breaker ")
            .trim_start_matches("is ");
        return match word {
            "tripped" | "off" | "open" if next.key.starts_with("breaker:") => Some(yes.to_owned()),
            "on" | "closed" if next.key.starts_with("breaker:") => Some(no.to_owned()),
            "signals" | "signal" | "yes" | "beeps" | "lights" => Some(yes.to_owned()),
            "quiet" | "no" | "silent" | "no signal" | "stays quiet" => Some(format!("{place}{no}")),
            _ => None,
        };
    }
    let dots = if next.tell.contains("... V") {
        "... V"
    } else {
        "..."
    };
    next.tell
        .contains(dots)
        .then(|| next.tell.replacen(dots, told, 1))
}

/// A line added to a visit. Around an assumed site new names make new outlets.
fn add(
    line: &str,
    site: &Site,
    visit: &Visit,
    here: Option<OutletIx>,
) -> Result<(Site, Visit), Refusal> {
    if site.origin == Origin::Assumed {
        let known = |name: &str| {
            site.outlets
                .iter()
                .any(|it| it.id == name || it.label == name)
        };
        let new: Vec<String> = quick::places(line)
            .into_iter()
            .filter(|it| !known(it))
            .collect();
        if !new.is_empty() {
            let (wider, moved) = widen(site.region, site, visit, new)?;
            let here = here
                .and_then(|it| {
                    wider
                        .outlets
                        .iter()
                        .position(|o| o.id == site.outlets[it.0].id)
                })
                .map(OutletIx);
            let visit = quick::more(line, &wider, &moved, here)?;
            return Ok((wider, visit));
        }
    }
    let visit = quick::more(line, site, visit, here)?;
    Ok((site.clone(), visit))
}

/// The same visit at a site assumed around more outlets.
fn widen(
    region: &'static Region,
    site: &Site,
    visit: &Visit,
    new: Vec<String>,
) -> Result<(Site, Visit), Refusal> {
    let circuit = site.circuits.first().map(|_| 0);
    let told = site
        .outlets
        .iter()
        .filter(|it| Some(it.circuit.0) == circuit)
        .map(|it| it.id.clone());
    let wider = keep::assume(region, &told.chain(new).collect::<Vec<_>>());
    let document = quick::written(visit, site, Counts::default());
    let document =
        serde_json::to_value(document).map_err(|error| Refusal::plain(error.to_string()))?;
    let mut document = document;
    document["format"] = 1.into();
    document["cannot"] = visit.cannot.clone().into();
    let mut moved = file::visit_from_value(&document, "visit", &wider)?;
    (moved.site, moved.date, moved.skill) = (visit.site.clone(), visit.date, visit.skill);
    Ok((wider, moved))
}
