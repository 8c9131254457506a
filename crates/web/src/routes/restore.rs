//! A backup put in the place of the data, also where the data cannot be opened.

use std::path::PathBuf;

use axum::extract::{Form, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use store::Store;

use super::answer::{Answer, Fault, Form_, Query_, refused};
use super::holder::Held;
use crate::holder::Holder;
use crate::page::framed;
use crate::pages::damaged::Damaged;
use crate::pages::outage::Outage;
use crate::pages::restore::{Backup, Restore};

/// Which backup.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Which {
    backup: String,
}

/// The backups there are, with their names as people read them.
pub(super) fn backups(data: &std::path::Path) -> Vec<(Backup, PathBuf)> {
    let named = |path: PathBuf| {
        let name = path.file_name()?.to_string_lossy().into_owned();
        let bytes = path.metadata().map_or(0, |it| it.len());
        // the name ends in its date: -2026-03-14T09-12-00Z.db
        let at = name.strip_suffix("Z.db")?;
        let (day, time) = at.get(at.len().checked_sub(19)?..)?.split_once('T')?;
        let when = format!("{day} {} UTC", time.replace('-', ":"));
        Some((
            Backup {
                name,
                when,
                kilobytes: bytes.div_ceil(1024),
            },
            path,
        ))
    };
    Store::backups(data).into_iter().filter_map(named).collect()
}

fn chosen(holder: &Holder, name: &str) -> Result<(Backup, PathBuf), Fault> {
    // one of those that are listed, so that a name leads nowhere else
    let found = backups(holder.path())
        .into_iter()
        .find(|it| it.0.name == name);
    found.ok_or_else(|| Fault::Nowhere("the backup".to_owned()))
}

pub(super) async fn ask(Held(holder): Held, which: Query_<Which>) -> Answer {
    let Query(which) = which?;
    let (backup, _) = chosen(&holder, &which.backup)?;
    let now = match holder.desk() {
        Some(desk) => Some(
            desk.store
                .sites()
                .await?
                .iter()
                .fold((0, 0), |sum, it| (sum.0 + 1, sum.1 + it.n_readings)),
        ),
        None => None,
    };
    let page = Restore {
        backup,
        data: holder.path().display().to_string(),
        now,
        key: (holder.outside().name)().to_string(),
    };
    Ok(framed(&page).into_response())
}

pub(super) async fn put_back(Held(holder): Held, form: Form_<Which>) -> Answer {
    let Form(which) = form?;
    let (_, path) = chosen(&holder, &which.backup)?;
    // goes on to its end also where whoever asked goes away
    let work = tokio::spawn(async move { holder.put_back(&path).await });
    match work.await {
        Ok(Ok(_)) => Ok(Redirect::to("/copies?done=restored").into_response()),
        Ok(Err(error)) => {
            let page = Outage::of(
                "The backup was not put back.",
                error.to_string(),
                "What was there before is untouched; take another backup, or look at what is said here.",
            );
            Ok(refused(StatusCode::UNPROCESSABLE_ENTITY, page))
        }
        Err(_) => Err(Fault::Input(
            "The restoring has met a fault of its own; look at the files beside your data."
                .to_owned(),
        )),
    }
}

/// Instead of every page, while there is no store.
pub(super) async fn without(Held(holder): Held, uri: Uri) -> Response {
    let Some(why) = holder.damage() else {
        let page = Outage::of(
            "Come again in a moment.",
            "The data is being restored.",
            "Open this page again.",
        );
        return refused(StatusCode::SERVICE_UNAVAILABLE, page);
    };
    if uri.path().starts_with("/live") {
        return StatusCode::NO_CONTENT.into_response(); // tells a page not to ask again
    }
    let page = Damaged {
        why,
        data: holder.path().display().to_string(),
        folder: Store::backup_folder(holder.path()).display().to_string(),
        backups: backups(holder.path()).into_iter().map(|it| it.0).collect(),
    };
    (StatusCode::SERVICE_UNAVAILABLE, framed(&page)).into_response()
}
