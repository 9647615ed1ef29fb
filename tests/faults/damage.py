"""Damages a stopped practice and asks `check`: pages that are zeroed or swapped, a file that is cut or is another one, and single
bits of the database, its log and the attachments. Whatever changes what is kept, and every page that is damaged, is found."""

import contextlib
import random
import sqlite3
import statistics
import time
from dataclasses import dataclass

import practice
from writes import Writer

PAGE = 4096
# Seconds within which a server has looked at the newest of its record.
NOTICED = 20
DATABASE, LOG = "practice.sqlite", "practice.sqlite-wal"


class Base:
    """A practice as a kill left it: part of it in the database, part in its log, and some files."""

    def __init__(self, folder, chance):
        self.small = practice.make(folder / "practice", visits=2)
        writer = Writer(self.small, chance, 8_000)
        with practice.serving(self.small.data) as server:
            self._write(writer, server, [writer.any for _ in range(60)])
        server = practice.Server(self.small.data)
        self._write(writer, server, [writer.note, writer.client, writer.photo, writer.booking, writer.finding, writer.contact] * 2)
        server.kill()
        self.data = self.small.data
        self.files = sorted(file.relative_to(self.data) for file in (self.data / "attachments").rglob("*") if file.is_file())
        self.told, self.free = told(self.data), free_pages(self.data)
        if self.told is None:
            raise AssertionError("the whole practice cannot be read")

    def _write(self, writer, server, makes):
        seat = self.small.seat(server)
        for make in makes:
            status, body = make().send(seat)
            if status != 303:
                raise AssertionError(f"answered {status}: {practice.words(body)}")


def told(data):
    """All rows by their numbers, read from copies: looking changes the log. None when it cannot be read."""
    with practice.scratch() as room:
        for name in (DATABASE, LOG):
            if (data / name).exists():
                (room / name).write_bytes((data / name).read_bytes())
        try:
            with contextlib.closing(sqlite3.connect(room / DATABASE)) as db:
                db.text_factory = bytes
                return [rows(db, name) for (name,) in db.execute("select name from sqlite_schema where type = 'table' order by name")]
        except (sqlite3.Error, UnicodeDecodeError):
            return None


def rows(db, table):
    name = table.decode()
    found = lambda order: db.execute(f'select * from "{name}" order by {order}').fetchall()
    try:
        return name, found("rowid")
    except sqlite3.OperationalError:
        # A table without them is in the order of its key.
        return name, found("1")


def free_pages(data):
    """Pages that nothing is kept on once the log is folded in: their bytes mean nothing."""
    with practice.scratch() as room:
        for name in (DATABASE, LOG):
            if (data / name).exists():
                (room / name).write_bytes((data / name).read_bytes())
        with contextlib.closing(sqlite3.connect(room / DATABASE)) as db:
            db.execute("pragma wal_checkpoint(truncate)")
        free, content = set(), (room / DATABASE).read_bytes()
    trunk = int.from_bytes(content[32:36], "big")
    while trunk:
        page = content[(trunk - 1) * PAGE:trunk * PAGE]
        count = int.from_bytes(page[4:8], "big")
        free |= {int.from_bytes(page[8 + 4 * at:12 + 4 * at], "big") - 1 for at in range(count)}
        trunk = int.from_bytes(page[:4], "big")
    return free


@dataclass
class Damage:
    words: str
    file: object
    content: bytes
    # A page of its own kind of damage: found whether or not a row changes by it.
    page: bool


def overlaid(data):
    """Pages whose newest content lies in the log: nobody reads them in the database until it is folded in."""
    log = (data / LOG).read_bytes()
    return {int.from_bytes(log[at:at + 4], "big") - 1 for at in range(32, len(log) - 24, PAGE + 24)}


