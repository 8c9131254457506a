//! Codes that let one phone in: each good once, for ten minutes, for five wrong tries.
//!
//! Of 10⁸ codes five tries find one with 5 × 10⁻⁸; at most [`MOST_WRONG`] tries an hour are looked at, whatever codes are
//! made meanwhile, so that trying for a year finds one with 20 × 8760 / 10⁸ = 0.2 %.

use std::collections::VecDeque;

use jiff::{SignedDuration, Timestamp};
use subtle::ConstantTimeEq;

/// So long a code is good.
pub const GOOD_FOR: SignedDuration = SignedDuration::from_mins(10);
/// So many wrong tries make it void.
pub const TRIES: u32 = 5;
/// So many wrong tries within an hour, over all codes, shut pairing until the hour is over.
pub const MOST_WRONG: usize = 20;
const HOUR: SignedDuration = SignedDuration::from_hours(1);
const N_DIGITS: usize = 8;

/// The code there is, and what was tried.
#[derive(Debug, Default)]
pub struct Pairing {
    state: State,
    /// When each wrong one of the last hour came.
    wrong: VecDeque<Timestamp>,
}

/// How it stands with the last code.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum State {
    /// None was made yet.
    #[default]
    None,
    /// It lets a phone in.
    Good(Code),
    /// It has let this phone in.
    Used(String),
    /// Its ten minutes are over.
    Late,
    /// Too many wrong ones came.
    Void,
}

/// A code that lets a phone in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Code {
    /// Eight digits.
    pub digits: String,
    /// When it was made.
    pub made: Timestamp,
    /// Wrong ones since.
    pub n_wrong: u32,
}

/// Why a code does not let in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum No {
    /// It is not the one; so many tries are left.
    Wrong(u32),
    /// There is none that could be it: used, late, void or never made.
    Gone,
    /// Too many wrong ones came within the hour.
    Shut,
}

impl Pairing {
    /// How it stands now.
    pub fn state(&mut self, now: Timestamp) -> &State {
        if let State::Good(code) = &self.state {
            // a clock that goes back ends it too
            let age = now.duration_since(code.made);
            if age >= GOOD_FOR || age < SignedDuration::ZERO {
                self.state = State::Late;
            }
        }
        &self.state
    }

    /// Whether so many wrong ones came within the hour that none is looked at.
    pub fn is_shut(&mut self, now: Timestamp) -> bool {
        self.wrong.retain(|it| now.duration_since(*it) < HOUR);
        self.wrong.len() >= MOST_WRONG
    }

    /// Another code out of chance; the one before is good no longer. None while pairing is shut.
    pub fn renew(&mut self, now: Timestamp, chance: u128) -> Option<&Code> {
        if self.is_shut(now) {
            return None;
        }
        // the low 62 bits of a random UUID are all random
        let number = (chance & ((1 << 62) - 1)) % 10u128.pow(N_DIGITS as u32);
        self.state = State::Good(Code {
            digits: format!("{number:0N_DIGITS$}"),
            made: now,
            n_wrong: 0,
        });
        match &self.state {
            State::Good(code) => Some(code),
            _ => None,
        }
    }

    /// Uses the code up if it is the one.
    pub fn take(&mut self, told: &str, by: &str, now: Timestamp) -> Result<(), No> {
        if self.is_shut(now) {
            return Err(No::Shut);
        }
        self.state(now);
        let State::Good(code) = &mut self.state else {
            return Err(No::Gone);
        };
        // spaces and dashes are how people read digits out
        let told: Vec<u8> = told
            .bytes()
            .filter(|it| !matches!(it, b' ' | b'-'))
            .take(N_DIGITS + 1)
            .collect();
        if bool::from(told.ct_eq(code.digits.as_bytes())) {
            self.state = State::Used(by.to_owned());
            return Ok(());
        }
        code.n_wrong += 1;
        let left = TRIES.saturating_sub(code.n_wrong);
        if left == 0 {
            self.state = State::Void;
        }
        self.wrong.push_back(now);
        Err(No::Wrong(left))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(seconds: i64) -> Timestamp {
        Timestamp::from_second(1_700_000_000 + seconds).expect("a time")
    }

    fn made(pairing: &mut Pairing, now: i64, chance: u128) -> String {
        pairing
            .renew(at(now), chance)
            .expect("not shut")
            .digits
            .clone()
    }

    #[test]
    fn a_code_is_good_once_and_however_it_is_spaced() {
        let mut pairing = Pairing::default();
        assert_eq!(pairing.take("00000000", "x", at(0)), Err(No::Gone));
        let code = made(&mut pairing, 0, 1234);
        assert_eq!(code, "00001234");
        assert_eq!(pairing.take("0000 12-34", "mine", at(1)), Ok(()));
        assert_eq!(pairing.state(at(1)), &State::Used("mine".to_owned()));
        assert_eq!(pairing.take(&code, "other", at(2)), Err(No::Gone));
    }

    #[test]
    fn a_code_ends_after_ten_minutes_when_the_clock_goes_back_and_with_the_next_one() {
        let mut pairing = Pairing::default();
        for late in [600, 100_000, -1] {
            let code = made(&mut pairing, 0, 7);
            assert_eq!(pairing.take(&code, "x", at(late)), Err(No::Gone), "{late}");
        }
        let code = made(&mut pairing, 0, 7);
        made(&mut pairing, 0, 8);
        assert_eq!(pairing.take(&code, "x", at(599)), Err(No::Wrong(4)));
        assert_eq!(pairing.take("00000008", "x", at(599)), Ok(()));
    }

    #[test]
    fn five_wrong_ones_make_it_void_and_twenty_shut_the_hour() {
        let mut pairing = Pairing::default();
        for round in 0..4 {
            let code = made(&mut pairing, round, 42);
            for left in (0..5).rev() {
                assert_eq!(pairing.take("1", "x", at(round)), Err(No::Wrong(left)));
            }
            assert_eq!(pairing.state(at(round)), &State::Void);
            let no = pairing.take(&code, "x", at(round));
            assert_eq!(no, Err(if round < 3 { No::Gone } else { No::Shut }));
        }
        assert!(pairing.renew(at(3599), 42).is_none());
        assert!(
            pairing.renew(at(3600), 42).is_some(),
            "the oldest wrong one is an hour old"
        );
    }

    #[test]
    fn prop_codes_are_eight_digits_whatever_chance_gives() {
        let mut pairing = Pairing::default();
        for it in [
            0,
            u128::MAX,
            1 << 62,
            (1 << 62) - 1,
            99_999_999,
            100_000_000,
        ] {
            let code = made(&mut pairing, 0, it);
            assert!(
                code.len() == 8 && code.bytes().all(|it| it.is_ascii_digit()),
                "{code}"
            );
        }
    }

    #[test]
    fn what_is_longer_or_no_digits_is_wrong() {
        let mut pairing = Pairing::default();
        for told in ["", "000012345", "00001234\0", "００００１２３４", "0x1234"] {
            made(&mut pairing, 0, 1234);
            assert!(
                matches!(pairing.take(told, "x", at(0)), Err(No::Wrong(4))),
                "{told}"
            );
        }
    }
}
