"""Garbage, half calls, too much, a kill in the middle: it stays up, refuses properly, keeps no half file, and loses
nothing that it has acknowledged."""

import os
import struct
import threading
import time
import unittest

import pydicom
from pynetdicom import AE
from pynetdicom.sop_class import ComputedRadiographyImageStorage as CR, Verification

from objects import horse
from practice import TITLE, Practice, until

IMPLICIT = b"1.2.840.10008.1.2"
MIB = 1024 * 1024


def item(kind, body):
    return struct.pack(">BBH", kind, 0, len(body)) + body


def request(*classes, called=TITLE):
    """An A-ASSOCIATE-RQ (PS3.8 9.3.2)."""
    contexts = b"".join(
        item(0x20, bytes([2 * n + 1, 0, 0, 0]) + item(0x30, name.encode()) + item(0x40, IMPLICIT))
        for n, name in enumerate(classes))
    user = item(0x50, item(0x51, struct.pack(">I", 16384)) + item(0x52, b"2.25.1"))
    body = struct.pack(">HH16s16s32x", 1, 0, called.ljust(16).encode(), b"RAW".ljust(16))
    body += item(0x10, b"1.2.840.10008.3.1.1.1") + contexts + user
    return b"\x01\0" + struct.pack(">I", len(body)) + body


def pdv(data, control, context=1):
    body = struct.pack(">IBB", len(data) + 2, context, control) + data
    return b"\x04\0" + struct.pack(">I", len(body)) + body


def command(**values):
    """A command set in implicit little endian (PS3.7 6.3)."""
    order = {"class_": (0, 2), "field": (0, 0x100), "message": (0, 0x110), "answers": (0, 0x120),
             "priority": (0, 0x700), "data": (0, 0x800), "instance": (0, 0x1000)}
    out = b""
    for name, tag in order.items():
        if name in values:
            value = values[name]
            value = struct.pack("<H", value) if isinstance(value, int) else value.encode()
            value += b"\0" * (len(value) % 2)
            out += struct.pack("<HHI", *tag, len(value)) + value
    return struct.pack("<HHII", 0, 0, 4, len(out)) + out


def read(line):
    """The next PDU: its type and its body; nothing when the line is closed."""
    head = b""
    try:
        while len(head) < 6:
            more = line.recv(6 - len(head))
            if not more:
                return None, b""
            head += more
        body = b""
        while len(body) < struct.unpack(">I", head[2:])[0]:
            body += line.recv(65536)
        return head[0], body
    except ConnectionResetError:
        return None, b""


def status(body):
    """The status in the command set of an answer."""
    at = body.find(struct.pack("<HHI", 0, 0x900, 2))
    return struct.unpack("<H", body[at + 8:at + 10])[0]


