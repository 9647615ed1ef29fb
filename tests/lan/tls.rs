//! HTTPS from the practice's own authority.

use std::net::IpAddr;
use std::os::unix::fs::PermissionsExt;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use limbledger::serve;
use limbledger::serve::authority::{Authority, known_fingerprint};
use rcgen::{CertificateParams, Issuer, KeyPair};
use rustls::RootCertStore;
use rustls::client::WebPkiServerVerifier;
use rustls::client::danger::ServerCertVerifier;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use sha2::{Digest, Sha256};
use tempfile::TempDir;
use tokio::io::{AsyncReadExt, AsyncWriteExt};

use crate::support::{self, SOON, Server, clock, connect, download_certificate, get_tls, status};

#[tokio::test]
async fn a_device_that_trusts_the_authority_reaches_the_app_by_name_and_address() {
    let data = TempDir::new().unwrap();
    let server = Server::start(support::lan(data.path(), "127.0.0.2")).await;
    let authority = download_certificate(&server).await;
    for name in ["limbledger.local", "limbledger", "localhost", "127.0.0.2"] {
        let page = get_tls(&server, &authority, name, "/peer").await.unwrap();
        let by_name = name.starts_with("limbledger");
        assert!(page.ends_with(&format!("tls=true by_name={by_name}")), "{name}: {page}");
    }
    assert_eq!(server.url, format!("https://{}", server.address));
}

#[tokio::test]
async fn a_chosen_name_is_served_beside_its_local_form() {
    let data = TempDir::new().unwrap();
    let mut options = support::lan(data.path(), "127.0.0.2");
    options.host_names = vec!["yard.hollow.example".to_owned()];
    let server = Server::start(options).await;
    let authority = download_certificate(&server).await;
    for name in ["yard.hollow.example", "yard.local"] {
        assert_eq!(status(&get_tls(&server, &authority, name, "/").await.unwrap()), "200", "{name}");
    }
    assert!(get_tls(&server, &authority, "limbledger.local", "/").await.is_err());
    server.stop().await;

    let mut renamed = support::lan(data.path(), "127.0.0.2");
    renamed.host_names = vec!["other.hollow.example".to_owned()];
    let words = limbledger::serve::bind(renamed).await.err().expect("refused").to_string();
    assert!(words.contains("does not cover this server's name other.hollow.example"), "{words}");
    assert!(words.contains("go on as yard.hollow.example,"), "{words}");
}

#[tokio::test]
async fn a_start_without_a_name_goes_on_under_the_one_the_tablets_trust() {
    for (chosen, local) in [("hill-practice", "hill-practice.local"), ("yard.hollow.example", "yard.local")] {
        let data = TempDir::new().unwrap();
        let mut named = support::lan(data.path(), "127.0.0.2");
        named.host_names = vec![chosen.to_owned()];
        let before = serve::bind(named).await.unwrap().reach().unwrap();
        let server = Server::start(support::lan(data.path(), "127.0.0.2")).await;
        let authority = download_certificate(&server).await;
        for name in [chosen, local] {
            assert_eq!(status(&get_tls(&server, &authority, name, "/").await.unwrap()), "200", "{name}");
        }
        let name = |origin: &str| origin.rsplit_once(':').map(|(name, _)| name.to_owned());
        let origin = server.words.as_ref().unwrap().rsplit_once("use ").unwrap().1.trim_end_matches('.');
        assert_eq!(name(origin), name(&before.origin));
    }
}

#[tokio::test]
async fn http2_is_spoken_and_its_authority_is_checked() {
    let data = TempDir::new().unwrap();
    let server = Server::start(support::lan(data.path(), "127.0.0.2")).await;
    let authority = download_certificate(&server).await;
    // `:status: 200` is entry 8 of HPACK's static table; 421 is a literal under its name, Huffman coded
    // (RFC 7541, appendices A and B).
    let ours = http2_get(&server, &authority, &server.host("limbledger.local")).await;
    assert_eq!(ours.first(), Some(&0x88), "{ours:x?}");
    let foreign = http2_get(&server, &authority, "evil.example").await;
    assert_eq!(foreign.get(..4), Some(&[0x48, 0x82, 0x68, 0x41][..]), "{foreign:x?}");
}

