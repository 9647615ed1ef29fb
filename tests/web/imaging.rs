//! What equipment sends: it finds its order or waits in the tray, is kept once as it came, and a person decides about
//! what nothing decides. Objects are sent as files here; `tests/clients/dicom` sends them over the network.

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    diagnostics::{self, ItemState},
    ids::{HorseId, OrderId, SubmissionId},
    imaging::store::{objects, settings},
};

use crate::support::{
    TestApp,
    pictures::{Object, TRAY, order, send, send_one},
};

async fn states(test: &TestApp, order: OrderId) -> Vec<(String, ItemState)> {
    let items = diagnostics::store::items(test.app.db.read(), order).await.unwrap();
    items.into_iter().map(|item| (format!("{} {}", item.side, item.code), item.state)).collect()
}

/// The order and how each object was matched, in the order they came.
async fn matches(test: &TestApp) -> Vec<(Option<OrderId>, Option<String>)> {
    sqlx::query_as("select order_id, matched_how from dicom_object order by id")
        .fetch_all(test.app.db.read())
        .await
        .unwrap()
}

#[tokio::test]
async fn a_picture_goes_to_its_order_by_study_accession_or_horse_and_takes_the_item_it_plainly_shows() {
    let test = TestApp::new().await;
    let (briar, tansy) = (test.horse("Briar").await, test.horse("Tansy").await);
    let first = order(&test, briar, 9, &[("LM", "LF"), ("D60Pr-PaDiO", "LF"), ("LM", "RF")]).await;
    let second = order(&test, briar, 10, &[("LM", "")]).await;
    let third = order(&test, tansy, 11, &[("DPa", "LF")]).await;
    let known = diagnostics::store::get(test.app.db.read(), first).await.unwrap();
    let accession = diagnostics::store::get(test.app.db.read(), second).await.unwrap().accession;
    let number = |horse: HorseId| horse.to_string().replace('-', "");
    let mut vet = test.signed_in(Role::Vet).await;
    let by_study = Object {
        study: known.study_uid.clone(),
        view: "D60PR_PADIO".into(),
        laterality: "L".into(),
        ..Object::new("1")
    };
    let no_side = Object { study: known.study_uid.clone(), view: "LM".into(), ..Object::new("2") };
    let by_accession = Object { accession, view: "LM".into(), ..Object::new("3") };
    let by_horse = Object { patient_id: number(tansy), view: "DPA".into(), ..Object::new("4") };
    let either_order = Object { patient_id: number(briar), ..Object::new("5") };
    let another_horse = Object { study: known.study_uid, patient_id: number(tansy), ..Object::new("6") };
    for object in [by_study, no_side, by_accession, by_horse, either_order, another_horse] {
        assert_eq!(send_one(&mut vet, &object).await.status, StatusCode::SEE_OTHER);
    }
    let how = |order, how: &str| (Some(order), Some(how.to_owned()));
    assert_eq!(
        matches(&test).await,
        [
            how(first, "study_uid"),
            how(first, "study_uid"),
            how(second, "accession"),
            how(third, "patient"),
            // Two orders of this horse are open; and a study of one horse says that it is another.
            (None, None),
            (None, None),
        ]
    );
    assert_eq!(
        states(&test, first).await,
        [
            ("LF LM".to_owned(), ItemState::Wanted),
            ("LF D60Pr-PaDiO".to_owned(), ItemState::Taken),
            ("RF LM".to_owned(), ItemState::Wanted)
        ],
        "a view without a side could be either of two"
    );
    assert_eq!(states(&test, second).await, [(" LM".to_owned(), ItemState::Taken)]);
    assert_eq!(states(&test, third).await, [("LF DPa".to_owned(), ItemState::Taken)]);
    let tray = vet.get(TRAY).await;
    assert_eq!(tray.texts("#waiting .name").len(), 2, "each waits by itself: they are of two studies");
}

