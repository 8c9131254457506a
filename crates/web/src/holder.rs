//! What the server answers from: the open store; or, where its file is damaged, nothing but the way to a backup.
//!
//! A backup is put in the store's place while the server goes on: requests meanwhile are told to come again.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError, RwLock};

use axum::Router;
use axum::extract::{Request, State};
use axum::response::Response;
use store::{SiteId, Store, StoreError, VisitId};
use tower::util::ServiceExt;

use crate::demo;
use crate::desk::{Desk, News, Outside};
use crate::net::phones::Phones;
use crate::page::{Frame, Seat, within};
use crate::routes;

/// Holds the store of one run.
pub struct Holder {
    path: PathBuf,
    outside: Outside,
    /// Who may come in.
    pub phones: Arc<Phones>,
    served: RwLock<Served>,
    notice: Arc<Mutex<Option<String>>>,
    /// One change of the store at a time.
    turn: tokio::sync::Mutex<()>,
}

/// What is answered from.
#[derive(Clone)]
enum Served {
    Open {
        desk: Arc<Desk>,
        laptop: Router,
        phones: Router,
    },
    /// Why there is no store.
    Without(Router, Option<String>),
}

impl std::fmt::Debug for Holder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Holder")
            .field("path", &self.path)
            .finish_non_exhaustive()
    }
}

impl Holder {
    /// Opens the store. A damaged one is left as it is, and answered for with the way to a backup.
    ///
    /// # Errors
    /// Whatever else is in the way.
    pub async fn open(path: &Path, outside: Outside) -> Result<Arc<Holder>, StoreError> {
        let holder = Arc::new(Holder {
            path: path.to_owned(),
            outside,
            phones: Arc::new(Phones::new(outside)),
            served: RwLock::new(Served::without(None)),
            notice: Arc::default(),
            turn: tokio::sync::Mutex::new(()),
        });
        match holder.opened().await {
            Ok(()) => {}
            Err(error @ StoreError::Damaged { .. }) => {
                holder.serve(Served::without(Some(error.to_string())));
            }
            Err(error) => return Err(error),
        }
        Ok(holder)
    }

    /// The file that everything is kept in.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Clock and chance.
    pub fn outside(&self) -> Outside {
        self.outside
    }

    /// What pages are filled from; none while there is no open store.
    pub fn desk(&self) -> Option<Arc<Desk>> {
        match self.served() {
            Served::Open { desk, .. } => Some(desk),
            Served::Without(..) => None,
        }
    }

    /// What is damaged, where the store could not be opened for it.
    pub fn damage(&self) -> Option<String> {
        match self.served() {
            Served::Open { .. } => None,
            Served::Without(_, why) => why,
        }
    }

    /// Bad news that stands on every page.
    pub fn notice(&self) -> Option<String> {
        self.notice
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    async fn opened(self: &Arc<Holder>) -> Result<(), StoreError> {
        let new = !self.path.exists();
        let store = Store::open(&self.path).await?;
        if new {
            put_demo(&store, self.outside).await?;
        }
        self.check_later(&store);
        let desk = Arc::new(Desk::new(store, self.outside));
        let laptop = routes::of_laptop(desk.clone());
        let phones = routes::of_phones(desk.clone());
        self.serve(Served::Open {
            desk,
            laptop,
            phones,
        });
        Ok(())
    }

    /// A large file was not read whole when it was opened: it is now, beside the work.
    fn check_later(&self, store: &Store) {
        *self.notice.lock().unwrap_or_else(PoisonError::into_inner) = None;
        if !store.is_left_to_check() {
            return;
        }
        let (store, notice) = (store.clone(), self.notice.clone());
        tokio::spawn(async move {
            // of a store that was closed meanwhile nothing is to be told
            if let Err(error @ StoreError::Damaged { .. }) = store.check().await {
                let told = format!(
                    "{error} What was read so far may be incomplete. Restore a backup on the page Copies, on the laptop, \
                     before you go on."
                );
                *notice.lock().unwrap_or_else(PoisonError::into_inner) = Some(told);
            }
        });
    }

    /// Puts a backup in the store's place and says where the old one stands now. All phones have to be paired anew: the
    /// backup may know one that was shut out since.
    ///
    /// # Errors
    /// Why it was not done; what was there before is there again.
    pub async fn put_back(self: &Arc<Holder>, backup: &Path) -> Result<PathBuf, StoreError> {
        let _turn = self.turn.lock().await;
        let before = self.served();
        self.serve(Served::without(None));
        if let Served::Open { desk, .. } = &before {
            let _ = desk.news.send(News::End); // pages that listen ask again
            desk.store.close().await;
        }
        let kept = Store::put_back(backup, &self.path, (self.outside.now)()).await;
        let again = match (self.opened().await, before) {
            (Err(error), Served::Without(_, Some(why))) => {
                self.serve(Served::without(Some(why)));
                Err(error)
            }
            (Err(error), _) => {
                self.serve(Served::without(Some(error.to_string())));
                Err(error)
            }
            (Ok(()), _) => Ok(()),
        };
        let kept = kept?;
        again?;
        if let Some(desk) = self.desk() {
            self.phones.shut_out_all(&desk.store).await?;
        }
        Ok(kept)
    }

    /// Ends what listens, and closes the store.
    pub async fn close(&self) {
        if let Some(desk) = self.desk() {
            desk.store.close().await;
        }
    }

    /// Ends the streams of pages that stand open.
    pub fn end_streams(&self) {
        if let Some(desk) = self.desk() {
            let _ = desk.news.send(News::End); // nobody listens: nobody needs to know
        }
    }

    fn served(&self) -> Served {
        self.served
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    fn serve(&self, it: Served) {
        *self.served.write().unwrap_or_else(PoisonError::into_inner) = it;
    }
}

impl Served {
    fn without(why: Option<String>) -> Served {
        Served::Without(routes::without_store(), why)
    }
}

/// A fresh store begins with the invented site, so that there is something to look at.
async fn put_demo(store: &Store, outside: Outside) -> Result<(), StoreError> {
    let now = (outside.now)();
    let site = SiteId((outside.name)());
    store.create_site(site, demo::SITE, now).await?;
    store
        .import_visit(VisitId((outside.name)()), site, demo::VISIT, now)
        .await?;
    Ok(())
}

/// Answers the laptop.
pub async fn for_laptop(State(holder): State<Arc<Holder>>, mut request: Request) -> Response {
    let app = match holder.served() {
        Served::Open { laptop, .. } => laptop,
        Served::Without(app, _) => app,
    };
    let frame = Frame {
        seat: Seat::Laptop,
        notice: holder.notice(),
    };
    request.extensions_mut().insert(holder);
    within(frame, answered(app, request)).await
}

/// Answers a phone, in the frame that the gate has set.
pub async fn for_phones(State(holder): State<Arc<Holder>>, request: Request) -> Response {
    let app = match holder.served() {
        Served::Open { phones, .. } => phones,
        Served::Without(..) => routes::closed(),
    };
    answered(app, request).await
}

async fn answered(app: Router, request: Request) -> Response {
    match app.oneshot(request).await {
        Ok(response) => response,
        Err(never) => match never {},
    }
}
