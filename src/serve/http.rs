//! The preview over HTTP: who may ask, and what is answered.
//!
//! In: requests on a loopback port. Out: files of the site, and a word after each change. A page of some other site that was made to
//! resolve to this machine asks with its own name in `Host` and is refused; no path reaches a file on disk, since all
//! that is served is made in memory under addresses that the site knows.

use std::sync::{Arc, mpsc};
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, Method, Response, StatusCode, Uri, header};
use tokio::sync::{oneshot, watch};

use super::builder::{Ask, Told};
use super::dress::OWN;
use super::pages::media;

/// How long a question for news waits before it is answered without.
const PATIENCE: Duration = Duration::from_secs(20);

/// What every request needs.
#[derive(Clone)]
pub struct Desk {
    /// Questions to the builder.
    pub asks: mpsc::Sender<Ask>,
    /// How the base stands.
    pub told: watch::Receiver<Told>,
    /// The names under which the preview may be asked for, with the port.
    pub names: Arc<[String]>,
}

/// The names of this machine for itself, with a port.
pub fn names(port: u16) -> Arc<[String]> {
    let mut names = vec![format!("localhost:{port}"), format!("127.0.0.1:{port}"), format!("[::1]:{port}")];
    if port == 80 {
        names.extend(["localhost", "127.0.0.1", "[::1]"].map(str::to_owned));
    }
    names.into()
}

/// All that the port answers.
pub fn router(desk: Desk) -> Router {
    Router::new().fallback(answer).with_state(desk)
}

async fn answer(State(desk): State<Desk>, method: Method, uri: Uri, headers: HeaderMap) -> Response<Body> {
    let mut response = if !is_ours(&desk.names, &uri, &headers) {
        plain(StatusCode::FORBIDDEN, "the preview answers to localhost only\n")
    } else if method == Method::GET || method == Method::HEAD {
        file(&desk, &uri).await
    } else {
        let mut refused = plain(StatusCode::METHOD_NOT_ALLOWED, "the preview is for reading only\n");
        refused.headers_mut().insert(header::ALLOW, HeaderValue::from_static("GET, HEAD"));
        refused
    };
    let fixed = [
        (header::CACHE_CONTROL, "no-store"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CONTENT_SECURITY_POLICY, "frame-ancestors 'none'"),
        // Another site may not take our scripts, which hold the base's words, into its own pages.
        (header::HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in fixed {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    response
}

/// Whether a request names this machine, once and rightly.
fn is_ours(names: &[String], uri: &Uri, headers: &HeaderMap) -> bool {
    let known = |name: &str| names.iter().any(|n| n.eq_ignore_ascii_case(name));
    let mut hosts = headers.get_all(header::HOST).iter();
    let host = hosts.next().and_then(|host| host.to_str().ok());
    host.is_some_and(known) && hosts.next().is_none() && uri.authority().is_none_or(|a| known(a.as_str()))
}

async fn file(desk: &Desk, uri: &Uri) -> Response<Body> {
    let Some(path) = decoded(uri.path().trim_start_matches('/')) else {
        return plain(StatusCode::BAD_REQUEST, "this address can't be read\n");
    };
    let asked = |key: &str| {
        let pairs = uri.query().unwrap_or_default().split('&');
        pairs.filter_map(|pair| pair.split_once('=')).find(|(k, _)| *k == key).and_then(|(_, value)| decoded(value))
    };
    match path.strip_prefix(OWN) {
        Some("preview.js") => own("preview.js", include_str!("../../templates/preview/preview.js")),
        Some("preview.css") => own("preview.css", include_str!("../../templates/preview/preview.css")),
        Some("wait") => news(desk.told.clone(), asked("after")).await,
        Some("digest") => match ask(desk, asked("page").unwrap_or_default()).await {
            Some(served) => plain(StatusCode::OK, &served.digest),
            None => gone(),
        },
        Some(_) => plain(StatusCode::NOT_FOUND, "there is no such file\n"),
        // Every browser asks for this by itself.
        None if path == "favicon.ico" => with_type(StatusCode::NO_CONTENT, media("x.ico"), Body::empty()),
        None => {
            let address = if path.is_empty() || path.ends_with('/') { format!("{path}index.html") } else { path };
            let Some(served) = ask(desk, address).await else { return gone() };
            let status = if served.found { StatusCode::OK } else { StatusCode::NOT_FOUND };
            with_type(status, served.kind, Body::from(axum::body::Bytes::from_owner(served.bytes)))
        }
    }
}

async fn ask(desk: &Desk, address: String) -> Option<super::pages::Served> {
    let (reply, answer) = oneshot::channel();
    desk.asks.send(Ask::File { address, reply }).ok()?;
    answer.await.ok()
}

/// How the base stands, once it is another state than the one that the asker has seen.
async fn news(mut told: watch::Receiver<Told>, after: Option<String>) -> Response<Body> {
    let is_news = |told: &Told| after.as_deref() != Some(told.generation.to_string().as_str());
    let _ = tokio::time::timeout(PATIENCE, told.wait_for(is_news)).await;
    let now = told.borrow().clone();
    match serde_json::to_string(&now) {
        Ok(json) => with_type(StatusCode::OK, media("x.json"), Body::from(json)),
        Err(_) => gone(),
    }
}

fn own(name: &str, text: &'static str) -> Response<Body> {
    with_type(StatusCode::OK, media(name), Body::from(text))
}

fn gone() -> Response<Body> {
    plain(StatusCode::SERVICE_UNAVAILABLE, "the preview is ending\n")
}

fn plain(status: StatusCode, text: &str) -> Response<Body> {
    with_type(status, media("x.txt"), Body::from(text.to_owned()))
}

fn with_type(status: StatusCode, kind: &'static str, body: Body) -> Response<Body> {
    let mut response = Response::new(body);
    *response.status_mut() = status;
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    response
}

/// A text with its `%20` undone; nothing where it is none.
fn decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        if byte != b'%' {
            bytes.push(byte);
            continue;
        }
        let mut digit = || char::from(rest.next()?).to_digit(16).and_then(|d| u8::try_from(d).ok());
        bytes.push(digit()? * 16 + digit()?);
    }
    String::from_utf8(bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_decoded_or_refused() {
        assert_eq!(decoded("a%20b%C2%B5").as_deref(), Some("a bµ"));
        for broken in ["%", "%4", "%zz", "%ff", "%-1"] {
            assert_eq!(decoded(broken), None, "{broken}");
        }
    }
}
