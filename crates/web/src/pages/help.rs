//! Help, offline: words, how a check is made safely, how a line is written, tables with their sources.

use maud::{Markup, html};
use site::finding::Verdict;
use site::region::Region;

use crate::look::shape;
use crate::page::{Page, Part};

/// The page.
pub struct Help;

impl Page for Help {
    #[cfg(test)]
    fn samples() -> Vec<(&'static str, Help)> {
        vec![("whole", Help)]
    }

    fn title(&self) -> String {
        "Help".to_owned()
    }

    fn part(&self) -> Part {
        Part::Help
    }

    fn render(&self) -> Markup {
        html! {
            h1 { "Help" }
            ul {
                li { a href="#safely" { "How a check is made safely" } }
                li { a href="#shapes" { "The shapes" } }
                li { a href="#words" { "The words" } }
                li { a href="#line" { "How to write a line of readings" } }
                li { a href="#away" { "What works without the laptop" } }
                @for region in Region::all() { li { a href=(format!("#{}", region.id)) { "Limits and words: " (region.name) } } }
            }
            (safely())
            (shapes())
            (words())
            (line())
            h2 #away { "What works without the laptop" }
            p { "The laptop keeps everything and works everything out; the phone is its second screen. While the phone cannot reach it, \
                 a page that is open still takes readings and keeps them on the phone; they are sent by themselves when the laptop \
                 is back, each once, and until then a bar on top says how many wait. Answers, next checks and pages that were not open \
                 need the laptop. No other network is ever asked." }
            @for region in Region::all() { (tables(region)) }
        }
    }
}

fn safely() -> Markup {
    // Common practice of live measuring, as in the guides of electrical-safety authorities; told from memory.
    html! {
        h2 #safely { "How a check is made safely" }
        p .faint { "Common practice; local codes and licensed practice come first." }
        ol {
            li { "Look and smell first. Scorch marks, heat, a smell of burning, water: touch nothing, keep others away, call a licensed electrician." }
            li { "Take a meter and leads rated for the place: CAT III, CAT II at the least, for the voltage. Look them over for cracks." }
            li { "Prove the meter on a known live source, take the reading, prove it again. A meter that died in between shows zero on a live contact." }
            li { "Alternating volts, the right range, leads in the right jacks. Never the resistance or current range on a live contact." }
            li { "Fingers behind the guards; one hand where you can; stand dry; no rings, no bracelets." }
            li { "Probe the face of an outlet only. What lies behind a cover, in a panel, a box, a power supply or a UPS is not opened." }
            li { "A contact that reads near zero may still be live: a broken neutral lies. Believe it dead only when all pairs say so and the meter was proved." }
            li { "A test load (a kettle, a heater of about 1000 W) is plugged in and switched on before the probes go in, and off after they are out." }
            li { "A plug-in tester shows patterns, not proof: an exchanged neutral and earth looks sound to it." }
            li { "Something shocks, sparks or smells: out of use now, and say so to the people there." }
        }
        h3 { "The hazard classes" }
        table {
            thead { tr { th scope="col" { "Class" } th scope="col" { "What it is" } th scope="col" { "Who" } } }
            tbody {
                tr { td { "0" } td { "look, listen, plug-in indicator" } td { "anybody" } }
                tr { td { "1" } td { "probes at an outlet's face, with suitably rated leads" } td { "trained in it" } }
                tr { td { "4" } td { "open panels, boxes, fixed wiring" } td { "a licensed electrician; never instructed here" } }
                tr { td { "never" } td { "inside a power supply or a UPS" } td { "nobody on the premises" } }
            }
        }
    }
}

fn shapes() -> Markup {
    let rows = [
        (Verdict::Good, "Nothing to do."),
        (Verdict::Advice, "Not wrong, could be better."),
        (
            Verdict::Undecided,
            "Cannot be said yet; the finding says what would decide it.",
        ),
        (Verdict::Defect, "Wrong; to be mended."),
        (Verdict::Danger, "A hand or a building could come to harm."),
    ];
    html! {
        h2 #shapes { "The shapes" }
        table { tbody { @for (verdict, says) in rows { tr { th scope="row" { (shape::verdict(verdict)) } td { (says) } } } } }
    }
}

