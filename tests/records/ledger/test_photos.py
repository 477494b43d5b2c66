"""Photos: kept once under their hash, bare of what a camera writes, sealed with the entry that carries them."""

import json
from dataclasses import replace
from hashlib import sha256
from io import BytesIO

import pytest
from PIL import Image

from records.ledger.models import Entry, EntryBody, Photo, Unplaced
from records.ledger.photographs import LONGEST_SIDE, MOST_BYTES, is_bare, photograph
from records.ledger.photos import keep_photo, photos_of, place_of
from records.ledger.refusals import Conflict, Refused
from records.ledger.verifying import verify
from tests.photos import a_photo, a_picture
from tests.records.ledger.book import note_shelf, said

pytestmark = pytest.mark.django_db


def test_nothing_that_a_camera_wrote_is_kept():
    sent = a_picture(camera=True)
    assert b"a maker" in sent
    kept = photograph(sent)
    assert is_bare(kept.raw)
    assert not is_bare(sent)
    assert b"a maker" not in kept.raw
    assert not Image.open(BytesIO(kept.raw)).getexif()


def test_a_bare_picture_stays_byte_for_byte_so_that_its_hash_is_its_makers():
    kept = photograph(photograph(a_picture(camera=True)).raw)
    assert photograph(kept.raw) == kept
    assert kept.sha256 == sha256(kept.raw).hexdigest()


@pytest.mark.parametrize("extra", [b"after the end", b"\xff\xd9"])
def test_a_picture_with_something_behind_it_is_not_bare(extra):
    bare = photograph(a_picture()).raw
    assert is_bare(bare)
    assert not is_bare(bare + extra)
    assert photograph(bare + extra).raw == photograph(photograph(bare + extra).raw).raw


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_other_forms_become_jpeg(form):
    assert is_bare(photograph(a_picture(form=form)).raw)


def test_a_large_picture_is_made_smaller_and_stands_upright():
    exif = Image.Exif()
    exif[0x0112] = 6  # turned by a quarter
    out = BytesIO()
    Image.effect_noise((3000, 2000), 90).convert("RGB").save(out, "JPEG", exif=exif, quality=95)
    kept = photograph(out.getvalue())
    assert (kept.width, kept.height) == (round(LONGEST_SIDE * 2 / 3), LONGEST_SIDE)
    assert len(kept.raw) <= MOST_BYTES


@pytest.mark.parametrize(
    "sent", [b"", b"no picture", a_picture()[:200], b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"\xff\xd8\xff\xd9"]
)
def test_what_is_no_picture_is_refused_with_a_sentence(sent):
    with pytest.raises(Refused) as refused:
        photograph(sent)
    assert refused.value.code == "no-picture"
    assert "photo" in str(refused.value)


def test_a_picture_of_too_many_dots_is_refused_before_it_is_drawn():
    out = BytesIO()
    Image.new("1", (10_000, 8_001)).save(out, "PNG")
    with pytest.raises(Refused, match="80 million dots"):
        photograph(out.getvalue())


def test_sent_twice_it_is_one_file():
    first, again = keep_photo(a_picture()), keep_photo(a_picture())
    assert first == again
    place = place_of(first.sha256)
    assert place.read_bytes() == first.raw
    assert [one.name for one in place.parent.iterdir()].count(place.name) == 1
    assert not list(place.parent.glob(".coming-*"))


def test_any_act_carries_photos_sealed_by_hash_kind_and_size():
    names = (a_photo("navy"), a_photo("teal"))
    shelf = note_shelf("S1", said=replace(said(), photos=names))
    photos = photos_of([shelf.entry_id])[shelf.entry_id]
    assert tuple(photo.sha256 for photo in photos) == names
    rows = json.loads(EntryBody.objects.get(entry=shelf.entry).payload)["rows"]
    sealed = [row for row in rows if row["t"] == "ledger_photo"]
    assert [(row["sha256"], row["kind"], row["bytes"]) for row in sealed] == [
        (name, "image/jpeg", place_of(name).stat().st_size) for name in names
    ]
    assert verify().clean


def test_an_act_whose_photo_has_not_come_leaves_nothing():
    with pytest.raises(Refused) as refused:
        note_shelf("S1", said=replace(said(), photos=("a" * 64,)))
    assert refused.value.code == "photo-missing"
    assert not Photo.objects.exists()
    assert not Entry.objects.filter(kind="works opened").exists()


def test_a_repeat_with_another_photo_is_a_conflict_and_the_same_one_is_none():
    first = replace(said(), photos=(a_photo("navy"),))
    shelf = note_shelf("S1", said=first)
    assert note_shelf("S1", said=first) == shelf
    with pytest.raises(Conflict):
        note_shelf("S1", said=replace(first, photos=(a_photo("red"),)))
    assert Photo.objects.count() == 1
    assert Unplaced.objects.count() == 1


def test_verification_tells_of_a_photo_that_is_gone_or_another_one():
    name = a_photo("olive")
    note_shelf("S1", said=replace(said(), photos=(name,)))
    place = place_of(name)
    raw = place.read_bytes()
    try:
        place.write_bytes(raw + b"x")
        assert [fault.kind for fault in verify().faults] == ["file-changed"]
        place.unlink()
        assert [fault.kind for fault in verify().faults] == ["file-missing"]
    finally:
        place.write_bytes(raw)
    assert verify().clean


@pytest.mark.parametrize("name", ["", "../../signing-key", "A" * 64, "a" * 63])
def test_what_is_no_hash_names_no_file(name):
    with pytest.raises(Refused):
        place_of(name)
