//! Whoever holds the store, for what the laptop may do with it.

use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::StatusCode;
use axum::http::request::Parts;

use crate::holder::Holder;

/// The holder of this run; only requests of the laptop carry it.
pub(super) struct Held(pub Arc<Holder>);

impl<S: Sync> FromRequestParts<S> for Held {
    type Rejection = StatusCode;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Held, StatusCode> {
        let held = parts.extensions.get::<Arc<Holder>>().cloned();
        held.map(Held).ok_or(StatusCode::FORBIDDEN)
    }
}
