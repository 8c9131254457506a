//! `supply`: whether a supply will do for a machine, the one in it or candidates side by side.

use plan::{Demand, Fit, Line, Place, Standing, fit, rank, words};
use serde::Serialize;
use site::file::read_supplies;
use site::finding::{Action, Finding, Verdict};
use site::region::{Region, Words};
use site::supply::Supply;

use crate::args;
use crate::ending::{Ending, Exit, FORMAT, Page, Refusal};
use crate::input;
use crate::screen::{Format, Looks, Screen};
use crate::show::{findings, words as shapes};
use crate::verbs::demand::{Asked, asked};

/// The shape of `supply --json`; `u` is a standard uncertainty.
#[derive(Serialize)]
struct Told<'a> {
    format: u32,
    machine: &'a str,
    /// Years in use that a candidate was judged after; none for the supply in the machine.
    after_years: Option<f64>,
    notes: &'a [String],
    /// The best first.
    supplies: Vec<One<'a>>,
}

#[derive(Serialize)]
struct One<'a> {
    supply: &'a str,
    verdict: Verdict,
    says: &'a str,
    action: Action,
    /// Probability that the weakest of all limits holds.
    holds: f64,
    gives_way_first: Option<Held>,
    limits: Vec<Held>,
    findings: &'a [Finding],
    inlet: Option<AtInlet>,
    year: Option<InYear>,
}

#[derive(Serialize)]
struct Held {
    of: String,
    moment: plan::Moment,
    unit: plan::Unit,
    demand: f64,
    u_demand: f64,
    limit: f64,
    u_limit: f64,
    margin: f64,
    u_margin: f64,
    holds: f64,
    could_grow: Option<f64>,
    source: &'static str,
    basis: metrology::Basis,
}

#[derive(Serialize)]
struct AtInlet {
    watts: f64,
    u_watts: f64,
    amps: f64,
    u_amps: f64,
    efficiency: f64,
}

#[derive(Serialize)]
struct InYear {
    kilowatt_hours: f64,
    u_kilowatt_hours: f64,
    hours_on_a_day: f64,
    cost: Option<f64>,
}

/// Runs the verb.
pub fn run(args: &args::Supply, json: bool, format: Format) -> Ending {
    if args.price.is_some_and(|it| !(it.is_finite() && it >= 0.0)) {
        return Err(Refusal::plain(
            "the price of a kilowatt-hour is a number from zero on, as 0.20",
        ));
    }
    let asked = asked(&args.what)?;
    let (region, place) = match &asked {
        Asked::Line(_) => {
            let region = input::region(&args.region)?;
            (region, Place::in_region(region))
        }
        Asked::Of(site, machine) => (site.region, Place::of(site, machine)),
    };
    let (supplies, standing) = supplies(args, &asked)?;
    let demand = Demand::of(asked.build());
    let one = |it: &Supply| fit(&demand, asked.build(), it, &place, standing, args.price);
    let mut fits: Vec<Fit> = supplies.iter().map(one).collect();
    rank(&mut fits);
    let shown = shown(args, &fits)?;
    let exit = Exit::of(shown.verdict, &shown.action);
    if json {
        let told = Told {
            format: FORMAT,
            machine: asked.name(),
            after_years: match standing {
                Standing::Chosen { years } => Some(years),
                Standing::InUse { .. } => None,
            },
            notes: &demand.notes,
            supplies: fits.iter().map(|it| whole(it, standing)).collect(),
        };
        return Ok(Page::json(&told, exit));
    }
    let mut screen = Screen::new(format);
    page(&mut screen, shown, standing, region);
    if fits.len() > 1 {
        side_by_side(&mut screen, &fits, args.price.is_some());
    }
    foot(&mut screen, &demand, shown, standing);
    Ok(Page {
        text: screen.finish(),
        exit,
    })
}

fn supplies(args: &args::Supply, asked: &Asked) -> Result<(Vec<Supply>, Standing), Refusal> {
    if let Some(path) = &args.among {
        let it = input::read(path)?;
        let all = read_supplies(&it.text, &it.name, it.form)?;
        let years = f64::from(args.years);
        return Ok((all, Standing::Chosen { years }));
    }
    let today = jiff::ZonedDateTime::now().date();
    match asked {
        Asked::Line(_) => Err(Refusal::plain(
            "a line has no supply in it: name a file of candidates with --among FILE (see `wattwright help supply`)",
        )),
        Asked::Of(_, machine) => match &machine.supply {
            Some(it) => Ok((vec![it.clone()], Standing::InUse { today })),
            None => Err(Refusal::plain(format!(
                "machine \"{}\" has no supply in the file: write [machine.supply] below it, or name candidates with --among FILE",
                machine.id
            ))),
        },
    }
}

fn shown<'a>(args: &args::Supply, fits: &'a [Fit]) -> Result<&'a Fit, Refusal> {
    let found = match &args.show {
        Some(id) => fits.iter().find(|it| it.supply == *id),
        None => fits.first(),
    };
    found.ok_or_else(|| match &args.show {
        Some(id) => {
            let known: Vec<&str> = fits.iter().map(|it| it.supply.as_str()).collect();
            Refusal::plain(format!(
                "there is no candidate \"{id}\"; there are {}",
                known.join(", ")
            ))
        }
        None => Refusal::plain("there is no candidate"),
    })
}

