//! Objects as equipment sends them, written byte by byte, and orders that they belong to.

use axum::{
    body::Body,
    http::{Request, header},
};
use limbledger::{
    catalogue::StudyKind,
    clock::Day,
    diagnostics::{self, changes::Details, store::NewItem, store::NewOrder},
    ids::{HorseId, OrderId, SubmissionId},
    visits::State,
};

use super::{Browser, Page, TestApp};

pub const TRAY: &str = "/diagnostics/arrivals";
/// Computed radiography (PS3.4 B.5).
const CR: &str = "1.2.840.10008.5.1.4.1.1.1";
/// Explicit VR little endian (PS3.5 A.2).
const EXPLICIT: &str = "1.2.840.10008.1.2.1";

/// One element as explicit little endian writes it (PS3.5 7.1.2), padded to an even length.
fn element(group: u16, number: u16, vr: &str, value: &str) -> Vec<u8> {
    let mut value = value.as_bytes().to_vec();
    if value.len() % 2 == 1 {
        value.push(if vr == "UI" { 0 } else { b' ' });
    }
    let mut out = Vec::new();
    out.extend(group.to_le_bytes());
    out.extend(number.to_le_bytes());
    out.extend(vr.as_bytes());
    out.extend(u16::try_from(value.len()).unwrap().to_le_bytes());
    out.extend(value);
    out
}

/// A radiograph of nothing, as a file (PS3.10 7.1).
#[derive(Clone)]
pub struct Object {
    pub preamble: [u8; 128],
    pub instance: String,
    pub study: String,
    pub accession: String,
    pub patient_id: String,
    pub patient_name: String,
    pub view: String,
    pub laterality: String,
    pub number: String,
    pub modality: &'static str,
    /// Columns and rows.
    pub size: (u16, u16),
    /// Values of one byte, row by row; none for an object without a picture.
    pub pixels: Option<Vec<u8>>,
    /// Millimetres from row to row and column to column, true in the plane of the bone.
    pub spacing: String,
    /// A step of an ultrasound picture, in cm.
    pub scanned_cm: Option<f64>,
}

impl Object {
    pub fn new(instance: &str) -> Self {
        Object {
            preamble: [0; 128],
            instance: format!("2.25.{instance}"),
            study: "2.25.99".into(),
            accession: String::new(),
            patient_id: String::new(),
            patient_name: "Marsh^Briar".into(),
            view: String::new(),
            laterality: String::new(),
            number: "1".into(),
            modality: "CR",
            size: (2, 2),
            pixels: None,
            spacing: String::new(),
            scanned_cm: None,
        }
    }

    pub fn file(&self) -> Vec<u8> {
        let meta = [
            element(2, 2, "UI", CR),
            element(2, 3, "UI", &self.instance),
            element(2, 0x10, "UI", EXPLICIT),
            element(2, 0x12, "UI", "2.25.1"),
        ]
        .concat();
        let mut file = self.preamble.to_vec();
        file.extend(b"DICM");
        file.extend([2, 0, 0, 0, b'U', b'L', 4, 0]);
        file.extend(u32::try_from(meta.len()).unwrap().to_le_bytes());
        file.extend(meta);
        file.extend(
            [
                element(8, 0x16, "UI", CR),
                element(8, 0x18, "UI", &self.instance),
                element(8, 0x22, "DA", "20260311"),
                element(8, 0x32, "TM", "091502"),
                element(8, 0x50, "SH", &self.accession),
                element(8, 0x60, "CS", self.modality),
                element(0x10, 0x10, "PN", &self.patient_name),
                element(0x10, 0x20, "LO", &self.patient_id),
                element(0x18, 0x5101, "CS", &self.view),
                element(0x20, 0xd, "UI", &self.study),
                element(0x20, 0x13, "IS", &self.number),
                element(0x20, 0x62, "CS", &self.laterality),
            ]
            .concat(),
        );
        let Some(pixels) = &self.pixels else { return file };
        if let Some(cm) = self.scanned_cm {
            file.extend(region(cm));
        }
        file.extend(grey(self.size, &self.spacing, pixels));
        file
    }
}

fn short(group: u16, number: u16, value: u16) -> Vec<u8> {
    let mut out = Vec::new();
    out.extend(group.to_le_bytes());
    out.extend(number.to_le_bytes());
    out.extend([b'U', b'S', 2, 0]);
    out.extend(value.to_le_bytes());
    out
}

