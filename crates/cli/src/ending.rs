//! How a run ends: a page and an exit code, or problems with the input.

use std::process::ExitCode;

use serde::Serialize;
use site::file::{Problem, Problems};
use site::finding::{Action, Use, Verdict};

/// Version of the shapes that this crate writes with `--json`.
pub const FORMAT: u32 = 1;

/// Exit codes, as documented in the help and the manual page.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Good, or nothing worse than advice.
    Good = 0,
    /// A defect or a danger, or something that has to go out of use until it is settled.
    Found = 1,
    /// Input that cannot be used, or output that cannot be written.
    Unusable = 2,
}

impl Exit {
    /// The code that a verdict and an action ask for.
    pub fn of(verdict: Verdict, action: &Action) -> Exit {
        if verdict >= Verdict::Defect || action.use_ != Use::Yes {
            Exit::Found
        } else {
            Exit::Good
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit as u8)
    }
}

/// What a verb hands to the main program.
pub type Ending = Result<Page, Refusal>;

/// Something to show.
#[derive(Debug)]
pub struct Page {
    /// For standard output.
    pub text: String,
    /// Exit code.
    pub exit: Exit,
}

impl Page {
    /// A page that found nothing wrong.
    pub fn good(text: impl Into<String>) -> Page {
        Page {
            text: text.into(),
            exit: Exit::Good,
        }
    }

    /// A document as JSON.
    pub fn json(document: &impl Serialize, exit: Exit) -> Page {
        Page {
            text: json(document) + "\n",
            exit,
        }
    }
}

/// A document of ours as indented JSON.
pub fn json(document: &impl Serialize) -> String {
    serde_json::to_string_pretty(document)
        .unwrap_or_else(|error| format!("{{\"error\":\"{error}\"}}"))
}

/// Why a verb has nothing to show: all problems with what it was given.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Refusal {
    /// What cannot be used, one sentence.
    pub what: String,
    /// Each problem: place, what is wrong, what to do.
    pub problems: Vec<Problem>,
}

/// The shape of a refusal with `--json`.
#[derive(Serialize)]
struct Refused<'a> {
    format: u32,
    error: &'a Refusal,
}

impl Refusal {
    /// One problem without a place.
    pub fn plain(what: impl Into<String>) -> Refusal {
        Refusal {
            what: what.into(),
            problems: Vec::new(),
        }
    }

    /// Problems of a file or a line.
    pub fn of(problems: &Problems) -> Refusal {
        let what = match problems.count() {
            1 => "one problem".to_owned(),
            n => format!("{n} problems"),
        };
        Refusal {
            what,
            problems: problems.iter().cloned().collect(),
        }
    }

    /// For a terminal.
    pub fn shown(&self) -> String {
        let mut text = String::new();
        for problem in &self.problems {
            text.push_str(&problem.long());
            text.push('\n');
        }
        text.push_str(&self.what);
        text.push('\n');
        text
    }

    /// One line of JSON: `{"format":1,"error":{"what":...,"problems":[...]}}`.
    pub fn json(&self) -> String {
        let refused = Refused {
            format: FORMAT,
            error: self,
        };
        serde_json::to_string(&refused).unwrap_or_else(|_| "{\"format\":1,\"error\":{}}".to_owned())
    }
}

impl From<Problems> for Refusal {
    fn from(problems: Problems) -> Refusal {
        Refusal::of(&problems)
    }
}
