"""The page on which a lot is received: what it takes, what it asks again, and what it refuses in words."""

import html

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from plant.catalogue import specs
from plant.catalogue.models import Part
from plant.messages import EOT, GS, HEADER, RS
from records.items.models import CertificateValue, Item, Receipt
from records.items.queries import find_item, item_by_code
from tests import builders
from tests.photos import a_picture
from tests.records.floor.told import tablet
from tests.records.items.pages import press, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def test_a_delivery_keeps_the_values_of_its_certificate():
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1"}
    press("lot_receive", **told, certificate="viscosity = 310 mPas\ngel time = 42 min\n")
    values = CertificateValue.objects.order_by("pk").values_list("name", "written", "unit")
    assert list(values) == [("viscosity", "310", "mPas"), ("gel time", "42", "min")]
    page = text(tablet().get(reverse("items:lot", args=["R1"])))
    assert "310" in page
    assert "mPas" in page
    assert "In quarantine: nobody has decided on it." in page


def test_a_certificate_that_cannot_be_read_is_told_and_nothing_is_booked():
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1"}
    assert "no name with its value" in text(press("lot_receive", **told, certificate="thick"))
    assert find_item("R1") is None


def test_a_label_that_is_misread_or_belongs_to_another_kind_books_nothing_in():
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply"}
    assert "check digit does not fit" in text(press("lot_receive", **told, code="RB-26-000425-2"))
    assert "belongs to a fibre lot" in text(press("lot_receive", **told, code="FB-26-000007-4"))
    press("lot_receive", **told, code="rb26 74".replace(" ", ""))
    assert find_item("RB-26-000007-4").part.number == "RES-A"


def test_what_is_missing_is_asked_for_in_words_and_what_was_typed_stays():
    page = text(press("lot_receive", amount="20,5 kg", expires_on="31.12.2026"))
    assert "Choose one." in page
    assert "Fill this in." in page
    assert "This is no day: write 2026-12-31." in page
    assert "20,5 kg" in page
    assert "31.12.2026" in page


def test_a_delivery_keeps_how_it_came_its_packages_and_photos(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1", "delivery_note": "DN 77"}
    told |= {"temperature": "31 °C", "findings": "damaged", "words": "a dent", "packages": "2 X 5 kg\n3 kg P9"}
    photo = SimpleUploadedFile("label.png", a_picture(), "image/png")
    press("lot_receive", **told, label_photo=photo)
    page = text(tablet().get(reverse("items:lot", args=["R1"])))
    for words in ("DN 77", "31 °C", "On arrival a package is damaged.", "a dent", "P9", "package", "/photo/"):
        assert words in page, words
    assert item_by_code("R1").state.remaining == 7 * 10**9
    assert "can’t be accepted" in text(tablet().get(reverse("items:lot_decide", args=["R1"])))


@pytest.mark.parametrize("day", ["01/03/2027", "1/3/27", "Mar 1 2027"])
def test_a_day_that_another_country_would_read_as_another_one_books_nothing_in(day):
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1"}
    assert "This is no day: write 2026-12-31." in text(press("lot_receive", **told, expires_on=day))
    assert find_item("R1") is None


def test_an_end_that_lies_decades_away_is_asked_about_and_what_is_booked_in_says_how_much():
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1"}
    for day in ("0026-12-31", "2206-12-31"):
        assert "is more than 30 years from today" in text(press("lot_receive", **told, expires_on=day))
    assert find_item("R1") is None
    page = press("lot_receive", **told, expires_on="2026-12-31", follow=True)
    assert "R1, 20 kg of RES-A, is in quarantine." in text(page)


@pytest.mark.parametrize(
    "packages", ["five", "5", "4 x 5.000 g", "2 x 5 kg RB-26-000007-4", "1 kg RB-26-000007-5", "999 x 5 kg", "0 x 5 kg"]
)
def test_packages_that_cannot_be_read_are_told_and_nothing_is_booked(packages):
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1"}
    assert "error" in text(press("lot_receive", **told, packages=packages))
    assert find_item("R1") is None


def test_a_lot_that_is_booked_in_already_is_booked_in_again_only_by_who_says_that_it_came_again():
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "supplier_lot": "A 91"}
    client, address = tablet(), reverse("items:lot_receive")
    form = client.get(address).context["form"]
    drawn = {name: str(form.initial[name]) for name in ("key", "drawn_at")}
    assert "one more delivery" not in text(client.get(address))
    for _ in range(2):  # pressed twice, it is the same delivery
        assert client.post(address, drawn | told | {"code": "R1", "delivery_note": "DN 7"}).status_code == 302
    page = text(press("lot_receive", **told | {"supplier_lot": "a 91 ", "supplier": "fell supply"}, code="R2"))
    assert "A 91 of Fell Supply is booked in already: R1, 20 kg on " in page
    assert "delivery note DN 7. Tick this where it came once more" in page
    assert find_item("R2") is None
    assert press("lot_receive", **told, code="R2", again="on").status_code == 302
    assert press("lot_receive", **told | {"supplier_lot": "A 92"}, code="R3").status_code == 302
    assert press("lot_receive", **told | {"supplier": "Other Works"}, code="R4").status_code == 302


