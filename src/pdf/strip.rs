//! Strips: what a page is stacked of. A page ends between two of them, never within one.

use std::rc::Rc;

use krilla::tagging::TagKind;

use super::text::Lines;

/// A line of text, a row of a table, a drawing, or the gap between two.
#[derive(Clone, Default)]
pub(super) struct Strip {
    pub height: f32,
    pub inks: Vec<Placed>,
    /// It never ends a page: what follows stands under it.
    pub holds: bool,
    /// The head of its table, which stands again where it begins a page.
    pub under: Option<Rc<Strip>>,
    /// A heading's level and words, for the outline.
    pub heading: Option<(u16, String)>,
}

/// Ink at a place of its strip, in points from its left upper corner.
#[derive(Clone)]
pub(super) struct Placed {
    pub x: f32,
    pub y: f32,
    pub ink: Ink,
    /// What it is a part of; `None` for ornaments.
    pub tag: Option<Tag>,
}

#[derive(Clone)]
pub(super) enum Ink {
    Line(Rc<Lines>, usize),
    /// A thin line as long as this.
    Rule(f32),
    /// A bar on the left as high as its strip.
    Bar,
    Drawing {
        tree: Rc<usvg::Tree>,
        width: f32,
        height: f32,
    },
}

impl Strip {
    pub(super) fn gap(height: f32) -> Self {
        Strip { height, ..Strip::default() }
    }

    pub(super) fn is_gap(&self) -> bool {
        self.inks.is_empty()
    }

    /// Another strip beside it, as high as the higher one.
    pub(super) fn beside(mut self, other: Strip) -> Self {
        self.height = self.height.max(other.height);
        self.holds |= other.holds;
        self.inks.extend(other.inks);
        self
    }

    /// Another strip under it, so that no page ends between them.
    pub(super) fn over(mut self, other: Strip) -> Self {
        let down = self.height;
        self.inks.extend(other.inks.into_iter().map(|placed| Placed { y: placed.y + down, ..placed }));
        self.height += other.height;
        self
    }
}

/// Two stacks side by side.
pub(super) fn side_by_side(left: Vec<Strip>, right: Vec<Strip>) -> Vec<Strip> {
    let (mut left, mut right) = (left.into_iter(), right.into_iter());
    std::iter::from_fn(|| match (left.next(), right.next()) {
        (Some(a), Some(b)) => Some(a.beside(b)),
        (a, b) => a.or(b),
    })
    .collect()
}

/// A node of the tag tree, by its number.
pub(super) type Tag = usize;

/// What each piece of ink is a part of: headings, paragraphs, lists, tables, as a screen reader tells them.
#[derive(Default)]
pub(super) struct Tags(pub Vec<(TagKind, Vec<Tag>)>);

impl Tags {
    /// A new node under another; the first of all has none.
    pub(super) fn add(&mut self, kind: impl Into<TagKind>, under: Option<Tag>) -> Tag {
        let tag = self.0.len();
        self.0.push((kind.into(), Vec::new()));
        if let Some((_, inside)) = under.and_then(|node| self.0.get_mut(node)) {
            inside.push(tag);
        }
        tag
    }
}
