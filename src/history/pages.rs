//! The page of one horse before its recheck.

use std::collections::HashMap;

use askama::Template;
use askama_web::WebTemplate;
use axum::{Router, extract::State, routing::get};
use serde::Deserialize;

use super::{
    pictures::{self, Picture, Shown},
    shown::{Asked, View},
    store,
    view::{columns, open_today, view},
};
use crate::{
    App,
    accounts::{Act, Can, act},
    clock::Day,
    followups::{self, FollowUp},
    horses::{self, Card},
    ids::HorseId,
    photos, practice, programmes,
    videos::{self, Video},
    visits::{self, Complaint, Visit},
    web::{Path, Query, Result, Shell},
};

pub fn router() -> Router<App> {
    Router::new().route("/horses/{id}/history", get(history))
}

#[derive(Template, WebTemplate)]
#[template(path = "history/page.html")]
struct HistoryPage {
    shell: Shell,
    card: Card,
    today: Day,
    view: View,
    all: bool,
    follow_ups: Vec<FollowUp>,
    ways: Vec<programmes::Now>,
    next: Option<Next>,
    /// With the day of their visit, the newest first.
    videos: Vec<(Day, Video)>,
    /// Photos that say what they show.
    photos: Vec<Shown>,
    /// Photos and videos by the key of their place.
    at_places: HashMap<String, Vec<Picture>>,
    may_start: bool,
}

/// The visit that comes next, and what was said on the telephone.
struct Next {
    day: Day,
    complaints: Vec<Complaint>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct HistoryQuery {
    earlier: String,
    condition: String,
}

async fn history(
    _: Can<act::SeeRecord>,
    State(app): State<App>,
    shell: Shell,
    Path(horse): Path<HorseId>,
    Query(query): Query<HistoryQuery>,
) -> Result<HistoryPage> {
    let db = app.db.read();
    // Side by side: the page waits for the slowest instead of for all.
    let (card, practice, all, past, follow_ups, videos, photos) = tokio::try_join!(
        horses::store::card(db, horse),
        practice::store::get(db),
        visits::store::of_horse(db, horse),
        store::past(db, horse),
        followups::store::open_of_horse(db, horse),
        videos::of_horse(db, horse),
        photos::placed_of_horse(db, horse),
    )?;
    let today = app.clock.now().day(&practice.zone);
    let mut ways = programmes::due::of_horse(&app, horse, today).await?;
    ways.retain(|way| !way.ended);
    let open = open_today(&all, today, &practice);
    let asked = Asked { all: !query.earlier.is_empty(), condition: query.condition };
    let view = view(&columns(&all, today, &practice), (today, open), past, &practice, &asked);
    let next = next(&app, &all, today, &practice).await?;
    let may_start = open.is_none() && shell.may(Act::Examine) && card.status.is_seen();
    let at_places = pictures::by_place(&photos, &videos, &practice.zone);
    let photos = pictures::shown(&photos, &practice.zone);
    let videos = videos.into_iter().map(|video| (video.visit_at.day(&practice.zone), video)).collect();
    let all = asked.all;
    Ok(HistoryPage {
        shell,
        card,
        today,
        view,
        all,
        follow_ups,
        ways,
        next,
        videos,
        photos,
        at_places,
        may_start,
    })
}

async fn next(app: &App, all: &[Visit], today: Day, practice: &practice::Practice) -> Result<Option<Next>> {
    let from = today.start(&practice.zone);
    let waits = |v: &&Visit| {
        v.starts_at >= from
            && !matches!(
                v.state,
                visits::State::Signed | visits::State::Cancelled | visits::State::DidNotCome
            )
    };
    let Some(visit) = all.iter().rev().find(waits) else { return Ok(None) };
    let complaints = visits::store::complaints(app.db.read(), visit.id).await?;
    Ok(Some(Next { day: visit.starts_at.day(&practice.zone), complaints }))
}

impl HistoryPage {
    fn at_place(&self, key: &str) -> &[Picture] {
        self.at_places.get(key).map_or(&[], Vec::as_slice)
    }

    /// "overdue since 3 Mar 2026", "due today", "due 30 Jul 2026"
    fn due(&self, follow_up: &FollowUp) -> String {
        let day = follow_up.due_on.words();
        match self.today.days_until(follow_up.due_on) {
            0 => "due today".to_owned(),
            n if n < 0 => format!("overdue since {day}"),
            _ => format!("due {day}"),
        }
    }
}
