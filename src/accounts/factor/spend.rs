//! Using up what was typed.

use anyhow::Context;

use super::{codes, owner_of, store};
use crate::{App, ids::StaffId};

const DIGITS: usize = 6;
/// Longer than any code with its blanks.
const LONGEST: usize = 60;

/// What it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::accounts) enum Spent {
    /// Wrong, too old or used before: nobody is told which.
    No,
    /// A code of the device.
    Code,
    /// A code from paper, and how many are left.
    Recovery { left: i64 },
}

impl Spent {
    pub(in crate::accounts) fn is_good(self) -> bool {
        self != Spent::No
    }
}

/// Takes a code of the device, or a recovery code, and uses it up.
///
/// # Errors
/// The secret cannot be opened: the key in the data folder is another one. Recovery codes need no key.
pub(in crate::accounts) async fn spend(app: &App, staff: StaffId, typed: &str) -> anyhow::Result<Spent> {
    let typed: String = typed.chars().take(LONGEST).filter(|c| !c.is_whitespace()).collect();
    let mut tx = app.db.write_at_the_door().await?;
    if typed.len() == DIGITS && typed.bytes().all(|b| b.is_ascii_digit()) {
        let Some(kept) = store::of(&mut *tx, staff).await? else { return Ok(Spent::No) };
        let Some(sealed) = kept.secret else { return Ok(Spent::No) };
        let secret = open(app, staff, &sealed)?;
        let Some(step) = codes::step_of(&secret, &typed, app.clock.now(), kept.last_step) else {
            return Ok(Spent::No);
        };
        if !store::use_step(&mut tx, staff, step).await? {
            return Ok(Spent::No);
        }
        tx.commit().await?;
        return Ok(Spent::Code);
    }
    if !store::use_recovery(&mut tx, staff, &codes::digest(staff, &typed), app.clock.now()).await? {
        return Ok(Spent::No);
    }
    let left = store::recovery_left(&mut *tx, staff).await?;
    tx.commit().await?;
    Ok(Spent::Recovery { left })
}

/// The secret of an account's device.
pub(super) fn open(app: &App, staff: StaffId, sealed: &[u8]) -> anyhow::Result<codes::Secret> {
    let secret = app.second_factors.unseal(&owner_of(staff), sealed)?;
    codes::Secret::try_from(secret.as_slice()).context("a second factor's secret has another length")
}
