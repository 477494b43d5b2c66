"""Two acts at once on what they share: the second waits for the first, and none waits in a circle."""

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from threading import Event
from time import monotonic, sleep

import pytest
from django.db import connection, transaction

from plant.quantities import read_quantity
from records.items import locking
from records.items.actions import Delivery, merge_lots, put_in, receive_lot, release_at_risk, split_lot, tell_use_late
from records.items.making import Input
from records.items.models import Link
from records.items.queries import item_by_code
from records.ledger.refusals import Refused
from records.steps.actions import Made, Moulding, Shot, Work, log_step, mould
from tests import builders
from tests.builders import moment, of, said
from tests.refusing import refuses, refuses_or_flags

two_connections = [pytest.mark.postgresql, pytest.mark.django_db(transaction=True)]
PATIENCE = 20  # seconds until a test says that nobody waited


def both(first: Callable[[], object], second: Callable[[], object]) -> str:
    """Two acts on connections of their own: the first ends once the second waits for it. What the second is refused
    for, or nothing.
    """
    acted, pids = Event(), []

    def begin(other: Future) -> None:
        with transaction.atomic():
            first()
            acted.set()
            _wait_for(pids, other)
        connection.close()

    def follow() -> str:
        assert acted.wait(PATIENCE)
        with connection.cursor() as cursor:
            cursor.execute("select pg_backend_pid()")
            pids.append(cursor.fetchone()[0])
        try:
            second()
        except Refused as refused:
            return refused.code
        finally:
            connection.close()
        return ""

    with ThreadPoolExecutor(2) as pool:
        other = pool.submit(follow)
        pool.submit(begin, other).result()
        return other.result()


def _wait_for(pids: list[int], other: Future) -> None:
    """Until the other act waits for a lock, or is through without one."""
    end = monotonic() + PATIENCE
    while monotonic() < end and not other.done():
        if pids:
            with connection.cursor() as cursor:
                cursor.execute("select count(*) from pg_locks where pid = %s and not granted", [pids[0]])
                if cursor.fetchone()[0]:
                    return
        sleep(0.02)


def a_delivery_at_risk(limit: str = "2 kg") -> None:
    """R1 in two packages of 5 kg, released at risk."""
    packages = [Input(code, read_quantity("5 kg")) for code in ("P-1", "P-2")]
    receive_lot("R1", Delivery("RES-A", read_quantity("20 kg"), "Fell Supply", packages=packages), said=said(-48))
    release_at_risk("R1", words="late", limit=read_quantity(limit), until=moment(24), said=said())


class TestOnTwoConnections:
    pytestmark = two_connections

    @pytest.mark.parametrize("lots", [("P-1", "P-2"), ("P-1", "R1"), ("R1", "P-2")])
    def test_packages_of_a_delivery_at_risk_do_not_pass_its_limit_together(self, lots):
        builders.a_works(holds={})
        a_delivery_at_risk()
        one, other = (partial(split_lot, lot, [of(f"S{n}", "1.5 kg")], said=said(1)) for n, lot in enumerate(lots))
        assert both(one, other) == "not-cleared"

    def test_what_is_left_of_a_pot_is_read_once_it_stays(self):
        builders.a_works()
        builders.a_pot("P1", hours=0.2)
        builders.a_mould_to_fill("F1")
        builders.a_leak_test(hours=0.3)
        drawn = partial(split_lot, "P1", [of("S1", "120 g")], said=said(0.4))
        fill = partial(log_step, "F1", step="fill", work=Work("MOULD-1", shots=[Shot("P1")]), said=said(0.5))
        assert both(drawn, fill) == ""
        assert Link.objects.get(child=item_by_code("F1"), parent=item_by_code("P1")).amount == 10_000_000
        assert item_by_code("P1").state.remaining == 0


@pytest.mark.django_db
def test_packages_of_a_delivery_at_risk_count_together_in_one_act():
    builders.a_works(holds={})
    a_delivery_at_risk("1 kg")
    with refuses("not-cleared", "P-1 comes from R1, released at risk for 1 kg, of which 1 kg is left"):
        merge_lots("M1", [of("P-1", "600 g"), of("P-2", "600 g")], said=said(1))
    with refuses("not-cleared"):
        merge_lots("M1", [of("R1", "600 g"), of("P-2", "600 g")], said=said(1))
    merge_lots("M1", [of("P-1", "600 g"), of("P-2", "400 g")], said=said(1))


@pytest.mark.django_db
def test_two_pots_of_a_resin_at_risk_poured_into_one_mould_count_together():
    builders.a_works(holds={})
    builders.agreed(builders.specs.PartSpec("RES-T", "resin-mix", "g", prefix="RT"))
    packages = [Input(code, read_quantity("5 kg")) for code in ("P-1", "P-2")]
    receive_lot("R1", Delivery("RES-T", read_quantity("20 kg"), "Fell Supply", packages=packages), said=said(-48))
    release_at_risk("R1", words="late", limit=read_quantity("1 kg"), until=moment(24), said=said())
    builders.a_tube("T1")
    made = Made(["ML-1"], "MOULD-1")
    fill = [of("P-1", "600 g"), of("P-2", "600 g")]
    with refuses_or_flags("not-cleared", "of which 1 kg is left") as asked:
        asked(lambda told: mould("F1", part="OSIER-F", moulding=Moulding(["T1"], fill), made=made, said=told))


@pytest.mark.django_db
@pytest.mark.parametrize("act", ["mould", "fill", "unknown", "merge", "late", "rework"])
def test_all_that_an_act_draws_from_and_into_is_locked_in_one_go(act, monkeypatch):
    builders.a_works(holds={})
    a_delivery_at_risk()
    builders.a_pot("P1", hours=0.2)
    builders.a_pot("P2", hours=0.2)
    builders.a_mould_to_fill("F1")
    builders.a_leak_test(hours=0.3)
    builders.a_tube("T2")
    acts = {
        "mould": lambda: mould(
            "F2", part="OSIER-F", moulding=Moulding(["T2"], [of("P2"), of("P1")]), made=Made(["ML-2"]), said=said(0.5)
        ),
        "fill": lambda: log_step(
            "F1", step="fill", work=Work("MOULD-1", shots=[Shot("P2"), Shot("P1")]), said=said(0.5)
        ),
        "unknown": lambda: log_step("F1", step="fill", work=Work("MOULD-1"), said=said(0.5, done=True)),
        "merge": lambda: merge_lots("P-2", [of("P-1", "1 kg")], said=said(0.5)),
        "late": lambda: tell_use_late("F1", lot=of("P1"), words="forgotten", said=said(0.5)),
        "rework": lambda: put_in("F1", lot=of("P1"), said=said(0.5)),
    }
    wanted = {
        "mould": {"T2", "P1", "P2"}, "fill": {"F1", "P1", "P2"}, "unknown": {"F1", "P1", "P2"},
        "merge": {"P-1", "P-2"}, "late": {"F1", "P1"}, "rework": {"F1", "P1"},
    }  # fmt: skip
    goes, lock = [], locking._lock
    monkeypatch.setattr(locking, "_lock", lambda how, items: lock(how, goes.append(items := list(items)) or items))
    acts[act]()
    first, *later = ({item.code for item in items} for items in goes)
    assert first == wanted[act]
    assert all(again <= first for again in later)
