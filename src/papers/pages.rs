//! The report of a visit: one page to read, print and hand over.

use askama::Template;
use askama_web::WebTemplate;
use axum::{Router, extract::State, routing::get};
use jiff::tz::TimeZone;

use super::{
    after::After,
    report::{Names, Report, Said, name},
    store::{self, Erasure, Identity, Person, Promise, Seal},
    whole,
    words::Units,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::catalogue,
    clock::{At, Day},
    diagnostics::paper::{self, Ordered},
    horses::{self, Card},
    ids::{StaffId, VisitId},
    pdf, practice,
    record::{self, Kind},
    visits::{self, Complaint, State as VisitState, Visit},
    web::{Path, Result, Shell},
    workup::sheet::Sheet,
};

pub fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/report", get(report))
        .route("/visits/{id}/report.pdf", pdf::get(report))
        .route("/horses/{id}/record/whole", get(whole::page))
        .route("/horses/{id}/record/whole.pdf", pdf::get(whole::page))
}

#[derive(Template, WebTemplate)]
#[template(path = "papers/report.html")]
struct ReportPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    body: Body,
}

/// What the report says, without the page around it.
#[derive(Template)]
#[template(path = "papers/body.html")]
pub(super) struct Body {
    pub practice: String,
    pub visit: Visit,
    pub card: Card,
    today: Day,
    identity: Identity,
    people: Vec<Person>,
    called_by: Option<String>,
    yard: Option<String>,
    complaints: Vec<Complaint>,
    report: Report,
    /// Its blocks.
    sheet: Sheet,
    ordered: Vec<Ordered>,
    after: After,
    promises: Vec<Promise>,
    erasures: Vec<Erasure>,
    seal: Option<Seal>,
    names: Names,
    zone: TimeZone,
    draft: bool,
}

async fn report(
    _: Can<act::SeeRecord>,
    State(app): State<App>,
    shell: Shell,
    Path(visit_id): Path<VisitId>,
) -> Result<ReportPage> {
    let body = Body::load(&app, visits::store::get(app.db.read(), visit_id).await?).await?;
    Ok(ReportPage { shell, visit_id, card: body.card.clone(), today: body.today, body })
}

/// A heading with the entries under it, each in a sentence.
type List<'a> = (&'static str, Vec<&'a Said>);

impl Body {
    pub(super) async fn load(app: &App, visit: Visit) -> Result<Self> {
        let db = app.db.read();
        let (visit_id, horse_id) = (visit.id, visit.horse_id);
        let practice = practice::store::get(db).await?;
        let units = Units::of(&practice);
        let names = store::names(db).await?;
        let all = record::entries_of_visit(db, visit_id).await?;
        let current = record::current_of_visit(db, visit_id).await?;
        let (called_by, yard) = store::caller_and_yard(db, visit_id).await?;
        Ok(Body {
            card: horses::store::card(db, horse_id).await?,
            today: visit.starts_at.day(&practice.zone),
            identity: store::identity(db, horse_id).await?,
            people: store::people(db, horse_id).await?,
            called_by,
            yard,
            complaints: visits::store::complaints(db, visit_id).await?,
            report: Report::of(&current, &names, visit.vet_id, units),
            sheet: Sheet::load(app, visit_id).await?,
            ordered: paper::of_visit(app, visit_id, app.clock.now().day(&practice.zone)).await?,
            after: After::of(&all, &names, &store::horse_names(db, &all).await?, units),
            promises: store::promises(db, visit_id).await?,
            erasures: store::erasures(db, visit_id).await?,
            seal: store::seal(db, visit_id).await?,
            names,
            zone: practice.zone,
            draft: visit.state != VisitState::Signed,
            practice: practice.name,
            visit,
        })
    }

    fn lists(&self, of: &[(&'static str, Kind)]) -> Vec<List<'_>> {
        let list = |(title, kind): &(&'static str, Kind)| (*title, self.report.of_kind(*kind));
        of.iter().map(list).filter(|(_, lines)| !lines.is_empty()).collect()
    }

    fn told(&self) -> Vec<List<'_>> {
        self.lists(&[("As told, and notes", Kind::Note), ("Vital signs", Kind::Vital)])
    }

    fn tested(&self) -> Vec<List<'_>> {
        self.lists(&[
            ("Flexion tests", Kind::Flexion),
            ("Neurological screen", Kind::Neuro),
            ("Cautions said to hold", Kind::Caution),
            ("Cautions passed, with the reason", Kind::Override),
            ("Consent", Kind::Consent),
        ])
    }

    /// The lines that entries were read from.
    fn said(&self) -> Vec<List<'_>> {
        let lines = self.report.lines();
        if lines.is_empty() { Vec::new() } else { vec![("Lines as they were said", lines)] }
    }

    fn concluded(&self) -> Vec<List<'_>> {
        self.lists(&[
            ("Images and samples", Kind::Image),
            ("Treatments", Kind::Treatment),
            ("Euthanasia", Kind::Euthanasia),
            ("Problems", Kind::Problem),
            ("Plan", Kind::Plan),
        ])
    }

    fn who(&self, id: &StaffId) -> String {
        name(&self.names, *id)
    }

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "a template hands its fields over by reference")]
    fn at(&self, at: &At) -> String {
        at.words(&self.zone)
    }

    /// The chain value's first digits: enough to compare by eye.
    fn digest(seal: &Seal) -> String {
        record::hex(seal.chain.get(..6).unwrap_or_default())
    }

    /// "left fore, since 3 days, came on suddenly": the picks of a complaint in words.
    fn picks(complaint: &Complaint) -> String {
        let lists = &catalogue().complaint;
        let word = |table: &crate::catalogue::Table<crate::catalogue::Choice>, code: &str| {
            table.get(code).map_or_else(|| code.to_owned(), |choice| choice.name.clone())
        };
        let labelled = |label: &str, text: &str| {
            if text.is_empty() { String::new() } else { format!("{label} {text}") }
        };
        let parts = [
            word(&lists.sites, &complaint.site),
            labelled("since", &word(&lists.since, &complaint.since)),
            word(&lists.onsets, &complaint.onset),
            word(&lists.courses, &complaint.course),
            word(&lists.weight_bearing, &complaint.weight_bearing),
            labelled("shod", &complaint.shod_on),
            labelled("given:", &complaint.medicines),
            labelled("work:", &complaint.work),
        ];
        parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(", ")
    }
}
