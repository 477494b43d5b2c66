"""What a draw from a tank holds: against exact fractions, against bad stirring, against worked examples."""

from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.items.mixing import BILLION, CHARGE, CLEAN, DRAW, FLOOR_PPB, Line, stretch, work_out
from tests.records.items.slow_tank import at, in_order, logs, mixed_exactly, stirred_badly

KG = 10**9
NEAR = 20  # micrograms: whole parts at each draw, at most one step each


def portions_of(lines):
    return {draw.line.number: {p.lot: p for p in draw.portions} for draw in work_out(lines).draws}


@given(logs())
def test_shares_and_contents_equal_exact_fractions(lines):
    worked = work_out(lines)
    draws, left = mixed_exactly(lines)
    assert [draw.line for draw in worked.draws] == [line for line in in_order(lines) if line.kind == DRAW]
    assert worked.contents.keys() == left.keys()
    assert all(abs(worked.contents[lot] - left[lot]) <= NEAR for lot in left)
    for draw in worked.draws:
        due = draws[draw.line.number]
        taken = sum(due.values())
        assert draw.short == draw.line.amount - taken
        assert [p.lot for p in draw.portions] == sorted(due)
        for portion in draw.portions:
            share = due[portion.lot] / taken * BILLION if taken else Fraction(0)
            # The contents before it may be off by whole parts: they weigh more where little is left.
            assert abs(portion.share_ppb - share) <= 1 + Fraction(NEAR * BILLION, int(taken) or 1)


@given(logs(), st.integers(0, 2**32))
def test_bounds_hold_however_badly_it_is_stirred(lines, seed):
    bounds = portions_of(lines)
    for number, taken in stirred_badly(lines, Random(seed)).items():
        drawn = sum(taken.values())
        for lot, amount in taken.items():
            portion = bounds[number][lot]
            assert portion.least_ppb * drawn <= amount * BILLION <= portion.most_ppb * drawn


@given(logs())
def test_bounds_lie_around_the_share_and_within_the_whole(lines):
    for draw in work_out(lines).draws:
        for p in draw.portions:
            assert 0 <= p.least_ppb <= p.share_ppb + 1 + NEAR * BILLION // max(1, draw.line.amount - draw.short)
            assert p.share_ppb - 1 - NEAR * BILLION // max(1, draw.line.amount - draw.short) <= p.most_ppb <= BILLION


