//! Words set in the embedded fonts: broken into lines, and drawn.

use std::{collections::HashMap, ops::Range};

use krilla::{
    color::luma,
    geom::Point,
    num::NormalizedF32,
    paint::{Fill, FillRule},
    surface::Surface,
    text::{Font, GlyphId, KrillaGlyph},
};
use parley::{
    FontContext, FontStyle, FontWeight, Layout, LayoutContext, LineHeight, StyleProperty,
    fontique::{Blob, Collection, CollectionOptions},
    style::{FontFamily, FontFamilyName},
};

use super::block::{Hand, Shade, Text};

/// Lines of text stand this many sizes apart.
const LEADING: f32 = 1.35;
/// Words set small, in sizes of the words around them.
const SMALL: f32 = 0.86;
/// Shades of ink: 0 is black.
const INK: u8 = 0;
const SOFT: u8 = 80;

/// Sets words. One a paper: its fonts are the same data for all.
pub(super) struct Setter {
    fonts: FontContext,
    layouts: LayoutContext<u8>,
}

/// Words in lines.
pub(super) struct Lines {
    text: String,
    layout: Layout<u8>,
}

impl Setter {
    /// Latin, Greek and Cyrillic in one family; signs that it lacks out of a second.
    pub(super) fn new() -> Self {
        let options = CollectionOptions { system_fonts: false, ..CollectionOptions::default() };
        let mut collection = Collection::new(options);
        let faces: [&'static [u8]; 6] = [
            notosans::REGULAR_TTF,
            notosans::BOLD_TTF,
            notosans::ITALIC_TTF,
            notosans::BOLD_ITALIC_TTF,
            dejavu::sans::regular(),
            dejavu::sans::bold(),
        ];
        for face in faces {
            collection.register_fonts(Blob::new(std::sync::Arc::new(face)), None);
        }
        Setter { fonts: FontContext { collection, ..FontContext::default() }, layouts: LayoutContext::new() }
    }

    /// Words in lines no longer than `width`, in points. A letter that no font has is named by its number, so that
    /// nothing is lost in silence.
    pub(super) fn set(&mut self, text: &Text, size: f32, width: f32) -> Lines {
        let mut words = String::new();
        let mut runs = Vec::new();
        for span in text {
            let start = words.len();
            words.push_str(&span.words);
            runs.push((start..words.len(), span.hand));
        }
        let mut lines = self.lines(words, &runs, size, width);
        let unknown = lines.unknown();
        if !unknown.is_empty() {
            let named = text.iter().map(|span| {
                let mut span = span.clone();
                for letter in &unknown {
                    span.words = span.words.replace(*letter, &format!("[U+{:04X}]", u32::from(*letter)));
                }
                span
            });
            let named: Text = named.collect();
            lines = self.set(&named, size, width);
        }
        lines
    }

    fn lines(&mut self, text: String, runs: &[(Range<usize>, Hand)], size: f32, width: f32) -> Lines {
        let families = [FontFamilyName::named("Noto Sans"), FontFamilyName::named("DejaVu Sans")];
        let mut builder = self.layouts.ranged_builder(&mut self.fonts, &text, 1.0, false);
        builder.push_default(StyleProperty::FontFamily(FontFamily::List((&families).into())));
        builder.push_default(StyleProperty::FontSize(size));
        builder.push_default(StyleProperty::LineHeight(LineHeight::FontSizeRelative(LEADING)));
        builder.push_default(StyleProperty::OverflowWrap(parley::style::OverflowWrap::Anywhere));
        builder.push_default(StyleProperty::Brush(INK));
        for (range, hand) in runs {
            if hand.bold {
                builder.push(StyleProperty::FontWeight(FontWeight::BOLD), range.clone());
            }
            if hand.italic {
                builder.push(StyleProperty::FontStyle(FontStyle::Italic), range.clone());
            }
            if hand.shade == Shade::Soft {
                builder.push(StyleProperty::Brush(SOFT), range.clone());
            }
            if hand.small {
                builder.push(StyleProperty::FontSize(size * SMALL), range.clone());
            }
        }
        let mut layout = builder.build(&text);
        layout.break_all_lines(Some(width));
        Lines { text, layout }
    }
}

