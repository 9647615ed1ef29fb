//! Chips of what is measured and of how it moves: vital signs, gait, flexion.

use super::chips::{Chip, Choice, grades, said};
use crate::{
    catalogue::{Limb, Plausibility, catalogue},
    exam::movement,
    practice::Practice,
    reasoning::line::{Flexion, Gait, Vital},
    record::{Body, Kind},
};

/// The scale that a flexion is graded on when the line names none.
const FLEXION_SCALE: &str = "flexion_0_4";
/// The conditions that every horse is watched under.
const USUAL: [&str; 2] = ["WLK_S", "TRT_SH"];

pub(super) fn vital(row: &Vital, practice: &Practice) -> Chip {
    let mut body = Body::new(Kind::Vital);
    body.code = Some(row.name.clone());
    body.number = row.value;
    let known = catalogue().vital(&row.name);
    body.scale = known.and_then(|vital| vital.scale.clone());
    let unusual = known.zip(row.value).is_some_and(|(vital, value)| vital.judge(value) == Plausibility::Ask);
    let words = said(&body, practice);
    if unusual {
        body.qualities.push("as measured".to_owned());
    }
    if row.name == "weight_kg" {
        let by = |(code, label): &(&str, &str)| {
            let mut weighed = body.clone();
            weighed.value = Some((*code).to_owned());
            Choice::new(label, &[weighed])
        };
        return Chip::open(
            words,
            &row.text,
            "How was it weighed?",
            movement::METHODS.iter().map(by).collect(),
        );
    }
    if unusual {
        let choices = vec![Choice::new("measured so", &[body])];
        return Chip::open(words, &row.text, "This is unusual: was it measured so?", choices);
    }
    Chip::certain(&[body], &row.text, practice)
}

pub(super) fn gait_body(row: &Gait, practice: &Practice) -> Body {
    let mut body = Body::new(Kind::Gait);
    body.limb.clone_from(&row.limb);
    body.code.clone_from(&row.condition);
    body.grade = row.grade;
    let own = Some(practice.lameness_scale.clone()).filter(|_| row.grade.is_some());
    body.scale = row.scale.clone().or(own);
    body
}

/// A grade wants a limb, a condition and a scale; one that is missing is asked, several make it a note.
pub(super) fn gait(row: &Gait, practice: &Practice) -> Chip {
    let body = gait_body(row, practice);
    let sound = body.grade == Some(0.0);
    let scale =
        body.scale.as_deref().or(Some(&practice.lameness_scale)).and_then(|key| catalogue().scale(key));
    let allowed = body.grade.zip(scale).is_none_or(|(grade, scale)| scale.allows(grade));
    let with_limb = |limb: Limb| {
        let mut body = body.clone();
        body.limb = Some(limb.code().to_owned());
        body
    };
    let graded = |grade: f64| {
        let mut body = body.clone();
        (body.grade, body.scale) = (Some(grade), scale.map(|scale| scale.code.clone()));
        vec![body]
    };
    let (question, choices) = match (&body.limb, &body.code, body.grade, scale) {
        (_, _, Some(_), _) if !allowed => ("", Vec::new()),
        (Some(_), Some(_), Some(_), Some(scale)) => {
            let others = grades(scale, graded, body.grade);
            return Chip::certain(std::slice::from_ref(&body), &row.text, practice).with(others);
        }
        (None, Some(_), Some(_), _) if sound => {
            return Chip::certain(&Limb::ALL.map(with_limb), &row.text, practice);
        }
        (None, Some(_), Some(_), _) => {
            let limbs = Limb::ALL.into_iter().map(|limb| Choice::new(limb.name(), &[with_limb(limb)]));
            ("Which limb?", limbs.collect())
        }
        (Some(_), None, Some(_), _) => ("Seen how?", conditions(&body)),
        (Some(_), Some(_), None, Some(scale)) => ("Which grade?", grades(scale, graded, None)),
        _ => ("", Vec::new()),
    };
    if choices.is_empty() {
        return Chip::note(&row.text, "");
    }
    Chip::open(said(&body, practice), &row.text, question, choices)
}

/// The same grade under each condition that every horse is watched under.
fn conditions(body: &Body) -> Vec<Choice> {
    let rows = catalogue().conditions.iter().filter(|row| USUAL.contains(&row.code.as_str()));
    rows.map(|row| {
        let mut body = body.clone();
        body.code = Some(row.code.clone());
        Choice::new(&row.name, &[body])
    })
    .collect()
}

pub(super) fn flexion_body(row: &Flexion) -> Body {
    let mut body = Body::new(Kind::Flexion);
    body.limb.clone_from(&row.limb);
    body.code = Some(row.flexion.clone());
    body.grade = row.grade;
    body.scale = row.grade.map(|_| FLEXION_SCALE.to_owned());
    body.number = row.hold_s;
    body
}

pub(super) fn flexion(row: &Flexion, practice: &Practice) -> Chip {
    let body = flexion_body(row);
    let Some(scale) = catalogue().scale(FLEXION_SCALE) else { return Chip::note(&row.text, "") };
    let graded = |grade: f64| {
        let mut body = body.clone();
        (body.grade, body.scale) = (Some(grade), Some(scale.code.clone()));
        vec![body]
    };
    if body.grade.is_some_and(|grade| scale.allows(grade)) {
        let others = grades(scale, graded, body.grade);
        return Chip::certain(std::slice::from_ref(&body), &row.text, practice).with(others);
    }
    Chip::open(said(&body, practice), &row.text, "Which grade?", grades(scale, graded, None))
}
