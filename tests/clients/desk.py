"""Calendars, contacts and horses as other people's libraries read them: a vet's feed by icalendar and by vobject, cards by
vobject, everything of a horse by the R4B models of fhir.resources."""

import json
import re
import sys
import unittest
import urllib.request
import uuid
from datetime import datetime, timezone

import icalendar
import vobject
from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.patient import Patient

from demo import Demo


class Desk(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.demo = Demo()

    @classmethod
    def tearDownClass(cls):
        cls.demo.stop()

    def test_a_feed_is_read_as_the_visits_are(self):
        vet = self.demo.browser("vet")
        page = vet.post("/me/calendar")
        address = re.search(r'id="address" value="([^"]+)"', page).group(1)
        with urllib.request.urlopen(address, timeout=60) as answer:
            text = answer.read().decode()
        since = int(datetime.now(timezone.utc).timestamp() * 1000) - 58 * 86_400_000
        visits = {str(uuid.UUID(bytes=row[0])): row[1:] for row in self.demo.rows(
            "select v.id, v.starts_at, v.minutes, v.state, v.version from visit v join staff s on s.id = v.vet_id"
            " where s.name = ? and v.starts_at > ?", self.demo.accounts["vet"][0], since)}
        self.assertGreater(len(visits), 10)
        calendar = icalendar.Calendar.from_ical(text)
        self.assertEqual(calendar.errors, [])
        events = {str(event["UID"]): event for event in calendar.walk("VEVENT")}
        for key, (starts, minutes, state, version) in visits.items():
            event = events[key]
            begins = event.decoded("DTSTART")
            self.assertEqual(int(begins.timestamp() * 1000), starts)
            self.assertEqual((event.decoded("DTEND") - begins).total_seconds(), minutes * 60)
            gone = state in ("cancelled", "did_not_come")
            self.assertEqual(event["STATUS"], "CANCELLED" if gone else "CONFIRMED")
            self.assertEqual(int(event["SEQUENCE"]), version - 1)
        second = vobject.readOne(text)
        second.validate(raiseException=True)
        self.assertEqual({event.uid.value for event in second.vevent_list}, set(events))

    def test_every_client_is_a_card(self):
        desk = self.demo.browser("desk")
        clients = self.demo.rows("select id, name, email from client order by name")
        for key, name, email in clients:
            card = vobject.readOne(desk.get(f"/clients/{uuid.UUID(bytes=key)}.vcf"))
            self.assertEqual(card.version.value, "4.0")
            self.assertEqual(card.fn.value, name)
            if email:
                self.assertEqual(card.email.value, email)
            numbers = [row[0] for row in self.demo.rows(
                "select number from client_phone where client_id = ? order by position", key)]
            said = [tel.value.removeprefix("tel:") for tel in getattr(card, "tel_list", [])]
            digits = lambda text: re.sub(r"\D", "", text)
            self.assertEqual([digits(one) for one in said], [digits(one) for one in numbers])
            lines = [row[0] for row in self.demo.rows(
                "select lines from client_address where client_id = ? order by position", key)]
            self.assertEqual([adr.value.street for adr in getattr(card, "adr_list", [])], lines)

    def test_every_horse_is_read_by_the_models_of_fhir(self):
        vet = self.demo.browser("vet")
        kinds = set()
        for (key,) in self.demo.rows("select distinct horse_id from visit order by horse_id limit 12"):
            at = f"/fhir/Patient/{uuid.UUID(bytes=key)}"
            Patient.model_validate_json(vet.get(at))
            text = vet.get(at + "/$everything")
            bundle = Bundle.model_validate_json(text)
            entries = json.loads(text)["entry"]
            self.assertEqual(len(bundle.entry), len(entries))
            for one, entry in zip(bundle.entry, entries):
                # The model keeps every member that was sent: none was made up by us.
                kept = json.loads(one.resource.model_dump_json())
                self.assertEqual(kept.keys(), entry["resource"].keys())
                kinds.add(entry["resource"]["resourceType"])
        self.assertLessEqual({"Patient", "RelatedPerson", "Practitioner", "Encounter", "Condition", "Observation"}, kinds)


if __name__ == "__main__":
    sys.exit(unittest.main(verbosity=1))
