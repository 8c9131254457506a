//! Outlets and cords of a site file.

use metrology::{Amps, Metres};

use super::Around;
use super::circuit::{cable, length, residual};
use crate::file::names::{Names, element, tables};
use crate::file::problem::Log;
use crate::file::reader::{At, Reader, unknown_hint};
use crate::model::{Cable, Switched};

/// Something one can plug into, as far as it could be read: an outlet, or the end of a cord or strip.
pub(super) struct Point<'t> {
    pub id: Option<At<&'t str>>,
    pub element: String,
    pub label: Option<&'t str>,
    pub circuit: Option<At<&'t str>>,
    /// The outlet before, or the one into which the cord is plugged.
    pub before: Option<At<&'t str>>,
    pub run: Option<Metres>,
    pub cable: Option<Cable>,
    pub receptacle: Option<usize>,
    pub switched: Switched,
    pub residual_current: Option<Amps>,
    pub cord: bool,
}

/// What an identifier of something in the rooms stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Thing {
    /// An outlet or cord, by its place in the list of both.
    Point(usize),
    /// A UPS, by its place among the equipment.
    Ups(usize),
    /// A load or machine: nothing plugs into it.
    Load,
}

const SWITCHED: [(&str, Switched); 3] = [
    ("yes", Switched::Yes),
    ("no", Switched::No),
    ("not known", Switched::NotKnown),
];

/// The outlets and cords; their names are added to those of all things in the rooms.
pub(super) fn points<'t>(
    top: &mut Reader<'t>,
    log: &mut Log,
    around: &Around,
    names: &mut Names<'t, Thing>,
) -> Vec<Point<'t>> {
    let mut points = Vec::new();
    let found = tables(top, log, "outlet");
    names.partial |= !found.whole;
    for (n, (at, table)) in found.each.into_iter().enumerate() {
        let mut it = element(log, "outlet", n, at, table);
        names.add(log, &it.reader.element, &it.id, Thing::Point(points.len()));
        let reader = &mut it.reader;
        let circuit = reader.text(log, "circuit");
        let before = reader.text(log, "after");
        // an outlet that only names the one before it is on the same circuit
        if !reader.has("circuit") && !reader.has("after") {
            reader.needs("circuit", "circuit = \"...\", the circuit that feeds it");
        }
        points.push(Point {
            circuit,
            before,
            run: length(reader, log, "run"),
            switched: reader
                .one_of(log, "switched", &SWITCHED)
                .map_or(Switched::NotKnown, |it| it.it),
            cord: false,
            ..shared(reader, log, around, it.id)
        });
        it.reader.done(log);
    }
    let found = tables(top, log, "cord");
    names.partial |= !found.whole;
    for (n, (at, table)) in found.each.into_iter().enumerate() {
        let mut it = element(log, "cord", n, at, table);
        names.add(log, &it.reader.element, &it.id, Thing::Point(points.len()));
        let reader = &mut it.reader;
        let before = reader.needed(log, "at", "at = \"...\", the outlet it is plugged into");
        points.push(Point {
            before,
            run: length(reader, log, "length"),
            switched: Switched::No,
            cord: true,
            ..shared(reader, log, around, it.id)
        });
        it.reader.done(log);
    }
    points
}

/// What outlets and cords have in common.
fn shared<'t>(
    reader: &mut Reader<'t>,
    log: &mut Log,
    around: &Around,
    id: Option<At<&'t str>>,
) -> Point<'t> {
    Point {
        element: reader.element.clone(),
        label: reader.text(log, "label").map(|it| it.it),
        circuit: None,
        before: None,
        run: None,
        cable: cable(reader, log, around.region),
        receptacle: receptacle(reader, log, around),
        switched: Switched::NotKnown,
        residual_current: residual(reader, log, around.region),
        cord: false,
        id,
    }
}

/// A receptacle by its identifier. Where the region is not known, it is not judged.
fn receptacle(reader: &mut Reader, log: &mut Log, around: &Around) -> Option<usize> {
    let word = reader.text(log, "receptacle")?;
    let shapes = &around.region?.receptacles;
    let folded = crate::file::fold(word.it);
    let found = shapes
        .iter()
        .position(|it| crate::file::fold(&it.id) == folded);
    if found.is_none() {
        let what = format!("receptacle \"{}\" is not known here", word.it);
        let hint = unknown_hint(word.it, shapes.iter().map(|it| it.id.as_str()), "write");
        reader.says(log, word.span, what, &hint);
    }
    found
}
