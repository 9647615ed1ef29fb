//! A line cut into tokens: words, numbers and signs, each with where it stands, so that no character is ever lost.

/// One piece of the line without a space in it.
#[derive(Clone, Debug)]
pub(super) struct Token {
    /// Bytes of the line.
    pub from: usize,
    pub to: usize,
    /// As the vocabulary writes it: lower case, without apostrophes; a number with a decimal point.
    pub norm: String,
    pub number: Option<f64>,
    pub is_word: bool,
    /// No space before it.
    pub glued: bool,
}

/// Cuts `line`. Words that end in digits ("T38.2", "eff2") are cut before them unless the vocabulary knows them whole.
pub(super) fn tokens(line: &str, known: &dyn Fn(&str) -> bool) -> Vec<Token> {
    Cutter { line, at: 0, out: Vec::new(), is_speech: true }.cut(known)
}

/// Cuts a phrase of the vocabulary, whose words are whole as they stand.
pub(super) fn phrase(says: &str) -> Vec<Token> {
    Cutter { line: says, at: 0, out: Vec::new(), is_speech: false }.cut(&|_| true)
}
/// Words that stay one with their "'s": the vocabulary has them so.
const SHORT_FORMS: [&str; 12] =
    ["he", "she", "it", "that", "there", "this", "who", "what", "where", "here", "let", "one"];

struct Cutter<'a> {
    line: &'a str,
    at: usize,
    out: Vec<Token>,
    /// A line that somebody said, and no phrase of the vocabulary.
    is_speech: bool,
}

impl Cutter<'_> {
    fn cut(mut self, known: &dyn Fn(&str) -> bool) -> Vec<Token> {
        while let Some(first) = self.peek() {
            if first.is_whitespace() {
                self.at += first.len_utf8();
            } else if first.is_ascii_digit() {
                self.number();
            } else if first.is_alphabetic() {
                self.word(known);
            } else {
                self.sign(first);
            }
        }
        self.out
    }

    fn rest(&self) -> &str {
        self.line.get(self.at..).unwrap_or_default()
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    /// Length in bytes of the run that `belongs`.
    fn run(&self, belongs: impl Fn(char) -> bool) -> usize {
        self.rest().chars().take_while(|c| belongs(*c)).map(char::len_utf8).sum()
    }

    fn push(&mut self, length: usize, norm: String, number: Option<f64>, is_word: bool) {
        let glued = self.out.last().is_some_and(|last| last.to == self.at);
        let to = self.at + length;
        self.out.push(Token { from: self.at, to, norm, number, is_word, glued });
        self.at = to;
    }

    /// Digits, and one decimal point or comma with digits after it.
    fn number(&mut self) {
        let whole = self.run(|c| c.is_ascii_digit());
        let mut length = whole;
        let mut after = self.rest().get(whole..).unwrap_or_default().chars();
        if matches!(after.next(), Some('.' | ',')) {
            let decimals = after.take_while(char::is_ascii_digit).count();
            if decimals > 0 {
                length += 1 + decimals;
            }
        }
        // A comma before three digits parts the thousands: "1,200".
        let thousands = length == whole + 4 && whole < 4 && self.rest().get(whole..=whole) == Some(",");
        let norm =
            self.rest().get(..length).unwrap_or_default().replace(',', if thousands { "" } else { "." });
        let number = norm.parse().ok();
        self.push(length, norm, number, false);
    }

    fn word(&mut self, known: &dyn Fn(&str) -> bool) {
        let whole = self.run(|c| c.is_alphanumeric() || matches!(c, '\'' | '\u{2019}'));
        let letters =
            self.run(|c| (c.is_alphanumeric() && !c.is_ascii_digit()) || matches!(c, '\'' | '\u{2019}'));
        let norm = |text: &str| text.to_lowercase().replace(['\'', '\u{2019}'], "");
        let raw = self.rest().get(..whole).unwrap_or_default().to_lowercase();
        let text = norm(&raw);
        // "the left front's bounding", "the knee's full": one of them, and no plural.
        let base = raw.strip_suffix("'s").or_else(|| raw.strip_suffix("\u{2019}s"));
        let spoken = |base: &&str| self.is_speech && known(base) && !SHORT_FORMS.contains(base);
        if let Some(base) = base.filter(spoken) {
            self.push(whole, base.to_owned(), None, true);
        } else if letters == whole || known(&text) && !self.is_side_and_grade(&raw) {
            self.push(whole, text, None, true);
        } else {
            let text = norm(self.rest().get(..letters).unwrap_or_default());
            self.push(letters, text, None, true);
        }
    }

    /// "L2 R1", "L2/3": a side and its grade, and no vertebra.
    fn is_side_and_grade(&self, raw: &str) -> bool {
        let is = |text: &str, side: char| {
            let mut letters = text.chars();
            letters.next() == Some(side) && letters.as_str().chars().all(|c| c.is_ascii_digit())
        };
        let words = |side: char| {
            let line = self.line.to_lowercase();
            line.split(|c: char| !c.is_alphanumeric()).any(|word| word.len() > 1 && is(word, side))
        };
        let graded = self.rest().get(raw.len()..).is_some_and(|rest| rest.starts_with('/'));
        let (left, right) = (is(raw, 'l'), is(raw, 'r'));
        (left || right) && raw.len() == 2 && (graded || words(if left { 'r' } else { 'l' }))
    }

    /// One sign; plus signs stay together, and a half is a number.
    fn sign(&mut self, first: char) {
        let half = match first {
            '\u{bd}' => Some(0.5),
            '\u{bc}' => Some(0.25),
            '\u{be}' => Some(0.75),
            _ => None,
        };
        let length = if first == '+' { self.run(|c| c == '+') } else { first.len_utf8() };
        let norm = self.rest().get(..length).unwrap_or_default().to_lowercase();
        self.push(length, norm, half, false);
    }
}
