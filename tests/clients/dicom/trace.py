"""The system calls of the program, as strace tells them: when each began and when it was done."""

import re
from dataclasses import dataclass

#: What is asked of strace: files by their paths, sockets by their ends, and how each write begins.
OPTIONS = ["-f", "-yy", "-xx", "-s", "1",
           "-e", "trace=openat,write,pwrite64,writev,sendto,sendmsg,fsync,fdatasync,rename,renameat,renameat2,linkat"]
CALL = re.compile(r"^(\d+) +(\w+)\((.*)$")
RESUMED = re.compile(r"^(\d+) +<\.\.\. (\w+) resumed>(.*)$")
PATH = re.compile(r"<((?:[^<>]|->)*)>")
QUOTED = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')


@dataclass
class Call:
    name: str
    #: Lines of the trace at which it began and was done.
    began: int
    done: float
    told: str

    @property
    def path(self):
        """What the first file number stands for: a path, which is in hex too."""
        found = PATH.search(self.told)
        return re.sub(r"\\x([0-9a-f]{2})", lambda byte: chr(int(byte.group(1), 16)), found.group(1)) if found else ""

    @property
    def quoted(self):
        """What stands in quotes: paths, or the first bytes of what is written."""
        return [bytes.fromhex(text.replace("\\x", "")) for text in QUOTED.findall(self.told)]


def read(path):
    """The calls in the order in which they began. One that is never done has no end."""
    calls, open_ = [], {}
    with open(path, encoding="utf-8", errors="replace") as lines:
        for number, line in enumerate(lines):
            if found := RESUMED.match(line):
                thread, _, rest = found.groups()
                if call := open_.pop(thread, None):
                    call.done, call.told = number, call.told + rest
            elif found := CALL.match(line):
                thread, name, told = found.groups()
                call = Call(name, number, number, told)
                if "<unfinished ...>" in told:
                    call.done, open_[thread] = float("inf"), call
                calls.append(call)
    return calls


def unsafe(calls, answer, since, names):
    """Why an answer was given too soon: what was not on the disk when it began. Empty when all was.

    `answer` is the call that tells of success, `since` the line after which its object came, and `names` the name of the
    object's file and of its folder.
    """
    name, folder = names
    before = [call for call in calls if since < call.began and call.done < answer.began]
    named = [call for call in before if call.name.startswith(("rename", "link")) and call.quoted[-1].decode().endswith(name)]
    if not named:
        return ["the file has no name yet"]
    aside = named[0].quoted[0].decode()
    writes = [call for call in calls if call.name in ("write", "pwrite64", "writev") and call.path == aside]
    syncs = [call for call in before if call.name in ("fsync", "fdatasync")]
    wal = [call for call in before if call.name == "pwrite64" and call.path.endswith("-wal") and call.began > named[0].done]
    missing = []
    if not writes or not any(sync.path == aside and sync.began > writes[-1].done for sync in syncs):
        missing.append("the file is not synced after its last byte")
    if not any(sync.path.endswith(folder) and sync.began > named[0].done for sync in syncs):
        missing.append("the name of the file is not synced")
    if not any(sync.path.endswith("-wal") and any(write.done < sync.began for write in wal) for sync in syncs):
        missing.append("the row is not synced")
    return missing
