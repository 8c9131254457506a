//! The words that are understood. Adding one is one entry here.

use metrology::Meter;

use super::cut::Word;
use super::told::Level::{Circuit, Outlet, Site};
use super::told::{End, Lamps, Level};
use crate::pair::{self, Role};
use crate::visit::{Input, Lamp, Pin, Reach, Running, Sign, Signals, SwitchState};

/// What a phrase means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Meaning {
    /// A sign, with what it is about.
    Sign(Sign, Level),
    /// What the loads did.
    Loads(Running, Level),
    /// The wall switch of the outlet.
    Switch(SwitchState),
    /// The breaker of the circuit, while reading.
    Breaker(SwitchState),
    /// The meter's input.
    Input(Input),
    /// A test load of so many watts follows or stands before.
    TestLoad,
    /// A lamp tester is spoken of.
    Tester,
    /// Every lamp that was not named.
    OtherLamps(Lamp),
    /// All lamps.
    AllLamps(Lamp),
    /// A detector is spoken of.
    Detector,
    /// A meter's class follows.
    Meter,
    /// Its accuracy follows.
    Accuracy,
    /// A current in a conductor follows.
    Current,
    /// A number of a reading that is corrected follows.
    InsteadOf,
    /// Says nothing of its own; it is kept with the words.
    Filler,
}

use Meaning::{AllLamps, Breaker, Filler, Loads, OtherLamps, Switch};

const fn sign(sign: Sign) -> Meaning {
    Meaning::Sign(sign, Outlet)
}
const fn about(level: Level, sign: Sign) -> Meaning {
    Meaning::Sign(sign, level)
}
const fn scope(level: Level, reach: Reach) -> Meaning {
    Meaning::Sign(Sign::Scope(reach), level)
}

