//! `judge`: verdicts on every reading and outlet of a visit.

use serde::Serialize;
use site::finding::{Finding, Use, Verdict};

use crate::args::Judge;
use crate::ending::{Ending, Exit, FORMAT, Page};
use crate::input;
use crate::screen::{Format, Looks, Screen};
use crate::show::{answer, findings, words};

/// The shape of `judge --json`.
#[derive(Serialize)]
struct Judgement<'a> {
    format: u32,
    site: &'a str,
    verdict: Verdict,
    findings: &'a [Finding],
}

/// Runs the verb.
pub fn run(args: &Judge, json: bool, format: Format) -> Ending {
    let site = input::site(&args.site)?.site;
    let visit = input::visit(&args.visit, &site)?;
    let mut found = trace::verdicts(&site, &visit);
    found.sort_by_key(|it| std::cmp::Reverse(it.verdict));
    let verdict = found.iter().map(|it| it.verdict).max();
    let stop = found.iter().any(|it| it.action.use_ != Use::Yes);
    let worst = verdict.unwrap_or(Verdict::Undecided);
    let exit = if worst >= Verdict::Defect || stop {
        Exit::Found
    } else {
        Exit::Good
    };
    if json {
        let judgement = Judgement {
            format: FORMAT,
            site: &site.name,
            verdict: worst,
            findings: &found,
        };
        return Ok(Page::json(&judgement, exit));
    }
    let mut screen = Screen::new(format);
    let label = format!("{}  ", words::verdict(worst));
    let of = |verdict: Verdict| found.iter().filter(|it| it.verdict == verdict).count();
    let text = match found.len() {
        0 => format!(
            "{}: no reading that has a limit; nothing can be judged",
            site.name
        ),
        n => format!(
            "{}: {n} findings, {} danger, {} defect, {} undecided, {} advice, {} good",
            site.name,
            of(Verdict::Danger),
            of(Verdict::Defect),
            of(Verdict::Undecided),
            of(Verdict::Advice),
            of(Verdict::Good)
        ),
    };
    screen.hanging_by(2, &label, words::looks(worst), &text, Looks::Heading);
    screen.blank();
    findings::list(&mut screen, &found, &site.region.words);
    screen.heading("Caution");
    screen.paragraph(2, answer::ALWAYS);
    screen.blank();
    screen.paragraph(
        0,
        "A verdict is on one reading; `wattwright trace` says what explains them all.",
    );
    Ok(Page {
        text: screen.finish(),
        exit,
    })
}
