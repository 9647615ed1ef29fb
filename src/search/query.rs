//! What was typed, as literals: nothing a person types is an operator.

/// Below this a full-text index of three letters has nothing to look up.
const SHORTEST: usize = 3;
/// Longer than any name or number; the rest is let go.
const LONGEST: usize = 100;
const MOST_WORDS: usize = 8;

/// A search as it was meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Query {
    /// In lower case, blanks folded.
    pub(super) text: String,
    /// Each must stand somewhere in the words of a hit; several spellings of one are alternatives.
    pub(super) parts: Vec<Vec<String>>,
}

impl Query {
    pub(super) fn new(typed: &str) -> Option<Query> {
        let clean: String =
            typed.chars().take(LONGEST).map(|c| if c.is_control() { ' ' } else { c }).collect();
        let words: Vec<String> = clean.split_whitespace().take(MOST_WORDS).map(str::to_lowercase).collect();
        let text = words.join(" ");
        if text.is_empty() {
            return None;
        }
        let parts = match number(&text) {
            Some(digits) => vec![digits],
            None => words.into_iter().map(|word| vec![word]).collect(),
        };
        Some(Query { text, parts })
    }

    /// The full-text expression of the parts that are long enough for it; `None` when none is.
    pub(super) fn expression(&self) -> Option<String> {
        let long: Vec<String> = self
            .parts
            .iter()
            .filter(|spellings| spellings.iter().all(|s| s.chars().count() >= SHORTEST))
            .map(|spellings| {
                let quoted: Vec<_> =
                    spellings.iter().map(|s| format!("\"{}\"", s.replace('"', "\"\""))).collect();
                format!("({})", quoted.join(" OR "))
            })
            .collect();
        if long.is_empty() { None } else { Some(long.join(" AND ")) }
    }

    /// Whether every part stands in these words, which are in lower case.
    pub(super) fn holds_in(&self, words: &str) -> bool {
        self.parts.iter().all(|spellings| spellings.iter().any(|s| words.contains(s.as_str())))
    }
}

/// The digits of something typed like a number, and the same without the zeros that a country code replaces.
fn number(text: &str) -> Option<Vec<String>> {
    let odd = |c: char| !c.is_ascii_digit() && !matches!(c, ' ' | '+' | '-' | '/' | '(' | ')' | '.');
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    if digits.len() < SHORTEST || text.contains(odd) {
        return None;
    }
    let bare = digits.trim_start_matches('0').to_owned();
    if bare.len() < SHORTEST || bare == digits { Some(vec![digits]) } else { Some(vec![digits, bare]) }
}
