//! Answers, worked out beside the requests: only the newest state of a visit, one visit at a time, on threads that yield.
//!
//! A trace takes all cores for as long as it lasts, and readings come faster than that. So nothing queues but the names
//! of visits: whoever is next is traced as it stands then, and the states in between never are. The threads have a low
//! share of the machine, so that pages are answered while they work.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use rayon::ThreadPool;
use site::model::Site;
use site::visit::Visit;
use store::VisitId;
use thread_priority::{ThreadPriority, ThreadPriorityValue, set_current_thread_priority};
use tokio::sync::{Semaphore, oneshot, watch};
use trace::Question;
use trace::answer::Answer;

use crate::desk::{Desk, News, locked};
use crate::standing::{Stamp, Standing};

/// So many answers are remembered, of a visit only those about one state of it.
const REMEMBERED: usize = 64;

/// An answer, or why there is none.
pub type Answered = Result<Arc<Answer>, String>;

/// What an answer is about.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Subject {
    /// A state of a visit, with checks that are put off.
    Visit(Stamp, Vec<String>),
    /// A line of readings in a region, with checks that cannot be made.
    Line(String, String, Vec<String>),
}

impl Subject {
    /// Whether it is another state of the same visit, which only goes on: nobody asks about the earlier one again.
    fn replaces(&self, other: &Subject) -> bool {
        match (self, other) {
            (Subject::Visit(new, _), Subject::Visit(old, _)) => {
                new.visit == old.visit && new != old
            }
            _ => false,
        }
    }
}

/// What was worked out, what waits, and the threads for it.
pub struct Answers {
    done: Mutex<VecDeque<(Subject, Answered)>>,
    /// Goes up with each answer.
    count: watch::Sender<u64>,
    visits: Mutex<Waiting>,
    /// Somebody waits for each line: one at a time, beside the visits.
    lines: Semaphore,
    /// None where the system gives no threads: then the usual ones do it.
    pool: Option<ThreadPool>,
}

/// Visits that wait, with checks that are put off.
#[derive(Default)]
struct Waiting {
    queue: VecDeque<(VisitId, Vec<String>)>,
    somebody_works: bool,
}

impl Default for Answers {
    fn default() -> Answers {
        let pool = rayon::ThreadPoolBuilder::new()
            .start_handler(|_| yielding())
            .build();
        Answers {
            done: Mutex::default(),
            count: watch::channel(0).0,
            visits: Mutex::default(),
            lines: Semaphore::new(1),
            pool: pool.ok(),
        }
    }
}

/// A quarter of the way from the lowest to the highest: pages come first, and an answer still comes on a busy machine.
const PRIORITY: u8 = 25;

/// From now on this thread gives way to others; where a system does not let it, it works like any other.
fn yielding() {
    if let Ok(low) = ThreadPriorityValue::try_from(PRIORITY) {
        let _ = set_current_thread_priority(ThreadPriority::Crossplatform(low));
    }
}

impl Answers {
    fn find(&self, subject: &Subject) -> Option<Answered> {
        let done = locked(&self.done);
        let found = done.iter().find(|(it, _)| it == subject);
        found.map(|(_, it)| it.clone())
    }

    fn keep(&self, subject: Subject, answered: Answered) {
        let mut done = locked(&self.done);
        done.retain(|(it, _)| !subject.replaces(it));
        if done.len() >= REMEMBERED {
            done.pop_front();
        }
        done.push_back((subject, answered));
        drop(done);
        self.count.send_modify(|it| *it += 1);
    }

    /// Asks on a thread that yields.
    async fn ask(&self, ask: impl FnOnce() -> Answer + Send + 'static) -> Answered {
        let (tell, told) = oneshot::channel();
        let work = move || {
            let done = catch_unwind(AssertUnwindSafe(ask));
            let _ = tell.send(done.ok()); // nobody waits: the workbench stops
        };
        match &self.pool {
            Some(pool) => pool.spawn(work),
            None => rayon::spawn(work),
        }
        match told.await {
            Ok(Some(answer)) => Ok(Arc::new(answer)),
            _ => Err("The trace has met a fault of its own; report what was told.".to_owned()),
        }
    }
}

impl Desk {
    /// The answer about a visit if it is there within `wait`; it is worked out in any case, unless rows come before its
    /// turn does, and then told to the pages.
    pub async fn answer(
        self: &Arc<Desk>,
        standing: &Standing,
        later: &[String],
        wait: Duration,
    ) -> Option<Answered> {
        let subject = Subject::Visit(standing.stamp, later.to_vec());
        let mut count = self.answers.count.subscribe();
        if let Some(answered) = self.answers.find(&subject) {
            return Some(answered);
        }
        self.want(standing.stamp.visit, later);
        let there = async {
            loop {
                count.changed().await.ok()?;
                if let Some(answered) = self.answers.find(&subject) {
                    return Some(answered);
                }
            }
        };
        tokio::time::timeout(wait, there).await.ok().flatten()
    }

    fn want(self: &Arc<Desk>, visit: VisitId, later: &[String]) {
        let mut visits = locked(&self.answers.visits);
        let waits = visits.queue.iter();
        if !waits.into_iter().any(|(v, l)| *v == visit && l == later) {
            visits.queue.push_back((visit, later.to_vec()));
        }
        if !visits.somebody_works {
            visits.somebody_works = true;
            tokio::spawn(self.clone().work());
        }
    }

    /// Works out what waits until nothing does.
    async fn work(self: Arc<Desk>) {
        loop {
            let next = {
                let mut visits = locked(&self.answers.visits);
                let next = visits.queue.pop_front();
                visits.somebody_works = next.is_some();
                next
            };
            let Some((visit, later)) = next else { return };
            // one that is no longer at hand is asked for again by whoever looks at it
            let Some(standing) = self.at_hand(visit) else {
                continue;
            };
            let subject = Subject::Visit(standing.stamp, later.clone());
            if self.answers.find(&subject).is_some() {
                continue;
            }
            let site = standing.listing.site;
            let mut visit = standing.visit.clone();
            visit.cannot.extend(later);
            let document = standing.document.clone();
            drop(standing); // rows that come meanwhile are then read on without a copy
            let ask = move || ask(&document.site, &visit);
            let answered = self.answers.ask(ask).await;
            self.answers.keep(subject, answered);
            let _ = self.news.send(News::Answer(site)); // nobody listens: nobody needs to know
        }
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
        if let Some(answered) = self.answers.find(&subject) {
            return answered;
        }
        let desk = self.clone();
        // goes on when whoever asked has gone: the page is opened again
        let work = tokio::spawn(async move {
            let turn = desk.answers.lines.acquire().await;
            if let Some(answered) = desk.answers.find(&subject) {
                return answered;
            }
            let answered = desk.answers.ask(move || ask(&site, &visit)).await;
            drop(turn);
            desk.answers.keep(subject, answered.clone());
            answered
        });
        match tokio::time::timeout(Duration::from_secs(60), work).await {
            Ok(Ok(answered)) => answered,
            _ => Err("It takes too long.".to_owned()),
        }
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
