//! One error type and one error page. The page says what to do and shows a short request id; what went wrong
//! inside goes to the log once, ids only.

use std::{
    any::Any,
    convert::Infallible,
    io,
    sync::atomic::{AtomicU64, Ordering},
};

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    body::Body,
    extract::Request,
    http::{Response as HttpResponse, StatusCode, header},
    middleware::Next,
    response::{IntoResponse, Redirect, Response},
};

use super::{DOOR, prefer::Instead};
use crate::db::{ReadOnly, is_full};

pub type Result<T> = std::result::Result<T, Error>;

/// Why a request has no page of its own.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("There is nothing here")]
    NotFound,
    #[error("Please sign in")]
    SignIn { next: String },
    #[error("This tablet is locked")]
    Locked { next: String },
    #[error("Choose a password first")]
    Choose,
    #[error("Set up a second factor first")]
    Enrol,
    #[error("The practice is not set up yet")]
    SetUp,
    #[error("Your role may not do this")]
    Forbidden,
    #[error("This request came from another page")]
    CrossSite,
    #[error("Somebody else changed this meanwhile")]
    Conflict(Box<Conflict>),
    #[error("The visit is signed")]
    Signed,
    /// The number of an upload was used up by another account, on another route or with another file.
    #[error("Another file was kept under this number")]
    OtherContent,
    #[error("{0}")]
    BadRequest(String),
    #[error("The form is too large")]
    TooLarge,
    #[error("Too many attempts")]
    Slow { seconds: u64 },
    /// What is kept cannot be trusted, as was found.
    #[error("The practice can be read only")]
    ReadOnly { found: String },
    #[error("The disk is full")]
    DiskFull,
    #[error("Something went wrong here")]
    Internal(anyhow::Error),
}

/// Both sides of a clash: nothing that anybody typed is lost.
#[derive(Debug, Clone, Default)]
pub struct Conflict {
    /// What was being changed, such as `Briar's details`.
    pub what: String,
    /// Where to look at it as it stands now.
    pub back: String,
    pub differences: Vec<Difference>,
}

/// One field that says different things on the two sides.
#[derive(Debug, Clone)]
pub struct Difference {
    pub label: String,
    pub yours: String,
    pub theirs: String,
}

impl Conflict {
    /// Notes a field of the clash, if its sides differ.
    #[must_use]
    pub fn field(mut self, label: &str, yours: &str, theirs: &str) -> Self {
        if yours.trim() != theirs.trim() {
            self.differences.push(Difference {
                label: label.into(),
                yours: yours.into(),
                theirs: theirs.into(),
            });
        }
        self
    }
}

