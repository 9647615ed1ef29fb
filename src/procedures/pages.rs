//! The page of one sheet: what is filled in, and the form.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    form::{Typed, next_reset},
    scene::Scene,
};
use crate::{
    App,
    accounts::{Act, Can, User, act},
    catalogue::{
        Limb, catalogue,
        procedures::{Field, FieldKind},
    },
    clock::Day,
    followups::{self, store::NewFollowUp},
    horses::Card,
    ids::{EntryId, VisitId},
    papers::words::{self, Units},
    plan::Site,
    record::{self, Body, NewEntry, Stamp},
    web::{Begun, Conflict, Error, Errors, Form, Once, Path, Query, Result, Shell, begin, flash, invalid},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Open {
    amend: Option<EntryId>,
}

#[derive(Template, WebTemplate)]
#[template(path = "procedures/page.html")]
struct SheetPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    scene: Scene,
    typed: Typed,
}

impl SheetPage {
    fn new(shell: Shell, scene: Scene, typed: Typed, errors: Errors) -> Self {
        let (visit_id, card, today) = (scene.visit.id, scene.card.clone(), scene.today);
        SheetPage { shell, errors, visit_id, card, today, scene, typed }
    }

    fn writes(&self) -> bool {
        self.scene.visit.state.is_open() && self.shell.may(Act::Sign)
    }

    fn fields(&self) -> Vec<&'static Field> {
        catalogue().procedures.of(&self.scene.sheet.code).collect()
    }

    /// `text`, `number`, `choice` or `date`.
    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn kind(&self, field: &Field) -> &'static str {
        match field.kind {
            FieldKind::Text => "text",
            FieldKind::Number => "number",
            FieldKind::Choice => "choice",
            FieldKind::Date => "date",
        }
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn options<'a>(&self, field: &'a Field) -> Vec<(&'a str, &'a str)> {
        field.options.iter().map(|one| (one.as_str(), one.as_str())).collect()
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn feet(&self) -> Vec<(&'static str, String)> {
        Limb::ALL.into_iter().map(|limb| (limb.code(), limb.name().to_owned())).collect()
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn places(&self) -> Vec<String> {
        Site::all().filter(|site| matches!(site, Site::Place(_))).map(|site| site.to_string()).collect()
    }

    /// Entry, in words, by whom.
    fn filled(&self) -> Vec<(EntryId, String, String)> {
        let line = |(entry, body): (&record::Entry, &Body)| {
            (entry.id, words::sentence(body, Units::default()), self.scene.by(entry))
        };
        self.scene.filled().map(line).collect()
    }
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path((id, sheet)): Path<(VisitId, String)>,
    Query(open): Query<Open>,
) -> Result<Response> {
    let scene = Scene::load(&app, id, &sheet).await?;
    let amended = open.amend.and_then(|entry| Some((entry, scene.standing(entry)?)));
    let typed = amended.map(|(entry, body)| Typed::of(scene.sheet, &entry.to_string(), body));
    Ok(SheetPage::new(shell, scene, typed.unwrap_or_default(), Errors::default()).into_response())
}

pub(super) async fn send(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path((id, sheet)): Path<(VisitId, String)>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let scene = Scene::load(&app, id, &sheet).await?;
    if !scene.visit.state.is_open() {
        return Err(clash(&scene, &scene.visit.state.to_string()));
    }
    let body = match typed.check(scene.sheet, |limb| scene.measured(limb)) {
        Ok(body) => body,
        Err(errors) => {
            drop(once);
            return Ok(invalid(SheetPage::new(shell, scene, typed, errors)));
        }
    };
    let mut entry = NewEntry::new(id, body);
    if !typed.was.is_empty() {
        let was = typed.was.parse().ok().filter(|was| scene.standing(*was).is_some());
        let Some(was) = was else { return Err(clash(&scene, "it was changed meanwhile")) };
        entry = entry.superseding(was);
    }
    promise(&mut once, &user, &scene, &entry).await?;
    let stamp = Stamp::here(user.id, &user.agent, once.now);
    record::append(&mut once.tx, &stamp, &[entry]).await?;
    flash(&mut once.tx, &user, "Saved.").await?;
    once.commit(&scene.at()).await
}

/// The next reset stands on the follow-ups; an amended one moves along.
async fn promise(once: &mut Once, user: &User, scene: &Scene, entry: &NewEntry) -> Result<()> {
    let Some(due_on) = next_reset(&entry.body) else { return Ok(()) };
    let what = format!("Farrier: reset of the {}", Site::of(&entry.body));
    let open = followups::store::open_of_horse(&mut *once.tx, scene.visit.horse_id).await?;
    let known = open.iter().find(|one| one.visit_id == Some(scene.visit.id) && one.what == what);
    if let Some(one) = known {
        followups::store::redate(&mut once.tx, one.id, due_on, &what).await?;
        return Ok(());
    }
    let new = NewFollowUp { horse: scene.visit.horse_id, visit: Some(scene.visit.id), due_on, what };
    followups::store::insert(&mut once.tx, &new, user.id, once.now).await?;
    Ok(())
}

fn clash(scene: &Scene, theirs: &str) -> Error {
    let what = format!("{} of {}", scene.sheet.name, scene.card.name);
    let clash = Conflict { what, back: scene.at(), ..Conflict::default() };
    Error::Conflict(Box::new(clash.field("This form", "what you typed stands below", theirs)))
}
