//! `limbledger localise`: a block work-up as JSON in, the reasoning as JSON out.

use std::io::{Read, stdin};

use anyhow::Context;

use crate::{
    catalogue::Catalogue,
    reasoning::localise::{WorkUp, localise},
    say,
};

/// Reads one work-up from stdin. What cannot be read or meant is refused by name.
pub fn run() -> anyhow::Result<()> {
    let rows = &Catalogue::ready()?.localise;
    let mut text = String::new();
    stdin().lock().read_to_string(&mut text).context("stdin cannot be read as UTF-8")?;
    let work: WorkUp = serde_json::from_str(&text).context("the work-up cannot be read")?;
    say::line(serde_json::to_string(&localise(&work, rows)?)?);
    Ok(())
}

/// What `--help` says beyond the first line, with the bounds out of the catalogue.
pub fn help() -> String {
    // A broken catalogue is told of by the command itself.
    let Ok(Catalogue { localise: rows, .. }) = Catalogue::ready() else { return String::new() };
    let mut upper = "1".to_owned();
    let standings: Vec<String> = rows
        .standings
        .iter()
        .map(|row| {
            let line = format!("  {:<10} score {:.2} to {upper}", row.code, row.at_least);
            upper = format!("below {:.2}", row.at_least);
            line
        })
        .collect();
    let letters: Vec<String> =
        rows.weights.iter().map(|row| format!("{} {}", row.code, row.chance)).collect();
    let answers: Vec<String> = rows
        .answers
        .iter()
        .filter(|row| row.at_least_pct > -100.0)
        .map(|row| format!("{} from {} %", row.code, row.at_least_pct))
        .collect();
    format!(
        "Bounds of each standing:\n{}\n\nA score is the product, over every answer that counts, of how well the structure \
         alone explains it: 1 for an improvement when the block numbs it with a chance of {} or more, 1 for none when \
         the block does not reach it. Chances by letter of the matrix: {}; published results stand in for some.\n\n\
         Answers: {}; below that, worse, which says nothing.\n\n\
         In: limb, lameness {{scale, grade}}, flags [CODE or CODE@REGION], passed [CODE of a \
         caution gone on over], blocks [{{block, injected_at, read [{{minutes, \
         improvement_pct, switched_to}}], skin_numb, volume_ml (a site), site, clean_baseline, agent, mg_per_ml}}], \
         findings (rows of read-line, flexion rows too), weight_kg, agent, mg_per_ml, ataxia_grade.\n\
         Out: candidates [{{structure, score, standing, because}}], field (parts of the limb, in words), caveats, \
         not_separable, next [{{block, gain in bits, why}}], imaging [{{set, why}}], stops, several_sources.\n\n\
         A suggestion with its evidence, never a diagnosis.",
        standings.join("\n"),
        rows.number("numb_from"),
        letters.join(", "),
        answers.join(", "),
    )
}
