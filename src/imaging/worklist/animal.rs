//! A horse as DICOM identifies an animal (PS3.3 C.7.1.1, C.7.2.2).

use dicom_core::{
    DataElement, PrimitiveValue, Tag, VR,
    value::{DataSetSequence, Value},
};
use dicom_dictionary_std::tags;
use dicom_object::InMemDicomObject;

use crate::{
    catalogue::catalogue,
    horses::{Known, Sex},
    imaging::{join::record_number, store::worklist::Animal},
};

/// The longest component group of a name, and the longest line (PS3.5 6.2: PN, LO).
const LONGEST: usize = 64;
/// SNOMED CT, as coding schemes are designated (PS3.16 chapter 8).
const SCT: &str = "SCT";
/// PS3.16 CID 7454.
const HORSE: Code<'_> = Code { value: "35354009", scheme: SCT, meaning: "Equus caballus" };

/// A code with its meaning (PS3.3 8.8).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Code<'a> {
    pub value: &'a str,
    pub scheme: &'a str,
    pub meaning: &'a str,
}

impl Code<'_> {
    fn item(&self) -> InMemDicomObject {
        let mut item = InMemDicomObject::new_empty();
        text(&mut item, tags::CODE_VALUE, VR::SH, self.value);
        text(&mut item, tags::CODING_SCHEME_DESIGNATOR, VR::SH, self.scheme);
        text(&mut item, tags::CODE_MEANING, VR::LO, &line(self.meaning));
        item
    }
}

