//! The field macros: label, hint, error and ARIA hang together, and what was typed stays.
use askama::Template;
use scraper::{Html, Selector};

/// Stands in for `crate::web::Errors`: the macros ask only for these three.
struct Errors(Vec<(String, String)>);

impl Errors {
    fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
    fn on(&self, field: &str) -> Option<&str> {
        self.0.iter().find(|(name, _)| name == field).map(|(_, message)| message.as_str())
    }
    fn all(&self) -> &[(String, String)] {
        &self.0
    }
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% import "_shared/fields.html" as fields %}
<title>{{ fields::error_word(errors) }}Weigh Briar</title>
{{ fields::error_summary(errors) }}
<form method="post" novalidate>{{ fields::submission("s-1") }}{{ fields::version(3) }}
{{ fields::text(errors, "weight", "Weight", typed, hint="On the scale or by tape.", inputmode="decimal", unit="kg") }}
{{ fields::text(errors, "yard", "Yard", "", hint="") }}
{{ fields::area(errors, "note", "Note", typed, optional=true) }}
{{ fields::choices(errors, "side", "Side", sides, "R", hint="As you stand before the horse.") }}
{{ fields::checks(errors, "how", "How weighed", hows, ["tape"]) }}
{{ fields::select_(errors, "limb", "Limb", sides, "L") }}
{{ fields::pick(errors, "breed", "Breed", "cob", ["cob", "pony"]) }}
{{ fields::tick(errors, "fasted", "Fasted", true) }}
{{ fields::submit("Save weight", back="/horses/1") }}</form>"#
)]
struct Weighing {
    errors: Errors,
    typed: String,
    sides: Vec<(&'static str, &'static str)>,
    hows: [(String, String); 2],
}

fn page(errors: &[(&str, &str)], typed: &str) -> Html {
    let page = Weighing {
        errors: Errors(errors.iter().map(|(f, m)| ((*f).to_owned(), (*m).to_owned())).collect()),
        typed: typed.to_owned(),
        sides: vec![("L", "left"), ("R", "right")],
        hows: [("tape".into(), "tape".into()), ("scale".into(), "scale".into())],
    };
    let html = page.render().unwrap();
    if std::env::var_os("LOOK_PRINT").is_some() {
        eprintln!("{html}");
    }
    Html::parse_fragment(&html)
}

fn one<'a>(html: &'a Html, selector: &str) -> scraper::ElementRef<'a> {
    let found: Vec<_> = html.select(&Selector::parse(selector).unwrap()).collect();
    assert_eq!(found.len(), 1, "{selector} should be there once in {}", html.html());
    found[0]
}

fn none(html: &Html, selector: &str) {
    assert!(html.select(&Selector::parse(selector).unwrap()).next().is_none(), "{selector}");
}

#[test]
fn a_field_without_fault_says_nothing_of_faults() {
    let html = page(&[], "512");
    none(&html, ".errors, .error, .wrong, [aria-invalid]");
    let weight = one(&html, "input#weight[name=weight][value='512'][inputmode=decimal]");
    assert_eq!(weight.attr("aria-describedby"), Some("weight-hint"));
    assert_eq!(one(&html, "label[for=weight]").text().collect::<String>(), "Weight (kg)");
    assert_eq!(one(&html, "#yard").attr("aria-describedby"), None);
    assert_eq!(one(&html, "title").text().collect::<String>(), "Weigh Briar");
    one(&html, "input[type=hidden][name=submission][value=s-1]");
    one(&html, "input[type=hidden][name=version][value='3']");
}

#[test]
fn a_fault_stands_beside_its_field_and_in_the_summary() {
    let html = page(&[("weight", "Weight is a number of kilograms"), ("", "Saved elsewhere")], "many");
    let weight = one(&html, ".wrong input#weight[aria-invalid=true][value=many]");
    assert_eq!(weight.attr("aria-describedby"), Some("weight-hint weight-error"));
    assert_eq!(one(&html, "#weight-error").inner_html(), "Weight is a number of kilograms");
    assert_eq!(one(&html, ".errors a[href='#weight']").inner_html(), "Weight is a number of kilograms");
    assert!(one(&html, ".errors").text().collect::<String>().contains("Saved elsewhere"));
    assert_eq!(one(&html, "title").text().collect::<String>(), "Error: Weigh Briar");
}

#[test]
fn what_was_typed_comes_back_as_typed() {
    let typed = "  \"><script>alert(1)</script>\nsecond line é 🐴";
    let html = page(&[], typed);
    none(&html, "script");
    assert_eq!(one(&html, "textarea#note").text().collect::<String>(), typed);
    assert_eq!(one(&html, "input#weight").attr("value"), Some(typed));
}

#[test]
fn the_chosen_is_chosen_and_nothing_else() {
    let html = page(&[], "");
    assert_eq!(one(&html, "input[type=radio][checked]").attr("value"), Some("R"));
    assert_eq!(one(&html, "input[name=how][checked]").attr("value"), Some("tape"));
    assert_eq!(one(&html, "option[selected]").attr("value"), Some("L"));
    one(&html, "#breed[list=breed-list]");
    one(&html, "#fasted[checked][value=yes]");
    one(&html, "a.button[href='/horses/1']");
}
