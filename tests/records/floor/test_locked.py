"""Tablets in Review, and what the floor says of a station without its own."""

import pytest
from django.urls import reverse

from plant.people.models import DeviceContact
from records.floor.actions import print_sheet
from records.floor.locked import locked_words
from records.steps.actions import lock_out_tablet
from tests import builders
from tests.builders import moment, said
from tests.keys import a_tablet
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(6))


def test_the_list_names_station_last_contact_and_unsent_as_last_told():
    device = a_tablet()
    DeviceContact.objects.create(device=device, at=moment(5), unsent=3, oldest_at=moment(4), guesses=7)
    page = tablet("review").get(reverse("days:tablet_list"))
    assert all(word in page.text for word in (device.code, "MOULD-1", "13:00", ">3<", ">7<", "In use", "Lock out"))
    assert "Lock out" not in tablet("auditor").get(reverse("days:tablet_list")).text


def test_the_floor_names_the_sheet_to_use_until_another_tablet_stands_there():
    device = a_tablet()
    assert locked_words() == []
    lock_out_tablet(device.code, reason="lost", said=said(5))
    assert locked_words(["MOULD-1"]) == ["Tablet MOULD-1 is locked. Ask your lead for a sheet."]
    sheet = print_sheet("MOULD-1", said=said(5))
    words = f"Tablet MOULD-1 is locked. Use sheet {sheet.code}."
    for address in (reverse("floor:station_list"), reverse("floor:station", args=["MOULD-1"])):
        assert words in tablet().get(address).text
    assert words not in tablet().get(reverse("floor:station", args=["BOND-1"])).text
    a_tablet()
    assert locked_words() == []
