//! The site as a one-line drawing, which is the way around in it.

use std::collections::HashMap;

use maud::{Markup, html};
use site::file::written::SiteFile;
use site::finding::{Finding, Verdict};
use site::model::{CircuitIx, Feed, OutletIx, PanelIx, Site};

use crate::look::chain::{By, Judged, Node, Place, chain};
use crate::look::first::{Said, first};
use crate::look::symbol::Symbol;
use crate::page::{Page, Width, trail};
use crate::{things, words};

/// The page.
pub struct SitePage {
    /// Identifier, as its addresses have it.
    pub id: String,
    /// Name.
    pub name: String,
    /// What the file says about itself, as "Invented."
    pub note: Option<String>,
    /// Region in words.
    pub region: String,
    /// The visit whose readings are shown, in words, with its page.
    pub visit: Option<(String, String)>,
    /// The answer over the whole visit.
    pub said: Said,
    /// From the supply to the panels.
    pub supply: Vec<Node>,
    /// Each circuit from its breaker on.
    pub circuits: Vec<Vec<Node>>,
}

/// Worst verdict found at each element.
#[derive(Default)]
pub struct Worst {
    at: HashMap<String, Verdict>,
    /// Whether the visit is still being read: then nothing is known of any place.
    pub soon: bool,
}

impl Worst {
    /// Takes findings in.
    pub fn take_in<'f>(&mut self, findings: impl IntoIterator<Item = &'f Finding>) {
        for it in findings {
            match self.at.get_mut(&it.element) {
                Some(worst) => *worst = it.verdict.max(*worst),
                None => drop(self.at.insert(it.element.clone(), it.verdict)),
            }
        }
    }

    fn at(&self, element: &str) -> Option<Verdict> {
        self.at.get(element).copied()
    }
}

impl SitePage {
    /// The chain of a site, with what was found at each place. `file` has the equipment that the model leaves out.
    pub fn drawn(
        id: &str,
        site: &Site,
        file: &SiteFile,
        worst: &Worst,
    ) -> (Vec<Node>, Vec<Vec<Node>>) {
        let service = &site.service;
        let at = |element: &str| worst.at(element);
        let mut supply = vec![Node {
            place: Place {
                symbol: Symbol::Supply,
                name: "Supply and service".to_owned(),
                more: format!(
                    "{}, {}, {}",
                    service.system.id,
                    service.earthing.name(),
                    service.frequency
                ),
                verdict: at("supply").max(at("service")),
                judged: Judged::No,
                href: None,
            },
            before: None,
            by: By::Cable,
        }];
        for (n, panel) in site.panels.iter().enumerate() {
            let run = panel.feeder.as_ref().and_then(|it| it.run);
            let n_circuits = site
                .circuits
                .iter()
                .filter(|it| it.panel == PanelIx(n))
                .count();
            supply.push(Node {
                place: Place {
                    symbol: Symbol::Panel,
                    name: format!(
                        "{} {}",
                        trace::words::sentence(&site.region.words.panel),
                        panel.id
                    ),
                    more: match run {
                        Some(run) => format!(
                            "{}, feeder {run}",
                            words::count(n_circuits, "circuit", "circuits")
                        ),
                        None => words::count(n_circuits, "circuit", "circuits"),
                    },
                    verdict: at(&format!("panel:{}", panel.id)),
                    judged: Judged::No,
                    href: None,
                },
                before: Some(panel.feeder.as_ref().map_or(0, |it| it.from.0 + 1)),
                by: By::Cable,
            });
        }
        let n_panels = site.panels.len();
        hang(&mut supply, id, file, |at| {
            let name = at.strip_prefix("panel:")?;
            (0..n_panels)
                .find(|it| site.panels[*it].id == name)
                .map(|it| it + 1)
        });
        for node in &mut supply {
            if node.place.verdict.is_some() {
                node.place.judged = Judged::Yes;
            }
        }
        let circuits =
            (0..site.circuits.len()).map(|it| circuit(id, site, file, worst, CircuitIx(it)));
        (supply, circuits.collect())
    }
}

