//! Everything as files: taken out, taken in, backed up.

use axum::extract::multipart::MultipartRejection;
use axum::extract::{Form, Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use serde::Deserialize;
use store::{Package, Store, StoreError, Which};

use super::answer::{Answer, Bench, Fault, Form_, OnlyKey, Path_, Query_, as_file, site_id};
use crate::desk::Desk;
use crate::make;
use crate::page::framed;
use crate::pages::copies::Copies;

pub(super) async fn export(State(desk): Bench, id: Path_<String>) -> Answer {
    let Path(id) = id?;
    let record = desk.store.site(site_id(&id)?).await?;
    let folder = scratch(&desk)?;
    let path = folder.0.join("site.zip");
    desk.store
        .export(Which::One(record.id), Package::Archive, &path)
        .await?;
    let bytes = tokio::fs::read(&path)
        .await
        .map_err(|it| Fault::Input(it.to_string()))?;
    Ok(as_file(
        &record.document.site.name,
        "application/zip",
        bytes,
    ))
}

/// A folder of its own beside the store that is gone when it is no longer needed.
struct Scratch(std::path::PathBuf);

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0); // an empty place in the temporary folder harms nobody
    }
}

fn scratch(desk: &Desk) -> Result<Scratch, Fault> {
    let path = std::env::temp_dir().join(format!("wattwright-{}", desk.fresh()));
    let made = std::fs::create_dir(&path);
    made.map_err(|it| Fault::Input(format!("{}: {it}; make room and try again", path.display())))?;
    Ok(Scratch(path))
}

/// What was done, told on the page that follows.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Done {
    done: String,
}

pub(super) async fn copies(State(desk): Bench, done: Query_<Done>) -> Answer {
    let Query(done) = done?;
    let done = match done.done.as_str() {
        "taken-in" => Some("It was taken in; it stands among the sites.".to_owned()),
        "restored" => Some(
            "The backup was restored. What was here before stands beside it, with \"replaced\" in its name; phones have to be \
             paired anew."
                .to_owned(),
        ),
        "backed-up" => {
            let newest = Store::newest_backup(desk.store.path());
            newest.map(|it| {
                format!(
                    "Backed up as {}.",
                    it.file_name().unwrap_or_default().to_string_lossy()
                )
            })
        }
        _ => None,
    };
    Ok(framed(&copies_page(&desk, done, Vec::new()).await?).into_response())
}

async fn copies_page(
    desk: &Desk,
    done: Option<String>,
    problems: Vec<String>,
) -> Result<Copies, Fault> {
    let sites = desk.store.sites().await?.into_iter();
    Ok(Copies {
        data: desk.store.path().display().to_string(),
        folder: Store::backup_folder(desk.store.path())
            .display()
            .to_string(),
        backups: super::restore::backups(desk.store.path())
            .into_iter()
            .map(|it| it.0)
            .collect(),
        sites: sites
            .map(|it| (it.name, format!("/site/{}/export", it.id)))
            .collect(),
        done,
        problems,
        key: desk.fresh(),
    })
}

pub(super) async fn back_up(State(desk): Bench, form: Form_<OnlyKey>) -> Answer {
    let Form(_) = form?;
    let folder = Store::backup_folder(desk.store.path());
    match desk.store.backup(&folder, (desk.outside.now)()).await {
        // a second press within the same second is the same backup
        Ok(_) | Err(StoreError::Exists { .. }) => {
            Ok(Redirect::to("/copies?done=backed-up").into_response())
        }
        Err(error) => Err(error.into()),
    }
}

pub(super) async fn take_in(
    State(desk): Bench,
    form: Result<Multipart, MultipartRejection>,
) -> Answer {
    let mut form = form.map_err(|it| Fault::Input(it.body_text()))?;
    let mut bytes = None;
    loop {
        let field = form
            .next_field()
            .await
            .map_err(|it| Fault::Input(it.body_text()))?;
        let Some(field) = field else { break };
        let is_file = field.name() == Some("file");
        let told = field
            .bytes()
            .await
            .map_err(|it| Fault::Input(it.body_text()))?;
        if is_file {
            bytes = Some(told);
        }
    }
    let bytes = bytes.ok_or_else(|| Fault::Input("No file was chosen.".to_owned()))?;
    let problems = match make::taken_in(&desk, &bytes, scratch(&desk)?.0.as_path()).await {
        Ok(()) => return Ok(Redirect::to("/copies?done=taken-in").into_response()),
        Err(make::Refused::Typed(problems)) => problems,
        Err(make::Refused::Store(error)) => vec![error.to_string()],
    };
    let page = copies_page(&desk, None, problems).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, framed(&page)).into_response())
}
