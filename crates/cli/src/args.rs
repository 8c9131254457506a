//! The command line: verbs and their options, with the help that belongs to them.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

/// Readings become decisions: is it dangerous, whose is it, what is wrong, what to check next.
#[derive(Parser, Debug)]
#[command(name = "wattwright", version, about, long_about = LONG, after_long_help = AFTER, disable_help_subcommand = false)]
pub struct Line {
    /// What to do; without it the demo runs, and on a terminal the workbench opens behind it.
    #[command(subcommand)]
    pub verb: Option<Verb>,
    /// Options that every verb takes.
    #[command(flatten)]
    pub common: Common,
}

const LONG: &str = "Readings become decisions.\n\n\
    Type what a meter, a lamp tester or your eyes told you about an outlet, and get, in this order: is it dangerous and \
    may it stay in use, whose it is, what is wrong and how sure, the caution, what to check next and why, and the evidence.";

const AFTER: &str = "\
Try first:
  wattwright trace \"hot-neutral 0 V, hot-ground 120 V, neutral-ground 120 V\"
  wattwright trace --led \"desk: hot-neutral 118.2 V, neutral-ground 4.1 V, with load\"
  wattwright help reread      how to write a line of readings
  wattwright open             the workbench in the browser

Exit codes:
  0  good, or nothing worse than advice
  1  a defect or a danger was found, or something has to go out of use until it is settled
  2  the input cannot be used (all problems are listed), or the output cannot be written

Cautions:
  Prove the meter on a known live source before and after, with leads rated for the place. Panels, boxes and fixed wiring
  are a licensed electrician's. This advice does not replace local codes and licensed practice.";

/// Options that every verb takes.
#[derive(Args, Clone, Debug)]
pub struct Common {
    /// Write JSON instead of pages (see `wattwright schema`).
    #[arg(long, global = true)]
    pub json: bool,
    /// Columns of a page; otherwise those of the terminal.
    #[arg(long, global = true, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=1000))]
    pub width: Option<u16>,
    /// Colour the pages. `auto`: on a terminal only, and never where NO_COLOR is set.
    #[arg(long, global = true, value_name = "WHEN", value_enum, default_value_t = Colour::Auto)]
    pub colour: Colour,
}

/// When to colour.
#[derive(ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// The verbs.
#[derive(Subcommand, Debug)]
pub enum Verb {
    /// Look for problems in site and visit files: all of them at once, with line, column and hint.
    Proofread(Proofread),
    /// Verdicts on every reading and outlet of a visit, with limits and their sources.
    Judge(Judge),
    /// Find causes, the decision and the next check, from files or from one line of readings.
    Trace(Trace),
    /// What a meter or a lamp tester would show at a place, under a cause.
    Expect(Expect),
    /// Read a line of readings back: how it was understood, without a trace.
    #[command(long_about = LINE_HELP)]
    Reread(Reread),
    /// What a machine draws from its supply: per rail and moment, with its doubt.
    #[command(after_help = site::parts_line::HELP)]
    Demand(Demand),
    /// Whether a supply will do for a machine: every rail and moment, connectors, inlet, what gives way first.
    #[command(after_help = SUPPLY_HELP)]
    Supply(Supply),
    /// Fit a supply: steps in their order, each with what to read where, its limit and what it means if it is not so.
    Bench(Bench),
    /// Pins of the connectors of a desktop supply: signal, colour, limit, rating, with a drawing.
    Pins(Pins),
    /// Judge one reading at a pin against its limit.
    #[command(long_about = PIN_HELP)]
    Pin(Pin),
    /// The parts of a machine, from what its operating system reports: `lshw -json`, or SMBIOS text of `dmidecode`.
    Parts(Parts),
    /// JSON Schema of the documents that go in and come out.
    Schema(Schema),
    /// Open the workbench: pages in the browser, for the laptop and for the phone in the hand.
    Open(Open),
    /// The job on an invented site, and what to type next.
    Demo,
    /// Completions for a shell.
    Completions(Completions),
    /// The manual page, for `man -l -`.
    Man,
}