#[tokio::test]
async fn the_same_object_is_kept_once_and_another_under_its_number_waits_for_a_person() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let order = order(&test, horse, 9, &[("LM", "LF")]).await;
    let study = diagnostics::store::get(test.app.db.read(), order).await.unwrap().study_uid;
    let object = Object { study, ..Object::new("7") };
    let mut vet = test.signed_in(Role::Vet).await;
    // Another head on the same data set: still the same object.
    let tiff = {
        let mut preamble = [0; 128];
        preamble[..4].copy_from_slice(b"II*\0");
        Object { preamble, ..object.clone() }
    };
    for sent in [&object, &object, &tiff] {
        assert_eq!(send_one(&mut vet, sent).await.status, StatusCode::SEE_OTHER);
    }
    assert_eq!(test.count("dicom_object").await, 1);
    send_one(&mut vet, &Object { number: "2".into(), ..object }).await;
    let rows = matches(&test).await;
    assert_eq!((rows.len(), rows[0].0, rows[1].0), (2, Some(order), None), "both are kept, the second waits");
    let tray = vet.get(TRAY).await;
    assert!(tray.text.contains("another picture came under the same number"));
    let waiting = objects::waiting(test.app.db.read(), 9).await.unwrap();
    assert_eq!(waiting[0].under_uid, 2);
}

#[tokio::test]
async fn what_waits_is_matched_by_hand_with_the_rest_of_its_study_or_set_aside_with_a_reason() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let mut tx = test.app.db.write().await.unwrap();
    limbledger::search::rebuild(&mut tx).await.unwrap();
    tx.commit().await.unwrap();
    let order = order(&test, horse, 9, &[("LM", "LF"), ("DPa", "LF")]).await;
    let mut vet = test.signed_in(Role::Vet).await;
    for (instance, view) in [("1", "LM"), ("2", "DPA")] {
        let object = Object { view: view.into(), laterality: "L".into(), ..Object::new(instance) };
        send_one(&mut vet, &object).await;
    }
    send_one(&mut vet, &Object { study: "2.25.5".into(), ..Object::new("3") }).await;
    let tray = vet.get(TRAY).await;
    let links = tray.attrs("#waiting a", "href");
    assert_eq!(links.len(), 2, "two studies");
    let path = links.last().unwrap().clone();
    let page = vet.get(&path).await;
    assert_eq!(
        page.attrs("#order option:not([value=''])", "value"),
        [order.to_string()],
        "by the horse's name"
    );
    let action = format!("{path}/match");
    let none = vet.fill(&page, &action, &[("order", "")]).await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    let done = vet.fill(&page, &action, &[("order", &order.to_string())]).await;
    assert_eq!((done.status, done.location()), (StatusCode::SEE_OTHER, TRAY));
    let again = vet.fill(&page, &action, &[("order", &order.to_string())]).await;
    assert_eq!(again.status, StatusCode::SEE_OTHER, "a double tap");
    assert!(states(&test, order).await.iter().all(|(_, state)| *state == ItemState::Taken));
    let steps = diagnostics::store::steps(test.app.db.read(), order).await.unwrap();
    assert_eq!(steps.last().unwrap().what, "2 pictures matched by hand");

    let path = vet.get(TRAY).await.attrs("#waiting a", "href")[0].clone();
    let action = format!("{path}/set-aside");
    let page = vet.get(&path).await;
    let without = vet.fill(&page, &action, &[("reason", " ")]).await;
    assert_eq!(without.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(without.attrs(".errors a", "href"), ["#reason"]);
    let done = vet.fill(&page, &action, &[("reason", "of another practice")]).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER);
    assert!(vet.get(TRAY).await.has("main .empty"), "nothing waits");
    assert_eq!(vet.get(&path).await.status, StatusCode::NOT_FOUND);
    let late = vet.submit(&action, &[("reason", "of another practice")]).await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert_eq!(test.count("dicom_object").await, 3, "all are kept");
}

