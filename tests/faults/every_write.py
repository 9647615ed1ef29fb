"""Kills the program at its every single write: while it makes a new practice, brings an older one up to date, makes a backup.
After each kill a normal start succeeds and nothing is missing; a copy or a backup is whole or not there."""

import contextlib
import hashlib
import random
import re
import sqlite3
from collections import Counter
from pathlib import Path

import practice
import proof
from writes import Writer

# The last migration of the older practice: before the first that speaks of files, which the rows of its tests do not have.
OLD = 8
WRITES = ["openat", "pwrite64", "write", "ftruncate", "fsync", "fdatasync", "rename", "unlink", "mkdir", "linkat", "copy_file_range"]
TIMES = "_sqlx_migrations"
# What is compared of tables that hold times, or sums of rows that do.
COMPARED = {TIMES: "version, description, success, checksum", "row_sum": "of, row"}


def old_practice(data):
    """The first migrations with the rows that the tests of migrations keep for each, as sqlx leaves them."""
    data.mkdir()
    with contextlib.closing(sqlite3.connect(data / "practice.sqlite", isolation_level=None)) as db:
        db.executescript(f"pragma journal_mode = wal; create table {TIMES} (version bigint primary key, description text not null,"
                         " installed_on timestamp not null default current_timestamp, success boolean not null,"
                         " checksum blob not null, execution_time bigint not null);")
        for file in sorted((practice.ROOT / "migrations").glob("*.sql")):
            version = int(file.name[:4])
            if version > OLD:
                break
            rows = practice.ROOT / f"tests/migrations/data/{version:04}.sql"
            db.executescript(file.read_text() + (rows.read_text() if rows.exists() else ""))
            db.execute(f"insert into {TIMES} (version, description, success, checksum, execution_time) values (?, ?, 1, ?, 1)",
                       (version, file.stem[5:].replace("_", " "), hashlib.sha384(file.read_bytes()).digest()))
        seq, chain = chained(db)
        (data / "record.mark").write_text(f"{seq} {chain.hex()}\n")


def chained(db):
    """The rows of the migrations' tests with a chain that holds, since the program looks at it. The newest link."""
    guards = db.execute("select name, sql from sqlite_schema where type = 'trigger' and tbl_name = 'entry'").fetchall()
    for name, _ in guards:
        db.execute(f"drop trigger {name}")
    link = bytes(32)
    for body, salt, *head in db.execute(f"select body, salt, {', '.join(proof.HEAD)} from entry order by seq").fetchall():
        digest = hashlib.sha256(salt + body.encode()).digest() if body is not None else head[-1]
        before, link = link, proof.link(link, [*head[:-1], digest])
        db.execute("update entry set digest = ?, prev = ?, chain = ? where seq = ?", (digest, before, link, head[0]))
    for _, sql in guards:
        db.execute(sql)
    return head[0], link


def contents(file, mode="ro"):
    """All rows of all tables, and how the tables are made."""
    with contextlib.closing(sqlite3.connect(f"file:{file}?mode={mode}", uri=True)) as db:
        if db.execute("pragma integrity_check").fetchall() != [("ok",)]:
            raise sqlite3.DatabaseError("integrity_check")
        tables = [row[0] for row in db.execute("select name from sqlite_schema where type = 'table' order by name")]
        told = {"schema": db.execute("select type, name, sql from sqlite_schema order by type, name").fetchall()}
        for table in tables:
            told[table] = sorted(db.execute(f'select {COMPARED.get(table, "*")} from "{table}"').fetchall(), key=repr)
        return told


def strace(*more):
    return ["strace", "-f", "-qq", "-e", "signal=none", *map(str, more)]


def points(log, data):
    """Each write to the folder as a system call and which of its thread's calls of that kind it is."""
    counted, found = Counter(), set()
    for line in Path(log).read_text(errors="replace").splitlines():
        called = re.match(r"(\d+) +(\w+)\((.*)", line)
        if called:
            who, name, said = called.groups()
            counted[who, name] += 1
            if str(data) in said and not (name == "openat" and "O_CREAT" not in said):
                found.add((name, counted[who, name]))
    return sorted(found)


