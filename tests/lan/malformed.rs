//! Thousands of requests that nobody should send, made by a generator whose seed is known. None brings a fault of ours,
//! and who works meanwhile from another address notices nothing. `MALFORMED` says how many.

use std::{
    collections::BTreeMap,
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
    time::{Duration, Instant},
};

use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::TcpStream,
    time::timeout,
};

use crate::{practice::Practice, support::status};

const IN_CI: u64 = 10_000;
const AT_ONCE: u64 = 32;

/// xorshift64* (Vigna, 2016): the same numbers for the same seed.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let high = self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33;
        usize::try_from(high).unwrap() % sides
    }

    fn pick<'a, T: ?Sized>(&mut self, all: &[&'a T]) -> &'a T {
        all[self.roll(all.len())]
    }
}

const METHODS: [&str; 10] = ["GET", "GET", "POST", "POST", "PUT", "HEAD", "DELETE", "TRACE", "G\tT", ""];
const PATHS: [&str; 22] = [
    "/",
    "/horses",
    "/clients",
    "/call",
    "/sign-in",
    "/search?q=",
    "/visits/0/exam",
    "/static/../x",
    "/%00",
    "/%ff%fe",
    "//evil",
    "*",
    "/horses/%2e%2e/me",
    "/follow-ups?x=%zz",
    "/me/pin",
    "/practice",
    "/locked?next=//x",
    "http://evil/",
    "/exam/picks",
    "/videos/uploads",
    "/tablet/key",
    "/calendar/x.ics",
];
const VERSIONS: [&str; 5] = ["HTTP/1.1", "HTTP/1.1", "HTTP/1.1", "HTTP/1.0", "HTTP/7"];
const HEADS: [&str; 20] = [
    "Content-Length: 7",
    "Content-Length: -1",
    "Content-Length: 99999999999",
    "Transfer-Encoding: chunked",
    "Expect: 100-continue",
    "Content-Type: application/x-www-form-urlencoded",
    "Content-Type: multipart/form-data; boundary=x",
    "Content-Type: multipart/form-data",
    "Content-Type: \u{1}",
    "Accept-Encoding: gzip;q=x, br",
    "Range: bytes=9-1,-,a",
    "If-None-Match: W/\"",
    "Prefer: return=minimal",
    "For-Account: x",
    "Cookie: sid=\"",
    "Cookie: ; ;=;sid",
    "Upgrade: h2c",
    "Origin: null",
    "Sec-Fetch-Site: cross-site",
    "X: \u{7f}",
];
const BODIES: [&str; 9] = [
    "",
    "a=b&c=d",
    "name=%00&kind=%ff",
    "submission=x&name=%F0%9F",
    "--x\r\nContent-Disposition: form-data\r\n\r\n",
    "--x--",
    "zz\r\n",
    "7\r\nname=%4\r\n0\r\n\r\n",
    "&&&===%%%",
];

/// One request: from a good one to none at all.
fn request(seed: u64, host: &str, cookie: &str) -> Vec<u8> {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let mut head =
        vec![format!("{} {} {}\r\n", dice.pick(&METHODS), dice.pick(&PATHS), dice.pick(&VERSIONS))];
    if dice.roll(8) > 0 {
        head.push(format!("Host: {host}\r\nOrigin: http://{host}\r\n"));
    }
    if dice.roll(2) > 0 {
        head.push(format!("Cookie: {cookie}\r\n"));
    }
    for _ in 0..dice.roll(4) {
        head.push(format!("{}\r\n", dice.pick(&HEADS)));
    }
    let body = dice.pick(&BODIES);
    if dice.roll(3) > 0 {
        head.push(format!("Content-Length: {}\r\n", body.len()));
    }
    let mut bytes = format!("{}Connection: close\r\n\r\n{body}", head.concat()).into_bytes();
    for _ in 0..dice.roll(3) {
        let at = dice.roll(bytes.len());
        bytes[at] = u8::try_from(dice.roll(256)).unwrap();
    }
    if dice.roll(10) == 0 {
        bytes.truncate(dice.roll(bytes.len()));
    }
    bytes
}

/// What was answered; nothing where the server closes or waits for more.
async fn ask(to: std::net::SocketAddr, bytes: &[u8]) -> String {
    let mut stream = TcpStream::connect(to).await.unwrap();
    let mut said = Vec::new();
    // A server that closes early leaves a broken pipe: that is an answer, too.
    let _ = stream.write_all(bytes).await;
    let _ = timeout(Duration::from_millis(150), stream.read_to_end(&mut said)).await;
    status(&String::from_utf8_lossy(&said)).to_owned()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn thousands_of_bad_requests_bring_no_fault_and_leave_the_others_alone() {
    let many = std::env::var("MALFORMED").ok().and_then(|many| many.parse().ok()).unwrap_or(IN_CI);
    let practice = Arc::new(
        Practice::open(|options| {
            options.limits.header = Duration::from_millis(100);
            options.limits.body_idle = Duration::from_millis(100);
        })
        .await,
    );
    let (address, host) = (practice.server.address, practice.server.address.to_string());
    let over = Arc::new(AtomicBool::new(false));
    let beside = tokio::spawn({
        let (practice, over) = (practice.clone(), over.clone());
        async move {
            let mut times = Vec::new();
            while !over.load(Ordering::Relaxed) {
                let begun = Instant::now();
                let page = practice.get_from([127, 0, 0, 9], "/horses").await;
                assert_eq!(status(&page), "200", "{page}");
                times.push(begun.elapsed());
                tokio::time::sleep(Duration::from_millis(20)).await;
            }
            times
        }
    });
    let mut hands = tokio::task::JoinSet::new();
    for hand in 0..AT_ONCE {
        let (host, cookie) = (host.clone(), practice.cookie.clone());
        hands.spawn(async move {
            let mut seen = Vec::new();
            for seed in (hand..many).step_by(usize::try_from(AT_ONCE).unwrap()) {
                seen.push((seed, ask(address, &request(seed, &host, &cookie)).await));
            }
            seen
        });
    }
    let (mut counts, mut faults) = (BTreeMap::new(), Vec::new());
    while let Some(seen) = hands.join_next().await {
        for (seed, status) in seen.unwrap() {
            if status.starts_with('5') {
                faults.push(format!("seed {seed}: {status}"));
            }
            *counts.entry(status).or_insert(0_u64) += 1;
        }
    }
    over.store(true, Ordering::Relaxed);
    let mut times = beside.await.unwrap();
    assert_eq!(faults, Vec::<String>::new(), "{counts:?}");
    assert_eq!(counts.values().sum::<u64>(), many);
    for status in ["200", "303", "400", "403", "404", "405", "421"] {
        assert!(counts.contains_key(status), "no {status} among {counts:?}: the requests are too alike");
    }
    times.sort();
    let slow = times[times.len() * 95 / 100];
    assert!(slow < Duration::from_millis(500), "a good page took {slow:?}, of {} pages", times.len());
}
