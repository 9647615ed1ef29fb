//! Who is due, who is overdue, and one tap to call, book or close.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    list::{self, Group},
    store::{self, Closing},
};
use crate::{
    App,
    accounts::{Can, act},
    ids::FollowUpId,
    practice,
    web::{Begun, Check, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "followups/list.html")]
struct ListPage {
    shell: Shell,
    errors: Errors,
    /// The reason that was typed for one of them.
    reason: String,
    groups: Vec<Group>,
    zone: TimeZone,
}

impl ListPage {
    async fn new(app: &App, shell: Shell) -> Result<Self> {
        let zone = practice::store::get(app.db.read()).await?.zone;
        let today = app.clock.now().day(&zone);
        let groups = list::grouped(store::open(app.db.read()).await?, today);
        Ok(ListPage { shell, errors: Errors::default(), reason: String::new(), groups, zone })
    }

    /// The field of one follow-up's reason.
    fn reason_field(id: &FollowUpId) -> String {
        format!("reason-{id}")
    }

    fn error_on(&self, id: &FollowUpId) -> Option<&str> {
        self.errors.on(&Self::reason_field(id))
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::FollowUp>,
    shell: Shell,
) -> Result<Response> {
    Ok(ListPage::new(&app, shell).await?.into_response())
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct CloseForm {
    submission: String,
    version: String,
    reason: String,
}

pub(super) async fn done(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::FollowUp>,
    Path(id): Path<FollowUpId>,
    Form(form): Form<CloseForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let closing = Closing { state: "done", reason: "", by: user.id, at: once.now };
    close(&mut once.tx, id, &form.version, &closing).await?;
    flash(&mut once.tx, &user, "The follow-up is done.").await?;
    once.commit("/follow-ups").await
}

pub(super) async fn drop_it(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::FollowUp>,
    shell: Shell,
    Path(id): Path<FollowUpId>,
    Form(form): Form<CloseForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let mut check = Check::new();
    let reason = check.needed(&ListPage::reason_field(&id), &form.reason, 500, "Say why it is dropped.");
    if !check.errors.is_empty() {
        drop(once);
        store::get(app.db.read(), id).await?;
        let page = ListPage::new(&app, shell).await?;
        return Ok(invalid(ListPage { errors: check.errors, reason: form.reason, ..page }));
    }
    let closing = Closing { state: "dropped", reason: &reason, by: user.id, at: once.now };
    close(&mut once.tx, id, &form.version, &closing).await?;
    flash(&mut once.tx, &user, "The follow-up is dropped.").await?;
    once.commit("/follow-ups").await
}

async fn close(tx: &mut crate::db::Tx, id: FollowUpId, version: &str, closing: &Closing<'_>) -> Result<()> {
    let follow_up = store::get(&mut **tx, id).await?;
    if store::close(tx, id, version.parse().unwrap_or(-1), closing).await? == 1 {
        return Ok(());
    }
    let clash = Conflict { what: follow_up.what, back: "/follow-ups".into(), ..Conflict::default() };
    Err(Error::Conflict(Box::new(clash.field("State", closing.state, &follow_up.state))))
}
