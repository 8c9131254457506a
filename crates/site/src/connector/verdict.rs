//! One reading at a pin held against its limit, with the meter's own doubt.
//!
//! Conformance probability as JCGM 106, for each guide that the supply may be made by: `good` where the reading keeps the
//! limits of all of them, `defect` where it keeps those of none, else `undecided`, with what would decide it.

use metrology::{
    Conformity, Function, Limits, Measured, Meter, Shape, Sourced, Stated, Volts, conformance,
    what_would_decide,
};

use super::limits::{limit_at, limit_of, span};
use super::{Connector, Pin};
use crate::finding::{Action, Finding, Limit, Use, Verdict, When, Who};
use crate::signal::{Rail, Signal, guide_name, rails};
use crate::supply::Guide;

/// Stands with everything that leads to a probe in an open machine.
pub const CAUTION: &str = "Only the extra-low-voltage side of an open machine: side panel off, rings, watch and bracelets \
    off, dry hands. Clip one lead to a black wire or the bare case first, and touch with the other alone. Unplug the cord \
    and wait before a connector is plugged or unplugged. A power supply is never opened, and PS_ON# is never bridged by \
    hand. Local codes and licensed practice come first.";

/// What the machine did while it was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Machine {
    /// It was asked to run.
    On,
    /// The cord was live and it was off.
    Standby,
    /// The cord was out, or the supply's own switch off.
    Unplugged,
}

/// A reading at a pin, against COM.
#[derive(Clone, Debug)]
pub struct AtPin {
    /// Which connector.
    pub connector: &'static Connector,
    /// Which of its pins.
    pub pin: &'static Pin,
    /// What was read.
    pub value: Stated<Volts>,
    /// With which meter; none where it was not told.
    pub meter: Option<Meter>,
    /// What the machine did.
    pub machine: Option<Machine>,
    /// By which guide the supply is made.
    pub guide: Option<Guide>,
}

/// A finding on a reading at a pin, and what comes next.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The finding.
    pub finding: Finding,
    /// What to do or read next.
    pub next: String,
}

const NOTHING: Action = action(Use::Yes, Who::Nobody, When::None);
const AGAIN: Action = action(Use::Yes, Who::Technician, When::Plan);
const MEND: Action = action(Use::Restricted, Who::Technician, When::Soon);
const OUT: Action = action(Use::Stop, Who::Technician, When::Now);

const fn action(use_: Use, who: Who, when: When) -> Action {
    Action { use_, who, when }
}

/// What was found, before it is put together.
struct Found {
    verdict: Verdict,
    says: String,
    limit: Option<Limit>,
    action: Action,
    next: String,
}

/// The finding on a reading.
pub fn judged(reading: &AtPin) -> Judged {
    let found = Reader::of(reading).found();
    let AtPin { connector, pin, .. } = reading;
    let mut evidence = vec![format!(
        "{}, pin {} ({}, {}): {}",
        connector.name,
        pin.number,
        pin.carries(),
        pin.colour,
        reading.value
    )];
    evidence.push(match &reading.meter {
        Some(it) => format!("meter: {}", it.name),
        None => "no meter is named: the widest of ordinary ones is taken".to_owned(),
    });
    Judged {
        finding: Finding {
            element: format!("pin:{}/{}", connector.id, pin.number),
            verdict: found.verdict,
            statement: found.says,
            evidence,
            limit: found.limit,
            action: found.action,
            caution: format!("{} {CAUTION}", connector.caution),
        },
        next: found.next,
    }
}

struct Reader<'r> {
    reading: &'r AtPin,
    measured: Measured<Volts>,
}

impl<'r> Reader<'r> {
    fn of(reading: &'r AtPin) -> Self {
        let stated = match reading.meter {
            Some(_) => reading.value.clone().with_display(),
            None => reading.value.clone(),
        };
        let meter = reading.meter.as_ref().unwrap_or(Meter::unknown());
        let own = metrology::doubt(meter, Function::DcVolts, stated.value.si()).alone();
        let u = own.hypot(stated.standard_u().si());
        let measured = Measured {
            value: stated.value,
            u: Volts::from_si(u),
        };
        Reader { reading, measured }
    }

    fn signal(&self) -> Signal {
        self.reading.pin.signal
    }

    fn what(&self) -> String {
        let Reader { reading, .. } = self;
        format!(
            "{} at pin {} is {}",
            self.signal(),
            reading.pin.number,
            reading.value
        )
    }

