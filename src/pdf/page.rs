//! Strips stacked on pages, and the pages as a file.

use krilla::{
    Document, SerializeSettings,
    color::luma,
    configure::{Accessibility, ConfigurationBuilder, PdfVersion},
    destination::XyzDestination,
    geom::{PathBuilder, Point, Rect, Size, Transform},
    metadata::Metadata,
    num::NormalizedF32,
    outline::{Outline, OutlineNode},
    page::PageSettings,
    paint::{Fill, FillRule, Stroke},
    surface::Surface,
    tagging::{Artifact, ArtifactType, ContentTag, Identifier, SpanTag, TagGroup, TagTree},
};
use krilla_svg::{SurfaceExt, SvgSettings};

use super::{
    block::{Hand, Shade, Span},
    read::Read,
    set::{Area, Setting},
    strip::{Ink, Placed, Strip, Tag, Tags},
    text::{Faces, Setter},
};

/// A4, in points.
const PAGE: (f32, f32) = (595.28, 841.89);
const SIDE: f32 = 43.0;
const TOP: f32 = 40.0;
const FOOT: f32 = 48.0;
/// Where the line at the foot stands, and its size.
const FOOT_LINE: f32 = PAGE.1 - 34.0;
const FOOT_SIZE: f32 = 7.5;
/// The height that a page has for what it says.
pub(super) const ROOM: f32 = PAGE.1 - TOP - FOOT;
const AREA: Area = Area { x: SIDE, width: PAGE.0 - 2.0 * SIDE };

/// A strip with the height at which it stands.
type Standing = (f32, Strip);

/// Makes the file. The error is the library's, in words.
pub(super) fn file(read: &Read) -> Result<Vec<u8>, String> {
    let mut setting = Setting { setter: Setter::new(), tags: Tags::default() };
    let root = setting.tags.add(krilla::tagging::Tag::Article, None);
    let strips = setting.blocks(&read.blocks, AREA, root);
    let pages = pages(strips);
    let count = pages.len();
    let configuration = ConfigurationBuilder::new()
        .with_version(PdfVersion::Pdf17)
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|fault| format!("{fault:?}"))?;
    let mut document = Document::new_with(SerializeSettings {
        configuration,
        enable_tagging: true,
        ..SerializeSettings::default()
    });
    document.set_metadata(
        Metadata::new()
            .title(read.title.clone())
            .language("en".to_owned())
            .authors(vec![read.practice.clone()]),
    );
    let mut inked = Inked { parts: vec![Vec::new(); setting.tags.0.len()], faces: Faces::default() };
    let mut outline = Outline::new();
    for (number, strips) in pages.iter().enumerate() {
        let settings = PageSettings::from_wh(PAGE.0, PAGE.1).ok_or("no such page")?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        for (y, strip) in strips {
            if let Some((_, title)) = strip.heading.as_ref() {
                outline.push_child(OutlineNode::new(
                    title.clone(),
                    XyzDestination::new(number, Point::from_xy(SIDE, *y)),
                ));
            }
            inked.strip(&mut surface, *y, strip);
        }
        let words = format!("{} · {} · page {} of {count}", read.practice, read.title, number + 1);
        inked.foot(&mut surface, &mut setting.setter, words);
        surface.finish();
        page.finish();
    }
    document.set_outline(outline);
    document.set_tag_tree(inked.tree(&setting.tags, root));
    document.finish().map_err(|fault| format!("{fault:?}"))
}

/// Stacks strips on pages. What holds on to the next goes over with it; a gap begins no page.
fn pages(strips: Vec<Strip>) -> Vec<Vec<Standing>> {
    let mut pages: Vec<Vec<Standing>> = vec![Vec::new()];
    let mut y = TOP;
    let needs: Vec<f32> = (0..strips.len()).map(|at| need(strips.get(at..).unwrap_or_default())).collect();
    for (strip, need) in strips.into_iter().zip(needs) {
        let Some(page) = pages.last_mut() else { break };
        let begun = !page.is_empty();
        if begun && y + need > TOP + ROOM {
            pages.push(Vec::new());
            y = TOP;
        }
        let Some(page) = pages.last_mut() else { break };
        if page.is_empty() {
            if strip.is_gap() {
                continue;
            }
            if let Some(head) = strip.under.as_ref().filter(|_| begun) {
                page.push((y, head.as_ref().clone()));
                y += head.height;
            }
        }
        let height = strip.height;
        page.push((y, strip));
        y += height;
    }
    pages
}

