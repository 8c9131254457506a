//! A machine against 200 candidate supplies: demand, every limit at every moment, findings, energy, and their order.
//!
//! Prints lines `name ours goal`. The wall time is on this machine; the ratio is within one run.

use std::time::Instant;

use plan::{Demand, Fit, Place, Standing, fit, rank};
use site::file::{Form, read_supplies};
use site::region::Region;
use site::supply::Supply;

const MACHINE: &str =
    "processor 125 W, 4 memory DDR4, graphics 220 W, 4 disks 3.5, solid-state, 3 fans, board";

fn main() {
    let build = site::parts_line::build(MACHINE).expect("the line above reads");
    let candidates = candidates(200);
    println!("{:<44} {:>12} {:>10}", "name", "ours", "goal");
    let times = |n: usize| {
        let mut best = f64::INFINITY;
        let mut fits = Vec::new();
        for _ in 0..20 {
            let start = Instant::now();
            fits = against(&build, &candidates[..n]);
            best = best.min(1e3 * start.elapsed().as_secs_f64());
        }
        (best, fits)
    };
    let (one, _) = times(1);
    let (all, fits) = times(candidates.len());
    line("milliseconds, 200 candidates", all, "< 20");
    line("times one candidate", all / one, "");
    let lines: usize = fits.iter().map(|it| it.lines.len()).sum();
    line("demands held against a limit", lines as f64, "");
    let good = fits
        .iter()
        .filter(|it| it.verdict <= site::finding::Verdict::Advice);
    line("of them will do", good.count() as f64, "");
    for it in [fits.first(), fits.last()].into_iter().flatten() {
        if let Some(first) = it.lines.first() {
            println!(
                "{}: first to give way {} {}, {:.1} of {:.1} {:?}",
                it.supply,
                first.of.says(),
                first.moment.words(),
                first.demand,
                first.limit,
                first.unit
            );
        }
    }
}

fn against(build: &site::machine::Build, candidates: &[Supply]) -> Vec<Fit> {
    let demand = Demand::of(build);
    let place = Place::in_region(&Region::all()[0]);
    let standing = Standing::Chosen { years: 5.0 };
    let one = |it: &Supply| fit(&demand, build, it, &place, standing, Some(0.2));
    let mut fits: Vec<Fit> = candidates.iter().map(one).collect();
    rank(&mut fits);
    fits
}

/// Invented supplies of 250 W to 1046 W.
fn candidates(n: usize) -> Vec<Supply> {
    let mut text = String::from("format = 1\n");
    for ix in 0..n {
        let watts = 250 + 4 * ix;
        let (p12, small) = (watts as f64 * 0.9 / 12.0, 12 + ix % 12);
        text.push_str(&format!(
            "[[supply]]\nid = \"candidate-{ix}\"\nrating = \"{watts} W\"\n\
             rails = [{{ rail = \"+12 V\", max = \"{p12:.1} A\" }}, {{ rail = \"+5 V\", max = \"{small} A\" }}, \
             {{ rail = \"+3.3 V\", max = \"{small} A\" }}, {{ rail = \"-12 V\", max = \"0.3 A\" }}, {{ rail = \"+5 VSB\", max = \"2.5 A\" }}]\n\
             combined = [{{ rails = [\"+5 V\", \"+3.3 V\"], max = \"{} W\" }}]\nguide = \"ATX 3\"\n\
             input = {{ from = \"100 V\", to = \"240 V\" }}\ncorrection = \"active\"\nmark = \"{}\"\n\
             connectors = [{{ connector = \"main-24\" }}, {{ connector = \"processor-8\" }}, {{ connector = \"graphics-8\", count = {} }}, {{ connector = \"sata-power\", count = 6 }}]\n",
            5 * small,
            ["bronze", "gold", "platinum"][ix % 3],
            1 + ix % 3,
        ));
    }
    read_supplies(&text, "invented", Form::Toml).expect("the list above reads")
}

fn line(name: &str, ours: f64, goal: &str) {
    println!("{name:<44} {ours:>12.2} {goal:>10}");
}
