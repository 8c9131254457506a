//! Export and import: documents as plain files, with a manifest of what stands in no document.
//!
//! The documents are what counts: whoever edits one in an exported folder imports what is written there. The manifest
//! keeps names, times and the keys of rows, so that a phone that sends a row again after a move doubles nothing.

mod files;
mod manifest;

use std::path::Path;

use site::file::{Form, Problems, read_site};

use crate::attachments::{Attachment, LARGEST, NewAttachment, content, kind_of};
use crate::error::StoreError;
use crate::ids::{Revision, Seq, SiteId};
use crate::lite::{At, AttachmentRow, Tx, VisitRow};
use crate::store::Store;
use crate::watch::Changed;
use crate::{sites, visits};
pub use files::Package;
use files::{Source, Target};
use manifest::{AttachedFile, Manifest, RowOfFile, SiteFiles, TextFile, VisitFiles};

/// Which sites to export.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// All of them.
    All,
    /// One.
    One(SiteId),
}

impl Store {
    /// Writes sites with all revisions, visits and attachments as plain files, at a path where there is nothing.
    pub async fn export(
        &self,
        which: Which,
        package: Package,
        to: &Path,
    ) -> Result<(), StoreError> {
        let mut target = Target::new(package, to)?;
        let written = self.write_all(which, &mut target).await;
        match written {
            Ok(()) => target.finish(),
            Err(error) => {
                target.discard();
                Err(error)
            }
        }
    }

    async fn write_all(&self, which: Which, target: &mut Target) -> Result<(), StoreError> {
        let mut tx = self.lite.reading().await?;
        let ids = match which {
            Which::One(id) => vec![sites::row(&mut tx, id).await?.id],
            Which::All => tx.sites().await?.into_iter().map(|it| it.site.id).collect(),
        };
        let mut manifest = Manifest::default();
        for id in ids {
            manifest
                .sites
                .push(self.write_site(&mut tx, id, target).await?);
        }
        target.put(manifest::NAME, manifest.to_text().as_bytes()) // last: without it nothing is imported
    }

    async fn write_site(
        &self,
        tx: &mut Tx<'_>,
        id: SiteId,
        target: &mut Target,
    ) -> Result<SiteFiles, StoreError> {
        let site = sites::row(tx, id).await?;
        let folder = format!("{}-{}", manifest::plain(&site.name), manifest::short(id.0));
        let mut files = SiteFiles {
            id,
            revisions: Vec::new(),
            visits: Vec::new(),
        };
        for (revision, at) in tx.revisions(id).await? {
            let file = match revision == site.revision {
                true => format!("{folder}/site.toml"),
                false => format!("{folder}/revisions/{revision}.toml"),
            };
            let missing = format!("revision {revision} of a site is missing");
            let row = tx.text(id, revision).await?;
            let row = row.ok_or_else(|| tx.senseless(missing))?;
            target.put(&file, row.text.as_bytes())?;
            let at = at.0;
            files.revisions.push(TextFile { revision, at, file });
        }
        for row in tx.visits(id).await? {
            files
                .visits
                .push(self.write_visit(tx, &row, &folder, target).await?);
        }
        Ok(files)
    }

    async fn write_visit(
        &self,
        tx: &mut Tx<'_>,
        row: &VisitRow,
        folder: &str,
        target: &mut Target,
    ) -> Result<VisitFiles, StoreError> {
        let file = format!(
            "{folder}/visits/{}-{}.toml",
            row.number,
            manifest::short(row.id.0)
        );
        let text = self.text_of(tx, row).await?;
        target.put(&file, text.as_bytes())?;
        let rows = tx.entries(row.id, Seq(0)).await?.into_iter();
        let mut attached = Vec::new();
        for it in tx.attachments(row.id).await? {
            let bytes = content(tx, &it.hash).await?;
            let it = Attachment::of(it);
            let file = format!("attachments/{}.{}", it.hash, manifest::ending(&it.kind));
            target.put_once(&file, &bytes)?;
            attached.push(AttachedFile {
                key: it.key,
                place: it.place,
                note: it.note,
                at: it.at,
                file,
            });
        }
        Ok(VisitFiles {
            id: row.id,
            revision: row.revision,
            opened: row.opened.0,
            closed: row.closed.map(|it| it.0),
            site_revision: row.site_revision,
            file,
            rows: rows
                .map(|it| RowOfFile {
                    kind: it.kind,
                    id: it.id,
                    key: it.key,
                    at: it.at.0,
                })
                .collect(),
            attachments: attached,
        })
    }

