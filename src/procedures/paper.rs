//! What is printed of a sheet: the farrier's note, or the after-care for the yard.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State;

use super::{form::pairs, scene::Scene};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Choice, catalogue},
    ids::VisitId,
    plan::Site,
    web::{Path, Result, Shell},
};

/// One filled-in sheet on paper.
struct Part {
    place: String,
    pairs: Vec<(String, String)>,
    aftercare: Vec<&'static Choice>,
    by: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "procedures/paper.html")]
pub(super) struct PaperPage {
    shell: Shell,
    scene: Scene,
    visit_id: VisitId,
}

impl PaperPage {
    fn parts(&self) -> Vec<Part> {
        let part = |(entry, body): (&crate::record::Entry, &crate::record::Body)| Part {
            place: Site::of(body).to_string(),
            pairs: pairs(self.scene.sheet, &body.answers),
            aftercare: catalogue()
                .procedures
                .aftercare
                .iter()
                .filter(|row| {
                    self.scene.is_joint() && body.answers.values().any(|answer| *answer == row.name)
                })
                .collect(),
            by: self.scene.by(entry),
        };
        self.scene.filled().map(part).collect()
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn dangers(&self) -> &'static [Choice] {
        &catalogue().programmes.danger
    }
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path((id, sheet)): Path<(VisitId, String)>,
) -> Result<PaperPage> {
    let scene = Scene::load(&app, id, &sheet).await?;
    Ok(PaperPage { shell, scene, visit_id: id })
}
