"""A mould is closed, tested, filled, vented: each check belongs to its closing, and what goes in is traced."""

import pytest

from plant.catalogue.queries import route_of
from records.items.models import Hold, Link
from records.items.queries import item_by_code
from records.ledger.acts import flags_of
from records.steps.actions import Made, Moulding, Shot, Work, log_step, mould, send_to_rework
from records.steps.checks import before, checks_of
from records.steps.filling import unit_at
from records.steps.recording import Read
from tests import builders
from tests.builders import said
from tests.refusing import refuses

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def closed(db):
    builders.a_works()
    builders.a_pot("P1", hours=0.2)
    builders.a_mould_to_fill("F1")


def fill(*, hours: float = 0.5, done: bool = False, unit: str = "F1", shots: tuple = (Shot("P1"),)):
    return log_step(unit, step="fill", work=Work("MOULD-1", shots=shots), said=said(hours, done=done))


def flags(step) -> set[str]:
    return set(flags_of(step.entry.key))


def test_a_pot_goes_in_with_the_amount_of_the_route():
    builders.a_leak_test(hours=0.3)
    fill()
    link = Link.objects.get(child=item_by_code("F1"), parent=item_by_code("P1"))
    assert (link.amount, link.at) == (15_000_000, builders.moment(0.5))
    assert item_by_code("P1").state.remaining == 115_000_000


def test_all_that_is_left_goes_in_where_the_route_names_more():
    builders.a_leak_test(hours=0.3)
    fill(shots=(Shot("P1", builders.of("P1", "120 g").quantity),))
    fill(hours=0.55)
    amounts = Link.objects.filter(parent=item_by_code("P1")).order_by("pk").values_list("amount", flat=True)
    assert list(amounts) == [120_000_000, 10_000_000]


def test_the_mould_stands_for_the_unit_that_is_in_it_until_it_is_out():
    builders.a_leak_test(hours=0.3)
    assert fill(unit="ml-1").unit.code == "F1"
    builders.a_step("F1", "vent", hours=2, work=Work(readings=[Read("gauge", "0", "bar")]))
    builders.a_step("F1", "demould", hours=2.1)
    with refuses("unknown", "Nothing is in mould ML-1"):
        unit_at("ML-1", builders.moment(3))


def test_no_leak_test_since_the_mould_was_closed_comes_first():
    with refuses("leak-test-missing", "No leak-test since this mould was closed. That comes first."):
        fill()
    assert flags(fill(done=True)) == {"leak-test-missing"}
    assert [hold.reason for hold in Hold.objects.filter(item=item_by_code("F1"))] == ["leak-test-missing"]


def test_a_leak_test_whose_number_could_not_be_read_shows_nothing():
    work = Work("MOULD-1", readings=[Read("leak-rate", "", "mbar", reason="display dark")])
    log_step("F1", step="leak-test", work=work, said=said(0.3))
    with refuses("leak-test-missing", "did not come out"):
        fill()


def test_a_check_that_comes_after_the_fill_is_not_asked_before_it():
    fill_first = [*builders.CLOSED_MOULD[:1], builders.CLOSED_MOULD[2], builders.CLOSED_MOULD[1]]
    builders.agreed(builders.specs.RouteSpec("OSIER-F", fill_first), hours=-71)
    builders.a_tube("T2")
    mould("F2", part="OSIER-F", moulding=Moulding(["T2"], []), made=Made(["ML-2"], "MOULD-1"), said=said(0.3))
    assert flags(fill(unit="F2")) == set()
    checks = checks_of(
        item_by_code("F2"), route_of(item_by_code("F2").part, builders.moment(0.3)), builders.moment(0.5)
    )
    fills = next(one for one in route_of(item_by_code("F2").part, builders.moment(0.3)) if one.name == "fill")
    assert [check.operation.name for check in checks] == ["leak-test"]
    assert before(checks, fills) == []


def test_a_leak_test_that_lapsed_is_done_again():
    builders.a_leak_test(hours=0.1)
    assert flags(fill(hours=0.85)) == set()  # to the minute: 45 min are not over yet
    with refuses("leak-test-lapsed", "The leak-test was good until 08:51. Test again before you weigh a pot."):
        fill(hours=0.9)
    assert flags(fill(hours=0.9, done=True)) == {"leak-test-lapsed"}


def test_closing_the_mould_again_makes_its_leak_test_void():
    builders.a_leak_test(hours=0.3)
    builders.a_step("F1", "mould", hours=0.35, work=Work(tools=["ML-1"]))
    with refuses("leak-test-missing", "No leak-test since this mould was closed"):
        fill()
    builders.a_leak_test(hours=0.4)
    assert flags(fill()) == set()


def test_a_leak_test_outside_its_band_is_none():
    builders.a_leak_test(hours=0.3, rate="0.9")
    with refuses("leak-test-missing", "did not come out. Test again before you weigh a pot."):
        fill()
    builders.a_leak_test(hours=0.4)
    assert flags(fill()) == set()


def test_a_leak_test_whose_number_could_not_be_read_is_none():
    untold = Work("MOULD-1", readings=[Read("leak-rate", "", reason="no-reading")])
    log_step("F1", step="leak-test", work=untold, said=said(0.3))
    with refuses("leak-test-missing", "did not come out"):
        fill()