    fn within(&self, limits: &Limits<Volts>) -> f64 {
        conformance(&self.measured, limits, Shape::Normal)
    }

    fn keeps(&self, key: &str) -> Conformity {
        Conformity::of(self.within(&rails().level(key).value))
    }

    fn is_within(&self, key: &str) -> bool {
        self.keeps(key) == Conformity::Conforms
    }

    fn found(&self) -> Found {
        if self.keeps("extra-low") != Conformity::Conforms {
            return self.not_extra_low();
        }
        match self.signal() {
            Signal::Com => self.com(),
            Signal::PsOn => self.ps_on(),
            Signal::PwrOk => self.pwr_ok(),
            Signal::Sense | Signal::Sense0 | Signal::Sense1 => self.sense(),
            Signal::CardStable | Signal::CardCable | Signal::SpinUp => self.without_limit(),
            Signal::Disable | Signal::Reserved => self.unused(),
            _ => self.rail(),
        }
    }

    fn not_extra_low(&self) -> Found {
        Found {
            verdict: Verdict::Danger,
            says: format!("{}: nothing in there has so much.", self.what()),
            limit: Some(limit_at("extra-low")),
            action: OUT,
            next: "Let go, pull the plug at the outlet and touch nothing else. If the meter was set to alternating volts or \
                to another range, read again; if not, dangerous voltage may have reached the low side: the machine stays \
                unplugged, the supply is replaced, never opened, and the outlet is looked at."
                .to_owned(),
        }
    }

    fn com(&self) -> Found {
        match self.keeps("com") {
            Conformity::Conforms => self.good("a sound return", "com"),
            Conformity::Undecided => self.undecided(&rails().level("com").value, "com"),
            Conformity::Fails => Found {
                verdict: Verdict::Defect,
                says: format!("{}: two returns differ by more than a sound contact loses.", self.what()),
                limit: Some(limit_at("com")),
                action: MEND,
                next: "Clip the lead to another black wire or the bare case and read again. If it stays: unplug, look at the \
                    contact and its wire, seat the plug to its stop."
                    .to_owned(),
            },
        }
    }

    fn ps_on(&self) -> Found {
        let (low, high) = (self.is_within("ps-on.on"), self.is_within("ps-on.off"));
        let told = self.reading.machine;
        match (low, high, told) {
            (true, _, Some(Machine::Standby)) => Found {
                verdict: Verdict::Defect,
                says: format!("{}: it is held low, the supply is asked to run although the machine is told as off.", self.what()),
                limit: Some(limit_at("ps-on.on")),
                action: MEND,
                next: "Read the rails: if they are off too, the supply does not obey or its protection has latched. Unplug, wait, \
                    and look for a stuck power button or its plug on the board."
                    .to_owned(),
            },
            (true, ..) => self.level(
                "ps-on.on",
                "the board asks for the rails",
                "Read +12 V, +5 V and +3.3 V, then PWR_OK: they have to be there within half a second.",
            ),
            (_, true, Some(Machine::On)) => Found {
                verdict: Verdict::Defect,
                says: format!("{}: nobody asks the supply to run.", self.what()),
                limit: Some(limit_at("ps-on.off")),
                action: MEND,
                next: "With standby alive the supply is not the suspect: look at the power button, its plug on the board, and the \
                    board."
                    .to_owned(),
            },
            (_, true, Some(Machine::Standby)) if self.keeps("ps-on.usual-off") == Conformity::Fails => Found {
                verdict: Verdict::Advice,
                says: format!("{}: off, but lower than usual.", self.what()),
                limit: Some(limit_at("ps-on.usual-off")),
                action: AGAIN,
                next: "Read +5 VSB: a weak standby pulls it down. With the board connector unplugged (cord out first) read it \
                    again at the plug: if it is higher there, the board pulls."
                    .to_owned(),
            },
            (_, true, _) => self.level(
                "ps-on.off",
                "the supply is told to stay off",
                "Hold the power button and read again: it has to fall below 0.8 V.",
            ),
            _ if self.measured.value > rails().level("ps-on.off").value.upper.unwrap_or(self.measured.value) => {
                self.outside("ps-on.off", "higher than the supply may pull it up")
            }
            _ => self.between("ps-on.on", "ps-on.off", "neither on nor off"),
        }
    }

