"""Photos of the floor: sent ahead, then named; an entry waits for its photo and nothing else waits with it."""

import base64
import json
from hashlib import sha256
from uuid import uuid4

import pytest

from records.ledger.models import EntryBody, Photo
from records.ledger.photographs import photograph
from tests import builders
from tests.photos import a_photo, a_picture
from tests.records.floor.test_files import file_of, sent
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
BARE = photograph(a_picture(colour="purple"))


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(builders.moment(5))


def test_a_photo_sent_twice_is_one_and_answers_its_hash():
    client = tablet()
    for _ in range(2):
        answer = client.post("/floor/photos/", BARE.raw, content_type="image/jpeg")
        assert answer.json()["photo"] == BARE.sha256


def test_what_is_no_picture_is_told():
    answer = tablet().post("/floor/photos/", b"no picture", content_type="image/jpeg")
    assert (answer.status_code, answer.json()["code"]) == (400, "no-picture")


def test_an_entry_waits_for_its_photo_and_the_next_does_not():
    client = tablet()
    with_photo = entry("move", item="F1", station="TRIM-1") | {"photos": ["b" * 64]}
    other = entry("step", unit="F1", operation="vent")
    answers = send(client, with_photo, other)
    assert [(a["outcome"], a["code"]) for a in answers] == [("later", "photo-missing"), ("taken", "")]
    with_photo["photos"] = [a_photo()]
    assert send(client, with_photo)[0]["outcome"] == "taken"
    assert Photo.objects.get().sha256 == with_photo["photos"][0]


@pytest.mark.parametrize("photos", [["short"], ["g" * 64], ["a" * 64] * 13, "a" * 64])
def test_photos_that_are_no_hashes_are_malformed(photos):
    answer = send(tablet(), entry("move", item="F1", station="TRIM-1") | {"photos": photos})[0]
    assert (answer["outcome"], answer["code"]) == ("refused", "malformed")


def test_an_entry_without_a_photo_that_it_had_names_its_hash_and_why():
    left = [{"photo": "b" * 64, "why": "not-sent"}]
    told = entry("move", item="F1", station="TRIM-1") | {"photos_left": left}
    (answer,) = send(tablet(), told)
    assert (answer["outcome"], answer["flags"]) == ("flagged", ["photo-left-out"])
    assert answer["words"] == "Kept, and marked because its photo bbbbbbbb was left out: it could not be sent."
    sealed = json.loads(EntryBody.objects.get(entry__key=told["key"]).payload)
    assert sealed["told"]["photos_left"][0]["photo"] == "b" * 64


@pytest.mark.parametrize(
    "left", [[{"photo": "short", "why": "not-sent"}], [{"photo": "b" * 64, "why": "tired"}], ["b" * 64]]
)
def test_a_photo_left_out_without_hash_or_reason_is_malformed(left):
    answer = send(tablet(), entry("move", item="F1", station="TRIM-1") | {"photos_left": left})[0]
    assert (answer["outcome"], answer["code"]) == ("refused", "malformed")


def test_a_file_carries_photos_along():
    told = entry("move", item="F1", station="TRIM-1", done=True) | {"photos": [BARE.sha256]}
    photos = {BARE.sha256: base64.b64encode(BARE.raw).decode()}
    assert "<h1>1 taken in</h1>" in sent(file_of(told, photos=photos))
    assert Photo.objects.get().sha256 == BARE.sha256


@pytest.mark.parametrize("photos", [{"a" * 64: base64.b64encode(b"other").decode()}, {"x": "?"}, [1], "x"])
def test_a_photo_changed_on_its_way_is_told(photos):
    assert "on the tablet once more" in sent(file_of(photos=photos))


def test_a_photo_of_an_entry_is_shown_and_one_of_none_is_not():
    client, name = tablet(), a_photo("gold")
    assert client.get(f"/photo/{name}/").status_code == 404
    send(client, entry("move", item="F1", station="TRIM-1") | {"photos": [name]})
    shown = client.get(f"/photo/{name}/")
    assert (shown.status_code, shown["Content-Type"]) == (200, "image/jpeg")
    assert sha256(shown.content).hexdigest() == name
    assert f"/photo/{name}/" in client.get("/trace/unit/F1/").content.decode()


def test_a_plain_form_carries_photos_that_were_sent_ahead():
    client, name = tablet(), a_photo("pink")
    told = {"item": "F1", "key": str(uuid4()), "made_at": builders.moment(5).isoformat(), "photos": name}
    assert client.post("/floor/at/TRIM-1/log/move/", told).status_code == 302
    assert Photo.objects.get().sha256 == name
