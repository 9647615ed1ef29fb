//! Where on the horse a problem, an image or a treatment lies: a place, a whole limb, or no part in particular.

use std::{collections::HashMap, fmt, sync::LazyLock};

use crate::{
    catalogue::{Group, Limb, Place, places},
    exam::state::place_of,
    record::Body,
};

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Site {
    Whole,
    Limb(Limb),
    Place(Place),
}

impl Site {
    /// Where an entry says it lies; a place that the catalogue does not know counts as none.
    pub fn of(body: &Body) -> Self {
        let limb = || body.limb.as_deref().and_then(|l| l.parse().ok()).map(Site::Limb);
        place_of(body).map(Site::Place).or_else(limb).unwrap_or(Site::Whole)
    }

    /// Writes it into an entry.
    pub fn put(self, body: &mut Body) {
        match self {
            Site::Whole => {}
            Site::Limb(limb) => body.limb = Some(limb.code().to_owned()),
            Site::Place(place) => {
                body.region = Some(place.region().code.clone());
                body.side = Some(place.side().code().to_owned());
                body.limb = place.limb().map(|l| l.code().to_owned());
            }
        }
    }

    /// Reads the words of the list, in any case, or a key such as `FETL_D.L` or `LF`.
    pub fn read(typed: &str) -> Option<Self> {
        let typed = typed.trim();
        let by_key = || typed.parse().map(Site::Limb).or_else(|_| typed.parse().map(Site::Place)).ok();
        BY_WORDS.get(&typed.to_lowercase()).copied().or_else(by_key)
    }

    /// The key that forms send: empty for the whole horse.
    pub fn key(self) -> String {
        match self {
            Site::Whole => String::new(),
            Site::Limb(limb) => limb.code().to_owned(),
            Site::Place(place) => place.key(),
        }
    }

    /// Limbs first, then every place as hands go.
    pub fn all() -> impl Iterator<Item = Site> {
        let axial = places(Group::Axial, None).into_iter();
        let limbs = Limb::ALL.into_iter().flat_map(|limb| {
            let upper = if limb.is_fore() { Group::Fore } else { Group::Hind };
            [places(upper, Some(limb)), places(Group::Foot, Some(limb))].concat()
        });
        Limb::ALL.into_iter().map(Site::Limb).chain(axial.chain(limbs).map(Site::Place))
    }
}

static BY_WORDS: LazyLock<HashMap<String, Site>> =
    LazyLock::new(|| Site::all().map(|site| (site.to_string().to_lowercase(), site)).collect());

impl fmt::Display for Site {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Site::Whole => f.write_str("whole horse"),
            Site::Limb(limb) => write!(f, "{} limb", limb.name()),
            Site::Place(place) => place.fmt(f),
        }
    }
}
