"""Accepted means on the disk: every sync comes before the success, and a disk that fills up costs nothing that was
accepted."""

import hashlib
import os
import shutil
import unittest
from pathlib import Path

import pydicom
from pynetdicom import AE
from pynetdicom.sop_class import ComputedRadiographyImageStorage as CR

import trace
from objects import horse
from practice import TITLE, Practice, until

MIB = 1024 * 1024
#: PS3.7 C.5.4: refused, out of resources.
NO_ROOM = 0xA700


def call(case, practice):
    ae = AE(ae_title="PYNET")
    ae.add_requested_context(CR)
    call = ae.associate("127.0.0.1", practice.port, ae_title=TITLE)
    case.assertTrue(call.is_established)
    case.addCleanup(call.abort)
    return call


class Traced(unittest.TestCase):
    def test_each_success_comes_after_its_file_its_name_and_its_row_are_synced(self):
        practice = Practice()
        self.addCleanup(practice.close)
        told = Path(practice.data, "trace")
        practice.start(through=["strace", "-D", "-o", str(told), *trace.OPTIONS])
        sender = call(self, practice)
        sent = [horse("CR", size=(700, 500)) for _ in range(5)]
        for one in sent:
            self.assertEqual(sender.send_c_store(one).Status, 0)
        sender.release()
        practice.stop()
        until(lambda: told.read_text().rstrip().endswith("+++ exited with 0 +++"))
        calls = trace.read(told)
        # A P-DATA of ours that goes to the sender (PS3.8 9.3.5): one for each object.
        answers = [one for one in calls if one.name in ("sendto", "write", "writev", "sendmsg")
                   and f":{practice.port}->" in one.told and one.quoted and one.quoted[0] == b"\x04"]
        self.assertEqual(len(answers), len(sent))
        since = 0
        for one, answer in zip(sent, answers):
            (file,) = practice.kept(one.SOPInstanceUID)
            names = (file.name, f"/{file.parent.name}")
            self.assertEqual(trace.unsafe(calls, answer, since, names), [])
            # The judge itself is no yes-man: without its syncs the same story is not safe, and neither is an answer that
            # comes before them.
            idle = [other for other in calls if "sync" not in other.name]
            self.assertEqual(len(trace.unsafe(idle, answer, since, names)), 3)
            first = next(other for other in calls if other.began > since and "sync" in other.name)
            self.assertNotEqual(trace.unsafe(calls, first, since, names), [])
            since = answer.began


class Full(unittest.TestCase):
    """A practice on a small disk of its own."""

    def setUp(self):
        self.practice = Practice(room=32 * MIB)
        self.addCleanup(self.practice.close)
        self.practice.start()
        self.filler = Path(self.practice.data, "filler")

    def leave(self, bytes_):
        """Fills the disk up to so many bytes."""
        self.filler.unlink(missing_ok=True)
        room = shutil.disk_usage(self.practice.data).free - bytes_
        with open(self.filler, "wb") as file:
            os.posix_fallocate(file.fileno(), 0, room)

    def send(self, data):
        sender = call(self, self.practice)
        status = sender.send_c_store(data).Status
        sender.release()
        return status

    def all_is_kept(self, accepted):
        for instance, pixels in accepted.items():
            (file,) = self.practice.kept(instance)
            self.assertEqual(hashlib.sha256(file.read_bytes()).hexdigest(), file.name)
            self.assertEqual(pydicom.dcmread(file).PixelData, pixels)

    def test_a_disk_that_fills_in_the_middle_says_so_keeps_no_half_and_goes_on_when_there_is_room(self):
        accepted, refused = {}, 0
        self.leave(12 * MIB)
        for _ in range(8):
            data = horse("CR", size=(1024, 1024))
            status = self.send(data)
            self.assertIn(status, (0, NO_ROOM))
            if status:
                refused += 1
                self.assertEqual(self.practice.kept(data.SOPInstanceUID), [])
            else:
                accepted[data.SOPInstanceUID] = data.PixelData
            self.assertEqual(self.practice.half_files(), [])
        self.assertTrue(accepted and refused >= 2, (len(accepted), refused))
        self.assertEqual(self.practice.scu("echoscu")[0], 0)
        self.all_is_kept(accepted)
        self.filler.unlink()
        self.assertEqual(self.send(horse("CR", size=(1024, 1024))), 0)

    def test_a_disk_that_is_full_at_any_step_of_it_never_tells_of_a_success_that_is_not_there(self):
        accepted, refused = {}, 0
        for pages in range(24):
            self.leave(pages * 4096)
            data = horse("CR", size=(64, 64))
            status = self.send(data)
            self.assertIn(status, (0, NO_ROOM))
            if status == 0:
                accepted[data.SOPInstanceUID] = data.PixelData
            refused += status != 0
            self.assertEqual(self.practice.half_files(), [])
        self.assertTrue(accepted and refused, (len(accepted), refused))
        self.filler.unlink()
        self.practice.kill()
        self.practice.start()
        self.all_is_kept(accepted)
        self.assertEqual(self.practice.rows("pragma integrity_check"), [("ok",)])
        self.assertEqual(self.practice.rows("select count(*) from dicom_object"), [(len(accepted),)])


if __name__ == "__main__":
    unittest.main()