class Opening:
    """The older practice is opened: it is copied, migrated, and served."""

    name = "migrating"

    def __init__(self, folder):
        self.base = folder / "old"
        old_practice(self.base)
        self.before = contents(self.base / "practice.sqlite")
        self._whole(folder)

    def _whole(self, folder):
        self.points = self._run(folder / "whole", folder / "log")
        self.after = contents(folder / "whole/practice.sqlite")

    def _run(self, data, log):
        practice.copy_folder(self.base, data)
        under = strace("-y", "-s", 0, "-e", f"trace={','.join(WRITES)}", "-o", log)
        with practice.serving(data, under) as server:
            server.ready()
            # What it writes when it is asked to stop is not of the opening.
            return points(log, data)

    def killed(self, point, folder):
        """Whether the kill was met, and what was lost by it."""
        data = folder / "killed"
        practice.copy_folder(self.base, data)
        name, when = point
        try:
            with practice.serving(data, strace("-e", f"trace={name}", "-e", f"inject={name}:signal=KILL:when={when}", "-o", "/dev/null")):
                return False, []
        except practice.Refused as refused:
            if refused.code != -9:
                return True, [str(refused)]
        return True, self._losses(data)

    def _losses(self, data):
        try:
            with practice.serving(data) as server:
                server.ready()
        except practice.Refused as refused:
            return [f"does not start afterwards: {refused}"]
        found = contents(data / "practice.sqlite")
        losses = [f"{table} is not as after a migration without a kill" for table in self.after if found.get(table) != self.after[table]]
        if practice.has("check"):
            done = practice.run("check", "--data", data)
            losses += [f"check: {line}" for line in done.stdout.splitlines() if done.returncode != 0]
        return losses + self._copies(data)

    def _copies(self, data):
        losses, copies = [], []
        for copy in data.glob("before-migration-*.sqlite"):
            try:
                copies.append(contents(copy))
            except sqlite3.Error as wrong:
                losses.append(f"half a copy from before the migration was left under its name: {wrong}")
        # The start after the kill may have made another, of what some of the migrations had come to.
        if self.before not in copies:
            losses.append("no copy from before the migration is the practice as it was")
        return losses


class First(Opening):
    """An empty folder is opened: a practice is made that waits to be set up."""

    name = "making"

    def __init__(self, folder):
        self.base = folder / "empty"
        self.base.mkdir()
        self._whole(folder)

    def _copies(self, data):
        # A practice without a row needs none.
        return []


# Whoever was signed in is not, after a restore: one commit more, with its sums.
ENDED = {"session", "commits", "row_sum"}


class Backup:
    """A backup of a practice with files."""

    name = "backup"

    def __init__(self, folder):
        self.small = practice.make(folder / "practice", visits=2)
        with practice.serving(self.small.data) as server:
            seat, writer = self.small.seat(server), Writer(self.small, random.Random(1), 20_000)
            for make in [writer.photo, writer.note, writer.client, writer.photo]:
                make().send(seat)
        self.before = contents(self.small.data / "practice.sqlite")
        log, file = folder / "log", folder / "whole.backup"
        under = strace("-y", "-s", 0, "-e", f"trace={','.join(WRITES)}", "-o", log)
        done = practice.run("backup", file, "--data", self.small.data, under=under)
        if done.returncode != 0:
            raise AssertionError(f"backup ended with {done.returncode}: {done.stderr}")
        self.points = points(log, folder)

    def killed(self, point, folder):
        name, when = point
        file = folder / "killed.backup"
        under = strace("-e", f"trace={name}", "-e", f"inject={name}:signal=KILL:when={when}", "-o", "/dev/null")
        done = practice.run("backup", file, "--data", self.small.data, under=under)
        losses = [] if done.returncode in (0, -9) else [f"backup ended with {done.returncode}: {done.stderr.strip()}"]
        if file.exists():
            losses += self._restored(file, folder / "again")
        if contents(self.small.data / "practice.sqlite") != self.before:
            losses.append("the practice itself has changed")
        again = practice.run("backup", folder / "second.backup", "--data", self.small.data)
        if again.returncode != 0:
            losses.append(f"the next backup ended with {again.returncode}: {again.stderr.strip()}")
        return done.returncode == -9, losses

    def _restored(self, file, data):
        done = practice.run("restore", file, "--data", data, typed="\n")
        if done.returncode != 0:
            return [f"a backup under its name cannot be restored: {done.stderr.strip()}"]
        differing = [table for table, told in contents(data / "practice.sqlite").items() if told != self.before[table] and table not in ENDED]
        return [f"a backup under its name has another {table}" for table in differing] + proof.of_folder(data)


def main():
    given = practice.options(__doc__, points=(10, 0))
    chance, losses, figures = random.Random(given.seed), [], {}
    works = [First, Opening, *([Backup] if practice.has("backup") and practice.has("restore") else [])]
    for work in works:
        with practice.scratch() as folder:
            try:
                subject, met = work(folder), 0
            except (AssertionError, practice.Refused) as wrong:
                losses.append(f"{work.name}, without any kill: {wrong}")
                continue
            chosen = subject.points if not given.points else spread(subject.points, given.points, chance)
            for point in chosen:
                with practice.scratch() as room:
                    hit, lost = subject.killed(point, room)
                met += hit
                losses += [f"{work.name}, killed at {point[0]} number {point[1]}: {loss}" for loss in lost]
            figures[f"{work.name}: writes"] = len(subject.points)
            figures[f"{work.name}: killed at"] = f"{met} of {len(chosen)}"
            if met < len(chosen) * 0.8:
                losses.append(f"{work.name}: only {met} of {len(chosen)} kills were met")
    if Backup not in works:
        figures["backup"] = "not in this program"
    figures["lost"], figures["seed"] = len(losses), given.seed
    practice.finish("every_write", figures, losses)


def spread(all_, count, chance):
    """So many of them, some of each kind of call, and within a kind from its whole length."""
    first = chance.random()
    step = max(len(all_) / count, 1)
    return [all_[int((first + number) * step) % len(all_)] for number in range(min(count, len(all_)))]


if __name__ == "__main__":
    main()