/// The height of a strip with all that it holds on to, no more than a page.
fn need(strips: &[Strip]) -> f32 {
    let held = strips.iter().take_while(|strip| strip.holds).count();
    let all: f32 = strips.iter().take(held + 1).map(|strip| strip.height).sum();
    if all > ROOM { strips.first().map_or(0.0, |strip| strip.height) } else { all }
}

/// What was drawn so far, by the part that it belongs to.
struct Inked {
    parts: Vec<Vec<Identifier>>,
    faces: Faces,
}

impl Inked {
    fn strip(&mut self, surface: &mut Surface<'_>, y: f32, strip: &Strip) {
        for placed in &strip.inks {
            let mark = match placed.tag {
                Some(_) => match placed.ink {
                    Ink::Line(..) => ContentTag::Span(SpanTag::empty()),
                    _ => ContentTag::Other,
                },
                None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            };
            let drawn = surface.start_tagged(mark);
            self.ink(surface, y, strip, placed);
            surface.end_tagged();
            if let Some(part) = placed.tag.and_then(|tag| self.parts.get_mut(tag)) {
                part.push(drawn);
            }
        }
    }

    fn ink(&mut self, surface: &mut Surface<'_>, y: f32, strip: &Strip, placed: &Placed) {
        let (x, y) = (placed.x, y + placed.y);
        match &placed.ink {
            Ink::Line(lines, number) => lines.draw(*number, (x, y), surface, &mut self.faces),
            Ink::Rule(length) => line(surface, (x, y), (x + length, y), 0.5),
            Ink::Bar => bar(surface, x, y, strip.height),
            Ink::Drawing { tree, width, height } => {
                if let Some(size) = Size::from_wh(*width, *height) {
                    surface.push_transform(&Transform::from_translate(x, y));
                    surface.draw_svg(tree, size, SvgSettings::default());
                    surface.pop();
                }
            }
        }
    }

    fn foot(&mut self, surface: &mut Surface<'_>, setter: &mut Setter, words: String) {
        let text = vec![Span { words, hand: Hand { shade: Shade::Soft, ..Hand::default() } }];
        let lines = setter.set(&text, FOOT_SIZE, AREA.width);
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Footer)));
        line(surface, (SIDE, FOOT_LINE - 3.0), (PAGE.0 - SIDE, FOOT_LINE - 3.0), 0.3);
        for number in 0..lines.heights().count().min(2) {
            let down = lines.heights().take(number).sum::<f32>();
            lines.draw(number, (SIDE, FOOT_LINE + down), surface, &mut self.faces);
        }
        surface.end_tagged();
    }

    fn tree(mut self, tags: &Tags, root: Tag) -> TagTree {
        let mut tree = TagTree::new();
        tree.push(self.group(tags, root));
        tree
    }

    fn group(&mut self, tags: &Tags, tag: Tag) -> TagGroup {
        let Some((kind, inside)) = tags.0.get(tag) else {
            return TagGroup::new(krilla::tagging::Tag::NonStruct);
        };
        let mut group = TagGroup::new(kind.clone());
        for drawn in self.parts.get_mut(tag).map(std::mem::take).unwrap_or_default() {
            group.push(drawn);
        }
        for child in inside {
            let child = self.group(tags, *child);
            // What has nothing in it says nothing.
            if !child.children.is_empty() {
                group.push(child);
            }
        }
        group
    }
}

fn line(surface: &mut Surface<'_>, from: (f32, f32), to: (f32, f32), width: f32) {
    let mut path = PathBuilder::new();
    path.move_to(from.0, from.1);
    path.line_to(to.0, to.1);
    let Some(path) = path.finish() else { return };
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke { paint: luma::Color::new(120).into(), width, ..Stroke::default() }));
    surface.draw_path(&path);
    surface.set_stroke(None);
}

fn bar(surface: &mut Surface<'_>, x: f32, y: f32, height: f32) {
    let Some(rect) = Rect::from_xywh(x, y, 2.5, height.max(0.1)) else { return };
    let mut path = PathBuilder::new();
    path.push_rect(rect);
    let Some(path) = path.finish() else { return };
    surface.set_fill(Some(Fill {
        paint: luma::Color::black().into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::default(),
    }));
    surface.draw_path(&path);
}
