//! `pins`: the connectors of a desktop supply, all in a list or one with its drawing and table.

mod told;

use metrology::{Celsius, Metres};
use site::connector::{CAUTION, CONTACT, Connector, Path, Pin, shuts_down};
use site::model::Cable;
use site::signal::{Signal, rails};

use crate::args::Pins;
use crate::ending::{Ending, Exit, Page, Refusal};
use crate::screen::{Format, Looks, Screen};
use crate::show::connector::{drawing, limits_in_words};

/// Runs the verb.
pub fn run(args: &Pins, json: bool, format: Format) -> Ending {
    let one = args.connector.as_deref().map(found).transpose()?;
    if json {
        let which = one.map_or(Connector::all(), std::slice::from_ref);
        return Ok(Page::json(&told::told(which), Exit::Good));
    }
    let mut screen = Screen::new(format);
    match one {
        Some(it) => page(&mut screen, it),
        None => list(&mut screen),
    }
    Ok(Page::good(screen.finish()))
}

fn found(name: &str) -> Result<&'static Connector, Refusal> {
    Connector::find(name).ok_or_else(|| {
        let hint = match Connector::near(name) {
            Some(it) => format!("did you mean \"{it}\"?"),
            None => {
                let ids: Vec<&str> = Connector::all().iter().map(|it| it.id.as_str()).collect();
                format!("write one of {}", ids.join(", "))
            }
        };
        Refusal::plain(format!("there is no connector \"{name}\"; {hint}"))
    })
}

fn list(screen: &mut Screen) {
    let row = |it: &Connector| {
        vec![
            it.id.clone(),
            it.name.clone(),
            it.needed_by.clone(),
            it.rating()
                .map(|it| it.value.to_string())
                .unwrap_or_default(),
        ]
    };
    let rows: Vec<Vec<String>> = Connector::all().iter().map(row).collect();
    screen.table(0, &["connector", "is", "who needs it", "a contact"], &rows);
    screen.blank();
    screen.paragraph(
        0,
        "`wattwright pins CONNECTOR` draws one and lists its pins; `wattwright pin READING` judges a reading at one.",
    );
}

fn page(screen: &mut Screen, it: &'static Connector) {
    screen.hanging("", Looks::Plain, &it.name, Looks::Heading);
    screen.hanging("  for: ", Looks::Faint, &it.needed_by, Looks::Plain);
    screen.blank();
    drawing(screen, it);
    screen.heading("Caution");
    screen.hanging("  ", Looks::Plain, &it.caution, Looks::Heading);
    screen.paragraph(2, CAUTION);
    screen.heading("Pins, read against COM");
    let row = |pin: &Pin| {
        vec![
            pin.number.clone(),
            pin.carries(),
            pin.colour.clone(),
            limits_in_words(&it.limits(pin)),
        ]
    };
    let rows: Vec<Vec<String>> = it.pins.iter().map(row).collect();
    screen.table(2, &["pin", "signal", "colour", "limit"], &rows);
    for pin in it.pins.iter().filter(|it| it.note.is_some()) {
        let label = format!("  pin {}: ", pin.number);
        let note = pin.note.as_deref().unwrap_or_default();
        screen.hanging(&label, Looks::Faint, note, Looks::Plain);
    }
    signals(screen, it);
    ratings(screen, it);
    if !it.tells.is_empty() {
        screen.heading("What its sense pins say");
        for (when, means) in &it.tells {
            screen.hanging(
                &format!("  {when}: "),
                Looks::Faint,
                &means.value,
                Looks::Plain,
            );
        }
    }
    sources(screen, it);
}

fn signals(screen: &mut Screen, it: &Connector) {
    screen.heading("Signals");
    let mut told = Vec::new();
    for signal in it.pins.iter().map(|it| it.signal) {
        if told.contains(&signal) {
            continue;
        }
        told.push(signal);
        let mut says = signal.says().map(|it| it.value.clone()).unwrap_or_default();
        if let Some(ripple) = rails().ripple(signal) {
            says += &format!("; ripple and noise at most {} peak to peak", ripple.value);
        }
        if let Some(limit) = shuts_down(signal) {
            says += &format!(
                "; if it is too high, the supply shuts down at {}",
                limit.says
            );
        }
        screen.hanging_by(
            4,
            &format!("  {signal}: "),
            Looks::Faint,
            &says,
            Looks::Plain,
        );
    }
    if it.pins_of(Signal::PwrOk).next().is_none() {
        return;
    }
    screen.heading("Times");
    for it in rails().times() {
        let label = format!("  {} {}: ", it.id, it.says);
        screen.hanging_by(4, &label, Looks::Faint, &it.is.value, Looks::Plain);
    }
}

/// Usual length and temperature of a supply's cable, for an example.
const LENGTH: Metres = Metres::from_si(0.6);
const WARM: Celsius = Celsius::from_si(40.0);

fn ratings(screen: &mut Screen, it: &Connector) {
    screen.heading("What a contact may carry");
    for (terminal, rating) in &it.ratings {
        let text = format!("{}; {}", rating.value, rating.cited());
        screen.hanging_by(
            4,
            &format!("  {terminal}: "),
            Looks::Faint,
            &text,
            Looks::Plain,
        );
    }
    if it.ratings.len() > 1 {
        screen.paragraph(2, "Where the terminals are not known, the first is taken.");
    }
    let carried = it
        .rating()
        .and_then(|rating| it.capability(Signal::Plus12, rating.value));
    if let Some(power) = carried.filter(|_| it.pins_of(Signal::Plus12).nth(1).is_some()) {
        let text =
            format!("{power}, if they share evenly; an uneven contact takes more than its part");
        screen.hanging_by(
            4,
            "  its +12 V contacts together: ",
            Looks::Faint,
            &text,
            Looks::Plain,
        );
    }
    if let Some(power) = &it.power {
        let text = format!("{}; {}", power.value, power.cited());
        screen.hanging_by(
            4,
            "  power by the specification: ",
            Looks::Faint,
            &text,
            Looks::Plain,
        );
    }
    if let (Some(rating), Ok(wire)) = (it.rating(), Cable::read(&it.wire.to_string(), WARM)) {
        let path = Path {
            wire,
            length: LENGTH,
            contact: CONTACT.value,
            n_contacts: 1,
            n_wires: 1,
        };
        let text = format!(
            "at {} one wire ({}, {LENGTH}, {WARM}) and one contact ({}) lose {:.0} mV together, and the return as much again",
            rating.value,
            it.wire,
            CONTACT.value,
            path.lost(rating.value).si() * 1e3
        );
        screen.hanging_by(4, "  for example: ", Looks::Faint, &text, Looks::Plain);
    }
}

fn sources(screen: &mut Screen, it: &Connector) {
    screen.heading("Sources");
    let mut lines = vec![
        format!("pins: {}", it.source.cited()),
        format!("view: {}", it.seen.says.cited()),
    ];
    for held in it.pins.iter().flat_map(|pin| it.limits(pin)) {
        let limit = held.limit;
        lines.push(format!(
            "{}: {} ({})",
            limit.says, limit.source, limit.basis
        ));
    }
    let mut told = Vec::new();
    for line in lines {
        if !told.contains(&line) {
            screen.hanging("  - ", Looks::Plain, &line, Looks::Plain);
            told.push(line);
        }
    }
}