/// Phrases, several for a meaning parted by `|`; the longest that fits is taken.
const PHRASES: &[(&str, Meaning)] = &[
    (
        "breaker tripped|breaker trips|tripped breaker|breaker keeps tripping|fuse blown|fuse blew|blown fuse|trips the breaker|breaker found open|mcb tripped|mcb trips|tripped",
        about(Circuit, Sign::BreakerTripped),
    ),
    (
        "breaker on|breaker closed|breaker not tripped|breaker is on|breaker is closed|breaker looks on|breaker is not tripped|breaker did not trip|fuse good|fuse is good|no breaker tripped",
        about(Circuit, Sign::BreakerClosed),
    ),
    (
        "ground-fault device tripped|gfci tripped|gfci trips|rcd tripped|rcd trips|rcbo tripped|rcbo trips|residual-current device tripped|residual current device tripped|ground fault device tripped|trips the rcd|trips the gfci|elcb tripped|earth leakage breaker tripped|elb tripped",
        about(Circuit, Sign::ResidualTripped),
    ),
    (
        "arc-fault device tripped|afci tripped|afci trips|afdd tripped|afdd trips|arc fault device tripped|trips the afci",
        about(Circuit, Sign::ArcTripped),
    ),
    (
        "dead|nothing works|no power|does not work|doesn't work|not working|no power here|everything dead|outlet dead|is dead",
        sign(Sign::Dead),
    ),
    (
        "works|everything works|working|works fine|works as usual|all works|still works|machine works|machines work|lamp works",
        sign(Sign::Works),
    ),
    (
        "buzzing|buzzes|buzz|crackling|crackles|humming|hums|sizzling|sizzles|arcing sound|crackle",
        sign(Sign::Buzzing),
    ),
    (
        "warm|warm plate|warm to the touch|hot plate|plate is warm|plate warm|plate is hot|warm plug|hot plug|plug warm|plug hot|feels warm|feels hot|warm outlet|hot outlet|warm face|warm cover|hot cover|hot to the touch",
        sign(Sign::Warm),
    ),
    (
        "smell of burning|burning smell|burnt smell|smells burnt|smells of burning|scorched|scorch marks|scorch mark|burn marks|burn mark|burnt|burned|melted|melted plug|discoloured|discolored|brown marks|smoke|burnt plastic smell|fishy smell",
        sign(Sign::Burnt),
    ),
    (
        "lights flicker|flickering lights|flicker|flickering|flickers|things restart|machine restarts|machines restart|restarts|blinking lights|lights blink|power comes and goes|comes and goes|cuts out|intermittent|intermittently",
        about(Site, Sign::Flicker),
    ),
    (
        "some lights brighten|lights brighten|some lights bright others dim|some lights brighten and others dim|some lights brighten others dim|lights too bright|bright and dim lights|lights bright and dim|lights get brighter|some bulbs brighten|bulbs brighten|brightening",
        about(Site, Sign::Brightening),
    ),
    (
        "lights dim|lights dim when something starts|dimming|dims|lights dip|lights sag|lamps dim under load",
        about(Site, Sign::Dimming),
    ),
    (
        "tingle|tingles|tingling|shock|shocks|got a shock|felt a shock|felt a tingle|electric shock|it shocks|shocked|case tingles|chassis tingles|tingling case|gives a shock|gives shocks",
        sign(Sign::Shock),
    ),
    (
        "loose plug|plug loose|plugs loose|plugs sit loosely|plug sits loosely|plug falls out|plugs fall out|worn contacts|loose contacts|loose outlet",
        sign(Sign::LoosePlug),
    ),
    (
        "several machines burnt|machines burnt|equipment burnt|equipment burnt out|equipment damaged|machines damaged|several machines damaged|several machines dead|burnt equipment|protectors died|protector died|protector dead|supplies burnt|things burnt out|appliances burnt|appliances died|bulbs burn out|bulbs burning out|machines died|several machines died",
        about(Site, Sign::EquipmentBurnt),
    ),
    (
        "wet|damp|water|water got in|leak above|flooded|rain got in|moisture|water damage|after cleaning with water",
        sign(Sign::Wet),
    ),
    (
        "after works|after work|after electrical work|after electrical works|after building work|after building works|after renovation|after rewiring|new outlet|new outlets|outlet replaced|outlets replaced|since the electrician came|after the electrician came|after an electrician came|after a new outlet|after replacing the outlet|newly wired",
        about(Site, Sign::AfterWorks),
    ),
    (
        "after storm|after a storm|after the storm|after lightning|after outage|after an outage|after the outage|since the storm|since the outage|after a power cut|after power cut|storm|lightning",
        about(Site, Sign::AfterStorm),
    ),
    (
        "switch matters|wall switch matters|switch changes it|wall switch changes it|depends on the switch|depends on a switch|depends on the wall switch",
        sign(Sign::SwitchMatters),
    ),
    (
        "its switch is off|found its switch off|the switch is off|strip is switched off|strip switched off|its switch was off",
        sign(Sign::SwitchOff),
    ),
    (
        "its switch is on|found its switch on|the switch is on|strip is switched on|strip switched on|no switch|there is no switch",
        sign(Sign::SwitchOn),
    ),
    (
        "old wiring|two-wire|old two-wire wiring|two-wire wiring|two-slot outlets|two-slot outlets replaced|old building|knob and tube|no ground wire|no earth wire|ungrounded wiring",
        about(Site, Sign::OldWiring),
    ),
    (
        "this slot only|one slot only|one pin|one slot|only one slot|this contact only",
        scope(Outlet, Reach::Pin),
    ),
    (
        "this outlet only|only this outlet|one outlet|one outlet only|only here|just this outlet|other outlets fine|others fine|this socket only|only this socket|just this one|only this one",
        scope(Outlet, Reach::Outlet),
    ),
    (
        "this circuit|whole circuit|the whole circuit|this circuit only|only this circuit|all outlets of this circuit|several outlets|all outlets on this circuit|one circuit|one circuit only|whole room|the whole room",
        scope(Circuit, Reach::Circuit),
    ),
    (
        "one leg|half the house|half of the house|one phase|one leg only|half the outlets|half of the outlets|every other circuit|half the panel|one phase only",
        scope(Site, Reach::Leg),
    ),
    (
        "one floor|this floor|whole floor|the whole floor|one panel|one floor only",
        scope(Site, Reach::Floor),
    ),
    (
        "whole house|the whole house|whole site|whole building|the whole building|whole premises|everywhere|all outlets|every outlet|all circuits|all over the house|the whole site|the whole premises",
        scope(Site, Reach::House),
    ),
    (
        "the street too|street too|neighbours too|neighbors too|the neighbours too|the neighbors too|whole street|the whole street|neighbours as well|neighbors as well|next door too",
        scope(Site, Reach::Street),
    ),
    (
        "with load|under load|loaded|with a load|load on|loads on|with loads on|with everything on|everything on|with the load on|while running|in use|machines on|with machines on|with load on",
        Loads(Running::On, Circuit),
    ),
    (
        "loads off|load off|no load|without load|everything off|machines off|unloaded|with loads off|with everything off|with no load|everything switched off|all off|with machines off",
        Loads(Running::Off, Circuit),
    ),
    (
        "everything unplugged|with everything unplugged|all unplugged|unplugged|all loads unplugged|loads unplugged|with nothing plugged in|everything on the circuit unplugged",
        Loads(Running::Unplugged, Circuit),
    ),
    (
        "nothing plugged in|nothing plugged in here|unplugged here|nothing plugged into it",
        Loads(Running::Unplugged, Outlet),
    ),
    (
        "everything off in the house|everything in the house off|whole house off",
        Loads(Running::Off, Site),
    ),
    (
        "everything on in the house|everything in the house on",
        Loads(Running::On, Site),
    ),
    (
        "switch off|wall switch off|switched off|with the switch off|with switch off|wall switch is off|switch is off",
        Switch(SwitchState::Open),
    ),
    (
        "switch on|wall switch on|switched on|with the switch on|with switch on|wall switch is on|switch is on",
        Switch(SwitchState::Closed),
    ),
    (
        "breaker off|breaker open|with the breaker off|breaker switched off|with breaker off|power off|breaker is off",
        Breaker(SwitchState::Open),
    ),
    (
        "with the breaker on|with breaker on",
        Breaker(SwitchState::Closed),
    ),
    (
        "low impedance|low-impedance|lo-z|loz|low z|low-z|low-impedance mode|low impedance mode|on low impedance|on lo-z",
        Meaning::Input(Input::LowImpedance),
    ),
    (
        "high impedance|high-impedance|normal input|ordinary input|hi-z",
        Meaning::Input(Input::Normal),
    ),
    (
        "test load|with test load|with a test load|test load of|with a test load of|heater|kettle|hair dryer|with a heater|with a kettle|with a hair dryer|load of|with a load of|load|lamp of",
        Meaning::TestLoad,
    ),
    (
        "lamps|lamp tester|tester|plug-in tester|three-lamp tester|3-lamp tester|outlet tester|socket tester|the tester|lamp pattern|lamps of the tester|lights of the tester",
        Meaning::Tester,
    ),
    (
        "others dark|rest dark|the others dark|the rest dark|other lamps dark|other dark|the other dark|others off|the others off|only|the rest off",
        OtherLamps(Lamp::Dark),
    ),
    (
        "others lit|rest lit|the others lit|the rest lit|other lamps lit|the other lit",
        OtherLamps(Lamp::Lit),
    ),
    (
        "others dim|rest dim|the others dim|the rest dim",
        OtherLamps(Lamp::Dim),
    ),
    (
        "all dark|all lamps dark|no lamps|no lamp|no lamp lit|no lamps lit|none lit|no lights|all off lamps|lamps dark|all lamps off|lamps all dark|none",
        AllLamps(Lamp::Dark),
    ),
    (
        "all lit|all lamps lit|lamps all lit|all three lit",
        AllLamps(Lamp::Lit),
    ),
    (
        "detector|non-contact detector|noncontact detector|non-contact tester|voltage detector|contactless detector|voltage pen|non-contact voltage detector|pen detector",
        Meaning::Detector,
    ),
    ("meter|multimeter", Meaning::Meter),
    (
        "accuracy|meter accuracy|accurate to|meter's accuracy",
        Meaning::Accuracy,
    ),
    (
        "current|current in|current through|current on|clamp|clamp on|clamp around|current of|current in the",
        Meaning::Current,
    ),
    (
        "instead of|corrects|correction of|corrected",
        Meaning::InsteadOf,
    ),
    ("frequency|frequency of|frequency is", Filler),
];

