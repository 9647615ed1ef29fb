//! Blocks set as strips within a width.

use std::{num::NonZeroU16, rc::Rc};

use krilla::tagging::{self, ListNumbering};

use super::{
    block::{Block, Hand, Item, Mark, Picture, Span, Text},
    drawing,
    strip::{Ink, Placed, Strip, Tag, Tags, side_by_side},
    text::{Lines, Setter},
};

/// The size of running text, in points.
pub(super) const BODY: f32 = 9.5;
/// The gap under a paragraph.
const GAP: f32 = 4.0;
/// How far the words of a list stand in.
const INDENT: f32 = 11.0;
/// The share of the width that terms take, and the width below which they stand above what they mean.
const TERMS: f32 = 0.2;
const NARROW: f32 = 260.0;
/// No drawing is wider than this: a plan of the horse stays one look.
const WIDEST_DRAWING: f32 = 310.0;
/// Points to a unit of a drawing, at most: a small chart stays small.
const LARGEST: f32 = 1.1;

/// Words as wide as their column would be broken by what is lost in rounding.
const SLACK: f32 = 0.5;

/// Where on the page something is set.
#[derive(Clone, Copy)]
pub(super) struct Area {
    pub x: f32,
    pub width: f32,
}

impl Area {
    fn indented(self, by: f32) -> Self {
        Area { x: self.x + by, width: (self.width - by).max(1.0) }
    }
}

pub(super) struct Setting {
    pub setter: Setter,
    pub tags: Tags,
}

impl Setting {
    pub(super) fn blocks(&mut self, blocks: &[Block], area: Area, under: Tag) -> Vec<Strip> {
        blocks.iter().flat_map(|block| self.block(block, area, under)).collect()
    }

    fn block(&mut self, block: &Block, area: Area, under: Tag) -> Vec<Strip> {
        match block {
            Block::Heading(level, text) => self.heading(*level, text, area, under),
            Block::Paragraph(text) => {
                let tag = self.tags.add(tagging::Tag::P, Some(under));
                let mut strips = self.paragraph(text, BODY, area, tag);
                strips.push(Strip::gap(GAP));
                strips
            }
            Block::List(items) => self.list(items, area, under),
            Block::Table(table) => self.table(table, area, under),
            Block::Picture(picture) => self.picture(picture, area, under),
            Block::Apart(inside) => self.apart(inside, area, under),
        }
    }

    /// Lines of words, the first two and the last two together.
    pub(super) fn paragraph(&mut self, text: &Text, size: f32, area: Area, tag: Tag) -> Vec<Strip> {
        let lines = Rc::new(self.setter.set(text, size, area.width));
        let heights: Vec<f32> = lines.heights().collect();
        let last = heights.len();
        let strip = |(n, height): (usize, f32)| Strip {
            height,
            inks: vec![Placed { x: area.x, y: 0.0, ink: Ink::Line(Rc::clone(&lines), n), tag: Some(tag) }],
            holds: n + 1 < last && (n == 0 || n + 2 == last),
            ..Strip::default()
        };
        heights.into_iter().enumerate().map(strip).collect()
    }

    fn heading(&mut self, level: u16, text: &Text, area: Area, under: Tag) -> Vec<Strip> {
        let (size, before, after) = match level {
            1 => (15.0, 0.0, 2.0),
            2 => (11.5, 7.0, 3.0),
            _ => (10.0, 4.0, 2.0),
        };
        let title: String = text.iter().map(|span| span.words.as_str()).collect();
        let kind = tagging::Tag::Hn(NonZeroU16::new(level).unwrap_or(NonZeroU16::MIN), Some(title.clone()));
        let tag = self.tags.add(kind, Some(under));
        let bold: Text = text
            .iter()
            .map(|span| Span { words: span.words.clone(), hand: Hand { bold: true, ..span.hand } })
            .collect();
        let mut strips = vec![Strip::gap(before)];
        strips.extend(self.paragraph(&bold, size, area, tag));
        if level == 2 {
            strips.push(Strip { height: after, inks: vec![rule(area)], ..Strip::default() });
        } else {
            strips.push(Strip::gap(after));
        }
        strips.iter_mut().skip(1).for_each(|strip| strip.holds = true);
        if let Some(first) = strips.get_mut(1) {
            first.heading = Some((level, title));
        }
        strips
    }

