//! The work-up on paper: the sequence, the numb field and the grades before and after, for the report of the visit.

use std::collections::BTreeSet;

use super::{
    chart::{self, Chart},
    picture::{self, FieldWords},
    reason,
    scene::Scene,
    timeline::{self, Column},
};
use crate::{
    App,
    body::Plan,
    catalogue::Limb,
    ids::{EntryId, VisitId},
    papers::words::{self, Units},
    record::Kind,
    web::Result,
};

/// What the report of a visit shows of its blocks.
pub struct Sheet {
    /// The numb field, and the same in words.
    pub picture: Option<(Plan, Vec<FieldWords>)>,
    pub charts: Vec<Chart>,
    /// The practice's own values among those that the field is reckoned with, in words.
    pub own: BTreeSet<String>,
    /// Blocks told in words.
    pub in_words: Vec<String>,
    pub(super) columns: Vec<Column>,
}

impl Sheet {
    pub async fn load(app: &App, visit: VisitId) -> Result<Self> {
        let scene = Scene::load(app, visit).await?;
        let reasoned: Vec<_> = Limb::ALL
            .into_iter()
            .filter(|limb| reason::shots_of(&scene, *limb).next().is_some())
            .filter_map(|limb| reason::of(&scene, limb))
            .collect();
        let mut columns = timeline::columns(&scene);
        for column in &mut columns {
            column.lines.retain(|line| line.block.is_some());
        }
        columns.retain(|column| !column.lines.is_empty());
        let own = reasoned.iter().flat_map(|limb| &limb.own);
        Ok(Sheet {
            picture: picture::plan(&scene, &reasoned),
            own: own.map(|(_, words)| words.clone()).collect(),
            charts: chart::charts(&scene),
            in_words: in_words(&scene),
            columns,
        })
    }

    pub fn is_empty(&self) -> bool {
        self.columns.is_empty() && self.in_words.is_empty()
    }

    /// Each block with its time and its answers: "left fore, 10:02: palmar digital block".
    pub fn lines(&self) -> Vec<(String, Vec<String>)> {
        let line = |column: &Column, line: &timeline::Line| {
            let looks = line.block.iter().flat_map(|block| &block.looks);
            let answers = looks.map(|look| match look.remark.as_str() {
                "" => look.words.clone(),
                remark => format!("{} ({remark})", look.words),
            });
            (format!("{}, {}: {}", column.title, line.at, line.words), answers.collect())
        };
        self.columns.iter().flat_map(|column| column.lines.iter().map(move |one| line(column, one))).collect()
    }
}

/// Blocks that name none of the list.
pub(super) fn in_words(scene: &Scene) -> Vec<String> {
    let known = |entry: &EntryId| scene.shots.iter().any(|shot| shot.entry == *entry);
    let others = scene.of(Kind::Block).filter(|(entry, _)| !known(&entry.id));
    others.map(|(_, body)| words::sentence(body, Units::default())).collect()
}
