"""A step that gives a unit another carrier asks for one scan more, and takes it from the tablet alike."""

import pytest
from django.urls import reverse

from plant.catalogue import specs
from plant.catalogue.queries import route_of
from records.floor.many import in_one_go
from records.items.actions import place_hold
from records.items.queries import item_by_code
from records.ledger.clock import clock
from records.release.actions import print_label
from records.steps.actions import put_carrier, take_carrier_off
from records.steps.carrying import carriers_of, on_now
from records.steps.models import StepRecord
from records.trace.finding import copy_words
from tests import builders, worlds
from tests.records.floor.test_views import asked, screen, text
from tests.records.floor.told import entry, send, tablet
from tests.records.steps.test_carrying import symbol

pytestmark = pytest.mark.django_db
STEP = specs.OperationSpec
TRIM = {"unit": "F1", "operation": "trim"}


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    edge = specs.ReadingSpec("edge", "mm", "1", "3")
    route = [
        STEP("mould", tool_kind="mould", carrier="tool"),
        STEP("trim", readings=[edge], carrier="tag"),
        STEP("rest"),
    ]
    builders.agreed(specs.RouteSpec("OSIER-F", route))
    builders.a_front("F1")
    builders.a_front("F2", tube="T2")
    clock_at(builders.moment(5))


def rows() -> list[tuple]:
    return [(row.kind, row.code, row.copy) for row in carriers_of([item_by_code("F1").pk])]


def test_the_new_carrier_is_asked_before_what_is_read():
    page = screen(tablet(), "TRIM-1", "step", **TRIM)
    assert asked(page) == "Scan the tag"
    assert "Put it on first: the scan shows that it can be read." in text(page)
    assert asked(screen(tablet(), "TRIM-1", "step", **TRIM, carrier="F1")) == "Edge"


def test_another_units_code_is_not_taken():
    page = screen(tablet(), "TRIM-1", "step", **TRIM, carrier="F2")
    assert asked(page) == "Scan the tag"
    assert "That is the code of F2, and this is F1. Leave both as they are, and ask your lead." in text(page)


def test_a_symbol_is_kept_with_the_number_of_its_label():
    sent = send(tablet(), entry("step", hours=4, **TRIM, carrier=f"{'F1'} L3", readings=[EDGE]))
    assert sent[0]["outcome"] == "taken", sent
    assert rows()[-1] == ("tag", "F1", 3)


GAP = specs.ReadingSpec("edge", "mm", "1", "3")
EDGE = {"name": "edge", "value": "2", "unit": "mm"}


def test_the_press_that_logs_tells_what_was_scanned():
    client = tablet()
    answers = {**TRIM, "carrier": symbol("F1", 2), "reading-1": "2"}
    told = client.get("/floor/at/TRIM-1/log/step/", answers, headers={"Accept": "application/json"}).json()["entry"]
    assert told["payload"]["carrier"] == "F1 L2"


def test_without_one_it_is_kept_and_marked():
    answer = send(tablet(), entry("step", hours=4, done=True, **TRIM, readings=[EDGE]))[0]
    assert answer["outcome"] == "flagged"
    assert "nothing that carries the code of F1 was scanned" in answer["words"]
    assert StepRecord.objects.filter(operation__name="trim").count() == 1


def test_such_a_step_is_logged_for_several_at_once_where_nothing_is_read():
    route = [STEP("mould"), STEP("wash", carrier="tag"), STEP("trim", readings=[GAP])]
    builders.agreed(specs.RouteSpec("OSIER-F", route))
    builders.a_front("F3", tube="T3")
    route = {one.name: one for one in route_of(item_by_code("F3").part, clock.now())}
    assert in_one_go(route["wash"])
    assert not in_one_go(route["trim"])


def test_an_old_label_is_told_at_the_question_already():
    put_carrier("F1", kind="tag", symbol=symbol("F1", 3), said=builders.said(4))
    page = screen(tablet(), "TRIM-1", "step", **TRIM, carrier=symbol("F1", 2))
    assert asked(page) == "Scan the tag"
    assert "That is label 2 of F1, an old one. Take it off, and scan the one that is on it now." in text(page)


REPLACED = {"unit": "F1", "put": "tag", "reason": "burnt"}


def test_a_carrier_is_replaced_where_the_unit_is_with_a_key_for_the_reason_and_one_scan():
    client = tablet()
    put_carrier("F1", kind="tag", symbol=symbol("F1", 1), said=builders.said(4))
    page = client.get("/floor/at/TRIM-1/unit/F1/")
    assert "Replace its tag" in text(page)
    why = screen(client, "TRIM-1", "carrier", unit="F1", put="tag")
    assert asked(why) == "Why is another one put on?"
    assert "It is burnt" in text(why)
    scanned = screen(client, "TRIM-1", "carrier", **REPLACED)
    assert asked(scanned) == "Scan the tag"
    assert scanned.context["is_last"]  # the scan logs
    wrong = screen(client, "TRIM-1", "carrier", **REPLACED, carrier="F2")
    assert "That is the code of F2, and this is F1." in text(wrong)
    answers = {**REPLACED, "carrier": symbol("F1", 2)}
    told = client.get("/floor/at/TRIM-1/log/carrier/", answers, headers={"Accept": "application/json"}).json()["entry"]
    assert told["kind"] == "carrier"
    assert told["payload"] == {"unit": "F1", "carrier": "tag", "symbol": "F1 L2", "reason": "burnt"}