impl Lines {
    /// Lines, each with its height.
    pub(super) fn heights(&self) -> impl Iterator<Item = f32> + '_ {
        self.layout.lines().map(|line| line.metrics().block_max_coord - line.metrics().block_min_coord)
    }

    /// The width of the longest word, and of all words in one line.
    pub(super) fn widths(&self) -> (f32, f32) {
        let widths = self.layout.calculate_content_widths();
        (widths.min, widths.max)
    }

    fn unknown(&self) -> Vec<char> {
        let clusters = self
            .layout
            .lines()
            .flat_map(|line| line.runs().flat_map(|run| run.clusters().collect::<Vec<_>>()));
        let missing = clusters.filter(|cluster| cluster.glyphs().any(|glyph| glyph.id == 0));
        let mut letters: Vec<char> = missing
            .flat_map(|cluster| self.text[cluster.text_range()].chars().collect::<Vec<_>>())
            .filter(|letter| !letter.is_control())
            .collect();
        letters.sort_unstable();
        letters.dedup();
        letters
    }

    /// Draws line `number` with its top left corner at (x, y).
    pub(super) fn draw(
        &self,
        number: usize,
        (x, y): (f32, f32),
        surface: &mut Surface<'_>,
        faces: &mut Faces,
    ) {
        let Some(line) = self.layout.get(number) else { return };
        let baseline = y + line.metrics().baseline - line.metrics().block_min_coord;
        let mut at = x;
        for run in line.runs() {
            let Some(face) = faces.get(run.font()) else { continue };
            let size = run.font_size();
            let mut stretch = Stretch { start: at, shade: INK, glyphs: Vec::new() };
            for cluster in run.visual_clusters() {
                let shade = cluster.style().brush;
                if shade != stretch.shade {
                    self.ink(surface, &stretch, baseline, &face, size);
                    stretch = Stretch { start: at, shade, glyphs: Vec::new() };
                }
                let range = cluster.text_range();
                if cluster.is_ligature_continuation()
                    && let Some(last) = stretch.glyphs.last_mut()
                {
                    last.text_range.end = range.end;
                }
                if self.text[range.clone()].chars().all(char::is_control) {
                    continue;
                }
                for glyph in cluster.glyphs() {
                    let (dx, dy) = (glyph.x / size, glyph.y / size);
                    let id = GlyphId::new(glyph.id);
                    stretch.glyphs.push(KrillaGlyph::new(
                        id,
                        glyph.advance / size,
                        dx,
                        dy,
                        0.0,
                        range.clone(),
                        None,
                    ));
                    at += glyph.advance;
                }
            }
            self.ink(surface, &stretch, baseline, &face, size);
        }
    }

    fn ink(&self, surface: &mut Surface<'_>, stretch: &Stretch, baseline: f32, face: &Font, size: f32) {
        if stretch.glyphs.is_empty() {
            return;
        }
        let paint = luma::Color::new(stretch.shade).into();
        surface.set_fill(Some(Fill { paint, opacity: NormalizedF32::ONE, rule: FillRule::default() }));
        let start = Point::from_xy(stretch.start, baseline);
        surface.draw_glyphs(start, &stretch.glyphs, face.clone(), &self.text, size, false);
    }
}

/// Glyphs in a row that share a shade.
struct Stretch {
    start: f32,
    shade: u8,
    glyphs: Vec<KrillaGlyph>,
}

/// The faces that a paper has used, so that each is embedded once.
#[derive(Default)]
pub(super) struct Faces(HashMap<u64, Option<Font>>);

impl Faces {
    fn get(&mut self, font: &parley::FontData) -> Option<Font> {
        let (data, id) = font.data.clone().into_raw_parts();
        self.0.entry(id).or_insert_with(|| Font::new(data.into(), font.index)).clone()
    }
}
