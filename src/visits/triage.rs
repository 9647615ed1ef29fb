//! What a caller said to the questions that tell how soon: as answered, as weighed, as kept and as told.

use std::collections::HashSet;

use sqlx::SqliteExecutor;

use super::complaint::{ComplaintForm, flag_of};
use crate::{
    catalogue::{RedFlag, Urgency, catalogue},
    clock::At,
    db::Tx,
    ids::{AnswerId, StaffId, VisitId},
    reasoning::triage::{Verdict, triage},
    web::Errors,
};

/// The questions that were answered, each with what was typed: `yes`, `no`, or nothing of ours.
#[derive(Debug, Clone, Default)]
pub struct Answers(Vec<(&'static RedFlag, String)>);

impl Answers {
    /// Out of a form's fields, `answer-RF1` and so on.
    pub fn read(get: impl Fn(&str) -> String) -> Self {
        let flags = catalogue().red_flags.iter();
        let said = flags.map(|flag| (flag, get(&format!("answer-{}", flag.code))));
        Answers(said.filter(|(_, said)| !said.is_empty()).collect())
    }

    /// What was answered to a question; empty where it was not asked.
    pub fn to(&self, flag: &RedFlag) -> &str {
        self.0.iter().find(|(asked, _)| asked.code == flag.code).map_or("", |(_, said)| said.as_str())
    }

    fn said(&self, answer: &str) -> Vec<&'static str> {
        self.0.iter().filter(|(_, said)| said == answer).map(|(flag, _)| flag.code.as_str()).collect()
    }

    pub fn check(&self, errors: &mut Errors) {
        for (flag, said) in &self.0 {
            if !matches!(said.as_str(), "yes" | "no") {
                errors.add(&format!("answer-{}", flag.code), "Choose yes, no or not asked.");
            }
        }
    }

    /// As they go along in an address.
    pub fn query(&self) -> String {
        let good = self.0.iter().filter(|(_, said)| matches!(said.as_str(), "yes" | "no"));
        let pairs: Vec<String> = good.map(|(flag, said)| format!("&answer-{}={said}", flag.code)).collect();
        pairs.concat()
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// The answers with what the complaints say yes to, weighed. None while nothing was answered at all.
pub fn weigh(answers: &Answers, complaints: &[ComplaintForm]) -> Option<Verdict> {
    let lists = &catalogue().complaint;
    let picked = complaints.iter().flat_map(|c| {
        let choices = [
            lists.sites.get(&c.site),
            lists.onsets.get(&c.onset),
            lists.weight_bearing.get(&c.weight_bearing),
        ];
        choices.into_iter().flatten().filter_map(flag_of).map(|flag| flag.code.as_str())
    });
    let mut yes = answers.said("yes");
    yes.extend(picked);
    yes.sort_unstable();
    yes.dedup();
    if yes.is_empty() && answers.is_empty() {
        return None;
    }
    triage(&yes, &answers.said("no")).ok()
}

/// How soon, why, and what to tell the caller.
#[derive(Debug)]
pub struct Told {
    pub verdict: Verdict,
    /// What is approved of the advice.
    pub advice: Vec<&'static str>,
    /// How much of it awaits approval.
    pub waiting: usize,
}

impl Told {
    pub fn new(verdict: Verdict, approved: &HashSet<String>) -> Self {
        let flags = verdict.because.iter().map(|flag| (&flag.code, flag.advice.as_str()));
        let sayings = verdict.sayings.iter().map(|saying| (&saying.code, saying.advice.as_str()));
        let all: Vec<_> = flags.chain(sayings).collect();
        let advice: Vec<&str> =
            all.iter().filter(|(code, _)| approved.contains(*code)).map(|(_, text)| *text).collect();
        Told { waiting: all.len() - advice.len(), advice, verdict }
    }

    pub fn is_now(&self) -> bool {
        self.verdict.class == Urgency::Now
    }

    /// What stands between here and a lower class.
    pub fn open(&self) -> usize {
        self.verdict.unasked.len()
    }
}

/// Keeps what was answered at a visit.
pub async fn keep(tx: &mut Tx, visit: VisitId, answers: &Answers, by: StaffId, now: At) -> sqlx::Result<()> {
    for (flag, said) in &answers.0 {
        let id = AnswerId::new();
        sqlx::query!(
            "insert into triage_answer (id, visit_id, code, answer, asked_by, asked_at) values (?, ?, ?, ?, ?, ?)",
            id,
            visit,
            flag.code,
            said,
            by,
            now
        )
        .execute(&mut **tx)
        .await?;
    }
    Ok(())
}

/// What was answered at a visit, by code: once a yes, always a yes.
pub async fn of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Answers> {
    let rows = sqlx::query!(
        r#"select code as "code!", max(answer) as "answer!: String" from triage_answer where visit_id = ?
           group by code"#,
        visit
    )
    .fetch_all(db)
    .await?;
    // "yes" comes after "no" in any order of letters.
    let answered = |code: &str| rows.iter().find(|row| row.code == code).map(|row| row.answer.clone());
    Ok(Answers::read(|field| field.strip_prefix("answer-").and_then(answered).unwrap_or_default()))
}
