//! What was told becomes a visit: names are looked up, readings are numbered.

use metrology::{Function, Meter, Stated, Tellable};

use super::phrase;
use super::told::{
    AskTold, ConditionTold, ContactTold, End, Level, Part, ReadingTold, Span, Spanned, Told,
    ValueTold, same_name,
};
use super::{Ask, Asked};
use crate::file::near::{listed, nearest};
use crate::file::problem::Log;
use crate::model::{OutletIx, PanelIx, Site};
use crate::visit::{
    Bar, Condition, Contact, Input, LoadScope, LoadsAt, Observation, Pin, Reading, ReadingIx, Sign,
    Skill, Told as Value, UsedMeter, Visit, Whereabouts,
};

/// A visit without anything.
pub(super) fn empty(site: &Site) -> Visit {
    Visit {
        site: site.name.clone(),
        date: None,
        skill: Skill::Technician,
        meters: Vec::new(),
        readings: Vec::new(),
        observations: Vec::new(),
        cannot: Vec::new(),
    }
}

/// `before` with what was told added.
pub(super) fn visit(
    told: &Told,
    site: &Site,
    here: Option<OutletIx>,
    before: &Visit,
    log: &mut Log,
) -> Visit {
    let mut build = Build {
        site,
        here,
        visit: before.clone(),
        log,
        meter: None,
    };
    build.meter(told);
    for part in &told.parts {
        build.part(part);
    }
    build.visit
}

/// What is asked, each with its condition.
pub(super) fn asked(
    told: &Told,
    site: &Site,
    here: Option<OutletIx>,
    log: &mut Log,
) -> (Vec<Asked>, Option<UsedMeter>) {
    let mut build = Build {
        site,
        here,
        visit: empty(site),
        log,
        meter: None,
    };
    build.meter(told);
    let mut asked = Vec::new();
    for part in &told.parts {
        let Some(spot) = build.spot(part.place.as_ref(), part) else {
            continue;
        };
        build.refuse_told(part);
        let before = asked.len();
        for it in &part.asked {
            let conditions = it.conditions.over(&part.conditions);
            let condition = build.condition(&conditions, spot, None);
            let input = conditions.input.map_or(Input::NotTold, |it| it.it);
            let what = match (&it.what, spot) {
                (AskTold::Volts(from, to), _) => {
                    let from = build.contact(from, spot, None, Probe::From);
                    from.zip(build.contact(to, spot, None, Probe::To))
                        .map(|(from, to)| Ask::Volts(from, to))
                }
                (AskTold::Lamps, Spot::Outlet(outlet)) => Some(Ask::Lamps(outlet)),
                (AskTold::Detector(pin), Spot::Outlet(outlet)) => Some(Ask::Detector(outlet, *pin)),
                (AskTold::Lamps | AskTold::Detector(_), Spot::Panel(_)) => {
                    build.problem(
                        &it.at,
                        "a panel has no outlet to put that into",
                        "name an outlet",
                    );
                    None
                }
            };
            asked.extend(what.map(|what| Asked {
                what,
                condition,
                input,
            }));
        }
        if let (Spot::Outlet(outlet), true) = (spot, asked.len() == before) {
            let condition = build.condition(&part.conditions, spot, None);
            asked.extend(everything(outlet).map(|what| {
                Asked {
                    what,
                    condition: condition.clone(),
                    input: part
                        .conditions
                        .input
                        .as_ref()
                        .map_or(Input::NotTold, |it| it.it),
                }
            }));
        }
    }
    (asked, build.visit.meters.pop())
}

/// What is looked at where nothing else is asked: the three pairs, and the lamps.
fn everything(outlet: OutletIx) -> impl Iterator<Item = Ask> {
    let contact = move |pin| Contact::Outlet(outlet, pin);
    let pairs = [
        (Pin::Line, Pin::Neutral),
        (Pin::Line, Pin::Earth),
        (Pin::Neutral, Pin::Earth),
    ];
    let volts = pairs.map(|(from, to)| Ask::Volts(contact(from), contact(to)));
    volts.into_iter().chain([Ask::Lamps(outlet)])
}

/// A place that readings are taken at.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Spot {
    Outlet(OutletIx),
    Panel(PanelIx),
}

struct Build<'a, 'l, 't> {
    site: &'a Site,
    here: Option<OutletIx>,
    visit: Visit,
    log: &'l mut Log<'t>,
    meter: Option<usize>,
}

