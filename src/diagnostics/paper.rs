//! What the report of a visit says of its orders.

use jiff::tz::TimeZone;

use super::{
    line::Line,
    stage::{Gap, Stage},
    store,
};
use crate::{
    App,
    clock::{At, Day},
    ids::{StaffId, VisitId},
    papers::{
        scan,
        words::{self, Units},
    },
    practice,
    record::{self, Body, Entry, Kind, Scan},
    web::Result,
};

/// An order with its results, in words.
pub struct Ordered {
    /// "radiographs, fetlock, left fore (L000012)"
    pub title: String,
    pub stage: Stage,
    /// What is still open about it.
    pub open: String,
    /// The scan, reports, enzymes, what is shown by place, what was measured, files: words, whose they are, and when they
    /// were entered.
    pub results: Vec<(String, StaffId, At)>,
}

/// What of an order's record the paper tells, in this order.
const TOLD: [Kind; 6] = [Kind::Scan, Kind::Report, Kind::Enzyme, Kind::Shown, Kind::Measured, Kind::File];

pub async fn of_visit(app: &App, visit: VisitId, today: Day) -> Result<Vec<Ordered>> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let mut all = Vec::new();
    for order in store::of_visit(db, visit).await? {
        let items = store::items(db, order.id).await?;
        let (results, _) = record::results_of_order(db, order.id).await?;
        let told = TOLD.into_iter();
        let told = told.flat_map(|kind| {
            results.iter().filter_map(move |entry| Some((kind, entry, entry.body.as_ref()?)))
        });
        let of = |(kind, entry, body): (Kind, &Entry, &Body)| {
            Some((said(kind, body, &zone)?, entry.seen_by, entry.seen()))
        };
        let results = told.filter_map(of).collect();
        let line = Line::new(order, &items, today);
        let title = format!("{}, {} ({})", line.order.kind.name(), line.name(), line.order.accession);
        // Whether the client was told is the practice's own business, not the paper's.
        let paper: Vec<Gap> = line.gaps.iter().copied().filter(|gap| *gap != Gap::NotTold).collect();
        let open = paper.iter().map(|gap| gap.words(line.order.kind.done())).collect::<Vec<_>>().join(", ");
        let stage = if line.stage == Stage::Told { Stage::Reported } else { line.stage };
        all.push(Ordered { title, stage, open, results });
    }
    Ok(all)
}

/// What the paper says of an entry of this kind: of a bone scan the injection and the release.
fn said(kind: Kind, body: &Body, zone: &TimeZone) -> Option<String> {
    if body.kind != kind {
        return None;
    }
    match (kind, &body.scan) {
        (Kind::Report, _) => Some(words::reported(body)),
        (Kind::Scan, Some(one @ (Scan::Injection(_) | Scan::Release(_)))) => Some(scan::timed(one, zone)),
        (Kind::Scan, _) => None,
        (Kind::File, _) => Some(format!("file: {}", words::sentence(body, Units::default()))),
        _ => Some(words::sentence(body, Units::default())),
    }
}
