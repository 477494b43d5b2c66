"""The life line: to scale by stretches, words that never cover each other, a hold drawn up to its lifting."""

from datetime import datetime, timedelta
from itertools import pairwise

import pytest

from records.trace.life import APART, LEFT, MOST_WORDS, RIGHT, Event, Join, draw_life

DAY = datetime.fromisoformat("2026-11-18T07:12:00+01:00")


def at(hours: float) -> datetime:
    return DAY + timedelta(hours=hours)


def test_nothing_on_file_is_no_picture():
    assert draw_life([]) is None


def test_events_of_one_day_stand_to_scale_and_quiet_days_are_drawn_together():
    life = draw_life([Event(at(h), "done", "step") for h in (0, 1, 3, 24 * 20)])
    first, second, third, last = (spot.at for spot in life.spots)
    assert (third - second) / (second - first) == pytest.approx(2, rel=0.01)
    assert last - third < 20 * (third - first)
    assert [word for _, word in life.quiet] == ["20 d"]


def test_what_was_done_once_more_is_a_loop_that_ends_at_its_place():
    life = draw_life(
        [Event(at(0), "done", "wind"), Event(at(4), "outside", "fold"), Event(at(9), "done", "wind", True)]
    )
    (loop,) = life.loops
    assert loop.startswith(f"M{life.spots[-1].at:g} ")


def test_words_above_the_strand_have_room_and_stay_in_the_picture():
    life = draw_life([Event(at(n / 60), "done", f"step {n}") for n in range(9)])
    assert all(b.text - a.text >= APART - 0.2 for a, b in pairwise(life.spots))
    assert life.spots[0].text >= LEFT
    assert life.spots[-1].text + APART <= RIGHT + APART


def test_what_has_no_room_is_counted_and_a_hold_is_never_the_one_left_out():
    events = [Event(at(n), "held" if n == 7 else "done", "held" if n == 7 else f"step {n}") for n in range(30)]
    life = draw_life(events)
    assert len(life.spots) == MOST_WORDS
    assert any(spot.state == "held" for spot in life.spots)
    told = [int(spot.word.partition("+")[2] or 0) + 1 for spot in life.spots]
    assert sum(told) == len(events)


def test_a_hold_that_binds_is_hatched_up_to_now_and_a_lifted_one_to_its_lifting():
    events = [Event(at(0), "done", "mould"), Event(at(4), "done", "trim")]
    life = draw_life(events, holds=[(at(1), at(2)), (at(3), None)], now=at(50))
    lifted, binding = life.held
    assert life.spots[0].at < lifted.left < lifted.right < binding.left
    assert binding.right == life.end
    assert life.now == "now, 20 Nov 09:12"


def test_lots_join_in_rows_that_do_not_cover_each_other():
    joins = [Join(at(n / 60), (f"FB-26-00000{n}-1",)) for n in range(3)]
    life = draw_life([Event(at(0), "done", "wound"), Event(at(8), "done", "kit weighed")], joins=joins)
    assert len({joined.top for joined in life.joined}) == 3
    many = draw_life([Event(at(0), "done", "wound")], joins=[Join(at(0), ("A", "B", "C", "D"))])
    assert [word for _, word in many.joined[0].lines] == ["A", "B", "and 2 more"]
