"""Pictures: a dot stands where its value lies between the jaws; a figure belongs to its serial."""

import pytest

from plant.pictures.jaws import DOT, jaws
from plant.pictures.winding import winding


def test_a_value_on_a_limit_stands_on_the_jaw():
    drawn = jaws(34_950_000, 34_850_000, 34_950_000)
    assert drawn.dot == pytest.approx(drawn.upper)


def test_the_aim_of_a_band_stands_in_the_middle():
    assert jaws(15, 10, 20, width=200).dot == pytest.approx(100)


@pytest.mark.parametrize(("value", "side"), [(9, -1), (21, 1)])
def test_a_value_outside_stands_outside_the_jaws(value, side):
    drawn = jaws(value, 10, 20)
    assert (drawn.dot - (drawn.upper if side > 0 else drawn.lower)) * side > 0


@pytest.mark.parametrize("value", [-(10**12), 10**12])
def test_a_value_far_out_stays_on_the_picture(value):
    drawn = jaws(value, 10, 20)
    assert DOT <= drawn.dot <= drawn.width - DOT


@pytest.mark.parametrize(("lower", "upper"), [(None, 80), (80, None)])
def test_a_single_limit_has_one_jaw_and_its_band_on_the_good_side(lower, upper):
    inside, outside = (40, 100) if lower is None else (100, 40)
    drawn = jaws(inside, lower, upper)
    assert (drawn.lower is None) == (lower is None)
    assert drawn.band_from <= drawn.dot <= drawn.band_to
    assert not drawn.band_from < jaws(outside, lower, upper).dot < drawn.band_to


def test_a_band_without_width_and_a_limit_of_nought_are_drawn():
    assert jaws(5, 5, 5).dot == jaws(5, 5, 5).lower
    assert jaws(0, None, 0).dot == jaws(0, None, 0).upper


def test_a_value_without_limits_has_no_picture():
    assert jaws(5, None, None) is None


def test_figures_of_neighbouring_serials_differ_and_stay():
    serials = [f"TW-26-{n:06d}" for n in range(40)]
    figures = [winding(serial) for serial in serials]
    assert figures == [winding(serial) for serial in serials]
    assert len({(f.ring, f.strands) for f in figures}) > 30


def test_a_figure_lies_within_its_frame():
    for n in range(60):
        figure = winding(f"FT-26-{n:06d}")
        assert 0 < figure.ring < figure.width - 7
        tops = [float(p.split(",")[1]) for s in figure.strands for p in s.path[1:].split()]
        assert min(tops) >= 0
        assert max(tops) <= figure.height
