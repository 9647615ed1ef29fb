//! What the report of a visit says of its orders.

use super::{
    line::Line,
    stage::{Gap, Stage},
    store,
};
use crate::{
    App,
    clock::Day,
    ids::VisitId,
    papers::words::{self, Units},
    record::{self, Kind},
    web::Result,
};

/// An order with its results, in words.
pub struct Ordered {
    /// "radiographs, fetlock, left fore (L000012)"
    pub title: String,
    pub stage: Stage,
    /// What is still open about it.
    pub open: String,
    /// Reports, then what is shown by place.
    pub results: Vec<String>,
}

pub async fn of_visit(app: &App, visit: VisitId, today: Day) -> Result<Vec<Ordered>> {
    let db = app.db.read();
    let mut all = Vec::new();
    for order in store::of_visit(db, visit).await? {
        let items = store::items(db, order.id).await?;
        let (results, _) = record::results_of_order(db, order.id).await?;
        let bodies = || results.iter().filter_map(|entry| entry.body.as_ref());
        let reports = bodies().filter(|body| body.kind == Kind::Report).filter_map(|body| body.text.clone());
        let shown = bodies().filter(|body| body.kind == Kind::Shown);
        let shown = shown.map(|body| words::sentence(body, Units::default()));
        let results = reports.chain(shown).collect();
        let line = Line::new(order, &items, today);
        let title = format!("{}, {} ({})", line.order.kind.name(), line.name(), line.order.accession);
        // Whether the client was told is between the practice and the client.
        let paper: Vec<Gap> = line.gaps.iter().copied().filter(|gap| *gap != Gap::NotTold).collect();
        let open = paper.iter().map(|gap| gap.words(line.order.kind.done())).collect::<Vec<_>>().join(", ");
        all.push(Ordered { title, stage: line.stage, open, results });
    }
    Ok(all)
}
