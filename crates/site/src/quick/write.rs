//! What was told, as the tables of a visit file; `file::read_visit` reads them back.

use metrology::{Function, Meter, Quantity};
use toml::{Table, Value};

use crate::model::Site;
use crate::visit::{
    Bar, Condition, Contact, Input, Lamp, LoadScope, Observation, Pin, Reach, Reading, Running,
    Sign, Signals, SwitchState, Told, Tone, UsedMeter, Visit, Whereabouts,
};

/// The part of a visit behind the first so many meters, readings and observations, as keys `meter`, `reading` and
/// `observation` of a visit file.
pub fn written(visit: &Visit, site: &Site, behind: Counts) -> Table {
    let mut file = Table::new();
    let meters = visit.meters.iter().skip(behind.meters).map(meter).collect();
    let readings = visit
        .readings
        .iter()
        .skip(behind.readings)
        .map(|it| reading(it, visit, site))
        .collect();
    let seen = visit
        .observations
        .iter()
        .skip(behind.observations)
        .map(|it| observation(it, site))
        .collect();
    for (key, list) in [
        ("meter", meters),
        ("reading", readings),
        ("observation", seen),
    ] {
        let list: Vec<Table> = list;
        if !list.is_empty() {
            file.insert(
                key.to_owned(),
                Value::Array(list.into_iter().map(Value::Table).collect()),
            );
        }
    }
    file
}

/// How much of a visit is written already.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Meters.
    pub meters: usize,
    /// Readings.
    pub readings: usize,
    /// Observations.
    pub observations: usize,
}

impl Counts {
    /// All of a visit.
    pub fn of(visit: &Visit) -> Counts {
        Counts {
            meters: visit.meters.len(),
            readings: visit.readings.len(),
            observations: visit.observations.len(),
        }
    }
}

fn table<const N: usize>(pairs: [(&str, String); N]) -> Table {
    pairs
        .into_iter()
        .map(|(key, text)| (key.to_owned(), Value::String(text)))
        .collect()
}

fn meter(it: &UsedMeter) -> Table {
    let mut table = table([("id", it.id.clone())]);
    let class = it
        .meter
        .class
        .as_deref()
        .filter(|class| Meter::class(class).is_some());
    if let Some(class) = class {
        table.insert("class".to_owned(), class.into());
    }
    let base = class
        .and_then(Meter::class)
        .unwrap_or_else(|| Meter::unknown());
    let accuracy = it
        .meter
        .ranges(Function::AcVolts)
        .first()
        .map(|it| it.accuracy);
    if accuracy != base.ranges(Function::AcVolts).first().map(|it| it.accuracy) {
        table.extend(accuracy.map(|it| ("ac_volts".to_owned(), it.to_string().into())));
    }
    let input = it.meter.input();
    if input != base.input() {
        let both = [
            ("resistance", input.resistance.exact()),
            ("capacitance", input.capacitance.exact()),
        ];
        table.insert("input".to_owned(), Value::Table(self::table(both)));
    }
    table
}

fn reading(it: &Reading, visit: &Visit, site: &Site) -> Table {
    let value = match &it.value {
        Told::Volts(it) => it.text.clone(),
        Told::Hertz(it) => it.text.clone(),
        Told::Amps(it) => it.text.clone(),
        Told::Ohms(it) => it.text.clone(),
    };
    let mut table = table([("id", it.id.clone())]);
    let mut put = |key: &str, text: String| table.insert(key.to_owned(), Value::String(text));
    match (it.from, it.to) {
        (Contact::Outlet(a, from), Contact::Outlet(b, to)) if a == b && from != to => {
            put("at", format!("outlet:{}", site.outlets[a.0].id));
            put("pair", format!("{}-{}", pin(from), pin(to)));
        }
        (from, to) if from == to => {
            put("conductor", contact(from, site));
        }
        (from, to) => {
            put("from", contact(from, site));
            put("to", contact(to, site));
        }
    }
    put("value", value);
    if let Some(meter) = it.meter.and_then(|it| visit.meters.get(it)) {
        put("meter", meter.id.clone());
    }
    match it.input {
        Input::Normal => drop(put("input", "normal".to_owned())),
        Input::LowImpedance => drop(put("input", "low impedance".to_owned())),
        Input::NotTold => {}
    }
    if let Some(old) = it.corrects.and_then(|it| visit.readings.get(it.0)) {
        put("corrects", old.id.clone());
    }
    with_condition(&mut table, &it.condition, site);
    table
}

fn observation(it: &Observation, site: &Site) -> Table {
    let at = match it.at {
        Whereabouts::Outlet(it) => format!("outlet:{}", site.outlets[it.0].id),
        Whereabouts::Circuit(it) => format!("circuit:{}", site.circuits[it.0].id),
        Whereabouts::Panel(it) => format!("panel:{}", site.panels[it.0].id),
        Whereabouts::Site => "site".to_owned(),
    };
    let mut table = table([("id", it.id.clone()), ("at", at)]);
    let (key, what) = sign(it.what);
    table.insert(key.to_owned(), what);
    with_condition(&mut table, &it.condition, site);
    table
}

fn contact(contact: Contact, site: &Site) -> String {
    match contact {
        Contact::Outlet(outlet, it) => format!("outlet:{} {}", site.outlets[outlet.0].id, pin(it)),
        Contact::Panel(panel, bar) => {
            let legs = &site.service.system.legs;
            let bar = match bar {
                Bar::Leg(leg) => legs.get(leg).map_or("line", |it| it.name.as_str()),
                Bar::Neutral => "neutral",
                Bar::Earth => "earth",
            };
            format!("panel:{} {bar}", site.panels[panel.0].id)
        }
        Contact::TrueEarth => "true earth".to_owned(),
    }
}

