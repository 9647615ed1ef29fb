//! A medicine in words: "administered: flunixin, IV, 550 mg (11 ml of 50 mg/ml), by 500 kg; batch A1".

use crate::{
    catalogue::catalogue,
    reasoning::dose::{Mg, MgPerMl, Ml},
    record::{Body, Death, Dosed, How},
};

/// The whole of it, without its time.
pub fn words(dosed: &Dosed) -> String {
    let mut words = format!("{}: {}, {}, {}", dosed.how.word(), dosed.name, dosed.route, amount(dosed));
    if let (Some(kg), Some(from)) = (dosed.kg, &dosed.kg_from) {
        words = format!("{words}, by {kg} kg ({from})");
    }
    let more = [
        dosed.quantity.clone(),
        dosed.directions.clone(),
        dosed.batch.as_ref().map(|batch| format!("batch {batch}")),
        dosed.expires.as_ref().map(|day| format!("expires {day}")),
        dosed.waste_ml.map(|ml| format!("{ml} ml wasted")),
        dosed.withdrawal_days.map(|days| format!("{days} days until slaughter")),
        dosed.off_label.then(|| "off the label here".to_owned()),
    ];
    more.into_iter().flatten().fold(words, |words, more| format!("{words}; {more}"))
}

/// "550 mg (11 ml of 50 mg/ml) every 24 h for 5 days"
pub fn amount(dosed: &Dosed) -> String {
    let mut words = Mg(dosed.mg).to_string();
    if let (Some(ml), Some(strength)) = (dosed.ml, dosed.mg_per_ml) {
        words = format!("{words} ({} of {})", Ml(ml), MgPerMl(strength));
    }
    if let Some(hours) = dosed.every_h.filter(|_| dosed.how != How::Administered || dosed.days.is_some()) {
        words = format!("{words} every {hours} h");
    }
    match dosed.days {
        Some(1) => format!("{words} for 1 day"),
        Some(days) => format!("{words} for {days} days"),
        None => words,
    }
}

/// How a horse was put down, without its time.
pub(super) fn death(death: &Death) -> String {
    let method =
        catalogue().care.methods.get(&death.method).map_or(death.method.as_str(), |row| row.name.as_str());
    let mut words =
        format!("put down by {method}: {}; leave by {}, {}", death.why, death.leave_by, death.leave_how);
    for (label, more) in [("with", &death.medicine), ("batch", &death.batch), ("passport", &death.passport)] {
        if let Some(more) = more {
            words = format!("{words}; {label} {more}");
        }
    }
    let signs = death.signs.join(", ");
    format!(
        "{words}; death made sure of by {}: {signs}; body: {}; insurer: {}",
        death.confirmed_by, death.remains, death.insurer
    )
}

/// A treatment: a medicine, or what was written of another one.
pub(super) fn treatment(body: &Body) -> String {
    body.dosed.as_deref().map(words).or_else(|| body.text.clone()).unwrap_or_default()
}
