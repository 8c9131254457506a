//! What all pages are filled from: the store, and each visit read once.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use jiff::Timestamp;
use store::{Revision, SiteId, SiteRecord, Store, StoreError, VisitId, VisitListing};
use tokio::sync::broadcast;
use uuid::Uuid;

use crate::answers::Answers;
use crate::standing::{Stamp, Standing};

/// So many visits stay read.
const READ: usize = 32;

/// The clock and chance of one run; tests give their own.
#[derive(Clone, Copy)]
pub struct Outside {
    /// The time.
    pub now: fn() -> Timestamp,
    /// The date where the person is.
    pub today: fn() -> jiff::civil::Date,
    /// A name that nothing else has.
    pub name: fn() -> Uuid,
}

/// Shared by all requests.
pub struct Desk {
    /// Where everything is kept.
    pub store: Store,
    /// Clock and chance.
    pub outside: Outside,
    /// Tells of answers that were worked out, and of the end.
    pub news: broadcast::Sender<News>,
    /// What was worked out.
    pub answers: Answers,
    standing: Mutex<HashMap<VisitId, Arc<Standing>>>,
    /// Reading a large visit whole takes a core: once, whoever asks.
    reading: tokio::sync::Mutex<()>,
    /// Two devices that tell their first readings at once open one visit.
    pub opening: tokio::sync::Mutex<()>,
}

/// What pages that stand open are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum News {
    /// An answer about a site is there.
    Answer(SiteId),
    /// A phone was let in or shut out, or tried to come in.
    Phones,
    /// The workbench stops.
    End,
}

/// A site and its latest visit.
pub struct Now {
    /// The site as it is now.
    pub site: SiteRecord,
    /// The latest visit, open or closed.
    pub latest: Option<Arc<Standing>>,
    /// The latest visit, where it is still being read.
    pub reading: Option<VisitListing>,
}

impl Now {
    /// The latest visit, where it takes more.
    pub fn open(&self) -> Option<&Arc<Standing>> {
        self.latest
            .as_ref()
            .filter(|it| it.listing.closed.is_none())
    }
}

/// What a thread that failed has left is as good as ever: it is changed in one step.
pub fn locked<T>(it: &Mutex<T>) -> MutexGuard<'_, T> {
    it.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Desk {
    /// Over an open store.
    pub fn new(store: Store, outside: Outside) -> Desk {
        Desk {
            store,
            outside,
            news: broadcast::channel(64).0,
            answers: Answers::default(),
            standing: Mutex::default(),
            reading: tokio::sync::Mutex::default(),
            opening: tokio::sync::Mutex::default(),
        }
    }

    /// A name that nothing else has.
    pub fn fresh(&self) -> String {
        (self.outside.name)().to_string()
    }

    /// A site and its latest visit.
    pub async fn now(&self, id: SiteId) -> Result<Now, StoreError> {
        let site = self.store.site(id).await?;
        let latest = match self.store.latest_visit(id).await? {
            Some(listing) => Some(self.standing(listing, site.revision).await?),
            None => None,
        };
        Ok(Now {
            site,
            latest,
            reading: None,
        })
    }

    /// A site and its latest visit, if that is read within `wait`; else it goes on being read, and is then told to the pages.
    pub async fn now_within(
        self: &Arc<Desk>,
        id: SiteId,
        wait: Duration,
    ) -> Result<Now, StoreError> {
        let site = self.store.site(id).await?;
        let Some(listing) = self.store.latest_visit(id).await? else {
            return Ok(Now {
                site,
                latest: None,
                reading: None,
            });
        };
        let (desk, newest, of) = (self.clone(), site.revision, listing.clone());
        let read = tokio::spawn(async move {
            let begun = Instant::now();
            let read = desk.standing(of, newest).await;
            if begun.elapsed() >= wait {
                let _ = desk.news.send(News::Answer(id)); // nobody listens: nobody needs to know
            }
            read
        });
        let (latest, reading) = match tokio::time::timeout(wait, read).await {
            Ok(Ok(read)) => (Some(read?), None),
            Ok(Err(failed)) => std::panic::resume_unwind(failed.into_panic()),
            Err(_) => (None, Some(listing)),
        };
        Ok(Now {
            site,
            latest,
            reading,
        })
    }

    /// A visit by its number.
    pub async fn visit(
        &self,
        id: SiteId,
        number: i64,
    ) -> Result<(SiteRecord, Arc<Standing>), StoreError> {
        let site = self.store.site(id).await?;
        let all = self.store.visits(id).await?;
        let listing = all.into_iter().find(|it| it.number == number);
        let listing = listing.ok_or_else(|| StoreError::Unknown {
            kind: "visit",
            id: number.to_string(),
        })?;
        let standing = self.standing(listing, site.revision).await?;
        Ok((site, standing))
    }

    /// A visit as it stands at `listing` or behind it, read with the newest site if it is open.
    async fn standing(
        &self,
        listing: VisitListing,
        newest: Revision,
    ) -> Result<Arc<Standing>, StoreError> {
        if let Some(standing) = self.read_on(&listing, newest).await? {
            return Ok(standing);
        }
        let _turn = self.reading.lock().await;
        if let Some(standing) = self.read_on(&listing, newest).await? {
            return Ok(standing); // it was read while this waited
        }
        let record = self.store.visit(listing.id).await?;
        let read = tokio::task::spawn_blocking(move || Standing::of(record));
        let standing = match read.await {
            Ok(read) => Arc::new(read?),
            Err(failed) => std::panic::resume_unwind(failed.into_panic()),
        };
        let mut all = locked(&self.standing);
        if all.len() >= READ {
            all.clear();
        }
        all.insert(listing.id, standing.clone());
        Ok(standing)
    }

    /// A visit that is at hand, with the rows that came since; none where it has to be read whole.
    async fn read_on(
        &self,
        listing: &VisitListing,
        newest: Revision,
    ) -> Result<Option<Arc<Standing>>, StoreError> {
        loop {
            let Some(standing) = self.at_hand(listing.id) else {
                return Ok(None);
            };
            let known = standing.stamp;
            // a closed visit is read with the site of its closing
            let site = match listing.closed {
                Some(_) => known.site,
                None => newest,
            };
            let wanted = Stamp::of(listing, site);
            if known.goes_on_from(&wanted) {
                return Ok(Some(standing));
            }
            drop(standing);
            if !wanted.goes_on_from(&known) {
                return Ok(None);
            }
            let more = self.store.visit_behind(listing.id, known.last).await?;
            let now = Stamp::of(&more.listing, more.site_revision);
            if !now.goes_on_from(&known) {
                return Ok(None);
            }
            // where somebody else has read on meanwhile this looks again
            if let Some(standing) = locked(&self.standing).get_mut(&listing.id)
                && standing.stamp == known
            {
                Arc::make_mut(standing).read_on(more)?;
            }
        }
    }

    /// A visit as it was read last.
    pub fn at_hand(&self, visit: VisitId) -> Option<Arc<Standing>> {
        locked(&self.standing).get(&visit).cloned()
    }
}
