//! The numb field on the plan of the horse, with the candidates outlined, and the same in words.

use super::{
    reason::{self, Reasoned},
    scene::Scene,
};
use crate::{
    body::{Numb, Over, Plan, Seen},
    catalogue::{Limb, Place, catalogue},
    exam::state::ExamState,
    reasoning::localise::{Level, numb},
};

/// What the blocks of one limb numb, in words.
pub struct FieldWords {
    pub limb: &'static str,
    /// How numb, and the names of what is.
    pub levels: Vec<(&'static str, String)>,
}

struct Field {
    limb: Limb,
    /// Codes of structures.
    numb: Vec<(String, Numb)>,
    candidates: Vec<String>,
}

fn fields(scene: &Scene, reasoned: &[Reasoned]) -> Vec<Field> {
    let blocked = Limb::ALL.into_iter().filter(|limb| reason::shots_of(scene, *limb).next().is_some());
    let one = |limb: Limb| {
        let work = reason::work_up(scene, limb);
        let field = numb(&work, &scene.rows).ok()?;
        let of = reasoned.iter().find(|of| of.limb == limb);
        let stands = scene.rows.sources(limb).filter(|row| of.is_some_and(|of| of.stands(&row.code)));
        Some(Field {
            limb,
            numb: field.iter().map(|one| (one.structure.code.clone(), level(one.level))).collect(),
            candidates: stands.map(|row| row.code.clone()).collect(),
        })
    };
    blocked.filter_map(one).collect()
}

fn level(level: Level) -> Numb {
    match level {
        Level::Full => Numb::Full,
        Level::Partial => Numb::Partial,
        Level::Possible => Numb::Possible,
    }
}

/// The plan with the marks of the exam, hatched where blocks numb; none before the first block.
pub(super) fn plan(scene: &Scene, reasoned: &[Reasoned]) -> Option<(Plan, Vec<FieldWords>)> {
    let fields = fields(scene, reasoned);
    if fields.is_empty() {
        return None;
    }
    let state = ExamState::fold(&scene.entries);
    let seen = |key: &str| {
        let mark = key.parse::<Place>().map(|place| state.at(place).mark()).unwrap_or_default();
        Seen { mark, found: None }
    };
    let plan = Plan::new(seen, |_| None)
        .over(|key| over(key, &fields))
        .titled(format!("Numb field and candidates, {}", scene.card.name));
    Some((plan, fields.iter().map(words).collect()))
}

/// What blocks say of one place; none where no structure lies there.
fn over(key: &str, fields: &[Field]) -> Option<Over> {
    let place: Place = key.parse().ok()?;
    let is_here = |limb: Limb| match place.limb() {
        Some(of) => of == limb,
        None => !limb.is_fore() && place.side() == limb.side(),
    };
    let field = fields.iter().find(|field| is_here(field.limb))?;
    let rows = catalogue().localise.sources(field.limb);
    let here: Vec<&str> =
        rows.filter(|row| row.regions.contains(&place.region().code)).map(|row| row.code.as_str()).collect();
    if here.is_empty() {
        return None;
    }
    let numb = here.iter().map(|code| field.numb.iter().find(|(of, _)| of == code).map(|(_, numb)| *numb));
    let candidate = here.iter().any(|code| field.candidates.iter().any(|of| of == code));
    Some(Over { numb: Numb::together(numb), candidate })
}

fn words(field: &Field) -> FieldWords {
    let named = |level: Numb| {
        let rows = field.numb.iter().filter(|(_, numb)| *numb == level);
        let names =
            rows.filter_map(|(code, _)| Some(catalogue().localise.structures.get(code)?.name.as_str()));
        names.collect::<Vec<_>>().join("; ")
    };
    let levels = [("full", Numb::Full), ("partial", Numb::Partial), ("possible", Numb::Possible)];
    FieldWords {
        limb: field.limb.name(),
        levels: levels
            .map(|(key, level)| (key, named(level)))
            .into_iter()
            .filter(|(_, n)| !n.is_empty())
            .collect(),
    }
}
