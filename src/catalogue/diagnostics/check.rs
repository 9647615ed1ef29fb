//! What must hold over the files of diagnostics: every code named exists, every projection is one of its study's part.

use super::{Diagnostics, Item, Profile, Purchase, PurchasePart, Study, StudyKind, StudyLimbs};
use crate::catalogue::{
    Catalogue, CatalogueError, Group, Limb, Projection, Where,
    check::{known, require},
};

type Checked = Result<(), CatalogueError>;

pub(super) const STUDIES: &str = "diagnostics/radiographs.toml, ultrasound.toml, scans.toml, laboratory.toml";

pub(super) fn check(read: &Diagnostics, catalogue: &Catalogue) -> Checked {
    read.studies.iter().try_for_each(|row| study(read, catalogue, row))?;
    for row in &catalogue.localise.imaging {
        let answered = !read.answering(&row.code, None).is_empty();
        require(answered, "localise/imaging.toml", &row.code, "is a set that no study answers")?;
    }
    read.items.iter().try_for_each(|row| item(read, row))?;
    for row in &read.suspicions {
        known("diagnostics/biopsy.toml", &row.code, &read.items, &row.items)?;
    }
    for row in &read.protocols {
        known("diagnostics/biopsy.toml", &row.code, &read.items, &row.items)?;
        require(!row.steps.is_empty(), "diagnostics/biopsy.toml", &row.code, "has no steps")?;
        let rises = row.air_min.is_none_or(|[from, to]| 0.0 <= from && from <= to);
        require(rises, "diagnostics/biopsy.toml", &row.code, "is to end in air before it begins")?;
    }
    read.purchase.iter().try_for_each(|row| purchase(read, row))?;
    for row in &read.views {
        view(&row.code, &row.printed, &row.position)?;
    }
    read.profiles.iter().try_for_each(|row| profile(read, row))
}

fn study(read: &Diagnostics, catalogue: &Catalogue, study: &Study) -> Checked {
    let row = study.code.as_str();
    known(STUDIES, row, &catalogue.regions, &study.places)?;
    known(STUDIES, row, &catalogue.localise.imaging, &study.sets)?;
    known(STUDIES, row, &catalogue.cautions, &study.cautions)?;
    known(STUDIES, row, &read.prepare, &study.prepare)?;
    known(STUDIES, row, &read.anatomy, study.anatomy_fore.iter().chain(&study.anatomy_hind))?;
    require(study.all_items().next().is_some(), STUDIES, row, "has no items")?;
    let mut codes: Vec<&String> = study.all_items().collect();
    codes.sort();
    require(codes.windows(2).all(|pair| pair[0] != pair[1]), STUDIES, row, "has an item twice")?;
    for code in &study.cautions {
        let shown = catalogue.caution(code).is_some_and(|caution| caution.shown_at.contains(&Where::Order));
        require(shown, STUDIES, row, &format!("names the caution `{code}`, which is not shown at an order"))?;
    }
    for code in &study.places {
        let group = catalogue.region(code).map(|region| region.group);
        let fits = match study.limbs {
            StudyLimbs::Fore => group != Some(Group::Hind),
            StudyLimbs::Hind => group != Some(Group::Fore),
            StudyLimbs::Any | StudyLimbs::Trunk | StudyLimbs::Whole => true,
        };
        require(fits, STUDIES, row, &format!("is proposed from `{code}`, which is on other limbs"))?;
    }
    anatomy(study)?;
    if study.kind == StudyKind::Radiograph { projections(study) } else { items(read, study) }
}

/// An order on a limb is coded, so the code must be there for it.
fn anatomy(study: &Study) -> Checked {
    let (fore, hind) = (study.anatomy_fore.is_some(), study.anatomy_hind.is_some());
    let fits = match study.limbs {
        StudyLimbs::Fore => !hind,
        StudyLimbs::Hind => !fore,
        StudyLimbs::Any => fore == hind,
        StudyLimbs::Trunk | StudyLimbs::Whole => study.anatomy_fore == study.anatomy_hind,
    };
    let coded = fore || hind || study.kind != StudyKind::Radiograph;
    require(
        fits && coded,
        STUDIES,
        &study.code,
        "has not the code of the part of the body that it is done on",
    )
}

