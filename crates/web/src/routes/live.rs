//! What changed, told to the pages that stand open.

use std::convert::Infallible;

use axum::extract::{Query, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{self, Stream};
use serde::Deserialize;
use store::{Change, SiteId};
use tokio::sync::broadcast;

use super::answer::{Bench, Fault, Query_};
use crate::desk::News;

/// Whose changes a page wants to hear of.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Heard {
    site: String,
}

pub(super) async fn live(
    State(desk): Bench,
    heard: Query_<Heard>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Fault> {
    let Query(heard) = heard?;
    let about = heard.site.parse::<SiteId>().ok();
    let feeds = (desk.store.watch(), desk.news.subscribe());
    let changes = stream::unfold(feeds, move |(mut changes, mut news)| async move {
        loop {
            let is_news = tokio::select! {
                it = changes.recv() => match it {
                    Ok(Change { site, .. }) => about.is_none_or(|it| it == site),
                    Err(broadcast::error::RecvError::Lagged(_)) => true,
                    Err(broadcast::error::RecvError::Closed) => return None,
                },
                it = news.recv() => match it {
                    Ok(News::Answer(site)) => about == Some(site),
                    Ok(News::Phones) => about.is_none(),
                    Ok(News::End) | Err(broadcast::error::RecvError::Closed) => return None,
                    Err(broadcast::error::RecvError::Lagged(_)) => true,
                },
            };
            if is_news {
                let event = Event::default().event("change").data("1");
                return Some((Ok(event), (changes, news)));
            }
        }
    });
    Ok(Sse::new(changes).keep_alive(KeepAlive::default()))
}
