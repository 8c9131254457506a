//! A reading on a rail: against the limits of each guide, or off as it should be.

use metrology::{Conformity, Limits, Sourced, Volts};

use super::super::limits::{limit_at, limit_of};
use super::{AGAIN, Found, MEND, Machine, NOTHING, OUT, Reader, percent};
use crate::finding::Verdict;
use crate::signal::{Rail, Signal, guide_name, rails};
use crate::supply::Guide;

impl Reader<'_> {
    pub(super) fn rail(&self) -> Found {
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
}

/// The guides that set these limits.
fn named(rail: &Rail) -> String {
    let names: Vec<&str> = rail.guides.iter().map(|it| guide_name(*it)).collect();
    names.join(" and ")
}