@pytest.mark.parametrize(
    ("amount", "words"),
    [
        ("20", "“20” has no unit. Write it too, as in 20 kg."),
        ("1.234,5 kg", "“1.234,5 kg” has a comma and a point."),
        ("1,234.5 kg", "Write one mark alone, and none between thousands."),
        ("25.000 g", "“25.000 g” may be 25 g or 25000 g. Write one of them"),
        ("25,500 g", "“25,500 g” may be 25.5 g or 25500 g. Write one of them"),
        ("1.000 pcs", "“1.000 pcs” may be 1 pcs or 1000 pcs. Write one of them"),
        ("twenty", "“twenty” is no amount. Write figures and the unit: 20 kg."),
        ("20 spoons", "is no unit that is used here"),
    ],
)
def test_what_is_no_amount_is_told_with_what_is_wrong_in_it(amount, words):
    told = {"part": "RES-A", "supplier": "Fell Supply", "code": "R1"}
    assert words in text(press("lot_receive", **told, amount=amount))
    assert find_item("R1") is None


@pytest.mark.parametrize("code", ["RB-26-OOOO77-1", "RB-26-00OO07-4", "RB-26-00000I-5"])
def test_a_label_read_with_letters_for_figures_books_nothing_in(code):
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply"}
    page = text(press("lot_receive", **told, code=code))
    assert "have no letters O and I" in page or "figures alone behind the kind" in page
    assert find_item(code) is None


def test_packages_that_hold_more_than_came_are_told_with_both_amounts():
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1"}
    assert "The packages hold 23 kg, and 20 kg came." in text(press("lot_receive", **told, packages="4 x 5 kg\n3 kg"))
    page = press("lot_receive", follow=True, **told, packages="3 x 5 kg")
    assert find_item("R1").state.remaining == 5 * 10**9
    assert "3 packages stand on its page, each with a code; 5 kg stay under its own." in text(page)


def test_what_is_made_here_is_not_offered_to_be_received_and_parts_stand_with_their_names():
    builders.agreed(specs.PartSpec("RES-C", "resin", "g", prefix="RB", name="slow resin"))
    field = tablet().get(reverse("items:lot_receive")).context["form"].fields["part"]
    offered = {str(value): words for value, words in field.choices}
    assert offered["RES-C"] == "RES-C, slow resin"
    assert "RES-A" in offered
    made_here = Part.objects.filter(kind__in=[*Part.POT_KINDS, Part.Kind.COUPON])
    assert made_here
    assert not {part.number for part in made_here} & offered.keys()


@pytest.mark.parametrize("code", ["B/2026/417", "LOT 9", "A?B=1#C", "50%2F7"])
def test_a_suppliers_code_with_any_sign_has_its_pages(code):
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply"}
    page = press("lot_receive", **told, code=code, packages=f"5 kg {code.replace(' ', '')}/1", follow=True)
    assert f"{code}, 20 kg of RES-A, is in quarantine." in html.unescape(text(page))
    client = tablet()
    for name in ("lot", "lot_decide", "lot_split", "receipt_correct"):
        assert code in html.unescape(text(client.get(reverse(f"items:{name}", args=[code])))), name
    assert client.get(reverse("items:stock")).status_code == 200


@pytest.mark.parametrize("code", [".", "..", "…", "-", "//"])
def test_what_has_neither_letter_nor_figure_is_no_code(code):
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": code}
    assert "no letter and no figure" in text(press("lot_receive", **told))
    assert find_item(code) is None


SYMBOLS = (
    f"{HEADER}1TRB-26-000007-4{GS}1PRES-A{GS}Z1{RS}{EOT}",
    f"]d2010952123454404310RB-26-000007-4{GS}90L1",
    "(01)09521234544043(10)RB-26-000007-4(90)L1",
    "https://id.example/01/09521234544043/10/RB-26-000007-4",
)


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_a_symbol_scanned_where_a_new_code_is_asked_gives_the_code_in_it(symbol):
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply"}
    press("lot_receive", **told, code=symbol)
    assert find_item("RB-26-000007-4").part.number == "RES-A"
    press("lot_receive", **told, code="RB-26-000010-3", packages="5 kg (01)09521234544043(10)RB-26-000011-1")
    assert find_item("RB-26-000011-1") is not None


