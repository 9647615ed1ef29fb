//! A picture with the marks on it: what is asked for, what stands in the form, and what that gives.

use super::{
    fields::{Fields, outline_field, point_field},
    foot, scale,
    store::{self, Kept},
    tendon, volume,
};
use crate::{
    App,
    catalogue::Limb,
    ids::ArrivalId,
    imaging::{
        look::{self, Look},
        picture::{Facts, Unshown},
        store::pictures::{self, Pictured},
    },
    record::Marked,
    web::{Check, Error, Errors, Result},
};

/// How wide the picture stands on a page without script, in pixels of the screen.
pub(super) const PLAIN_WIDTH: u32 = 720;

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Subject {
    Foot,
    Tendon,
}

impl Subject {
    /// As the record has it.
    pub(super) fn code(self) -> &'static str {
        match self {
            Subject::Foot => "foot",
            Subject::Tendon => "tendon",
        }
    }

    /// What to do when there is nothing to keep.
    pub(super) fn missing(self) -> &'static str {
        match self {
            Subject::Foot => "Mark the ground (G1, G2) and the points of one measure at least.",
            Subject::Tendon => "Give the scale and trace the edge, or say why it cannot be measured.",
        }
    }

    fn of(fields: &Fields) -> Self {
        if fields.get("what") == "tendon" { Subject::Tendon } else { Subject::Foot }
    }
}

/// One thing to mark.
pub(super) struct Mark {
    pub name: String,
    pub field: String,
    pub words: String,
    pub typed: String,
}

pub(super) struct Sheet {
    pub picture: Pictured,
    pub look: std::result::Result<Look, Unshown>,
    pub fields: Fields,
    pub subject: Subject,
    pub limb: Option<Limb>,
    pub marked: Marked,
    pub errors: Errors,
}

impl Sheet {
    /// The picture with what stands in its form; a tap on a page without script is taken up.
    pub(super) async fn load(app: &App, id: ArrivalId, mut fields: Fields) -> Result<Self> {
        let picture = pictures::get(app.db.read(), id).await?.ok_or(Error::NotFound)?;
        let look = look::look(app, &picture.sha256).await?;
        propose(&mut fields, &picture, look.as_ref().ok().map(|look| &look.facts));
        propose_zone(app, &mut fields, &picture).await?;
        let subject = Subject::of(&fields);
        let limb = fields.get("limb").parse().ok();
        let mut sheet = Sheet {
            picture,
            look,
            fields,
            subject,
            limb,
            marked: Marked::default(),
            errors: Errors::default(),
        };
        if let Ok(facts) = sheet.facts().cloned() {
            sheet.press(&facts);
            let mut check = Check::new();
            let marked = match subject {
                Subject::Foot => foot::reckon(&sheet.fields, limb, &facts, &mut check),
                Subject::Tendon => tendon::reckon(&sheet.fields, &facts, &mut check),
            };
            let frame = sheet.fields.get("frame").parse().unwrap_or(1).clamp(1, facts.frames.max(1));
            sheet.marked = Marked { frame, ..marked };
            sheet.errors = check.errors;
        }
        Ok(sheet)
    }

    pub(super) fn facts(&self) -> std::result::Result<&Facts, &Unshown> {
        self.look.as_ref().map(|look| &look.facts)
    }

    /// What a press of a button of the form, or a tap on its picture, changes in it.
    fn press(&mut self, facts: &Facts) {
        let next = self.next().map(|mark| mark.name).unwrap_or_default();
        if !self.fields.get("back").is_empty() {
            self.take_back(&next);
        } else if !self.fields.get("skip").is_empty() {
            self.go_on(&next, false);
        } else if let Some(at) = self.fields.take_tap(facts.columns, PLAIN_WIDTH) {
            if tendon::OUTLINES.iter().any(|(name, _)| *name == next) {
                self.fields.add_corner(&next, at);
            } else {
                self.fields.set_point(&next, at);
                self.go_on(&next, true);
            }
        }
        for button in ["back", "skip", "at.x", "at.y"] {
            self.fields.set(button, "");
        }
    }

