//! The page of one order: its items, its report, what it shows at which place, and whether the client knows.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    before,
    changes::Details,
    files,
    form::{LOADING, SHOES, TypedDetails},
    order::{Item, ItemState, sides},
    ready::{self, Tick},
    said::Said,
    sheet::Sheet,
    stage::{Gap, Stage},
};
use crate::{
    App,
    accounts::{Act, Can, act},
    attachments,
    catalogue::{Caution, Limb, Place, Study, StudyKind, catalogue, diagnostics::ResultClass},
    clock::Day,
    horses::Card,
    ids::{ArrivalId, EntryId, OrderId, StaffId, VisitId},
    imaging::store::pictures::Pictured,
    papers::{
        samples,
        words::{self, Units},
    },
    plan::Site,
    record::{Body, Entry, Kind},
    samples::Part,
    web::{Errors, Path, Query, Result, Shell, invalid},
};

/// What the address asks to be open.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Open {
    /// A result that is to be amended or taken back.
    amend: Option<EntryId>,
}

#[derive(Template, WebTemplate)]
#[template(path = "diagnostics/order.html")]
pub(super) struct OrderPage {
    shell: Shell,
    errors: Errors,
    sheet: Sheet,
    visit_id: VisitId,
    card: Card,
    today: Day,
    stage: Stage,
    gaps: Vec<Gap>,
    said: Said,
    details: TypedDetails,
    /// The result that is being amended, with its words.
    amend: Option<EntryId>,
    /// Of samples only.
    part: Option<Part>,
}

impl OrderPage {
    async fn new(app: &App, shell: Shell, sheet: Sheet) -> Result<Self> {
        let stage = Stage::of(&sheet.order, &sheet.items);
        let gaps = Gap::of(&sheet.order, &sheet.items);
        let details = TypedDetails::of(&Details::of(&sheet.order));
        let (visit_id, card, today) = (sheet.order.visit_id, sheet.card.clone(), sheet.today);
        let (errors, said) = (Errors::default(), Said::default());
        let (part, amend) = (Part::load(app, sheet.order.id, &shell).await?, None);
        Ok(OrderPage { shell, errors, sheet, visit_id, card, today, stage, gaps, said, details, amend, part })
    }

