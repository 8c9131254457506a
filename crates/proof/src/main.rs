//! Measures the trace engine from outside. `proof --help` lists the verbs.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use proof::{calibration, diagram, field, optimal, outsiders, score};

/// Measures the trace engine from outside, on invented premises and on real cases.
#[derive(Parser)]
#[command(version)]
struct Arguments {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// Simulated visits: are the probabilities right, is the true cause first, is a danger missed?
    Calibration {
        /// How many visits.
        #[arg(long, default_value_t = 2000)]
        visits: u64,
        /// Seed of everything drawn.
        #[arg(long, default_value_t = 1)]
        seed: u64,
        /// Folder for the reliability diagram and all figures.
        #[arg(long)]
        out: Option<PathBuf>,
        /// Print so many of the visits whose true cause is not first, and every missed danger and needless alarm.
        #[arg(long, default_value_t = 0)]
        misses: usize,
    },
    /// Small premises on which the best order of checks is found by exhaustive search.
    Optimal {
        /// How many premises.
        #[arg(long, default_value_t = 6)]
        sites: u64,
        /// Seed of everything drawn.
        #[arg(long, default_value_t = 1)]
        seed: u64,
    },
    /// Faults that no catalogue lists: does it say that nothing it knows fits?
    Outsiders {
        /// Visits to each kind.
        #[arg(long, default_value_t = 20)]
        visits: u64,
        /// Seed of everything drawn.
        #[arg(long, default_value_t = 1)]
        seed: u64,
    },
    /// Real cases, thin and rounded as people tell them.
    FieldCases {
        /// Seed of the engine's sampling.
        #[arg(long, default_value_t = 1)]
        seed: u64,
    },
    /// One simulated visit, told at length.
    Visit {
        /// Number of the visit.
        number: u64,
        /// Seed of the visits.
        #[arg(long, default_value_t = 1)]
        seed: u64,
    },
}

fn main() -> ExitCode {
    let done = match Arguments::parse().verb {
        Verb::Optimal { sites, seed } => {
            print!("{}", optimal::table(&optimal::sites(seed, sites)));
            Ok(())
        }
        Verb::Calibration {
            visits,
            seed,
            out,
            misses,
        } => calibrate(visits, seed, out, misses),
        Verb::Outsiders { visits, seed } => {
            print!("{}", outsiders::table(&outsiders::visits(seed, visits)));
            Ok(())
        }
        Verb::FieldCases { seed } => {
            field::judge::cases(seed).map(|all| print!("{}", field::judge::table(&all)))
        }
        Verb::Visit { number, seed } => {
            print!("{}", proof::narrate::visit(seed, number));
            Ok(())
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(text) => {
            eprintln!("proof: {text}");
            ExitCode::from(2)
        }
    }
}

fn calibrate(visits: u64, seed: u64, out: Option<PathBuf>, misses: usize) -> Result<(), String> {
    let all = calibration::visits(seed, visits);
    let summary = calibration::summary(seed, &all);
    print!("{}", summary.table());
    let missed = |s: &&score::Scored| s.missed_danger() || s.needless_alarm();
    let wrong = |s: &&score::Scored| !s.first() && !s.missed_danger() && !s.needless_alarm();
    for s in all
        .iter()
        .filter(missed)
        .chain(all.iter().filter(wrong).take(misses))
    {
        print!("{}", proof::narrate::line(s));
    }
    if let Some(folder) = out {
        let write = |name: &str, text: String| {
            let path = folder.join(name);
            std::fs::write(&path, text).map_err(|e| format!("{}: {e}", path.display()))
        };
        std::fs::create_dir_all(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        write(
            "reliability.svg",
            diagram::reliability(&summary.leading, "What leads, and how often it was true"),
        )?;
        write(
            "reliability-all.svg",
            diagram::reliability(&summary.all, "Every cause told, and how often it was true"),
        )?;
        let json = |it: &dyn erased::Json| it.json();
        write("summary.json", json(&summary))?;
        write("visits.json", json(&all))?;
    }
    Ok(())
}

mod erased {
    /// Anything that goes to JSON.
    pub trait Json {
        fn json(&self) -> String;
    }

    impl<T: serde::Serialize> Json for T {
        fn json(&self) -> String {
            serde_json::to_string_pretty(self).unwrap_or_default()
        }
    }
}
