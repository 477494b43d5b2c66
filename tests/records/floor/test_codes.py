"""Entries that leave a tablet as codes: put together in any order, taken once, told where one is missing or wrong."""

import json
import zlib
from hashlib import sha256
from time import monotonic

import pytest

from records.floor.codes import SIGNS, bytes_of, file_of_lines, read_piece
from records.floor.files import WHAT
from records.items.models import Move
from records.ledger.refusals import Refused
from tests import builders
from tests.records.floor.told import entry, tablet

BODY = json.dumps({"what": WHAT, "entries": "[]", "sum": "x" * 64, "more": "Größe 34,9 mm " * 40}).encode()


def signs_of(raw: bytes) -> str:
    value, over = int.from_bytes(raw, "big"), -len(raw) * 8 % 5
    count = (len(raw) * 8 + over) // 5
    return "".join(SIGNS[value << over >> 5 * (count - 1 - n) & 31] for n in range(count))


def summed(text: str, signs: int) -> str:
    return sha256(text.encode()).hexdigest()[:signs].upper()


def lines_of(body: bytes, size: int = 40) -> list[str]:
    whole = signs_of(zlib.compress(body))
    pieces = [whole[n : n + size] for n in range(0, len(whole), size)]
    of, many = summed(whole, 8), len(pieces)
    return [f"FTC.{of}.{n}.{many}.{summed(piece, 4)}.{piece}" for n, piece in enumerate(pieces, start=1)]


@pytest.mark.parametrize("length", range(12))
def test_bytes_come_back_whatever_their_number(length):
    raw = bytes(range(200, 200 + length))
    assert bytes_of(signs_of(raw)) == raw


def test_lines_in_any_order_typed_in_small_letters_and_twice_make_the_file():
    lines = lines_of(BODY)
    assert len(lines) > 3
    shuffled = [line.lower() for line in reversed(lines)] + [f" {lines[0]} ", ""]
    assert file_of_lines(shuffled) == BODY


def told(lines) -> str:
    with pytest.raises(Refused) as refused:
        file_of_lines(lines)
    assert refused.value.code == "malformed"
    return str(refused.value)


def test_what_is_missing_is_named():
    lines = lines_of(BODY)
    assert told([*lines[:1], *lines[2:-1]]) == f"Not all were read. Missing: 2, {len(lines)}."
    assert "Scan the codes" in told([""])


def test_a_code_that_was_read_wrong_is_named():
    lines = lines_of(BODY)
    wrong = lines[2][:-1] + ("A" if lines[2][-1] != "A" else "B")
    assert told([*lines[:2], wrong]) == "Code 3 was read wrong. Scan it once more."


def test_codes_of_two_tablets_are_not_mixed():
    assert "two tablets" in told([lines_of(BODY)[0], lines_of(BODY + b" ")[1]])


@pytest.mark.parametrize("line", ["TW-26-000396-8", "FTC.00000000.0.1.AAAA.0", "FTC.00000000.1.1.AAAA.I"])
def test_another_code_is_none_of_a_tablets_screen(line):
    with pytest.raises(Refused):
        read_piece(line)


def test_a_piece_put_in_by_hand_does_not_pass_for_another():
    lines = lines_of(BODY)
    forged = "A" * 40
    of, n, many = lines[1].split(".")[1:4]
    assert "do not fit together" in told([lines[0], f"FTC.{of}.{n}.{many}.{summed(forged, 4)}.{forged}", *lines[2:]])


@pytest.mark.django_db
def test_what_another_tablet_read_is_taken_in_once(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(builders.moment(5))
    text = json.dumps([entry("move", item="F1", station="TRIM-1", done=True)])
    body = json.dumps({"what": WHAT, "device": "TB-1", "sum": sha256(text.encode()).hexdigest(), "entries": text})
    lines, before = lines_of(body.encode(), 200), Move.objects.count()
    client = tablet()
    assert "Not all were read" in client.post("/floor/codes/", {"lines": "\n".join(lines[1:])}).content.decode()
    assert "1 taken in" in client.post("/floor/codes/", {"lines": "\n".join(lines)}).content.decode()
    again = client.post("/floor/codes/", {"lines": "\n".join(lines)}).content.decode()
    assert "On file already: 1. Nothing changed." in again
    assert Move.objects.count() == before + 1


def test_a_long_file_is_put_together_at_once():
    """Twenty times as long takes some twenty times as long: it was the square of that, and a desk would have stood."""
    text = SIGNS * 40_000
    begun = monotonic()
    assert len(bytes_of(text)) == len(text) * 5 // 8
    assert monotonic() - begun < 2
