"""The page of a label: the first one printed, another with its reason, the file, and the scan back."""

import threading
from html import unescape
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import ClassVar

import pytest
from django.urls import reverse

from plant.equipment.actions import Wanted, set_printer
from plant.equipment.queries import printers, station_by_code
from plant.messages import SCANNER_TEST, gtin_of
from plant.papers.label import label_pdf
from plant.scans import read_scan
from records.items.queries import item_by_code
from records.ledger.refusals import Refused
from records.release.actions import open_passport, print_label
from records.release.labels import label_of, labelled, prints_of, scanner_test_label
from records.release.models import LabelCheck, LabelPrint
from tests import builders
from tests.papers import words_of
from tests.records.floor.told import tablet
from tests.records.items.test_at_once import both, two_connections

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(builders.moment(5))


def press(code: str, *, follow: bool = False, **told: str):
    client, address = tablet("stores"), reverse("labels:label", args=[code])
    form = client.get(address).context["form"]
    sent = {name: str(form.initial[name]) for name in ("key", "drawn_at")} | told
    return client.post(address, sent, follow=follow)


def test_the_first_label_needs_no_reason_and_its_file_comes_at_once():
    sent = press("F1", dots="300")
    response = tablet("stores").get(sent.headers["Location"])
    assert response.headers["Content-Type"] == "application/pdf"
    assert "F1" in words_of(response.content)
    (printed,) = prints_of(item_by_code("F1"))
    assert label_of(printed).message.text == b"[)>\x1e06\x1dSF1\x1d1POSIER-F\x1dZ1\x1e\x04"


def test_another_label_says_why_and_carries_its_number():
    press("F1", dots="203")
    assert "Fill this in." in press("F1", dots="203").content.decode()
    press("F1", dots="203", reason="torn")
    assert [(row.copy, row.reason) for row in prints_of(item_by_code("F1"))] == [(1, ""), (2, "torn")]


def test_the_label_of_a_lot_says_until_when_it_is_good():
    press("R1", dots="203")
    (printed,) = prints_of(item_by_code("R1"))
    told = label_of(printed)
    assert told.message.text.startswith(b"[)>\x1e06\x1d1TR1\x1d")
    assert not told.has_figure


def test_a_label_scanned_back_opens_the_page_of_its_thing():
    press("R1", dots="203")
    (printed,) = prints_of(item_by_code("R1"))
    scanned = tablet("stores").get(reverse("trace:find"), {"code": label_of(printed).message.text.decode()})
    assert scanned.headers["Location"] == reverse("trace:unit", args=["R1"])


@pytest.mark.parametrize(
    ("copy", "words"),
    [
        (1, "That is label 1 of F1; label 2 was printed after it. Take the old one off."),
        (2, ""),
        (3, "Label 3 of F1 was never printed here. Find out where it came from."),
    ],
)
@pytest.mark.parametrize(("name", "args"), [("trace:find", []), ("floor:station", ["TRIM-1"])])
def test_an_old_label_is_named_when_it_is_scanned_and_one_that_was_never_printed(name, args, copy, words):
    press("F1", dots="203")
    press("F1", dots="203", reason="torn")
    symbol = f"[)>\x1e06\x1dSF1\x1d1POSIER-F\x1dZ{copy}\x1e\x04"
    client = tablet()
    page = client.get(reverse(name, args=args), {"code": symbol}, follow=True)
    assert "F1" in page.redirect_chain[-1][0]
    assert [str(said) for said in page.context["messages"]] == ([words] if words else [])


def test_what_no_printer_has_and_what_is_not_on_file_is_not_found():
    press("R1", dots="203")
    (printed,) = prints_of(item_by_code("R1"))
    address = reverse("labels:file", args=[printed.pk])
    assert tablet("stores").get(address, {"dots": "150"}).status_code == 404
    assert tablet("stores").get(reverse("labels:label", args=["R99"])).status_code == 404


def test_a_tool_a_station_and_a_badge_have_labels_too_numbered_alike():
    for code in ("ML-1", "MOULD-1", builders.ALL_ROLES):
        press(code, dots="203")
        press(code, dots="203", reason="torn")
        assert [row.copy for row in prints_of(labelled(code))] == [1, 2]
    (printed, _) = prints_of(labelled("ML-1"))
    assert label_of(printed).message.text == b"[)>\x1e06\x1dSML-1\x1dZ1\x1e\x04"
    assert tablet("stores").get(reverse("labels:file", args=[printed.pk])).status_code == 200


def test_the_file_of_a_badge_is_for_those_who_may_print_it():
    press(builders.ALL_ROLES, dots="203")
    address = reverse("labels:file", args=[prints_of(labelled(builders.ALL_ROLES))[0].pk])
    assert tablet("stores").get(address).status_code == 200
    assert tablet("auditor").get(address).status_code == 403


