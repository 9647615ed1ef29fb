//! The form of one look after a block: minutes, grades on the same condition, and what else changed.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    clock::Ticking,
    course::Shot,
    form::{SKIN, one_of},
    scene::Scene,
    write,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Limb, Row, Scale, catalogue},
    clock::Day,
    horses::Card,
    ids::{EntryId, VisitId},
    papers::needle,
    record::{After, Body, Kind},
    web::{Check, Error, Errors, Form, Path, Result, Shell, invalid},
};

pub(super) const BACK: [(&str, &str); 3] =
    [("", "not judged"), ("yes", "back as before"), ("no", "not back")];

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    submission: String,
    minutes: String,
    condition: String,
    scale: String,
    before: String,
    after: String,
    better: String,
    switched: String,
    skin: String,
    back: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "workup/reading.html")]
pub(super) struct ReadingPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    typed: Typed,
    errors: Errors,
    entry: EntryId,
    limb: Option<Limb>,
    name: String,
    at: String,
    ticking: Option<Ticking>,
    is_nerve: bool,
    conditions: Vec<(&'static str, &'static str)>,
    scale: &'static Scale,
    limbs: Vec<(&'static str, &'static str)>,
    /// What was seen after this block so far.
    looks: Vec<String>,
}

impl ReadingPage {
    fn new(scene: Scene, shell: Shell, shot: &Shot, typed: Option<Typed>) -> Self {
        let scale = scale_of(&scene, shot);
        let others = Limb::ALL.into_iter().filter(|limb| Some(*limb) != shot.limb);
        ReadingPage {
            visit_id: scene.visit.id,
            typed: typed.unwrap_or_else(|| fill(&scene, shot)),
            errors: Errors::default(),
            entry: shot.entry,
            limb: shot.limb,
            name: needle::block_name(&shot.block.code),
            at: scene.hm(shot.at),
            ticking: Ticking::of(shot, scene.now, scene.zone()),
            is_nerve: shot.block.is_nerve(),
            conditions: catalogue().conditions.iter().map(|row| (row.code(), row.name.as_str())).collect(),
            scale,
            limbs: others.map(|limb| (limb.code(), limb.name())).collect(),
            looks: shot.looks.iter().map(|look| needle::reading(&look.body)).collect(),
            card: scene.card,
            today: scene.today,
            shell,
        }
    }

    /// The grades of the scale as buttons, halves too where the scale has few steps.
    fn grades(&self) -> Vec<(String, String)> {
        let (least, most) = self.scale.range();
        let halves = self.scale.half && most - least <= 5;
        let mut all = Vec::new();
        for grade in least..=most {
            all.push((grade.to_string(), grade.to_string()));
            if halves && grade < most {
                let words = if grade == 0 { "½".to_owned() } else { format!("{grade}½") };
                all.push((format!("{grade}.5"), words));
            }
        }
        all
    }

    fn asks_grade(&self) -> String {
        format!("Grade now ({})", self.scale.title)
    }

    fn skins(&self) -> &'static [(&'static str, &'static str)] {
        &SKIN
    }

    fn backs(&self) -> &'static [(&'static str, &'static str)] {
        &BACK
    }
}

/// The scale this limb was graded on, else the practice's.
fn scale_of(scene: &Scene, shot: &Shot) -> &'static Scale {
    let graded = baseline(scene, shot, "").and_then(|body| body.scale.clone());
    let code = graded.unwrap_or_else(|| scene.practice.lameness_scale.clone());
    catalogue().scale(&code).unwrap_or(&catalogue().scales[0])
}

/// The last grade of this limb before the block, under a condition or, for `""`, under the one where it was worst:
/// from the horse in motion, or from a look after an earlier block.
fn baseline(scene: &Scene, shot: &Shot, condition: &str) -> Option<Body> {
    let limb = shot.limb?.code();
    let under = |body: &&Body| condition.is_empty() || body.code.as_deref() == Some(condition);
    let earlier = scene.shots.iter().filter(|other| other.limb == shot.limb && other.at < shot.at);
    let looks = earlier.flat_map(|other| other.looks.iter().map(|look| &look.body));
    let graded = |body: &&Body| body.limb.as_deref() == Some(limb) && body.grade.is_some();
    let gaits = scene.of(Kind::Gait).map(|(_, body)| body).filter(graded).filter(under);
    if condition.is_empty() {
        return gaits
            .max_by(|a, b| a.grade.unwrap_or_default().total_cmp(&b.grade.unwrap_or_default()))
            .cloned();
    }
    looks.filter(|body| body.grade.is_some()).rfind(under).or_else(|| gaits.last()).cloned()
}

