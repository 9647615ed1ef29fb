//! A certificate of the practice's own, from an issuer that devices trust already.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::{Duration, Instant};

use jiff::{SignedDuration, Timestamp};
use limbledger::serve::{self, CertificateFiles, ServeOptions};
use rcgen::{BasicConstraints, CertificateParams, IsCa, Issuer, KeyPair};
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use tempfile::TempDir;
use time::OffsetDateTime;

use crate::support::{self, SOON, Server, clock, connect, download_certificate, get_plain, get_tls, status};

const NAME: &str = "horses.vale.example";

/// Chain and key, in PEM.
type Pair = (String, String);

/// An issuer that every device trusts.
struct Outside {
    root: CertificateDer<'static>,
    pem: String,
    key: String,
}

impl Outside {
    fn new() -> Self {
        let mut params = CertificateParams::default();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        let key = KeyPair::generate().unwrap();
        let pem = params.self_signed(&key).unwrap().pem();
        let root = CertificateDer::from_pem_slice(pem.as_bytes()).unwrap();
        Self { root, pem, key: key.serialize_pem() }
    }

    /// Chain and key for this name, good from and until so many days from now.
    fn issues(&self, name: &str, from: i64, until: i64) -> Pair {
        let issuer = Issuer::from_ca_cert_pem(&self.pem, KeyPair::from_pem(&self.key).unwrap()).unwrap();
        let mut params = CertificateParams::new(vec![name.to_owned()]).unwrap();
        let day =
            |days: i64| OffsetDateTime::from_unix_timestamp(clock().as_second() + days * 86_400).unwrap();
        (params.not_before, params.not_after) = (day(from), day(until));
        let key = KeyPair::generate().unwrap();
        let leaf = params.signed_by(&key, &issuer).unwrap();
        (leaf.pem() + &self.pem, key.serialize_pem())
    }
}

fn files(data: &Path) -> (PathBuf, PathBuf) {
    let folder = data.join("certificate");
    std::fs::create_dir_all(&folder).unwrap();
    (folder.join("chain.pem"), folder.join("key.pem"))
}

fn put(data: &Path, (chain, key): &Pair) {
    let (chain_file, key_file) = files(data);
    std::fs::write(chain_file, chain).unwrap();
    std::fs::write(key_file, key).unwrap();
}

fn options(data: &Path) -> ServeOptions {
    let mut options = support::lan(data, "127.0.0.2");
    options.host_names = vec![NAME.to_owned()];
    options.limits.refresh = Duration::from_millis(50);
    options
}

