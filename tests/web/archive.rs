//! Archives: what is in them, what stays, and what is refused when one comes from anywhere.

use std::{
    collections::BTreeMap,
    io::{Cursor, Read, Write},
    path::Path,
};

use axum::http::StatusCode;
use limbledger::{
    accounts::Role,
    archive::{self, Found, Kind as Meant, meaning_of},
    attachments,
    record::{self, Body, Kind},
};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use zip::{ZipArchive, ZipWriter, write::SimpleFileOptions};

use crate::support::{
    PASSWORD, TestApp,
    record::{Story, clear, finding},
};

/// The files of an archive by name.
#[derive(Clone)]
struct Files(BTreeMap<String, Vec<u8>>);

impl Files {
    fn of(zip: &[u8]) -> Self {
        let mut zip = ZipArchive::new(Cursor::new(zip)).unwrap();
        let mut files = BTreeMap::new();
        for at in 0..zip.len() {
            let mut file = zip.by_index(at).unwrap();
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes).unwrap();
            files.insert(file.name().unwrap().into_owned(), bytes);
        }
        Files(files)
    }

    fn text(&self, name: &str) -> String {
        String::from_utf8(self.0[name].clone()).unwrap()
    }

    fn rows(&self, table: &str) -> Vec<Value> {
        let text = self.text(&format!("tables/{table}.jsonl"));
        text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }

    fn manifest(&self) -> Value {
        serde_json::from_slice(&self.0["manifest.json"]).unwrap()
    }

    /// With one file written anew.
    fn with(&self, name: &str, change: impl Fn(String) -> String) -> Self {
        let mut all = self.clone();
        all.0.insert(name.to_owned(), change(self.text(name)).into_bytes());
        all
    }

    fn photo(&self) -> String {
        self.0.keys().find(|name| name.contains(".jpg")).unwrap().clone()
    }

    fn without(&self, name: &str) -> Self {
        let mut all = self.clone();
        all.0.remove(name);
        all
    }

    fn more(&self, name: &str, bytes: &[u8]) -> Self {
        let mut all = self.clone();
        all.0.insert(name.to_owned(), bytes.to_vec());
        all
    }

    /// With one word of a file in place of another that stands there.
    fn bent(&self, name: &str, from: &str, to: &str) -> Self {
        let all = self.with(name, |text| text.replace(from, to));
        assert_ne!(all.0[name], self.0[name], "{from} stands in {name}");
        all
    }

    fn flipped(&self) -> Self {
        let mut all = self.clone();
        all.0.get_mut(&self.photo()).unwrap()[0] ^= 1;
        all
    }

    /// With the manifest of what is there: whoever forges an archive can reckon digests too.
    fn honest(mut self) -> Self {
        let mut manifest = self.manifest();
        let files: Vec<Value> = self
            .0
            .iter()
            .filter(|(name, _)| *name != "manifest.json")
            .map(|(name, bytes)| {
                let rows = name.starts_with("tables/").then(|| bytes.split_inclusive(|b| *b == b'\n').count());
                json!({ "name": name, "bytes": bytes.len(), "rows": rows, "sha256": record::hex(&Sha256::digest(bytes)) })
            })
            .collect();
        manifest["files"] = files.into();
        self.0.insert("manifest.json".into(), manifest.to_string().into_bytes());
        self
    }

    fn zipped(&self) -> Vec<u8> {
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        for (name, bytes) in &self.0 {
            let options = SimpleFileOptions::default();
            let method = if name.starts_with("attachments/") {
                options.compression_method(zip::CompressionMethod::Stored)
            } else {
                options
            };
            zip.start_file(name, method).unwrap();
            zip.write_all(bytes).unwrap();
        }
        zip.finish().unwrap().into_inner()
    }
}

/// A practice with a horse of two owners, a photo of each time, and a salted word in the record.
async fn told(test: &TestApp) -> Story<'_> {
    let story = Story::new(test).await;
    let before = story.visit("2026-03-02").await;
    story.say(before, finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4")).await;
    story.say(before, photo(test, b"before").await).await;
    story.owned(("Old Owner", "=New Owner"), "2026-03-05").await;
    let after = story.visit("2026-03-10").await;
    let wrong = story.say(after, clear("CARP", "L")).await;
    story.say(after, photo(test, b"after").await).await;
    story.erase(wrong).await;
    let mut tx = test.app.db.write().await.unwrap();
    // A number that only seventeen digits hold.
    sqlx::query("insert into practice_place (id, lat, lon) values (1, 52.516263000000014, -0.1)")
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    story
}

