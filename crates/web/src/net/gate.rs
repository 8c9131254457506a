//! Who may come in from the local network: phones that were paired. Everybody else is asked for a code, and sees no more.
//!
//! Each request has to name an address that the certificate names (Host), so that a name which somebody points here leads
//! nowhere; each change has to come from our own pages (Origin). A phone is known by a token in a cookie of its own.

use std::sync::Arc;

use axum::Form;
use axum::body::{Body, HttpBody};
use axum::extract::{FromRequest, Request, State};
use axum::http::{Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use futures_util::StreamExt;
use serde::Deserialize;
use store::DeviceId;

use super::pairing::No;
use super::phones::{PAIRED_FOR, Phones, Refused, ShutOuts};
use crate::desk::{Desk, News};
use crate::guard::{cookies, embedded, is_quiet, refused, seal, strange};
use crate::holder::Holder;
use crate::page::{Frame, Seat, framed, within};
use crate::pages::outage::Outage;
use crate::pages::pair::Pair;

/// Largest form that somebody unknown may send.
const LARGEST: usize = 4096;

/// The gate of one run.
#[derive(Clone)]
pub struct Gate {
    hosts: Arc<[String]>,
    cookie: Arc<str>,
    holder: Arc<Holder>,
}

/// What is typed to be paired.
#[derive(Default, Deserialize)]
#[serde(default)]
struct Told {
    code: String,
    name: String,
}

impl Gate {
    /// For these addresses with their port.
    pub fn new(hosts: Vec<String>, port: u16, holder: Arc<Holder>) -> Gate {
        Gate {
            hosts: hosts.into(),
            // with this prefix browsers take it over TLS only, and from nobody but this address: RFC 6265bis, 4.1.3.2
            cookie: format!("__Host-wattwright-{port}").into(),
            holder,
        }
    }

    fn phones(&self) -> &Phones {
        &self.holder.phones
    }

    async fn answer(&self, request: Request, next: Next) -> Response {
        let quiet = is_quiet(&request);
        if let Some(no) = strange(&request, &self.hosts, "https://") {
            return refused(quiet, no);
        }
        if request.uri().path().starts_with("/look/") {
            return next.run(request).await;
        }
        if let Some(no) = embedded(&request) {
            return refused(quiet, no);
        }
        let Some(desk) = self.holder.desk() else {
            let page = Outage::of(
                "The laptop is not ready.",
                "Its data is being restored, or has to be.",
                "Ask there, and try again.",
            );
            return refused(quiet, (StatusCode::SERVICE_UNAVAILABLE, page));
        };
        // heard of before the phone is looked up, so that nothing falls between
        let told = self.phones().shut_outs();
        let token = cookies(request.headers(), &self.cookie).next();
        let device = match token {
            Some(token) => self.phones().of_token(&desk.store, token).await,
            None => Ok(None),
        };
        let device = match device {
            Ok(it) => it,
            Err(error) => {
                let page = Outage::of(
                    "The laptop cannot look you up.",
                    error.to_string(),
                    "Try again.",
                );
                return refused(quiet, (StatusCode::SERVICE_UNAVAILABLE, page));
            }
        };
        match device {
            Some(_) if request.uri().path() == "/pair" => Redirect::to("/").into_response(),
            Some(device) => self.let_in(told, device.id, request, next).await,
            None if request.uri().path() == "/pair" && request.method() == Method::POST => {
                self.pair(&desk, request).await
            }
            None => ask(quiet),
        }
    }

    /// What the phone asked for, unless it is shut out meanwhile.
    async fn let_in(&self, told: ShutOuts, id: DeviceId, request: Request, next: Next) -> Response {
        let quiet = is_quiet(&request);
        let mut out = Box::pin(told.until(id));
        let frame = Frame {
            seat: Seat::Phone,
            notice: self.holder.notice(),
        };
        let response = tokio::select! {
            it = within(frame, next.run(request)) => it,
            () = &mut out => return ask(quiet),
        };
        if response.body().size_hint().exact().is_some() {
            return response;
        }
        // an open stream ends when the phone is shut out
        let (head, body) = response.into_parts();
        Response::from_parts(
            head,
            Body::from_stream(body.into_data_stream().take_until(out)),
        )
    }

    async fn pair(&self, desk: &Desk, request: Request) -> Response {
        let again = |status: StatusCode, problem: &str, name: String| {
            (
                status,
                framed(&Pair {
                    problems: vec![problem.to_owned()],
                    name,
                }),
            )
                .into_response()
        };
        let (head, body) = request.into_parts();
        let Ok(body) = axum::body::to_bytes(body, LARGEST).await else {
            return again(
                StatusCode::PAYLOAD_TOO_LARGE,
                "What was sent is too long for a code and a name.",
                String::new(),
            );
        };
        let form =
            Form::<Told>::from_request(Request::from_parts(head, Body::from(body)), &()).await;
        let Ok(Form(told)) = form else {
            return again(
                StatusCode::BAD_REQUEST,
                "What was sent cannot be read; type code and name here.",
                String::new(),
            );
        };
        let paired = self
            .phones()
            .pair(&desk.store, &told.code, &told.name)
            .await;
        let _ = desk.news.send(News::Phones); // nobody looks at the list: nobody needs to know
        let token = match paired {
            Ok(token) => token,
            Err(Refused::Name) => {
                return again(
                    StatusCode::UNPROCESSABLE_ENTITY,
                    "The name: write what you call this phone.",
                    String::new(),
                );
            }
            Err(Refused::Code(no)) => {
                let (status, problem) = words(no);
                return again(status, &problem, told.name);
            }
            Err(Refused::Store(error)) => {
                let problem =
                    format!("The phone was not paired: {error}. Make another code on the laptop.");
                return again(StatusCode::SERVICE_UNAVAILABLE, &problem, told.name);
            }
        };
        let cookie = format!(
            "{}={token}; Path=/; Secure; HttpOnly; SameSite=Strict; Max-Age={}",
            self.cookie,
            PAIRED_FOR.as_secs()
        );
        ([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response()
    }
}

/// The page that asks for a code; to a script, the same in a line.
fn ask(quiet: bool) -> Response {
    let status = StatusCode::UNAUTHORIZED;
    if quiet {
        let no =
            "This phone is not paired, or no longer: pair it with the code that the laptop shows.";
        return (status, axum::Json(serde_json::json!({ "problems": [no] }))).into_response();
    }
    (status, framed(&Pair::default())).into_response()
}

/// Why a code does not let in, to whoever typed it.
fn words(no: No) -> (StatusCode, String) {
    match no {
        No::Wrong(0) => (
            StatusCode::UNAUTHORIZED,
            "This is not the code, and it was the last try for it: make another one on the laptop.".to_owned(),
        ),
        No::Wrong(left) => (
            StatusCode::UNAUTHORIZED,
            format!("This is not the code. {} left.", crate::words::count(left as usize, "try is", "tries are")),
        ),
        No::Gone => (
            StatusCode::UNAUTHORIZED,
            "No code is good now: each one lets one phone in, within ten minutes. If you have just been let in, go on to \
             the sites; else make another one on the laptop."
                .to_owned(),
        ),
        No::Shut => (
            StatusCode::TOO_MANY_REQUESTS,
            "Too many wrong codes came within the hour; pairing rests until it is over.".to_owned(),
        ),
    }
}

/// Stands before every page that the network asks for.
pub async fn stand(State(gate): State<Gate>, request: Request, next: Next) -> Response {
    let lasting = request.uri().path().starts_with("/look/");
    let frame = Frame {
        seat: Seat::Stranger,
        notice: None,
    };
    let mut response = within(frame, gate.answer(request, next)).await;
    seal(&mut response, lasting);
    response
}