def test_with_a_company_prefix_a_label_is_gs1_and_its_owner_has_a_link(settings):
    settings.COMPANY_PREFIX, settings.OWNER_ADDRESS = "952123454", "https://id.tarnside.example"
    press("F1", dots="203")
    (printed,) = prints_of(item_by_code("F1"))
    gtin = gtin_of("952123454", item_by_code("F1").part.pk)
    assert label_of(printed).message.text == f"(01){gtin}(21)F1(90)L1"
    address = reverse("labels:file", args=[printed.pk])
    assert tablet("stores").get(address, {"for": "owner"}).status_code == 404  # no page that it could lead to
    token = open_passport("F1", said=builders.said(1)).token
    told = label_of(printed, for_owner=True).message.text
    assert told == f"https://id.tarnside.example/f/{token}/01/{gtin}/21/F1"
    assert read_scan(told).code == "F1"
    assert tablet("stores").get(address, {"for": "owner"}).status_code == 200
    settings.OWNER_ADDRESS = ""
    assert tablet("stores").get(address, {"for": "owner"}).status_code == 404


def scan_back(code: str, symbol: str):
    client, address = tablet("stores"), reverse("labels:label_check", args=[code])
    form = client.get(address).context["form"]
    return client.post(address, {name: str(form.initial[name]) for name in ("key", "drawn_at")} | {"symbol": symbol})


SYMBOL = "[)>\x1e06\x1dS{}\x1d1POSIER-F\x1dZ{}\x1e\x04"


def test_a_label_is_scanned_back_once_it_is_stuck_on_and_until_then_it_is_listed():
    press("F1", dots="203")
    assert [row.code for row in listed()] == ["F1"]
    assert scan_back("F1", SYMBOL.format("F1", 1)).status_code == 302
    assert LabelCheck.objects.get().printed.copy == 1
    assert listed() == []
    press("F1", dots="203", reason="torn")
    assert [row.copy for row in listed()] == [2]


def listed(**asked: str) -> list[LabelPrint]:
    """Labels in the list of those that nobody has scanned back."""
    page = tablet("stores").get(reverse("labels:label_list"), asked)
    return [row.record for row in page.context["list"].table.page]


def test_the_list_of_labels_is_narrowed_sorted_and_taken_along():
    press("F1", dots="203")
    press("MOULD-1", dots="203")
    assert [row.code for row in listed()] == ["F1", "MOULD-1"]
    assert [row.code for row in listed(sort="-code")] == ["MOULD-1", "F1"]
    assert [row.code for row in listed(code="mou")] == ["MOULD-1"]
    assert [row.code for row in listed(part="OSIER")] == ["F1"]
    file = tablet("stores").get(reverse("labels:label_list"), {"form": "csv"}).content.decode("utf-8-sig")
    assert file.splitlines()[0].startswith("Code,Label,")
    assert "F1,1," in file
    assert "MOULD-1,1," in file


def test_the_set_up_test_label_of_scanners_reads_as_it_was_written():
    file = tablet("stores").get(reverse("labels:scanner_test"), {"dots": "203"})
    assert file["Content-Type"] == "application/pdf"
    assert "SCANNER-TEST-YZ-0" in words_of(file.content)
    words = " ".join(words_of(file.content).split())
    assert "Look: squares sharp, white all round, nothing cut off; the label is 70 by 32 mm." in words
    facts = scanner_test_label()
    assert read_scan(facts.message.text.decode()).code == SCANNER_TEST
    # What a keyboard makes of it is told: keys of a German and an Italian layout behind a US scanner, caps, separators.
    german = str.maketrans({"[": "ü", ")": "=", ">": ":", "-": "ß", "Y": "Z", "Z": "Y"})
    italian = str.maketrans({"[": "è", ")": "=", ">": ":", "-": "'"})
    text = facts.message.text.decode()
    lost = "".join(sign for sign in text if sign.isprintable())
    for came, how in [
        (text.translate(german), "layout"),
        (text.translate(italian), "layout"),
        (text.swapcase(), "caps"),
        (lost, "separator"),
    ]:
        with pytest.raises(Refused) as refused:
            read_scan(came)
        assert refused.value.facts["how"] == how


@pytest.mark.parametrize(
    ("code", "symbol", "words"),
    [
        ("F1", SYMBOL.format("F2", 1), "That is the label of F2; it belongs on F1."),
        ("F1", SYMBOL.format("F1", 1), "a newer one was printed after it"),
        ("F1", SYMBOL.format("F1", 3), "Label 3 of F1 was never printed here."),
        ("F1", "F1", "scan the symbol on the label itself"),
        ("F1", "[)>06SF1Z2", "separators of this label were lost"),
    ],
)
def test_a_label_that_is_not_the_right_one_is_told_when_it_is_scanned_back(code, symbol, words):
    press("F1", dots="203")
    press("F1", dots="203", reason="torn")
    assert words in unescape(scan_back(code, symbol).content.decode())
    assert not LabelCheck.objects.exists()


