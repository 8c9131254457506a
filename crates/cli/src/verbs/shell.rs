//! `completions` and `man`: generated from the command line's own description.

use clap::CommandFactory;
use serde::Serialize;

use crate::args::{Completions, Line};
use crate::ending::{Ending, Exit, FORMAT, Page, Refusal};

#[derive(Serialize)]
struct Script<'a> {
    format: u32,
    what: &'a str,
    text: &'a str,
}

/// Completions for a shell.
pub fn completions(args: &Completions, json: bool) -> Ending {
    let mut bytes = Vec::new();
    clap_complete::generate(args.shell, &mut Line::command(), "wattwright", &mut bytes);
    page(&format!("completions for {}", args.shell), bytes, json)
}

/// The manual page, its verbs' pages behind it.
pub fn man(json: bool) -> Ending {
    let mut bytes = Vec::new();
    let mut command = Line::command().disable_help_subcommand(true);
    command.build();
    let verbs = command.get_subcommands().cloned().collect::<Vec<_>>();
    let written = clap_mangen::Man::new(command.clone()).render(&mut bytes);
    let written = verbs.into_iter().fold(written, |written, verb| {
        written?;
        let title = format!(".SH \"VERB: {}\"\n", verb.get_name().to_uppercase());
        bytes.extend_from_slice(title.as_bytes());
        let man = clap_mangen::Man::new(verb);
        man.render_synopsis_section(&mut bytes)?;
        man.render_description_section(&mut bytes)?;
        man.render_options_section(&mut bytes)
    });
    written.map_err(|error| Refusal::plain(format!("the manual page cannot be made: {error}")))?;
    page("manual page", bytes, json)
}

fn page(what: &str, bytes: Vec<u8>, json: bool) -> Ending {
    let text = String::from_utf8_lossy(&bytes).into_owned();
    if !json {
        return Ok(Page::good(text));
    }
    let script = Script {
        format: FORMAT,
        what,
        text: &text,
    };
    Ok(Page::json(&script, Exit::Good))
}
