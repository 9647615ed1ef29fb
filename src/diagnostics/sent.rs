//! A form about an order on its way: who sent it, its transaction, and what was typed.

use axum::{
    extract::{FromRequest, FromRequestParts, Request},
    response::{IntoResponse, Response},
};
use serde::{Deserialize, de::DeserializeOwned};

use crate::{
    App,
    accounts::User,
    ids::OrderId,
    web::{Begun, Error, Form, Once, Path, Shell, begin},
};

/// What a form holds; its number makes that it takes effect once.
pub trait Typed: DeserializeOwned + Send {
    fn submission(&self) -> &str;
}

pub struct Sent<T> {
    pub user: User,
    pub shell: Shell,
    pub order: OrderId,
    pub once: Once,
    pub typed: T,
}

/// The order that every address of these forms names, whatever else it names.
#[derive(Deserialize)]
struct Address {
    id: OrderId,
}

/// A form that was taken before, and one that nobody may send, is answered here: the handler sees new ones only.
impl<T: Typed> FromRequest<App> for Sent<T> {
    type Rejection = Response;

    async fn from_request(request: Request, app: &App) -> Result<Self, Response> {
        let (mut parts, body) = request.into_parts();
        let user = User::from_request_parts(&mut parts, app).await.map_err(answered)?;
        let shell = Shell::from_request_parts(&mut parts, app).await.map_err(answered)?;
        let Path(Address { id }) = Path::from_request_parts(&mut parts, app).await.map_err(answered)?;
        let request = Request::from_parts(parts, body);
        let Form(typed) = Form::<T>::from_request(request, app).await.map_err(answered)?;
        match begin(app, typed.submission(), Some(user.id)).await.map_err(answered)? {
            Begun::Fresh(once) => Ok(Sent { user, shell, order: id, once, typed }),
            Begun::Repeat(first) => Err(first),
        }
    }
}

/// An error as the answer that an extractor gives.
pub fn answered(error: Error) -> Response {
    error.into_response()
}