fn whole(fit: &Fit, standing: Standing) -> One<'_> {
    One {
        supply: &fit.supply,
        verdict: fit.verdict,
        says: words::head(fit, standing),
        action: fit.action,
        holds: fit.holds,
        gives_way_first: fit.lines.first().map(held),
        limits: fit.lines.iter().map(held).collect(),
        findings: &fit.findings,
        inlet: fit.inlet.map(|it| AtInlet {
            watts: it.power.value.si(),
            u_watts: it.power.u.si(),
            amps: it.current.value.si(),
            u_amps: it.current.u.si(),
            efficiency: it.efficiency,
        }),
        year: fit.year.map(|it| InYear {
            kilowatt_hours: it.kilowatt_hours,
            u_kilowatt_hours: it.u_kilowatt_hours,
            hours_on_a_day: it.hours_on,
            cost: it.cost,
        }),
    }
}

fn held(line: &Line) -> Held {
    Held {
        of: line.of.says(),
        moment: line.moment,
        unit: line.unit,
        demand: line.demand,
        u_demand: line.u_demand,
        limit: line.limit,
        u_limit: line.u_limit,
        margin: line.margin(),
        u_margin: line.u_margin(),
        holds: line.probability(),
        could_grow: Some(line.growth()).filter(|it| it.is_finite()),
        source: line.source,
        basis: line.basis,
    }
}

fn page(screen: &mut Screen, fit: &Fit, standing: Standing, region: &Region) {
    let label = format!("{}  ", shapes::verdict(fit.verdict));
    let text = format!("{}: {}", fit.supply, words::head(fit, standing));
    screen.hanging_by(2, &label, shapes::looks(fit.verdict), &text, Looks::Heading);
    if let Some(line) = fit.lines.first() {
        let text = format!("First to give way: {}.", words::gives_way(line));
        screen.paragraph(2, &text);
    }
    screen.heading("What was found, the worst first");
    list(screen, &fit.findings, &region.words);
    if let Some(it) = &fit.inlet {
        screen.heading("At the inlet, at sustained work");
        screen.paragraph(
            2,
            &format!(
                "{:.0} ± {:.0} W, {:.2} ± {:.2} A, efficiency {:.0} %",
                it.power.value.si(),
                2.0 * it.power.u.si(),
                it.current.value.si(),
                2.0 * it.current.u.si(),
                100.0 * it.efficiency
            ),
        );
    }
    if let Some(it) = &fit.year {
        let cost = it
            .cost
            .map_or(String::new(), |it| format!(", {it:.2} at that price"));
        screen.paragraph(
            2,
            &format!(
                "{:.0} ± {:.0} kWh a year, on {:.0} hours a day{cost}",
                it.kilowatt_hours,
                2.0 * it.u_kilowatt_hours,
                it.hours_on
            ),
        );
    }
}

/// What is good takes a line each, the rest is told whole.
fn list(screen: &mut Screen, all: &[Finding], region: &Words) {
    for it in all {
        match it.verdict {
            Verdict::Good => {
                screen.hanging("  ● ", Looks::Good, &it.statement, Looks::Plain);
            }
            _ => findings::list(screen, std::slice::from_ref(it), region),
        }
    }
}

fn side_by_side(screen: &mut Screen, fits: &[Fit], priced: bool) {
    screen.heading("Side by side, the best first");
    let mut head = vec![
        "candidate",
        "verdict",
        "rating",
        "gives way first",
        "holds",
        "kWh a year",
    ];
    if priced {
        head.push("cost");
    }
    let row = |it: &Fit| {
        let mut row = vec![
            it.supply.clone(),
            shapes::verdict(it.verdict).to_owned(),
            it.rating.map_or("?".to_owned(), |it| it.to_string()),
            it.lines.first().map_or("?".to_owned(), |line| {
                format!("{} {}", line.of.says(), line.moment.words())
            }),
            match 100.0 * it.holds {
                p if p > 99.0 => "over 99 %".to_owned(),
                p if p < 1.0 => "under 1 %".to_owned(),
                p => format!("{p:.0} %"),
            },
            it.year
                .map_or("?".to_owned(), |it| format!("{:.0}", it.kilowatt_hours)),
        ];
        if priced {
            let cost = it.year.and_then(|it| it.cost);
            row.push(cost.map_or("?".to_owned(), |it| format!("{it:.2}")));
        }
        row
    };
    let rows: Vec<Vec<String>> = fits.iter().map(row).collect();
    screen.table(2, &head, &rows);
}

fn foot(screen: &mut Screen, demand: &Demand, fit: &Fit, standing: Standing) {
    screen.heading("Caution");
    screen.paragraph(
        2,
        "A supply is never opened. Unplug the machine and wait before anything in it is touched, seated or parted. This \
         advice does not replace local codes and licensed practice: where they say otherwise, they are right.",
    );
    screen.heading("What next");
    let next = match fit.verdict {
        Verdict::Good | Verdict::Advice => "Nothing has to be settled first.",
        Verdict::Undecided => {
            "Read the labels that the findings name, with the cord out, put them into the file and ask again."
        }
        _ => "Choose a supply whose limits hold, or take load away; ask again before it is fitted.",
    };
    screen.paragraph(2, next);
    screen.blank();
    let years = match standing {
        Standing::Chosen { years } => {
            format!("Candidates are judged after {years:.0} years in use. ")
        }
        Standing::InUse { .. } => "The supply is judged at its age of today. ".to_owned(),
    };
    let mut text = format!("{years}± holds 95 %. `wattwright demand` shows what was counted.");
    for note in &demand.notes {
        text.push_str(&format!(" Taken for granted: {note}."));
    }
    screen.paragraph(0, &text);
}
