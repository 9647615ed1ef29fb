//! The extractors that pages use. Their rejections are our error page; `clippy.toml` bans the originals.
#![expect(clippy::disallowed_types, reason = "the one place where the originals are wrapped")]

use axum::{
    extract::{FromRequest, FromRequestParts, Request},
    http::{StatusCode, request::Parts},
    response::IntoResponse,
};
use serde::de::DeserializeOwned;

use super::Error;

/// Parts of the address. An id that is not one is a page that does not exist.
pub struct Path<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Path<T> {
    type Rejection = Error;
    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Error> {
        match axum::extract::Path::from_request_parts(parts, state).await {
            Ok(axum::extract::Path(value)) => Ok(Path(value)),
            Err(_) => Err(Error::NotFound),
        }
    }
}

/// What follows the question mark.
pub struct Query<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Query<T> {
    type Rejection = Error;
    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Error> {
        match axum_extra::extract::Query::from_request_parts(parts, &()).await {
            Ok(axum_extra::extract::Query(value)) => Ok(Query(value)),
            Err(_) => Err(Error::BadRequest("The address asks for something that cannot be read".into())),
        }
    }
}

/// A filled-in form. Its members are all `String` or `Vec<String>`, so that it can always be shown again.
pub struct Form<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Form<T> {
    type Rejection = Error;
    async fn from_request(request: Request, state: &S) -> Result<Self, Error> {
        match axum_extra::extract::Form::from_request(request, state).await {
            Ok(axum_extra::extract::Form(value)) => Ok(Form(value)),
            Err(rejection) => Err(match rejection.into_response().status() {
                StatusCode::PAYLOAD_TOO_LARGE => Error::TooLarge,
                _ => Error::BadRequest("The form could not be read".into()),
            }),
        }
    }
}
