//! A browser in a few words, from what it says of itself: enough to know one's own tablet again.

/// What browsers call themselves, the most particular first: most of them also claim to be another.
const BROWSERS: [(&str, &str); 7] = [
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser/", "Samsung Internet"),
    ("Firefox/", "Firefox"),
    ("FxiOS/", "Firefox"),
    ("Chrom", "Chromium"),
    ("Safari/", "Safari"),
];

const SYSTEMS: [(&str, &str); 7] = [
    ("iPad", "iPad"),
    ("iPhone", "iPhone"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("CrOS", "ChromeOS"),
    ("Mac OS", "macOS"),
    ("Linux", "Linux"),
];

/// "Chromium on Linux"
pub(super) fn words(agent: &str) -> String {
    let named = |list: &[(&str, &'static str)]| {
        list.iter().find(|(sign, _)| agent.contains(sign)).map(|(_, name)| *name)
    };
    match (named(&BROWSERS), named(&SYSTEMS)) {
        (Some(browser), Some(system)) => format!("{browser} on {system}"),
        (Some(one), None) | (None, Some(one)) => one.to_owned(),
        (None, None) if agent.trim().is_empty() => "Unnamed browser".to_owned(),
        (None, None) => agent.chars().take(40).collect(),
    }
}
