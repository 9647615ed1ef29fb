"""What is left of a folder when the power goes: what was synced, and of the rest what chance has brought to the disk."""

import os
from dataclasses import replace
from pathlib import Path

SECTOR = 512
# What becomes of what was not synced: nothing comes, any of it, any of it in any order, pieces of any of it, all of it.
DATA = ("nothing", "some", "reordered", "torn", "all")
NAMES = ("nothing", "some", "all")


def apply(content, offset, data):
    if len(content) < offset:
        content.extend(bytes(offset - len(content)))
    content[offset:offset + len(data)] = data


def resize(content, length):
    if len(content) > length:
        del content[length:]
    else:
        content.extend(bytes(length - len(content)))


class Disk:
    """A folder's files as they lie safely on the disk, with what is still on its way there."""

    def __init__(self, folder):
        self.folder = str(folder)
        self.content, self.names, self.waiting, self.unnamed = {}, {}, {}, []
        for number, file in enumerate(sorted(file for file in Path(folder).rglob("*") if file.is_file()), 1):
            self.names[str(file)], self.content[number] = number, bytearray(file.read_bytes())
        self.folders = {str(folder), *(str(file) for file in Path(folder).rglob("*") if file.is_dir())}

    def known(self):
        return dict(self.names)

    def take(self, event, forget_syncs=False):
        """The next thing that happened."""
        if event.what in ("write", "cut"):
            self.waiting.setdefault(event.file, []).append(event)
        elif event.what == "name":
            self.unnamed.append(event)
        elif event.what == "sync" and not forget_syncs:
            self._sync(event)

    def _sync(self, sync):
        if isinstance(sync.file, str):
            still = []
            for event in self.unnamed:
                left = tuple((path, number) for path, number in event.names
                             if os.path.dirname(path) != sync.file or event.ends > sync.begins)
                self._names(self.names, self.folders, [pair for pair in event.names if pair not in left])
                if left:
                    still.append(replace(event, names=left))
            self.unnamed = still
            return
        waiting = self.waiting.pop(sync.file, [])
        content = self.content.setdefault(sync.file, bytearray())
        late = []
        for event in waiting:
            if event.ends > sync.begins:
                late.append(event)
            else:
                self._write(content, event)
        if late:
            self.waiting[sync.file] = late

    @staticmethod
    def _write(content, event):
        if event.what == "cut":
            resize(content, event.offset)
        else:
            apply(content, event.offset, event.data)

    @staticmethod
    def _names(names, folders, pairs):
        for path, number in pairs:
            if number is None:
                names.pop(path, None)
            elif isinstance(number, str):
                folders.add(path)
            else:
                names[path] = number

    def left(self, chance, data, names):
        """The files that are found afterwards: path to content."""
        kept, folders = dict(self.names), set(self.folders)
        for event in self.unnamed:
            if names == "all" or (names == "some" and chance.random() < 0.5):
                self._names(kept, folders, event.names)
        files = {}
        for path, number in kept.items():
            if self._reached(os.path.dirname(path), folders):
                content = self.content.get(number, bytearray())
                waiting = self.waiting.get(number)
                files[path] = self._rest(content, waiting, chance, data) if waiting and data != "nothing" else content
        return files

    def _reached(self, folder, folders):
        while folder != self.folder:
            if folder not in folders:
                return False
            folder = os.path.dirname(folder)
        return True

    def _rest(self, content, waiting, chance, policy):
        content = bytearray(content)
        if policy == "reordered":
            waiting = chance.sample(waiting, len(waiting))
        for event in waiting:
            if policy == "all" or (policy in ("some", "reordered") and chance.random() < 0.5):
                self._write(content, event)
            elif policy == "torn" and event.what == "cut" and chance.random() < 0.5:
                self._write(content, event)
            elif policy == "torn" and event.what == "write":
                self._pieces(content, event, chance)
        return content

    @staticmethod
    def _pieces(content, event, chance):
        """Sectors come one by one, in any order: any set of them may be there."""
        at = 0
        while at < len(event.data):
            length = SECTOR - (event.offset + at) % SECTOR
            if chance.random() < 0.5:
                apply(content, event.offset + at, event.data[at:at + length])
            at += length