async fn photo(test: &TestApp, bytes: &[u8]) -> Body {
    let kept = attachments::keep(test.app.db.folder(), bytes.to_vec()).await.unwrap();
    let mut tx = test.app.db.write().await.unwrap();
    attachments::insert(&mut tx, &kept, "image/jpeg", test.now()).await.unwrap();
    tx.commit().await.unwrap();
    Body { images: vec![kept.name], ..Body::new(Kind::Image) }
}

/// The archive as an owner of the practice fetches it.
async fn fetched(test: &TestApp) -> Vec<u8> {
    let mut owner = test.signed_in(Role::Owner).await;
    let form = owner.get("/practice/export").await;
    let asked = [("what", "archive"), ("password", PASSWORD)];
    let file = owner.fill(&form, "/practice/export", &asked).await.location().to_owned();
    let bytes = owner.raw(&file).await;
    assert_eq!(owner.get("/practice/audit").await.texts(".lines b"), ["exported an archive"]);
    bytes
}

/// Looks at an archive and makes its practice in a folder that is taken away; what was refused, in words.
async fn refused(bytes: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("archive.zip");
    std::fs::write(&file, bytes).unwrap();
    let beside = folder.path().join("practice");
    std::fs::create_dir(&beside).unwrap();
    let error = match Found::open(&file) {
        Err(error) => error,
        Ok(mut found) => {
            archive::try_out(&mut found, &beside).await.err().unwrap_or_else(|| panic!("it was taken"))
        }
    };
    for one in std::fs::read_dir(folder.path()).unwrap() {
        let name = one.unwrap().file_name();
        assert!(name == "archive.zip" || name == "practice", "{} was written", name.display());
    }
    format!("{error:#}")
}

#[tokio::test]
async fn every_table_and_column_is_said_in_words() {
    let test = TestApp::new().await;
    let columns: Vec<(String, String, String, i64)> = sqlx::query_as(
        "select l.name, c.name, c.type, c.hidden from pragma_table_list l, pragma_table_xinfo(l.name) c
         where l.schema = 'main' and l.type = 'table' and l.name not like 'sqlite_%' and l.name not like '_sqlx_%'",
    )
    .fetch_all(test.app.db.read())
    .await
    .unwrap();
    assert!(columns.len() > 500, "{}", columns.len());
    for (table, column, kind, hidden) in columns {
        let whole = meaning_of(&table, "*").unwrap_or_else(|| panic!("{table} has no words in tables.tsv"));
        assert!(!whole.words.is_empty(), "{table}");
        if whole.kind == Meant::LeftOut || hidden > 0 {
            continue;
        }
        let meaning = meaning_of(&table, &column)
            .unwrap_or_else(|| panic!("{table}.{column} has no words in tables.tsv"));
        assert!(!meaning.words.is_empty(), "{table}.{column}");
        let of = match meaning.kind {
            Meant::Id | Meant::Bytes => "BLOB",
            Meant::Instant | Meant::Whole | Meant::Flag => "INTEGER",
            Meant::Number => "REAL",
            Meant::LeftOut => continue,
            _ => "TEXT",
        };
        // The id of a table that has one row is a number.
        assert_eq!(kind.to_uppercase(), of, "{table}.{column}");
    }
}