def test_a_held_unit_keeps_its_name_a_torn_carrier_is_replaced_while_it_is_held():
    put_carrier("F1", kind="tag", symbol=symbol("F1", 1), said=builders.said(4))
    place_hold("F1", reason="doubt", said=builders.said(4))
    client = tablet()
    page = text(client.get("/floor/at/TRIM-1/unit/F1/"))
    assert 'role="alertdialog"' in page
    assert "Replace its tag" in page
    assert asked(screen(client, "TRIM-1", "carrier", **REPLACED)) == "Scan the tag"
    (answer,) = send(client, entry("carrier", hours=4.5, unit="F1", carrier="tag", symbol="F1 L2", reason="burnt"))
    assert (answer["outcome"], answer["flags"]) == ("taken", [])
    assert rows()[-1] == ("tag", "F1", 2)


def test_a_carrier_put_on_by_a_mis_tap_is_taken_back_for_a_moment_and_then_at_a_desk_with_the_reason():
    put_carrier("F1", kind="tag", symbol=symbol("F1", 1), said=builders.said(4))
    told = {"unit": "F1", "carrier": "label", "symbol": "F1 L2", "reason": "worn"}
    first, second = entry("carrier", hours=4.1, **told), entry("carrier", hours=4.2, **told)
    send(tablet(), first)
    back = entry("undo", hours=4.1, of=first["key"], done=True) | {"depends_on": [first["key"]]}
    assert send(tablet(), back)[0]["outcome"] == "taken"
    assert rows()[-1] == ("tag", "F1", 1)
    send(tablet(), second)
    address = reverse("carriers:carrier_back", args=["F1"])
    page = text(tablet().get(address))
    assert "Label F1, label 2: put on" in page
    assert "Tag F1, label 1: put on" in page
    assert first["key"] not in page
    unsaid = worlds.press(tablet(), address, which=second["key"], words="")
    assert "Fill this in." in text(unsaid)
    sent = worlds.press(tablet(), address, which=second["key"], words="It was the one of F2.")
    assert sent.headers["Location"] == reverse("trace:unit", args=["F1"])
    assert rows()[-1] == ("tag", "F1", 1)
    assert on_now([item_by_code("F1").pk])[item_by_code("F1").pk].ended_at is None
    page = text(tablet().get(reverse("trace:unit", args=["F1"])))
    assert "take one back" in page


def test_what_the_tablet_tells_of_a_replaced_carrier_is_kept_and_the_old_one_named():
    put_carrier("F1", kind="tag", symbol=symbol("F1", 1), said=builders.said(4))
    print_label("F1", said=builders.said(4))
    told = {"unit": "F1", "carrier": "tag"}
    (answer,) = send(tablet(), entry("carrier", hours=4.5, **told, symbol="F1", reason="painted-over"))
    assert answer["outcome"] == "taken", answer
    assert rows()[-2:] == [("tag", "F1", 1), ("tag", "F1", None)]
    assert "That is label 1 of F1, which it is no longer known by: by its tag." in copy_words(symbol("F1", 1))
    (same,) = send(tablet(), entry("carrier", hours=4.6, **told, symbol="F1"))
    assert (same["outcome"], same["code"]) == ("refused", "no-reason")
    (other,) = send(tablet(), entry("carrier", hours=4.6, done=True, **told, symbol="F2", reason="worn"))
    assert other["flags"] == ["wrong-carrier"]


def test_a_unit_without_any_is_given_the_one_that_its_route_asks_for():
    send(tablet(), entry("step", hours=4, done=True, **TRIM, readings=[EDGE]))
    take_carrier_off("F1", reason="carrier-lost", said=builders.said(4.5))
    client = tablet()
    page = text(client.get("/floor/at/TRIM-1/unit/F1/"))
    assert "Put its tag on" in page
    assert asked(screen(client, "TRIM-1", "carrier", unit="F1", put="tag", reason="first")) == "Scan the tag"
    told = {"unit": "F1", "put": "tag", "reason": "first", "carrier": "F1"}
    sent = client.get("/floor/at/TRIM-1/log/carrier/", told, headers={"Accept": "application/json"}).json()["entry"]
    assert sent["payload"]["reason"] == ""


def test_what_stands_in_its_tool_has_no_such_key():
    assert "Replace its" not in text(tablet().get("/floor/at/TRIM-1/unit/F2/"))
