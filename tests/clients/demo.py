"""A demonstration that is served while a test asks it: somebody signed in, and what stands in its database."""

import http.cookiejar
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import tempfile
import urllib.parse
import urllib.request
import uuid
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("LIMBLEDGER", str(ROOT / "target/debug/limbledger"))


class Browser:
    """Somebody who is signed in."""

    def __init__(self, origin, name, password):
        self.origin = origin
        cookies = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.opener = urllib.request.build_opener(cookies)
        self.post("/sign-in", name=name, password=password)

    def get(self, path):
        return self.get_bytes(path).decode()

    def get_bytes(self, path):
        with self.opener.open(self.origin + path, timeout=60) as answer:
            return answer.read()

    def post(self, path, **fields):
        fields.setdefault("submission", str(uuid.uuid4()))
        body = urllib.parse.urlencode(fields).encode()
        request = urllib.request.Request(self.origin + path, body, {"Origin": self.origin})
        with self.opener.open(request, timeout=60) as answer:
            return answer.read().decode()


class Demo:
    """A filled practice with its server."""

    def __init__(self):
        self.data = tempfile.mkdtemp(prefix="demo-")
        filled = subprocess.run([PROGRAM, "demo", "--fill-only", "--years", "1", "--data", self.data], check=True,
                                capture_output=True, text=True)
        rows = [line.split("\t") for line in filled.stdout.splitlines() if line.count("\t") == 2]
        self.accounts = {role: (name, password) for role, name, password in rows}
        self.server = subprocess.Popen([PROGRAM, "serve", "--data", self.data, "--listen", "127.0.0.1:0"],
                                       stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.origin = re.search(r"http://\S+", self.server.stdout.readline()).group().rstrip("/")

    def stop(self):
        self.server.send_signal(signal.SIGTERM)
        self.server.wait(20)
        self.server.stdout.close()
        shutil.rmtree(self.data, ignore_errors=True)

    def browser(self, role):
        return Browser(self.origin, *self.accounts[role])

    def rows(self, sql, *values):
        db = sqlite3.connect(os.path.join(self.data, "practice.sqlite"), timeout=20)
        try:
            return db.execute(sql, values).fetchall()
        finally:
            db.close()
