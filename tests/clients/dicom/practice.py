"""A practice with orders, served on ports of its own, and ended by its number."""

import atexit
import os
import re
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.append(str(ROOT / "tests/clients"))
import digests

# What the tests write into a practice themselves.
WRITTEN = digests.writing("client", "diagnostic_item", "diagnostic_order", "dicom_caller", "dicom_settings", "horse",
                          "horse_weight", "party", "visit")
PROGRAM = os.environ.get("LIMBLEDGER", str(ROOT / "target/debug/limbledger"))
TITLE = "PRACTICE"
FILLED = None


def filled():
    """A demonstration of one year, filled once and copied for each practice."""
    global FILLED
    if FILLED is None:
        FILLED = tempfile.mkdtemp(prefix="filled-")
        atexit.register(shutil.rmtree, FILLED, ignore_errors=True)
        subprocess.run([PROGRAM, "demo", "--fill-only", "--years", "1", "--data", FILLED], check=True,
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return FILLED


def until(holds, seconds=20):
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "it never came to that"
        time.sleep(0.01)


def as_root(*command):
    subprocess.run([*([] if os.geteuid() == 0 else ["sudo"]), *command], check=True)


class Practice:
    """Serves a copy of the demonstration; `orders` are put in before it starts. With `room` it has a disk of its own
    with so many bytes beyond the copy."""

    def __init__(self, largest=None, idle=None, callers=(), room=None):
        self.data = tempfile.mkdtemp(prefix="practice-")
        self.mounted = room is not None
        if self.mounted:
            taken = sum(path.stat().st_size for path in Path(filled()).rglob("*"))
            as_root("mount", "-t", "tmpfs", "-o", f"size={taken + room},mode=0777", "limbledger-test", self.data)
        shutil.copytree(filled(), self.data, dirs_exist_ok=True)
        self.process = None
        self.http = self.port = None
        with self.db() as db:
            self.staff = db.execute("select id from staff limit 1").fetchone()[0]
            if largest:
                db.execute("update dicom_settings set largest_bytes = ?", (largest,))
            if idle:
                db.execute("update dicom_settings set idle_seconds = ?", (idle,))
            for title in callers:
                db.execute("insert into dicom_caller values (?, '', ?, 0)", (title, self.staff))
            # The demonstration is free to order what it likes; here only our own orders count.
            db.execute("update diagnostic_order set closed_reason = 'not of this test', closed_by = ordered_by,"
                       " closed_at = ordered_at")

    def db(self):
        db = sqlite3.connect(os.path.join(self.data, "practice.sqlite"), timeout=20, factory=WRITTEN)
        db.execute("pragma foreign_keys = on")
        return db

    def rows(self, sql, *values):
        db = self.db()
        try:
            return db.execute(sql, values).fetchall()
        finally:
            db.close()

    def horse(self, name, owner="Anna Marsh", owner_kind="person", **fields):
        """A horse of a client, and its id."""
        horse, client = uuid.uuid4().bytes, uuid.uuid4().bytes
        facts = {"sex": "male", "neutered": "yes", "born": "2017-04-30", "breed": "", "microchip": "276020000123456",
                 "ueln": ""} | fields
        with self.db() as db:
            db.execute(f"insert into horse (id, name, {', '.join(facts)}, created_at) values (?, ?,"
                       f" {', '.join('?' * len(facts))}, 0)", (horse, name, *facts.values()))
            db.execute("insert into client (id, kind, name, created_at) values (?, ?, ?, 0)",
                       (client, owner_kind, owner))
            db.execute("insert into party (id, horse_id, client_id, role, created_at) values (?, ?, ?, 'owner', 0)",
                       (uuid.uuid4().bytes, horse, client))
            db.execute("insert into horse_weight (id, horse_id, kg, method, weighed_on, entered_by, created_at)"
                       " values (?, ?, 512.5, 'scale', '2026-01-01', ?, 0)",
                       (uuid.uuid4().bytes, horse, self.staff))
        return horse

    def order(self, horse, kind="radiograph", name="fetlock", planned_on=None, items=()):
        """An order of a visit of this horse: its accession number and study UID."""
        order, visit = uuid.uuid4(), uuid.uuid4().bytes
        with self.db() as db:
            number = db.execute("select coalesce(max(number), 0) + 1 from diagnostic_order").fetchone()[0]
            # Visits of one vet may not stand in each other's way, so nobody has this one yet.
            db.execute("insert into visit (id, horse_id, place, starts_at, minutes, state, created_by, created_at)"
                       " values (?, ?, 'clinic', ?, 45, 'arrived', ?, 0)",
                       (visit, horse, int(time.time() * 1000), self.staff))
            accession, study = f"L{number:06}", f"2.25.{order.int}"
            db.execute("insert into diagnostic_order (id, number, accession, study_uid, visit_id, study, kind, name,"
                       " planned_on, ordered_by, ordered_at) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0)",
                       (order.bytes, number, accession, study, visit, name, kind, name, planned_on, self.staff))
            for position, (code, side) in enumerate(items):
                db.execute("insert into diagnostic_item (id, order_id, position, code, name, side)"
                           " values (?, ?, ?, ?, ?, ?)",
                           (uuid.uuid4().bytes, order.bytes, position, code, code, side))
        return accession, study

    def start(self, host="127.0.0.1", through=()):
        """Serves; `through` is a command that runs it, such as a tracer."""
        self.host = host
        self.process = subprocess.Popen(
            [*through, PROGRAM, "serve", "--data", self.data, "--listen", "127.0.0.1:0", "--dicom", f"{host}:0", "--ae", TITLE],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.http = self.process.stdout.readline().split()[-1]
        for line in self.process.stderr:
            found = re.match(rf"DICOM: listening on {re.escape(host)}:(\d+) as {TITLE}", line)
            if found:
                self.port = int(found.group(1))
                break
        assert self.port, "it does not say where it listens for DICOM"
        # What it says later is read, so that it never waits for a reader.
        self.said = []
        threading.Thread(target=self.said.extend, args=(self.process.stderr,), daemon=True).start()
        return self

    def kill(self):
        self.process.kill()
        self.process.wait()

    def stop(self):
        """Asks it to stop, as a service manager does; how long that took."""
        began = time.monotonic()
        self.process.send_signal(signal.SIGTERM)
        assert self.process.wait(20) == 0, "it did not stop when asked to"
        return time.monotonic() - began

    def close(self):
        if self.process and self.process.poll() is None:
            self.kill()
        if self.mounted:
            as_root("umount", self.data)
        shutil.rmtree(self.data, ignore_errors=True)

    def connect(self):
        return socket.create_connection((self.host, self.port), timeout=20)

    def half_files(self):
        folder = Path(self.data, "attachments", "incoming")
        return sorted(folder.iterdir()) if folder.exists() else []

    def kept(self, sop_instance):
        """The files that are kept under this instance UID."""
        names = self.rows("select sha256 from dicom_object where sop_instance_uid = ?", sop_instance)
        return [Path(self.data, "attachments", name[:2], name) for (name,) in names]

    def run(self, command, *arguments):
        """A program of dcmtk: its exit status, and what it said."""
        done = subprocess.run([command, *arguments], capture_output=True, text=True, errors="replace", timeout=120)
        return done.returncode, done.stdout + done.stderr

    def scu(self, command, *options, files=(), called=TITLE, calling="CLIENT"):
        """A program of dcmtk that calls us."""
        return self.run(command, "-aet", calling, "-aec", called, *options, self.host, str(self.port),
                        *map(str, files))