impl Error {
    fn status(&self) -> StatusCode {
        match self {
            Error::NotFound => StatusCode::NOT_FOUND,
            Error::SignIn { .. } | Error::Locked { .. } | Error::Choose | Error::Enrol | Error::SetUp => {
                StatusCode::SEE_OTHER
            }
            Error::Forbidden | Error::CrossSite => StatusCode::FORBIDDEN,
            Error::Conflict(_) | Error::Signed | Error::OtherContent => StatusCode::CONFLICT,
            Error::BadRequest(_) => StatusCode::BAD_REQUEST,
            Error::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Error::Slow { .. } => StatusCode::TOO_MANY_REQUESTS,
            Error::ReadOnly { .. } => StatusCode::SERVICE_UNAVAILABLE,
            Error::DiskFull => StatusCode::INSUFFICIENT_STORAGE,
            Error::Internal(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn advice(&self) -> String {
        match self {
            Error::NotFound => "The address may be mistyped, or what it named was never recorded. Search for the horse, or go back to the day.".into(),
            Error::Forbidden => "Ask the practice's owner if your work needs it.".into(),
            Error::CrossSite => "Open the page from this practice's own address and try again.".into(),
            Error::Conflict(_) => "Look at both below, then open it as it stands now and enter what is still missing.".into(),
            Error::Signed => "A signed visit stays as it was signed. Add what is missing as an addendum.".into(),
            Error::OtherContent => "Nothing of this one was kept. Open the page again and choose the file there.".into(),
            Error::BadRequest(_) => "Go back and try again.".into(),
            Error::TooLarge => "Send less at once.".into(),
            Error::Slow { seconds } => format!("Wait {seconds} seconds, then try again."),
            Error::ReadOnly { found } => format!("Nothing was written. Damage was found: {found}. Read what you need, write on paper, and have the last good backup restored on the practice's computer."),
            Error::DiskFull => "Nothing was written. Free space on the practice's computer, then send it again: what you typed is still here.".into(),
            Error::Internal(_) => "Nothing was half done. Try again; if it stays, tell whoever looks after the computer this number.".into(),
            Error::SignIn { .. } => "You were signed out meanwhile. Sign in, come back to this page and send it again.".into(),
            Error::Locked { .. } => "It was locked meanwhile. Unlock it, come back to this page and send it again.".into(),
            Error::Enrol => "An owner needs one from today on. Set it up, come back to this page and send it again.".into(),
            Error::Choose | Error::SetUp => String::new(),
        }
    }
}

impl From<sqlx::Error> for Error {
    fn from(error: sqlx::Error) -> Self {
        if is_full(&error) {
            return Error::DiskFull;
        }
        match error {
            sqlx::Error::RowNotFound => Error::NotFound,
            sqlx::Error::Database(e) if e.message().contains("visit_is_signed") => Error::Signed,
            sqlx::Error::Configuration(e) => match e.downcast::<ReadOnly>() {
                Ok(why) => Error::ReadOnly { found: why.0.to_string() },
                Err(e) => Error::Internal(sqlx::Error::Configuration(e).into()),
            },
            other => Error::Internal(other.into()),
        }
    }
}

impl From<anyhow::Error> for Error {
    fn from(error: anyhow::Error) -> Self {
        match error.downcast::<sqlx::Error>() {
            Ok(e) => e.into(),
            Err(e) if e.chain().filter_map(|e| e.downcast_ref::<io::Error>()).any(no_room) => Error::DiskFull,
            Err(e) => Error::Internal(e),
        }
    }
}

fn no_room(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded)
}

impl From<Conflict> for Error {
    fn from(clash: Conflict) -> Self {
        Error::Conflict(Box::new(clash))
    }
}

impl From<Infallible> for Error {
    fn from(never: Infallible) -> Self {
        match never {}
    }
}

/// It travels with its answer, so that what was typed can be put on it on the way out; see `typed`.
#[derive(Debug, Clone, Default, Template, WebTemplate)]
#[template(path = "error.html")]
pub(super) struct ErrorPage {
    title: String,
    advice: String,
    conflict: Option<Box<Conflict>>,
    /// What the form held that could not be taken: what is asked, and the words.
    typed: Vec<(String, String)>,
    /// Where to go first, when the form can then be sent again as it is.
    door: Option<&'static str>,
    again: Again,
    reference: String,
}

/// The form that met an ended session, to be sent once more: it carries its submission id, so it is done once.
#[derive(Debug, Clone, Default)]
pub(super) struct Again {
    pub action: String,
    pub fields: Vec<(String, String)>,
}

impl ErrorPage {
    /// The same page with the words of the form, those left out that the clash shows already.
    pub(super) fn with(mut self, typed: Vec<(String, String)>) -> Self {
        let shown = |words: &str| {
            let clash = self.conflict.iter().flat_map(|c| &c.differences);
            clash.into_iter().any(|d| d.yours.trim() == words.trim())
        };
        self.typed = typed.into_iter().filter(|(_, words)| !shown(words)).collect();
        self
    }

    /// Whether the form waits for its person to come in, and where that is.
    pub(super) fn door(&self) -> Option<&'static str> {
        self.door
    }

    /// The same page with the form to be sent again.
    pub(super) fn again(mut self, again: Again) -> Self {
        self.again = again;
        self
    }
}

impl IntoResponse for Error {
    fn into_response(self) -> Response {
        match &self {
            Error::SignIn { next } => return self.at_the_door("/sign-in", next, StatusCode::UNAUTHORIZED),
            Error::Locked { next } => return self.at_the_door("/locked", next, StatusCode::LOCKED),
            Error::Choose => return away("/me/first-password", StatusCode::UNAUTHORIZED),
            Error::Enrol => return self.at_the_door("/me/second-factor", "", StatusCode::UNAUTHORIZED),
            Error::SetUp => return away("/set-up", StatusCode::SERVICE_UNAVAILABLE),
            _ => {}
        }
        let reference = reference();
        if let Error::Internal(cause) = &self {
            tracing::error!(reference, error = format!("{cause:#}"), "request failed");
        }
        let (status, title, advice) = (self.status(), self.to_string(), self.advice());
        let wait = if let Error::Slow { seconds } = self { Some(seconds) } else { None };
        let conflict = if let Error::Conflict(c) = self { Some(c) } else { None };
        let page = ErrorPage { title, advice, conflict, reference, ..ErrorPage::default() };
        let mut response = (status, page.clone()).into_response();
        response.extensions_mut().insert(page);
        if let Some(value) = wait.and_then(|s| s.to_string().parse().ok()) {
            response.headers_mut().insert(header::RETRY_AFTER, value);
        }
        response
    }
}

impl Error {
    /// To the page where one comes in; a form with words in it gets a page of its own on the way out.
    fn at_the_door(&self, door: &'static str, next: &str, instead: StatusCode) -> Response {
        let mut response = away(&with_next(door, next), instead);
        let (title, advice, reference) = (self.to_string(), self.advice(), reference());
        let page = ErrorPage { title, advice, door: Some(door), reference, ..ErrorPage::default() };
        response.extensions_mut().insert(page);
        response
    }
}

/// To another page; whoever follows none is told a status.
fn away(location: &str, instead: StatusCode) -> Response {
    let mut response = Redirect::to(location).into_response();
    response.extensions_mut().insert(Instead(instead));
    response
}

fn with_next(page: &str, next: &str) -> String {
    use std::fmt::Write;
    if next.is_empty() || next == "/" {
        return page.to_owned();
    }
    let mut location = format!("{page}?next=");
    for b in next.bytes() {
        if b.is_ascii_alphanumeric() || matches!(b, b'/' | b'-' | b'_' | b'.' | b'~') {
            location.push(char::from(b));
        } else {
            let _ = write!(location, "%{b:02X}");
        }
    }
    location
}

/// A short number that ties the page a person saw to the line in the log.
fn reference() -> String {
    static COUNT: AtomicU64 = AtomicU64::new(1);
    format!("{}-{}", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed))
}

pub(super) fn panicked(_: Box<dyn Any + Send + 'static>) -> HttpResponse<Body> {
    Error::Internal(anyhow::anyhow!("a handler panicked")).into_response()
}

/// One line a request: method, path without its query, status, time. No names, no words of the record.
pub(super) async fn log_requests(request: Request, next: Next) -> Response {
    let (method, mut path) = (request.method().clone(), request.uri().path().to_owned());
    if path.starts_with("/calendar/") {
        // Who knows the rest can read the calendar.
        "/calendar/…".clone_into(&mut path);
    }
    let begun = std::time::Instant::now();
    let response = next.run(request).await;
    let ms = begun.elapsed().as_millis();
    if response.status() == StatusCode::FORBIDDEN {
        tracing::warn!(target: DOOR, %method, path, "refused");
    }
    tracing::info!(%method, path, status = response.status().as_u16(), ms = u64::try_from(ms).unwrap_or(u64::MAX));
    response
}