class Faults(unittest.TestCase):
    def served(self, **about):
        practice = Practice(**about)
        self.addCleanup(practice.close)
        return practice.start()

    def call(self, practice, *classes):
        ae = AE(ae_title="PYNET")
        for one in classes or (CR,):
            ae.add_requested_context(one)
        call = ae.associate("127.0.0.1", practice.port, ae_title=TITLE)
        self.assertTrue(call.is_established)
        self.addCleanup(call.abort)
        return call

    def echoes(self, practice):
        self.assertIsNone(practice.process.poll(), "it has ended")
        self.assertEqual(practice.scu("echoscu")[0], 0)

    def test_garbage_and_half_calls_bring_nothing_down(self):
        practice = self.served(idle=2)
        whole = request(Verification, CR)
        store = command(class_=CR, field=1, message=1, priority=0, data=1, instance="2.25.5")
        junk = [
            b"GET / HTTP/1.1\r\nHost: x\r\n\r\n", b"\x16\x03\x01\x02\0\x01\0\x01\xfc\x03\x03" + os.urandom(200),
            b"", b"\x01", whole[:40], whole[:-3], b"\x01\0\xff\xff\xff\xff", b"\x04\0\0\0\0\0", b"\x09\0\0\0\0\0",
            whole + os.urandom(500), whole + b"\x04\0\xff\xff\xff\xff", whole + pdv(b"\xff" * 200, 3),
            whole + pdv(command(field=1), 3), whole + pdv(b"data", 2), whole + pdv(b"", 3), whole + pdv(store, 3, 9),
            whole + pdv(store, 3, 3) + pdv(b"\xff" * 99, 0, 3), whole + pdv(store, 3, 3) + pdv(store, 3, 3),
            whole + pdv(b"\0" * 20_000, 1), whole + b"\x01\0" + whole[2:],
            # Sequences in sequences in a command, and an item that ends before it begins.
            whole + pdv((struct.pack("<HHI", 0x40, 0x275, 0xFFFFFFFF) + b"\xfe\xff\0\xe0\xff\xff\xff\xff") * 700, 3),
            whole + pdv(b"\xfe\xff\x0d\xe0\0\0\0\0" * 9, 3),
        ] + [os.urandom(n * 37) for n in range(1, 40)]
        lines = []
        for one in junk:
            line = practice.connect()
            line.sendall(one)
            lines.append(line)
            if len(lines) > 12:
                lines.pop(0).close()
        self.echoes(practice)
        time.sleep(3)
        for line in lines:
            line.settimeout(5)
            while read(line)[0] is not None:
                pass
            line.close()
        self.echoes(practice)
        self.assertEqual(practice.half_files(), [])
        self.assertEqual(practice.rows("select count(*) from dicom_object"), [(0,)])

    def test_more_callers_than_there_is_room_for_are_told_so(self):
        practice = self.served(idle=5)
        held = [practice.connect() for _ in range(48)]
        time.sleep(0.5)
        late = practice.connect()
        late.sendall(request(Verification))
        kind, body = read(late)
        # PS3.8 9.3.4: rejected, transient, by the presentation layer, local limit exceeded.
        self.assertEqual((kind, body), (3, bytes([0, 2, 3, 2])))
        for line in held:
            line.close()
        time.sleep(0.5)
        self.echoes(practice)

    def test_too_large_is_refused_and_leaves_nothing_and_the_call_goes_on(self):
        practice = self.served(largest=MIB)
        call = self.call(practice)
        large = horse("CR", size=(1024, 1024))
        self.assertEqual(call.send_c_store(large).Status, 0xA700)
        self.assertEqual(practice.half_files(), [])
        self.assertEqual(practice.rows("select count(*) from attachment where kind = 'application/dicom'"), [(0,)])
        self.assertEqual(call.send_c_store(horse("CR")).Status, 0)

    def test_two_gigabytes_against_the_limit_are_not_kept_on_the_way_nor_listened_to_for_ever(self):
        practice = self.served(largest=64 * MIB)
        line = practice.connect()
        line.sendall(request(CR))
        self.assertEqual(read(line)[0], 2)
        line.sendall(pdv(command(class_=CR, field=1, message=1, priority=0, data=1, instance="2.25.5"), 3))
        piece, sent, most = pdv(b"\0" * 16_000, 0) * 64, 0, 0
        with self.assertRaises((BrokenPipeError, ConnectionResetError)):
            while sent < 2048 * MIB:
                line.sendall(piece)
                sent += len(piece)
                most = max([most, *(path.stat().st_size for path in practice.half_files())])
        self.assertGreater(sent, 64 * MIB)
        self.assertLessEqual(most, 64 * MIB)
        until(lambda: not practice.half_files())
        self.assertEqual(practice.rows("select count(*) from dicom_object"), [(0,)])
        self.echoes(practice)

    def test_a_query_that_is_cancelled_ends_as_cancelled(self):
        """PS3.4 C.4.1.3: status FE00."""
        practice = Practice()
        self.addCleanup(practice.close)
        animal = practice.horse("Briar")
        for _ in range(5):
            practice.order(animal, items=[("LM", "LF")])
        practice.start()
        worklist = "1.2.840.10008.5.1.4.31"
        line = practice.connect()
        line.sendall(request(worklist))
        self.assertEqual(read(line)[0], 2)
        find = command(class_=worklist, field=0x20, message=7, priority=0, data=1)
        keys = struct.pack("<HHI", 0x10, 0x10, 0)
        stop = command(field=0xFFF, answers=7, data=0x101)
        line.sendall(pdv(find, 3) + pdv(keys, 2) + pdv(stop, 3))
        said = []
        while not said or said[-1] == 0xFF00:
            _, body = read(line)
            if body[5] & 1:
                said.append(status(body))
        self.assertEqual(said[-1], 0xFE00)
        self.assertLess(len(said), 5)
        # A cancel that comes too late is let be.
        line.sendall(pdv(stop, 3) + b"\x05\0\0\0\0\4\0\0\0\0")
        self.assertEqual(read(line)[0], 6)

    def test_a_sender_that_goes_away_in_the_middle_leaves_nothing(self):
        practice = self.served(idle=2)
        store = command(class_=CR, field=1, message=1, priority=0, data=1, instance="2.25.5")
        for end in ("cut", "abort", "silence"):
            line = practice.connect()
            line.sendall(request(CR))
            self.assertEqual(read(line)[0], 2)
            line.sendall(pdv(store, 3) + pdv(b"\0" * 10_000, 0))
            until(lambda: practice.half_files())
            if end == "abort":
                line.sendall(b"\x07\0\0\0\0\4\0\0\0\0")
            if end != "silence":
                line.close()
            until(lambda: not practice.half_files())
            line.close()
        self.echoes(practice)

    def test_killed_in_the_middle_it_keeps_what_it_acknowledged_and_no_half_file(self):
        practice = self.served()
        acknowledged, going = [], threading.Event()

        def sender(number):
            ae = AE(ae_title=f"S{number}")
            ae.add_requested_context(CR)
            call = ae.associate("127.0.0.1", practice.port, ae_title=TITLE)
            while call.is_established and not going.is_set():
                data = horse("CR", size=(512, 512))
                try:
                    answer = call.send_c_store(data)
                except (RuntimeError, ValueError):
                    return
                if "Status" in answer and answer.Status == 0:
                    acknowledged.append(data.SOPInstanceUID)

        for round_ in range(3):
            senders = [threading.Thread(target=sender, args=(n,)) for n in range(4)]
            for one in senders:
                one.start()
            # One more that is certainly in the middle of an object.
            line = practice.connect()
            line.sendall(request(CR))
            self.assertEqual(read(line)[0], 2)
            line.sendall(pdv(command(class_=CR, field=1, message=1, priority=0, data=1, instance="2.25.5"), 3)
                         + pdv(b"\0" * 10_000, 0))
            before = len(acknowledged)
            until(lambda: practice.half_files() and len(acknowledged) >= before + 4)
            practice.kill()
            going.set()
            for one in senders:
                one.join()
            going.clear()
            line.close()
            self.assertTrue(practice.half_files(), "it was killed in the middle")
            practice.start()
            self.assertEqual(practice.half_files(), [])
            for instance in acknowledged:
                files = practice.kept(instance)
                self.assertEqual(len(files), 1, "acknowledged and lost")
                self.assertEqual(pydicom.dcmread(files[0]).SOPInstanceUID, instance)
                self.assertEqual(len(pydicom.dcmread(files[0]).PixelData), 2 * 512 * 512)
        self.assertEqual(practice.rows("pragma integrity_check"), [("ok",)])
        self.echoes(practice)


if __name__ == "__main__":
    unittest.main()
