//! `proofread`: every problem of site and visit files at once.

use std::path::Path;

use serde::Serialize;
use site::file::{self, Form, Problem, Problems};
use site::model::Site;

use crate::args::Proofread;
use crate::ending::{Ending, Exit, FORMAT, Page, Refusal};
use crate::input::{self, Text};
use crate::screen::{Format, Looks, Screen};

/// The shape of `proofread --json`.
#[derive(Serialize)]
struct Proof {
    format: u32,
    files: Vec<Proofed>,
}

/// One file that was looked at.
#[derive(Serialize)]
struct Proofed {
    file: String,
    /// `site` or `visit`.
    kind: Kind,
    problems: Vec<Problem>,
    /// What was taken for granted because the file does not say it.
    notes: Vec<String>,
}

#[derive(Serialize, Clone, Copy, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
enum Kind {
    Site,
    Visit,
}

/// Runs the verb.
pub fn run(args: &Proofread, json: bool, format: Format) -> Ending {
    let mut refusals = Vec::new();
    let mut texts = Vec::new();
    for path in &args.files {
        match input::read(path) {
            Ok(text) => texts.push((kind(&text), text)),
            Err(refusal) => refusals.push(refusal.what),
        }
    }
    if !refusals.is_empty() {
        return Err(Refusal::plain(refusals.join("\n")));
    }
    let mut proofed = Vec::new();
    let mut sites: Vec<Site> = Vec::new();
    let mut broken = 0;
    for (_, text) in texts.iter().filter(|(kind, _)| *kind == Kind::Site) {
        match file::read_site(&text.text, &text.name, text.form) {
            Ok(document) => {
                proofed.push(clean(text, Kind::Site, document.notes.clone()));
                sites.push(document.site);
            }
            Err(problems) => {
                broken += 1;
                proofed.push(wrong(text, Kind::Site, &problems));
            }
        }
    }
    for (_, text) in texts.iter().filter(|(kind, _)| *kind == Kind::Visit) {
        proofed.push(proof_of_visit(text, &sites, broken)?);
    }
    let order = |it: &Proofed| args.files.iter().position(|path| named(path, &it.file));
    proofed.sort_by_key(order);
    let n_problems: usize = proofed.iter().map(|it| it.problems.len()).sum();
    let exit = if n_problems > 0 {
        Exit::Unusable
    } else {
        Exit::Good
    };
    if json {
        return Ok(Page::json(
            &Proof {
                format: FORMAT,
                files: proofed,
            },
            exit,
        ));
    }
    Ok(Page {
        text: page(&proofed, n_problems, format),
        exit,
    })
}

fn named(path: &Path, name: &str) -> bool {
    path.display().to_string() == name
}

fn page(proofed: &[Proofed], n_problems: usize, format: Format) -> String {
    let mut screen = Screen::new(format);
    for it in proofed {
        for problem in &it.problems {
            for line in problem.long().lines() {
                screen.verbatim(line);
            }
        }
    }
    for it in proofed.iter().filter(|it| it.problems.is_empty()) {
        let kind = if it.kind == Kind::Site {
            "a sound site file"
        } else {
            "a sound visit file"
        };
        screen.hanging(
            "● ",
            Looks::Good,
            &format!("{}: {kind}", it.file),
            Looks::Plain,
        );
        for note in &it.notes {
            screen.hanging("  taken for granted: ", Looks::Faint, note, Looks::Plain);
        }
    }
    if n_problems > 0 {
        let files = proofed.iter().filter(|it| !it.problems.is_empty()).count();
        let problems = if n_problems == 1 {
            "one problem".to_owned()
        } else {
            format!("{n_problems} problems")
        };
        let text = if files == 1 {
            problems
        } else {
            format!("{problems} in {files} files")
        };
        screen.hanging("", Looks::Plain, &text, Looks::Bad);
    }
    screen.finish()
}

fn clean(text: &Text, kind: Kind, notes: Vec<String>) -> Proofed {
    Proofed {
        file: text.name.clone(),
        kind,
        problems: Vec::new(),
        notes,
    }
}

fn wrong(text: &Text, kind: Kind, problems: &Problems) -> Proofed {
    Proofed {
        file: text.name.clone(),
        kind,
        problems: problems.iter().cloned().collect(),
        notes: Vec::new(),
    }
}

/// A visit is read at the site that it names, or at the only one.
fn proof_of_visit(text: &Text, sites: &[Site], broken: usize) -> Result<Proofed, Refusal> {
    let told =
        top(text).and_then(|it| it.get("site").and_then(|it| it.as_str()).map(str::to_owned));
    let by_name = sites.iter().find(|it| {
        told.as_ref()
            .is_some_and(|told| told.trim() == it.name.trim())
    });
    let only = if sites.len() == 1 {
        sites.first()
    } else {
        None
    };
    let Some(site) = by_name.or(only) else {
        let why = match (broken, told) {
            (1.., _) => "its site file has problems, so it was not looked at".to_owned(),
            (0, Some(name)) => format!("give the file of the site \"{name}\" with it"),
            (0, None) => "give the file of its site with it".to_owned(),
        };
        return match broken {
            0 => Err(Refusal::plain(format!(
                "{} is a visit file; {why}",
                text.name
            ))),
            _ => Ok(clean(text, Kind::Visit, vec![why])),
        };
    };
    Ok(
        match file::read_visit(&text.text, &text.name, text.form, site) {
            Ok(_) => clean(text, Kind::Visit, Vec::new()),
            Err(problems) => wrong(text, Kind::Visit, &problems),
        },
    )
}

/// The document without places, if its syntax is sound.
fn top(text: &Text) -> Option<serde_json::Map<String, serde_json::Value>> {
    match text.form {
        Form::Json => serde_json::from_str(&text.text).ok(),
        Form::Toml => toml::from_str(&text.text).ok(),
    }
}

/// What a file is, by the keys that only one of the two has.
fn kind(text: &Text) -> Kind {
    let of_a_visit = |key: &str| {
        matches!(
            key,
            "reading" | "observation" | "person" | "cannot" | "site" | "date"
        )
    };
    let of_a_site = |key: &str| {
        matches!(
            key,
            "service" | "circuit" | "outlet" | "panel" | "name" | "region" | "load"
        )
    };
    let keys: Vec<String> = match top(text) {
        Some(top) => top.keys().cloned().collect(),
        // broken syntax: by what stands at the beginning of its lines
        None => text
            .text
            .lines()
            .map(|it| {
                it.trim()
                    .trim_matches(['[', ']', '"'])
                    .split([' ', '=', ':', '"'])
                    .next()
                    .unwrap_or("")
                    .to_owned()
            })
            .collect(),
    };
    let visit = keys.iter().filter(|it| of_a_visit(it)).count();
    let site = keys.iter().filter(|it| of_a_site(it)).count();
    if visit > site {
        Kind::Visit
    } else {
        Kind::Site
    }
}
