//! A visit: readings and observations at a site, by one person with named meters.
//!
//! A reading is never edited: a correction is a new reading that names the old one.

use metrology::{Amps, Hertz, Meter, Ohms, Stated, Volts, Watts};

use crate::model::{CircuitIx, LoadIx, OutletIx, PanelIx};

/// One dated set of readings and observations.
#[derive(Clone, Debug)]
pub struct Visit {
    /// Name of the site it belongs to.
    pub site: String,
    /// Date as written (ISO 8601), where told.
    pub date: Option<jiff::civil::Date>,
    /// What the person may do.
    pub skill: Skill,
    /// Meters used, readings point here.
    pub meters: Vec<UsedMeter>,
    /// Readings in the order they were taken; corrected ones are still here.
    pub readings: Vec<Reading>,
    /// What was seen, heard, smelt, told.
    pub observations: Vec<Observation>,
    /// Checks the person said cannot be made, by check key (see `trace`).
    pub cannot: Vec<String>,
}

/// What a person may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Skill {
    /// Anybody: looks, listens, uses plug-in indicators.
    Anyone,
    /// Trained to put rated probes into an outlet's face.
    Technician,
    /// Licensed to work on fixed wiring.
    Electrician,
}

/// A meter brought along.
#[derive(Clone, Debug)]
pub struct UsedMeter {
    /// Identifier in files.
    pub id: String,
    /// What is known of it.
    pub meter: Meter,
}

/// Index of a reading in [`Visit::readings`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ReadingIx(pub usize);

/// A value across a named pair, at a place, under a condition, with a meter.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Identifier in files; made up (`r1`, `r2`, ...) where none is given.
    pub id: String,
    /// One probe.
    pub from: Contact,
    /// The other probe.
    pub to: Contact,
    /// What was read.
    pub value: Told,
    /// Which meter, an index into [`Visit::meters`].
    pub meter: Option<usize>,
    /// Which input of the meter.
    pub input: Input,
    /// What was switched on, plugged in, ... while reading.
    pub condition: Condition,
    /// The reading that this one corrects.
    pub corrects: Option<ReadingIx>,
}

/// What was read.
#[derive(Clone, Debug, PartialEq)]
pub enum Told {
    /// Alternating volts, r.m.s.
    Volts(Stated<Volts>),
    /// Frequency.
    Hertz(Stated<Hertz>),
    /// Current in the conductor of the first probe's pin (clamp on a cord or splitter).
    Amps(Stated<Amps>),
    /// Resistance, power off.
    Ohms(Stated<Ohms>),
}

/// A contact one can touch with a probe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Contact {
    /// A contact of an outlet, by its intended role.
    Outlet(OutletIx, Pin),
    /// A bar of a panel; only an electrician reads there, but old readings are taken.
    Panel(PanelIx, Bar),
    /// Something at true earth potential: a rod, a water pipe, damp ground.
    TrueEarth,
}

/// The contacts of an outlet by intended role.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Pin {
    /// Line; of a two-leg outlet the first.
    Line,
    /// Neutral; of a two-leg outlet the second line.
    Neutral,
    /// Earth.
    Earth,
}

/// The bars of a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Bar {
    /// A line, by leg.
    Leg(usize),
    /// Neutral.
    Neutral,
    /// Earth.
    Earth,
}

/// Which input of the meter was used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Input {
    /// The ordinary high-impedance input.
    Normal,
    /// The low-impedance input.
    LowImpedance,
    /// Nobody told.
    NotTold,
}

/// Under what circumstances something was read or seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Condition {
    /// What is told of the loads at places.
    pub loads: Vec<LoadsAt>,
    /// Known loads that were on or off.
    pub named: Vec<(LoadIx, Running)>,
    /// A test load plugged in at an outlet for this reading.
    pub test_load: Option<(OutletIx, Watts)>,
    /// Wall switch states.
    pub switches: Vec<(OutletIx, SwitchState)>,
    /// Breakers known open or closed while reading.
    pub breakers: Vec<(CircuitIx, SwitchState)>,
    /// Time of day as written, where told.
    pub time: Option<jiff::civil::Time>,
    /// The words, kept.
    pub remark: Option<String>,
}

/// What is told of all loads at a place or on a circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadsAt {
    /// Where.
    pub scope: LoadScope,
    /// On, off or unplugged.
    pub state: Running,
}

