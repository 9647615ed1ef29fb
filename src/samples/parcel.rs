//! The form of a parcel: when samples were sent, by whom to which laboratory, and when they arrived.

use super::{
    case::Case,
    typed::{Typed, some},
    when,
};
use crate::{
    clock::Day,
    record::{Body, Kind, Parcel},
    web::{Check, Errors},
};

const LONGEST: usize = 200;

pub(super) fn check(typed: &Typed, case: &Case) -> Result<Body, Errors> {
    let mut check = Check::new();
    let sent_on = when::past_day(&mut check, "sent_on", &typed.sent_on, case.today());
    let laboratory = check.needed("sent_to", &typed.sent_to, LONGEST, "Say to which laboratory.");
    let courier = check.line("courier", &typed.courier, LONGEST);
    let received_on = match typed.received_on.trim() {
        "" => None,
        _ => received(&mut check, "received_on", &typed.received_on, sent_on, case),
    };
    let reason = typed.read_why(&mut check, "parcel_why", &typed.parcel_why);
    check.done(Body {
        order: Some(case.order.id),
        parcel: Some(Parcel {
            sent_on: sent_on.map(|day| day.to_string()).unwrap_or_default(),
            courier: some(courier),
            laboratory,
            received_on: received_on.map(|day| day.to_string()),
        }),
        reason,
        ..Body::new(Kind::Parcel)
    })
}

/// The parcel as it stands, arrived on the day that was typed.
pub(super) fn check_arrival(typed: &Typed, case: &Case, sent: &Body) -> Result<Body, Errors> {
    let mut check = Check::new();
    let mut parcel = sent.parcel.clone().unwrap_or_default();
    let sent_on = parcel.sent_on.parse().ok();
    let day = received(&mut check, "arrived_on", &typed.arrived_on, sent_on, case);
    parcel.received_on = day.map(|day| day.to_string());
    let reason = Some("the laboratory has received it".to_owned());
    check.done(Body { parcel: Some(parcel), reason, ..sent.clone() })
}

fn received(check: &mut Check, field: &str, typed: &str, sent_on: Option<Day>, case: &Case) -> Option<Day> {
    let day = when::past_day(check, field, typed, case.today())?;
    if sent_on.is_some_and(|sent| day < sent) {
        check.errors.add(field, "This is before it was sent.");
    }
    Some(day)
}
