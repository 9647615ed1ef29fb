"""Cuts the power: a traced server's writes are replayed up to any moment, only what was synced is kept for certain, and what
is left is looked at as after a kill. Also: each answer that says `taken` comes after the sync of its commit."""

import contextlib
import os
import random
import sqlite3
import threading
import uuid
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import cut
import practice
import proof
import traced
from writes import Writer

CLIENTS, WRITES = 4, 30
# One image in so many is also served by the program.
SERVED = 75
FORGOTTEN = 12
FRAME_HEAD, PAGE = 24, 4096


def write_traced(small, log, chance):
    """Some clients write until each has had its turn; all is answered. Two of them keep the same file at the same time."""
    with practice.serving(small.data, [*traced.UNDER, str(log)]) as server:
        server.ready()
        seat, writer, both = small.seat(server), Writer(small, chance, 60_000), threading.Barrier(2)
        same = writer.photo()

        def hand(number):
            sent = []
            for turn in range(WRITES):
                write = writer.any()
                if turn % 10 == 5 and number < 2:
                    both.wait(practice.PATIENCE)
                    write = writer.photo(twin(same, turn))
                sent.append(write)
                status, body = write.send(seat)
                if status != 303:
                    raise AssertionError(f"{write.kind} was answered {status}: {practice.words(body)}")
            return sent

        with ThreadPoolExecutor(CLIENTS) as pool:
            hands = [pool.submit(hand, number) for number in range(CLIENTS)]
            return [write for one in hands for write in one.result()]


def twin(photo, turn):
    """The same bytes for whoever asks in the same turn."""
    return photo.data + bytes([turn])


class Image:
    """What a cut left, as a practice to be looked at."""

    def __init__(self, files, data, folder):
        self.files, self.data, self.folder = files, str(data), Path(folder)
        for name in ("practice.sqlite", "practice.sqlite-wal"):
            file = self.folder / name
            file.unlink(missing_ok=True)
            content = files.get(f"{self.data}/{name}")
            if content is not None:
                file.write_bytes(content)
        (self.folder / "practice.sqlite-shm").unlink(missing_ok=True)

    def losses(self, acknowledged, unsure):
        mark = bytes(self.files.get(f"{self.data}/record.mark", b"")).decode(errors="replace")
        read = lambda digest: self.files.get(str(proof.attachment(self.data, digest)))
        try:
            with contextlib.closing(sqlite3.connect(self.folder / "practice.sqlite")) as db:
                return [*proof.of_database(db), *proof.of_writes(db, acknowledged, unsure), *proof.of_chain(db),
                        *proof.of_mark(db, mark), *proof.of_files(db, read)]
        except (sqlite3.Error, ValueError) as wrong:
            return [f"the database cannot be read: {wrong}"]

    def served(self, acknowledged, unsure):
        """The same, by the program itself on the whole folder."""
        with practice.scratch() as folder:
            for path, content in self.files.items():
                file = folder / os.path.relpath(path, self.data)
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(content)
            try:
                with practice.serving(folder) as server:
                    server.ready()
                    return proof.of_folder(folder, acknowledged, unsure)
            except practice.Refused as refused:
                return [f"the server does not start: {refused}"]


def cuts_at(events, count, chance):
    """Moments to cut at: half of them anywhere, half just after an answer has gone out."""
    after = [at + 1 for at, event in enumerate(events) if event.what == "said"]
    return sorted(chance.choice(after) if chance.random() < 0.5 else chance.randrange(1, len(events)) for _ in range(count))


def replay(base, events, moments, sent, chance, forget_syncs=False, served=0):
    """Cuts at each moment; for each cut what was lost."""
    by_number = {write.submission: write for write in sent}
    disk, done, found = cut.Disk(base), 0, []
    with practice.scratch() as folder:
        acknowledged = {}
        for number, moment in enumerate(moments):
            for event in events[done:moment]:
                disk.take(event, forget_syncs)
                if event.what == "said" and event.submission in by_number:
                    acknowledged[event.submission] = by_number[event.submission]
            done = moment
            policy = chance.choice(cut.DATA), chance.choice(cut.NAMES)
            image = Image(disk.left(chance, *policy), base, folder)
            open_ = [write for write in sent if write.submission not in acknowledged]
            losses = image.losses(list(acknowledged.values()), open_)
            if not losses and served and number % served == served - 1:
                losses = image.served(list(acknowledged.values()), open_)
            found.append([f"cut {number} at {moment} ({policy[0]} of the data, {policy[1]} of the names): {loss}" for loss in losses])
    return found


def unsynced_answers(events, sent, known):
    """Answers before which no sync of the write-ahead log followed their commit."""
    wal = {number for event in events if event.what == "name" for path, number in event.names if path.endswith("-wal")}
    wal |= {number for path, number in known.items() if path.endswith("-wal")}
    frames = [event for event in events if event.what == "write" and event.file in wal]
    syncs = [event for event in events if event.what == "sync" and event.file in wal]
    spoken = {event.submission: event for event in events if event.what == "said"}
    losses = []
    for write in sent:
        said, key = spoken.get(write.submission), uuid.UUID(write.submission).bytes
        if said is None:
            losses.append(f"no answer to {write.kind} {write.submission} is in the trace")
            continue
        end = commit_end(frames, key)
        if end is None or not any(end < sync.begins and sync.ends < said.begins for sync in syncs):
            losses.append(f"{write.kind} {write.submission} was answered before its commit was synced")
    return losses


def commit_end(frames, key):
    """When the last page of the commit was written that first brought these bytes into the log."""
    first = next((at for at, frame in enumerate(frames) if len(frame.data) == PAGE and key in frame.data), None)
    if first is None:
        return None
    for at in range(first - 1, len(frames) - 1):
        head = frames[at].data
        # The size of the database stands in the head of a commit's last frame, and 0 in the others.
        if len(head) == FRAME_HEAD and int.from_bytes(head[4:8], "big"):
            return frames[at + 1].ends
    return None


def main():
    given = practice.options(__doc__, {"forget-syncs": "leave the syncs out of the trace: must report losses"}, cuts=(300, 10_000))
    chance = random.Random(given.seed)
    with practice.scratch() as folder:
        small = practice.make(folder / "practice")
        base = small.copy(folder / "base")
        sent = write_traced(small, folder / "log", chance)
        known = cut.Disk(base.data).known()
        events = traced.replayed(base.data, small.data, known, folder / "log")
        losses = unsynced_answers(events, sent, known)
        early = len(losses)
        moments = cuts_at(events, given.cuts, chance)
        found = replay(base.data, events, moments, sent, chance, given.forget_syncs, SERVED)
        lost = [loss for one in found for loss in one]
        unsafe = replay(base.data, events, moments[-FORGOTTEN:], sent, chance, True)
        if not any(unsafe):
            losses.append("a trace without its syncs loses nothing: this test cannot fail")
    syncs = sum(event.what == "sync" for event in events)
    figures = {"cuts": given.cuts, "with losses": sum(map(bool, found)), "answers": len(sent), "not synced before": early,
               "syncs": syncs, "writes": sum(event.what == "write" for event in events),
               "without syncs lost in": f"{sum(map(bool, unsafe))} of {len(unsafe)}", "seed": given.seed}
    practice.finish("power", figures, losses + lost)


if __name__ == "__main__":
    main()
