//! Courses of lameness (`data/courses.toml`): what is seen, done and planned, visit after visit.

use anyhow::Context;
use serde::Deserialize;

use super::{
    line::{self, flip},
    needle,
};
use crate::{
    catalogue::{Limb, Place, Section, sweep_places},
    ids::SweepId,
    record::{Body, Kind},
};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Courses {
    pub course: Vec<Course>,
    /// Who has which course, and since how many days.
    pub cast: Vec<Cast>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Course {
    pub key: String,
    /// How often it comes up by chance; 0 for those that are cast.
    #[serde(default)]
    pub weight: i64,
    /// Ages it comes up at.
    #[serde(default = "any_age")]
    pub ages: (i16, i16),
    pub step: Vec<Step>,
}

fn any_age() -> (i16, i16) {
    (2, 40)
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Cast {
    pub horse: String,
    pub course: String,
    /// Days before the day of filling that it began.
    pub began: i64,
    #[serde(default)]
    pub right: bool,
}

/// One visit of a course.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(super) struct Step {
    /// Days after the beginning.
    pub day: i64,
    pub clinic: bool,
    pub urgent: bool,
    pub minutes: i64,
    /// The caller's words; without them it is the recheck that the visit before asked for.
    pub call: String,
    pub site: String,
    pub since: String,
    pub onset: String,
    pub course: String,
    pub bears: String,
    pub history: String,
    /// Sections that hands went over: `all`, `fore`, `hind`, or keys such as `LF` and `LF.foot`.
    pub look: Vec<String>,
    pub vitals: Vec<f64>,
    pub found: Vec<String>,
    pub gait: Vec<String>,
    pub flexion: Vec<String>,
    pub neuro: Vec<String>,
    pub blocks: Vec<String>,
    pub images: Vec<String>,
    pub treatments: Vec<String>,
    pub problems: Vec<String>,
    pub plan: String,
    /// Days until something is due, and what.
    pub follow: Option<(i64, String)>,
}

/// What one visit puts into the record, in the order of the hands.
pub(super) struct Seen {
    /// Each group is entered together, some minutes after the one before.
    pub groups: Vec<Vec<Body>>,
}

impl Step {
    pub(super) fn minutes(&self) -> i64 {
        if self.minutes == 0 { 30 } else { self.minutes }
    }

    /// The same visit with left and right changed over.
    pub(super) fn flipped(&self) -> Step {
        let all = |lines: &[String]| lines.iter().map(|line| flip(line)).collect();
        Step {
            call: flip(&self.call),
            site: flip(&self.site),
            history: flip(&self.history),
            look: all(&self.look),
            found: all(&self.found),
            gait: all(&self.gait),
            flexion: all(&self.flexion),
            neuro: all(&self.neuro),
            blocks: all(&self.blocks),
            images: all(&self.images),
            treatments: all(&self.treatments),
            problems: all(&self.problems),
            plan: flip(&self.plan),
            follow: self.follow.as_ref().map(|(days, what)| (*days, flip(what))),
            ..self.clone()
        }
    }

    /// Everything of this visit as entries.
    pub(super) fn seen(&self) -> anyhow::Result<Seen> {
        let mut groups = Vec::new();
        if !self.history.is_empty() {
            let text = Some(self.history.clone());
            groups.push(vec![Body { value: Some("history".into()), text, ..Body::new(Kind::Note) }]);
        }
        groups.push(line::vitals(&self.vitals));
        groups.extend(self.hands()?);
        groups.push(self.gait.iter().map(|l| line::gait(l)).collect::<anyhow::Result<Vec<_>>>()?.concat());
        groups.push(self.flexion.iter().map(|l| line::flexion(l)).collect::<anyhow::Result<_>>()?);
        groups.push(self.neuro.iter().map(|l| line::neuro(l)).collect::<anyhow::Result<_>>()?);
        groups.push(needle::consents(&self.blocks, "the owner")?);
        for line in &self.blocks {
            groups.extend(needle::block(line)?);
        }
        for (kind, lines) in [
            (Kind::Image, &self.images),
            (Kind::Problem, &self.problems),
            (Kind::Treatment, &self.treatments),
        ] {
            groups.push(lines.iter().map(|l| line::written(kind, l)).collect::<anyhow::Result<_>>()?);
        }
        if !self.plan.is_empty() {
            groups.push(vec![Body { text: Some(self.plan.clone()), ..Body::new(Kind::Plan) }]);
        }
        groups.retain(|group: &Vec<Body>| !group.is_empty());
        Ok(Seen { groups })
    }

    /// What hands found, section by section; the rest of a section that was looked at comes from one sweep.
    fn hands(&self) -> anyhow::Result<Vec<Vec<Body>>> {
        let mut left: Vec<(Place, Body)> = self
            .found
            .iter()
            .map(|l| Ok((line::place_of(l)?, line::finding(l)?)))
            .collect::<anyhow::Result<_>>()?;
        let mut groups = Vec::new();
        for section in self.sections()? {
            let (here, rest): (Vec<_>, Vec<_>) =
                left.into_iter().partition(|(place, _)| Section::of(*place) == section);
            left = rest;
            let sweep = SweepId::new();
            let touched: Vec<Place> = here.iter().map(|(place, _)| *place).collect();
            let swept = sweep_places(section).into_iter().filter(|place| !touched.contains(place));
            let mut group: Vec<Body> = here.into_iter().map(|(_, body)| body).collect();
            group.extend(swept.map(|place| line::swept(place, sweep)));
            groups.push(group);
        }
        groups.push(left.into_iter().map(|(_, body)| body).collect());
        Ok(groups)
    }

    fn sections(&self) -> anyhow::Result<Vec<Section>> {
        let mut sections = Vec::new();
        for key in &self.look {
            let limbs: &[Limb] = match key.as_str() {
                "all" => &Limb::ALL,
                "fore" => &[Limb::LF, Limb::RF],
                "hind" => &[Limb::LH, Limb::RH],
                one => {
                    sections.push(one.parse().with_context(|| format!("`{one}` is not a section"))?);
                    continue;
                }
            };
            if key == "all" {
                sections.push(Section::Axial);
            }
            sections.extend(limbs.iter().flat_map(|limb| [Section::Limb(*limb), Section::Foot(*limb)]));
        }
        Ok(sections)
    }
}

impl Course {
    /// A visit that nobody called for is booked in the words of what was promised before it.
    fn call_rechecks(&mut self) {
        let mut promised: Option<String> = None;
        for step in &mut self.step {
            if step.call.is_empty() {
                step.call =
                    promised.map_or_else(|| "Recheck, as planned.".into(), |what| recheck(&what, step.day));
            }
            promised = step.follow.as_ref().map(|(_, what)| what.clone());
        }
    }
}

/// "Recheck with ultrasound, lateral branch, week 4"
fn recheck(what: &str, day: i64) -> String {
    let says_when = ["day", "week", "month"].iter().any(|unit| what.contains(unit));
    match day {
        _ if says_when => what.to_owned(),
        ..14 => format!("{what}, day {day}"),
        _ => format!("{what}, week {}", (day + 3) / 7),
    }
}

impl Courses {
    pub(super) fn read() -> anyhow::Result<Self> {
        let mut courses: Courses =
            toml::from_str(include_str!("data/courses.toml")).context("courses.toml cannot be read")?;
        for course in &mut courses.course {
            course.call_rechecks();
        }
        Ok(courses)
    }

    pub(super) fn get(&self, key: &str) -> anyhow::Result<&Course> {
        self.course.iter().find(|c| c.key == key).with_context(|| format!("there is no course {key}"))
    }
}
