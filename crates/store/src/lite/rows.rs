//! Rows as the database holds them, and the questions that are asked of it.

use jiff::Timestamp;
use sha2::{Digest, Sha256};
use sqlx::encode::IsNull;
use sqlx::error::BoxDynError;
use sqlx::sqlite::{SqliteArgumentsBuffer, SqliteTypeInfo, SqliteValueRef};
use sqlx::{FromRow, Sqlite};

use super::{Tx, sql};
use crate::attachments::NewAttachment;
use crate::error::StoreError;
use crate::ids::{DeviceId, Key, Revision, Seq, SiteId, VisitId};
use crate::seal::seal;

type Told<T> = Result<T, StoreError>;

/// A moment as a text, to the last digit that was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct At(pub Timestamp);

impl sqlx::Type<Sqlite> for At {
    fn type_info() -> SqliteTypeInfo {
        <String as sqlx::Type<Sqlite>>::type_info()
    }
}

impl sqlx::Encode<'_, Sqlite> for At {
    fn encode_by_ref(&self, buffer: &mut SqliteArgumentsBuffer) -> Result<IsNull, BoxDynError> {
        <String as sqlx::Encode<Sqlite>>::encode(self.0.to_string(), buffer)
    }
}

impl sqlx::Decode<'_, Sqlite> for At {
    fn decode(value: SqliteValueRef<'_>) -> Result<At, BoxDynError> {
        let text = <&str as sqlx::Decode<Sqlite>>::decode(value)?;
        Ok(At(text.parse()?))
    }
}

/// A row with a digest of its own: see `seal.rs`.
trait Sealed {
    fn kept(&self) -> &[u8];
    fn sealed(&self) -> Vec<u8>;
}

#[derive(Clone, Debug, FromRow)]
pub(crate) struct SiteRow {
    pub id: SiteId,
    pub name: String,
    pub region: String,
    pub n_outlets: i64,
    pub revision: Revision,
    pub updated: At,
    pub seal: Vec<u8>,
}

impl Sealed for SiteRow {
    fn kept(&self) -> &[u8] {
        &self.seal
    }

    fn sealed(&self) -> Vec<u8> {
        seal(&[
            self.id.0.as_bytes(),
            self.name.as_bytes(),
            self.region.as_bytes(),
            &self.n_outlets.to_le_bytes(),
            &self.revision.0.to_le_bytes(),
            self.updated.0.to_string().as_bytes(),
        ])
    }
}

#[derive(FromRow)]
pub(crate) struct SiteCounts {
    #[sqlx(flatten)]
    pub site: SiteRow,
    pub n_visits: i64,
    pub n_readings: i64,
}

impl Sealed for SiteCounts {
    fn kept(&self) -> &[u8] {
        self.site.kept()
    }

    fn sealed(&self) -> Vec<u8> {
        self.site.sealed()
    }
}

#[derive(FromRow)]
pub(crate) struct TextRow {
    pub site: SiteId,
    pub revision: Revision,
    pub at: At,
    pub text: String,
    seal: Vec<u8>,
}

impl TextRow {
    pub fn of(site: SiteId, revision: Revision, at: Timestamp, text: String) -> TextRow {
        let mut row = TextRow {
            site,
            revision,
            at: At(at),
            text,
            seal: Vec::new(),
        };
        row.seal = row.sealed();
        row
    }
}

impl Sealed for TextRow {
    fn kept(&self) -> &[u8] {
        &self.seal
    }

    fn sealed(&self) -> Vec<u8> {
        seal(&[
            self.site.0.as_bytes(),
            &self.revision.0.to_le_bytes(),
            self.at.0.to_string().as_bytes(),
            self.text.as_bytes(),
        ])
    }
}

#[derive(Clone, Debug, FromRow)]
pub(crate) struct VisitRow {
    pub id: VisitId,
    pub site: SiteId,
    pub number: i64,
    pub revision: Revision,
    pub head: String,
    pub opened: At,
    pub closed: Option<At>,
    pub site_revision: Option<Revision>,
    pub seal: Vec<u8>,
}

