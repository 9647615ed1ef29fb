//! Passwords for the demonstration: four words of no language, which is long enough and easy to type.

use anyhow::anyhow;

const FIRST: [&str; 32] = [
    "bar", "cor", "dun", "fel", "gar", "hol", "jas", "kel", "lor", "mar", "nel", "or", "pen", "quil", "ros",
    "sar", "tam", "ul", "ves", "wyn", "yar", "zel", "bril", "cran", "dro", "fen", "glo", "hes", "kir", "lin",
    "mo", "tre",
];
const LAST: [&str; 32] = [
    "adan", "bek", "coth", "dra", "ester", "fold", "gen", "hurst", "imo", "jun", "kett", "lomen", "mire",
    "nock", "over", "pith", "quen", "rill", "sedge", "tun", "umber", "vane", "wick", "yard", "zan", "bant",
    "cairn", "dell", "emmer", "furl", "gate", "hest",
];

/// 40 random bits in four words.
pub(super) fn random() -> anyhow::Result<String> {
    let mut bytes = [0u8; 8];
    getrandom::fill(&mut bytes).map_err(|e| anyhow!("no random numbers to be had: {e}"))?;
    let syllable = |list: &[&str; 32], byte: u8| list[usize::from(byte % 32)].to_owned();
    let words: Vec<String> =
        bytes.chunks(2).map(|two| syllable(&FIRST, two[0]) + &syllable(&LAST, two[1])).collect();
    Ok(words.join("-"))
}