class Damager:
    def __init__(self, base, chance):
        self.base, self.chance = base, chance
        self.content = {file: (base.data / file).read_bytes() for file in (DATABASE, LOG, *base.files)}
        self.pages = sorted(set(range(len(self.content[DATABASE]) // PAGE)) - base.free - overlaid(base.data))

    def page(self, number):
        """A database of which a page is zeroed, another one, or missing with all that follow; or which is no database."""
        whole = self.content[DATABASE]
        kind, page = ("zeroed", "swapped", "zeroed", "swapped", "cut", "foreign")[number % 6], self.chance.choice(self.pages)
        at = page * PAGE
        if kind == "zeroed":
            content = whole[:at] + bytes(PAGE) + whole[at + PAGE:]
        elif kind == "swapped":
            # Of two empty tables the pages are the same.
            other = self.chance.choice([one for one in self.pages if whole[one * PAGE:(one + 1) * PAGE] != whole[at:at + PAGE]]) * PAGE
            pages = {at: whole[other:other + PAGE], other: whole[at:at + PAGE]}
            content = b"".join(pages.get(start, whole[start:start + PAGE]) for start in range(0, len(whole), PAGE))
        elif kind == "cut":
            content = whole[:at + self.chance.randrange(PAGE)]
        else:
            content = self.chance.randbytes(len(whole))
        return Damage(f"page {page + 1} {kind}", DATABASE, content, True)

    def flip(self, number):
        """One bit: of the database mostly, else of its log or of a file."""
        file = (DATABASE, LOG, DATABASE, self.chance.choice(self.base.files), DATABASE, LOG)[number % 6]
        content = bytearray(self.content[file])
        bit = self.chance.randrange(len(content) * 8)
        content[bit // 8] ^= 1 << bit % 8
        return Damage(f"bit {bit % 8} of byte {bit // 8} of {file} (page {bit // 8 // PAGE + 1})", file, bytes(content), False)


class Trials:
    def __init__(self, base):
        self.base = base
        self.tried = self.must = self.found = 0
        self.seconds, self.losses = [], []

    def check(self, data):
        began = time.monotonic()
        done = practice.run("check", "--data", data)
        self.seconds.append(time.monotonic() - began)
        return done

    def try_(self, damage):
        """Says whether it had to be found, and keeps whether it was. The check may fold the log in: each damage gets a copy
        of its own."""
        self.tried += 1
        with practice.scratch() as data:
            practice.copy_folder(self.base.data, data)
            if (data / damage.file).read_bytes() == damage.content:
                return False
            (data / damage.file).write_bytes(damage.content)
            if not (damage.page or damage.file in self.base.files or told(data) != self.base.told):
                return False
            self.must += 1
            done = self.check(data)
        if done.returncode == 1 and done.stdout.strip() + done.stderr.strip():
            self.found += 1
        else:
            self.losses.append(f"{damage.words}: check ended with {done.returncode}: {done.stdout.strip()} {done.stderr.strip()}")
        return True


def served(base, losses):
    """A server of which an entry was changed behind its back: it can be read, and takes nothing more."""
    with practice.scratch() as data:
        small = base.small.copy(data)
        with contextlib.closing(sqlite3.connect(data / DATABASE)) as db, db:
            guard = db.execute("select sql from sqlite_schema where name = 'entry_never_changed'").fetchone()[0]
            db.execute("drop trigger entry_never_changed")
            db.execute("update entry set body = replace(body, 'end', 'END') where seq = (select max(seq) from entry where instr(body, 'end'))")
            db.execute(guard)
        with practice.serving(data) as server:
            seat, writer, end = small.seat(server), Writer(small), time.monotonic() + NOTICED
            while (answer := writer.note().send(seat))[0] == 303 and time.monotonic() < end:
                time.sleep(0.5)
            status, body = answer
            if status != 503 or not practice.words(body):
                losses.append(f"a server of a changed record answers a form with {status}: {practice.words(body)}")
            for path in ("/", f"/visits/{small.visits[0]}/exam"):
                if seat.get(path)[0] != 200:
                    losses.append(f"a server of a changed record does not show {path}: {practice.words(seat.get(path)[2])}")


def main():
    given = practice.options(__doc__, pages=(40, 1_000), flips=(60, 10_000))
    chance = random.Random(given.seed)
    if not practice.has("check"):
        practice.finish("damage", {"check": "not in this program"}, [])
    with practice.scratch() as folder:
        base = Base(folder, chance)
        damager, trials = Damager(base, chance), Trials(base)
        with practice.scratch() as data:
            practice.copy_folder(base.data, data)
            whole = trials.check(data)
            if whole.returncode != 0:
                trials.losses.append(f"a whole practice: check ended with {whole.returncode}: {whole.stdout} {whole.stderr}")
        for number in range(given.pages):
            trials.try_(damager.page(number))
        served(base, trials.losses)
        found, number = 0, 0
        # Many bits are of nothing that is kept: those are no flips that could be found.
        while found < given.flips and number < 10 * given.flips:
            found += trials.try_(damager.flip(number))
            number += 1
    figures = {"pages": given.pages, "flips tried": number, "of them telling": found, "that had to be found": trials.must, "found": trials.found,
               "check median s": f"{statistics.median(trials.seconds):.2f}", "seed": given.seed}
    practice.finish("damage", figures, trials.losses)


if __name__ == "__main__":
    main()
