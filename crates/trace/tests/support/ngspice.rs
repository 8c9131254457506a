//! Many netlists in one run of ngspice: each is sourced, analysed at its frequency and written in binary, so that
//! potentials come back with every digit.

use num_complex::Complex64;
use std::fmt::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};

use super::deck::Deck;

static RUN: AtomicU64 = AtomicU64::new(0);

/// Potentials of all nodes of each deck, by node number; `None` where ngspice is not installed.
pub fn solve(decks: &[Deck]) -> Option<Vec<Vec<Complex64>>> {
    let folder = format!(
        "trace-sim-{}-{}",
        std::process::id(),
        RUN.fetch_add(1, Ordering::Relaxed)
    );
    let folder = std::env::temp_dir().join(folder);
    std::fs::create_dir_all(&folder).expect("temporary folder can be written");
    let file = |k: usize, end: &str| folder.join(format!("d{k}.{end}"));
    let mut script = String::from("* all netlists\n.control\nset filetype=binary\n");
    for (k, deck) in decks.iter().enumerate() {
        let (netlist, raw) = (file(k, "cir"), file(k, "raw"));
        std::fs::write(&netlist, deck.netlist(&format!("deck {k}"))).expect("temporary folder");
        let hertz = deck.hertz;
        writeln!(
            script,
            "source {}\nac lin 1 {hertz:e} {hertz:e}\nwrite {}\nremcirc\ndestroy all",
            netlist.display(),
            raw.display()
        )
        .expect("text");
    }
    script += "quit\n.endc\n.end\n";
    let all = folder.join("all.cir");
    std::fs::write(&all, script).expect("temporary folder");
    let run = Command::new("ngspice")
        .arg("-b")
        .arg(&all)
        .stdin(Stdio::null())
        .output();
    let out = match run {
        Ok(run) => {
            let said = || {
                let text = [run.stdout.as_slice(), run.stderr.as_slice()].concat();
                let text = String::from_utf8_lossy(&text).into_owned();
                let odd = |line: &&str| {
                    let line = line.to_ascii_lowercase();
                    line.contains("warning") || line.contains("error")
                };
                text.lines()
                    .filter(odd)
                    .take(20)
                    .collect::<Vec<_>>()
                    .join("\n")
            };
            let of = |(k, deck): (usize, &Deck)| {
                read(&file(k, "raw"), deck.n_nodes)
                    .unwrap_or_else(|why| panic!("deck {k}: {why}; ngspice says:\n{}", said()))
            };
            Some(decks.iter().enumerate().map(of).collect())
        }
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => None,
        Err(e) => panic!("ngspice would not run: {e}"),
    };
    std::fs::remove_dir_all(&folder).expect("own folder");
    out
}

/// Says what to install; where the tests guard the project it has to be there.
pub fn missing() {
    let says = "ngspice is not installed, nothing was compared: apt-get install ngspice";
    assert!(std::env::var("CI").as_deref() != Ok("true"), "{says}");
    println!("{says}");
}

/// Reads one point of complex values: a text head that numbers the vectors, then pairs of doubles.
fn read(file: &Path, n_nodes: usize) -> Result<Vec<Complex64>, String> {
    let bytes = std::fs::read(file).map_err(|e| e.to_string())?;
    let mark = b"Binary:\n";
    let head = bytes.windows(mark.len()).position(|it| it == mark);
    let (head, body) = bytes.split_at(head.ok_or("no binary part")?);
    let body = &body[mark.len()..];
    let head = String::from_utf8_lossy(head);
    let mut out = vec![Complex64::new(f64::NAN, f64::NAN); n_nodes];
    out[0] = Complex64::ZERO;
    for line in head.lines().filter(|line| line.starts_with('\t')) {
        let mut words = line.split_whitespace();
        let (Some(number), Some(name)) = (words.next(), words.next()) else {
            return Err(format!("line {line:?}"));
        };
        let node = name.strip_prefix("v(n").and_then(|it| it.strip_suffix(')'));
        let Some(node) = node.and_then(|it| it.parse::<usize>().ok()) else {
            continue;
        };
        let at = 16 * number.parse::<usize>().map_err(|e| e.to_string())?;
        let double = |at: usize| {
            let it = body.get(at..at + 8).and_then(|it| it.try_into().ok());
            it.map(f64::from_le_bytes).ok_or("the file is too short")
        };
        let slot = out.get_mut(node).ok_or(format!("no node {node}"))?;
        *slot = Complex64::new(double(at)?, double(at + 8)?);
    }
    match out.iter().position(|v| !v.is_finite()) {
        Some(node) => Err(format!("no potential of node {node}")),
        None => Ok(out),
    }
}
