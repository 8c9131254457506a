//! The visits of a site: listed, opened, closed, compared, as files.

use axum::extract::{Form, Path, Query, State};
use axum::response::{IntoResponse, Redirect};
use serde::Deserialize;

use super::answer::{Answer, Bench, Form_, OnlyKey, Path_, Query_, as_file, key, site_id};
use crate::page::framed;
use crate::pages::compare::Compare;
use crate::pages::visits::{self, Visits};
use crate::{fill, tell};

pub(super) async fn visit_list(State(desk): Bench, id: Path_<String>) -> Answer {
    let Path(id) = id?;
    let id = site_id(&id)?;
    let record = desk.store.site(id).await?;
    let listed = |it: store::VisitListing| visits::Listed {
        number: it.number,
        when: {
            let date = it
                .date
                .unwrap_or_else(|| it.opened.strftime("%Y-%m-%d").to_string());
            format!(
                "{date}, {}",
                if it.closed.is_some() {
                    "closed"
                } else {
                    "open"
                }
            )
        },
        n_readings: it.n_readings,
        n_observations: it.n_observations,
        open: it.closed.is_none(),
    };
    let visits = desk
        .store
        .visits(id)
        .await?
        .into_iter()
        .rev()
        .map(listed)
        .collect();
    let page = Visits {
        site: id.to_string(),
        site_name: record.document.site.name.clone(),
        visits,
        key: desk.fresh(),
    };
    Ok(framed(&page).into_response())
}

pub(super) async fn open_visit(
    State(desk): Bench,
    id: Path_<String>,
    form: Form_<OnlyKey>,
) -> Answer {
    let (Path(id), Form(form)) = (id?, form?);
    let now = desk.now(site_id(&id)?).await?;
    tell::opened(&desk, &now, key(&form.key)?, &tell::begun_next(&desk, &now)).await?;
    Ok(Redirect::to(&format!("/site/{}", now.site.id)).into_response())
}

/// Which rows of a visit are shown: those that end with this one.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Upto {
    upto: Option<usize>,
}

pub(super) async fn visit(
    State(desk): Bench,
    path: Path_<(String, i64)>,
    upto: Query_<Upto>,
) -> Answer {
    let (Path((id, number)), Query(Upto { upto })) = (path?, upto?);
    let (record, standing) = desk.visit(site_id(&id)?, number).await?;
    let upto = upto.unwrap_or(usize::MAX);
    Ok(framed(&fill::visit(&desk, &record, &standing, upto).await?).into_response())
}

pub(super) async fn close_visit(
    State(desk): Bench,
    path: Path_<(String, i64)>,
    form: Form_<OnlyKey>,
) -> Answer {
    let (Path((id, number)), Form(_)) = (path?, form?);
    let id = site_id(&id)?;
    let (_, standing) = desk.visit(id, number).await?;
    desk.store
        .close_visit(standing.listing.id, (desk.outside.now)())
        .await?;
    Ok(Redirect::to(&format!("/site/{id}/visit/{number}")).into_response())
}

pub(super) async fn visit_file(State(desk): Bench, path: Path_<(String, i64)>) -> Answer {
    let Path((id, number)) = path?;
    let (record, standing) = desk.visit(site_id(&id)?, number).await?;
    let text = desk.store.visit_text(standing.listing.id).await?;
    let name = format!("{}-visit-{number}", record.document.site.name);
    Ok(as_file(&name, "application/toml", text.into_bytes()))
}

/// Two visits by their numbers.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Two {
    one: i64,
    other: i64,
}

pub(super) async fn compare(State(desk): Bench, id: Path_<String>, two: Query_<Two>) -> Answer {
    let (Path(id), Query(two)) = (id?, two?);
    let id = site_id(&id)?;
    let (record, one) = desk.visit(id, two.one).await?;
    let (_, other) = desk.visit(id, two.other).await?;
    let site = &record.document.site;
    let name = |element: &str| match element.split_once(':') {
        Some(("outlet", id)) => site
            .outlet(id)
            .map_or(element, |it| trace::words::outlet(site, it))
            .to_owned(),
        _ => element.replacen(':', " ", 1),
    };
    let page = Compare {
        site: id.to_string(),
        site_name: site.name.clone(),
        heads: [&one, &other].map(|it| trace::words::sentence(&fill::visit_words(&it.listing))),
        rows: Compare::rows(one.limits(), other.limits(), name),
    };
    Ok(framed(&page).into_response())
}
