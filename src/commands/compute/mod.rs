//! `limbledger compute NAME`: one calculator, JSON in and JSON out, with the numbers of the catalogue.

mod competition;
mod decay;
mod distance;
mod dose;
mod hoof;
mod programme;
mod road;
mod route;
mod slots;
mod tendon;
mod triage;
mod weight;

use std::io::{Read, stdin};

use anyhow::{Context, bail};
use serde::{Serialize, de::DeserializeOwned};

use crate::{
    catalogue::{Catalogue, catalogue, diagnostics::figures::Reference},
    config::Calculator,
    say,
};

/// Reads one object from stdin and prints what follows from it. What cannot be reckoned with is refused by name.
pub fn run(calculator: &Calculator) -> anyhow::Result<()> {
    Catalogue::ready()?;
    let mut text = String::new();
    stdin().lock().read_to_string(&mut text).context("stdin cannot be read as UTF-8")?;
    match calculator {
        Calculator::Decay => answer(&text, decay::compute),
        Calculator::Hoof => answer(&text, hoof::compute),
        Calculator::Tendon => answer(&text, tendon::compute),
        Calculator::Programme => answer(&text, programme::compute),
        Calculator::Triage => answer(&text, triage::compute),
        Calculator::Distance => answer(&text, distance::compute),
        Calculator::Slots => answer(&text, slots::compute),
        Calculator::Route => answer(&text, route::compute),
        Calculator::Weight => answer(&text, weight::compute),
        Calculator::Dose => answer(&text, dose::compute),
        Calculator::Competition => answer(&text, competition::compute),
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
        "programme" => programme::help(),
        "triage" => triage::help(),
        "distance" => distance::help(),
        "slots" => slots::help(),
        "route" => route::help(),
        "weight" => weight::help(),
        "dose" => dose::help(),
        "competition" => competition::help(),
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

/// The references of a measure, a line each: what its result is shown beside, never a diagnosis.
fn references(measure: &str) -> Vec<String> {
    catalogue().diagnostics.figures.references_of(measure).map(Reference::words).collect()
}