impl Build<'_, '_, '_> {
    fn problem(&mut self, at: &Span, what: impl Into<String>, hint: impl Into<String>) {
        self.log.add(at.clone(), "", what.into(), Some(hint.into()));
    }

    fn meter(&mut self, told: &Told) {
        let told = &told.meter;
        if told.class.is_none() && told.accuracy.is_none() && told.input.is_none() {
            self.meter = self.visit.meters.len().checked_sub(1);
            return;
        }
        let class = told.class.as_ref().and_then(|it| phrase::class(&it.it));
        let mut meter = class.unwrap_or_else(|| Meter::unknown()).clone();
        if let Some(accuracy) = &told.accuracy {
            meter = meter.with_accuracy(Function::AcVolts, accuracy.it);
        }
        if let Some(resistance) = &told.input {
            let input = metrology::Input {
                resistance: resistance.it,
                ..meter.input()
            };
            meter = meter.with_input(input);
        }
        let id = format!("meter{}", self.visit.meters.len() + 1);
        self.visit.meters.push(UsedMeter { id, meter });
        self.meter = Some(self.visit.meters.len() - 1);
    }

    fn part(&mut self, part: &Part) {
        let tells = !(part.readings.is_empty()
            && part.lamps.is_empty()
            && part.detected.is_empty()
            && part.signs.is_empty());
        if !tells && part.place.is_none() {
            return;
        }
        let Some(spot) = self.spot(part.place.as_ref(), part) else {
            return;
        };
        let conditions = self.condition(&part.conditions, spot, None);
        for reading in &part.readings {
            self.reading(reading, &part.conditions, spot);
        }
        for pattern in &part.lamps {
            let words = condition_with(&conditions, &pattern.it.1);
            match pattern.it.0 {
                [Some(line_neutral), Some(line_earth), Some(neutral_earth)] => {
                    self.observe(
                        spot,
                        Level::Outlet,
                        Sign::Lamps {
                            line_neutral,
                            line_earth,
                            neutral_earth,
                        },
                        words,
                    );
                }
                lamps => {
                    let names = ["HN", "HG", "NG"];
                    let open: Vec<&str> = names
                        .into_iter()
                        .zip(lamps)
                        .filter(|(_, it)| it.is_none())
                        .map(|(it, _)| it)
                        .collect();
                    let what = format!("the lamps {} are not told", open.join(" and "));
                    self.problem(
                        &pattern.at,
                        what,
                        "say of each whether it is lit, dim or dark, or write \"others dark\"",
                    );
                }
            }
        }
        for it in &part.detected {
            let words = condition_with(&conditions, &it.it.2);
            self.observe(
                spot,
                Level::Outlet,
                Sign::Detector {
                    pin: it.it.0,
                    signals: it.it.1,
                },
                words,
            );
        }
        for it in &part.signs {
            let words = condition_with(&conditions, &it.it.2);
            self.observe(spot, it.it.1, it.it.0, words);
        }
    }

    /// A question has no results in it.
    fn refuse_told(&mut self, part: &Part) {
        let told = part.readings.iter().map(|it| &it.at);
        let told = told.chain(part.lamps.iter().map(|it| &it.at));
        let told = told.chain(part.detected.iter().map(|it| &it.at));
        let told: Vec<Span> = told
            .chain(part.signs.iter().map(|it| &it.at))
            .cloned()
            .collect();
        for at in told {
            self.problem(
                &at,
                "a result stands in a question",
                "name only the contacts or the instrument",
            );
        }
    }

    fn observe(&mut self, spot: Spot, level: Level, what: Sign, condition: Condition) {
        let at = match (level, spot) {
            (Level::Site, _) => Whereabouts::Site,
            (_, Spot::Panel(panel)) => Whereabouts::Panel(panel),
            (Level::Outlet, Spot::Outlet(outlet)) => Whereabouts::Outlet(outlet),
            (Level::Circuit, Spot::Outlet(outlet)) => {
                Whereabouts::Circuit(self.site.outlets[outlet.0].circuit)
            }
        };
        let id = format!("o{}", self.visit.observations.len() + 1);
        self.visit.observations.push(Observation {
            id,
            at,
            what,
            condition,
        });
    }

    fn reading(&mut self, told: &ReadingTold, shared: &ConditionTold, spot: Spot) {
        let corrects = match &told.corrects {
            Some(number) if (1..=self.visit.readings.len()).contains(&number.it) => {
                Some(ReadingIx(number.it - 1))
            }
            Some(number) => {
                let what = format!("there is no reading r{} before this one", number.it);
                let hint = match self.visit.readings.len() {
                    0 => "leave the correction out".to_owned(),
                    1 => "write r1".to_owned(),
                    n => format!("write one of r1 to r{n}"),
                };
                self.problem(&number.at, what, hint);
                return;
            }
            None => None,
        };
        let conditions = told.conditions.over(shared);
        let mut condition = self.condition(&conditions, spot, Some(&told.words));
        let mut input = conditions.input.as_ref().map_or(Input::NotTold, |it| it.it);
        // a correction was taken as what it corrects, unless it says otherwise
        if let Some(old) = corrects.and_then(|it| self.visit.readings.get(it.0))
            && conditions.is_empty()
        {
            input = old.input;
            condition = condition_with(&old.condition, &told.words);
        }
        let (Some(from), Some(to)) = (
            self.contact(&told.from, spot, corrects, Probe::From),
            self.contact(&told.to, spot, corrects, Probe::To),
        ) else {
            return;
        };
        // a case to the earth is its earth contact to something truly at earth
        let metal = [&told.from.end, &told.to.end].contains(&&End::Metal);
        let to = if metal && from == to {
            Contact::TrueEarth
        } else {
            to
        };
        let value = match &told.value {
            ValueTold::Volts(it) => Value::Volts(self.shown(it)),
            ValueTold::Hertz(it) => Value::Hertz(self.shown(it)),
            ValueTold::Amps(it) => Value::Amps(self.shown(it)),
            ValueTold::Ohms(it) => Value::Ohms(self.shown(it)),
        };
        if from == to && !matches!(value, Value::Amps(_)) {
            self.problem(
                &told.at,
                "both probes are at the same contact",
                "name two contacts, with their places where they are two",
            );
            return;
        }
        let id = format!("r{}", self.visit.readings.len() + 1);
        self.visit.readings.push(Reading {
            id,
            from,
            to,
            value,
            meter: self.meter,
            input,
            condition,
            corrects,
        });
    }

    /// With a meter named, a round number is what its display showed.
    fn shown<Q: Tellable>(&self, value: &Stated<Q>) -> Stated<Q> {
        if self.meter.is_some() {
            value.clone().with_display()
        } else {
            value.clone()
        }
    }

    fn contact(
        &mut self,
        told: &ContactTold,
        spot: Spot,
        corrects: Option<ReadingIx>,
        which: Probe,
    ) -> Option<Contact> {
        let spot = match &told.place {
            Some(name) => self.named(name)?,
            None => spot,
        };
        let words = &self.site.region.words;
        match (&told.end, spot) {
            (End::TrueEarth, _) => Some(Contact::TrueEarth),
            (End::Same, _) => {
                let corrected = self.visit.readings.get(corrects?.0)?;
                Some(match which {
                    Probe::From => corrected.from,
                    Probe::To => corrected.to,
                })
            }
            (End::Metal, Spot::Outlet(outlet)) => Some(Contact::Outlet(outlet, Pin::Earth)),
            (End::Metal, Spot::Panel(panel)) => Some(Contact::Panel(panel, Bar::Earth)),
            (End::Pin(pin), Spot::Outlet(outlet)) => Some(Contact::Outlet(outlet, *pin)),
            (End::Pin(Pin::Neutral), Spot::Panel(panel)) => {
                Some(Contact::Panel(panel, Bar::Neutral))
            }
            (End::Pin(Pin::Earth), Spot::Panel(panel)) => Some(Contact::Panel(panel, Bar::Earth)),
            (End::Pin(Pin::Line), Spot::Panel(panel)) => {
                let legs = &self.site.service.system.legs;
                if legs.len() == 1 {
                    return Some(Contact::Panel(panel, Bar::Leg(0)));
                }
                let hint = format!("name the leg, as \"{}-N\"", legs[0].name);
                self.problem(
                    &told.at,
                    format!("a panel has several {}s", words.line),
                    hint,
                );
                None
            }
            (End::Leg(name), Spot::Panel(panel)) => {
                let leg = self.leg(name);
                if leg.is_none() {
                    let legs = &self.site.service.system.legs;
                    let hint = format!("write {}", listed(legs.iter().map(|it| it.name.as_str())));
                    self.problem(
                        &told.at,
                        format!("{} has no leg \"{name}\"", self.site.service.system.id),
                        hint,
                    );
                }
                Some(Contact::Panel(panel, Bar::Leg(leg?)))
            }
            (End::Leg(name), Spot::Outlet(outlet)) => {
                let circuit = &self.site.circuits[self.site.outlets[outlet.0].circuit.0];
                match (self.leg(name), circuit.second_leg) {
                    (Some(leg), Some(second)) if leg == second => {
                        return Some(Contact::Outlet(outlet, Pin::Neutral));
                    }
                    (Some(leg), Some(_)) if leg == circuit.leg => {
                        return Some(Contact::Outlet(outlet, Pin::Line));
                    }
                    _ => {}
                }
                let what = format!("an outlet has no contact \"{name}\"");
                let hint = format!(
                    "write {}, {} or {}; legs are read at a panel: \"panel: A-N 121 V\"",
                    words.line, words.neutral, words.earth
                );
                self.problem(&told.at, what, hint);
                None
            }
        }
    }

    /// A leg by its own name, or by its place among the names that people use.
    fn leg(&self, name: &str) -> Option<usize> {
        let system = self.site.service.system;
        let usual = ["AXUR1", "BYVS2", "CZWT3"];
        let plain = name.trim_start_matches('L');
        let by_order = || {
            usual
                .iter()
                .position(|it| plain.len() == 1 && it.contains(plain))
        };
        system
            .leg(name)
            .or_else(by_order)
            .filter(|it| *it < system.legs.len())
    }

    fn spot(&mut self, place: Option<&Spanned<String>>, part: &Part) -> Option<Spot> {
        if let Some(name) = place {
            return self.named(name);
        }
        if let Some(here) = self.here {
            return Some(Spot::Outlet(here));
        }
        if self.site.outlets.len() == 1 {
            return Some(Spot::Outlet(OutletIx(0)));
        }
        let first = part
            .readings
            .iter()
            .map(|it| &it.at)
            .chain(part.lamps.iter().map(|it| &it.at));
        let at = first
            .chain(part.detected.iter().map(|it| &it.at))
            .chain(part.signs.iter().map(|it| &it.at))
            .min_by_key(|it| it.start);
        let at = at.cloned().unwrap_or_default();
        let hint = format!(
            "write its name and a colon before it: {}",
            listed(self.site.outlets.iter().map(|it| it.id.as_str()))
        );
        self.problem(&at, "it is not said at which outlet", hint);
        None
    }

    fn named(&mut self, name: &Spanned<String>) -> Option<Spot> {
        let site = self.site;
        let panel = site
            .panels
            .iter()
            .position(|it| same_name(&it.id, &name.it));
        let outlet = site
            .outlets
            .iter()
            .position(|it| same_name(&it.id, &name.it));
        let outlet = outlet.or_else(|| {
            site.outlets
                .iter()
                .position(|it| same_name(&it.label, &name.it))
        });
        if let Some(found) = outlet {
            return Some(Spot::Outlet(OutletIx(found)));
        }
        if panel.is_some() || phrase::is_panel(&name.it) {
            return Some(Spot::Panel(PanelIx(panel.unwrap_or(0))));
        }
        let names = || site.outlets.iter().map(|it| it.id.as_str());
        let hint = match nearest(&name.it, names()) {
            Some(meant) => format!("did you mean \"{meant}\"?"),
            None => format!("the site has {}", listed(names())),
        };
        self.problem(
            &name.at,
            format!("no outlet is called \"{}\"", name.it),
            hint,
        );
        None
    }

    fn condition(&mut self, told: &ConditionTold, spot: Spot, words: Option<&str>) -> Condition {
        let mut condition = Condition {
            remark: words.map(str::to_owned),
            ..Condition::default()
        };
        condition.time = told.time.as_ref().map(|it| it.it);
        if let Some(loads) = &told.loads {
            let (state, level) = loads.it;
            let scope = match (level, spot) {
                (Level::Outlet, Spot::Outlet(outlet)) => LoadScope::Outlet(outlet),
                (Level::Circuit, Spot::Outlet(outlet)) => {
                    LoadScope::Circuit(self.site.outlets[outlet.0].circuit)
                }
                (Level::Site, _) | (_, Spot::Panel(_)) => LoadScope::Site,
            };
            condition.loads.push(LoadsAt { scope, state });
        }
        let Spot::Outlet(outlet) = spot else {
            let of_an_outlet = told
                .test_load
                .as_ref()
                .map(|it| &it.at)
                .or(told.switch.as_ref().map(|it| &it.at));
            if let Some(at) = of_an_outlet.or(told.breaker.as_ref().map(|it| &it.at)) {
                self.problem(
                    &at.clone(),
                    "this condition is one of an outlet",
                    "name the outlet before it",
                );
            }
            return condition;
        };
        condition.test_load = told.test_load.as_ref().map(|it| (outlet, it.it));
        condition
            .switches
            .extend(told.switch.as_ref().map(|it| (outlet, it.it)));
        let circuit = self.site.outlets[outlet.0].circuit;
        condition
            .breakers
            .extend(told.breaker.as_ref().map(|it| (circuit, it.it)));
        condition
    }
}

/// Which probe.
#[derive(Clone, Copy)]
enum Probe {
    From,
    To,
}

fn condition_with(condition: &Condition, words: &str) -> Condition {
    Condition {
        remark: Some(words.to_owned()),
        ..condition.clone()
    }
}