    /// To the mark after this one, `free` when those that are set are passed over.
    fn go_on(&mut self, name: &str, free: bool) {
        let marks = self.marks();
        let at = marks.iter().position(|mark| mark.name == name).unwrap_or(0);
        let after = marks.iter().cycle().skip(at + 1).take(marks.len());
        let next =
            after.into_iter().find(|mark| !free || mark.typed.is_empty()).map(|mark| mark.name.clone());
        if let Some(next) = next {
            self.fields.set("next", next);
        }
    }

    /// The mark itself where it is set, else the one before it; of an outline its last corner.
    fn take_back(&mut self, name: &str) {
        if tendon::OUTLINES.iter().any(|(outline, _)| *outline == name) {
            return self.fields.drop_corner(name);
        }
        let marks = self.marks();
        let at = marks.iter().position(|mark| mark.name == name).unwrap_or(0);
        let last =
            marks[..=at.min(marks.len().saturating_sub(1))].iter().rev().find(|mark| !mark.typed.is_empty());
        if let Some(name) = last.map(|mark| mark.name.clone()) {
            self.fields.set(&point_field(&name), "");
            self.fields.set("next", name);
        }
    }

    /// Everything that can be marked, in the order in which it is.
    pub(super) fn marks(&self) -> Vec<Mark> {
        let point = |name: &str, words: &str| Mark {
            field: point_field(name),
            typed: self.fields.point(name).to_owned(),
            name: name.to_owned(),
            words: words.to_owned(),
        };
        let typed = scale::MARKER.iter().any(|name| !self.fields.point(name).is_empty());
        let marker = (typed || self.fields.get("scale") == "marker").then_some(scale::MARKER);
        let ends = ["one end of the marker of known length", "its other end"];
        let mut marks: Vec<Mark> =
            marker.into_iter().flatten().zip(ends).map(|(name, words)| point(name, words)).collect();
        match self.subject {
            Subject::Foot => {
                marks.extend(
                    foot::points(self.fields.get("view")).iter().map(|row| point(&row.code, &row.name)),
                );
            }
            Subject::Tendon => marks.extend(tendon::OUTLINES.iter().map(|(name, words)| Mark {
                field: outline_field(name),
                typed: self.fields.outline(name).to_owned(),
                name: (*name).to_owned(),
                words: (*words).to_owned(),
            })),
        }
        marks
    }

    /// What a tap marks: what was chosen, else the first that is not marked.
    pub(super) fn next(&self) -> Option<Mark> {
        let chosen = self.fields.get("next");
        let marks = self.marks();
        let at = marks.iter().position(|mark| mark.name == chosen);
        let at = at.or_else(|| marks.iter().position(|mark| mark.typed.is_empty())).unwrap_or(0);
        marks.into_iter().nth(at)
    }
}

/// What the picture itself says stands in the form until a person says otherwise.
fn propose(fields: &mut Fields, picture: &Pictured, facts: Option<&Facts>) {
    let code = picture.code.as_deref().unwrap_or_default();
    let is_sonogram = picture.modality == "US";
    fields.propose("what", if is_sonogram { "tendon" } else { "foot" });
    fields.propose("view", if code.starts_with("DP") { "DPa" } else { "LM" });
    fields.propose("structure", if is_sonogram { code } else { "" });
    if let Some(side) = &picture.side {
        fields.propose("limb", side);
    }
    let is_true =
        facts.and_then(|facts| facts.spacing.as_ref()).is_some_and(|spacing| spacing.scale.is_true());
    fields.propose("scale", if is_true { "file" } else { "marker" });
}

/// How long a zone is on this horse, as it was said of it last; before that the nominal length.
async fn propose_zone(app: &App, fields: &mut Fields, picture: &Pictured) -> Result<()> {
    let (Subject::Tendon, Ok(limb)) = (Subject::of(fields), fields.get("limb").parse::<Limb>()) else {
        return Ok(());
    };
    let of_pair =
        |kept: &Kept| kept.limb.parse::<Limb>().is_ok_and(|other| other.is_fore() == limb.is_fore());
    let known = match picture.horse_id {
        Some(horse) => store::of_horse(app.db.read(), horse).await?,
        None => Vec::new(),
    };
    let last = known.iter().rev().filter(|kept| of_pair(kept)).find_map(volume::own_mm);
    if let Some(length) = last.or_else(|| volume::first_mm(limb)) {
        fields.propose(volume::ZONE_MM, &length.to_string());
    }
    Ok(())
}
