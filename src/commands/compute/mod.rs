//! `limbledger compute NAME`: one calculator, JSON in and JSON out, with the numbers of the catalogue.

mod decay;
mod hoof;
mod tendon;

use std::io::{Read, stdin};

use anyhow::{Context, bail};
use serde::{Serialize, de::DeserializeOwned};

use crate::{catalogue::Catalogue, config::Calculator, say};

/// Reads one object from stdin and prints what follows from it. What cannot be reckoned with is refused by name.
pub fn run(calculator: &Calculator) -> anyhow::Result<()> {
    Catalogue::ready()?;
    let mut text = String::new();
    stdin().lock().read_to_string(&mut text).context("stdin cannot be read as UTF-8")?;
    match calculator {
        Calculator::Decay => answer(&text, decay::compute),
        Calculator::Hoof => answer(&text, hoof::compute),
        Calculator::Tendon => answer(&text, tendon::compute),
    }
}

/// What `--help` of a calculator says beyond the first line: its members, with the source of every number.
pub fn help(name: &str) -> String {
    // A broken catalogue is told of by the command itself.
    if Catalogue::ready().is_err() {
        return String::new();
    }
    match name {
        "decay" => decay::help(),
        "hoof" => hoof::help(),
        _ => tendon::help(),
    }
}

fn answer<In: DeserializeOwned, Out: Serialize, Error: Into<anyhow::Error>>(
    text: &str,
    compute: impl Fn(&In) -> Result<Out, Error>,
) -> anyhow::Result<()> {
    let found = compute(&read(text)?).map_err(Into::into)?;
    say::line(serde_json::to_string(&found)?);
    Ok(())
}

/// The input with its members; an error names the member that it is about.
fn read<In: DeserializeOwned>(text: &str) -> anyhow::Result<In> {
    let mut reader = serde_json::Deserializer::from_str(text);
    let read = match serde_path_to_error::deserialize(&mut reader) {
        Ok(read) => read,
        Err(error) if error.path().iter().next().is_some() => {
            bail!("{} cannot be read: {}", error.path(), error.inner())
        }
        Err(error) => bail!("the input cannot be read: {}", error.inner()),
    };
    reader.end().context("the input holds more than one object")?;
    Ok(read)
}

/// A number as a person writes it in a table: at most two decimals, none that say nothing.
fn short(number: f64) -> String {
    let text = format!("{number:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The references of a measure, a line each: what its result is shown beside, never a diagnosis.
fn references(measure: &str) -> Vec<String> {
    let rows = crate::catalogue::catalogue().diagnostics.figures.references_of(measure);
    rows.map(|row| {
        let value = row.value.map(short);
        let spread = row.spread.map(|spread| format!("± {}", short(spread)));
        let limits = match (row.low, row.high) {
            (Some(low), Some(high)) => Some(format!("{} to {}", short(low), short(high))),
            (Some(low), None) => Some(format!("from {}", short(low))),
            (None, Some(high)) => Some(format!("to {}", short(high))),
            (None, None) => None,
        };
        let limits = limits.map(|limits| if value.is_some() { format!("({limits})") } else { limits });
        let unit = Some(row.unit.clone()).filter(|unit| unit != "ratio");
        let numbers = [value, spread, limits, unit].into_iter().flatten().collect::<Vec<_>>().join(" ");
        let who = row.population.as_deref().map(|who| format!(", {who}")).unwrap_or_default();
        format!("{numbers}{who}: {} ({}; {})", row.text, row.source, row.confidence.words())
    })
    .collect()
}