impl Sealed for VisitRow {
    fn kept(&self) -> &[u8] {
        &self.seal
    }

    fn sealed(&self) -> Vec<u8> {
        let closed = self.closed.map_or(String::new(), |it| it.0.to_string());
        let site_revision = self.site_revision.map_or(0, |it| it.0);
        seal(&[
            self.id.0.as_bytes(),
            self.site.0.as_bytes(),
            &self.number.to_le_bytes(),
            &self.revision.0.to_le_bytes(),
            self.head.as_bytes(),
            self.opened.0.to_string().as_bytes(),
            closed.as_bytes(),
            &site_revision.to_le_bytes(),
        ])
    }
}

#[derive(Clone, Copy, Debug, FromRow)]
pub(crate) struct VisitCounts {
    pub n_readings: i64,
    pub n_observations: i64,
    pub n_attachments: i64,
    pub last: Seq,
}

#[derive(Clone, Debug, FromRow)]
pub(crate) struct EntryRow {
    pub visit: VisitId,
    pub seq: Seq,
    pub key: Key,
    pub kind: String,
    pub id: String,
    pub place: Option<String>,
    pub corrects: Option<String>,
    pub at: At,
    pub body: String,
    pub text: Option<String>,
    pub seal: Vec<u8>,
}

impl Sealed for EntryRow {
    fn kept(&self) -> &[u8] {
        &self.seal
    }

    fn sealed(&self) -> Vec<u8> {
        seal(&[
            self.visit.0.as_bytes(),
            &self.seq.0.to_le_bytes(),
            self.key.0.as_bytes(),
            self.kind.as_bytes(),
            self.id.as_bytes(),
            self.place.as_deref().unwrap_or_default().as_bytes(),
            self.corrects.as_deref().unwrap_or_default().as_bytes(),
            self.at.0.to_string().as_bytes(),
            self.body.as_bytes(),
            self.text.as_deref().unwrap_or_default().as_bytes(),
        ])
    }
}

#[derive(Clone, Debug, FromRow)]
pub(crate) struct AttachmentRow {
    pub key: Key,
    pub visit: VisitId,
    pub seq: Seq,
    pub place: String,
    pub note: String,
    pub at: At,
    pub hash: Vec<u8>,
    pub kind: String,
    pub size: i64,
    pub seal: Vec<u8>,
}

impl AttachmentRow {
    /// The row of a file that was checked to be of a kind that is taken.
    pub fn of(
        key: Key,
        visit: VisitId,
        seq: Seq,
        new: &NewAttachment<'_>,
        at: Timestamp,
        kind: &str,
    ) -> Self {
        AttachmentRow {
            key,
            visit,
            seq,
            place: new.place.to_owned(),
            note: new.note.to_owned(),
            at: At(at),
            hash: Sha256::digest(new.bytes).to_vec(),
            kind: kind.to_owned(),
            size: new.bytes.len() as i64,
            seal: Vec::new(),
        }
    }
}

impl AttachmentRow {
    pub fn is(&self, new: &NewAttachment<'_>) -> bool {
        self.place == new.place && self.note == new.note
    }
}

impl Sealed for AttachmentRow {
    fn kept(&self) -> &[u8] {
        &self.seal
    }

    fn sealed(&self) -> Vec<u8> {
        seal(&[
            self.key.0.as_bytes(),
            self.visit.0.as_bytes(),
            &self.seq.0.to_le_bytes(),
            self.place.as_bytes(),
            self.note.as_bytes(),
            self.at.0.to_string().as_bytes(),
            &self.hash,
        ])
    }
}

#[derive(Clone, Debug, FromRow)]
pub(crate) struct DeviceRow {
    pub id: DeviceId,
    pub name: String,
    pub created: At,
    pub last_seen: Option<At>,
    pub revoked: Option<At>,
}

