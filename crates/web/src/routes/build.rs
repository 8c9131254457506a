//! A site's document: changed by hand, by touch, and back.

use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use store::{Revision, SiteId, StoreError};

use super::answer::{Answer, Bench, Fault, Form_, Path_, refused, site_id, status_of};
use crate::desk::Desk;
use crate::fill;
use crate::grow::Growth;
use crate::page::framed;
use crate::pages::file::FilePage;
use crate::pages::outage::Outage;

pub(super) async fn file(State(desk): Bench, id: Path_<String>) -> Answer {
    let Path(id) = id?;
    let record = desk.store.site(site_id(&id)?).await?;
    Ok(framed(&fill::file(&desk, &record)).into_response())
}

/// The site's file as typed.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    revision: i64,
    text: String,
}

pub(super) async fn keep_file(State(desk): Bench, id: Path_<String>, form: Form_<Typed>) -> Answer {
    let (Path(id), Form(form)) = (id?, form?);
    let id = site_id(&id)?;
    // a browser sends lines with a carriage return before each end
    replaced(
        &desk,
        id,
        form.text.replace("\r\n", "\n"),
        form.revision,
        Growth::default(),
    )
    .await
}

/// Something to add, and the revision it begins with.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Added {
    revision: i64,
    #[serde(flatten)]
    growth: Growth,
}

pub(super) async fn add(State(desk): Bench, id: Path_<String>, form: Form_<Added>) -> Answer {
    let (Path(id), Form(form)) = (id?, form?);
    let record = desk.store.site(site_id(&id)?).await?;
    // what is added goes to the end of what is there now, whatever was changed meanwhile; sent twice it has an id twice
    match form.growth.added_to(&record.text, &record.document.site) {
        Ok(text) if form.revision == record.revision.0 => {
            replaced(&desk, record.id, text, form.revision, form.growth).await
        }
        Ok(_) => {
            let problem =
                "The site was changed meanwhile; look at it and add this again.".to_owned();
            Ok(file_page(&desk, record.id, vec![(None, problem)], None, form.growth).await?)
        }
        Err(problem) => {
            Ok(file_page(&desk, record.id, vec![(None, problem)], None, form.growth).await?)
        }
    }
}

async fn file_page(
    desk: &Desk,
    id: SiteId,
    problems: Vec<(Option<usize>, String)>,
    text: Option<String>,
    growth: Growth,
) -> Result<Response, Fault> {
    let record = desk.store.site(id).await?;
    let page = fill::file(desk, &record);
    let text = text.unwrap_or_else(|| page.text.clone());
    let page = FilePage {
        problems,
        text,
        growth,
        ..page
    };
    Ok((StatusCode::UNPROCESSABLE_ENTITY, framed(&page)).into_response())
}

/// Another document for a site, or the page with what is in its way and everything that was typed.
async fn replaced(desk: &Desk, id: SiteId, text: String, revision: i64, growth: Growth) -> Answer {
    let kept = desk
        .store
        .replace_site(id, &text, Revision(revision), (desk.outside.now)())
        .await;
    let error = match kept {
        Ok(_) => return Ok(Redirect::to(&format!("/site/{id}")).into_response()),
        Err(error) => error,
    };
    let grown = !growth.what.is_empty();
    if let Some(problems) = fill::problems_of(&error) {
        // what was added by touch is put right in its form: the file stays as it is
        return file_page(desk, id, problems, (!grown).then_some(text), growth).await;
    }
    if let StoreError::Conflict(conflict) = error {
        let record = desk.store.site(id).await?;
        let page = FilePage {
            text: conflict.yours,
            theirs: Some(conflict.theirs),
            ..fill::file(desk, &record)
        };
        return Ok((StatusCode::CONFLICT, framed(&page)).into_response());
    }
    let (status, what) = status_of(&error);
    let page = Outage {
        typed: Some(text),
        ..Outage::of(
            what,
            error.to_string(),
            "Copy what you sent from here before you go on.",
        )
    };
    Ok(refused(status, page))
}

pub(super) async fn undo(State(desk): Bench, id: Path_<String>, form: Form_<Typed>) -> Answer {
    let (Path(id), Form(form)) = (id?, form?);
    let id = site_id(&id)?;
    let before = desk
        .store
        .site_at(id, Revision(form.revision.saturating_sub(1)))
        .await?;
    replaced(&desk, id, before.text, form.revision, Growth::default()).await
}
