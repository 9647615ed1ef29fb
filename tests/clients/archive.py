"""An archive of the invented practice, read with nothing but Python's own library, as README.txt inside it says: digests of the
files, the chain of the record, what refers to what, and the record in plain words. Of one horse too."""

import base64
import csv
import hashlib
import io
import json
import os
import subprocess
import sys
import tempfile
import unittest
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("LIMBLEDGER", str(ROOT / "target/debug/limbledger"))


class Archive:
    def __init__(self, path):
        self.zip = zipfile.ZipFile(path)
        self.manifest = json.loads(self.read("manifest.json"))
        self.tables = {table["name"]: table for table in json.loads(self.read("tables.json"))["tables"]}

    def read(self, name):
        return self.zip.read(name).decode()

    def rows(self, table):
        return [json.loads(line) for line in self.read(f"tables/{table}.jsonl").split("\n") if line]


def digest(entry):
    return hashlib.sha256(base64.b64decode(entry["salt"]) + entry["body"].encode()).digest()


def link(entry):
    fixed = [entry["seq"], entry["id"], entry["visit_id"], entry["supersedes"], entry["seen_by"], entry["entered_by"],
             entry["device"], entry["seen_at"], entry["received_at"], entry["offset_ms"], bool(entry["late"])]
    line = json.dumps(fixed, separators=(",", ":"), ensure_ascii=False)
    value = lambda name: base64.b64decode(entry[name])
    return hashlib.sha256(value("prev") + line.encode() + value("digest")).digest()


class Stranger(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory(prefix="archive-")
        data = os.path.join(cls.folder.name, "practice")
        cls.run_program("demo", "--fill-only", "--years", "1", "--data", data)
        path = os.path.join(cls.folder.name, "practice.zip")
        cls.run_program("export", "archive", "--to", path, "--data", data)
        cls.archive = Archive(path)
        cls.horse_id = cls.archive.rows("visit")[0]["horse_id"]
        path = os.path.join(cls.folder.name, "horse.zip")
        cls.run_program("export", "archive", "--to", path, "--data", data, "--horse", cls.horse_id)
        cls.horse = Archive(path)

    @classmethod
    def tearDownClass(cls):
        cls.archive.zip.close()
        cls.horse.zip.close()
        cls.folder.cleanup()

    @staticmethod
    def run_program(*args):
        subprocess.run([PROGRAM, *args], check=True, capture_output=True)

    def test_every_file_has_the_digest_of_the_manifest(self):
        for archive in (self.archive, self.horse):
            self.assertIsNone(archive.zip.testzip())
            named = {file["name"]: file for file in archive.manifest["files"]}
            self.assertEqual(set(named) | {"manifest.json"}, set(archive.zip.namelist()))
            for name, file in named.items():
                data = archive.zip.read(name)
                self.assertEqual((len(data), hashlib.sha256(data).hexdigest()), (file["bytes"], file["sha256"]), name)
                if name.endswith(".jsonl"):
                    self.assertEqual(data.count(b"\n"), file["rows"], name)

    def test_the_chain_holds_by_the_steps_of_the_readme(self):
        before, many = bytes(32), 0
        for seq, entry in enumerate(self.archive.rows("entry"), 1):
            self.assertEqual(entry["seq"], seq)
            self.assertEqual(base64.b64decode(entry["prev"]), before)
            self.assertEqual(digest(entry), base64.b64decode(entry["digest"]))
            before = base64.b64decode(entry["chain"])
            self.assertEqual(link(entry), before)
            many = seq
        self.assertGreater(many, 10_000)
        said = self.archive.manifest["record"]
        self.assertEqual((said["entries"], said["head"]), (many, before.hex()))
        told = " ".join(self.archive.read("README.txt").split())
        self.assertIn(f"The last entry is number {many}, and its chain value in hexadecimal letters is {before.hex()}", told)

    def test_the_entries_of_a_horse_hold_each_by_itself(self):
        entries = self.horse.rows("entry")
        self.assertGreater(len(entries), 10)
        for entry in entries:
            self.assertEqual(digest(entry), base64.b64decode(entry["digest"]))
            self.assertEqual(link(entry), base64.b64decode(entry["chain"]))
        self.assertEqual([row["id"] for row in self.horse.rows("horse")], [self.horse_id])

    def test_every_column_is_told_and_leads_where_it_says(self):
        for archive in (self.archive, self.horse):
            rows = {name: archive.rows(name) for name in archive.tables}
            for name, table in archive.tables.items():
                columns = {column["name"]: column for column in table["columns"]}
                self.assertTrue(table["words"] and all(column["words"] for column in columns.values()), name)
                for row in rows[name]:
                    self.assertEqual(list(row), list(columns), name)
                for column in columns.values():
                    if "refers_to" not in column:
                        continue
                    other, key = column["refers_to"].split(".")
                    there = {row[key] for row in rows[other]}
                    led = {row[column["name"]] for row in rows[name]} - {None}
                    self.assertLessEqual(led, there, f"{name}.{column['name']}")

    def test_the_record_reads_as_a_table(self):
        record = list(csv.DictReader(io.StringIO(self.archive.read("record.csv"))))
        self.assertEqual(len(record), len(self.archive.rows("entry")))
        self.assertTrue(all(row["words"] and row["horse"] and row["standing"] for row in record))
        # As README.txt says when an entry stands.
        entries = self.archive.rows("entry")
        bodies = {entry["id"]: json.loads(entry["body"]) for entry in entries}
        gone = {entry["supersedes"] for entry in entries}
        adopted = {body.get("about") for body in bodies.values() if body["kind"] == "adoption"}
        standing = {str(entry["seq"]) for entry in entries if entry["id"] not in gone
                    and bodies[entry["id"]]["kind"] != "withdrawal" and (not entry["late"] or entry["id"] in adopted)}
        self.assertEqual({row["number"] for row in record if row["standing"] == "stands"}, standing)
        places = [(row["horse"].lower(), row["visit began"]) for row in record]
        self.assertEqual(sorted(places), places)


if __name__ == "__main__":
    sys.exit(unittest.main(verbosity=1))
