"""Where what a trace found is: bunched by place, counted in words, nothing lost however many there are."""

from dataclasses import dataclass

from records.trace.places import MOST_NAMED, bunches, not_yet_frames


@dataclass(frozen=True)
class Row:
    code: str
    state: str = "here"
    at: str | None = "Bench"
    sure: str | None = "confirmed"
    held: bool = False
    kind: str = "front"


def test_frames_are_bunched_by_place_and_the_doubtful_stand_last():
    rows = [Row("TW-26-000396-8", sure="possible"), Row("TW-26-000397-6"), Row("TW-3", "shipped", "Dealer Larkmere")]
    works, gone = bunches(rows)
    assert [(dot.figures, dot.is_doubt) for dot in works.dots] == [("397", False), ("396", True)]
    assert works.heading == "2 in the works"
    assert works.words == "1 has it, 1 can’t be ruled out. None is held."
    assert "Dealer Larkmere 1" in gone.words


def test_every_frame_is_a_dot_however_many_and_stays_apart_from_the_others():
    rows = [Row(f"TW-{n}") for n in range(MOST_NAMED + 50)]
    (bunch,) = bunches(rows)
    assert len({(dot.x, dot.y) for dot in bunch.dots}) == len(rows)
    assert all(0 < dot.x < bunch.width and 0 < dot.y < bunch.height for dot in bunch.dots)


def test_a_dot_is_several_of_very_many_frames_and_says_so_and_none_in_doubt_is_lost():
    rows = [Row(f"TW-{n}") for n in range(4_000)] + [Row("TW-D", sure="possible")]
    works, gone = bunches([*rows, Row("TW-G", "shipped", "Dealer Larkmere")])
    assert works.words.endswith("Each dot is 9 frames.")
    assert len(works.dots) == 445  # 4001 / 9, the last of them not full
    assert [dot.is_doubt for dot in works.dots].count(True) == 1
    assert (len(gone.dots), gone.dots[0].figures) == (1, "")


def test_what_is_not_yet_a_frame_is_counted_by_kind_with_its_places():
    rows = [Row("FT-1"), Row("FT-2", held=True), Row("FT-3", "scrapped"), Row("PT-1", at=None, kind="resin-mix")]
    fronts, pot = not_yet_frames(rows)
    assert (fronts.mark, fronts.heading) == ("front", "3 front triangles")
    assert fronts.words == "2 at Bench, 1 scrapped; 1 held"
    assert (pot.mark, pot.words) == ("potmark", "nobody said where; none is held")
