//! A page of text for a terminal: wrapped to its width, coloured only where that is wanted.
//!
//! Everything is written into a `String` first, so that a page is one write and can be tested as it stands.

use anstyle::{AnsiColor, Style};
use textwrap::core::display_width;

/// Narrower than this nothing is wrapped; the terminal has to break the line itself.
pub const NARROWEST: usize = 40;
/// Wider than this a line is hard to read.
pub const WIDEST: usize = 100;
/// Where nothing is known of the terminal.
pub const USUAL: usize = 80;

/// Whether to colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colours {
    /// With escape sequences.
    On,
    /// Plain text.
    Off,
}

/// What a piece of text is, as far as its looks are concerned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Looks {
    /// Nothing special.
    Plain,
    /// A heading.
    Heading,
    /// Something that is all right.
    Good,
    /// Something to look at.
    Doubt,
    /// Something wrong.
    Bad,
    /// Something that hurts.
    Danger,
    /// Less important.
    Faint,
}

impl Looks {
    fn style(self) -> Style {
        let plain = Style::new();
        match self {
            Looks::Plain => plain,
            Looks::Heading => plain.bold(),
            Looks::Good => plain.fg_color(Some(AnsiColor::Green.into())),
            Looks::Doubt => plain.fg_color(Some(AnsiColor::Cyan.into())),
            Looks::Bad => plain.bold().fg_color(Some(AnsiColor::Yellow.into())),
            Looks::Danger => plain.bold().fg_color(Some(AnsiColor::Red.into())),
            Looks::Faint => plain.dimmed(),
        }
    }
}

/// How pages are to look on this run.
#[derive(Clone, Copy, Debug)]
pub struct Format {
    /// Columns.
    pub width: usize,
    /// Whether to colour.
    pub colours: Colours,
}

impl Format {
    /// Without colour, of a width.
    #[cfg(test)]
    pub fn plain(width: usize) -> Self {
        Format {
            width,
            colours: Colours::Off,
        }
    }
}

/// A page being written.
#[derive(Clone, Debug)]
pub struct Screen {
    format: Format,
    text: String,
}

impl Screen {
    /// An empty page.
    pub fn new(format: Format) -> Self {
        Screen {
            format: Format {
                width: format.width.max(NARROWEST),
                ..format
            },
            text: String::new(),
        }
    }

    /// The page.
    pub fn finish(self) -> String {
        self.text
    }

    /// An empty line.
    pub fn blank(&mut self) {
        self.text.push('\n');
    }

    /// A heading with an empty line before it.
    pub fn heading(&mut self, text: &str) {
        if !self.text.is_empty() {
            self.blank();
        }
        self.hanging("", Looks::Heading, text, Looks::Heading);
    }

    /// A paragraph, indented.
    pub fn paragraph(&mut self, indent: usize, text: &str) {
        self.hanging(&" ".repeat(indent), Looks::Plain, text, Looks::Plain);
    }

    /// A label and behind it a text whose further lines hang below its first.
    pub fn hanging(&mut self, label: &str, label_looks: Looks, text: &str, looks: Looks) {
        self.hanging_by(display_width(label), label, label_looks, text, looks);
    }

    /// The same, further lines indented by `indent`.
    pub fn hanging_by(
        &mut self,
        indent: usize,
        label: &str,
        label_looks: Looks,
        text: &str,
        looks: Looks,
    ) {
        let label = harmless(label);
        for (n, paragraph) in harmless(text).lines().enumerate() {
            let first = if n == 0 {
                label.clone()
            } else {
                " ".repeat(indent)
            };
            let lines = wrap(paragraph, self.format.width, display_width(&first), indent);
            for (m, line) in lines.iter().enumerate() {
                if m == 0 {
                    self.piece(&first, if n == 0 { label_looks } else { Looks::Plain });
                } else {
                    self.text.push_str(&" ".repeat(indent));
                }
                self.piece(line, looks);
                self.text.truncate(self.text.trim_end_matches(' ').len());
                self.text.push('\n');
            }
        }
    }

    /// A line that is not to be broken: a command to type, a line of a file.
    pub fn verbatim(&mut self, line: &str) {
        self.text.push_str(&harmless(line));
        self.text.push('\n');
    }

    /// Rows of cells under a head, columns as wide as they need to be as long as the page allows it.
    /// Where the page is too narrow for three words a column, each row becomes a small list.
    pub fn table(&mut self, indent: usize, head: &[&str], rows: &[Vec<String>]) {
        let Some(widths) = widths(self.format.width.saturating_sub(indent), head, rows) else {
            for row in rows {
                for (n, (name, cell)) in head.iter().zip(row).enumerate() {
                    if n == 0 {
                        self.paragraph(indent, cell);
                    } else {
                        let label = format!("{}{name}: ", " ".repeat(indent + 2));
                        self.hanging_by(indent + 4, &label, Looks::Faint, cell, Looks::Plain);
                    }
                }
            }
            return;
        };
        let head: Vec<String> = head.iter().map(ToString::to_string).collect();
        self.row(indent, &widths, &head, Looks::Faint);
        for row in rows {
            self.row(indent, &widths, row, Looks::Plain);
        }
    }

    fn row(&mut self, indent: usize, widths: &[usize], cells: &[String], looks: Looks) {
        let columns: Vec<Vec<String>> = cells
            .iter()
            .zip(widths)
            .map(|(cell, width)| wrap(&harmless(cell), *width, 0, 0))
            .collect();
        let height = columns.iter().map(Vec::len).max().unwrap_or(0);
        for line in 0..height {
            let mut text = " ".repeat(indent);
            for (column, width) in columns.iter().zip(widths) {
                let cell = column.get(line).map_or("", String::as_str);
                text.push_str(cell);
                text.push_str(&" ".repeat((width + 2).saturating_sub(display_width(cell))));
            }
            self.piece(text.trim_end(), looks);
            self.text.push('\n');
        }
    }