#[tokio::test]
async fn an_archive_of_the_practice_holds_all_but_what_opens_doors_and_becomes_the_practice_again() {
    let test = TestApp::new().await;
    told(&test).await;
    let bytes = fetched(&test).await;
    let files = Files::of(&bytes);
    for name in ["session", "submission", "tablet_key", "calendar_feed", "search_line"] {
        assert!(!files.0.contains_key(&format!("tables/{name}.jsonl")), "{name} is in it");
        assert!(files.text("README.txt").contains(name), "README says why {name} is left out");
    }
    let staff = files.rows("staff");
    assert!(
        staff.len() == 4
            && staff.iter().all(|one| one.get("password_hash").is_none() && one.get("pin_hash").is_none())
    );
    assert_eq!(files.rows("practice_place")[0]["lat"], 52.516_263_000_000_014);
    let entries = files.rows("entry");
    assert_eq!(
        (entries[2]["seq"].as_i64(), &entries[2]["body"]),
        (Some(3), &Value::Null),
        "erased words stay erased"
    );
    let photos: Vec<&Vec<u8>> =
        files.0.iter().filter(|(name, _)| name.contains(".jpg")).map(|(_, bytes)| bytes).collect();
    assert!(photos.contains(&&b"before".to_vec()) && photos.contains(&&b"after".to_vec()));
    let record = files.text("record.csv");
    assert!(
        record.contains("effusion, moderate (2 of 4)") && record.contains("words erased under a law"),
        "{record}"
    );
    assert!(files.text("people.csv").contains("'=New Owner"), "no spreadsheet reckons with a name");
    let tables: Value = serde_json::from_str(&files.text("tables.json")).unwrap();
    let visit = tables["tables"].as_array().unwrap().iter().find(|one| one["name"] == "visit").unwrap();
    let horse = visit["columns"].as_array().unwrap().iter().find(|one| one["name"] == "horse_id").unwrap();
    assert_eq!((&horse["refers_to"], &horse["words"]), (&"horse.id".into(), &"The horse.".into()));

    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("archive.zip");
    std::fs::write(&file, &bytes).unwrap();
    let data = folder.path().join("practice");
    std::fs::create_dir(&data).unwrap();
    let mut found = Found::open(&file).unwrap();
    let made = archive::make(&mut found, &data, test.now()).await.unwrap();
    assert_eq!((made.entries, made.files, made.missing), (4, 2, 0));
    assert_eq!(made.people, ["Olwen Test", "Dell Test", "Tarn Test", "Vala Test"], "owners first");
    assert_eq!(again(&data, &test).await, kept(&files), "the same rows, files and digests");
    // What is recorded then is guarded again, and goes on with the chain.
    let db = limbledger::db::Db::open(&data, test.now()).await.unwrap();
    let mut tx = db.write().await.unwrap();
    assert!(sqlx::query("delete from entry").execute(&mut *tx).await.is_err());
    drop(tx);
    let hash: String =
        sqlx::query_scalar("select password_hash from staff").fetch_one(db.read()).await.unwrap();
    assert!(!test.app.hasher.verify(PASSWORD, Some(&hash)).await.unwrap(), "no password came along");
}

/// The digest of each file that says nothing of when and by whom the archive was made.
fn kept(files: &Files) -> BTreeMap<String, String> {
    let manifest = files.manifest();
    let file =
        |one: &Value| (one["name"].as_str().unwrap().to_owned(), one["sha256"].as_str().unwrap().to_owned());
    manifest["files"].as_array().unwrap().iter().map(file).filter(|(name, _)| name != "README.txt").collect()
}

/// The same of an archive of the practice in a folder.
async fn again(data: &Path, test: &TestApp) -> BTreeMap<String, String> {
    let conn = limbledger::db::reader(data).await.unwrap();
    let asked = archive::Asked { whose: archive::Whose::Practice, by: "a test".into(), now: test.now() };
    let (out, mut pieces) = tokio::sync::mpsc::channel::<std::io::Result<axum::body::Bytes>>(4);
    let taken = async {
        let mut bytes = Vec::new();
        while let Some(piece) = pieces.recv().await {
            bytes.extend_from_slice(&piece.unwrap());
        }
        bytes
    };
    let (told, bytes) = tokio::join!(archive::write(conn, data, &asked, out), taken);
    assert!(told.unwrap().missing.is_empty());
    kept(&Files::of(&bytes))
}

/// What was done to an archive, what it is then, and the words in which it is refused.
type Bad = (&'static str, Files, &'static str);

/// Archives that their manifest does not fit any more, or that are of another kind or version.
fn changed(files: &Files) -> Vec<Bad> {
    let (entries, missing) = ("tables/entry.jsonl", "is missing from the archive");
    let said = |from: &str, to: &str| files.with("manifest.json", |text| text.replace(from, to));
    let photo = files.photo();
    let offset = files.with(entries, |text| text.replace("\"offset_ms\":0", "\"offset_ms\":1"));
    vec![
        ("a flipped byte in a table", offset, "tables/entry.jsonl is not as manifest.json says"),
        ("a flipped byte in a photo", files.flipped(), ".jpg is not as manifest.json says"),
        ("a missing photo", files.without(&photo), missing),
        ("a missing table", files.without(entries), missing),
        ("no manifest", files.without("manifest.json"), "there is no manifest.json"),
        ("a file more", files.more("notes.txt", b"x"), "manifest.json does not name it"),
        ("a newer format", said("\"format_version\": 1", "\"format_version\": 2"), "use a newer program"),
        ("a newer program", said("\"schema\": ", "\"schema\": 9"), "newer version of the program"),
        ("another format", said("limbledger archive", "a letter"), "not a limbledger archive"),
        ("one horse", said("\"scope\": \"practice\"", "\"scope\": \"horse\""), "record of one horse"),
    ]
}

