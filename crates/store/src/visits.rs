//! Visits: a head that is changed as a whole, and rows that are only added. Together they are the visit's document.

use std::sync::Arc;

use jiff::Timestamp;
use site::file::written_visit::VisitFile;
use site::file::{Form, Problems, SiteDocument, read_visit_document, visit_from_file};
use site::model::Site;
use site::visit::Visit;

use crate::document;
use crate::entries::{Entry, Said};
use crate::error::{Conflict, Document, StoreError};
use crate::ids::{Key, Revision, Seq, SiteId, VisitId};
use crate::lite::{At, Tx, VisitRow};
use crate::seal::seal;
use crate::sites;
use crate::store::Store;
use crate::watch::Changed;

/// A visit in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VisitListing {
    /// The visit.
    pub id: VisitId,
    /// Its site.
    pub site: SiteId,
    /// Which visit to the site this is, counted from 1.
    pub number: i64,
    /// Which state its head is in.
    pub revision: Revision,
    /// When it was opened.
    pub opened: Timestamp,
    /// When it was closed; none while it is open.
    pub closed: Option<Timestamp>,
    /// Its date as written.
    pub date: Option<String>,
    /// Readings, corrected ones too.
    pub n_readings: usize,
    /// Observations.
    pub n_observations: usize,
    /// Attachments.
    pub n_attachments: usize,
    /// The last of its rows.
    pub last: Seq,
}

/// A visit with all that was read and seen.
#[derive(Clone, Debug)]
pub struct VisitRecord {
    /// As in a list.
    pub listing: VisitListing,
    /// The revision of the site it is read with: that of the closing, or the newest while it is open.
    pub site_revision: Revision,
    /// The site at that revision.
    pub site: Arc<SiteDocument>,
    /// What stands above the readings: date, person, meters, checks that cannot be made.
    pub head: VisitFile,
    /// Readings and observations in the order they were kept; of [`Store::visit_behind`] those behind the row.
    pub entries: Vec<Entry>,
}

impl VisitRecord {
    /// The whole document, as types.
    pub fn file(&self) -> VisitFile {
        let head = self.head.clone();
        file_of(
            head,
            &self.site.site,
            self.entries.iter().map(|it| (it.id.as_str(), &it.said)),
        )
    }

    /// What the document means.
    ///
    /// # Errors
    /// None that is known: every row was read with the site before it was kept.
    pub fn visit(&self) -> Result<Visit, Problems> {
        visit_from_file(&self.file(), &name(self.listing.number), &self.site.site)
    }
}

impl Store {
    /// The visits of a site, the first one first.
    pub async fn visits(&self, site: SiteId) -> Result<Vec<VisitListing>, StoreError> {
        let mut tx = self.lite.reading().await?;
        sites::row(&mut tx, site).await?;
        let mut listed = Vec::new();
        for row in tx.visits(site).await? {
            listed.push(self.listing(&mut tx, &row).await?);
        }
        Ok(listed)
    }

    /// The latest visit of a site, if there is any.
    pub async fn latest_visit(&self, site: SiteId) -> Result<Option<VisitListing>, StoreError> {
        let mut tx = self.lite.reading().await?;
        match tx.latest_visit(site).await? {
            Some(row) => Ok(Some(self.listing(&mut tx, &row).await?)),
            None => Ok(None),
        }
    }

    /// A visit with everything in it.
    pub async fn visit(&self, id: VisitId) -> Result<VisitRecord, StoreError> {
        self.visit_behind(id, Seq(0)).await
    }

    /// A visit with its rows behind one: whoever has read it so far reads on from there.
    pub async fn visit_behind(&self, id: VisitId, after: Seq) -> Result<VisitRecord, StoreError> {
        let mut tx = self.lite.reading().await?;
        let row = row(&mut tx, id).await?;
        let site_revision = read_with(&mut tx, &row).await?;
        let rows = tx.entries(id, after).await?;
        let entries = rows.into_iter().map(|it| Entry::of(&tx, it));
        Ok(VisitRecord {
            entries: entries.collect::<Result<_, _>>()?,
            listing: self.listing(&mut tx, &row).await?,
            site_revision,
            site: self.document(&mut tx, row.site, site_revision).await?,
            head: head(&tx, &row)?,
        })
    }

    /// The document of a visit in TOML: what a person wrote stands as it was written, comments and all.
    pub async fn visit_text(&self, id: VisitId) -> Result<String, StoreError> {
        let mut tx = self.lite.reading().await?;
        let row = row(&mut tx, id).await?;
        self.text_of(&mut tx, &row).await
    }