    fn list(&mut self, items: &[Item], area: Area, under: Tag) -> Vec<Strip> {
        let numbering = match items.first().map(|item| &item.mark) {
            Some(Mark::Number(_)) => ListNumbering::Decimal,
            Some(Mark::Dot) => ListNumbering::Disc,
            _ => ListNumbering::None,
        };
        let list = self.tags.add(tagging::Tag::L(numbering), Some(under));
        let mut strips: Vec<Strip> = items.iter().flat_map(|item| self.item(item, area, list)).collect();
        strips.push(Strip::gap(GAP - 1.0));
        strips
    }

    fn item(&mut self, item: &Item, area: Area, list: Tag) -> Vec<Strip> {
        let node = self.tags.add(tagging::Tag::LI, Some(list));
        let label = self.tags.add(tagging::Tag::Lbl, Some(node));
        let body = self.tags.add(tagging::Tag::LBody, Some(node));
        let plain = |words: String| vec![Span { words, hand: Hand::default() }];
        let (words, wide) = match &item.mark {
            Mark::Dot => (plain("•".to_owned()), INDENT),
            Mark::Number(n) => (plain(format!("{n}.")), INDENT + 4.0),
            Mark::Term(term) => (term.clone(), if area.width < NARROW { 0.0 } else { area.width * TERMS }),
        };
        let mark = self.paragraph(
            &words,
            BODY,
            Area { x: area.x, width: if wide > 0.0 { wide - 3.0 } else { area.width } },
            label,
        );
        let mut said = self.blocks(&item.blocks, area.indented(wide), body);
        while said.last().is_some_and(Strip::is_gap) {
            said.pop();
        }
        let mut strips = if wide > 0.0 { side_by_side(mark, said) } else { [mark, said].concat() };
        strips.push(Strip::gap(1.5));
        strips
    }

    fn apart(&mut self, inside: &[Block], area: Area, under: Tag) -> Vec<Strip> {
        let node = self.tags.add(tagging::Tag::Div, Some(under));
        let mut strips = self.blocks(inside, area.indented(9.0), node);
        while strips.last().is_some_and(Strip::is_gap) {
            strips.pop();
        }
        for strip in &mut strips {
            strip.inks.push(Placed { x: area.x, y: 0.0, ink: Ink::Bar, tag: None });
        }
        strips.push(Strip::gap(GAP + 2.0));
        strips
    }

    /// A drawing that cannot be read is told in its words.
    fn picture(&mut self, picture: &Picture, area: Area, under: Tag) -> Vec<Strip> {
        let Some(tree) = drawing::tree(&picture.svg) else {
            let said = vec![Span { words: picture.alt.clone(), hand: Hand::default() }];
            return self.block(&Block::Paragraph(said), area, under);
        };
        let tag = self.tags.add(tagging::Tag::Figure(Some(picture.alt.clone())), Some(under));
        let width = area.width.min(WIDEST_DRAWING).min(tree.size().width() * LARGEST);
        let height = width * tree.size().height() / tree.size().width();
        let ink = Ink::Drawing { tree: Rc::new(tree), width, height };
        let placed = Placed { x: area.x + (area.width - width) / 2.0, y: 0.0, ink, tag: Some(tag) };
        vec![Strip { height, inks: vec![placed], ..Strip::default() }, Strip::gap(GAP)]
    }

    /// The width of the longest word and of the longest line that blocks would like, in points.
    pub(super) fn wants(&mut self, blocks: &[Block]) -> (f32, f32) {
        let of = |setting: &mut Self, block: &Block| match block {
            Block::Heading(_, text) | Block::Paragraph(text) => setting.words_want(text),
            Block::List(items) => items.iter().fold((0.0, 0.0), |wide, item| {
                let (least, most) = setting.wants(&item.blocks);
                widest(wide, (least + INDENT, most + INDENT))
            }),
            Block::Apart(inside) => setting.wants(inside),
            Block::Table(_) | Block::Picture(_) => (WIDEST_DRAWING / 2.0, WIDEST_DRAWING),
        };
        blocks.iter().fold((0.0, 0.0), |wide, block| widest(wide, of(self, block)))
    }

    fn words_want(&mut self, text: &Text) -> (f32, f32) {
        let lines: Lines = self.setter.set(text, BODY, f32::MAX);
        let (least, most) = lines.widths();
        (least + SLACK, most + SLACK)
    }
}

fn widest(a: (f32, f32), b: (f32, f32)) -> (f32, f32) {
    (a.0.max(b.0), a.1.max(b.1))
}

/// A thin line over the width of an area.
pub(super) fn rule(area: Area) -> Placed {
    Placed { x: area.x, y: 0.0, ink: Ink::Rule(area.width), tag: None }
}
