//! A reading on what is no rail: returns, the two control signals, sense pins, pins without use.

use metrology::{Conformity, Limits};

use super::super::limits::{limit_at, limit_of, span};
use super::{AGAIN, Found, MEND, Machine, Reader};
use crate::finding::{Limit, Verdict};
use crate::signal::{Signal, rails};
use crate::supply::Guide;

impl Reader<'_> {
    pub(super) fn com(&self) -> Found {
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

    pub(super) fn ps_on(&self) -> Found {
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
            _ if self.is_surely_above("ps-on.off") => {
                self.outside("ps-on.off", "higher than the supply may pull it up")
            }
            _ => self.between("ps-on.on", "ps-on.off", "neither on nor off"),
        }
    }

    pub(super) fn pwr_ok(&self) -> Found {
        let high = self.is_within("pwr-ok.highest");
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
                match self.is_above("pwr-ok.high") {
                    true => "pwr-ok.highest", // the rail it is pulled up from may be higher than 5 V
                    false => "pwr-ok.high",
                },
                "the supply says that its rails are good",
                "That is the supply's word, not a reading: read the rails as well.",
            ),
            _ if self.is_surely_above("pwr-ok.highest") => self.outside(
                "pwr-ok.highest",
                "higher than the rail that it is pulled up from may be",
            ),
            _ => self.between("pwr-ok.low", "pwr-ok.highest", "neither low nor high"),
        }
    }

    pub(super) fn sense(&self) -> Found {
        if self.is_within("com") {
            return self.good("tied to COM, as a cable does it", "com");
        }
        self.without_limit()
    }

    pub(super) fn unused(&self) -> Found {
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

    /// Neither surely at one level of a signal that has two nor at the other.
    fn between(&self, low: &str, high: &str, meaning: &str) -> Found {
        let (below, above) = (rails().level(low), rails().level(high));
        let room = Limits {
            lower: below.value.upper,
            upper: above.value.lower,
        };
        if Conformity::of(self.within(&room)) != Conformity::Conforms {
            let ends = room.lower.zip(room.upper);
            let nearer_high =
                ends.is_some_and(|(a, b)| self.measured.value - a > b - self.measured.value);
            let (level, key) = if nearer_high {
                (above, high)
            } else {
                (below, low)
            };
            return self.undecided(&level.value, key);
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

    /// The same, as surely as the meter tells.
    fn is_surely_above(&self, key: &str) -> bool {
        self.is_above(key) && self.keeps(key) == Conformity::Fails
    }

    /// Whether the value itself is above the upper end of a level.
    fn is_above(&self, key: &str) -> bool {
        let upper = rails().level(key).value.upper;
        upper.is_some_and(|it| self.measured.value > it)
    }
}
