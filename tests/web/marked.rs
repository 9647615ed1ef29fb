//! Whatever is typed stands on every page as words. Markers go into every field that keeps words, each through its own
//! form; then every page is looked at, and reading them all changes nothing.

use std::collections::{BTreeMap, BTreeSet};

use axum::http::StatusCode;
use limbledger::checkup::{self, Watch};
use scraper::{ElementRef, Selector};

use crate::{
    access,
    forms::{Found, kind_of, walk},
    support::{
        Browser, Page,
        filled::Filled,
        forms::{Kind, pattern},
    },
};

/// What would become an element, an attribute, the end of a script or of a title, a comment, the sum of a template, or
/// would turn the line round.
const LONG: &str = "<x9 y9=1>\"y9='1'`&amp;]]></script></title><!--{{7*7}}${7*7}{%x9%}\u{202e}";
/// For fields of few letters.
const SHORT: &str = "<x9>\"y9='";
/// What stands on a page where the long one does.
const SHOWN: &str = "{{7*7}}${7*7}{%x9%}";

/// What ends a browser's session or takes somebody's account away.
const NEVER: [&str; 10] = [
    "/sign-out",
    "/lock",
    "/locked",
    "/sign-in",
    "/me/password",
    "/me/pin",
    "/me/first-password",
    "/me/sessions/{id}/end",
    "/practice/staff/{id}/password",
    "/practice/staff/{id}/second-factor/remove",
];

/// What closes other forms when it is taken, and so comes last.
const LATE: [&str; 22] = [
    "/sign",
    "/steps",
    "/horse",
    "/merge",
    "/status",
    "/euthanasia",
    "/leave",
    "/withdraw",
    "/close",
    "/drop",
    "/undo",
    "/run",
    "/remove",
    "/lift",
    "/end",
    "/answer",
    "/gate",
    "/reverse",
    "/retire",
    "/read",
    "/strike",
    "/set-aside",
];

/// Where addresses that a person follows may lead.
const SCHEMES: [&str; 7] = ["/", "#", "?", "tel:", "mailto:", "sms:", "geo:"];

/// Who sees everything between them.
const LOOK: [&str; 2] = ["vet", "owner"];

/// So many pages of one kind are looked at, beside those of the practice's first rows.
const OF_A_KIND: usize = 3;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_typed_is_words_on_every_page_and_reading_changes_nothing() {
    let practice = Filled::new().await;
    let mut found = walk(&practice, &LOOK).await;
    found.retain(|one| !NEVER.contains(&pattern(&one.form.action).as_str()));
    found.sort_by_key(|one| LATE.iter().any(|end| one.form.action.ends_with(end)));
    let mut kept = 0;
    for one in &found {
        kept += fill(&practice, one).await;
    }
    assert!(kept > 150, "only {kept} fields took a marker");

    let before = practice.contents().await;
    let mut wrong = Vec::new();
    let mut shown = BTreeSet::new();
    for who in LOOK {
        let mut crawl = Crawl { browser: practice.browser(who), who, wrong: &mut wrong, shown: &mut shown };
        crawl.all(&practice).await;
    }
    for (table, rows) in practice.contents().await {
        if before[&table] != rows {
            wrong.push(format!("reading changed the table {table}"));
        }
    }
    // Whatever wrote, each row has the digest that was committed with it.
    let folder = practice.folder();
    let mut conn = limbledger::db::reader(folder).await.unwrap();
    let found = checkup::look(folder, &mut conn, &Watch::new()).await.unwrap();
    assert!(found.rows > 500, "{} rows were looked at", found.rows);
    // The practice is filled with the row of a file that was never there.
    wrong.extend(found.faults.into_iter().filter(|fault| !fault.starts_with("attachment 000")));
    assert!(wrong.is_empty(), "{} things are wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert!(shown.len() > 40, "the markers stand on {} pages only", shown.len());
}

/// Sends a form with markers in the fields that take them; gives how many did.
async fn fill(practice: &Filled, one: &Found) -> usize {
    let mut browser = practice.browser(one.who);
    let page = browser.get(&one.page).await;
    let Some(form) = page.forms().into_iter().find(|form| form.shape() == one.form.shape()) else { return 0 };
    // As it stands by now: other forms have changed its version meanwhile.
    let one = Found { form, ..one.clone() };
    let typed = one.form.names().into_iter().filter(|(_, kind)| *kind == Kind::Typed);
    let mut marks: BTreeMap<String, &str> = typed.map(|(name, _)| (name, LONG)).collect();
    for _ in 0..5 {
        let over: Vec<(&str, &str)> = marks.iter().map(|(name, mark)| (name.as_str(), *mark)).collect();
        let answer = browser.post(&one.form.action, &one.form.filled(&one.with(&over))).await;
        assert!(!answer.status.is_server_error(), "{}: {}", one.form.action, answer.status);
        if answer.status != StatusCode::UNPROCESSABLE_ENTITY {
            return if answer.status.is_redirection() { marks.len() } else { 0 };
        }
        let refused = answer.attrs(".errors a", "href");
        let refused: BTreeSet<&str> = refused.iter().map(|way| way.trim_start_matches('#')).collect();
        if !give_way(&mut marks, &refused) {
            return 0;
        }
    }
    0
}

/// The short marker in place of the long one where that was refused, and what makes the form good in place of the short
/// one; in every field, where the page blames none of them.
fn give_way(marks: &mut BTreeMap<String, &str>, refused: &BTreeSet<&str>) -> bool {
    let blamed = |name: &String| refused.contains(name.as_str());
    let anybody = marks.keys().any(blamed);
    let there = !marks.is_empty();
    let names: Vec<String> = marks.keys().filter(|name| !anybody || blamed(name)).cloned().collect();
    for name in names {
        if marks.get(&name) == Some(&LONG) {
            marks.insert(name, SHORT);
        } else {
            marks.remove(&name);
        }
    }
    there
}

struct Crawl<'a> {
    browser: Browser,
    who: &'static str,
    wrong: &'a mut Vec<String>,
    shown: &'a mut BTreeSet<String>,
}

