//! One page for the yard: what is done from when to when, when to ring and whom, in plain words.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State;

use super::{
    calendar::{self, Row},
    scene::Scene,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Choice, catalogue},
    ids::ProgrammeId,
    web::{Path, Result, Shell},
};

#[derive(Template, WebTemplate)]
#[template(path = "programmes/sheet.html")]
pub(super) struct SheetPage {
    shell: Shell,
    scene: Scene,
    rows: Vec<Row>,
}

impl SheetPage {
    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn dangers(&self) -> &'static [Choice] {
        &catalogue().programmes.danger
    }
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::FollowUp>,
    shell: Shell,
    Path(id): Path<ProgrammeId>,
) -> Result<SheetPage> {
    let scene = Scene::load(&app, id).await?;
    // What is over stands on the programme's own page.
    let mut rows = calendar::rows(&scene.way.course, &scene.way.prescribed.steps, scene.today);
    rows.retain(|row| row.last >= scene.today);
    Ok(SheetPage { shell, scene, rows })
}
