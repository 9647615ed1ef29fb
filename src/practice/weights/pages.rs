//! Looking at the numbers: where each is found, the numbers of one block, and one number with how it came to be.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    change::Typed,
    groups::{self, Group},
    href, store,
    store::Set,
    together,
};
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::{
        Pair, Row, catalogue,
        localise::{Address, Bound, Figure, Localising},
    },
    practice,
    web::{Error, Errors, Query, Result, Shell},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Wanted {
    group: String,
    weight: String,
}

/// A value of the practice's own.
struct Own {
    href: String,
    words: String,
    by: String,
    at: String,
    /// Why it is not used; empty for one that is.
    lost: String,
}

/// Numbers under one heading.
struct Section {
    title: &'static str,
    lines: Vec<Line>,
}

struct Line {
    href: String,
    name: String,
    text: String,
    /// With its unit.
    value: String,
    /// The shipped one, where the practice has its own.
    shipped: Option<f64>,
    sure: String,
    /// Empty where it is that of the line above.
    source: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "practice/weights.html")]
struct WeightsPage {
    shell: Shell,
    fore: Vec<Group>,
    hind: Vec<Group>,
    general: Vec<Group>,
    own: Vec<Own>,
    open: Option<Group>,
    sections: Vec<Section>,
}

impl WeightsPage {
    fn changes(&self) -> bool {
        self.shell.may(Act::RunPractice)
    }

    fn is_open(&self, group: &Group) -> bool {
        self.open.as_ref().is_some_and(|open| open.code == group.code)
    }

    fn shelves(&self) -> [(&'static str, &[Group]); 3] {
        [
            ("Blocks of the fore limb", &self.fore),
            ("Blocks of the hind limb", &self.hind),
            ("For every block", &self.general),
        ]
    }

    fn to(group: &Group) -> String {
        format!("/practice/weights?group={}#open", group.code.replace('+', "%2B"))
    }
}

/// One number: what it is, where it comes from, how it came to be, and the form that changes it.
#[derive(Template, WebTemplate)]
#[template(path = "practice/weight.html")]
pub(super) struct WeightPage {
    shell: Shell,
    zone: TimeZone,
    address: String,
    name: String,
    text: String,
    now: String,
    unit: String,
    shipped: String,
    is_own: bool,
    sure: String,
    source: String,
    bounds: String,
    bounds_from: String,
    fixed: Option<String>,
    /// Why the practice's own value is not used; empty where it is, or where there is none.
    lost: String,
    group: Group,
    history: Vec<Set>,
    typed: Typed,
    errors: Errors,
}

impl WeightPage {
    /// None for a number that is not there.
    pub(super) async fn new(app: &App, shell: Shell, address: &str) -> Result<Self> {
        let at: Address = address.parse().map_err(|()| Error::NotFound)?;
        let db = app.db.read();
        let (rows, refused) = together(&store::standing(db, None).await?);
        let shipped = catalogue().localise.figure(&at).ok_or(Error::NotFound)?;
        let figure = rows.figure(&at).ok_or(Error::NotFound)?;
        let bound = figure.bound;
        let history = store::history(db, address).await?;
        let group = groups::of(&rows, &at);
        Ok(WeightPage {
            zone: practice::store::get(db).await?.zone,
            name: rows.name_of(&figure),
            text: rows.text_of(&figure),
            now: figure.is.to_string(),
            unit: bound.unit.clone(),
            shipped: letter(&rows, &figure, shipped.is),
            is_own: history.first().is_some_and(|set| set.value.is_some()),
            sure: figure.row.confidence().words(),
            source: figure.row.source().to_owned(),
            bounds: format!("{} to {} {}", bound.least, bound.most, bound.unit).trim_end().to_owned(),
            bounds_from: sourced(bound),
            fixed: bound.fixed.clone(),
            lost: refused.into_iter().find(|(of, _)| *of == at).map(|(_, why)| why).unwrap_or_default(),
            group: groups::find(&group).ok_or(Error::NotFound)?,
            typed: Typed {
                weight: address.to_owned(),
                version: history.first().map_or(0, |set| set.version).to_string(),
                value: figure.is.to_string(),
                ..Typed::default()
            },
            errors: Errors::default(),
            address: at.to_string(),
            history,
            shell,
        })
    }