    /// Takes in what was exported: a folder, or an archive. All of it, or nothing.
    ///
    /// # Errors
    /// [`StoreError::Exists`] where one of the sites is here already; [`StoreError::Export`] where files are missing
    /// or do not read.
    pub async fn import(&self, from: &Path) -> Result<Vec<SiteId>, StoreError> {
        let mut source = Source::open(from)?;
        let manifest = Manifest::read(&source.text(manifest::NAME)?)?;
        let mut tx = self.lite.writing().await?;
        for site in &manifest.sites {
            self.read_site(&mut tx, site, &mut source).await?;
        }
        tx.commit().await?;
        for site in &manifest.sites {
            let revision = site.revisions.last().map_or(Revision(1), |it| it.revision);
            self.tell(site.id, Changed::Site { revision });
        }
        Ok(manifest.sites.iter().map(|it| it.id).collect())
    }

    async fn read_site(
        &self,
        tx: &mut Tx<'_>,
        files: &SiteFiles,
        source: &mut Source,
    ) -> Result<(), StoreError> {
        if tx.site(files.id).await?.is_some() {
            return Err(StoreError::exists("site", files.id));
        }
        let in_order = files
            .revisions
            .iter()
            .zip(1..)
            .all(|(it, n)| it.revision.0 == n);
        if files.revisions.is_empty() || !in_order {
            let what = format!(
                "the revisions of site {} are not 1, 2, ... in order",
                files.id
            );
            return Err(manifest::refuse(manifest::NAME, what));
        }
        for it in &files.revisions {
            let text = source.text(&it.file)?;
            let read = read_site(&text, &it.file, Form::Toml).map_err(|p| problems(&it.file, p))?;
            sites::put(tx, files.id, it.revision, &text, read, it.at).await?;
        }
        for visit in &files.visits {
            self.read_visit(tx, files, visit, source).await?;
        }
        Ok(())
    }

    async fn read_visit(
        &self,
        tx: &mut Tx<'_>,
        site: &SiteFiles,
        files: &VisitFiles,
        source: &mut Source,
    ) -> Result<(), StoreError> {
        let newest = site.revisions.last().map_or(Revision(1), |it| it.revision);
        let revision = files.site_revision.unwrap_or(newest);
        let known = site.revisions.iter().find(|it| it.revision == revision);
        let known = known.filter(|_| files.closed.is_some() == files.site_revision.is_some());
        let Some(with) = known else {
            let what = format!(
                "visit {} names no revision of its site, or no closing",
                files.id
            );
            return Err(manifest::refuse(manifest::NAME, what));
        };
        // not by `Store::document`: what is remembered there must have been committed
        let document = read_site(&source.text(&with.file)?, &with.file, Form::Toml)?;
        let text = source.text(&files.file)?;
        let keys = files.keys();
        let key = |kind: &str, id: &str| keys.get(&(kind, id)).copied();
        let begun = visits::begin(
            tx,
            files.id,
            site.id,
            &document.site,
            &text,
            files.opened,
            key,
        );
        let mut row = begun.await.map_err(|it| match it {
            StoreError::Problems(it) => problems(&files.file, it),
            other => other,
        })?;
        row.revision = files.revision;
        row.closed = files.closed.map(At);
        row.site_revision = files.site_revision;
        tx.put_visit(&row).await?;
        for (it, n) in files.attachments.iter().zip(1..) {
            let bytes = source.bytes(&it.file, LARGEST)?;
            let kind = kind_of(&bytes).map_err(|why| manifest::refuse(&it.file, why))?;
            let new = NewAttachment {
                place: &it.place,
                note: &it.note,
                bytes: &bytes,
            };
            let row = AttachmentRow::of(it.key, files.id, Seq(n), &new, it.at, kind);
            if tx.attachment_of_key(it.key).await?.is_some() {
                return Err(StoreError::exists("attachment", it.key));
            }
            tx.put_content(&row.hash, kind, &bytes).await?;
            tx.add_attachment(&row).await?;
        }
        Ok(())
    }
}

fn problems(file: &str, problems: Problems) -> StoreError {
    manifest::refuse(file, format!("it does not read:\n{problems}"))
}
