//! Days that speak against taking a sample: warnings beside the planned day, which a person decides about. Pure.

use jiff::civil;

use super::{Laboratory, Plan};
use crate::{catalogue::diagnostics::Weekday, clock::Day};

pub(super) fn weekday(day: Day) -> Weekday {
    match day.0.weekday() {
        civil::Weekday::Monday => Weekday::Mon,
        civil::Weekday::Tuesday => Weekday::Tue,
        civil::Weekday::Wednesday => Weekday::Wed,
        civil::Weekday::Thursday => Weekday::Thu,
        civil::Weekday::Friday => Weekday::Fri,
        civil::Weekday::Saturday => Weekday::Sat,
        civil::Weekday::Sunday => Weekday::Sun,
    }
}

/// What speaks against this day, a sentence each. Samples arrive on the day they are taken, or on the next by night.
pub(super) fn warnings(planned: Day, plan: &Plan, laboratory: Option<&Laboratory>) -> Vec<String> {
    let day = weekday(planned);
    let mut all = Vec::new();
    if day.is_weekend() {
        all.push(format!("{} is at a weekend: ask whether anybody takes the sample in.", planned.long()));
    }
    let protocol = plan.protocol();
    if let Some(row) = protocol.filter(|row| !row.take_days.is_empty() && !row.take_days.contains(&day)) {
        let days = Weekday::words(&row.take_days);
        all.push(format!("Under “{}” it is taken {days}; this is a {}.", row.name, day.name()));
    }
    let own = laboratory.map(|one| (one.name.clone(), one.days())).filter(|(_, days)| !days.is_empty());
    let of_protocol = || protocol.map(|row| (format!("“{}”", row.name), row.arrive_days.clone()));
    if let Some((whose, days)) = own.or_else(of_protocol).filter(|(_, days)| !days.is_empty()) {
        let next = weekday(planned.plus_days(1));
        let refused: Vec<&str> =
            [day, next].into_iter().filter(|one| !days.contains(one)).map(Weekday::name).collect();
        if !refused.is_empty() {
            let days = Weekday::words(&days);
            let refused = refused.join(" or ");
            all.push(format!(
                "For {whose} samples arrive {days}: not on {refused}, the same day or by night."
            ));
        }
    }
    all
}
