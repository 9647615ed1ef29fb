//! A horse's face, and a horse out of two.

use sqlx::SqlitePool;

use super::{
    Kind,
    face::{Face, Field},
    store,
};
use crate::{
    catalogue::catalogue,
    db::Tx,
    horses::{self, Card, Details, Status},
    ids::HorseId,
};

/// The fields as they stand beside each other. What belongs together is one: a sex and whether it is gelded.
fn fields(d: &Details, card: &Card) -> Vec<Field> {
    let field = |key, label, value: &str| Field { key, label, value: value.to_owned() };
    let height = d.height_cm.map_or_else(String::new, |cm| horses::height_words(cm, "cm"));
    let list = &catalogue().horse.temperament;
    let named = |code: &str| list.get(code).map_or(code.to_owned(), |row| row.name.clone());
    let warnings = d.temperament.split_whitespace().map(named).collect::<Vec<_>>().join(", ");
    let status =
        if card.status == Status::Here { "here".into() } else { card.status_words().unwrap_or_default() };
    vec![
        field("name", "Name", &d.name),
        field("stable_name", "Stable name", &d.stable_name),
        field("sex", "Sex", &format!("{}, gelded or spayed: {}", d.sex, d.neutered)),
        field("born", "Born", &d.born),
        field("breed", "Breed", &d.breed),
        field("colour", "Colour", &d.colour),
        field("markings", "Markings", &d.markings),
        field("height", "Height", &height),
        field("work_use", "Use", &d.work_use),
        field("work_level", "Level of work", &d.work_level),
        field("microchip", "Microchip", &d.microchip),
        field("microchip_other", "Other transponder", &d.microchip_other),
        field("ueln", "UELN", &d.ueln),
        field("passport", "Passport", &d.passport),
        field("food_chain", "Food chain", card.food_chain_words()),
        field("insurance", "Insurance", &d.insurance),
        field("temperament", "Warnings", &warnings),
        field("temperament_note", "Note for whoever handles it", &d.temperament_note),
        field("yard", "Stands at", card.yard.as_deref().unwrap_or_default()),
        field("status", "Status", &status),
    ]
}

pub(super) async fn face(db: &SqlitePool, id: HorseId) -> anyhow::Result<Face> {
    let (details, version) = horses::store::details(db, id).await?;
    let card = horses::store::card(db, id).await?;
    let people = horses::store::parties(db, id).await?;
    let people = people.iter().map(|p| format!("{} ({})", p.name, p.role)).collect::<Vec<_>>().join("; ");
    let hangs = store::hangs(&mut *db.acquire().await?, Kind::Horse, id.into()).await?;
    let fields = fields(&details, &card);
    Ok(Face { id: id.into(), name: details.name, version, fields, kept: vec![("People", people)], hangs })
}

/// The one that stays, with what is taken of the other.
pub(super) async fn put_together(
    tx: &mut Tx,
    (here, version): (HorseId, i64),
    there: HorseId,
    taken: &[&str],
) -> anyhow::Result<u64> {
    let (mut kept, _) = horses::store::details(&mut **tx, here).await?;
    let (other, _) = horses::store::details(&mut **tx, there).await?;
    for key in taken {
        take(&mut kept, &other, key);
    }
    let done = horses::store::update(tx, here, version, &kept).await?;
    if done == 1 && taken.contains(&"status") {
        store::take_status(tx, here, there).await?;
    }
    Ok(done)
}

fn take(kept: &mut Details, other: &Details, key: &str) {
    match key {
        "name" => kept.name.clone_from(&other.name),
        "stable_name" => kept.stable_name.clone_from(&other.stable_name),
        "sex" => (kept.sex, kept.neutered) = (other.sex, other.neutered),
        "born" => kept.born.clone_from(&other.born),
        "breed" => {
            kept.breed.clone_from(&other.breed);
            kept.breed_code.clone_from(&other.breed_code);
        }
        "colour" => kept.colour.clone_from(&other.colour),
        "markings" => kept.markings.clone_from(&other.markings),
        "height" => kept.height_cm = other.height_cm,
        "work_use" => kept.work_use.clone_from(&other.work_use),
        "work_level" => kept.work_level.clone_from(&other.work_level),
        "microchip" => kept.microchip.clone_from(&other.microchip),
        "microchip_other" => kept.microchip_other.clone_from(&other.microchip_other),
        "ueln" => kept.ueln.clone_from(&other.ueln),
        "passport" => kept.passport.clone_from(&other.passport),
        "food_chain" => kept.food_chain.clone_from(&other.food_chain),
        "insurance" => kept.insurance.clone_from(&other.insurance),
        "temperament" => kept.temperament.clone_from(&other.temperament),
        "temperament_note" => kept.temperament_note.clone_from(&other.temperament_note),
        "yard" => kept.yard_id = other.yard_id,
        _ => {}
    }
}
