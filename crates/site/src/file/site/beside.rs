//! What stands beside the wiring and is not judged yet: protectors against surges, and the lines that come into the
//! premises by telephone, coax and network cable and end at a machine.

use super::join::SERVICE_PANEL;
use super::outlet::Thing;
use crate::file::names::{Names, element, tables};
use crate::file::problem::Log;
use crate::file::reader::{At, Reader};

/// What a line is, as it is written.
const LINES: [(&str, ()); 3] = [("telephone", ()), ("coax", ()), ("network", ())];

/// Something that names where it is.
pub(super) struct Beside<'t> {
    element: String,
    key: &'static str,
    at: Option<At<&'t str>>,
    of_wiring: bool,
}

/// Protectors and lines, in this order.
pub(super) fn beside<'t>(top: &mut Reader<'t>, log: &mut Log) -> Vec<Beside<'t>> {
    let mut all = Vec::new();
    let mut names = Names::of("protector or line");
    for key in ["protector", "line"] {
        let found = tables(top, log, key);
        for (n, (at, table)) in found.each.into_iter().enumerate() {
            let mut it = element(log, key, n, at, table);
            names.add(log, &it.reader.element, &it.id, ());
            let (at, example) = match key {
                "line" => ("to", "to = \"...\", the machine at which it ends"),
                _ => ("at", "at = \"...\", as an outlet or panel:main"),
            };
            if key == "line" {
                let kind = it.reader.one_of(log, "kind", &LINES);
                if kind.is_none() && !it.reader.has("kind") {
                    it.reader
                        .needs("kind", "kind = \"telephone\", \"coax\" or \"network\"");
                }
            }
            all.push(Beside {
                at: it.reader.needed(log, at, example),
                element: it.reader.element.clone(),
                key: at,
                of_wiring: key == "protector",
            });
            it.reader.done_with_others(log);
        }
    }
    all
}

/// Follows where they are; what leads nowhere is logged.
pub(super) fn follow(
    all: &[Beside],
    log: &mut Log,
    things: &Names<'_, Thing>,
    panels: &Names<'_, usize>,
    circuits: &Names<'_, usize>,
) {
    for it in all {
        let Some(at) = &it.at else { continue };
        let wiring = at.it.split_once(':').filter(|_| it.of_wiring);
        let named = |name| At {
            it: name,
            span: at.span.clone(),
        };
        match wiring {
            // the service panel need not be written down
            Some(("panel", name)) if name == SERVICE_PANEL && panels.get(name).is_none() => {}
            Some(("panel", name)) => drop(panels.refer(log, &it.element, it.key, &named(name))),
            Some(("circuit", name)) => drop(circuits.refer(log, &it.element, it.key, &named(name))),
            _ => drop(things.refer(log, &it.element, it.key, at)),
        }
    }
}
