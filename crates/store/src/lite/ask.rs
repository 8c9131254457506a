//! The questions that are asked of the database.

use jiff::Timestamp;

use super::rows::{
    At, AttachmentRow, DeviceRow, EntryRow, Sealed, SiteCounts, SiteRow, TextRow, VisitRow,
};
use super::{Tx, sql};
use crate::error::StoreError;
use crate::ids::{DeviceId, Key, Revision, Seq, SiteId, VisitId};

type Told<T> = Result<T, StoreError>;

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

    pub async fn latest_visit(&mut self, site: SiteId) -> Told<Option<VisitRow>> {
        let row: Option<VisitRow> = ask!(self, row sql::LATEST_VISIT, site)?;
        self.sound(row)
    }

    /// Readings and observations behind a row.
    pub async fn count_behind(&mut self, visit: VisitId, after: Seq) -> Told<(i64, i64)> {
        let row = ask!(self, row sql::COUNT_BEHIND, visit, after)?;
        row.ok_or_else(|| self.broken("it does not count"))
    }

    pub async fn n_attachments(&mut self, visit: VisitId) -> Told<i64> {
        let n: Option<i64> = ask!(self, value sql::N_ATTACHMENTS, visit)?;
        Ok(n.unwrap_or(0))
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
