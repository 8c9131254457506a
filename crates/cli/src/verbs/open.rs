//! `open`: the workbench in the browser, until ctrl-c.

use std::io::Write;

use web::{Browser, Setup};

use crate::args::Open;
use crate::ending::{Ending, Page, Refusal};

/// Runs the verb.
pub fn run(args: &Open, json: bool) -> Ending {
    let setup = Setup {
        data: args.data.clone(),
        port: args.port,
        browser: if args.no_browser {
            Browser::Leave
        } else {
            Browser::Open
        },
    };
    let opened = web::open(&setup, |address| {
        let line = if json {
            serde_json::json!({ "format": 1, "address": address }).to_string()
        } else {
            format!(
                "\nThe workbench is open at {address}\nOnly this machine can reach it, with the pass in this address. Stop it with ctrl-c."
            )
        };
        let mut out = std::io::stdout().lock();
        // whoever reads the output may have gone; the browser has the address too
        let _ = writeln!(out, "{line}").and_then(|()| out.flush());
    });
    match opened {
        Ok(()) => Ok(Page::good("")),
        Err(trouble) => Err(Refusal::plain(trouble.to_string())),
    }
}
