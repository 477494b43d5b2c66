"""Individuals chart in pieces, against two worked examples."""

import pytest

from records.spc.pieces import chart_in_pieces, cut_at_breaks
from records.spc.rules import OUTSIDE_LIMITS
from tests.records.spc.published import expected, numbers

# Chain-stay lengths with a rebuilt press between them: one reading withdrawn, one that could not be read. Worked out by
# hand and by a slow second program.
BEFORE = [410.45, 410.10, 409.55, 409.54, 410.50, 409.52, 410.51, 410.55, None, 409.50]
AFTER = [410.10, 410.30, None, 410.20, 410.40]


def test_pieces_share_one_mean_range_and_keep_their_own_centre():
    chart = chart_in_pieces([BEFORE, AFTER])
    assert (chart.ranges, [piece.n for piece in chart.pieces]) == (9, [9, 4])
    assert chart.mean_moving_range == pytest.approx(0.475555556, abs=1e-9)
    found = [(p.limits.centre, p.limits.lower, p.limits.upper) for p in chart.pieces]
    assert found[0] == pytest.approx((410.024444444, 408.759669031, 411.289219858), abs=1e-8)
    assert found[1] == pytest.approx((410.25, 408.985224586, 411.514775414), abs=1e-8)


def test_a_break_and_a_gap_take_their_ranges_with_them():
    """Worked out by hand: 0.16; with the ranges over break and gap it would be 0.414."""
    told = expected("02_mr_with_breaks")["mr_bar_valid"]
    x = [row[0] for row in numbers("02_mr_with_breaks", "x")]
    assert chart_in_pieces([x[:3], x[3:]]).mean_moving_range == pytest.approx(told["value"], abs=told["tol"])
    assert chart_in_pieces([x]).mean_moving_range > 2 * told["value"]


def test_readings_are_cut_in_the_order_made_not_told():
    told_late = [(5, 3.0), (1, 1.0), (3, 2.0)]
    assert cut_at_breaks(told_late, [4]) == ((1.0, 2.0), (3.0,))


def test_a_reading_at_the_moment_of_a_break_begins_the_piece():
    assert cut_at_breaks([(1, 1.0), (2, 2.0)], [2]) == ((1.0,), (2.0,))


def test_two_breaks_with_nothing_between_make_no_empty_piece():
    assert cut_at_breaks([(1, 1.0), (9, 2.0)], [3, 2]) == ((1.0,), (2.0,))


def test_a_piece_of_one_reading_has_a_centre_and_the_common_limits():
    chart = chart_in_pieces([[1.0, 2.0], [9.0]])
    assert (chart.pieces[1].limits.centre, chart.pieces[1].n) == (9.0, 1)
    assert chart.pieces[1].limits.upper == pytest.approx(9 + 3 / 1.128)


@pytest.mark.parametrize("pieces", [[], [[]], [[None, None]], [[1.0], [2.0]], [[1.0, None, 2.0]]])
def test_without_two_neighbours_there_is_no_chart(pieces):
    assert chart_in_pieces(pieces) is None


def test_a_jump_at_a_break_is_no_signal_and_one_inside_a_piece_is():
    steady, moved = [10.0, 10.1, 9.9, 10.0, 10.1, 9.9], [14.0, 14.1, 13.9, 14.0]
    assert chart_in_pieces([steady, moved]).signals() == ()
    assert chart_in_pieces([steady, [*moved, 20.0]]).range_signals()[0].at == 10


def test_signals_count_their_places_through_all_pieces():
    chart = chart_in_pieces([[10.0, 10.1] * 6, [*([12.0, 12.1] * 6), 13.5]])
    assert [s.at for s in chart.signals(rules=(OUTSIDE_LIMITS,))] == [24]
    assert chart.starts == (0, 12)
