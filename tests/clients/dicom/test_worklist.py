"""The modality worklist, as two clients ask for it (PS3.4 annex K)."""

import datetime
import tempfile
import unittest
from pathlib import Path

import pydicom
from pydicom.dataset import Dataset
from pynetdicom import AE
from pynetdicom.sop_class import ModalityWorklistInformationFind as MWL

from practice import TITLE, Practice

TODAY = datetime.date.today()


def day(offset):
    return TODAY + datetime.timedelta(days=offset)


def da(offset):
    return day(offset).strftime("%Y%m%d")


def query(step=None, **keys):
    """A query; `step` holds the keys of the scheduled procedure step."""
    data = Dataset()
    for name, value in ({"PatientName": "", "AccessionNumber": ""} | keys).items():
        setattr(data, name, value)
    item = Dataset()
    for name, value in ({"Modality": ""} | (step or {})).items():
        setattr(item, name, value)
    data.ScheduledProcedureStepSequence = [item]
    return data


class Worklist(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        practice = cls.practice = Practice()
        cls.addClassCleanup(practice.close)
        star = cls.star = practice.horse("Søren Star", owner="Hovby Stud", owner_kind="organisation", breed="Warmblood",
                                         ueln="276020000123456")
        briar = practice.horse("Briar", owner="Anna Marsh", sex="female", neutered="unknown", born="2015")
        orders = {
            "today": (star, "radiograph", day(0), [("LM", "LF"), ("DPa", "LF")]),
            "late": (briar, "ultrasound", day(-3), [("SDFT", "RF")]),
            "tomorrow": (briar, "bone_scan", day(1), [("WHOLE", "")]),
            "no_day": (star, "other", None, [("CT", "")]),
            "sample": (star, "blood", day(0), [("CBC", "")]),
            "done": (briar, "radiograph", day(0), [("LM", "RF")]),
        }
        cls.accession, cls.study = {}, {}
        for key, (horse, kind, planned, items) in orders.items():
            planned = planned and planned.isoformat()
            cls.accession[key], cls.study[key] = practice.order(horse, kind, planned_on=planned, items=items)
        with practice.db() as db:
            db.execute("update diagnostic_item set state = 'taken', changed_at = 0 where order_id ="
                       " (select id from diagnostic_order where accession = ?)", (cls.accession["done"],))
        practice.start()

    def ask(self, data, calling="ROOM1"):
        ae = AE(ae_title=calling)
        ae.add_requested_context(MWL)
        call = ae.associate("127.0.0.1", self.practice.port, ae_title=TITLE)
        self.assertTrue(call.is_established)
        answers = list(call.send_c_find(data, MWL))
        call.release()
        self.assertEqual(answers[-1][0].Status, 0x0000)
        self.statuses = {status.Status for status, _ in answers[:-1]}
        return [found for _, found in answers[:-1]]

    def found(self, step=None, **keys):
        by_accession = {accession: key for key, accession in self.accession.items()}
        return sorted(by_accession[answer.AccessionNumber] for answer in self.ask(query(step, **keys)))

    def test_without_a_day_all_that_is_due_is_there_and_nothing_else(self):
        self.assertEqual(self.found(), ["late", "no_day", "today"])
        self.assertEqual(self.statuses, {0xFF00})

    def test_days_and_times_single_and_as_ranges(self):
        on = lambda value, **more: self.found({"ScheduledProcedureStepStartDate": value} | more)
        self.assertEqual(on(da(0)), ["late", "today"], "what was not done is for today")
        self.assertEqual(on(da(1)), ["tomorrow"])
        self.assertEqual(on(f"{da(0)}-{da(7)}"), ["late", "today", "tomorrow"])
        self.assertEqual(on(f"{da(1)}-"), ["tomorrow"])
        self.assertEqual(on(f"-{da(0)}"), ["late", "today"])
        self.assertEqual(on(da(-3)), [])
        # Date and time ranges are one interval: tomorrow's first second is within it, whatever today's hours say.
        both = on(f"{da(0)}-{da(1)}", ScheduledProcedureStepStartTime="235959-000000")
        self.assertIn("tomorrow", both)
        self.assertNotIn("late", both)

    def test_the_other_keys(self):
        self.assertEqual(self.found({"Modality": "US"}), ["late"])
        self.assertEqual(self.found({"Modality": "CR"}), ["today"], "plates and panels take the same order")
        self.assertEqual(self.ask(query({"Modality": "CR"}))[0].ScheduledProcedureStepSequence[0].Modality, "CR")
        self.assertEqual(self.found(PatientName="Hovby*"), ["no_day", "today"])
        self.assertEqual(self.found(PatientName="*s?ren*"), ["no_day", "today"])
        self.assertEqual(self.found(PatientName="MARSH^BRIAR"), ["late"], "names without case")
        self.assertEqual(self.found(PatientName="Marsh"), [])
        self.assertEqual(self.found(PatientID=self.star.hex()), ["no_day", "today"])
        self.assertEqual(self.found(PatientID="nobody"), [])
        self.assertEqual(self.found(AccessionNumber=self.accession["late"]), ["late"])
        self.assertEqual(self.found(RequestedProcedureID=self.accession["today"]), ["today"])
        self.assertEqual(self.found(StudyInstanceUID=self.study["today"]), ["today"])
        self.assertEqual(self.found(ResponsiblePerson="Marsh^*"), ["late"])

    def test_every_station_is_answered_by_its_own_title(self):
        for asked, answered in (("", "ROOM1"), ("ROOM1", "ROOM1"), ("TRUCK", "TRUCK")):
            found = self.ask(query({"ScheduledStationAETitle": asked}))
            titles = {one.ScheduledProcedureStepSequence[0].ScheduledStationAETitle for one in found}
            self.assertEqual(titles, {answered})

    def test_a_key_that_is_not_matched_is_told(self):
        """PS3.4 C.4.1.1.4: FF01 when an optional key was not supported for matching."""
        data = query()
        data.AdmissionID = "A1"
        self.assertEqual(len(self.ask(data)), 3)
        self.assertEqual(self.statuses, {0xFF01})
        self.assertEqual(self.ask(data)[0].AdmissionID, "")

    def test_an_answer_says_what_was_asked_and_what_always_belongs_to_it(self):
        found = self.ask(query(PatientID=self.star.hex(), **{"AccessionNumber": self.accession["today"]}))[0]
        for name in ("PatientName", "PatientID", "StudyInstanceUID", "RequestedProcedureID",
                     "RequestedProcedureDescription"):
            self.assertTrue(found.get(name), name)
        self.assertNotIn("PatientSex", found)
        self.assertEqual(len(found.ScheduledProcedureStepSequence), 1)
        step = found.ScheduledProcedureStepSequence[0]
        for name in ("ScheduledStationAETitle", "ScheduledProcedureStepStartDate", "ScheduledProcedureStepStartTime",
                     "Modality", "ScheduledProcedureStepDescription", "ScheduledProcedureStepID"):
            self.assertTrue(step.get(name), name)
        self.assertLessEqual(len(found.RequestedProcedureID), 16)

    def test_an_animal_is_told_as_one(self):
        """PS3.3 C.7.1.1 and C.7.2.2; the name as PS3.5 6.2 wants it of an animal."""
        asked = ("PatientBirthDate", "PatientSex", "PatientSexNeutered", "PatientWeight", "PatientSpeciesDescription",
                 "PatientBreedDescription", "ResponsiblePerson", "ResponsiblePersonRole", "ResponsibleOrganization")
        sequences = ("PatientSpeciesCodeSequence", "PatientBreedCodeSequence", "OtherPatientIDsSequence",
                     "BreedRegistrationSequence")
        data = query({"AnatomicalOrientationType": ""}, **dict.fromkeys(asked, ""))
        for name in sequences:
            setattr(data, name, [])
        found = {answer.AccessionNumber: answer for answer in self.ask(data)}
        star, briar = found[self.accession["today"]], found[self.accession["late"]]
        self.assertEqual(star.SpecificCharacterSet, "ISO_IR 192")
        self.assertNotIn("SpecificCharacterSet", briar)
        self.assertEqual((star.PatientName, briar.PatientName), ("Hovby Stud^Søren Star", "Marsh^Briar"))
        self.assertEqual([star[name].value for name in asked[:6]],
                         ["20170430", "M", "ALTERED", 512.5, "Equus caballus", "Warmblood"])
        self.assertEqual([str(briar[name].value or "") for name in asked],
                         ["", "F", "", "512.5", "Equus caballus", "", "Marsh^Anna", "OWNER", ""])
        self.assertEqual([str(star[name].value or "") for name in asked[6:]], ["", "", "Hovby Stud"])
        species = star.PatientSpeciesCodeSequence[0]
        self.assertEqual((species.CodeValue, species.CodingSchemeDesignator, species.CodeMeaning),
                         ("35354009", "SCT", "Equus caballus"))
        self.assertEqual([(one.PatientID, one.TypeOfPatientID) for one in star.OtherPatientIDsSequence],
                         [("276020000123456", "RFID"), ("276020000123456", "TEXT")])
        self.assertEqual(star.ScheduledProcedureStepSequence[0].AnatomicalOrientationType, "QUADRUPED")

    def test_findscu_hears_the_same(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        status, said = self.practice.scu(
            "findscu", "-W", "-v", "-X", "-od", folder.name, "-k", "PatientName=*Star", "-k", "AccessionNumber",
            "-k", f"(0040,0100)[0].ScheduledProcedureStepStartDate={da(-1)}-{da(1)}", "-k", "(0040,0100)[0].Modality=DX")
        self.assertEqual(status, 0, said)
        files = list(Path(folder.name).iterdir())
        self.assertEqual(len(files), 1, said)
        self.assertEqual(pydicom.dcmread(files[0], force=True).AccessionNumber, self.accession["today"])
        status, said = self.practice.scu("findscu", "-W", "-v", "-k", "PatientName=Nobody")
        self.assertIn("Received Final Find Response (Success)", said)
        self.assertNotIn("Pending", said)
        status, said = self.practice.scu("findscu", "-W", "-k", "PatientName", called="WRONG")
        self.assertNotEqual(status, 0)


if __name__ == "__main__":
    unittest.main()