impl Crawl<'_> {
    /// Every route that is read, every page that is known, and every link from there.
    async fn all(&mut self, practice: &Filled) {
        let mut ahead: Vec<String> =
            access::gets().iter().map(|route| practice.fixture.fill(route)).collect();
        ahead.extend(practice.beyond.iter().cloned());
        let (mut seen, mut kinds) = (BTreeSet::new(), BTreeMap::new());
        while let Some(path) = ahead.pop() {
            let page = self.browser.get(&path).await;
            self.judge(&path, &page);
            for link in page.attrs("a[href^='/']", "href") {
                let link = link.split('#').next().unwrap_or_default().to_owned();
                if !link.starts_with("/static/") && seen.insert(kind_of(&link)) {
                    let of_kind = kinds.entry(folded(&link)).or_insert(0);
                    *of_kind += 1;
                    if *of_kind <= OF_A_KIND {
                        ahead.push(link);
                    }
                }
            }
        }
        assert!(seen.len() > 60, "{} comes to {} pages only", self.who, seen.len());
    }

    fn judge(&mut self, path: &str, page: &Page) {
        let mut blame = |what: &str| self.wrong.push(format!("{path} as {}: {what}", self.who));
        let token = self.browser.cookie.as_deref().and_then(|cookie| cookie.split('=').nth(1)).unwrap();
        if page.status.is_server_error() {
            blame(page.status.as_str());
        }
        if page.text.contains(token) {
            blame("the session's token is on it");
        }
        if path.contains(token) || path.contains("x9") {
            blame("its address holds what was typed");
        }
        let kind = page.headers.get("content-type").map_or("", |kind| kind.to_str().unwrap());
        if kind != "text/html; charset=utf-8" {
            return;
        }
        if page.text.contains(SHOWN) {
            self.shown.insert(pattern(path));
        }
        let faults: BTreeSet<String> =
            page.read(|html| html.select(&Selector::parse("*").unwrap()).flat_map(faults).collect());
        self.wrong.extend(faults.into_iter().map(|fault| format!("{path} as {}: {fault}", self.who)));
    }
}

/// Which page this is, whatever row it is of.
fn folded(link: &str) -> String {
    let query = link.split_once('?').map_or("", |(_, query)| query);
    let keys: Vec<&str> = query.split('&').map(|pair| pair.split('=').next().unwrap_or_default()).collect();
    format!("{}?{}", pattern(link), keys.join("&"))
}

/// What of an element should not be: that it came out of a marker, runs by itself or leads to somewhere else.
fn faults(e: ElementRef<'_>) -> Vec<String> {
    let name = e.value().name();
    let mut faults = Vec::new();
    if name == "x9" {
        faults.push("a marker became an element".to_owned());
    }
    if name == "script" && (e.value().attr("src").is_none() || !e.inner_html().is_empty()) {
        faults.push("a script stands in the page".to_owned());
    }
    for (attribute, value) in e.value().attrs() {
        if attribute.starts_with("y9") {
            faults.push("a marker became an attribute".to_owned());
        }
        if attribute.starts_with("on") || attribute == "style" || attribute == "srcdoc" {
            faults.push(format!("{name} has {attribute}"));
        }
        let leads = ["href", "src", "action", "formaction"].contains(&attribute);
        let mask = value.starts_with("blob:") || value.is_empty();
        if leads
            && (value.starts_with("//") || !mask && !SCHEMES.iter().any(|start| value.starts_with(start)))
        {
            faults.push(format!("{name} leads to {value}"));
        }
    }
    faults
}
