//! Yards: where horses stand, and where a vet drives to.

pub mod store;

use crate::ids::ClientId;

/// A yard as entered and edited.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Details {
    pub name: String,
    /// The client who keeps it, if one does.
    pub client_id: Option<ClientId>,
    pub address: String,
    /// Latitude and longitude in decimal degrees, both or neither.
    pub spot: Option<(f64, f64)>,
    pub note: String,
}
