//! What all pages are filled from: the store, and answers worked out once for each state of a visit.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use jiff::Timestamp;
use site::file::SiteDocument;
use site::finding::Finding;
use site::model::Site;
use site::visit::Visit;
use store::{Entry, Revision, Seq, SiteId, SiteRecord, Store, StoreError, VisitId, VisitListing};
use tokio::sync::{OnceCell, Semaphore, broadcast};
use trace::Question;
use trace::answer::Answer;
use uuid::Uuid;

/// So many answers are remembered.
const REMEMBERED: usize = 64;
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
    answers: Mutex<Vec<(Subject, Arc<OnceCell<Answered>>)>>,
    standing: Mutex<HashMap<VisitId, (Stamp, Arc<Standing>)>>,
    /// An answer takes both cores: one at a time.
    working: Semaphore,
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

/// An answer, or why there is none.
pub type Answered = Result<Arc<Answer>, String>;

/// What an answer is about.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Subject {
    /// A state of a visit, with checks that are put off.
    Visit(Stamp, Vec<String>),
    /// A line of readings in a region, with checks that cannot be made.
    Line(String, String, Vec<String>),
}

/// Which state of a visit: its head, its last row, the site it is read with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Stamp {
    visit: VisitId,
    head: Revision,
    last: Seq,
    site: Revision,
}

/// A visit as it stands.
pub struct Standing {
    /// Which state this is.
    pub stamp: Stamp,
    /// As in a list.
    pub listing: VisitListing,
    /// The site it is read with.
    pub document: Arc<SiteDocument>,
    /// What it means.
    pub visit: Visit,
    /// What stands above its readings, as written.
    pub head: site::file::written_visit::VisitFile,
    /// Its rows.
    pub entries: Vec<Entry>,
    /// Readings against their limits.
    pub limits: Vec<Finding>,
}

impl Standing {
    /// Whether anything is told.
    pub fn is_empty(&self) -> bool {
        self.visit.readings.is_empty() && self.visit.observations.is_empty()
    }
}

/// A site and its latest visit.
pub struct Now {
    /// The site as it is now.
    pub site: SiteRecord,
    /// The latest visit, open or closed.
    pub latest: Option<Arc<Standing>>,
}

fn locked<T>(it: &Mutex<T>) -> MutexGuard<'_, T> {
    it.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Desk {
    /// Over an open store.
    pub fn new(store: Store, outside: Outside) -> Desk {
        Desk {
            store,
            outside,
            news: broadcast::channel(64).0,
            answers: Mutex::default(),
            standing: Mutex::default(),
            working: Semaphore::new(1),
        }
    }

    /// A name that nothing else has.
    pub fn fresh(&self) -> String {
        (self.outside.name)().to_string()
    }

    /// A site and its latest visit.
    pub async fn now(&self, id: SiteId) -> Result<Now, StoreError> {
        let site = self.store.site(id).await?;
        let latest = match self.store.visits(id).await?.pop() {
            Some(listing) => Some(self.standing(listing, site.revision).await?),
            None => None,
        };
        Ok(Now { site, latest })
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

    /// A visit read once for each of its states.
    async fn standing(
        &self,
        listing: VisitListing,
        newest: Revision,
    ) -> Result<Arc<Standing>, StoreError> {
        let of = |listing: &VisitListing, site| Stamp {
            visit: listing.id,
            head: listing.revision,
            last: listing.last,
            site,
        };
        if let Some((stamp, standing)) = locked(&self.standing).get(&listing.id) {
            // a closed visit is read with the site of its closing
            let site = if listing.closed.is_some() {
                stamp.site
            } else {
                newest
            };
            if *stamp == of(&listing, site) {
                return Ok(standing.clone());
            }
        }
        let record = self.store.visit(listing.id).await?;
        let stamp = of(&record.listing, record.site_revision);
        let visit = record.visit()?;
        let standing = Arc::new(Standing {
            stamp,
            limits: trace::verdicts(&record.site.site, &visit),
            listing: record.listing,
            document: record.site,
            visit,
            head: record.head,
            entries: record.entries,
        });
        let mut all = locked(&self.standing);
        if all.len() >= READ {
            all.clear();
        }
        all.insert(listing.id, (stamp, standing.clone()));
        Ok(standing)
    }

    /// The answer about a visit if it is there within `wait`; it is worked out in any case, and then told to the pages.
    pub async fn answer(
        self: &Arc<Desk>,
        standing: &Arc<Standing>,
        later: &[String],
        wait: Duration,
    ) -> Option<Answered> {
        let subject = Subject::Visit(standing.stamp, later.to_vec());
        let (it, later) = (standing.clone(), later.to_vec());
        let ask = move || {
            let mut visit = it.visit.clone();
            visit.cannot.extend(later);
            ask(&it.document.site, &visit)
        };
        self.worked_out(subject, ask, Some(standing.listing.site), wait)
            .await
    }

    /// The answer about a line of readings, waited for.
    pub async fn answer_line(
        self: &Arc<Desk>,
        region: &str,
        line: &str,
        site: Site,
        visit: Visit,
    ) -> Answered {
        let subject = Subject::Line(region.to_owned(), line.to_owned(), visit.cannot.clone());
        let ask = move || ask(&site, &visit);
        let answered = self
            .worked_out(subject, ask, None, Duration::from_secs(60))
            .await;
        answered.unwrap_or_else(|| Err("It takes too long.".to_owned()))
    }

    async fn worked_out(
        self: &Arc<Desk>,
        subject: Subject,
        ask: impl FnOnce() -> Answer + Send + 'static,
        about: Option<SiteId>,
        wait: Duration,
    ) -> Option<Answered> {
        let cell = self.cell(subject);
        if let Some(answered) = cell.get() {
            return Some(answered.clone());
        }
        let desk = self.clone();
        let task = tokio::spawn(async move {
            let work = async {
                let turn = desk.working.acquire().await;
                let done = tokio::task::spawn_blocking(ask).await;
                drop(turn);
                done.map(Arc::new).map_err(|_| {
                    "The trace has met a fault of its own; report what was told.".to_owned()
                })
            };
            let answered = cell.get_or_init(|| work).await.clone();
            if let Some(site) = about {
                let _ = desk.news.send(News::Answer(site)); // nobody listens: nobody needs to know
            }
            answered
        });
        tokio::time::timeout(wait, task).await.ok()?.ok()
    }

    fn cell(&self, subject: Subject) -> Arc<OnceCell<Answered>> {
        let mut all = locked(&self.answers);
        if let Some((_, cell)) = all.iter().find(|(it, _)| *it == subject) {
            return cell.clone();
        }
        if all.len() >= REMEMBERED {
            all.remove(0);
        }
        let cell = Arc::new(OnceCell::new());
        all.push((subject, cell.clone()));
        cell
    }
}

fn ask(site: &Site, visit: &Visit) -> Answer {
    trace::trace(&Question {
        site,
        visit,
        skill: visit.skill,
        seed: 1,
    })
}