    fn piece(&mut self, text: &str, looks: Looks) {
        if text.is_empty() || self.format.colours == Colours::Off || looks == Looks::Plain {
            self.text.push_str(text);
            return;
        }
        let style = looks.style();
        self.text.push_str(&format!("{style}{text}{style:#}"));
    }
}

/// Lines of `text`; the first has `first` columns taken already, the others `rest`.
fn wrap(text: &str, width: usize, first: usize, rest: usize) -> Vec<String> {
    let (lead, hang) = (
        " ".repeat(first.min(width - 1)),
        " ".repeat(rest.min(width - 1)),
    );
    let options = textwrap::Options::new(width)
        .initial_indent(&lead)
        .subsequent_indent(&hang)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .wrap_algorithm(textwrap::WrapAlgorithm::FirstFit);
    let bound = with_units_bound(text);
    let lines = textwrap::wrap(&bound, options);
    let strip = |(n, line): (usize, &std::borrow::Cow<'_, str>)| {
        let from = if n == 0 { lead.len() } else { hang.len() };
        line.get(from..).unwrap_or("").replace(BOUND, " ")
    };
    lines.iter().enumerate().map(strip).collect()
}

/// A blank that no line ends at.
const BOUND: char = '\u{a0}';

/// Numbers tied to the units behind them: `118.2 V` is never torn apart.
fn with_units_bound(text: &str) -> String {
    const UNITS: [&str; 13] = [
        "V", "A", "W", "Hz", "%", "Ω", "kΩ", "MΩ", "mA", "m", "kW", "ohm", ":",
    ];
    let mut bound = String::with_capacity(text.len());
    let mut words = text.split(' ').peekable();
    while let Some(word) = words.next() {
        bound.push_str(word);
        let Some(next) = words.peek() else { break };
        let unit = next.trim_end_matches([',', ';', '.', ')', ':']);
        let unit = if unit.is_empty() { next } else { unit };
        let tied = word.ends_with(|c: char| c.is_ascii_digit()) && UNITS.contains(&unit);
        let odds = word == ":" && next.starts_with(|c: char| c.is_ascii_digit());
        bound.push(if tied || odds { BOUND } else { ' ' });
    }
    bound
}

/// Column widths that fit, or none where the page is too narrow.
fn widths(page: usize, head: &[&str], rows: &[Vec<String>]) -> Option<Vec<usize>> {
    const LEAST: usize = 14;
    let longest = |n: usize| {
        let cells = rows
            .iter()
            .filter_map(|row| row.get(n))
            .map(|cell| display_width(&harmless(cell)));
        cells.chain([display_width(head[n])]).max().unwrap_or(0)
    };
    let mut widths: Vec<usize> = (0..head.len()).map(longest).collect();
    let room = page.checked_sub(2 * head.len().saturating_sub(1))?;
    while widths.iter().sum::<usize>() > room {
        let widest = widths.iter_mut().max()?;
        if *widest <= LEAST {
            return None;
        }
        *widest -= 1;
    }
    Some(widths)
}

/// Text from files without what would move the cursor or change colours.
fn harmless(text: &str) -> String {
    let shown = |c: char| {
        if c == '\t' {
            ' '
        } else if c.is_control() && c != '\n' {
            '\u{fffd}'
        } else {
            c
        }
    };
    text.chars().map(shown).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_text_hangs_below_its_first_line() {
        let mut screen = Screen::new(Format::plain(40));
        screen.hanging(
            "  12 %  ",
            Looks::Plain,
            "the neutral is broken between the panel and the desk",
            Looks::Plain,
        );
        assert_eq!(
            screen.finish(),
            "  12 %  the neutral is broken between\n        the panel and the desk\n"
        );
    }

    #[test]
    fn a_table_becomes_a_list_where_there_is_no_room() {
        let rows = [vec![
            "front-desk, hot to neutral: 0 V".to_owned(),
            "0 V to 3 V".to_owned(),
            "for it, 120 : 1".to_owned(),
        ]];
        let mut wide = Screen::new(Format::plain(80));
        wide.table(2, &["read", "expected", "speaks"], &rows);
        assert_eq!(
            wide.finish(),
            "  read                             expected    speaks\n  front-desk, hot to neutral: 0 V  0 V to 3 V  for it, 120 : 1\n"
        );
        let mut narrow = Screen::new(Format::plain(40));
        narrow.table(2, &["read", "expected", "speaks"], &rows);
        assert_eq!(
            narrow.finish(),
            "  front-desk, hot to neutral: 0 V\n    expected: 0 V to 3 V\n    speaks: for it, 120 : 1\n"
        );
    }

    #[test]
    fn a_number_keeps_its_unit() {
        let mut screen = Screen::new(Format::plain(40));
        screen.paragraph(
            0,
            "the meter showed between hot and gr 118.2 V, odds 20 : 1",
        );
        assert_eq!(
            screen.finish(),
            "the meter showed between hot and gr\n118.2 V, odds 20 : 1\n"
        );
    }

    #[test]
    fn a_name_out_of_a_file_cannot_steer_the_terminal() {
        let mut screen = Screen::new(Format {
            width: 80,
            colours: Colours::On,
        });
        screen.paragraph(0, "desk\u{1b}[31m\u{7}");
        assert_eq!(screen.finish(), "desk\u{fffd}[31m\u{fffd}\n");
    }
}
