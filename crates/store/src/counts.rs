//! How many rows a visit has. They are only ever added, so only those behind the last one counted are counted.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use crate::error::StoreError;
use crate::ids::{Seq, VisitId};
use crate::lite::Tx;

/// So many visits stay counted.
const KEPT: usize = 4096;

/// Rows of a visit, by kind, as far as its last row.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Counted {
    pub n_readings: i64,
    pub n_observations: i64,
    pub last: Seq,
}

/// What was counted before; cheap to clone.
#[derive(Clone, Default)]
pub(crate) struct Counts(Arc<Mutex<HashMap<VisitId, Counted>>>);

impl Counts {
    /// The rows of a visit at the moment of `tx`, another process's too.
    pub async fn of(&self, tx: &mut Tx<'_>, visit: VisitId) -> Result<Counted, StoreError> {
        let last = tx.last(visit).await?;
        let known = self.known().get(&visit).copied().unwrap_or_default();
        if known.last == last {
            return Ok(known);
        }
        // fewer than were counted: this is no longer the file that they were counted in
        let mut counted = match known.last < last {
            true => known,
            false => Counted::default(),
        };
        let (n_readings, n_observations) = tx.count_behind(visit, counted.last).await?;
        counted.n_readings += n_readings;
        counted.n_observations += n_observations;
        counted.last = last;
        if !tx.writes() {
            // what is being written may yet be taken back
            let mut all = self.known();
            if all.len() >= KEPT {
                all.clear();
            }
            all.insert(visit, counted);
        }
        Ok(counted)
    }

    fn known(&self) -> std::sync::MutexGuard<'_, HashMap<VisitId, Counted>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
