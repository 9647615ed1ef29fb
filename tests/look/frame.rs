//! The frame around every page: who is here, where they can go, and what they must know.
use askama::Template;
use scraper::{Html, Selector};

pub(crate) struct Item {
    pub(crate) href: &'static str,
    pub(crate) label: &'static str,
    pub(crate) current: bool,
}

pub(crate) struct Person {
    pub(crate) id: &'static str,
    pub(crate) name: &'static str,
    pub(crate) role: &'static str,
}

/// Stands in for `crate::web::Shell`.
pub(crate) struct Shell {
    pub(crate) practice: &'static str,
    pub(crate) invented: bool,
    pub(crate) trouble: Option<&'static str>,
    pub(crate) old_backup: Option<&'static str>,
    pub(crate) user: Option<Person>,
    pub(crate) flash: Option<&'static str>,
}

impl Shell {
    /// Only those who are signed in can go anywhere.
    pub(crate) fn nav(&self) -> Vec<Item> {
        if self.user.is_none() {
            return Vec::new();
        }
        let places = [
            ("/", "Day"),
            ("/call", "Call"),
            ("/horses", "Horses"),
            ("/clients", "Clients"),
            ("/follow-ups", "Follow-ups"),
            ("/practice", "Practice"),
        ];
        places.map(|(href, label)| Item { href, label, current: href == "/" }).into_iter().collect()
    }
}

pub(crate) fn demo() -> Shell {
    Shell {
        practice: "Vale of Orr Equine",
        invented: true,
        trouble: None,
        old_backup: None,
        user: Some(Person { id: "0190", name: "Ansa Veld", role: "veterinarian" }),
        flash: Some("Booked for 10:30."),
    }
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "base.html" %}{% block title %}Day{% endblock %}{% block main %}<h1>Day</h1>{% endblock %}"#
)]
struct Day {
    shell: Shell,
}

fn count(html: &Html, selector: &str) -> usize {
    html.select(&Selector::parse(selector).unwrap()).count()
}

#[test]
fn a_signed_in_page_has_its_landmarks_and_no_inline_script_or_style() {
    let text = Day { shell: demo() }.render().unwrap();
    let html = Html::parse_document(&text);
    assert!(text.trim_start().starts_with("<!doctype html>"));
    assert_eq!(
        html.select(&Selector::parse("title").unwrap()).next().unwrap().inner_html(),
        "Day · Vale of Orr Equine"
    );
    for once in [
        "html[lang=en]",
        "header",
        "nav[aria-label]",
        "main#main > h1",
        "a.skip[href='#main']",
        ".invented",
        "[role=status]#status",
        "form[method=post][action='/lock']",
        "form[method=post][action='/sign-out']",
        "nav a[aria-current=page]",
    ] {
        assert_eq!(count(&html, once), 1, "{once}");
    }
    assert_eq!(count(&html, "[style], style, script:not([src])"), 0);
    assert!(text.contains("Booked for 10:30."));
}

#[test]
fn a_real_practice_has_no_banner_and_a_quiet_status_line_is_empty() {
    let text = Day { shell: Shell { invented: false, flash: None, user: None, ..demo() } }.render().unwrap();
    let html = Html::parse_document(&text);
    assert_eq!(count(&html, ".invented, form[method=post], details, nav a"), 0);
    assert_eq!(count(&html, "#status:empty"), 1, "an empty status line takes no room");
}

#[test]
fn damage_and_an_old_copy_stand_above_every_page() {
    let quiet = Html::parse_document(&Day { shell: demo() }.render().unwrap());
    assert_eq!(count(&quiet, "aside"), 1, "only that the practice is invented");
    let shell = Shell { trouble: Some("horse row 3 is missing"), old_backup: Some("No copy yet."), ..demo() };
    let text = Day { shell }.render().unwrap();
    let html = Html::parse_document(&text);
    assert_eq!(count(&html, "aside.stop-strip strong"), 1);
    assert!(text.contains("horse row 3 is missing") && text.contains("limbledger restore"));
    assert_eq!(count(&html, "aside a[href='/practice/backups']"), 1);
}
