//! Time zones by their names in the IANA database.

use jiff::tz::{TimeZone, db};

/// The names to choose from: places and UTC, without the database's private ones.
pub(super) fn names() -> Vec<String> {
    db().available().map(|name| name.as_str().to_owned()).filter(|name| is_place(name)).collect()
}

/// The zone with this name, and the name as the database writes it.
pub(super) fn find(typed: &str) -> Option<(TimeZone, String)> {
    let zone = TimeZone::get(typed.trim()).ok()?;
    let name = zone.iana_name().filter(|name| is_place(name))?.to_owned();
    Some((zone, name))
}

/// The zone this machine is set to; UTC when it does not say.
pub fn here() -> (TimeZone, String) {
    TimeZone::system().iana_name().and_then(find).unwrap_or((TimeZone::UTC, "UTC".into()))
}

fn is_place(name: &str) -> bool {
    name == "UTC" || (name.contains('/') && !name.starts_with("posix/") && !name.starts_with("right/"))
}
