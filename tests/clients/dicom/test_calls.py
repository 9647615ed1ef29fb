"""Who may call, what is agreed on, and how a call ends."""

import ipaddress
import subprocess
import unittest

from pynetdicom import AE, build_context
from pynetdicom.sop_class import CTImageStorage, RTPlanStorage, Verification

from practice import TITLE, Practice


#: What a practice's equipment sends (PS3.4 B.5, with the retired forms of ultrasound and nuclear medicine).
STORED = [f"1.2.840.10008.5.1.4.1.1.{tail}" for tail in (
    "1 1.1 1.1.1 6.1 3.1 6 3 5 20 7 7.1 7.2 7.3 7.4 77.1.4 77.1.4.1 104.1 2 4 12.2 88.11").split()]
#: How it may be written (PS3.5 annex A).
SYNTAXES = [f"1.2.840.10008.1.2{tail}" for tail in (
    " .1 .2 .1.99 .4.50 .4.51 .4.57 .4.70 .4.80 .4.81 .4.90 .4.91 .5").split(" ")]


def beyond_loopback():
    """An address of this machine in a private network, if it has one."""
    near = [ipaddress.ip_network(network) for network in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16")]
    hosts = subprocess.run(["hostname", "-I"], capture_output=True, text=True).stdout.split()
    hosts = [host for host in hosts if any(ipaddress.ip_address(host) in network for network in near)]
    return hosts[0] if hosts else None


class Calls(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.practice = Practice().start()
        cls.addClassCleanup(cls.practice.close)

    def scu(self, **about):
        ae = AE(ae_title=about.get("calling", "PYNET"))
        for context in about.get("contexts", [Verification]):
            ae.add_requested_context(*(context if isinstance(context, tuple) else (context,)))
        return ae.associate("127.0.0.1", self.practice.port, ae_title=about.get("called", TITLE))

    def test_both_clients_hear_an_echo(self):
        status, said = self.practice.scu("echoscu", "-v")
        self.assertEqual(status, 0, said)
        self.assertIn("Received Echo Response (Success)", said)
        call = self.scu()
        self.assertTrue(call.is_established)
        self.assertEqual(call.send_c_echo().Status, 0x0000)
        call.release()
        self.assertTrue(call.is_released)

    def test_many_echoes_in_one_call_and_many_calls(self):
        status, said = self.practice.scu("echoscu", "--repeat", "50")
        self.assertEqual(status, 0, said)
        for _ in range(100):
            self.scu().release()
        self.assertEqual(self.practice.scu("echoscu")[0], 0)

    def test_another_name_than_ours_is_turned_away(self):
        status, said = self.practice.scu("echoscu", "-v", called="SOMEBODY")
        self.assertNotEqual(status, 0)
        self.assertIn("Called AE Title Not Recognized", said)
        self.assertTrue(self.scu(called=TITLE.lower()).is_rejected)

    def test_what_we_do_not_take_is_refused_by_its_context(self):
        call = self.scu(contexts=[Verification, RTPlanStorage, (CTImageStorage, ["1.2.840.10008.1.2.4.102"])])
        self.assertTrue(call.is_established)
        # PS3.8 9.3.3.2: 3 is an abstract syntax, 4 a transfer syntax that is not supported.
        self.assertEqual(sorted(context.result for context in call.rejected_contexts), [3, 4])
        self.assertEqual(call.send_c_echo().Status, 0x0000)
        call.abort()
        self.assertEqual(self.practice.scu("echoscu")[0], 0)

    def test_each_class_is_taken_in_each_syntax(self):
        for start in range(0, len(STORED), 9):
            pairs = [(one, [syntax]) for one in STORED[start:start + 9] for syntax in SYNTAXES]
            # One context a pair: otherwise the first syntax would be chosen for all.
            contexts = [build_context(*pair) for pair in pairs]
            call = AE(ae_title="PYNET").associate("127.0.0.1", self.practice.port, contexts, TITLE)
            agreed = {(c.abstract_syntax, c.transfer_syntax[0]) for c in call.accepted_contexts}
            self.assertEqual(agreed, {(one, syntaxes[0]) for one, syntaxes in pairs})
            call.release()

    def test_from_beyond_this_machine_only_the_list_may_call(self):
        host = beyond_loopback()
        if host is None:
            self.skipTest("this machine has no address in a private network")
        for callers, calling, taken in (([], "ROOM1", False), (["ROOM1"], "ROOM1", True), (["ROOM1"], "ROOM2", False)):
            with self.subTest(callers=callers, calling=calling):
                practice = Practice(callers=callers).start(host)
                self.addCleanup(practice.close)
                status, said = practice.scu("echoscu", "-v", calling=calling)
                self.assertEqual(status == 0, taken, said)
                self.assertEqual("Calling AE Title Not Recognized" in said, not taken, said)

    def test_a_stop_does_not_wait_for_whoever_still_holds_the_line(self):
        practice = Practice().start()
        self.addCleanup(practice.close)
        ae = AE()
        ae.add_requested_context(Verification)
        call = ae.associate("127.0.0.1", practice.port, ae_title=TITLE)
        self.assertTrue(call.is_established)
        self.assertLess(practice.stop(), 8)


if __name__ == "__main__":
    unittest.main()
