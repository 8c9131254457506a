//! `reread`: how a line of readings was understood.

use serde::Serialize;
use site::model::Site;
use site::quick;
use site::visit::{Visit, Whereabouts};

use crate::args::Reread;
use crate::ending::{Ending, Exit, FORMAT, Page};
use crate::input;
use crate::screen::{Format, Looks, Screen};
use crate::show::words;

/// The shape of `reread --json`.
#[derive(Serialize)]
struct Understood {
    format: u32,
    readings: Vec<Item>,
    observations: Vec<Item>,
    meter: Option<String>,
}

/// One thing that was told.
#[derive(Serialize)]
struct Item {
    id: String,
    says: String,
}

/// Runs the verb.
pub fn run(args: &Reread, json: bool, format: Format) -> Ending {
    let region = input::region(&args.setting.region)?;
    let (site, visit) = quick::quick(&args.line, region)?;
    let told = understood(&site, &visit);
    if json {
        return Ok(Page::json(&told, Exit::Good));
    }
    let mut screen = Screen::new(format);
    for it in told.readings.iter().chain(&told.observations) {
        screen.hanging(
            &format!("{:>4}  ", it.id),
            Looks::Heading,
            &it.says,
            Looks::Plain,
        );
    }
    if told.readings.is_empty() && told.observations.is_empty() {
        screen.paragraph(0, "The line tells nothing. See `wattwright help reread`.");
    }
    if let Some(meter) = &told.meter {
        screen.hanging(" with  ", Looks::Faint, meter, Looks::Plain);
    }
    Ok(Page::good(screen.finish()))
}

fn understood(site: &Site, visit: &Visit) -> Understood {
    let reading = |it: &site::visit::Reading| {
        let mut says = trace::words::reading(site, it);
        says.push_str(&words::condition(site, &it.condition));
        if let Some(corrected) = it.corrects {
            says.push_str(&format!(", instead of {}", visit.readings[corrected.0].id));
        }
        Item {
            id: it.id.clone(),
            says,
        }
    };
    let observation = |it: &site::visit::Observation| {
        let at = match it.at {
            Whereabouts::Outlet(outlet) => site.outlets[outlet.0].label.clone(),
            Whereabouts::Circuit(circuit) => words::circuit_name(site, circuit),

            Whereabouts::Panel(panel) => {
                format!("{} {}", site.region.words.panel, site.panels[panel.0].id)
            }
            Whereabouts::Site => "the whole site".to_owned(),
        };
        let sign = trace::words::sign(it.what, &site.region.words);
        Item {
            id: it.id.clone(),
            says: format!("{at}: {sign}{}", words::condition(site, &it.condition)),
        }
    };
    Understood {
        format: FORMAT,
        readings: visit.readings.iter().map(reading).collect(),
        observations: visit.observations.iter().map(observation).collect(),
        meter: visit.meters.first().map(|it| it.meter.name.clone()),
    }
}
