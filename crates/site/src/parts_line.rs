//! A machine described on one line: `processor 65 W, 2 disks 3.5, 4 memory DDR4, graphics 120 W`.
//!
//! Items stand between commas or semicolons, each with a number of them before or behind (`2 disks`, `memory x 4`), a
//! kind, and what is known: a power with its unit, `peak 90 W`, `spin-up 1.8 A`. Of the machine: `on 9 h`, `air 40 °C`,
//! `stagger 2 s`, `case SFX`. What is not understood is listed with its column; nothing is dropped.

use metrology::{Amps, Celsius, QuantityError, Seconds, Watts};

use crate::file::Problems;
use crate::file::near::{fold, listed, nearest};
use crate::file::problem::Log;
use crate::machine::{Build, Generation, Part, PartKind};
use crate::supply::FormFactor;

/// How a line is written, for help.
pub const HELP: &str = "\
A line is a list of parts with commas between them:
  processor 65 W, 2 disks 3.5, 4 memory DDR4, graphics 120 W, solid-state
How many: a number before the part, or behind an x (memory x 4).
Parts:
  processor 65 W        base power; peak 90 W where its sheet gives one
  board                 counted where a processor is and no board is told
  4 memory DDR4         modules; DDR, DDR2, DDR3, DDR4, DDR5
  2 disks 3.5           drives with disks; 2 disks 2.5; spin-up 1.8 A; disk where nobody knows the size
  solid-state           with a cable; solid-state slot in a slot of the board
  graphics 120 W        board power; peak 200 W
  optical, card, 3 fans, pump, usb
Any part takes the power of its sheet (card 15 W).
The machine: on 9 h (in a day), air 40 °C (drawn in by the supply), stagger 2 s (drives one after the other), case SFX";

/// Words for kinds of parts, as people write them.
const KINDS: [(&str, PartKind); 34] = [
    ("processor", PartKind::Processor),
    ("processors", PartKind::Processor),
    ("cpu", PartKind::Processor),
    ("cpus", PartKind::Processor),
    ("board", PartKind::Board),
    ("mainboard", PartKind::Board),
    ("motherboard", PartKind::Board),
    ("memory", PartKind::Memory),
    ("module", PartKind::Memory),
    ("modules", PartKind::Memory),
    ("dimm", PartKind::Memory),
    ("dimms", PartKind::Memory),
    ("disk", PartKind::Disk),
    ("disks", PartKind::Disk),
    ("hdd", PartKind::Disk),
    ("hdds", PartKind::Disk),
    ("solidstate", PartKind::SolidState),
    ("ssd", PartKind::SolidState),
    ("ssds", PartKind::SolidState),
    ("nvme", PartKind::SolidStateSlot),
    ("m.2", PartKind::SolidStateSlot),
    ("optical", PartKind::Optical),
    ("dvd", PartKind::Optical),
    ("graphics", PartKind::Graphics),
    ("gpu", PartKind::Graphics),
    ("gpus", PartKind::Graphics),
    ("card", PartKind::Card),
    ("cards", PartKind::Card),
    ("fan", PartKind::Fan),
    ("fans", PartKind::Fan),
    ("pump", PartKind::Pump),
    ("pumps", PartKind::Pump),
    ("usb", PartKind::Usb),
    ("drive", PartKind::Disk),
];

/// Words that say no more than the kind before or behind them: `solid-state drive`, `memory module`, `3.5 inch`.
const EMPTY: [&str; 12] = [
    "drive", "drives", "module", "modules", "card", "cards", "inch", "in", "a", "with", "and",
    "port",
];

/// A word of the line with its place.
#[derive(Clone, Copy)]
struct Word<'t> {
    text: &'t str,
    at: usize,
}

impl Word<'_> {
    fn span(&self) -> std::ops::Range<usize> {
        self.at..self.at + self.text.len()
    }
}

