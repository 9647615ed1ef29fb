//! Words with names in braces, as letters and messages have them, filled.

use std::fmt;

/// Why words cannot be filled, and on which line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// From 1.
    pub line: usize,
    pub what: Wrong,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wrong {
    Unknown(String),
    Open,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.what {
            Wrong::Unknown(name) => write!(f, "Line {}: nothing is called {{{name}}}.", self.line),
            Wrong::Open => write!(
                f,
                "Line {}: a brace is open there. Names stand between two, such as {{horse}}.",
                self.line
            ),
        }
    }
}

/// Fills every name. A line whose names are all empty goes, and so does a heading with nothing right under it.
///
/// # Errors
/// The first name that `known` does not tell, or a brace without its fellow.
pub fn fill(words: &str, known: impl Fn(&str) -> Option<String>) -> Result<String, Fault> {
    let mut lines = Vec::new();
    for (at, line) in words.lines().enumerate() {
        let fault = |what| Fault { line: at + 1, what };
        if let Some(filled) = one(line, &known).map_err(fault)? {
            lines.extend(filled.lines().map(str::to_owned).chain(filled.is_empty().then(String::new)));
        }
    }
    Ok(headed(&lines).join("\n").trim().to_owned())
}

/// One line filled; `None` where all its names are empty.
fn one(line: &str, known: &impl Fn(&str) -> Option<String>) -> Result<Option<String>, Wrong> {
    let (mut filled, mut rest) = (String::new(), line);
    let (mut names, mut said) = (0, 0);
    while let Some(at) = rest.find(['{', '}']) {
        let (before, brace) = rest.split_at(at);
        let (name, after) =
            brace.strip_prefix('{').and_then(|inside| inside.split_once('}')).ok_or(Wrong::Open)?;
        if name.contains('{') {
            return Err(Wrong::Open);
        }
        let value = known(name.trim()).ok_or_else(|| Wrong::Unknown(name.trim().to_owned()))?;
        names += 1;
        said += usize::from(!value.trim().is_empty());
        filled.push_str(before);
        filled.push_str(value.trim());
        rest = after;
    }
    filled.push_str(rest);
    Ok((names == 0 || said > 0).then_some(filled))
}

/// How deep a heading stands; `None` for other lines.
pub fn level(line: &str) -> Option<usize> {
    let marks = line.bytes().take_while(|byte| *byte == b'#').count();
    (1..=3)
        .contains(&marks)
        .then_some(marks)
        .filter(|_| line.get(marks..).is_some_and(|rest| rest.starts_with(' ')))
}

/// Without the headings that have nothing right under them; the title stays.
fn headed(lines: &[String]) -> Vec<String> {
    let under = lines.iter().skip(1).map(Some).chain([None]);
    let keeps = |(line, under): (&String, Option<&String>)| {
        let bare = under.is_none_or(|under| under.trim().is_empty() || level(under).is_some());
        level(line).is_none_or(|deep| deep == 1 || !bare)
    };
    lines.iter().zip(under).filter(|pair| keeps(*pair)).map(|(line, _)| line.clone()).collect()
}
