//! Laws that every fault of the catalogue keeps.

use std::collections::HashSet;

use site::finding::{Use, Verdict, When, Who};

use super::ALL;
use crate::fault::{Fault, Severity};

/// What a text may leave to be filled in.
const PLACEHOLDERS: [&str; 7] = [
    "at", "before", "circuit", "panel", "line", "neutral", "earth",
];

/// Words that are work behind a face or a cover, in any text.
const WORK: [&str; 10] = [
    "remake",
    "tighten",
    "rewire",
    "splice",
    "puts the",
    "exchanges the",
    "separates",
    "replaces the receptacle",
    "open the panel",
    "take off the cover",
];

fn misses(law: impl Fn(&Fault) -> Option<String>) {
    let broken: Vec<String> = ALL
        .iter()
        .filter_map(|f| law(f).map(|why| format!("{}: {why}", f.id)))
        .collect();
    assert!(broken.is_empty(), "{broken:#?}");
}

fn texts(fault: &Fault) -> [&'static str; 3] {
    [fault.says, fault.mends, fault.caution]
}

#[test]
fn ids_are_unique_kebab_case_and_found() {
    let mut seen = HashSet::new();
    for fault in ALL {
        assert!(seen.insert(fault.id), "{} stands twice", fault.id);
        assert!(super::find(fault.id).is_some_and(|f| core::ptr::eq(f, *fault)));
    }
    misses(|f| {
        let plain =
            f.id.split('-')
                .all(|w| !w.is_empty() && w.bytes().all(|b| b.is_ascii_lowercase()));
        (!plain).then(|| "is not kebab-case".to_owned())
    });
    assert!(super::find("something-else").is_none());
}

#[test]
fn a_danger_ends_use_at_once_and_harms() {
    misses(|f| {
        f.steps.iter().find_map(|s| {
            let danger = s.verdict == Verdict::Danger;
            let harm = s.harm.shock.max(s.harm.fire);
            let act = s.action.use_ == Use::Stop && s.action.when == When::Now;
            let wrong = match danger {
                true => !act || harm < 0.2 || s.action.who == Who::Nobody,
                false => harm >= 0.2 || (s.verdict == Verdict::Good && harm > 0.0),
            };
            wrong.then(|| format!("{s:?}"))
        })
    });
}

#[test]
fn harms_prevalences_and_signs_are_probabilities() {
    misses(|f| {
        let harms = f
            .steps
            .iter()
            .flat_map(|s| [s.harm.shock, s.harm.fire, s.harm.equipment]);
        let signs = f.signs.iter().map(|(_, p)| *p);
        let bad = harms.chain(signs).find(|p| !(0.0..1.0).contains(p));
        bad.map(|p| format!("{p}")).or_else(|| {
            let p = f.prevalence.value;
            (p <= 0.0 || p >= 0.2 || f.prevalence.source.is_empty())
                .then(|| format!("prevalence {p}"))
        })
    });
    misses(|f| {
        let kinds: HashSet<_> = f.signs.iter().map(|(k, _)| *k).collect();
        (kinds.len() != f.signs.len()).then(|| "names a sign twice".to_owned())
    });
}

#[test]
fn every_step_is_reached_and_they_rise() {
    misses(|f| {
        let (low, high) = (f.severity.at(0.0), f.severity.at(1.0));
        let mut last = f64::NEG_INFINITY;
        for (k, step) in f.steps.iter().enumerate() {
            if step.from <= last || step.from > high || (k > 0 && step.from <= low) {
                return Some(format!("step {k} from {} in {low} to {high}", step.from));
            }
            last = step.from;
        }
        (f.steps.is_empty() || f.steps[0].from > low).then(|| "does not begin".to_owned())
    });
}

#[test]
fn severities_are_in_order() {
    misses(|f| match f.severity {
        Severity::One => None,
        Severity::LogUniform(a, b) => (a <= 0.0 || b <= a).then(|| format!("{a} to {b}")),
        Severity::Uniform(a, b) => (a < 0.0 || b <= a).then(|| format!("{a} to {b}")),
    });
}

#[test]
fn texts_are_there_and_their_placeholders_known() {
    misses(|f| {
        texts(f).into_iter().find_map(|text| {
            if text.trim().len() < 10 {
                return Some(format!("says too little: {text:?}"));
            }
            let parts = text
                .split('{')
                .skip(1)
                .map(|rest| rest.split_once('}').map_or(rest, |p| p.0));
            parts
                .into_iter()
                .find(|p| !PLACEHOLDERS.contains(p))
                .map(|p| format!("{{{p}}}"))
        })
    });
    misses(|f| {
        let ends = !f.says.ends_with('.') && f.mends.ends_with('.') && f.caution.ends_with('.');
        (!ends).then(|| "a clause has no full stop, a sentence has one".to_owned())
    });
}

/// Conductors have their regional words, so a text that names one must leave the word open.
#[test]
fn texts_name_conductors_by_placeholder() {
    misses(|f| {
        let bare = |text: &str| {
            let open: String = text
                .split('{')
                .map(|p| p.split_once('}').map_or(p, |x| x.1))
                .collect();
            let words: Vec<String> = open
                .split(|c: char| !c.is_ascii_alphabetic())
                .map(str::to_ascii_lowercase)
                .collect();
            words
                .into_iter()
                .find(|w| ["neutral", "earth", "hot", "ground"].contains(&w.as_str()))
        };
        texts(f).into_iter().find_map(bare)
    });
}

#[test]
fn work_behind_a_cover_is_an_electricians_or_the_utilitys() {
    misses(|f| {
        texts(f).into_iter().find_map(|text| {
            let low = text.to_ascii_lowercase();
            let theirs = ["electrician", "utility", "do not"]
                .iter()
                .any(|w| low.contains(w));
            WORK.iter()
                .find(|w| low.contains(*w) && !theirs)
                .map(|w| format!("{w:?} in {text:?}"))
        })
    });
    misses(|f| {
        let electricians = f.steps.iter().all(|s| s.action.who == Who::Electrician);
        let named = f.mends.starts_with("A licensed electrician ");
        (electricians != named).then(|| f.mends.to_owned())
    });
    misses(|f| {
        let utilitys = f.steps.iter().any(|s| s.action.who == Who::Utility);
        (utilitys && !f.mends.contains("utility")).then(|| f.mends.to_owned())
    });
}

#[test]
fn a_mistake_of_measuring_leaves_the_installation_sound() {
    misses(|f| {
        let good = f.steps.iter().all(|s| s.verdict == Verdict::Good);
        (good != f.is_misreading()).then(|| "verdict and misreading disagree".to_owned())
    });
}
