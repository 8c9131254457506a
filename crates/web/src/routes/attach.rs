//! Pictures and notes: taken in on the page of a place, given out so that nothing in them can run.

use axum::extract::multipart::MultipartRejection;
use axum::extract::{Multipart, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect};

use super::answer::{Answer, Bench, Fault, Path_, key, site_id};
use super::place::place_page;
use crate::attach::{self, Refused};
use crate::fill::{self, Beside};
use crate::look::attached::Add;

/// A picture shows itself and nothing else, whatever is in it.
const ALONE: &str = "default-src 'none'; sandbox";
/// What is kept under a key never changes.
const FOR_EVER: &str = "private, max-age=31536000, immutable";

pub(super) async fn attach(
    State(desk): Bench,
    path: Path_<(String, String)>,
    form: Result<Multipart, MultipartRejection>,
) -> Answer {
    let Path((id, place)) = path?;
    let now = desk.now(site_id(&id)?).await?;
    let form = form.map_err(|it| Fault::Input(it.body_text()))?;
    let (form, problem) = attach::read(form).await;
    let told = match problem {
        Some(problem) => Err(Refused::Sent(problem)),
        None => attach::attach(&desk, &now, &place, &form, key(&form.key)?).await,
    };
    match told {
        Ok(()) => {
            let to = format!("{}#attach", fill::page_of(&now.site, &place));
            Ok(Redirect::to(&to).into_response())
        }
        Err(Refused::Store(error)) => Err(error.into()),
        Err(Refused::Sent(problem)) => {
            let add = Add {
                note: form.note,
                problems: vec![problem],
                ..Add::default()
            };
            let beside = Beside {
                add,
                ..Beside::default()
            };
            let page = place_page(&desk, &now, &place, beside).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
    }
}

pub(super) async fn attached(State(desk): Bench, path: Path_<(String, i64, String)>) -> Answer {
    let Path((id, number, name)) = path?;
    let (_, standing) = desk.visit(site_id(&id)?, number).await?;
    let nowhere = || Fault::Nowhere(format!("the picture {name}"));
    let key = name.parse().map(store::Key).map_err(|_| nowhere())?;
    let (attachment, bytes) = desk.store.attachment(key).await?;
    if attachment.visit != standing.listing.id {
        return Err(nowhere());
    }
    let shown = match attachment.kind.as_str() {
        "image/jpeg" | "image/png" | "image/webp" => "inline",
        _ => "attachment",
    };
    let headers = [
        (header::CONTENT_TYPE, attachment.kind.as_str()),
        (header::CONTENT_DISPOSITION, shown),
        (header::CONTENT_SECURITY_POLICY, ALONE),
        (header::CACHE_CONTROL, FOR_EVER),
    ];
    Ok((headers, bytes).into_response())
}
