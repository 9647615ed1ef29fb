//! Everything that can be recorded, in pieces, before anything is known: from it a tablet makes the picker of any
//! place at once, and when the practice does not answer. Trade knowledge only, nobody's data: open to anyone, and kept
//! by browsers for good, because its address changes with what is in it.
//!
//! The pieces are made by the templates of the page itself, for a visit that is nobody's; `static/picks.js` puts visit,
//! examiner and place in.

use std::{
    collections::{BTreeMap, HashMap},
    sync::LazyLock,
};

use anyhow::Context;
use askama::Template;
use axum::{
    Router,
    http::{HeaderName, header},
    response::IntoResponse,
    routing::get,
};
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::{
    movement::{self, FLEXION_SCALES, GAIT_SCALES, Scene, Sections},
    pages::Wrong,
    picker::{Ask, Detail, LineView, Picker, Usual, aspects},
    question::Question,
    view::{SweepOffer, swaps},
    way::Way,
};
use crate::{
    App,
    away::BLANK_VISIT,
    catalogue::{Limb, Place, Region, Side, catalogue},
    clock::At,
    ids::{EntryId, StaffId, SubmissionId, VisitId},
    record::hex,
    web::{Errors, kept},
};

/// Ids that no row has, in the place of an examiner and of an entry.
const NOBODY: &str = "00000000-0000-7000-8000-000000000003";
const NO_ENTRY: &str = "00000000-0000-7000-8000-000000000004";
/// All of a list, where an address names some of it.
const ALL: &str = "all";

pub(super) fn public() -> Router<App> {
    kept(Router::new().route("/exam/picks", get(picks)))
}

/// Where the pieces are, as they are now.
pub fn address() -> &'static str {
    static ADDRESS: LazyLock<String> = LazyLock::new(|| {
        let digest = hex(&Sha256::digest(TEXT.as_bytes()));
        format!("/exam/picks?{}", &digest[..12])
    });
    &ADDRESS
}

static TEXT: LazyLock<String> = LazyLock::new(|| {
    let made = Picks::new().and_then(|picks| Ok(serde_json::to_string(&picks)?));
    // Without them the tablet asks the practice for each picker, as a page without script does.
    made.unwrap_or_default()
});

