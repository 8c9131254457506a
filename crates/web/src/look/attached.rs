//! Photographs and notes of a place: small, in a row, the full picture one touch away; and the form that adds one.

use maud::{Markup, html};

use crate::page::key_field;

/// What is attached.
#[derive(Clone, Debug, PartialEq)]
pub struct Attached {
    /// The file itself.
    pub href: String,
    /// What can be shown of it.
    pub shows: Shows,
    /// What a person says about it.
    pub note: String,
    /// Where it belongs, where that is not the page's own place.
    pub place: Option<String>,
    /// When it was kept.
    pub at: String,
}

/// What can be shown of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shows {
    /// A picture.
    Picture,
    /// The note is all there is.
    Note,
    /// A paper, which the device opens in its own way.
    Paper,
}

/// The form that adds one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Add {
    /// Where it is sent.
    pub action: String,
    /// Makes it count once.
    pub key: String,
    /// The note as typed, where it comes back with a problem.
    pub note: String,
    /// What is wrong with what was sent.
    pub problems: Vec<String>,
}

/// What is attached, in the order it came.
pub fn attached(all: &[Attached]) -> Markup {
    html! {
        @if !all.is_empty() {
            ul .attached {
                @for it in all {
                    li {
                        @match it.shows {
                            Shows::Picture => a href=(it.href) {
                                img src=(it.href) loading="lazy" decoding="async" width="96" height="96"
                                    alt=(if it.note.is_empty() { "Picture without a note" } else { it.note.as_str() });
                            },
                            Shows::Paper => a .key .quiet href=(it.href) download { "A paper (PDF)" },
                            Shows::Note => {}
                        }
                        div {
                            @if let Some(place) = &it.place { b { (place) } }
                            @if !it.note.is_empty() { p { (it.note) } }
                            p .small .faint { "Kept " (it.at) }
                        }
                    }
                }
            }
        }
    }
}

/// Draws the form.
pub fn add(it: &Add) -> Markup {
    html! {
        form .sheet #attach method="post" action=(it.action) enctype="multipart/form-data" data-laptop aria-labelledby="attach-title" {
            h2 #attach-title { "Attach a picture or a note" }
            @if !it.problems.is_empty() {
                div .wrong role="alert" { ul { @for problem in &it.problems { li { (problem) } } } }
            }
            (key_field(&it.key))
            div .field {
                label for="take" { "Take a picture" }
                input #take type="file" name="picture" accept="image/jpeg,image/png,image/webp" capture="environment";
            }
            div .field {
                label for="choose" { "Or choose a picture or a paper" }
                input #choose type="file" name="picture" accept="image/jpeg,image/png,image/webp,application/pdf";
            }
            div .field {
                label for="note" { "Note" }
                textarea #note name="note" rows="2" maxlength="500" { (it.note) }
            }
            button type="submit" { "Attach it" }
            p .small .faint {
                "JPEG, PNG, WebP or PDF, up to 16 MB. A picture is kept as the camera wrote it, with its time and, where the camera adds it, \
                 its position; whoever gets the site's files gets these too. Pictures are not kept on a phone that cannot reach the \
                 laptop: take them with the camera and attach them when it is back."
            }
        }
    }
}
