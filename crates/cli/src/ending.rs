//! How a run ends: a page and an exit code, or problems with the input.

use serde::Serialize;
use site::finding::{Action, Use, Verdict};

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
        if verdict >= Verdict::Defect || action.use_ != Use::Yes { Exit::Found } else { Exit::Good }
    }
}

/// What a verb hands to the main program.
#[derive(Debug)]
pub struct Page {
    /// For standard output.
    pub text: String,
    /// Exit code.
    pub exit: Exit,
}

impl Page {
    /// A page that found nothing wrong.
    pub fn good(text: String) -> Page {
        Page { text, exit: Exit::Good }
    }
}

/// Why a verb has nothing to show: all problems with what it was given.
#[derive(Debug, Serialize, PartialEq)]
pub struct Refusal {
    /// What cannot be used, one sentence.
    pub what: String,
    /// Each problem: place, what is wrong, what to do.
    pub problems: Vec<Trouble>,
}

/// One problem, wherever it comes from.
#[derive(Debug, Serialize, PartialEq, Clone)]
pub struct Trouble {
    /// File or `line`, where known.
    pub file: String,
    /// Line from 1.
    pub line: Option<usize>,
    /// Column from 1, in characters.
    pub column: Option<usize>,
    /// What is wrong, with what it is about.
    pub what: String,
    /// What to do.
    pub hint: Option<String>,
    /// As it is shown on a terminal.
    #[serde(skip)]
    pub shown: String,
}

impl Refusal {
    /// One problem without a place.
    pub fn plain(what: impl Into<String>) -> Refusal {
        Refusal { what: what.into(), problems: Vec::new() }
    }

    /// For a terminal.
    pub fn shown(&self) -> String {
        let mut text = String::new();
        for problem in &self.problems {
            text.push_str(&problem.shown);
            text.push('\n');
        }
        text.push_str(&self.what);
        text.push('\n');
        text
    }
}
