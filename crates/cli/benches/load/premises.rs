//! Invented premises, and what is asked of a workbench about them.

use std::fmt::Write;
use std::path::Path;

use site::file::written_visit::{Reading, VisitFile};
use store::{SiteId, Store, StoreError, VisitId};
use uuid::Uuid;

use crate::client::Request;

/// A site and its visit in a store.
pub struct Premises {
    pub site: SiteId,
    n_outlets: usize,
    n_readings: usize,
}

/// Makes a store with one site: ten outlets on each circuit, each after the one before.
pub async fn make(
    data: &Path,
    n_outlets: usize,
    n_readings: usize,
) -> Result<Premises, StoreError> {
    let site = SiteId(Uuid::from_u128(1));
    let now = jiff::Timestamp::UNIX_EPOCH;
    let mut text = "format = 1\nname = \"Invented\"\nregion = \"north-america\"\n".to_owned();
    for circuit in 0..n_outlets.div_ceil(10) {
        let _ = writeln!(
            text,
            "[[circuit]]\nid = \"C{circuit}\"\nbreaker = \"20 A\"\ncable = \"12 AWG copper\""
        );
    }
    for outlet in 0..n_outlets {
        let _ = writeln!(
            text,
            "[[outlet]]\nid = \"o{outlet}\"\ncircuit = \"C{}\"\nrun = \"6 m\"",
            outlet / 10
        );
        if outlet % 10 > 0 {
            let _ = writeln!(text, "after = \"o{}\"", outlet - 1);
        }
    }
    let store = Store::open(data).await?;
    store.create_site(site, &text, now).await?;
    let visit = VisitFile {
        format: 1,
        reading: (0..n_readings).map(|it| reading(it, n_outlets)).collect(),
        ..VisitFile::default()
    };
    store
        .open_visit(VisitId(Uuid::from_u128(2)), site, &visit, now)
        .await?;
    store.close().await;
    Ok(Premises {
        site,
        n_outlets,
        n_readings,
    })
}

/// The usual three pairs at each outlet, one after the other; at one outlet the neutral is gone.
fn reading(n: usize, n_outlets: usize) -> Reading {
    let (outlet, pair) = (n / 3 % n_outlets, n % 3);
    Reading {
        at: Some(format!("o{outlet}")),
        pair: Some(["line-neutral", "line-earth", "neutral-earth"][pair].to_owned()),
        value: value(n, n_outlets),
        ..Reading::default()
    }
}

fn value(n: usize, n_outlets: usize) -> String {
    let (outlet, pair) = (n / 3 % n_outlets, n % 3);
    let broken = outlet == n_outlets - 1;
    match pair {
        0 if broken => "0.4 V".to_owned(),
        2 if broken => "120.8 V".to_owned(),
        0 => format!("120.{} V", n % 7),
        1 => format!("121.{} V", n % 5),
        _ => format!("0.{} V", 2 + n % 4),
    }
}

impl Premises {
    /// The request of a turn: by turns a reading and a page; one form in fifty comes twice.
    pub fn request(&self, turn: u32) -> Request {
        let site = format!("/site/{}", self.site);
        let n = turn as usize / 2;
        if turn.is_multiple_of(2) {
            let row = self.n_readings + n - usize::from(n % 50 == 49);
            let (outlet, pair) = (row / 3 % self.n_outlets, ["ln", "le", "ne"][row % 3]);
            let key = Uuid::from_u128(0x4000_8000_0000_0000_0000 | (row as u128) << 96);
            let value = value(row, self.n_outlets).replace(" V", "");
            let form = format!("key={key}&place=o{outlet}&pair={pair}&value={value}");
            return Request::form(format!("{site}/tell"), form);
        }
        let outlet = n * 7 % self.n_outlets;
        Request::page(match n % 10 {
            0..=3 => format!("{site}/place/o{outlet}"),
            4..=6 => site,
            7 => format!("{site}/visit/1"),
            8 => format!("{site}/evidence"),
            _ => "/".to_owned(),
        })
    }

    /// How many readings there are after so many turns.
    pub fn told(&self, turns: u32) -> usize {
        let forms = turns.div_ceil(2) as usize;
        self.n_readings + forms - forms / 50
    }
}
