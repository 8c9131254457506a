//! All sites, a new one, one as a drawing, its evidence; the quick trace.

use axum::extract::{Form, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use site::region::Region;
use store::SiteId;

use super::answer::{Answer, Bench, Fault, Form_, Path_, Query_, key, site_id};
use crate::page::framed;
use crate::pages::home::{self, Home};
use crate::pages::new_site::{self, NewSite};
use crate::{fill, make, quick};

pub(super) async fn home(State(desk): Bench) -> Answer {
    let listed = |it: store::SiteListing| home::Listed {
        href: format!("/site/{}", it.id),
        name: it.name,
        region: Region::find(&it.region).map_or(it.region, |it| it.name.clone()),
        n_outlets: it.n_outlets,
        n_visits: it.n_visits,
        n_readings: it.n_readings,
    };
    let sites = desk.store.sites().await?.into_iter().map(listed).collect();
    Ok(framed(&Home { sites }).into_response())
}

pub(super) async fn new_site(State(desk): Bench, typed: Query_<new_site::Typed>) -> Answer {
    let Query(typed) = typed?;
    Ok(framed(&NewSite {
        typed,
        problems: Vec::new(),
        key: desk.fresh(),
    })
    .into_response())
}

pub(super) async fn make_site(State(desk): Bench, form: Form_<make::Form>) -> Answer {
    let Form(form) = form?;
    let id = SiteId(key(&form.key)?);
    match make::site(&desk, id, &form.typed).await {
        Ok(()) => Ok(Redirect::to(&format!("/site/{id}")).into_response()),
        Err(make::Refused::Typed(problems)) => {
            let page = NewSite {
                typed: form.typed,
                problems,
                key: desk.fresh(),
            };
            Ok((StatusCode::UNPROCESSABLE_ENTITY, framed(&page)).into_response())
        }
        Err(make::Refused::Store(error)) => Err(error.into()),
    }
}

pub(super) async fn quick_trace(
    State(desk): Bench,
    asked: Query_<crate::pages::quick::Asked>,
) -> Answer {
    let Query(asked) = asked?;
    Ok(match quick::page(&desk, asked).await {
        quick::Out::Page(page) => framed(&*page).into_response(),
        quick::Out::Moved(to) => Redirect::to(&to).into_response(),
    })
}

pub(super) async fn site(State(desk): Bench, id: Path_<String>) -> Answer {
    let Path(id) = id?;
    let now = desk.now_within(site_id(&id)?, fill::GLANCE).await?;
    Ok(framed(&fill::site(&desk, &now).await).into_response())
}

pub(super) async fn thing(State(desk): Bench, path: Path_<(String, String, String)>) -> Answer {
    let Path((id, kind, name)) = path?;
    let record = desk.store.site(site_id(&id)?).await?;
    let page = fill::thing(&record, &kind, &name);
    let page = page.ok_or_else(|| Fault::Nowhere(format!("the {kind} {name}")))?;
    Ok(framed(&page).into_response())
}

pub(super) async fn evidence(State(desk): Bench, id: Path_<String>) -> Answer {
    let Path(id) = id?;
    let now = desk.now(site_id(&id)?).await?;
    Ok(framed(&fill::evidence(&desk, &now).await).into_response())
}
