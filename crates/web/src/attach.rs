//! A picture or a note that a form sends becomes an attachment of the visit.

use axum::extract::Multipart;
use axum::extract::multipart::MultipartError;
use axum::http::StatusCode;
use store::{Attachment, Key, NewAttachment, StoreError};
use uuid::Uuid;

use crate::desk::{Desk, Now};
use crate::fill::file_of;
use crate::look::attached::{Attached, Shows};
use crate::standing::Standing;
use crate::tell;

/// What a form sends.
#[derive(Default)]
pub struct Form {
    /// Makes it count once.
    pub key: String,
    /// What a person says.
    pub note: String,
    /// The file; nothing where there is only a note.
    pub bytes: Vec<u8>,
}

/// Longest note.
const NOTE: usize = 500;

/// A form as it comes; with a problem, what came before it.
pub async fn read(mut parts: Multipart) -> (Form, Option<String>) {
    let mut form = Form::default();
    let read = async {
        while let Some(field) = parts.next_field().await? {
            match field.name() {
                Some("key") => form.key = field.text().await?,
                Some("note") => form.note = field.text().await?.replace("\r\n", "\n"),
                Some("picture") => {
                    let bytes = field.bytes().await?;
                    // one of the two fields is empty
                    if !bytes.is_empty() {
                        form.bytes = bytes.to_vec();
                    }
                }
                _ => {}
            }
        }
        Ok::<(), MultipartError>(())
    };
    let problem = read.await.err().map(|it| match it.status() {
        StatusCode::PAYLOAD_TOO_LARGE => {
            "The picture: it is larger than 16 MB; take it again at a lower size.".to_owned()
        }
        _ => format!(
            "The picture: it did not arrive whole ({}); send it again.",
            it.body_text()
        ),
    });
    (form, problem)
}

/// Why nothing was attached.
pub enum Refused {
    /// What was sent.
    Sent(String),
    /// The store.
    Store(StoreError),
}

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Refused {
        match error {
            StoreError::Kind => Refused::Sent(
                "The picture: this is no JPEG, PNG, WebP or PDF by what is in it, whatever it is called. Drawings and \
                 pages (SVG, HTML) are not taken, as they can do things of their own when they are opened."
                    .to_owned(),
            ),
            error @ StoreError::TooLarge { .. } => Refused::Sent(error.to_string()),
            other => Refused::Store(other),
        }
    }
}

/// Attaches what a form sends to a place. A visit is opened where none is open.
///
/// # Errors
/// What is wrong with what was sent, or why the store does not keep it.
pub async fn attach(
    desk: &Desk,
    now: &Now,
    place: &str,
    form: &Form,
    key: Uuid,
) -> Result<(), Refused> {
    let note = form.note.trim();
    if note.chars().count() > NOTE {
        let what = format!("The note: it is longer than {NOTE} signs; tell it in two.");
        return Err(Refused::Sent(what));
    }
    let bytes = match (form.bytes.is_empty(), note.is_empty()) {
        (false, _) => form.bytes.as_slice(),
        (true, false) => note.as_bytes(), // a note alone is a small text of its own
        (true, true) => {
            let what = "Nothing was chosen: take or choose a picture, or write a note.";
            return Err(Refused::Sent(what.to_owned()));
        }
    };
    if !form.bytes.is_empty() && store::kind_of(bytes)? == "text/plain" {
        return Err(StoreError::Kind.into()); // a text that was chosen as a picture: a page, a drawing, a program
    }
    let new = NewAttachment { place, note, bytes };
    let visit = tell::opened(desk, now, key, &tell::begun_next(desk, now)).await?;
    desk.store
        .attach(visit, Key(key), new, (desk.outside.now)())
        .await?;
    Ok(())
}

/// What is attached to a visit, as its pages show it: to one place, or to all.
///
/// # Errors
/// What the store says.
pub async fn of_visit(
    desk: &Desk,
    standing: &Standing,
    place: Option<&str>,
) -> Result<Vec<Attached>, StoreError> {
    let all = desk.store.attachments(standing.listing.id).await?;
    let site = &standing.document.site;
    let name = |it: &str| match site.outlet(it) {
        Some(outlet) => site.outlets[outlet.0].label.clone(),
        None => it.replacen(':', " ", 1),
    };
    let here = all
        .into_iter()
        .filter(|it| place.is_none_or(|place| it.place == place));
    let shown = |it: Attachment| Attached {
        href: file_of(standing, it.key),
        shows: match it.kind.as_str() {
            "text/plain" => Shows::Note,
            "application/pdf" => Shows::Paper,
            _ => Shows::Picture,
        },
        place: place.is_none().then(|| name(&it.place)),
        note: it.note,
        at: it.at.strftime("%Y-%m-%d %H:%M UTC").to_string(),
    };
    Ok(here.map(shown).collect())
}
