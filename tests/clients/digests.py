"""The digest of each row, reckoned here as DEVELOPERS.md has it: SHA-256 over the table's name and, for the row's number and
each column that is kept, its kind, its length and its bytes; the first half of it. What a test writes into a practice by
itself gets its digest with this, or the server finds it changed behind its back."""

import hashlib
import sqlite3
import struct

KINDS = {type(None): (0, lambda _: b""), int: (1, struct.Struct(">q").pack), float: (2, struct.Struct(">d").pack),
         str: (3, str.encode), bytes: (4, bytes)}


def digest(table, row):
    whole = hashlib.sha256(table.encode())
    for value in row:
        kind, plain = KINDS[type(value)]
        value = plain(value)
        whole.update(bytes([kind]) + struct.pack(">Q", len(value)) + value)
    return whole.digest()[:16]


def renew(db, tables):
    """Brings the digests of all rows of these tables up to date."""
    for table in tables:
        (of,) = db.execute("select of from summed where name = ?", (table,)).fetchone()
        names = [name for name, in db.execute("select name from pragma_table_xinfo(?) where hidden = 0 order by cid", (table,))]
        listed = ", ".join(f'"{name}"' for name in ["rowid", *names])
        rows = db.execute(f'select {listed} from "{table}"').fetchall()
        db.execute("delete from row_sum where of = ?", (of,))
        db.executemany("insert into row_sum (of, row, sum) values (?, ?, ?)",
                       [(of, row[0], digest(table, row)) for row in rows])


def writing(*tables):
    """A connection that brings the digests of these tables up to date when a block of it ends well, and is closed then."""
    class Writing(sqlite3.Connection):
        def __exit__(self, *wrong):
            if not any(wrong):
                renew(self, tables)
            done = super().__exit__(*wrong)
            self.close()
            return done
    return Writing