/// Where a statement about loads holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LoadScope {
    /// At this outlet.
    Outlet(OutletIx),
    /// On this circuit, all outlets.
    Circuit(CircuitIx),
    /// In the whole premises.
    Site,
}

/// What a load was doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Running {
    /// Switched on.
    On,
    /// Switched off, still plugged in: its filter hangs on the outlet.
    Off,
    /// Unplugged.
    Unplugged,
}

/// A switch or breaker.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SwitchState {
    /// Conducting.
    Closed,
    /// Not conducting.
    Open,
}

/// Something seen, heard, smelt or told.
#[derive(Clone, Debug, PartialEq)]
pub struct Observation {
    /// Identifier in files; made up where none is given.
    pub id: String,
    /// Where.
    pub at: Whereabouts,
    /// What.
    pub what: Sign,
    /// Under what condition.
    pub condition: Condition,
}

/// Where an observation was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Whereabouts {
    /// At an outlet.
    Outlet(OutletIx),
    /// On a circuit.
    Circuit(CircuitIx),
    /// At a panel.
    Panel(PanelIx),
    /// Premises.
    Site,
}

/// Is a lamp lit?
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Lamp {
    /// Lit.
    Lit,
    /// Glimmers.
    Dim,
    /// Dark.
    Dark,
}

/// The things that can be seen, heard, smelt or told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sign {
    /// A three-lamp plug-in tester: the lamps across line-neutral, line-earth and neutral-earth.
    Lamps {
        /// Across line and neutral.
        line_neutral: Lamp,
        /// Across line and earth.
        line_earth: Lamp,
        /// Across neutral and earth.
        neutral_earth: Lamp,
    },
    /// A non-contact detector held at a contact.
    Detector {
        /// Contact.
        pin: Pin,
        /// Whether it signals.
        signals: Signals,
    },
    /// A breaker is found open or opens.
    BreakerTripped,
    /// A residual-current (ground-fault) device is found open or opens.
    ResidualTripped,
    /// An arc-fault device is found open or opens.
    ArcTripped,
    /// The breaker was looked at and is closed.
    BreakerClosed,
    /// Nothing plugged in works.
    Dead,
    /// Things plugged in work as usual.
    Works,
    /// Buzzing, crackling.
    Buzzing,
    /// Warm or hot.
    Warm,
    /// Smell of burning, scorch marks.
    Burnt,
    /// Lights flicker, things restart.
    Flicker,
    /// Some lights brighten while others dim.
    Brightening,
    /// Lights dim when something starts.
    Dimming,
    /// Somebody felt a tingle or a shock.
    Shock,
    /// Plugs sit loosely.
    LoosePlug,
    /// Equipment burnt out or protectors died, several at once.
    EquipmentBurnt,
    /// Water or damp was there.
    Wet,
    /// After building or electrical work.
    AfterWorks,
    /// After a storm or an outage.
    AfterStorm,
    /// The wall switch of the outlet is off, or something switched changes it.
    SwitchMatters,
    /// The switch that feeds it (wall switch, timer, switch of a strip) was looked at and is off.
    SwitchOff,
    /// The switch that feeds it was looked at and is on, or there is none.
    SwitchOn,
    /// Old two-wire building, two-slot outlets replaced.
    OldWiring,
    /// The neutral was seen or found broken, cut, loose or off its terminal.
    NeutralBroken,
    /// The earth was seen or found open or missing.
    EarthMissing,
    /// A protector or a UPS says that the wiring of its outlet is wrong.
    FaultLight,
    /// A cable between machines at two outlets sparked, melted or got hot.
    CableSparks,
    /// How far the trouble reaches.
    Scope(Reach),
    /// Words that were not understood; they stand in the condition's remark.
    NotUnderstood(Tone),
}

/// What words speak of that are not understood.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tone {
    /// Nothing that is known to be bad.
    Plain,
    /// A shock, smoke, fire: until it is understood it counts as the worst that it may mean.
    Harm,
}

/// Whether a detector signals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Signals {
    /// It signals voltage.
    Yes,
    /// It stays quiet.
    No,
}

/// How far a trouble reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Reach {
    /// One contact of one outlet.
    Pin,
    /// One outlet.
    Outlet,
    /// Several outlets of one circuit.
    Circuit,
    /// One leg (half of the premises).
    Leg,
    /// One floor or panel.
    Floor,
    /// The whole premises.
    House,
    /// The neighbours as well.
    Street,
}
