//! The volume of a lesion over zones that follow each other, each as long as it is on this horse.

use super::store::Kept;
use crate::{
    catalogue::{Limb, Table, catalogue, diagnostics::Zone},
    reasoning::tendon::lesion_volume_mm3,
};

const MM: f64 = 10.0;
/// Under this name the length is kept with what was traced, in mm.
pub(super) const ZONE_MM: &str = "zone_mm";

/// The zones of this limb's scheme, proximal to distal.
fn scheme(limb: Limb) -> &'static Table<Zone> {
    let zones = &catalogue().diagnostics.zones;
    if limb.is_fore() { &zones.fore } else { &zones.hind }
}

/// How long a zone is nominally, in mm; `None` where the scheme names no lengths.
pub(super) fn nominal_mm(limb: Limb, zone: &str) -> Option<f64> {
    let row = scheme(limb).get(zone)?;
    Some((row.to_cm? - row.from_cm?) * MM)
}

/// The nominal length of the first zone: what is proposed before anybody has measured the horse.
pub(super) fn first_mm(limb: Limb) -> Option<f64> {
    nominal_mm(limb, &scheme(limb).first()?.code)
}

/// What was kept with a tracing, where it was.
pub(super) fn own_mm(kept: &Kept) -> Option<f64> {
    kept.marked.with.get(ZONE_MM)?.parse().ok()
}

/// The lesion's volume where zones of one length follow each other; the zones come proximal to distal.
pub(super) fn volume(zones: &[&Kept]) -> Option<String> {
    let traced: Vec<(&Kept, f64)> =
        zones.iter().filter_map(|kept| Some((*kept, kept.measure("lesion_mm2")?))).collect();
    let limb: Limb = traced.first()?.0.limb.parse().ok()?;
    let scheme: &[Zone] = scheme(limb);
    let first = scheme.iter().position(|zone| zone.code == traced[0].0.zone())?;
    let rows = scheme.get(first..first + traced.len())?;
    let follow = rows.iter().zip(&traced).all(|(row, (kept, _))| row.code == kept.zone());
    let lengths = traced.iter().map(|(kept, _)| own_mm(kept).or_else(|| nominal_mm(limb, kept.zone())));
    let lengths: Vec<f64> = lengths.collect::<Option<_>>()?;
    let spacing = *lengths.first()?;
    let even = lengths.iter().all(|length| (length - spacing).abs() < 1e-6);
    let lesions: Vec<f64> = traced.iter().map(|(_, lesion)| *lesion).collect();
    if !follow || !even || traced.len() < 2 || lesions.iter().all(|area| *area <= 0.0) {
        return None;
    }
    let volume = lesion_volume_mm3(&lesions, spacing).ok()?;
    let nominal = nominal_mm(limb, traced[0].0.zone()).is_some_and(|length| (length - spacing).abs() < 1e-6);
    let zones = if nominal { "nominal zones" } else { "zones" };
    Some(format!("lesion about {volume:.0} mm³, with {zones} of {} mm", (spacing * MM).round() / MM))
}
