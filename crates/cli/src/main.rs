//! The `wattwright` program: verbs, terminal output, nothing else.

mod args;
mod ending;
mod input;
mod keep;
mod screen;
mod show;
mod verbs;

use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

use clap::Parser;

use args::{Colour, Common, Line, Verb};
use ending::{Ending, Exit, Page, Refusal};
use screen::{Colours, Format, USUAL, WIDEST};

fn main() -> ExitCode {
    let line = Line::parse();
    let json = line.common.json;
    let bare = line.verb.is_none() && !json && io::stdout().is_terminal();
    std::panic::set_hook(Box::new(|_| {})); // told below, in words
    let ending = std::panic::catch_unwind(|| run(&line)).unwrap_or_else(|_| {
        Err(Refusal::plain(
            "wattwright has met a fault of its own; the answer is not known. Treat what you stand before as live, and report \
             what you typed",
        ))
    });
    let exit = end(ending, json);
    if !bare {
        return exit;
    }
    // somebody sits there: behind the demo the workbench opens
    end(verbs::open::run(&args::Open::default(), false), false)
}

fn run(line: &Line) -> Ending {
    let format = format_of(&line.common);
    let json = line.common.json;
    match &line.verb {
        None | Some(Verb::Demo) => verbs::demo::run(json, format),
        Some(Verb::Open(it)) => verbs::open::run(it, json),
        Some(Verb::Proofread(it)) => verbs::proofread::run(it, json, format),
        Some(Verb::Judge(it)) => verbs::judge::run(it, json, format),
        Some(Verb::Trace(it)) => verbs::trace::run(it, json, format),
        Some(Verb::Expect(it)) => verbs::expect::run(it, json, format),
        Some(Verb::Reread(it)) => verbs::reread::run(it, json, format),
        Some(Verb::Demand(it)) => verbs::demand::run(it, json, format),
        Some(Verb::Supply(it)) => verbs::supply::run(it, json, format),
        Some(Verb::Bench(it)) => verbs::bench::run(it, json, format),
        Some(Verb::Pins(it)) => verbs::pins::run(it, json, format),
        Some(Verb::Pin(it)) => verbs::pin::run(it, json, format),
        Some(Verb::Parts(it)) => verbs::parts::run(it, json, format),
        Some(Verb::Schema(it)) => verbs::schema::run(it),
        Some(Verb::Completions(it)) => verbs::shell::completions(it, json),
        Some(Verb::Man) => verbs::shell::man(json),
    }
}

/// Writes what there is to write; a reader that has gone away is no fault of ours.
fn end(ending: Ending, json: bool) -> ExitCode {
    let (text, exit) = match ending {
        Ok(Page { text, exit }) => (text, exit),
        Err(refusal) if json => (refusal.json() + "\n", Exit::Unusable),
        Err(refusal) => {
            // where standard error cannot be written there is nobody left to tell
            let _ = io::stderr().write_all(refusal.shown().as_bytes());
            (String::new(), Exit::Unusable)
        }
    };
    let mut out = io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    match written {
        Ok(()) => exit.into(),
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => exit.into(),
        Err(error) => {
            let _ = writeln!(io::stderr(), "the output cannot be written: {error}");
            Exit::Unusable.into()
        }
    }
}

/// Width and colour of this run.
fn format_of(common: &Common) -> Format {
    let terminal = io::stdout().is_terminal();
    let columns = common.width.map(usize::from).or_else(|| {
        let (width, _) = terminal_size::terminal_size()?;
        terminal.then(|| usize::from(width.0).min(WIDEST))
    });
    let plain = std::env::var_os("NO_COLOR").is_some_and(|it| !it.is_empty())
        || std::env::var_os("TERM").is_some_and(|it| it == "dumb");
    let colours = match common.colour {
        Colour::Always => Colours::On,
        Colour::Auto if terminal && !plain => Colours::On,
        Colour::Auto | Colour::Never => Colours::Off,
    };
    Format {
        width: columns.unwrap_or(USUAL),
        colours,
    }
}
