"""Entries signed by their maker's own key: whose they are, what becomes of a bad signature, and a second person's."""

import json

import pytest
import rfc8785
from django.test import override_settings

from plant.people.models import Person
from records.floor.proving import signed_text
from records.floor.sitting import sitting_of
from records.ledger.actions import erase_words
from records.ledger.models import Entry, EntryBody, PrivateWords, Signature
from records.ledger.signing import is_signed_on_device
from records.ledger.verifying import verify
from tests import builders
from tests.keys import Key, a_key, a_tablet
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))
    builders.a_front("F1")


def a_step(device, **more) -> dict:
    return entry("step", unit="F1", operation="vent") | {"device": device.code, "by": "operator"} | more


def test_what_is_signed_is_the_canonical_form_of_what_is_sent():
    sent = {"key": "k", "payload": {"b": "Ö", "a": [1, True, None]}, "done": True, "sitting": "s", "signature": "x"}
    assert signed_text(sent) == '{"key":"k","payload":{"a":[1,true,null],"b":"Ö"}}'
    assert signed_text(sent).encode() == rfc8785.dumps({"payload": sent["payload"], "key": "k"})


def test_a_signature_of_the_published_test_vector_is_good_and_any_other_is_not():
    """RFC 6979, A.2.5, P-256 with SHA-256 and the message "sample"."""
    point = bytes.fromhex(
        "0460FED4BA255A9D31C961EB74C6356D68C049B8923B61FA6CE669622E60F29FB6"
        "7903FE1008B8BC99A41AE9E95628BC64F2F1B20C2D7E9F5177A3C294D4462299"
    )
    signature = bytes.fromhex(
        "EFD48B2AACB6A8FD1140DD9CD45E81D69D2C877B56AAF991C34D0EA84EAF3716"
        "F7CB1C942D657C41D436C7A1B6E29F65F3E900DBB9AFF4064DC4AB2F843ACDA8"
    )
    assert is_signed_on_device(point, signature, b"sample")
    assert not is_signed_on_device(point, signature, b"simple")
    assert not is_signed_on_device(point[:-1] + b"\0", signature, b"sample")
    assert not is_signed_on_device(point[:-1], signature, b"sample")
    assert not is_signed_on_device(point, signature + b"\0", b"sample")


def test_a_signed_entry_is_its_makers_whoever_sends_it_and_its_signature_is_kept():
    device = a_tablet()
    key = a_key("operator", device)
    sent = key.entry(a_step(device))
    (answer,) = send(tablet("lead"), sent)
    assert answer["outcome"] == "taken"
    kept = Signature.objects.get(entry__key=sent["key"])
    assert kept.entry.by.badge == "operator"
    assert kept.text.text == signed_text(sent)
    assert is_signed_on_device(bytes(kept.public_key), bytes(kept.signature), kept.text.text.encode())
    assert verify().faults == ()


def test_a_kept_signature_is_checked_again_by_verification(monkeypatch):
    device = a_tablet()
    send(tablet(), a_key("operator", device).entry(a_step(device)))
    monkeypatch.setattr("records.ledger.verifying.signed.is_signed_on_device", lambda *_: False)
    (fault,) = verify().faults
    assert (fault.kind, fault.table, fault.row) == ("signature-bad", "ledger_signature", Signature.objects.get().pk)


def test_what_was_signed_can_be_erased_and_the_book_stays_whole():
    device = a_tablet()
    send(tablet(), a_key("operator", device).entry(a_step(device)))
    text = Signature.objects.get().text
    assert text.text
    erase_words(PrivateWords.objects.get(pk=text.pk), reason="asked", said=builders.said(5))
    assert verify().faults == ()


@pytest.mark.parametrize("wrong", ["payload", "key", "other device", "other person"])
def test_a_bad_signature_is_refused_at_the_gate_and_kept_and_marked_where_it_has_happened(wrong):
    device = a_tablet()
    key = a_key("operator", device)
    made = {
        "payload": lambda: key.entry(a_step(device)) | {"payload": {"unit": "F1", "operation": "vent", "station": ""}},
        "key": lambda: Key().entry(a_step(device)),
        "other device": lambda: key.entry(a_step(a_tablet())),
        "other person": lambda: a_key("lead", device).entry(a_step(device)),
    }
    sent = made[wrong]()
    (refused,) = send(tablet("operator"), sent)
    assert (refused["outcome"], refused["code"]) == ("refused", "bad-signature")
    (kept,) = send(tablet("operator"), sent | {"done": True})
    assert (kept["outcome"], kept["flags"]) == ("flagged", ["bad-signature"])
    assert kept["words"] == "Kept, and marked because its signature does not fit a key of this tablet."
    assert not Signature.objects.exists()


def test_a_bad_signature_lends_nobody_a_name():
    device = a_tablet()
    sent = Key().entry(a_step(device)) | {"done": True}
    (answer,) = send(tablet("lead"), sent)
    assert (answer["outcome"], answer["code"]) == ("later", "other-person")
    assert not Entry.objects.filter(key=sent["key"]).exists()


def test_a_number_that_cannot_be_signed_is_a_bad_signature_and_no_fault():
    device = a_tablet()
    sent = a_key("operator", device).entry(a_step(device))
    sent["payload"] = {"unit": "F1", "operation": "vent", "amount": 2**60}
    (answer,) = send(tablet("operator"), sent)
    assert answer["outcome"] == "refused"


def test_an_unsigned_entry_is_taken_unless_the_works_asks_for_signatures():
    device = a_tablet()
    sent = a_step(device)
    with override_settings(SIGNED_ENTRIES_ONLY=True):
        (refused,) = send(tablet("operator"), sent)
        assert refused["code"] == "unsigned"
    (taken,) = send(tablet("operator"), sent)
    assert (taken["outcome"], taken["flags"]) == ("taken", [])


def test_a_second_person_signs_beside_the_maker_by_key_or_by_sitting():
    device = a_tablet()
    first, second = a_key("operator", device), a_key("lead", device)
    lead = Person.objects.get(badge="lead")
    sent = a_step(device, second={"by": "lead", "signer": second.public})
    sent = first.entry(sent)
    sent["second"]["signature"] = second.signs(signed_text(sent).encode())
    (answer,) = send(tablet("operator"), sent)
    assert answer["outcome"] == "taken"
    assert [row.is_second for row in Signature.objects.order_by("pk")] == [False, True]
    assert Signature.objects.values("text").distinct().count() == 1
    payload = json.loads(EntryBody.objects.get(entry__key=sent["key"]).payload)
    assert payload["told"]["second"] == lead.pk
    assert verify().faults == ()
    sat = a_step(device, second={"by": "lead", "sitting": sitting_of(lead, device.code)}) | {"done": True}
    (answer,) = send(tablet("operator"), sat)
    assert answer["outcome"] == "taken"
