//! `demand`: what a machine draws, per rail and moment.

use std::path::Path;

use plan::{Demand, Moment};
use serde::Serialize;
use site::machine::{Build, Machine};
use site::model::Site;
use site::supply::Rail;

use crate::args;
use crate::ending::{Ending, Exit, FORMAT, Page, Refusal};
use crate::input;
use crate::screen::{Format, Looks, Screen};

/// A machine to plan for.
pub enum Asked {
    /// On one line.
    Line(Build),
    /// Of a site file.
    Of(Box<Site>, Box<Machine>),
}

impl Asked {
    /// What it is made of.
    pub fn build(&self) -> &Build {
        match self {
            Asked::Line(it) => it,
            Asked::Of(_, machine) => &machine.build,
        }
    }

    /// Its name.
    pub fn name(&self) -> &str {
        match self {
            Asked::Line(_) => "the machine",
            Asked::Of(_, machine) => &machine.id,
        }
    }
}

/// The machine that is meant: a line, or a site file and a name.
pub fn asked(what: &[String]) -> Result<Asked, Refusal> {
    match what {
        [line] if Path::new(line).is_file() => Err(Refusal::plain(format!(
            "{line} is a file: name a machine of it behind it"
        ))),
        [line] => Ok(Asked::Line(site::parts_line::build(line)?)),
        [file, id] => {
            let site = input::site(Path::new(file))?.site;
            let Some(machine) = site.machine(id).cloned() else {
                let known: Vec<&str> = site.machines.iter().map(|it| it.id.as_str()).collect();
                let known = match known.is_empty() {
                    true => "it has none; write a [[machine]] with its parts".to_owned(),
                    false => format!("it has {}", known.join(", ")),
                };
                return Err(Refusal::plain(format!(
                    "there is no machine \"{id}\" in {file}: {known}"
                )));
            };
            if machine.build.parts.is_empty() {
                return Err(Refusal::plain(format!(
                    "machine \"{id}\" of {file} has no parts: write parts = [{{ kind = \"processor\", tdp = \"65 W\" }}] below it"
                )));
            }
            Ok(Asked::Of(Box::new(site), Box::new(machine)))
        }
        _ => Err(Refusal::plain("name a line, or a site file and a machine")),
    }
}

/// The shape of `demand --json`; `u` is a standard uncertainty.
#[derive(Serialize)]
struct Told<'a> {
    format: u32,
    machine: &'a str,
    parts: Vec<Part<'a>>,
    notes: &'a [String],
    moments: Vec<At>,
}

#[derive(Serialize)]
struct Part<'a> {
    part: &'a str,
    from: &'a str,
    sustained_watts: f64,
    u_watts: f64,
}

#[derive(Serialize)]
struct At {
    moment: Moment,
    watts: f64,
    u_watts: f64,
    rails: Vec<OnRail>,
}

#[derive(Serialize)]
struct OnRail {
    rail: &'static str,
    amps: f64,
    u_amps: f64,
}

/// Runs the verb.
pub fn run(args: &args::Demand, json: bool, format: Format) -> Ending {
    let asked = asked(&args.what)?;
    let demand = Demand::of(asked.build());
    if json {
        return Ok(Page::json(&told(&demand, asked.name()), Exit::Good));
    }
    let mut screen = Screen::new(format);
    page(&mut screen, &demand, asked.name());
    Ok(Page::good(screen.finish()))
}

fn told<'a>(demand: &'a Demand, machine: &'a str) -> Told<'a> {
    let part = |it: &'a plan::Taken| Part {
        part: &it.says,
        from: &it.from,
        sustained_watts: it.watts.value(),
        u_watts: it.watts.u(),
    };
    let at = |moment: Moment| {
        let watts = demand.watts(moment);
        let rail = |rail: Rail| {
            let amps = demand.amps(moment, rail);
            OnRail {
                rail: rail.name(),
                amps: amps.value(),
                u_amps: amps.u(),
            }
        };
        At {
            moment,
            watts: watts.value(),
            u_watts: watts.u(),
            rails: rails(demand).map(rail).collect(),
        }
    };
    Told {
        format: FORMAT,
        machine,
        parts: demand.parts.iter().map(part).collect(),
        notes: &demand.notes,
        moments: Moment::ALL.map(at).into(),
    }
}

/// Rails that something draws from, in the order of labels.
fn rails(demand: &Demand) -> impl Iterator<Item = Rail> {
    let drawn = |rail: &Rail| {
        Moment::ALL
            .iter()
            .any(|it| demand.amps(*it, *rail).value() > 0.0)
    };
    let all = Rail::NAMES.into_iter().map(|(_, it)| it);
    all.filter(|it| it.family() == *it).filter(drawn)
}

fn page(screen: &mut Screen, demand: &Demand, name: &str) {
    let sustained = demand.watts(Moment::Sustained);
    let text = format!(
        "{name}: {:.0} ± {:.0} W from its supply at sustained work",
        sustained.value(),
        2.0 * sustained.u()
    );
    screen.hanging("", Looks::Plain, &text, Looks::Heading);
    screen.blank();
    // -12 V carries next to nothing; it stands in the JSON
    let drawn: Vec<Rail> = rails(demand).filter(|it| *it != Rail::Minus12).collect();
    let names: Vec<String> = drawn.iter().map(|it| format!("{}, A", it.name())).collect();
    let mut head = vec!["moment"];
    head.extend(names.iter().map(String::as_str));
    head.push("together, W");
    let row = |moment: &Moment| {
        let mut row = vec![moment.short().to_owned()];
        row.extend(drawn.iter().map(|rail| {
            let amps = demand.amps(*moment, *rail);
            let places = if amps.value() < 1.0 { 2 } else { 1 };
            with_doubt(amps.value(), amps.u(), places)
        }));
        let watts = demand.watts(*moment);
        let places = usize::from(watts.value() < 10.0);
        row.push(with_doubt(watts.value(), watts.u(), places));
        row
    };
    let rows: Vec<Vec<String>> = Moment::ALL.iter().map(row).collect();
    screen.table(2, &head, &rows);
    screen.heading("Counted, in watts at sustained work, and what that rests on");
    for it in &demand.parts {
        let says = format!(
            "{}: {} W. {}",
            it.says,
            with_doubt(it.watts.value(), it.watts.u(), 1),
            it.from
        );
        screen.hanging("  - ", Looks::Plain, &says, Looks::Plain);
    }
    for note in &demand.notes {
        screen.hanging("  - ", Looks::Plain, note, Looks::Faint);
    }
    screen.blank();
    screen.paragraph(
        0,
        "± holds 95 %. All parts are taken to work at once. What is not listed is not counted; a maker's sheet or a label \
         is better than what is typical.",
    );
}

fn with_doubt(value: f64, u: f64, places: usize) -> String {
    match value.abs() < 0.005 && u < 0.01 {
        true => "-".to_owned(),
        false => format!("{value:.places$} ± {:.places$}", 2.0 * u),
    }
}
