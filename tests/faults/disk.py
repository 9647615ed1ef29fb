"""A disk that is full, that may not be written, a folder that is not ours or not there: each is said in words, nothing that
was acknowledged is lost, reading goes on, and writing goes on as soon as there is room."""

import contextlib
import os
import random
import shutil
import sqlite3
import subprocess
import time
from pathlib import Path

import practice
import proof
from writes import Writer

SIZE_MB = 8
NOBODY = 65534
WORDS_OF_A_FULL_DISK = ("full", "room", "space")


@contextlib.contextmanager
def small_disk(folder):
    """A disk of a few megabytes, or nothing where this machine does not let us make one."""
    folder.mkdir()
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={SIZE_MB}m", "tmpfs", folder], capture_output=True, text=True)
    if done.returncode != 0:
        yield None
        return
    try:
        yield folder
    finally:
        subprocess.run(["umount", folder], check=True)


def fill(disk):
    """Takes all the room there is."""
    filler = disk / "filler"
    with filler.open("wb", buffering=0) as file, contextlib.suppress(OSError):
        while True:
            file.write(bytes(4096))
    return filler


def whole(text):
    """One sentence that says what to do, not a trace of the program."""
    text = text.strip()
    return text and len(text.splitlines()) <= 2 and "panicked" not in text


class Full:
    """Writes on a full disk, and after it."""

    def __init__(self, practice_, losses):
        self.small, self.losses, self.acknowledged, self.refused = practice_, losses, [], []

    def send(self, seat, write):
        status, body = write.send(seat)
        (self.acknowledged if status == 303 else self.refused).append(write)
        return status, body

    def run(self, disk, chance):
        idle = self._idle()
        with practice.serving(self.small.data) as server:
            seat, writer = self.small.seat(server), Writer(self.small, chance, 40_000)
            for _ in range(20):
                self.send(seat, writer.any())
            # It leaves a line for the next page that this browser asks for.
            self.send(seat, writer.booking())
            self._refuses(disk, seat, writer)
            self._reads("with a line waiting to be shown", seat)
            self._reads("after two idle minutes", practice.Seat(server, idle))
            (disk / "filler").unlink()
            self._goes_on(seat, writer)
        self.losses += proof.of_folder(self.small.data, self.acknowledged, self.refused)

    def _idle(self):
        """Another browser that nobody has touched for two minutes."""
        with practice.serving(self.small.data) as server:
            cookie = practice.sign_in(server)
        with contextlib.closing(sqlite3.connect(self.small.data / "practice.sqlite")) as db, db:
            db.execute("update session set seen_at = seen_at - 120000 where created_at = (select max(created_at) from session)")
        return cookie

    def _reads(self, how, seat):
        for path in ("/", f"/visits/{self.small.visits[0]}/exam", f"/clients/{self.small.client}"):
            status, _, body = seat.get(path)
            if status != 200:
                self.losses.append(f"{path} cannot be read while the disk is full, {how}: {status} {practice.words(body)}")

    def _refuses(self, disk, seat, writer):
        """Fills the disk behind its back; sooner or later nothing can be written."""
        fill(disk)
        for turn in range(60):
            write = writer.photo() if turn % 6 == 5 else writer.any()
            status, body = self.send(seat, write)
            if status == 303:
                fill(disk)
                continue
            text = practice.words(body)
            if status < 500 or not text:
                self.losses.append(f"{write.kind} on a full disk was answered {status}: {text}")
            if write.kind in ("note", "finding", "contact", "client") and write.words.encode() not in body:
                self.losses.append(f"{write.kind} on a full disk: what was typed is not on the page ({status}: {text})")
        if not self.refused:
            self.losses.append("the disk never was full: this test cannot fail")

    def _goes_on(self, seat, writer):
        for write in [*self.refused[:10], writer.note(), writer.photo()]:
            status, body = self.send(seat, write)
            if status != 303:
                self.losses.append(f"{write.kind} with room again was answered {status}: {practice.words(body)}")
        self.refused = [write for write in self.refused if write not in self.acknowledged]


