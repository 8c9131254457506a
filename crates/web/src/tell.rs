//! What a form sends becomes rows of a visit, each kept once however often the form comes.

use site::file::written_visit::{Meter, VisitFile};
use site::model::{OutletIx, Site};
use site::quick::{self, Counts};
use site::visit::{UsedMeter, Visit};
use store::{Key, Said, StoreError, VisitId};
use uuid::Uuid;

use crate::desk::{Desk, Now};
use crate::look::entry::{self, Typed};

/// What a form about a place sends.
#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default)]
pub struct Form {
    /// Makes the form count once.
    pub key: String,
    /// Identifier of the outlet whose page it was on.
    pub place: String,
    /// A line of readings; `...` in it is the value.
    pub line: String,
    /// A check that cannot be made.
    pub cannot: String,
    /// A check that is put off.
    pub later: String,
    /// Checks that were put off before, one below the other.
    pub put_off: String,
    /// A reading field by field.
    #[serde(flatten)]
    pub typed: Typed,
}

/// Why nothing was kept.
#[derive(Debug)]
pub enum Refused {
    /// What was typed in the fields of a reading.
    Fields(Vec<String>),
    /// What was typed as a line.
    Line(Vec<String>),
    /// The store.
    Store(StoreError),
}

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Refused {
        match error {
            StoreError::Problems(problems) => {
                Refused::Fields(problems.iter().map(ToString::to_string).collect())
            }
            StoreError::Corrected { .. } => Refused::Fields(vec![error.to_string()]),
            other => Refused::Store(other),
        }
    }
}

/// The line that a form means.
fn line_of(form: &Form, site: &Site) -> Result<String, Refused> {
    if form.line.is_empty() {
        let line = form.typed.line(&form.place, &site.region.words);
        return line.map_err(|it| Refused::Fields(vec![it]));
    }
    if form.line.len() > 2000 {
        return Err(Refused::Line(vec![
            "The line is longer than 2000 signs; tell it in parts.".to_owned(),
        ]));
    }
    if form.line.contains("...") && !form.typed.value.is_empty() {
        let value = entry::number(&form.typed.value).map_err(|it| Refused::Line(vec![it]))?;
        return Ok(form.line.replacen("...", &value, 1));
    }
    Ok(form.line.clone())
}

/// Keeps what a form tells. A visit is opened where none is open.
///
/// # Errors
/// What is wrong with what was typed, or why the store does not keep it.
pub async fn tell(desk: &Desk, now: &Now, form: &Form, key: Uuid) -> Result<(), Refused> {
    let mut later: Option<Now> = None;
    while !kept(desk, later.as_ref().unwrap_or(now), form, key).await? {
        later = Some(desk.now(now.site.id).await?);
    }
    Ok(())
}

/// Whether what a form tells was kept on a state of the visit: not where another device has just opened one or named a
/// meter, as the rows name the meters of the head.
async fn kept(desk: &Desk, now: &Now, form: &Form, key: Uuid) -> Result<bool, Refused> {
    let site = &now.site.document.site;
    let open = now.open();
    if desk.store.holds(Key(key)).await? {
        return Ok(true); // it came before
    }
    let nothing = quick::nothing(site);
    let old = open.map_or(&nothing, |it| &it.visit);
    let mut head = match open {
        Some(it) => it.head.clone(),
        None => begun_next(desk, now),
    };
    let was = head.clone();
    let mut rows: Vec<Said> = Vec::new();
    if form.cannot.is_empty() {
        let line = line_of(form, site)?;
        let here = site.outlet(&form.place);
        let by_line = !form.line.is_empty();
        let last = now.latest.as_ref().and_then(|it| last_meter(&it.visit));
        let last = last.map(|it| it.id.clone());
        (rows, head.meter) = understood(&line, site, old, here, &head, last).map_err(|it| {
            if by_line {
                Refused::Line(it)
            } else {
                Refused::Fields(it)
            }
        })?;
    } else if form.cannot.len() <= 300 && !head.cannot.contains(&form.cannot) {
        head.cannot.push(form.cannot.clone());
    }
    let visit = match open {
        Some(it) => {
            if head != was {
                let (id, revision) = (it.listing.id, it.listing.revision);
                match desk.store.replace_head(id, &head, revision).await {
                    Err(StoreError::Conflict(_)) => return Ok(false),
                    done => done?,
                };
            }
            it.listing.id
        }
        None => match opened(desk, now, key, &head).await? {
            id if id == named_after(key) => id,
            _ => return Ok(false),
        },
    };
    for (n, said) in rows.iter().enumerate() {
        // the form's own key goes to its last row: where that is kept, all are
        let key = Key(numbered(key, rows.len() - 1 - n));
        desk.store
            .append(visit, key, said, (desk.outside.now)())
            .await?;
    }
    Ok(true)
}

