//! Machines and supplies for tests, from the text that people write.
#![allow(
    dead_code,
    reason = "each test file takes what it needs of this module"
)]

use plan::{Demand, Fit, Line, Moment, Of, Place, Standing};
use site::file::{Form, read_site, read_supplies};
use site::machine::Build;
use site::region::Region;
use site::supply::Supply;

/// What a machine is made of: a line as people type it, or the `parts` of a file, which start with a brace.
pub fn build(text: &str) -> Build {
    if !text.starts_with('{') {
        return site::parts_line::build(text).unwrap_or_else(|it| panic!("{text}: {it}"));
    }
    let (parts, rest) = text.split_once('\n').unwrap_or((text, ""));
    let file = format!(
        "format = 1\nname = \"X\"\nregion = \"north-america\"\n[[circuit]]\nid = \"A\"\nbreaker = \"15 A\"\n[[outlet]]\nid = \"o\"\n\
         circuit = \"A\"\n[[machine]]\nid = \"m\"\nat = \"o\"\nparts = [{parts}]\n{rest}"
    );
    let site = read_site(&file, "x.toml", Form::Toml).unwrap_or_else(|it| panic!("{it}"));
    site.site.machines[0].build.clone()
}

/// A supply from the keys of its table.
pub fn supply(keys: &str) -> Supply {
    let text = format!("format = 1\n[[supply]]\nid = \"s\"\n{keys}\n");
    let mut all = read_supplies(&text, "x.toml", Form::Toml).unwrap_or_else(|it| panic!("{it}"));
    all.remove(0)
}

/// A supply held new against a machine in North America, in air in which nothing is lost.
pub fn fit(machine: &str, keys: &str) -> Fit {
    let build = build(machine);
    plan::fit(
        &Demand::of(&build),
        &build,
        &supply(keys),
        &Place::in_region(&Region::all()[0]),
        Standing::Chosen { years: 0.0 },
        None,
    )
}

/// The line of a limit at a moment.
pub fn line(fit: &Fit, of: &Of, moment: Moment) -> Line {
    let found = fit
        .lines
        .iter()
        .find(|it| it.of == *of && it.moment == moment);
    found
        .unwrap_or_else(|| panic!("no {of:?} {moment:?} in {:#?}", fit.lines))
        .clone()
}

/// Whether two numbers are within a tolerance; NaN is within none.
pub fn near(a: f64, b: f64, tolerance: f64) -> bool {
    (a - b).abs() <= tolerance
}
