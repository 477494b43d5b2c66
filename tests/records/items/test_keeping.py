"""How long a lot is good: opened, out of the freezer, thawed, and a longer life by certificate."""

from datetime import date

import pytest

from plant.catalogue import specs
from plant.quantities import read_quantity
from records.items.actions import (
    extend_life,
    log_keeping,
    merge_lots,
    release_at_risk,
    scrap,
    split_lot,
    withdraw,
)
from records.items.clearing import is_cleared
from records.items.keeping import is_expired, keeping_of, last_day_of
from records.items.models import LifeEntry
from records.items.queries import item_by_code
from records.items.shelf import first_to_take, stock_rows
from tests import builders
from tests.builders import moment, of, said
from tests.refusing import refuses, refuses_or_flags

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(db):
    builders.a_works(holds={})
    frozen = {"out_life": "48 h", "thaw": "4 h"}
    builders.agreed(specs.PartSpec("FILM", "adhesive", "g", prefix="AD", **frozen), hours=-96)
    builders.agreed(specs.PartSpec("PASTE", "adhesive", "g", prefix="AD", opened_life="2 d"), hours=-96)


def film():
    """A film that came two days before Monday and went into the freezer after an hour."""
    builders.a_lot("A1", "FILM", "5 kg")
    log_keeping("A1", what="in", said=said(-47))


def cut(code: str, told, lot: str = "A1"):
    return split_lot(lot, [of(f"{code}-{told.done}", "10 g")], said=told)


def test_time_out_of_the_freezer_adds_up_and_is_never_set_back():
    film()
    for out, back in ((0, 20), (30, 50)):
        log_keeping("A1", what="out", said=said(out))
        log_keeping("A1", what="in", said=said(back))
    log_keeping("A1", what="out", said=said(60))
    assert keeping_of(item_by_code("A1"), moment(65)).out.spent.total_seconds() / 3600 == 1 + 20 + 20 + 5
    split_lot("A1", [of("S1")], said=said(67))  # 48 hours: the limit itself is good
    with refuses_or_flags("expired", "48.1 h out of the freezer, where 48 h are allowed") as both:
        both(lambda told: cut("S2", said(67.1, key=told.key, done=told.done)))


def test_what_is_cut_off_takes_the_time_of_its_lot_along():
    film()
    log_keeping("A1", what="out", said=said(0))
    split_lot("A1", [of("S1", "1 kg")], said=said(30))
    log_keeping("A1", what="in", said=said(30))
    assert keeping_of(item_by_code("S1"), moment(40)).out.spent.total_seconds() / 3600 == 41
    assert keeping_of(item_by_code("A1"), moment(40)).out.spent.total_seconds() / 3600 == 31
    log_keeping("A1", what="out", said=said(44))
    log_keeping("A1", what="in", said=said(46))  # without the piece
    assert keeping_of(item_by_code("S1"), moment(47)).is_out
    with refuses("expired", "S1"):
        cut("S9", said(48), lot="S1")


def test_of_lots_put_together_the_one_that_was_out_longest_counts():
    """Read as one, the first lot's stay in the freezer would hide that the second was never in it."""
    film()
    log_keeping("A1", what="out", said=said(0))
    builders.a_lot("A2", "FILM", "5 kg", hours=-20)
    merge_lots("A3", [of("A1", "1 kg"), of("A2", "1 kg")], said=said(4))
    assert keeping_of(item_by_code("A3"), moment(24)).out.spent.total_seconds() / 3600 == 20 + 24


def test_time_of_which_nothing_is_told_counts_as_out():
    builders.a_lot("A1", "FILM", "5 kg")  # 48 hours before
    with refuses("expired", "48.5 h out of the freezer"):
        cut("S1", said(0.5))


def test_a_package_stays_closed_until_it_is_thawed():
    film()
    with refuses("not-thawed", "in the freezer by the records"):
        cut("S1", said(0))
    log_keeping("A1", what="out", said=said(0))
    with refuses_or_flags("not-thawed", "keep it closed until 2 Mar 2026 12:00") as both:
        both(lambda told: cut("S2", said(3.9, key=told.key, done=told.done)))
    cut("S3", said(4))


