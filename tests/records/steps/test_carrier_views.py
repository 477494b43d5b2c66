"""Pages of carriers: which units are not known as their stage asks, one put on, one that is gone."""

import pytest
from django.urls import reverse
from django.utils import translation

from plant.catalogue import specs
from records.items.queries import item_by_code
from records.ledger.position import mark_of_now
from records.release.actions import check_label, print_label
from records.release.papers.dossier import dossier_pdf
from records.release.papers.dossier_facts import dossier_of
from records.steps.actions import Made, Moulding, Work, log_step, mould, put_carrier, take_carrier_off
from records.steps.carrying import on_now
from records.trace.finding import copy_words
from tests import builders, shelf, worlds
from tests.builders import said
from tests.papers import words_of
from tests.records.floor.told import tablet
from tests.records.steps.test_carrying import ROUTE, symbol

pytestmark = pytest.mark.django_db
LIST = "/stores/carriers/"


@pytest.fixture(autouse=True)
def carried(clock_at):
    three_moulded()
    clock_at(builders.moment(8))


@shelf.kept
def three_moulded():
    builders.a_works()
    builders.agreed(specs.RouteSpec("OSIER-F", ROUTE))
    for n in (1, 2, 3):
        builders.a_tube(f"T{n}")
        mould(
            f"F{n}",
            part="OSIER-F",
            moulding=Moulding([f"T{n}"], []),
            made=Made(["ML-1"], "MOULD-1"),
            said=said(n / 100),
        )


def step(unit: str, name: str, carrier: str = "", *, hours: float = 1):
    return log_step(unit, step=name, work=Work(carrier=carrier), said=said(hours, done=True))


def text(response) -> str:
    return response.content.decode()


def test_a_unit_that_is_known_as_its_stage_asks_is_not_listed():
    step("F1", "demould", "F1")
    assert "Every unit here is known as its stage asks" in text(tablet().get(LIST))


def test_those_without_one_and_those_with_another_units_code_are_listed_the_mixed_up_first():
    step("F1", "demould")
    step("F2", "demould", "F3")
    page = text(tablet().get(LIST))
    assert "1 unit carries the code of another" in page
    assert page.index("tag of F3") < page.index("Nothing on file")
    assert ">F3</a>" not in page


def test_the_list_costs_the_same_whatever_its_length(django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client = tablet()
    step("F1", "demould")
    with CaptureQueriesContext(connection) as few:
        client.get(LIST)
    step("F2", "demould")
    step("F3", "demould")
    with django_assert_num_queries(len(few)):
        client.get(LIST)


def test_one_is_put_on_from_the_page_and_stands_on_the_units_page():
    step("F1", "demould")
    address = reverse("carriers:carrier_put", args=["F1"])
    sent = worlds.press(tablet(), address, carrier="tag", symbol=symbol("F1", 1), reason="")
    assert sent.headers["Location"] == reverse("trace:unit", args=["F1"])
    page = text(tablet().get(reverse("trace:unit", args=["F1"])))
    assert "Known by" in page
    assert "On it" in page
    assert ", label 1" in page


def test_another_units_code_is_refused_in_words():
    step("F1", "demould")
    address = reverse("carriers:carrier_put", args=["F1"])
    page = text(worlds.press(tablet(), address, carrier="tag", symbol="F2", reason=""))
    assert "That is the code of F2, and this is F1." in page


def test_one_that_is_gone_is_told_with_its_reason():
    step("F1", "demould", "F1")
    worlds.press(tablet(), reverse("carriers:carrier_off", args=["F1"]), reason="carrier-lost")
    assert not on_now([item_by_code("F1").pk])
    assert "it is lost" in text(tablet().get(reverse("trace:unit", args=["F1"])))


def test_there_is_no_such_page_for_a_lot():
    builders.a_lot("R1")
    assert tablet().get(reverse("carriers:carrier_put", args=["R1"])).status_code == 404


def test_a_label_that_a_mark_came_after_is_told_when_it_is_scanned():
    print_label("F1", said=said(0.9))
    step("F1", "demould", symbol("F1", 1))
    step("F1", "trim", symbol("F1", 1), hours=2)
    step("F1", "polish", "F1", hours=3)
    words = "That is label 1 of F1, which it is no longer known by: by its permanent mark. Take the old one off."
    assert words in text(tablet().get("/trace/", {"code": symbol("F1", 1)}, follow=True))
    at_station = tablet().get("/floor/at/TRIM-1/", {"code": symbol("F1", 1)}, follow=True)
    assert words in text(at_station)


def test_a_label_that_is_on_it_is_no_matter():
    print_label("F1", said=said(0.5))
    step("F1", "demould", "F1")
    check_label(symbol("F1", 1), said=said(1.5))
    assert "no longer known by" not in text(tablet().get("/trace/", {"code": symbol("F1", 1)}, follow=True))


def test_a_mark_that_was_replaced_is_told_where_its_symbol_can_be_told_apart():
    step("F1", "demould", "F1")
    step("F1", "polish", "(21)F1", hours=2)
    put_carrier("F1", kind="mark", symbol="(21)F1(90)L1", reason="burnt", said=said(3))
    print_label("F1", said=said(2.5))
    words = "That is the old permanent mark of F1, which it is no longer known by: by its permanent mark."
    assert words in copy_words("(21)F1")
    assert copy_words("F1") == copy_words("(21)F1(90)L1") == ""
    take_carrier_off("F1", reason="painted-over", said=said(4))
    assert "That is label 1 of F1, which it is no longer known by. Take" in copy_words("(21)F1(90)L1")
    with translation.override("de"):
        assert copy_words("(21)F1(90)L1").startswith("Das ist Etikett 1 von F1, das nicht mehr gilt.")


def test_its_dossier_tells_what_it_was_known_by_as_known_then():
    step("F1", "demould", "F1")
    before = mark_of_now()
    step("F1", "trim", symbol("F1", 3), hours=2)
    words = words_of(dossier_pdf(dossier_of("F1", mark_of_now())).content)
    assert "What it was known by" in words
    assert "F1, label 3" in words
    assert "F1, label 3" not in words_of(dossier_pdf(dossier_of("F1", before)).content)
