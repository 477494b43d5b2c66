"""Many frames in few bundles: none lost, none doubled, none torn from what it went through."""

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plant.codes import house_code
from records.trace.bundling import MOST_BUNDLES, ROW, THICKEST, bundles, counted_by, strands_of
from records.trace.strands import by_carrier


@dataclass(frozen=True)
class Row:
    way: tuple[str, ...]
    sure: str | None = "confirmed"


def rows_of(pots: list[int], doubtful: frozenset[int] = frozenset()) -> list[Row]:
    """Frames through pots, so many through each."""
    return by_carrier(
        Row(
            (house_code("RB", 2026, 42), house_code("PT", 2026, pot), f"TW-{pot}-{n}"),
            "possible" if pot in doubtful else "confirmed",
        )
        for pot, count in enumerate(pots, start=1)
        for n in range(count)
    )


@given(st.lists(st.integers(1, 40), min_size=1, max_size=200))
def test_all_rows_stand_in_at_most_so_many_bundles_in_order_and_a_pot_in_one(pots):
    rows = rows_of(pots)
    found = bundles(rows)
    assert [row for bundle in found for row in bundle.rows] == rows
    assert len(found) <= MOST_BUNDLES
    carriers = [carrier for bundle in found for carrier in bundle.carriers]
    assert len(carriers) == len(set(carriers)) == len(pots)


@pytest.mark.parametrize(("frames", "at_least"), [(41, 10), (400, 14), (5000, 15)])
def test_bundles_are_of_about_one_size(frames, at_least):
    found = bundles(rows_of([2] * (frames // 2)))
    assert at_least <= len(found) <= MOST_BUNDLES
    assert max(len(bundle.rows) for bundle in found) <= 2 * frames / MOST_BUNDLES + 2


def test_a_strand_is_as_thick_as_it_has_frames_and_doubt_has_a_broken_one_of_its_own():
    found = bundles(rows_of([30, 10, 2], doubtful=frozenset({2})), most=2)
    drawn = strands_of(found)
    assert [(bundle.sure, bundle.doubt) for bundle in found] == [(30, 0), (2, 10)]
    thick = [(line.thickness, line.is_broken) for line in drawn.lines[::2]]
    assert thick == [(THICKEST, False), (2.5, False), (4.7, True)]
    assert (drawn.height, drawn.root.word) == (2 * ROW, "RB 42")


def test_a_box_says_which_pots_it_bundles():
    words = [bundle.word for bundle in bundles(rows_of([1, 1, 1, 9]), most=2)]
    assert words == ["PT 1–3", "PT 4"]
    direct = [Row(("RB-1", "TW-1"))]
    others = [Row(("RB-1", code, f"TW-{code}")) for code in ("A", "B", "C")]
    assert [bundle.word for bundle in bundles(by_carrier([*direct, *others, *direct, *direct]), most=2)] == [
        "straight",
        "3 on the way",
    ]


def test_places_are_counted_the_most_first():
    assert counted_by([]) == ""
    assert counted_by(["at Polish"] * 3 + ["in Paint"]) == "3 at Polish, 1 in Paint"
