//! How far it is from place to place.

use serde::{Deserialize, Serialize};

use super::road::figures;
use crate::reasoning::{
    Refused,
    road::{EARTH_KM, Rules, Spot, minutes, road_km, straight_km},
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    from: Spot,
    to: Spot,
    circuity: Option<f64>,
    speed_kmh: Option<f64>,
}

#[derive(Serialize)]
pub(super) struct Output {
    straight_km: f64,
    road_km: f64,
    minutes: f64,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let rules = Rules::shipped();
    let straight = straight_km(input.from.checked("from")?, input.to.checked("to")?);
    let road = road_km(straight, input.circuity.unwrap_or(rules.circuity))?;
    let minutes = minutes(road, input.speed_kmh.unwrap_or(rules.speed_kmh))?;
    Ok(Output { straight_km: straight, road_km: road, minutes })
}

pub(super) fn help() -> String {
    format!(
        "In:\n  from       {{lat, lon}} in decimal degrees, north and east positive\n  to         the same\n  circuity   road \
         for each km as the crow flies, 1 or more; as below when left out\n  speed_kmh  speed on the road, km/h; as below when \
         left out\n\n\
         Out:\n  straight_km  along the great circle, haversine with R = {EARTH_KM} km\n  road_km      straight_km x \
         circuity\n  minutes      road_km / speed_kmh x 60\n\n\
         Figures:\n{}",
        figures()
    )
}
