//! What can go wrong with a store: what, where, what to do.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use site::file::Problems;

use crate::attachments::LARGEST;
use crate::ids::{Key, Revision, Seq, SiteId, VisitId};

/// Why the store did not do what was asked. Nothing is half done: what was asked is kept whole or not at all.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The file is broken. It is left as it is.
    #[error("the store {} is damaged: {what}. Nothing in it was changed; {}", path.display(), offer(backup))]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The newest backup beside it.
        backup: Option<PathBuf>,
        /// What was found.
        what: String,
    },
    /// The file is something else. It is left as it is.
    #[error("{} is not a store of Wattwright, and was left as it is; choose another path, or move it away; {}", path.display(), offer(backup))]
    Foreign {
        /// The file.
        path: PathBuf,
        /// The newest backup beside it.
        backup: Option<PathBuf>,
    },
    /// A newer version has written it.
    #[error("the store {} was written by a newer version (step {found}, this version knows {known}); use that version, nothing was changed", path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// Newest step of its structure.
        found: i64,
        /// Newest step that is known here.
        known: i64,
    },
    /// There is no room on the disk.
    #[error("the disk that holds {} is full: this was not kept, everything acknowledged before is; make room and send it again", path.display())]
    Full {
        /// The file.
        path: PathBuf,
    },
    /// Another program holds the file.
    #[error("another program is writing to {}; this was not kept, try again", path.display())]
    Busy {
        /// The file.
        path: PathBuf,
    },
    /// A file or folder cannot be read or written.
    #[error("{}: {why}; check that the folder is there and may be written to", path.display())]
    Unreachable {
        /// The file.
        path: PathBuf,
        /// In the system's words.
        why: String,
    },
    /// There is nothing by that name.
    #[error("there is no {kind} {id} here; it may have been opened in another store")]
    Unknown {
        /// Site, visit, ...
        kind: &'static str,
        /// Its name.
        id: String,
    },
    /// There is something by that name already.
    #[error("there already is a {kind} {id}; nothing was changed")]
    Exists {
        /// Site, visit, file, ...
        kind: &'static str,
        /// Its name.
        id: String,
    },
    /// Somebody else changed the document in the meantime.
    #[error("{0}")]
    Conflict(Box<Conflict>),
    /// The visit is closed.
    #[error("the visit was closed at {at} and takes nothing more; open a new visit at the site")]
    Closed {
        /// The visit.
        visit: VisitId,
        /// When.
        at: Timestamp,
    },
    /// What was written does not read.
    #[error("{0}")]
    Problems(Problems),
    /// The changed site no longer fits a visit that is open.
    #[error("visit {number} is open and does not fit the changed site: {problems}")]
    Breaks {
        /// The visit.
        visit: VisitId,
        /// Its number at the site.
        number: i64,
        /// What no longer fits.
        problems: Problems,
    },
    /// The key was used for something else.
    #[error(
        "the key {key} was already used for something else (row {seq} of visit {visit}); send this again with a key of its own"
    )]
    KeyUsed {
        /// The key.
        key: Key,
        /// Where it was used.
        visit: VisitId,
        /// As which row.
        seq: Seq,
    },
    /// The reading was already corrected.
    #[error("reading {old} was already corrected by {by}; correct that one")]
    Corrected {
        /// The reading.
        old: String,
        /// The one that corrects it.
        by: String,
    },
    /// An attachment is too large.
    #[error("the file has {size} bytes, and {LARGEST} are taken; send a smaller picture")]
    TooLarge {
        /// Its size.
        size: usize,
    },
    /// An attachment is of a kind that is not taken.
    #[error("this is no PNG, JPEG, WebP, PDF or plain text by its content; send one of these")]
    Kind,
    /// An export does not read.
    #[error("{file}: {what}; nothing was taken from it")]
    Export {
        /// The file in it.
        file: String,
        /// What is wrong.
        what: String,
    },
    /// Anything else that the database says.
    #[error("the store {} says: {why}", path.display())]
    Database {
        /// The file.
        path: PathBuf,
        /// In its words.
        why: String,
    },
}

/// Two people changed the same document: the one who was second has both, and what both began with.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{document} was changed by somebody else (it is at revision {found}, yours began at {expected}); both are kept here, look at them and send one again"
)]
pub struct Conflict {
    /// Which document.
    pub document: Document,
    /// The revision that the second one began with.
    pub expected: Revision,
    /// The revision that is kept now.
    pub found: Revision,
    /// What both began with, where it is still kept.
    pub base: Option<String>,
    /// What the second one sent.
    pub yours: String,
    /// What is kept now.
    pub theirs: String,
}

/// A document that is changed as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Document {
    /// A site.
    Site(SiteId),
    /// What stands above the readings of a visit.
    Head(VisitId),
}

impl std::fmt::Display for Document {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Document::Site(_) => "the site",
            Document::Head(_) => "the head of the visit",
        })
    }
}

impl From<Problems> for StoreError {
    fn from(problems: Problems) -> StoreError {
        StoreError::Problems(problems)
    }
}

impl StoreError {
    pub(crate) fn unknown(kind: &'static str, id: impl ToString) -> StoreError {
        let id = id.to_string();
        StoreError::Unknown { kind, id }
    }

    pub(crate) fn exists(kind: &'static str, id: impl ToString) -> StoreError {
        let id = id.to_string();
        StoreError::Exists { kind, id }
    }

    /// What the system says of a file.
    pub(crate) fn of_file(path: &Path, error: std::io::Error) -> StoreError {
        let path = path.to_owned();
        match error.kind() {
            std::io::ErrorKind::StorageFull => StoreError::Full { path },
            _ => StoreError::Unreachable {
                path,
                why: error.to_string(),
            },
        }
    }
}

fn offer(backup: &Option<PathBuf>) -> String {
    match backup {
        Some(it) => format!(
            "the newest backup is {}: restore it into a new file",
            it.display()
        ),
        None => "no backup stands beside it".to_owned(),
    }
}
