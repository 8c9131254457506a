//! What changed, told to whoever listens, after it was committed.

use serde::Serialize;

use crate::ids::{Revision, Seq, SiteId, VisitId};

/// Something changed at a site. Whoever has missed some asks for the rows behind the last one seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Change {
    /// The site.
    pub site: SiteId,
    /// What.
    #[serde(flatten)]
    pub what: Changed,
}

/// What changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "what")]
pub enum Changed {
    /// The site's document, or there is a new site.
    Site {
        /// Its revision now.
        revision: Revision,
    },
    /// The head of a visit: opened, changed or closed.
    Visit {
        /// The visit.
        visit: VisitId,
        /// Revision of its head now.
        revision: Revision,
    },
    /// A reading or an observation was added.
    Entry {
        /// The visit.
        visit: VisitId,
        /// Its number.
        seq: Seq,
    },
    /// A file was attached.
    Attachment {
        /// The visit.
        visit: VisitId,
        /// Its number.
        seq: Seq,
    },
}
