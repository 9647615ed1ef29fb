//! A practice of its own for each test, and the browsers that visit it.

use std::ffi::OsString;

use axum::{
    Router,
    body::Body,
    http::{Request, StatusCode, header},
};
use http_body_util::BodyExt;
use limbledger::{
    App,
    accounts::{Hasher, Role, factor, store::NewStaff},
    clock::{At, Clock, Day},
    db::Db,
    ids::{StaffId, SubmissionId},
    practice::Practice,
};
use tokio::sync::OnceCell;
use tower::ServiceExt;

use super::Page;

pub const PASSWORD: &str = "seven quiet barns at dawn";
/// Wednesday 11 March 2026, 09:00 in the practice's zone.
pub const NOON_OF_TEST: &str = "2026-03-11";

pub struct TestApp {
    pub app: App,
    pub router: Router,
    pub owner: StaffId,
    pub vet: StaffId,
    pub technician: StaffId,
    pub desk: StaffId,
    // Kept until the test ends: dropping it removes the folder.
    folder: tempfile::TempDir,
}

impl TestApp {
    /// A practice with one account a role; the clock stands still.
    pub async fn new() -> Self {
        let mut test = Self::bare(None).await;
        let mut tx = test.app.db.write().await.unwrap();
        limbledger::practice::store::insert(&mut tx, &practice(), test.app.clock.now()).await.unwrap();
        let hash = test.app.hasher.hash(PASSWORD).await.unwrap();
        for (id, role, name) in [
            (test.owner, Role::Owner, "Olwen Test"),
            (test.vet, Role::Vet, "Vala Test"),
            (test.technician, Role::Technician, "Tarn Test"),
            (test.desk, Role::Desk, "Dell Test"),
        ] {
            let new = NewStaff {
                id,
                name: name.into(),
                role,
                licensed: role == Role::Vet,
                password_hash: hash.clone(),
            };
            limbledger::accounts::store::insert(&mut tx, &new, test.app.clock.now()).await.unwrap();
        }
        // The owner was asked for a second factor and put it off, for longer than any test lasts.
        let long = test.now().plus_minutes(10 * 365 * 24 * 60);
        factor::store::ask(&mut tx, test.owner, test.now(), long).await.unwrap();
        factor::store::put_off(&mut tx, test.owner).await.unwrap();
        tx.commit().await.unwrap();
        test.router = limbledger::router(test.app.clone());
        test
    }

    /// Before set-up.
    pub async fn bare(code: Option<&str>) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let zone = jiff::tz::TimeZone::get("Europe/Berlin").unwrap();
        let now = NOON_OF_TEST.parse::<Day>().unwrap().at(9, 0, &zone);
        let clock = Clock::held(now);
        for (name, bytes) in fresh(now).await {
            std::fs::write(folder.path().join(name), bytes).unwrap();
        }
        let db = Db::open(folder.path(), now).await.unwrap();
        let app = App::new(db, clock, Hasher::with_cost(8, 1).unwrap(), code.map(Into::into));
        let router = limbledger::router(app.clone());
        TestApp {
            app,
            router,
            owner: StaffId::new(),
            vet: StaffId::new(),
            technician: StaffId::new(),
            desk: StaffId::new(),
            folder,
        }
    }

    /// The same practice in a folder of its own, as it is on the disk; nothing may be writing to it.
    pub async fn copy(&self) -> Self {
        let folder = tempfile::tempdir().unwrap();
        copy_files(self.folder.path(), folder.path());
        let db = Db::open(folder.path(), self.now()).await.unwrap();
        let app = App::new(db, Clock::held(self.now()), self.app.hasher.clone(), None);
        let router = limbledger::router(app.clone());
        let TestApp { owner, vet, technician, desk, .. } = *self;
        TestApp { app, router, owner, vet, technician, desk, folder }
    }

    /// Where the practice's files lie.
    pub fn folder(&self) -> &std::path::Path {
        self.folder.path()
    }

    pub fn now(&self) -> At {
        self.app.clock.now()
    }

    pub fn set_clock(&self, at: At) {
        self.app.clock.set(at);
    }

    /// A browser that nobody has signed in.
    pub fn stranger(&self) -> Browser {
        Browser { router: self.router.clone(), cookie: None }
    }

    /// A browser signed in through the sign-in page.
    pub async fn signed_in(&self, role: Role) -> Browser {
        let name = match role {
            Role::Owner => "Olwen Test",
            Role::Vet => "Vala Test",
            Role::Technician => "Tarn Test",
            Role::Desk => "Dell Test",
        };
        let mut browser = self.stranger();
        let page = browser.post("/sign-in", &[("name", name), ("password", PASSWORD)]).await;
        assert_eq!(page.status, StatusCode::SEE_OTHER, "{name} could not sign in");
        browser
    }
}

