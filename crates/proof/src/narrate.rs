//! A visit in words, to see why it went as it did.

use std::fmt::Write;

use site::visit::{Contact, Told, Visit};
use trace::Question;

use crate::led::MOST;
use crate::score::{Scored, of_led};
use crate::sim::look::Check;
use crate::sim::story::Story;
use crate::usual;

/// One scored visit on a few lines.
#[must_use]
pub fn line(s: &Scored) -> String {
    let list = |all: &[String]| {
        if all.is_empty() {
            "nothing".to_owned()
        } else {
            all.join(" + ")
        }
    };
    let bad: Vec<String> = s.how_bad.iter().map(|b| format!("{b:.3}")).collect();
    let place = s.place.map_or("-".into(), |p| (p + 1).to_string());
    let at_truth: f64 = s.groups.iter().filter(|g| g.1).map(|g| g.0).sum();
    format!(
        "#{} {:?}{} true {} ({})\n    leads {:.2} {} [{}], place {place} at {at_truth:.2}, unknown {:.2}, danger {:.3}, {:?} by {:?}, {} checks\n",
        s.number,
        s.sort,
        if s.missed_danger() {
            " DANGER LEFT IN USE"
        } else {
            ""
        },
        list(&s.truth),
        bad.join(", "),
        s.groups.first().map_or(0.0, |g| g.0),
        list(&s.leading),
        s.members,
        s.not_in_catalogue,
        s.dangerous,
        s.action.use_,
        s.action.who,
        s.checks,
    )
}

fn readings(story: &Story, visit: &Visit, from: (usize, usize)) -> String {
    let site = &story.world.premises.site;
    let mut out = String::new();
    let name = |c: Contact| match c {
        Contact::Outlet(o, pin) => format!("{} {pin:?}", site.outlets[o.0].id),
        other => format!("{other:?}"),
    };
    for r in &visit.readings[from.0..] {
        let value = match &r.value {
            Told::Volts(v) => v.text.clone(),
            other => format!("{other:?}"),
        };
        let load = if r.condition.test_load.is_some() {
            " loaded"
        } else {
            ""
        };
        let _ = writeln!(
            out,
            "    {} to {}{load} {:?}: {value}",
            name(r.from),
            name(r.to),
            r.input
        );
    }
    for o in &visit.observations[from.1..] {
        let _ = writeln!(out, "    {:?}: {:?}", o.at, o.what);
    }
    out
}

/// A simulated visit told at length.
#[must_use]
pub fn visit(seed: u64, number: u64) -> String {
    let mut story = Story::draw(seed, number);
    let mut out = String::new();
    let site = story.world.premises.site.clone();
    let _ = writeln!(
        out,
        "{} {} {}",
        site.region.id,
        site.service.system.id,
        site.service.earthing.name()
    );
    for c in &site.circuits {
        let shares = c.shares_neutral_with.map_or(String::new(), |w| {
            format!(" shares its neutral with {}", site.circuits[w.0].id)
        });
        let _ = writeln!(
            out,
            "  {} panel {} leg {}{shares} earth {:?}",
            c.id, site.panels[c.panel.0].id, c.leg, c.earth_run
        );
    }
    for o in &site.outlets {
        let after = o.after.map_or("panel", |a| &site.outlets[a.0].id);
        let _ = writeln!(
            out,
            "  {} on {} after {after} switched {:?}",
            o.id, site.circuits[o.circuit.0].id, o.switched
        );
    }
    for a in &story.world.premises.truth.appliances {
        let _ = writeln!(
            out,
            "  {} {:.0} W at {} {}",
            a.kind.name,
            a.watts,
            site.outlets[a.at].id,
            if a.on { "on" } else { "off" }
        );
    }
    let usual = usual::readings(&story);
    let (mut keys, mut unknown) = (Vec::new(), Vec::new());
    let mut told = (0, 0);
    loop {
        out += &readings(&story, &story.visit, told);
        told = (story.visit.readings.len(), story.visit.observations.len());
        let question = Question {
            site: &site,
            visit: &story.visit,
            skill: story.visit.skill,
            seed,
        };
        let answer = trace::trace(&question);
        let _ = writeln!(
            out,
            "  {} | unknown {:.3}",
            answer.headline, answer.not_in_catalogue
        );
        for g in answer.causes.iter().take(4) {
            let all: Vec<String> = std::iter::once(&g.faults)
                .chain(g.others.iter().map(|m| &m.faults))
                .take(5)
                .map(|f| {
                    f.iter()
                        .map(|f| format!("{}@{}", f.kind, f.at))
                        .collect::<Vec<_>>()
                        .join("+")
                })
                .collect();
            let _ = writeln!(
                out,
                "    {:.3} {:?} {}",
                g.probability,
                g.action.use_,
                all.join(" | ")
            );
        }
        let next = answer
            .next
            .clone()
            .filter(|_| keys.len() < MOST && unknown.len() < MOST);
        let Some(next) = next else {
            let led = crate::led::Led {
                answer,
                leaders: Vec::new(),
                checks: keys,
                unknown,
                minutes: 0.0,
                story,
            };
            out += &line(&of_led(number, &led, usual));
            let _ = writeln!(out, "usual order {usual}");
            return out;
        };
        let _ = writeln!(out, "  next {} worth {:.1}", next.key, next.worth);
        match Check::of(&next.key, &story.world) {
            Some(check) => {
                story.world.look(check, &mut story.person, &mut story.visit);
                keys.push(next.key);
            }
            None => {
                story.visit.cannot.push(next.key.clone());
                unknown.push(next.key);
            }
        }
    }
}