    fn study(&self) -> Option<&'static Study> {
        catalogue().diagnostics.study(&self.sheet.order.study)
    }

    fn sides(&self) -> String {
        sides(&self.sheet.items)
    }

    fn may_write(&self) -> bool {
        self.shell.may(Act::Examine) && !self.sheet.order.is_closed()
    }

    /// Whether something is still to be taken.
    fn is_to_take(&self) -> bool {
        self.sheet.items.iter().any(|item| !item.state.is_settled())
    }

    fn has(&self, gap: &Gap) -> bool {
        self.gaps.contains(gap)
    }

    fn is_next(&self, gap: &Gap) -> bool {
        self.gaps.first() == Some(gap)
    }

    fn open_words(&self) -> Vec<String> {
        self.gaps.iter().map(|gap| gap.words(self.sheet.order.kind.done())).collect()
    }

    /// What is made ready, ticked or open.
    fn ticks(&self) -> Vec<Tick> {
        self.study().map(|study| ready::ticks(study, &self.sheet.ready)).unwrap_or_default()
    }

    /// "3 of 5"
    fn ready_words(&self) -> String {
        let ticked: Vec<String> = self.sheet.ready.iter().map(|one| one.code.clone()).collect();
        self.study().and_then(|study| ready::count_words(study, &ticked)).unwrap_or_default()
    }

    /// Files with results: what each is and who sent it, its kind and size, and where it is given out.
    fn files(&self) -> Vec<(&Entry, &str, String, String)> {
        let at = self.at();
        let all = self.sheet.attached().map(|(entry, body, file)| {
            let about = format!("{}, {}", files::kind_words(&file.kind), attachments::size(file.bytes));
            (entry, body.text.as_deref().unwrap_or_default(), about, format!("{at}/files/{}", entry.id))
        });
        all.collect()
    }

    fn cautions(&self) -> Vec<&'static Caution> {
        self.study().map(before::cautions).unwrap_or_default()
    }

    /// The words under an item: zones, where it is taken, into what, and how it is handled.
    fn notes(&self, item: &Item) -> Vec<String> {
        let mut notes = Vec::new();
        if !item.zones.is_empty() {
            notes.push(format!("zones {}", item.zones));
        }
        if let Some(row) = catalogue().diagnostics.item(&item.code) {
            notes.extend([&row.site, &row.into, &row.handling].into_iter().flatten().cloned());
        }
        notes
    }

    fn item_words(&self, item: &Item) -> String {
        item.words(self.sheet.order.kind)
    }

    fn item_state(&self, item: &Item) -> &'static str {
        match item.state {
            ItemState::Wanted => "to do",
            ItemState::Taken => self.sheet.order.kind.done(),
            ItemState::Repeat => "to repeat",
            ItemState::LeftOut => "left out",
        }
    }

    fn reports(&self) -> Vec<(&Entry, &Body)> {
        self.sheet.of(Kind::Report).collect()
    }

    fn shown(&self) -> Vec<(&Entry, String)> {
        self.sheet.of(Kind::Shown).map(|(e, body)| (e, words::sentence(body, Units::default()))).collect()
    }

    /// What was measured, in words, with the picture that it was measured on.
    fn measured(&self) -> Vec<(&Entry, String, Option<ArrivalId>)> {
        let picture = |body: &Body| {
            let of = |one: &&Pictured| body.images.contains(&one.sha256);
            self.sheet.pictures.iter().find(of).map(|one| one.id)
        };
        let said = |(e, body)| (e, words::sentence(body, Units::default()), picture(body));
        self.sheet.of(Kind::Measured).map(said).collect()
    }

    fn earlier(&self) -> Vec<(&Entry, String)> {
        let said = |e: &'_ Entry| e.body.as_ref().map(|b| words::sentence(b, Units::default()));
        // Samples and scans have their own list of what was said before.
        let is_result = |e: &&Entry| {
            e.body
                .as_ref()
                .is_some_and(|b| matches!(b.kind, Kind::Report | Kind::Shown | Kind::Measured | Kind::File))
        };
        self.sheet.superseded.iter().filter(is_result).filter_map(|e| Some((e, said(e)?))).collect()
    }

    fn by(&self, entry: &Entry) -> String {
        format!("{}, {}", self.name(&entry.seen_by), entry.seen().words(&self.sheet.zone))
    }

    fn name(&self, who: &StaffId) -> &str {
        self.sheet.name(*who)
    }

    /// Places that this study is about, as buttons.
    fn near_sites(&self) -> Vec<(String, String)> {
        const MOST: usize = 6;
        let Some(study) = self.study() else { return Vec::new() };
        let mut limbs = self.sheet.limbs();
        // A study of the whole horse names no place: its limbs are the nearest.
        if study.places.is_empty() && limbs.is_empty() {
            limbs = Limb::ALL.to_vec();
        }
        let on = |code: &String| -> Vec<Place> {
            if limbs.is_empty() {
                let found = Place::new(code, crate::catalogue::Side::M, None);
                return found.into_iter().collect();
            }
            limbs.iter().filter_map(|limb| Place::on(code, *limb).ok()).collect()
        };
        let mut sites: Vec<Site> = limbs.iter().map(|limb| Site::Limb(*limb)).collect();
        sites.extend(self.sheet.order.place.parse().ok().map(Site::Place));
        let of_study = study.places.iter().flat_map(on).map(Site::Place);
        for site in of_study {
            if !sites.contains(&site) {
                sites.push(site);
            }
        }
        sites.into_iter().take(MOST).map(|site| (site.key(), site.to_string())).collect()
    }

    fn all_sites(&self) -> Vec<String> {
        Site::all().map(|site| site.to_string()).collect()
    }

    fn loading(&self) -> &'static [(&'static str, &'static str)] {
        &LOADING
    }

    fn shoes(&self) -> &'static [(&'static str, &'static str)] {
        &SHOES
    }

    /// Where its forms are sent.
    fn at(&self) -> String {
        format!("/diagnostics/{}", self.sheet.order.id)
    }

    fn reason_field(item: &Item) -> String {
        super::steps::reason_field(&item.id)
    }

    /// What the button of an item says.
    fn done_word(&self) -> String {
        words::capital(self.sheet.order.kind.done())
    }

    /// Whether a result of this kind is being amended.
    fn amends(&self, kind: Kind) -> bool {
        self.amend.is_some_and(|id| self.sheet.of(kind).any(|(entry, _)| entry.id == id))
    }

    fn is_bone_scan(&self) -> bool {
        self.sheet.order.kind == StudyKind::BoneScan
    }

    /// The classes that reports of muscle are sorted into; none for other kinds.
    fn classes(&self) -> &'static [ResultClass] {
        let all = &catalogue().diagnostics.samples.result_classes;
        if self.sheet.order.kind == StudyKind::Biopsy { all } else { &[] }
    }

    fn classes_of(&self, body: &Body) -> Vec<&'static ResultClass> {
        samples::classes(body)
    }

    fn is_radiograph(&self) -> bool {
        self.sheet.order.kind == StudyKind::Radiograph
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<OrderId>,
    Query(open): Query<Open>,
) -> Result<Response> {
    let sheet = Sheet::load(&app, id).await?;
    let amended = open.amend.and_then(|id| sheet.results.iter().find(|e| e.id == id));
    let amend = amended.map(|e| e.id);
    let said = amended.and_then(|e| e.body.as_ref()).map(Said::of_entry).unwrap_or_default();
    let said = Said { was: amend.map(|id| id.to_string()).unwrap_or_default(), ..said };
    Ok(OrderPage { said, amend, ..OrderPage::new(&app, shell, sheet).await? }.into_response())
}

/// The page with a form as it was typed, and what is wrong with it.
pub(super) async fn again(
    app: &App,
    shell: Shell,
    id: OrderId,
    said: Said,
    errors: Errors,
) -> Result<Response> {
    let sheet = Sheet::load(app, id).await?;
    let amend = said.was.parse().ok();
    let details = match said.details.clone() {
        typed if typed == TypedDetails::default() => TypedDetails::of(&Details::of(&sheet.order)),
        typed => typed,
    };
    Ok(invalid(OrderPage { errors, said, details, amend, ..OrderPage::new(app, shell, sheet).await? }))
}
