"""What is sent is kept as it was sent, once, and finds its order."""

import tempfile
import threading
import unittest
from pathlib import Path

import pydicom
from pynetdicom import AE
from pynetdicom.sop_class import ComputedRadiographyImageStorage as CR

from objects import BUNDLED, CLASSES, horse, same_data, save
from practice import TITLE, Practice

#: Options of storescu that propose a transfer syntax first, those of dcmconv that write in it, and the syntax.
MAKES = {
    ("-xe", "+te"): "1.2.840.10008.1.2.1",
    ("-xi", "+ti"): "1.2.840.10008.1.2",
    ("-xb", "+tb"): "1.2.840.10008.1.2.2",
    ("-xd", "+td"): "1.2.840.10008.1.2.1.99",
}
#: Files that pydicom brings in a compressed syntax, the option that offers it, and the syntax.
COMPRESSED = {
    "examples_ybr_color.dcm": ("-xy", "1.2.840.10008.1.2.4.50"),
    "JPGExtended.dcm": ("-xx", "1.2.840.10008.1.2.4.51"),
    "SC_rgb_jpeg_gdcm.dcm": ("-xs", "1.2.840.10008.1.2.4.70"),
    "MR_small_jpeg_ls_lossless.dcm": ("-xt", "1.2.840.10008.1.2.4.80"),
    "examples_jpeg2k.dcm": ("-xv", "1.2.840.10008.1.2.4.90"),
    "JPEG2000.dcm": ("-xw", "1.2.840.10008.1.2.4.91"),
    "SC_rgb_rle_2frame.dcm": ("-xr", "1.2.840.10008.1.2.5"),
}