/// The header block of the answer to a `GET /` for `authority`, written frame by frame (RFC 9113).
async fn http2_get(server: &Server, root: &CertificateDer<'static>, authority: &str) -> Vec<u8> {
    let mut stream = connect(server, root, "limbledger.local", b"h2").await.unwrap();
    let mut block = vec![0x82, 0x87, 0x84, 0x01, u8::try_from(authority.len()).unwrap()];
    block.extend(authority.as_bytes());
    let mut bytes = b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n".to_vec();
    bytes.extend([0, 0, 0, 4, 0, 0, 0, 0, 0]);
    bytes.extend([0, 0, u8::try_from(block.len()).unwrap(), 1, 0x05, 0, 0, 0, 1]);
    bytes.extend(block);
    stream.write_all(&bytes).await.unwrap();
    loop {
        let mut head = [0; 9];
        tokio::time::timeout(SOON, stream.read_exact(&mut head)).await.expect("answers").unwrap();
        let length = usize::from(head[1]) << 8 | usize::from(head[2]);
        let mut payload = vec![0; length];
        stream.read_exact(&mut payload).await.unwrap();
        if head[3] == 1 {
            return payload;
        }
    }
}

/// Looks at a certificate as a device does that trusts `root` alone.
fn verified(
    root: CertificateDer<'static>,
    leaf: &CertificateDer<'static>,
    host: &str,
    at: UnixTime,
) -> Result<(), rustls::Error> {
    let mut roots = RootCertStore::empty();
    roots.add(root).unwrap();
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let verifier = WebPkiServerVerifier::builder_with_provider(Arc::new(roots), provider).build().unwrap();
    let name = ServerName::try_from(host.to_owned()).unwrap();
    verifier.verify_server_cert(leaf, &[], &name, &[], at).map(|_| ())
}

/// Signs a certificate for `host` with the practice's own key, as a thief of the key could.
fn accepted(data: &TempDir, host: &str) -> Result<(), rustls::Error> {
    let read = |file| std::fs::read_to_string(data.path().join("authority").join(file)).unwrap();
    let (pem, key) = (read("practice-authority.pem"), read("practice-authority.key"));
    let issuer = Issuer::from_ca_cert_pem(&pem, KeyPair::from_pem(&key).unwrap()).unwrap();
    let params = CertificateParams::new(vec![host.to_owned()]).unwrap();
    let leaf = params.signed_by(&KeyPair::generate().unwrap(), &issuer).unwrap();
    let root = CertificateDer::from_pem_slice(pem.as_bytes()).unwrap();
    verified(root, leaf.der(), host, UnixTime::now())
}

#[tokio::test]
async fn the_authority_cannot_pose_as_anybody_else() {
    let data = TempDir::new().unwrap();
    Server::start(support::lan(data.path(), "127.0.0.2")).await.stop().await;
    for near in ["limbledger", "other.local", "localhost", "10.1.2.3", "192.168.0.9", "172.20.0.1", "fd00::1"]
    {
        assert!(accepted(&data, near).is_ok(), "{near}: {:?}", accepted(&data, near));
    }
    for far in ["bank.example", "evil-limbledger", "local.example", "192.0.2.1", "172.32.0.1", "2001:db8::1"]
    {
        let refusal = format!("{:?}", accepted(&data, far).expect_err(far));
        assert!(refusal.contains("NameConstraint"), "{far}: {refusal}");
    }
}

#[tokio::test]
async fn a_new_address_gets_a_new_certificate_under_the_same_authority() {
    let data = TempDir::new().unwrap();
    let before = Server::start(support::lan(data.path(), "127.0.0.2")).await;
    let authority = download_certificate(&before).await;
    assert!(get_tls(&before, &authority, "127.0.0.3", "/").await.is_err(), "not its address yet");
    before.stop().await;

    let after = Server::start(support::lan(data.path(), "127.0.0.3")).await;
    assert_eq!(status(&get_tls(&after, &authority, "127.0.0.3", "/").await.unwrap()), "200");
    assert_eq!(download_certificate(&after).await, authority);
}

static DAYS_AGO: AtomicI64 = AtomicI64::new(300);

