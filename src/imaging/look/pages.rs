//! The page of one picture, and the pictures themselves.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    http::header,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::render::{self, Look};
use crate::{
    App,
    accounts::{Can, act},
    clock::Day,
    horses::{self, Card},
    ids::ArrivalId,
    imaging::{
        picture::{Unshown, Window},
        store::{
            decided,
            pictures::{self, Pictured},
        },
    },
    practice,
    web::{Error, Path, Query, Result, Shell},
};

/// What the address says of how a picture is looked at. What cannot be meant is passed over.
#[derive(Debug, Deserialize, Default, Clone)]
#[serde(default)]
pub(in crate::imaging) struct Asked {
    frame: String,
    centre: String,
    width: String,
    /// Another picture to look at beside it.
    beside: String,
}

impl Asked {
    fn frame(&self) -> u32 {
        self.frame.parse().unwrap_or(1)
    }

    fn window(&self) -> Option<Window> {
        Window::new(self.centre.parse().ok()?, self.width.parse().ok()?)
    }
}

/// A picture with what stands around it.
struct Figure {
    picture: Pictured,
    look: std::result::Result<Look, Unshown>,
    asked: Asked,
}

impl Figure {
    async fn load(app: &App, id: ArrivalId, asked: Asked) -> Result<Self> {
        let picture = pictures::get(app.db.read(), id).await?.ok_or(Error::NotFound)?;
        let look = render::look(app, &picture.sha256).await?;
        Ok(Figure { picture, look, asked })
    }

    /// Where the picture itself is asked for.
    fn view(&self) -> String {
        format!("/images/{}/picture", self.picture.id)
    }

    /// The same with what the address asks for.
    fn src(&self) -> String {
        let Asked { frame, centre, width, .. } = &self.asked;
        match self.asked.window() {
            Some(_) => format!("{}?frame={}&centre={centre}&width={width}", self.view(), self.asked.frame()),
            None if frame.is_empty() => self.view(),
            None => format!("{}?frame={}", self.view(), self.asked.frame()),
        }
    }

    /// The window that stands in the sliders; none for colour.
    fn window(&self) -> Option<Window> {
        let look = self.look.as_ref().ok()?;
        look.facts.range?;
        self.asked.window().or(look.window)
    }

    /// The ends of the slider for lightness.
    fn ends(&self) -> (f64, f64) {
        self.look.as_ref().ok().and_then(|look| look.facts.range).unwrap_or_default()
    }

    /// The widest window that means something.
    fn widest(&self) -> f64 {
        let (low, high) = self.ends();
        (high - low).max(1.0)
    }

    fn frames(&self) -> u32 {
        self.look.as_ref().map_or(1, |look| look.facts.frames)
    }

    fn frame(&self) -> u32 {
        self.asked.frame().clamp(1, self.frames().max(1))
    }

    /// What is known about its size on the horse, and whether something was lost on its way.
    fn notes(&self) -> Vec<String> {
        let Ok(look) = &self.look else { return Vec::new() };
        let size = format!("{} × {} pixels", look.facts.columns, look.facts.rows);
        let spacing = look
            .facts
            .spacing
            .as_ref()
            .map_or_else(|| "no scale is known".into(), |s| s.scale.words().to_owned());
        let lossy = look.facts.lossy.then(|| "packed with loss".to_owned());
        [Some(size), Some(spacing), lossy].into_iter().flatten().collect()
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "imaging/image.html")]
struct ImagePage {
    shell: Shell,
    card: Option<Card>,
    today: Day,
    zone: TimeZone,
    figure: Figure,
    beside: Option<Figure>,
    /// The horse's other pictures of the same view, the newest first.
    others: Vec<Pictured>,
    /// It is with an order or was set aside.
    decided: bool,
}

impl ImagePage {
    fn figure_id(&self) -> String {
        self.figure.picture.id.to_string()
    }

    fn beside_id(&self) -> String {
        self.beside.as_ref().map(|other| other.picture.id.to_string()).unwrap_or_default()
    }

    /// Where the other picture is the first.
    fn other_page(&self) -> String {
        format!("/images/{}", self.beside_id())
    }
}

pub(in crate::imaging) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<ArrivalId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let beside = match asked.beside.parse() {
        Ok(other) => Some(Figure::load(&app, other, Asked::default()).await?),
        Err(_) => None,
    };
    let figure = Figure::load(&app, id, asked).await?;
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let card = match figure.picture.horse_id {
        Some(horse) => Some(horses::store::card(db, horse).await?),
        None => None,
    };
    let others = pictures::of_same_view(db, &figure.picture).await?;
    let today = app.clock.now().day(&zone);
    let decided = decided::get(db, id).await?.is_some();
    Ok(ImagePage { shell, card, today, zone, figure, beside, others, decided }.into_response())
}

/// The picture itself at full size.
pub(in crate::imaging) async fn picture(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    Path(id): Path<ArrivalId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let picture = pictures::get(app.db.read(), id).await?.ok_or(Error::NotFound)?;
    match render::png(&app, &picture.sha256, asked.frame(), asked.window()).await? {
        Ok(png) => Ok(([(header::CONTENT_TYPE, "image/png")], png).into_response()),
        Err(_) => Err(Error::NotFound),
    }
}

/// The small one; what cannot be shown says so in its place.
pub(in crate::imaging) async fn preview(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    Path(id): Path<ArrivalId>,
) -> Result<Response> {
    let picture = pictures::get(app.db.read(), id).await?.ok_or(Error::NotFound)?;
    match render::preview_of(&app, &picture.sha256).await? {
        Ok(png) => Ok(([(header::CONTENT_TYPE, "image/png")], png).into_response()),
        Err(_) => Ok(([(header::CONTENT_TYPE, "image/svg+xml")], KEPT_ONLY).into_response()),
    }
}

const KEPT_ONLY: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 120"><path fill="#fff" stroke="#333" d="M.5.5h199v119H.5z"/><text x="100" y="58" text-anchor="middle" font-family="sans-serif" font-size="14">kept,<tspan x="100" dy="20">cannot be shown</tspan></text></svg>"##;
