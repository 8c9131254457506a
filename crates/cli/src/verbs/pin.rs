//! `pin`: one reading at a pin, judged against its limit.

use serde::Serialize;
use site::connector::{self, Judged};
use site::finding::{Finding, Use, Who};
use site::quick;
use site::region::Region;

use crate::args::Pin;
use crate::ending::{Ending, Exit, FORMAT, Page};
use crate::screen::{Format, Looks, Screen};
use crate::show::words;

/// The shape of `pin --json`.
#[derive(Serialize)]
struct Told<'a> {
    format: u32,
    finding: &'a Finding,
    next: &'a str,
}

/// Runs the verb.
pub fn run(args: &Pin, json: bool, format: Format) -> Ending {
    let reading = quick::at_pin(&args.reading)?;
    let Judged { finding, next } = connector::judged(&reading);
    let exit = Exit::of(finding.verdict, &finding.action);
    if json {
        let told = Told {
            format: FORMAT,
            finding: &finding,
            next: &next,
        };
        return Ok(Page::json(&told, exit));
    }
    let mut screen = Screen::new(format);
    let looks = words::looks(finding.verdict);
    let label = format!("{}  ", words::verdict(finding.verdict));
    // nobody but the technician has to do with the low side, so no word of a region is needed beyond those of any
    let region = &Region::all()[0].words;
    let headline = trace::words::sentence(&trace::words::to_do(finding.action, region));
    screen.hanging_by(2, &label, looks, &headline, Looks::Heading);
    if finding.action.use_ != Use::Stop && finding.action.who == Who::Nobody {
        screen.paragraph(2, "Nothing in this reading is dangerous.");
    }
    screen.heading("Found");
    screen.paragraph(2, &finding.statement);
    for line in &finding.evidence {
        screen.hanging("  - ", Looks::Plain, line, Looks::Plain);
    }
    if let Some(limit) = &finding.limit {
        let text = format!("{}; {} ({})", limit.says, limit.source, limit.basis);
        screen.hanging("  limit: ", Looks::Faint, &text, Looks::Plain);
    }
    screen.heading("Next");
    screen.paragraph(2, &next);
    screen.heading("Caution");
    screen.hanging("  ", Looks::Plain, &finding.caution, Looks::Heading);
    Ok(Page {
        text: screen.finish(),
        exit,
    })
}