fn moved_clock() -> Timestamp {
    clock() - SignedDuration::from_hours(24 * DAYS_AGO.load(Ordering::SeqCst))
}

#[tokio::test]
async fn a_certificate_past_two_thirds_of_its_life_is_replaced_while_serving() {
    let data = TempDir::new().unwrap();
    let mut options = support::lan(data.path(), "127.0.0.2");
    options.clock = moved_clock;
    options.limits.refresh = Duration::from_millis(50);
    let server = Server::start(options).await;
    let authority = download_certificate(&server).await;
    let first = leaf(&server, &authority).await;
    tokio::time::sleep(Duration::from_millis(200)).await;
    assert_eq!(leaf(&server, &authority).await, first, "nothing changed, nothing new");
    DAYS_AGO.store(0, Ordering::SeqCst);
    tokio::time::sleep(Duration::from_millis(500)).await;
    assert_ne!(leaf(&server, &authority).await, first);
}

async fn leaf(server: &Server, authority: &CertificateDer<'static>) -> CertificateDer<'static> {
    let stream = connect(server, authority, "limbledger.local", b"http/1.1").await.unwrap();
    stream.get_ref().1.peer_certificates().unwrap()[0].clone().into_owned()
}

#[tokio::test]
async fn keys_are_for_the_owner_alone_and_are_closed_again_if_found_open() {
    let data = TempDir::new().unwrap();
    Server::start(support::lan(data.path(), "127.0.0.2")).await.stop().await;
    let folder = data.path().join("authority");
    let mode = |path: &std::path::Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let files: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(files.len(), 2, "{files:?}");
    for file in &files {
        assert_eq!(mode(file), 0o600, "{}", file.display());
    }
    let key = folder.join("practice-authority.key");
    std::fs::set_permissions(&key, std::fs::Permissions::from_mode(0o644)).unwrap();
    Server::start(support::lan(data.path(), "127.0.0.2")).await.stop().await;
    assert_eq!(mode(&key), 0o600);
}

#[tokio::test]
async fn half_an_authority_is_refused_with_what_to_do() {
    let data = TempDir::new().unwrap();
    Server::start(support::lan(data.path(), "127.0.0.2")).await.stop().await;
    std::fs::remove_file(data.path().join("authority/practice-authority.key")).unwrap();
    let words =
        limbledger::serve::bind(support::lan(data.path(), "127.0.0.2")).await.err().unwrap().to_string();
    assert!(words.contains("put it back from a backup"), "{words}");
}

#[tokio::test]
async fn the_fingerprint_is_that_of_the_downloaded_file_and_stands_on_the_servers_screen() {
    let data = TempDir::new().unwrap();
    assert_eq!(known_fingerprint(data.path()), None);
    let server = Server::start(support::lan(data.path(), "127.0.0.2")).await;
    let digest = Sha256::digest(download_certificate(&server).await);
    let expected = digest.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(":");
    assert_eq!(expected.len(), 95);
    assert!(server.words.as_deref().unwrap().contains(&expected), "{:?}", server.words);
    assert_eq!(known_fingerprint(data.path()), Some(expected));
}

/// Browsers refuse more than 398 days (CA/Browser Forum baseline requirements, 6.3.2).
#[test]
fn a_server_certificate_lives_at_most_397_days_and_is_due_at_two_thirds() {
    let data = TempDir::new().unwrap();
    let names = ["limbledger.local".to_owned()];
    let now = clock();
    let authority = Authority::open(data.path(), &names, now).unwrap();
    let leaf = authority.issue(&names, &[IpAddr::from([127, 0, 0, 2])], now).unwrap();
    let due = leaf.renew_at.duration_since(now).as_hours() / 24;
    assert!((250..=397 * 2 / 3).contains(&due), "{due}");
    let valid_after = |days: i64| {
        let seconds = u64::try_from(now.as_second() + days * 24 * 60 * 60).unwrap();
        let at = UnixTime::since_unix_epoch(Duration::from_secs(seconds));
        verified(authority.certificate().clone(), &leaf.chain[0], &names[0], at).is_ok()
    };
    assert!(valid_after(0) && valid_after(395) && !valid_after(397) && !valid_after(-2));
}