/// A sequence of codes; none is an empty sequence.
pub(super) fn codes(object: &mut InMemDicomObject, tag: Tag, codes: &[Code<'_>]) {
    sequence(object, tag, codes.iter().map(Code::item).collect());
}

pub(super) fn sequence(object: &mut InMemDicomObject, tag: Tag, items: Vec<InMemDicomObject>) {
    object.put(DataElement::new(tag, VR::SQ, Value::from(DataSetSequence::from(items))));
}

pub(super) fn text(object: &mut InMemDicomObject, tag: Tag, vr: VR, value: &str) {
    let value = if value.is_empty() { PrimitiveValue::Empty } else { PrimitiveValue::from(value) };
    object.put(DataElement::new(tag, vr, value));
}

/// Everything that is known of the horse and of who answers for it.
pub(super) fn put(object: &mut InMemDicomObject, animal: &Animal) {
    let (sex, neutered) = sex(animal);
    text(object, tags::PATIENT_NAME, VR::PN, &name(animal));
    text(object, tags::PATIENT_ID, VR::LO, &record_number(animal.horse_id));
    text(object, tags::PATIENT_BIRTH_DATE, VR::DA, &birth_date(&animal.born));
    text(object, tags::PATIENT_SEX, VR::CS, sex);
    text(object, tags::PATIENT_SEX_NEUTERED, VR::CS, neutered);
    let kg = animal.kg.map_or_else(String::new, |kg| format!("{kg:.1}"));
    text(object, tags::PATIENT_WEIGHT, VR::DS, &kg);
    other_ids(object, animal);
    codes(object, tags::PATIENT_SPECIES_CODE_SEQUENCE, &[HORSE]);
    text(object, tags::PATIENT_SPECIES_DESCRIPTION, VR::LO, HORSE.meaning);
    breed(object, animal);
    let (person, role, organisation) = responsible(animal);
    text(object, tags::RESPONSIBLE_PERSON, VR::PN, &person);
    text(object, tags::RESPONSIBLE_PERSON_ROLE, VR::CS, role);
    text(object, tags::RESPONSIBLE_ORGANIZATION, VR::LO, &organisation);
}

fn breed(object: &mut InMemDicomObject, animal: &Animal) {
    let known = animal.breed_code.as_deref().and_then(|code| {
        let breed = catalogue().breeds.iter().find(|breed| breed.code == code)?;
        Some(Code { value: &breed.code, scheme: &breed.scheme, meaning: &breed.name })
    });
    codes(object, tags::PATIENT_BREED_CODE_SEQUENCE, known.as_slice());
    text(object, tags::PATIENT_BREED_DESCRIPTION, VR::LO, &line(&animal.breed));
    // No code of CID 7481 is a studbook's, so none is claimed.
    sequence(object, tags::BREED_REGISTRATION_SEQUENCE, Vec::new());
}

/// Microchip and life number (PS3.3 C.7.1.1: the type says how the identifier is carried).
fn other_ids(object: &mut InMemDicomObject, animal: &Animal) {
    let carried = [(&animal.microchip, "RFID"), (&animal.ueln, "TEXT")];
    let items = carried.into_iter().filter(|(id, _)| !id.is_empty()).map(|(id, how)| {
        let mut item = InMemDicomObject::new_empty();
        text(&mut item, tags::PATIENT_ID, VR::LO, &line(id));
        text(&mut item, tags::TYPE_OF_PATIENT_ID, VR::CS, how);
        item
    });
    let items = items.collect();
    sequence(object, tags::OTHER_PATIENT_I_DS_SEQUENCE, items);
}

/// The family name or organisation of whoever answers for it, then its own name, and nothing else (PS3.5 6.2).
fn name(animal: &Animal) -> String {
    let owner = animal.owner.as_deref().map(component).unwrap_or_default();
    let owner = if is_person(animal) { family_and_given(&owner).0 } else { owner };
    let horse = component(&animal.name);
    let room = LONGEST.saturating_sub(horse.chars().count().min(LONGEST / 2) + 1);
    let whole = format!("{}^{horse}", shortened(&owner, room));
    shortened(&whole, LONGEST)
}

/// Person, role and organisation of whoever answers for it; what is not known is empty.
fn responsible(animal: &Animal) -> (String, &'static str, String) {
    let Some(owner) = animal.owner.as_deref().map(component) else {
        return (String::new(), "", String::new());
    };
    if !is_person(animal) {
        return (String::new(), "", shortened(&owner, LONGEST));
    }
    let (family, given) = family_and_given(&owner);
    let person = if given.is_empty() { family } else { format!("{family}^{given}") };
    (shortened(&person, LONGEST), "OWNER", String::new())
}

fn is_person(animal: &Animal) -> bool {
    animal.owner_kind.as_deref() == Some("person")
}

/// `Anna Marsh`: the last word is the family's.
fn family_and_given(name: &str) -> (String, String) {
    match name.rsplit_once(' ') {
        Some((given, family)) => (family.to_owned(), given.to_owned()),
        None => (name.to_owned(), String::new()),
    }
}

/// Stallion, gelding and mare as sex and whether it is neutered (PS3.3 C.7.2.2: `ALTERED`, `UNALTERED` or empty).
fn sex(animal: &Animal) -> (&'static str, &'static str) {
    let sex = match animal.sex {
        Sex::Male => "M",
        Sex::Female => "F",
        Sex::Unknown => "",
    };
    let neutered = match animal.neutered {
        Known::Yes => "ALTERED",
        Known::No => "UNALTERED",
        Known::Unknown => "",
    };
    (sex, neutered)
}

/// A year alone is no date.
fn birth_date(born: &str) -> String {
    let digits: String = born.chars().filter(char::is_ascii_digit).collect();
    if digits.len() == 8 { digits } else { String::new() }
}

/// A part of a name, without what would divide it (PS3.5 6.2: `\ ^ =`).
pub(super) fn component(text: &str) -> String {
    let plain = text.chars().map(|c| if matches!(c, '\\' | '^' | '=') || c.is_control() { ' ' } else { c });
    let plain: String = plain.collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// One line of at most 64 characters.
pub(super) fn line(text: &str) -> String {
    let plain: String = text.chars().map(|c| if c == '\\' || c.is_control() { ' ' } else { c }).collect();
    shortened(plain.trim(), LONGEST)
}

fn shortened(text: &str, most: usize) -> String {
    text.chars().take(most).collect::<String>().trim_end().to_owned()
}
