//! What testssl.sh says of the server. It takes minutes and another program, so that `tests/lan/testssl` runs it by hand.

use std::process::Stdio;
use std::time::Duration;

use tempfile::TempDir;
use tokio::process::Command;

use crate::support::{self, Server, download_certificate};

const LONGEST: Duration = Duration::from_mins(10);

/// Findings that are meant so, each with the reason.
const MEANT: [(&str, &str); 3] = [
    (
        "cert_revocation",
        "nobody on a LAN answers for it: the key lives in memory, and the certificate for 397 days at most",
    ),
    ("HSTS", "said after a good sign-in by name only, as tests/web/signing_in.rs holds it to"),
    (
        "security_headers",
        "the small app behind these tests has none; tests/web/signing_in.rs looks at those of the program",
    ),
];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
#[ignore = "takes minutes and needs testssl.sh; tests/lan/testssl runs it"]
async fn testssl_finds_nothing_of_weight() {
    let data = TempDir::new().unwrap();
    let server = Server::start(support::lan(data.path(), "127.0.0.2")).await;
    let authority = data.path().join("authority/practice-authority.pem");
    download_certificate(&server).await;
    let found = data.path().join("found.csv");
    let mut testssl = Command::new("testssl");
    testssl
        .args(["--quiet", "--color", "0", "--warnings", "off", "--nodns", "none", "--ip", "127.0.0.2"])
        .args(["--add-ca", authority.to_str().unwrap(), "--csvfile", found.to_str().unwrap()])
        .arg(server.host("limbledger.local"))
        .stdin(Stdio::null())
        .kill_on_drop(true);
    tokio::time::timeout(LONGEST, testssl.status()).await.expect("in ten minutes").expect("testssl is there");
    let found = std::fs::read_to_string(found).unwrap();
    assert!(found.lines().count() > 100, "it did not come far:\n{found}");
    // A WARN says that testssl.sh could not look, such as on a machine with much else to do.
    let heavy = ["\"LOW\"", "\"MEDIUM\"", "\"HIGH\"", "\"CRITICAL\"", "\"FATAL\""];
    let wrong: Vec<&str> = found
        .lines()
        .filter(|line| heavy.iter().any(|weight| line.contains(weight)))
        .filter(|line| !MEANT.iter().any(|(id, _)| line.starts_with(&format!("\"{id}\""))))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
