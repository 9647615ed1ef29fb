//! The line reader, from outside: its corpora, its rules for any input, its vocabulary.

mod corpus;
mod props;
mod score;
mod seen;
mod vocabulary;

use std::sync::LazyLock;

use limbledger::{catalogue::catalogue, reasoning::line::Reader};

static READER: LazyLock<Reader> =
    LazyLock::new(|| Reader::new(catalogue(), &[]).expect("the shipped vocabulary can be read"));
