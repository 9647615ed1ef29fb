"""Cuts the power while an older practice is brought up to date, and while a backup is made: the practice opens afterwards with
all its rows, the copy from before the first migration is whole as soon as one is done, and a backup under its name is whole."""

import contextlib
import os
import random
import sqlite3

import cut
import practice
import traced
from every_write import OLD, contents, old_practice
from writes import Writer


def images(base, events, count, chance):
    """So many cuts: what each was, and the files it left."""
    disk, done = cut.Disk(base), 0
    for moment in sorted(chance.randrange(1, len(events) + 1) for _ in range(count)):
        for event in events[done:moment]:
            disk.take(event)
        done = moment
        policy = chance.choice(cut.DATA), chance.choice(cut.NAMES)
        yield f"at {moment} ({policy[0]} of the data, {policy[1]} of the names)", disk.left(chance, *policy)


def migrations(count, chance, losses):
    with practice.scratch() as folder:
        base, data = folder / "old", folder / "data"
        old_practice(base)
        before = contents(base / "practice.sqlite")
        practice.copy_folder(base, data)
        with practice.serving(data, [*traced.UNDER, str(folder / "log")]) as server:
            server.ready()
        events = traced.replayed(base, data, cut.Disk(base).known(), folder / "log")
        for cut_, files in images(base, events, count, chance):
            with practice.scratch() as left:
                for path, content in files.items():
                    file = left / os.path.relpath(path, base)
                    file.parent.mkdir(parents=True, exist_ok=True)
                    file.write_bytes(content)
                losses += [f"cut {cut_}: {loss}" for loss in of_upgrade(left, before)]
        return len(events)


def of_upgrade(left, before):
    try:
        now = contents(left / "practice.sqlite", "rwc")
    except sqlite3.Error as wrong:
        return [f"the practice cannot be read: {wrong}"]
    # What no later migration made anew is as it was.
    losses = [f"{table} has lost rows" for table, rows in before.items() if table in ("client", "horse", "visit", "entry")
              and len(now.get(table, [])) < len(rows)]
    if max(row[0] for row in now["_sqlx_migrations"]) > OLD:
        copies = list(left.glob("before-migration-*.sqlite"))
        if not any(whole(copy, before) for copy in copies):
            losses.append(f"migrated, and {'no copy from before is whole' if copies else 'the copy from before is not there'}")
    return losses


def whole(copy, before):
    with contextlib.suppress(sqlite3.Error):
        return contents(copy) == before
    return False


def backups(count, chance, losses):
    """A backup that has its name has all its bytes, whatever the moment."""
    with practice.scratch() as folder:
        small = practice.make(folder / "practice", visits=2)
        with practice.serving(small.data) as server:
            seat, writer = small.seat(server), Writer(small, chance, 20_000)
            for make in [writer.photo, writer.note, writer.photo]:
                make().send(seat)
        base, place = folder / "base", folder / "backups"
        base.mkdir()
        place.mkdir()
        file = place / "practice.backup"
        done = practice.run("backup", file, "--data", small.data, under=[*traced.UNDER, folder / "log"])
        if done.returncode != 0:
            losses.append(f"backup ended with {done.returncode}: {done.stderr.strip()}")
            return 0
        made, name = file.read_bytes(), str(base / file.name)
        events = traced.replayed(base, place, cut.Disk(base).known(), folder / "log")
        for cut_, files in images(base, events, count, chance):
            if name in files and files[name] != made:
                losses.append(f"backup cut {cut_}: it has its name and not all its bytes")
        disk = cut.Disk(base)
        for event in events:
            disk.take(event)
        if name not in disk.left(chance, "nothing", "nothing"):
            losses.append("the backup said that it was made, and its name was never synced")
        return len(events)


def main():
    given = practice.options(__doc__, cuts=(60, 2_000))
    chance, losses = random.Random(given.seed), []
    figures = {"cuts": given.cuts, "writes and syncs of a migration": migrations(given.cuts, chance, losses)}
    able = practice.has("backup")
    figures["of a backup"] = backups(given.cuts, chance, losses) if able else "not in this program"
    practice.finish("power_upgrade", {**figures, "lost": len(losses), "seed": given.seed}, losses)


if __name__ == "__main__":
    main()
