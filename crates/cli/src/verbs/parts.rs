//! `parts`: the parts of a machine, from what its operating system reports.

use metrology::Watts;
use serde::Serialize;
use site::inventory::{self, Inventory, Report};
use site::machine::Part;

use crate::args::Parts;
use crate::ending::{Ending, Exit, FORMAT, Page};
use crate::input;
use crate::screen::{Format, Looks, Screen};

/// The shape of `parts --json`.
#[derive(Serialize)]
struct Told<'a> {
    format: u32,
    report: Report,
    parts: Vec<PartTold<'a>>,
    supply: Option<Watts>,
    left_out: &'a [String],
    table: String,
}

#[derive(Serialize)]
struct PartTold<'a> {
    kind: &'static str,
    count: u32,
    generation: Option<&'static str>,
    label: Option<&'a str>,
}

/// Runs the verb.
pub fn run(args: &Parts, json: bool, format: Format) -> Ending {
    let too_much = inventory::LONGEST as u64 + 1; // so much is refused with its reason, however much more follows
    let (name, bytes) = input::bytes(&args.report, too_much)?;
    let found = inventory::read(&bytes, &name)?;
    let table = found.table(args.id.as_deref(), args.at.as_deref());
    if json {
        let told = Told {
            format: FORMAT,
            report: found.report,
            parts: found.build.parts.iter().map(part).collect(),
            supply: found.supply,
            left_out: &found.left_out,
            table,
        };
        return Ok(Page::json(&told, Exit::Good));
    }
    let mut screen = Screen::new(format);
    page(&mut screen, &found, &table);
    Ok(Page::good(screen.finish()))
}

fn part(it: &Part) -> PartTold<'_> {
    PartTold {
        kind: it.kind.name(),
        count: it.count,
        generation: it.generation.map(|it| it.name()),
        label: it.label.as_deref(),
    }
}

fn page(screen: &mut Screen, found: &Inventory, table: &str) {
    screen.hanging("", Looks::Plain, "What the report tells", Looks::Heading);
    let row = |it: &Part| {
        let more = [it.generation.map(|it| it.name()), it.label.as_deref()];
        vec![
            it.count.to_string(),
            it.kind.words(it.count).to_owned(),
            more.into_iter().flatten().collect::<Vec<_>>().join(", "),
        ]
    };
    let rows: Vec<Vec<String>> = found.build.parts.iter().map(row).collect();
    screen.table(2, &["", "part", "told as"], &rows);
    if rows.is_empty() {
        screen.paragraph(2, "No part that draws from a supply.");
    }
    if let Some(power) = found.supply {
        screen.paragraph(
            2,
            &format!("A supply of {power}, by the report; its label says more."),
        );
    }
    screen.heading("What was left out");
    for it in &found.left_out {
        screen.hanging("  - ", Looks::Plain, it, Looks::Plain);
    }
    screen.heading("For a site file");
    for line in table.lines() {
        screen.verbatim(&format!("  {line}"));
    }
    screen.blank();
    screen.paragraph(
        0,
        "A report is a witness, not a reading: firmware leaves placeholders and what was there before. Look into the machine \
         only when it is unplugged.",
    );
}
