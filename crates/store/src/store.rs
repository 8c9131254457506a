//! The store: opened once, handed around by cloning.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use site::file::{Form, SiteDocument, read_site};
use tokio::sync::broadcast;

use crate::counts::Counts;
use crate::error::StoreError;
use crate::ids::{Revision, SiteId};
use crate::lite::{Lite, Tx};
use crate::watch::{Change, Changed};

/// So many changes wait for a listener that is slow; behind that it is told that it missed some.
const WAITING: usize = 1024;
/// So many sites stay read; more are read again when they are needed.
const READ: usize = 32;

/// Everything kept in one file. Cheap to clone.
#[derive(Clone)]
pub struct Store {
    pub(crate) lite: Lite,
    changes: broadcast::Sender<Change>,
    documents: Arc<Mutex<Documents>>,
    pub(crate) counts: Counts,
}

type Documents = HashMap<(SiteId, Revision), Arc<SiteDocument>>;

impl Store {
    /// Opens a store, or makes a new one where there is no file.
    ///
    /// # Errors
    /// A file that is broken, something else or written by a newer version is left as it is.
    pub async fn open(path: &Path) -> Result<Store, StoreError> {
        Ok(Store {
            lite: Lite::open(path).await?,
            changes: broadcast::channel(WAITING).0,
            documents: Arc::default(),
            counts: Counts::default(),
        })
    }

    /// Where the store is when nobody says otherwise: the platform's folder for a person's data; none where the
    /// person has no home.
    pub fn default_path() -> Option<PathBuf> {
        let folders = directories::ProjectDirs::from("", "", "wattwright")?;
        Some(folders.data_dir().join("wattwright.db"))
    }

    /// The file.
    pub fn path(&self) -> &Path {
        self.lite.path()
    }

    /// Changes from now on, each after it was committed.
    pub fn watch(&self) -> broadcast::Receiver<Change> {
        self.changes.subscribe()
    }

    /// Whether the file is so large that opening it does not check it whole: [`Store::check`] is left to the caller.
    pub fn is_left_to_check(&self) -> bool {
        self.lite.is_large()
    }

    /// Reads the whole file and says what is broken in it; for a large one this takes seconds.
    pub async fn check(&self) -> Result<(), StoreError> {
        self.lite.check().await
    }

    /// Closes the file; whatever was acknowledged is in it already.
    pub async fn close(&self) {
        self.lite.close().await;
    }

    pub(crate) fn tell(&self, site: SiteId, what: Changed) {
        let _ = self.changes.send(Change { site, what }); // nobody listens: nobody needs to know
    }

    /// A revision of a site, read; from memory where it was read before.
    pub(crate) async fn document(
        &self,
        tx: &mut Tx<'_>,
        site: SiteId,
        revision: Revision,
    ) -> Result<Arc<SiteDocument>, StoreError> {
        let known = self.documents().get(&(site, revision)).cloned();
        if let Some(document) = known {
            return Ok(document);
        }
        let row = tx.text(site, revision).await?;
        let row = row.ok_or_else(|| {
            tx.senseless(format!("revision {revision} of site {site} is missing"))
        })?;
        let document = Arc::new(read_site(&row.text, "site", Form::Toml)?);
        let mut documents = self.documents();
        if documents.len() >= READ {
            documents.clear();
        }
        documents.insert((site, revision), document.clone());
        Ok(document)
    }

    fn documents(&self) -> std::sync::MutexGuard<'_, Documents> {
        self.documents
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }
}
