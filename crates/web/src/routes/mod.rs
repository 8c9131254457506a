//! Addresses and what answers them.

mod answer;
mod attach;
mod build;
mod copies;
mod live;
mod place;
mod sites;
mod visits;

use std::sync::Arc;

use axum::extract::DefaultBodyLimit;
use axum::http::{StatusCode, Uri, header};
use axum::routing::{get, post};
use axum::{Router, middleware};

use crate::desk::Desk;
use crate::guard::{self, Guard};
use crate::page::framed;
use crate::pages::help::Help;
use crate::pages::outage::Outage;
use answer::{nowhere, refused};

/// Largest form, and largest file that is taken in.
const LARGEST_FORM: usize = 2 << 20;
const LARGEST_FILE: usize = 256 << 20;
/// A picture with its note.
const LARGEST_PICTURE: usize = store::LARGEST + (64 << 10);

const SCRIPT: &str = "text/javascript; charset=utf-8";
/// What pages are made of beside their text, all of it in the program.
const LOOKS: [(&str, &str, &str); 4] = [
    (
        "/look/look.css",
        "text/css; charset=utf-8",
        include_str!("../../assets/look.css"),
    ),
    (
        "/look/bench.js",
        SCRIPT,
        include_str!("../../assets/bench.js"),
    ),
    (
        "/look/mark.svg",
        "image/svg+xml",
        include_str!("../../assets/mark.svg"),
    ),
    // at the top, so that it may keep all pages
    ("/worker.js", SCRIPT, include_str!("../../assets/worker.js")),
];

/// Everything, behind the guard.
pub fn all(desk: Arc<Desk>, guard: Guard) -> Router {
    let take_in = Router::new()
        .route("/copies/take-in", post(copies::take_in))
        .layer(DefaultBodyLimit::max(LARGEST_FILE));
    let attach = Router::new()
        .route("/site/{site}/place/{place}/attach", post(attach::attach))
        .layer(DefaultBodyLimit::max(LARGEST_PICTURE));
    let mut looks = Router::new();
    for (path, kind, text) in LOOKS {
        looks = looks.route(
            path,
            get(async move || ([(header::CONTENT_TYPE, kind)], text)),
        );
    }
    Router::new()
        .route("/", get(sites::home))
        .route("/new", get(sites::new_site).post(sites::make_site))
        .route("/quick", get(sites::quick_trace))
        .route("/help", get(async || framed(&Help)))
        .route("/copies", get(copies::copies))
        .route("/copies/back-up", post(copies::back_up))
        .route("/site/{site}", get(sites::site))
        .route("/site/{site}/place/{place}", get(place::place))
        .route("/site/{site}/thing/{kind}/{name}", get(sites::thing))
        .route("/site/{site}/tell", post(place::tell))
        .route("/site/{site}/evidence", get(sites::evidence))
        .route(
            "/site/{site}/visits",
            get(visits::visit_list).post(visits::open_visit),
        )
        .route("/site/{site}/visit/{number}", get(visits::visit))
        .route(
            "/site/{site}/visit/{number}/close",
            post(visits::close_visit),
        )
        .route("/site/{site}/visit/{number}/file", get(visits::visit_file))
        .route(
            "/site/{site}/visit/{number}/attached/{key}",
            get(attach::attached),
        )
        .route("/site/{site}/compare", get(visits::compare))
        .route("/site/{site}/file", get(build::file).post(build::keep_file))
        .route("/site/{site}/add", post(build::add))
        .route("/site/{site}/undo", post(build::undo))
        .route("/site/{site}/export", get(copies::export))
        .route("/live", get(live::live))
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .merge(take_in)
        .merge(attach)
        .merge(looks)
        .fallback(async |uri: Uri| nowhere(uri.path()))
        .method_not_allowed_fallback(async || {
            refused(
                StatusCode::METHOD_NOT_ALLOWED,
                Outage::of(
                    "This address does not take that.",
                    "",
                    "Go back and use the page's own keys.",
                ),
            )
        })
        .with_state(desk)
        .layer(middleware::from_fn_with_state(guard, guard::stand))
}