/// The visit that a form opens is named after it, so that the same form opens one only.
fn named_after(key: Uuid) -> VisitId {
    VisitId(numbered(key, usize::MAX))
}

/// The open visit to a site; where there is none, one opened by a form, for one form at a time.
pub async fn opened(
    desk: &Desk,
    now: &Now,
    key: Uuid,
    head: &VisitFile,
) -> Result<VisitId, StoreError> {
    let _one = desk.opening.lock().await;
    let latest = desk.store.latest_visit(now.site.id).await?;
    if let Some(open) = latest.filter(|it| it.closed.is_none()) {
        return Ok(open.id);
    }
    let id = named_after(key);
    match desk
        .store
        .open_visit(id, now.site.id, head, (desk.outside.now)())
        .await
    {
        Ok(_) | Err(StoreError::Exists { .. }) => Ok(id),
        Err(error) => Err(error),
    }
}

/// The head of the next visit to a site; the meters of the last one are taken along.
pub fn begun_next(desk: &Desk, now: &Now) -> VisitFile {
    let last = now.latest.as_ref();
    VisitFile {
        meter: last.map_or(Vec::new(), |it| it.head.meter.clone()),
        ..begun(desk, &now.site.document.site)
    }
}

/// The head of a visit that begins today.
pub fn begun(desk: &Desk, site: &Site) -> VisitFile {
    VisitFile {
        format: 1,
        site: Some(site.name.clone()),
        date: Some((desk.outside.today)().to_string()),
        ..VisitFile::default()
    }
}

/// Names made from the key of a form, the same each time the form comes.
fn numbered(key: Uuid, n: usize) -> Uuid {
    Uuid::from_u128(key.as_u128().wrapping_add(n as u128))
}

/// The meter that the last reading of a visit was taken with.
pub fn last_meter(visit: &Visit) -> Option<&UsedMeter> {
    let mut readings = visit.readings.iter().rev();
    readings.find_map(|it| visit.meters.get(it.meter?))
}

/// Rows and meters that a line tells; `last`: the meter that it is taken with where the line names none.
fn understood(
    line: &str,
    site: &Site,
    old: &Visit,
    here: Option<OutletIx>,
    head: &VisitFile,
    last: Option<String>,
) -> Result<(Vec<Said>, Vec<Meter>), Vec<String>> {
    let new = quick::more(line, site, old, here);
    let new = new.map_err(|it| it.iter().map(ToString::to_string).collect::<Vec<_>>())?;
    let mut written = quick::written(&new, site, Counts::of(old));
    written.insert("format".to_owned(), toml::Value::Integer(1));
    let written: VisitFile = written.try_into().map_err(|it| vec![format!("{it}")])?;
    if written.reading.is_empty() && written.observation.is_empty() {
        return Err(vec!["That tells no reading and nothing seen.".to_owned()]);
    }
    let mut meters = head.meter.clone();
    let last = last.filter(|it| meters.iter().any(|known| known.id == *it));
    let mut readings = written.reading;
    match written.meter.into_iter().next_back() {
        // the line names no meter: it is the one that the last reading was taken with
        None => {
            for reading in &mut readings {
                reading.meter = last.clone().or(reading.meter.take());
            }
        }
        Some(named) => {
            let known = meters.iter().find(|it| {
                Meter {
                    id: named.id.clone(),
                    name: None,
                    ..(*it).clone()
                } == named
            });
            let id = match known {
                Some(known) => known.id.clone(),
                None => {
                    meters.push(named.clone());
                    named.id
                }
            };
            for reading in &mut readings {
                reading.meter = Some(id.clone());
            }
        }
    }
    for reading in &mut readings {
        reading.id = None; // the store numbers them
    }
    let readings = readings.into_iter().map(Said::Reading);
    let observations = written.observation.into_iter().map(|mut it| {
        it.id = None;
        Said::Observation(it)
    });
    Ok((readings.chain(observations).collect(), meters))
}
