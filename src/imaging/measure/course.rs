//! What was measured on a horse, over time: feet by limb, tendons by structure and zone, beside the other limb and the
//! horse's own earlier picture.

use std::collections::{BTreeMap, BTreeSet};

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;

use super::{
    store::{self, Kept},
    tendon::reference_key,
    volume::volume,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{
        Limb, catalogue,
        diagnostics::figures::{Reference, ScoreScale},
    },
    clock::Day,
    horses::{self, Card},
    ids::HorseId,
    papers::measured::{self, is_length, with_unit},
    practice,
    reasoning::tendon::{Traced, asymmetry_pct, csa_change_pct, scores, severity},
    web::{Path, Result, Shell},
};

/// A measure of a foot, the newest and the one before.
struct FootRow {
    label: String,
    newest: String,
    before: String,
    /// The difference, or why none is given.
    change: String,
    references: Vec<String>,
}

struct Foot<'a> {
    limb: &'static str,
    view: &'a str,
    /// Newest first.
    times: Vec<&'a Kept>,
    rows: Vec<FootRow>,
}

/// A zone of a tendon at its newest examination.
struct ZoneRow {
    zone: String,
    area: String,
    lesion: String,
    /// Against the other limb, and against itself before.
    other: String,
    change: String,
    scores: String,
    references: Vec<String>,
}

struct Tendon<'a> {
    structure: &'a str,
    limb: &'static str,
    newest: &'a Kept,
    zones: Vec<ZoneRow>,
    summary: Vec<String>,
}

#[derive(Template, WebTemplate)]
#[template(path = "imaging/measures.html")]
struct CoursePage {
    shell: Shell,
    card: Card,
    today: Day,
    zone: TimeZone,
    all: Vec<Kept>,
}

pub(in crate::imaging) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<HorseId>,
) -> Result<Response> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let card = horses::store::card(db, id).await?;
    let all = store::of_horse(db, id).await?;
    Ok(CoursePage { shell, card, today: app.clock.now().day(&zone), zone, all }.into_response())
}

impl CoursePage {
    fn feet(&self) -> Vec<Foot<'_>> {
        let of = |kept: &&Kept| kept.what == "foot";
        let keys: BTreeSet<(&str, &str)> =
            self.all.iter().filter(of).map(|kept| (kept.limb.as_str(), kept.of.as_str())).collect();
        let foot = |(limb, view): (&str, &'_ str)| {
            let mut times: Vec<&Kept> =
                self.all.iter().filter(of).filter(|kept| kept.limb == limb && kept.of == view).collect();
            times.reverse();
            let view = times.first().map_or("", |kept| kept.of.as_str());
            Foot { limb: limb_name(limb), view, rows: self.foot_rows(&times), times }
        };
        keys.into_iter().map(foot).collect()
    }

    fn foot_rows(&self, times: &[&Kept]) -> Vec<FootRow> {
        let rows = catalogue().diagnostics.figures.hoof_measures.iter();
        rows.filter_map(|row| {
            let key = row.code.as_str();
            let mut of = times.iter().filter_map(|kept| Some((*kept, kept.measure(key)?)));
            let (newest, number) = of.next()?;
            let before = of.next();
            Some(FootRow {
                label: row.label.clone(),
                newest: self.told(newest, key, number),
                before: before.map(|(kept, number)| self.told(kept, key, number)).unwrap_or_default(),
                change: before.map(|before| change(key, (newest, number), before)).unwrap_or_default(),
                references: references(key),
            })
        })
        .collect()
    }

    fn told(&self, kept: &Kept, key: &str, number: f64) -> String {
        format!("{} ({})", with_unit(key, number), kept.at.day(&self.zone).short())
    }

    fn tendons(&self) -> Vec<Tendon<'_>> {
        let traced = self.all.iter().filter(|kept| kept.what == "tendon");
        let mut newest: BTreeMap<(&str, &str), &Kept> = BTreeMap::new();
        for kept in traced {
            newest.insert((&kept.of, &kept.limb), kept);
        }
        let mut found = Vec::with_capacity(newest.len());
        for ((structure, limb), newest) in newest {
            let now = self.newest_by_zone(|kept| {
                kept.of == structure && kept.limb == limb && kept.order == newest.order
            });
            found.push(Tendon {
                structure,
                limb: limb_name(limb),
                zones: now.values().map(|kept| self.zone_row(kept)).collect(),
                summary: summary(&now.values().copied().collect::<Vec<_>>()),
                newest,
            });
        }
        found
    }

    /// The newest of each zone, proximal to distal.
    fn newest_by_zone(&self, of: impl Fn(&Kept) -> bool) -> BTreeMap<&str, &Kept> {
        self.all
            .iter()
            .filter(|kept| kept.what == "tendon" && of(kept))
            .map(|kept| (kept.zone(), kept))
            .collect()
    }

    fn zone_row(&self, kept: &Kept) -> ZoneRow {
        const AREA: &str = "total_mm2";
        let other = kept.limb.parse::<Limb>().map(Limb::other).map_or("", Limb::code);
        let same =
            |one: &&Kept| one.of == kept.of && one.zone() == kept.zone() && one.measure(AREA).is_some();
        let beside = self.all.iter().rev().filter(same).find(|one| one.limb == other);
        let before =
            self.all.iter().rev().filter(same).find(|one| one.limb == kept.limb && one.order != kept.order);
        let area = kept.measure(AREA);
        let against =
            |one: Option<&Kept>, by: fn(f64, f64) -> std::result::Result<f64, crate::reasoning::Refused>| {
                let one = one?;
                let pct = by(area?, one.measure(AREA)?).ok()?;
                let sign = if pct > 0.0 { "+" } else { "" };
                Some(format!(
                    "{sign}{} of {}",
                    with_unit("pct", pct),
                    self.told(one, AREA, one.measure(AREA)?)
                ))
            };
        let number = |key: &str| kept.measure(key).map(|number| with_unit(key, number));
        let lesion =
            number("lesion_mm2").zip(number("lesion_pct")).map(|(area, share)| format!("{area}, {share}"));
        let why_not = kept.marked.with.get("unmeasurable").map(|why| format!("not measurable: {why}"));
        ZoneRow {
            zone: kept.zone().to_owned(),
            area: number(AREA).or(why_not).unwrap_or_default(),
            lesion: lesion.unwrap_or_default(),
            other: against(beside, asymmetry_pct).unwrap_or_default(),
            change: against(before, csa_change_pct).unwrap_or_default(),
            scores: measured::scores(&kept.marked).unwrap_or_default(),
            references: references(&reference_key(&kept.of, kept.zone())),
        }
    }

    fn structure_name<'a>(&self, code: &'a str) -> &'a str {
        catalogue().diagnostics.item(code).map_or(code, |item| &item.name)
    }

    /// What sizes of a tendon are compared with.
    fn limits(&self) -> Vec<String> {
        let of = |key: &str| references(key).into_iter();
        let other = of("asymmetry_pct").map(|words| format!("against the other limb: {words}"));
        other.chain(of("csa_change_pct").map(|words| format!("against itself: {words}"))).collect()
    }
}