class Store(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.practice = Practice().start()
        cls.addClassCleanup(cls.practice.close)
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.folder = folder.name

    def sent(self, path, *options):
        status, said = self.practice.scu("storescu", "-v", *options, files=[path])
        self.assertEqual(status, 0, said)
        self.assertIn("Received Store Response (Success)", said)
        return said

    def call(self, *contexts):
        ae = AE(ae_title="PYNET")
        for context in contexts:
            ae.add_requested_context(*context)
        call = ae.associate("127.0.0.1", self.practice.port, ae_title=TITLE)
        self.assertTrue(call.is_established)
        self.addCleanup(call.abort)
        return call

    def kept(self, path, syntax):
        """The file of what was sent, checked: one in this syntax, with our head."""
        instance = pydicom.dcmread(path, force=True, stop_before_pixels=True).SOPInstanceUID
        # Several of pydicom's files are one object in several syntaxes.
        files = [file for file in self.practice.kept(instance)
                 if pydicom.dcmread(file).file_meta.TransferSyntaxUID == syntax]
        self.assertEqual(len(files), 1, path)
        with open(files[0], "rb") as file:
            self.assertEqual(file.read(132), b"\0" * 128 + b"DICM")
        return files[0]

    def test_each_uncompressed_syntax_that_storescu_makes(self):
        for (option, written), syntax in MAKES.items():
            with self.subTest(option):
                made = save(horse("CR"), self.folder, f"made{option}.dcm")
                path = Path(self.folder, f"as{option}.dcm")
                self.practice.run("dcmconv", written, str(made), str(path))
                self.sent(path, option)
                kept = pydicom.dcmread(self.kept(path, syntax))
                self.assertEqual(kept.pixel_array.tolist(), pydicom.dcmread(made).pixel_array.tolist())

    def test_each_compressed_syntax_is_kept_byte_for_byte(self):
        for name, (option, syntax) in COMPRESSED.items():
            with self.subTest(name):
                self.sent(BUNDLED / name, "-R", option)
                kept = self.kept(BUNDLED / name, syntax)
                self.assertEqual(pydicom.dcmread(kept).PixelData, pydicom.dcmread(BUNDLED / name).PixelData)

    def test_animals_of_every_kind_come_and_are_valid(self):
        for modality in CLASSES:
            with self.subTest(modality):
                path = save(horse(modality), self.folder, f"{modality}.dcm")
                self.sent(path)
                kept = self.kept(path, "1.2.840.10008.1.2.1")
                self.assertEqual(same_data(path, kept), (True, []))
                # dciodvfy knows animals (PS3.3 C.7.1.1); what it finds wrong, we have not put there.
                before, after = (self.practice.run("dciodvfy", str(file))[1] for file in (path, kept))
                self.assertEqual(errors(after), errors(before))
                about_the_animal = ("Module=<Patient>", "Module=<PatientStudy>", "<FileMeta")
                self.assertFalse([line for line in errors(after) if any(m in line for m in about_the_animal)])
                row = self.practice.rows("select modality, patient_name, body_part, view_position, laterality,"
                                         " pixel_rows, pixel_columns, calling_ae, source from dicom_object"
                                         " where sop_instance_uid = ?", pydicom.dcmread(path).SOPInstanceUID)
                self.assertEqual(row, [(modality, "Marsh^Søren", "FOREFETLOCK", "LM", "L", 64, 48, "CLIENT",
                                        "network")])

    def test_what_pydicom_brings_along(self):
        """Every picture of its folder that says what it is, of a class that we take."""
        taken = 0
        for path in sorted(BUNDLED.rglob("*")):
            if not path.is_file():
                continue
            try:
                data = pydicom.dcmread(path)
                wanted = (data.SOPClassUID, data.file_meta.TransferSyntaxUID, data.SOPInstanceUID)
            except Exception:
                continue
            ae = AE(ae_title="PYNET")
            ae.add_requested_context(wanted[0], wanted[1])
            call = ae.associate("127.0.0.1", self.practice.port, ae_title=TITLE)
            if call.accepted_contexts:
                try:
                    status = call.send_c_store(path).Status
                except (ValueError, AttributeError):
                    call.abort()
                    continue
                self.assertEqual(status, 0x0000, path)
                self.assertTrue(self.practice.kept(wanted[2]), path)
                taken += 1
            call.abort()
        self.assertGreater(taken, 40)

    def test_the_same_object_again_is_success_and_one_row_another_one_is_kept_beside_it(self):
        data = horse("CR")
        call = self.call((CR,))
        self.assertEqual([call.send_c_store(data).Status for _ in range(3)], [0, 0, 0])
        self.assertEqual(len(self.practice.kept(data.SOPInstanceUID)), 1)
        data.InstanceNumber = 2
        self.assertEqual(call.send_c_store(data).Status, 0)
        self.assertEqual(len(self.practice.kept(data.SOPInstanceUID)), 2)

    def test_a_data_set_that_is_another_object_than_the_command_says(self):
        """PS3.4 B.2.3: data set does not match SOP class, or its instance: A900."""
        data = horse("CR")
        call = self.call((CR,))
        said, data.SOPInstanceUID = data.SOPInstanceUID, horse("CR").SOPInstanceUID
        self.assertEqual(store_as(call, data, CR, said), 0xA900)
        self.assertEqual(self.practice.kept(said) + self.practice.kept(data.SOPInstanceUID), [])
        data.SOPClassUID = CLASSES["US"]
        self.assertEqual(store_as(call, data, CR, data.SOPInstanceUID), 0xA900)
        self.assertEqual(self.practice.half_files(), [])

    def test_what_is_no_data_set_is_not_understood_and_leaves_nothing(self):
        call = self.call((CR,))
        for number, junk in enumerate([b"\xff" * 4000, b"GET / HTTP/1.1\r\n\r\n", b"\0" * 64, nested(40_000)]):
            self.assertEqual(store_bytes(call, junk, CR, f"2.25.77{number}"), 0xC000, junk[:16])
        self.assertEqual(self.practice.half_files(), [])
        self.assertEqual(call.send_c_store(horse("CR")).Status, 0, "the same call goes on")

    def test_pictures_find_their_order_and_take_the_item(self):
        animal = self.practice.horse("Tansy")
        accession, study = self.practice.order(animal, items=[("LM", "LF"), ("DPa", "LF")])
        call = self.call((CR,))
        call.send_c_store(horse("CR", StudyInstanceUID=study, PatientID=animal.hex()))
        call.send_c_store(horse("CR", AccessionNumber=accession, PatientID="", ViewPosition="DPA"))
        items = self.practice.rows("select i.code, i.state, o.matched_how from diagnostic_item i"
                                   " join dicom_object o on o.item_id = i.id join diagnostic_order d"
                                   " on d.id = i.order_id where d.accession = ? order by i.position", accession)
        self.assertEqual(items, [("LM", "taken", "study_uid"), ("DPa", "taken", "accession")])

    def test_twenty_senders_at_once(self):
        folder = Path(self.folder, "twenty")
        folder.mkdir()
        objects = [[save(horse("CR", size=(512, 512)), folder, f"{s}-{n}.dcm") for n in range(5)] for s in range(20)]
        said = []
        senders = [threading.Thread(target=lambda files=files: said.append(
            self.practice.scu("storescu", files=files)[0])) for files in objects]
        for sender in senders:
            sender.start()
        for sender in senders:
            sender.join()
        self.assertEqual(said, [0] * 20)
        for path in sum(objects, []):
            self.assertEqual(len(self.practice.kept(pydicom.dcmread(path).SOPInstanceUID)), 1, path)
        self.assertEqual(self.practice.half_files(), [])


def errors(said):
    return sorted(line for line in said.splitlines() if line.startswith("Error"))


def nested(depth):
    """Sequences in sequences (explicit little endian, undefined lengths): ReferencedImageSequence all the way."""
    return (b"\x08\x00\x40\x11SQ\0\0\xff\xff\xff\xff" + b"\xfe\xff\x00\xe0\xff\xff\xff\xff") * depth


def store_as(call, data, sop_class, instance):
    """A C-STORE whose command says another object than its data set."""
    from pynetdicom.dsutils import encode
    context = call.accepted_contexts[0]
    syntax = context.transfer_syntax[0]
    return store_bytes(call, encode(data, syntax.is_implicit_VR, syntax.is_little_endian), sop_class, instance)


def store_bytes(call, bytes_, sop_class, instance):
    from io import BytesIO
    from pynetdicom.dimse_primitives import C_STORE
    request = C_STORE()
    request.MessageID, request.Priority = 7, 2
    request.AffectedSOPClassUID, request.AffectedSOPInstanceUID = sop_class, instance
    request.DataSet = BytesIO(bytes_)
    # What answers is read here: pynetdicom's own reactor would take it for a request.
    call._reactor_checkpoint.clear()
    try:
        call.dimse.send_msg(request, call.accepted_contexts[0].context_id)
        _, answer = call.dimse.get_msg(block=True)
    finally:
        call._reactor_checkpoint.set()
    return answer.Status


if __name__ == "__main__":
    unittest.main()
