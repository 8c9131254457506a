//! The places of a site by their names, and the contacts there.

use std::collections::HashMap;

use crate::file::near::listed;
use crate::file::near::nearest;
use crate::file::problem::Log;
use crate::file::reader::At;
use crate::model::{CircuitIx, LoadIx, OutletIx, PanelIx, Site};
use crate::pair::{self, Lines, Role};
use crate::visit::{Bar, Contact, Whereabouts};

/// The names of a site, once for all readings.
pub(super) struct Places<'s> {
    pub site: &'s Site,
    outlets: HashMap<&'s str, OutletIx>,
    circuits: HashMap<&'s str, CircuitIx>,
    panels: HashMap<&'s str, PanelIx>,
    loads: HashMap<&'s str, LoadIx>,
}

/// What a name can stand for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Named {
    Outlet(OutletIx),
    Circuit(CircuitIx),
    Panel(PanelIx),
    Load(LoadIx),
    Site,
}

impl<'s> Places<'s> {
    pub fn of(site: &'s Site) -> Places<'s> {
        let outlets = site.outlets.iter().enumerate();
        let circuits = site.circuits.iter().enumerate();
        let panels = site.panels.iter().enumerate();
        let loads = site.loads.iter().enumerate();
        Places {
            site,
            outlets: outlets
                .map(|(ix, it)| (it.id.as_str(), OutletIx(ix)))
                .collect(),
            circuits: circuits
                .map(|(ix, it)| (it.id.as_str(), CircuitIx(ix)))
                .collect(),
            panels: panels
                .map(|(ix, it)| (it.id.as_str(), PanelIx(ix)))
                .collect(),
            loads: loads.map(|(ix, it)| (it.id.as_str(), LoadIx(ix))).collect(),
        }
    }

    /// What a name stands for: with its kind before a colon, or alone, then an outlet before a circuit, load or panel.
    pub fn named(&self, name: &str) -> Option<Named> {
        let outlet = |it: &str| self.outlets.get(it).copied().map(Named::Outlet);
        let circuit = |it: &str| self.circuits.get(it).copied().map(Named::Circuit);
        let panel = |it: &str| self.panels.get(it).copied().map(Named::Panel);
        let load = |it: &str| self.loads.get(it).copied().map(Named::Load);
        match name.split_once(':') {
            Some(("outlet", it)) => outlet(it),
            Some(("circuit", it)) => circuit(it),
            Some(("panel", it)) => panel(it),
            Some(("load", it)) => load(it),
            Some(_) => None,
            None if name == "site" => Some(Named::Site),
            None => outlet(name)
                .or_else(|| circuit(name))
                .or_else(|| load(name))
                .or_else(|| panel(name)),
        }
    }

    /// What a name stands for, or a problem with the nearest one that is known.
    pub fn find(&self, log: &mut Log, element: &str, key: &str, name: &At<&str>) -> Option<Named> {
        let found = self.named(name.it);
        if found.is_none() {
            let what = format!("{key} \"{}\" is not at this site", name.it);
            log.add(name.span.clone(), element, what, Some(self.hint(name.it)));
        }
        found
    }

    fn hint(&self, name: &str) -> String {
        let bare = name.split_once(':').map_or(name, |(_, it)| it);
        let site = self.site;
        let outlets = || site.outlets.iter().map(|it| it.id.as_str());
        let circuits = site.circuits.iter().map(|it| it.id.as_str());
        if let Some(meant) = nearest(bare, outlets()) {
            format!("did you mean \"{meant}\"?")
        } else if let Some(meant) = nearest(bare, circuits) {
            format!("did you mean \"circuit:{meant}\"?")
        } else {
            format!(
                "its outlets are {}; or write \"circuit:...\", \"panel:...\" or \"site\"",
                listed(outlets())
            )
        }
    }

    /// How many lines an outlet has.
    pub fn lines(&self, outlet: OutletIx) -> Lines {
        let circuit = self.site.outlets[outlet.0].circuit;
        match self.site.circuits[circuit.0].second_leg {
            None => Lines::One,
            Some(_) => Lines::Two,
        }
    }

    /// How many lines there are at an outlet; nothing is told of other places.
    pub fn lines_at(&self, place: Named) -> Option<Lines> {
        match place {
            Named::Outlet(it) => Some(self.lines(it)),
            _ => None,
        }
    }

    /// The contact that a word means at a place.
    pub fn contact(&self, at: Named, word: &str) -> Result<Contact, String> {
        match at {
            Named::Outlet(ix) => {
                let role = pair::role(word).ok_or_else(|| not_a_contact(word))?;
                self.pin(ix, role)
            }
            Named::Panel(ix) => self
                .bar(word)
                .map(|bar| Contact::Panel(ix, bar))
                .ok_or_else(|| not_a_contact(word)),
            _ => Err("a probe goes to an outlet or a panel".to_owned()),
        }
    }

    /// The contact of a role at an outlet.
    pub fn pin(&self, outlet: OutletIx, role: Role) -> Result<Contact, String> {
        let lines = self.lines(outlet);
        let id = &self.site.outlets[outlet.0].id;
        let pin = role.pin(lines).ok_or_else(|| match lines {
            Lines::One => format!("outlet \"{id}\" has one line only"),
            Lines::Two => format!("outlet \"{id}\" has two lines and no neutral"),
        })?;
        Ok(Contact::Outlet(outlet, pin))
    }

    /// A bar of a panel: a leg by its name, with or without `leg` or `hot` before it, neutral or earth.
    fn bar(&self, word: &str) -> Option<Bar> {
        let system = self.site.service.system;
        let word = word.trim();
        let alone = word
            .rsplit_once(char::is_whitespace)
            .map_or(word, |(_, it)| it);
        if let Some(leg) = system.leg(word).or_else(|| system.leg(alone)) {
            return Some(Bar::Leg(leg));
        }
        let last = system.legs.len() - 1;
        match pair::role(word)? {
            Role::Line if last > 0 => None, // which of them?
            Role::Line | Role::FirstLine => Some(Bar::Leg(0)),
            Role::SecondLine => (last > 0).then_some(Bar::Leg(1)),
            Role::Neutral => Some(Bar::Neutral),
            Role::Earth => Some(Bar::Earth),
        }
    }

    /// The two contacts of a pair at a place.
    pub fn pair(&self, at: Named, words: &str) -> Result<(Contact, Contact), String> {
        if let Named::Outlet(ix) = at {
            let (a, b) = pair::roles(words).ok_or_else(|| format!("\"{words}\" is not a pair"))?;
            return Ok((self.pin(ix, a)?, self.pin(ix, b)?));
        }
        let (a, b) = split_pair(words).ok_or_else(|| format!("\"{words}\" is not a pair"))?;
        Ok((self.contact(at, a)?, self.contact(at, b)?))
    }

    /// A contact anywhere: `true earth`, `front-desk line`, `panel:main neutral`, or a word at the place of the reading.
    pub fn anywhere(&self, here: Option<Named>, words: &str) -> Result<Contact, String> {
        let words = words.trim();
        if pair::is_true_earth(words) {
            return Ok(Contact::TrueEarth);
        }
        if let Some(here) = here
            && let Ok(contact) = self.contact(here, words)
        {
            return Ok(contact);
        }
        for (cut, blank) in words.char_indices().filter(|(_, it)| it.is_whitespace()) {
            let word = &words[cut + blank.len_utf8()..];
            if let Some(place) = self.named(words[..cut].trim_end()) {
                return self.contact(place, word);
            }
        }
        match here {
            Some(here) if pair::role(words).is_some() => self.contact(here, words),
            _ => Err(format!("\"{words}\" is not a place and a contact")),
        }
    }
}

impl Named {
    /// As the place of an observation; a load is none.
    pub fn whereabouts(self) -> Option<Whereabouts> {
        match self {
            Named::Outlet(it) => Some(Whereabouts::Outlet(it)),
            Named::Circuit(it) => Some(Whereabouts::Circuit(it)),
            Named::Panel(it) => Some(Whereabouts::Panel(it)),
            Named::Site => Some(Whereabouts::Site),
            Named::Load(_) => None,
        }
    }
}

fn not_a_contact(word: &str) -> String {
    format!("\"{word}\" is not a contact here")
}

/// The two ends of a pair at a panel, `A-B` or `L1 to neutral`.
fn split_pair(words: &str) -> Option<(&str, &str)> {
    ["-", "–", "/", " to ", " and "]
        .iter()
        .find_map(|it| words.split_once(it))
}