/// The one region of an ultrasound picture: tissue, so many cm a pixel both ways (PS3.3 C.8.5.5).
fn region(cm: f64) -> Vec<u8> {
    let mut item = [short(0x18, 0x6012, 1), short(0x18, 0x6024, 3), short(0x18, 0x6026, 3)].concat();
    for number in [0x602c_u16, 0x602e] {
        item.extend([0x18, 0]);
        item.extend(number.to_le_bytes());
        item.extend([b'F', b'D', 8, 0]);
        item.extend(cm.to_le_bytes());
    }
    let long = |bytes: usize| u32::try_from(bytes).unwrap().to_le_bytes();
    let mut out = vec![0x18, 0, 0x11, 0x60, b'S', b'Q', 0, 0];
    out.extend(long(item.len() + 8));
    out.extend([0xfe, 0xff, 0, 0xe0]);
    out.extend(long(item.len()));
    out.extend(item);
    out
}

/// The elements of a grey picture (PS3.3 C.7.6.3, 10.7).
fn grey((columns, rows): (u16, u16), spacing: &str, pixels: &[u8]) -> Vec<u8> {
    let mut out = short(0x28, 2, 1);
    out.extend(element(0x28, 4, "CS", "MONOCHROME2"));
    out.extend([short(0x28, 0x10, rows), short(0x28, 0x11, columns)].concat());
    if !spacing.is_empty() {
        out.extend(element(0x28, 0x30, "DS", spacing));
        out.extend(element(0x28, 0xa02, "CS", "FIDUCIAL"));
    }
    for (number, value) in [(0x100, 8), (0x101, 8), (0x102, 7), (0x103, 0)] {
        out.extend(short(0x28, number, value));
    }
    out.extend([0xe0, 0x7f, 0x10, 0, b'O', b'B', 0, 0]);
    out.extend(u32::try_from(pixels.len()).unwrap().to_le_bytes());
    out.extend(pixels);
    out
}

/// As a browser without our script sends files.
pub async fn send(browser: &mut Browser, submission: &str, files: &[(&str, Vec<u8>)]) -> Page {
    let mut body =
        format!("--x\r\nContent-Disposition: form-data; name=\"submission\"\r\n\r\n{submission}\r\n")
            .into_bytes();
    for (name, bytes) in files {
        let head =
            format!("--x\r\nContent-Disposition: form-data; name=\"files\"; filename=\"{name}\"\r\n\r\n");
        body.extend(head.as_bytes());
        body.extend(bytes);
        body.extend(b"\r\n");
    }
    body.extend(b"--x--\r\n");
    let request = Request::post(TRAY)
        .header(header::HOST, "practice.test")
        .header(header::ORIGIN, "http://practice.test")
        .header(header::CONTENT_TYPE, "multipart/form-data; boundary=x");
    browser.send(request, Body::from(body)).await
}

pub async fn send_one(browser: &mut Browser, object: &Object) -> Page {
    send(browser, &SubmissionId::new().to_string(), &[("a.dcm", object.file())]).await
}

/// A horse with an order of radiographs for today.
pub async fn order(test: &TestApp, horse: HorseId, hour: i8, items: &[(&str, &str)]) -> OrderId {
    let visit = test.visit(horse, test.vet, "2026-03-11", (hour, 0), State::Arrived).await;
    let item = |(code, side): &(&str, &str)| NewItem {
        code: (*code).into(),
        name: (*code).into(),
        side: (*side).into(),
        zones: String::new(),
    };
    let new = NewOrder {
        id: None,
        visit,
        study: "RX_FETLOCK".into(),
        kind: StudyKind::Radiograph,
        name: "fetlock".into(),
        place: String::new(),
        details: Details { planned_on: Some("2026-03-11".parse::<Day>().unwrap()), ..Details::default() },
        items: items.iter().map(item).collect(),
    };
    let mut tx = test.app.db.write().await.unwrap();
    let id = diagnostics::store::insert(&mut tx, &new, test.vet, test.now()).await.unwrap();
    tx.commit().await.unwrap();
    id
}

/// The page of a picture that comes for an order: `x` columns and `y` rows of nothing.
pub async fn picture_of(browser: &mut Browser, test: &TestApp, order: OrderId, object: Object) -> String {
    let study = diagnostics::store::get(test.app.db.read(), order).await.unwrap().study_uid;
    let pixels = usize::from(object.size.0) * usize::from(object.size.1);
    let object = Object { study, pixels: Some(vec![128; pixels]), ..object };
    send_one(browser, &object).await;
    browser.get(&format!("/diagnostics/{order}")).await.attrs("#pictures a", "href").pop().unwrap()
}