/// Words that say nothing of their own. Qualifiers are among them because the words are kept.
const FILLERS: &[&str] = &[
    "the",
    "a",
    "an",
    "is",
    "are",
    "was",
    "were",
    "it",
    "its",
    "at",
    "in",
    "on",
    "of",
    "and",
    "with",
    "while",
    "when",
    "then",
    "also",
    "there",
    "here",
    "from",
    "read",
    "reads",
    "reading",
    "readings",
    "got",
    "get",
    "measured",
    "measures",
    "shows",
    "show",
    "showing",
    "says",
    "felt",
    "feel",
    "heard",
    "hear",
    "saw",
    "see",
    "slightly",
    "very",
    "sometimes",
    "often",
    "again",
    "now",
    "today",
    "somewhat",
    "bit",
    "input",
    "voltage",
    "volts",
    "has",
    "have",
    "had",
    "this",
    "that",
    "some",
    "but",
    "observed",
    "noticed",
    "i",
    "we",
    "still",
    "-",
    "–",
    "—",
    "•",
    "*",
    "between",
    "for",
    "by",
    "us",
    "outlet",
    "socket",
    "receptacle",
    "slot",
    "contact",
    "pin",
    "plate",
];

/// A phrase at the start of the words: what it means and how many words it takes.
pub(super) fn at(words: &[Word]) -> Option<(Meaning, usize)> {
    let fits = |phrase: &str| {
        let mut n = 0;
        for part in phrase.split(' ') {
            if words.get(n).is_none_or(|it| it.low != part) {
                return None;
            }
            n += 1;
        }
        Some(n)
    };
    let longest = PHRASES
        .iter()
        .flat_map(|(all, meaning)| all.split('|').filter_map(fits).map(move |n| (*meaning, n)))
        .max_by_key(|(_, n)| *n);
    longest.or_else(|| {
        let first = words.first()?;
        FILLERS.contains(&first.low.as_str()).then_some((Filler, 1))
    })
}

