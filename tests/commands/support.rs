//! The built program, run and waited for, or left running and ended by its number.

use std::{
    fs,
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::{Path, PathBuf},
    process::{Child, Command, Output, Stdio},
    sync::OnceLock,
    time::{Duration, Instant},
};

pub fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_limbledger"));
    command.env_remove("LIMBLEDGER_DATA").env_remove("LIMBLEDGER_LISTEN").stdin(Stdio::null());
    command
}

pub fn run(args: &[&str]) -> Output {
    program().args(args).output().unwrap()
}

pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// A practice of one year: filled once for all tests, copied for each.
pub fn filled(folder: &Path) -> &'static Output {
    static FILLED: OnceLock<(PathBuf, Output)> = OnceLock::new();
    let (made, output) = FILLED.get_or_init(|| {
        let all = Path::new(env!("CARGO_TARGET_TMPDIR"));
        let made = all.join("filled");
        let _ = fs::remove_dir_all(&made);
        let output = run(&["demo", "--fill-only", "--years", "1", "--data", made.to_str().unwrap()]);
        assert!(output.status.success(), "{}", stderr(&output));
        (made, output)
    });
    fs::create_dir_all(folder).unwrap();
    for file in fs::read_dir(made).unwrap() {
        let path = file.unwrap().path();
        assert!(path.is_file(), "the demonstration has no folders: {}", path.display());
        fs::copy(&path, folder.join(path.file_name().unwrap())).unwrap();
    }
    output
}

/// A server on a port of its own; it ends with the test.
pub struct Running {
    child: Child,
    lines: BufReader<std::process::ChildStdout>,
}

impl Running {
    pub fn start(args: &[&str]) -> Self {
        let mut child = program().args(args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap());
        Running { child, lines }
    }

    pub fn line(&mut self) -> String {
        let mut line = String::new();
        self.lines.read_line(&mut line).unwrap();
        line.trim_end().to_owned()
    }

    /// Asks the program to stop as a service manager does, and waits.
    pub fn stop(mut self) -> (Option<i32>, String) {
        let kill = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status().unwrap();
        assert!(kill.success());
        let until = Instant::now() + Duration::from_secs(15);
        while self.child.try_wait().unwrap().is_none() {
            assert!(Instant::now() < until, "it did not stop when asked to");
            std::thread::sleep(Duration::from_millis(20));
        }
        let mut said = String::new();
        self.child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        (self.child.wait().unwrap().code(), said)
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The answer to a request over plain http, head and body.
pub fn get(url: &str, path: &str) -> String {
    let host = url.strip_prefix("http://").unwrap();
    let mut stream = TcpStream::connect(host).unwrap();
    write!(stream, "GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    answer
}
