"""Forms that write, each with what must stand in the practice once it was taken: all of it once, or nothing of it."""

import datetime
import hashlib
import itertools
import random
import threading
import urllib.parse
import uuid
from dataclasses import dataclass, field

FORM = "application/x-www-form-urlencoded"
FIRST_DAY = datetime.date(2030, 1, 1)
A_DAY = 96
PNG = b"\x89PNG\r\n\x1a\n"


@dataclass
class Write:
    """One form on its way. `effects` are counts that are all 1 when it was taken and all 0 when it was not."""

    kind: str
    submission: str
    path: str
    body: bytes
    words: str
    effects: list
    content_type: str = FORM
    # The digest of the file it carries, in letters.
    file: str = ""
    data: bytes = b""
    location: str = ""
    order: int = field(default_factory=itertools.count().__next__)

    def send(self, seat):
        status, headers, body = seat.post(self.path, self.body, self.content_type)
        self.location = headers.get("Location") or ""
        return status, body


def taken(submission):
    return ("select count(*) from submission where id = ?", (uuid.UUID(submission).bytes,))


class Writer:
    """Makes forms for one practice. All chance comes from `chance`, but for ids, which must never come again."""

    def __init__(self, practice, chance=None, largest_photo=200_000):
        self.practice, self.chance, self.largest_photo = practice, chance or random.Random(), largest_photo
        self.slots = itertools.count()
        self.lock = threading.Lock()

    def any(self):
        with self.lock:
            # Entries of the exam come oftenest, as in a practice.
            make = self.chance.choices([self.note, self.finding, self.client, self.contact, self.booking, self.photo],
                                       [30, 20, 15, 10, 15, 10])[0]
            return make()

    def visit(self):
        return self.chance.choice(self.practice.visits)

    def _form(self, kind, path, words, effects, /, **fields):
        submission = str(uuid.uuid4())
        body = urllib.parse.urlencode({"submission": submission, **fields}).encode()
        return Write(kind, submission, path, body, words, [taken(submission), *effects])

    def _entry(self, kind, path, words, /, **fields):
        entry = str(uuid.uuid4())
        said = ("select count(*) from entry where id = ? and body ->> 'text' = ?", (uuid.UUID(entry).bytes, words))
        return self._form(kind, path, words, [said], entry=entry, note=words, **fields)

    def _words(self, what):
        return f"{what} {uuid.uuid4().hex} " + "word " * self.chance.randrange(0, 60) + "end"

    def note(self):
        return self._entry("note", f"/visits/{self.visit()}/exam/entries/note", self._words("note"))

    def finding(self):
        path = f"/visits/{self.visit()}/exam/entries/finding"
        return self._entry("finding", path, self._words("finding"), place="FETL_D.L", found="EFF:2")

    def client(self):
        name = f"Client {uuid.uuid4().hex}"
        return self._form("client", "/clients", name, [("select count(*) from client where name = ?", (name,))],
                          name=name, kind="person")

    def contact(self):
        words, client = self._words("said"), self.practice.client
        said = ("select count(*) from contact where client_id = ? and words = ?", (uuid.UUID(client).bytes, words))
        return self._form("contact", f"/clients/{client}/contacts", words, [said], channel="phone", way="in",
                          person="Anna Marsh", words=words, on="1 Nov 2026", at="00:10")

    def booking(self):
        """A client, a horse, a visit and what it is for, in one form."""
        name, slot = uuid.uuid4().hex, next(self.slots)
        day, minute = FIRST_DAY + datetime.timedelta(slot // A_DAY), slot % A_DAY * 15
        effects = [("select count(*) from client where name = ?", (f"Caller {name}",)),
                   ("select count(*) from visit v join client c on c.id = v.client_id join horse h on h.id = v.horse_id"
                    " where c.name = ? and h.name = ?", (f"Caller {name}", f"Horse {name}")),
                   ("select count(*) from complaint where visit_id in (select v.id from visit v join client c"
                    " on c.id = v.client_id where c.name = ?)", (f"Caller {name}",))]
        fields = {"words-1": "lame", "vet": self.practice.vet, "day": day.isoformat(), "minutes": "15", "place": "clinic",
                  "start": f"{minute // 60:02}:{minute % 60:02}"}
        return self._form("booking", "/call", f"Horse {name}", effects, client_name=f"Caller {name}",
                          client_phone="0555 01 42", horse_name=f"Horse {name}", horse_sex="mare", **fields)

    def photo(self, data=None):
        """A file of random bytes that begins as a picture does; nobody looks into it before it is shown."""
        size = self.chance.randrange(200, self.largest_photo)
        data = data or PNG + self.chance.randbytes(size)
        digest, submission, visit = hashlib.sha256(data).hexdigest(), str(uuid.uuid4()), self.visit()
        path, edge = f"/visits/{visit}/photos", "edge" + submission.replace("-", "")
        head = f'--{edge}\r\nContent-Disposition: form-data; name="submission"\r\n\r\n{submission}\r\n' \
               f'--{edge}\r\nContent-Disposition: form-data; name="words"\r\n\r\n{submission}\r\n' \
               f'--{edge}\r\nContent-Disposition: form-data; name="photo"; filename="p.png"\r\nContent-Type: image/png\r\n\r\n'
        effects = [taken(submission), ("select count(*) from attachment where sha256 = ?", (digest,)),
                   ("select count(*) from entry where visit_id = ? and kind = 'image' and instr(body, ?) > 0",
                    (uuid.UUID(visit).bytes, submission))]
        return Write("photo", submission, path, head.encode() + data + f"\r\n--{edge}--\r\n".encode(), submission, effects,
                     f"multipart/form-data; boundary={edge}", digest, data)
