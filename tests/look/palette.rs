//! The palette in numbers. Ratios after WCAG 2.2 (relative luminance and contrast ratio, success criteria 1.4.3,
//! 1.4.6, 1.4.11): words 7 : 1 for bright yards, borders of controls and focus 3 : 1, in both themes.
use std::collections::BTreeMap;

const CSS: &str = include_str!("../../static/app.css");
const JS: &str = include_str!("../../static/app.js");

type Palette = BTreeMap<String, String>;

/// The custom properties of the rule that begins with `selector`.
fn palette(selector: &str) -> Palette {
    let start = CSS.find(selector).unwrap_or_else(|| panic!("no rule {selector}")) + selector.len();
    let rule = &CSS[start..start + CSS[start..].find('}').unwrap()];
    let pairs = rule.split(';').filter_map(|line| line.rsplit("--").next()?.split_once(':'));
    pairs
        .map(|(name, value)| (name.trim().to_owned(), value.trim().to_owned()))
        .filter(|(_, value)| value.starts_with('#'))
        .collect()
}

fn themes() -> [(&'static str, Palette); 2] {
    [("light", palette(":root {")), ("dark", palette(":root[data-theme=\"dark\"] {"))]
}

fn luminance(colour: &str) -> f64 {
    assert_eq!(colour.len(), 7, "{colour} should be opaque, #rrggbb");
    let channel = |at: usize| {
        let share = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
        if share <= 0.040_45 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
}

fn ratio(a: &str, b: &str) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// Every pair that stands on the page.
fn check(pairs: &[(&str, &str)], least: f64) {
    for (theme, palette) in themes() {
        for (front, ground) in pairs {
            let ratio = ratio(&palette[*front], &palette[*ground]);
            assert!(ratio >= least, "{theme}: {front} on {ground} is {ratio:.2}, should be {least}");
        }
    }
}

#[test]
fn the_arithmetic_agrees_with_the_published_ends_of_the_scale() {
    assert!((ratio("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    assert!((ratio("#777777", "#ffffff") - 4.48).abs() < 0.01);
}

#[test]
fn words_can_be_read_in_a_bright_yard() {
    let grounds = ["paper", "sheet", "wash", "stop-wash"];
    let pairs: Vec<_> =
        ["ink", "ink-soft"].iter().flat_map(|ink| grounds.map(|ground| (*ink, ground))).collect();
    check(&pairs, 7.0);
    check(&[("accent", "paper"), ("accent", "sheet"), ("on-accent", "accent"), ("paper", "ink")], 7.0);
    check(&[("stop", "paper"), ("stop", "sheet"), ("on-stop", "stop")], 7.0);
    check(&[("accent", "wash"), ("stop", "stop-wash"), ("stop", "wash")], 4.5);
}

#[test]
fn controls_and_focus_can_be_seen() {
    let grounds = ["paper", "sheet", "wash"];
    let pairs: Vec<_> =
        ["edge", "accent", "stop"].iter().flat_map(|edge| grounds.map(|ground| (*edge, ground))).collect();
    check(&pairs, 3.0);
}

#[test]
fn the_dark_theme_is_the_same_whoever_asked_for_it() {
    let by_system = palette(":root:not([data-theme=\"light\"]) {");
    let [(_, light), (_, by_switch)] = themes();
    assert_eq!(by_system, by_switch);
    assert!(light.keys().eq(by_switch.keys()), "both themes name the same colours");
    assert!(light.len() >= 12);
}

#[test]
fn the_sheet_and_the_script_stay_small_and_ask_nobody_else() {
    assert!(CSS.len() <= 28 * 1024, "app.css is {} bytes", CSS.len());
    assert!(JS.len() <= 10 * 1024, "app.js is {} bytes", JS.len());
    for text in [CSS, JS] {
        for other in ["http://", "https://", "@import", "url(", "innerHTML", "eval("] {
            assert!(!text.contains(other), "{other}");
        }
    }
}
