//! The pages of an import: what its columns are, what its rows mean, how far it has come, and what became of it. What is
//! done there stands in `steps`.

use std::sync::Arc;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    http::header,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    State, columns as fields,
    report::{self, words},
    run as running,
    store::{self, Counts, Import, Row},
    undo as taking_back,
};
use crate::{
    App,
    accounts::{Can, act},
    ids::ImportId,
    practice,
    web::{Errors, Path, Query, Result, Shell, invalid},
};

const ON_A_PAGE: i64 = 25;
/// Cells of a row that are shown before the rest is folded away.
const SAMPLES: usize = 3;
pub(super) const LIKELY: [(&str, &str); 4] = [
    ("ask", "ask me row by row"),
    ("same", "are the same: enter nothing twice"),
    ("new", "are new: enter them"),
    ("leave", "are left out"),
];
pub(super) const CHOICES: [(&str, &str); 3] = [("same", "the same"), ("new", "new"), ("leave", "leave out")];

#[derive(Template, WebTemplate)]
#[template(path = "imports/list.html")]
struct ListPage {
    shell: Shell,
    errors: Errors,
    imports: Vec<Import>,
    zone: TimeZone,
}

impl ListPage {
    async fn new(app: &App, shell: Shell, errors: Errors) -> Result<Self> {
        let zone = practice::store::get(app.db.read()).await?.zone;
        Ok(ListPage { shell, errors, imports: store::all(app.db.read()).await?, zone })
    }

    fn largest_mb(&self) -> usize {
        super::read::LARGEST / 1024 / 1024
    }
}

pub(super) async fn list(
    FromApp(app): FromApp<App>,
    _: Can<act::RunPractice>,
    shell: Shell,
) -> Result<Response> {
    Ok(ListPage::new(&app, shell, Errors::default()).await?.into_response())
}

/// The list again, with why a file was not taken.
pub(super) async fn refused(app: &App, shell: Shell, errors: Errors) -> Result<Response> {
    Ok(invalid(ListPage::new(app, shell, errors).await?))
}

#[derive(Template, WebTemplate)]
#[template(path = "imports/page.html")]
pub(super) struct ImportPage {
    shell: Shell,
    errors: Errors,
    import: Import,
    /// What stands in each column, for whoever says what it is.
    columns: Vec<Column>,
    counts: Counts,
    filter: String,
    page: i64,
    more: bool,
    rows: Vec<Row>,
    likely: String,
    /// While it runs.
    percent: Option<usize>,
    /// What keeps it from being taken back.
    in_the_way: Vec<String>,
}

struct Column {
    number: usize,
    heading: String,
    field: String,
    samples: Vec<String>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct PageQuery {
    show: String,
    page: String,
}

impl ImportPage {
    pub(super) async fn new(
        app: &App,
        shell: Shell,
        id: ImportId,
        query: &PageQuery,
        errors: Errors,
    ) -> Result<Self> {
        let db = app.db.read();
        let import = store::get(db, id).await?;
        let page = query.page.parse::<i64>().unwrap_or(1).clamp(1, 100_000);
        let counts = store::counts(db, id).await?;
        let filter = match query.show.as_str() {
            known @ ("ask" | "like" | "wrong" | "new" | "all" | "back") => known,
            _ if import.state == State::Done => "back",
            _ if counts.ask > 0 && import.likely == "ask" => "ask",
            _ if counts.wrong > 0 => "wrong",
            _ => "all",
        };
        let mut rows = store::rows(db, id, filter, ((page - 1) * ON_A_PAGE, ON_A_PAGE + 1)).await?;
        let on_a_page = usize::try_from(ON_A_PAGE).unwrap_or(usize::MAX);
        let more = rows.len() > on_a_page;
        rows.truncate(on_a_page);
        let in_the_way = if import.state == State::Done {
            taking_back::in_the_way(&mut *db.acquire().await?, id).await?
        } else {
            Vec::new()
        };
        let columns = columns_of(&import, &store::rows(db, id, "all", (0, 20)).await?);
        Ok(ImportPage {
            shell,
            errors,
            columns,
            counts,
            filter: filter.to_owned(),
            page,
            more,
            rows,
            likely: import.likely.clone(),
            percent: app.imports.of(id).map(|progress: Arc<running::Progress>| progress.percent()),
            in_the_way,
            import,
        })
    }