    fn pwr_ok(&self) -> Found {
        let bounds = Limits {
            lower: rails().level("pwr-ok.high").value.lower,
            upper: rails().level("pwr-ok.highest").value.upper,
        };
        let high = Conformity::of(self.within(&bounds)) == Conformity::Conforms;
        let low = self.is_within("pwr-ok.low");
        match (low, high, self.reading.machine) {
            (true, _, Some(Machine::On)) => Found {
                verdict: Verdict::Defect,
                says: format!("{}: the supply does not say that its rails are good, and the board waits for that.", self.what()),
                limit: Some(limit_at("pwr-ok.high")),
                action: MEND,
                next: "Read each rail: one out of its limits explains it. With all of them good the supply, or what pulls this \
                    wire low, is at fault."
                    .to_owned(),
            },
            (true, ..) => self.level(
                "pwr-ok.low",
                "the rails are not reported as good",
                "Right while the machine is off. With it on, PWR_OK has to rise within half a second.",
            ),
            (_, true, Some(Machine::Standby | Machine::Unplugged)) => Found {
                verdict: Verdict::Defect,
                says: format!("{}: it says that the rails are good although the machine is told as off.", self.what()),
                limit: Some(limit_at("pwr-ok.low")),
                action: MEND,
                next: "Read the rails: if they are there, the machine was not off. If not, the signal is early or false: replace \
                    the supply."
                    .to_owned(),
            },
            (_, true, _) => self.level(
                "pwr-ok.high",
                "the supply says that its rails are good",
                "That is the supply's word, not a reading: read the rails as well.",
            ),
            _ if bounds.upper.is_some_and(|it| self.measured.value > it) => {
                self.outside("pwr-ok.highest", "higher than the rail that it is pulled up from may be")
            }
            _ => self.between("pwr-ok.low", "pwr-ok.high", "neither low nor high"),
        }
    }

    fn sense(&self) -> Found {
        if self.is_within("com") {
            return self.good("tied to COM, as a cable does it", "com");
        }
        self.without_limit()
    }

    fn unused(&self) -> Found {
        if self.is_within("dead") {
            return self.good("nothing is there, as it should be", "dead");
        }
        let formerly = self.reading.pin.formerly;
        let older = formerly.and_then(|it| rails().rail(it, Guide::One));
        match older {
            Some(rail) if Conformity::of(self.within(&rail.limits.value)) == Conformity::Conforms => Found {
                verdict: Verdict::Advice,
                says: format!("{}: an older supply, which has {} here.", self.what(), rail.signal),
                limit: Some(limit_of(&rail.limits)),
                action: AGAIN,
                next: match self.signal() {
                    Signal::Disable => "A drive that obeys this contact does not start on it: use a cable without +3.3 V.",
                    _ => "Nothing, if the board is as old; a newer one leaves the pin empty.",
                }
                .to_owned(),
            },
            _ => self.without_limit(),
        }
    }

    fn without_limit(&self) -> Found {
        Found {
            verdict: Verdict::Undecided,
            says: format!(
                "{}: no guide gives this signal a limit in volts, so nothing follows.",
                self.what()
            ),
            limit: None,
            action: AGAIN,
            next: "Read a rail of the same connector instead.".to_owned(),
        }
    }

    fn rail(&self) -> Found {
        let standby = matches!(self.signal(), Signal::Standby5 | Signal::Standby12);
        match self.reading.machine {
            Some(Machine::Unplugged) => return self.off(
                "without the cord",
                "Charge is left: wait a minute with the cord out, press the power button once, read again.",
            ),
            Some(Machine::Standby) if !standby => return self.off(
                "while the machine is off",
                "Unplug devices with supplies of their own (displays, hubs) one by one and read again: they can feed back. \
                 If it stays, the supply does not turn off.",
            ),
            Some(Machine::On | Machine::Standby) | None => {}
        }
        let asked = |guide: &Guide| rails().rail(self.signal(), *guide);
        let guides: &[Guide] = match &self.reading.guide {
            Some(it) => std::slice::from_ref(it),
            None => &self.reading.connector.guides,
        };
        let limits: Vec<&Rail> = guides.iter().filter_map(asked).collect();
        let Some(strict) = self.strictest(&limits) else {
            return self.without_limit();
        };
        if self.measured.value.si() * strict.nominal.si() < 0.0 && !self.is_within("dead") {
            return Found {
                verdict: Verdict::Undecided,
                says: format!("{}: the sign is the wrong way round.", self.what()),
                limit: Some(limit_of(&strict.limits)),
                action: AGAIN,
                next: "The black lead belongs to COM and the red one to the pin: exchange them, count the pin again from \
                    number 1, and read again."
                    .to_owned(),
            };
        }
        if self.keeps("dead") != Conformity::Fails {
            return self.missing(strict, standby);
        }
        self.against(&limits, strict)
    }