    /// The page again, with what was typed and what is wrong with it.
    pub(super) fn with(self, typed: Typed, errors: Errors) -> Self {
        WeightPage { typed, errors, ..self }
    }

    fn changes(&self) -> bool {
        self.shell.may(Act::RunPractice)
    }

    fn back(&self) -> String {
        WeightsPage::to(&self.group)
    }
}

/// Where the bounds come from and how sure that is, said once where both are the same.
fn sourced(bound: &Bound) -> String {
    let (source, sure) = (bound.source(), bound.confidence().words());
    if source == sure { sure } else { format!("{source} ({sure})") }
}

/// "U, is usually numb: 0.8" for a cell of the matrix; else the number.
fn letter(rows: &Localising, figure: &Figure<'_>, shipped: f64) -> String {
    let limb = if figure.list == "fore" { crate::catalogue::Limb::LF } else { crate::catalogue::Limb::LH };
    let letter = rows.weight(limb, figure.row.code(), figure.field);
    match letter.filter(|_| matches!(figure.list, "fore" | "hind")) {
        Some(letter) => format!("{shipped}, by the letter {} ({})", letter.code, letter.says),
        None => format!("{shipped} {}", figure.bound.unit).trim_end().to_owned(),
    }
}

pub(super) async fn show(
    _: Can<act::SeeRecord>,
    State(app): State<App>,
    shell: Shell,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    if !wanted.weight.is_empty() {
        return Ok(WeightPage::new(&app, shell, &wanted.weight).await?.into_response());
    }
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let standing = store::standing(db, None).await?;
    let (rows, refused) = together(&standing);
    let own = standing.iter().filter(|set| set.value.is_some());
    let open = if wanted.group.is_empty() {
        None
    } else {
        Some(groups::find(&wanted.group).ok_or(Error::NotFound)?)
    };
    let sections = open.as_ref().map(|open| groups::sections(&rows, &open.code)).unwrap_or_default();
    let page = WeightsPage {
        fore: groups::blocks(&rows, Pair::Fore),
        hind: groups::blocks(&rows, Pair::Hind),
        general: groups::general(),
        own: own.map(|set| owned(&rows, set, &refused, &zone)).collect(),
        sections: sections.into_iter().map(|(title, figures)| section(&rows, title, &figures)).collect(),
        open,
        shell,
    };
    Ok(page.into_response())
}

fn owned(rows: &Localising, set: &Set, refused: &[(Address, String)], zone: &TimeZone) -> Own {
    let at = set.address();
    let words = at.as_ref().and_then(|at| rows.own_words(at));
    let why = refused.iter().find(|(of, _)| Some(of) == at.as_ref()).map(|(_, why)| why.clone());
    Own {
        href: at.as_ref().map(href).unwrap_or_default(),
        words: words.unwrap_or_else(|| set.address.clone()),
        by: set.by.clone(),
        at: set.at.day(zone).words(),
        lost: why.unwrap_or_default(),
    }
}

/// Under a heading that names the block already.
fn name_here(rows: &Localising, figure: &Figure<'_>) -> String {
    match figure.list {
        "fore" | "hind" => {
            let structure = rows.structures.get(figure.row.code());
            structure.map_or_else(|| figure.row.code().to_owned(), |row| row.name.clone())
        }
        "clock" => figure.bound.name.clone(),
        _ => rows.name_of(figure),
    }
}

fn section(rows: &Localising, title: &'static str, figures: &[Figure<'_>]) -> Section {
    let mut above = "";
    let lines = figures.iter().map(|figure| {
        let address = figure.address();
        let source = if figure.row.source() == above { "" } else { figure.row.source() };
        above = figure.row.source();
        Line {
            href: href(&address),
            name: name_here(rows, figure),
            text: rows.text_of(figure),
            value: format!("{} {}", figure.is, figure.bound.unit).trim_end().to_owned(),
            shipped: rows.shipped(&address),
            sure: figure.row.confidence().words(),
            source: source.to_owned(),
        }
    });
    Section { title, lines: lines.collect() }
}
