//! Circuits and panels of a site file.

use metrology::{Amps, Metres};

use super::Around;
use crate::file::names::{Names, element, tables};
use crate::file::problem::Log;
use crate::file::reader::{At, Reader};
use crate::file::tree::{Span, Value};
use crate::model::{Cable, EarthRun};
use crate::region::Region;

/// A panel as far as it could be read.
pub(super) struct Panel<'t> {
    pub id: Option<At<&'t str>>,
    pub element: String,
    pub at: Span,
    pub from: Option<At<&'t str>>,
    pub run: Option<Metres>,
    pub cable: Option<Cable>,
}

/// A circuit as far as it could be read.
pub(super) struct Circuit<'t> {
    pub id: Option<At<&'t str>>,
    pub element: String,
    pub panel: Option<At<&'t str>>,
    pub leg: Option<At<usize>>,
    pub second_leg: Option<At<usize>>,
    pub shares: Option<At<&'t str>>,
    pub breaker: Option<Amps>,
    pub residual_current: Option<Amps>,
    pub arc_fault: bool,
    pub cable: Option<Cable>,
    pub earth: EarthRun,
}

const EARTH: [(&str, EarthRun); 3] = [
    ("yes", EarthRun::Yes),
    ("no", EarthRun::No),
    ("not known", EarthRun::NotKnown),
];

pub(super) const YES_NO: [(&str, bool); 2] = [("yes", true), ("no", false)];

/// The panels, and their names.
pub(super) fn panels<'t>(
    top: &mut Reader<'t>,
    log: &mut Log,
    around: &Around,
) -> (Vec<Panel<'t>>, Names<'t, usize>) {
    let found = tables(top, log, "panel");
    let mut names = Names::of("panel");
    names.partial = !found.whole;
    let mut panels = Vec::new();
    for (n, (at, table)) in found.each.into_iter().enumerate() {
        let mut it = element(log, "panel", n, at, table);
        names.add(log, &it.reader.element, &it.id, n);
        let reader = &mut it.reader;
        panels.push(Panel {
            element: reader.element.clone(),
            at: reader.at(),
            from: reader.text(log, "from"),
            run: length(reader, log, "run"),
            cable: cable(reader, log, around.region),
            id: it.id,
        });
        it.reader.done(log);
    }
    (panels, names)
}

/// The circuits, and their names.
pub(super) fn circuits<'t>(
    top: &mut Reader<'t>,
    log: &mut Log,
    around: &Around,
) -> (Vec<Circuit<'t>>, Names<'t, usize>) {
    let found = tables(top, log, "circuit");
    let mut names = Names::of("circuit");
    names.partial = !found.whole;
    let mut circuits = Vec::new();
    for (n, (at, table)) in found.each.into_iter().enumerate() {
        let mut it = element(log, "circuit", n, at, table);
        names.add(log, &it.reader.element, &it.id, n);
        let reader = &mut it.reader;
        circuits.push(Circuit {
            element: reader.element.clone(),
            panel: reader.text(log, "panel"),
            leg: leg(reader, log, around, "leg"),
            second_leg: leg(reader, log, around, "second_leg"),
            shares: reader.text(log, "shares_neutral_with"),
            breaker: current(reader, log, "breaker"),
            residual_current: residual(reader, log, around.region),
            arc_fault: reader
                .one_of(log, "arc_fault", &YES_NO)
                .is_some_and(|it| it.it),
            cable: cable(reader, log, around.region),
            earth: reader
                .one_of(log, "earth", &EARTH)
                .map_or(EarthRun::NotKnown, |it| it.it),
            id: it.id,
        });
        it.reader.done(log);
    }
    (circuits, names)
}

/// A leg by its name. Where the system is not known, the name is not judged.
fn leg(
    reader: &mut Reader,
    log: &mut Log,
    around: &Around,
    key: &'static str,
) -> Option<At<usize>> {
    let name = reader.text(log, key)?;
    let system = around.system?;
    let legs: Vec<(&str, usize)> = system
        .legs
        .iter()
        .map(|it| it.name.as_str())
        .zip(0..)
        .collect();
    match system.leg(name.it) {
        Some(it) => Some(At {
            span: name.span,
            it,
        }),
        None => {
            let known = crate::file::near::listed(legs.iter().map(|(it, _)| *it));
            let what = format!("{key} \"{}\" is not a leg of the {}", name.it, system.id);
            reader.says(log, name.span, what, &format!("write {known}"));
            None
        }
    }
}

/// A length, of at most 100 km.
pub(super) fn length(reader: &mut Reader, log: &mut Log, key: &'static str) -> Option<Metres> {
    let it = reader.quantity::<Metres>(log, key)?;
    if it.it.si() > 1e5 {
        let what = format!("{key} of {} is longer than any building", it.it);
        reader.says(log, it.span, what, "look at the unit");
        return None;
    }
    Some(it.it)
}

/// A current above zero, of at most 1 MA.
pub(super) fn current(reader: &mut Reader, log: &mut Log, key: &'static str) -> Option<Amps> {
    let it = reader.quantity::<Amps>(log, key)?;
    if !(it.it.si() > 0.0 && it.it.si() <= 1e6) {
        let what = format!("{key} of {} cannot be", it.it);
        reader.says(
            log,
            it.span,
            what,
            "write a current above zero, as \"20 A\"",
        );
        return None;
    }
    Some(it.it)
}

/// Rated tripping current of a residual-current device; `yes` is the usual one of the region.
pub(super) fn residual(
    reader: &mut Reader,
    log: &mut Log,
    region: Option<&'static Region>,
) -> Option<Amps> {
    const KEY: &str = "residual_current";
    let node = &reader.entry(KEY)?.node;
    let word = match &node.value {
        Value::Flag(_) => true,
        Value::Text(it) => !it.contains(|c: char| c.is_ascii_digit()),
        _ => false,
    };
    if word {
        return match reader.choice(log, KEY, node, &YES_NO)? {
            true => Some(region?.amps("residual.rated").value),
            false => None,
        };
    }
    current(reader, log, KEY)
}

/// A cable such as `"12 AWG copper"`, at the usual temperature of the region.
pub(super) fn cable(
    reader: &mut Reader,
    log: &mut Log,
    region: Option<&'static Region>,
) -> Option<Cable> {
    // an unknown region is its own problem; the temperature then does not matter, as no site comes out
    let temperature = region
        .or(Region::all().first())?
        .conductor_temperature
        .value;
    let node = &reader.entry("cable")?.node;
    let (shown, text) = match &node.value {
        Value::Text(it) => (format!("\"{it}\""), it.as_str()),
        Value::Number(it) => (it.clone(), it.as_str()),
        _ => {
            let what = format!("cable is {}, and a text is wanted", node.kind());
            reader.says(
                log,
                node.span.clone(),
                what,
                "write \"12 AWG copper\" or \"2.5 mm² copper\"",
            );
            return None;
        }
    };
    match Cable::read(text, temperature) {
        Ok(it) => Some(it),
        Err(error) => {
            let what = crate::file::reader::refusal("cable", &shown, &error);
            let hint = "write \"12 AWG copper\" or \"2.5 mm² copper\"".to_owned();
            reader.says(log, node.span.clone(), what, &error.hint.unwrap_or(hint));
            None
        }
    }
}