def cold_start(data, disk, acknowledged, losses):
    """A start without any room, after a kill and after a stop: it says so, or serves what can be read."""
    for after_a_stop in (False, True):
        if after_a_stop:
            # It takes the files away that whoever looked at the practice since has made again.
            with practice.serving(data):
                pass
        filler = fill(disk)
        try:
            with practice.serving(data) as server:
                if practice.ask(server, "GET", "/sign-in")[0] != 200:
                    losses.append("started on a full disk, and nothing can be read")
        except practice.Refused as refused:
            if refused.code != 1 or not whole(refused.words) or not any(word in refused.words for word in WORDS_OF_A_FULL_DISK):
                losses.append(f"a start on a full disk does not say that it is full: {refused}")
        filler.unlink()
    with practice.serving(data):
        losses += proof.of_folder(data, acknowledged)


def names(folder):
    return sorted(str(file) for file in Path(folder).rglob("*"))


def second(data, losses):
    """A second program on one folder is refused at once; of a few tries the quickest, since the machine has other work."""
    took = []
    for _ in range(3):
        began = time.monotonic()
        refused("a second program on one folder", data, losses)
        took.append(time.monotonic() - began)
    if min(took) > 1:
        losses.append(f"a second program on one folder was refused after {min(took):.1f} s only")


def refused(what, data, losses, under=()):
    """A start that has to be refused: exit 1, a sentence, and nothing made."""
    before = names(data)
    try:
        with practice.serving(data, under):
            losses.append(f"{what} was served")
    except practice.Refused as refusal:
        if refusal.code != 1 or not whole(refusal.words):
            losses.append(f"{what} {refusal}")
    if names(data) != before:
        losses.append(f"{what}: something was made")


def as_nobody(room):
    """How the program is run by somebody who owns nothing; a copy where they may not reach it."""
    room.chmod(0o755)
    command = ["setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups"]
    if subprocess.run([*command, practice.PROGRAM, "--version"], capture_output=True).returncode != 0:
        shutil.copy2(practice.PROGRAM, room / "limbledger")
        practice.PROGRAM = str(room / "limbledger")
    return command


def main():
    given = practice.options(__doc__)
    chance, losses, figures = random.Random(given.seed), [], {}
    with practice.scratch() as folder:
        first = practice.make(folder / "practice", visits=4)
        with practice.serving(first.data):
            second(first.data, losses)
        file = folder / "file"
        file.write_text("no folder")
        refused("a file in place of a folder", file, losses)
        refused("a folder in a folder that cannot be", file / "in" / "it", losses)
        for command in [["export", "archive", "--to", folder / "all.zip"], *([["check"]] if practice.has("check") else [])]:
            done = practice.run(*command, "--data", folder / "nowhere")
            if done.returncode != 1 or not whole(done.stdout + done.stderr) or (folder / "nowhere").exists():
                losses.append(f"{command[0]} of a folder that is not there ended with {done.returncode}: {done.stderr}")
        if os.getuid() != 0:
            figures["skipped"] = "full and read-only disks and others' folders need root"
        else:
            with small_disk(folder / "disk") as disk:
                if disk is None:
                    figures["skipped"] = "this machine lets nobody mount a disk"
                else:
                    figures |= with_disk(first, disk, chance, losses)
            foreign = first.copy(folder / "foreign")
            foreign.data.chmod(0o700)
            refused("somebody else's folder", foreign.data, losses, as_nobody(folder))
            foreign.data.chmod(0o755)
            refused("somebody else's folder that can be read", foreign.data, losses, as_nobody(folder))
    practice.finish("disk", {**figures, "lost": len(losses), "seed": given.seed}, losses)


def with_disk(first, disk, chance, losses):
    full = Full(first.copy(disk / "data"), losses)
    full.run(disk, chance)
    cold_start(full.small.data, disk, full.acknowledged, losses)
    subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
    refused("a disk that may not be written", full.small.data, losses)
    subprocess.run(["mount", "-o", "remount,rw", disk], check=True)
    with practice.serving(full.small.data):
        losses += proof.of_folder(full.small.data, full.acknowledged)
    return {"acknowledged": len(full.acknowledged), "refused in words": len(full.refused)}


if __name__ == "__main__":
    main()
