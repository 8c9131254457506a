//! The site as a one-line drawing, which is the way around in it.

use maud::{Markup, html};
use site::file::written::SiteFile;
use site::finding::{Finding, Verdict};
use site::model::{CircuitIx, Feed, OutletIx, PanelIx, Site};

use crate::look::chain::{By, Judged, Node, Place, chain};
use crate::look::first::{Said, first};
use crate::look::symbol::Symbol;
use crate::page::{Page, Width, trail};
use crate::words;

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

/// Worst verdict of the findings about an element.
fn worst(findings: &[Finding], is: impl Fn(&str) -> bool) -> Option<Verdict> {
    let about = findings.iter().filter(|it| is(&it.element));
    about.map(|it| it.verdict).max()
}

impl SitePage {
    /// The chain of a site, with what was found at each place. `file` has the equipment that the model leaves out.
    pub fn drawn(
        id: &str,
        site: &Site,
        file: &SiteFile,
        findings: &[Finding],
    ) -> (Vec<Node>, Vec<Vec<Node>>) {
        let service = &site.service;
        let at = |element: &str| worst(findings, |it| it == element);
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
        for node in &mut supply {
            if node.place.verdict.is_some() {
                node.place.judged = Judged::Yes;
            }
        }
        let circuits =
            (0..site.circuits.len()).map(|it| circuit(id, site, file, findings, CircuitIx(it)));
        (supply, circuits.collect())
    }
}

fn circuit(
    id: &str,
    site: &Site,
    file: &SiteFile,
    findings: &[Finding],
    ix: CircuitIx,
) -> Vec<Node> {
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
    let element = format!("circuit:{}", circuit.id);
    let verdict = worst(findings, |it| it == element);
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
        let is_here = |it: &str| matches!(it.split_once(':'), Some(("outlet" | "run", id)) if id == outlet.id);
        node_of[o] = Some(nodes.len());
        nodes.push(Node {
            place: Place {
                symbol: Symbol::Outlet { earth },
                name: outlet.label.clone(),
                more: run.unwrap_or_default(),
                verdict: worst(findings, is_here),
                judged: Judged::Yes,
                href: Some(format!("/site/{id}/place/{}", encoded(&outlet.id))),
            },
            before: Some(outlet.after.and_then(|it| node_of[it.0]).unwrap_or(0)),
            by: if cord { By::Cord } else { By::Cable },
        });
    }
    plugged(&mut nodes, site, file, &node_of);
    nodes
}

/// UPSs, machines and other loads behind the outlets of one circuit.
fn plugged(nodes: &mut Vec<Node>, site: &Site, file: &SiteFile, node_of: &[Option<usize>]) {
    let outlet = |id: &str| site.outlet(id).and_then(|it| node_of[it.0]);
    let mut ups_at: Vec<(&str, usize)> = Vec::new();
    let mut add = |symbol, id: &str, power: Option<&str>, before: usize| {
        nodes.push(Node {
            place: Place {
                symbol,
                name: id.to_owned(),
                more: match power {
                    Some(power) => format!("{}, {power}", symbol.says()),
                    None => symbol.says().to_owned(),
                },
                verdict: None,
                judged: Judged::No,
                href: None,
            },
            before: Some(before),
            by: By::Cord,
        });
        nodes.len() - 1
    };
    for ups in &file.ups {
        if let Some(before) = outlet(&ups.at) {
            ups_at.push((
                &ups.id,
                add(Symbol::Ups, &ups.id, ups.power.as_deref(), before),
            ));
        }
    }
    for machine in &file.machine {
        let behind = ups_at
            .iter()
            .find(|(id, _)| *id == machine.at)
            .map(|(_, n)| *n);
        if let Some(before) = behind.or_else(|| outlet(&machine.at)) {
            add(
                Symbol::Machine,
                &machine.id,
                machine.power.as_deref(),
                before,
            );
        }
    }
    for load in &file.load {
        if let Some(before) = outlet(&load.at) {
            add(
                Symbol::Load,
                &load.id,
                load.power.as_deref().or(load.current.as_deref()),
                before,
            );
        }
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
