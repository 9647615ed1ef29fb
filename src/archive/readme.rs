//! The words for a stranger.

use std::fmt::Write;

use super::manifest::Manifest;

const TEXT: &str = include_str!("readme.txt");

const FIRST: &str =
    "seq counts from 1 without a gap. prev of the first entry is 32 zero bytes; prev of every other entry is
   chain of the one before it.";
const FIRST_OF_HORSE: &str = "This archive holds the entries of one horse, and entries of other horses lie between them: seq has
   gaps, and prev is chain of the entry before it only where seq counts on by 1. Each entry by itself is verified by steps
   2 to 4.";
const LAST_OF_HORSE: &str =
    "Whether an entry is missing cannot be told from this archive alone: the practice's own record has the
   entries beside these.";

/// README.txt. What the manifest says of files is not known yet and not needed.
pub(super) fn text(manifest: &Manifest) -> String {
    let horse = manifest.horse.as_deref();
    let scope = match horse {
        Some(name) => format!("THE RECORD OF ONE HORSE: {name}"),
        None => "A WHOLE PRACTICE".to_owned(),
    };
    let last = match horse {
        Some(_) => LAST_OF_HORSE.to_owned(),
        None => format!(
            "The last entry is number {}, and its chain value in hexadecimal letters is\n   {}.",
            manifest.record.entries,
            if manifest.record.head.is_empty() { "none" } else { &manifest.record.head }
        ),
    };
    let version = manifest.format_version.to_string();
    [
        ("{scope}", scope.as_str()),
        ("{practice}", &manifest.practice),
        ("{of_what}", &of_what(manifest)),
        ("{made_at}", &manifest.made_at),
        ("{made_by}", &manifest.made_by),
        ("{program}", &manifest.program),
        ("{format_version}", &version),
        ("{zone}", &manifest.zone),
        ("{first}", if horse.is_some() { FIRST_OF_HORSE } else { FIRST }),
        ("{last}", &last),
        ("{left_out}", &left_out(manifest)),
    ]
    .into_iter()
    .fold(TEXT.to_owned(), |text, (place, words)| text.replace(place, words))
}

fn of_what(manifest: &Manifest) -> String {
    let Some(horse) = &manifest.horse else { return String::new() };
    match (&manifest.since, &manifest.reason) {
        (Some(since), _) => format!(" of the horse {horse} since it came to its present owner ({since})"),
        (None, Some(reason)) => format!(" of the horse {horse}, for former owners too, because: {reason}"),
        (None, None) => format!(" of the horse {horse}"),
    }
}

fn left_out(manifest: &Manifest) -> String {
    manifest.left_out.iter().fold(String::new(), |mut text, one| {
        let column = if one.column == "*" { String::new() } else { format!(".{}", one.column) };
        let _ = writeln!(text, "{}{column}: {}", one.table, one.why);
        text
    })
}