fn references(key: &str) -> Vec<String> {
    catalogue().diagnostics.figures.references_of(key).map(Reference::words).collect()
}

fn limb_name(code: &str) -> &'static str {
    code.parse::<Limb>().map_or("", Limb::name)
}

/// The difference of two, where they can be compared.
fn change(key: &str, (newest, number): (&Kept, f64), (before, was): (&Kept, f64)) -> String {
    let with = |kept: &Kept, name: &str| kept.marked.with.get(name).cloned();
    if key == "founder_distance_mm" && with(newest, "wall_mark") != with(before, "wall_mark") {
        return "not compared: the wall was marked in another way".to_owned();
    }
    if is_length(key) && newest.marked.uncorrected != before.marked.uncorrected {
        return "not compared: one is uncorrected".to_owned();
    }
    let sign = if number > was { "+" } else { "" };
    let hands = if newest.by == before.by { "" } else { ", by other hands" };
    format!("{sign}{}{hands}", with_unit(key, number - was))
}

/// What follows from all zones of one examination, in words.
fn summary(zones: &[&Kept]) -> Vec<String> {
    let mut traced = Vec::with_capacity(zones.len());
    for kept in zones {
        if let (Some(total_mm2), Some(lesion_mm2)) = (kept.measure("total_mm2"), kept.measure("lesion_mm2")) {
            traced.push(Traced { zone: kept.zone(), total_mm2, lesion_mm2 });
        }
    }
    let Ok(found) = severity(&traced) else { return Vec::new() };
    let class = catalogue().diagnostics.figures.severities.get(found.class);
    let class = class.map(|row| format!(": {} ({}; {})", row.code, row.source, row.confidence.words()));
    let many = if traced.len() == 1 { "1 zone".to_owned() } else { format!("{} zones", traced.len()) };
    let total =
        format!("lesion in {many}: {}{}", with_unit("pct", found.total_pct), class.unwrap_or_default());
    let worst = found.worst.map(|at| {
        format!("largest share in zone {}, {}", traced[at].zone, with_unit("pct", found.lesion_pct[at]))
    });
    [Some(total), worst, volume(zones)].into_iter().flatten().chain(scored(zones)).collect()
}

fn zones_words(many: usize) -> String {
    if many == 1 { "1 zone".to_owned() } else { format!("{many} zones") }
}

/// Sum and mean of each scale by itself, over the zones that were scored on it.
fn scored(zones: &[&Kept]) -> Vec<String> {
    let scales = catalogue().diagnostics.figures.scores.iter();
    let of = |scale: &ScoreScale| {
        let steps: Vec<f64> =
            zones.iter().filter_map(|kept| kept.marked.with.get(&scale.code)?.parse().ok()).collect();
        let (sum, mean) = scores(&steps).ok()?;
        Some(format!("{}: sum {sum}, mean {mean:.1} over {}", scale.name, zones_words(steps.len())))
    };
    scales.filter_map(of).collect()
}
