//! A new site: from a form, around a quick trace, or out of a file.

use std::path::Path;

use site::assumed::{AFTER, BEFORE, OTHER_LEG, SAME_LEG};
use site::file::written::{Circuit, Outlet, SiteFile};
use site::file::written_visit::VisitFile;
use site::file::{Form as FileForm, Problems, read_site};
use site::quick::Counts;
use site::region::Region;
use store::{SiteId, StoreError, VisitId};
use uuid::Uuid;

use crate::desk::Desk;
use crate::pages::new_site::Typed;
use crate::tell;
use crate::{grow, quick};

/// The form of a new site.
#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default)]
pub struct Form {
    /// Makes it count once.
    pub key: String,
    /// Its fields.
    #[serde(flatten)]
    pub typed: Typed,
}

/// Why no site was made.
pub enum Refused {
    /// What was typed.
    Typed(Vec<String>),
    /// The store.
    Store(StoreError),
}

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Refused {
        match error {
            StoreError::Problems(problems) => problems.into(),
            error => Refused::Store(error),
        }
    }
}

impl From<Problems> for Refused {
    fn from(problems: Problems) -> Refused {
        Refused::Typed(problems.iter().map(ToString::to_string).collect())
    }
}

/// Makes a site from what was typed, and its first visit from what was told.
///
/// # Errors
/// What is wrong with what was typed, or why the store does not keep it.
pub async fn site(desk: &Desk, id: SiteId, typed: &Typed) -> Result<(), Refused> {
    if typed.name.trim().is_empty() {
        return Err(Refused::Typed(vec![
            "The name: write what people call the premises.".to_owned(),
        ]));
    }
    let told: Vec<String> = typed
        .told
        .lines()
        .map(str::trim)
        .filter(|it| !it.is_empty())
        .map(str::to_owned)
        .collect();
    let text = file(typed, &told).to_toml();
    let now = (desk.outside.now)();
    let document = read_site(&text, "site", FileForm::Toml)?;
    // the visit is read before the site is kept: a slip in it leaves nothing half made
    let visit = match told.is_empty() {
        true => None,
        false => {
            let site = &document.site;
            let visit = quick::visit_of(&told, site).map_err(Refused::Typed)?;
            let mut written = site::quick::written(&visit, site, Counts::default());
            written.insert("format".to_owned(), toml::Value::Integer(1));
            let rows: VisitFile = written
                .try_into()
                .map_err(|it| Refused::Typed(vec![format!("{it}")]))?;
            let head = tell::begun(desk, site);
            Some(VisitFile {
                meter: rows.meter,
                reading: rows.reading,
                observation: rows.observation,
                ..head
            })
        }
    };
    match desk.store.create_site(id, &text, now).await {
        Ok(_) | Err(StoreError::Exists { .. }) => {} // the form came twice
        Err(error) => return Err(error.into()),
    }
    if let Some(visit) = visit {
        let of_site = VisitId(Uuid::from_u128(id.0.as_u128().wrapping_add(1)));
        match desk.store.open_visit(of_site, id, &visit, now).await {
            Ok(_) | Err(StoreError::Exists { .. }) => {}
            Err(error) => return Err(error.into()),
        }
    }
    Ok(())
}

/// The file of a new site. Outlets that were told of follow each other as the quick trace assumed them to; the names that
/// the lines use are their identifiers, so that the same lines read here.
fn file(typed: &Typed, told: &[String]) -> SiteFile {
    let said = |text: &str| Some(text.trim().to_owned()).filter(|it| !it.is_empty());
    let region = said(&typed.region).unwrap_or_else(|| "north-america".to_owned());
    let legs = Region::find(&region).map_or(&[][..], |it| it.systems[0].legs.as_slice());
    let mentioned = |name: &str| told.iter().any(|it| it.contains(name));
    let around = |name: &str| mentioned(name).then(|| name.to_owned());
    let mut chain: Vec<(String, Option<String>)> = Vec::new();
    chain.extend(around(BEFORE).map(|id| (id, Some("An outlet before it".to_owned()))));
    chain.extend(quick::named(told).into_iter().map(|id| (id, None)));
    chain.extend(around(AFTER).map(|id| (id, Some("An outlet after it".to_owned()))));
    if let (true, Some(label)) = (told.is_empty(), said(&typed.outlet)) {
        chain.push((grow::identifier(&label, |_| false), Some(label)));
    }
    let first = said(&typed.circuit).unwrap_or_else(|| "1".to_owned());
    let mut file = SiteFile {
        format: 1,
        name: typed.name.trim().to_owned(),
        region,
        ..SiteFile::default()
    };
    if !chain.is_empty() || !typed.circuit.trim().is_empty() {
        file.circuit.push(Circuit {
            id: first.clone(),
            breaker: said(&typed.breaker),
            ..Circuit::default()
        });
    }
    for (n, (id, label)) in chain.iter().enumerate() {
        file.outlet.push(Outlet {
            id: id.clone(),
            label: label.clone(),
            circuit: (n == 0).then(|| first.clone()),
            after: (n > 0).then(|| chain[n - 1].0.clone()),
            ..Outlet::default()
        });
    }
    for (id, label, leg) in [
        (SAME_LEG, "An outlet of another circuit", 0),
        (OTHER_LEG, "An outlet on the other leg", 1),
    ] {
        if let Some(id) = around(id) {
            let circuit = format!("{first}-{id}");
            file.circuit.push(Circuit {
                id: circuit.clone(),
                leg: legs.get(leg).map(|it| it.name.clone()),
                ..Circuit::default()
            });
            file.outlet.push(Outlet {
                id,
                label: Some(label.to_owned()),
                circuit: Some(circuit),
                ..Outlet::default()
            });
        }
    }
    file
}

/// Takes in a file: an export of ours, or a site file in TOML.
///
/// # Errors
/// What is wrong with it, or why the store does not keep it.
pub async fn taken_in(desk: &Desk, bytes: &[u8], folder: &Path) -> Result<(), Refused> {
    if bytes.starts_with(b"PK") {
        let path = folder.join("taken-in.zip");
        tokio::fs::write(&path, bytes).await.map_err(|it| {
            Refused::Typed(vec![format!(
                "The file cannot be laid down to be read: {it}; make room and try again."
            )])
        })?;
        desk.store.import(&path).await?;
        return Ok(());
    }
    let text = std::str::from_utf8(bytes).map_err(|it| {
        Refused::Typed(vec![format!(
            "This is neither a file taken out here before nor text: the byte at {} is not UTF-8.",
            it.valid_up_to()
        )])
    })?;
    desk.store
        .create_site(SiteId((desk.outside.name)()), text, (desk.outside.now)())
        .await?;
    Ok(())
}