@pytest.mark.parametrize(
    ("symbol", "words"),
    [
        ("[)>061TRB-26-000007-41PRES-AZ1", "separators of this label were lost"),
        ("]D2010952123454404310rb-26-000007-4", "Capitals and small letters have changed places"),
        ("]d2010952123454404310BTCH0033740", "Two fields of this label may have run together"),
        ("RBß26ß000007ß4", "keyboard layout looks wrong"),
        ("X" * 41, "no code is so long"),
    ],
)
def test_a_symbol_that_cannot_be_read_for_certain_books_nothing_in_and_says_why(symbol, words):
    before = Item.objects.count()
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply"}
    for more in ({"code": symbol}, {"code": "R1", "packages": f"5 kg {symbol}"}):
        assert words in text(press("lot_receive", **told, **more))
    assert Item.objects.count() == before


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_a_symbol_scanned_where_a_lot_on_file_is_asked_names_the_lot(symbol):
    for code in ("R1", "RB-26-000007-4"):
        told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": code}
        press("lot_receive", **told)
        press("lot_decide", code, choice="accept")
    press("lot_merge", "R1", amount="1 kg", other=symbol, other_amount="2 kg")
    press("tank_charge", "TK-1", lot=symbol, amount="3 kg")
    assert item_by_code("RB-26-000007-4").state.remaining == 15 * 10**9
    unread = symbol.replace(GS, "").replace(RS, "").replace("RB-26-000007-4", "RBß26ß000007ß4")
    assert "No such code" not in text(press("tank_charge", "TK-1", lot=unread, amount="3 kg"))


def test_a_scanners_enter_sends_no_form_that_asks_for_more():
    """A form whose first button is disabled is not sent by Enter (HTML standard, implicit submission)."""
    page = text(tablet().get(reverse("items:lot_receive")))
    form = page[page.index('class="ask"') :]
    assert 0 < form.index("<button disabled hidden>") < form.index("Put it in quarantine")
    press("lot_receive", part="RES-A", amount="20 kg", supplier="Fell Supply", code="R1")
    assert "<button disabled hidden>" not in text(tablet().get(reverse("labels:label_check", args=["R1"])))


SLIPS = [
    ("9007 t", "9007 t of RES-A is far more than ever came: 20 kg at most"),
    ("20 g", "far less than ever came: 20 kg at least"),
]


@pytest.mark.parametrize(("amount", "words"), SLIPS)
def test_an_amount_that_is_surely_a_slip_is_asked_about_and_taken_by_who_says_that_it_is_so(amount, words):
    told = {"part": "RES-A", "supplier": "Fell Supply"}
    assert press("lot_receive", **told, amount="20 kg", code="R1").status_code == 302
    page = press("lot_receive", **told, amount=amount, code="R2")
    assert words in text(page)
    assert 'type="checkbox" name="sure"' in text(page)
    assert find_item("R2") is None
    assert press("lot_receive", **told, amount=amount, code="R2", sure="on").status_code == 302
    assert find_item("R2") is not None


@pytest.mark.parametrize("amount", ["400 kg", "200 g"])
def test_a_delivery_a_few_times_larger_or_smaller_than_before_is_not_asked_about(amount):
    told = {"part": "RES-A", "supplier": "Fell Supply"}
    press("lot_receive", **told, amount="20 kg", code="R1")
    assert press("lot_receive", **told, amount=amount, code="R2").status_code == 302


def test_a_first_delivery_of_tonnes_is_asked_about():
    told = {"part": "RES-A", "supplier": "Fell Supply", "code": "R1"}
    assert "a great deal for a first delivery" in text(press("lot_receive", **told, amount="2001 kg"))
    assert press("lot_receive", **told, amount="2 t").status_code == 302


def test_a_delivery_put_right_to_a_slip_is_asked_about_and_its_own_amount_does_not_count():
    told = {"part": "RES-A", "supplier": "Fell Supply"}
    for code in ("R1", "R2"):
        press("lot_receive", **told, amount="20 kg", code=code)
    right = {"supplier": "Fell Supply", "words": "typed wrongly"}
    assert "far more than ever came" in text(press("receipt_correct", "R1", amount="9007 t", **right))
    assert press("receipt_correct", "R1", amount="9007 t", sure="on", **right).status_code == 302
    assert press("receipt_correct", "R1", amount="21 kg", **right).status_code == 302


@pytest.mark.parametrize(
    ("scanned", "lot"),
    [
        (f"{HEADER}1TFS-20417{GS}1PRES{RS}{EOT}", "FS-20417"),
        (f"]d2010952123454404310FS-20417{GS}17270630", "FS-20417"),
        (" fs 20417/b ", "fs 20417/b"),
        ("000417", "000417"),
        ("12E4", "12E4"),
        ("NA", "NA"),
    ],
)
def test_the_lot_on_a_suppliers_label_is_typed_or_scanned_and_kept_as_it_stands_there(scanned, lot):
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1"}
    press("lot_receive", **told, supplier_lot=scanned)
    assert Receipt.objects.get().supplier_lot == lot


@pytest.mark.parametrize(
    ("scanned", "words"),
    [
        ("[)>061TFS-204171PRES", "separators of this label were lost"),
        ("]d2010952123454404310BTCH0033740", "Two fields of this label may have run together"),
        ("FRZß0417", "keyboard layout looks wrong"),
        ("X" * 81, "at most 80 signs"),
    ],
)
def test_a_suppliers_symbol_that_cannot_be_read_for_certain_books_nothing_in(scanned, words):
    told = {"part": "RES-A", "amount": "20 kg", "supplier": "Fell Supply", "code": "R1"}
    assert words in text(press("lot_receive", **told, supplier_lot=scanned))
    assert not Receipt.objects.exists()
