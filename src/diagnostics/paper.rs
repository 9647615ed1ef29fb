//! What the report of a visit says of its orders.

use super::{
    line::Line,
    stage::{Gap, Stage},
    store,
};
use crate::{
    App,
    clock::{At, Day},
    ids::{StaffId, VisitId},
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
    /// Reports, measured enzymes, then what is shown by place: words, whose they are, and when they were entered.
    pub results: Vec<(String, StaffId, At)>,
}

pub async fn of_visit(app: &App, visit: VisitId, today: Day) -> Result<Vec<Ordered>> {
    let db = app.db.read();
    let mut all = Vec::new();
    for order in store::of_visit(db, visit).await? {
        let items = store::items(db, order.id).await?;
        let (results, _) = record::results_of_order(db, order.id).await?;
        let of = |kind| {
            let said = results.iter().filter_map(|entry| Some((entry, entry.body.as_ref()?)));
            said.filter(move |(_, body)| body.kind == kind).map(move |(entry, body)| {
                let words = match kind {
                    Kind::Report => words::reported(body),
                    _ => words::sentence(body, Units::default()),
                };
                (words, entry.seen_by, entry.seen())
            })
        };
        let results = of(Kind::Report).chain(of(Kind::Enzyme)).chain(of(Kind::Shown)).collect();
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
