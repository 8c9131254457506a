//! How long a site of many outlets takes to read: `cargo run --release -p site --example big -- 5000`.

use std::fmt::Write;
use std::time::Instant;

use site::file::{Form, read_site};

fn main() {
    let n_outlets: usize = std::env::args()
        .nth(1)
        .and_then(|it| it.parse().ok())
        .unwrap_or(5000);
    for n_outlets in [n_outlets / 10, n_outlets] {
        let text = text(n_outlets);
        let start = Instant::now();
        let read = read_site(&text, "big.toml", Form::Toml);
        let took = start.elapsed();
        match read {
            Ok(it) => println!(
                "{} outlets, {} kB: {took:.1?}",
                it.site.outlets.len(),
                text.len() / 1000
            ),
            Err(problems) => println!("{}", problems.long()),
        }
        let broken = text.replace("run = \"6 m\"", "run = 6");
        let start = Instant::now();
        let n_problems =
            read_site(&broken, "big.toml", Form::Toml).map_or_else(|it| it.count(), |_| 0);
        println!(
            "the same with {n_problems} mistakes: {:.1?}",
            start.elapsed()
        );
    }
}

/// An invented site: ten outlets on each circuit, each after the one before.
fn text(n_outlets: usize) -> String {
    let mut text = "format = 1\nname = \"Invented\"\nregion = \"north-america\"\n".to_owned();
    for circuit in 0..n_outlets.div_ceil(10) {
        let leg = ["A", "B"][circuit % 2];
        let _ = write!(
            text,
            "[[circuit]]\nid = \"C{circuit}\"\nleg = \"{leg}\"\nbreaker = \"20 A\"\ncable = \"12 AWG copper\"\n"
        );
    }
    for outlet in 0..n_outlets {
        let circuit = outlet / 10;
        let _ = write!(
            text,
            "[[outlet]]\nid = \"o{outlet}\"\ncircuit = \"C{circuit}\"\nrun = \"6 m\"\nreceptacle = \"5-20\"\n"
        );
        if outlet % 10 > 0 {
            let _ = writeln!(text, "after = \"o{}\"", outlet - 1);
        }
    }
    text
}