/// Reads a line.
///
/// # Errors
/// Everything that is not understood, at once, with its column.
pub fn build(line: &str) -> Result<Build, Problems> {
    let mut log = Log::of("line", line);
    let mut build = Build::default();
    let mut start = 0;
    for item in line.split([',', ';', '\n']) {
        let words = words(item, start);
        start += item.len() + 1;
        if let Some(first) = words.first() {
            read(*first, &words, &mut build, &mut log);
        }
    }
    if build.parts.is_empty() && log.is_clean() {
        let hint = "write parts with commas between them, as \"processor 65 W, 2 disks 3.5\"";
        log.add(
            0..0,
            "",
            "the line names no part".to_owned(),
            Some(hint.to_owned()),
        );
    }
    match log.is_clean() {
        true => Ok(build),
        false => Err(log.close()),
    }
}

/// The words of an item. A unit is tied to its number, `65W` is parted, and so is `2x`.
fn words(item: &str, start: usize) -> Vec<Word<'_>> {
    let mut all = Vec::new();
    let mut at = 0;
    for text in item.split(char::is_whitespace) {
        if !text.is_empty() {
            all.push(Word {
                text,
                at: start + at,
            });
        }
        at += text.len();
        // what parts words is one sign of one or more bytes
        at += item[at..].chars().next().map_or(0, char::len_utf8);
    }
    all
}

fn read(first: Word, words: &[Word], build: &mut Build, log: &mut Log) {
    let rest = words.get(1..).unwrap_or_default();
    match first.text.to_lowercase().as_str() {
        "on" => build.on = value::<Seconds>(first, rest, log, "9 h", |it| it.si() <= 86_400.0),
        "air" => build.air = value::<Celsius>(first, rest, log, "40 °C", |it| it.si() < 100.0),
        "stagger" => {
            build.stagger = value::<Seconds>(first, rest, log, "2 s", |it| it.si() < 120.0)
        }
        "case" => {
            let word: String = rest.iter().map(|it| it.text).collect();
            let known = FormFactor::NAMES.iter();
            let found = known.clone().find(|(it, _)| fold(it) == fold(&word));
            build.takes = found.map(|(_, it)| *it);
            if found.is_none() {
                let what = format!("case \"{word}\" is not known");
                let hint = format!("write {}", listed(known.map(|(it, _)| *it)));
                log.add(first.span(), "", what, Some(hint));
            }
        }
        _ => build.parts.extend(part(words, log)),
    }
}

/// A quantity that is all of what stands behind a word.
fn value<Q: std::str::FromStr<Err = QuantityError> + Copy>(
    word: Word,
    rest: &[Word],
    log: &mut Log,
    example: &str,
    holds: impl Fn(Q) -> bool,
) -> Option<Q> {
    let text: Vec<&str> = rest.iter().map(|it| it.text).collect();
    let what = match text.join(" ").parse::<Q>() {
        Ok(it) if holds(it) => return Some(it),
        Ok(_) => format!("{} {} cannot be", word.text, text.join(" ")),
        Err(error) => format!("{}: {}", word.text, error.what),
    };
    let span = word.at..rest.last().map_or(word.span().end, |it| it.span().end);
    let hint = format!("write \"{} {example}\"", word.text);
    log.add(span, "", what, Some(hint));
    None
}

/// What was said of a part so far.
#[derive(Default)]
struct Said {
    kind: Option<PartKind>,
    count: Option<u32>,
    size: Option<PartKind>,
    in_slot: bool,
    generation: Option<Generation>,
    power: Option<Watts>,
    peak: Option<Watts>,
    spin_up: Option<Amps>,
}

