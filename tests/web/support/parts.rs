//! Files in a form, sent as a browser without our script sends them.

use axum::{
    body::Body,
    http::{Request, header},
};

use super::{Browser, Page};

/// A file of a form: its field, its name, what the browser takes it for, and its bytes.
pub struct Part<'a> {
    pub field: &'a str,
    pub name: &'a str,
    pub kind: &'a str,
    pub bytes: &'a [u8],
}

/// The fields and the file as one body (RFC 7578) with the boundary `x`.
pub fn body(fields: &[(&str, &str)], file: &Part<'_>) -> Vec<u8> {
    let mut body: Vec<u8> = fields
        .iter()
        .flat_map(|(name, value)| {
            format!("--x\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").into_bytes()
        })
        .collect();
    let Part { field, name, kind, bytes } = file;
    let head = format!("name=\"{field}\"; filename=\"{name}\"\r\nContent-Type: {kind}");
    body.extend(format!("--x\r\nContent-Disposition: form-data; {head}\r\n\r\n").bytes());
    body.extend_from_slice(bytes);
    body.extend(b"\r\n--x--\r\n");
    body
}

pub async fn send(browser: &mut Browser, path: &str, fields: &[(&str, &str)], file: &Part<'_>) -> Page {
    send_body(browser, path, body(fields, file)).await
}

pub async fn send_body(browser: &mut Browser, path: &str, body: Vec<u8>) -> Page {
    let request = Request::post(path)
        .header(header::HOST, "practice.test")
        .header(header::ORIGIN, "http://practice.test")
        .header(header::CONTENT_TYPE, "multipart/form-data; boundary=x");
    browser.send(request, Body::from(body)).await
}
