//! What a paper is made of, whatever it was written in.

/// A run of words in one hand.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Span {
    pub words: String,
    pub hand: Hand,
}

/// How words are set.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Hand {
    pub bold: bool,
    pub italic: bool,
    pub shade: Shade,
    pub small: bool,
}

/// How dark ink is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) enum Shade {
    #[default]
    Black,
    /// Beside what matters.
    Soft,
}

pub(super) type Text = Vec<Span>;

/// A part of a paper that stands under the one before.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Block {
    /// Its level from 1, the title of the paper.
    Heading(u16, Text),
    Paragraph(Text),
    List(Vec<Item>),
    Table(Table),
    Picture(Picture),
    /// Set apart by a bar on its left: a caution, a draft.
    Apart(Vec<Block>),
}

/// One line of a list, or a term with what it means.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Item {
    pub mark: Mark,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Mark {
    Dot,
    Number(usize),
    Term(Text),
}

#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Table {
    pub caption: Text,
    /// Rows that stand again on top of each page.
    pub head: Vec<Vec<Cell>>,
    pub body: Vec<Vec<Cell>>,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Cell {
    pub heads: Heads,
    /// Columns that it takes up, one at least.
    pub across: usize,
    pub blocks: Vec<Block>,
}

/// What a cell is the head of.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) enum Heads {
    #[default]
    Nothing,
    Row,
    Column,
}

/// A drawing with what it shows in words.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Picture {
    pub svg: String,
    pub alt: String,
}
