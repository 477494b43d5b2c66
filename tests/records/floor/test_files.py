"""Entries that leave a tablet by file: taken once, never after the file was changed."""

import json
from hashlib import sha256

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from records.floor.files import WHAT
from records.floor.taking import MOST_ENTRIES
from records.ledger.models import Entry
from tests import builders
from tests.records.floor.told import entry, tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def file_of(*entries: dict, **other: object) -> bytes:
    text = json.dumps(entries)
    told = {"what": WHAT, "device": "TB-1", "sum": sha256(text.encode()).hexdigest(), "entries": text}
    return json.dumps(told | other).encode()


def sent(body: bytes) -> str:
    answer = tablet().post("/floor/file/", {"file": SimpleUploadedFile("kept.json", body)})
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_file_is_taken_in_once():
    builders.a_front("F1")
    body = file_of(
        entry("step", unit="F1", operation="vent", done=True), entry("move", item="F1", station="TRIM-1", done=True)
    )
    assert "<h1>2 taken in</h1>" in sent(body)
    before = Entry.objects.count()
    again = sent(body)
    assert "On file already: 2. Nothing changed." in again
    assert Entry.objects.count() == before


def test_what_is_somebody_elses_without_a_sitting_waits_and_is_said():
    builders.a_front("F1")
    page = sent(file_of(entry("step", unit="F1", operation="vent", done=True) | {"by": "operator"}))
    assert "Waiting for the person who made it, or for a photo: 1." in page
    assert not Entry.objects.filter(kind="step done", by__badge="operator").exists()


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "Choose the file"),
        (b"\xff{", "can&#x27;t be read"),
        (b"[]", "no file of a tablet"),
        (file_of(what="a song"), "no file of a tablet"),
        (file_of(entries="[{", sum=sha256(b"[{").hexdigest()), "no JSON"),
        (file_of(entries="[NaN]", sum=sha256(b"[NaN]").hexdigest()), "no number that can be kept"),
        (file_of(sum="0"), "changed or cut off"),
        (file_of(entries='[{"key": "x"}]'), "changed or cut off"),
    ],
)
def test_another_file_or_a_changed_one_is_told(body, words):
    before = Entry.objects.count()
    assert words in sent(body)
    assert Entry.objects.count() == before


def test_a_file_of_any_length_is_taken_batch_by_batch_and_what_waits_holds_back_what_depends_on_it():
    """Three batches: the first entry waits for its person, and the last of all depends on it."""
    builders.a_front("F1")
    first = entry("step", unit="F1", operation="vent", done=True) | {"by": "operator"}
    moves = [entry("move", hours=1 + n / 1000, item="F1", station="TRIM-1", done=True) for n in range(2 * MOST_ENTRIES)]
    last = entry("step", hours=4, unit="F1", operation="trim", done=True) | {"depends_on": [first["key"]]}
    page = sent(file_of(first, *moves, last))
    assert f"<h1>{2 * MOST_ENTRIES} taken in</h1>" in page
    assert not Entry.objects.filter(kind="step done").exclude(by__badge="everybody").exists()
    assert not Entry.objects.filter(key=last["key"]).exists()
