//! One line of readings: what a technician types standing in front of an outlet.
//!
//! `desk: hot-neutral 118.2 V, neutral-ground 1.3 V with load; hall: lamps HN lit, others dark, buzzing`
//!
//! Places are parted by `;` and named with a `:`, what is told of one is parted by `,`. A thing told is a pair of
//! contacts with a value, lamps, a detector, a remark, a condition or a word on the meter, in the words of any region. A
//! condition right behind a value holds for that reading, one between commas for the whole place. A sentence without
//! numbers is searched for what people say (`said`); one that speaks of harm in words that are not known is kept as just
//! that. What else is not understood is a problem with its column; nothing is dropped, and the words are kept with what
//! was made of them.

mod build;
mod cut;
mod phrase;
mod pin;
mod prose;
mod said;
mod scan;
mod told;
mod write;

pub use pin::at_pin;
pub use prose::more_said;
pub use write::{Counts, written};

use crate::file::problem::{Log, Problems};
use crate::model::{OutletIx, Site};
use crate::region::Region;
use crate::visit::{Condition, Contact, Input, Pin, UsedMeter, Visit};
use scan::Mode;

/// Name under which problems of a line are reported.
const FILE: &str = "line";

/// A line about places that nobody wrote down: a site is assumed around them.
///
/// # Errors
/// Everything in the line that is not understood, with columns and hints.
pub fn quick(line: &str, region: &'static Region) -> Result<(Site, Visit), Problems> {
    let mut log = Log::of(FILE, line);
    let told = scan::line(line, Mode::Telling, &mut log);
    let names: Vec<&str> = told.places();
    let mut site = Site::assumed(region, &names);
    let here = site
        .outlets
        .iter()
        .position(|it| told::same_name(&it.label, told::UNNAMED));
    let before = build::empty(&site);
    let visit = build::visit(&told, &site, here.map(OutletIx), &before, &mut log);
    site.fit_receptacles(&visit);
    if log.is_clean() {
        Ok((site, visit))
    } else {
        Err(log.close())
    }
}

/// A visit of which nothing is told yet, by a technician.
pub fn nothing(site: &Site) -> Visit {
    build::empty(site)
}

/// The names of the places that a line speaks of, panels and the outlet without a name left out.
pub fn places(line: &str) -> Vec<String> {
    let told = scan::line(line, Mode::Telling, &mut Log::of(FILE, line));
    told.places().into_iter().map(str::to_owned).collect()
}

/// A line about a known site, as more of a visit; without a name it is about `here`.
///
/// # Errors
/// Everything in the line that is not understood, names of places included, with columns and hints.
pub fn more(
    line: &str,
    site: &Site,
    before: &Visit,
    here: Option<OutletIx>,
) -> Result<Visit, Problems> {
    let mut log = Log::of(FILE, line);
    let told = scan::line(line, Mode::Telling, &mut log);
    let visit = build::visit(&told, site, here, before, &mut log);
    if log.is_clean() {
        Ok(visit)
    } else {
        Err(log.close())
    }
}

/// Something that would be read or looked at, and under what condition.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// With which instrument, and where.
    pub what: Ask,
    /// Under what condition.
    pub condition: Condition,
    /// Which input of the meter.
    pub input: Input,
}

/// An instrument and where it is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ask {
    /// A voltmeter across two contacts.
    Volts(Contact, Contact),
    /// A three-lamp tester.
    Lamps(OutletIx),
    /// A non-contact detector at a contact.
    Detector(OutletIx, Pin),
}

/// A line that names what would be read, without values: `desk: hot-neutral with load, lamps; hall`. A place without
/// anything asks for its three pairs and the lamps. Where no site is given, one is assumed around the places of the line
/// and `others`. Also the meter, where one is named.
///
/// # Errors
/// Everything in the line that is not understood, with columns and hints.
pub fn asked(
    line: &str,
    site: Result<Site, &'static Region>,
    others: &[String],
) -> Result<(Site, Vec<Asked>, Option<UsedMeter>), Problems> {
    let mut log = Log::of(FILE, line);
    let told = scan::line(line, Mode::Asking, &mut log);
    let site = site.unwrap_or_else(|region| {
        let mut names = told.places();
        let known = |names: &[&str], it: &str| names.iter().any(|name| told::same_name(name, it));
        for other in others {
            if !known(&names, other) {
                names.push(other);
            }
        }
        Site::assumed(region, &names)
    });
    let unnamed = |it: &crate::model::Outlet| told::same_name(&it.label, told::UNNAMED);
    let here = site.outlets.iter().position(unnamed).map(OutletIx);
    let (asked, meter) = build::asked(&told, &site, here, &mut log);
    if log.is_clean() {
        Ok((site, asked, meter))
    } else {
        Err(log.close())
    }
}

#[cfg(test)]
mod tests;
