//! A visit as it stands: read whole once, and from then on read on row by row as they come.

use std::sync::Arc;

use site::file::written_visit::VisitFile;
use site::file::{Problems, SiteDocument, read_on};
use site::finding::Finding;
use site::visit::Visit;
use store::{Entry, Revision, Seq, VisitId, VisitListing, VisitRecord};

/// Which state of a visit: its head, its last row, the site it is read with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Stamp {
    /// The visit.
    pub visit: VisitId,
    /// Revision of its head.
    pub head: Revision,
    /// Its last row.
    pub last: Seq,
    /// Revision of the site.
    pub site: Revision,
}

impl Stamp {
    /// Of a visit that is read with a revision of its site.
    pub fn of(listing: &VisitListing, site: Revision) -> Stamp {
        Stamp {
            visit: listing.id,
            head: listing.revision,
            last: listing.last,
            site,
        }
    }

    /// Whether this is the other with more rows behind it, or the other itself.
    pub fn goes_on_from(&self, other: &Stamp) -> bool {
        let last = other.last;
        self.last >= last && Stamp { last, ..*self } == *other
    }
}

/// A visit as it stands.
#[derive(Clone)]
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
    pub head: VisitFile,
    /// Its rows.
    pub entries: Vec<Arc<Entry>>,
    /// Findings of readings that stand, each with the place of its reading.
    judged: Vec<(usize, Arc<Finding>)>,
}

impl Standing {
    /// A visit read whole.
    ///
    /// # Errors
    /// None that is known: every row was read before it was kept.
    pub fn of(record: VisitRecord) -> Result<Standing, Problems> {
        let mut standing = Standing {
            stamp: Stamp::of(&record.listing, record.site_revision),
            visit: record.visit()?,
            listing: record.listing,
            document: record.site,
            head: record.head,
            entries: record.entries.into_iter().map(Arc::new).collect(),
            judged: Vec::new(),
        };
        standing.judge_behind(0);
        Ok(standing)
    }

    /// Takes in the rows behind the last one; `more` has these only.
    ///
    /// # Errors
    /// None that is known, as above; it then stands as it stood.
    pub fn read_on(&mut self, more: VisitRecord) -> Result<(), Problems> {
        let n_before = self.visit.readings.len();
        let name = format!("visit {}", more.listing.number);
        read_on(&mut self.visit, more.file(), &name, &self.document.site)?;
        self.stamp = Stamp::of(&more.listing, more.site_revision);
        self.listing = more.listing;
        self.entries.extend(more.entries.into_iter().map(Arc::new));
        self.judge_behind(n_before);
        Ok(())
    }

    fn judge_behind(&mut self, n_before: usize) {
        let site = &self.document.site;
        for (n, reading) in self.visit.readings.iter().enumerate().skip(n_before) {
            if let Some(old) = reading.corrects
                && let Ok(at) = self.judged.binary_search_by_key(&old.0, |(it, _)| *it)
            {
                self.judged.remove(at);
            }
            if let Some(finding) = trace::verdict(site, &self.visit, reading) {
                self.judged.push((n, Arc::new(finding)));
            }
        }
    }

    /// Readings against their limits, in the order of the readings.
    pub fn limits(&self) -> impl Iterator<Item = &Finding> {
        self.judged.iter().map(|(_, it)| it.as_ref())
    }

    /// Whether anything is told.
    pub fn is_empty(&self) -> bool {
        self.visit.readings.is_empty() && self.visit.observations.is_empty()
    }
}
