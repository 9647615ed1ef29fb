//! What the record says to each name of a letter.

use std::collections::BTreeMap;

use crate::{
    App, accounts,
    catalogue::letters::Asked,
    clock::Day,
    formulary,
    horses::{self, Card, PartyRole},
    ids::{StaffId, VisitId},
    papers::told::Told,
    practice,
    visits::{self, State, Visit},
    web::Result,
};

pub(super) struct Facts {
    pub visit: Visit,
    pub card: Card,
    pub today: Day,
    /// The day of the visit.
    pub day: Day,
    parties: Vec<horses::store::Party>,
    told: BTreeMap<&'static str, String>,
}

impl Facts {
    pub(super) async fn load(app: &App, id: VisitId) -> Result<Self> {
        let db = app.db.read();
        let visit = visits::store::get(db, id).await?;
        let practice = practice::store::get(db).await?;
        let papers = formulary::store::prescribing(db).await?;
        let card = horses::store::card(db, visit.horse_id).await?;
        let (details, _) = horses::store::details(db, visit.horse_id).await?;
        let complaints = visits::store::complaints(db, id).await?;
        let today = app.clock.now().day(&practice.zone);
        let day = visit.starts_at.day(&practice.zone);
        let told = Told::of_visit(app, &visit, today).await?;
        let identity =
            [("microchip", &details.microchip), ("UELN", &details.ueln), ("passport", &details.passport)];
        let identity = identity.into_iter().filter(|(_, words)| !words.is_empty());
        let complaints = complaints.into_iter().map(|one| format!("“{}”", one.words)).collect::<Vec<_>>();
        let names = [
            ("practice", practice.name.clone()),
            ("practice_address", papers.address),
            ("practice_phone", papers.phone),
            ("vet", vet(app, visit.vet_id).await?),
            ("today", today.words()),
            ("horse", card.name.clone()),
            ("description", joined([card.line(day), details.breed.clone()])),
            (
                "identity",
                identity.map(|(what, words)| format!("{what} {words}")).collect::<Vec<_>>().join(", "),
            ),
            ("owner", card.owner.clone().unwrap_or_default()),
            ("visit_day", day.words()),
            ("visit_place", told.place.clone()),
            ("complaint", complaints.join("\n")),
        ];
        Ok(Facts {
            parties: horses::store::parties(db, visit.horse_id).await?,
            told: names.into_iter().chain(lists(&told)).map(|(name, words)| (name, plain(&words))).collect(),
            visit,
            card,
            today,
            day,
        })
    }

    /// What a name stands for; `None` where the record knows no such name.
    pub(super) fn known(&self, name: &str) -> Option<String> {
        self.told.get(name).cloned()
    }

    /// What an answer begins with.
    pub(super) fn proposed(&self, asked: &Asked) -> String {
        if asked.months > 0 {
            let span = jiff::Span::new().months(asked.months);
            return self.day.0.checked_add(span).map_or_else(|_| String::new(), |day| Day(day).to_string());
        }
        let role = asked.from.parse::<PartyRole>().ok();
        let party = self.parties.iter().find(|party| Some(party.role) == role);
        party.map_or_else(String::new, |party| party.name.clone())
    }
}

/// The veterinarian of the visit, with what they sign with.
async fn vet(app: &App, vet: Option<StaffId>) -> Result<String> {
    let Some(vet) = vet else { return Ok(String::new()) };
    let db = app.db.read();
    let name = accounts::store::name_of(&accounts::store::all(db).await?, vet);
    Ok(joined([name, formulary::store::qualification(db, vet).await?]))
}

/// What was recorded, a list each.
fn lists(told: &Told) -> [(&'static str, String); 11] {
    [
        ("vital_signs", told.vital_signs.join("; ")),
        ("findings", listed(&told.findings, "nothing out of the ordinary was recorded")),
        ("movement", listed(&told.movement, "")),
        ("flexion", listed(&told.flexion, "")),
        ("blocks", listed(&told.blocks, "")),
        ("images", listed(&told.images, "none")),
        ("treatments", listed(&told.treatments, "nothing was given")),
        ("problems", listed(&told.problems, "no assessment is recorded yet")),
        ("plan", listed(&told.plan, "")),
        ("follow_ups", listed(&told.follow_ups, "")),
        ("notes", listed(&told.notes, "")),
    ]
}

/// The visits before this one since the horse came to its present owner, one a line; without leave, that they are not told.
pub(super) async fn earlier(app: &App, visit: &Visit, leave: bool) -> Result<String> {
    if !leave {
        return Ok("Not told: no leave for it is noted.".to_owned());
    }
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let since = horses::store::owned_since(db, visit.horse_id).await?;
    let mut lines = Vec::new();
    for one in visits::store::of_horse(db, visit.horse_id).await? {
        let own = since.is_none_or(|since| one.starts_at >= since);
        if own && one.starts_at < visit.starts_at && one.state == State::Signed {
            lines.push(format!("{}: {}", one.starts_at.day(&zone).words(), Told::in_short(app, &one).await?));
        }
    }
    Ok(plain(&listed(&lines, "none for the present owner")))
}

fn joined(parts: [String; 2]) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

fn listed(lines: &[String], none: &str) -> String {
    if lines.is_empty() {
        return none.to_owned();
    }
    lines.iter().map(|line| format!("- {}", line.replace('\n', " "))).collect::<Vec<_>>().join("\n")
}

/// Without braces, which would be read as names when the letter is kept.
fn plain(words: &str) -> String {
    words.replace('{', "(").replace('}', ")")
}
