//! What a request is read as, and what is answered where there is no page.

use std::sync::Arc;

use axum::extract::rejection::{FormRejection, PathRejection, QueryRejection};
use axum::extract::{Form, Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use store::{SiteId, StoreError};
use uuid::Uuid;

use crate::desk::Desk;
use crate::page::framed;
use crate::pages::outage::Outage;

pub(super) type Answer = Result<Response, Fault>;
pub(super) type Bench = State<Arc<Desk>>;
pub(super) type Form_<T> = Result<Form<T>, FormRejection>;
pub(super) type Query_<T> = Result<Query<T>, QueryRejection>;
pub(super) type Path_<T> = Result<Path<T>, PathRejection>;

/// Why a request has no page of its own.
pub(super) enum Fault {
    Store(StoreError),
    Input(String),
    Nowhere(String),
}

impl From<StoreError> for Fault {
    fn from(error: StoreError) -> Fault {
        Fault::Store(error)
    }
}
impl From<FormRejection> for Fault {
    fn from(error: FormRejection) -> Fault {
        Fault::Input(error.body_text())
    }
}
impl From<QueryRejection> for Fault {
    fn from(error: QueryRejection) -> Fault {
        Fault::Input(error.body_text())
    }
}
impl From<PathRejection> for Fault {
    fn from(error: PathRejection) -> Fault {
        Fault::Nowhere(error.body_text())
    }
}

pub(super) fn refused(status: StatusCode, page: Outage) -> Response {
    (status, framed(&page)).into_response()
}

pub(super) fn nowhere(what: &str) -> Response {
    let what: String = what.chars().take(200).collect();
    refused(
        StatusCode::NOT_FOUND,
        Outage::of("There is no such page.", what, "Go back to the sites."),
    )
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        match self {
            Fault::Nowhere(what) => nowhere(&what),
            Fault::Input(why) => refused(
                StatusCode::BAD_REQUEST,
                Outage::of(
                    "What was sent cannot be read; nothing was changed.",
                    why,
                    "Open the page again and send it from there.",
                ),
            ),
            Fault::Store(error) => {
                let (status, what) = status_of(&error);
                refused(
                    status,
                    Outage::of(
                        what,
                        error.to_string(),
                        "What was kept before is untouched.",
                    ),
                )
            }
        }
    }
}

/// What a refusal of the store means to whoever sent something.
pub(super) fn status_of(error: &StoreError) -> (StatusCode, &'static str) {
    match error {
        StoreError::Unknown { .. } => (StatusCode::NOT_FOUND, "There is no such page."),
        StoreError::Conflict(_)
        | StoreError::Exists { .. }
        | StoreError::Closed { .. }
        | StoreError::KeyUsed { .. }
        | StoreError::Corrected { .. } => (StatusCode::CONFLICT, "This was not kept."),
        StoreError::Problems(_)
        | StoreError::Breaks { .. }
        | StoreError::Export { .. }
        | StoreError::Kind => (StatusCode::UNPROCESSABLE_ENTITY, "This was not kept."),
        StoreError::TooLarge { .. } => (StatusCode::PAYLOAD_TOO_LARGE, "This was not kept."),
        StoreError::Full { .. } => (StatusCode::INSUFFICIENT_STORAGE, "This was not kept."),
        StoreError::Busy { .. } => (StatusCode::SERVICE_UNAVAILABLE, "This was not kept."),
        _ => (StatusCode::INTERNAL_SERVER_ERROR, "This was not kept."),
    }
}

pub(super) fn site_id(text: &str) -> Result<SiteId, Fault> {
    text.parse()
        .map_err(|_| Fault::Nowhere(format!("/site/{text}")))
}

pub(super) fn key(text: &str) -> Result<Uuid, Fault> {
    text.parse()
        .map_err(|_| Fault::Input("The form has no key of its own.".to_owned()))
}

/// A form that has nothing but its key.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct OnlyKey {
    pub key: String,
}

/// A file to keep, named after the site.
pub(super) fn as_file(name: &str, kind: &'static str, bytes: Vec<u8>) -> Response {
    let plain: String = name
        .chars()
        .map(|it| if it.is_ascii_alphanumeric() { it } else { '-' })
        .collect();
    let ending = if kind == "application/zip" {
        "zip"
    } else {
        "toml"
    };
    let named = format!("attachment; filename=\"{plain}.{ending}\"");
    (
        [
            (header::CONTENT_TYPE, kind.to_owned()),
            (header::CONTENT_DISPOSITION, named),
        ],
        bytes,
    )
        .into_response()
}
