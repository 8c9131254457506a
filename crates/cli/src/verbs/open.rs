//! `open`: the workbench in the browser, until ctrl-c.

use std::io::{IsTerminal, Write};

use web::{Browser, ForPhones, Opened, Reach, Setup};

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
        reach: if args.lan {
            Reach::Network
        } else {
            Reach::Machine
        },
    };
    let opened = web::open(&setup, |opened| {
        let mut out = std::io::stdout().lock();
        // a code in a file or a log would be there for others to read
        let seen = out.is_terminal() && !json;
        let text = if json {
            as_json(opened)
        } else {
            told(opened, seen)
        };
        // whoever reads the output may have gone; the browser has the address too
        let _ = writeln!(out, "{text}").and_then(|()| out.flush());
    });
    match opened {
        Ok(()) => Ok(Page::good("")),
        Err(trouble) => Err(Refusal::plain(trouble.to_string())),
    }
}

fn as_json(opened: &Opened) -> String {
    let phones = opened.network.as_ref().map(
        |it| serde_json::json!({ "address": it.address, "certificate_sha256": it.fingerprint }),
    );
    serde_json::json!({ "format": 1, "address": opened.address, "phones": phones, "damage": opened.damage })
        .to_string()
}

fn told(opened: &Opened, seen: bool) -> String {
    let mut text = String::new();
    if let Some(damage) = &opened.damage {
        text += &format!(
            "\nThe data is damaged: {damage}\nThe workbench offers the backups there are, and nothing else.\n"
        );
    }
    text += &format!("\nThe workbench is open at {}\n", opened.address);
    match &opened.network {
        None => {
            text += "Only this machine can reach it, with the pass in this address. Stop it with ctrl-c."
        }
        Some(phones) => {
            text += "On this machine only, with the pass in this address. Stop it with ctrl-c.\n";
            text += &for_phones(phones, seen);
        }
    }
    text
}

fn for_phones(phones: &ForPhones, seen: bool) -> String {
    let mut text = format!(
        "\nPaired phones in this network reach it at {}\nFingerprint of its certificate (SHA-256), to compare on the phone before the code is \
         typed:\n",
        phones.address
    );
    let pairs: Vec<&str> = phones.fingerprint.split(':').collect();
    for row in pairs.chunks(16) {
        text += &format!("  {}\n", row.join(" "));
    }
    match seen.then(|| phones.code()).flatten() {
        Some((digits, picture)) => {
            // light on dark, whatever the terminal's own colours are
            let style = anstyle::Style::new()
                .fg_color(Some(anstyle::RgbColor(255, 255, 255).into()))
                .bg_color(Some(anstyle::RgbColor(0, 0, 0).into()));
            text += "\n";
            for line in picture.lines() {
                text += &format!("{style}{line}{style:#}\n");
            }
            let (a, b) = digits.split_at(4);
            text += &format!(
                "\nCode for one phone, within ten minutes: {a} {b}\nFor the next one, and to shut one out: the page Phones."
            );
        }
        None => text += "A code for a phone is shown on the page Phones.",
    }
    text
}
