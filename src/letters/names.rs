//! The names that words may hold, and what each stands for.

/// Name and meaning, in the order of a letter. `earlier` is there where a letter may tell history.
pub(super) const NAMES: [(&str, &str); 24] = [
    ("practice", "the practice's name"),
    ("practice_address", "its address, as papers say it"),
    ("practice_phone", "its telephone number"),
    ("vet", "the veterinarian of the visit, with what they sign with"),
    ("today", "the day on which the letter is written"),
    ("horse", "the horse's name"),
    ("description", "its colour, sex, age and breed"),
    ("identity", "microchip, UELN and passport"),
    ("owner", "its owner"),
    ("visit_day", "the day of the visit"),
    ("visit_place", "the yard, or the clinic"),
    ("complaint", "what was said when it was booked"),
    ("vital_signs", "temperature, pulse and the like"),
    ("findings", "what was found, a place a line"),
    ("movement", "how it went, with grades"),
    ("flexion", "the answers to flexion tests"),
    ("blocks", "blocks with their answers"),
    ("images", "what was ordered and what it shows"),
    ("treatments", "what was given or done"),
    ("problems", "the assessment"),
    ("plan", "the plan"),
    ("follow_ups", "what is due, with its day"),
    ("notes", "what was told and noted at the visit"),
    (EARLIER, "earlier visits for the present owner, one a line; only with leave"),
];

/// Told only with leave.
pub(super) const EARLIER: &str = "earlier";