/// Every phrase, to look for the one that may have been meant.
pub(super) fn all() -> impl Iterator<Item = &'static str> {
    PHRASES.iter().flat_map(|(all, _)| all.split('|'))
}

/// A lamp's state, after its pair.
pub(super) fn lamp(word: &str) -> Option<Lamp> {
    Some(match word {
        "lit" | "on" | "bright" | "lights" | "glows" | "light" | "lighted" | "shines" => Lamp::Lit,
        "dim" | "faint" | "glimmers" | "weak" | "dimly" | "glimmering" => Lamp::Dim,
        "dark" | "off" | "out" | "unlit" => Lamp::Dark,
        _ => return None,
    })
}

/// What a detector does: state and how many words.
pub(super) fn detects(words: &[Word]) -> Option<(Signals, usize)> {
    let word = |n: usize| words.get(n).map_or("", |it| it.low.as_str());
    Some(match (word(0), word(1), word(2)) {
        ("does", "not", "signal" | "beep" | "react" | "light") => (Signals::No, 3),
        ("no", "signal" | "beep" | "reaction" | "light", _) => (Signals::No, 2),
        ("stays", "quiet" | "silent" | "dark", _) => (Signals::No, 2),
        ("quiet" | "silent" | "nothing" | "dark" | "no" | "none", ..) => (Signals::No, 1),
        (
            "signals" | "signal" | "beeps" | "beep" | "lights" | "lit" | "glows" | "reacts"
            | "alarms" | "alarm" | "yes",
            ..,
        ) => (Signals::Yes, 1),
        _ => return None,
    })
}

/// Patterns by the legend that is common to three-lamp testers of North America, seen on two public pages; a tester's own
/// legend is a guess at the cause, so only the lamps behind it are taken.
pub(super) fn legend(words: &[Word]) -> Option<(Lamps, usize)> {
    use Lamp::{Dark, Lit};
    let plain: Vec<&str> = words.iter().map(|it| it.low.as_str()).take(5).collect();
    let pattern = |a, b, c| [Some(a), Some(b), Some(c)];
    let earth = |word: &&str| matches!(*word, "ground" | "earth");
    let line = |word: &&str| matches!(*word, "hot" | "line" | "live");
    let reversed = |word: &&str| matches!(*word, "reversed" | "reverse" | "exchanged" | "swapped");
    Some(match plain.as_slice() {
        ["correct" | "correctly", ..] => (pattern(Lit, Lit, Dark), 1),
        ["open", it, ..] if earth(it) => (pattern(Lit, Dark, Dark), 2),
        ["open", "neutral", ..] => (pattern(Dark, Lit, Dark), 2),
        ["open", it, ..] if line(it) => (pattern(Dark, Dark, Dark), 2),
        ["hot/neutral" | "hot-neutral" | "line/neutral", it, ..] if reversed(it) => {
            (pattern(Lit, Dark, Lit), 2)
        }
        ["hot/ground" | "hot-ground" | "line/earth", it, ..] if reversed(it) => {
            (pattern(Dark, Lit, Lit), 2)
        }
        [a, "neutral", it, ..] if line(a) && reversed(it) => (pattern(Lit, Dark, Lit), 3),
        [a, b, it, ..] if line(a) && earth(b) && reversed(it) => (pattern(Dark, Lit, Lit), 3),
        [a, "and", "neutral", it, ..] if line(a) && reversed(it) => (pattern(Lit, Dark, Lit), 4),
        [a, "and", b, it, ..] if line(a) && earth(b) && reversed(it) => {
            (pattern(Dark, Lit, Lit), 4)
        }
        _ => return None,
    })
}