    /// The question about the columns again, with what was picked.
    pub(super) fn picked_again(mut self, picked: Vec<String>) -> Self {
        self.import.state = State::Columns;
        for (column, name) in self.columns.iter_mut().zip(picked) {
            column.field = name;
        }
        self
    }

    fn fields(&self) -> Vec<(&'static str, &'static str)> {
        fields::all().iter().map(|column| (column.field.as_str(), column.label.as_str())).collect()
    }

    fn likely(&self) -> [(&'static str, &'static str); 4] {
        LIKELY
    }

    fn choices(&self) -> [(&'static str, &'static str); 3] {
        CHOICES
    }

    /// The ways to look at the rows, with how many there are.
    fn filters(&self) -> Vec<(&'static str, &'static str, i64)> {
        let c = &self.counts;
        if self.import.state == State::Done {
            let back = c.wrong + c.left;
            return vec![("back", "not entered", back), ("all", "all rows", self.import.row_count)];
        }
        vec![
            ("ask", "to be decided", c.ask),
            ("like", "may be here already", c.like),
            ("wrong", "wrong", c.wrong),
            ("new", "new", c.new),
            ("all", "all rows", self.import.row_count),
        ]
    }

    fn at(&self, page: i64) -> String {
        format!("/practice/imports/{}?show={}&page={page}", self.import.id, self.filter)
    }

    fn before(&self) -> String {
        if self.page > 1 { self.at(self.page - 1) } else { String::new() }
    }

    fn after(&self) -> String {
        if self.more { self.at(self.page + 1) } else { String::new() }
    }

    /// The cells of a row that say something, with their headings.
    fn cells<'a>(&'a self, row: &'a Row) -> Vec<(&'a str, &'a str)> {
        let named = self.import.header.iter().map(String::as_str).zip(row.cells.iter().map(String::as_str));
        named.filter(|(_, cell)| !cell.is_empty()).collect()
    }

    /// What is decided about a row as it stands.
    fn chosen<'a>(&'a self, row: &'a Row) -> &'a str {
        match row.choice.as_str() {
            "" if row.certain => "same",
            choice => choice,
        }
    }

    fn result<'a>(&self, row: &'a Row) -> &'a str {
        words(&row.result)
    }

    /// It is marked as running and nobody runs it: the server was stopped in between.
    fn is_stopped(&self) -> bool {
        self.import.state == State::Running && self.percent.is_none()
    }
}

fn columns_of(import: &Import, rows: &[Row]) -> Vec<Column> {
    let column = |(at, heading): (usize, &String)| {
        let mut samples: Vec<String> = Vec::new();
        for cell in rows.iter().filter_map(|row| row.cells.get(at)).filter(|cell| !cell.is_empty()) {
            if samples.len() < SAMPLES && !samples.contains(cell) {
                samples.push(cell.chars().take(40).collect());
            }
        }
        let field = import.columns.get(at).cloned().unwrap_or_default();
        Column { number: at, heading: heading.clone(), field, samples }
    };
    import.header.iter().enumerate().map(column).collect()
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::RunPractice>,
    shell: Shell,
    Path(id): Path<ImportId>,
    Query(query): Query<PageQuery>,
) -> Result<Response> {
    Ok(ImportPage::new(&app, shell, id, &query, Errors::default()).await?.into_response())
}

pub(super) async fn report(
    FromApp(app): FromApp<App>,
    _: Can<act::RunPractice>,
    Path(id): Path<ImportId>,
    Query(query): Query<PageQuery>,
) -> Result<Response> {
    let import = store::get(app.db.read(), id).await?;
    let filter = if query.show == "back" { "back" } else { "all" };
    let rows = store::rows(app.db.read(), id, filter, (0, -1)).await?;
    let kind = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"import-report.csv\""),
    ];
    Ok((kind, report::csv(&import, &rows)?).into_response())
}
