//! Photographs and papers, kept once by their content, bound to a place of a visit.

use jiff::Timestamp;
use serde::Serialize;
use sha2::{Digest, Sha256};
use site::file::visit_from_file;
use site::file::written_visit::Observation;

use crate::entries::{Before, Said};
use crate::error::StoreError;
use crate::ids::{Key, Seq, VisitId};
use crate::lite::{AttachmentRow, Tx};
use crate::store::Store;
use crate::visits::{self, file_of, head, open, read_with};
use crate::watch::Changed;

/// No file with more bytes than this is taken: some three times what a phone's camera writes.
pub const LARGEST: usize = 16 << 20;

/// A file to be attached.
#[derive(Clone, Copy, Debug)]
pub struct NewAttachment<'a> {
    /// An outlet, `circuit:A4`, `panel:main` or `site`.
    pub place: &'a str,
    /// What a person says about it.
    pub note: &'a str,
    /// The file itself; its kind is told by what is in it, never by a name.
    pub bytes: &'a [u8],
}

/// An attached file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Attachment {
    /// What it was sent with, and its name from then on.
    pub key: Key,
    /// The visit.
    pub visit: VisitId,
    /// Its number among the attachments of the visit.
    pub seq: Seq,
    /// Where it belongs.
    pub place: String,
    /// What a person says about it.
    pub note: String,
    /// When it was kept.
    pub at: Timestamp,
    /// SHA-256 of its bytes, in hexadecimal.
    pub hash: String,
    /// Its media type, as `image/png`.
    pub kind: String,
    /// Its bytes, counted.
    pub size: usize,
}

impl Store {
    /// Attaches a file to a place of a visit that is open. Sent again with its key it is kept once.
    ///
    /// # Errors
    /// [`StoreError::TooLarge`], [`StoreError::Kind`], [`StoreError::Closed`], [`StoreError::Problems`] where the
    /// place is not at the site, [`StoreError::KeyUsed`].
    pub async fn attach(
        &self,
        visit: VisitId,
        key: Key,
        new: NewAttachment<'_>,
        now: Timestamp,
    ) -> Result<(Attachment, Before), StoreError> {
        let kind = kind_of(new.bytes)?;
        let hash = Sha256::digest(new.bytes).to_vec();
        let mut tx = self.lite.writing().await?;
        let row = visits::row(&mut tx, visit).await?;
        let (kept, before) = match tx.attachment_of_key(key).await? {
            Some(it) if it.visit == visit && it.hash == hash && it.is(&new) => (it, Before::Kept),
            Some(it) => {
                let (visit, seq) = (it.visit, it.seq);
                return Err(StoreError::KeyUsed { key, visit, seq });
            }
            None => {
                open(&row)?;
                self.is_place(&mut tx, &row, new.place).await?;
                let last = tx.n_attachments(visit).await?;
                let it = AttachmentRow::of(key, visit, Seq(last + 1), &new, now, kind);
                tx.put_content(&it.hash, kind, new.bytes).await?;
                tx.add_attachment(&it).await?;
                tx.commit().await?;
                (it, Before::New)
            }
        };
        let seq = kept.seq;
        self.tell(row.site, Changed::Attachment { visit, seq });
        Ok((Attachment::of(kept), before))
    }

    /// What is attached to a visit, in the order it came.
    pub async fn attachments(&self, visit: VisitId) -> Result<Vec<Attachment>, StoreError> {
        let mut tx = self.lite.reading().await?;
        visits::row(&mut tx, visit).await?;
        let rows = tx.attachments(visit).await?;
        Ok(rows.into_iter().map(Attachment::of).collect())
    }

    /// An attachment and its bytes.
    pub async fn attachment(&self, key: Key) -> Result<(Attachment, Vec<u8>), StoreError> {
        let mut tx = self.lite.reading().await?;
        let row = tx.attachment_of_key(key).await?;
        let row = row.ok_or_else(|| StoreError::unknown("attachment", key))?;
        let bytes = content(&mut tx, &row.hash).await?;
        Ok((Attachment::of(row), bytes))
    }

    async fn is_place(
        &self,
        tx: &mut Tx<'_>,
        row: &crate::lite::VisitRow,
        place: &str,
    ) -> Result<(), StoreError> {
        let revision = read_with(tx, row).await?;
        let site = self.document(tx, row.site, revision).await?;
        // whatever an observation can be made at, in its words where it cannot
        let here = Said::Observation(Observation {
            at: Some(place.to_owned()),
            sees: Some("not-understood".to_owned()),
            ..Observation::default()
        });
        let file = file_of(
            head(tx, row)?,
            &site.site,
            std::iter::once(("attachment", &here)),
        );
        visit_from_file(&file, &visits::name(row.number), &site.site)?;
        Ok(())
    }
}

impl Attachment {
    pub(crate) fn of(row: AttachmentRow) -> Attachment {
        Attachment {
            key: row.key,
            visit: row.visit,
            seq: row.seq,
            place: row.place,
            note: row.note,
            at: row.at.0,
            hash: row.hash.iter().map(|it| format!("{it:02x}")).collect(),
            kind: row.kind,
            size: row.size as usize,
        }
    }
}

/// The bytes behind a hash; an error where they are no longer those.
pub(crate) async fn content(tx: &mut Tx<'_>, hash: &[u8]) -> Result<Vec<u8>, StoreError> {
    let bytes = tx.content(hash).await?;
    match bytes {
        Some(bytes) if Sha256::digest(&bytes)[..] == *hash => Ok(bytes),
        _ => Err(tx.senseless("an attachment was altered since it was written")),
    }
}

/// The media type by the content, of those that are taken.
///
/// # Errors
/// [`StoreError::TooLarge`], [`StoreError::Kind`].
pub fn kind_of(bytes: &[u8]) -> Result<&'static str, StoreError> {
    if bytes.len() > LARGEST {
        return Err(StoreError::TooLarge { size: bytes.len() });
    }
    let taken = ["image/png", "image/jpeg", "image/webp", "application/pdf"];
    match infer::get(bytes).map(|it| it.mime_type()) {
        Some(told) => taken
            .into_iter()
            .find(|it| *it == told)
            .ok_or(StoreError::Kind),
        None => match std::str::from_utf8(bytes) {
            Ok(text) if !text.is_empty() && !text.contains(is_unprintable) => Ok("text/plain"),
            _ => Err(StoreError::Kind),
        },
    }
}

fn is_unprintable(letter: char) -> bool {
    letter.is_control() && !matches!(letter, '\n' | '\r' | '\t')
}