def test_a_fill_without_its_pot_counts_as_possible_for_each_that_was_open():
    builders.a_leak_test(hours=0.3)
    builders.a_pot("P2", hours=0.25)
    builders.a_pot("P0", hours=-1)  # ended before
    with refuses("no-pot", "Scan the pot that went in"):
        fill(shots=())
    step = fill(shots=(), done=True)
    assert flags(step) == {"no-pot"}
    links = Link.objects.filter(entry=step.entry).order_by("pk")
    assert [(link.parent.code, link.certainty, link.share_ppb) for link in links] == [
        ("P1", Link.Certainty.POSSIBLE, 500_000_000),
        ("P2", Link.Certainty.POSSIBLE, 500_000_000),
    ]


def taken_of(step, pot: str) -> list[int]:
    links = Link.objects.filter(entry=step.entry, parent=item_by_code(pot))
    return list(links.order_by("pk").values_list("amount", flat=True))


THREE = builders.of("P1", "3 g").quantity


@pytest.mark.parametrize("first", [None, THREE], ids=["without-amount", "with-amount"])
def test_a_pot_told_twice_without_its_amounts_is_refused_and_where_it_has_happened_counted_once(first):
    builders.a_leak_test(hours=0.3)
    twice = (Shot("P1", first), Shot("p1"))
    with refuses("already-used", "P1 is in the list already. Scan the other one."):
        fill(shots=twice)
    step = fill(shots=twice, done=True)
    assert taken_of(step, "P1") == [first.steps if first else 15_000_000]
    assert flags(step) == set()


def test_a_pot_told_twice_with_its_amounts_went_in_twice():
    builders.a_leak_test(hours=0.3)
    step = fill(shots=(Shot("P1", THREE), Shot("P1", THREE)))
    assert taken_of(step, "P1") == [3_000_000, 3_000_000]


def test_nothing_goes_in_at_a_step_that_takes_nothing():
    with refuses("wrong-kind", "Nothing goes in at leak-test"):
        log_step("F1", step="leak-test", work=Work(shots=(Shot("P1"),)), said=said(0.3))


def test_a_mould_is_opened_only_once_its_gauge_reads_nought():
    builders.a_leak_test(hours=0.3)
    fill()
    with refuses("not-vented", "No vent of F1 is on file. Make it safe before you open it."):
        builders.a_step("F1", "demould", hours=2)
    builders.a_step("F1", "vent", hours=2, work=Work(readings=[Read("gauge", "0.4", "bar")]))
    with refuses("not-vented", "The vent of F1 did not come out."):
        builders.a_step("F1", "demould", hours=2.1)
    builders.a_step("F1", "vent", hours=2.2, work=Work(readings=[Read("gauge", "0", "bar")]))
    assert flags(builders.a_step("F1", "demould", hours=2.3)) == set()


def vented(hours: float):
    return builders.a_step("F1", "vent", hours=hours, work=Work(readings=[Read("gauge", "0", "bar")]))


def test_a_mould_that_was_closed_again_is_vented_again():
    builders.a_leak_test(hours=0.1)
    vented(0.2)
    builders.a_step("F1", "mould", hours=0.3, work=Work(tools=["ML-1"]))
    builders.a_leak_test(hours=0.4)
    fill()
    with refuses("not-vented", "No vent of F1 is on file"):
        builders.a_step("F1", "demould", hours=2)
    vented(2)
    assert flags(builders.a_step("F1", "demould", hours=2.1)) == set()


def test_what_rework_has_ended_makes_nothing_safe_and_shows_nothing():
    builders.a_leak_test(hours=0.3)
    fill()
    vented(2)
    send_to_rework("F1", step="leak-test", words="resin crept back", said=said(2.1, by="lead"))
    with refuses("not-vented", "No vent of F1 is on file"):
        builders.a_step("F1", "demould", hours=2.2)
    with refuses("leak-test-missing"):
        fill(hours=0.6)


def test_what_has_been_opened_unvented_is_kept_and_held():
    step = log_step("F1", step="demould", said=said(2, done=True))
    assert "not-vented" in flags(step)
    assert "not-vented" in set(Hold.objects.filter(item=item_by_code("F1")).values_list("reason", flat=True))


def test_a_check_tells_until_when_it_holds():
    unit = item_by_code("F1")
    route = route_of(unit.part, unit.born_at)
    (before,) = checks_of(unit, route, builders.moment(0.2))
    builders.a_leak_test(hours=0.3)
    (check,) = checks_of(unit, route, builders.moment(0.5))
    assert (before.ends, check.ends, check.holds(builders.moment(1.05)), check.holds(builders.moment(1.06))) == (
        "",
        "09:03",
        True,
        False,
    )


def test_a_route_that_fills_as_it_closes_is_as_it_was():
    builders.a_rear("B1", made=Made(["ML-2"], "MOULD-1"), hours=0.5)
    assert Link.objects.get(child=item_by_code("B1"), parent=item_by_code("P1")).amount == 15_000_000