fn words() -> Markup {
    let rows = [
        (
            "site",
            "the premises: service, panels, circuits, outlets, and what is plugged in",
        ),
        (
            "chain",
            "the ordered path of power from the service to one load",
        ),
        (
            "visit",
            "one dated set of readings and of things seen, by one person with named meters",
        ),
        (
            "reading",
            "a value across a named pair, at a place, under a condition, with a meter; never edited: a correction is a new reading that names the old one",
        ),
        (
            "check",
            "something a person can do that gives a reading or an observation; it has a time, a hazard class and a skill",
        ),
        ("cause", "one or two faults that could explain the readings"),
        ("trace", "readings in, ranked causes and the next check out"),
        (
            "finding",
            "a verdict on a place, with its evidence, the limit and its source, the action and who may do it, the caution",
        ),
    ];
    html! {
        h2 #words { "The words" }
        table { tbody { @for (word, says) in rows { tr { th scope="row" { (word) } td { (says) } } } } }
    }
}

fn line() -> Markup {
    html! {
        h2 #line { "How to write a line of readings" }
        p { "A list of things told, with commas between them: " code { "hot-neutral 0 V, hot-ground 120 V, neutral-ground 120 V" } "." }
        p { "Several places stand one after the other with semicolons between them: " code { "desk: H-N 118.2 V, N-G 1.3 V; hall: H-N 119.0 V" } "." }
        ul {
            li { "Contacts: hot, live, line, L, H; neutral, N; ground, earth, G, E, PE." }
            li { "Values: 118.2 V; about 60 V; 60..90 V; under 5 V." }
            li { "Two places: " code { "desk ground to hall ground 60 V" } "." }
            li { "Lamps: " code { "lamps HN lit, HG dark, NG lit" } ". Detector: " code { "detector signals at neutral" } "." }
            li { "Remarks: buzzing, warm plate, smell of burning, lights flicker, breaker tripped, dead, tingle, wet, after storm." }
            li { "Conditions: with load, loads off, everything unplugged, test load 1000 W, wall switch off, low impedance." }
            li { "Correction: " code { "instead of r1 121 V" } "." }
        }
        p { "What is not understood is listed with its column; nothing is dropped." }
    }
}

fn tables(region: &Region) -> Markup {
    let volts = region
        .limits
        .volts
        .iter()
        .map(|(key, it)| (key, it.value.to_string(), &it.source, it.basis));
    let amps = region
        .limits
        .amps
        .iter()
        .map(|(key, it)| (key, it.value.to_string(), &it.source, it.basis));
    let shares = region
        .limits
        .fractions
        .iter()
        .map(|(key, it)| (key, it.value.to_string(), &it.source, it.basis));
    let rows: Vec<_> = volts.chain(amps).chain(shares).collect();
    html! {
        h2 id=(region.id) { (region.name) }
        p { "Here line is called " b { (region.words.line) } ", neutral " b { (region.words.neutral) } ", earth " b { (region.words.earth) } "." }
        details {
            summary { "Limits" }
            div .wide tabindex="0" role="region" aria-label=(format!("Limits, {}", region.name)) { table {
                thead { tr { th scope="col" { "Limit" } th scope="col" { "Value" } th scope="col" { "Source" } } }
                tbody { @for (key, value, source, basis) in rows { tr { th scope="row" { (key) } td { (value) } td { (source) " (" (basis) ")" } } } }
            } }
        }
        details {
            summary { "Conductor colours" }
            div .wide tabindex="0" role="region" aria-label=(format!("Colours, {}", region.name)) { table { tbody { @for (name, it) in &region.colours {
                tr { th scope="row" { (name) } td { (it.value) } td { (it.source) " (" (it.basis) ")" } }
            } } } }
        }
        details {
            summary { "Receptacles" }
            div .wide tabindex="0" role="region" aria-label=(format!("Receptacles, {}", region.name)) { table { tbody { @for it in &region.receptacles {
                tr { th scope="row" { (it.name) } td { (it.says) } td { (it.source.source) " (" (it.source.basis) ")" } }
            } } } }
        }
        details {
            summary { "Overcurrent and residual-current devices" }
            div .wide tabindex="0" role="region" aria-label=(format!("Devices, {}", region.name)) { table { tbody { @for (name, it) in &region.breakers {
                tr { th scope="row" { (name) } td { (it.value) } td { (it.source) " (" (it.basis) ")" } }
            } } } }
        }
    }
}
