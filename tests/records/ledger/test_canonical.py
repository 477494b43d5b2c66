"""Canonical JSON against the vectors of RFC 8785 (cyberphone/json-canonicalization, Apache-2.0)."""

import json
import struct
from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID

import pytest
import rfc8785

from records.ledger.canonical import canonical, row_payload
from records.ledger.models import Flag, PrivateWords, UnplacedSettled
from records.ledger.words import commitment
from records.runs.models import LogBytes
from tests.records.ledger.book import REFERENCE, reference
from tests.records.ledger.test_merkle import WORKED

DOCUMENTS = sorted(path.name for path in (REFERENCE / "jcs" / "input").glob("*.json"))
NUMBERS = reference("jcs/numbers.json")["vectors"]


@pytest.mark.parametrize("name", DOCUMENTS)
def test_documents_come_out_as_published(name):
    text = (REFERENCE / "jcs" / "input" / name).read_text("utf-8")
    # Payloads carry no floats, so the writer underneath is asked for the documents that do.
    assert rfc8785.dumps(json.loads(text)) == (REFERENCE / "jcs" / "output" / name).read_bytes()


@pytest.mark.parametrize("vector", NUMBERS, ids=lambda vector: vector["text"])
def test_numbers_come_out_as_published(vector):
    value = struct.unpack(">d", bytes.fromhex(vector["ieee754_hex"]))[0]
    assert rfc8785.dumps(value).decode() == vector["text"]


def test_the_worked_payload_is_its_own_canonical_form():
    assert canonical(json.loads(WORKED)) == WORKED


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (datetime(2026, 11, 24, 9, 14, 1, 320000, tzinfo=UTC), '"2026-11-24T09:14:01.320000Z"'),
        (datetime(2026, 11, 24, 10, 0, tzinfo=timezone(timedelta(hours=1))), '"2026-11-24T09:00:00.000000Z"'),
        (date(2026, 11, 24), '"2026-11-24"'),
        (UUID("0198a2c4-7d10-7c3e-9a55-3f1b2c4d5e6f"), '"0198a2c4-7d10-7c3e-9a55-3f1b2c4d5e6f"'),
        (b"\x00\xff", '"00ff"'),
        (memoryview(b"\x01"), '"01"'),
        ({"b": [1, True, None], "a": "é\x00"}, '{"a":"é\\u0000","b":[1,true,null]}'),
        (2**53 - 1, "9007199254740991"),
    ],
)
def test_values_have_one_form(value, text):
    assert canonical(value).decode() == text


@pytest.mark.parametrize("value", [34.95, {"x": 1.0}, [float("nan")]])
def test_floats_are_not_let_in(value):
    with pytest.raises(TypeError, match="float"):
        canonical(value)


@pytest.mark.parametrize("value", [2**53, -(2**53), "\ud800"])
def test_what_has_no_exact_form_is_refused(value):
    with pytest.raises(ValueError):
        canonical(value)


def test_a_row_carries_its_table_its_number_and_every_column_but_the_entry():
    assert row_payload(Flag(id=5, entry_id=9, code="held", facts="{}")) == {
        "t": "ledger_flag",
        "id": 5,
        "code": "held",
        "facts": "{}",
    }


def test_a_row_carries_words_as_their_commitment():
    words = PrivateWords(id=3, salt=b"s", text="Rider", commitment=b"\xab\xcd")
    row = row_payload(UnplacedSettled(id=1, unplaced_id=2, how="aside", reason=words))
    assert row["reason_id"] == "abcd"


def test_a_row_carries_bulk_bytes_as_their_hash():
    """SHA-256 of "abc", FIPS 180-4 example B.1."""
    row = row_payload(LogBytes(log_id=1, raw=b"abc", block=b""))
    assert row["raw"] == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_the_commitment_of_words_is_the_worked_one():
    """Worked by another program before this one was written."""
    salt = bytes.fromhex("00112233445566778899aabbccddeeff")
    assert commitment(salt, "Rider: Anna B., Lienz").hex() == (
        "819a8d5980bc1355c5925de737a7aa94f56b105a42169808d522cafea7533030"
    )
