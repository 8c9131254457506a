//! Who may speak to the workbench: this machine, from its own pages, with the pass of this run.
//!
//! Any program on the machine can reach a port on loopback, and any page in the browser can send to it. So each request
//! has to name our address (Host), each change has to come from our own pages (Origin), and everything but the style
//! sheet needs the pass that was printed at the start, which a cookie then carries.

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use subtle::ConstantTimeEq;

use crate::page::{Frame, Seat, framed, within};
use crate::pages::outage::Outage;

/// The policy of content: nothing from elsewhere, nothing inline.
const POLICY: &str = "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'";

/// The guard of one run.
#[derive(Clone)]
pub struct Guard {
    /// Addresses that are ours, as `127.0.0.1:4717`.
    hosts: Vec<String>,
    /// The pass, in letters and digits.
    pass: String,
    /// Name of the cookie; it has the port in it, as cookies of one host are shared by its ports.
    cookie: String,
}

impl Guard {
    /// For a port on loopback.
    pub fn on_loopback(port: u16, pass: String) -> Guard {
        let hosts = ["127.0.0.1", "localhost", "[::1]"].map(|it| format!("{it}:{port}"));
        Guard {
            hosts: hosts.into(),
            pass,
            cookie: format!("wattwright-{port}"),
        }
    }

    /// The address that hands the pass over.
    pub fn address(&self) -> String {
        format!("http://{}/enter?pass={}", self.hosts[0], self.pass)
    }

    /// Whether these are the same, in a time that does not tell how much of it is.
    fn is_pass(&self, told: &str) -> bool {
        self.pass.as_bytes().ct_eq(told.as_bytes()).into()
    }

    fn refusal(&self, request: &Request) -> Option<(StatusCode, Outage)> {
        if let Some(no) = strange(request, &self.hosts, "http://") {
            return Some(no);
        }
        let path = request.uri().path();
        if path.starts_with("/look/") || path == "/enter" {
            return None;
        }
        if let Some(no) = embedded(request) {
            return Some(no);
        }
        if cookies(request.headers(), &self.cookie).any(|it| self.is_pass(it)) {
            return None;
        }
        let page = Outage::of(
            "The pass is missing.",
            "Only who started the workbench may open it, and each start makes a new pass.",
            "Open the address that was printed where it was started.",
        );
        Some((StatusCode::UNAUTHORIZED, page))
    }

    /// Takes the pass from the printed address into a cookie.
    fn enter(&self, request: &Request) -> Response {
        let query = request.uri().query().unwrap_or_default();
        let pass = query.split('&').find_map(|it| it.strip_prefix("pass="));
        if !pass.is_some_and(|it| self.is_pass(it)) {
            let page = Outage::of(
                "This pass is not that of this run.",
                "Each start makes a new one.",
                "Open the address that was printed last.",
            );
            return (StatusCode::UNAUTHORIZED, framed(&page)).into_response();
        }
        let cookie = format!(
            "{}={}; Path=/; HttpOnly; SameSite=Strict",
            self.cookie, self.pass
        );
        // not a redirect: the cookie is strict, and would stay away from what a page of another origin led to
        let page = maud::html! {
            (maud::DOCTYPE)
            html lang="en" {
                head { meta charset="utf-8"; meta http-equiv="refresh" content="0; url=/"; title { "Wattwright" } link rel="stylesheet" href="/look/look.css"; }
                body { main { h1 { "Wattwright" } p { a href="/" { "To the sites" } } } }
            }
        };
        ([(header::SET_COOKIE, cookie)], page).into_response()
    }
}

/// A header that stands there once.
fn one(headers: &HeaderMap, name: HeaderName) -> Option<&str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?.to_str().ok()?;
    all.next().is_none().then_some(first)
}

/// The values that cookies of this name have.
pub fn cookies<'h>(headers: &'h HeaderMap, name: &str) -> impl Iterator<Item = &'h str> {
    let carried = headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|it| it.to_str().ok());
    let pairs = carried
        .flat_map(|it| it.split(';'))
        .filter_map(|it| it.trim().split_once('='));
    pairs
        .filter(move |(it, _)| *it == name)
        .map(|(_, value)| value)
}

/// What is not asked of one of our addresses, or would change something and does not come from our own pages.
pub fn strange(request: &Request, hosts: &[String], scheme: &str) -> Option<(StatusCode, Outage)> {
    let headers = request.headers();
    let host = one(headers, header::HOST);
    if !host.is_some_and(|it| hosts.iter().any(|own| own.eq_ignore_ascii_case(it))) {
        let page = Outage::of(
            "This address is not the workbench's.",
            "The request named another host.",
            "Open the address that was printed at the start.",
        );
        return Some((StatusCode::MISDIRECTED_REQUEST, page));
    }
    let reads = request.method() == Method::GET || request.method() == Method::HEAD;
    let own = |origin: &str| {
        origin
            .strip_prefix(scheme)
            .is_some_and(|it| Some(it) == host)
    };
    if !reads && !one(headers, header::ORIGIN).is_some_and(own) {
        let page = Outage::of(
            "This was not kept.",
            "It did not come from a page of the workbench.",
            "Open the page again and send it from there.",
        );
        return Some((StatusCode::FORBIDDEN, page));
    }
    None
}

/// What another page embeds or reads; it may lead here, no more.
pub fn embedded(request: &Request) -> Option<(StatusCode, Outage)> {
    let headers = request.headers();
    let site = one(headers, HeaderName::from_static("sec-fetch-site"));
    let mode = one(headers, HeaderName::from_static("sec-fetch-mode"));
    if matches!(site, Some("cross-site" | "same-site")) && mode != Some("navigate") {
        let page = Outage::of(
            "This page is not shown inside another.",
            "",
            "Open it by itself.",
        );
        return Some((StatusCode::FORBIDDEN, page));
    }
    None
}

/// Whether the script asks, and not a person.
pub fn is_quiet(request: &Request) -> bool {
    request.headers().contains_key("x-outbox")
}

/// A refusal as a page; to the script, in a line.
pub fn refused(quiet: bool, (status, page): (StatusCode, Outage)) -> Response {
    match quiet {
        true => (
            status,
            axum::Json(serde_json::json!({ "problems": [page.what, page.advice] })),
        )
            .into_response(),
        false => (status, framed(&page)).into_response(),
    }
}

/// Stands before every page.
pub async fn stand(State(guard): State<Guard>, request: Request, next: Next) -> Response {
    let lasting = request.uri().path().starts_with("/look/");
    let mut response = match guard.refusal(&request) {
        Some(no) => {
            let quiet = is_quiet(&request);
            let frame = Frame {
                seat: Seat::Stranger,
                notice: None,
            };
            within(frame, async { refused(quiet, no) }).await
        }
        None if request.uri().path() == "/enter" => guard.enter(&request),
        None => next.run(request).await,
    };
    seal(&mut response, lasting);
    response
}

/// What every answer carries.
pub fn seal(response: &mut Response<Body>, lasting: bool) {
    let keep = if lasting { "no-cache" } else { "no-store" };
    let all = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::CACHE_CONTROL, keep),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
    ];
    for (name, value) in all {
        // a page may be stricter than all pages are
        let headers = response.headers_mut();
        headers
            .entry(name)
            .or_insert(HeaderValue::from_static(value));
    }
}
