"""Pictures that equipment sends while forms are written, where pynetdicom is installed: what was answered with success stays."""

import re
import sys
import time
from dataclasses import dataclass

import practice

sys.path.insert(0, str(practice.ROOT / "tests/clients/dicom"))
try:
    import objects
    from pydicom.uid import ExplicitVRLittleEndian
    from pynetdicom import AE
except ImportError:
    AE = None

SERVED = ["--dicom", "127.0.0.1:0", "--ae", "PRACTICE"] if AE else []
SUCCESS = 0


def port(server):
    """Where it listens for equipment; it says so before or after its address."""
    end = time.monotonic() + practice.PATIENCE
    while not (found := re.search(r"DICOM: listening on 127\.0\.0\.1:(\d+)", server.said())):
        if time.monotonic() > end:
            raise AssertionError("it does not say where it listens for DICOM")
        time.sleep(0.01)
    return int(found.group(1))


@dataclass
class Arrival:
    """One object, in the shape of a form."""

    data: object
    kind: str = "picture"
    file: str = ""

    @property
    def submission(self):
        return str(self.data.SOPInstanceUID)

    @property
    def effects(self):
        return [("select count(*) from dicom_object where sop_instance_uid = ?", (self.submission,))]


def send(server, arrivals):
    """Sends one after another over one call, and gives each with whether it was answered with success."""
    equipment = AE("PLATE")
    equipment.acse_timeout = equipment.dimse_timeout = equipment.network_timeout = practice.PATIENCE
    equipment.add_requested_context(objects.CLASSES["DX"], ExplicitVRLittleEndian)
    call = equipment.associate("127.0.0.1", port(server), ae_title="PRACTICE")
    if not call.is_established:
        return
    try:
        for arrival in arrivals:
            try:
                answer = call.send_c_store(arrival.data)
            except (RuntimeError, ValueError, OSError):
                yield arrival, False
                return
            taken = "Status" in answer and answer.Status == SUCCESS
            yield arrival, taken
            if not taken:
                return
    finally:
        if call.is_established:
            call.release()
        else:
            call.abort()


def endless():
    while True:
        yield Arrival(objects.horse("DX"))


def arrive(server, round_):
    """Sends until the server is gone."""
    for arrival, taken in send(server, endless()):
        (round_.arrived if taken else round_.halfway).append(arrival)
