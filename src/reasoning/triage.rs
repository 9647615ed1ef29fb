//! How soon a horse has to be seen, from what the caller has said yes and no to.
//!
//! What was not asked is not a no: while a question of an emergency is open the class is the same day at least, and
//! while one of the same day is open it is days at least. A yes stays whatever else is answered: the class is that of the
//! most urgent one.

use super::Refused;
use crate::catalogue::{RedFlag, Saying, Urgency, catalogue};

/// What follows from the answers.
#[derive(Debug)]
pub struct Verdict {
    pub class: Urgency,
    /// What was said yes to, most urgent first.
    pub because: Vec<&'static RedFlag>,
    /// What was not asked, in the order it is asked.
    pub unasked: Vec<&'static RedFlag>,
    /// The class is only held by what was not asked.
    pub held: bool,
    /// What every caller of this class is told.
    pub sayings: Vec<&'static Saying>,
}

/// Weighs answers by their codes. A code that was answered both ways counts as a yes.
///
/// # Errors
/// A code is not known.
pub fn triage<S: AsRef<str>>(yes: &[S], no: &[S]) -> Result<Verdict, Refused> {
    let known = catalogue();
    for (list, codes) in [("yes", yes), ("no", no)] {
        if let Some(code) = codes.iter().find(|code| known.red_flag(code.as_ref()).is_none()) {
            return Err(Refused::new(list, format!("holds `{}`, which is no question", code.as_ref())));
        }
    }
    let holds = |codes: &[S], flag: &RedFlag| codes.iter().any(|code| code.as_ref() == flag.code);
    let mut because: Vec<&RedFlag> = known.red_flags.iter().filter(|flag| holds(yes, flag)).collect();
    because.sort_by_key(|flag| (flag.urgency, flag.seq));
    let unasked: Vec<&RedFlag> =
        known.red_flags.iter().filter(|flag| !holds(yes, flag) && !holds(no, flag)).collect();
    let said = because.first().map(|flag| flag.urgency);
    let open = unasked.iter().map(|flag| at_least(flag.urgency)).min().unwrap_or(Urgency::Routine);
    let class = said.unwrap_or(Urgency::Routine).min(open);
    let sayings = known.sayings.iter().filter(|saying| saying.urgency.contains(&class)).collect();
    let held = class < Urgency::Routine && said.is_none_or(|said| said > class);
    Ok(Verdict { class, because, unasked, held, sayings })
}

/// What an open question holds the class to.
fn at_least(question: Urgency) -> Urgency {
    match question {
        Urgency::Now => Urgency::SameDay,
        Urgency::SameDay => Urgency::Days,
        Urgency::Days | Urgency::Routine => Urgency::Routine,
    }
}

impl Verdict {
    /// The reasons in words, most urgent first.
    pub fn reasons(&self) -> Vec<String> {
        let mut words: Vec<String> = self.because.iter().map(|flag| flag.because.clone()).collect();
        if self.held {
            let open = self.unasked.iter().filter(|flag| at_least(flag.urgency) == self.class).count();
            let which = if self.class == Urgency::SameDay { "an emergency" } else { "the same day" };
            if open > 0 {
                let questions = if open == 1 { "question" } else { "questions" };
                words.push(format!("{open} {questions} of {which} not asked yet"));
            }
        }
        words
    }
}