    pub(crate) async fn text_of(
        &self,
        tx: &mut Tx<'_>,
        row: &VisitRow,
    ) -> Result<String, StoreError> {
        let revision = read_with(tx, row).await?;
        let site = self.document(tx, row.site, revision).await?;
        let rows = tx.entries(row.id, Seq(0)).await?;
        let mut text = document::named(&row.head, &site.site.name);
        for row in rows {
            let written = row.text.clone();
            let entry = Entry::of(tx, row)?;
            text += &written.unwrap_or_else(|| document::row(&entry.said));
        }
        Ok(text)
    }

    /// A new visit to a site. `head` may already hold readings.
    ///
    /// # Errors
    /// [`StoreError::Problems`] where it does not read with the site as it is now.
    pub async fn open_visit(
        &self,
        id: VisitId,
        site: SiteId,
        head: &VisitFile,
        now: Timestamp,
    ) -> Result<VisitListing, StoreError> {
        self.import_visit(id, site, &head.to_toml(), now).await
    }

    /// A new visit to a site from its document in TOML.
    ///
    /// # Errors
    /// [`StoreError::Problems`] where it does not read with the site as it is now.
    pub async fn import_visit(
        &self,
        id: VisitId,
        site: SiteId,
        text: &str,
        now: Timestamp,
    ) -> Result<VisitListing, StoreError> {
        let mut tx = self.lite.writing().await?;
        let revision = sites::row(&mut tx, site).await?.revision;
        let document = self.document(&mut tx, site, revision).await?;
        let row = begin(&mut tx, id, site, &document.site, text, now, |_, _| None).await?;
        let listing = self.listing(&mut tx, &row).await?;
        tx.commit().await?;
        self.tell_visit(&row);
        Ok(listing)
    }

    /// Another head for a visit that is open: a meter more, a check that cannot be made. Readings in it are not
    /// looked at; comments that a person wrote into the old head stay with the old head.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] where the head was changed since `expected`; [`StoreError::Closed`]; problems where
    /// readings no longer fit.
    pub async fn replace_head(
        &self,
        id: VisitId,
        head: &VisitFile,
        expected: Revision,
    ) -> Result<VisitListing, StoreError> {
        let mut tx = self.lite.writing().await?;
        let mut row = row(&mut tx, id).await?;
        let mut head = head.clone();
        (head.reading, head.observation) = (Vec::new(), Vec::new());
        open(&row)?;
        if row.revision != expected {
            return Err(StoreError::Conflict(Box::new(Conflict {
                document: Document::Head(id),
                expected,
                found: row.revision,
                base: None,
                yours: head.to_toml(),
                theirs: row.head,
            })));
        }
        row.revision.0 += 1;
        row.head = head.to_toml();
        let revision = read_with(&mut tx, &row).await?;
        let site = self.document(&mut tx, row.site, revision).await?;
        fits(&mut tx, &row, &site.site).await??;
        tx.put_visit(&row).await?;
        let listing = self.listing(&mut tx, &row).await?;
        tx.commit().await?;
        self.tell_visit(&row);
        Ok(listing)
    }

    /// Closes a visit; from then on it is read with the site as it is now. Closing it again changes nothing.
    pub async fn close_visit(
        &self,
        id: VisitId,
        now: Timestamp,
    ) -> Result<VisitListing, StoreError> {
        let mut tx = self.lite.writing().await?;
        let mut row = row(&mut tx, id).await?;
        if row.closed.is_none() {
            row.site_revision = Some(sites::row(&mut tx, row.site).await?.revision);
            row.closed = Some(At(now));
            row.revision.0 += 1;
            tx.put_visit(&row).await?;
        }
        let listing = self.listing(&mut tx, &row).await?;
        tx.commit().await?;
        self.tell_visit(&row);
        Ok(listing)
    }

    async fn listing(&self, tx: &mut Tx<'_>, row: &VisitRow) -> Result<VisitListing, StoreError> {
        let counted = self.counts.of(tx, row.id).await?;
        Ok(VisitListing {
            id: row.id,
            site: row.site,
            number: row.number,
            revision: row.revision,
            opened: row.opened.0,
            closed: row.closed.map(|it| it.0),
            date: head(tx, row)?.date,
            n_readings: counted.n_readings as usize,
            n_observations: counted.n_observations as usize,
            n_attachments: tx.n_attachments(row.id).await? as usize,
            last: counted.last,
        })
    }

    fn tell_visit(&self, row: &VisitRow) {
        let (visit, revision) = (row.id, row.revision);
        self.tell(row.site, Changed::Visit { visit, revision });
    }
}

pub(crate) fn name(number: i64) -> String {
    format!("visit {number}")
}

