//! A secret asked once more from who is signed in: the password before something that cannot be taken back, the
//! PIN where a tablet is to know it. A PIN never stands for the password.

use axum::Extension;

use super::{User, password, store};
use crate::{
    App,
    web::{Error, Peer, Result},
};

/// Whether this is the password of who is signed in; guessing is slowed down as at the door.
pub async fn confirm(app: &App, user: &User, peer: Option<Extension<Peer>>, typed: &str) -> Result<bool> {
    let secrets = store::secrets(app.db.read(), user.id).await?;
    is(app, user, peer, typed, secrets.of_password()).await
}

/// Whether this is the PIN of who is signed in.
pub async fn pin_is(app: &App, user: &User, peer: Option<Extension<Peer>>, typed: &str) -> Result<bool> {
    let secrets = store::secrets(app.db.read(), user.id).await?;
    is(app, user, peer, typed, secrets.pin_hash.as_deref()).await
}

async fn is(
    app: &App,
    user: &User,
    peer: Option<Extension<Peer>>,
    typed: &str,
    hash: Option<&str>,
) -> Result<bool> {
    let address = peer.map_or([127, 0, 0, 1].into(), |Extension(peer)| peer.addr.ip());
    let now = app.clock.now();
    if let Some(seconds) = app.throttle.wait(&user.name, address, now) {
        return Err(Error::Slow { seconds });
    }
    let typed = password::bounded(typed);
    let good = app.hasher.verify(&typed, hash).await?;
    if good {
        app.throttle.succeeded(&user.name);
    } else {
        app.throttle.failed(&user.name, now);
    }
    Ok(good)
}
