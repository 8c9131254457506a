//! Rows as the database holds them, each with a digest of its own where a changed digit would matter.

use jiff::Timestamp;
use sha2::{Digest, Sha256};
use sqlx::encode::IsNull;
use sqlx::error::BoxDynError;
use sqlx::sqlite::{SqliteArgumentsBuffer, SqliteTypeInfo, SqliteValueRef};
use sqlx::{FromRow, Sqlite};

use crate::attachments::NewAttachment;
use crate::ids::{DeviceId, Key, Revision, Seq, SiteId, VisitId};
use crate::seal::seal;

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
pub(super) trait Sealed {
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
    pub seal: Vec<u8>,
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