pub(crate) async fn row(tx: &mut Tx<'_>, id: VisitId) -> Result<VisitRow, StoreError> {
    let row = tx.visit(id).await?;
    row.ok_or_else(|| StoreError::unknown("visit", id))
}

/// An error where the visit is closed.
pub(crate) fn open(row: &VisitRow) -> Result<(), StoreError> {
    match row.closed {
        None => Ok(()),
        Some(at) => Err(StoreError::Closed {
            visit: row.id,
            at: at.0,
        }),
    }
}

/// The revision of the site that a visit is read with.
pub(crate) async fn read_with(tx: &mut Tx<'_>, row: &VisitRow) -> Result<Revision, StoreError> {
    match row.site_revision {
        Some(it) => Ok(it),
        None => Ok(sites::row(tx, row.site).await?.revision),
    }
}

pub(crate) fn head(tx: &Tx<'_>, row: &VisitRow) -> Result<VisitFile, StoreError> {
    document::types(&row.head).map_err(|it| tx.senseless(it))
}

/// A document from its head and its rows with their identifiers.
pub(crate) fn file_of<'e>(
    mut head: VisitFile,
    site: &Site,
    rows: impl Iterator<Item = (&'e str, &'e Said)>,
) -> VisitFile {
    head.site = Some(site.name.clone());
    for (id, said) in rows {
        match said.with_id(id) {
            Said::Reading(it) => head.reading.push(it),
            Said::Observation(it) => head.observation.push(it),
        }
    }
    head
}

/// Whether a visit reads with a site.
async fn fits(
    tx: &mut Tx<'_>,
    row: &VisitRow,
    site: &Site,
) -> Result<Result<Visit, Problems>, StoreError> {
    let rows = tx.entries(row.id, Seq(0)).await?;
    let entries = rows.into_iter().map(|it| Entry::of(tx, it));
    let entries: Vec<Entry> = entries.collect::<Result<_, _>>()?;
    let rows = entries.iter().map(|it| (it.id.as_str(), &it.said));
    let file = file_of(head(tx, row)?, site, rows);
    Ok(visit_from_file(&file, &name(row.number), site))
}

/// An error where an open visit does not read with a changed site.
pub(crate) async fn still_fit(tx: &mut Tx<'_>, id: SiteId, site: &Site) -> Result<(), StoreError> {
    for row in tx.visits(id).await? {
        if row.closed.is_none()
            && let Err(problems) = fits(tx, &row, site).await?
        {
            return Err(StoreError::Breaks {
                visit: row.id,
                number: row.number,
                problems,
            });
        }
    }
    Ok(())
}

/// Keeps a new visit and its rows. `known`: key and time of a row, where it had them before.
pub(crate) async fn begin(
    tx: &mut Tx<'_>,
    id: VisitId,
    site_id: SiteId,
    site: &Site,
    text: &str,
    now: Timestamp,
    known: impl Fn(&str, &str) -> Option<(Key, Timestamp)>,
) -> Result<VisitRow, StoreError> {
    if tx.visit(id).await?.is_some() {
        return Err(StoreError::exists("visit", id));
    }
    let number = tx.next_number(site_id).await?;
    let document = read_visit_document(text, &name(number), Form::Toml, site)?;
    let split = document::split(text, document.written());
    let row = VisitRow {
        id,
        site: site_id,
        number,
        revision: Revision(1),
        head: split.head,
        opened: At(now),
        closed: None,
        site_revision: None,
        seal: Vec::new(),
    };
    tx.put_visit(&row).await?;
    let mut readings = document.visit.readings.iter();
    let mut observations = document.visit.observations.iter();
    for (n, (said, written)) in split.rows.into_iter().enumerate() {
        // with the identifier that was made up where it gives itself none
        let own = match said {
            Said::Reading(_) => readings.next().map(|it| it.id.clone()),
            Said::Observation(_) => observations.next().map(|it| it.id.clone()),
        };
        let own = own.unwrap_or_default();
        let seq = Seq(n as i64 + 1);
        let (key, at) = known(said.kind(), &own).unwrap_or((made_key(id, seq), now));
        let entry = Entry {
            visit: id,
            seq,
            key,
            id: own,
            at,
            said,
        };
        tx.add_entry(&entry.row(written)).await?;
    }
    Ok(row)
}

/// The key of a row that came without one: the same for the same row.
fn made_key(visit: VisitId, seq: Seq) -> Key {
    let digest = seal(&[visit.0.as_bytes(), &seq.0.to_le_bytes()]);
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&digest);
    Key(uuid::Builder::from_custom_bytes(bytes).into_uuid())
}