class Receiver(BaseHTTPRequestHandler):
    """A printer that speaks IPP: it keeps what came and answers with the state that it is told to."""

    got: ClassVar[list[bytes]] = []
    state = 0x0000

    def do_POST(self):
        type(self).got.append(self.rfile.read(int(self.headers["Content-Length"])))
        body = b"\x01\x01" + self.state.to_bytes(2, "big") + b"\x00\x00\x00\x01\x03"
        self.send_response(200)
        self.send_header("Content-Type", "application/ipp")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        pass


@pytest.fixture
def printer_address():
    Receiver.got.clear()
    Receiver.state = 0x0000
    server = HTTPServer(("127.0.0.1", 0), Receiver)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"ipp://127.0.0.1:{server.server_port}/ipp/print"
    server.shutdown()
    server.server_close()


@pytest.fixture
def printer(printer_address):
    set_printer("LP-1", Wanted("Labels", printer_address, 300, ("MOULD-1",)), said=builders.said(1))
    return Receiver


def test_a_label_goes_to_a_printer_by_name_as_a_print_job_that_holds_its_file(printer):
    sent = press("F1", printer="LP-1")
    assert sent.headers["Location"] == reverse("labels:label", args=["F1"])
    (got,) = printer.got
    (printed,) = prints_of(item_by_code("F1"))
    file = label_pdf(label_of(printed), 300)
    assert got.startswith(b"\x01\x01\x00\x02")  # IPP 1.1, Print-Job
    assert got.endswith(b"\x03" + file)
    for told in (b"application/pdf", b"label 1 of F1", b"print-scaling\x00\x04none"):
        assert told in got


def test_a_label_comes_out_once_however_often_its_press_is_sent(printer):
    client, address = tablet("stores"), reverse("labels:label", args=["F1"])
    form = client.get(address).context["form"]
    sent = {name: str(form.initial[name]) for name in ("key", "drawn_at")} | {"printer": "LP-1"}
    assert [client.post(address, sent).status_code for _ in range(2)] == [302, 302]
    assert (len(printer.got), LabelPrint.objects.count()) == (1, 1)


@pytest.mark.parametrize("state", [0x0400, 0x0507])
def test_a_label_that_a_printer_does_not_take_is_told_and_can_be_had_as_a_file(printer, state):
    printer.state = state
    page = press("F1", printer="LP-1", follow=True)
    assert f"did not take the label ({state:#06x})" in page.content.decode()
    assert len(prints_of(item_by_code("F1"))) == 1


def test_a_printer_that_does_not_answer_is_told():
    wanted = Wanted("", "ipp://127.0.0.1:9/ipp/print", 203)
    set_printer("LP-2", wanted, said=builders.said(1))
    page = press("F1", printer="LP-2", follow=True)
    assert "LP-2 does not answer. Take the file, or choose another printer." in page.content.decode()
    assert "Leave the old label on" not in page.content.decode()
    again = press("F1", printer="LP-2", reason="torn", follow=True).content.decode()
    assert "Label 2 is on file all the same" in again
    assert "Leave the old label on until the new one is in your hand." in again


@pytest.mark.parametrize("address", ["http://printer.example", "ipp://", "ipp://host:port/", "file:///etc/hosts"])
def test_what_is_no_address_of_a_printer_is_refused(address):
    with pytest.raises(Refused, match="A printer's address is written as"):
        set_printer("LP-3", Wanted("", address, 203), said=builders.said(1))


def test_the_printers_of_a_station_come_first_and_one_out_of_use_is_not_offered():
    set_printer("LP-1", Wanted("", "ipp://one.example/", 203), said=builders.said(1))
    set_printer("LP-2", Wanted("", "ipp://two.example/", 203, ("TRIM-1",)), said=builders.said(1))
    assert [one.printer.code for one in printers(station_by_code("TRIM-1"))] == ["LP-2", "LP-1"]
    set_printer("LP-2", Wanted("", "ipp://two.example/", 203, is_gone=True), said=builders.said(2))
    assert [one.printer.code for one in printers()] == ["LP-1"]


class TestTwoAtOnce:
    """Things of the works have no state to lock: the second of two who print a label at once is told so."""

    pytestmark: ClassVar = two_connections

    def test_the_second_label_of_a_thing_printed_at_the_same_moment_is_told_and_makes_no_fault(self):
        first, second = (builders.said(1, by=badge) for badge in ("stores", "review"))
        told = both(lambda: print_label("TRIM-1", said=first), lambda: print_label("TRIM-1", said=second))
        assert told == "overtaken"
        assert [one.copy for one in LabelPrint.objects.filter(thing="TRIM-1")] == [1]
