//! Invented sites: every region, every way of earthing, and one told site with everything that a site can have.

use site::file::{Form, read_site};
use site::model::{Earthing, Site};
use site::region::Region;
use site::visit::{Condition, LoadScope, LoadsAt, Running};

/// Two circuits on one neutral, a circuit across both lines, a second panel, a switched outlet, a strip on a cord, an
/// old circuit without earth, loads of each kind.
const TOLD: &str = r#"
format = 1
name = "Tannery Lane Workshop (invented)"
region = "north-america"
service = { system = "split-phase 120/240 V" }
panel = [{ id = "main" }, { id = "annex", from = "main", run = "20 m", cable = "6 AWG copper" }]
circuit = [
    { id = "A1", leg = "A", breaker = "20 A", residual_current = "5 mA", arc_fault = "yes" },
    { id = "A2", leg = "A", breaker = "20 A", earth = "yes" },
    { id = "B2", leg = "B", breaker = "20 A", earth = "yes", shares_neutral_with = "A2" },
    { id = "A3", leg = "A", second_leg = "B", breaker = "20 A", earth = "yes" },
    { id = "A4", leg = "A", breaker = "15 A", earth = "no" },
    { id = "S1", panel = "annex", leg = "B", breaker = "20 A", earth = "yes" },
]
outlet = [
    { id = "desk", circuit = "A1", switched = "yes", run = "18 m" },
    { id = "hall", after = "desk", residual_current = "5 mA", run = "6 m" },
    { id = "left", circuit = "A2" },
    { id = "right", circuit = "B2" },
    { id = "rack", circuit = "A3", receptacle = "6-20" },
    { id = "attic", circuit = "A4", receptacle = "1-15" },
    { id = "shed", circuit = "S1" },
]
cord = [{ id = "strip", at = "hall", length = "2 m" }]
load = [
    { id = "heater", at = "left", kind = "impedance", power = "1200 W" },
    { id = "lamp", at = "right", kind = "impedance", power = "60 W" },
    { id = "machine", at = "strip", kind = "power", power = "250 W", leakage = "0.4 mA" },
]
"#;

/// A site with the condition under which it is looked at.
pub struct Setting {
    /// Short name, also in the kept numbers.
    pub id: &'static str,
    /// The site.
    pub site: Site,
    /// The condition.
    pub condition: Condition,
}

/// The told site.
pub fn told() -> Site {
    match read_site(TOLD, "tannery-lane.toml", Form::Toml) {
        Ok(document) => document.site,
        Err(problems) => panic!("{problems}"),
    }
}

/// The site assumed around a desk.
pub fn assumed(region: &str, earthing: Option<Earthing>) -> Site {
    let region = Region::find(region).expect("a region that is built in");
    let mut site = Site::assumed(region, &["desk"]);
    site.service.earthing = earthing.unwrap_or(site.service.earthing);
    site
}

/// All settings.
pub fn all() -> Vec<Setting> {
    let as_found = |id, site| Setting {
        id,
        site,
        condition: Condition::default(),
    };
    let mut out = vec![
        as_found("north-america", assumed("north-america", None)),
        as_found("japan", assumed("japan", None)),
        as_found("iec-tn-c-s", assumed("iec-230", Some(Earthing::TnCS))),
        as_found("iec-tn-s", assumed("iec-230", Some(Earthing::TnS))),
        as_found("iec-tt", assumed("iec-230", Some(Earthing::TT))),
        as_found("told", told()),
    ];
    let mut unplugged = as_found("told-unplugged", told());
    unplugged.condition.loads = vec![LoadsAt {
        scope: LoadScope::Site,
        state: Running::Unplugged,
    }];
    out.push(unplugged);
    out
}
