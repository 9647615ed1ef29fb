//! The mark and the plan of the horse, as they come out: well formed, named in words, every place in one spot.
use std::collections::BTreeMap;

use askama::Template;
use limbledger::{
    body::{Mark, Plan, Seen, Trend, drawing},
    catalogue::catalogue,
};
use scraper::{ElementRef, Html, Selector};

fn all<'a>(html: &'a Html, selector: &str) -> Vec<ElementRef<'a>> {
    html.select(&Selector::parse(selector).unwrap()).collect()
}

/// Opened elements are closed in turn, quotes pair up: enough to be read as XML by a printer or a viewer.
fn assert_well_formed(svg: &str) {
    let mut open = Vec::new();
    for tag in svg.split('<').skip(1) {
        let (inside, _) = tag.split_once('>').expect("a tag ends");
        assert_eq!(inside.matches('"').count() % 2, 0, "{inside}");
        if let Some(name) = inside.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name), "closing {name}");
        } else if !inside.ends_with('/') {
            open.push(inside.split_whitespace().next().unwrap());
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
}

fn picture(mark: Mark) -> String {
    let svg = mark.picture().render().unwrap();
    assert_well_formed(&svg);
    svg
}

#[test]
fn a_mark_says_in_words_what_it_shows() {
    let cases = [
        (Mark::NOT_EXAMINED, "not examined"),
        (Mark::NOTHING_FOUND, "nothing found"),
        (Mark::abnormal(None), "abnormal"),
        (Mark::abnormal(Some(2.5)), "abnormal, grade 2.5"),
        (
            Mark::abnormal(Some(3.0)).trend(Some(Trend::Worse)).look_again(),
            "abnormal, grade 3, worse than last time, look again",
        ),
        (Mark::NOTHING_FOUND.trend(Some(Trend::Better)), "nothing found, better than last time"),
    ];
    for (mark, words) in cases {
        assert!(picture(mark).contains(&format!("role=\"img\" aria-label=\"{words}\"")), "{words}");
    }
}

#[test]
fn severity_is_told_by_shape_and_number_not_by_shade() {
    let outline = |mark| {
        let svg = Html::parse_fragment(&picture(mark));
        all(&svg, "path")[0].attr("d").unwrap().to_owned()
    };
    let shapes = [1.0, 2.0, 3.0, 4.0].map(|grade| outline(Mark::abnormal(Some(grade))));
    for (n, shape) in shapes.iter().enumerate() {
        assert!(!shapes[n + 1..].contains(shape), "grade {} looks like another", n + 1);
    }
    for (grade, text) in [(0.5, ">½<"), (1.0, ">1<"), (2.5, ">2½<"), (10.0, ">10<")] {
        assert!(picture(Mark::abnormal(Some(grade))).contains(text), "{grade}");
    }
    for mark in [Mark::NOT_EXAMINED, Mark::NOTHING_FOUND, Mark::abnormal(Some(2.0))] {
        assert_ne!(outline(mark), outline(mark.look_again()), "the notch shows");
        let (up, down) = (mark.trend(Some(Trend::Worse)), mark.trend(Some(Trend::Better)));
        assert_ne!(picture(up), picture(down), "the tail shows");
    }
}

/// Every place the catalogue knows, by key.
fn known_places() -> Vec<String> {
    use limbledger::catalogue::{Group, Limb, Place, places};
    let groups = [(Group::Axial, None)].into_iter().chain(
        [Group::Fore, Group::Hind, Group::Foot]
            .into_iter()
            .flat_map(|group| Limb::ALL.map(|limb| (group, Some(limb)))),
    );
    groups.flat_map(|(group, limb)| places(group, limb)).map(Place::key).collect()
}

