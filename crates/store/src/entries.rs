//! Readings and observations: only ever added, each once however often it is sent.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use site::file::visit_from_file;
use site::file::written_visit::{Observation, Reading, VisitFile};

use crate::error::StoreError;
use crate::ids::{Key, Seq, VisitId};
use crate::lite::{At, EntryRow, Tx};
use crate::store::Store;
use crate::visits::{self, file_of, head, open, read_with};
use crate::watch::Changed;

/// What was read or seen, as it is written in a visit file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Said {
    /// A reading; one that names an old one in `corrects` takes its place.
    Reading(Reading),
    /// Something seen, heard, smelt or told.
    Observation(Observation),
}

/// A row of a visit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Entry {
    /// The visit.
    pub visit: VisitId,
    /// Its number: the order of rows, whatever the clock said.
    pub seq: Seq,
    /// What it was sent with.
    pub key: Key,
    /// Identifier in the document.
    pub id: String,
    /// When it was kept, by the clock of that time.
    pub at: Timestamp,
    /// What was read or seen.
    pub said: Said,
}

/// It is on the disk.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Acknowledged {
    /// The key it was sent with.
    pub key: Key,
    /// Its number in the visit.
    pub seq: Seq,
    /// Its identifier in the document.
    pub id: String,
    /// When it was kept the first time.
    pub at: Timestamp,
    /// Whether it had been.
    pub before: Before,
}

/// Whether something was kept before.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Before {
    /// Kept now.
    New,
    /// It was sent again, and was there already.
    Kept,
}

impl Said {
    pub(crate) fn kind(&self) -> &'static str {
        match self {
            Said::Reading(_) => "reading",
            Said::Observation(_) => "observation",
        }
    }

    /// The identifier that it gives itself.
    pub fn id(&self) -> Option<&str> {
        match self {
            Said::Reading(it) => it.id.as_deref(),
            Said::Observation(it) => it.id.as_deref(),
        }
    }

    /// The place that it names.
    pub fn at(&self) -> Option<&str> {
        match self {
            Said::Reading(it) => it.at.as_deref(),
            Said::Observation(it) => it.at.as_deref(),
        }
    }

    /// The reading that it corrects.
    pub fn corrects(&self) -> Option<&str> {
        match self {
            Said::Reading(it) => it.corrects.as_deref(),
            Said::Observation(_) => None,
        }
    }

    /// The same with its identifier written.
    pub(crate) fn with_id(&self, id: &str) -> Said {
        let mut said = self.clone();
        match &mut said {
            Said::Reading(it) => it.id = Some(id.to_owned()),
            Said::Observation(it) => it.id = Some(id.to_owned()),
        }
        said
    }
}

impl Entry {
    pub(crate) fn of(tx: &Tx<'_>, row: EntryRow) -> Result<Entry, StoreError> {
        let said = match row.kind.as_str() {
            "reading" => serde_json::from_str(&row.body).map(Said::Reading),
            _ => serde_json::from_str(&row.body).map(Said::Observation),
        };
        Ok(Entry {
            visit: row.visit,
            seq: row.seq,
            key: row.key,
            id: row.id,
            at: row.at.0,
            said: said.map_err(|it| tx.senseless(it))?,
        })
    }

    /// As it is kept; `text` where a person wrote it in a way of their own.
    pub(crate) fn row(&self, text: Option<String>) -> EntryRow {
        let body = match &self.said {
            Said::Reading(it) => serde_json::to_string(it),
            Said::Observation(it) => serde_json::to_string(it),
        };
        EntryRow {
            visit: self.visit,
            seq: self.seq,
            key: self.key,
            kind: self.said.kind().to_owned(),
            id: self.id.clone(),
            place: self.said.at().map(str::to_owned),
            corrects: self.said.corrects().map(str::to_owned),
            at: At(self.at),
            body: body.expect("texts and flags under keys that are texts"),
            text,
            seal: Vec::new(),
        }
    }
}

