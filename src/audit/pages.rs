//! The page of it.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State;
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::store::{self, Line};
use crate::{
    App,
    accounts::{Can, act},
    practice,
    web::{Query, Result, Shell},
};

const ON_A_PAGE: i64 = 50;

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct AuditQuery {
    page: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "audit/page.html")]
pub(super) struct AuditPage {
    shell: Shell,
    zone: TimeZone,
    lines: Vec<Line>,
    page: i64,
    more: bool,
}

impl AuditPage {
    fn before(&self) -> String {
        if self.page > 1 { format!("/practice/audit?page={}", self.page - 1) } else { String::new() }
    }

    fn after(&self) -> String {
        if self.more { format!("/practice/audit?page={}", self.page + 1) } else { String::new() }
    }
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::RunPractice>,
    Query(query): Query<AuditQuery>,
) -> Result<AuditPage> {
    let page = query.page.parse::<i64>().unwrap_or(1).clamp(1, 100_000);
    let mut lines = store::list(app.db.read(), (page - 1) * ON_A_PAGE, ON_A_PAGE + 1).await?;
    let on_a_page = usize::try_from(ON_A_PAGE).unwrap_or(usize::MAX);
    let more = lines.len() > on_a_page;
    lines.truncate(on_a_page);
    Ok(AuditPage { shell, zone: practice::store::get(app.db.read()).await?.zone, lines, page, more })
}
