//! One reading at a pin held against its limit, with the meter's own doubt.
//!
//! Conformance probability as JCGM 106, for each guide that the supply may be made by: `good` where the reading keeps the
//! limits of all of them, `defect` where it keeps those of none, else `undecided`, with what would decide it. Held by:
//! tests/pin.rs.

mod rail;
mod signals;

use metrology::{
    Conformity, Function, Limits, Measured, Meter, Shape, Stated, Volts, conformance,
    what_would_decide,
};

use super::limits::limit_at;
use super::{Connector, Pin};
use crate::finding::{Action, Finding, Limit, Use, Verdict, When, Who};
use crate::signal::{Signal, rails};
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
        if self.is_reversed() {
            return self.reversed();
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

    /// Whether the sign is surely another than this signal can have.
    fn is_reversed(&self) -> bool {
        let sign = match self.signal() {
            Signal::Com | Signal::Reserved => return false,
            Signal::Minus12 | Signal::Minus5 => -1.0,
            _ => 1.0,
        };
        self.measured.value.si() * sign < 0.0 && self.keeps("dead") == Conformity::Fails
    }

    fn reversed(&self) -> Found {
        Found {
            verdict: Verdict::Undecided,
            says: format!("{}: the sign is the wrong way round.", self.what()),
            limit: None,
            action: AGAIN,
            next: "The black lead belongs to COM and the red one to the pin: exchange them, count the pin again from number 1, \
                and read again."
                .to_owned(),
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

/// A probability in whole percent, never quite sure.
fn percent(p: f64) -> String {
    match p * 100.0 {
        it if it > 99.0 => "over 99 %".to_owned(),
        it if it < 1.0 => "under 1 %".to_owned(),
        it => format!("{it:.0} %"),
    }
}