def test_what_thaws_has_no_need_of_a_longest_time_out():
    builders.agreed(specs.PartSpec("GEL", "adhesive", "g", prefix="AD", thaw="4 h"), hours=-96)
    builders.a_lot("A1", "GEL", "5 kg")
    log_keeping("A1", what="in", said=said(-47))
    log_keeping("A1", what="out", said=said(0))
    with refuses("not-thawed"):
        cut("S1", said(3.9))
    cut("S2", said(4))


def test_opening_a_package_is_no_stay_in_the_freezer():
    film()
    log_keeping("A1", what="out", said=said(0))
    log_keeping("A1", what="opened", said=said(5))
    assert keeping_of(item_by_code("A1"), moment(10)).out.spent.total_seconds() / 3600 == 1 + 10


def test_an_open_package_keeps_as_long_as_its_data_sheet_says():
    builders.a_lot("A2", "PASTE", "5 kg")
    log_keeping("A2", what="opened", said=said(0))
    split_lot("A2", [of("S1", "1 kg")], said=said(48))
    with refuses_or_flags("expired", "open since 2 Mar 2026 08:00, it kept until 4 Mar 2026 08:00") as both:
        both(lambda told: cut("S2", said(48.1, key=told.key, done=told.done), lot="A2"))
    assert is_expired(item_by_code("S1"), moment(48.1))


def test_of_two_openings_the_first_counts():
    builders.a_lot("A2", "PASTE", "5 kg")
    log_keeping("A2", what="opened", said=said(0))
    log_keeping("A2", what="opened", said=said(24, done=True))
    assert not is_expired(item_by_code("A2"), moment(48))
    assert is_expired(item_by_code("A2"), moment(48.1))


def test_what_was_never_in_the_freezer_has_nothing_to_thaw():
    builders.a_lot("A1", "FILM", "5 kg", hours=0)
    cut("S1", said(0.5))


def test_a_lot_that_was_put_into_what_it_came_from_is_read_once():
    film()
    log_keeping("A1", what="out", said=said(0))
    split_lot("A1", [of("S1", "1 kg"), of("S2", "1 kg")], said=said(4))
    for one, other in (("S1", "S2"), ("S2", "S1")):
        merge_lots(one, [of(other, "100 g")], said=said(5))
    assert is_cleared(item_by_code("S1"))
    assert keeping_of(item_by_code("S1"), moment(10)).out.spent.total_seconds() / 3600 == 1 + 10


def test_the_nearest_end_stands_first_by_whichever_limit_comes_first(clock_at):
    builders.a_lot("A1", "PASTE", "5 kg", expires=date(2026, 4, 1))
    builders.a_lot("A2", "PASTE", "5 kg", expires=date(2026, 5, 1))
    log_keeping("A2", what="opened", said=said(0))
    clock_at(moment(1))
    assert [(row.code, row.ends_why) for row in stock_rows()] == [("A2", "open"), ("A1", "")]
    clock_at(moment(49))
    assert [row.is_past for row in stock_rows()] == [True, False]


def test_what_the_records_say_already_is_asked_about_and_told_as_done_it_counts_once():
    film()
    with refuses("already", "By the records A1 has been in the freezer since"):
        log_keeping("A1", what="in", said=said(-40))
    log_keeping("A1", what="in", said=said(-40, done=True))
    assert keeping_of(item_by_code("A1"), moment(0)).out.spent.total_seconds() == 3600
    builders.a_front("F1")
    for lot, what, code in (("A1", "eaten", "unknown"), ("F1", "out", "wrong-kind")):
        with refuses(code):
            log_keeping(lot, what=what, said=said())


