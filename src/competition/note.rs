//! The note for the owner: one page in plain words.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State;
use jiff::tz::TimeZone;

use super::{
    found::Found,
    horse::{Asked, HorsePage},
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Choice, catalogue},
    clock::Day,
    horses::Card,
    ids::HorseId,
    web::{Error, Path, Query, Result, Shell},
};

#[derive(Template, WebTemplate)]
#[template(path = "competition/note.html")]
pub(super) struct NotePage {
    shell: Shell,
    card: Card,
    today: Day,
    zone: TimeZone,
    found: Found,
    back: String,
}

impl NotePage {
    /// The same note as a PDF, asked the same way.
    fn pdf(&self) -> String {
        self.back.replacen("/competition?", "/competition/note.pdf?", 1)
    }

    fn owner(&self) -> &'static [Choice] {
        &catalogue().competition.owner
    }
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Query(asked): Query<Asked>,
) -> Result<NotePage> {
    let page = HorsePage::new(&app, shell, id, asked).await?;
    page.note().ok_or(Error::NotFound)
}

impl HorsePage {
    /// The note about what was found; none where nothing was asked.
    fn note(self) -> Option<NotePage> {
        let back = self.way();
        let HorsePage { shell, card, today, zone, found, .. } = self;
        Some(NotePage { shell, card, today, zone, found: found?, back })
    }
}
