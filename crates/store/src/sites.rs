//! Sites: documents that are changed as a whole, every revision kept.

use std::sync::Arc;

use jiff::Timestamp;
use site::file::{Form, SiteDocument, read_site};

use crate::error::{Conflict, Document, StoreError};
use crate::ids::{Revision, SiteId};
use crate::lite::{At, SiteRow, TextRow, Tx};
use crate::store::Store;
use crate::visits;
use crate::watch::Changed;

/// A site in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SiteListing {
    /// The site.
    pub id: SiteId,
    /// Its name.
    pub name: String,
    /// Its region profile.
    pub region: String,
    /// Which state its document is in.
    pub revision: Revision,
    /// When its document was last changed.
    pub updated: Timestamp,
    /// Outlets.
    pub n_outlets: usize,
    /// Visits.
    pub n_visits: usize,
    /// Readings of all visits.
    pub n_readings: usize,
}

/// A site's document.
#[derive(Clone, Debug)]
pub struct SiteRecord {
    /// The site.
    pub id: SiteId,
    /// Which state of the document this is.
    pub revision: Revision,
    /// When it was written.
    pub at: Timestamp,
    /// As it was written, to the letter.
    pub text: String,
    /// As it reads.
    pub document: Arc<SiteDocument>,
}

impl Store {
    /// All sites by name.
    pub async fn sites(&self) -> Result<Vec<SiteListing>, StoreError> {
        let mut tx = self.lite.reading().await?;
        let rows = tx.sites().await?;
        let listed = rows.into_iter().map(|it| SiteListing {
            id: it.site.id,
            name: it.site.name,
            region: it.site.region,
            revision: it.site.revision,
            updated: it.site.updated.0,
            n_outlets: it.site.n_outlets as usize,
            n_visits: it.n_visits as usize,
            n_readings: it.n_readings as usize,
        });
        Ok(listed.collect())
    }

    /// A site as it is now.
    pub async fn site(&self, id: SiteId) -> Result<SiteRecord, StoreError> {
        let mut tx = self.lite.reading().await?;
        let row = row(&mut tx, id).await?;
        self.record(&mut tx, id, row.revision).await
    }

    /// A site as it was at a revision.
    pub async fn site_at(&self, id: SiteId, revision: Revision) -> Result<SiteRecord, StoreError> {
        let mut tx = self.lite.reading().await?;
        if revision.0 < 1 || revision > row(&mut tx, id).await?.revision {
            return Err(StoreError::unknown("revision of the site", revision));
        }
        self.record(&mut tx, id, revision).await
    }

    /// Every revision of a site and when it was written, the oldest first. To undo, replace with an older text.
    pub async fn revisions(&self, id: SiteId) -> Result<Vec<(Revision, Timestamp)>, StoreError> {
        let mut tx = self.lite.reading().await?;
        row(&mut tx, id).await?;
        let rows = tx.revisions(id).await?;
        Ok(rows.into_iter().map(|(it, at)| (it, at.0)).collect())
    }

    /// A new site from its document in TOML.
    ///
    /// # Errors
    /// [`StoreError::Problems`] where the document does not read.
    pub async fn create_site(
        &self,
        id: SiteId,
        text: &str,
        now: Timestamp,
    ) -> Result<SiteRecord, StoreError> {
        let mut tx = self.lite.writing().await?;
        if tx.site(id).await?.is_some() {
            return Err(StoreError::exists("site", id));
        }
        let document = read_site(text, "site", Form::Toml)?;
        let record = put(&mut tx, id, Revision(1), text, document, now).await?;
        tx.commit().await?;
        let revision = record.revision;
        self.tell(id, Changed::Site { revision });
        Ok(record)
    }

    /// Another document for a site. `expected` is the revision that the change began with.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] where the site was changed since; it carries both documents. Problems where it does
    /// not read, or where an open visit has readings that no longer fit.
    pub async fn replace_site(
        &self,
        id: SiteId,
        text: &str,
        expected: Revision,
        now: Timestamp,
    ) -> Result<SiteRecord, StoreError> {
        let mut tx = self.lite.writing().await?;
        let found = row(&mut tx, id).await?.revision;
        if found != expected {
            let theirs = self.record(&mut tx, id, found).await?.text;
            let base = tx.text(id, expected).await?.map(|it| it.text);
            return Err(StoreError::Conflict(Box::new(Conflict {
                document: Document::Site(id),
                expected,
                found,
                base,
                yours: text.to_owned(),
                theirs,
            })));
        }
        let document = read_site(text, "site", Form::Toml)?;
        visits::still_fit(&mut tx, id, &document.site).await?;
        let revision = Revision(found.0 + 1);
        let record = put(&mut tx, id, revision, text, document, now).await?;
        tx.commit().await?;
        self.tell(id, Changed::Site { revision });
        Ok(record)
    }

    async fn record(
        &self,
        tx: &mut Tx<'_>,
        id: SiteId,
        revision: Revision,
    ) -> Result<SiteRecord, StoreError> {
        let missing = format!("revision {revision} of site {id} is missing");
        let row = tx.text(id, revision).await?;
        let row = row.ok_or_else(|| tx.senseless(missing))?;
        Ok(SiteRecord {
            id,
            revision,
            at: row.at.0,
            text: row.text,
            document: self.document(tx, id, revision).await?,
        })
    }
}

pub(crate) async fn row(tx: &mut Tx<'_>, id: SiteId) -> Result<SiteRow, StoreError> {
    let row = tx.site(id).await?;
    row.ok_or_else(|| StoreError::unknown("site", id))
}

pub(crate) async fn put(
    tx: &mut Tx<'_>,
    id: SiteId,
    revision: Revision,
    text: &str,
    document: SiteDocument,
    now: Timestamp,
) -> Result<SiteRecord, StoreError> {
    let row = SiteRow {
        id,
        name: document.site.name.clone(),
        region: document.written().region.clone(),
        n_outlets: document.site.outlets.len() as i64,
        revision,
        updated: At(now),
        seal: Vec::new(),
    };
    tx.put_site(&row).await?;
    let text = TextRow::of(id, revision, now, text.to_owned());
    tx.add_text(&text).await?;
    Ok(SiteRecord {
        id,
        revision,
        at: now,
        text: text.text,
        document: Arc::new(document),
    })
}
