//! Addresses and what answers them.

mod answer;
mod attach;
mod build;
mod copies;
mod holder;
mod live;
mod phones;
mod place;
mod restore;
mod sites;
mod visits;

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{StatusCode, Uri, header};
use axum::routing::{any, get, post};

use crate::desk::Desk;
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
const LOOKS: [(&str, &str, &str); 5] = [
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
        "/look/pair.js",
        SCRIPT,
        include_str!("../../assets/pair.js"),
    ),
    (
        "/look/mark.svg",
        "image/svg+xml",
        include_str!("../../assets/mark.svg"),
    ),
    // at the top, so that it may keep all pages
    ("/worker.js", SCRIPT, include_str!("../../assets/worker.js")),
];

/// Everything, for the laptop.
pub fn of_laptop(desk: Arc<Desk>) -> Router {
    let take_in = Router::new()
        .route("/copies/take-in", post(copies::take_in))
        .layer(DefaultBodyLimit::max(LARGEST_FILE));
    let own = Router::new()
        .route("/copies", get(copies::copies))
        .route("/copies/back-up", post(copies::back_up))
        .route("/copies/restore", get(restore::ask).post(restore::put_back))
        .route("/phones", get(phones::phones))
        .route("/phones/code", post(phones::new_code))
        .route("/phones/shut-out", post(phones::shut_out))
        .route("/site/{site}/export", get(copies::export))
        .layer(DefaultBodyLimit::max(LARGEST_FORM));
    finished(of_everybody().merge(own).merge(take_in), desk)
}

/// What a phone may do; the rest is said to be the laptop's.
pub fn of_phones(desk: Arc<Desk>) -> Router {
    let mut app = of_everybody();
    let not_here = async || {
        refused(
            StatusCode::FORBIDDEN,
            Outage::of(
                "This is done on the laptop.",
                "Copies, restoring, phones and the file of a whole site are not for a phone.",
                "Go on here, or do it there.",
            ),
        )
    };
    for path in [
        "/copies",
        "/copies/{*rest}",
        "/phones",
        "/phones/{*rest}",
        "/site/{site}/export",
    ] {
        app = app.route(path, any(not_here));
    }
    finished(app, desk)
}

/// While there is no store: why, and the way to a backup.
pub fn without_store() -> Router {
    Router::new()
        .route("/copies/restore", get(restore::ask).post(restore::put_back))
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .merge(looks())
        .fallback(restore::without)
}

/// While there is no store, for a phone.
pub fn closed() -> Router {
    looks().fallback(async || {
        refused(
            StatusCode::SERVICE_UNAVAILABLE,
            Outage::of(
                "The laptop is not ready.",
                "Its data is being restored, or has to be.",
                "Ask there, and try again.",
            ),
        )
    })
}

fn looks<S: Clone + Send + Sync + 'static>() -> Router<S> {
    let mut looks = Router::new();
    for (path, kind, text) in LOOKS {
        looks = looks.route(
            path,
            get(async move || ([(header::CONTENT_TYPE, kind)], text)),
        );
    }
    looks
}

fn of_everybody() -> Router<Arc<Desk>> {
    let attach = Router::new()
        .route("/site/{site}/place/{place}/attach", post(attach::attach))
        .layer(DefaultBodyLimit::max(LARGEST_PICTURE));
    Router::new()
        .route("/", get(sites::home))
        .route("/new", get(sites::new_site).post(sites::make_site))
        .route("/quick", get(sites::quick_trace))
        .route("/help", get(async || framed(&Help)))
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
        .route("/live", get(live::live))
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .merge(attach)
        .merge(looks())
}

fn finished(app: Router<Arc<Desk>>, desk: Arc<Desk>) -> Router {
    app.fallback(async |uri: Uri| nowhere(uri.path()))
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
}
