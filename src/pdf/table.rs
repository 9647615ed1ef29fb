//! Tables: columns as wide as their words ask, heads again on each page.

use std::{num::NonZeroU32, rc::Rc};

use krilla::tagging::{self, TableHeaderScope, TagKind};

use super::{
    block::{Cell, Heads, Table},
    page::ROOM,
    set::{Area, BODY, Setting, rule},
    strip::{Placed, Strip, Tag},
};

/// White between two columns, and above and below the words of a row.
const BETWEEN: f32 = 8.0;
const PADDING: f32 = 2.0;
/// A column that asks for no more is not broken, in points.
const SHORT: f32 = 95.0;

impl Setting {
    pub(super) fn table(&mut self, table: &Table, area: Area, under: Tag) -> Vec<Strip> {
        let node = self.tags.add(tagging::Tag::Table, Some(under));
        let columns = self.columns(table, area);
        let mut strips = Vec::new();
        if !table.caption.is_empty() {
            let caption = self.tags.add(tagging::Tag::Caption, Some(node));
            strips.extend(self.paragraph(&table.caption, BODY, area, caption));
            for strip in &mut strips {
                strip.holds = true;
            }
        }
        let mut head = None;
        if !table.head.is_empty() {
            let part = self.tags.add(tagging::Tag::THead, Some(node));
            let rows = table.head.iter().map(|row| self.row(row, &columns, area, part)).collect::<Vec<_>>();
            let whole = rows.into_iter().flatten().fold(Strip::default(), Strip::over);
            head = Some(Rc::new(repeated(&whole)));
            strips.push(Strip { holds: true, ..whole });
        }
        let body = self.tags.add(tagging::Tag::TBody, Some(node));
        for row in &table.body {
            let rows = self.row(row, &columns, area, body);
            strips.extend(rows.into_iter().map(|strip| Strip { under: head.clone(), ..strip }));
        }
        strips.push(Strip::gap(7.0));
        strips
    }

    /// The left edge and the width of each column.
    fn columns(&mut self, table: &Table, area: Area) -> Vec<Area> {
        let count = table
            .head
            .iter()
            .chain(&table.body)
            .map(|row| row.iter().map(|cell| cell.across).sum::<usize>())
            .max()
            .unwrap_or(1);
        let mut wants = vec![(1.0_f32, 1.0_f32); count.max(1)];
        for row in table.head.iter().chain(&table.body) {
            let mut at = 0;
            for cell in row {
                if cell.across == 1 {
                    let (least, most) = self.wants(&cell.blocks);
                    if let Some(want) = wants.get_mut(at) {
                        *want = (want.0.max(least), want.1.max(most));
                    }
                }
                at += cell.across;
            }
        }
        let gaps: f32 = wants.iter().skip(1).map(|_| BETWEEN).sum();
        let widths = share(&unbroken(&wants, area.width), (area.width - gaps).max(1.0));
        let mut x = area.x;
        let place = |width: f32| {
            let column = Area { x, width };
            x += width + BETWEEN;
            column
        };
        widths.into_iter().map(place).collect()
    }

    /// One strip a row; a row higher than a page is told cell under cell.
    fn row(&mut self, row: &[Cell], columns: &[Area], area: Area, under: Tag) -> Vec<Strip> {
        let node = self.tags.add(tagging::Tag::TR, Some(under));
        let mut at = 0;
        let mut cells = Vec::new();
        for cell in row {
            let tag = self.tags.add(kind(cell), Some(node));
            let last = columns.get(at + cell.across - 1).or(columns.last());
            if let (Some(first), Some(last)) = (columns.get(at), last) {
                let width = last.x + last.width - first.x;
                cells.push((cell, tag, self.stack(cell, Area { x: first.x, width }, tag)));
            }
            at += cell.across;
        }
        let height = cells.iter().map(|(_, _, strip)| strip.height).fold(0.0, f32::max) + 2.0 * PADDING;
        if height > ROOM {
            let parts: Vec<(&Cell, Tag)> = cells.iter().map(|(cell, tag, _)| (*cell, *tag)).collect();
            return parts.into_iter().flat_map(|(cell, tag)| self.blocks(&cell.blocks, area, tag)).collect();
        }
        let mut strip = cells.into_iter().fold(Strip::gap(PADDING), |whole, (_, _, cell)| {
            let inks = cell.inks.into_iter().map(|placed| Placed { y: placed.y + PADDING, ..placed });
            whole.beside(Strip { inks: inks.collect(), ..Strip::default() })
        });
        strip.height = height;
        strip.inks.push(Placed { y: height, ..rule(area) });
        vec![strip]
    }

    /// A cell as one strip.
    fn stack(&mut self, cell: &Cell, area: Area, tag: Tag) -> Strip {
        let mut strips = self.blocks(&cell.blocks, area, tag);
        while strips.last().is_some_and(Strip::is_gap) {
            strips.pop();
        }
        Strip { holds: false, ..strips.into_iter().fold(Strip::default(), Strip::over) }
    }
}

fn kind(cell: &Cell) -> TagKind {
    let across = u32::try_from(cell.across).ok().and_then(NonZeroU32::new).filter(|n| n.get() > 1);
    match cell.heads {
        Heads::Nothing => tagging::Tag::TD.with_col_span(across).into(),
        Heads::Row => tagging::Tag::TH(TableHeaderScope::Row).with_col_span(across).into(),
        Heads::Column => tagging::Tag::TH(TableHeaderScope::Column).with_col_span(across).into(),
    }
}

/// A head that stands again is an ornament: a screen reader has told it.
fn repeated(head: &Strip) -> Strip {
    let inks = head.inks.iter().map(|placed| Placed { tag: None, ..placed.clone() });
    Strip { inks: inks.collect(), ..head.clone() }
}

/// Short words, such as a day with its time, stay in one line where that leaves room for the long ones.
fn unbroken(wants: &[(f32, f32)], width: f32) -> Vec<(f32, f32)> {
    let stiff: Vec<(f32, f32)> =
        wants.iter().map(|(least, most)| (if *most <= SHORT { *most } else { *least }, *most)).collect();
    let least: f32 = stiff.iter().map(|want| want.0).sum();
    if least <= width * 0.75 { stiff } else { wants.to_vec() }
}

/// Shares a width among columns that each want at least their longest word and at most their longest line.
fn share(wants: &[(f32, f32)], width: f32) -> Vec<f32> {
    let least: f32 = wants.iter().map(|want| want.0).sum();
    let most: f32 = wants.iter().map(|want| want.1).sum();
    if most <= width {
        return wants.iter().map(|want| want.1 * width / most).collect();
    }
    if least >= width {
        return wants.iter().map(|want| want.0 * width / least).collect();
    }
    wants.iter().map(|want| want.0 + (want.1 - want.0) * (width - least) / (most - least)).collect()
}