#[test]
fn every_place_of_the_catalogue_stands_in_exactly_one_spot() {
    let mut drawn: BTreeMap<&str, usize> = BTreeMap::new();
    for place in drawing().spots.iter().flat_map(|spot| &spot.places) {
        *drawn.entry(place).or_default() += 1;
    }
    assert!(drawn.values().all(|times| *times == 1), "{drawn:?}");
    let mut known = known_places();
    known.sort();
    known.dedup();
    let drawn: Vec<&str> = drawn.into_keys().collect();
    assert_eq!(drawn, known);
    assert!(catalogue().regions.len() > 70, "the catalogue was read");
}

#[test]
fn spots_are_far_enough_apart_for_a_thumb() {
    // A narrow phone, 390 px with 16 px margins, shows 358 of them: 24 px (WCAG 2.2, 2.5.8) is this many units.
    let least = 24.0 * drawing().width / 358.0;
    let spots = &drawing().spots;
    for (n, a) in spots.iter().enumerate() {
        assert!(a.x >= least / 2.0 && a.x <= drawing().width - least / 2.0, "{} is on the sheet", a.name);
        for b in &spots[n + 1..] {
            let apart = (a.x - b.x).hypot(a.y - b.y);
            assert!(apart >= least, "{} and {} are {apart:.1} apart, not {least:.1}", a.name, b.name);
        }
    }
}

#[test]
fn left_is_left_and_right_is_its_mirror() {
    let middle = drawing().width / 2.0;
    for left in drawing().spots.iter().filter(|spot| spot.name.starts_with("left")) {
        assert!(left.x < middle, "{}", left.name);
        let name = left.name.replacen("left", "right", 1);
        let right = drawing().spots.iter().find(|spot| spot.name == name).unwrap();
        assert!((left.x + right.x - 2.0 * middle).abs() < 0.01 && (left.y - right.y).abs() < 0.01);
    }
}

fn seen(key: &str) -> Seen {
    match key {
        "FETL_D.L" => Seen { mark: Mark::abnormal(Some(2.0)), found: Some("effusion 2 <mild>".into()) },
        "SL_BODY.R" => Mark::abnormal(Some(1.0)).look_again().into(),
        "SL_BR.R" => Mark::abnormal(Some(3.0)).into(),
        "SCAP.L" | "POLL.M" => Mark::NOTHING_FOUND.into(),
        _ => Mark::NOT_EXAMINED.into(),
    }
}

#[test]
fn the_plan_is_links_with_names() {
    let svg = Plan::new(seen, |key| Some(format!("/go?at={key}&x"))).render().unwrap();
    assert_well_formed(&svg);
    let html = Html::parse_fragment(&svg);
    let links = all(&html, "svg[role=group] a[href]");
    assert_eq!(links.len(), drawing().spots.len());
    let names: Vec<&str> = links.iter().map(|link| link.attr("aria-label").unwrap()).collect();
    for expected in [
        "left fore fetlock, dorsal: effusion 2 <mild>",
        "right fore suspensory ligament: abnormal, grade 3, look again",
        "poll: nothing found in 1 of 3, the rest not examined",
        "left fore shoulder blade: nothing found",
        "right hind foot, frog and heels: not examined",
    ] {
        assert!(names.contains(&expected), "{expected} in {names:#?}");
    }
    let worst = links.iter().find(|link| link.attr("aria-label").unwrap().contains("grade 3")).unwrap();
    assert_eq!(worst.attr("href"), Some("/go?at=SL_BR.R&x"), "a shared spot leads to what it shows");
    assert!(!svg.contains("<mild>"), "what was found is escaped");
}

#[test]
fn as_a_picture_the_plan_has_no_links_and_says_what_is_abnormal() {
    let svg = Plan::new(seen, |_| None).titled("Plan of the horse, Briar").render().unwrap();
    assert_well_formed(&svg);
    let html = Html::parse_fragment(&svg);
    assert!(all(&html, "a").is_empty());
    let name = all(&html, "svg[role=img]")[0].attr("aria-label").unwrap();
    assert!(name.starts_with("Plan of the horse, Briar; "), "{name}");
    assert!(
        name.contains("left fore fetlock, dorsal: effusion 2") && !name.contains("not examined"),
        "{name}"
    );
}
