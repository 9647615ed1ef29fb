//! `limbledger export archive` and `import archive`: the invented practice there and back again.

use std::{collections::BTreeMap, fs::File, io::Read, path::Path, process::Output};

use serde_json::Value;
use zip::ZipArchive;

use crate::support::{Running, filled, run, stderr, stdout};

fn export(data: &Path, to: &Path, more: &[&str]) -> Output {
    let args = ["export", "archive", "--to", to.to_str().unwrap(), "--data", data.to_str().unwrap()];
    run(&[&args, more].concat())
}

fn import(file: &Path, data: &Path, more: &[&str]) -> Output {
    run(&[&["import", "archive", file.to_str().unwrap(), "--data", data.to_str().unwrap()], more].concat())
}

fn read(file: &Path, name: &str) -> String {
    let mut text = String::new();
    let mut zip = ZipArchive::new(File::open(file).unwrap()).unwrap();
    zip.by_name(name).unwrap().read_to_string(&mut text).unwrap();
    text
}

/// Rows and digest of each file but README.txt, which says when it was made.
fn kept(file: &Path) -> BTreeMap<String, (Value, Value)> {
    let manifest: Value = serde_json::from_str(&read(file, "manifest.json")).unwrap();
    let files = manifest["files"].as_array().unwrap().iter();
    files
        .map(|one| (one["name"].as_str().unwrap().to_owned(), (one["rows"].clone(), one["sha256"].clone())))
        .filter(|(name, _)| name != "README.txt")
        .collect()
}

#[test]
fn the_invented_practice_goes_into_an_archive_and_comes_out_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let (data, second) = (folder.path().join("one"), folder.path().join("two"));
    filled(&data);
    let (first, again) = (folder.path().join("first.zip"), folder.path().join("again.zip"));
    let server = Running::start(&["serve", "--listen", "127.0.0.1:0", "--data", data.to_str().unwrap()]);
    let output = export(&data, &first, &[]);
    assert!(output.status.success(), "{}", stderr(&output));
    drop(server);
    let output = export(&data, &first, &[]);
    assert!(
        !output.status.success() && stderr(&output).contains("is there already"),
        "no file is written over"
    );

    let output = import(&first, &second, &["--dry-run"]);
    assert!(
        output.status.success() && stdout(&output).contains("Nothing was written"),
        "{}",
        stderr(&output)
    );
    assert!(!second.exists());
    let output = import(&first, &second, &[]);
    assert!(output.status.success(), "{}", stderr(&output));
    assert!(stdout(&output).contains("its chain holds") && stderr(&output).contains("staff code"));
    let output = export(&second, &again, &[]);
    assert!(output.status.success(), "{}", stderr(&output));
    let (before, after) = (kept(&first), kept(&again));
    assert!(before["tables/entry.jsonl"].0.as_u64().unwrap() > 10_000);
    assert_eq!(before, after, "the same rows and the same digests");

    let output = import(&first, &second, &[]);
    assert!(!output.status.success() && stderr(&output).contains("holds a practice already"));
    a_cut_off_import_is_no_practice(&first, &second, &folder.path().join("three"));
    a_code_opens_an_account(&first, &second);
    one_horse_makes_no_practice(&first, &data, folder.path());
}

/// An import that was cut off is no practice, and gives way to the next one.
fn a_cut_off_import_is_no_practice(archive: &Path, whole: &Path, data: &Path) {
    std::fs::create_dir_all(data.join("importing")).unwrap();
    std::fs::copy(whole.join("practice.sqlite"), data.join("importing/practice.sqlite")).unwrap();
    let output = run(&["serve", "--listen", "127.0.0.1:0", "--data", data.to_str().unwrap()]);
    assert!(!output.status.success() && stderr(&output).contains("was cut off"), "{}", stderr(&output));
    let cut = data.with_extension("zip");
    let bytes = std::fs::read(archive).unwrap();
    std::fs::write(&cut, &bytes[..bytes.len() - 100]).unwrap();
    assert!(!import(&cut, data, &[]).status.success());
    let output = import(archive, data, &[]);
    assert!(output.status.success(), "{}", stderr(&output));
    assert!(!data.join("importing").exists());
}

fn a_code_opens_an_account(archive: &Path, data: &Path) {
    let staff = read(archive, "tables/staff.jsonl");
    let owner = staff.lines().find(|line| line.contains("\"owner\"")).unwrap();
    let owner: Value = serde_json::from_str(owner).unwrap();
    let data = data.to_str().unwrap();
    let output = run(&["staff", "code", owner["name"].as_str().unwrap(), "--data", data]);
    assert_eq!(stdout(&output).trim().len(), 14, "{}", stderr(&output));
    let output = run(&["staff", "code", "Nobody", "--data", data]);
    assert!(!output.status.success() && stderr(&output).contains("nobody of the name"));
}

fn one_horse_makes_no_practice(archive: &Path, data: &Path, folder: &Path) {
    let horses = read(archive, "tables/horse.jsonl");
    let horse: Value = serde_json::from_str(horses.lines().next().unwrap()).unwrap();
    let (one, nowhere) = (folder.join("horse.zip"), folder.join("four"));
    let output = export(data, &one, &["--horse", horse["id"].as_str().unwrap()]);
    assert!(output.status.success(), "{}", stderr(&output));
    assert_eq!(read(&one, "tables/horse.jsonl").lines().count(), 1);
    let output = import(&one, &nowhere, &[]);
    assert!(!output.status.success() && stderr(&output).contains("record of one horse"));
    assert!(!nowhere.exists(), "nothing is left behind");
}
