//! A secret asked once more from who is signed in: the password before something that cannot be taken back, a code of
//! the second factor where the account has one, the PIN where a tablet is to know it. A PIN never stands for the
//! password.

use axum::Extension;

use super::{User, factor, password, store};
use crate::{
    App,
    web::{Error, Errors, Peer, Result},
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

/// Whether this is a fresh code of the second factor of who is signed in, which uses it up; of an account without one
/// nothing is asked, and the answer is yes. Guessing is slowed down as at the door.
pub async fn second(app: &App, user: &User, peer: Option<Extension<Peer>>, code: &str) -> Result<bool> {
    if !user.second {
        return Ok(true);
    }
    if code.trim().is_empty() {
        return Ok(false);
    }
    let counted = factor::throttled(&user.name);
    wait(app, &counted, peer)?;
    let good = factor::spend(app, user.id, code).await?.is_good();
    count(app, &counted, good);
    Ok(good)
}

/// The same for a form, as the last thing that is asked: a code is not used up by a form that has something else
/// wrong. What is wrong with the code is said beside `field`.
pub async fn second_beside(
    app: &App,
    user: &User,
    peer: Option<Extension<Peer>>,
    (field, code): (&str, &str),
    errors: &mut Errors,
) -> Result<()> {
    if errors.is_empty() && !second(app, user, peer, code).await? {
        let missing = "Enter the code that your device shows.";
        errors.add(field, if code.trim().is_empty() { missing } else { factor::WRONG });
    }
    Ok(())
}

async fn is(
    app: &App,
    user: &User,
    peer: Option<Extension<Peer>>,
    typed: &str,
    hash: Option<&str>,
) -> Result<bool> {
    wait(app, &user.name, peer)?;
    let typed = password::bounded(typed);
    let good = app.hasher.verify(&typed, hash).await?;
    count(app, &user.name, good);
    Ok(good)
}

fn wait(app: &App, counted: &str, peer: Option<Extension<Peer>>) -> Result<()> {
    let address = peer.map_or([127, 0, 0, 1].into(), |Extension(peer)| peer.addr.ip());
    match app.throttle.wait(counted, address, app.clock.now()) {
        Some(seconds) => Err(Error::Slow { seconds }),
        None => Ok(()),
    }
}

fn count(app: &App, counted: &str, good: bool) {
    if good {
        app.throttle.succeeded(counted);
    } else {
        app.throttle.failed(counted, app.clock.now());
    }
}