    /// The rail whose limits the reading is least likely to keep.
    fn strictest<'a>(&self, limits: &[&'a Rail]) -> Option<&'a Rail> {
        let kept = |it: &&&Rail| self.within(&it.limits.value);
        limits
            .iter()
            .min_by(|a, b| kept(a).total_cmp(&kept(b)))
            .copied()
    }

    fn against(&self, limits: &[&Rail], strict: &Rail) -> Found {
        let conformity = |it: &&&Rail| Conformity::of(self.within(&it.limits.value));
        let all = |wanted| limits.iter().all(|it| conformity(&it) == wanted);
        let p = percent(self.within(&strict.limits.value));
        let what = self.what();
        if all(Conformity::Conforms) {
            return Found {
                verdict: Verdict::Good,
                says: format!("{what}: within its limits ({p})."),
                limit: Some(limit_of(&strict.limits)),
                action: NOTHING,
                next: "Read it again while the machine works hard: a rail that is good at rest can sag under load.".to_owned(),
            };
        }
        if !all(Conformity::Fails) {
            let kept = limits
                .iter()
                .find(|it| conformity(it) == Conformity::Conforms);
            if let Some(kept) = kept {
                return Found {
                    verdict: Verdict::Undecided,
                    says: format!(
                        "{what}: within the limits of {}, but not surely within those of {} ({p}).",
                        named(kept),
                        named(strict)
                    ),
                    limit: Some(limit_of(&strict.limits)),
                    action: AGAIN,
                    next: "See on the supply's label or papers by which guide it is made, and write it behind the reading, as \
                        \"atx 2.4\" or \"atx 3.0\"."
                        .to_owned(),
                };
            }
            return self.undecided_at(&strict.limits.value, limit_of(&strict.limits));
        }
        let lenient = limits.iter().max_by(|a, b| {
            let kept = |it: &Rail| self.within(&it.limits.value);
            kept(a).total_cmp(&kept(b))
        });
        let limits = lenient.map_or(&strict.limits, |it| &it.limits);
        let strong = self.measured.value.abs() > strict.nominal.abs();
        if strong {
            self.high(limits)
        } else {
            Found {
                verdict: Verdict::Defect,
                says: format!("{what}: below its limits, so what hangs on it may restart, hang or lose data."),
                limit: Some(limit_of(limits)),
                action: MEND,
                next: "Read the same rail at another connector: if it is good there, this plug, its contact or its cable is \
                    poor; if it is as low everywhere, the supply is overloaded or worn. Replace it then, never open it."
                    .to_owned(),
            }
        }
    }

    fn high(&self, limits: &Sourced<Limits<Volts>>) -> Found {
        let trip = rails().trip(self.signal());
        let tripped = trip.filter(|it| {
            it.value
                .lower
                .is_some_and(|lower| self.measured.value >= lower)
        });
        let (limit, why) = match tripped {
            Some(it) => (
                limit_of(it),
                "so high that the supply should have shut down",
            ),
            None => (
                limit_of(limits),
                "above its limits, and can harm what hangs on it",
            ),
        };
        Found {
            verdict: Verdict::Defect,
            says: format!("{}: {why}.", self.what()),
            limit: Some(limit),
            action: OUT,
            next: "Shut the machine down, pull its plug, and replace the supply; it is never opened. Read the rails of the new \
                one before drives are connected."
                .to_owned(),
        }
    }

    fn missing(&self, rail: &Rail, standby: bool) -> Found {
        if !standby && self.reading.machine.is_none() {
            return Found {
                verdict: Verdict::Undecided,
                says: format!("{}: it is off or missing, and it was not told whether the machine was on.", self.what()),
                limit: Some(limit_of(&rail.limits)),
                action: AGAIN,
                next: "Write \"machine on\" or \"standby\" behind the reading. With PS_ON# below 0.8 V the rail has to be there."
                    .to_owned(),
            };
        }
        let next = if standby {
            "Read the outlet, the cord and the supply's own switch and voltage selector first; then standby again with the board \
             connector out (cord out before it is unplugged). If it is dead there too, the supply is; it is replaced, never \
             opened."
        } else {
            "Read PS_ON#: above 2 V nobody asks the supply to run. Below 0.8 V its protection may have latched: unplug, wait a \
             minute, and try with drives and cards unplugged."
        };
        Found {
            verdict: Verdict::Defect,
            says: format!("{}: the rail is missing.", self.what()),
            limit: Some(limit_of(&rail.limits)),
            action: MEND,
            next: next.to_owned(),
        }
    }

    /// A rail that has to be off.
    fn off(&self, when: &str, next: &str) -> Found {
        match self.keeps("dead") {
            Conformity::Conforms => self.good(&format!("off {when}, as it should be"), "dead"),
            Conformity::Undecided => self.undecided(&rails().level("dead").value, "dead"),
            Conformity::Fails => Found {
                verdict: Verdict::Advice,
                says: format!("{}: something is left on it {when}.", self.what()),
                limit: Some(limit_at("dead")),
                action: AGAIN,
                next: next.to_owned(),
            },
        }
    }

    fn good(&self, meaning: &str, key: &str) -> Found {
        self.level(key, meaning, "Nothing at this pin.")
    }

    fn level(&self, key: &str, meaning: &str, next: &str) -> Found {
        Found {
            verdict: Verdict::Good,
            says: format!("{}: {meaning}.", self.what()),
            limit: Some(limit_at(key)),
            action: NOTHING,
            next: next.to_owned(),
        }
    }

    fn outside(&self, key: &str, meaning: &str) -> Found {
        Found {
            verdict: Verdict::Defect,
            says: format!("{}: {meaning}.", self.what()),
            limit: Some(limit_at(key)),
            action: OUT,
            next:
                "Read +5 V and +5 VSB: if they are high too, pull the plug and replace the supply."
                    .to_owned(),
        }
    }

    /// Between the levels of a signal that has two.
    fn between(&self, low: &str, high: &str, meaning: &str) -> Found {
        let (below, above) = (rails().level(low), rails().level(high));
        let room = Limits {
            lower: below.value.upper,
            upper: above.value.lower,
        };
        if Conformity::of(self.within(&room)) != Conformity::Conforms {
            return self.undecided_at(&room, limit_of(above));
        }
        Found {
            verdict: Verdict::Defect,
            says: format!("{}: {meaning}; a signal does not rest there.", self.what()),
            limit: Some(Limit {
                says: format!("{}, or {}", span(&below.value), span(&above.value)),
                source: above.source.to_string(),
                basis: above.basis,
            }),
            action: MEND,
            next: "Read +5 VSB, then this pin again with the board connector out (cord out before it is unplugged): if it is \
                right at the plug, the board or the button pulls; if not, the supply is at fault."
                .to_owned(),
        }
    }

    fn undecided(&self, limits: &Limits<Volts>, key: &str) -> Found {
        self.undecided_at(limits, limit_at(key))
    }

    fn undecided_at(&self, limits: &Limits<Volts>, limit: Limit) -> Found {
        let meter = self.reading.meter.as_ref().unwrap_or(Meter::unknown());
        let would = what_would_decide(self.measured.value, limits, meter, Function::DcVolts);
        let next = match (would.range, would.meter) {
            (Some(_), _) => {
                "Read it again to the last digit, on the smallest range that holds it.".to_owned()
            }
            (None, Some(it)) => {
                format!("A {} would decide it, if it shows about the same.", it.name)
            }
            (None, None) => {
                "No meter decides it there: read it again under another load.".to_owned()
            }
        };
        Found {
            verdict: Verdict::Undecided,
            says: format!(
                "{}: within its limits with {} only, as it is too close to one (standard uncertainty {}).",
                self.what(),
                percent(self.within(limits)),
                Volts::from_si(self.measured.u.si())
            ),
            limit: Some(limit),
            action: AGAIN,
            next,
        }
    }
}

/// The guides that set these limits.
fn named(rail: &Rail) -> String {
    let names: Vec<&str> = rail.guides.iter().map(|it| guide_name(*it)).collect();
    names.join(" and ")
}

/// A probability in whole percent, never quite sure.
fn percent(p: f64) -> String {
    match p * 100.0 {
        it if it > 99.0 => "over 99 %".to_owned(),
        it if it < 1.0 => "under 1 %".to_owned(),
        it => format!("{it:.0} %"),
    }
}