/// How to write a line of readings; help of `reread`.
pub const LINE_HELP: &str = "\
Read a line of readings back: how it was understood, without a trace. `wattwright trace` takes the same line.

A line is a list of things told, with commas between them:
  hot-neutral 0 V, hot-ground 120 V, neutral-ground 120 V
Several places stand one after the other with semicolons between them, each with its name and a colon:
  desk: H-N 118.2 V, N-G 1.3 V; hall: H-N 119.0 V

Readings: two contacts and a value with its unit.
  contacts    hot, live, line, phase, L, H; neutral, N; ground, earth, G, E, PE.
              hot-neutral, hot to neutral, H-N, HN are the same pair.
  values      118.2 V; 120 V (a round word is taken as one); about 60 V; 60..90 V; under 5 V; 0 V
  two places  desk ground to hall ground 60 V; desk ground to water pipe 40 V
  panel       panel: A-N 128 V, B-N 112 V, A-B 240 V   (an electrician's reading)
  others      frequency 59.8 Hz; current in neutral 3.1 A; neutral to ground 0.4 ohm, power off
Lamps of a plug-in tester: what each of the three shows, lit, dim or dark.
  lamps HN lit, HG dark, NG lit     or     lamps HN lit, others dark
Detector held at a contact:
  detector signals at neutral, detector quiet at ground
Remarks: buzzing, warm plate, smell of burning, lights flicker, lights dim, some lights brighten, breaker tripped,
  breaker on, ground-fault device tripped, arc-fault device tripped, dead, works, tingle, shock, loose plug, wet,
  several machines burnt, after storm, after works, switch matters, old wiring
How far it reaches: this slot only, this outlet only, this circuit, one leg, one floor, whole house, the street too
Conditions: written right behind a value they hold for that reading, between commas for all readings of the place.
  with load, loads off, everything unplugged, test load 1000 W, wall switch off, wall switch on, breaker off, low impedance
Meter: meter cheap, meter mid, meter good; accuracy 0.8 % + 3; input 10 MΩ

What is not understood is listed with its column; nothing is dropped.";

/// How to write a reading at a pin; help of `pin`.
pub const PIN_HELP: &str = "\
Judge one reading at a pin of a desktop supply, against COM, with the meter's own doubt.

  wattwright pin \"24-pin pin 9 4.98 V, meter cheap, standby\"
  wattwright pin \"24-pin PS_ON# 0.1 V, machine on\"
  wattwright pin \"peripheral yellow 11.35 V, meter mid, under load, atx 2.4\"

Connector: as `wattwright pins` lists them, or as people say it: 24-pin, 20-pin, eps, pcie 8-pin, 12v-2x6, sata, peripheral.
Pin: its number (pin 9), its signal (PS_ON#, PWR_OK, 5vsb) or the colour of its wire (purple).
Machine: machine on, under load, standby, unplugged. Not told: a rail at 0 V is then undecided.
Meter: meter cheap, meter mid, meter good; accuracy 0.8 % + 3. Not told: the widest of ordinary ones.
Guide: atx 2.4, atx 3.0, 12vo. Not told: what only one guide allows is then undecided.";

/// Region and skill.
#[derive(Args, Clone, Debug)]
pub struct Setting {
    /// Region profile: voltages, limits, words. Where a site file is given, the file's region holds.
    #[arg(
        long,
        value_name = "REGION",
        env = "WATTWRIGHT_REGION",
        default_value = "north-america"
    )]
    pub region: String,
    /// What you may do; no check above it is proposed.
    #[arg(long, value_name = "SKILL", value_enum)]
    pub skill: Option<SkillWord>,
}