fn circuit(id: &str, site: &Site, file: &SiteFile, worst: &Worst, ix: CircuitIx) -> Vec<Node> {
    let circuit = &site.circuits[ix.0];
    let leg = site
        .service
        .system
        .legs
        .get(circuit.leg)
        .map(|it| it.name.as_str());
    let breaker = circuit.breaker.map(|it| format!("{it} breaker"));
    let mut more = vec![format!(
        "{} {}",
        site.region.words.panel, site.panels[circuit.panel.0].id
    )];
    more.extend(leg.map(|it| format!("leg {it}")));
    more.extend(breaker);
    let verdict = worst.at(&format!("circuit:{}", circuit.id));
    let mut nodes = vec![Node {
        place: Place {
            symbol: Symbol::Breaker,
            name: format!("Circuit {}", circuit.id),
            more: more.join(", "),
            verdict,
            judged: if verdict.is_some() {
                Judged::Yes
            } else {
                Judged::No
            },
            href: None,
        },
        before: None,
        by: By::Cable,
    }];
    let mut node_of = vec![None; site.outlets.len()];
    for OutletIx(o) in site.outlets_from_the_panel() {
        let outlet = &site.outlets[o];
        if outlet.circuit != ix {
            continue;
        }
        let cord = matches!(outlet.feed, Feed::Cord(_));
        let run = outlet
            .run
            .map(|it| format!("{it} {}", if cord { "cord" } else { "cable" }));
        let earth = site
            .region
            .receptacles
            .get(outlet.receptacle)
            .is_none_or(|it| it.earth_contact);
        let here = ["outlet", "run"].map(|kind| worst.at(&format!("{kind}:{}", outlet.id)));
        node_of[o] = Some(nodes.len());
        nodes.push(Node {
            place: Place {
                symbol: Symbol::Outlet { earth },
                name: outlet.label.clone(),
                more: run.unwrap_or_default(),
                verdict: here[0].max(here[1]),
                judged: if worst.soon {
                    Judged::Soon
                } else {
                    Judged::Yes
                },
                href: Some(format!("/site/{id}/place/{}", encoded(&outlet.id))),
            },
            before: Some(outlet.after.and_then(|it| node_of[it.0]).unwrap_or(0)),
            by: if cord { By::Cord } else { By::Cable },
        });
    }
    hang(&mut nodes, id, file, |at| match at.split_once(':') {
        Some(("circuit", name)) => (name == circuit.id).then_some(0),
        _ => node_of[site.outlet(at)?.0],
    });
    nodes
}

/// What hangs on the places of a drawing so far, and on each other: `place_of` finds what is there by its name.
fn hang(
    nodes: &mut Vec<Node>,
    id: &str,
    file: &SiteFile,
    place_of: impl Fn(&str) -> Option<usize>,
) {
    let mut hung: Vec<(&str, usize)> = Vec::new();
    for it in things::all(file) {
        let on = hung.iter().find(|(name, _)| *name == it.at);
        let Some(before) = place_of(it.at).or(on.map(|(_, n)| *n)) else {
            continue;
        };
        if things::carries(it.symbol) {
            hung.push((it.id, nodes.len()));
        }
        nodes.push(Node {
            place: Place {
                symbol: it.symbol,
                name: it.id.to_owned(),
                more: match it.more {
                    Some(more) => format!("{}, {more}", it.symbol.says()),
                    None => it.symbol.says().to_owned(),
                },
                verdict: None,
                judged: Judged::No,
                href: Some(it.page(id)),
            },
            before: Some(before),
            by: By::Cord,
        });
    }
}

/// An identifier as a part of an address.
pub fn encoded(id: &str) -> String {
    let mut out = String::with_capacity(id.len());
    for byte in id.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'~' => {
                out.push(byte as char)
            }
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

impl Page for SitePage {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, SitePage)> {
        super::samples::sites()
    }

    fn title(&self) -> String {
        self.name.clone()
    }

    fn width(&self) -> Width {
        Width::Wide
    }

    fn follows(&self) -> Option<String> {
        Some(self.id.clone())
    }

    fn render(&self) -> Markup {
        let id = &self.id;
        html! {
            (trail(&[("Sites".into(), "/".into())]))
            h1 { (self.name) }
            @if let Some(note) = &self.note { p .faint { (note) } }
            (first(&self.said, "the site"))
            p #visit-line data-live .small {
                @match &self.visit {
                    Some((words, href)) => { "Shown is " a href=(href) { (words) } ". Limits and words: " (self.region) "." }
                    None => { "No visit yet. Limits and words: " (self.region) "." }
                }
            }
            div #drawing data-live {
                h2 { "The chain" }
                (chain(&self.supply))
                @if self.circuits.is_empty() {
                    p { "No circuit is drawn yet. " a href=(format!("/site/{id}/file")) { "Add one" } "." }
                }
                div .bus {
                    @for circuit in &self.circuits { div .circuit { (chain(circuit)) } }
                }
            }
            div .keys .two {
                a .key href=(format!("/site/{id}/evidence")) { "Causes and evidence" }
                a .key href=(format!("/site/{id}/visits")) { "Visits" }
                a .key href=(format!("/site/{id}/file")) { "Build and change" }
            }
        }
    }
}
