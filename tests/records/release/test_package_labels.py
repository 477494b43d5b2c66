"""Every package of a delivery gets its first label by one press, each with its own symbol."""

import pypdfium2
import pytest
import zxingcpp
from django.urls import reverse

from plant.quantities import read_quantity
from records.items.actions import Delivery, receive_lot
from records.items.making import Input
from records.release.actions import print_label
from records.release.models import LabelPrint
from tests import builders
from tests.builders import said
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    packages = [Input(code, read_quantity("5 kg")) for code in ("P1", "P2", "P3")]
    delivery = Delivery(part="RES-A", quantity=read_quantity("15 kg"), supplier="Fell Supply", packages=packages)
    receive_lot("R1", delivery, said=said(-2))
    print_label("P2", said=said(-1))
    clock_at(builders.moment(5))


def test_those_without_a_label_get_their_first_once_however_often_it_is_pressed():
    client, address = tablet("stores"), reverse("labels:package_labels", args=["R1"])
    page = client.get(address)
    assert "2 of 3 packages have no label yet" in page.content.decode()
    told = {name: str(page.context["form"].initial[name]) for name in ("key", "drawn_at")} | {"dots": "300"}
    answers = [client.post(address, told) for _ in range(2)]
    file = reverse("labels:package_file", args=["R1"])
    assert [answer.headers["Location"] for answer in answers] == [f"{file}?dots=300"] * 2
    assert sorted((row.code, row.copy) for row in LabelPrint.objects.all()) == [("P1", 1), ("P2", 1), ("P3", 1)]
    assert "Each of the 3 packages has a label" in client.get(address).content.decode()


@pytest.mark.parametrize("dots", [203, 300, 600])
def test_the_file_holds_a_page_for_each_with_its_own_symbol(dots):
    """Decoded by a reader that is none of this project's: zxing-cpp."""
    for code in ("P1", "P3"):
        print_label(code, said=said(4))
    sent = tablet("stores").get(reverse("labels:package_file", args=["R1"]), {"dots": dots})
    pages = list(pypdfium2.PdfDocument(sent.getvalue()))
    read = [zxingcpp.read_barcodes(page.render(scale=dots / 72, grayscale=True).to_pil()) for page in pages]
    assert [found[0].text.count(code) for found, code in zip(read, ("P1", "P2", "P3"), strict=True)] == [1, 1, 1]
    assert {(round(page.get_width() / 72 * 25.4), round(page.get_height() / 72 * 25.4)) for page in pages} == {(70, 32)}


def test_what_came_without_packages_has_no_such_page():
    builders.a_lot("R2")
    for name in ("package_labels", "package_file"):
        assert tablet("stores").get(reverse(f"labels:{name}", args=["R2"])).status_code == 404