@given(st.lists(st.integers(1, 30), min_size=1, max_size=4), st.integers(1, 60))
def test_the_bounds_of_a_first_draw_are_reached(amounts, drawn):
    """So they can't be drawn tighter: one lot is taken first, or last."""
    lines = [Line(n, CHARGE, at(0), n, amount) for n, amount in enumerate(amounts, 1)]
    lines.append(Line(9, DRAW, at(1), 109, drawn))
    taken = min(drawn, sum(amounts))
    for lot, portion in portions_of(lines)[9].items():
        most = min(taken, amounts[lot - 1])
        least = max(0, taken - (sum(amounts) - amounts[lot - 1]))
        assert portion.least_ppb == least * BILLION // taken
        assert portion.most_ppb == -(-most * BILLION // taken)


@given(logs())
def test_whole_parts_add_up_to_what_was_drawn(lines):
    tank = 0
    for line in in_order(lines):
        tank = 0 if line.kind == CLEAN else tank + line.amount if line.kind == CHARGE else max(0, tank - line.amount)
    assert sum(work_out(lines).contents.values()) == tank


@given(logs(), st.randoms(use_true_random=False))
def test_the_order_of_arrival_changes_nothing(lines, chance):
    other = list(lines)
    chance.shuffle(other)
    assert work_out(other) == work_out(lines)


@given(logs(times=6), st.integers(0, 6))
def test_a_stretch_gives_its_draws_what_the_whole_log_gives_them(lines, hour):
    whole = portions_of(lines)
    part = stretch(lines, [at(hour)])
    assert portions_of(part) == {number: whole[number] for number in portions_of(part)}


@given(logs(times=6), st.data())
def test_a_moved_line_changes_no_draw_outside_the_stretch_of_old_and_new_time(lines, data):
    n = data.draw(st.integers(0, len(lines) - 1))
    hour = data.draw(st.integers(0, 6))
    moved = [*lines[:n], replace(lines[n], at=at(hour)), *lines[n + 1 :]]
    before, after = portions_of(lines), portions_of(moved)
    inside = {line.number for line in stretch(moved, [lines[n].at, at(hour)])}
    assert all(before[number] == after[number] for number in after.keys() - inside)


def shown(portion):
    """Certainty, share, least and most in percent."""
    parts = (portion.share_ppb, portion.least_ppb, portion.most_ppb)
    return ("confirmed" if portion.confirmed else "possible", *(part / 10**7 for part in parts))


R1, R2, R3 = 1, 2, 3
TANK = [
    Line(1, CHARGE, at(0), R1, 20 * KG),
    Line(2, DRAW, at(1), 101, 18 * KG),
    Line(3, CHARGE, at(2), R2, 20 * KG),
    Line(4, DRAW, at(4), 102, 4 * KG),
]


@pytest.mark.parametrize(
    ("late", "due"),
    [
        ([], {R1: ("possible", 9.0909091, 0, 50), R2: ("confirmed", 90.9090909, 50, 100)}),
        (
            [Line(5, CHARGE, at(3), R3, 10 * KG)],
            {R1: ("possible", 6.25, 0, 50), R2: ("possible", 62.5, 0, 100), R3: ("possible", 31.25, 0, 100)},
        ),
        ([Line(5, CLEAN, at(1.5))], {R2: ("confirmed", 100, 100, 100)}),
    ],
    ids=["two lots", "a third told late", "a cleaning found later"],
)
def test_worked_example_of_a_tank(late, due):
    """The project's own worked table: 20 kg in, 18 out, 20 in, 4 out; plain mass balance."""
    assert {lot: shown(p) for lot, p in portions_of([*TANK, *late])[4].items()} == due


def test_the_rest_in_the_pot():
    """Filled with R1, F1 drawn, topped up with R2 and not cleaned, F2 and F3 drawn, cleaned, filled with R3, F4 drawn.

    A recall of R1 finds F1 to F3, of R2 F2 and F3, of R3 F4: only a recorded cleaning cuts the chain. The case is
    described by people who trace bulk material (ifsqn.com forum, topic 17526).
    """
    steps = [(CHARGE, R1, 10), (DRAW, 101, 8), (CHARGE, R2, 10), (DRAW, 102, 4), (DRAW, 103, 4), (CLEAN, 0, 0)]
    steps += [(CHARGE, R3, 10), (DRAW, 104, 4)]
    lines = [Line(n, kind, at(n), item, amount * KG) for n, (kind, item, amount) in enumerate(steps, 1)]
    held = {draw.line.item: {p.lot for p in draw.portions if p.stored} for draw in work_out(lines).draws}
    assert held == {101: {R1}, 102: {R1, R2}, 103: {R1, R2}, 104: {R3}}


def one_draw(*charges, drawn):
    lines = [Line(n, CHARGE, at(0), n, amount) for n, amount in enumerate(charges, 1)]
    return work_out([*lines, Line(9, DRAW, at(1), 109, drawn)]).draws[0]


def test_a_billionth_that_must_be_in_it_confirms():
    """One step of 10^9 drawn must be the second lot: 10^9 less what else is there."""
    assert one_draw(KG - 1, 10, drawn=KG).portions[1].confirmed
    assert not one_draw(KG, 10, drawn=KG).portions[1].confirmed
    assert one_draw(2 * KG - 1, 10, drawn=2 * KG).portions[1].least_ppb == 0


def test_a_trace_below_the_floor_is_not_stored_but_told():
    assert FLOOR_PPB == 1000
    stored = {share: one_draw(BILLION - share, share, drawn=1).portions[1].stored for share in (999, 1000)}
    assert stored == {999: False, 1000: True}


def test_a_tank_drawn_too_far_is_left_at_nothing_and_the_rest_is_of_unknown_origin():
    draw = one_draw(3 * KG, 1 * KG, drawn=5 * KG)
    assert draw.short == KG
    assert [(p.share_ppb, p.least_ppb, p.most_ppb) for p in draw.portions] == [
        (750_000_000,) * 3,
        (250_000_000,) * 3,
    ]


def test_a_draw_from_nothing_has_share_nought_of_each_lot_and_of_a_clean_tank_no_lot_at_all():
    lines = [Line(1, CHARGE, at(0), R1, 5), Line(2, DRAW, at(1), 101, 5), Line(3, DRAW, at(2), 102, 5)]
    last = work_out(lines).draws[1]
    assert [(p.lot, p.share_ppb, p.most_ppb, p.stored) for p in last.portions] == [(R1, 0, 0, False)]
    assert last.short == 5
    assert work_out([Line(1, DRAW, at(0), 101, 5)]).draws[0].portions == ()
    assert work_out([*lines, Line(4, CLEAN, at(1.5))]).draws[1].portions == ()


def test_remainders_go_by_largest_fraction_and_ties_to_the_lower_number():
    lines = [Line(n, CHARGE, at(0), n, 1) for n in (1, 2, 3)]
    assert work_out([*lines, Line(4, DRAW, at(1), 101, 1)]).contents == {1: 0, 2: 1, 3: 1}
    lines = [Line(1, CHARGE, at(0), 1, 1), Line(2, CHARGE, at(0), 2, 2)]
    assert work_out([*lines, Line(4, DRAW, at(1), 101, 1)]).contents == {1: 1, 2: 1}


def test_at_one_instant_cleanings_charges_draws_come_in_this_order():
    lines = [Line(1, DRAW, at(1), 101, 2), Line(2, CHARGE, at(1), R2, 2), Line(3, CLEAN, at(1))]
    lines.append(Line(4, CHARGE, at(0), R1, 2))
    assert [(p.lot, p.share_ppb) for p in work_out(lines).draws[0].portions] == [(R2, BILLION)]


def test_an_amount_below_nought_is_no_line_of_a_log():
    with pytest.raises(ValueError, match="must not be negative"):
        work_out([Line(1, CHARGE, at(0), R1, -1)])