/// What a person may do.
#[derive(ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum SkillWord {
    /// Looks, listens, uses plug-in indicators.
    Anyone,
    /// Trained to put rated probes into an outlet's face.
    Technician,
    /// Licensed to work on fixed wiring.
    Electrician,
}

/// Arguments of `proofread`.
#[derive(Args, Debug)]
pub struct Proofread {
    /// Site and visit files, TOML or JSON; `-` is standard input.
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
}

/// Arguments of `judge`.
#[derive(Args, Debug)]
pub struct Judge {
    /// Site file.
    #[arg(value_name = "SITE")]
    pub site: PathBuf,
    /// Visit file.
    #[arg(value_name = "VISIT")]
    pub visit: PathBuf,
}

/// Arguments of `trace`.
#[derive(Args, Debug)]
pub struct Trace {
    /// A line of readings (see `wattwright help reread`), or a site file and a visit file.
    #[arg(value_name = "LINE | SITE VISIT", num_args = 0..=2)]
    pub what: Vec<String>,
    /// Be led: give results and get the next check, until none could change what has to be done.
    #[arg(long, conflicts_with = "lines")]
    pub led: bool,
    /// Keep what is told while led in this visit file; given again, the trace goes on where it was.
    #[arg(long, value_name = "FILE", requires = "led")]
    pub keep: Option<PathBuf>,
    /// Read JSON Lines of {"site", "visit"} from standard input and answer each with one line, in order.
    #[arg(long)]
    pub lines: bool,
    /// Number that the sampling starts from; the same number gives the same answer.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
    /// Region and skill.
    #[command(flatten)]
    pub setting: Setting,
}

/// Arguments of `expect`.
#[derive(Args, Debug)]
pub struct Expect {
    /// Site file; without it a site is assumed around the places named.
    #[arg(long, value_name = "SITE")]
    pub site: Option<PathBuf>,
    /// What is wrong: fault identifier and element, as `open-neutral-run@run:desk`, with a severity as
    /// `poor-neutral-run@run:desk=2.5 ohm`; two at most. Without it everything is sound. `wattwright schema faults` lists
    /// the identifiers.
    #[arg(long, value_name = "FAULT[@ELEMENT][=SEVERITY]")]
    pub cause: Vec<String>,
    /// What is looked at: a line of readings without values, as `desk: hot-neutral with load, lamps; hall`. A place alone
    /// asks for all three pairs and the lamps.
    #[arg(value_name = "PLACES")]
    pub places: Option<String>,
    /// Number that the sampling starts from.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
    /// Region and skill.
    #[command(flatten)]
    pub setting: Setting,
}

