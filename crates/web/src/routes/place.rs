//! The page of an outlet, and what is told on it.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Form, Path, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect};
use serde::Deserialize;

use super::answer::{Answer, Bench, Fault, Form_, Path_, Query_, key, site_id, status_of};
use crate::desk::{Desk, Now};
use crate::fill::{self, Beside};
use crate::page::framed;
use crate::tell::{self, Refused};

/// What the address of a place page may carry.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct AtPlace {
    corrects: String,
    later: String,
}

pub(super) async fn place(
    State(desk): Bench,
    path: Path_<(String, String)>,
    at: Query_<AtPlace>,
) -> Answer {
    let (Path((id, place)), Query(at)) = (path?, at?);
    let now = desk.now(site_id(&id)?).await?;
    let mut beside = Beside {
        later: lines(&at.later),
        ..Beside::default()
    };
    beside.typed.corrects = at.corrects;
    let page = place_page(&desk, &now, &place, beside).await?;
    Ok(page.into_response())
}

pub(super) async fn place_page(
    desk: &Arc<Desk>,
    now: &Now,
    place: &str,
    beside: Beside,
) -> Result<maud::Markup, Fault> {
    let outlet = now.site.document.site.outlet(place);
    let outlet = outlet.ok_or_else(|| Fault::Nowhere(format!("the outlet {place}")))?;
    Ok(framed(&fill::place(desk, now, outlet, beside).await?))
}

/// Keys of checks, one below the other; more than a few dozen are not listened to.
fn lines(text: &str) -> Vec<String> {
    let lines = text
        .lines()
        .map(str::trim)
        .filter(|it| !it.is_empty() && it.len() <= 300);
    lines.take(40).map(str::to_owned).collect()
}

pub(super) async fn tell(
    State(desk): Bench,
    headers: HeaderMap,
    id: Path_<String>,
    form: Form_<tell::Form>,
) -> Answer {
    let (Path(id), Form(form)) = (id?, form?);
    let id = site_id(&id)?;
    let quiet = headers.contains_key("x-outbox");
    let now = desk.now(id).await?;
    let page = fill::page_of(&now.site, &form.place);
    let mut put_off = lines(&form.put_off);
    if !form.later.is_empty() {
        put_off.push(form.later.clone());
        let to = format!(
            "{page}?later={}",
            crate::pages::site::encoded(&put_off.join("\n"))
        );
        return Ok(Redirect::to(&to).into_response());
    }
    let told = tell::tell(&desk, &now, &form, key(&form.key)?).await;
    match told {
        Ok(()) if quiet => Ok(Json(serde_json::json!({ "to": page })).into_response()),
        Ok(()) => Ok(Redirect::to(&page).into_response()),
        Err(Refused::Store(error)) if quiet => {
            let (status, what) = status_of(&error);
            Ok((
                status,
                Json(serde_json::json!({ "problems": [what, error.to_string()] })),
            )
                .into_response())
        }
        Err(Refused::Store(error)) => Err(error.into()),
        Err(Refused::Fields(problems) | Refused::Line(problems)) if quiet => Ok((
            StatusCode::UNPROCESSABLE_ENTITY,
            Json(serde_json::json!({ "problems": problems })),
        )
            .into_response()),
        Err(refused) => {
            let mut beside = Beside {
                later: put_off,
                ..Beside::default()
            };
            match refused {
                Refused::Fields(problems) => {
                    (beside.typed, beside.problems) = (form.typed, problems)
                }
                Refused::Line(problems) => beside.line = (form.line, problems),
                Refused::Store(_) => {}
            }
            let page = place_page(&desk, &now, &form.place, beside).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
    }
}
