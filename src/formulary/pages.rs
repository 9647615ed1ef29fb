//! The list of rows, by medicine.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State;
use jiff::tz::TimeZone;

use super::{Kept, rows};
use crate::{
    App,
    accounts::{Act, Can, act},
    practice,
    web::{Result, Shell},
};

#[derive(Template, WebTemplate)]
#[template(path = "formulary/list.html")]
pub(super) struct ListPage {
    shell: Shell,
    zone: TimeZone,
    rows: Vec<Kept>,
}

impl ListPage {
    fn waiting(&self) -> usize {
        self.rows.iter().filter(|kept| !kept.retired && kept.confirmed.is_none()).count()
    }

    fn may_change(&self) -> bool {
        self.shell.may(Act::Sign)
    }
}

pub(super) async fn list(_: Can<act::SeeRecord>, State(app): State<App>, shell: Shell) -> Result<ListPage> {
    let db = app.db.read();
    Ok(ListPage { shell, zone: practice::store::get(db).await?.zone, rows: rows(db).await? })
}
