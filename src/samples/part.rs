//! What an order's page says and asks about its samples. The page itself stands with the orders.

use askama::{Template, filters::HtmlSafe};

use super::{
    case::Case,
    clock::{self, Clock},
    days,
    enzyme::{self, Test},
    laboratory::Laboratory,
    plan, taken,
    typed::Typed,
};
use crate::{
    App,
    accounts::Act,
    catalogue::{
        StudyKind, catalogue,
        diagnostics::{Protocol, SampleNote, Samples, Suspicion, figures::Reference},
    },
    clock::{At, Day},
    ids::{EntryId, OrderId},
    papers::{samples as words, words as sentences},
    record::{Body, Entry, Kind, Parcel},
    web::{Error, Errors, Result, Shell},
};

/// The part, with its forms as they open or as they were typed. Stands in a page as `{{ part }}`.
#[derive(Template)]
#[template(path = "samples/_part.html")]
pub struct Part {
    pub(super) shell: Shell,
    pub(super) errors: Errors,
    pub(super) case: Case,
    pub(super) typed: Typed,
    /// The entry that is amended.
    pub(super) amend: Option<EntryId>,
}

// The template escapes what people typed.
impl HtmlSafe for Part {}

/// One sample as a line.
pub(super) struct Line<'a> {
    entry: &'a Entry,
    words: String,
    clock: Option<Clock>,
    times: String,
}

impl Part {
    /// None for an order of something else.
    ///
    /// # Errors
    /// The order or what belongs to it cannot be read.
    pub async fn load(app: &App, id: OrderId, shell: &Shell) -> Result<Option<Self>> {
        let case = match Case::load(app, id).await {
            Ok(case) => case,
            Err(Error::NotFound) => return Ok(None),
            Err(error) => return Err(error),
        };
        Ok(Some(Self::open(case, shell)))
    }

    pub(super) fn open(case: Case, shell: &Shell) -> Self {
        let me = shell.user.as_ref().map_or("", |user| user.name.as_str());
        let typed = Typed::fresh(&case, me);
        Part { shell: shell.clone(), errors: Errors::default(), case, typed, amend: None }
    }

    pub(super) fn may_write(&self) -> bool {
        self.shell.may(Act::Examine) && !self.case.order.is_closed()
    }

    /// What speaks against the planned day.
    pub fn warnings(&self) -> Vec<String> {
        let day: Option<Day> = self.case.order.planned_on;
        day.map(|day| days::warnings(day, &self.case.plan, self.case.laboratory())).unwrap_or_default()
    }

    /// Where its forms are sent.
    pub(super) fn at(&self) -> String {
        format!("/diagnostics/{}", self.case.order.id)
    }

    fn is_biopsy(&self) -> bool {
        self.case.order.kind == StudyKind::Biopsy
    }

