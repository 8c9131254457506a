//! Phones that may come in: paired with a code, known by a token, shut out by one touch.

use std::collections::HashMap;
use std::sync::{Mutex, OnceLock, PoisonError};
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use sha2::{Digest, Sha256};
use store::{Device, DeviceId, Store, StoreError};
use tokio::sync::broadcast;

use super::pairing::{No, Pairing, State};
use crate::desk::Outside;

/// A phone has to be paired anew after so long.
pub const PAIRED_FOR: SignedDuration = SignedDuration::from_hours(180 * 24);
/// When a phone was last seen is noted once in so long: each note is a write to the disk.
const NOTED_EVERY: SignedDuration = SignedDuration::from_mins(1);
/// What a wrong code costs; codes are looked at one after the other.
const WRONG_COSTS: Duration = Duration::from_millis(500);
/// Longest name of a phone.
pub const LONGEST_NAME: usize = 40;

/// Where the network reaches the workbench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opening {
    /// Addresses, the likeliest first, as `https://192.168.1.5:4718`.
    pub addresses: Vec<String>,
    /// Of the certificate.
    pub fingerprint: String,
}

/// Shared by the laptop's pages and the gate; outlives a change of the store.
pub struct Phones {
    outside: Outside,
    opening: OnceLock<Opening>,
    pairing: Mutex<Pairing>,
    /// One code at a time is looked at.
    turn: tokio::sync::Mutex<()>,
    noted: Mutex<HashMap<DeviceId, Timestamp>>,
    /// Tells what works for a phone that it was shut out; none: all of them.
    shut_out: broadcast::Sender<Option<DeviceId>>,
}

/// Tells who is shut out.
pub struct ShutOuts(broadcast::Receiver<Option<DeviceId>>);

impl ShutOuts {
    /// Ends when this phone is.
    pub async fn until(mut self, id: DeviceId) {
        loop {
            match self.0.recv().await {
                Ok(it) if it.is_none_or(|it| it == id) => return,
                Ok(_) => {}
                // missed some: it may have been among them, and a phone that was not asks again
                Err(_) => return,
            }
        }
    }
}

/// Why a phone was not paired.
#[derive(Debug)]
pub enum Refused {
    /// The code.
    Code(No),
    /// The name.
    Name,
    /// The store; the code is used up all the same.
    Store(StoreError),
}

impl Phones {
    /// None may come in yet.
    pub fn new(outside: Outside) -> Phones {
        Phones {
            outside,
            opening: OnceLock::new(),
            pairing: Mutex::default(),
            turn: tokio::sync::Mutex::new(()),
            noted: Mutex::default(),
            shut_out: broadcast::channel(16).0,
        }
    }

    /// Where the network reaches the workbench; none where it does not.
    pub fn opening(&self) -> Option<&Opening> {
        self.opening.get()
    }

    /// Said once, when the network is listened to.
    pub fn open(&self, opening: Opening) {
        let _ = self.opening.set(opening); // once a run
    }

    /// How it stands with the last code.
    pub fn state(&self) -> State {
        self.with_pairing(|it| it.state((self.outside.now)()).clone())
    }

    /// Whether no code is looked at for now.
    pub fn is_shut(&self) -> bool {
        self.with_pairing(|it| it.is_shut((self.outside.now)()))
    }

    /// Another code, where one may be made and somebody could come in with it.
    pub fn new_code(&self) -> Option<String> {
        self.opening()?;
        let (now, chance) = ((self.outside.now)(), (self.outside.name)().as_u128());
        self.with_pairing(|it| it.renew(now, chance).map(|code| code.digits.clone()))
    }

    /// Pairs a phone by a code and gives its token, which is kept nowhere.
    pub async fn pair(&self, store: &Store, code: &str, name: &str) -> Result<String, Refused> {
        let name = named(name).ok_or(Refused::Name)?;
        let turn = self.turn.lock().await;
        let now = (self.outside.now)();
        if let Err(no) = self.with_pairing(|it| it.take(code, &name, now)) {
            if matches!(no, No::Wrong(_)) {
                tokio::time::sleep(WRONG_COSTS).await;
            }
            return Err(Refused::Code(no));
        }
        drop(turn);
        let token = format!(
            "{}{}",
            (self.outside.name)().simple(),
            (self.outside.name)().simple()
        );
        let id = DeviceId((self.outside.name)());
        let kept = store.add_device(id, &name, &digest(&token), now).await;
        kept.map_err(Refused::Store)?;
        Ok(token)
    }

    /// The phone with this token, if it may come in; notes that it was here.
    pub async fn of_token(&self, store: &Store, token: &str) -> Result<Option<Device>, StoreError> {
        let Some(device) = store.device_of_token(&digest(token)).await? else {
            return Ok(None);
        };
        let now = (self.outside.now)();
        if now.duration_since(device.created) >= PAIRED_FOR {
            return Ok(None);
        }
        let is_due = {
            let mut noted = self.noted.lock().unwrap_or_else(PoisonError::into_inner);
            let last = noted.get(&device.id);
            let due = last.is_none_or(|it| now.duration_since(*it).abs() >= NOTED_EVERY);
            if due {
                noted.insert(device.id, now);
            }
            due
        };
        if is_due {
            // a full disk must not shut a phone out: it still reads, and is told when something is not kept
            let _ = store.device_seen(device.id, now).await;
        }
        Ok(Some(device))
    }

    /// Shuts a phone out at once: what is under way for it ends.
    pub async fn shut_out(&self, store: &Store, id: DeviceId) -> Result<(), StoreError> {
        store.revoke_device(id, (self.outside.now)()).await?;
        let _ = self.shut_out.send(Some(id)); // nothing is under way: nothing needs to end
        Ok(())
    }

    /// Shuts out every phone of a store.
    pub async fn shut_out_all(&self, store: &Store) -> Result<(), StoreError> {
        for device in store.devices().await? {
            store.revoke_device(device.id, (self.outside.now)()).await?;
        }
        let _ = self.shut_out.send(None);
        Ok(())
    }

    /// Who is shut out from now on.
    pub fn shut_outs(&self) -> ShutOuts {
        ShutOuts(self.shut_out.subscribe())
    }

    fn with_pairing<T>(&self, work: impl FnOnce(&mut Pairing) -> T) -> T {
        work(&mut self.pairing.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// What is kept of a token: it has 244 random bits, so that a plain digest cannot be turned back.
fn digest(token: &str) -> Vec<u8> {
    Sha256::digest(token.as_bytes()).to_vec()
}

/// A name as it is kept: one line, not too long; none where nothing is left.
fn named(told: &str) -> Option<String> {
    let one_line: String = told
        .chars()
        .map(|it| if it.is_control() { ' ' } else { it })
        .collect();
    let name: String = one_line.trim().chars().take(LONGEST_NAME).collect();
    let name = name.trim().to_owned();
    (!name.is_empty()).then_some(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_one_line_and_not_too_long() {
        assert_eq!(
            named(" the one\nwith\ta crack ").as_deref(),
            Some("the one with a crack")
        );
        assert_eq!(
            named(&"é".repeat(100)).map(|it| it.chars().count()),
            Some(LONGEST_NAME)
        );
        assert_eq!(named(" \n\0 "), None);
    }
}
