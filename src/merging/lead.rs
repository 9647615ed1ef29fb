//! Old addresses lead on: a page that is not there any more, because its row went into another one, is the other's.

use axum::{
    extract::{Request, State},
    http::{Method, StatusCode},
    middleware::Next,
    response::Response,
};
use uuid::Uuid;

use super::store;
use crate::{
    App,
    web::{Result, see_other},
};

/// Asks only where there was nothing to be found, so that no page is slower for it.
pub async fn on(State(app): State<App>, request: Request, next: Next) -> Result<Response> {
    let asked = (request.method() == Method::GET)
        .then(|| request.uri().path_and_query().map(|asked| asked.as_str().to_owned()))
        .flatten();
    let response = next.run(request).await;
    let Some(asked) = asked.filter(|_| response.status() == StatusCode::NOT_FOUND) else {
        return Ok(response);
    };
    let mut leads = asked.clone();
    for old in asked.split(['/', '?', '&', '=', '.']).filter_map(|part| part.parse::<Uuid>().ok()) {
        if let Some(kept) = store::kept(app.db.read(), old).await? {
            leads = leads.replace(&old.to_string(), &kept.to_string());
        }
    }
    // Two slashes would name another host.
    let leads = format!("/{}", leads.trim_start_matches('/'));
    Ok(if leads == asked { response } else { see_other(&leads) })
}
