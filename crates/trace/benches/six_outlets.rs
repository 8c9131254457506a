//! A told branch of six outlets, every single and double fault, ten readings; then branches up to 600 outlets.
//!
//! Prints lines `name ours goal`. Times are wall times on this machine; the growth is a ratio within one run.
//! With a number it stops there: `cargo bench -p trace --bench six_outlets -- 60`.

use std::fmt::Write as _;
use std::time::Instant;

use site::file::Form;
use site::model::{OutletIx, Site};
use site::visit::{Skill, Visit};
use trace::answer::Answer;

fn main() {
    let site = branch(6);
    let visit = read(&site, &ten_readings());
    let (answer, millis, processor) =
        traced(&site, &visit, if site.outlets.len() > 99 { 1 } else { 5 });
    let work = answer.work;
    println!("{:<44} {:>12} {:>10}", "name", "ours", "goal");
    line("causes considered", work.causes as f64, "");
    line("network solutions", work.solutions as f64, "");
    line("factorings", work.factorings as f64, "");
    line("refactorings", work.refactorings as f64, "");
    line("milliseconds", millis, "< 100");
    line("processor milliseconds, all threads", processor, "");
    line("peak memory, MB", peak_memory(), "< 200");
    if let Some(first) = answer.causes.first() {
        println!("first: {} ({:.0} %)", first.says, first.probability * 100.0);
    }
    let most = std::env::args().find_map(|a| a.parse().ok()).unwrap_or(600);
    let mut small = None;
    for n in [6, 60, 600].into_iter().filter(|n| *n <= most) {
        let site = branch(n);
        let visit = read(&site, "o1: H-N 119.4 V; o3: H-N 118.1 V, N-G 1.3 V");
        let (answer, _, processor) =
            traced(&site, &visit, if site.outlets.len() > 99 { 1 } else { 5 });
        let each = 1e3 * processor / answer.work.causes as f64;
        let first = *small.get_or_insert(each);
        let name = format!("{n} outlets: processor microseconds a cause");
        line(&name, each, "");
        let name = format!("{n} outlets: that, of six outlets'");
        line(&name, each / first, &format!("<= {:.0}", n as f64 / 6.0));
    }
    line("peak memory after 600 outlets, MB", peak_memory(), "");
}

fn line(name: &str, ours: f64, goal: &str) {
    println!("{name:<44} {ours:>12.1} {goal:>10}");
}

/// The fastest of a few runs, and the least processor time of one; the first warms caches and threads.
fn traced(site: &Site, visit: &Visit, runs: usize) -> (Answer, f64, f64) {
    let question = trace::Question {
        site,
        visit,
        skill: Skill::Technician,
        seed: 1,
    };
    let (mut millis, mut processor) = (f64::INFINITY, f64::INFINITY);
    let mut last = None;
    for _ in 0..runs {
        let (start, used) = (Instant::now(), processor_time());
        last = Some(trace::trace(&question));
        millis = millis.min(start.elapsed().as_secs_f64() * 1e3);
        processor = processor.min(processor_time() - used);
    }
    (last.expect("at least one run"), millis, processor)
}

/// Milliseconds that the threads of this process have run so far.
fn processor_time() -> f64 {
    let tasks = std::fs::read_dir("/proc/self/task")
        .into_iter()
        .flatten()
        .flatten();
    let ran = tasks.filter_map(|task| {
        let text = std::fs::read_to_string(task.path().join("schedstat")).ok()?;
        text.split(' ').next()?.parse::<f64>().ok()
    });
    ran.sum::<f64>() / 1e6
}

/// One circuit with n outlets in a row, lengths told, two loads told.
fn branch(n: usize) -> Site {
    let mut text = String::from(
        "format = 1\nname = \"Branch\"\nregion = \"north-america\"\n\
         [[circuit]]\nid = \"A4\"\nbreaker = \"20 A\"\ncable = \"12 AWG copper\"\n",
    );
    for i in 1..=n {
        let after = match i {
            1 => "circuit = \"A4\"".to_owned(),
            _ => format!("after = \"o{}\"", i - 1),
        };
        let _ = write!(
            text,
            "[[outlet]]\nid = \"o{i}\"\n{after}\nrun = \"{} m\"\n",
            4 + i % 5
        );
    }
    text += "[[load]]\nid = \"pc\"\nat = \"o3\"\npower = \"220 W\"\nkind = \"power\"\n";
    text += "[[load]]\nid = \"heater\"\nat = \"o6\"\npower = \"900 W\"\n";
    site::file::read_site(&text, "branch.toml", Form::Toml)
        .unwrap_or_else(|problems| panic!("{problems}"))
        .site
}

/// A poor neutral between the third and the fourth outlet, as a mid-class meter would see it.
fn ten_readings() -> String {
    "o1: H-N 119.6 V, N-G 0.4 V; o3: H-N 119.1 V, N-G 0.6 V; \
     o4: H-N 113.9 V, N-G 6.0 V, H-G 119.8 V; o6: H-N 113.2 V, N-G 6.3 V, H-G 119.4 V"
        .to_owned()
}

fn read(site: &Site, line: &str) -> Visit {
    let empty = site::quick::nothing(site);
    site::quick::more(line, site, &empty, Some(OutletIx(0))).unwrap_or_else(|it| panic!("{it}"))
}

/// Largest resident memory so far, megabytes.
fn peak_memory() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    line.and_then(|l| l.trim().trim_end_matches(" kB").trim().parse::<f64>().ok())
        .map_or(f64::NAN, |kb| kb / 1024.0)
}