def test_a_line_of_keeping_is_taken_back_by_its_key():
    builders.a_lot("A2", "PASTE", "5 kg")
    log_keeping("A2", what="opened", said=(told := said(0)))
    taken = withdraw(told.key, words="it was the other one", said=said(1))
    assert isinstance(taken, LifeEntry)
    assert keeping_of(item_by_code("A2"), moment(90)).opened_at is None
    cut("S1", said(90), lot="A2")


def test_a_longer_life_is_a_departure_with_a_certificate_and_the_day_before_stays_on_file():
    builders.a_lot("R1", expires=date(2026, 3, 2))
    longer = {"until": date(2026, 3, 9), "certificate": "LAB-7", "words": "gel time 41 min"}
    with refuses("no-departure", "two people"):
        extend_life("R1", **longer, said=said(1))
    builders.an_allowed_departure("R1")
    for wrong, code in (({"until": date(2026, 3, 2)}, "not-later"), ({"certificate": " "}, "no-reason")):
        with refuses(code):
            extend_life("R1", **(longer | wrong), said=said(1))
    with refuses("expired", "2 March 2026"):
        split_lot("R1", [of("S0")], said=said(30))
    extend_life("R1", **longer, said=said(31))
    split_lot("R1", [of("S1")], said=said(7 * 24))
    assert last_day_of(item_by_code("R1"), moment(24)) == date(2026, 3, 2)
    with refuses("no-departure"):  # one departure makes it longer once
        extend_life("R1", **(longer | {"until": date(2026, 3, 16)}), said=said(7 * 24))
    with refuses("expired", "9 March 2026"):
        split_lot("R1", [of("S2")], said=said(8 * 24))


def test_of_two_longer_lives_the_later_one_counts():
    builders.a_lot("R1", expires=date(2026, 3, 2))
    for hours, until in ((31, date(2026, 3, 9)), (32, date(2026, 3, 16))):
        builders.an_allowed_departure("R1", hours=hours - 1)
        extend_life("R1", until=until, certificate="LAB-7", words="gel time 41 min", said=said(hours))
    assert last_day_of(item_by_code("R1"), moment(8 * 24)) == date(2026, 3, 16)


def test_a_lot_without_a_last_day_or_a_unit_is_given_no_longer_life():
    builders.a_lot("R1")
    with refuses("unknown"):
        extend_life("R1", until=date(2026, 3, 9), certificate="LAB-7", words="good", said=said())


def last_to_end(code: str) -> date:
    return next(row.end for row in stock_rows() if row.code == code)


def test_the_lot_that_ends_first_is_to_be_taken_first_and_nobody_is_told_which_pot(clock_at):
    clock_at(moment(1))
    assert first_to_take(["adhesive"]) == ""
    builders.a_lot("A1", "PASTE", "5 kg", expires=date(2026, 4, 1))
    assert first_to_take(["adhesive"]) == ""  # there is no other
    builders.a_lot("A2", "PASTE", "5 kg", expires=date(2026, 3, 20))
    builders.a_delivery("A3", "PASTE", "5 kg", expires=date(2026, 3, 10))
    assert first_to_take(["adhesive"]) == "A2"
    log_keeping("A1", what="opened", said=said(0))
    assert first_to_take(["adhesive"]) == "A1"
    builders.a_lot("A5", "PASTE", "5 kg", expires=last_to_end("A1"))
    assert first_to_take(["adhesive"]) == ""  # two end on one day
    scrap("A5", words="wet", said=said(0))
    builders.a_delivery("A6", "PASTE", "5 kg", expires=date(2026, 3, 2))
    release_at_risk("A6", words="late", limit=read_quantity("1 kg"), until=moment(0.5), said=said(0))
    assert first_to_take(["adhesive"]) == "A1"  # the time of the other one is over
    builders.a_lot("A4", "FILM", "5 kg", expires=date(2026, 3, 3))
    log_keeping("A4", what="in", said=said(-47))
    assert first_to_take(["adhesive"]) == ""  # two parts of the kind: the label decides
    for pot in ("P1", "P2"):
        builders.a_pot(pot, hours=0.9)
    assert first_to_take(["resin-mix"]) == ""
