"""A tank's draws against exact fractions, against any way of stirring, and against the worked table."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from records.items.mixing import CHARGE, CLEAN, DRAW, Line, work_out

START = datetime(2026, 3, 2, tzinfo=UTC)
KG = 10**9
STEPS = st.lists(st.tuples(st.sampled_from([CHARGE, CHARGE, DRAW, DRAW, CLEAN]), st.integers(1, 50 * KG)), max_size=12)


def a_log(*steps):
    """Lines an hour apart: what is charged is a lot of its own, what is drawn too."""
    return [
        Line(n, kind, START + timedelta(hours=n), n if kind != CLEAN else 0, amount if kind != CLEAN else 0)
        for n, (kind, amount) in enumerate(steps, start=1)
    ]


def test_the_worked_table_of_a_heel():
    """20 kg of R1, 18 drawn, 20 kg of R2, 4 drawn: R2 must be in the draw, as only 2 kg of anything else was there."""
    draw = work_out(a_log((CHARGE, 20 * KG), (DRAW, 18 * KG), (CHARGE, 20 * KG), (DRAW, 4 * KG))).draws[1]
    r1, r2 = draw.portions
    assert (r1.share_ppb, r1.least_ppb, r1.most_ppb, r1.confirmed) == (90_909_091, 0, 500_000_000, False)
    assert (r2.share_ppb, r2.least_ppb, r2.most_ppb, r2.confirmed) == (909_090_909, 500_000_000, 10**9, True)


def test_a_charge_that_comes_to_light_takes_certainty_away():
    log = a_log((CHARGE, 20 * KG), (DRAW, 18 * KG), (CHARGE, 20 * KG), (DRAW, 4 * KG))
    late = Line(9, CHARGE, START + timedelta(hours=3, minutes=30), 9, 10 * KG)
    shares = {p.lot: (p.share_ppb, p.confirmed) for p in work_out([*log, late]).draws[1].portions}
    assert shares == {1: (62_500_000, False), 3: (625_000_000, False), 9: (312_500_000, False)}


def test_only_a_cleaning_cuts_the_chain():
    log = a_log((CHARGE, 2 * KG), (DRAW, KG), (CHARGE, KG), (DRAW, KG), (CLEAN, 0), (CHARGE, KG), (DRAW, KG))
    lots = [[portion.lot for portion in draw.portions] for draw in work_out(log).draws]
    assert lots == [[1], [1, 3], [6]]


@given(STEPS)
@settings(max_examples=150, deadline=None)
def test_perfect_mixing_equals_exact_fractions(steps):
    log = a_log(*steps)
    contents, shares = {}, []
    for line in log:
        if line.kind == CLEAN:
            contents = {}
        elif line.kind == CHARGE:
            contents[line.item] = contents.get(line.item, Fraction(0)) + line.amount
        else:
            volume = sum(contents.values())
            taken = min(Fraction(line.amount), volume)
            shares.append({lot: amount / volume if volume else Fraction(0) for lot, amount in contents.items()})
            contents = {lot: amount - taken * shares[-1][lot] for lot, amount in contents.items()}
    worked = work_out(log)
    for draw, exact in zip(worked.draws, shares, strict=True):
        for portion in draw.portions:
            if draw.line.amount > KG // 1000 and exact[portion.lot] > Fraction(1, 10**4):
                assert abs(portion.share_ppb - exact[portion.lot] * 10**9) < 10**5
    assert all(abs(worked.contents[lot] - amount) <= 20 for lot, amount in contents.items())


@given(STEPS, st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_the_bounds_hold_however_badly_it_is_stirred(steps, chance):
    """Each draw takes what it likes from the lots in the tank: never less than least, never more than most."""
    log, contents = a_log(*steps), {}
    draws = iter(work_out(log).draws)
    for line in log:
        if line.kind == CLEAN:
            contents = {}
        elif line.kind == CHARGE:
            contents[line.item] = contents.get(line.item, 0) + line.amount
        else:
            taken = _stir_badly(contents, min(line.amount, sum(contents.values())), chance)
            for portion in next(draws).portions:
                whole = sum(taken.values()) or 1
                assert portion.least_ppb * whole <= taken.get(portion.lot, 0) * 10**9 <= portion.most_ppb * whole


def _stir_badly(contents, amount, chance):
    """Take an amount from lots in any order, all of one before the next."""
    taken = {}
    for lot in chance.sample(sorted(contents), len(contents)):
        part = min(amount, contents[lot])
        taken[lot] = part
        contents[lot] -= part
        amount -= part
    return taken


def test_a_negative_amount_is_a_wrong_call():
    with pytest.raises(ValueError, match="must not be negative"):
        work_out([Line(1, CHARGE, START, 1, -1)])