#[tokio::test]
async fn files_that_are_no_objects_are_refused_by_name_and_leave_nothing_while_the_others_are_kept() {
    let test = TestApp::new().await;
    let mut vet = test.signed_in(Role::Vet).await;
    let good = Object::new("1").file();
    let mut two_things = good.clone();
    two_things[..5].copy_from_slice(b"%PDF-");
    let mut cut = good.clone();
    cut.truncate(200);
    let mut other = Object::new("2").file();
    // The data set says another instance than the head.
    let at = other.windows(6).rposition(|w| w == b"2.25.2").unwrap();
    other[at + 5] = b'3';
    let files = [
        ("page.html", b"<script>alert(1)</script>".repeat(20)),
        ("two-things.dcm", two_things),
        ("cut.dcm", cut),
        ("empty.dcm", Vec::new()),
        ("other.dcm", other),
        ("good.dcm", good),
    ];
    let page = send(&mut vet, &SubmissionId::new().to_string(), &files).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let said = page.texts(".errors li").join("\n");
    for name in ["page.html", "two-things.dcm", "cut.dcm", "empty.dcm", "other.dcm"] {
        assert!(said.contains(&format!("{name}: ")), "{name} in {said}");
    }
    assert!(!said.contains("good.dcm"));
    assert_eq!((test.count("dicom_object").await, test.count("attachment").await), (1, 1));
    let incoming = test.folder().join("attachments/incoming");
    assert_eq!(std::fs::read_dir(incoming).unwrap().count(), 0, "no half file is left");
    let none = send(&mut vet, &SubmissionId::new().to_string(), &[]).await;
    assert_eq!(none.attrs(".errors a", "href"), ["#files"]);
}

#[tokio::test]
async fn an_object_beyond_the_limit_is_refused_while_it_comes() {
    let test = TestApp::new().await;
    let mut tx = test.app.db.write().await.unwrap();
    let now = settings::get(&mut *tx).await.unwrap();
    let small = settings::Settings { largest_bytes: 1024 * 1024, ..now };
    assert_eq!(settings::update(&mut tx, &small).await.unwrap(), 1);
    tx.commit().await.unwrap();
    let mut large = Object::new("1").file();
    large.extend(vec![0; 1024 * 1024]);
    let mut vet = test.signed_in(Role::Vet).await;
    let page = send(&mut vet, &SubmissionId::new().to_string(), &[("large.dcm", large)]).await;
    assert_eq!(page.texts(".errors li"), ["large.dcm: it is larger than 1 MB."]);
    assert_eq!(test.count("attachment").await, 0);
}

#[tokio::test]
async fn the_folder_gives_what_is_whole_and_keeps_aside_what_cannot_be_read() {
    let test = TestApp::new().await;
    let lookout = limbledger::imaging::folder::look_out(&test.app).unwrap();
    let folder = test.folder().join("dicom-in");
    std::fs::write(folder.join("good.dcm"), Object::new("1").file()).unwrap();
    std::fs::write(folder.join("notes.txt"), "call back on Monday").unwrap();
    std::fs::write(folder.join(".being-written"), "").unwrap();
    let aside = folder.join("unreadable/notes.txt");
    for _ in 0..100 {
        if aside.exists() && !folder.join("good.dcm").exists() {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(200)).await;
    }
    lookout.stop().await;
    assert_eq!(std::fs::read_to_string(aside).unwrap(), "call back on Monday");
    assert!(folder.join(".being-written").exists());
    let waiting = objects::waiting(test.app.db.read(), 9).await.unwrap();
    assert_eq!((waiting.len(), waiting[0].calling_ae.as_str()), (1, "good.dcm"));
    let tray = test.signed_in(Role::Technician).await.get(TRAY).await;
    assert_eq!(tray.texts("#unreadable .what"), ["notes.txt"]);
    assert!(tray.texts("#unreadable .open")[0].contains("no DICOM file"));
}

