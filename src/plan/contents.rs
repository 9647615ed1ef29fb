//! What the record of a visit must hold where the practice is, and whether it is there. It is shown before signing and
//! stops nobody: what a text asks beyond these words, the text says.

use super::{Part, case::Case};
use crate::{
    App,
    catalogue::{
        catalogue,
        records::{Content, Needed},
    },
    clients::{self, Address, Phone},
    contacts, diagnostics, formulary, horses,
    record::{Body, Kind},
    web::Result,
};

const TEMPERATURE: &str = "temp_c";

/// One content, with whether it is there.
pub(super) struct Line {
    pub row: &'static Needed,
    pub there: There,
    /// Where it is entered.
    pub href: String,
}

impl Line {
    pub(super) fn is_missing(&self) -> bool {
        self.there == There::No
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum There {
    Yes,
    No,
    /// The visit has nothing of the kind: no medicine, nothing ordered.
    NotAsked,
}

impl There {
    fn of(is: bool) -> Self {
        if is { There::Yes } else { There::No }
    }

    /// Of what is only asked where there is some.
    fn of_all(mut all: impl Iterator<Item = bool>) -> Self {
        match all.next() {
            None => There::NotAsked,
            Some(first) => There::of(first && all.all(|is| is)),
        }
    }

    pub(super) fn words(self) -> &'static str {
        match self {
            There::Yes => "there",
            There::No => "not there",
            There::NotAsked => "does not arise",
        }
    }
}

/// The contents that the practice's jurisdiction asks; none while it has not been entered, or where no list is kept.
#[derive(Default)]
pub(super) struct Contents {
    pub jurisdiction: Option<&'static str>,
    pub lines: Vec<Line>,
}

impl Contents {
    pub(super) async fn of(app: &App, case: &Case) -> Result<Self> {
        let code = formulary::store::prescribing(app.db.read()).await?.jurisdiction;
        let facts = Facts::load(app, case).await?;
        let line =
            |row: &'static Needed| Line { row, there: facts.there(case, row), href: way(case, row.found) };
        let rows = catalogue().records.contents.iter().filter(|row| row.jurisdiction == code);
        Ok(Contents {
            jurisdiction: catalogue().care.jurisdiction(&code).map(|row| row.name.as_str()),
            lines: rows.map(line).collect(),
        })
    }

    pub(super) fn missing(&self) -> usize {
        self.lines.iter().filter(|line| line.is_missing()).count()
    }
}

/// What the case itself does not hold.
struct Facts {
    phones: Vec<Phone>,
    addresses: Vec<Address>,
    horse: horses::Details,
    has_complaint: bool,
    /// Whether each order that is not closed has its report.
    reported: Vec<bool>,
    has_contact: bool,
}

impl Facts {
    async fn load(app: &App, case: &Case) -> Result<Self> {
        let db = app.db.read();
        let (mut phones, mut addresses) = (Vec::new(), Vec::new());
        if let Some(client) = case.visit.client_id {
            phones = clients::store::phones(db, client).await?;
            addresses = clients::store::addresses(db, client).await?;
        }
        let orders = diagnostics::store::of_visit(db, case.visit.id).await?;
        let day = case.visit.starts_at.day(&case.zone);
        let said = contacts::store::of_horse(db, case.card.id).await?;
        Ok(Facts {
            phones,
            addresses,
            horse: horses::store::details(db, case.card.id).await?.0,
            has_complaint: !crate::visits::store::complaints(db, case.visit.id).await?.is_empty(),
            reported: orders.iter().filter(|one| one.closed_at.is_none()).map(|one| one.reported).collect(),
            has_contact: said.iter().any(|one| one.at.day(&case.zone) == day),
        })
    }

    fn there(&self, case: &Case, row: &Needed) -> There {
        let mut bodies = case.current.iter().filter_map(|entry| entry.body.as_ref());
        let given =
            || case.current.iter().filter_map(|e| e.body.as_ref()).filter(|b| b.kind == Kind::Treatment);
        match row.found {
            Content::Client => There::of(!self.phones.is_empty() && !self.addresses.is_empty()),
            Content::Identity => There::of(
                !self.horse.breed.is_empty() && !self.horse.born.is_empty() && !self.horse.colour.is_empty(),
            ),
            Content::History => There::of(self.has_complaint || case.has(Part::History)),
            Content::Examination => There::of(bodies.any(is_examination)),
            Content::Temperature => There::of(bodies.any(is_temperature)),
            Content::Weight => There::of(case.card.kg.is_some()),
            Content::Medicines => There::of_all(given().map(has_its_dose)),
            Content::Results => There::of_all(self.reported.iter().copied()),
            Content::Diagnosis => There::of(case.has(Part::Problem)),
            Content::Plan => There::of(case.has(Part::Plan)),
            Content::FollowUp => There::of(case.has(Part::FollowUp)),
            Content::Consent => There::of(bodies.any(|body| body.kind == Kind::Consent)),
            Content::Contacts => {
                if self.has_contact {
                    There::Yes
                } else {
                    There::NotAsked
                }
            }
            Content::Vet => There::of(case.visit.vet_id.is_some()),
            Content::BeforeSedation => before_sedation(case, row.within_h.unwrap_or_default()),
        }
    }
}

fn is_examination(body: &Body) -> bool {
    matches!(body.kind, Kind::Place | Kind::Finding | Kind::Vital | Kind::Gait | Kind::Flexion | Kind::Neuro)
}

fn is_temperature(body: &Body) -> bool {
    body.kind == Kind::Vital && body.code.as_deref() == Some(TEMPERATURE)
}

/// A medicine by its row says dose and route; a strength is needed where it is measured in ml.
fn has_its_dose(body: &Body) -> bool {
    body.dosed.as_ref().is_some_and(|dosed| {
        !dosed.route.is_empty() && dosed.mg > 0.0 && (dosed.ml.is_none() || dosed.mg_per_ml.is_some())
    })
}

/// Whether something of the horse was written down within so many hours before each sedative by its row.
fn before_sedation(case: &Case, hours: u32) -> There {
    let sedatives = case.current.iter().filter_map(|entry| {
        let dosed = entry.body.as_ref()?.dosed.as_ref()?;
        dosed.group.sedates().then_some(dosed.at)
    });
    There::of_all(sedatives.map(|at| {
        case.current.iter().any(|entry| {
            let minutes = at.minutes_since(entry.seen());
            entry.body.as_ref().is_some_and(is_examination) && (0..=i64::from(hours) * 60).contains(&minutes)
        })
    }))
}

/// Where a content is entered.
fn way(case: &Case, content: Content) -> String {
    let (visit, horse) = (case.visit.id, case.card.id);
    match content {
        Content::Client => {
            let client = case.visit.client_id;
            client.map_or_else(|| format!("/horses/{horse}/parties"), |id| format!("/clients/{id}"))
        }
        Content::Identity => format!("/horses/{horse}/edit"),
        Content::History => format!("/visits/{visit}/complaints"),
        Content::Examination | Content::Temperature | Content::BeforeSedation => {
            format!("/visits/{visit}/exam")
        }
        Content::Weight => format!("/horses/{horse}/weights"),
        Content::Medicines => format!("/visits/{visit}/care"),
        Content::Results => format!("/visits/{visit}/diagnostics"),
        Content::Diagnosis | Content::Plan | Content::FollowUp => format!("/visits/{visit}/assessment"),
        Content::Consent => format!("/visits/{visit}/work-up/consents"),
        Content::Contacts => format!("/horses/{horse}/contacts"),
        Content::Vet => format!("/visits/{visit}"),
    }
}