/// Where a supply is judged and how candidates are written; help of `supply`.
const SUPPLY_HELP: &str = "\
A list of candidates is a file like this; what is not told is not judged, and said:
  format = 1
  [[supply]]
  id = \"a\"
  rating = \"450 W\"
  rails = [{ rail = \"+12 V\", max = \"36 A\" }, { rail = \"+5 V\", max = \"15 A\" }, { rail = \"+5 VSB\", max = \"2.5 A\" }]
  combined = [{ rails = [\"+5 V\", \"+3.3 V\"], max = \"100 W\" }]
  form = \"ATX\"
  input = { from = \"100 V\", to = \"240 V\" }     # or selector = \"115 V\"
  connectors = [{ connector = \"main-24\" }, { connector = \"sata-power\", count = 4 }]
  mark = \"gold\"
All keys stand in `wattwright schema site`, under Supply.";

/// Arguments of `demand`.
#[derive(Args, Debug)]
pub struct Demand {
    /// A machine described on one line, or a site file and a machine of it.
    #[arg(value_name = "LINE | SITE MACHINE", required = true, num_args = 1..=2)]
    pub what: Vec<String>,
}

/// Arguments of `supply`.
#[derive(Args, Debug)]
pub struct Supply {
    /// A machine described on one line, or a site file and a machine of it.
    #[arg(value_name = "LINE | SITE MACHINE", required = true, num_args = 1..=2)]
    pub what: Vec<String>,
    /// File of candidates to choose from; without it the supply in the machine is judged.
    #[arg(long, value_name = "FILE")]
    pub among: Option<PathBuf>,
    /// Show this candidate whole, instead of the best one.
    #[arg(long, value_name = "ID", requires = "among")]
    pub show: Option<String>,
    /// Years in use after which a candidate still has to do.
    #[arg(long, value_name = "YEARS", default_value_t = 5, value_parser = clap::value_parser!(u8).range(0..=30))]
    pub years: u8,
    /// Price of a kilowatt-hour, in any money; without it no cost is told.
    #[arg(long, value_name = "PRICE")]
    pub price: Option<f64>,
    /// Region of a machine that stands in no site.
    #[arg(
        long,
        value_name = "REGION",
        env = "WATTWRIGHT_REGION",
        default_value = "north-america"
    )]
    pub region: String,
}

/// Arguments of `reread`.
#[derive(Args, Debug)]
pub struct Reread {
    /// The line of readings.
    #[arg(value_name = "LINE")]
    pub line: String,
    /// Region and skill.
    #[command(flatten)]
    pub setting: Setting,
}

/// Arguments of `bench`.
#[derive(Args, Debug)]
pub struct Bench {
    /// A machine described on one line (see `wattwright help demand`), or a site file and a machine of it.
    #[arg(value_name = "LINE | SITE MACHINE", required = true, num_args = 1..=2)]
    pub what: Vec<String>,
}

/// Arguments of `pins`.
#[derive(Args, Debug)]
pub struct Pins {
    /// Which connector, as 24-pin or main-24; without it all of them are listed.
    #[arg(value_name = "CONNECTOR")]
    pub connector: Option<String>,
}

/// Arguments of `pin`.
#[derive(Args, Debug)]
pub struct Pin {
    /// The reading: connector, pin, value, and what else is known.
    #[arg(value_name = "READING")]
    pub reading: String,
}

/// Arguments of `parts`.
#[derive(Args, Debug)]
pub struct Parts {
    /// The report, JSON as `lshw -json` writes it or text as `dmidecode` prints it; `-` is standard input.
    #[arg(value_name = "REPORT")]
    pub report: PathBuf,
    /// What people call the machine, for the table that is printed.
    #[arg(long, value_name = "ID")]
    pub id: Option<String>,
    /// The outlet, cord or UPS that it is plugged into, for the table that is printed.
    #[arg(long, value_name = "ID")]
    pub at: Option<String>,
}

/// Arguments of `schema`.
#[derive(Args, Debug)]
pub struct Schema {
    /// Which document; without it all of them in one object.
    #[arg(value_enum, value_name = "DOCUMENT")]
    pub document: Option<Document>,
}

/// A document with a schema.
#[derive(ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Document {
    /// A site file.
    Site,
    /// A visit file.
    Visit,
    /// What `trace --json` writes.
    Answer,
    /// Every fault kind with its identifier.
    Faults,
}

/// Arguments of `open`.
#[derive(Args, Debug, Default)]
pub struct Open {
    /// File that everything is kept in; without it one in your folder for data. A new one begins with an invented site.
    #[arg(long, value_name = "FILE")]
    pub data: Option<PathBuf>,
    /// Port on this machine; without it the usual one, or any free one where that is in use.
    #[arg(long, value_name = "PORT")]
    pub port: Option<u16>,
    /// Print the address and open no browser.
    #[arg(long)]
    pub no_browser: bool,
    /// Let paired phones in the local network in, over TLS; prints a code for the first one, on a terminal only.
    #[arg(long)]
    pub lan: bool,
}

/// Arguments of `completions`.
#[derive(Args, Debug)]
pub struct Completions {
    /// The shell.
    #[arg(value_enum, value_name = "SHELL")]
    pub shell: clap_complete::Shell,
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_consistent() {
        super::Line::command().debug_assert();
    }
}
