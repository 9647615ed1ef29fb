//! A file of another program, sent as a browser sends it.

use axum::{
    body::Body,
    http::{Request, header},
};
use limbledger::ids::SubmissionId;

use super::{Browser, Page};

/// Sends the bytes of a file.
pub async fn upload(browser: &mut Browser, name: &str, bytes: &[u8]) -> Page {
    let submission = SubmissionId::new();
    let mut body = format!(
        "--x\r\nContent-Disposition: form-data; name=\"submission\"\r\n\r\n{submission}\r\n\
         --x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\nContent-Type: text/csv\r\n\r\n"
    )
    .into_bytes();
    body.extend(bytes);
    body.extend(b"\r\n--x--\r\n");
    let request = Request::post("/practice/imports")
        .header(header::HOST, "practice.test")
        .header(header::ORIGIN, "http://practice.test")
        .header(header::CONTENT_TYPE, "multipart/form-data; boundary=x");
    browser.send(request, Body::from(body)).await
}

/// Sends a table that is taken, and gives the address of its import.
pub async fn import(browser: &mut Browser, table: &str) -> String {
    let answer = upload(browser, "clients.csv", table.as_bytes()).await;
    assert!(answer.status.is_redirection(), "{:?}", answer.texts(".errors li"));
    answer.location().to_owned()
}

/// Takes the columns as they are proposed.
pub async fn read_rows(browser: &mut Browser, import: &str) {
    let page = browser.get(import).await;
    let answer = browser.fill(&page, &format!("{import}/columns"), &[]).await;
    assert!(answer.status.is_redirection(), "{:?}", answer.texts(".errors li"));
}
