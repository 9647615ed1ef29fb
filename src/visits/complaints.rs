//! What the caller said, put right until the visit is signed.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};

use super::{
    Complaint, State,
    call::Fields,
    complaint::{ComplaintForm, MOST, NewComplaint},
    store::{
        self, booking,
        changes::{self, NewChange},
    },
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Catalogue, catalogue},
    horses::{self, Card},
    ids::VisitId,
    web::{Begun, Check, Conflict, Error, Errors, Form, Once, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "visits/complaints.html")]
struct ComplaintsPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    complaints: Vec<ComplaintForm>,
    /// The version each complaint had when the page was opened, `new` for one that is not kept yet.
    versions: Vec<String>,
    catalogue: &'static Catalogue,
}

impl ComplaintsPage {
    async fn new(app: &App, shell: Shell, id: VisitId) -> Result<Self> {
        let db = app.db.read();
        let visit = store::get(db, id).await?;
        if visit.state == State::Signed {
            return Err(Error::Signed);
        }
        let kept = store::complaints(db, id).await?;
        let mut complaints: Vec<_> = (1..).zip(&kept).map(|(n, c)| ComplaintForm::of(n, c)).collect();
        let mut versions: Vec<_> = kept.iter().map(|c| c.version.to_string()).collect();
        if complaints.is_empty() {
            complaints.push(ComplaintForm { number: 1, ..ComplaintForm::default() });
            versions.push("new".into());
        }
        Ok(ComplaintsPage {
            shell,
            errors: Errors::default(),
            visit_id: id,
            card: horses::store::card(db, visit.horse_id).await?,
            complaints,
            versions,
            catalogue: catalogue(),
        })
    }

    fn may_add(&self) -> bool {
        self.complaints.len() < MOST
    }

    /// Each complaint with its version.
    fn pairs(&self) -> impl Iterator<Item = (&ComplaintForm, &String)> {
        self.complaints.iter().zip(&self.versions)
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::Book>,
    shell: Shell,
    Path(id): Path<VisitId>,
) -> Result<Response> {
    Ok(ComplaintsPage::new(&app, shell, id).await?.into_response())
}

pub(super) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Book>,
    mut shell: Shell,
    Path(id): Path<VisitId>,
    Form(fields): Form<Vec<(String, String)>>,
) -> Result<Response> {
    let fields = Fields(fields);
    let more = fields.get("go") == "more";
    if more {
        shell.flash = Some("Room for one more complaint.".into());
    }
    let mut page = ComplaintsPage::new(&app, shell, id).await?;
    page.complaints = fields.complaints();
    page.versions = fields.all("version");
    page.versions.resize(page.complaints.len(), "new".into());
    if more {
        let number = page.complaints.len() + 1;
        page.complaints.push(ComplaintForm { number, ..ComplaintForm::default() });
        page.versions.push("new".into());
        return Ok(page.into_response());
    }
    let mut once = match begin(&app, &fields.get("submission"), Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let mut check = Check::new();
    let meant: Vec<(NewComplaint, &String)> = page
        .pairs()
        .filter(|(c, version)| version.as_str() != "new" || c.number == 1 || !c.is_empty())
        .map(|(c, version)| (c.check(&mut check), version))
        .collect();
    if !check.errors.is_empty() {
        return Ok(invalid(ComplaintsPage { errors: check.errors, ..page }));
    }
    keep(&mut once, id, &meant).await?;
    let change = NewChange { visit: id, what: "complaint put right", detail: "", reason: "" };
    changes::note(&mut once.tx, change, user.id, once.now).await?;
    flash(&mut once.tx, &user, "The complaint is put right.").await?;
    once.commit(&format!("/visits/{id}")).await
}

async fn keep(once: &mut Once, id: VisitId, meant: &[(NewComplaint, &String)]) -> Result<()> {
    let kept = store::complaints(&mut *once.tx, id).await?;
    for (n, (complaint, version)) in meant.iter().enumerate() {
        let Some(old) = kept.get(n) else {
            booking::add_complaint(&mut once.tx, id, complaint, once.now).await?;
            continue;
        };
        let version = version.parse().unwrap_or(-1);
        if booking::change_complaint(&mut once.tx, old.id, version, complaint).await? == 0 {
            return Err(stale(id, complaint, old));
        }
    }
    Ok(())
}

fn stale(id: VisitId, yours: &NewComplaint, theirs: &Complaint) -> Error {
    let clash = Conflict {
        what: "What the caller said".into(),
        back: format!("/visits/{id}/complaints"),
        ..Conflict::default()
    };
    let clash = clash
        .field("What is wrong", &yours.words, &theirs.words)
        .field("Where", &yours.site, &theirs.site)
        .field("Weight", &yours.weight_bearing, &theirs.weight_bearing)
        .field("Since", &yours.since, &theirs.since)
        .field("Began", &yours.onset, &theirs.onset)
        .field("Course", &yours.course, &theirs.course)
        .field("Last shod or trimmed", &yours.shod_on, &theirs.shod_on)
        .field("Medicines given", &yours.medicines, &theirs.medicines)
        .field("Work", &yours.work, &theirs.work);
    Error::Conflict(Box::new(clash))
}
