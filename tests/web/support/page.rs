//! An answer, looked at by element.

use std::{
    cell::RefCell,
    sync::atomic::{AtomicU64, Ordering},
};

use axum::http::{HeaderMap, StatusCode, header};
use scraper::{ElementRef, Html, Selector};

pub struct Page {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub text: String,
    /// Tells its document from those of other pages.
    number: u64,
}

static PAGES: AtomicU64 = AtomicU64::new(0);

thread_local! {
    /// The page that was looked at last: most are asked several things, and reading a large one takes longer than making it.
    static LAST: RefCell<Option<(u64, Html)>> = const { RefCell::new(None) };
}

impl Page {
    pub fn new(status: StatusCode, headers: HeaderMap, text: &str) -> Self {
        Page { status, headers, text: text.to_owned(), number: PAGES.fetch_add(1, Ordering::Relaxed) }
    }

    /// Reads its document, once as long as no other page is read by this thread.
    pub fn read<T>(&self, look: impl FnOnce(&Html) -> T) -> T {
        LAST.with_borrow_mut(|last| {
            if last.as_ref().is_none_or(|(number, _)| *number != self.number) {
                *last = Some((self.number, Html::parse_document(&self.text)));
            }
            look(&last.as_ref().unwrap().1)
        })
    }

    /// Where a redirect leads.
    pub fn location(&self) -> &str {
        self.headers.get(header::LOCATION).map_or("", |v| v.to_str().unwrap())
    }

    /// The text of every element that the selector finds, blanks folded.
    pub fn texts(&self, selector: &str) -> Vec<String> {
        self.select(selector, |e| {
            e.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
        })
    }

    /// An attribute of every element that the selector finds.
    pub fn attrs(&self, selector: &str, name: &str) -> Vec<String> {
        self.select(selector, |e| e.value().attr(name).unwrap_or_default().to_owned())
    }

    pub fn has(&self, selector: &str) -> bool {
        !self.select(selector, |_| ()).is_empty()
    }

    /// What the form with this action would send if nobody touched it.
    pub fn form_fields(&self, action: &str) -> Vec<(String, String)> {
        self.read(|html| {
            let form = html
                .select(&selector("form"))
                .find(|f| f.value().attr("action") == Some(action))
                .unwrap_or_else(|| panic!("no form with action {action}"));
            form.select(&selector("input, textarea, select")).filter_map(field).collect()
        })
    }

    /// The names of the fields of a form in which one types.
    pub fn text_fields(&self, action: &str) -> Vec<String> {
        let within = format!("form[action='{action}']");
        let inputs = "input:not([type]), input[type=text], input[type=search], input[type=tel], input[type=email], \
                      input[type=date], input[type=password]";
        let mut names = self.attrs(
            &inputs
                .split(", ")
                .chain(["textarea"])
                .map(|one| format!("{within} {one}"))
                .collect::<Vec<_>>()
                .join(", "),
            "name",
        );
        names.dedup();
        names.retain(|name| !name.is_empty());
        names
    }

    /// What the fields with this name hold, whatever their kind.
    pub fn values_of(&self, name: &str) -> Vec<String> {
        let mut values = self.attrs(&format!("input[name='{name}']"), "value");
        values.extend(self.select(&format!("textarea[name='{name}']"), |e| {
            // A parser takes the first line break of a text area for layout.
            e.text().collect::<String>()
        }));
        values
    }

    fn select<T>(&self, css: &str, f: impl Fn(ElementRef) -> T) -> Vec<T> {
        self.read(|html| html.select(&selector(css)).map(f).collect())
    }
}

fn selector(css: &str) -> Selector {
    Selector::parse(css).unwrap_or_else(|e| panic!("{css}: {e}"))
}

fn field(e: ElementRef) -> Option<(String, String)> {
    let name = e.value().attr("name")?.to_owned();
    let value = e.value().attr("value").unwrap_or_default().to_owned();
    match (e.value().name(), e.value().attr("type")) {
        ("textarea", _) => Some((name, e.text().collect())),
        ("select", _) => {
            let picked = e
                .select(&selector("option[selected]"))
                .next()
                .or_else(|| e.select(&selector("option")).next());
            Some((name, picked.and_then(|o| o.value().attr("value")).unwrap_or_default().to_owned()))
        }
        (_, Some("radio" | "checkbox")) => e.value().attr("checked").map(|_| (name, value)),
        (_, Some("submit" | "button")) => None,
        _ => Some((name, value)),
    }
}