/// Archives of somebody who can reckon digests too.
fn forged(files: &Files) -> Vec<Bad> {
    let (entries, horses, visits) = ("tables/entry.jsonl", "tables/horse.jsonl", "tables/visit.jsonl");
    let missing = "is missing from the archive";
    let chain = "the chain of the record does not hold";
    let photo = format!("attachments/{}.jpg", "0".repeat(64));
    let horse = format!("\"horse_id\":\"{}\"", files.rows("visit")[0]["horse_id"].as_str().unwrap());
    let nowhere = "\"horse_id\":\"01890000-0000-7000-8000-000000000000\"";
    let password = ("{\"id\"", "{\"password_hash\":\"x\",\"id\"");
    let bad = vec![
        ("a flipped byte in a photo", files.flipped(), "not the file that the record was kept with"),
        ("a missing photo", files.without(&files.photo()), missing),
        ("a missing table", files.without(entries), missing),
        ("a file more", files.more("notes.txt", b"x"), "which no archive has"),
        ("a way out", files.more("attachments/../../x.jpg", b"x"), "which no archive has"),
        ("a table more", files.more("tables/spell.jsonl", b""), "is of no table that this program knows"),
        ("a photo more", files.more(&photo, b"x"), "no row of the record knows"),
        ("another clock", files.bent(entries, "\"offset_ms\":0", "\"offset_ms\":1"), chain),
        ("other words", files.bent(entries, "effusion_0_4", "effusion_0_5"), chain),
        ("an end cut off", cut_off(files), "the record ends at 3 and not at 4"),
        ("no erasure", files.with("tables/erasure.jsonl", |_| String::new()), "no erasure says why"),
        (
            "a column more",
            files.bent(horses, "{\"id\"", "{\"spell\":1,\"id\""),
            "the column spell is not known",
        ),
        ("a column less", files.bent(horses, "\"name\"", "\"called\""), "name is missing"),
        (
            "a horse that is nowhere",
            files.bent(visits, &horse, nowhere),
            "refers to a row of horse that is not in",
        ),
        (
            "a password",
            files.bent("tables/staff.jsonl", password.0, password.1),
            "password_hash is not known",
        ),
        ("a bomb", files.more("record.csv", &vec![b'0'; 40 << 20]), "would become too large"),
    ];
    bad.into_iter().map(|(what, files, words)| (what, files.honest(), words)).collect()
}

#[tokio::test]
async fn an_archive_that_is_not_as_it_was_made_is_refused_in_words() {
    let test = TestApp::new().await;
    told(&test).await;
    let files = Files::of(&fetched(&test).await);
    for (what, files, words) in changed(&files).into_iter().chain(forged(&files)) {
        let found = refused(&files.zipped()).await;
        assert!(found.contains(words), "{what}: {found}");
    }
    assert_eq!(of_an_earlier_version(&files).await, 4, "an older one is read");
    let whole = files.zipped();
    assert!(refused(&whole[..whole.len() / 2]).await.contains("was cut off"));
    assert!(refused(b"a letter").await.contains("is no zip"));
    // The writer of zips takes no name twice, so its bytes are bent.
    let twice = files.more("people.csw", b"x").zipped();
    let twice = bent(twice, b"people.csw", b"people.csv");
    assert!(refused(&twice).await.contains("a name stands twice"));
}

/// A version of the database that programs in use once had.
const EARLIER: u32 = 35;

/// The tables that later migrations made.
fn made_after(version: u32) -> Vec<String> {
    let create = regex_lite::Regex::new("(?m)^create table (\\w+)").unwrap();
    let mut tables = Vec::new();
    for file in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/migrations")).unwrap() {
        let path = file.unwrap().path();
        let number: u32 = path.file_name().unwrap().to_str().unwrap()[..4].parse().unwrap();
        if number > version {
            let sql = std::fs::read_to_string(&path).unwrap();
            tables.extend(create.captures_iter(&sql).map(|found| found[1].to_owned()));
        }
    }
    assert!(tables.len() > 3);
    tables
}

