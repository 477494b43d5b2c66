"""What changed meanwhile: lanes on the axis of the chart, and a bracket that looks back from the first of a run."""

from records.spc.lanes import LOOKS_BACK, lay

STEP = 20.0


def lanes(values: dict, first: int | None = None):
    return lay(values, left=0, step=STEP, top=100, first_of_run=first)


def spans(row: list[str], first: int | None = None):
    return lanes({"Cutter": row}, first).lanes[0].spans


def test_a_stretch_that_keeps_its_value_is_one_bar_over_its_places():
    one, two = spans(["CT-1"] * 10 + ["CT-2"] * 10)
    assert (one.left, one.width) == (1.5, 197)
    assert (two.left, two.width) == (201.5, 197)


def test_something_new_inside_the_look_back_is_marked_and_what_comes_round_again_is_not():
    turns = ["ML-1", "ML-2"] * 10
    assert not any(span.is_hit for span in spans(turns, first=15))
    fitted = ["CT-1"] * 12 + ["CT-2"] * 8
    assert [span.is_hit for span in spans(fitted, first=15)] == [False, True]
    assert [span.is_hit for span in spans(fitted, first=12 + LOOKS_BACK)] == [False, True]
    assert not any(span.is_hit for span in spans(fitted, first=13 + LOOKS_BACK))
    assert not any(span.is_hit for span in spans(fitted, first=11))


def test_the_bracket_ends_where_the_run_begins_and_never_before_the_chart():
    assert lanes({"Cutter": ["CT-1"] * 20}, first=15).bracket == (5 * STEP, 15 * STEP)
    assert lanes({"Cutter": ["CT-1"] * 20}, first=4).bracket == (0, 4 * STEP)
    assert lanes({"Cutter": ["CT-1"] * 20}).bracket is None


def test_a_lane_of_which_nothing_is_known_is_left_out_and_an_unknown_place_stays_empty():
    found = lanes({"Mould": ["", ""], "Gauge": ["GA-1", ""]})
    assert [lane.name for lane in found.lanes] == ["Gauge"]
    assert [span.left for span in found.lanes[0].spans] == [1.5]


def test_a_code_is_short_where_it_has_no_room_and_left_out_where_even_that_has_none():
    assert [span.word for span in spans(["ML-26-000003-1"] * 8)] == ["ML-26-000003-1"]
    assert [span.word for span in spans(["ML-26-000003-1"] * 3)] == ["ML 3"]
    assert [span.word for span in spans(["ML-26-000003-1"])] == [""]
