//! How long from the start of the program to its first page, and from ctrl-c to its end: `cargo bench -p wattwright --bench
//! first_page`, the release binary over loopback, against what is promised.

#[path = "../tests/opened_program/mod.rs"]
mod opened_program;

use std::io::Read;
use std::path::Path;
use std::time::{Duration, Instant};

/// Promised: start to first page.
const FIRST_PAGE: Duration = Duration::from_millis(200);
/// Promised: ctrl-c to the end, with a feed open and an answer being worked out.
const END: Duration = Duration::from_secs(1);
const TIMES: usize = 20;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = tempfile::tempdir()?;
    let (mut fresh, mut again, mut ends) = (Vec::new(), Vec::new(), Vec::new());
    for n in 0..TIMES {
        let data = folder.path().join(format!("{n}.db"));
        fresh.push(once(&data)?.0);
        let (first, end) = once(&data)?;
        again.push(first);
        ends.push(end);
    }
    let size = std::fs::metadata(env!("CARGO_BIN_EXE_wattwright"))?.len();
    let line = |what: &str, of: &mut Vec<Duration>, goal: Duration| {
        of.sort_unstable();
        let (median, worst) = (of[of.len() / 2], of[of.len() - 1]);
        println!(
            "{what}: {:.2} of the goal ({goal:.0?}), median of {}; worst {:.2} ({median:.0?}, {worst:.0?})",
            median.as_secs_f64() / goal.as_secs_f64(),
            of.len(),
            worst.as_secs_f64() / goal.as_secs_f64()
        );
    };
    line(
        "start to first page, data that are there",
        &mut again,
        FIRST_PAGE,
    );
    line(
        "start to first page, data made anew",
        &mut fresh,
        FIRST_PAGE,
    );
    line(
        "ctrl-c to the end, a feed open and an answer under way",
        &mut ends,
        END,
    );
    println!("the program: {:.1} MB", size as f64 / 1e6);
    Ok(())
}

/// Starts it, asks for the first page whole, has a feed and an answer under way, stops it.
fn once(data: &Path) -> Result<(Duration, Duration), Box<dyn std::error::Error>> {
    let begun = Instant::now();
    let mut program = opened_program::open(data, &["--port", "0"]);
    let mut page = String::new();
    program.stream("/")?.read_to_string(&mut page)?;
    let first = begun.elapsed();
    if !page.ends_with("</html>") {
        return Err(format!("the page is not whole: {page}").into());
    }
    let mut feed = program.stream("/live")?;
    feed.read_exact(&mut [0; 12])?;
    let at = page.find("/site/").ok_or("no site")?;
    let site = page[at..].split('"').next().ok_or("no address")?.to_owned();
    let _answer = program.stream(&site)?;
    let begun = Instant::now();
    opened_program::signal(&program.child, "INT");
    program.child.wait()?;
    Ok((first, begun.elapsed()))
}
