//! `trace --led`: give a result, get the next check, until none that is yours to make could change what has to be done.

use std::io::{self, BufRead, IsTerminal, Write};
use std::path::Path;

use site::model::Site;
use site::quick;
use site::visit::Visit;
use trace::Question;
use trace::answer::Answer;

use crate::args::{LINE_HELP, Trace};
use crate::ending::{Ending, Exit, Page, Refusal};
use crate::input;
use crate::keep::Keep;
use crate::screen::{Format, Screen};
use crate::show::{answer, led};
use crate::verbs::told::{add, here, place_of, tell};
use crate::verbs::trace::{is_file, nothing_told};

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
        if nothing_told(&self.visit) {
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