    fn suspected(&self) -> Option<&'static Suspicion> {
        self.case.plan.suspected()
    }

    fn muscles(&self, suspicion: &Suspicion) -> String {
        plan::names(&suspicion.items)
    }

    fn protocol(&self) -> Option<&'static Protocol> {
        self.case.plan.protocol()
    }

    fn laboratory(&self) -> Option<&Laboratory> {
        self.case.laboratory()
    }

    fn limits(&self) -> Vec<String> {
        self.protocol().map(clock::limits).unwrap_or_default()
    }

    /// What of the order is for nobody under this protocol.
    fn left_out(&self) -> String {
        let Some(protocol) = self.protocol() else { return String::new() };
        let other = self.case.codes().into_iter().filter(|code| !protocol.items.contains(code));
        plan::names(&other.collect::<Vec<_>>())
    }

    fn samples(&self) -> Vec<Line<'_>> {
        self.case.of(Kind::Sample).map(|(entry, body)| self.line(entry, body)).collect()
    }

    fn line<'a>(&'a self, entry: &'a Entry, body: &'a Body) -> Line<'a> {
        let sample = body.sample.clone().unwrap_or_default();
        let zone = &self.case.zone;
        let at = |at: At| at.words(zone);
        let taken = sample.at.map(|one| format!("taken {}", at(one)));
        let into = sample.into_at.map(|one| format!("put into it {}", at(one)));
        let clock = Clock::of(&sample, self.protocol(), self.parcel_since(sample.at), self.case.now, zone);
        let times = [taken, into].into_iter().flatten().collect::<Vec<_>>().join(", ");
        Line { entry, words: words::taken(body), clock, times }
    }

    /// The newest parcel since the sample was taken.
    fn parcel_since(&self, taken: Option<At>) -> Option<&Parcel> {
        let day = taken?.day(&self.case.zone).to_string();
        let parcels = self.case.of(Kind::Parcel).filter_map(|(_, body)| body.parcel.as_ref());
        parcels.filter(|parcel| parcel.sent_on >= day).last()
    }

    /// Each with its words, and whether it has not arrived.
    fn parcels(&self) -> Vec<(&Entry, String, bool)> {
        let waits = |body: &Body| body.parcel.as_ref().is_some_and(|parcel| parcel.received_on.is_none());
        self.case.of(Kind::Parcel).map(|(entry, body)| (entry, words::sent(body), waits(body))).collect()
    }

    fn protocol_choices(&self) -> Vec<(String, String)> {
        let fitting = plan::protocols_for(&self.case.codes()).into_iter();
        fitting.map(|row| (row.code.clone(), row.name.clone())).collect()
    }

    fn laboratory_choices(&self) -> Vec<(String, String)> {
        self.case.to_choose().into_iter().map(|one| (one.id.to_string(), one.name)).collect()
    }

    fn asks_enzymes(&self) -> bool {
        enzyme::is_asked(&self.case)
    }

    fn enzymes(&self) -> Vec<(&Entry, &Body)> {
        enzyme::by_time(&self.case)
    }

    fn enzyme_words(&self, body: &Body) -> String {
        words::enzyme(body)
    }

    fn drawn(&self, body: &Body) -> String {
        body.drawn.as_ref().map(|drawn| drawn.at.words(&self.case.zone)).unwrap_or_default()
    }

    fn beyond(&self, body: &Body) -> &'static str {
        enzyme::beyond(body)
    }

    fn test(&self) -> Option<Test> {
        enzyme::test(&self.case)
    }

    fn references(&self) -> Vec<&'static Reference> {
        enzyme::references()
    }

    fn enzyme_notes(&self) -> Vec<&'static SampleNote> {
        enzyme::notes().collect()
    }

    fn earlier(&self) -> Vec<(&Entry, String)> {
        let said = |body: &Body| sentences::sentence(body, sentences::Units::default());
        self.case.earlier().map(|(entry, body)| (entry, said(body))).collect()
    }

    fn by(&self, entry: &Entry) -> String {
        format!("{}, {}", self.case.name(entry.seen_by), entry.seen().words(&self.case.zone))
    }

    /// Whether something is wrong with the form of this kind.
    fn is_wrong(&self, kind: Kind) -> bool {
        let fields: &[&str] = match kind {
            Kind::Sample => &[
                "item",
                "what",
                "sample_side",
                "method",
                "taken_on",
                "taken_at",
                "into",
                "into_at",
                "into_on",
                "taken_by",
            ],
            Kind::Parcel => &["sent_on", "sent_to", "courier", "received_on"],
            _ => &[
                "enzyme",
                "amount",
                "unit",
                "drawn_on",
                "drawn_at",
                "drawn_when",
                "measured_by",
                "range_low",
                "range_high",
            ],
        };
        fields.iter().any(|field| self.errors.on(field).is_some())
    }

    /// Whether an entry of this kind is being amended.
    fn amends(&self, kind: Kind) -> bool {
        self.amend.and_then(|id| self.case.standing(id)).is_some_and(|(_, body)| body.kind == kind)
    }

    fn items(&self) -> Vec<(String, String)> {
        self.case.items.iter().map(|item| (item.code.clone(), item.name.clone())).collect()
    }

    fn sides(&self) -> [(&'static str, &'static str); 3] {
        taken::SIDES
    }

    fn methods(&self) -> Vec<&str> {
        Samples::words_for(&catalogue().diagnostics.samples.methods, self.case.order.kind)
    }

    fn containers(&self) -> Vec<&str> {
        Samples::words_for(&catalogue().diagnostics.samples.containers, self.case.order.kind)
    }

    fn names_of_laboratories(&self) -> Vec<&str> {
        self.case.laboratories.iter().filter(|one| one.in_use).map(|one| one.name.as_str()).collect()
    }

    fn enzyme_codes(&self) -> [(&'static str, &'static str); 2] {
        enzyme::ENZYMES.map(|code| (code, code))
    }

    fn units(&self) -> [(&'static str, &'static str); 2] {
        enzyme::units()
    }

    fn when(&self) -> [(&'static str, &'static str); 3] {
        enzyme::WHEN
    }
}
