//! How soon a horse has to be seen.

use serde::{Deserialize, Serialize};

use crate::{
    catalogue::catalogue,
    reasoning::{Refused, triage::triage},
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    #[serde(default)]
    yes: Vec<String>,
    #[serde(default)]
    no: Vec<String>,
}

#[derive(Serialize)]
pub(super) struct Output {
    class: &'static str,
    because: Vec<String>,
    advice: Vec<&'static str>,
    unasked: Vec<&'static str>,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    if let Some(code) = input.no.iter().find(|code| input.yes.contains(code)) {
        return Err(Refused::new("no", format!("holds `{code}`, which is in yes too")));
    }
    let verdict = triage(&input.yes, &input.no)?;
    let advice = verdict.because.iter().map(|flag| flag.advice.as_str());
    Ok(Output {
        class: verdict.class.key(),
        because: verdict.reasons(),
        advice: advice.chain(verdict.sayings.iter().map(|saying| saying.advice.as_str())).collect(),
        unasked: verdict.unasked.iter().map(|flag| flag.code.as_str()).collect(),
    })
}

pub(super) fn help() -> String {
    let questions: Vec<String> = catalogue()
        .red_flags
        .iter()
        .map(|row| {
            let (source, sure) = (&row.source, row.confidence.words());
            format!("  {:<5} {:<9} {} ({source}; {sure})", row.code, row.urgency.key(), row.ask)
        })
        .collect();
    format!(
        "In:\n  yes  codes that the caller said yes to; none when left out\n  no   codes that the caller said no to; none when \
         left out\n\n\
         Out:\n  class    now, same_day, days or routine\n  because  why, most urgent first\n  advice   what to tell the \
         caller, once the practice has approved it\n  unasked  codes that are neither yes nor no, in the order they are \
         asked\n\n\
         What was not asked is not a no: while a question of now is open the class is same_day at least, and while one of \
         same_day is open it is days at least.\n\n\
         Questions:\n{}\n\n\
         The class is no diagnosis; a vet decides.",
        questions.join("\n"),
    )
}
