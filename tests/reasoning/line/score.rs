//! How well lines are read, field by field.

use std::{collections::BTreeMap, fmt::Write};

use limbledger::reasoning::line::{Ask, Choice, Examined, Finding, Reader, Reading};

use super::corpus::{Case, Found, Where, normal};

/// Right, too many, too few.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Count {
    right: usize,
    wrong: usize,
    missed: usize,
}

impl Count {
    pub(crate) fn precision(self) -> f64 {
        share(self.right, self.right + self.wrong)
    }

    pub(crate) fn recall(self) -> f64 {
        share(self.right, self.right + self.missed)
    }
}

fn share(part: usize, whole: usize) -> f64 {
    if whole == 0 {
        1.0
    } else {
        f64::from(u32::try_from(part).unwrap()) / f64::from(u32::try_from(whole).unwrap())
    }
}

#[derive(Debug, Default)]
pub(crate) struct Score {
    pub(crate) fields: BTreeMap<&'static str, Count>,
    /// Findings that the line does not hold.
    pub(crate) invented: usize,
    /// Lines of which a character is in no text.
    pub(crate) lost: usize,
    pub(crate) lines: usize,
    pub(crate) wrong_lines: usize,
    /// What went wrong, line by line; never printed for a set that nobody may look at.
    pub(crate) details: String,
}

impl Score {
    pub(crate) fn of(reader: &Reader, cases: &[Case]) -> Self {
        let mut score = Self::default();
        for case in cases {
            score.case(case, &reader.read(&case.line));
        }
        score
    }

    fn count(&mut self, field: &'static str, right: usize, wrong: usize, missed: usize) -> bool {
        let count = self.fields.entry(field).or_default();
        count.right += right;
        count.wrong += wrong;
        count.missed += missed;
        wrong + missed == 0
    }

    fn case(&mut self, case: &Case, reading: &Reading) {
        self.lines += 1;
        let mut good = self.findings(&case.findings, &reading.findings);
        good &= self.examined(&case.examined, &reading.examined);
        let (vitals, gait, flexion, blocks) = said(reading);
        good &= self.words("vitals", &case.vitals, &vitals);
        good &= self.words("gait", &case.gait, &gait);
        good &= self.words("flexion", &case.flexion, &flexion);
        good &= self.words("blocks", &case.blocks, &blocks);
        good &= self.asks(&case.asks, &reading.ask);
        let unread = if case.bare { &case.line } else { &case.unread };
        good &= self.bag("unread", unread, &reading.unread);
        good &= self.bag("withdrawn", &case.withdrawn, &reading.withdrawn);
        if loses_words(reading) {
            self.lost += 1;
            good = false;
        }
        if !good {
            self.wrong_lines += 1;
            let _ = writeln!(self.details, "> {}\n{}", case.line, shown(reading));
        }
    }

    fn findings(&mut self, expected: &[Found], read: &[Finding]) -> bool {
        let (pairs, missed, invented) = pair(expected, read);
        let mut good = true;
        for (found, finding) in pairs {
            let same_place = found.place.regions.contains(&finding.region);
            let same_side = found.place.at == at(&finding.region, &finding.side, finding.limb.as_deref());
            let same_grade = match (&found.scale, found.grade == finding.grade) {
                (Some(scale), same) => same && finding.scale.as_deref().unwrap_or("-") == scale,
                (None, same) => same,
            };
            let detail = found.value == finding.value
                && found.mm == finding.value_mm
                && (found.aspect.is_none() || found.aspect == finding.aspect);
            for (field, right) in [
                ("place", same_place),
                ("side", same_side),
                ("finding", found.code == finding.finding),
                ("negation", found.present == finding.present),
                ("grade", same_grade),
                ("detail", detail),
            ] {
                good &= self.count(field, usize::from(right), usize::from(!right), usize::from(!right));
            }
        }
        self.invented += invented;
        for field in ["place", "side", "finding", "negation", "grade"] {
            self.count(field, 0, invented, missed);
        }
        good && missed + invented == 0
    }

    fn examined(&mut self, expected: &[Where], read: &[Examined]) -> bool {
        let matches = |place: &Where, row: &Examined| {
            place.regions.contains(&row.region) && place.at == at(&row.region, &row.side, row.limb.as_deref())
        };
        // The sweep beside a finding of the same line may leave its place out.
        let right = read.iter().filter(|row| expected.iter().any(|place| matches(place, row))).count();
        let missed = expected.iter().filter(|place| !read.iter().any(|row| matches(place, row))).count();
        let missed = if expected.len() > 12 && missed <= 3 { 0 } else { missed };
        self.count("examined", right, read.len() - right, missed)
    }

    fn words(&mut self, field: &'static str, expected: &[String], read: &[String]) -> bool {
        let right = read.iter().filter(|row| expected.contains(row)).count();
        let missed = expected.iter().filter(|row| !read.contains(row)).count();
        self.count(field, right, read.len() - right, missed)
    }