fn part(words: &[Word], log: &mut Log) -> Option<Part> {
    let mut said = Said::default();
    let mut ix = 0;
    let mut sound = true;
    while let Some(word) = words.get(ix) {
        let taken = take(&mut said, &words[ix..]);
        if taken == 0 {
            sound = false;
            log.add(
                word.span(),
                "",
                format!("\"{}\" is not understood", word.text),
                Some(hint(word.text)),
            );
        }
        ix += taken.max(1);
    }
    let whole = words.first()?.at..words.last()?.span().end;
    let Some(mut kind) = said.kind else {
        if sound {
            let what = "which part is meant is not said".to_owned();
            let hint = "write its kind, as \"disk 3.5\"".to_owned();
            log.add(whole, "", what, Some(hint));
        }
        return None;
    };
    kind = match (kind, said.size, said.in_slot) {
        (PartKind::Disk, Some(size), _) => size,
        (PartKind::SolidState, _, true) => PartKind::SolidStateSlot,
        (it, ..) => it,
    };
    let misplaced = [
        (
            said.generation.is_some() && kind != PartKind::Memory,
            "a generation belongs to memory",
        ),
        (
            said.spin_up.is_some() && !kind.spins(),
            "a spin-up belongs to a drive with disks",
        ),
        (
            matches!((said.power, said.peak), (Some(power), Some(peak)) if peak < power),
            "the peak is less than what it draws for long",
        ),
    ];
    for (is, what) in misplaced {
        if is {
            log.add(
                whole.clone(),
                "",
                what.to_owned(),
                Some("leave it out".to_owned()),
            );
        }
    }
    Some(Part {
        count: said.count.unwrap_or(1),
        power: said.power,
        peak: said.peak,
        spin_up: said.spin_up,
        generation: said.generation,
        ..Part::of(kind)
    })
}

/// Takes as many words as belong together; none where the first is not understood.
fn take(said: &mut Said, words: &[Word]) -> usize {
    let first = words[0].text.to_lowercase();
    let word = first.as_str();
    let quantity = |from: usize, said: &mut Said, how: fn(&mut Said, &str) -> bool| {
        for n in [2, 1] {
            let Some(part) = words.get(from..from + n) else {
                continue;
            };
            let text: Vec<&str> = part.iter().map(|it| it.text).collect();
            if how(said, &text.join(" ")) {
                return from + n;
            }
        }
        0
    };
    match word {
        "peak" => return quantity(1, said, |to, it| watts(it, &mut to.peak)),
        "spin-up" | "spinup" => {
            return quantity(1, said, |to, it| {
                let read = it
                    .parse::<Amps>()
                    .ok()
                    .filter(|it| it.si() > 0.0 && it.si() < 20.0);
                to.spin_up = read.or(to.spin_up);
                read.is_some()
            });
        }
        "slot" => {
            said.in_slot = true;
            return 1;
        }
        "3.5" | "3.5\"" | "3.5in" => {
            said.size = Some(PartKind::Disk35);
            return 1;
        }
        "2.5" | "2.5\"" | "2.5in" => {
            said.size = Some(PartKind::Disk25);
            return 1;
        }
        "x" => return usize::from(words.len() > 1 && said.kind.is_some()),
        _ => {}
    }
    let taken = quantity(0, said, |to, it| {
        to.power.is_none() && watts(it, &mut to.power)
    });
    if taken > 0 {
        return taken;
    }
    let number = word.trim_start_matches('x').trim_end_matches(['x', '×']);
    if let Ok(n) = number.parse::<u32>() {
        let free = said.count.is_none() && (1..=64).contains(&n);
        said.count = said.count.or(Some(n));
        return usize::from(free);
    }
    let folded = fold(word);
    if let Some((_, it)) = Generation::NAMES.iter().find(|it| fold(it.0) == folded) {
        said.generation = Some(*it);
        return 1;
    }
    let named = KINDS.iter().map(|(it, kind)| (*it, *kind));
    let mut named = named.chain(PartKind::NAMES);
    if let Some((_, kind)) = named.find(|it| fold(it.0) == folded) {
        return match said.kind {
            None => {
                said.kind = Some(kind);
                1
            }
            Some(_) => usize::from(EMPTY.contains(&word)),
        };
    }
    usize::from(EMPTY.contains(&word))
}

fn watts(text: &str, to: &mut Option<Watts>) -> bool {
    let read = text.parse::<Watts>().ok();
    let read = read.filter(|it| it.si() > 0.0 && it.si() <= 1e4);
    *to = read.or(*to);
    read.is_some()
}