fn projections(study: &Study) -> Checked {
    let (row, limbs) = (study.code.as_str(), limbs_of(study));
    require(study.part.is_some(), STUDIES, row, "is a radiograph of no part")?;
    for code in study.all_items() {
        let projection = Projection::parse(code).map_err(|error| wrong(STUDIES, row, &error))?;
        require(projection.code() == *code, STUDIES, row, &format!("writes `{code}` for `{projection}`"))?;
        for limb in &limbs {
            let Some(part) = study.part_on(*limb) else { continue };
            let on_limb =
                if limb.is_some_and(|limb| !limb.is_fore()) { projection.hind() } else { projection.clone() };
            on_limb.suits(part).map_err(|error| wrong(STUDIES, row, &error))?;
        }
    }
    Ok(())
}

fn limbs_of(study: &Study) -> Vec<Option<Limb>> {
    match study.limbs {
        StudyLimbs::Fore => vec![Some(Limb::LF)],
        StudyLimbs::Hind => vec![Some(Limb::LH)],
        StudyLimbs::Any => vec![Some(Limb::LF), Some(Limb::LH)],
        StudyLimbs::Trunk | StudyLimbs::Whole => vec![None],
    }
}

fn items(read: &Diagnostics, study: &Study) -> Checked {
    let row = study.code.as_str();
    known(STUDIES, row, &read.items, study.all_items())?;
    require(study.part.is_none(), STUDIES, row, "has a part, which only radiographs have")?;
    let other = study.all_items().find(|code| read.item(code).is_some_and(|item| item.kind != study.kind));
    match other {
        Some(code) => {
            Err(CatalogueError::row(STUDIES, row, &format!("names `{code}`, which is of another kind")))
        }
        None => Ok(()),
    }
}

fn item(read: &Diagnostics, item: &Item) -> Checked {
    let (file, row) = ("diagnostics/items.tsv", item.code.as_str());
    known(file, row, &read.phases, &item.phase)?;
    for (zones, own) in [(&item.zones_fore, &read.zones.fore), (&item.zones_hind, &read.zones.hind)] {
        let nowhere = zones.iter().find(|code| own.get(code).or(read.zones.pastern.get(code)).is_none());
        if let Some(code) = nowhere {
            return Err(CatalogueError::row(
                file,
                row,
                &format!("names the zone `{code}`, which does not exist"),
            ));
        }
    }
    let used = read.studies.iter().any(|study| study.all_items().any(|code| *code == item.code));
    require(used, file, row, "is an item of no study")
}

fn purchase(read: &Diagnostics, set: &Purchase) -> Checked {
    let (file, row) = ("diagnostics/purchase.toml", set.code.as_str());
    for part in &set.parts {
        let fits = read.study(&part.study).is_some_and(|study| offers(study, part));
        require(fits, file, row, &format!("asks of `{}` what that study does not offer", part.study))?;
    }
    let count: usize = set.parts.iter().map(|part| part.items.len() * part.limbs().len()).sum();
    let counted = set.views.is_none_or(|views| views == count);
    require(counted, file, row, &format!("does not have as many projections as it says, but {count}"))
}

/// Whether the study is a radiograph of those limbs with all of these projections.
fn offers(study: &Study, part: &PurchasePart) -> bool {
    study.kind == StudyKind::Radiograph
        && part.limbs().into_iter().all(|limb| study.limbs.suit(limb))
        && part.items.iter().all(|item| study.all_items().any(|offered| offered == item))
}

/// The row's projection is written as this program writes it; and the standard's own abbreviation means it, with the
/// one exception that the file explains.
fn view(code: &str, printed: &str, position: &str) -> Checked {
    let file = "diagnostics/views.tsv";
    let projection = Projection::parse(code).map_err(|error| wrong(file, code, &error))?;
    require(projection.code() == code, file, code, &format!("should be written `{projection}`"))?;
    Projection::parse(printed).map_err(|error| wrong(file, code, &error))?;
    let term = printed.to_uppercase().replace('-', "_");
    require(term == position && term.len() <= 16, file, code, "has a position that is not its abbreviation")
}

fn profile(read: &Diagnostics, row: &Profile) -> Checked {
    let file = "diagnostics/profiles.toml";
    for code in row.same_as.iter().chain([&row.code]) {
        Projection::parse(code).map_err(|error| wrong(file, &row.code, &error))?;
    }
    known(file, &row.code, &read.studies, row.at.keys())
}

fn wrong(file: &'static str, row: &str, error: &crate::catalogue::ProjectionError) -> CatalogueError {
    CatalogueError::row(file, row, &format!("has no projection there: {error}"))
}