fn practice() -> Practice {
    Practice {
        name: "Test Practice".into(),
        zone: jiff::tz::TimeZone::get("Europe/Berlin").unwrap(),
        zone_name: "Europe/Berlin".into(),
        weight_unit: "kg".into(),
        height_unit: "cm".into(),
        temperature_unit: "c".into(),
        lameness_scale: "aaep_0_5".into(),
        exam_order: "top_down_then_up".into(),
        invented: false,
        version: 1,
    }
}

/// A browser: it keeps its cookie and says where its forms come from.
#[derive(Clone)]
pub struct Browser {
    pub router: Router,
    pub cookie: Option<String>,
}

impl Browser {
    pub async fn get(&mut self, path: &str) -> Page {
        let request = Request::get(path).header(header::HOST, "practice.test");
        self.send(request, Body::empty()).await
    }

    /// What is no page: the bytes of a picture.
    pub async fn raw(&mut self, path: &str) -> Vec<u8> {
        let mut request = Request::get(path).header(header::HOST, "practice.test");
        if let Some(cookie) = &self.cookie {
            request = request.header(header::COOKIE, cookie);
        }
        let response = self.router.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
        assert_eq!(response.status(), axum::http::StatusCode::OK, "{path}");
        response.into_body().collect().await.unwrap().to_bytes().to_vec()
    }

    /// Sends a form as it stands, without a submission id of its own.
    pub async fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Page {
        let body =
            fields.iter().map(|(k, v)| format!("{}={}", encode(k), encode(v))).collect::<Vec<_>>().join("&");
        let request = Request::post(path)
            .header(header::HOST, "practice.test")
            .header(header::ORIGIN, "http://practice.test")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.send(request, Body::from(body)).await
    }

    /// Sends a form with a fresh submission id.
    pub async fn submit(&mut self, path: &str, fields: &[(&str, &str)]) -> Page {
        let submission = SubmissionId::new().to_string();
        let mut all = vec![("submission", submission.as_str())];
        all.extend_from_slice(fields);
        self.post(path, &all).await
    }

    /// Fills in the form on `page` whose action is `action`: its hidden and preset fields are sent along, `fields`
    /// stand over them.
    pub async fn fill(&mut self, page: &Page, action: &str, fields: &[(&str, &str)]) -> Page {
        let preset = page.form_fields(action);
        let mut all: Vec<(&str, &str)> = preset
            .iter()
            .map(|(k, v)| (k.as_str(), v.as_str()))
            .filter(|(k, _)| !fields.iter().any(|(name, _)| name == k))
            .collect();
        all.extend_from_slice(fields);
        self.post(action, &all).await
    }

    /// Sends any request with this browser's cookie.
    pub async fn send(&mut self, mut request: axum::http::request::Builder, body: Body) -> Page {
        if let Some(cookie) = &self.cookie {
            request = request.header(header::COOKIE, cookie);
        }
        let response = self.router.clone().oneshot(request.body(body).unwrap()).await.unwrap();
        let (parts, body) = response.into_parts();
        for set in parts.headers.get_all(header::SET_COOKIE) {
            let pair = set.to_str().unwrap().split(';').next().unwrap_or_default().to_owned();
            self.cookie = if pair.ends_with('=') { None } else { Some(pair) };
        }
        let bytes = body.collect().await.unwrap().to_bytes();
        Page::new(parts.status, parts.headers, &String::from_utf8_lossy(&bytes))
    }
}

fn encode(text: &str) -> String {
    use std::fmt::Write;
    text.bytes().fold(String::new(), |mut out, b| {
        if b.is_ascii_alphanumeric() {
            out.push(char::from(b));
        } else {
            write!(out, "%{b:02X}").unwrap();
        }
        out
    })
}

/// The files of a data folder that was opened once: every test begins with a copy, and none runs the migrations again.
async fn fresh(now: At) -> &'static [(OsString, Vec<u8>)] {
    static FILES: OnceCell<Vec<(OsString, Vec<u8>)>> = OnceCell::const_new();
    FILES
        .get_or_init(|| async {
            let folder = tempfile::tempdir().unwrap();
            Db::open(folder.path(), now).await.unwrap().close().await;
            let files = std::fs::read_dir(folder.path()).unwrap().map(Result::unwrap);
            files.map(|file| (file.file_name(), std::fs::read(file.path()).unwrap())).collect()
        })
        .await
}

/// The files of a folder and of the folders in it, but for what the database makes anew.
fn copy_files(from: &std::path::Path, to: &std::path::Path) {
    for entry in std::fs::read_dir(from).unwrap() {
        let from = entry.unwrap().path();
        let to = to.join(from.file_name().unwrap());
        if from.is_dir() {
            std::fs::create_dir(&to).unwrap();
            copy_files(&from, &to);
        } else if !from.ends_with("practice.sqlite-shm") {
            std::fs::copy(&from, to).unwrap();
        }
    }
}
