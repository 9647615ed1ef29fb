"""Kills the server at any moment while several clients write, and looks for what was acknowledged. 0 may be lost."""

import http.client
import random
import statistics
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor

import arrivals
import practice
import proof
from writes import Writer

CLIENTS = 6
# Looked at again in every cycle, of what earlier cycles wrote; the last look takes all.
AGAIN = 60
FOLLOWED = 3
# After so many cycles the visits are full enough.
FRESH = 25


class Round:
    """What came of the forms between a start and a kill."""

    def __init__(self):
        self.acknowledged, self.unsure, self.refused = [], [], []
        # Pictures of equipment: those answered with success, and those that were under way.
        self.arrived, self.halfway = [], []


def write_on(seat, writer, round_):
    """Writes until the server is gone."""
    while True:
        write = writer.any()
        try:
            status, body = write.send(seat)
        except (OSError, http.client.HTTPException):
            round_.unsure.append(write)
            return
        if status == 303:
            round_.acknowledged.append(write)
        else:
            round_.refused.append(f"{write.kind} was answered {status}: {practice.words(body)}")
            return


class Backups:
    """A copy that is made beside the writes, where the program can; the kill may meet it as well."""

    def __init__(self, folder, data):
        self.able, self.folder, self.data = practice.has("backup") and practice.has("restore"), folder, data
        self.file, self.process = folder / "copy.backup", None
        self.made = self.killed = 0

    def begin(self):
        if self.able:
            self.file.unlink(missing_ok=True)
            command = [practice.PROGRAM, "backup", str(self.file), "--data", str(self.data)]
            self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)

    def end(self, kill, acknowledged):
        """A backup that says that it was made holds what was acknowledged before it began."""
        if self.process is None:
            return []
        if kill:
            self.process.kill()
        _, said = self.process.communicate(timeout=practice.PATIENCE)
        code, self.process = self.process.returncode, None
        if code not in (0, -9):
            return [f"backup ended with {code}: {said.strip()}"]
        self.made += code == 0
        self.killed += code != 0
        return self.restored(acknowledged) if self.file.exists() else ["backup made no file"] if code == 0 else []

    def restored(self, acknowledged):
        with practice.scratch() as folder:
            done = practice.run("restore", self.file, "--data", folder / "again", typed="\n")
            if done.returncode != 0:
                return [f"restore ended with {done.returncode}: {done.stderr.strip()}"]
            return [f"restored: {loss}" for loss in proof.of_folder(folder / "again", acknowledged)]


def repeat(seat, round_):
    """Sends again what was not answered: each is taken once, whatever became of the first send."""
    losses = []
    for write in round_.unsure:
        status, body = write.send(seat)
        if status != 303:
            losses.append(f"{write.kind} {write.submission} sent again was answered {status}: {practice.words(body)}")
        else:
            round_.acknowledged.append(write)
    return losses


def come_again(server, round_):
    """Equipment sends again what was not answered."""
    if not round_.halfway:
        return []
    answers = list(arrivals.send(server, round_.halfway))
    round_.arrived += [arrival for arrival, taken in answers if taken]
    if len(answers) == len(round_.halfway) and all(taken for _, taken in answers):
        return []
    return [f"a picture that was under way is refused when it is sent again: {round_.halfway[0].submission}"]


def follow(seat, writes):
    """Where the answer led, the page says what was written."""
    losses = []
    for write in writes:
        status, _, body = seat.get(write.location.split("#")[0])
        if status != 200 or write.words.encode() not in body:
            losses.append(f"{write.kind} led to {write.location}, answered {status} without what was written")
    return losses


def look(data, round_, earlier, since, whole):
    """What the last round and some of the earlier ones have lost, and how far the record has come."""
    with proof.opened(data) as db:
        losses = proof.of_writes(db, [*round_.acknowledged, *round_.arrived, *earlier], [*round_.unsure, *round_.halfway])
        losses += proof.of_chain(db, since)
        losses += proof.of_database(db) if whole else []
        return losses, db.execute("select coalesce(max(seq), 0) from entry").fetchone()[0]


def main():
    given = practice.options(__doc__, cycles=(50, 1000))
    chance = random.Random(given.seed)
    losses, acknowledged, waits, unanswered, pictures, since = [], [], [], 0, 0, 0
    with practice.scratch() as folder, ThreadPoolExecutor(CLIENTS + 1) as pool:
        small = practice.make(folder / "practice")
        writer, backups = Writer(small, chance, 60_000), Backups(folder, small.data)
        server = practice.Server(small.data, more=arrivals.SERVED)
        server.ready()
        try:
            for cycle in range(given.cycles):
                round_, seat = Round(), small.seat(server)
                if cycle % FRESH == FRESH - 1:
                    small.visits = [practice.ident(seat.led_to(f"/horses/{small.horse}/visits")) for _ in small.visits]
                with_backup = cycle % 10 == 5
                before = list(acknowledged)
                if with_backup:
                    backups.begin()
                hands = [pool.submit(write_on, seat, writer, round_) for _ in range(CLIENTS)]
                if arrivals.AE:
                    hands.append(pool.submit(arrivals.arrive, server, round_))
                time.sleep(chance.uniform(0.02, 0.4))
                kill_backup = chance.random() < 0.5
                server.kill()
                for hand in hands:
                    hand.result()
                if with_backup:
                    losses += backups.end(kill_backup, before)
                server = practice.Server(small.data, more=arrivals.SERVED)
                waits.append(server.ready())
                seat = small.seat(server)
                earlier = chance.sample(acknowledged, min(AGAIN, len(acknowledged)))
                unanswered += len(round_.unsure)
                losses += round_.refused
                lost, since = look(small.data, round_, earlier, since, whole=cycle < 50 or cycle % 10 == 9)
                losses += lost
                losses += repeat(seat, round_) + come_again(server, round_)
                acknowledged += round_.acknowledged + round_.arrived
                pictures += len(round_.arrived)
                pages = [write for write in acknowledged[-40:] if write.kind in ("finding", "client", "contact", "photo")]
                losses += follow(seat, pages[-FOLLOWED:])
                if losses:
                    break
        finally:
            server.kill()
        with practice.serving(small.data):
            losses += proof.of_folder(small.data, acknowledged)
        if practice.has("check"):
            done = practice.run("check", "--data", small.data)
            if done.returncode != 0:
                losses.append(f"check ended with {done.returncode}: {done.stdout.strip()} {done.stderr.strip()}")
    figures = {"kills": len(waits), "acknowledged": len(acknowledged), "of them pictures": pictures if arrivals.AE else "none without pynetdicom",
               "unanswered": unanswered, "lost": len(losses),
               "ready median s": f"{statistics.median(waits):.2f}", "max s": f"{max(waits):.2f}",
               "backups": f"{backups.made} made {backups.killed} killed" if backups.able else "not in this program",
               "seed": given.seed}
    practice.finish("kill", figures, losses)


if __name__ == "__main__":
    main()