fn hint(word: &str) -> String {
    if word.parse::<f64>().is_ok() {
        return "a number is how many (1 to 64) before a part, or a power with its unit, as \"65 W\""
            .to_owned();
    }
    let known = KINDS.iter().map(|(it, _)| *it);
    match nearest(word, known) {
        Some(meant) => format!("did you mean \"{meant}\"?"),
        None => {
            let kinds = listed(PartKind::NAMES.iter().map(|(it, _)| *it));
            format!("a part is one of {kinds}")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(line: &str) -> Vec<String> {
        match build(line) {
            Ok(it) => it
                .parts
                .iter()
                .map(|it| {
                    let more = [
                        it.power.map(|it| it.to_string()),
                        it.peak.map(|it| format!("peak {it}")),
                        it.spin_up.map(|it| format!("spin-up {it}")),
                        it.generation.map(|it| it.name().to_owned()),
                    ];
                    let more: Vec<String> = more.into_iter().flatten().collect();
                    format!("{} {} {}", it.count, it.kind.name(), more.join(" "))
                        .trim()
                        .to_owned()
                })
                .collect(),
            Err(it) => it.iter().map(ToString::to_string).collect(),
        }
    }

    #[test]
    fn a_line_is_read_as_people_write_it() {
        for (line, wanted) in [
            (
                "processor 65 W, 2 disks 3.5, 4 memory",
                vec!["1 processor 65 W", "2 disk-3.5", "4 memory"],
            ),
            (
                "CPU 65W peak 90 W; 4x DDR4 modules",
                vec!["1 processor 65 W peak 90 W", "4 memory DDR4"],
            ),
            (
                "2 3.5 inch disks spin-up 1.8 A",
                vec!["2 disk-3.5 spin-up 1.8 A"],
            ),
            (
                "disk, 2.5\" disk, SSD, solid-state drive in slot",
                vec![
                    "1 disk",
                    "1 disk-2.5",
                    "1 solid-state",
                    "1 solid-state-slot",
                ],
            ),
            (
                "graphics card 220 W, memory x 2, 3 fans",
                vec!["1 graphics 220 W", "2 memory", "3 fan"],
            ),
            (
                "disk-3.5, disk-2.5, solid-state-slot",
                vec!["1 disk-3.5", "1 disk-2.5", "1 solid-state-slot"],
            ),
        ] {
            assert_eq!(said(line), wanted, "{line}");
        }
        let machine = build("board, on 9 h, air 40 °C, stagger 2 s, case sfx").unwrap();
        assert_eq!(machine.on, Some(Seconds::from_si(32_400.0)));
        assert_eq!(machine.air, Some(Celsius::from_si(40.0)));
        assert_eq!(machine.stagger, Some(Seconds::from_si(2.0)));
        assert_eq!(machine.takes, Some(FormFactor::Sfx));
    }

    #[test]
    fn what_is_not_understood_is_listed_with_its_column() {
        for (line, wanted) in [
            ("", "the line names no part"),
            (
                "procesor 65 W",
                "line:1:1  \"procesor\" is not understood; did you mean \"processor\"?",
            ),
            ("processor 65", "line:1:11  \"65\" is not understood"),
            (
                "board, toaster",
                "line:1:8  \"toaster\" is not understood; a part is one of",
            ),
            ("board, 65 W", "line:1:8  which part is meant is not said"),
            ("0 disks", "line:1:1  \"0\" is not understood"),
            ("99 disks", "\"99\" is not understood"),
            ("processor -65 W", "\"-65\" is not understood"),
            ("fan DDR4", "a generation belongs to memory"),
            ("fan spin-up 1 A", "a spin-up belongs to a drive"),
            ("processor 65 W peak 60 W", "the peak is less"),
            ("board, on 9", "line:1:8  on: 9 has no unit"),
            ("board, on 90 h", "cannot be"),
            ("board, case big", "case \"big\" is not known"),
            ("board,\u{a0}été", "line:1:8  \"été\""),
        ] {
            let all = said(line);
            assert!(all.iter().any(|it| it.contains(wanted)), "{line}: {all:#?}");
        }
    }
}
