//! What stands in no document: names, times, keys, and which file is what.

use std::collections::HashMap;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::error::StoreError;
use crate::ids::{Key, Revision, SiteId, VisitId};

/// The file's name.
pub(super) const NAME: &str = "manifest.json";

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Manifest {
    /// Of this file: 1.
    pub format: u32,
    pub sites: Vec<SiteFiles>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SiteFiles {
    pub id: SiteId,
    /// The oldest first; the last is the site as it is.
    pub revisions: Vec<TextFile>,
    pub visits: Vec<VisitFiles>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TextFile {
    pub revision: Revision,
    pub at: Timestamp,
    pub file: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct VisitFiles {
    pub id: VisitId,
    pub revision: Revision,
    pub opened: Timestamp,
    pub closed: Option<Timestamp>,
    /// The revision of the site that it was closed with.
    pub site_revision: Option<Revision>,
    pub file: String,
    pub rows: Vec<RowOfFile>,
    pub attachments: Vec<AttachedFile>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RowOfFile {
    pub kind: String,
    pub id: String,
    pub key: Key,
    pub at: Timestamp,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct AttachedFile {
    pub key: Key,
    pub place: String,
    pub note: String,
    pub at: Timestamp,
    pub file: String,
}

impl Default for Manifest {
    fn default() -> Manifest {
        Manifest {
            format: 1,
            sites: Vec::new(),
        }
    }
}

impl Manifest {
    pub fn to_text(&self) -> String {
        serde_json::to_string_pretty(self).expect("texts and numbers under keys that are texts")
    }

    pub fn read(text: &str) -> Result<Manifest, StoreError> {
        let manifest: Manifest = serde_json::from_str(text).map_err(|it| refuse(NAME, it))?;
        match manifest.format {
            1 => Ok(manifest),
            other => Err(refuse(
                NAME,
                format!("it is of format {other}, and this version reads 1; use a newer version"),
            )),
        }
    }
}

impl VisitFiles {
    /// Key and time of each row.
    pub fn keys(&self) -> HashMap<(&str, &str), (Key, Timestamp)> {
        let rows = self.rows.iter();
        rows.map(|it| ((it.kind.as_str(), it.id.as_str()), (it.key, it.at)))
            .collect()
    }
}

pub(super) fn refuse(file: &str, what: impl ToString) -> StoreError {
    StoreError::Export {
        file: file.to_owned(),
        what: what.to_string(),
    }
}

/// A name as part of a file's name on any system: small letters, digits, dashes.
pub(super) fn plain(name: &str) -> String {
    let mut plain = String::new();
    for letter in name.chars().flat_map(char::to_lowercase) {
        match letter {
            'a'..='z' | '0'..='9' => plain.push(letter),
            _ if plain.ends_with('-') || plain.is_empty() => {}
            _ => plain.push('-'),
        }
        if plain.len() == 40 {
            break;
        }
    }
    match plain.trim_end_matches('-') {
        "" => "site".to_owned(),
        it => it.to_owned(),
    }
}

/// The end of a name, enough to tell two apart: the beginning of one made by time is the same for years.
pub(super) fn short(id: Uuid) -> String {
    let text = id.simple().to_string();
    text[20..].to_owned()
}

/// The ending of a file's name by its media type.
pub(super) fn ending(kind: &str) -> &'static str {
    match kind {
        "image/png" => "png",
        "image/jpeg" => "jpg",
        "image/webp" => "webp",
        "application/pdf" => "pdf",
        _ => "txt",
    }
}
