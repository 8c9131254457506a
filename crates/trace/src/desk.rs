//! An assumed outlet called desk and a line told of it, for tests.

use site::model::Site;
use site::region::Region;
use site::visit::{Skill, Visit};

/// The site, and the visit with the line.
pub(crate) fn desk(line: &str) -> (Site, Visit) {
    let region = Region::find("north-america").expect("a region of the project");
    let site = Site::assumed(region, &["desk"]);
    let empty = Visit {
        site: site.name.clone(),
        date: None,
        skill: Skill::Technician,
        meters: Vec::new(),
        readings: Vec::new(),
        observations: Vec::new(),
        cannot: Vec::new(),
    };
    let visit = site::quick::more(line, &site, &empty, None).unwrap_or_else(|it| panic!("{it}"));
    (site, visit)
}