fn pin(pin: Pin) -> &'static str {
    match pin {
        Pin::Line => "line",
        Pin::Neutral => "neutral",
        Pin::Earth => "earth",
    }
}

fn with_condition(table: &mut Table, condition: &Condition, site: &Site) {
    let mut told = Table::new();
    let mut put = |key: &str, states: Vec<(String, &str)>| {
        if !states.is_empty() {
            let states: Table = states
                .into_iter()
                .map(|(place, state)| (place, state.into()))
                .collect();
            told.insert(key.to_owned(), Value::Table(states));
        }
    };
    let outlet = |it: usize| format!("outlet:{}", site.outlets[it].id);
    let circuit = |it: usize| format!("circuit:{}", site.circuits[it].id);
    let scoped = condition.loads.iter().map(|it| {
        let scope = match it.scope {
            LoadScope::Outlet(it) => outlet(it.0),
            LoadScope::Circuit(it) => circuit(it.0),
            LoadScope::Site => "site".to_owned(),
        };
        (scope, running(it.state))
    });
    let named = condition
        .named
        .iter()
        .map(|(load, state)| (format!("load:{}", site.loads[load.0].id), running(*state)));
    put("loads", scoped.chain(named).collect());
    put(
        "switch",
        condition
            .switches
            .iter()
            .map(|(it, state)| (outlet(it.0), switch(*state)))
            .collect(),
    );
    put(
        "breaker",
        condition
            .breakers
            .iter()
            .map(|(it, state)| (circuit(it.0), switch(*state)))
            .collect(),
    );
    if let Some((at, power)) = condition.test_load {
        told.insert(
            "test_load".to_owned(),
            Value::Table(self::table([
                ("at", outlet(at.0)),
                ("power", power.exact()),
            ])),
        );
    }
    if let Some(time) = condition.time {
        told.insert("time".to_owned(), time.strftime("%H:%M").to_string().into());
    }
    if let Some(remark) = &condition.remark {
        told.insert("remark".to_owned(), remark.as_str().into());
    }
    if !told.is_empty() {
        table.insert("condition".to_owned(), Value::Table(told));
    }
}

fn running(state: Running) -> &'static str {
    match state {
        Running::On => "on",
        Running::Off => "off",
        Running::Unplugged => "unplugged",
    }
}

fn switch(state: SwitchState) -> &'static str {
    match state {
        SwitchState::Closed => "closed",
        SwitchState::Open => "open",
    }
}

/// Key and value of an observation; the words are those of the visit file, held by a test that reads them back.
fn sign(sign: Sign) -> (&'static str, Value) {
    let lamp = |it: Lamp| match it {
        Lamp::Lit => "lit",
        Lamp::Dim => "dim",
        Lamp::Dark => "dark",
    };
    let word = match sign {
        Sign::Lamps {
            line_neutral,
            line_earth,
            neutral_earth,
        } => {
            let lamps = [
                ("line-neutral", line_neutral),
                ("line-earth", line_earth),
                ("neutral-earth", neutral_earth),
            ];
            return (
                "lamps",
                Value::Table(table(lamps.map(|(pair, it)| (pair, lamp(it).to_owned())))),
            );
        }
        Sign::Detector { pin: it, signals } => {
            let signals = if signals == Signals::Yes { "yes" } else { "no" };
            return (
                "detector",
                Value::Table(table([
                    ("contact", pin(it).to_owned()),
                    ("signals", signals.to_owned()),
                ])),
            );
        }
        Sign::Scope(reach) => {
            let far = match reach {
                Reach::Pin => "pin",
                Reach::Outlet => "outlet",
                Reach::Circuit => "circuit",
                Reach::Leg => "leg",
                Reach::Floor => "floor",
                Reach::House => "house",
                Reach::Street => "street",
            };
            return ("scope", far.into());
        }
        Sign::BreakerTripped => "breaker-tripped",
        Sign::ResidualTripped => "residual-tripped",
        Sign::ArcTripped => "arc-tripped",
        Sign::BreakerClosed => "breaker-closed",
        Sign::Dead => "dead",
        Sign::Works => "works",
        Sign::Buzzing => "buzzing",
        Sign::Warm => "warm",
        Sign::Burnt => "burnt",
        Sign::Flicker => "flicker",
        Sign::Brightening => "brightening",
        Sign::Dimming => "dimming",
        Sign::Shock => "shock",
        Sign::LoosePlug => "loose-plug",
        Sign::EquipmentBurnt => "equipment-burnt",
        Sign::Wet => "wet",
        Sign::AfterWorks => "after-works",
        Sign::AfterStorm => "after-storm",
        Sign::SwitchMatters => "switch-matters",
        Sign::SwitchOff => "switch-off",
        Sign::SwitchOn => "switch-on",
        Sign::OldWiring => "old-wiring",
        Sign::NeutralBroken => "neutral-broken",
        Sign::EarthMissing => "earth-missing",
        Sign::FaultLight => "fault-light",
        Sign::CableSparks => "cable-sparks",
        Sign::NotUnderstood(Tone::Plain) => "not-understood",
        Sign::NotUnderstood(Tone::Harm) => "harm-not-understood",
    };
    ("sees", word.into())
}
