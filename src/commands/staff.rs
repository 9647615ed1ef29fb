//! `limbledger staff`: an account from the shell, for a practice whose owner cannot sign in, or for a script; a code that
//! opens one that is there; and one whose device is lost.

use std::{
    io::{IsTerminal, Read},
    path::Path,
};

use anyhow::{Context, bail, ensure};

use super::serve;
use crate::{
    accounts::{
        self, Hasher, Role, factor,
        store::{NewStaff, Staff},
    },
    audit,
    clock::{At, Clock},
    config::{StaffAddArgs, StaffNameArgs},
    db::Db,
    ids::StaffId,
    practice, say,
    web::Check,
};

/// A longer line than any password is not read to its end.
const LONGEST_INPUT: u64 = 4096;
/// A one-use code is good for a day.
const CODE_MINUTES: i64 = 24 * 60;

pub async fn add(args: StaffAddArgs) -> anyhow::Result<()> {
    is_there(&args.data)?;
    let (name, licensed) = meant(&args)?;
    let _lock = serve::lock(&args.data)?;
    let clock = Clock::System;
    let db = Db::open(&args.data, clock.now()).await?;
    if !practice::store::is_set_up(db.read()).await? {
        bail!("the practice in {} is not set up yet; run `limbledger serve` first", args.data.display());
    }
    let typed = password_from_stdin()?;
    let made = typed.is_none().then(accounts::one_time_code).transpose()?;
    let password = typed.or_else(|| made.clone()).context("there is no password")?;
    if made.is_none()
        && let Some(weak) = accounts::weakness(&password, &[&name, "limbledger"])
    {
        bail!("this password will not do: {weak}");
    }
    let password_hash = Hasher::new()?.hash(&password).await?;
    let new = NewStaff { id: StaffId::new(), name, role: args.role, licensed, password_hash };
    let code_until = made.is_some().then(|| clock.now().plus_minutes(CODE_MINUTES));
    insert(&db, &new, code_until, &clock).await?;
    db.close().await;
    if let Some(code) = made {
        say_code(&code, &new.name);
    }
    Ok(())
}

/// A code in place of a password, for an account that is there: after an archive was brought in, nobody has one.
pub async fn code(args: StaffNameArgs) -> anyhow::Result<()> {
    is_there(&args.data)?;
    let _lock = serve::lock(&args.data)?;
    let clock = Clock::System;
    let db = Db::open(&args.data, clock.now()).await?;
    let staff = named(&db, &args.name).await?;
    let code = accounts::one_time_code()?;
    let hash = Hasher::new()?.hash(&code).await?;
    let mut tx = db.write().await?;
    accounts::keeping::set_password(&mut tx, staff.id, &hash, None).await?;
    accounts::keeping::expect_code(&mut tx, staff.id, clock.now().plus_minutes(CODE_MINUTES)).await?;
    tx.commit().await?;
    db.close().await;
    say_code(&code, &staff.name);
    Ok(())
}

/// Takes the second factor of an account whose device is lost; whoever has this computer has the practice anyway. It
/// stands in the audit under the account's own name, since nobody is signed in here.
pub async fn factor_off(args: StaffNameArgs) -> anyhow::Result<()> {
    is_there(&args.data)?;
    let _lock = serve::lock(&args.data)?;
    let now = Clock::System.now();
    let db = Db::open(&args.data, now).await?;
    let staff = named(&db, &args.name).await?;
    ensure!(
        factor::store::of(db.read(), staff.id).await?.is_some(),
        "{} has no second factor; the password alone signs in",
        staff.name
    );
    let mut tx = db.write().await?;
    factor::take_away(&mut tx, staff.id).await?;
    let detail = format!("{}, at the practice's computer", staff.name);
    audit::store::note(&mut tx, "removed a second factor", &detail, staff.id, now).await?;
    tx.commit().await?;
    db.close().await;
    say::aside(format_args!(
        "{} signs in with the password alone, and is signed out everywhere. An owner is asked for another within a week.",
        staff.name
    ));
    Ok(())
}

/// The account that signs in under this name.
async fn named(db: &Db, name: &str) -> anyhow::Result<Staff> {
    let all = accounts::store::all(db.read()).await?;
    let named = all.into_iter().find(|one| one.name.to_lowercase() == name.trim().to_lowercase());
    let Some(staff) = named.filter(|one| one.active) else {
        bail!("nobody of the name {name} works here; the names are as people sign in")
    };
    Ok(staff)
}

fn is_there(data: &Path) -> anyhow::Result<()> {
    ensure!(
        data.join("practice.sqlite").exists(),
        "there is no practice in {}; give its folder with --data",
        data.display()
    );
    Ok(())
}

fn say_code(code: &str, name: &str) {
    say::line(code);
    say::aside(format_args!(
        "{name} signs in with this code once within 24 hours, and chooses a password then."
    ));
}

fn meant(args: &StaffAddArgs) -> anyhow::Result<(String, bool)> {
    let mut check = Check::new();
    let name = accounts::form::name(&mut check, "name", &args.name);
    let licensed = accounts::form::licence(&mut check, "licensed", args.role, args.licensed);
    match check.errors.all().first() {
        Some((_, sentence)) => bail!("{sentence}"),
        None => Ok((name, licensed)),
    }
}

async fn insert(db: &Db, new: &NewStaff, code_until: Option<At>, clock: &Clock) -> anyhow::Result<()> {
    let mut tx = db.write().await?;
    match accounts::store::insert(&mut tx, new, clock.now()).await {
        Err(e) if e.as_database_error().is_some_and(sqlx::error::DatabaseError::is_unique_violation) => {
            bail!("{} has an account already; give another name", new.name)
        }
        other => other?,
    }
    if let Some(until) = code_until {
        accounts::keeping::expect_code(&mut tx, new.id, until).await?;
    }
    tx.commit().await
}

/// The first line of stdin; `None` when a person sits at it or nothing comes.
fn password_from_stdin() -> anyhow::Result<Option<String>> {
    let stdin = std::io::stdin();
    if stdin.is_terminal() {
        return Ok(None);
    }
    let mut text = String::new();
    stdin.lock().take(LONGEST_INPUT).read_to_string(&mut text).context("the password on stdin is no text")?;
    Ok(text.lines().next().map(str::to_owned).filter(|line| !line.is_empty()))
}

/// The role as the command line names it.
pub fn role(text: &str) -> Result<Role, String> {
    text.parse().map_err(|()| "a role is one of owner, vet, technician, desk".to_owned())
}
