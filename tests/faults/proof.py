"""What must be true of a practice after a fault: every acknowledged form there once, every other one whole or absent,
files whole by their digests, the database and the chain of the record in order, and the mark not ahead of it."""

import contextlib
import hashlib
import json
import sqlite3
import uuid
from pathlib import Path


def opened(data):
    """For reading; a server may run beside it, and keeps the only hand that writes."""
    return contextlib.closing(sqlite3.connect(f"file:{Path(data) / 'practice.sqlite'}?mode=ro", uri=True, timeout=20))


def counts(db, write):
    return [db.execute(sql, values).fetchone()[0] for sql, values in write.effects]


def of_writes(db, acknowledged, unsure):
    """Where a form is lost, half there or there twice."""
    losses = []
    for write in acknowledged:
        found = counts(db, write)
        if any(count != 1 for count in found):
            losses.append(f"acknowledged {write.kind} {write.submission}: counted {found}, each should be 1")
    for write in unsure:
        found = counts(db, write)
        if write.file:
            # The row of a file may have come with another form; the entry and the submission belong together.
            found = [found[0], found[2]]
        if len(set(found)) != 1 or found[0] > 1:
            losses.append(f"unanswered {write.kind} {write.submission}: counted {found}, each should be 0 or each 1")
    return losses


def of_database(db):
    """What SQLite itself finds."""
    losses = []
    found = db.execute("pragma integrity_check").fetchall()
    if found != [("ok",)]:
        losses.append(f"integrity_check: {found[:3]}")
    dangling = db.execute("pragma foreign_key_check").fetchall()
    if dangling:
        losses.append(f"foreign_key_check: {dangling[:3]}")
    return losses


# What the chain goes over, beside the link before it.
HEAD = ["seq", "id", "visit_id", "supersedes", "seen_by", "entered_by", "device", "seen_at", "received_at", "offset_ms", "late", "digest"]


def link(prev, row):
    """The chain over the salted digests, reckoned anew."""
    seq, ident, visit, supersedes, seen_by, entered_by, device, seen_at, received_at, offset_ms, late, digest = row
    name = lambda value: None if value is None else str(uuid.UUID(bytes=value))
    head = [seq, name(ident), name(visit), name(supersedes), name(seen_by), name(entered_by), device, seen_at, received_at,
            offset_ms, bool(late)]
    text = json.dumps(head, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(prev + text.encode() + digest).digest()


def of_chain(db, since=0):
    """Whether each entry follows the one before it and says what was recorded; from `since` on."""
    known = db.execute("select chain from entry where seq = ?", (since,)).fetchone()
    prev, expected = (known[0] if known else bytes(32)), since + 1
    for row in db.execute(f"select {', '.join(HEAD)}, body, salt, prev, chain from entry where seq > ? order by seq", (since,)):
        *head, body, salt, before, chain = row
        if head[0] != expected or before != prev or chain != link(prev, head):
            return [f"entry {head[0]} of the record does not follow the one before it"]
        if body is not None and hashlib.sha256(salt + body.encode()).digest() != head[-1]:
            return [f"entry {head[0]} of the record does not say what was recorded"]
        prev, expected = chain, expected + 1
    return []


def marks(text):
    """What the mark says, by line: how many commits there were, the newest entry and its link of the chain. A line whose own
    digest does not agree was being written; a mark of one plain line counts no commits."""
    for line in text.splitlines():
        fields = line.split()
        if len(fields) == 2:
            yield 0, int(fields[0]), fields[1]
        elif len(fields) == 4 and hashlib.sha256(" ".join(fields[:3]).encode()).hexdigest().startswith(fields[3]):
            yield int(fields[0]), int(fields[1]), fields[2]


def of_mark(db, text):
    """The mark may lag behind, never lead: what it names must be there."""
    said = list(marks(text))
    losses = [f"record.mark cannot be read: {text[:200]!r}"] if text.strip() and not said else []
    for commits, seq, chain in said:
        found = db.execute("select chain from entry where seq = ?", (seq,)).fetchone()
        if seq and (found is None or found[0].hex() != chain):
            losses.append(f"record.mark names entry {seq}, which is not in the database")
        if commits and commits > db.execute("select max(n) from commits").fetchone()[0]:
            losses.append(f"record.mark counts {commits} commits, more than the database has had")
    return losses


def attachment(data, digest):
    return Path(data) / "attachments" / digest[:2] / digest


def of_files(db, read):
    """Whether each file that a row speaks of is whole. `read` gives the bytes of a digest, or None."""
    losses = []
    for digest, size in db.execute("select sha256, bytes from attachment"):
        content = read(digest)
        if content is None:
            losses.append(f"attachment {digest} is spoken of and not there")
        elif len(content) != size or hashlib.sha256(content).hexdigest() != digest:
            losses.append(f"attachment {digest} is damaged")
    return losses


def of_folder(data, acknowledged=(), unsure=(), since=0):
    """Everything, of a practice in a folder. A server that was stopped or runs beside."""
    def read(digest):
        file = attachment(data, digest)
        return file.read_bytes() if file.exists() else None
    mark = Path(data) / "record.mark"
    # Read before the database: the server may go on meanwhile, and the mark may lag but never lead.
    marked = mark.read_text() if mark.exists() else ""
    with opened(data) as db:
        return [*of_database(db), *of_writes(db, acknowledged, unsure), *of_chain(db, since), *of_mark(db, marked),
                *of_files(db, read)]
