//! Blocks, their answers, and consent as words.

use super::words::{self, join};
use crate::{
    catalogue::{Limb, catalogue},
    record::{Body, Given},
};

/// "palmar digital block, 1.5 ml at each of 2 sites, mepivacaine 2 %, skin numb"; older ones in their own words.
pub fn block(body: &Body) -> String {
    let name = body.code.as_deref().map(block_name).unwrap_or_default();
    let mut said = vec![name];
    said.extend(body.given.iter().flat_map(given));
    said.extend(body.text.clone());
    said.retain(|words| !words.is_empty());
    said.join(", ")
}

/// "palmar digital block"
pub fn block_name(code: &str) -> String {
    catalogue().block(code).map_or_else(|| code.to_owned(), |block| format!("{} block", block.name))
}

fn given(given: &Given) -> Vec<String> {
    let rows = &catalogue().localise;
    let mut said = Vec::new();
    if let Some(ml) = given.volume_ml {
        said.push(match given.sites {
            Some(sites) if sites > 1.0 => format!("{ml} ml at each of {sites} sites"),
            Some(_) => format!("{ml} ml"),
            None => format!("{ml} ml a site"),
        });
    }
    let agent = given.agent.as_deref().map(|code| rows.agents.get(code).map_or(code, |agent| &agent.name));
    let usual = given.agent.as_deref().and_then(|code| rows.agents.get(code)).map(|agent| agent.mg_per_ml);
    said.extend(agent.map(str::to_owned));
    said.extend(given.mg_per_ml.filter(|mg| Some(*mg) != usual).map(|mg| format!("{mg} mg a ml")));
    let site = given.site.as_deref().map(|code| rows.variants.get(code).map_or(code, |row| &row.name));
    said.extend(site.map(str::to_owned));
    said.extend(given.skin_numb.map(|numb| if numb { "skin numb" } else { "skin not numb" }.to_owned()));
    said.extend(
        given
            .clean_baseline
            .map(|clean| if clean { "lame again before it" } else { "not lame again before it" }.to_owned()),
    );
    said
}

/// "palmar digital block, at 8 min: 67 % better, from 3 to 1, trot, straight, hard; lame on the right fore then"
pub fn reading(body: &Body) -> String {
    let after = body.after.clone().unwrap_or_default();
    let block = body.value.as_deref().map(block_name).unwrap_or_default();
    let at = after.minutes.map(|minutes| format!("at {minutes} min")).unwrap_or_default();
    let mut said = Vec::new();
    said.extend(after.better_by(body.grade).map(better));
    if let (Some(before), Some(grade)) = (after.before, body.grade) {
        said.push(format!("from {before} to {grade}"));
    } else {
        said.extend(body.grade.map(|grade| words::grade(body.scale.as_deref(), grade)));
    }
    let condition = body.code.as_deref().and_then(|code| catalogue().condition(code));
    said.extend(condition.map(|row| row.name.clone()));
    let moved = after.switched_to.as_deref().and_then(|limb| limb.parse::<Limb>().ok());
    let mut more = Vec::new();
    more.extend(moved.map(|limb| format!("lame on the {} then", limb.name())));
    more.extend(after.skin_numb.map(|numb| if numb { "skin numb" } else { "skin not numb" }.to_owned()));
    more.extend(
        after
            .baseline_back
            .map(|back| if back { "lame as before again" } else { "not yet lame again" }.to_owned()),
    );
    more.extend(body.text.clone());
    let head = join(&[&block, &at], ", ");
    let answer = join(&[&said.join(", "), &more.join(", ")], "; ");
    join(&[&head, &answer], ": ")
}

/// "80 % better", "20 % worse", "no better"
pub fn better(pct: f64) -> String {
    match pct {
        pct if pct > 0.0 => format!("{pct} % better"),
        pct if pct < 0.0 => format!("{} % worse", -pct),
        _ => "no better".to_owned(),
    }
}

/// "consent for blocks given by Anna Marsh, by phone, estimate told: 300 to 400"
pub fn consent(body: &Body) -> String {
    let what = body.code.as_deref().unwrap_or_default();
    let given = if body.present == Some(false) { "withheld" } else { "given" };
    let who = body.held_by.as_deref().unwrap_or_default();
    let how = body.value.as_deref().unwrap_or_default();
    let estimate = body.text.as_ref().map_or_else(String::new, |told| format!("estimate told: {told}"));
    join(&[&format!("consent for {what} {given} by {who}"), how, &estimate], ", ")
}
