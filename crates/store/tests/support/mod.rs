//! An invented clinic in a store of its own.
#![allow(dead_code)] // each test uses a part of it

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use site::file::written_visit::{Meter, Observation, Reading, VisitFile};
use store::{Key, Said, SiteId, Store, VisitId};
use uuid::Uuid;

pub const SITE: &str = include_str!("../../../site/data/demo/site.toml");
pub const VISIT: &str = include_str!("../../../site/data/demo/visit.toml");
/// Outlets of the clinic.
pub const OUTLETS: [&str; 4] = ["reception", "front-desk", "waiting-room", "exam-1"];

/// A folder of its own, gone with the test; in memory where it can be: a killed process leaves the system's cache of
/// the disk whole, so a disk shows no more and takes longer.
pub struct Place(tempfile::TempDir);

impl Place {
    pub fn new() -> Place {
        let memory = Path::new("/dev/shm");
        let made = match memory.is_dir() {
            true => tempfile::tempdir_in(memory),
            false => tempfile::tempdir(),
        };
        Place(made.expect("a temporary folder"))
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub fn store(&self) -> PathBuf {
        self.path("wattwright.db")
    }
}

pub fn site_id(n: u128) -> SiteId {
    SiteId(Uuid::from_u128(0x5173_0000 + n))
}

pub fn visit_id(n: u128) -> VisitId {
    VisitId(Uuid::from_u128(0x7151_0000 + n))
}

pub fn key(n: u64) -> Key {
    Key(Uuid::from_u128(0x6b65_7900_0000_0000_0000 + u128::from(n)))
}

/// So many seconds into an invented day.
pub fn at(second: i64) -> Timestamp {
    Timestamp::from_second(1_773_500_000 + second).expect("within range")
}

pub fn reading(outlet: &str, value: &str) -> Reading {
    Reading {
        at: Some(outlet.to_owned()),
        pair: Some("line-neutral".to_owned()),
        value: value.to_owned(),
        ..Reading::default()
    }
}

pub fn read(outlet: &str, value: &str) -> Said {
    Said::Reading(reading(outlet, value))
}

pub fn seen(outlet: &str, sees: &str) -> Said {
    Said::Observation(Observation {
        at: Some(outlet.to_owned()),
        sees: Some(sees.to_owned()),
        ..Observation::default()
    })
}

pub fn head() -> VisitFile {
    VisitFile {
        format: 1,
        date: Some("2026-03-14".to_owned()),
        meter: vec![Meter {
            id: "handheld".to_owned(),
            class: Some("mid".to_owned()),
            ..Meter::default()
        }],
        ..VisitFile::default()
    }
}

/// A store with the clinic and one open visit to it.
pub async fn clinic(path: &Path) -> Store {
    let store = Store::open(path).await.expect("a new store");
    let made = store.create_site(site_id(1), SITE, at(0)).await;
    made.expect("the demo reads");
    let head = head();
    let opened = store.open_visit(visit_id(1), site_id(1), &head, at(1));
    opened.await.expect("the head reads");
    store
}

/// Numbers that look like chance, the same ones every time.
pub struct Chance(pub u64);

impl Chance {
    /// SplitMix64: <https://prng.di.unimi.it/splitmix64.c>.
    pub fn number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, n: usize) -> usize {
        (self.number() % n as u64) as usize
    }
}

/// Waits for what a test does with a store.
pub fn wait<T>(what: impl Future<Output = T>) -> T {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build();
    runtime.expect("a runtime").block_on(what)
}