/// All rows, the row or none, the value, or nothing, of a query with its arguments.
macro_rules! ask {
    ($tx:ident, rows $query:expr $(, $argument:expr)*) => {
        sqlx::query_as($query)$(.bind($argument))*.fetch_all(&mut *$tx.inner).await.map_err(|it| $tx.told(it))
    };
    ($tx:ident, row $query:expr $(, $argument:expr)*) => {
        sqlx::query_as($query)$(.bind($argument))*.fetch_optional(&mut *$tx.inner).await.map_err(|it| $tx.told(it))
    };
    ($tx:ident, value $query:expr $(, $argument:expr)*) => {
        sqlx::query_scalar($query)$(.bind($argument))*.fetch_optional(&mut *$tx.inner).await.map_err(|it| $tx.told(it))
    };
    ($tx:ident, run $query:expr $(, $argument:expr)*) => {
        sqlx::query($query)$(.bind($argument))*.execute(&mut *$tx.inner).await.map_err(|it| $tx.told(it))
    };
}

impl Tx<'_> {
    pub async fn sites(&mut self) -> Told<Vec<SiteCounts>> {
        let rows: Vec<SiteCounts> = ask!(self, rows sql::SITES)?;
        self.sound(rows)
    }

    pub async fn site(&mut self, id: SiteId) -> Told<Option<SiteRow>> {
        let row: Option<SiteRow> = ask!(self, row sql::SITE, id)?;
        self.sound(row)
    }

    pub async fn put_site(&mut self, it: &SiteRow) -> Told<()> {
        ask!(self, run sql::PUT_SITE, it.id, &it.name, &it.region, it.n_outlets, it.revision, it.updated,
            it.sealed())
            .map(drop)
    }

    pub async fn revisions(&mut self, site: SiteId) -> Told<Vec<(Revision, At)>> {
        ask!(self, rows sql::REVISIONS, site)
    }

    pub async fn text(&mut self, site: SiteId, revision: Revision) -> Told<Option<TextRow>> {
        let row: Option<TextRow> = ask!(self, row sql::TEXT, site, revision)?;
        self.sound(row)
    }

    pub async fn add_text(&mut self, it: &TextRow) -> Told<()> {
        ask!(self, run sql::ADD_TEXT, it.site, it.revision, it.at, &it.text, &it.seal).map(drop)
    }

    pub async fn visits(&mut self, site: SiteId) -> Told<Vec<VisitRow>> {
        let rows: Vec<VisitRow> = ask!(self, rows sql::VISITS, site)?;
        self.sound(rows)
    }

    pub async fn visit(&mut self, id: VisitId) -> Told<Option<VisitRow>> {
        let row: Option<VisitRow> = ask!(self, row sql::VISIT, id)?;
        self.sound(row)
    }

    pub async fn counts(&mut self, visit: VisitId) -> Told<VisitCounts> {
        let row = ask!(self, row sql::COUNTS, visit)?;
        row.ok_or_else(|| self.broken("it does not count"))
    }

    pub async fn next_number(&mut self, site: SiteId) -> Told<i64> {
        let last: Option<i64> = ask!(self, value sql::LAST_NUMBER, site)?;
        Ok(last.unwrap_or(0) + 1)
    }

    pub async fn put_visit(&mut self, it: &VisitRow) -> Told<()> {
        ask!(self, run sql::PUT_VISIT, it.id, it.site, it.number, it.revision, &it.head, it.opened, it.closed,
            it.site_revision, it.sealed())
        .map(drop)
    }

    pub async fn entries(&mut self, visit: VisitId, after: Seq) -> Told<Vec<EntryRow>> {
        let rows: Vec<EntryRow> = ask!(self, rows sql::ENTRIES, visit, after)?;
        let rows = self.sound(rows)?;
        // the numbers have no gaps, so a row that was lost shows
        let mut seq = after.0;
        for row in &rows {
            seq += 1;
            if row.seq.0 != seq {
                return Err(self.broken(format!("row {seq} of visit {visit} is missing")));
            }
        }
        Ok(rows)
    }

    pub async fn entry_of_key(&mut self, key: Key) -> Told<Option<EntryRow>> {
        let row: Option<EntryRow> = ask!(self, row sql::ENTRY_OF_KEY, key)?;
        self.sound(row)
    }

    pub async fn last(&mut self, visit: VisitId) -> Told<Seq> {
        let last: Option<Seq> = ask!(self, value sql::LAST, visit)?;
        Ok(last.unwrap_or_default())
    }

    pub async fn has_id(&mut self, visit: VisitId, kind: &str, id: &str) -> Told<bool> {
        let n: Option<i64> = ask!(self, value sql::HAS_ID, visit, kind, id)?;
        Ok(n.unwrap_or(0) > 0)
    }

    pub async fn corrected_by(&mut self, visit: VisitId, id: &str) -> Told<Option<String>> {
        ask!(self, value sql::CORRECTED_BY, visit, id)
    }

    pub async fn add_entry(&mut self, it: &EntryRow) -> Told<()> {
        ask!(self, run sql::ADD_ENTRY, it.visit, it.seq, it.key, &it.kind, &it.id, &it.place, &it.corrects, it.at,
            &it.body, &it.text, it.sealed())
        .map(drop)
    }

    pub async fn content(&mut self, hash: &[u8]) -> Told<Option<Vec<u8>>> {
        ask!(self, value sql::CONTENT, hash)
    }

    pub async fn put_content(&mut self, hash: &[u8], kind: &str, bytes: &[u8]) -> Told<()> {
        ask!(self, run sql::PUT_CONTENT, hash, kind, bytes).map(drop)
    }

    pub async fn attachments(&mut self, visit: VisitId) -> Told<Vec<AttachmentRow>> {
        let rows: Vec<AttachmentRow> = ask!(self, rows sql::ATTACHMENTS, visit)?;
        self.sound(rows)
    }

    pub async fn attachment_of_key(&mut self, key: Key) -> Told<Option<AttachmentRow>> {
        let row: Option<AttachmentRow> = ask!(self, row sql::ATTACHMENT_OF_KEY, key)?;
        self.sound(row)
    }

    pub async fn add_attachment(&mut self, it: &AttachmentRow) -> Told<()> {
        ask!(self, run sql::ADD_ATTACHMENT, it.key, it.visit, it.seq, &it.place, &it.note, it.at, &it.hash,
            it.sealed())
        .map(drop)
    }

    pub async fn devices(&mut self) -> Told<Vec<DeviceRow>> {
        ask!(self, rows sql::DEVICES)
    }

    pub async fn device_of_token(&mut self, token: &[u8]) -> Told<Option<DeviceRow>> {
        ask!(self, row sql::DEVICE_OF_TOKEN, token)
    }

    pub async fn add_device(&mut self, it: &DeviceRow, token: &[u8]) -> Told<()> {
        ask!(self, run sql::ADD_DEVICE, it.id, &it.name, token, it.created).map(drop)
    }

    /// How many devices that were; none or one.
    pub async fn seen(&mut self, id: DeviceId, at: Timestamp) -> Told<u64> {
        ask!(self, run sql::SEEN, id, At(at)).map(|it| it.rows_affected())
    }

    /// How many devices that were; none or one.
    pub async fn revoke(&mut self, id: DeviceId, at: Timestamp) -> Told<u64> {
        ask!(self, run sql::REVOKE, id, At(at)).map(|it| it.rows_affected())
    }

    /// Rows as they were written; an error where one of them is not.
    fn sound<R, T>(&self, rows: R) -> Told<R>
    where
        for<'a> &'a R: IntoIterator<Item = &'a T>,
        T: Sealed,
    {
        let sound = (&rows).into_iter().all(|it| it.kept() == it.sealed());
        match sound {
            true => Ok(rows),
            false => Err(self.broken("a row was altered since it was written")),
        }
    }

    /// A row that the caller cannot make sense of.
    pub fn senseless(&self, what: impl ToString) -> StoreError {
        self.broken(what)
    }
}
