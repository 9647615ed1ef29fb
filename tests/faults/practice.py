"""A small practice on this machine: how it is made, served, ended, signed in to and looked at. What all fault tests share."""

import argparse
import contextlib
import http.client
import os
import re
import secrets
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import urllib.parse
import uuid
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("LIMBLEDGER", str(ROOT / "target/debug/limbledger"))
# Who writes is a veterinarian: an owner is asked for a second factor when the clock has jumped by years.
OWNER, NAME, PASSWORD = "Olwen Testing", "Orla Testing", "heron over the seventh weir"
VISITS = 8
# Longer than anything waits on a busy machine; what waits longer hangs.
PATIENCE = 60
MEMORY, ROOM = "/dev/shm", 1 << 30


class Refused(Exception):
    """The server ended before it listened."""

    def __init__(self, code, words):
        super().__init__(f"ended with {code}: {words.strip()}")
        self.code, self.words = code, words


class Server:
    """The program, serving a data folder on a port of its own choice. `under` is what it runs under, such as strace."""

    def __init__(self, data, under=(), env=None, more=()):
        self.data, self.began = Path(data), time.monotonic()
        self.errors = tempfile.TemporaryFile("w+")
        self.process = subprocess.Popen(
            [*under, PROGRAM, "serve", "--data", str(data), "--listen", "127.0.0.1:0", *more], stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=self.errors, text=True, env={**os.environ, **(env or {})})
        line = self.process.stdout.readline()
        found = re.search(r"http://([\d.]+):(\d+)", line)
        if not found:
            code = self.process.wait(PATIENCE)
            words = self.said()
            self._close()
            raise Refused(code, words)
        self.host, self.port = found.group(1), int(found.group(2))
        self.origin = found.group()

    def said(self):
        """What it wrote on stderr."""
        # Not through the file object: the program writes at the same place.
        return os.pread(self.errors.fileno(), 1 << 20, 0).decode(errors="replace")

    def ready(self):
        """Seconds from its start until it says that it can read and write."""
        while True:
            status, _, body = ask(self, "GET", "/healthz")
            if status == 200 and body == b"ok":
                return time.monotonic() - self.began
            if time.monotonic() - self.began > PATIENCE:
                raise AssertionError(f"not ready after {PATIENCE} s: {status} {body[:200]}")
            time.sleep(0.01)

    def pid(self):
        """The server itself; what it runs under is its parent."""
        own = self.process.pid
        children = Path(f"/proc/{own}/task/{own}/children")
        known = children.read_text().split() if children.exists() else []
        return int(known[0]) if known else own

    def kill(self):
        if self.process.poll() is not None:
            return
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid(), signal.SIGKILL)
        self._gone()

    def stop(self):
        """Ends it as a person does, and gives its exit code."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid(), signal.SIGTERM)
        return self._gone()

    def _gone(self):
        try:
            code = self.process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            self.process.kill()
            raise
        self._close()
        return code

    def _close(self):
        self.process.stdout.close()
        self.errors.close()


@contextlib.contextmanager
def serving(data, under=(), env=None):
    """A server for the length of a block."""
    server = Server(data, under, env)
    try:
        yield server
    finally:
        if server.process.poll() is None:
            server.stop()


def ask(server, method, path, body=b"", headers=(), timeout=PATIENCE):
    """One request on a connection of its own: status, headers, body."""
    line = http.client.HTTPConnection(server.host, server.port, timeout=timeout)
    try:
        line.request(method, path, body, {"Origin": server.origin, **dict(headers)})
        answer = line.getresponse()
        return answer.status, answer.headers, answer.read()
    finally:
        line.close()


class Seat:
    """Somebody who is signed in, whatever port the server comes back on."""

    def __init__(self, server, cookie=None, name=None):
        self.server = server
        self.cookie = cookie or sign_in(server, name or NAME)

    def get(self, path):
        return ask(self.server, "GET", path, headers={"Cookie": self.cookie})

    def post(self, path, fields, kind="application/x-www-form-urlencoded"):
        """Sends a form; fields that are bytes are a body as it is."""
        body = fields if isinstance(fields, bytes) else urllib.parse.urlencode(fields, doseq=True).encode()
        return ask(self.server, "POST", path, body, {"Cookie": self.cookie, "Content-Type": kind})

    def led_to(self, path, **fields):
        """Sends a form that has to be taken, and says where it led."""
        status, headers, body = self.post(path, {"submission": str(uuid.uuid4()), **fields})
        if status != 303:
            raise AssertionError(f"{path} answered {status}: {words(body)}")
        return headers["Location"]


def sign_in(server, name=NAME):
    fields = urllib.parse.urlencode({"submission": str(uuid.uuid4()), "name": name, "password": PASSWORD}).encode()
    status, headers, body = ask(server, "POST", "/sign-in", fields, {"Content-Type": "application/x-www-form-urlencoded"})
    if status != 303:
        raise AssertionError(f"signing in answered {status}: {words(body)}")
    return headers["Set-Cookie"].split(";")[0]


def words(body):
    """What stands on a page, in a line."""
    text = re.sub(r"(?s)<(script|style|head).*?</\1>|<[^>]+>", " ", body.decode(errors="replace"))
    return " ".join(text.split())[:600]


class Practice:
    """A folder with a practice in it, and what the forms of the tests need to know of it."""

    def __init__(self, data, cookie, client, horse, visits, vet):
        self.data, self.cookie = Path(data), cookie
        self.client, self.horse, self.visits, self.vet = client, horse, visits, vet

    def copy(self, to):
        """The same practice in another folder."""
        copy_folder(self.data, to)
        return Practice(to, self.cookie, self.client, self.horse, self.visits, self.vet)

    def seat(self, server):
        return Seat(server, self.cookie)


def copy_folder(data, to):
    """A folder with all that is in it, as it is."""
    Path(to).mkdir(parents=True, exist_ok=True)
    subprocess.run(["cp", "-a", "--reflink=auto", f"{data}/.", str(to)], check=True)


def make(data, visits=VISITS):
    """Sets up a practice with an owner, a veterinarian, one horse and some visits in hand, through its own pages."""
    Path(data).mkdir(parents=True, exist_ok=True)
    with serving(data) as server:
        code = re.search(r"code[^:]*: (\S+)", server.said()).group(1)
        fields = {"submission": str(uuid.uuid4()), "code": code, "practice": "Fault Practice", "zone": "UTC", "weight_unit": "kg",
                  "height_unit": "cm", "temperature_unit": "c", "lameness_scale": "aaep_0_5", "name": OWNER,
                  "password": PASSWORD, "password_again": PASSWORD}
        status, _, body = ask(server, "POST", "/set-up", urllib.parse.urlencode(fields).encode(),
                              {"Content-Type": "application/x-www-form-urlencoded"})
        if status != 303:
            raise AssertionError(f"the set-up answered {status}: {words(body)}")
    added = run("staff", "add", NAME, "--role", "vet", "--data", data, typed=PASSWORD + "\n")
    if added.returncode:
        raise AssertionError(f"no veterinarian: {added.stderr}")
    with serving(data) as server:
        seat = Seat(server)
        client = ident(seat.led_to("/clients", name="Anna Marsh", kind="person"))
        horse = ident(seat.led_to("/horses", name="Tansy", sex="female"))
        made = [ident(seat.led_to(f"/horses/{horse}/visits")) for _ in range(visits)]
    vet = str(uuid.UUID(bytes=rows(data, "select id from staff where role = 'vet'")[0][0]))
    return Practice(data, seat.cookie, client, horse, made, vet)


def ident(location):
    return re.search(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}", location).group()


def rows(data, sql, *values):
    """What stands in the database of a folder."""
    with contextlib.closing(sqlite3.connect(Path(data) / "practice.sqlite", timeout=20)) as db:
        return db.execute(sql, values).fetchall()


def has(command):
    """Whether the program has a command: `check`, `backup`."""
    return subprocess.run([PROGRAM, command, "--help"], capture_output=True).returncode == 0


def roomy(place):
    return os.access(place, os.W_OK) and shutil.disk_usage(place).free > ROOM


def run(*arguments, typed="", under=(), env=None):
    """Runs a command of the program to its end."""
    return subprocess.run([*under, PROGRAM, *map(str, arguments)], input=typed, capture_output=True, text=True, timeout=600,
                          env={**os.environ, **(env or {})})


@contextlib.contextmanager
def scratch():
    """A folder that is gone afterwards. What a kill leaves is the same in memory, where nobody waits for a sync."""
    folder = Path(tempfile.mkdtemp(prefix="faults-", dir=MEMORY if roomy(MEMORY) else None))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def options(words_, switches=(), **counts):
    """The command line of a fault test. `counts` names what is counted, with how many of it in CI and in a long run."""
    parser = argparse.ArgumentParser(description=words_)
    parser.add_argument("--long", action="store_true", help="as many as the goal asks for, instead of as many as CI has time for")
    parser.add_argument("--seed", type=int, default=None, help="the number all chance comes from; it is printed")
    for name, (short, long) in counts.items():
        parser.add_argument(f"--{name}", type=int, default=None, help=f"{short} in CI, {long} with --long")
    for switch, meaning in dict(switches).items():
        parser.add_argument(f"--{switch}", action="store_true", help=meaning)
    given = parser.parse_args()
    if not os.access(PROGRAM, os.X_OK):
        parser.error(f"there is no program at {PROGRAM}: build it, or name one in LIMBLEDGER")
    for name, (short, long) in counts.items():
        if getattr(given, name) is None:
            setattr(given, name, long if given.long else short)
    if given.seed is None:
        given.seed = secrets.randbelow(1_000_000)
    return given


def finish(name, figures, losses):
    """Prints the figures in one line, and each loss below; exits 1 when there is one."""
    print(f"{name}: " + ", ".join(f"{what} {value}" for what, value in figures.items()), flush=True)
    for loss in losses[:20]:
        print(f"  LOST {loss}", flush=True)
    if len(losses) > 20:
        print(f"  and {len(losses) - 20} more", flush=True)
    sys.exit(1 if losses else 0)
