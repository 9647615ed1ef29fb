//! The rounds of the vets: their hours and vehicles, the roads as this practice knows them, where a visit fits into the
//! coming days, the order in which a day is driven, and the drives that were made.

mod drives;
mod figures;
pub mod hours;
mod member;
pub mod nearest;
pub mod planner;
mod retime;
mod roads;
pub mod route;
pub mod store;
pub mod units;

use axum::{
    Router,
    routing::{get, post},
};

use sqlx::SqliteExecutor;

use crate::{App, reasoning::road::Rules};
pub use drives::arrived;
pub use nearest::Near;
pub use planner::{Offer, Planner};

/// The numbers of the roads as the practice has them.
pub async fn rules(db: impl SqliteExecutor<'_>) -> sqlx::Result<Rules> {
    let sets = store::figures(db).await?;
    Ok(Rules::with(sets.into_iter().filter_map(|set| Some((set.code, set.value?))).collect()))
}

pub fn router() -> Router<App> {
    Router::new()
        .route("/practice/road", get(roads::show).post(figures::set))
        .route("/practice/road/place", post(roads::place))
        .route("/practice/staff/{id}/round", get(member::show).post(member::change))
        .route("/routes", post(retime::accept))
        .route("/departures", post(drives::left))
}
