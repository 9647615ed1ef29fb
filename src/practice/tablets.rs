//! How tablets reach the server, as a sheet to print and take along.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};

use crate::{
    App,
    accounts::{Can, act},
    serve::Reach,
    web::{Result, Shell},
};

#[derive(Template, WebTemplate)]
#[template(path = "practice/tablets.html")]
struct TabletsPage {
    shell: Shell,
    tablets: Option<Reach>,
}

impl TabletsPage {
    /// The fingerprint in lines of eight pairs: what a person can compare.
    fn fingerprint_lines(reach: &Reach) -> Vec<String> {
        let pairs: Vec<&str> = reach.fingerprint.split(':').collect();
        pairs.chunks(8).map(|line| line.join(" ")).collect()
    }
}

pub(super) async fn show(_: Can<act::RunPractice>, State(app): State<App>, shell: Shell) -> Result<Response> {
    let tablets = app.tablets.as_deref().cloned();
    Ok(TabletsPage { shell, tablets }.into_response())
}
