//! `demo`: the job on an invented site, and what to type next.

use serde::Serialize;
use site::file::{self, Form};
use site::finding::Finding;
use trace::Question;
use trace::answer::Answer;

use crate::ending::{Ending, Exit, FORMAT, Page};
use crate::screen::{Format, Looks, Screen};
use crate::show::answer;

/// An invented site and an invented visit to it.
const SITE: &str = include_str!("../../../site/data/demo/site.toml");
const VISIT: &str = include_str!("../../../site/data/demo/visit.toml");

/// What to type next; a test types them.
pub const NEXT: [&str; 3] = [
    "wattwright trace \"hot-neutral 0 V, hot-ground 120 V, neutral-ground 120 V\"",
    "wattwright trace --led \"desk: hot-neutral 118.2 V, neutral-ground 4.1 V, with load\"",
    "wattwright expect --cause open-neutral-run@run:desk \"desk: hot-neutral, lamps\"",
];

/// The shape of `demo --json`.
#[derive(Serialize)]
struct Demo<'a> {
    format: u32,
    note: &'a str,
    site: &'a str,
    visit: &'a str,
    verdicts: &'a [Finding],
    answer: &'a Answer,
    next: [&'a str; 3],
}

/// Runs the verb.
pub fn run(json: bool, format: Format) -> Ending {
    let site = file::read_site(SITE, "demo site", Form::Toml)?.site;
    let visit = file::read_visit(VISIT, "demo visit", Form::Toml, &site)?;
    let question = Question {
        site: &site,
        visit: &visit,
        skill: visit.skill,
        seed: 1,
    };
    let it = trace::trace(&question);
    let exit = Exit::of(it.verdict, &it.action);
    if json {
        let verdicts = trace::verdicts(&site, &visit);
        let demo = Demo {
            format: FORMAT,
            note: "Invented: site, people and readings.",
            site: SITE,
            visit: VISIT,
            verdicts: &verdicts,
            answer: &it,
            next: NEXT,
        };
        return Ok(Page::json(&demo, exit));
    }
    let mut screen = Screen::new(format);
    let about = format!(
        "{}, an invented site: {} readings and {} observations at {} outlets on {} circuits.",
        site.name,
        visit.readings.len(),
        visit.observations.len(),
        site.outlets.len(),
        site.circuits.len()
    );
    screen.hanging("", Looks::Plain, &about, Looks::Faint);
    screen.blank();
    answer::page(&mut screen, &it, &site.region.words);
    screen.heading("Type next");
    for command in NEXT {
        screen.verbatim(&format!("  {command}"));
    }
    Ok(Page {
        text: screen.finish(),
        exit,
    })
}
