//! A request must say which page it comes from before it may change anything.

use axum::{extract::Request, http::Method, middleware::Next, response::Response};

use super::Error;

/// A change that says nothing of where it comes from is refused: every browser we serve says it.
pub(super) async fn required_for_changes(request: Request, next: Next) -> Result<Response, Error> {
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD | Method::OPTIONS);
    let headers = request.headers();
    if changes && !headers.contains_key("sec-fetch-site") && !headers.contains_key("origin") {
        return Err(Error::CrossSite);
    }
    Ok(next.run(request).await)
}
