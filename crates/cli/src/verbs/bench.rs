//! `bench`: fitting a supply, step by step, for what a machine is made of.

use metrology::Basis;
use serde::Serialize;
use site::bench::{Probe, Step, sequence};
use site::connector::{CAUTION, Held};
use site::plug::Plug;

use crate::args::Bench;
use crate::ending::{Ending, Exit, FORMAT, Page, Refusal};
use crate::screen::{Format, Looks, Screen};
use crate::show::connector::limits_in_words;
use crate::verbs::demand::{Asked, asked};

/// The shape of `bench --json`.
#[derive(Serialize)]
struct Told<'a> {
    format: u32,
    machine: &'a str,
    connectors: Vec<&'static str>,
    steps: Vec<StepTold<'a>>,
    caution: &'static str,
}

#[derive(Serialize)]
struct StepTold<'a> {
    id: &'a str,
    does: &'a str,
    expect: Option<&'a str>,
    at: Option<At>,
    if_not: &'a str,
    hazard: u8,
    caution: &'a str,
    source: &'a str,
    basis: Basis,
}

#[derive(Serialize)]
struct At {
    connector: &'static str,
    pin: &'static str,
    signal: String,
    colour: &'static str,
    machine: &'static str,
    limits: Vec<Held>,
    to_type: String,
}

/// Runs the verb.
pub fn run(args: &Bench, json: bool, format: Format) -> Ending {
    let asked = asked(&args.what)?;
    let guide = match &asked {
        Asked::Line(_) => None,
        Asked::Of(_, machine) => machine.supply.as_ref().and_then(|it| it.guide),
    };
    let plugs: Vec<Plug> = plan::needs(asked.build(), guide)
        .into_iter()
        .map(|it| it.plug)
        .collect();
    if plugs.is_empty() {
        return Err(Refusal::plain(format!(
            "{} needs no connector of a supply, so there is nothing to fit: name its board and processor",
            asked.name()
        )));
    }
    let steps = sequence(&plugs, guide);
    if json {
        let mut connectors: Vec<&'static str> = plugs.iter().map(|it| it.name()).collect();
        connectors.sort_unstable();
        connectors.dedup();
        let told = Told {
            format: FORMAT,
            machine: asked.name(),
            connectors,
            steps: steps.iter().map(step).collect(),
            caution: CAUTION,
        };
        return Ok(Page::json(&told, Exit::Good));
    }
    let mut screen = Screen::new(format);
    page(&mut screen, asked.name(), &steps);
    Ok(Page::good(screen.finish()))
}

fn step(it: &Step) -> StepTold<'_> {
    let at = |it: &Probe| At {
        connector: &it.connector.id,
        pin: &it.pin.number,
        signal: it.pin.carries(),
        colour: &it.pin.colour,
        machine: it.machine,
        limits: it.limits.clone(),
        to_type: it.to_type(),
    };
    StepTold {
        id: it.id,
        does: &it.does,
        expect: it.expect,
        at: it.at.as_ref().map(at),
        if_not: &it.if_not,
        hazard: it.hazard,
        caution: &it.caution,
        source: &it.source.source,
        basis: it.source.basis,
    }
}

fn page(screen: &mut Screen, name: &str, steps: &[Step]) {
    let title = format!("Fitting a supply to {name}, {} steps", steps.len());
    screen.hanging("", Looks::Plain, &title, Looks::Heading);
    screen.heading("Caution");
    screen.hanging("  ", Looks::Plain, CAUTION, Looks::Heading);
    screen.heading("Steps, in this order; a step that is not right ends the work until it is");
    let mut told: Vec<&str> = Vec::new();
    for (n, it) in steps.iter().enumerate() {
        let label = format!("{:>3}  ", n + 1);
        screen.hanging_by(5, &label, Looks::Heading, &it.does, Looks::Plain);
        if let Some(at) = &it.at {
            let says = format!(
                "{}, pin {} ({}, {}): {}",
                at.connector.id,
                at.pin.number,
                at.pin.carries(),
                at.pin.colour,
                limits_in_words(&at.limits)
            );
            screen.hanging("     read: ", Looks::Faint, &says, Looks::Plain);
            let typed = format!("wattwright pin \"{}\"", at.to_type());
            screen.hanging("     then: ", Looks::Faint, &typed, Looks::Plain);
        }
        if let Some(expect) = it.expect {
            screen.hanging("     right: ", Looks::Faint, expect, Looks::Plain);
        }
        screen.hanging("     if not: ", Looks::Faint, &it.if_not, Looks::Plain);
        let caution = match &it.at {
            Some(at) => &at.connector.caution, // the general one stands above
            None => &it.caution,
        };
        told.push(caution);
        let caution = match told.iter().position(|it| it == caution) {
            Some(first) if first < n => format!("as at step {}", first + 1),
            _ => caution.clone(),
        };
        let label = format!("     class {}: ", it.hazard);
        screen.hanging(&label, Looks::Faint, &caution, Looks::Plain);
    }
    screen.blank();
    screen.paragraph(
        0,
        "Class 0: look and listen. Class 2: extra-low-voltage side of an open machine. Class 3: unplugged and discharged. \
         `wattwright pins CONNECTOR` draws a connector; `bench --json` has the source of each step.",
    );
}