async fn leaf(server: &Server, root: &CertificateDer<'static>) -> std::io::Result<CertificateDer<'static>> {
    let stream = connect(server, root, NAME, b"http/1.1").await?;
    Ok(stream.get_ref().1.peer_certificates().unwrap()[0].clone().into_owned())
}

/// Waits until what a device gets that trusts `root` is as asked.
async fn until(
    server: &Server,
    root: &CertificateDer<'static>,
    asked: impl Fn(Option<&CertificateDer>) -> bool,
) {
    let began = Instant::now();
    while !asked(leaf(server, root).await.ok().as_ref()) {
        assert!(began.elapsed() < SOON, "it never came");
        tokio::time::sleep(Duration::from_millis(30)).await;
    }
}

async fn refusal(options: ServeOptions) -> String {
    format!("{:#}", serve::bind(options).await.err().expect("refused"))
}

#[tokio::test]
async fn it_is_served_under_its_name_and_nothing_needs_to_be_trusted() {
    let (data, outside) = (TempDir::new().unwrap(), Outside::new());
    put(data.path(), &outside.issues(NAME, -1, 90));
    let server = Server::start(options(data.path())).await;
    assert_eq!(status(&get_tls(&server, &outside.root, NAME, "/").await.unwrap()), "200");
    let words = server.words.clone().unwrap();
    assert!(words.contains("nothing needs to be trusted") && words.contains(NAME), "{words}");

    let page = get_plain(server.address, &server.address.to_string(), "/").await;
    assert!(
        page.contains("Nothing needs to be trusted") && page.contains(&format!("https://{NAME}:")),
        "{page}"
    );
    assert!(!page.contains("practice-authority.crt"), "{page}");

    // Under the names that it does not cover the practice's own authority goes on.
    let authority = download_certificate(&server).await;
    for other in ["horses.local", "127.0.0.2"] {
        assert_eq!(status(&get_tls(&server, &authority, other, "/").await.unwrap()), "200", "{other}");
        assert!(get_tls(&server, &outside.root, other, "/").await.is_err(), "{other}");
    }
    assert!(get_tls(&server, &authority, NAME, "/").await.is_err());
}

#[tokio::test]
async fn a_name_for_which_no_authority_was_made_can_be_covered_by_it() {
    let (data, outside) = (TempDir::new().unwrap(), Outside::new());
    Server::start(support::lan(data.path(), "127.0.0.2")).await.stop().await;
    assert!(refusal(options(data.path())).await.contains("does not cover this server's name"));
    let (chain, key) = outside.issues(NAME, -1, 90);
    let elsewhere = TempDir::new().unwrap();
    let files =
        CertificateFiles { chain: elsewhere.path().join("c.pem"), key: elsewhere.path().join("k.pem") };
    std::fs::write(&files.chain, chain).unwrap();
    std::fs::write(&files.key, key).unwrap();
    let named = ServeOptions { certificate: Some(files), ..options(data.path()) };
    let server = Server::start(named).await;
    assert_eq!(status(&get_tls(&server, &outside.root, NAME, "/").await.unwrap()), "200");
}

#[tokio::test]
async fn a_new_pair_is_taken_while_serving_and_half_of_one_waits() {
    let (data, outside) = (TempDir::new().unwrap(), Outside::new());
    let server = Server::start(options(data.path())).await;
    assert!(leaf(&server, &outside.root).await.is_err(), "there is none yet");
    put(data.path(), &outside.issues(NAME, -1, 20));
    until(&server, &outside.root, |leaf| leaf.is_some()).await;
    let page = get_plain(server.address, &server.address.to_string(), "/").await;
    assert!(page.contains("Nothing needs to be trusted"), "the page follows");

    let first = leaf(&server, &outside.root).await.unwrap();
    let (chain, key) = outside.issues(NAME, -1, 90);
    let (chain_file, key_file) = files(data.path());
    std::fs::write(chain_file, chain).unwrap();
    tokio::time::sleep(Duration::from_millis(300)).await;
    assert_eq!(leaf(&server, &outside.root).await.unwrap(), first, "a chain without its key");
    std::fs::write(key_file, key).unwrap();
    until(&server, &outside.root, |leaf| leaf.is_some_and(|leaf| *leaf != first)).await;

    std::fs::remove_dir_all(data.path().join("certificate")).unwrap();
    let authority = download_certificate(&server).await;
    until(&server, &authority, |leaf| leaf.is_some()).await;
}

#[tokio::test]
async fn one_that_will_not_do_is_refused_in_words() {
    let outside = Outside::new();
    let good = outside.issues(NAME, -1, 90);
    let other_key = outside.issues(NAME, -1, 90).1;
    let words: [(&str, Pair, &[&str]); 6] = [
        ("another key", (good.0.clone(), other_key), &["does not belong to", "key.pem", "chain.pem"]),
        ("over", outside.issues(NAME, -90, -1), &["ran out on", "renew it"]),
        ("not yet", outside.issues(NAME, 2, 90), &["is good from", "clock"]),
        (
            "another name",
            outside.issues("cats.vale.example", -1, 90),
            &["does not cover", NAME, "cats.vale.example"],
        ),
        ("no certificate", ("nonsense".into(), good.1.clone()), &["chain.pem", "certificate in PEM"]),
        ("no key", (good.0.clone(), "nonsense".into()), &["key.pem", "private key in PEM"]),
    ];
    for (what, pair, said) in words {
        let data = TempDir::new().unwrap();
        put(data.path(), &pair);
        let refused = refusal(options(data.path())).await;
        assert!(said.iter().all(|part| refused.contains(part)), "{what}: {refused}");
        assert!(!refused.contains("BEGIN"), "no key in the words");
    }
    let data = TempDir::new().unwrap();
    put(data.path(), &good);
    std::fs::remove_file(files(data.path()).1).unwrap();
    assert!(refusal(options(data.path())).await.contains("key.pem is not there"));

    let (chain, key) = files(data.path());
    let mut plain = support::loopback(&data);
    plain.certificate = Some(CertificateFiles { chain, key });
    assert!(refusal(plain).await.contains("--listen"), "on this machine alone there is nothing to certify");
}

#[tokio::test]
async fn one_that_ends_within_a_fortnight_is_warned_of() {
    for (days, warned) in [(13, true), (15, false)] {
        let (data, outside) = (TempDir::new().unwrap(), Outside::new());
        put(data.path(), &outside.issues(NAME, -1, days));
        let warning = serve::bind(options(data.path())).await.unwrap().warning();
        assert_eq!(warning.is_some(), warned, "{days} days: {warning:?}");
        assert!(warning.is_none_or(|line| line.contains("put a new one in its place")));
    }
    let data = TempDir::new().unwrap();
    assert_eq!(serve::bind(options(data.path())).await.unwrap().warning(), None);
}

static DAYS_AHEAD: AtomicI64 = AtomicI64::new(0);

fn moved_clock() -> Timestamp {
    clock() + SignedDuration::from_hours(24 * DAYS_AHEAD.load(Ordering::SeqCst))
}

#[tokio::test]
async fn one_that_runs_out_while_serving_gives_way_to_the_authority() {
    let (data, outside) = (TempDir::new().unwrap(), Outside::new());
    put(data.path(), &outside.issues(NAME, -1, 20));
    let server = Server::start(ServeOptions { clock: moved_clock, ..options(data.path()) }).await;
    assert!(leaf(&server, &outside.root).await.is_ok());
    DAYS_AHEAD.store(21, Ordering::SeqCst);
    // A device of today cannot look at a certificate of three weeks ahead: the trust page tells which one is served.
    let began = Instant::now();
    loop {
        let page = get_plain(server.address, &server.address.to_string(), "/").await;
        if page.contains("practice-authority.crt") {
            break;
        }
        assert!(began.elapsed() < SOON, "the page goes on saying that nothing needs to be trusted");
        tokio::time::sleep(Duration::from_millis(30)).await;
    }
    assert!(leaf(&server, &outside.root).await.is_err(), "it is served no longer");
}