#[tokio::test]
async fn settings_and_callers_are_checked_and_say_what_is_wrong() {
    let test = TestApp::new().await;
    let mut owner = test.signed_in(Role::Owner).await;
    let page = owner.get("/practice/imaging").await;
    assert!(page.texts("#state")[0].contains("not listened to"));
    let wrong = [
        ("address", "8.8.8.8:11112"),
        ("address", "here"),
        ("ae_title", "SEVENTEEN_LETTERS"),
        ("ae_title", "A\\B"),
        ("largest_mb", "0"),
        ("idle_seconds", "soon"),
        ("total_minutes", "100000"),
    ];
    for (field, value) in wrong {
        let answer = owner.fill(&page, "/practice/imaging", &[(field, value)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{field} {value}");
        assert_eq!(answer.attrs(".errors a", "href"), [format!("#{field}")]);
        assert_eq!(answer.values_of(field), [value]);
    }
    let saved = owner.fill(&page, "/practice/imaging", &[("ae_title", "BARN 1"), ("enabled", "yes")]).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER);
    let now = settings::get(test.app.db.read()).await.unwrap();
    assert_eq!((now.ae_title.as_str(), now.enabled, now.version), ("BARN 1", true, 2));
    let callers = "/practice/imaging/callers";
    assert_eq!(owner.submit(callers, &[("title", "Ö")]).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    owner.submit(callers, &[("title", "XRAY1"), ("note", "the room")]).await;
    assert_eq!(owner.get("/practice/imaging").await.texts("main .lines .what"), ["XRAY1 the room"]);
    owner.submit("/practice/imaging/callers/remove", &[("title", "XRAY1")]).await;
    assert_eq!(test.count("dicom_caller").await, 0);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn saved_settings_open_and_close_the_listener_at_once() {
    let test = TestApp::new().await;
    let overrides = limbledger::imaging::listen::Overrides::default();
    let listener = limbledger::imaging::listen::start(&test.app, overrides).await.unwrap();
    let mut owner = test.signed_in(Role::Owner).await;
    let page = owner.get("/practice/imaging").await;
    owner.fill(&page, "/practice/imaging", &[("enabled", "yes"), ("address", "127.0.0.1:0")]).await;
    let page = owner.get("/practice/imaging").await;
    let said = page.texts("#state")[0].clone();
    let address = said.split(' ').find(|word| word.starts_with("127.")).unwrap().to_owned();
    assert!(said.ends_with("as LIMBLEDGER."), "{said}");
    tokio::net::TcpStream::connect(&address).await.unwrap();
    let saved = owner.get("/practice/imaging").await;
    let version = saved.values_of("version")[0].clone();
    let off = [
        ("version", version.as_str()),
        ("address", "127.0.0.1:0"),
        ("ae_title", "LIMBLEDGER"),
        ("largest_mb", "512"),
        ("idle_seconds", "60"),
        ("total_minutes", "60"),
    ];
    owner.submit("/practice/imaging", &off).await;
    assert!(tokio::net::TcpStream::connect(&address).await.is_err(), "nobody listens any more");
    listener.stop().await;
}

/// The grey values of a PNG, row by row.
fn greys(png: &[u8]) -> Vec<u8> {
    image::load_from_memory_with_format(png, image::ImageFormat::Png).unwrap().to_luma8().into_raw()
}

#[tokio::test]
async fn a_picture_is_seen_at_its_order_with_its_window_and_beside_an_earlier_one() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let (old, new) =
        (order(&test, horse, 9, &[("LM", "LF")]).await, order(&test, horse, 11, &[("LM", "LF")]).await);
    let mut vet = test.signed_in(Role::Vet).await;
    for (order, instance, pixels) in
        [(old, "1", Some(vec![0, 100, 200, 255])), (new, "2", Some(vec![255, 0, 0, 255]))]
    {
        let study = diagnostics::store::get(test.app.db.read(), order).await.unwrap().study_uid;
        let object =
            Object { study, view: "LM".into(), laterality: "L".into(), pixels, ..Object::new(instance) };
        assert_eq!(send_one(&mut vet, &object).await.status, StatusCode::SEE_OTHER);
    }
    let page = vet.get(&format!("/diagnostics/{old}")).await;
    assert_eq!(page.texts("#pictures a"), ["LF LM"]);
    let image = page.attrs("#pictures a", "href").remove(0);
    let preview = vet.raw(&format!("{image}/preview")).await;
    assert_eq!(greys(&preview).len(), 4, "a small picture is not made larger");
    assert_eq!(
        greys(&vet.raw(&format!("{image}/preview")).await),
        greys(&preview),
        "the kept one is the same"
    );
    let darker = vet.raw(&format!("{image}/picture?centre=200&width=2")).await;
    assert_eq!(greys(&darker), [0, 0, 255, 255], "PS3.3 C.11.2.1.2.1: all below the window is black");
    let page = vet.get(&image).await;
    assert!(
        page.has("input[name=centre]") && page.has("input[name=width]") && !page.has("input[name=frame]")
    );
    let beside = page.attrs(".thumbs a", "href").remove(0);
    let both = vet.get(&beside).await;
    assert_eq!(both.attrs("figure img", "data-view").len(), 2);
    let report = [("report", "Nothing to see."), ("version", "1")];
    assert_eq!(
        vet.submit(&format!("/diagnostics/{old}/report"), &report).await.status,
        StatusCode::SEE_OTHER
    );
    let (results, _) = limbledger::record::results_of_order(test.app.db.read(), old).await.unwrap();
    let images = &results[0].body.as_ref().unwrap().images;
    assert_eq!(images.len(), 1, "the report names the file that it rests on: {images:?}");
}

#[tokio::test]
async fn what_cannot_be_shown_is_kept_and_says_why() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let order = order(&test, horse, 9, &[("LM", "LF")]).await;
    let study = diagnostics::store::get(test.app.db.read(), order).await.unwrap().study_uid;
    let mut vet = test.signed_in(Role::Vet).await;
    send_one(&mut vet, &Object { study, ..Object::new("1") }).await;
    let image = vet.get(&format!("/diagnostics/{order}")).await.attrs("#pictures a", "href").remove(0);
    let page = vet.get(&image).await;
    assert!(page.texts("figure").join(" ").contains("Kept, cannot be shown"), "{:?}", page.texts("figure"));
    assert!(vet.get(&format!("{image}/preview")).await.text.contains("cannot be shown"));
    assert_eq!(vet.get(&format!("{image}/picture")).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_picture_after_the_report_is_open_until_the_report_speaks_of_it_and_a_closed_order_takes_none() {
    let test = TestApp::new().await;
    let horse = test.horse("Briar").await;
    let order = order(&test, horse, 9, &[("LM", "LF")]).await;
    let study = diagnostics::store::get(test.app.db.read(), order).await.unwrap().study_uid;
    let page = format!("/diagnostics/{order}");
    let mut vet = test.signed_in(Role::Vet).await;
    let object = |instance: &str| Object { study: study.clone(), view: "LM".into(), ..Object::new(instance) };
    let later = |test: &TestApp| test.set_clock(test.now().plus_minutes(1));
    send_one(&mut vet, &object("1")).await;
    later(&test);
    vet.submit(&format!("{page}/report"), &[("report", "Nothing to see."), ("version", "1")]).await;
    let version = diagnostics::store::get(test.app.db.read(), order).await.unwrap().version.to_string();
    vet.submit(&format!("{page}/told"), &[("told", "Anna Marsh"), ("version", &version)]).await;
    assert!(!vet.get(&page).await.has("#open"), "nothing is open");
    later(&test);
    send_one(&mut vet, &object("2")).await;
    assert_eq!(vet.get(&page).await.texts("#open"), ["Open: 1 picture came after the report"]);
    assert!(
        vet.get("/diagnostics").await.has(&format!("#report a[href='{page}']")),
        "somebody has to look at it"
    );
    later(&test);
    let (results, _) = limbledger::record::results_of_order(test.app.db.read(), order).await.unwrap();
    let amend = vet.get(&format!("{page}?amend={}", results[0].id)).await;
    let words = [("report", "Nothing to see in the second one either."), ("why", "another picture came")];
    vet.fill(&amend, &format!("{page}/report"), &words).await;
    assert_eq!(vet.get(&page).await.texts("#open"), ["Open: client not told"]);
    let version = diagnostics::store::get(test.app.db.read(), order).await.unwrap().version.to_string();
    vet.submit(&format!("{page}/close"), &[("closed", "done"), ("version", &version)]).await;
    send_one(&mut vet, &object("3")).await;
    assert_eq!(
        objects::count_waiting(test.app.db.read()).await.unwrap(),
        1,
        "nobody looks at a closed order"
    );
}
