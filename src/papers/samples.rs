//! Samples and what was measured in them, as words without a clock: its times are the page's, which knows the zone.

use super::words::join;
use crate::{
    catalogue::{catalogue, diagnostics::ResultClass},
    record::{Body, Drawn},
};

/// "semimembranosus, left; open biopsy; in 10 % neutral buffered formalin; by Vala Test"
pub fn taken(body: &Body) -> String {
    let sample = body.sample.clone().unwrap_or_default();
    let what = join(&[&muscle(body), side(body)], ", ");
    let into = sample.into.map(|into| format!("in {into}")).unwrap_or_default();
    let by = body.held_by.as_deref().map(|who| format!("by {who}")).unwrap_or_default();
    join(&[&what, &sample.method.unwrap_or_default(), &into, &by], "; ")
}

/// The item that was ordered, or what was written in its place.
pub fn muscle(body: &Body) -> String {
    let code = body.code.as_deref().unwrap_or_default();
    let item = catalogue().diagnostics.item(code).map_or(code, |row| &row.name);
    join(&[item, body.text.as_deref().unwrap_or_default()], ": ")
}

pub fn side(body: &Body) -> &'static str {
    match body.side.as_deref() {
        Some("L") => "left",
        Some("R") => "right",
        _ => "",
    }
}

/// "to Harbour Lab on 2026-03-11, by the night courier; received on 2026-03-12"
pub fn sent(body: &Body) -> String {
    let Some(parcel) = &body.parcel else { return String::new() };
    let to = format!("to {} on {}", parcel.laboratory, parcel.sent_on);
    let courier = parcel.courier.as_deref().map(|courier| format!("by {courier}")).unwrap_or_default();
    let received = parcel.received_on.as_deref().map(|day| format!("received on {day}")).unwrap_or_default();
    join(&[&join(&[&to, &courier], ", "), &received], "; ")
}

/// "CK 770 U/L, after exercise; Harbour Lab, its range 100 to 300"
pub fn enzyme(body: &Body) -> String {
    let code = body.code.as_deref().unwrap_or_default();
    let (Some(number), Some(drawn)) = (body.number, &body.drawn) else { return code.to_owned() };
    let said = join(&[&format!("{code} {number} {}", drawn.unit), when(&drawn.when)], ", ");
    let range = range(drawn);
    let range = if range.is_empty() { range } else { format!("its range {range}") };
    join(&[&said, &join(&[&drawn.laboratory, &range], ", ")], "; ")
}

/// When the blood was drawn, by its key.
pub fn when(key: &str) -> &'static str {
    match key {
        "rest" => "at rest",
        "before" => "before exercise",
        "after" => "after exercise",
        _ => "",
    }
}

/// "100 to 300", "from 100", "up to 300"; empty where the laboratory's range is not known.
pub fn range(drawn: &Drawn) -> String {
    match (drawn.low, drawn.high) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (Some(low), None) => format!("from {low}"),
        (None, Some(high)) => format!("up to {high}"),
        (None, None) => String::new(),
    }
}

/// What was typed into a submission sheet, answer by answer.
pub fn answers(body: &Body) -> String {
    body.answers.values().map(String::as_str).collect::<Vec<_>>().join("; ")
}

/// The classes that a report of muscle was sorted into.
pub fn classes(body: &Body) -> Vec<&'static ResultClass> {
    let table = &catalogue().diagnostics.samples.result_classes;
    body.qualities.iter().filter_map(|code| table.get(code)).collect()
}
