//! What must hold between numbers, as shipped and with a practice's own: thresholds that follow each other, times that
//! come one after the other, chances that stay chances.

use super::{LISTS, Localising};
use crate::catalogue::CatalogueError;

/// Says what does not go together, in a sentence.
pub(super) fn in_order(rows: &Localising) -> Result<(), String> {
    let letters: Vec<_> = rows.weights.iter().map(|row| (row.code.as_str(), row.chance)).collect();
    falling("The letters of the matrix", &letters)?;
    let answers: Vec<_> = rows.answers.iter().map(|row| (row.code.as_str(), row.at_least_pct)).collect();
    falling("The answers", &answers)?;
    let standings: Vec<_> = rows.standings.iter().map(|row| (row.code.as_str(), row.at_least)).collect();
    falling("The standings", &standings)?;
    if let Some(row) = rows.answers.iter().find(|row| row.slope + row.base > 1.0) {
        return Err(format!("The two numbers of the answer “{}” come to more than 1 together.", row.code));
    }
    if rows.number("widened_to") > rows.number("numb_from") {
        return Err(
            "What a late reading lifts a chance to cannot be more than what is called usually numb.".into()
        );
    }
    for row in &rows.clocks {
        if row.assess_min > row.again_min || row.again_min > row.late_min {
            return Err(format!(
                "The times of {} must follow each other: read from {} min, again at {}, late after {}.",
                row.code, row.assess_min, row.again_min, row.late_min
            ));
        }
        if row.ml_least > row.ml_most {
            return Err(format!("{}: {} ml is more than {} ml.", row.code, row.ml_least, row.ml_most));
        }
    }
    Ok(())
}

fn falling(what: &str, rows: &[(&str, f64)]) -> Result<(), String> {
    let wrong = rows.windows(2).find_map(|pair| match pair {
        [(upper, most), (lower, least)] if most <= least => Some(format!(
            "{what} must follow each other: {upper} at {most} has to stay above {lower} at {least}."
        )),
        _ => None,
    });
    wrong.map_or(Ok(()), Err)
}

/// Every number has a name and lies within its own bounds.
pub(super) fn check(rows: &Localising) -> Result<(), CatalogueError> {
    const FILE: &str = "localise/bounds.toml";
    if rows.bounds.get("cell").is_none() {
        return Err(CatalogueError::row(FILE, "cell", "is missing"));
    }
    for list in LISTS {
        for (row, field, is) in rows.list(list).map(|table| table.all()).unwrap_or_default() {
            let address = format!("{list}/{}/{field}", row.code());
            let Some(bound) = rows.bound(list, row.code(), field) else {
                return Err(CatalogueError::row(FILE, &address, "is missing"));
            };
            if !(bound.least..=bound.most).contains(&is) {
                return Err(CatalogueError::row(FILE, &address, "is out of its bounds as shipped"));
            }
        }
    }
    in_order(rows).map_err(|why| CatalogueError::row(FILE, "the numbers", &why))
}
