//! How the numbers are laid out so that one is found: by block, and what holds for every block.

use crate::catalogue::{
    Limb, Pair, catalogue,
    localise::{Address, Figure, Localising},
};

/// Numbers that stand under one heading.
pub(super) struct Group {
    /// The block's code, or a word.
    pub code: String,
    pub name: String,
}

impl Group {
    pub(super) fn is_block(&self) -> bool {
        catalogue().block(&self.code).is_some()
    }
}

/// What holds for every block, as words of an address.
const ALL: [(&str, &str); 3] = [
    ("answers", "Letters, answers and standings"),
    ("drugs", "Local anaesthetics, and any block"),
    ("examination", "What the examination adds"),
];

pub(super) fn general() -> Vec<Group> {
    ALL.into_iter().map(|(code, name)| Group { code: code.to_owned(), name: name.to_owned() }).collect()
}

/// The blocks of a pair of limbs, in their order.
pub(super) fn blocks(rows: &Localising, pair: Pair) -> Vec<Group> {
    let rungs = rows.ladder.iter().filter(|rung| rung.limb == pair);
    rungs.filter_map(|rung| block(&rung.block)).collect()
}

fn block(code: &str) -> Option<Group> {
    let row = catalogue().block(code)?;
    Some(Group { code: row.code.clone(), name: row.name.clone() })
}

/// The group of this code, if there is one.
pub(super) fn find(code: &str) -> Option<Group> {
    general().into_iter().find(|group| group.code == code).or_else(|| block(code))
}

/// The group in which a number is found.
pub(super) fn of(rows: &Localising, at: &Address) -> String {
    let first = |blocks: &[String]| blocks.first().cloned();
    let block = match at.list.as_str() {
        "fore" | "hind" => Some(at.field.clone()),
        "clock" => Some(at.row.clone()),
        "rung" => rows.ladder.get(&at.row).map(|row| row.block.clone()),
        "override" => rows.overrides.get(&at.row).and_then(|row| first(&row.blocks)),
        "together" => rows.together.get(&at.row).and_then(|row| first(&row.blocks)),
        _ => None,
    };
    block.unwrap_or_else(|| {
        let word = match at.list.as_str() {
            "agent" | "override" => "drugs",
            "support" => "examination",
            _ => "answers",
        };
        word.to_owned()
    })
}

/// The numbers of a group, a heading each.
pub(super) fn sections<'a>(rows: &'a Localising, group: &'a str) -> Vec<(&'static str, Vec<Figure<'a>>)> {
    let mut sections = match group {
        "answers" => vec![
            ("Letters of the matrix", rows.figures("letter")),
            ("Answers", rows.figures("answer")),
            ("Standings", rows.figures("standing")),
            ("Single numbers", rows.figures("number")),
            ("Severe lameness", rows.figures("severe")),
        ],
        "drugs" => {
            let any = |figure: &Figure<'_>| {
                rows.overrides.get(figure.row.code()).is_some_and(|row| row.blocks.is_empty())
            };
            vec![
                ("Local anaesthetics", rows.figures("agent")),
                ("Published results on any block", kept(rows.figures("override"), any)),
            ]
        }
        "examination" => vec![("Grades from which a finding counts", rows.figures("support"))],
        block => of_block(rows, block),
    };
    sections.retain(|(_, figures)| !figures.is_empty());
    sections
}

fn of_block<'a>(rows: &'a Localising, block: &'a str) -> Vec<(&'static str, Vec<Figure<'a>>)> {
    let clock = kept(rows.figures("clock"), |figure| figure.row.code() == block);
    let rung = kept(rows.figures("rung"), |figure| {
        rows.ladder.get(figure.row.code()).is_some_and(|row| row.block == block)
    });
    let names = |blocks: &[String]| blocks.iter().any(|code| code == block);
    let published = kept(rows.figures("override"), |figure| {
        rows.overrides.get(figure.row.code()).is_some_and(|row| names(&row.blocks))
    });
    let together = kept(rows.figures("together"), |figure| {
        rows.together.get(figure.row.code()).is_some_and(|row| names(&row.blocks))
    });
    vec![
        ("Clock and volume", clock),
        ("Place in the order", rung),
        ("Published results that stand in for the matrix", published),
        ("Not told apart", together),
        ("Chance that it numbs, on the fore limb", rows.cells(Limb::LF, block)),
        ("Chance that it numbs, on the hind limb", rows.cells(Limb::LH, block)),
    ]
}

fn kept<'a>(figures: Vec<Figure<'a>>, keep: impl Fn(&Figure<'a>) -> bool) -> Vec<Figure<'a>> {
    figures.into_iter().filter(|figure| keep(figure)).collect()
}