impl Store {
    /// Adds a reading or an observation to a visit; when this returns it is on the disk.
    ///
    /// `key` is made by whoever sends it: sent again it gives the same answer and is kept once. Where it gives itself
    /// no identifier one is made up. `corrects` names a reading by its identifier, or by the key it was sent with.
    ///
    /// # Errors
    /// [`StoreError::Closed`], [`StoreError::Problems`] where it does not read with the site as it is now,
    /// [`StoreError::KeyUsed`], [`StoreError::Corrected`].
    pub async fn append(
        &self,
        visit: VisitId,
        key: Key,
        said: &Said,
        now: Timestamp,
    ) -> Result<Acknowledged, StoreError> {
        let mut tx = self.lite.writing().await?;
        let row = visits::row(&mut tx, visit).await?;
        let said = corrects_by_id(&mut tx, visit, said.clone()).await?;
        let (entry, before) = match tx.entry_of_key(key).await? {
            Some(kept) => (the_same(Entry::of(&tx, kept)?, visit, &said)?, Before::Kept),
            None => {
                open(&row)?;
                let entry = new(&mut tx, visit, key, said, now).await?;
                let revision = read_with(&mut tx, &row).await?;
                let site = self.document(&mut tx, row.site, revision).await?;
                let mut alone = entry.said.clone();
                if let Said::Reading(it) = &mut alone {
                    it.corrects = None; // the one it names is not in this small document
                }
                let rows = std::iter::once((entry.id.as_str(), &alone));
                let file: VisitFile = file_of(head(&tx, &row)?, &site.site, rows);
                visit_from_file(&file, &visits::name(row.number), &site.site)?;
                tx.add_entry(&entry.row(None)).await?;
                tx.commit().await?;
                (entry, Before::New)
            }
        };
        // told again when it was sent again: whoever sent it may have gone before the first time was told
        let seq = entry.seq;
        self.tell(row.site, Changed::Entry { visit, seq });
        Ok(Acknowledged {
            key,
            seq,
            id: entry.id,
            at: entry.at,
            before,
        })
    }

    /// Whether a row was kept under this key, in whatever visit.
    pub async fn holds(&self, key: Key) -> Result<bool, StoreError> {
        let mut tx = self.lite.reading().await?;
        Ok(tx.entry_of_key(key).await?.is_some())
    }

    /// The rows of a visit behind a number, in their order.
    pub async fn entries(&self, visit: VisitId, after: Seq) -> Result<Vec<Entry>, StoreError> {
        let mut tx = self.lite.reading().await?;
        visits::row(&mut tx, visit).await?;
        let rows = tx.entries(visit, after).await?;
        rows.into_iter().map(|it| Entry::of(&tx, it)).collect()
    }
}

/// What was kept under the key, if it is what is sent again.
fn the_same(kept: Entry, visit: VisitId, said: &Said) -> Result<Entry, StoreError> {
    let again = match said.id() {
        Some(_) => kept.said == *said,
        None => kept.said.with_id(&kept.id) == said.with_id(&kept.id),
    };
    if kept.visit == visit && again {
        return Ok(kept);
    }
    Err(StoreError::KeyUsed {
        key: kept.key,
        visit: kept.visit,
        seq: kept.seq,
    })
}

/// A correction that names what it corrects by the identifier: a phone without a connection knows only the key.
async fn corrects_by_id(
    tx: &mut Tx<'_>,
    visit: VisitId,
    mut said: Said,
) -> Result<Said, StoreError> {
    if let Said::Reading(reading) = &mut said
        && let Some(old) = &mut reading.corrects
        && let Ok(key) = old.parse()
        && let Some(entry) = tx.entry_of_key(key).await?
        && entry.visit == visit
    {
        *old = entry.id;
    }
    Ok(said)
}

/// The next row of a visit.
async fn new(
    tx: &mut Tx<'_>,
    visit: VisitId,
    key: Key,
    said: Said,
    now: Timestamp,
) -> Result<Entry, StoreError> {
    if let Some(old) = said.corrects() {
        if !tx.has_id(visit, "reading", old).await? {
            return Err(StoreError::unknown("reading", old));
        }
        if let Some(by) = tx.corrected_by(visit, old).await? {
            let old = old.to_owned();
            return Err(StoreError::Corrected { old, by });
        }
    }
    let last = tx.last(visit).await?;
    let kind = said.kind();
    let id = match said.id() {
        Some(id) if tx.has_id(visit, kind, id).await? => {
            return Err(StoreError::exists(kind, id));
        }
        Some(id) => id.to_owned(),
        None => {
            let mut n = last.0 + 1;
            while tx.has_id(visit, kind, &made_up(&said, n)).await? {
                n += 1;
            }
            made_up(&said, n)
        }
    };
    Ok(Entry {
        visit,
        seq: Seq(last.0 + 1),
        key,
        said: said.with_id(&id),
        id,
        at: now,
    })
}

fn made_up(said: &Said, n: i64) -> String {
    match said {
        Said::Reading(_) => format!("r{n}"),
        Said::Observation(_) => format!("o{n}"),
    }
}