fn fill(scene: &Scene, shot: &Shot) -> Typed {
    let used = shot.looks.iter().rev().find_map(|look| look.body.code.clone());
    let worst = baseline(scene, shot, "").and_then(|body| body.code);
    let condition = used.or(worst).unwrap_or_else(|| "TRT_SH".to_owned());
    let again = shot.looks.iter().rev().find_map(|look| look.body.after.as_ref()?.before);
    let before = again.or_else(|| baseline(scene, shot, &condition)?.grade);
    Typed {
        minutes: scene.now.minutes_since(shot.at).clamp(0, 1440).to_string(),
        before: before.map(|grade| grade.to_string()).unwrap_or_default(),
        condition,
        scale: scale_of(scene, shot).code().to_owned(),
        ..Typed::default()
    }
}

fn find(scene: &Scene, entry: EntryId) -> Result<Shot> {
    scene.shots.iter().find(|shot| shot.entry == entry).cloned().ok_or(Error::NotFound)
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::Examine>,
    shell: Shell,
    Path((id, entry)): Path<(VisitId, EntryId)>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let shot = find(&scene, entry)?;
    Ok(ReadingPage::new(scene, shell, &shot, None).into_response())
}

pub(super) async fn record(
    State(app): State<App>,
    can: Can<act::Examine>,
    shell: Shell,
    Path((id, entry)): Path<(VisitId, EntryId)>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let shot = find(&scene, entry)?;
    let body = match check(&typed, &shot) {
        Ok(body) => body,
        Err(errors) => {
            let page = ReadingPage::new(scene, shell, &shot, Some(typed));
            return Ok(invalid(ReadingPage { errors, ..page }));
        }
    };
    let home = format!("/visits/{id}/work-up");
    write::once(&app, &can.user, (id, &typed.submission), body, &home).await
}

fn check(typed: &Typed, shot: &Shot) -> std::result::Result<Body, Errors> {
    let mut check = Check::new();
    let minutes = check.number("minutes", &typed.minutes, 0.0..=1440.0, "min");
    if typed.minutes.trim().is_empty() {
        check.errors.add("minutes", "Enter how many minutes after injecting it was.");
    }
    if catalogue().condition(&typed.condition).is_none() {
        check.errors.add("condition", "Choose how it was watched.");
    }
    let scale = catalogue().scale(&typed.scale).filter(|row| matches!(row.code(), "aaep_0_5" | "uk_0_10"));
    let before = grade(&mut check, "before", &typed.before, scale);
    let after = grade(&mut check, "after", &typed.after, scale);
    let better = check.number("better", &typed.better, -1000.0..=100.0, "%");
    let switched: Option<Limb> = check.maybe_choice("switched", &typed.switched);
    if switched.is_some() && switched == shot.limb {
        check.errors.add("switched", "This is the limb that was blocked. Choose another one, or none.");
    }
    let skin = one_of(&mut check, "skin", &typed.skin, &SKIN);
    let back = one_of(&mut check, "back", &typed.back, &BACK);
    if after.is_none() && better.is_none() && switched.is_none() && skin.is_none() && back.is_none() {
        check.errors.add("after", "Enter the grade now, how much better it is, or what else changed.");
    }
    let mut body = Body::new(Kind::Reading);
    body.limb = shot.limb.map(|limb| limb.code().to_owned());
    body.value = Some(shot.block.code.clone());
    body.about = Some(shot.entry);
    body.code = Some(typed.condition.clone());
    body.grade = after;
    body.scale = scale.filter(|_| before.is_some() || after.is_some()).map(|row| row.code().to_owned());
    body.after = Some(After {
        minutes,
        before,
        improvement_pct: better,
        switched_to: switched.map(|limb| limb.code().to_owned()),
        skin_numb: skin.map(|word| word == "numb"),
        baseline_back: back.map(|word| word == "yes"),
    });
    check.done(body)
}

/// A grade of the scale; empty is none.
fn grade(check: &mut Check, field: &str, typed: &str, scale: Option<&Scale>) -> Option<f64> {
    if typed.trim().is_empty() {
        return None;
    }
    let number = check.number(field, typed, 0.0..=10.0, "")?;
    if scale.is_none_or(|scale| !scale.allows(number)) {
        let most = scale.map_or(5, |scale| scale.range().1);
        check.errors.add(field, format!("Enter a grade from 0 to {most}, in halves."));
    }
    Some(number)
}