    fn asks(&mut self, expected: &[Vec<String>], read: &[Ask]) -> bool {
        let holds = |ask: &Ask, wanted: &String| ask.choices.iter().any(|choice| is_choice(choice, wanted));
        let answered =
            |choices: &Vec<String>| read.iter().any(|ask| choices.iter().all(|wanted| holds(ask, wanted)));
        let right = expected.iter().filter(|choices| answered(choices)).count();
        let asked = read
            .iter()
            .filter(|ask| expected.iter().any(|choices| choices.iter().all(|wanted| holds(ask, wanted))));
        let needless = read.len() - asked.count();
        self.count("ask", right, needless, expected.len() - right)
    }

    fn bag(&mut self, field: &'static str, expected: &str, read: &str) -> bool {
        let (expected, read) = (content(expected), content(read));
        let right = read.iter().filter(|word| expected.contains(word)).count();
        let missed = expected.iter().filter(|word| !read.contains(word)).count();
        self.count(field, right, read.len() - right, missed)
    }

    pub(crate) fn table(&self) -> String {
        let mut table = format!("{:<10} {:>9} {:>7}  right wrong missed\n", "field", "precision", "recall");
        for (field, count) in &self.fields {
            let _ = writeln!(
                table,
                "{field:<10} {:>8.1}% {:>6.1}%  {:>5} {:>5} {:>6}",
                count.precision() * 100.0,
                count.recall() * 100.0,
                count.right,
                count.wrong,
                count.missed
            );
        }
        let _ = writeln!(table, "invented findings {}", self.invented);
        let _ = writeln!(table, "lines that lose a word {}", self.lost);
        let _ = writeln!(table, "lines {}, of which not wholly right {}", self.lines, self.wrong_lines);
        table
    }
}

/// Expected with read, best fits first; then how many are missed and invented.
fn pair<'a>(expected: &'a [Found], read: &'a [Finding]) -> (Vec<(&'a Found, &'a Finding)>, usize, usize) {
    let fit = |found: &Found, finding: &Finding| {
        let code = found.code == finding.finding;
        let place = found.place.regions.contains(&finding.region);
        let side = found.place.at == at(&finding.region, &finding.side, finding.limb.as_deref());
        let points = 8 * i32::from(code)
            + 4 * i32::from(place)
            + 4 * i32::from(side)
            + 2 * i32::from(found.present == finding.present)
            + i32::from(found.grade == finding.grade)
            + i32::from(found.value == finding.value);
        (code || (place && side)).then_some(points)
    };
    let mut all: Vec<(i32, usize, usize)> = Vec::new();
    for (e, found) in expected.iter().enumerate() {
        all.extend(read.iter().enumerate().filter_map(|(r, finding)| Some((fit(found, finding)?, e, r))));
    }
    all.sort_by_key(|(points, ..)| -points);
    let (mut left, mut right) = (vec![true; expected.len()], vec![true; read.len()]);
    let mut pairs = Vec::new();
    for (_, e, r) in all {
        if left[e] && right[r] {
            (left[e], right[r]) = (false, false);
            pairs.push((&expected[e], &read[r]));
        }
    }
    let missed = left.iter().filter(|open| **open).count();
    let invented = right.iter().filter(|open| **open).count();
    (pairs, missed, invented)
}

fn at(region: &str, side: &str, limb: Option<&str>) -> String {
    if region.starts_with("FT_") { limb.unwrap_or(side).to_owned() } else { side.to_owned() }
}

fn is_choice(choice: &Choice, wanted: &str) -> bool {
    let limb = choice.limb.as_deref();
    match wanted.rsplit_once('.') {
        Some((region, place)) => {
            choice.region.as_deref() == Some(region)
                && (limb == Some(place) || choice.side.as_deref() == Some(place))
        }
        None => [choice.region.as_deref(), limb, choice.side.as_deref(), choice.finding.as_deref()]
            .contains(&Some(wanted)),
    }
}

fn or_dash(number: Option<f64>) -> String {
    number.map_or_else(|| "-".to_owned(), |number| number.to_string())
}

/// Vitals, gait, flexion and blocks in the words of the corpus.
fn said(reading: &Reading) -> (Vec<String>, Vec<String>, Vec<String>, Vec<String>) {
    let dash = |text: &Option<String>| text.clone().unwrap_or_else(|| "-".to_owned());
    let key = |name: &str, number: Option<f64>| {
        number.map_or_else(String::new, |number| format!(" {name}={number}"))
    };
    let vitals = reading.vitals.iter().map(|row| normal(&format!("{} {}", row.name, or_dash(row.value))));
    let gait = reading.gait.iter().map(|row| {
        normal(&format!(
            "{} {} {} {}",
            dash(&row.limb),
            dash(&row.condition),
            or_dash(row.grade),
            dash(&row.scale)
        ))
    });
    let flexion = reading.flexion.iter().map(|row| {
        normal(&format!(
            "{} {} {}{}",
            dash(&row.limb),
            row.flexion,
            or_dash(row.grade),
            key("hold", row.hold_s)
        ))
    });
    let blocks = reading.blocks.iter().map(|row| {
        let (pct, min) = (key("pct", row.improvement_pct), key("min", row.minutes));
        normal(&format!("{} {}{pct}{min}{}", dash(&row.limb), row.block, key("ml", row.volume_ml)))
    });
    (vitals.collect(), gait.collect(), flexion.collect(), blocks.collect())
}