async fn picks() -> impl IntoResponse {
    const HEADERS: [(HeaderName, &str); 2] = [
        (header::CONTENT_TYPE, "application/json"),
        (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
    ];
    (HEADERS, TEXT.as_str())
}

/// A piece without the numbers of its forms, so that it is the same each time it is made; the tablet numbers them.
fn unnumbered(made: askama::Result<String>) -> askama::Result<String> {
    const BEFORE: &str = r#"name="submission" value=""#;
    let made = made?;
    let mut parts = made.split(BEFORE);
    let first = parts.next().unwrap_or_default().to_owned();
    let rest = |part: &str| part.find('"').map_or_else(String::new, |end| part[end..].to_owned());
    Ok(parts.fold(first, |all, part| all + BEFORE + &rest(part)))
}

#[derive(Serialize)]
struct Picks {
    /// What the tablet replaces.
    visit: &'static str,
    seen_by: &'static str,
    entry: &'static str,
    /// A picker with one question in the place of each list.
    frame: String,
    /// A line of what was said, and its way back.
    said: String,
    back: String,
    /// Each question once; regions name theirs by number.
    asks: Vec<String>,
    regions: BTreeMap<&'static str, Pick>,
    /// The second form of each finding, by its code.
    details: BTreeMap<String, String>,
    /// The sections that are not places, by what of them is shown and on which scale.
    moving: BTreeMap<String, String>,
}

/// What can be said at the places of one region.
#[derive(Serialize)]
struct Pick {
    first: Vec<usize>,
    others: Vec<usize>,
    aspects: Vec<&'static str>,
    /// What is usually ordered from there: code of the study and words of its button.
    usual: Vec<(&'static str, String)>,
    why: &'static str,
}

impl Picks {
    fn new() -> anyhow::Result<Self> {
        let nobody = Nobody::new()?;
        let piece = |picker: Picker| Piece::new(nobody, picker);
        let mut asks = Numbered::default();
        let mut regions = BTreeMap::new();
        let mut details = BTreeMap::new();
        for region in &catalogue().regions {
            let Some(place) = somewhere(region) else { continue };
            let (first, others) = (Question::first_at(place), Question::others_at(place));
            for question in first.iter().chain(&others) {
                let code = question.code(place);
                let detail = Detail::blank(place, *question, (nobody.entry, nobody.staff));
                if detail.is_some() && !details.contains_key(&code) {
                    let made = piece(Picker { detail, ..blank() }).as_detail().render();
                    details.insert(code, unnumbered(made)?);
                }
            }
            let mut numbers = |questions: &[Question]| {
                let all = questions.iter().flat_map(|question| Ask::all(*question, place, &[], None));
                let made = all.map(|ask| piece(Picker { first: vec![ask], ..blank() }).as_ask().render());
                made.map(|made| Ok(asks.number(unnumbered(made)?))).collect::<askama::Result<Vec<usize>>>()
            };
            let pick = Pick {
                first: numbers(&first)?,
                others: numbers(&others)?,
                aspects: aspects(place).into_iter().map(|(code, _)| code).collect(),
                usual: Usual::of(region).into_iter().map(|one| (one.study, one.words)).collect(),
                why: &region.significance,
            };
            regions.insert(region.code.as_str(), pick);
        }
        let said = || piece(Picker { lines: vec![line(nobody)], ..blank() });
        let frame = piece(Picker { first: vec![question()], others: vec![question()], ..blank() });
        Ok(Picks {
            visit: BLANK_VISIT,
            seen_by: NOBODY,
            entry: NO_ENTRY,
            frame: unnumbered(frame.as_frame().render())?,
            said: unnumbered(said().as_said().render())?,
            back: unnumbered(said().as_back().render())?,
            asks: asks.all,
            regions,
            details,
            moving: moving(nobody)?,
        })
    }
}

/// Any place of a region: what can be asked is the same at all of them.
fn somewhere(region: &'static Region) -> Option<Place> {
    let limbs = Limb::ALL.into_iter().filter(|limb| region.is_on(*limb));
    let mut on_limbs = limbs.filter_map(|limb| Place::on(&region.code, limb).ok());
    let mut on_axis =
        [Side::L, Side::R, Side::M].into_iter().filter_map(|side| Place::new(&region.code, side, None).ok());
    on_limbs.next().or_else(|| on_axis.next())
}

/// Questions by number, the same one once.
#[derive(Default)]
struct Numbered {
    all: Vec<String>,
    known: HashMap<String, usize>,
}

impl Numbered {
    fn number(&mut self, piece: String) -> usize {
        let next = self.all.len();
        let number = *self.known.entry(piece.clone()).or_insert(next);
        if number == next {
            self.all.push(piece);
        }
        number
    }
}

/// The sections of the horse in motion, each as it stands before anything is known.
fn moving(nobody: Nobody) -> anyhow::Result<BTreeMap<String, String>> {
    let card = crate::away::blank(nobody.visit, nobody.staff, At(0)).context("no blank visit")?;
    let sections = |scale: &str, asked: movement::Asked| {
        Sections::of(&Scene::blank(card.clone(), nobody.staff, scale, asked), &Wrong::Nothing)
    };
    let mut all = BTreeMap::new();
    for scale in GAIT_SCALES {
        let asked = movement::Asked { gait: ALL.to_owned(), ..Default::default() };
        all.insert(format!("gait {scale}"), unnumbered(sections(scale, asked).gait.render())?);
    }
    for scale in FLEXION_SCALES {
        for (name, flexion) in [("flexion", "shown"), ("flexions", ALL)] {
            let (flexion, flexion_scale) = (flexion.to_owned(), scale.to_owned());
            let asked = movement::Asked { flexion, flexion_scale, ..Default::default() };
            all.insert(format!("{name} {scale}"), unnumbered(sections("", asked).flexion.render())?);
        }
    }
    for (name, neuro) in [("neuro", "short"), ("neuro-all", ALL)] {
        let asked = movement::Asked { neuro: neuro.to_owned(), ..Default::default() };
        all.insert(name.to_owned(), unnumbered(sections("", asked).neuro.render())?);
    }
    Ok(all)
}

/// What the templates of a picker look into.
#[derive(Template)]
#[template(path = "exam/picks.html", blocks = ["frame", "said", "back", "ask", "detail"])]
struct Piece {
    picker: Picker,
    id: &'static str,
    swaps: String,
    way: Way,
    shell: Numbers,
    seen_by: &'static str,
    errors: Errors,
    writes: bool,
}

impl Piece {
    fn new(nobody: Nobody, picker: Picker) -> Self {
        Piece {
            picker,
            id: "%PART%",
            swaps: swaps("%PART%"),
            way: Way::new(nobody.visit, "", ""),
            shell: Numbers,
            seen_by: NOBODY,
            errors: Errors::default(),
            writes: true,
        }
    }
}

/// Whose visit it is, who sees and what was said, until the tablet says so.
#[derive(Clone, Copy)]
struct Nobody {
    visit: VisitId,
    staff: StaffId,
    entry: EntryId,
}

impl Nobody {
    fn new() -> anyhow::Result<Self> {
        Ok(Nobody { visit: BLANK_VISIT.parse()?, staff: NOBODY.parse()?, entry: NO_ENTRY.parse()? })
    }
}

/// Numbers forms as the shell of a page does.
struct Numbers;

impl Numbers {
    #[expect(clippy::unused_self, reason = "templates call methods, not functions of a type")]
    fn submission(&self) -> SubmissionId {
        SubmissionId::new()
    }
}

fn blank() -> Picker {
    let reasons = catalogue().finding("NE").and_then(|finding| finding.attributes.first());
    Picker {
        key: "%PLACE%".to_owned(),
        name: "%NAME%".to_owned(),
        side: "%SIDE%",
        significance: "%WHY%",
        lines: Vec::new(),
        last: None,
        first: Vec::new(),
        others: Vec::new(),
        fresh: true,
        sweep: Some(SweepOffer { name: String::new(), from: String::new(), places: Vec::new(), rest: false }),
        reasons: reasons.map_or(&[], |attribute| &attribute.picks),
        usual: vec![Usual { study: "%STUDY%", words: String::new(), ordered: false }],
        detail: None,
        close: format!("/visits/{BLANK_VISIT}/exam?at=%PART%#%PART%"),
    }
}

fn line(nobody: Nobody) -> LineView {
    LineView {
        words: "%WORDS%".to_owned(),
        note: String::new(),
        line: String::new(),
        by: String::new(),
        swept: false,
        edit: Some(format!("/visits/{BLANK_VISIT}/exam?open=%PLACE%&edit={NO_ENTRY}")),
        entry: nobody.entry,
    }
}

fn question() -> Ask {
    Ask {
        code: String::new(),
        label: String::new(),
        hint: "",
        aspect: "",
        answers: Vec::new(),
        several: Vec::new(),
        typed: None,
        given: Vec::new(),
        words: String::new(),
        was: None,
        refused: false,
    }
}
