"""Two clients keep the same file at the same moment, on a disk that syncs slowly. Whoever is answered may rely on the file's
name, also the one whose file was there already: at each answer the name has been synced, folder by folder."""

import random
import time
from concurrent.futures import ThreadPoolExecutor

import cut
import practice
import proof
import traced
from writes import Writer

# Seconds that each sync takes, and how much of it the second client waits before it sends.
SLOW, APART = 0.3, 0.5


def both(small, log, chance):
    slow = ["-e", f"inject=fsync:delay_enter={int(SLOW * 1_000_000)}"]
    with practice.serving(small.data, [*traced.UNDER[:-1], *slow, "-o", str(log)]) as server:
        server.ready()
        seat, writer = small.seat(server), Writer(small, chance, 20_000)
        # The first commit of a log syncs more than once, which would give the other client's names their time.
        writer.note().send(seat)
        first = writer.photo()
        second = writer.photo(first.data)
        with ThreadPoolExecutor(2) as pool:
            answers = [pool.submit(first.send, seat)]
            time.sleep(SLOW * APART)
            answers.append(pool.submit(second.send, seat))
            for answer in answers:
                status, body = answer.result()
                if status != 303:
                    raise AssertionError(f"a photo was answered {status}: {practice.words(body)}")
        return first, second


def main():
    given = practice.options(__doc__, rounds=(1, 20))
    chance, losses, answers = random.Random(given.seed), [], 0
    with practice.scratch() as folder:
        small = practice.make(folder / "practice")
        for turn in range(given.rounds):
            disk = cut.Disk(small.data)
            sent = both(small, folder / "log", chance)
            path = str(proof.attachment(small.data, sent[0].file))
            numbers = {write.submission: place for write, place in zip(sent, ("first", "second"))}
            for event in traced.Reader(small.data, disk.known()).follow(traced.calls(folder / "log")):
                disk.take(event)
                if event.what == "said" and event.submission in numbers:
                    answers += 1
                    if path not in disk.left(chance, "nothing", "nothing"):
                        losses.append(f"round {turn}: the {numbers[event.submission]} was answered before the file's name was synced")
    if answers != 2 * given.rounds:
        losses.append(f"{answers} answers are in the traces of {given.rounds} rounds")
    practice.finish("twice", {"rounds": given.rounds, "answers": answers, "lost": len(losses), "seed": given.seed}, losses)


if __name__ == "__main__":
    main()