/// Words that may stand on either side of a border without anybody caring.
const SMALL: [&str; 46] = [
    "the",
    "a",
    "an",
    "and",
    "or",
    "of",
    "in",
    "on",
    "at",
    "to",
    "is",
    "are",
    "was",
    "with",
    "has",
    "have",
    "some",
    "for",
    "there",
    "no",
    "not",
    "scratch",
    "that",
    "sorry",
    "i",
    "mean",
    "make",
    "wait",
    "but",
    "it",
    "then",
    "by",
    "from",
    "s",
    "also",
    "he",
    "his",
    "she",
    "her",
    "both",
    "correction",
    "any",
    "as",
    "this",
    "actually",
    "than",
];

fn content(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !c.is_alphanumeric() && !"🐴🙂%/.".contains(c));
    words
        .map(|word| word.trim_matches('.').to_lowercase())
        .filter(|word| !word.is_empty() && !SMALL.contains(&word.as_str()))
        .collect()
}

/// Every text of a reading.
fn texts(reading: &Reading) -> Vec<&str> {
    let rows = reading.findings.iter().map(|row| &row.text);
    let rows = rows.chain(reading.examined.iter().map(|row| &row.text));
    let rows = rows.chain(reading.vitals.iter().map(|row| &row.text));
    let rows = rows.chain(reading.gait.iter().map(|row| &row.text));
    let rows = rows.chain(reading.flexion.iter().map(|row| &row.text));
    let rows = rows.chain(reading.blocks.iter().map(|row| &row.text));
    let rows = rows.chain(reading.ask.iter().map(|row| &row.text));
    let all = rows.chain([&reading.unread, &reading.withdrawn]);
    all.map(String::as_str).filter(|text| !text.is_empty()).collect()
}

/// Whether the texts hold fewer of some character than the line, miss one of its words, or are not of the line in
/// its order.
pub(crate) fn loses_words(reading: &Reading) -> bool {
    let line = reading.line.as_str();
    let texts = texts(reading);
    // The line may hold the sign for a gap itself.
    let pieces = |text: &&str| -> Vec<String> {
        if line.contains(*text) {
            return vec![(*text).to_owned()];
        }
        text.split(" \u{2026} ").map(str::to_owned).collect()
    };
    let in_order = |text: &&str| {
        pieces(text)
            .iter()
            .try_fold(0, |from, piece| Some(from + line[from..].find(piece.as_str())? + piece.len()))
            .is_some()
    };
    if !texts.iter().all(in_order) {
        return true;
    }
    let all: Vec<String> = texts.iter().flat_map(pieces).collect();
    let count = |text: &str, c: char| text.chars().filter(|other| *other == c).count();
    let missing = |c: char| all.iter().map(|piece| count(piece, c)).sum::<usize>() < count(line, c);
    let words = line.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty());
    let lost = |word: &str| !all.iter().any(|piece| piece.contains(word));
    line.chars().filter(|c| !c.is_whitespace()).any(missing) || words.into_iter().any(lost)
}

/// The reading in the words of the corpus, for whoever mends the reader.
fn shown(reading: &Reading) -> String {
    let mut out = String::new();
    for row in &reading.findings {
        let place = format!("{}.{}", row.region, at(&row.region, &row.side, row.limb.as_deref()));
        let _ = writeln!(
            out,
            "  {} {place} {} {} {:?} {:?} {:?}",
            if row.present { "f" } else { "n" },
            row.finding,
            or_dash(row.grade),
            row.aspect,
            row.value,
            row.value_mm
        );
    }
    if let Some(first) = reading.examined.first() {
        let _ = writeln!(
            out,
            "  e {} places from {}.{} {:?}",
            reading.examined.len(),
            first.region,
            first.side,
            first.limb
        );
    }
    let (vitals, gait, flexion, blocks) = said(reading);
    for (kind, rows) in [("v", vitals), ("g", gait), ("x", flexion), ("b", blocks)] {
        for row in rows {
            let _ = writeln!(out, "  {kind} {row}");
        }
    }
    for ask in &reading.ask {
        let choices = ask
            .choices
            .iter()
            .map(|c| format!("{:?}.{:?}.{:?}", c.region, c.limb, c.finding))
            .collect::<Vec<_>>();
        let _ = writeln!(
            out,
            "  ? {} | {}",
            ask.text,
            choices.join(" ").replace("Some", "").replace("None", "-")
        );
    }
    if !reading.unread.is_empty() {
        let _ = writeln!(out, "  u {}", reading.unread);
    }
    if !reading.withdrawn.is_empty() {
        let _ = writeln!(out, "  w {}", reading.withdrawn);
    }
    out
}
