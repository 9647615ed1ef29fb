//! What stands around every page: the practice, who is signed in, where they may go, and what just happened.

use axum::{extract::FromRequestParts, http::request::Parts};

use super::Error;
use crate::{
    App,
    accounts::{Act, Role, User},
    ids::StaffId,
    practice::Practice,
};

/// The frame of a signed-in page.
#[derive(Debug, Clone)]
pub struct Shell {
    pub practice: String,
    /// The practice is a demonstration: every page says so.
    pub invented: bool,
    /// What was found damaged: the practice can be read only.
    pub trouble: Option<String>,
    /// How old the last good copy of the practice is, for the owner of one that should have a younger one.
    pub old_backup: Option<String>,
    pub user: Option<Signed>,
    pub flash: Option<String>,
    pub path: String,
    user_may: Option<User>,
}

/// Who is signed in, as the frame shows it.
#[derive(Debug, Clone)]
pub struct Signed {
    pub id: StaffId,
    pub name: String,
    pub role: Role,
}

/// A way to another page.
#[derive(Debug, Clone)]
pub struct NavItem {
    pub href: &'static str,
    pub label: &'static str,
    pub current: bool,
}

/// The pages of the menu and what it takes to see them.
const MENU: [(&str, &str, Act); 7] = [
    ("/", "Day", Act::SeeDay),
    ("/call", "Take a call", Act::Book),
    ("/horses", "Horses", Act::SeeClients),
    ("/clients", "Clients", Act::SeeClients),
    ("/diagnostics", "Diagnostics", Act::SeeRecord),
    ("/follow-ups", "Follow-ups", Act::FollowUp),
    ("/practice", "Practice", Act::RunPractice),
];

impl Shell {
    pub fn new(practice: &Practice, user: &User, flash: Option<String>, path: &str) -> Self {
        Shell {
            practice: practice.name.clone(),
            invented: practice.invented,
            trouble: None,
            old_backup: None,
            user: Some(Signed { id: user.id, name: user.name.clone(), role: user.role }),
            flash,
            path: path.to_owned(),
            user_may: Some(user.clone()),
        }
    }

    /// The menu of this role.
    pub fn nav(&self) -> Vec<NavItem> {
        MENU.into_iter()
            .filter(|(_, _, act)| self.may(*act))
            .map(|(href, label, _)| NavItem { href, label, current: self.is_at(href) })
            .collect()
    }

    /// Whether who is signed in may do this; for links that would lead to a refusal.
    pub fn may(&self, act: Act) -> bool {
        self.user_may.as_ref().is_some_and(|u| u.may(act))
    }

    /// Whether who is signed in has a second factor, so that a form asks for its code.
    pub fn second(&self) -> bool {
        self.user_may.as_ref().is_some_and(|u| u.second)
    }

    /// A fresh submission id for one more form on the page.
    pub fn submission(&self) -> crate::ids::SubmissionId {
        crate::ids::SubmissionId::new()
    }

    fn is_at(&self, href: &str) -> bool {
        if href == "/" { self.path == "/" } else { self.path.starts_with(href) }
    }
}

impl FromRequestParts<App> for Shell {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let user = User::from_request_parts(parts, app).await?;
        let practice = crate::practice::store::get(app.db.read()).await?;
        let flash = match &user.flash {
            // Where it cannot be taken away it is shown again.
            Some(line) => crate::accounts::store::take_flash(&app.db, user.session)
                .await
                .unwrap_or_else(|_| Some(line.clone())),
            None => None,
        };
        let mut shell = Shell::new(&practice, &user, flash, parts.uri.path());
        shell.trouble = app.db.trouble().map(|found| found.to_string());
        if shell.may(Act::RunPractice) && !practice.invented {
            shell.old_backup = crate::backup::warning(app.db.folder(), app.clock.now())?;
        }
        Ok(shell)
    }
}

/// Leaves a line for the next page this browser sees.
pub async fn flash(tx: &mut crate::db::Tx, user: &User, line: &str) -> sqlx::Result<()> {
    crate::accounts::store::leave_flash(tx, user.session, line).await
}
