//! `trace`: from files, from one line of readings, led, or line by line.

use std::path::Path;

use site::model::Site;
use site::quick;
use site::visit::Visit;
use trace::Question;
use trace::answer::Answer;

use crate::args::Trace;
use crate::ending::{Ending, Exit, Page, Refusal};
use crate::input;
use crate::screen::{Format, Screen};
use crate::show::answer;
use crate::verbs::{led, lines};

/// What a trace is about.
pub struct Subject {
    /// The site.
    pub site: Site,
    /// What was told.
    pub visit: Visit,
}

/// Runs the verb.
pub fn run(args: &Trace, json: bool, format: Format) -> Ending {
    if args.lines {
        return lines::run(args);
    }
    if args.led {
        return led::run(args, json, format);
    }
    let subject = subject(args)?;
    let answer = answer(args, &subject);
    Ok(page(&answer, &subject, json, format))
}

/// The site and the visit that the command line speaks of.
pub fn subject(args: &Trace) -> Result<Subject, Refusal> {
    match args.what.as_slice() {
        [] => Err(Refusal::plain(
            "nothing to trace; write a line of readings, as \
             wattwright trace \"hot-neutral 0 V, hot-ground 120 V, neutral-ground 120 V\", or a site file and a visit file",
        )),
        [line] if !is_file(line) => of_line(line, args),
        [site] => Err(Refusal::plain(format!(
            "{site} is a file; give the visit file with it, or --led"
        ))),
        [site, visit, ..] => {
            let site = input::site(Path::new(site))?.site;
            let visit = input::visit(Path::new(visit), &site)?;
            Ok(Subject { site, visit })
        }
    }
}

/// A line of readings about places that nobody wrote down.
pub fn of_line(line: &str, args: &Trace) -> Result<Subject, Refusal> {
    let region = input::region(&args.setting.region)?;
    let (site, visit) = quick::quick(line, region)?;
    if nothing_told(&visit) {
        return Err(Refusal::plain(format!(
            "\"{line}\" tells no reading and nothing seen; wattwright help reread shows how to write a line"
        )));
    }
    Ok(Subject { site, visit })
}

/// Whether neither a reading nor anything seen is told.
pub fn nothing_told(visit: &Visit) -> bool {
    visit.readings.is_empty() && visit.observations.is_empty()
}

/// Whether an argument means a file and not a line of readings.
pub fn is_file(argument: &str) -> bool {
    let path = Path::new(argument);
    let ending = path
        .extension()
        .is_some_and(|it| it.eq_ignore_ascii_case("toml") || it.eq_ignore_ascii_case("json"));
    (ending && !argument.contains(' ')) || path.is_file()
}

/// Asks the engine.
pub fn answer(args: &Trace, subject: &Subject) -> Answer {
    let skill = input::skill(&args.setting, &subject.visit);
    trace::trace(&Question {
        site: &subject.site,
        visit: &subject.visit,
        skill,
        seed: args.seed,
    })
}

/// An answer as a page or as JSON.
pub fn page(it: &Answer, subject: &Subject, json: bool, format: Format) -> Page {
    let exit = Exit::of(it.verdict, &it.action);
    if json {
        return Page::json(it, exit);
    }
    let mut screen = Screen::new(format);
    answer::page(&mut screen, it, &subject.site.region.words);
    Page {
        text: screen.finish(),
        exit,
    }
}