/// The archive as an earlier program made it, made a practice again; how far its record goes.
async fn of_an_earlier_version(files: &Files) -> i64 {
    let mut older = files.clone();
    for table in made_after(EARLIER) {
        older.0.remove(&format!("tables/{table}.jsonl"));
    }
    let mut manifest = older.manifest();
    manifest["schema"] = EARLIER.into();
    older.0.insert("manifest.json".into(), manifest.to_string().into_bytes());
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("archive.zip");
    std::fs::write(&file, older.honest().zipped()).unwrap();
    let data = folder.path().join("practice");
    std::fs::create_dir(&data).unwrap();
    let now = limbledger::clock::At(1_773_216_000_000);
    archive::make(&mut Found::open(&file).unwrap(), &data, now).await.unwrap();
    let db = limbledger::db::Db::open(&data, now).await.unwrap();
    sqlx::query("select years from record_keeping").fetch_optional(db.read()).await.unwrap();
    record::verify(db.read(), 1).await.unwrap().unwrap()
}

fn cut_off(files: &Files) -> Files {
    files.with("tables/entry.jsonl", |text| text.split_inclusive('\n').take(3).collect())
}

fn bent(mut bytes: Vec<u8>, from: &[u8], to: &[u8]) -> Vec<u8> {
    let places: Vec<usize> =
        (0..bytes.len() - from.len()).filter(|at| bytes[*at..].starts_with(from)).collect();
    for at in places {
        bytes[at..at + to.len()].copy_from_slice(to);
    }
    bytes
}

#[tokio::test]
async fn an_archive_of_a_horse_holds_its_rows_alone_and_not_a_former_owners_time() {
    let test = TestApp::new().await;
    let story = told(&test).await;
    let other = test.horse_of("Tansy", test.client("Anna Marsh", "0555 7").await).await;
    let elsewhere = story.visit("2026-03-09").await;
    story.say(elsewhere, clear("CARP", "R")).await;
    story.move_to(elsewhere, other).await;
    let page = format!("/horses/{}/record", story.horse);
    let mut vet = test.signed_in(Role::Vet).await;
    let form = vet.get(&page).await;
    let ask = [("take", "archive")];
    let file = vet.fill(&form, &format!("{page}/taken"), &ask).await.location().to_owned();
    let files = Files::of(&vet.raw(&file).await);
    let names = |files: &Files, table: &str| -> Vec<String> {
        files.rows(table).iter().map(|one| one["name"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(
        (names(&files, "horse"), names(&files, "client")),
        (vec!["Briar".into()], vec!["=New Owner".into()])
    );
    assert_eq!(
        (files.rows("visit").len(), files.rows("entry").len(), files.rows("erasure").len()),
        (1, 2, 1)
    );
    assert_eq!(files.rows("attachment").len(), 1, "the photo of the present owner's time");
    assert!(files.rows("client")[0].get("note").is_none() && files.rows("practice").len() == 1);
    assert!(files.text("README.txt").contains("since it came to its present owner (2026-03-05T08:00:00Z)"));
    assert!(!files.0.contains_key("tables/legal_hold.jsonl"));
    let manifest = files.manifest();
    assert_eq!((&manifest["scope"], &manifest["horse"]), (&"horse".into(), &"Briar".into()));
    // Nothing leads to a row that is not there, but to clients who are not named.
    let all: String = files
        .0
        .iter()
        .filter(|(name, _)| name.starts_with("tables/"))
        .map(|(name, _)| files.text(name))
        .collect();
    assert!(!all.contains("Old Owner") && !all.contains("Tansy") && !all.contains("Anna Marsh"));

    let whole = [("take", "archive"), ("whole", "yes"), ("why", "a court asks")];
    let form = vet.get(&page).await;
    let file = vet.fill(&form, &format!("{page}/taken"), &whole).await.location().to_owned();
    let files = Files::of(&vet.raw(&file).await);
    assert_eq!((files.rows("visit").len(), files.rows("attachment").len()), (2, 2));
    assert_eq!((files.rows("party_past").len(), &files.manifest()["reason"]), (1, &"a court asks".into()));
    let owner = test.signed_in(Role::Owner).await.get("/practice/audit").await;
    assert_eq!(owner.texts(".lines b"), ["whole record taken as archive", "record taken as archive"]);
    let desk = test.signed_in(Role::Desk).await.get(&file).await;
    assert_eq!(desk.status, StatusCode::FORBIDDEN);
}
