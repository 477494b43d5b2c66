"""A form that acts and carries a photo: kept once it is read, and kept when the form is drawn once more."""

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import RequestFactory

from plant.people.acting import ActForm, PhotoField
from plant.people.models import Person
from records.ledger.photos import place_of
from tests.photos import a_picture

pytestmark = pytest.mark.django_db


class Told(ActForm):
    act = "hold placed"

    what = forms.CharField()
    photo = PhotoField("Photo of the label")


def drawn(**sent: object) -> Told:
    request = RequestFactory().post("/", {"key": "018f2c5e-7b1a-4c3d-9e2f-5a6b7c8d9e0f", **sent})
    request.user = Person.objects.program()
    return Told(request)


def upload(raw: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile("label.jpg", raw, "image/jpeg")


def test_a_form_says_its_photo():
    form = drawn(what="label", drawn_at="2026-03-02T08:00:00+00:00", photo=upload(a_picture()))
    assert form.is_valid(), form.errors
    (name,) = form.said().photos
    assert place_of(name).exists()
    assert form.is_multipart()


def test_a_form_without_a_photo_says_none():
    form = drawn(what="label", drawn_at="2026-03-02T08:00:00+00:00")
    assert form.is_valid()
    assert form.said().photos == ()


def test_a_form_drawn_once_more_keeps_its_photo():
    form = drawn(drawn_at="2026-03-02T08:00:00+00:00", photo=upload(a_picture()))
    assert not form.is_valid()
    shown = str(form["photo"])
    assert "Your photo is kept." in shown
    name = form.cleaned_data["photo"]
    assert f'name="photo-kept" value="{name}"' in shown
    again = drawn(what="label", drawn_at="2026-03-02T08:00:00+00:00", **{"photo-kept": name})
    assert again.is_valid()
    assert again.said().photos == (name,)


def test_what_is_no_picture_is_told_at_its_field():
    form = drawn(what="label", drawn_at="2026-03-02T08:00:00+00:00", photo=upload(b"no picture"))
    assert not form.is_valid()
    assert "no picture that can be kept" in form.errors["photo"][0]


def test_a_photo_that_was_never_kept_is_none():
    form = drawn(what="label", drawn_at="2026-03-02T08:00:00+00:00", **{"photo-kept": "c" * 64})
    assert form.is_valid()
    assert form.said().photos == ()
