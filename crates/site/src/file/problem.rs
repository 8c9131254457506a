//! Problems of a file: where, what is wrong, what to do. All of them at once, in the order of the text.

use std::fmt;
use std::ops::Range;

use serde::Serialize;

/// One problem of a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct Problem {
    /// Name of the file, as it was given.
    pub file: String,
    /// Line, counted from 1; none where there was no text (a document handed over in memory).
    pub line: Option<usize>,
    /// Column in characters, counted from 1.
    pub column: Option<usize>,
    /// What it is about, as `circuit "A4"`; empty for the file itself.
    pub element: String,
    /// What is wrong.
    pub what: String,
    /// What to do, where that can be said.
    pub hint: Option<String>,
    /// The line of the text, for the long form.
    #[serde(skip)]
    source: String,
    /// How many characters of what is kept of that line stand before the place.
    #[serde(skip)]
    indent: usize,
    /// How many characters of that line are meant.
    #[serde(skip)]
    width: usize,
}

/// Of a long line so much is kept before and after the place, in characters.
const KEPT: usize = 80;
/// A value as long as a book is not repeated whole.
const LONGEST: usize = 400;

impl fmt::Display for Problem {
    /// `site.toml:14:11  circuit "A4": breaker "20" has no unit; write "20 A"`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let (Some(line), Some(column)) = (self.line, self.column) {
            write!(f, ":{line}:{column}")?;
        }
        f.write_str("  ")?;
        if !self.element.is_empty() {
            write!(f, "{}: ", self.element)?;
        }
        f.write_str(&self.what)?;
        match &self.hint {
            Some(hint) => write!(f, "; {hint}"),
            None => Ok(()),
        }
    }
}

impl Problem {
    /// The line of [`Problem`]'s `Display`, and below it the line of the text with the place underlined.
    pub fn long(&self) -> String {
        let Some(line) = self.line else {
            return self.to_string();
        };
        let number = line.to_string();
        let margin = " ".repeat(number.len());
        // tabs stay tabs, so that the mark stands under its text whatever their width
        let before: String = self
            .source
            .chars()
            .take(self.indent)
            .map(|it| if it == '\t' { '\t' } else { ' ' })
            .collect();
        let mark = "^".repeat(self.width.max(1));
        format!(
            "{self}\n  {number} | {}\n  {margin} | {before}{mark}",
            self.source
        )
    }
}

/// Everything that is wrong with a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(transparent)]
pub struct Problems(Vec<Problem>);

impl Problems {
    /// Each of them, in the order of the text.
    pub fn iter(&self) -> std::slice::Iter<'_, Problem> {
        self.0.iter()
    }

    /// How many there are; never none.
    pub fn count(&self) -> usize {
        self.0.len()
    }

    /// All of them with the lines they are about.
    pub fn long(&self) -> String {
        let each: Vec<String> = self.iter().map(Problem::long).collect();
        each.join("\n")
    }
}

impl<'a> IntoIterator for &'a Problems {
    type Item = &'a Problem;
    type IntoIter = std::slice::Iter<'a, Problem>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (n, problem) in self.iter().enumerate() {
            if n > 0 {
                f.write_str("\n")?;
            }
            problem.fmt(f)?;
        }
        Ok(())
    }
}

impl std::error::Error for Problems {}

/// Problems while they are being found, in any order.
pub(crate) struct Log<'t> {
    file: String,
    /// None for a document without a text.
    text: Option<&'t str>,
    /// Where each line of the text starts.
    starts: Vec<usize>,
    found: Vec<(Range<usize>, Problem)>,
}

impl<'t> Log<'t> {
    /// For a text.
    pub fn of(file: &str, text: &'t str) -> Log<'t> {
        let after = |(at, byte): (usize, u8)| (byte == b'\n').then_some(at + 1);
        Log {
            file: file.to_owned(),
            text: Some(text),
            starts: std::iter::once(0)
                .chain(text.bytes().enumerate().filter_map(after))
                .collect(),
            found: Vec::new(),
        }
    }

    /// For a document in memory, which has no lines.
    pub fn without_text(name: &str) -> Log<'static> {
        Log {
            file: name.to_owned(),
            text: None,
            starts: Vec::new(),
            found: Vec::new(),
        }
    }

    /// Notes a problem.
    pub fn add(&mut self, span: Range<usize>, element: &str, what: String, hint: Option<String>) {
        let problem = self.problem(&span, element, what, hint);
        self.found.push((span, problem));
    }

    /// The line on which a place stands, counted from 1.
    pub fn line_of(&self, span: &Range<usize>) -> Option<usize> {
        self.text?;
        Some(self.starts.partition_point(|start| *start <= span.start))
    }

    /// Whether nothing was found so far.
    pub fn is_clean(&self) -> bool {
        self.found.is_empty()
    }

    /// What was found, in the order of the text.
    pub fn close(mut self) -> Problems {
        if self.found.is_empty() {
            // not reached as long as every refusal is logged; without it an error could be empty
            let what = "this could not be put together, and we do not know why".to_owned();
            self.add(0..0, "", what, None);
        }
        self.found.sort_by_key(|(span, _)| span.start);
        self.found.dedup_by(|a, b| a == b);
        Problems(self.found.into_iter().map(|(_, it)| it).collect())
    }

    fn problem(
        &self,
        span: &Range<usize>,
        element: &str,
        what: String,
        hint: Option<String>,
    ) -> Problem {
        let mut problem = Problem {
            file: self.file.clone(),
            line: None,
            column: None,
            element: shortened(element.to_owned()),
            what: shortened(what),
            hint: hint.map(shortened),
            source: String::new(),
            indent: 0,
            width: 0,
        };
        let Some(text) = self.text else {
            return problem;
        };
        let at = boundary(text, span.start);
        let line = self.starts.partition_point(|start| *start <= at).max(1) - 1;
        let start = self.starts.get(line).copied().unwrap_or(0);
        let source = text[start..].lines().next().unwrap_or("");
        let end = boundary(text, span.end).clamp(at, (start + source.len()).max(at));
        let column = text[start..at].chars().count();
        problem.line = Some(line + 1);
        problem.column = Some(column + 1);
        problem.width = text[at..end].chars().take(KEPT).count();
        problem.indent = column.min(KEPT);
        let kept = source.chars().skip(column - problem.indent);
        problem.source = kept.take(problem.indent + KEPT).collect();
        problem
    }
}

fn shortened(text: String) -> String {
    match text.char_indices().nth(LONGEST) {
        None => text,
        Some((at, _)) => format!("{}...", &text[..at]),
    }
}

/// The character boundary at or before an offset.
fn boundary(text: &str, offset: usize) -> usize {
    let mut at = offset.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}
