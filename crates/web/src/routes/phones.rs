//! Which phones may come in, on the laptop.

use axum::extract::{Form, State};
use axum::response::{IntoResponse, Redirect};
use serde::Deserialize;
use store::DeviceId;

use super::answer::{Answer, Bench, Fault, Form_, OnlyKey};
use super::holder::Held;
use crate::desk::News;
use crate::look::qr;
use crate::net::pairing::{self, GOOD_FOR};
use crate::net::phones::{PAIRED_FOR, Phones};
use crate::page::framed;
use crate::pages::phones::{Code, Opened, PhonesPage, Row};

pub(super) async fn phones(State(desk): Bench, Held(holder): Held) -> Answer {
    let devices = desk.store.devices().await?;
    let now = (desk.outside.now)();
    let paired = devices
        .into_iter()
        .filter(|it| it.revoked.is_none() && now.duration_since(it.created) < PAIRED_FOR);
    let row = |it: store::Device| Row {
        id: it.id.to_string(),
        name: it.name,
        paired: ago(now.duration_since(it.created).as_secs()),
        seen: it.last_seen.map(|it| ago(now.duration_since(it).as_secs())),
    };
    let page = PhonesPage {
        opened: holder.phones.opening().map(|it| Opened {
            address: it.addresses.first().cloned().unwrap_or_default(),
            others: it.addresses.iter().skip(1).cloned().collect(),
            fingerprint: it.fingerprint.clone(),
        }),
        code: code(&holder.phones, now),
        phones: paired.map(row).collect(),
        key: desk.fresh(),
    };
    Ok(framed(&page).into_response())
}

fn code(phones: &Phones, now: jiff::Timestamp) -> Code {
    if phones.is_shut() {
        return Code::Shut;
    }
    match phones.state() {
        pairing::State::None => Code::None,
        pairing::State::Used(by) => Code::Used(by),
        pairing::State::Late => Code::Late,
        pairing::State::Void => Code::Void,
        pairing::State::Good(code) => {
            let address = phones
                .opening()
                .and_then(|it| it.addresses.first().cloned());
            let left = (GOOD_FOR - now.duration_since(code.made)).as_secs();
            Code::Good {
                picture: qr::of(&qr::link(&address.unwrap_or_default(), &code.digits)),
                digits: code.digits,
                minutes: (left + 59) / 60,
            }
        }
    }
}

/// How long ago, as people say it.
fn ago(seconds: i64) -> String {
    match seconds {
        ..0 => "at another setting of the clock".to_owned(),
        0..120 => "just now".to_owned(),
        120..7_200 => format!("{} minutes ago", seconds / 60),
        7_200..172_800 => format!("{} hours ago", seconds / 3_600),
        _ => format!("{} days ago", seconds / 86_400),
    }
}

pub(super) async fn new_code(State(_): Bench, Held(holder): Held, form: Form_<OnlyKey>) -> Answer {
    let Form(_) = form?;
    holder.phones.new_code(); // while it may not be made, the page says so
    Ok(Redirect::to("/phones").into_response())
}

/// Which phone.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Which {
    phone: String,
}

pub(super) async fn shut_out(State(desk): Bench, Held(holder): Held, form: Form_<Which>) -> Answer {
    let Form(which) = form?;
    let id: DeviceId = which
        .phone
        .parse()
        .map_err(|_| Fault::Nowhere("the phone".to_owned()))?;
    holder.phones.shut_out(&desk.store, id).await?;
    let _ = desk.news.send(News::Phones); // nobody looks at the list: nobody needs to know
    Ok(Redirect::to("/phones").into_response())
}