/// A contact by one word.
pub(super) fn pin(word: &str) -> Option<Pin> {
    match pair::role(word)? {
        Role::Line => Some(Pin::Line),
        Role::Neutral => Some(Pin::Neutral),
        Role::Earth => Some(Pin::Earth),
        Role::FirstLine | Role::SecondLine => None, // legs, see `leg`
    }
}

/// What is touched, at the start of the words, and how many words that takes.
pub(super) fn end(words: &[Word]) -> Option<(End, usize)> {
    let word = |n: usize| words.get(n).map_or("", |it| it.low.as_str());
    if let ("a", Some((End::TrueEarth, n))) = (word(0), words.get(1..).and_then(end)) {
        return Some((End::TrueEarth, n + 1));
    }
    let article = usize::from(word(0) == "the");
    let (first, second) = (word(article), word(article + 1));
    let two = match (first, second) {
        ("true" | "real" | "actual", "earth" | "ground")
        | ("water" | "metal", "pipe")
        | ("ground" | "earth" | "separate" | "driven", "rod" | "stake" | "electrode")
        | ("damp", "ground" | "soil" | "earth")
        | ("my" | "a", "hand" | "body") => true,
        ("hand" | "body", "of") => {
            return (words.len() > article + 2).then_some((End::TrueEarth, article + 3));
        }
        ("pipe" | "rod" | "soil" | "stake" | "electrode" | "true-earth", _)
        | ("radiator" | "faucet" | "tap" | "hand" | "body" | "person" | "user", _) => false,
        _ if metal(first, second) > 0 => return Some((End::Metal, article + metal(first, second))),
        _ => {
            let (end, n) = match (pin(first), leg(first)) {
                _ if first == "leg" => (End::Leg(leg(second)?), 2),
                // "phase A", although "phase" alone is a contact
                _ if first == "phase"
                    && second.starts_with(char::is_alphabetic)
                    && leg(second).is_some() =>
                {
                    (End::Leg(leg(second)?), 2)
                }
                (Some(pin), _) => (End::Pin(pin), 1),
                (None, leg) => (End::Leg(leg?), 1),
            };
            let suffix = usize::from(matches!(
                word(article + n),
                "slot" | "pin" | "contact" | "hole" | "terminal" | "bar" | "screw"
            ));
            return Some((end, article + n + suffix));
        }
    };
    Some((End::TrueEarth, article + if two { 2 } else { 1 }))
}

/// Metal on the earth contact, and how many words name it.
fn metal(first: &str, second: &str) -> usize {
    match (first, second) {
        ("metal" | "computer" | "machine", "case" | "chassis" | "box" | "cover" | "frame")
        | ("cover" | "plate" | "faceplate", "screw") => 2,
        (
            "case" | "chassis" | "enclosure" | "cabinet" | "housing" | "frame" | "cover"
            | "conduit",
            _,
        ) => 1,
        _ => 0,
    }
}

/// A leg by its name on panels.
fn leg(word: &str) -> Option<String> {
    let known = matches!(
        word,
        "a" | "b"
            | "c"
            | "x"
            | "y"
            | "z"
            | "l1"
            | "l2"
            | "l3"
            | "u"
            | "v"
            | "w"
            | "r"
            | "s"
            | "t"
            | "1"
            | "2"
            | "3"
    );
    known.then(|| word.to_uppercase())
}

/// Whether the name of a place means the panel.
pub(super) fn is_panel(name: &str) -> bool {
    let name = name.trim().to_lowercase();
    matches!(
        name.as_str(),
        "panel"
            | "the panel"
            | "main panel"
            | "service"
            | "service panel"
            | "board"
            | "distribution board"
            | "consumer unit"
            | "main"
            | "house panel"
    )
}

/// Class of a meter by word.
pub(super) fn class(word: &str) -> Option<&'static Meter> {
    Meter::class(word)
}
