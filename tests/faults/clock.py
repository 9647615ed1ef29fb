"""A clock that jumps while the server runs, by hours and by years, ahead and back. No entry is refused, the record keeps the
order in which it came, nobody is signed in for ever or shut out for ever, and the server answers."""

import os
import random
import time
from pathlib import Path

import practice
import proof
from writes import Writer

HOUR, YEAR = 3600, 365 * 86400
JUMPS = [0, 2 * HOUR, 0, -2 * HOUR, 0, 10 * YEAR, 0, -10 * YEAR, 0, 10 * YEAR, -10 * YEAR, 0]
COLLEAGUE = "Vala Testing"
# An answer that takes longer waits for a clock.
PROMPT = 10
# As many attempts as make an account wait, and the longest wait that it may have, in seconds.
WRONG, LONGEST_WAIT = 7, 15 * 60


class Clock:
    """The time of one program, as far off as a file says. Its steady clock runs on: that is what a jump is."""

    def __init__(self, folder):
        self.file = folder / "clock"
        self.jump(0)
        library = next(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1"), None)
        if library is None:
            raise SystemExit("clock: libfaketime is not installed (Debian: faketime)")
        self.env = {"LD_PRELOAD": str(library), "FAKETIME_TIMESTAMP_FILE": str(self.file), "FAKETIME_NO_CACHE": "1",
                    "FAKETIME_DONT_FAKE_MONOTONIC": "1"}

    def jump(self, seconds):
        aside = self.file.with_suffix(".new")
        aside.write_text(f"{seconds:+d}\n")
        os.replace(aside, self.file)


def prompt(losses, what, ask):
    """The answer to one question; late is lost."""
    began = time.monotonic()
    answer = ask()
    took = time.monotonic() - began
    if took > PROMPT:
        losses.append(f"{what} took {took:.0f} s")
    return answer


def signed_in(seat):
    """Whether this browser sees a page, and not the door."""
    return seat.get("/")[0] == 200


class Practice:
    """One server whose clock jumps."""

    def __init__(self, small, clock, server, losses):
        self.small, self.clock, self.server, self.losses = small, clock, server, losses

    def entries(self, jumps, chance):
        """At each jump somebody enters something, signed in anew where the jump has shut them out."""
        seat, writer, sent = self.small.seat(self.server), Writer(self.small, chance, 5_000), []
        for jump in jumps:
            self.clock.jump(jump)
            where = f"at {jump / HOUR:+.1f} h"
            if prompt(self.losses, f"the health {where}", lambda: practice.ask(self.server, "GET", "/healthz"))[2] != b"ok":
                self.losses.append(f"not healthy {where}")
            if not prompt(self.losses, f"the day {where}", lambda: signed_in(seat)):
                seat = practice.Seat(self.server)
            for write in (writer.note(), writer.finding(), writer.photo()):
                status, body = prompt(self.losses, f"{write.kind} {where}", lambda: write.send(seat))
                if status == 303:
                    sent.append(write)
                else:
                    self.losses.append(f"{write.kind} {where} was answered {status}: {practice.words(body)}")
        self.clock.jump(0)
        self._order(sent)
        self.losses += proof.of_folder(self.small.data, sent)
        return len(sent)

    def _order(self, sent):
        with proof.opened(self.small.data) as db:
            said = [row[0] for row in db.execute("select body ->> 'text' from entry order by seq")]
        places = [next((at for at, text in enumerate(said) if write.words in text), None) for write in sent]
        if places != sorted(places, key=lambda place: (place is None, place)):
            self.losses.append("the record is not in the order in which its entries came")

    def sessions(self):
        """A colleague stays signed in over a jump there and back; somebody who came in meanwhile does not stay for ever."""
        self.clock.jump(0)
        before = practice.Seat(self.server, name=COLLEAGUE)
        for jump in (2 * HOUR, -2 * HOUR, 10 * YEAR, -10 * YEAR):
            self.clock.jump(jump)
            practice.ask(self.server, "GET", "/healthz")
            self.clock.jump(0)
            if not signed_in(before):
                self.losses.append(f"a jump of {jump / HOUR:+.0f} h and back signed out a browser that nobody touched")
                before = practice.Seat(self.server, name=COLLEAGUE)
        self.clock.jump(10 * YEAR)
        meanwhile = practice.Seat(self.server)
        self.clock.jump(0)
        if not signed_in(before):
            self.losses.append("who came in while the clock was ahead has signed out a colleague, for good")
        self.clock.jump(13 * HOUR)
        if signed_in(meanwhile):
            self.losses.append("who came in while the clock was ahead is still signed in 13 h after it went back, untouched")
        self.clock.jump(0)

    def guesses(self):
        """Who mistyped a password while the clock was ahead waits no longer than anybody else."""
        self.clock.jump(10 * YEAR)
        fields = {"Content-Type": "application/x-www-form-urlencoded"}
        for number in range(WRONG):
            body = f"submission=00000000-0000-4000-8000-{number:012}&name={practice.NAME.replace(' ', '+')}&password=wrong".encode()
            practice.ask(self.server, "POST", "/sign-in", body, fields)
        self.clock.jump(LONGEST_WAIT + 60)
        try:
            practice.sign_in(self.server)
        except AssertionError as refused:
            self.losses.append(f"mistyped while the clock was ahead, and shut out {LONGEST_WAIT + 60} s after it went back: {refused}")
        self.clock.jump(0)


def main():
    given = practice.options(__doc__, jumps=(len(JUMPS), 400))
    chance, losses = random.Random(given.seed), []
    jumps = [*JUMPS, *(chance.choice([0, 1, -1]) * chance.choice([HOUR, 2 * HOUR, YEAR, 10 * YEAR]) for _ in range(given.jumps))]
    with practice.scratch() as folder:
        clock, small = Clock(folder), practice.make(folder / "practice", visits=4)
        added = practice.run("staff", "add", COLLEAGUE, "--role", "vet", "--data", small.data, typed=practice.PASSWORD + "\n")
        if added.returncode != 0:
            raise AssertionError(f"no colleague was added: {added.stderr}")
        with practice.serving(small.data, env=clock.env) as server:
            jumping = Practice(small, clock, server, losses)
            entries = jumping.entries(jumps[:given.jumps], chance)
        # Each with a server of its own: a minute takes twenty sign-ins.
        with practice.serving(small.data, env=clock.env) as server:
            Practice(small, clock, server, losses).sessions()
        with practice.serving(small.data, env=clock.env) as server:
            Practice(small, clock, server, losses).guesses()
    practice.finish("clock", {"jumps": given.jumps, "entries": entries, "lost": len(losses), "seed": given.seed}, losses)


if __name__ == "__main__":
    main()
