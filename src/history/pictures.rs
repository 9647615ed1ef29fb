//! Photos and videos of a horse by what they show: in the row of their place, and in a list of their own.

use std::collections::HashMap;

use jiff::tz::TimeZone;

use super::Site;
use crate::{catalogue::catalogue, clock::At, photos::Photo, videos::Video};

/// A photo or a video as a link.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Picture {
    pub day: String,
    pub words: String,
    pub href: String,
}

/// Photos of the same place or way of going, the oldest first.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Shown {
    pub what: String,
    pub pictures: Vec<Picture>,
}

/// What may be looked at, by the key of its place.
pub(super) fn by_place(photos: &[Photo], videos: &[Video], zone: &TimeZone) -> HashMap<String, Vec<Picture>> {
    let mut all: HashMap<String, Vec<Picture>> = HashMap::new();
    let mut add = |region: Option<&str>, side: Option<&str>, limb: Option<&str>, one: Picture| {
        if let Some(region) = region {
            all.entry(Site::new(region, side, limb).key()).or_default().push(one);
        }
    };
    for photo in photos {
        let place = (photo.region.as_deref(), photo.side.as_deref(), photo.limb.as_deref());
        add(place.0, place.1, place.2, of_photo(photo, zone));
    }
    for video in videos {
        let (words, href) = (video.words.clone(), format!("/videos/{}", video.entry));
        let one = Picture { day: day(video.visit_at, zone), words, href };
        add(video.region.as_deref(), video.side.as_deref(), video.limb.as_deref(), one);
    }
    all
}

/// The photos by what they show, in the order in which each was first shown.
pub(super) fn shown(photos: &[Photo], zone: &TimeZone) -> Vec<Shown> {
    let mut all: Vec<Shown> = Vec::new();
    for photo in photos {
        let condition = catalogue().condition(&photo.condition).map(|row| row.name.clone());
        let what = [photo.place(), condition.unwrap_or_default()];
        let what = what.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ");
        let one = of_photo(photo, zone);
        match all.iter_mut().find(|known| known.what == what) {
            Some(known) => known.pictures.push(one),
            None => all.push(Shown { what, pictures: vec![one] }),
        }
    }
    all
}

fn of_photo(photo: &Photo, zone: &TimeZone) -> Picture {
    let href = format!("/visits/{}/photos/{}", photo.visit_id, photo.entry);
    Picture { day: day(photo.visit_at, zone), words: photo.words.clone(), href }
}

fn day(at: At, zone: &TimeZone) -> String {
    at.day(zone).words()
}
