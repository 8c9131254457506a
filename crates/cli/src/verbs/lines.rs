//! `trace --lines`: JSON Lines in, one answer a line out, in order. A bad line gives an error object and the rest goes on.
//!
//! In: `{"site": {...}, "visit": {...}}`, the documents of `schema site` and `schema visit`; or
//! `{"line": "hot-neutral 0 V, ...", "region": "north-america"}`. Out: the answer, or `{"format": 1, "error": {...}}`.

use std::io::{self, BufRead, Write};

use serde_json::Value;
use site::file;
use site::quick;
use trace::Question;
use trace::answer::Answer;

use crate::args::Trace;
use crate::ending::{Ending, Exit, Page, Refusal};
use crate::input;

/// Runs the verb.
pub fn run(args: &Trace) -> Ending {
    let mut exit = Exit::Good;
    let mut out = io::stdout().lock();
    let mut lines = io::stdin().lock();
    loop {
        let mut line = Vec::new();
        let n = lines
            .read_until(b'\n', &mut line)
            .map_err(|error| Refusal::plain(format!("standard input: {error}")))?;
        if n == 0 {
            break;
        }
        if line.trim_ascii().is_empty() {
            continue;
        }
        let (text, one) = match guarded(&line, args) {
            Ok(it) => (compact(&it), Exit::of(it.verdict, &it.action)),
            Err(refusal) => (refusal.json(), Exit::Unusable),
        };
        exit = exit.max(one);
        let written = writeln!(out, "{text}").and_then(|()| out.flush());
        match written {
            Ok(()) => {}
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => break,
            Err(error) => {
                return Err(Refusal::plain(format!(
                    "the output cannot be written: {error}"
                )));
            }
        }
    }
    Ok(Page {
        text: String::new(),
        exit,
    })
}

fn compact(answer: &Answer) -> String {
    match serde_json::to_string(answer) {
        Ok(text) => text,
        Err(error) => Refusal::plain(format!("the answer cannot be written: {error}")).json(),
    }
}

/// A fault of our own on one line leaves the others their answers.
fn guarded(line: &[u8], args: &Trace) -> Result<Answer, Refusal> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| answer(line, args))).unwrap_or_else(
        |_| {
            Err(Refusal::plain(
                "wattwright has met a fault of its own on this line; please report it",
            ))
        },
    )
}

fn answer(line: &[u8], args: &Trace) -> Result<Answer, Refusal> {
    let refuse = |what: String| Refusal::plain(what);
    let value: Value =
        serde_json::from_slice(line).map_err(|error| refuse(format!("not JSON: {error}")))?;
    let Value::Object(mut asked) = value else {
        return Err(refuse(
            "an object with \"site\" and \"visit\" is wanted".to_owned(),
        ));
    };
    if let Some(line) = asked.remove("line") {
        let region = asked.remove("region");
        let Some(line) = line.as_str() else {
            return Err(refuse("\"line\" is not a text".to_owned()));
        };
        let region = region
            .as_ref()
            .and_then(Value::as_str)
            .unwrap_or(&args.setting.region);
        let (site, visit) = quick::quick(line, input::region(region)?)?;
        return Ok(ask(&site, &visit, args));
    }
    let (Some(site), Some(visit)) = (asked.remove("site"), asked.remove("visit")) else {
        return Err(refuse("\"site\" or \"visit\" is missing".to_owned()));
    };
    if let Some((key, _)) = asked.iter().next() {
        return Err(refuse(format!(
            "unknown key \"{key}\"; known here: \"site\" and \"visit\", or \"line\" and \"region\""
        )));
    }
    let site = file::site_from_value(&site, "site")?.site;
    let visit = file::visit_from_value(&visit, "visit", &site)?;
    Ok(ask(&site, &visit, args))
}

fn ask(site: &site::model::Site, visit: &site::visit::Visit, args: &Trace) -> Answer {
    trace::trace(&Question {
        site,
        visit,
        skill: input::skill(&args.setting, visit),
        seed: args.seed,
    })
}
