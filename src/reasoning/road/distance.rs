//! How far it is over the ground, and what a road makes of it.

use serde::Deserialize;

use crate::reasoning::{Refused, refused::positive};

/// The mean radius of the earth (IUGG), in kilometres.
pub const EARTH_KM: f64 = 6371.0088;

/// A place on the earth, in decimal degrees; north and east are positive.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spot {
    pub lat: f64,
    pub lon: f64,
}

impl Spot {
    /// The spot, if it is one; `name` is how the caller calls it.
    pub fn checked(self, name: &str) -> Result<Self, Refused> {
        for (degree, most, part) in [(self.lat, 90.0, "lat"), (self.lon, 180.0, "lon")] {
            if degree.is_nan() || degree.abs() > most {
                let what = format!("must be from -{most} to {most} degrees, not {degree}");
                return Err(Refused::new(format!("{name}.{part}"), what));
            }
        }
        Ok(self)
    }
}

/// Kilometres along the great circle (haversine, on a sphere of the mean radius).
pub fn straight_km(from: Spot, to: Spot) -> f64 {
    let (north, east) = ((to.lat - from.lat).to_radians(), (to.lon - from.lon).to_radians());
    let half = (north / 2.0).sin().powi(2)
        + from.lat.to_radians().cos() * to.lat.to_radians().cos() * (east / 2.0).sin().powi(2);
    // Rounding may push the sum over 1 between opposite ends of the earth.
    2.0 * EARTH_KM * half.clamp(0.0, 1.0).sqrt().asin()
}

/// Kilometres of road for a straight line.
pub fn road_km(straight_km: f64, circuity: f64) -> Result<f64, Refused> {
    if circuity >= 1.0 && circuity.is_finite() {
        Ok(straight_km * circuity)
    } else {
        Err(Refused::new("circuity", format!("must be 1 or more, not {circuity}")))
    }
}

/// Minutes of driving.
pub fn minutes(road_km: f64, speed_kmh: f64) -> Result<f64, Refused> {
    Ok(road_km / positive("speed_kmh", speed_kmh)? * 60.0)
}
