"""What a traced server did to its files and said on its connections, read from the words of `strace -f -xx`.

A call has a beginning and an end. What it writes may lie on the disk from its beginning on; a sync answers, at its end, for
what had ended before it began."""

import re
from dataclasses import dataclass

CALLS = "openat,close,write,writev,pwrite64,ftruncate,rename,renameat,renameat2,unlink,unlinkat,mkdir,mkdirat,fsync,fdatasync," \
        "sendto,recvfrom,accept4"
UNDER = ["strace", "-f", "-qq", "-xx", "-s", "10000000", "--seccomp-bpf", "-e", "signal=none", "-e", f"trace={CALLS}", "-o"]

LINE = re.compile(r"(\d+) +(.*)", re.S)
BEGUN = re.compile(r"(.*?) *<unfinished \.\.\.>$", re.S)
ENDED = re.compile(r"<\.\.\. (\w+) resumed>(.*)", re.S)
WHOLE = re.compile(r"(\w+)\((.*)\) += (-?\d+)", re.S)
TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')
SUBMISSION = re.compile(rb'submission(?:=|"\r\n\r\n)([0-9a-f-]{36})')
NUMBERS = re.compile(r"\d+")


@dataclass
class Call:
    begins: int
    ends: int
    name: str
    said: str
    result: int

    def texts(self):
        return [bytes.fromhex(text.replace("\\x", "")) for text in TEXT.findall(self.said)]

    def first(self):
        """The number it begins with: nearly always whom it is about."""
        return int(NUMBERS.match(self.said).group())


def calls(file):
    """All calls that succeeded, each with the lines it began and ended on."""
    half, found = {}, []
    with open(file, encoding="ascii", errors="replace") as lines:
        for at, line in enumerate(lines):
            who, words = LINE.match(line.rstrip("\n")).groups()
            if begun := BEGUN.match(words):
                half[who] = (at, begun.group(1))
                continue
            begins = at
            if ended := ENDED.match(words):
                if who not in half:
                    continue
                begins, said = half.pop(who)
                words = said + ended.group(2)
            if (whole := WHOLE.match(words)) and int(whole.group(3)) >= 0:
                found.append(Call(begins, at, whole.group(1), whole.group(2), int(whole.group(3))))
    return found


@dataclass
class Event:
    """`what` is write, cut, name, sync or said; `at` is when it shows, `begins` and `ends` bound the call."""

    at: int
    begins: int
    ends: int
    what: str
    # A file is known by a number that it keeps under any name, a folder by its path.
    file: object = None
    offset: int = 0
    data: bytes = b""
    # Of a name event: what each path stands for from here on; None is nothing.
    names: tuple = ()
    submission: str = ""


class Reader:
    """Follows descriptors and names through the calls, and makes events of what concerns one folder."""

    def __init__(self, folder, known):
        self.folder = str(folder)
        # Files that were there before: path to number.
        self.names = dict(known)
        self.next = max(known.values(), default=0) + 1
        self.files, self.places, self.lines, self.heard = {}, {}, set(), {}
        self.events = []

    def follow(self, found):
        # A descriptor is there when its opening ends and gone when its closing begins.
        when = lambda call: call.ends if call.name in ("openat", "accept4") else call.begins
        for call in sorted(found, key=when):
            handler = getattr(self, call.name, None)
            if handler:
                handler(call)
        self.events.sort(key=lambda event: event.at)
        return self.events

    def _add(self, call, what, at=None, **more):
        self.events.append(Event(call.begins if at is None else at, call.begins, call.ends, what, **more))

    def _name(self, call, *names):
        self.names.update(names)
        self._add(call, "name", names=names)

    def openat(self, call):
        path = call.texts()[0].decode()
        if not path.startswith(self.folder):
            return
        if path == self.folder or "O_DIRECTORY" in call.said or isinstance(self.names.get(path), str):
            self.files[call.result] = path
            return
        number = self.names.get(path)
        if number is None:
            if "O_CREAT" not in call.said:
                # A folder that was there before and is opened to be synced.
                self.files[call.result] = path
                return
            number, self.next = self.next, self.next + 1
            self._name(call, (path, number))
        elif "O_TRUNC" in call.said:
            self._add(call, "cut", file=number)
        self.files[call.result], self.places[call.result] = number, 0

    def accept4(self, call):
        self.lines.add(call.result)
        self.heard[call.result] = b""

    def close(self, call):
        descriptor = call.first()
        self.files.pop(descriptor, None)
        self.lines.discard(descriptor)

    def recvfrom(self, call):
        if call.first() in self.lines:
            self.heard[call.first()] += b"".join(call.texts())[:2000]

    def pwrite64(self, call):
        if call.first() in self.files:
            self._add(call, "write", file=self.files[call.first()], offset=int(NUMBERS.findall(call.said)[-1]),
                      data=call.texts()[0][:call.result])

    def write(self, call):
        descriptor = call.first()
        if descriptor in self.lines:
            self._said(call)
        elif descriptor in self.places and descriptor in self.files:
            self._add(call, "write", file=self.files[descriptor], offset=self.places[descriptor],
                      data=call.texts()[0][:call.result])
            self.places[descriptor] += call.result

    def _said(self, call):
        descriptor = call.first()
        if descriptor in self.lines and b"".join(call.texts()).startswith(b"HTTP/1.1 303"):
            asked = SUBMISSION.findall(self.heard[descriptor])
            self._add(call, "said", submission=asked[-1].decode() if asked else "")

    writev = sendto = _said

    def ftruncate(self, call):
        if call.first() in self.files:
            self._add(call, "cut", file=self.files[call.first()], offset=int(NUMBERS.findall(call.said)[-1]))

    def fsync(self, call):
        if call.first() in self.files:
            self._add(call, "sync", at=call.ends, file=self.files[call.first()])

    fdatasync = fsync

    def _inside(self, call):
        paths = [text.decode() for text in call.texts()]
        return paths if all(path.startswith(self.folder) for path in paths) else []

    def rename(self, call):
        if paths := self._inside(call):
            old, new = paths
            self._name(call, (new, self.names[old]), (old, None))

    renameat = renameat2 = rename

    def unlink(self, call):
        if paths := self._inside(call):
            self._name(call, (paths[0], None))

    unlinkat = unlink

    def mkdir(self, call):
        if paths := self._inside(call):
            self._name(call, (paths[0], paths[0]))

    mkdirat = mkdir


def replayed(base, folder, known, log):
    """What happened to `folder`, that was a copy of `base` with these files, as if it had happened to `base`."""
    def swap(path, old, new):
        return path.replace(str(old), str(new), 1) if isinstance(path, str) else path
    events = Reader(folder, {swap(path, base, folder): number for path, number in known.items()}).follow(calls(log))
    for event in events:
        event.file = swap(event.file, folder, base)
        event.names = tuple((swap(path, folder, base), swap(number, folder, base)) for path, number in event.names)
    return events
