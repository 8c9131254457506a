//! A list of supplies to choose from, as a file of its own.

use super::names::{Names, element, tables};
use super::problem::Log;
use super::reader::Reader;
use super::site;
use super::tree::Table;
use crate::supply::Supply;

/// The supplies of a file; what is wrong with it is logged, and then there are none.
pub(super) fn read(tree: &Table, log: &mut Log) -> Option<Vec<Supply>> {
    let mut top = Reader::of(tree, 0..0, String::new());
    site::format(&mut top, log);
    let _ = top.text(log, "note");
    let mut names = Names::of("supply");
    let mut all = Vec::new();
    for (n, (at, table)) in tables(&mut top, log, "supply").each.into_iter().enumerate() {
        let mut it = element(log, "supply", n, at, table);
        names.add(log, &it.reader.element, &it.id, ());
        let mut supply = site::supply::read(&mut it.reader, log);
        supply.id = it.id.map_or("", |it| it.it).to_owned();
        it.reader.done(log);
        all.push(supply);
    }
    if all.is_empty() && !top.has("supply") {
        top.needs("supply", "[[supply]] above each, and id = \"...\" below it");
    }
    top.done(log);
    log.is_clean().then_some(all)
}
