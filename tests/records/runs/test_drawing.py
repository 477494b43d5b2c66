"""The drawing of a run: gaps stay gaps, no spike is lost, each panel has its own axis."""

from itertools import pairwise
from math import nan

import pytest

from plant.pictures.scale import Scale, apart, round_step, ticks
from records.runs.drawing import COLUMNS, LEFT, MOST_SERIES, RIGHT, WIDTH, Quantity, Series, Stretch, draw, path_of


def temperatures(*rows, names="ABCDEFGH"):
    return [Quantity("Temperature", "°C", [Series(name, row) for name, row in zip(names, rows, strict=False)])]


def test_a_missing_reading_breaks_the_line():
    picture = draw([0, 60, 120, 180], temperatures([20.0, nan, 21.0, 22.0]))
    assert picture.panels[0].lines[0].path.count("M") == 2


def test_a_single_spike_among_many_rows_is_drawn():
    values = [20.0] * (COLUMNS * 20)
    values[3333] = 95.0
    seconds = list(range(len(values)))
    across, up = Scale(0, seconds[-1], LEFT, WIDTH - RIGHT), Scale(20, 95, 100, 0)
    path = path_of(seconds, values, across, up)
    assert f"{across.at(3333)} 0.0" in path
    assert path.count("L") < 4 * COLUMNS


def test_more_than_four_channels_get_panels_of_their_own():
    picture = draw([0, 60], temperatures(*[[20.0, 21.0]] * (MOST_SERIES + 1)))
    assert [len(panel.lines) for panel in picture.panels] == [4, 1]


def test_names_at_the_line_ends_never_stand_on_each_other():
    picture = draw([0, 60], temperatures([20.0, 21.0], [20.0, 21.0], [20.0, 21.0]))
    places = sorted(line.label_at for line in picture.panels[0].lines)
    assert all(low + 16 <= high for low, high in pairwise(places))


def test_phases_and_time_outside_stand_on_the_clock_and_on_the_page():
    picture = draw([0, 100], temperatures([20.0, 30.0]), [Stretch("soak", 50, 100)], [Stretch("cold", -20, 50)])
    middle = (LEFT + WIDTH - RIGHT) / 2
    assert (picture.phases[0].left, picture.outside[0].left) == (middle, LEFT)
    assert picture.outside[0].width == pytest.approx(middle - LEFT)


@pytest.mark.parametrize("seconds", [[], [0.0], [5.0, 5.0]])
def test_what_has_no_length_is_not_drawn(seconds):
    assert draw(seconds, temperatures([20.0] * len(seconds))) is None


def test_channels_without_a_reading_make_no_panel():
    assert draw([0, 60], temperatures([nan, nan])) is None


@pytest.mark.parametrize(("span", "step"), [(1.0, 0.2), (9.0, 2.0), (97.0, 20.0), (0.0, 1.0), (4e-7, 1e-7)])
def test_ticks_are_one_two_or_five(span, step):
    assert round_step(span, 5) == pytest.approx(step)


def test_ticks_lie_inside_and_labels_keep_their_order():
    assert ticks(0.13, 0.52) == [0.2, 0.3, 0.4, 0.5]
    assert apart([30.0, 10.0, 12.0], 17.0) == [44.0, 10.0, 27.0]


def test_a_pump_down_goes_by_tens_and_tells_its_last_value_plainly():
    picture = draw(
        [0, 60, 120, 180], [Quantity("Pressure absolute", "mbar", [Series("P1", [1000.0, 100.0, 10.0, 8.0])])]
    )
    (panel,) = picture.panels
    assert [word for _, word in panel.ticks] == ["10", "100", "1000"]
    places = [place for place, _ in panel.ticks]
    assert places[0] - places[1] == pytest.approx(places[1] - places[2], abs=0.2)
    assert panel.lines[0].last == "8"
    assert "each line ten times" in panel.unit
