//! A form that cannot be taken at all, because the visit was signed meanwhile, because somebody else was there first
//! or because a right is missing, is answered with an error page. The words of the form stand on that page: a page of
//! the record is not kept by the browser, so going back would not bring them again. A form that met a session that has
//! ended or is locked also waits there to be sent again as it is.

use axum::{
    body::{Body, HttpBody, to_bytes},
    extract::{FromRequest, Request},
    http::{Method, header},
    middleware::Next,
    response::{IntoResponse, Response},
};

use super::{
    Error, Form, LARGEST_FORM,
    error::{Again, ErrorPage},
    prefer::Instead,
};

/// Fields that a page fills in or a tap chooses: nobody typed them.
const NOT_TYPED: [&str; 28] = [
    "submission",
    "version",
    "seen_at",
    "sent_at",
    "newest",
    "tap",
    "go",
    "step",
    "chips",
    "row-",
    "found",
    "section",
    "place",
    "was",
    "sweep",
    "scale",
    "test",
    "condition",
    "complaints",
    "to",
    "slot",
    "next",
    "day",
    "take",
    "move",
    "kind",
    "kind_was",
    "answer-RF",
];
/// Never shown again.
const SECRET: [&str; 5] = ["password", "current", "pin", "secret", "factor"];

pub(super) async fn keep(request: Request, next: Next) -> Result<Response, Error> {
    if request.method() != Method::POST || !is_small_form(&request) {
        return Ok(next.run(request).await);
    }
    let (parts, body) = request.into_parts();
    let bytes = to_bytes(body, LARGEST_FORM)
        .await
        .map_err(|_| Error::BadRequest("The form did not arrive whole".into()))?;
    let kind = parts.headers.get(header::CONTENT_TYPE).cloned();
    let action = parts.uri.path_and_query().map_or("", |asked| asked.as_str());
    // Two slashes would name another host.
    let action = format!("/{}", action.trim_start_matches('/'));
    let mut response = next.run(Request::from_parts(parts, Body::from(bytes.clone()))).await;
    let Some(page) = response.extensions_mut().remove::<ErrorPage>() else { return Ok(response) };
    let mut same = Request::new(Body::from(bytes));
    *same.method_mut() = Method::POST;
    same.headers_mut().extend(kind.map(|kind| (header::CONTENT_TYPE, kind)));
    let typed = Form::<Vec<(String, String)>>::from_request(same, &()).await.map_or(vec![], |Form(all)| all);
    let words = words(&typed);
    let (status, page) = match (page.door(), response.extensions().get::<Instead>()) {
        (Some(_), _) if words.is_empty() => return Ok(response),
        (Some(_), Some(Instead(status))) => (*status, page.again(again(action, typed))),
        _ => (response.status(), page),
    };
    let mut answer = (status, page.with(words)).into_response();
    if let Some(instead) = response.extensions_mut().remove::<Instead>() {
        answer.extensions_mut().insert(instead);
    }
    if let Some(wait) = response.headers_mut().remove(header::RETRY_AFTER) {
        answer.headers_mut().insert(header::RETRY_AFTER, wait);
    }
    Ok(answer)
}

/// What is too large, or does not say how large it is, is refused where it is read, and not held here.
fn is_small_form(request: &Request) -> bool {
    let text = |name| request.headers().get(name).and_then(|value| value.to_str().ok()).unwrap_or_default();
    let said =
        text(header::CONTENT_LENGTH).parse::<u64>().ok().or_else(|| request.body().size_hint().upper());
    text(header::CONTENT_TYPE).starts_with("application/x-www-form-urlencoded")
        && said.is_some_and(|length| usize::try_from(length).is_ok_and(|length| length <= LARGEST_FORM))
}

/// What a person typed, with the field's name as words.
fn words(all: &[(String, String)]) -> Vec<(String, String)> {
    let bare = |name: &str| name.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
    all.iter()
        .filter(|(name, value)| {
            !value.trim().is_empty()
                && !NOT_TYPED.contains(&bare(name).as_str())
                && !is_secret(name)
                && value.parse::<uuid::Uuid>().is_err()
        })
        .map(|(name, value)| (bare(name).replace(['_', '-'], " ").trim().to_owned(), value.clone()))
        .collect()
}

/// The form as it came, but for its secrets: they are asked for again.
fn again(action: String, mut fields: Vec<(String, String)>) -> Again {
    fields.retain(|(name, _)| !is_secret(name));
    Again { action, fields }
}

fn is_secret(name: &str) -> bool {
    SECRET.iter().any(|secret| name.starts_with(secret))
}
